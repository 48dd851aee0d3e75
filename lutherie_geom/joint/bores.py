"""Bores: the holes of block and heel, listed once for readings, templates, solids and keys, and the wood left round them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import reduce
from typing import Any

import numpy as np

from lutherie_geom.joint.body import half_width
from lutherie_geom.joint.dimensions import Array, Dimensions
from lutherie_geom.joint.holes import clamp_height, need, thread
from lutherie_geom.joint.reading import Reading
from lutherie_geom.theory.dome import dome_height

__all__ = ["COVER", "IN_LINE", "TOP_WOOD", "WOOD", "Bore", "RodBore", "block_bores", "bore_readings", "cap_bed", "has_insert",
           "one_rod", "rod_bores", "rods_off"]

WOOD = 3.0
"""Least wood left between two bores, or between a bore and an outside, in mm (common practice, no source)."""
BALL_WOOD = 1.0
"""Least heel wood beside a ball head's seat, in mm (common practice, no source)."""
TOP_WOOD = 2.0
"""Least block wood between a bore and the soundboard, in mm (common practice, no source)."""
IN_LINE = 0.5
"""How far two rods may lie off each other's axis and still stand in one bore, in mm (common practice, no source)."""
COVER = 4.0
"""Thickness of the cover that is glued over the captive head, in mm (common practice, no source)."""


@dataclass(frozen=True)
class Bore:
    """A hole in the block, from ``start`` to ``end`` [mm behind the pocket's floor], worked from its ``face``: ``outer`` (the
    pocket's floor) or ``inner``. Its axis stands at ``y``, ``z`` [mm] where it starts and rises by ``slope`` [1] toward the tail.
    Round, ``wide`` [mm] across; a recess also has a height, ``high`` [mm]."""

    name: str
    face: str
    start: float
    end: float
    y: float
    z: float
    wide: float
    high: float = 0.0
    slope: float = 0.0

    def height(self, x: Array) -> Array:
        """Height of its axis [mm] at x [mm]; arrays broadcast."""
        return self.z + (x - self.start) * self.slope

    @property
    def lowest(self) -> Array:
        """Height of its lowest point [mm]."""
        return np.minimum(self.height(self.start), self.height(self.end)) - (self.high or self.wide) / 2

    @property
    def highest(self) -> Array:
        """Height of its highest point [mm]."""
        return np.maximum(self.height(self.start), self.height(self.end)) + (self.high or self.wide) / 2


def has_insert(design: Any) -> bool:
    """Whether the pivot screws run in inserts; else in threads cut in the block."""
    v = design.pivot
    return bool(v.insert_diameter > v.screw_diameter and v.insert_length > 0)


def cap_bed(design: Any) -> float:
    """Where the cover over the captive head is glued on [mm behind the pocket's floor]: behind head (as high as its screw is
    thick) and spring."""
    t = design.tilt_screw
    return float(t.head_x + t.diameter + t.spring_room)


def block_bores(design: Any, d: Dimensions | None = None) -> dict[str, Bore]:
    """The block's holes by name, as drilled: both pivots, clamp, tilt, the captive head's ``bed`` and its ``cover``'s recess.

    An insert's hole is as wide as the insert from the inner face to the pocket's floor: it is put in from inside, and the key
    comes that way, too. It follows a guide hole, as wide as the screw, drilled from outside. ``d``: the design's own numbers (for
    a batch).
    """
    v, t, c, deep = design.pivot, design.tilt_screw, design.clamp, float(design.block.depth)
    ux, uz = thread(d or design.dimensions())
    wide = v.insert_diameter if has_insert(design) else v.screw_diameter
    slope, seat = uz / ux, min(cap_bed(design), deep)
    face = "inner" if has_insert(design) else "outer"
    found = [Bore(f"pivot_{side}", face, 0.0, deep, sign * v.spacing / 2, v.z, wide) for side, sign in (("bass", -1),
                                                                                                          ("treble", 1))]
    found += [Bore("clamp", "outer", 0.0, deep, 0.0, clamp_height(design), c.hole_in_block),
              Bore("tilt", "outer", 0.0, t.head_x, 0.0, t.head_z - t.head_x * slope, t.hole_in_block, slope=slope),
              Bore("bed", "inner", t.head_x, seat, 0.0, t.head_z, max(t.washer_diameter, t.head_diameter), slope=slope),
              Bore("cover", "inner", seat, deep, 0.0, t.head_z, t.cover_width, t.cover_height)]
    return {b.name: b for b in found if b.end > b.start}


def one_rod(design: Any, d: Dimensions | None = None) -> Any:
    """Whether the tilt screw's rod reaches up past the clamp screw's underside and so serves both: bool, or an array of it for a
    batch with its numbers ``d``."""
    t = design.tilt_screw
    top = t.receiver_z + t.receiver_length / 2 * thread(d or design.dimensions())[0]
    found = (top > clamp_height(design) - design.clamp.diameter / 2) & (t.receiver == "rod along")
    return found if np.ndim(found) else bool(found)


def rods_off(design: Any, d: Dimensions | None = None) -> tuple[Array, Array]:
    """How far the clamp screw's receiver lies off the axis of the tilt screw's rod [mm], and where the axis crosses the clamp
    screw (x) [mm]. Both rods are bored up from the heel's foot."""
    t = design.tilt_screw
    ux, uz = thread(d or design.dimensions())
    there = t.receiver_x - (clamp_height(design) - t.receiver_z) * uz / ux
    return abs(design.clamp.receiver_x - there) * ux, there


@dataclass(frozen=True)
class RodBore:
    """A bore for rods along the heel, from the heel's foot up: ``wide`` across and ``deep`` [mm], its axis from ``foot`` to
    ``top``, both (x, z) [mm]."""

    wide: float
    deep: float
    foot: tuple[float, float]
    top: tuple[float, float]


def rod_bores(design: Any) -> tuple[RodBore, ...]:
    """The bores for rods along the heel, the clamp screw's first; none for cross dowels. Rods in line stand in one bore: for a
    thinner upper rod a narrower one goes on above the lower rod."""
    t, c, foot = design.tilt_screw, design.clamp, float(design.heel.foot_z)
    if t.receiver == "dowel across":
        return ()
    ux, uz = thread(design.dimensions())

    def bore(wide: float, x: float, z: float, above: float, way: tuple[float, float]) -> RodBore:
        """Up to ``above`` [mm] past (x, z), along ``way``: a thread's direction, square to the bore."""
        under = (z - foot) / way[0]
        return RodBore(wide, under + above, (x + under * way[1], foot), (x - above * way[1], z + above * way[0]))

    low = bore(t.receiver_diameter, t.receiver_x, t.receiver_z, t.receiver_length / 2, (ux, uz))
    if one_rod(design):
        return (low,)
    off, there = rods_off(design)
    zc = clamp_height(design)
    if off > IN_LINE:
        return bore(c.receiver_diameter, c.receiver_x, zc, c.receiver_length / 2, (1.0, 0.0)), low
    high = bore(c.receiver_diameter, there, zc, c.receiver_length / 2, (ux, uz))
    return (high,) if c.receiver_diameter == t.receiver_diameter else (high, low)


def _apart(a: Bore, b: Bore) -> Array:
    """Wood between two bores [mm], seen along the body, where they come nearest; a recess has square corners."""
    batch = max(np.ndim(v) for v in (a.y, a.z, b.y, b.z))
    x = np.array([max(a.start, b.start), min(a.end, b.end)]).reshape((2,) + (1,) * batch)
    across, up = np.abs(a.y - b.y), np.abs(a.height(x) - b.height(x))
    round_off = 0.0
    for bore in (a, b):
        if bore.high:
            across, up = np.maximum(across - bore.wide / 2, 0.0), np.maximum(up - bore.high / 2, 0.0)
        else:
            round_off += bore.wide / 2
    return np.hypot(across, up).min(axis=0) - round_off


def bore_readings(design: Any, d: Dimensions) -> list[Reading]:
    """Wood round the block's holes as they are bored, beside the ball heads, and under the pocket; in mm."""
    v, t, block, h = design.pivot, design.tilt_screw, design.block, design.heel
    bores = block_bores(design, d)
    pivot, clamp = bores["pivot_treble"], bores["clamp"]
    behind = [bores[k] for k in ("bed", "cover") if k in bores]

    def roof(b: Bore) -> Array:
        x = np.array([b.start, b.end]).reshape((2,) + (1,) * np.ndim(b.y))
        top = dome_height(x=x, y=b.y, curvature=d.curvature, x_apex=d.x_apex, along=d.along, across=d.across)
        return top.min(axis=0) - design.body.top_thickness - b.highest

    between = _apart(pivot, clamp)
    lean = math.atan2(h.half_width_top - h.half_width_foot, -h.foot_z)
    side = (half_width(d, v.z) - pivot.y) * math.cos(lean) - v.ball_radius
    if behind:
        under = reduce(np.minimum, [b.lowest - block.foot_z for b in behind])
        over = reduce(np.minimum, [_apart(a, b) for a in behind for b in (clamp, pivot)])
    found = [
        Reading("inside.clamp_pivot", "wood between clamp hole and pivot bores", between, "mm",
                "in the block, between the clamp screw's hole and the bore of each pivot screw or insert, seen along the body",
                need(between, WOOD, 1.0, "pivot.spacing: {} more", 2.0)),
        Reading("inside.pivot_top", "wood between pivot bores and soundboard", roof(pivot), "mm",
                "from the upper side of the bore for screw or insert to the soundboard's inner surface, over the block's depth",
                need(roof(pivot), TOP_WOOD, 2.0, "pivot.z: {} lower")),
        Reading("inside.clamp_top", "wood between clamp hole and soundboard", roof(clamp), "mm",
                "from the hole's upper side to the soundboard's inner surface, over the block's whole depth",
                need(roof(clamp), TOP_WOOD, 2.0, "pivot.z: {} lower")),
        Reading("inside.ball_side", "wood beside the ball heads, each side", side, "mm",
                "from the ball, sunk in the heel's end face, to the heel's cheek",
                need(side, BALL_WOOD, 0.2, "pivot.spacing: {} less", 2.0 / math.cos(lean))),
        Reading("inside.pocket_foot", "block under the pocket", h.foot_z - design.pocket.side_gap - block.foot_z, "mm",
                "from the pocket's foot to the block's: the block must lie behind all of the pocket",
                need(h.foot_z - design.pocket.side_gap - block.foot_z, 0.0, 1.0, "block.foot_z: {} lower")),
        Reading("inside.head_foot", "block under the captive head", t.head_z - t.head_diameter / 2 - block.foot_z, "mm",
                "from the head's rim to the block's foot",
                need(t.head_z - t.head_diameter / 2 - block.foot_z, WOOD, 1.0, "block.foot_z: {} lower")),
    ]
    if behind:
        found += [
            Reading("inside.bed_foot", "wood under the captive head's bed and cover", under, "mm",
                    "from the lowest of the washer's bed and the cover's recess to the block's foot",
                    need(under, WOOD, 0.5, "block.foot_z: {} lower (or tilt_screw.washer_diameter and cover_height less)")),
            Reading("inside.bed_clamp", "wood between the captive head's bed and the holes over it", over, "mm",
                    "from the washer's bed and the cover's recess to the clamp hole and the pivot bores, seen along the body",
                    need(over, WOOD, 1.0, "tilt_screw.head_z: {} lower")),
        ]
    return found
