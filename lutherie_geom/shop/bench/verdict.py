"""The verdict of the bench proof: close the box, or mend this first, with reasons; and what a wrong reading points to.

A single error is looked for: every number that may be off is tried alone, with the size that explains all readings at all turns
best (exact slopes for the way, exact readings of the joint so built for the answer). Numbers that explain them equally well
are named together: what cannot be told apart must be measured on the part.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from lutherie_geom.design.input_words import words_and_names
from lutherie_geom.design.tolerances import bare
from lutherie_geom.joint.pose import pose
from lutherie_geom.shop.bench.proof import FEEL, NOW_OR_NEVER, ProofSheet, gradient, proof_sheet, suspects
from lutherie_geom.shop.bench.readings import BenchReading, reading_of
from lutherie_geom.shop.bench.sheet import SCREWS, BenchReadings, Taken
from lutherie_geom.shop.log.entry import turn_text
from lutherie_geom.shop.setup.card_numbers import length
from lutherie_geom.studies.second_order import AsBuilt
from lutherie_geom.studies.sources import SOURCES

__all__ = ["BenchVerdict", "Off", "Suspect", "judge", "pattern_over_turns"]

WOOD = 0.03
"""What wood gives under feelers and hand [mm], added to each reading's error (common practice, no source)."""
ALIKE = 4.0
"""Difference of chi-square below which two explanations cannot be told apart."""
FITS = 0.01
"""An explanation whose leftovers are less likely than this explains nothing."""
OTHERWISE = 0.10
"""Part of what a turn should do by which it may do more or less before it is called wrong (common practice, no source)."""
LARGEST = 25.0  # standard deviations: beyond, it is another joint
ROUNDS = 3
SURE = 3.0  # standard deviations from which a departure is spoken of


@dataclass(frozen=True)
class Off:
    """One reading against its sheet: ``off`` from what it should be, how far is ``fine``, its ``sd`` [mm]; ok or not."""

    reading: BenchReading
    tilt: float
    value: float
    expected: float
    fine: float
    sd: float

    @property
    def off(self) -> float:
        return self.value - self.expected

    @property
    def ok(self) -> bool:
        return abs(self.off) <= self.fine

    def said(self, system: str) -> str:
        """The reading against its sheet, in one line."""
        return (f"{length(self.value, system)}, should be {length(self.expected, system)}, off by "
                f"{length(self.off, system, True)} (fine within {length(self.fine, system)})")


@dataclass(frozen=True)
class Suspect:
    """One number that may be off: ``size`` in its ``unit`` (mm, rad, turn), its part of what is usual (``sds``), chi-square of
    the readings' leftovers, and their root mean square [mm]."""

    name: str
    size: float
    unit: str
    sds: float
    chi2: float
    left: float

    def said(self, system: str) -> str:
        if self.unit == "mm":
            shown = length(self.size, system, True)
        elif self.unit == "rad":
            shown = f"{math.degrees(self.size):+.2f} deg"
        else:
            shown = f"{self.size:+.3f} {self.unit}"
        return f"{words_and_names(self.name)} {shown}"


@dataclass(frozen=True)
class BenchVerdict:
    """``close``: nothing speaks against it. ``mend``: what does, worst first; ``missing``: what was not looked at;
    ``suspects``: single errors that explain the readings, likeliest first; ``pattern``: same at every turn, or growing.
    """

    sheet: ProofSheet
    offs: tuple[Off, ...]
    mend: tuple[str, ...]
    missing: tuple[str, ...]
    suspects: tuple[Suspect, ...]
    explained: str
    pattern: str
    costs: str

    @property
    def close(self) -> bool:
        return not self.mend and not self.missing

    @property
    def words(self) -> str:
        return "close it" if self.close else "mend this first" if self.mend else "look at this first"

    def __str__(self) -> str:
        s = self.sheet.system
        lines = [f"{self.sheet.design.name}: {self.words}.", *(f"  - {m}" for m in (*self.mend, *self.missing))]
        lines += [f"  {t}" for t in (self.explained, self.pattern, self.costs) if t]
        lines += [f"  {self.sheet.lasts}", "", "Readings:"]
        lines += [f"  {'  ' if o.ok else '! '}{o.reading.words}, {turn_text(o.tilt)} turn: {o.said(s)}" for o in self.offs]
        return "\n".join([*lines, "", "Shape only: strength is proved by load. Strings off until the verdict is 'close it'."])

    __repr__ = __str__


def judge(design: Any, read: BenchReadings, *, units: str | None = None) -> BenchVerdict:
    """The verdict on what was read, felt and seen. Raises SheetError for turns outside the travel."""
    turns = tuple(sorted({t.tilt for t in read.taken} | {0.0}))
    sheet = proof_sheet(design, turns=turns, units=units)
    at = {r.key: k for k, r in enumerate(sheet.readings)}
    offs = []
    for t in read.taken:
        i, k = at[t.key], turns.index(t.tilt)
        j = k if not math.isnan(sheet.fine[i, k]) else turns.index(0.0)  # a side gap read at another turn
        expected = float(reading_of(t.key).exact.value(pose(design.dimensions(), tilt=t.tilt)))
        offs.append(Off(reading_of(t.key), t.tilt, t.value, expected, float(sheet.fine[i, j]), t.sd))
    pattern, otherwise = pattern_over_turns(design, offs, sheet.system)
    far = sorted((o for o in offs if not o.ok), key=lambda o: -abs(o.off) / o.fine)
    mend = [f"{words}: the design itself leaves no room; mend the drawing first" for words in sheet.no_room]
    mend += [_too_far([o for o in far if o.reading.key == key], sheet.system)
             for key in dict.fromkeys(o.reading.key for o in far)]
    mend += [otherwise] if otherwise else []
    mend += [f"{s} screw {v}: {FEEL[v]}" for s, v in read.feel.items() if FEEL[v]]
    mend += [f"not so: {NOW_OR_NEVER[k][0]} Now: {NOW_OR_NEVER[k][1]}." for k, v in read.seen.items() if not v]
    missing = [f"not read: {r.words}" for r in sheet.readings if r.key not in {t.key for t in read.taken}]
    missing += [f"not felt: {s} screw" for s in SCREWS if s not in read.feel]
    missing += [f"not seen: {q} Now: {why}." for k, (q, why) in NOW_OR_NEVER.items() if k not in read.seen]
    wrong = otherwise or any(not o.ok for o in offs)
    found, explained = _explain(design, read.taken, sheet.system) if wrong else ((), "")
    return BenchVerdict(sheet, tuple(offs), tuple(mend), tuple(missing), found, explained, pattern, _costs(design, offs, sheet))


def _too_far(rows: list[Off], system: str) -> str:
    """One reading that is too far off, at one turn or at several; the worst stands first."""
    o = rows[0]
    where = ", ".join(turn_text(r.tilt) for r in sorted(rows, key=lambda r: r.tilt))
    return (f"{o.reading.words}: off by {length(o.off, system, True)} at {turn_text(o.tilt)} turn, fine within "
            f"{length(o.fine, system)}{f' (too far at {where})' if len(rows) > 1 else ''}. Later: {o.reading.later}.")


def _explain(design: Any, taken: tuple[Taken, ...], system: str) -> tuple[tuple[Suspect, ...], str]:
    """Every single error at its best size, and a sentence."""
    from scipy.stats import chi2 as law

    d, spreads = design.dimensions(), suspects(design)
    variables = spreads.variables(d)
    sds = np.array([v.spread.standard_deviation for v in variables])
    size, turns = np.zeros(len(sds)), sorted({t.tilt for t in taken})
    weight = np.array([1 / (t.sd**2 + WOOD**2) for t in taken])

    def read(sizes: np.ndarray) -> np.ndarray:
        """Readings, (readings, numbers): joint k is built with number k off by its size."""
        dims, off = spreads.built(d, np.diag(sizes))
        values = np.empty((len(taken), len(sds)))
        for turn in turns:
            with np.errstate(invalid="ignore"):  # what cannot be read is nan
                p = pose(dims, **({"tilt": turn} | {t: by + (turn if t == "tilt" else 0.0) for t, by in off.items()}))
                for k, t in enumerate(taken):
                    if t.tilt == turn:
                        values[k] = reading_of(t.key).exact.value(p)
        return values

    def slopes_at(sizes: np.ndarray) -> np.ndarray:
        """Slopes of the readings, (readings, numbers), of those joints, or of the joint as designed."""
        slopes = np.empty((len(taken), len(sds)))
        for turn in turns:
            p = pose(d, tilt=turn)
            built = AsBuilt.of(p, spreads, np.diag(sizes) if sizes.any() else sizes)
            for k, t in enumerate(taken):
                if t.tilt == turn:
                    g = gradient(built, reading_of(t.key), p, spreads, sds)
                    slopes[k] = g if g.ndim == 1 else np.diagonal(g)
        return slopes

    seen = np.array([t.value for t in taken])[:, None]
    w = weight[:, None]
    for k in range(ROUNDS):
        if k < 2:  # as designed, then once near the answer: slopes change little and take long
            slopes = slopes_at(size)
        below = (w * slopes**2).sum(axis=0)
        step = np.divide((w * slopes * (seen - read(size))).sum(axis=0), below, out=np.zeros_like(size), where=below > 1e-12)
        size = np.clip(np.nan_to_num(size + step), -LARGEST * sds, LARGEST * sds)
    left = seen - read(size)
    chi2 = np.nan_to_num((w * left**2).sum(axis=0), nan=np.inf)
    rms = np.sqrt((left**2).mean(axis=0))
    found = [Suspect(v.name, float(size[k]), v.spread.unit, float(abs(size[k]) / sds[k]) if sds[k] else math.inf,
                     float(chi2[k]), float(rms[k])) for k, v in enumerate(variables) if size[k] != 0]
    found.sort(key=lambda s: s.chi2)
    if not found:
        return (), "No single error explains these readings."
    alike = sorted((s for s in found if s.chi2 <= found[0].chi2 + ALIKE), key=lambda s: s.sds)
    freedom = max(len(taken) - 1, 1)
    if law.sf(found[0].chi2, freedom) < FITS:
        return tuple(alike), (f"No single error explains all readings; the nearest is {alike[0].said(system)}, which leaves "
                              f"{length(alike[0].left, system)} (root mean square). Measure again, then look for two errors.")
    if len(alike) == 1:
        why = SOURCES[bare(alike[0].name)].why if bare(alike[0].name) in SOURCES else ""
        return tuple(alike), f"A single error explains it: {alike[0].said(system)}{f' ({why})' if why else ''}."
    return tuple(alike), (f"A single error explains it: {', or '.join(s.said(system) for s in alike[:6])}. These readings cannot "
                          "tell them apart: measure the parts themselves.")


def pattern_over_turns(design: Any, offs: list[Off], system: str) -> tuple[str, str]:
    """Whether the straightedge is off by the same at every turn, and whether a turn moves the neck as designed, from all
    readings; the second text says so when it is far too much or too little."""
    x, y, w = [], [], []
    nominal = pose(design.dimensions())
    for key in dict.fromkeys(o.reading.key for o in offs if o.reading.every_turn):
        rows = [o for o in offs if o.reading.key == key]
        t, off = np.array([o.tilt for o in rows]), np.array([o.off for o in rows])
        rate = float(reading_of(key).exact.slopes(nominal)["tilt"])
        x += list(rate * (t - t.mean()))
        y += list(off - off.mean())  # what is the same at every turn is another matter
        w += [1 / (o.sd**2 + WOOD**2) for o in rows]
    xx, xy = np.array(w) @ np.array(x) ** 2, np.array(w) @ (np.array(x) * np.array(y))
    if not xx > 0 or len({o.tilt for o in offs}) < 3:
        return "", ""
    more, sd = float(xy / xx), 1 / math.sqrt(xx)
    mean = _edge_off(offs)
    parts = []
    if mean:
        parts.append(f"the straightedge is off by {length(mean, system, True)} at every turn (a place, a thickness or an angle)")
    if abs(more) > SURE * sd:
        parts.append(f"a turn moves the neck by {abs(100 * more):.0f} % {'more' if more > 0 else 'less'} than designed (the "
                     "thread's pitch, or the arm)")
    said = " and ".join(parts) or "the readings follow the turns as designed"
    wrong = ("a turn moves the neck otherwise than designed: another thread, or another arm; the travel is not the design's"
             if abs(more) > OTHERWISE + SURE * sd else "")
    return f"Pattern: {said}.", wrong


def _edge_off(offs: list[Off]) -> float:
    """How far the straightedge is off in the mean over the turns [mm]; 0 where its scatter may be all there is."""
    edge = [o for o in offs if o.reading.key == "straightedge.bridge"]
    mean = float(np.mean([o.off for o in edge])) if edge else 0.0
    return mean if edge and abs(mean) > SURE * math.sqrt(sum(o.sd**2 for o in edge)) / len(edge) else 0.0


def _costs(design: Any, offs: list[Off], sheet: ProofSheet) -> str:
    """What it takes of the travel to turn the straightedge back to where it belongs, in the mean over the turns."""
    off = _edge_off(offs)
    if not off:
        return ""
    turns = -off / float(reading_of("straightedge.bridge").exact.slopes(pose(design.dimensions()))["tilt"])
    have, way = (-sheet.travel.low, "lowering") if turns < 0 else (sheet.travel.high, "raising")
    return (f"To turn the straightedge back to where it belongs takes {abs(turns):.2f} of the {have:.2f} turns there are for "
            f"{way}.")
