"""Block, heel and tongue as solids in plain words: prisms, cylinders and a ball, put together; mm, body frame, no modeller."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from lutherie_geom.joint.bores import block_bores, rod_bores
from lutherie_geom.joint.holes import clamp_height, thread
from lutherie_geom.shop.hardware import ball_head, clamp_hole
from lutherie_geom.shop.templates.block import CARD
from lutherie_geom.shop.templates.ground import Ground
from lutherie_geom.shop.templates.refusals import refuse

__all__ = ["Ball", "Prism", "Rod", "Solid", "solid_parts"]

Place = tuple[float, float, float]
_OVER = 1.0  # cuts reach this far out of the wood [mm], so that no skin is left


@dataclass(frozen=True)
class Prism:
    """An outline (points in ``plane``, yz or xz) carried from ``low`` to ``high`` along the third axis [mm]; outline convex,
    anticlockwise in its two axes."""

    plane: str
    outline: tuple[tuple[float, float], ...]
    low: float
    high: float

    def inside(self, p: np.ndarray) -> np.ndarray:
        """Which points (n, 3) [mm] lie inside."""
        a, b, along = {"yz": (1, 2, 0), "xz": (0, 2, 1)}[self.plane]
        found = (p[:, along] >= self.low) & (p[:, along] <= self.high)
        for (u0, v0), (u1, v1) in zip(self.outline, (*self.outline[1:], self.outline[0]), strict=True):
            found &= (u1 - u0) * (p[:, b] - v0) - (v1 - v0) * (p[:, a] - u0) >= 0
        return found


@dataclass(frozen=True)
class Rod:
    """A cylinder from ``start`` to ``end`` [mm]."""

    start: Place
    end: Place
    radius: float

    def inside(self, p: np.ndarray) -> np.ndarray:
        """Which points (n, 3) [mm] lie inside."""
        a, d = np.array(self.start), np.subtract(self.end, self.start)
        long = np.linalg.norm(d)
        t = (p - a) @ d / long
        return (t >= 0) & (t <= long) & (((p - a) ** 2).sum(axis=1) - t**2 <= self.radius**2)


@dataclass(frozen=True)
class Ball:
    """A ball [mm]: the dome that hollows the tongue."""

    middle: Place
    radius: float

    def inside(self, p: np.ndarray) -> np.ndarray:
        """Which points (n, 3) [mm] lie inside."""
        return ((p - np.array(self.middle)) ** 2).sum(axis=1) <= self.radius**2


Shape = Prism | Rod | Ball


@dataclass(frozen=True)
class Solid:
    """A part: what all of ``whole`` share, less every one of ``cuts``."""

    name: str
    whole: tuple[Prism, ...]
    cuts: tuple[Shape, ...]

    def inside(self, p: np.ndarray) -> np.ndarray:
        """Which points (n, 3) [mm] lie in the wood."""
        found = np.logical_and.reduce([s.inside(p) for s in self.whole])
        for cut in self.cuts:
            found &= ~cut.inside(p)
        return found

    def mirrored(self) -> Solid:
        """The left-handed twin: y turned over."""
        def one(s: Any) -> Any:
            if isinstance(s, Prism):
                if s.plane == "xz":
                    return replace(s, low=-s.high, high=-s.low)
                return replace(s, outline=tuple((-y, z) for y, z in reversed(s.outline)))
            if isinstance(s, Ball):
                return replace(s, middle=(s.middle[0], -s.middle[1], s.middle[2]))
            return replace(s, start=(s.start[0], -s.start[1], s.start[2]), end=(s.end[0], -s.end[1], s.end[2]))

        return Solid(self.name, tuple(map(one, self.whole)), tuple(map(one, self.cuts)))


def _box(y: float, low: float, high: float) -> tuple[tuple[float, float], ...]:
    return (-y, low), (y, low), (y, high), (-y, high)


def _block(g: Ground) -> Solid:
    """The neck block, as wide as the drilling card covers; its top plane under the soundboard."""
    design, deep = g.design, float(g.design.block.depth)
    wide = design.heel.half_width_top + CARD
    cuts: list[Shape] = []
    for name, b in block_bores(design).items():
        start = b.start - _OVER if b.start == 0 else b.start
        end = b.end + _OVER if b.end == deep else b.end
        if b.high:
            cuts.append(Prism("yz", tuple((y, z + b.z) for y, z in _box(b.wide / 2, -b.high / 2, b.high / 2)), start, end))
        else:
            if name == "bed" and b.slope:  # square to the screw: carried on into the recess, so that its slant leaves no skin
                end += min(_OVER, deep - b.end)
            cuts.append(Rod((start, b.y, float(b.height(start))), (end, b.y, float(b.height(end))), b.wide / 2))
    return Solid("block", (Prism("yz", _box(wide, design.block.foot_z, -design.body.top_thickness), 0.0, deep),), tuple(cuts))


def _heel(g: Ground) -> Solid:
    """The heel under the board's glue face: outline of its end face carried back, holes for screws and receivers.

    Its cheeks are square to the end face: draught, and the carving further out, are left to the rasp.
    """
    design, h, t, c = g.design, g.design.heel, g.design.tilt_screw, g.design.clamp
    tilt_drill, clamp_drill = g.heel_drills
    face, far, zc = -h.floor_clearance, -h.length, clamp_height(design)
    high = max(float(g.glue_face(face)), float(g.glue_face(far)))
    ux, uz = thread(g.d)
    wide = ((-h.half_width_foot, h.foot_z), (h.half_width_foot, h.foot_z), (h.half_width_top, 0.0), (h.half_width_top, high),
            (-h.half_width_top, high), (-h.half_width_top, 0.0))
    side = ((far, h.foot_z), (face, h.foot_z), (face, float(g.glue_face(face))), (far, float(g.glue_face(far))))

    def on(x: float) -> Place:
        return (x, 0.0, t.receiver_z + (x - t.receiver_x) * uz / ux)

    cuts: list[Shape] = [Rod(on(face + _OVER), on(t.receiver_x - t.hole_past_receiver * ux), tilt_drill / 2),
                         Rod((face + _OVER, 0.0, zc), (face - clamp_hole(design), 0.0, zc), clamp_drill / 2)]
    for b in rod_bores(design):  # from the foot up
        (x0, z0), (x1, z1) = b.foot, b.top
        out = _OVER / b.deep
        cuts.append(Rod((x0 - out * (x1 - x0), 0.0, z0 - out * (z1 - z0)), (x1, 0.0, z1), b.wide / 2))
    if t.receiver == "dowel across":  # bored in from the bass cheek
        cuts += [Rod((part.receiver_x, -h.half_width_top - _OVER, z), (part.receiver_x, part.receiver_length / 2, z),
                     part.receiver_diameter / 2) for part, z in ((t, t.receiver_z), (c, zc))]
    recess = ball_head(design)
    if recess.deep > 0:
        cuts += [Rod((face + _OVER, y, design.pivot.z), (face - recess.deep, y, design.pivot.z), recess.wide / 2)
                 for y in (-design.pivot.spacing / 2, design.pivot.spacing / 2)]
    return Solid("heel", (Prism("yz", wide, far, face), Prism("xz", side, -h.half_width_top, h.half_width_top)), tuple(cuts))


def _tongue(g: Ground) -> Solid:
    """Neck wood under the board, from the pocket's floor to the tongue's end; hollowed by a ball, or planed."""
    from lutherie_geom.joint.body import taper_of

    design, t, d = g.design, g.design.tongue, g.d
    long, gap = float(t.length), float(t.gap)
    up = [float(g.glue_face(x)) for x in (0.0, long)]
    hollowed = t.underside == "hollowed" and design.body.dome != "flat"
    slope = 0.0 if hollowed or design.body.dome == "flat" else float(taper_of(d).slope)
    low = [gap + slope * x - (3.0 if hollowed else 0.0) for x in (0.0, long)]
    profile = ((0.0, low[0]), (long, low[1]), (long, up[1]), (0.0, up[0]))
    cuts: tuple[Shape, ...] = ()
    if hollowed:
        radius, apex = float(design.body.dome_radius), float(design.body.apex_x)
        middle = gap - math.sqrt(radius**2 - (apex**2 if design.body.dome != "across" else 0.0))
        if design.body.dome == "sphere":
            cuts = (Ball((apex, 0.0, middle), radius),)
        elif design.body.dome == "along":
            cuts = (Rod((apex, -t.width, middle), (apex, t.width, middle), radius),)
        else:
            cuts = (Rod((-_OVER, 0.0, middle), (long + _OVER, 0.0, middle), radius),)
    return Solid("tongue", (Prism("xz", profile, -t.width / 2, t.width / 2),), cuts)


def solid_parts(design: Any) -> tuple[Solid, ...]:
    """Block, heel and tongue [mm, body frame, nominal pose]; left-handed ones mirrored. Raises ``ShopError`` for what cannot be
    cut."""
    refuse(design)

    def parts() -> Iterator[Solid]:
        g = Ground(design)
        yield from (_block(g), _heel(g), _tongue(g))

    return tuple(p.mirrored() if design.handed == "left" else p for p in parts())
