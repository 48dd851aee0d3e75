"""The steps of a set-up in words: what to turn, what to expect after it, what it disturbs, and where to stop."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import Any

import numpy as np

from lutherie_geom.design.catalogue import CatalogueError
from lutherie_geom.joint.pitch import drift, fretted, strings_of
from lutherie_geom.joint.pose import Pose, pose
from lutherie_geom.joint.strings import open_length
from lutherie_geom.joint.turning import way
from lutherie_geom.shop.setup.ends import cannot, near
from lutherie_geom.shop.setup.fitting import AsMeasured
from lutherie_geom.shop.setup.hands import LAST, clamp_rule
from lutherie_geom.shop.setup.measured import side_of, words_of
from lutherie_geom.shop.setup.moves import READABLE
from lutherie_geom.shop.setup.scene import SMALL, Instruction, Scene
from lutherie_geom.shop.words import amount, told
from lutherie_geom.theory.intonation import fretted_cents

__all__ = ["instructions"]

WORTH_SAYING = 0.1  # mm that the whole neck moves
HALF_SEMITONE = 50.0  # cents sharp past which a string is let down first
DUST = "keep the dust of bone out of the lungs"
_TILT, _BASS, _TREBLE = 0, 1, 2


def instructions(s: Scene) -> tuple[tuple[Instruction, ...], dict[str, float], tuple[str, ...], tuple[str, ...]]:
    """The steps in order; what the gauges show at the end [mm]; what cannot be had by turning; stops that are near."""
    end = s.now + s.move.turns
    at_end = pose(s.filed, **s.at(end))
    steps = [*_relief(s), *_nut(s), *_steering(s), *_saddle(s), *_tilt(s), *_saddle_later(s)]
    if steps:
        steps.append(_compensation(s, at_end))
    return tuple(steps), s.shown(at_end, s.keys()), tuple(cannot(s, s.travel, end)), tuple(near(s, s.travel, end))


def _relief(s: Scene) -> Iterator[Instruction]:
    if not s.rod:
        return
    relief = float(s.readings.get("relief.middle"))
    before, after = (s.shown(pose(d, **s.at(s.now)), s.keys()) for d in (s.measured, s.rod_done))
    bass = after[s.keys()[0]] - before[s.keys()[0]]
    yield Instruction(
        "truss rod", f"{'tighten' if relief > s.want.relief else 'slacken'} it (most rods tighten clockwise, seen from their own "
        f"nut; follow the maker of yours) until the relief reads {s.length(s.want.relief)}; now {s.length(relief)}; "
        "an eighth of a turn at a time, tune, read",
        {"relief.middle": s.want.relief, **after},
        disturbs=f"moves the action at fret {s.want.fret} by {s.length(bass)}" if abs(bass) > SMALL else "",
        caution="slacken the strings before a hard-going rod is forced")


def _nut(s: Scene) -> Iterator[Instruction]:
    if s.want.nut is None:
        return
    d, part = s.rod_done, np.linspace(0, 1, s.rod_done.strings)
    for side, i, goal, share in (("bass", 0, s.want.nut[0], 1 - part), ("treble", -1, s.want.nut[1], part)):
        by = float(np.asarray(s.rod_done.h_nut)[i] - np.asarray(s.set_.h_nut)[i])
        if by > SMALL:
            do = f"file the {side} slot {s.length(by)} deeper, to {s.length(goal)} over the crowns' line; slots between in step"
        elif by < -SMALL:
            do = f"the {side} slot is {s.length(-by)} too deep: shim the nut, or cut a new one, to {s.length(goal)}"
        else:
            continue
        d = d.replaced(h_nut=np.asarray(d.h_nut) - by * share)
        seen = s.shown(pose(d, **s.at(s.now)), s.keys())
        yield Instruction("nut", do, {f"nut.{side}": goal, **seen},
                          caution="slack strings lash: hold them as they are lifted out")


def _steering(s: Scene) -> Iterator[Instruction]:
    if not s.steers:
        return
    screw, turns = s.design.pivot, s.move.turns
    over = s.options.hands.over(screw.pitch)
    legs = []
    for name, i in (("bass", _BASS), ("treble", _TREBLE)):
        if turns[i]:
            ways = [way(screw.hand, screw.key_from, positive, "pivot") for positive in (True, False)]
            side = "left" if side_of("left", s.design.handed) == name else "right"
            legs.append(f"{name} pivot screw (on the {side}, from the front, nut up): {told(turns[i], LAST[i], over, *ways)}")
    after = s.now + s.move.turns * np.array([0, 1, 1])
    first, then = pose(s.set_, **s.at(s.now)), pose(s.set_, **s.at(after))
    before, seen = s.shown(first, s.keys()), s.shown(then, s.keys())
    change = [seen[k] - before[k] for k in s.keys()[:2]]
    heel = screw.key_from == "heel"
    start = "slacken the strings, take the clamp screw out and the neck off (once for all of this); " if heel else (
        "slacken the strings, then the clamp screw; ")
    end = "put the neck back, tighten the clamp screw, tune to pitch" if heel else "tighten the clamp screw, tune to pitch"
    disturbs = f"moves the action by {s.length(change[0])} bass, {s.length(change[1])} treble, which the tilt screw makes up for"
    out = float(then.advance - first.advance)
    if abs(out) > WORTH_SAYING:
        way_out = "out" if out > 0 else "in"
        disturbs += f", and the neck bodily {way_out} by {s.length(abs(out))}, which compensation must make up for"
    yield Instruction(
        "steering", f"{start}{'; '.join(legs)}; {end}", seen, disturbs=disturbs,
        caution="never slacken the clamp at pitch: nothing moves then, but a push at the headstock's side, a few kilograms, "
                "lifts a ball out of its seat")


def _saddle(s: Scene) -> Iterator[Instruction]:
    if np.abs(s.move.saddle).max() < SMALL:
        return
    p = pose(s.filed, **s.at(s.now + s.move.turns * np.array([0, 1, 1])))
    yield Instruction("saddle", _cut(s, s.move.saddle), s.shown(p, s.keys()),
                      caution=f"{DUST}, and read once more before the file")


def _saddle_later(s: Scene) -> Iterator[Instruction]:
    if np.abs(s.move.later).max() < SMALL:
        return
    yield Instruction("saddle", f"tune and read again; leave it while both strings read within {s.length(s.sure_off)} of their "
                      f"targets (the window, less what the gauge may err). If not, {_cut(s, s.move.later)}; then tune, read, and "
                      f"turn the tilt screw: the mean should be {s.length(float(np.mean(s.want.ends)))}; {_for_each(s)}", {},
                      caution=f"what is filed stays filed; {DUST}")


def _cut(s: Scene, by: np.ndarray) -> str:
    """What to do to the saddle, for a change of its height under each string [mm]."""
    parts = [f"string {i + 1} {s.length(abs(v))} {'lower' if v < 0 else 'higher'}" for i, v in enumerate(by) if abs(v) >= SMALL]
    what = ("file it" if (by <= 0).all() else "shim it, or make a new one" if (by >= 0).all() else
            "make a new one, or shim and file it")
    return f"{what}: {', '.join(parts)} (strings counted from the bass); keep its crown and its edge"


def _tilt_ways(s: Scene) -> list[str]:
    """Which way the tilt screw raises the action, and which way it lowers it."""
    screw = s.design.tilt_screw
    return [way(screw.hand, screw.key_from, positive, "tilt") for positive in (True, False)]


def _for_each(s: Scene) -> str:
    """What to turn the tilt screw by when the mean of the actions reads otherwise than it should."""
    each = 0.127 if s.design.units == "inch" else 0.1  # 0.005 in
    more = amount(max(round(each / abs(s.before_tilt[1]) * 48), 1) / 48)
    return (f"for each {s.length(each)} that it reads higher turn {more} further {_tilt_ways(s)[1].split(',')[0]}, lower the "
            "other way")


def _tilt(s: Scene) -> Iterator[Instruction]:
    by = float(s.move.turns[_TILT])
    after = s.now + s.move.turns * np.array([0, 1, 1])
    first, then = pose(s.filed, **s.at(after)), pose(s.filed, **s.at(after + np.array([by, 0, 0])))
    before, seen = s.shown(first, s.keys()), s.shown(then, s.keys())
    touched = s.steers or s.rod or bool(np.abs(s.move.saddle).max() >= SMALL)
    if not by and not touched:
        return
    over, lag = _room_to_pass(s)
    do = (told(by, LAST[_TILT], over, *_tilt_ways(s)) if by else
          "leave it where it is, unless the reading asks for it")
    if touched:
        mean, _, lowest = s.before_tilt
        rule = _for_each(s)
        if lowest >= READABLE:
            do = f"tune and read both actions first: their mean should be {s.length(mean)}; {rule}. Then {do}"
        else:  # strings that lie on the frets say nothing
            mean = float(np.mean([seen[k] for k in s.keys()[:2]]))
            do = f"{do}. Then tune and read both actions: their mean should be {s.length(mean)}; {rule}"
    also = [f"{'closes' if seen[k] < before[k] else 'opens'} the {words_of(k)} by {s.length(abs(seen[k] - before[k]))}"
            for k in s.keys() if k.startswith("gap") and abs(seen[k] - before[k]) > SMALL]
    past = pose(s.filed, **s.at(after + np.array([by + float(over), 0, 0])))
    pitch, sharp = _drift(s, first, then, past) if by else ("", False)
    cautions = ["tune the strings down by a semitone or two first: they go up as the screw is turned"] if sharp else []
    tight, clamp = clamp_rule(s.design)
    yield Instruction("tilt screw", f"{do}; {clamp}" if tight else do, seen, by, "; ".join(also), pitch,
                      "; ".join([*([] if tight else [clamp]), *cautions, *lag]))


def _room_to_pass(s: Scene) -> tuple[Fraction, list[str]]:
    """How far the tilt screw can go past its mark, and a word where a stop leaves less room than the dead band asks for."""
    over = s.options.hands.over(s.design.tilt_screw.pitch)
    if not s.move.turns[_TILT]:
        return over, []
    stop = s.travel.first(int(-LAST[_TILT]))
    room = np.inf if stop is None or stop.turn is None else abs(stop.turn - float(s.now[_TILT] + s.move.turns[_TILT]))
    if stop is None or room > float(over) + 0.02:
        return over, []
    less = Fraction(max(int((room - 0.02) * 24), 0), 24)
    return less, [f"{stop.words} {room:.2f} turn past the mark, so there is no room to take up all of the play: rock the neck, "
                  "read again"]


def _drift(s: Scene, first: Pose, then: Pose, past: Pose) -> tuple[str, bool]:
    """Pitch of untouched strings in words, and whether one of them goes far up on the way."""
    try:
        strings = strings_of(AsMeasured(s.design, first.of), first)
    except CatalogueError:
        return "", False
    cents = drift(strings, open_length(then))
    sharp = max(cents.max(), drift(strings, open_length(past)).max()) > HALF_SEMITONE
    k, j = int(np.argmin(cents)), int(np.argmax(cents))
    return (f"untouched strings go by {cents[k]:+.0f} ({strings.names[k]}) to {cents[j]:+.0f} cents ({strings.names[j]}); tune "
            "before reading"), bool(sharp)


def _compensation(s: Scene, p: Pose) -> Instruction:
    try:
        per = f": each cent is {s.length(_per_cent(s, p))}"
    except CatalogueError:
        per = ""
    return Instruction("compensation", "last of all, tune and compare the note at fret 12 with the open string's octave; sharp: "
                       f"the saddle's edge goes back, flat: forward{per}", {})


def _per_cent(s: Scene, p: Pose) -> float:
    """How far the saddle's edge moves for a cent at fret 12 [mm], mean of the strings."""
    def cents(x: float) -> Any:
        q = pose(p.of.replaced(x_saddle=np.asarray(p.of.x_saddle) + x), tilt=p.tilt, bass=p.bass, treble=p.treble)
        strings = strings_of(AsMeasured(s.design, q.of), q)
        vibrating, behind = fretted(q, np.array([12.0]))
        return fretted_cents(semitones=12.0, open_length=open_length(q), vibrating=vibrating[:, 0], behind=behind[:, 0],
                             free_length=strings.free, stiffness=strings.stiffness, tension=strings.tension)

    return float(np.mean(1.0 / np.abs(cents(0.5) - cents(-0.5))))
