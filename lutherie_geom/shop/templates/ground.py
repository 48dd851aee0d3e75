"""What every template stands on: the design with its numbers, the job, and the tolerances where they are tight."""

from __future__ import annotations

import math
from collections.abc import Iterable
from functools import cached_property
from typing import Any

from lutherie_geom.design.input_words import words_of
from lutherie_geom.design.units import System, convert
from lutherie_geom.joint.holes import heel_drills
from lutherie_geom.joint.pose import Pose, pose
from lutherie_geom.joint.travel import travel
from lutherie_geom.shop.paper.entities import Circle, Dimension, Entity, Line, Point, Text, measure, mirrored
from lutherie_geom.shop.paper.title_block import Job
from lutherie_geom.theory.access import path_half_width
from lutherie_geom.theory.templates import check_rise
from lutherie_geom.theory.tongue import tongue_thickness

__all__ = ["Ground", "limits_text", "tight_fields"]

TIGHT = 0.1
"""A tolerance is tight that brings this part of the variance of an action, the gap, the floor or the reveal, or more (chosen
here)."""


def limits_text(low: float, high: float, units: System = "mm", unit: str = "mm") -> str:
    """`` ± 0.30`` or `` +0.20 -0.10``: deviations (``unit`` mm, rad or turn) as a drawing has them, lengths in its ``units``."""
    digits, after = 2, ""
    if unit == "mm":
        low, high, digits = convert(low, units), convert(high, units), 2 if units == "mm" else 3
    elif unit == "rad":
        low, high, after = math.degrees(low), math.degrees(high), "°"
    else:
        digits, after = 3, f" {unit}"
    up, down = f"{high:+.{digits}f}", f"{low:+.{digits}f}"
    return f" ± {up[1:]}{after}" if up[1:] == down[1:] and up[0] == "+" != down[0] else f" {up} {down}{after}"


def tight_fields(design: Any) -> dict[str, Any]:
    """Spreads of the design's numbers that bring a tenth of the variance of a reading or more, by first order; empty when the
    design has no tolerances."""
    if not design.tolerances:
        return {}
    from lutherie_geom.studies.contributions import READ
    from lutherie_geom.studies.first_order import first_order
    from lutherie_geom.studies.spreads import Spreads

    found = first_order(pose(design.dimensions()), Spreads.of_design(design), READ)
    tight = {c.name.split("[")[0] for r in found for c in r.contributions if abs(c.share) >= TIGHT}
    return {name: s for name, s in design.tolerances.spreads.items() if name.split("[")[0] in tight}


class Ground:
    """A design on the bench: dimensions, nominal pose, units, tight tolerances, and the small parts that all views share."""

    def __init__(self, design: Any, job: Job | None = None) -> None:
        self.design, self.job = design, job or Job()
        self.units: System = self.job.units or design.units
        self.told: list[str] = []  # fields whose tolerance a view has told

    @property
    def unit(self) -> str:
        """The unit behind a length in words."""
        return "mm" if self.units == "mm" else "in"

    @cached_property
    def d(self) -> Any:
        """Dimensions [mm, rad]."""
        return self.design.dimensions()

    @cached_property
    def nominal(self) -> Pose:
        """The pose with all turns zero."""
        return pose(self.d)

    @cached_property
    def tight(self) -> dict[str, Any]:
        """Tight spreads by field."""
        return tight_fields(self.design)

    @cached_property
    def heel_drills(self) -> tuple[float, float]:
        """Drills for the heel's holes of tilt and clamp screw [mm]."""
        return heel_drills(self.design, travel(self.design))

    @property
    def lean(self) -> float:
        """How much a cheek leans: half width over height [1]."""
        h = self.design.heel
        return float((h.half_width_top - h.half_width_foot) / -h.foot_z)

    def glue_face(self, x: Any) -> Any:
        """Height of the board's glue face [mm] at x [mm], nominal pose."""
        b = self.design.board
        return tongue_thickness(x=x, alpha=self.d.alpha, z_joint=self.d.z_joint, cover=b.crown + b.thickness, underside=0.0,
                                gap_joint=0.0)

    def half(self, z: Any, *, side_gap: float = 0.0, beyond: float = 0.0) -> float:
        """Half width [mm] at height z [mm] of the heel's outline, a side gap and then ``beyond`` (square to it) outside."""
        h = self.design.heel
        return float(path_half_width(half_width_top=h.half_width_top, half_width_foot=h.half_width_foot, foot_z=h.foot_z, at_z=z,
                                     side_gap=side_gap, bit_diameter=-2 * beyond))

    def tolerance(self, field: str, *, times: float = 1.0, run: float = 0.0, angle: float = 0.0) -> str:
        """The tolerance of a design's field where it is tight, else empty: of a length that holds the field so many ``times`` (a
        width holds a half width twice), or of the rise over a ``run`` [mm] that an ``angle`` [rad] makes."""
        spread = self.tight.get(field)
        if spread is None:
            return ""
        self.told.append(field)
        if not run:
            return limits_text(times * spread.low, times * spread.high, self.units, spread.unit)
        low, high = (float(check_rise(run=run, alpha=angle + a) - check_rise(run=run, alpha=angle)) for a in spread.limits)
        return limits_text(low, high, self.units)

    def untold(self) -> list[str]:
        """Tight numbers that no view made so far has told, with their tolerance: what is filed, set, or measured elsewhere."""
        return [f"{words_of(name)}{limits_text(s.low, s.high, self.units, s.unit)}" for name, s in self.tight.items()
                if name not in self.told]

    def dim(self, a: Point, b: Point, way: str, at: float, field: str = "", before: str = "", **how: float) -> Dimension:
        """A dimension with the tolerance of a design's ``field`` behind it where that is tight (``how``: as for
        :meth:`tolerance`)."""
        return Dimension(a, b, way, at, self.units, before, self.tolerance(field, **how))

    def say(self, mm: float, field: str = "") -> str:
        """A length with its unit, and with the tolerance of a design's ``field`` where that is tight."""
        return f"{measure(mm, self.units)}{self.tolerance(field)} {self.unit}"

    def hand(self, entities: Iterable[Entity]) -> tuple[Entity, ...]:
        """As drawn for the right-handed twin; mirrored for a left-handed one."""
        return mirrored(entities) if self.design.handed == "left" else tuple(entities)

    def hole(self, x: float, y: float, diameter: float, words: str = "", *, cross: float = 4.0, layer: str = "hole",
             under: bool = False, aside: float = 0.0) -> list[Entity]:
        """A hole with its centre lines and, above or under it (moved ``aside`` [mm]), its name and diameter."""
        r = diameter / 2 + cross
        found: list[Entity] = [Circle(layer, x, y, diameter / 2), Line("centre", x - r, y, x + r, y), Line("centre", x, y - r,
                                                                                                           x, y + r)]
        if words:
            found += [Text("text", x + aside, y - r - 3 if under else y + r + 1.2, f"{words} Ø {measure(diameter, self.units)}",
                           2.0, "middle")]
        return found

