"""Wood that bears: inserts, washers, receivers, the plug that could shear out, and the glued cover.

Strengths are those of clear wood at the design's moisture. For loads that last (string pull and clamp) they count with the
factor for ten years, but for compression across the grain; the factor wanted on top is for what is left out.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

import numpy as np

from lutherie_geom.mechanics.check import Check
from lutherie_geom.mechanics.givens import CLAMP_MOST, Numbers
from lutherie_geom.theory.joint_strength import bolt_bearing, glue_load, washer_pressure
from lutherie_geom.theory.relation import Relation
from lutherie_geom.theory.strength import (
    dowel_pressure,
    dowel_strength,
    hankinson,
    lag_screw_pull,
    shear_out,
    wood_screw_pull,
)

__all__ = ["needs", "off_grain", "seat_hold", "wood_checks"]

Array = Any
WOOD, GLUE = 2.0, 3.0
"""How many times the required is wanted of wood and of glue, besides the factor for long loads (chosen here)."""
THIN = 6.35
"""Diameter [mm] from which a dowel counts as thick (from memory)."""
END_GRAIN = 0.75
"""What end grain holds of what side grain holds, lag screws (GTR-282, read in a reproduction)."""
KNOTS = "Knots, splits, growth rings, boards below their species' mean (the low figure has these), damp."


def off_grain(along: Array, across: Array, angle: float) -> Array:
    """A strength or a modulus [MPa] at an angle [rad] to the grain; at either end the other number is not needed and may be nan.

    For a modulus the same rule is from memory.
    """
    if not _meets(angle)[1]:
        return along
    if not _meets(angle)[0]:
        return across
    return hankinson(along_grain=along, across_grain=across, grain_angle=angle)


def _meets(angle: float) -> tuple[bool, bool]:
    """Whether a load at an angle [rad] to the grain meets the wood along it, and across it."""
    return abs(math.cos(angle)) > 1e-9, abs(math.sin(angle)) > 1e-9


def needs(part: str, angle: float) -> tuple[str, ...]:
    """Names of the strengths that a face of a part needs at an angle [rad] to its grain."""
    along, across = _meets(angle)
    return ((f"{part}_along",) if along else ()) + ((f"{part}_across",) if across else ())


def _dowel(n: Numbers, part: str, diameter: float, angle: float) -> tuple[Array, Relation]:
    """Bearing strength [MPa] under a dowel or a thread, by gravity, at an angle [rad] to the grain."""
    if diameter < THIN:
        return dowel_strength(gravity=n[f"{part}_gravity"]), dowel_strength
    b = bolt_bearing(gravity=n[f"{part}_gravity"], dowel_diameter=diameter)
    return hankinson(along_grain=b.along_grain, across_grain=b.across_grain, grain_angle=angle), bolt_bearing


def seat_hold(design: Any) -> tuple[float, float, str]:
    """Diameter and length [mm] of what holds a seat screw in the block, and its name: the insert, or the screw itself."""
    v = design.pivot
    if v.insert_diameter > 0 and v.insert_length > 0:
        return v.insert_diameter, min(v.insert_length, design.block.depth), "insert"
    rim = v.x + math.sqrt(v.ball_radius**2 - v.rim_radius**2)
    return v.screw_diameter, max(min(rim + v.screw_length, design.block.depth) - max(rim, 0.0), 0.0), "seat screw's own thread"


def _block(n: Numbers) -> Iterator[Check]:
    d = n.design
    t, c, said = d.tilt_screw, d.clamp, d.woods.block_said
    angle = d.woods.block_angle(1.0, 0.0, 0.0)
    diameter, length, what = seat_hold(d)
    # Between end grain and side grain by the rule for strengths (chosen here).
    end = off_grain(END_GRAIN, 1.0, angle)
    hold = lag_screw_pull(gravity=n["block_gravity"], diameter=diameter, thread_depth=length)
    if what != "insert":
        hold = np.minimum(hold, wood_screw_pull(gravity=n["block_gravity"], diameter=diameter, thread_depth=length))
    yield Check("block.insert", f"block ({said}): {what} of the loaded seat, pushed along its thread", hold * end * n["lasting"],
                n["seat_force"], "N", WOOD, (lag_screw_pull,), ("block_gravity", "lasting", "seat_force", *CLAMP_MOST),
                "Glue, a flange or a blind hole hold more than the thread alone. " + KNOTS,
                "pivot.insert_length: longer")
    # Pushed aside, up or down: one of the two is across the grain whichever way it runs.
    strength, by = _dowel(n, "block", diameter, math.pi / 2)
    yield Check("block.insert_side", f"block ({said}): {what} pushed sideways", strength * n["lasting"],
                dowel_pressure(force=n["seat_side"], diameter=diameter, bearing_length=length), "MPa", WOOD,
                (dowel_pressure, by, hankinson), ("block_gravity", "lasting", "seat_side"),
                KNOTS, "pivot.insert_length: longer")
    for key, part, force, name in (("captive", t, np.maximum(n["tilt_force"], 0.0), "captive head's"),
                                   ("clamp", c, n["preload"] * n["scatter"], "clamp screw's")):
        wide, hole = part.washer_diameter, part.hole_in_block
        word = f"block ({said}): wood under the {name} washer"
        loads = ("tilt_force",) if key == "captive" else ("preload", "scatter")
        uses = (*needs("block", angle), *(("lasting",) if _meets(angle)[0] else ()), *loads)
        field = f"{'tilt_screw' if key == 'captive' else 'clamp'}.washer_diameter: larger"
        area = washer_pressure(force=force, washer_diameter=wide, bore=hole) if wide > hole else np.asarray(np.inf)
        # Across the grain the strength is a limit of sinking, and creep is told with the preload: no factor for long loads.
        strength = off_grain(n["block_along"] * n["lasting"], n["block_across"], angle)
        yield Check(f"block.{key}_washer", word, strength, area, "MPa", 1.5, (washer_pressure, hankinson), uses,
                    "Strength across the grain is where it starts to crush, not where it breaks: the wood sinks, and the preload "
                    "with it. The wood round a small washer helps by up to a half (from memory). " + KNOTS,
                    field)


def _heel(n: Numbers) -> Iterator[Check]:
    d = n.design
    t, c = d.tilt_screw, d.clamp
    slope, said = math.atan2(abs(t.head_z - t.receiver_z), t.head_x - t.receiver_x), d.woods.heel_said
    for key, part, force, slant, name in (("tilt", t, np.maximum(n["tilt_force"], 0.0), slope, "tilt screw's"),
                                          ("clamp", c, n["clamp_most"], 0.0, "clamp screw's")):
        angle = min(slant + d.woods.heel_runout, math.pi / 2)
        size = {"diameter": part.receiver_diameter, "bearing_length": part.receiver_length}
        strength, by = _dowel(n, "neck", part.receiver_diameter, angle)
        field = "tilt_screw" if key == "tilt" else "clamp"
        loads = ("tilt_force",) if key == "tilt" else CLAMP_MOST
        yield Check(f"heel.{key}_receiver", f"heel ({said}): wood in front of the {name} receiver",
                    strength * n["lasting"], dowel_pressure(force=force, **size), "MPa", WOOD, (dowel_pressure, by, hankinson),
                    ("neck_gravity", "lasting", *loads), "Splitting along the grain. " + KNOTS,
                    f"{field}.receiver_length: longer")
        end = -part.receiver_x - d.heel.floor_clearance - part.receiver_diameter / 2
        asked = shear_out(force=force, end_distance=end, bearing_length=part.receiver_length) if end > 0 else np.asarray(np.inf)
        yield Check(f"heel.{key}_shear_out", f"heel ({said}): plug between the {name} receiver and the heel's end, "
                                             f"{max(end, 0.0):.1f} mm", n["neck_shear"] * n["lasting"], asked, "MPa", WOOD,
                    (shear_out,), ("neck_shear", "lasting", *loads),
                    "Splitting, which comes first in a thin heel or where grain runs out; a hole on the way; cracks. " + KNOTS,
                    f"{field}.receiver_x: further from the body")


def _cover(n: Numbers) -> Iterator[Check]:
    t = n.design.tilt_screw
    cave = max(t.head_diameter, t.washer_diameter, t.cover_hole)
    yield Check("cover.glue", "glued cover of the captive head", np.maximum(glue_load(
        cover_width=t.cover_width, cover_height=t.cover_height, cavity=cave, glue_strength=n["glue"]), 0.0) * n["lasting"],
        n["cover_push"], "N", GLUE, (glue_load,), ("glue", "lasting", "cover_push"),
        "Peeling from an edge, a starved or cold joint, heat (a hot car softens glue), a key that pushes hard on a stuck screw.",
        "tilt_screw.cover_width: more")


def wood_checks(n: Numbers) -> Iterator[Check]:
    """All checks of wood and glue."""
    yield from _block(n)
    yield from _heel(n)
    yield from _cover(n)
