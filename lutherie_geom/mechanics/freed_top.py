"""The freed top: what a floating tongue leaves off the soundboard, against a tongue that is glued down.

The upper bout between the neck's end of the body and the first brace before the soundhole is taken as a rectangle of wood. The
tongue's footprint adds mass and stiffness when glued, nothing when it floats. What is not known (edges, neck block, brace, size
of the area, the wood at hand) is varied, and the range is part of the answer.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from lutherie_geom.design.lines import folded
from lutherie_geom.design.woods import Wood, wood
from lutherie_geom.joint.inside import tongue_wood
from lutherie_geom.mechanics.along import column, gauss
from lutherie_geom.mechanics.plate import Layer, Modes, Patch, Plate, Strip, each_number, natural_frequencies, plate_of
from lutherie_geom.mechanics.tongue_sections import sagitta
from lutherie_geom.theory.beam import layer, two_layers
from lutherie_geom.theory.plate import frequency_change

__all__ = ["Brace", "Case", "FreedTop", "UpperBout", "along_tongue", "freed_top", "sheet_of", "tongue_layers"]

Array = Any  # a float or a numpy array of floats

TYPICAL = {"radial_ratio": 0.10, "tangential_ratio": 0.06, "shear_ratio_lr": 0.09, "poisson_lr": 0.40}
"""For woods whose table lacks a ratio: usual for hardwoods, from memory."""
SPREAD = {"modulus": 0.20, "ratio": 0.20, "poisson_lr": 0.25, "density": 0.10}
"""Half of a rectangular spread, as a part of the value: one board against its species. From memory; no source."""
LEFT_OUT = ("the air in and around the box", "the rest of the body and its sides", "how the braces really lie",
            "the strings' pull", "the arch of the top", "fret slots, frets and rods",
            "where along its taper the tongue is stiff (its mean is spread evenly)",
            "shear through the thickness of the glued patch", "the neck's own swinging through a glued tongue", "damping")
FEWEST = 64
"""Samples below which the report does not say what moves the shift most."""
_HELD = 1e5
"""Bed of the top on the neck block [N/mm^3]: stiff enough that the top is still within about 1 mm of the block's edge."""


@dataclass(frozen=True, kw_only=True)
class Brace:
    """One brace from side to side under the top: where (x from the joint), breadth and depth, all [mm]; a wood's name."""

    at: float
    breadth: float = 8.0
    depth: float = 12.0
    wood: str = "sitka spruce"

    def strip(self, top: Layer, modulus: Array = 1.0) -> Strip:
        """What it adds to the top; the top goes with it on ten thicknesses (common practice, no source). ``modulus``: factor."""
        w = wood(self.wood)
        flange = 10 * top.thickness
        both = two_layers(breadth_1=self.breadth, thickness_1=self.depth, modulus_1=w.modulus * modulus, breadth_2=flange,
                          thickness_2=top.thickness, modulus_2=top.modulus_y)
        alone = layer(breadth=flange, thickness=top.thickness, modulus=top.modulus_y, bottom=0.0)
        line_mass = w.density() * self.breadth * self.depth * 1e-6
        return Strip(at=self.at, rigidity=both.rigidity - alone.rigidity, line_mass=line_mass)


@dataclass(frozen=True, kw_only=True)
class UpperBout:
    """The area that swings: ``length`` from the joint to the first brace before the soundhole, ``width`` across [mm].

    ``block_depth`` and ``block_width`` [mm]: where the top is glued on the neck block. ``spread``: half of a rectangular spread
    on length and width, as a part of them. Width, block width and spread are usual sizes (common practice, no source).
    """

    length: float
    width: float = 280.0
    block_depth: float = 60.0
    block_width: float = 70.0
    spread: float = 0.10

    def __post_init__(self) -> None:
        for name, low, high in (("length", 30, 400), ("width", 100, 600), ("block_depth", 0, 150), ("block_width", 0, 200)):
            if not low <= getattr(self, name) <= high:
                raise ValueError(f"{name}: {getattr(self, name):g} mm is outside {low} to {high} mm")
        if not 0 <= self.spread < 0.5:
            raise ValueError(f"spread: {self.spread:g} is outside 0 to 0.5")


def sheet_of(w: Wood, *, thickness: Array, moisture: float = 12.0, flat_sawn: Array = 0.0) -> Layer:
    """A sheet of the wood, its grain along x: thickness [mm], moisture [%]; ``flat_sawn`` [1]: 0 quarter-sawn, 1 flat-sawn.

    Of the two Poisson ratios only that for a pull along the grain is used; the other follows from one symmetric compliance
    (measured pairs are not reciprocal). A ratio that the table lacks is taken from ``TYPICAL``.
    """
    ratio = {k: w.value(k) if k in w else v for k, v in TYPICAL.items()}
    across = (1 - flat_sawn) * ratio["radial_ratio"] + flat_sawn * ratio["tangential_ratio"]
    return Layer(thickness=thickness, modulus_x=w.modulus, modulus_y=w.modulus * across, poisson_xy=ratio["poisson_lr"],
                 shear_modulus=w.modulus * ratio["shear_ratio_lr"], density=w.density(moisture))


def tongue_layers(design: Any, more_wood: Array = 0.0) -> tuple[Array, Array]:
    """Neck wood and board [mm] at the Gauss stations along the tongue, (stations, *batch of ``more_wood`` [mm]): the wood as it
    tapers, the board as its mean over the crown."""
    d, n = design.dimensions(), np.ndim(more_wood)
    x = column(gauss()[0], n) * d.tongue_length
    under = np.maximum(column(tongue_wood(design, gauss()[0] * d.tongue_length, d), n) + more_wood, 0.0)
    return under, design.board.thickness - sagitta(d, x, d.tongue_width) / 3


def along_tongue(values: Array) -> Array:
    """Mean over the stations of values along the tongue, (stations, *batch) to (*batch)."""
    return np.tensordot(gauss()[1], values, axes=(0, 0))


@dataclass(frozen=True)
class Case:
    """One lay-out of what is not known, with the samples of all the rest: lowest frequencies [Hz], (samples,)."""

    edges: str
    block: bool
    brace: bool
    glued: Modes = field(repr=False)
    freed: Modes = field(repr=False)

    @property
    def percent(self) -> Array:
        """Lowest frequency freed against glued [%], (samples,); negative: the freed top swings lower."""
        return frequency_change(before=self.glued.lowest, after=self.freed.lowest).percent

    @property
    def cents(self) -> Array:
        """The same as an interval [cent], (samples,)."""
        return frequency_change(before=self.glued.lowest, after=self.freed.lowest).cents

    @property
    def words(self) -> str:
        return (f"edges {self.edges}, {'block holds the top' if self.block else 'block left out'}, "
                f"{'one brace' if self.brace else 'no brace'}")

    def __str__(self) -> str:
        return (f"{self.words}: glued {_range(self.glued.lowest, '.0f')} Hz, freed {_range(self.freed.lowest, '.0f')} Hz, "
                f"{_range(self.percent, '+.1f')} %, {_range(self.cents, '+.0f')} cents")


def _ends(values: Array) -> tuple[float, float]:
    low, high = np.nanquantile(values, (0.05, 0.95))
    return float(low), float(high)


def _words(ends: tuple[float, float], form: str) -> str:
    low, high = (format(round(v, int(form[-2])) + 0.0, form) for v in ends)  # + 0.0: no minus before a zero
    return low if low == high else f"{low} to {high}"


def _range(values: Array, form: str) -> str:
    return _words(_ends(values), form)


def _all(values: list[Array]) -> tuple[float, float]:
    """One range for several cases: least and greatest of their own ends."""
    ends = np.array([_ends(v) for v in values])
    return float(ends[:, 0].min()), float(ends[:, 1].max())


@dataclass(frozen=True)
class FreedTop:
    """What a floating tongue leaves off the top. Printed, the finding comes first; ranges are 5 to 95 in 100 of the samples.

    ``mass`` [g] of the tongue's wood; ``top`` and ``under_tongue``: plate alone and with the tongue glued on, at the nominal
    woods, free to stretch, a mean along the tongue; ``unknowns``: the samples of each unknown, -1 to 1; ``cases``: edges x block
    x brace.
    """

    name: str
    area: UpperBout
    mass: float
    top: Plate
    under_tongue: Plate
    cases: tuple[Case, ...]
    unknowns: dict[str, Array] = field(repr=False)

    @property
    def percent(self) -> tuple[float, float]:
        """Range of the shift over all cases and samples [%]: least and greatest of the cases' own 5 and 95 in 100."""
        return _all([c.percent for c in self.cases])

    @property
    def cents(self) -> tuple[float, float]:
        """The same [cent]."""
        return _all([c.cents for c in self.cases])

    @property
    def weights(self) -> dict[str, float]:
        """Which sampled unknown moves the shift most: squared rank correlation [1], mean over the cases, greatest first."""
        ranks = {k: np.argsort(np.argsort(v)) for k, v in self.unknowns.items()}
        shifts = [np.argsort(np.argsort(c.percent)) for c in self.cases if np.ptp(c.percent) > 1e-9]
        found = {k: float(np.mean([np.corrcoef(r, s)[0, 1] ** 2 for s in shifts])) if shifts else 0.0 for k, r in ranks.items()}
        return dict(sorted(found.items(), key=lambda kv: -kv[1]))

    def __str__(self) -> str:
        (low, high), few = self.percent, 0.5
        way = ("hardly moved" if max(-low, high) < few else "lower" if high < -few else "higher" if low > few else
               "lower in some lay-outs, hardly moved in others" if high < few else
               "higher in some lay-outs, hardly moved in others" if low > -few else
               "lower or higher: what is not known does not let us say which")
        stiff = "; ".join(f"{said} {getattr(self.top, d):.3g} to {getattr(self.under_tongue, d):.3g} N mm "
                          f"({getattr(self.under_tongue, d) / getattr(self.top, d):.0f} times)"
                          for said, d in (("along", "d11"), ("across", "d22"), ("twisting", "d66"), ("coupling", "d12")))
        # A squared correlation of few samples is mostly chance: about one over their number, and the greatest of a dozen more.
        first = next(iter(self.weights.items())) if len(next(iter(self.unknowns.values()))) >= FEWEST else None
        a = self.area
        blocks = [f"{said} {_words(_all([c.percent for c in self.cases if c.block is held]), '+.1f')} %"
                  for said, held in (("where the block holds the top", True), ("with the block left out", False))
                  if any(c.block is held for c in self.cases)]
        return folded(
            f"{self.name}: with the tongue floating, the upper bout's lowest mode lies "
            f"{_words(self.percent, '+.1f')} % ({_words(self.cents, '+.0f')} cents) from where "
            f"a glued tongue would put it: {way}; {', '.join(blocks)}.",
            f"  left off the top: {self.mass:.0f} g of wood",
            f"  bending stiffness of the top alone, and with the tongue glued on: {stiff}",
            f"  area: {a.length:.0f} by {a.width:.0f} mm, give or take {100 * a.spread:.0f} %",
            *(f"  {c}" for c in self.cases),
            *([f"  most of what the samples do comes from: {first[0]} ({100 * first[1]:.0f} in 100)"] if first else []),
            "  left out: " + ", ".join(LEFT_OUT))

    __repr__ = __str__


def _samples(count: int, seed: int, names: list[str]) -> dict[str, np.ndarray]:
    """Even coverage of -1..1 in every unknown."""
    from scipy.stats import qmc

    drawn = 2 * qmc.Sobol(len(names), rng=np.random.default_rng(seed)).random(count) - 1
    return dict(zip(names, drawn.T, strict=True))


def _varied(sheet: Layer, w: Wood, who: str, u: dict[str, Array], turned: bool) -> Layer:
    """The sheet with the samples' factors on it; ``turned``: how the board is sawn is not known either."""
    e = 1 + SPREAD["modulus"] * u[f"modulus of the {who}"]
    across = 1 + SPREAD["ratio"] * u[f"{who}'s stiffness across the grain"]
    if turned:
        sawn = (1 + u[f"{who}'s stiffness across the grain"]) / 2
        across = sheet_of(w, thickness=1.0, flat_sawn=sawn).modulus_y / sheet.modulus_y
    shear = 1 + SPREAD["ratio"] * u[f"{who}'s shear modulus"]
    return replace(sheet, modulus_x=sheet.modulus_x * e, modulus_y=sheet.modulus_y * e * across,
                   shear_modulus=sheet.shear_modulus * e * shear,
                   poisson_xy=sheet.poisson_xy * (1 + SPREAD["poisson_lr"] * u["Poisson's ratios"]),
                   density=sheet.density * (1 + SPREAD["density"] * u[f"density of the {who}"]))


def _tapered(sheets: dict[str, Layer], layers: dict[str, Array], ndim: int) -> list[Layer]:
    """The sheets with the tongue's thickness station by station, ``ndim`` axes of samples behind."""
    return [replace(s, thickness=column(layers[who], ndim)) if who in layers else s for who, s in sheets.items()]


def freed_top(design: Any, *, area: UpperBout | None = None, brace: Brace | None = None, samples: int = 32, seed: int = 1,
              degree: int = 5) -> FreedTop:
    """The freed top of a design.

    ``area``: by default from the joint to 10 mm before the soundhole, 280 mm wide, the design's own block. ``brace``: by default
    one midway between block and the area's far end, for the cases that have one. ``samples`` of the unknowns (a power of two is
    best); ``degree``: see :func:`~lutherie_geom.mechanics.plate.natural_frequencies` (5 is good to about 1 in the percent of
    the shift where the tongue spans the area and 2 where it ends inside; 7 to half of that). Raises
    ValueError for sizes out of range.
    """
    if samples < 2:
        raise ValueError(f"samples: {samples} is too few; 2 or more")
    a = area or UpperBout(length=float(design.body.soundhole_near) - 10.0, block_depth=float(design.block.depth))
    bar = brace or Brace(at=(min(a.block_depth, a.length) + a.length) / 2)
    if not 0 < bar.at <= a.length:
        raise ValueError(f"brace at: {bar.at:g} mm is outside 0 to {a.length:g} mm")
    moisture = float(design.woods.moisture)
    t, names = design.tongue, {"top": design.woods.top, "neck wood": design.woods.neck, "board": design.woods.board}
    thick = {"top": float(design.body.top_thickness), "neck wood": float(t.wood), "board": float(design.board.thickness)}
    layers = dict(zip(("neck wood", "board"), tongue_layers(design), strict=True))
    woods = {who: wood(n) for who, n in names.items() if thick[who] > 0}
    plain = {who: sheet_of(w, thickness=thick[who], moisture=moisture) for who, w in woods.items()}
    each = [f(who) for who in plain for f in ("modulus of the {}".format, "{}'s stiffness across the grain".format,
                                              "{}'s shear modulus".format, "density of the {}".format)]
    u = _samples(samples, seed, [*each, "Poisson's ratios", "length of the area", "width of the area", "stretching of the patch",
                                 "brace's modulus"])
    sheets = {who: _varied(s, woods[who], who, u, who != "top") for who, s in plain.items()}
    bare = plate_of(sheets["top"])
    held = (1 + u["stretching of the patch"]) / 2
    patched = each_number(plate_of(*_tapered(sheets, layers, 1), held=held), along_tongue)
    length, width = (v * (1 + a.spread * u[f"{n} of the area"]) for n, v in (("length", a.length), ("width", a.width)))
    glued = Patch(end=float(t.length), width=float(t.width), added=patched.less(bare))
    freed = replace(glued, added=None)  # the same polynomials for both, so that what they miss cancels in the shift
    strip = bar.strip(sheets["top"], 1 + SPREAD["modulus"] * u["brace's modulus"])
    cases = []
    for edges in ("supported", "clamped"):
        for block in ((False, True) if a.block_depth > 0 and a.block_width > 0 else (False,)):
            bed = (Patch(end=a.block_depth, width=a.block_width, spring=_HELD),) if block else ()
            for braced in (False, True):
                # The brace keeps its place in the area as the area's length varies.
                bars = (replace(strip, at=bar.at * length / a.length),) if braced else ()
                both = [natural_frequencies(bare, length=length, width=width, edges=edges, patches=(on, *bed), strips=bars,
                                            degree=degree) for on in (glued, freed)]
                cases.append(Case(edges, block, braced, both[0], both[1]))
    alone, under = plate_of(plain["top"]), each_number(plate_of(*_tapered(plain, layers, 0)), along_tongue)
    grams = (under.mass - alone.mass) * float(t.length) * float(t.width) * 1e-3
    return FreedTop(design.name, a, float(grams), alone, each_number(under, float), tuple(cases), u)
