"""What tongue rods bring: their part of the stiffness by diameter, depth and material, and what a little more wood brings.

All gains are in the force for each mm at the tongue's tip, against the same tongue with wood in the rods' place.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from lutherie_geom.design.catalogue import find, read_table
from lutherie_geom.design.lines import folded
from lutherie_geom.design.woods import creep_factor
from lutherie_geom.joint.dimensions import Array, Dimensions
from lutherie_geom.mechanics.along import column
from lutherie_geom.mechanics.tongue import tip_stiffness
from lutherie_geom.mechanics.tongue_sections import Sections, sections
from lutherie_geom.theory import tongue_beam

__all__ = ["MORE_WOOD", "Material", "RodMap", "Rods", "Station", "fitted", "material", "material_names", "own_rods", "rod_gain",
           "rod_map", "rods", "wood_gain"]

MORE_WOOD = 0.5
"""The wood that rods are compared with, in mm: what a builder can easily leave on."""
MOST_WOOD = 4.0
"""Rods worth more wood than this, in mm, are told as "or more"."""
ASSUMED = 2.0
"""Diameter of rods looked at when a design has none, in mm."""
_TABLE = ("    x [mm] wood [mm] axis [mm]  at slot gain [%] under [mm] over [mm]",
          "    axis: neutral axis without rods, over the glue line, between the slots; at slot: the same at a slot, where less "
          "board is left. Under, over: wood and board to spare")
_COUNT = ("no", "one", "two", "three", "four", "five", "six")


@dataclass(frozen=True)
class Material:
    """What rods are made of: Young's modulus in GPa (usual, low, high), density in kg/m^3."""

    name: str
    modulus: float
    low: float
    high: float
    density: float
    note: str
    mark: str
    caution: str

    def __str__(self) -> str:
        note = f"; {self.note}" if self.note else ""
        numbers = f"{self.modulus:g} GPa ({self.low:g} to {self.high:g}), {self.density:g} kg/m^3"
        return f"{self.name}: {numbers} ({self.mark}{note})\n  {self.caution}"


def material_names() -> list[str]:
    """The materials that the table holds."""
    return list(read_table("rods")["materials"])


def material(name: str) -> Material:
    """The material of that name; blanks and capitals do not matter. Raises CatalogueError for another."""
    table = read_table("rods")
    found = find(name, table["materials"], "material of rods")
    row = dict(table["materials"][found])
    return Material(found, caution=table["caution"][row.pop("kind")], **row)


def rod_gain(design: Any, d: Dimensions | None = None, *, slots: str = "likely", **changes: Array) -> Array:
    """What the rods bring, as a part of the stiffness without them [1], (*batch), reckoned as if there were wood round them all
    along; :func:`rods` and :func:`rod_map` do not tell it where a part of a rod lies in air.

    ``changes``: rods, rod_height (the diameter of round ones), rod_width, rod_middle (height over the glue line) [mm],
    rod_modulus [MPa], more_wood [mm] or any field of :class:`Sections`, numbers or arrays.
    """
    bare = changes | {"rods": np.zeros(np.shape(changes.get("rods", 0)))}
    return tongue_beam.stiffness_gain(stiffness_with=tip_stiffness(design, d, slots=slots, **changes),
                                      stiffness_without=tip_stiffness(design, d, slots=slots, **bare))


def wood_gain(design: Any, more: Array = MORE_WOOD, d: Dimensions | None = None, *, slots: str = "likely", **changes: Array
              ) -> Array:
    """What ``more`` neck wood [mm] under the whole tongue brings without rods, as a part of the stiffness [1], (*batch)."""
    bare = changes | {"rods": 0}
    return tongue_beam.stiffness_gain(stiffness_with=tip_stiffness(design, d, slots=slots, **bare, more_wood=more),
                                      stiffness_without=tip_stiffness(design, d, slots=slots, **bare))


def _stations(design: Any, d: Dimensions, count: int, batch: int, **changes: Array) -> Sections:
    return sections(design, column(np.linspace(0, 1, count), batch) * d.tongue_length, d, **changes)


def fitted(design: Any) -> bool:
    """Whether the design has rods."""
    return bool(design.tongue.rods and design.tongue.rod_diameter)


def own_rods(design: Any) -> dict[str, Any]:
    """The design's rods in the words of the sections, without their modulus; of one that has none, two thin round ones."""
    t = design.tongue
    if not fitted(design):
        return dict(rods=2, rod_height=ASSUMED, round_rods=True, rod_middle=0.0)
    return dict(rods=t.rods, rod_height=t.rod_diameter, round_rods=t.rod_shape == "round", rod_width=t.rod_width,
                rod_middle=t.rod_above_glue_line)


@dataclass(frozen=True)
class RodMap:
    """Gains (diameters, depths, moduli) [1], nan where a part of a rod lies in air; ``fits``: whether such rods fit at every
    station, of the same shape. ``diameter`` is the height of flat rods, as broad as the design's."""

    diameter: np.ndarray
    depth: np.ndarray
    modulus: np.ndarray
    gain: np.ndarray
    fits: np.ndarray


def rod_map(design: Any, *, diameter: Any, depth: Any, modulus: Any, slots: str = "likely", count: int | None = None) -> RodMap:
    """The rods' gain over diameters [mm], depths [mm over the glue line] and moduli [GPa], three lists: of round rods, or of
    flat ones (their height for the diameter) where the design has flat ones.

    ``count``: how many rods, the design's own if not said. All is one array calculation. Raises ValueError for a number out of
    range and for a depth outside the tongue.
    """
    d, own = design.dimensions(), own_rods(design)
    deepest = float(np.max(_stations(design, d, 9, 0).wood))
    listed = [np.atleast_1d(np.asarray(v, dtype=float)) for v in (diameter, depth, modulus)]
    for name, values, unit, low, high in (("diameter", listed[0], "mm", 0.0, 20.0), ("modulus", listed[2], "GPa", 1.0, 400.0),
                                          ("depth", listed[1], "mm", -deepest, float(design.board.thickness))):
        if not np.all((values >= low) & (values <= high)):
            raise ValueError(f"{name}: {values.min():g} to {values.max():g} {unit}; allowed is {low:g} to {high:g} {unit}")
    a, y, e = listed[0][:, None, None], listed[1][:, None], listed[2]
    what = own | dict(rod_height=a, rod_middle=y, rod_modulus=1000 * e)
    what["rods"] = count or own["rods"]
    at = _stations(design, d, 9, 3, slots=slots, **what)
    gain = rod_gain(design, d, slots=slots, **what)
    fits = np.broadcast_to(at.rods_fit.all(axis=0), gain.shape)
    return RodMap(listed[0], listed[1], listed[2], np.where(at.rods_in_air.any(axis=0), np.nan, gain), fits)


@dataclass(frozen=True)
class Station:
    """One place on the tongue: x, neck wood, neutral axis over the glue line without rods, between the slots and at a slot,
    spare wood under and board over the rods [mm]; the rods' gain in the section's own bending stiffness [1]."""

    x: float
    wood: float
    neutral: float
    at_slot: float
    gain: float
    under: float
    over: float

    @property
    def fits(self) -> bool:
        """Whether the rods fit here."""
        return self.under >= 0 and self.over >= 0


@dataclass(frozen=True)
class Rods:
    """Report on tongue rods. Gains as parts [1], (no slots counted, likely, cut all along), nan where a part of a rod lies in
    air; lengths in mm.

    worth: the wood that brings as much; lowest and highest that pays: heights over the glue line beyond which the rods bring as
    much as half a millimetre of wood (nan: nowhere); lasting: their gain once the wood has crept; room: heights at which they
    fit all along.
    """

    name: str
    count: int
    what: str
    assumed: bool
    gain: tuple[float, float, float]
    wood: tuple[float, float, float]
    worth: float
    lowest_that_pays: float
    highest_that_pays: float
    lasting: float
    room: tuple[float, float]
    stations: tuple[Station, ...]
    materials: Mapping[str, float]
    caution: str

    @property
    def fit(self) -> bool:
        """Whether the rods fit at every station."""
        return all(s.fits for s in self.stations)

    @property
    def in_air(self) -> str:
        """Where a part of the rods lies in air, in words; nothing where none does."""
        places = [f"{s.x:.0f}" for s in self.stations if np.isnan(s.gain)]
        return f"a part of them lies in air at {', '.join(places)} mm past the joint" if places else ""

    def _pays(self) -> str:
        ends = ((self.lowest_that_pays, "under"), (self.highest_that_pays, "over"))
        ways = [f"{abs(y):.1f} mm {way} the glue line" for y, way in ends if np.isfinite(y)]
        low, high = self.room
        between = (f"there is room for their middle from {low:+.1f} to {high:+.1f} mm" if low <= high
                   else "there is no height at which they fit all along")
        if 0.0 in (self.lowest_that_pays, self.highest_that_pays):
            return f"on the glue line they bring more than {MORE_WOOD:g} mm of wood would; {between}"
        if not ways:
            return f"at no height within the tongue would they bring as much as {MORE_WOOD:g} mm of wood; {between}"
        return f"they would bring as much as {MORE_WOOD:g} mm of wood from {' or '.join(ways)} on; {between}"

    def __str__(self) -> str:
        tight = ", ".join(f"{s.x:.0f} mm" for s in self.stations if not s.fits)
        would = "would bring" if self.assumed else "bring" if self.count > 1 else "brings"
        rows = [f"    {s.x:6.0f} {s.wood:8.2f} {s.neutral:+9.1f} {s.at_slot:+8.1f} "
                f"{'in air' if np.isnan(s.gain) else f'{100 * s.gain:.1f}':>8} {s.under:+11.2f} "
                f"{s.over:+10.2f}"
                for s in self.stations]
        if self.in_air:
            return folded(f"{self.name}: what {self.what} {would} is not told: {self.in_air}; less rod or more wood. Half a "
                          f"millimetre more wood brings {_percent(self.wood[1:2])} of the stiffness at the tip",
                          _TABLE[0], *rows, _TABLE[1], f"  caution: {self.caution}")
        uncut, cut = (f"{_percent(self.gain[k:k + 1])} against {_percent(self.wood[k:k + 1])}" for k in (0, 2))
        return folded(
            f"{self.name}: {self.what} {would} {_percent(self.gain[1:2])} of the stiffness at the tip, half a millimetre more "
            f"wood {_percent(self.wood[1:2])}",
            f"  that is with fret slots open, as is likely; {uncut} if none counted, {cut} if cut all along",
            f"  the rods are worth {self.worth:.2f} mm of wood{' or more' if self.worth >= MOST_WOOD else ''}; {self._pays()}",
            f"  under a load that lasts for years wood creeps and rods hardly do: then they bring {_percent((self.lasting,))}; a "
            "tongue that floats bears no such load",
            "  they fit all along" if self.fit else f"  they do NOT fit at {tight} past the joint: less rod or more wood",
            _TABLE[0], *rows, _TABLE[1],
            "  same rods of another material: " + "; ".join(f"{n} {_percent((g,))}" for n, g in self.materials.items()),
            "  left out: glue that slips; the wood that a groove weakens before the rod is in; one board against its species",
            f"  caution: {self.caution}")

    __repr__ = __str__


def _percent(parts: tuple[float, ...]) -> str:
    low, high = 100 * min(parts), 100 * max(parts)

    def shown(v: float) -> str:
        return f"{v:.1f}" if abs(v) < 1.95 else f"{v:.0f}"

    return f"{shown(low)} %" if shown(low) == shown(high) else f"{shown(low)} to {shown(high)} %"


def _crossing(y: np.ndarray, gain: np.ndarray, wanted: float) -> float:
    """First height, going outward along y, at which the gain reaches what is wanted; nan if it does not."""
    over = gain >= wanted
    if not over.any():
        return float("nan")
    k = int(over.argmax())
    return float(y[0]) if k == 0 else float(np.interp(wanted, gain[k - 1:k + 1], y[k - 1:k + 1]))


def rods(design: Any, *, slots: str = "likely") -> Rods:
    """Report on the rods of a design; when it has none, on two of 2 mm. ``slots``: how slots count for all but the first line."""
    d, t = design.dimensions(), design.tongue
    what, assumed = own_rods(design), not fitted(design)
    count, size, flat = what["rods"], what["rod_height"], not what["round_rods"]
    words = f"{_COUNT[count]} {f'{t.rod_width:g} x ' if flat else ''}{size:g} mm {'flat ' if flat else ''}rod{'s' * (count != 1)}"
    at = _stations(design, d, 7, 0, slots=slots, **what)
    told = np.nan if np.any(at.rods_in_air) else 1.0
    gains = [told * float(rod_gain(design, d, slots=s, **what)) for s in ("none", "likely", "most")]
    woods = [float(wood_gain(design, d=d, slots=s)) for s in ("none", "likely", "most")]
    # As much wood as the rods are worth: the gain of wood rises steadily, so it can be read backward.
    more = np.linspace(0, MOST_WOOD, 161)
    own = told * float(rod_gain(design, d, slots=slots, **what))
    worth = float(np.interp(own, wood_gain(design, more, d, slots=slots), more))
    bare = _stations(design, d, 7, 0, slots=slots, **(what | {"rods": 0}))
    low = float(np.max(at.rod_middle - at.spare_under))
    high = float(np.min(at.rod_middle + at.spare_over))
    wanted = float(wood_gain(design, d=d, slots=slots))
    pays = []
    for far in (-float(np.max(at.wood)), float(design.board.thickness)):  # as deep as a rod could lie anywhere
        y = np.linspace(0, far, 101)
        pays.append(_crossing(y, rod_gain(design, d, slots=slots, **(what | {"rod_middle": y})), wanted))
    local = np.where(at.rods_in_air, np.nan,
                     tongue_beam.stiffness_gain(stiffness_with=at.rigidity, stiffness_without=bare.rigidity))
    places = (at.x, at.wood, bare.whole.centroid, bare.cut.centroid, local, at.spare_under, at.spare_over)
    rows = tuple(Station(*map(float, v)) for v in zip(*places, strict=True))
    soft = creep_factor().value
    lasting = told * float(rod_gain(design, d, slots=slots, board_modulus=at.board_modulus / soft,
                                    neck_modulus=at.neck_modulus / soft, **what))
    known = [material(n) for n in material_names()]
    each = rod_gain(design, d, slots=slots, **(what | {"rod_modulus": 1000 * np.array([m.modulus for m in known])}))
    return Rods(design.name, count, words, assumed, (gains[0], gains[1], gains[2]), (woods[0], woods[1], woods[2]), worth,
                pays[0], pays[1], lasting, (low, high), rows, {m.name: told * float(g) for m, g in zip(known, each, strict=True)},
                read_table("rods")["caution"]["carbon"])
