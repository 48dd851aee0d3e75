"""Set-up day: from what the gauges show and what is wanted to a short list of what to do, in order.

The order: relief first, for it moves every action; then the nut; then steering, with the clamp slackened, for the pivot screws
move the action too; then the saddle, where no screw will do; the tilt screw after all these, because it alone can be undone at
any time; compensation last. The last turn of a screw always has the same sense (:mod:`lutherie_geom.shop.setup.hands`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np

from lutherie_geom.design.catalogue import usual_range
from lutherie_geom.joint.dimensions import Dimensions
from lutherie_geom.joint.relief import with_relief
from lutherie_geom.shop.setup.fitting import AsMeasured, as_measured, batched
from lutherie_geom.shop.setup.hands import Hands
from lutherie_geom.shop.setup.measured import Measured, SheetError, measured
from lutherie_geom.shop.setup.moves import STEP, Moves, Options, before_tilt, moves, options, rod_asked, sure_off
from lutherie_geom.shop.setup.scene import Instruction, Scene
from lutherie_geom.shop.setup.steps import instructions
from lutherie_geom.shop.setup.wanted import Wanted, wanted
from lutherie_geom.shop.words import length

__all__ = ["SetUpDay", "advise"]


@dataclass(frozen=True)
class SetUpDay:
    """What to do on one instrument.

    turns: by how much tilt, bass and treble screw are turned [turn], signed as everywhere; saddle: change of its height under
    each string [mm]; before, after: what the gauges show and should show [mm], by key; left: what then is still off the target
    [mm]: action bass, action treble, centring to treble; cannot: what turning does not give, and what gives it; near: stops that
    are close; removals: how often the neck comes off; sure: no window is missed on its nearer side but 1 time in 20;
    inside: every window is met as foreseen.
    """

    name: str
    wanted: Wanted
    instructions: tuple[Instruction, ...]
    turns: tuple[float, float, float]
    saddle: tuple[float, ...]
    before: Mapping[str, float]
    after: Mapping[str, float]
    left: tuple[float, float, float]
    cannot: tuple[str, ...]
    near: tuple[str, ...]
    notes: tuple[str, ...]
    removals: int
    sure: bool
    inside: bool
    units: Any = "mm"

    @property
    def done(self) -> bool:
        """Nothing to turn, to file or to set."""
        return all(i.part == "compensation" for i in self.instructions)

    @property
    def verdict(self) -> str:
        """What is said where there is nothing to do; else nothing."""
        if not self.done:
            return ""
        if not self.inside:
            return "Nothing was found to turn or to file that brings it inside the window; what is left is told below."
        if self.sure:
            return "Leave it alone: what the gauges show is inside the window, their error counted in."
        return "Leave it alone: what the gauges show is inside the window, though by less than they may err."

    def __str__(self) -> str:
        lines = [f"{self.name}: {self.wanted.said(self.units)}"]
        if self.done:
            lines.append(self.verdict)
        for k, i in enumerate(self.instructions, 1):
            lines.append(f"{k}. {i.told(self.units)}")
        bass, treble, aside = (length(v, self.units) for v in self.left)
        lines.append(f"Left over: action bass {bass}, treble {treble}; strings off the board's middle at the last fret {aside} "
                     "(plus is high, or to treble)")
        lines += [f"Not by turning: {c}" for c in self.cannot]
        lines += [f"Stop near: {c}" for c in self.near]
        lines += [f"Note: {c}" for c in self.notes]
        if self.removals:
            lines.append("The neck comes off once: the sockets of the pivot screws face the heel. Do all of it in one removal.")
        return "\n".join(lines)

    __repr__ = __str__


def advise(design: Any, readings: Any, target: Any = None, *, levels: Mapping[str, Any] | None = None, step: float = STEP,
           turns_now: tuple[float, float, float] = (0.0, 0.0, 0.0), learned: Any = None, hands: Hands | None = None) -> SetUpDay:
    """What to do on set-up day.

    ``readings``: a :class:`Measured`, or what :func:`lutherie_geom.shop.setup.measured.measured` reads. ``target``: see
    :func:`lutherie_geom.shop.setup.wanted.wanted`; ``levels``: the builder's own low, medium, high. ``step``: what a hand sets
    [turn]. ``turns_now``: where tilt, bass and treble screw stand [turn]. ``learned``: what
    :func:`lutherie_geom.shop.learning.learn.learn` found of this instrument; not used where its readings contradict each
    other. Raises SheetError, WantedError or ValueError with field, value, unit and range.
    """
    m = readings if isinstance(readings, Measured) else measured(readings, design)
    want = wanted(design, target, levels)
    hands, own, notes = hands or Hands(), design, []
    if learned is not None and learned.trusted:
        own, hands = AsMeasured(design, learned.applied(design.dimensions())), learned.hands(hands)
    elif learned is not None:
        notes.append("what was learned is not used: its readings contradict each other; " + "; ".join(learned.suspects))
    now = _turns(turns_now)
    d, error = _fitted(own.dimensions(), m, want, now)
    o = options(own, want, step=step, hands=hands)
    rod = "relief.middle" in m and bool(rod_asked(want, m.get("relief.middle"), m.errors["relief.middle"]))
    rod_done = with_relief(d, want.relief) if rod else d
    set_ = _nut_done(rod_done, m, want)
    found = moves(o, batched(set_, 1), now[:, None], error)
    notes += [*_doubts(want, design.units), *_without_reading(want, m)]
    scene = Scene(own, m, want, o, d, rod_done, set_, float(sure_off(want, error[:2].max())), now, _one(found), rod,
                  _expected(o, set_, now, found))
    steps, after, cannot, near = instructions(scene)
    move = scene.move
    tilt, bass, treble = (float(v) for v in move.turns)
    off = move.off * np.array([want.within, want.within, want.centring])
    return SetUpDay(design.name, want, steps, (tilt, bass, treble), tuple(move.saddle.tolist()),
                    {k: float(v) for k, v in m.values.items()}, after, (float(off[0]), float(off[1]), float(off[2])), cannot,
                    near, tuple(notes), int(design.pivot.key_from == "heel" and scene.steers),
                    bool(move.may <= 1), bool(move.within and np.abs(move.off).max() <= 1), design.units)


def _doubts(want: Wanted, system: Any) -> list[str]:
    """A word where a target is outside what the trade calls usual; steel strings, fret 12."""
    asked = [("relief", "relief", want.relief)]
    if want.fret == 12:
        asked += [("action12-bass", "action bass", want.ends[0]), ("action12-treble", "action treble", want.ends[1])]
    found = []
    for name, words, value in asked:
        usual = usual_range(name)
        if not usual.low <= round(value, 3) <= usual.high:
            low, high = (length(v, system) for v in (usual.low, usual.high))
            found.append(f"{words} wanted {length(value, system)}; usual for steel strings is {low} to {high} ({usual.mark})")
    return found


def _without_reading(want: Wanted, m: Measured) -> list[str]:
    """A word for each wish of which nothing was read, so that nothing can be said of it."""
    found = []
    for wish, words, keys in (("relief", "relief", ("relief.middle",)), ("nut_bass", "the nut", ("nut.bass", "nut.treble")),
                              ("centring", "the strings' place", ("margin.left", "margin.right"))):
        missing = [k for k in keys if k not in m]
        if wish in want.wishes and (missing == list(keys) or (missing and wish == "nut_bass")):
            found.append(f"{words} was wished for, but nothing was read of it, and nothing is said of it here: read "
                         f"{', '.join(missing)}")
    between = range(2, len(want.each))
    if want.per_string and not all(any(k.endswith(f".string_{i}") for k in m) for i in between):
        found.append("each string has its wish, but not each its reading: those not read are taken evenly between the others; "
                     "read action at every string")
    return found


def _turns(given: Any) -> np.ndarray:
    now = np.asarray(given, dtype=float)
    if now.shape != (3,) or not (np.abs(now) <= 12).all():
        raise ValueError(f"turns_now: {given!r} turn; give three numbers, tilt, bass and treble, each from -12 to 12 turns")
    return now


def _fitted(d: Dimensions, m: Measured, want: Wanted, now: np.ndarray) -> tuple[Dimensions, np.ndarray]:
    """The instrument as it was measured, and the errors of action bass, treble and centring [mm]."""
    errors = []
    for side, last in (("bass", "string_1"), ("treble", f"string_{d.strings}")):
        keys = [k for k in m if k.startswith("action.") and k.endswith((side, last))]
        if not keys:
            raise SheetError([f"action.{want.fret}.{side}: is missing; set-up needs the action of both outer strings"])
        here = [k for k in keys if k.split(".")[1] == str(want.fret)]
        errors.append(min(m.errors[k] for k in (here or keys)))
    sides = [m.errors[k] for k in ("margin.left", "margin.right") if k in m]
    # Where nobody measured, nothing is known and nothing is asked.
    aside = float(np.sqrt(sum(s**2 for s in sides)) / len(sides)) if sides else 0.0
    fitted = as_measured(d, m, tilt=now[0], bass=now[1], treble=now[2])
    return fitted, np.array([*errors, aside])


def _nut_done(d: Dimensions, m: Measured, want: Wanted) -> Dimensions:
    """The instrument with the nut's slots as they will be."""
    if want.nut is not None and all(k in m for k in ("nut.bass", "nut.treble")):
        # A slot is read against the frets next to it: the truss rod moves them all, and what is to be filed stays.
        off = np.array([m.get("nut.bass"), m.get("nut.treble")], dtype=float) - want.nut
        by = np.where(np.abs(off) > want.nut_within, off, 0.0)
        part = np.linspace(0, 1, d.strings)
        d = d.replaced(h_nut=np.asarray(d.h_nut, dtype=float) - (by[0] * (1 - part) + by[1] * part))
    return d


def _one(m: Moves) -> Moves:
    """The only instrument of a batch of one."""
    one = Moves(*(getattr(m, f.name)[..., 0] for f in fields(m)))
    return replace(one, turns=np.where(np.abs(np.nan_to_num(one.turns)) < 1e-9, 0.0, np.nan_to_num(one.turns)))


def _expected(o: Options, d: Dimensions, now: np.ndarray, m: Moves) -> tuple[float, float, float]:
    mean, rate, lowest = before_tilt(o, batched(d, 1), now[:, None], m)
    return float(mean[0]), float(rate[0]), float(lowest[0])
