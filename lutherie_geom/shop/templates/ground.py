"""What every template stands on: the design with its numbers, the job, and the tolerances where they are tight."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property
from typing import Any

from lutherie_geom.design.units import System, convert
from lutherie_geom.joint.pose import Pose, pose
from lutherie_geom.shop.paper.entities import Circle, Dimension, Entity, Line, Point, Text, measure, mirrored
from lutherie_geom.shop.paper.title_block import Job
from lutherie_geom.theory.access import path_half_width
from lutherie_geom.theory.tongue import tongue_thickness

__all__ = ["Ground", "spread_text", "tight_fields"]

TIGHT = 0.1
"""A tolerance is tight that brings this part of the variance of an action, the gap, the floor or the reveal, or more (chosen
here)."""


def spread_text(spread: Any, units: System = "mm") -> str:
    """``± 0.30`` or ``+0.20 -0.10``: a spread's limits as a drawing has them, lengths only (else empty)."""
    if spread.unit != "mm":
        return ""
    if abs(spread.low + spread.high) < 1e-9:
        return f" ± {measure(spread.high, units)}"
    digits = 2 if units == "mm" else 3
    return f" {convert(spread.high, units):+.{digits}f} {convert(spread.low, units):+.{digits}f}"


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

    def dim(self, a: Point, b: Point, way: str, at: float, field: str = "", before: str = "") -> Dimension:
        """A dimension with the tolerance of a design's field behind it where that is tight."""
        after = spread_text(self.tight[field], self.units) if field in self.tight else ""
        return Dimension(a, b, way, at, self.units, before, after)

    def say(self, mm: float) -> str:
        """A length with its unit."""
        return f"{measure(mm, self.units)} {'mm' if self.units == 'mm' else 'in'}"

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

