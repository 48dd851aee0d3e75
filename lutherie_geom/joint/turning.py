"""Readings of turning: turns and tilt, the finest steps, travel with its stops, the fit over the travel, steering, coupling."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import Any

import numpy as np

from lutherie_geom.joint.body import heel_fit, least_gap
from lutherie_geom.joint.coupling import SCREWS, coupling
from lutherie_geom.joint.dimensions import Dimensions
from lutherie_geom.joint.pose import arm, pose, small_angle
from lutherie_geom.joint.reading import Reading, at_least
from lutherie_geom.joint.strings import action, string_places
from lutherie_geom.joint.travel import Travel

__all__ = ["STEPS", "turning_readings", "way"]

STEPS = (Fraction(1, 8), Fraction(1, 16), Fraction(1, 48))
TRAVEL_ROOM = 0.5
WANTED_LOWERING, WANTED_RAISING = 0.5, 0.25  # least to be playable when new: common practice, no source; years ask for more
CURES = {
    "tongue": "make tongue.gap {mm:.2f} mm larger",
    "floor at the foot": "make heel.floor_clearance {mm:.2f} mm larger, and pocket.depth as well",
    "floor above the pivot": "make heel.floor_clearance {mm:.2f} mm larger, and pocket.depth as well",
    "pocket": "make pocket.depth {mm:.2f} mm larger",
    "strings": "make strings.nut_height_treble {mm:.2f} mm larger",
    "screw bottoms": "make tilt_screw.hole_past_receiver {mm:.2f} mm deeper",
    "thread": "make the tilt screw {mm:.2f} mm longer (tilt_screw.past_receiver)",
    "washer spring": "make tilt_screw.spring_room {mm:.2f} mm larger",
}


def way(hand: str, key_from: str, positive: bool, screw: str) -> str:
    """Clockwise or anticlockwise, as seen by the person who holds the key.

    Tilt screw: a positive turn lengthens it. Its head is held in the block, its thread in the heel; seen from the
    soundhole a right-hand screw turned clockwise draws the heel toward the viewer, which shortens. Pivot screw: a positive
    turn drives the seat toward the neck; seen from the soundhole a right-hand screw turned clockwise moves away from the
    viewer, to the neck. A key from the heel's side sees every turn the other way round.
    """
    clockwise = positive if screw == "pivot" else not positive
    if hand == "left":
        clockwise = not clockwise
    if key_from == "heel":
        clockwise = not clockwise
    return f"{'clockwise' if clockwise else 'anticlockwise'}, seen from the {key_from}"


def turning_readings(design: Any, t: Travel) -> Iterator[Reading]:
    """Tilt, travel and steering."""
    d = design.dimensions()
    yield from _tilt(design, d)
    yield from _travel(design, d, t)
    yield from _over_travel(design, d, t)
    yield from _steering(design, d)
    yield from _coupling(d)


def _tilt(design: Any, d: Dimensions) -> Iterator[Reading]:
    screw = design.tilt_screw
    yield Reading("tilt.arm", "arm of the tilt screw about the pivot", float(arm(d)), "mm",
                  "Distance of the tilt screw's line from the pivot axis at the nominal pose.")
    yield Reading("tilt.raise", "to raise the action, turn the tilt screw", way(screw.hand, screw.key_from, True, "tilt"), "",
                  "From the thread's hand and the side on which the key goes in.")
    yield Reading("tilt.lower", "to lower the action, turn the tilt screw", way(screw.hand, screw.key_from, False, "tilt"), "",
                  "From the thread's hand and the side on which the key goes in.")
    turns = np.array([-1, -0.5, -0.25, 0.0, 0.25, 0.5, 1])
    p = pose(d, tilt=turns)
    a, g = action(p, 12), least_gap(p).gap
    rows = [[float(x) for x in row] for row in zip(turns, np.degrees(p.theta), np.degrees(small_angle(d, tilt=turns) - p.theta),
                                                   a[0, 0], a[-1, 0], g, strict=True)]
    yield Reading("tilt.table", "turns, tilt and action", rows, "",
                  "Exact pose; the rule pitch / arm and its error beside; travel is not looked at here.",
                  columns=(("turns", "turn"), ("tilt", "deg"), ("error of the rule", "deg"), ("action 12 bass", "mm"),
                           ("action 12 treble", "mm"), ("least gap", "mm")))
    steps: list[list[Any]] = []
    here = action(pose(d), 12).mean()
    gap0 = float(least_gap(pose(d)).gap)
    y0 = float(pose(d).to_body(d.x_nut, 0.0, 0.0).y)
    for step in STEPS:
        up, steer = pose(d, tilt=float(step)), pose(d, bass=float(step), treble=-float(step))
        steps.append([str(step), float(action(up, 12).mean() - here), float(least_gap(up).gap) - gap0,
                     float(steer.to_body(d.x_nut, 0.0, 0.0).y) - y0])
    yield Reading("tilt.steps", "the finest steps that a hand can set", steps, "mm",
                  "Change of the mean action at fret 12 and of the least gap for one step up of the tilt screw; shift of the nut "
                  "end to treble for one step out of the bass pivot screw and in of the treble.",
                  columns=(("turn", "turn"), ("action 12", "mm"), ("least gap", "mm"), ("nut end, steering", "mm")))


def _travel(design: Any, d: Dimensions, t: Travel) -> Iterator[Reading]:
    for direction, wanted, word in ((-1, WANTED_LOWERING, "lowering"), (1, WANTED_RAISING, "raising")):
        stop = t.first(direction)
        have = -t.low if direction < 0 else t.high
        lack = max(0.0, wanted + TRAVEL_ROOM - have)
        cure = ""
        if stop and lack and stop.name in CURES:
            at = stop.turn or 0.0
            short = _missing(d, stop.name, at, at + direction * lack)
            cure = CURES[stop.name].format(mm=np.ceil(100 * short) / 100)  # never told less than it takes
        elif stop and lack:
            cure = stop.words
        ends = stop.words if stop else "nothing within reach"
        yield Reading(f"travel.{word}", f"travel {word} the action, until {ends}", float(have), "turn",
                      "Turns of the tilt screw from its nominal place to the first stop.",
                      at_least(have, wanted, TRAVEL_ROOM, cure))
    rows = [[s.words, s.turn, s.kind] for s in t.stops if s.turn is not None]
    yield Reading("travel.stops", "every stop at its own turn, nearest first", rows, "turn",
                  "Found to better than a millionth of a turn. A warning does not end the travel.",
                  columns=(("what happens", ""), ("turns", "turn"), ("kind", "")))


def _missing(d: Dimensions, name: str, at: float, wanted: float) -> float:
    """How many millimetres a margin falls short at the turn that is wanted."""
    p, q = pose(d, tilt=at), pose(d, tilt=wanted)
    if name == "tongue":
        return abs(float(least_gap(q).gap - least_gap(p).gap))
    if name.startswith("floor"):
        return abs(float(heel_fit(q).floor.min() - heel_fit(p).floor.min()))
    if name == "pocket":
        return abs(float(heel_fit(q).reveal.min() - heel_fit(p).reveal.min()))
    if name == "strings":
        return abs(float(action(q, 1).min() - action(p, 1).min()))
    return abs(float(d.pitch_tilt * (wanted - at)))


def _over_travel(design: Any, d: Dimensions, t: Travel) -> Iterator[Reading]:
    p = pose(d, tilt=np.linspace(t.low, t.high, 9))
    fit, g = heel_fit(p), least_gap(p)
    a = action(p, 12)
    tip = p.to_body(design.tongue.length, 0.0, -design.board.crown - design.board.thickness).x
    last = p.to_body(float(d.x_fret(d.last_fret)), 0.0, 0.0).x
    hole = design.body.soundhole_near
    rows = [[float(v) for v in row] for row in zip(
        np.broadcast_to(p.tilt, (9,)), a[0, 0], a[-1, 0], g.gap, fit.floor.min(axis=(0, 1)), fit.floor[-1].min(axis=0),
        fit.reveal.min(axis=(0, 1)), fit.side.min(axis=(0, 1)), hole - tip, hole - last, strict=True)]
    yield Reading("travel.table", "the joint over its travel", rows, "mm",
                  "Even steps from the lowest to the highest turn.",
                  columns=(("turns", "turn"), ("action 12 bass", "mm"), ("action 12 treble", "mm"), ("least gap", "mm"),
                           ("floor clearance", "mm"), ("at the foot", "mm"), ("reveal", "mm"), ("side gap", "mm"),
                           ("tongue end to soundhole", "mm"), ("last fret to soundhole", "mm")))


def _steering(design: Any, d: Dimensions) -> Iterator[Reading]:
    screw = design.pivot
    yield Reading("steer.out", "to drive a seat out, toward the neck, turn its pivot screw",
                  way(screw.hand, screw.key_from, True, "pivot"), "", "Slacken the clamp screw first; tighten it before reading.")
    access = ("only with the neck off: the sockets face the heel; plan for few removals" if screw.key_from == "heel"
              else "from the soundhole, with the neck on and the clamp slackened")
    yield Reading("steer.access", "a key reaches the pivot screws", access, "", "From pivot.seat and pivot.key_from.")
    side = {"bass": "right" if design.handed == "left" else "left", "treble": "left" if design.handed == "left" else "right"}
    yield Reading("steer.sides", "sides as seen by a person who looks at the top, nut up",
                  f"bass on the {side['bass']}, treble on the {side['treble']}", "", "Left-handed instruments are mirrored.")
    rows = []
    base = pose(d)
    a0, y0, fit0 = action(base, 12), string_places_body(base), heel_fit(base)
    for step in STEPS:
        for name in ("bass", "treble", "both", "against"):
            b, r = {"bass": (1, 0), "treble": (0, 1), "both": (1, 1), "against": (1, -1)}[name]
            p = pose(d, bass=b * float(step), treble=r * float(step))
            a, fit = action(p, 12), heel_fit(p)
            rows.append([str(step), name, float(np.degrees(p.psi)), float(p.advance), string_places_body(p) - y0,
                         *(float(fit.side[:, k].min() - fit0.side[:, k].min()) for k in (0, 1)),
                         float((a[0] - a0[0])[0]), float((a[-1] - a0[-1])[0])])
    yield Reading("steer.table", "what each pivot screw does", rows, "",
                  "Tilt screw left alone. Against: bass out and treble in by the same turn.",
                  columns=(("turn out", "turn"), ("screw", ""), ("yaw", "deg"), ("advance", "mm"), ("nut end to treble", "mm"),
                           ("side gap bass", "mm"), ("side gap treble", "mm"), ("action 12 bass", "mm"),
                           ("action 12 treble", "mm")))
    q = pose(d, bass=1 / 16, treble=-1 / 16)
    shift = float((string_places(q, 12) - string_places(base, 12)).mean())
    yield Reading("steer.strings_at_12", "strings over the board at fret 12 for 1/16 turn against", shift, "mm",
                  "Where the strings run across the board, to treble (the neck turns under them).")


def string_places_body(p: Any) -> float:
    """The nut's middle across the body [mm], to treble."""
    return float(p.to_body(p.of.x_nut, 0.0, 0.0).y)


def _coupling(d: Dimensions) -> Iterator[Reading]:
    c = coupling(pose(d))
    names = tuple((s, "per turn") for s in SCREWS)
    motion = c.motion.copy()
    motion[:2] = np.degrees(motion[:2])
    yield Reading("coupling.motion", "what a turn of each screw moves",
                  [[w, *map(float, row)] for w, row in zip(("tilt [deg]", "yaw [deg]", "advance [mm]"), motion, strict=True)], "",
                  "Exact slopes at the nominal pose.", columns=(("motion", ""), *names))
    yield Reading("coupling.seen", "what the builder sees for a turn of each screw",
                  [[w, *map(float, row)] for w, row in zip(
                      ("action 12 bass [mm]", "action 12 treble [mm]", "nut end to treble [mm]"), c.seen, strict=True)], "",
                  "Exact slopes at the nominal pose.", columns=(("reading", ""), *names))
