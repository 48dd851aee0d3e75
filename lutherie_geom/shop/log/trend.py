"""Trend of an instrument from its log: how action and bridge height move with moisture and with time, and when the travel ends.

Readings are first brought to one state of the instrument (:mod:`.log.comparable`). Then weighted least squares: a level, so much
for each per cent of moisture in the wood, growth over time by the power law of creep, and a step for bench work that an entry
notes. A lone jump that no entry explains is told. Moisture is that at which wood would settle in the air noted beside the
reading; its lag is left out. How strongly moisture acts is first taken from the model of the seasons
(:mod:`.mechanics.movement`) with its spread, and the readings move it from there. The exponent of the growth is not known:
several are fitted, and weighed by how well they do.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from lutherie_geom.design.units import format_short as length
from lutherie_geom.joint.coupling import turns_for
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.travel import travel
from lutherie_geom.mechanics.movement import TopStrip, action_change, swelling_of, swollen
from lutherie_geom.shop.bench.readings import straightedge_posed
from lutherie_geom.shop.log.comparable import YEAR, Comparable, TrendError, comparable
from lutherie_geom.shop.log.entry import Entry
from lutherie_geom.theory.joint_strength import creep_growth

__all__ = ["YEAR", "Comparable", "Fit", "Forecast", "Trend", "TrendError", "comparable", "forecast", "trend"]

EXPONENTS = np.linspace(0.2, 1.0, 9)
"""Exponents of growth in time that are tried [1]: 0.2 to 0.4 is creep as :mod:`.mechanics.years` has it, 1 is steady."""
PRIOR = 0.6
"""Standard deviation of the model's effect of moisture, as a part of itself: a guess, no source."""
AGREE = 0.05
"""What one set-up reading repeats to another day [mm], beside its own error: a guess, no source."""
FEWEST, SHORTEST = 4, 0.25
"""Fewest readings, and shortest time [year], that make a trend in time."""
STEP = 3.0
"""Standard deviation of a step by bench work beforehand [mm]: so wide that the readings alone tell it."""
JUMP = 9.0
"""Chi-square that a lone jump must take up to be told: 3 in 1000 of good readings at each place where it may be."""
FEW = 0.05
"""Chance from which the year of a stop is told."""
SAMPLES = 4096


@dataclass(frozen=True)
class Fit:
    """One exponent's fit: ``level`` [mm], ``by_moisture`` [mm/%], ``growth`` in the first year [mm], and what each
    step brought [mm]; ``cov`` of them; ``weight`` among the exponents; ``chi2`` of the readings."""

    exponent: float
    values: np.ndarray
    cov: np.ndarray
    weight: float
    chi2: float


@dataclass(frozen=True)
class Trend:
    """What the readings tell. ``says``: why there is no trend in time, or nothing; ``fits``: one an exponent, empty where there
    is too little to fit."""

    name: str
    data: Comparable
    fits: tuple[Fit, ...]
    says: str
    model_by_moisture: float
    middle: float = field(repr=False, default=math.nan)
    units: Any = "mm"

    def mean_and_sd(self, row: np.ndarray) -> tuple[float, float]:
        """A sum of level, moisture's effect, growth and steps (weights in ``row``, the rest 0) [mm]: mean and standard deviation
        over all fits."""
        row = np.pad(row, (0, len(self.fits[0].values) - len(row)))
        w = np.array([f.weight for f in self.fits])
        m = np.array([row @ f.values for f in self.fits])
        v = np.array([row @ f.cov @ row for f in self.fits])
        mean = float(w @ m)
        return mean, math.sqrt(float(w @ (v + (m - mean) ** 2)))

    def __str__(self) -> str:
        n = len(self.data.years)
        head = (f"{self.name}: {self.data.words}, {n} reading{'s' if n != 1 else ''} over {self.data.years[-1]:.2f} years, turns "
                "undone")
        if not self.fits:
            return f"{head}. {self.says}"
        (by, sby), (grow, sgrow) = (self.mean_and_sd(np.array(r)) for r in ((0.0, 1.0, 0.0), (0.0, 0.0, 1.0)))
        s = self.units
        lines = [f"{head}.", f"  for each per cent of moisture {length(by, s, True)} ± {length(2 * sby, s)} (the model alone: "
                 f"{length(self.model_by_moisture, s, True)})",
                 f"  in the first year {length(grow, s, True)} ± {length(2 * sgrow, s)} (± two standard deviations)"]
        for k, year in enumerate(self.data.steps):
            step, sd = self.mean_and_sd(np.eye(len(self.fits[0].values))[3 + k])
            lines.append(f"  bench work in year {year:.2f}: {length(step, s, True)} ± {length(2 * sd, s)}")
        return "\n".join([*lines, *([f"  {self.says}"] if self.says else [])])

    __repr__ = __str__


def trend(design: Any, entries: Iterable[Entry], kind: str = "action", fret: int = 12) -> Trend:
    """The trend of ``action`` or ``bridge`` height; where there is too little, it says so and fits nothing."""
    data = comparable(design, entries, kind, fret)
    swelling = swelling_of(design, strip=TopStrip())
    if kind == "action":
        model = float(action_change(design, 1.0, swelling, fret))
    else:
        d = design.dimensions()
        model = float(straightedge_posed(swollen(design, 1.0, swelling, d)) - straightedge_posed(pose(d)) - swelling.top_rise)
    known = np.isfinite(data.moisture)
    n, span, few = len(data.years), float(data.years[-1]), FEWEST + len(data.steps)

    def nothing(said: str) -> Trend:
        return Trend(design.name, data, (), said, model, units=design.units)

    if n < few or span < SHORTEST:
        return nothing(f"Too little for a trend: {n} of at least {few} readings, over {12 * span:.1f} of at least "
                       f"{12 * SHORTEST:g} months. Go on writing.")
    if not known.any():
        return nothing("No entry notes the humidity: seasons and years cannot be told apart.")
    says = [] if known.all() else [f"{int((~known).sum())} readings without humidity are left out."]
    data = data.only(known)
    if len(data.years) < few or np.ptp(data.years) < SHORTEST:
        return nothing(" ".join(["Too little for a trend once readings without humidity are left out.", *says]))
    if np.ptp(data.moisture) < 1.0:
        says.append("The air hardly changed: the effect of moisture is the model's.")
    between = sorted({k for s in data.steps if 0 < (k := int(np.sum(data.years < s))) < len(data.years)})
    data = replace(data, steps=tuple(float(data.years[k]) for k in between))  # those with readings on both sides, each once
    middle = float(data.moisture.mean())
    fits = _fits(data, middle, model)
    says += _jump(data, middle, model, fits, design.units)
    return Trend(design.name, data, fits, " ".join(says), model, middle, design.units)


def _jump(data: Comparable, middle: float, model: float, fits: tuple[Fit, ...], units: Any) -> list[str]:
    """A lone jump that no entry explains, in words; nothing where there is none."""
    found = []
    for k in range(1, len(data.years)):
        if len(data.years) > FEWEST + len(data.steps) and float(data.years[k]) not in data.steps:
            tried = _fits(replace(data, steps=(*data.steps, float(data.years[k]))), middle, model)
            best = min(tried, key=lambda f: f.chi2)
            free = len(data.years) - 3 - len(data.steps)
            less = (min(f.chi2 for f in fits) - best.chi2) / max(1.0, best.chi2 / max(free, 1))
            found.append((less, k, float(best.values[-1])))
    much, k, by = max(found, default=(0.0, 0, 0.0))
    return [f"WATCH: between {data.days[k - 1]} and {data.days[k]} it jumps by {length(by, units, True)}, and no entry says why. "
            "Bench work is not age: if it was that, add an entry of that day that says what was changed (log add --changed)."
            ] if much > JUMP else []


def _growth(years: Any, exponent: float) -> np.ndarray:
    """Growth in parts of the first year's [1]."""
    return np.asarray(creep_growth(time=np.asarray(years, dtype=float), long_time=1.0, long_creep=2.0, exponent=exponent)) - 1


def _fits(data: Comparable, middle: float, model: float) -> tuple[Fit, ...]:
    w = 1 / np.hypot(data.sd, AGREE)
    found, likely = [], []
    before = data.years[:, None] < np.array(data.steps)  # what a step brought is missing before it: the level is today's
    sure = np.r_[0.0, 1 / (PRIOR * abs(model) + 1e-3), 0.0, np.full(len(data.steps), 1 / STEP)]
    for e in EXPONENTS:
        a = np.column_stack([np.ones_like(data.years), data.moisture - middle, _growth(data.years, float(e)), -1.0 * before])
        rows = np.vstack([a * w[:, None], np.diag(sure)])  # what is known beforehand speaks as one more reading each
        cov = np.linalg.inv(rows.T @ rows)
        x = cov @ rows.T @ np.r_[data.value * w, sure * np.r_[0.0, model, np.zeros(len(sure) - 2)]]
        chi2 = float((((data.value - a @ x) * w) ** 2).sum())
        free = len(data.years) - 2 - len(data.steps)
        # Readings that scatter more than they should make everything less sure.
        found.append((float(e), x, cov * max(1.0, chi2 / max(free, 1)), chi2))
        likely.append(-chi2 / 2)
    p = np.exp(np.array(likely) - max(likely))
    p /= p.sum()
    return tuple(Fit(e, x, c, float(q), chi2) for (e, x, c, chi2), q in zip(found, p, strict=True))


@dataclass(frozen=True)
class Forecast:
    """``years`` from the first reading (n,); ``value`` of the action at nominal turns [mm] and ``turns`` of the tilt screw that
    keep the action, each as 5, 50 and 95 in 100 (3, n), the outer ones in the driest and the dampest air noted, whichever is
    worse; ``gone_down`` and ``gone_up``: chance that the travel that way has run out by then (n,); ``down`` and ``up``: the
    travel [turn], and what ends it; ``keep`` [mm]."""

    name: str
    years: np.ndarray
    value: np.ndarray
    turns: np.ndarray
    gone_down: np.ndarray
    gone_up: np.ndarray
    keep: float
    down: float
    up: float
    down_stop: str
    up_stop: str
    units: Any = "mm"

    def __str__(self) -> str:
        lines = [f"{self.name}: to keep the action at {length(self.keep, self.units)} there are {self.down:.2f} turns down, "
                 f"until {self.down_stop}, and {self.up:.2f} up, until {self.up_stop}."]
        for k in range(len(self.years)):
            lines.append(f"  year {self.years[k]:5.1f}: turns {self.turns[0, k]:+.2f}..{self.turns[2, k]:+.2f} (middle "
                         f"{self.turns[1, k]:+.2f}); used up in {100 * self.gone_down[k]:.0f} of 100 down, in "
                         f"{100 * self.gone_up[k]:.0f} up")
        met = sorted((float(self.years[int(np.argmax(gone >= FEW))]), words) for words, gone in
                     ((f"down ({self.down_stop})", self.gone_down), (f"up ({self.up_stop})", self.gone_up)) if gone.max() >= FEW)
        lines += [f"  in {100 * FEW:.0f} of 100 the stop {words} is met by year {year:.0f}" for year, words in met]
        return "\n".join([*lines, "  5 to 95 in 100, each side in the driest or dampest air noted, whichever is worse. Left out: "
                          "new braces, new saddle, other strings."])

    __repr__ = __str__


def forecast(design: Any, found: Trend, *, until: float = 30.0, keep: float | None = None, fret: int = 12,
             seed: int = 1) -> Forecast:
    """When the travel runs out, if the trend of the action goes on. ``keep``: the mean action to be kept [mm] (by default that of
    the first reading); ``until``: years from the first reading. Raises :class:`TrendError` where there is no trend."""
    if found.data.kind != "action":
        raise TrendError(f"kind: {found.data.kind!r}; the travel is asked for by the action")
    if not found.fits:
        raise TrendError(f"no forecast: {found.says}")
    now = float(found.data.years[-1])
    if not now < until <= 200:
        raise TrendError(f"until: {until:g} years; allowed is more than {now:.2f} (the last reading) and up to 200 years")
    d = design.dimensions()
    keep = float(found.data.value[0]) if keep is None else float(keep)
    if not 0.3 <= keep <= 8:
        raise TrendError(f"keep: {keep:g} mm; allowed is 0.3 to 8 mm")
    rng = np.random.default_rng(seed)
    counts = rng.multinomial(SAMPLES, [f.weight for f in found.fits])
    airs = np.array([float(f(found.data.moisture)) - found.middle for f in (np.min, np.mean, np.max)])
    years = np.unique(np.r_[np.round(now, 3), np.arange(math.ceil(now), until + 1e-9, max(1.0, round(until / 12)))])
    parts = []
    for f, n in zip(found.fits, counts, strict=True):  # exponents, not samples
        x = rng.multivariate_normal(f.values[:3], f.cov[:3, :3], size=int(n)).T
        parts.append(x[0] + airs[:, None, None] * x[1] + _growth(years, f.exponent)[:, None] * x[2])
    value = np.concatenate(parts, axis=2)  # (airs, years, samples)
    room = travel(design)
    # Turns by the full model: what brings an instrument whose nominal action is so far off back to what is kept.
    grid = np.linspace(float(value.min()), float(value.max()) + 1e-9, 33)
    turns = np.interp(value, grid, turns_for(d, action_change=keep - grid, sideways=0.0, fret=fret).tilt)

    def band(v: np.ndarray) -> np.ndarray:
        return np.stack([np.quantile(of, q, axis=1) for of, q in ((v.min(axis=0), 0.05), (v[1], 0.5), (v.max(axis=0), 0.95))])

    down_stop, up_stop = (s.words if (s := room.first(k)) else "nothing within reach" for k in (-1, 1))
    return Forecast(design.name, years, band(value), band(turns), (turns.min(axis=0) < room.low).mean(axis=1),
                    (turns.max(axis=0) > room.high).mean(axis=1), keep, -room.low, room.high, down_stop, up_stop, design.units)
