"""Sections of a tongue, station by station: crowned board with its fret slots, the neck wood left under it, the rods.

Lengths in mm, moduli in MPa, bending stiffness in N mm^2; heights count from the glue line. Station axes come first, the
batch last; every field may be an array.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from functools import cached_property
from typing import Any

import numpy as np

from lutherie_geom.design.catalogue import read_table
from lutherie_geom.design.woods import Wood, wood
from lutherie_geom.joint.dimensions import Array, Dimensions
from lutherie_geom.joint.inside import tongue_wood
from lutherie_geom.theory import beam, tongue_beam
from lutherie_geom.theory.scale import fret_distance

__all__ = ["SLOTS", "Sections", "cut_parts", "sagitta", "sections", "shear_modulus"]

SLOTS = ("none", "least", "likely", "most")
"""How fret slots count: not at all; as long as they are wide; with the dead wood beside them; as if cut all along."""
POISSON = 0.37
"""Stretched along the grain, narrowed across: middle of the woods in the table."""
FRET_WIRE = 0.02
"""Mass of fret wire in kg to the metre of wire (common practice, no source)."""
SHEAR_FACTOR = 5 / 6


def shear_modulus(of: Wood) -> float:
    """Shear modulus in the plane of bending [MPa], middle of both ways to saw; E/16 where the table has none (from memory)."""
    known = [of.value(k) for k in ("shear_ratio_lr", "shear_ratio_lt") if k in of]
    return of.modulus * (sum(known) / len(known) if known else 1 / 16)


def _across(of: Wood) -> float:
    known = [of.value(k) for k in ("radial_ratio", "tangential_ratio") if k in of]
    return of.modulus * (sum(known) / len(known) if known else 0.08)


def sagitta(d: Dimensions, x: Array, breadth: Array) -> Array:
    """How much thinner a board of ``breadth`` [mm] is at its edges than on the centreline [mm], at x' [mm]."""
    return np.asarray(breadth) ** 2 / (8 * d.board_radius(x))


def cut_parts(design: Any, d: Dimensions, x: Array, depth: Array, slots: str) -> Array:
    """Part of the length at x' [mm] that counts as cut to the slots' depth, 0 to 1, in a beam ``depth`` [mm] deep.

    ``slots`` is a way to count of :data:`SLOTS`. Raises ValueError for another word.
    """
    if slots not in SLOTS:
        raise ValueError(f"slots: {slots!r} is not a way to count them; give one of {', '.join(SLOTS)}")
    t, of = design.tongue, wood(design.woods.board)
    if slots in ("none", "most") or t.slot_depth == 0:
        return np.full(np.shape(x), float(slots == "most" and t.slot_depth > 0))
    spacing = fret_spacing(d, x)
    if slots == "least":
        return np.minimum(t.slot_width / spacing, 1.0)
    dead = tongue_beam.slot_dead_zone(slot_depth=t.slot_depth, slot_width=t.slot_width, depth=depth, modulus=of.modulus,
                                      across_modulus=_across(of), shear_modulus=shear_modulus(of), poisson=POISSON)
    return tongue_beam.cut_part(dead_zone=dead, spacing=spacing)


def fret_spacing(d: Dimensions, x: Array) -> Array:
    """Distance [mm] from one fret to the next around x' [mm], smoothed."""
    from_nut = np.asarray(x) - d.joint_fret_x + d.to_fret(d.joint_fret)
    fret = -12 * np.log2(1 - from_nut / d.scale)
    return fret_distance.slopes(scale=d.scale, fret=fret)["fret_from_nut"]["fret"]


@dataclass(frozen=True)
class Sections:
    """Sections at x [mm]. ``rod_middle`` is the rods' height over the glue line, ``cut_part`` what counts as slotted."""

    x: Array
    breadth: Array
    board: Array
    sagitta: Array
    wood: Array
    board_modulus: Array
    neck_modulus: Array
    board_shear: Array
    neck_shear: Array
    board_density: Array
    neck_density: Array
    slot_depth: Array
    cut_part: Array
    spacing: Array
    rods: Array
    round_rods: bool
    rod_height: Array
    rod_width: Array
    rod_middle: Array
    rod_modulus: Array
    rod_density: Array
    cover: Array

    def replaced(self, **changes: Array) -> Sections:
        """A copy with some fields changed; ``more_wood`` [mm] adds to the neck wood left."""
        more = changes.pop("more_wood", 0.0)
        known = {f.name for f in fields(self)}
        wrong = sorted(set(changes) - known)
        if wrong:
            raise TypeError(f"sections have no {wrong}; known: {sorted(known)}, more_wood")
        changed = replace(self, **changes)
        return replace(changed, wood=np.maximum(changed.wood + more, 0.0))

    @cached_property
    def _rod(self) -> dict[str, Array]:
        half = np.asarray(self.rod_height) / 2
        line = np.clip(-np.asarray(self.rod_middle), -half, half)
        if self.round_rods:
            # A rod of no diameter is no rod: its number is nought, its size does not matter.
            size = np.where(half > 0, self.rod_height, 1.0)
            line = np.where(half > 0, line, 0.0)
            area, second = beam.round_rod(rod_diameter=size)
            up = tongue_beam.round_above(rod_diameter=size, glue_line=line)
        else:
            area, second = tongue_beam.flat_rod(rod_width=self.rod_width, rod_height=self.rod_height)
            up = tongue_beam.flat_above(rod_width=self.rod_width, rod_height=self.rod_height, glue_line=line)
        return dict(rods=np.where(half > 0, self.rods, 0), rod_area=area, rod_second=second, rod_modulus=self.rod_modulus,
                    rod_middle=self.rod_middle, above_area=up[0], above_first=up[1], above_second=up[2])

    def _section(self, board: Array) -> Any:
        return tongue_beam.rodded_section(breadth=self.breadth, board=board, sagitta=self.sagitta,
                                          board_modulus=self.board_modulus, wood=self.wood, neck_modulus=self.neck_modulus,
                                          **self._rod)

    @cached_property
    def whole(self) -> Any:
        """Section between the slots: axial [N], centroid [mm over the glue line], rigidity [N mm^2]."""
        return self._section(self.board)

    @cached_property
    def cut(self) -> Any:
        """Section at a slot: axial [N], centroid [mm over the glue line], rigidity [N mm^2]."""
        return self._section(np.asarray(self.board) - self.slot_depth)

    @cached_property
    def rigidity(self) -> Array:
        """Bending stiffness [N mm^2], slots counted."""
        return tongue_beam.slotted_rigidity(whole=self.whole.rigidity, cut=self.cut.rigidity, cut_part=self.cut_part)

    @cached_property
    def depth(self) -> Array:
        """Mean depth of board and wood [mm]."""
        return self.wood + self.board - np.asarray(self.sagitta) / 3

    @cached_property
    def shear_stiffness(self) -> Array:
        """Stiffness in shear [N]: 5/6 of modulus times area, layers side by side (rough), slots not counted."""
        top = self.board - np.asarray(self.sagitta) / 3
        return SHEAR_FACTOR * self.breadth * (self.board_shear * top + self.neck_shear * np.asarray(self.wood))

    @cached_property
    def torsion_stiffness(self) -> Array:
        """Stiffness in twist [N mm^2]: one rectangle with the layers' mean shear modulus; rods and slots not counted."""
        mean = self.shear_stiffness / (SHEAR_FACTOR * self.breadth * self.depth)
        wide, thin = np.maximum(self.breadth, self.depth), np.minimum(self.breadth, self.depth)
        return mean * tongue_beam.rectangle_torsion(long_side=wide, short_side=thin)

    @cached_property
    def line_mass(self) -> Array:
        """Mass [kg/m]: board, neck wood, rods for the wood that they replace, fret wire spread evenly."""
        top, rod = self.board - np.asarray(self.sagitta) / 3, self._rod
        woods = self.breadth * (self.board_density * top + self.neck_density * np.asarray(self.wood))
        brings = rod["rods"] * (self.rod_density * rod["rod_area"] - self.board_density * rod["above_area"]
                                - self.neck_density * (rod["rod_area"] - rod["above_area"]))
        return (woods + brings) * 1e-6 + FRET_WIRE * self.breadth / self.spacing

    @cached_property
    def spare_under(self) -> Array:
        """Neck wood to spare under the rods [mm], cover taken off; below nought they do not fit."""
        return self.wood - self.cover + self.rod_middle - np.asarray(self.rod_height) / 2

    @cached_property
    def spare_over(self) -> Array:
        """Board to spare over the rods [mm] down from the slots' bottom, cover and crowning taken off."""
        top = np.asarray(self.board) - self.slot_depth - self.sagitta
        return top - self.cover - self.rod_middle - np.asarray(self.rod_height) / 2

    @property
    def rods_in_air(self) -> Array:
        """Whether a part of a rod sticks out of the tongue at each station: what it brings there is not told."""
        half, some = np.asarray(self.rod_height) / 2, (np.asarray(self.rods) > 0) & (np.asarray(self.rod_height) > 0)
        low, high = -np.asarray(self.wood) - 1e-9, np.asarray(self.board) + 1e-9
        return some & ((self.rod_middle - half < low) | (self.rod_middle + half > high))

    @property
    def rods_fit(self) -> Array:
        """Whether the rods fit at each station."""
        return (self.spare_under >= 0) & (self.spare_over >= 0)


def sections(design: Any, x: Array, d: Dimensions | None = None, *, slots: str = "likely", **changes: Array) -> Sections:
    """Sections of the tongue at x [mm] past the joint, (stations, *batch).

    ``d``: dimensions in which samples may stand; ``slots``: how fret slots count (:data:`SLOTS`); ``changes``: any field of
    :class:`Sections`, or ``more_wood``, numbers or arrays that broadcast with x. Raises ValueError for a flat rod without
    ``tongue.rod_width`` and for slots as deep as the board.
    """
    d = d or design.dimensions()
    t, board = design.tongue, design.board.thickness
    below, above = wood(design.woods.neck), wood(design.woods.board)
    if t.rod_shape == "flat" and t.rod_width == 0 and t.rods and "rod_width" not in changes:
        raise ValueError("tongue.rod_width is 0 mm; a flat rod needs its breadth, up to 15 mm")
    edge = float(np.max(sagitta(d, x, d.tongue_width)))
    if t.slot_depth + edge >= board:
        raise ValueError(f"tongue.slot_depth: {t.slot_depth:g} mm, and {edge:.2f} mm of crowning, leave nothing of a board "
                         f"{board:g} mm thick; allowed is less than {board - edge:.2f} mm")
    moist, left = design.woods.moisture, np.maximum(tongue_wood(design, x, d), 0.0)
    made = Sections(
        x=np.asarray(x, dtype=float), breadth=d.tongue_width, board=board, sagitta=sagitta(d, x, d.tongue_width),
        wood=left, board_modulus=above.modulus, neck_modulus=below.modulus,
        board_shear=shear_modulus(above), neck_shear=shear_modulus(below), board_density=above.density(moist),
        neck_density=below.density(moist), slot_depth=t.slot_depth, cut_part=cut_parts(design, d, x, left + board, slots),
        spacing=fret_spacing(d, x), rods=t.rods if t.rod_diameter else 0, round_rods=t.rod_shape == "round",
        rod_height=t.rod_diameter, rod_width=t.rod_width, rod_middle=t.rod_above_glue_line, rod_modulus=1000 * t.rod_modulus,
        rod_density=read_table("rods")["materials"]["carbon, pultruded"]["density"], cover=t.rod_cover)
    return made.replaced(**changes)
