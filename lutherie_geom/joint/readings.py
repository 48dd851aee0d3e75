"""Reading a joint: all that a builder reads off a design, or off the neck at one pose."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from lutherie_geom.joint.body import heel_fit, least_gap
from lutherie_geom.joint.pose import Pose
from lutherie_geom.joint.reading import Reading, Readings, at_least
from lutherie_geom.joint.strings import action, buzz
from lutherie_geom.joint.travel import travel

__all__ = ["read", "read_design", "read_pose"]

BUZZ_ROOM = 0.10
GAP_ROOM = 0.30
FLOOR_ROOM = 0.30


def numbers(values: Any) -> list[Any]:
    """Plain (nested) lists of floats for a table or a file."""
    return list(np.asarray(values, dtype=float).tolist())


def read(thing: Any) -> Readings:
    """Readings of a design (the whole joint book) or of a pose (what shows at that setting)."""
    return read_pose(thing) if isinstance(thing, Pose) else read_design(thing)


def read_pose(p: Pose) -> Readings:
    """What shows with the screws at one setting; scalar turns."""
    return Readings(f"tilt {float(p.tilt):+.4g}, bass {float(p.bass):+.4g}, treble {float(p.treble):+.4g} turns",
                    tuple(pose_readings(p)))


def pose_readings(p: Pose) -> Iterator[Reading]:
    """Action, buzz clearance, gap, floor clearance, reveal and side gaps at one pose."""
    last = p.of.last_fret
    frets = (1, 12, last)
    a = action(p, frets)
    yield Reading("action.frets", "frets at which the action is read", list(frets), "", "First, twelfth and last fret.")
    for k, f in enumerate(frets):
        key = "last" if f == last else str(f)
        yield Reading(f"action.fret_{key}", f"action at fret {f}, bass to treble", numbers(a[:, k]), "mm",
                      "From the fret's crown to the underside of the string, along the normal of the fret plane, "
                      "at the string's own place across the board.")
    z = buzz(p)
    i, n = np.unravel_index(int(np.argmin(z.clearance)), z.clearance.shape)
    least, over = float(z.clearance[i, n]), int(z.over_fret[i, n])
    stopped = "open" if n == 0 else f"stopped at fret {n}"
    cure = ("" if least >= BUZZ_ROOM else
            f"string {i + 1} from the bass, {stopped}, over fret {over}: raise the action by "
            f"{2 * (BUZZ_ROOM - least):.2f} mm at fret 12, or lower that fret's crown by {BUZZ_ROOM - least:.2f} mm")
    yield Reading("buzz.least", f"least buzz clearance (string {i + 1} from the bass, {stopped}, over fret {over})", least, "mm",
                  "With the string stopped at a fret, its least height over any later crown; the string at rest and straight.",
                  at_least(least, 0.0, BUZZ_ROOM, cure))
    yield Reading("buzz.table", "buzz clearance, stopped fret by string",
                  [[float(k), *numbers(z.clearance[:, k])] for k in range(z.clearance.shape[1])], "mm",
                  "Least height over any later crown for each string stopped at each fret (0 is open).",
                  columns=(("stopped at fret", ""), *((f"string {k + 1}", "mm") for k in range(a.shape[0]))))
    g = least_gap(p)
    yield Reading("gap.least", "least gap under the tongue", float(g.gap), "mm",
                  "From the soundboard to the tongue's underside, along the body's z, least value over the whole footprint.",
                  at_least(g.gap, 0.0, GAP_ROOM, f"make tongue.gap {max(0.0, GAP_ROOM - float(g.gap)):.2f} mm larger"))
    yield Reading("gap.least_at", "where the gap is least: along from the joint, across to treble",
                  [float(g.x), float(g.y)], "mm", "Place at the nominal pose, on the tongue's underside.")
    fit = heel_fit(p, heights=13)
    lowest = float(fit.floor.min())
    yield Reading("heel.floor_clearance", "least floor clearance of the heel", lowest, "mm",
                  "How far the heel's end face stands off the pocket's floor, least over its outline.",
                  at_least(lowest, 0.0, FLOOR_ROOM,
                           f"make heel.floor_clearance {max(0.0, FLOOR_ROOM - lowest):.2f} mm larger, pocket.depth as well"))
    reveal = float(fit.reveal.min())
    yield Reading("heel.reveal", "least depth of heel still inside the pocket", reveal, "mm",
                  "Pocket depth less the floor clearance, least over the outline; at zero a gap shows.",
                  at_least(reveal, 0.0, 0.5, f"make pocket.depth {max(0.0, 0.5 - reveal):.2f} mm deeper"))
    for k, side in enumerate(("bass", "treble")):
        value = float(fit.side[:, k].min())
        yield Reading(f"heel.side_gap_{side}", f"least side gap at the {side} cheek", value, "mm",
                      "From the heel's cheek to the pocket's, between floor and rim.",
                      at_least(value, 0.0, 0.1, f"make pocket.side_gap {max(0.0, 0.1 - value):.2f} mm larger"))


def read_design(design: Any) -> Readings:
    """Every reading of the joint book, in its order."""
    from lutherie_geom.joint.build import build_readings
    from lutherie_geom.joint.inside import hole_readings, inside_readings
    from lutherie_geom.joint.pitch import pitch_readings
    from lutherie_geom.joint.turning import turning_readings

    t = travel(design)
    items = [*build_readings(design), *pose_readings(design.pose()), *turning_readings(design, t), *inside_readings(design, t),
             *hole_readings(design, t), *pitch_readings(design, t)]
    keys = [r.key for r in items]
    doubled = {k for k in keys if keys.count(k) > 1}
    if doubled:
        raise ValueError(f"readings with the same key: {sorted(doubled)}")
    return Readings(design.name, tuple(items))
