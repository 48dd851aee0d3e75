"""Trend of an instrument from its log: how action and bridge height move with moisture and with time, and when the travel ends.

Every reading is first brought to the screws' nominal places by the model, so that readings before and after a turn compare. Then
weighted least squares: a level, so much for each per cent of moisture in the wood, and growth over time by the power law of
creep. Moisture is that at which wood would settle in the air noted beside the reading; its lag is left out. How strongly moisture
acts is first taken from the model of the seasons (:mod:`.mechanics.movement`) with its spread, and the readings move it from
there. The exponent of the growth is not known: several are fitted, and weighed by how well they do.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from lutherie_geom.joint.coupling import turns_for
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.strings import action
from lutherie_geom.joint.travel import travel
from lutherie_geom.mechanics.climate import constant, moisture
from lutherie_geom.mechanics.movement import TopStrip, action_change, swelling_of, swollen
from lutherie_geom.shop.bench.readings import straightedge_posed
from lutherie_geom.shop.log.entry import Entry
from lutherie_geom.theory.joint_strength import creep_growth

__all__ = ["Comparable", "Fit", "Forecast", "Trend", "TrendError", "comparable", "forecast", "trend"]

KINDS = {"action": "mean action of the outer strings at fret {fret}", "bridge": "straightedge on the frets, over the soundboard"}
YEAR = 365.25
ROOM_TEMPERATURE = 20.0  # degC, where none was noted
EXPONENTS = np.linspace(0.2, 1.0, 9)
"""Exponents of growth in time that are tried [1]: 0.2 to 0.4 is creep as :mod:`.mechanics.years` has it, 1 is steady."""
PRIOR = 0.6
"""Standard deviation of the model's effect of moisture, as a part of itself: a guess, no source."""
AGREE = 0.05
"""What one set-up reading repeats to another day [mm], beside its own error: a guess, no source."""
FEWEST, SHORTEST = 4, 0.25
"""Fewest readings, and shortest time [year], that make a trend in time."""
SAMPLES = 4096


class TrendError(ValueError):
    """A trend or forecast that cannot be made; the message says what, its value, unit and range."""


@dataclass(frozen=True)
class Comparable:
    """Readings brought to the nominal turns: ``years`` since the first, ``value`` and ``sd`` [mm], ``moisture`` [%] (nan where no
    humidity was noted), each (n,)."""

    kind: str
    words: str
    years: np.ndarray
    value: np.ndarray
    sd: np.ndarray
    moisture: np.ndarray


def comparable(design: Any, entries: Iterable[Entry], kind: str = "action", fret: int = 12) -> Comparable:
    """The ``action`` at a fret, or the ``bridge`` height, of all entries that have it, turns undone."""
    if kind not in KINDS:
        raise TrendError(f"kind: {kind!r}; allowed is {' or '.join(KINDS)}")
    keys = (f"action.{fret}.bass", f"action.{fret}.treble") if kind == "action" else ("straightedge.bridge",)
    rows = sorted((e for e in entries if all(k in e.readings for k in keys)), key=lambda e: e.when)
    if not rows:
        raise TrendError(f"no entry of the log has {' and '.join(keys)}")
    d = design.dimensions()
    turned = pose(d, **{s: np.array([getattr(e, s) for e in rows]) for s in ("tilt", "bass", "treble")})
    nominal = pose(d)
    if kind == "action":
        by = action(turned, fret)[[0, -1], 0].mean(axis=0) - action(nominal, fret)[[0, -1], 0].mean()
    else:
        by = straightedge_posed(turned) - straightedge_posed(nominal)
    read = np.array([[e.readings[k].value for k in keys] for e in rows]).mean(axis=1)
    sd = np.sqrt(np.array([sum(e.readings[k].sd ** 2 for k in keys) for e in rows])) / len(keys)
    years = np.array([(e.when - rows[0].when).total_seconds() for e in rows]) / (86400 * YEAR)
    return Comparable(kind, KINDS[kind].format(fret=fret), years, read - by, sd, np.array([_settled(e) for e in rows]))


def _settled(e: Entry) -> float:
    """Moisture at which wood settles in the air of an entry [%]."""
    if e.humidity is None:
        return math.nan
    t = ROOM_TEMPERATURE if e.temperature is None else e.temperature
    return float(moisture(constant(temperature=t, humidity=100 * e.humidity, days=1.0), lag=1e-3)[-1])


@dataclass(frozen=True)
class Fit:
    """One exponent's fit: ``level`` [mm], ``by_moisture`` [mm/%], ``growth`` in the first year [mm]; ``cov`` of the three;
    ``weight`` among the exponents; ``chi2`` of the readings."""

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

    def mean_and_sd(self, row: np.ndarray) -> tuple[float, float]:
        """A sum of level, moisture's effect and growth (weights in ``row``) [mm]: mean and standard deviation over all fits."""
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
        lines = [f"{head}.", f"  for each per cent of moisture {by:+.3f} ± {2 * sby:.3f} mm (the model alone: "
                 f"{self.model_by_moisture:+.3f})",
                 f"  in the first year {grow:+.3f} ± {2 * sgrow:.3f} mm (± two standard deviations)"]
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
    n, span = len(data.years), float(data.years[-1])
    if n < FEWEST or span < SHORTEST:
        said = (f"Too little for a trend: {n} of at least {FEWEST} readings, over {12 * span:.1f} of at least {12 * SHORTEST:g} "
                "months. Go on writing.")
        return Trend(design.name, data, (), said, model)
    if not known.any():
        return Trend(design.name, data, (), "No entry notes the humidity: seasons and years cannot be told apart.", model)
    says = "" if known.all() else f"{int((~known).sum())} readings without humidity are left out."
    data = Comparable(kind, data.words, data.years[known], data.value[known], data.sd[known], data.moisture[known])
    middle = float(data.moisture.mean())
    if len(data.years) < FEWEST or np.ptp(data.years) < SHORTEST:
        return Trend(design.name, data, (), f"Too little for a trend once readings without humidity are left out. {says}", model)
    if np.ptp(data.moisture) < 1.0:
        says += (" " if says else "") + "The air hardly changed: the effect of moisture is the model's."
    return Trend(design.name, data, _fits(data, middle, model), says, model, middle)


def _growth(years: Any, exponent: float) -> np.ndarray:
    """Growth in parts of the first year's [1]."""
    return np.asarray(creep_growth(time=np.asarray(years, dtype=float), long_time=1.0, long_creep=2.0, exponent=exponent)) - 1


def _fits(data: Comparable, middle: float, model: float) -> tuple[Fit, ...]:
    w = 1 / np.hypot(data.sd, AGREE)
    found, likely = [], []
    for e in EXPONENTS:
        a = np.stack([np.ones_like(data.years), data.moisture - middle, _growth(data.years, float(e))], axis=1)
        rows = np.vstack([a * w[:, None], [0.0, 1 / (PRIOR * abs(model) + 1e-3), 0.0]])  # the model speaks as one more reading
        cov = np.linalg.inv(rows.T @ rows)
        x = cov @ rows.T @ np.r_[data.value * w, model / (PRIOR * abs(model) + 1e-3)]
        chi2 = float((((data.value - a @ x) * w) ** 2).sum())
        free = len(data.years) - 2
        # Readings that scatter more than they should make everything less sure.
        found.append((float(e), x, cov * max(1.0, chi2 / max(free, 1)), chi2))
        likely.append(-chi2 / 2)
    p = np.exp(np.array(likely) - max(likely))
    p /= p.sum()
    return tuple(Fit(e, x, c, float(q), chi2) for (e, x, c, chi2), q in zip(found, p, strict=True))


@dataclass(frozen=True)
class Forecast:
    """``years`` from the first reading (n,); ``value`` of the action at nominal turns [mm] and ``turns`` of the tilt screw that
    keep the action, each as 5, 50 and 95 in 100 (3, n); ``gone``: chance that the lowering travel has run out by then (n,)."""

    name: str
    years: np.ndarray
    value: np.ndarray
    turns: np.ndarray
    gone: np.ndarray
    keep: float
    lowering: float
    ends_with: str

    def __str__(self) -> str:
        lines = [f"{self.name}: to keep the action at {self.keep:.2f} mm there are {self.lowering:.2f} turns down; they end when "
                 f"{self.ends_with}."]
        for k in range(len(self.years)):
            lines.append(f"  year {self.years[k]:5.1f}: turns {self.turns[0, k]:+.2f}..{self.turns[2, k]:+.2f} (middle "
                         f"{self.turns[1, k]:+.2f}); used up in {100 * self.gone[k]:.0f} of 100")
        return "\n".join([*lines, "  5 to 95 in 100; in the dampest air noted. Left out: new braces, new saddle, other strings."])

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
    damp = float(found.data.moisture.max()) - found.middle
    years = np.unique(np.r_[np.round(now, 3), np.arange(math.ceil(now), until + 1e-9, max(1.0, round(until / 12)))])
    parts = []
    for f, n in zip(found.fits, counts, strict=True):  # exponents, not samples
        x = rng.multivariate_normal(f.values, f.cov, size=int(n)).T
        parts.append(x[0] + damp * x[1] + _growth(years, f.exponent)[:, None] * x[2])
    value = np.concatenate(parts, axis=1)
    room = travel(design)
    # Turns by the full model: what brings an instrument whose nominal action is so far off back to what is kept.
    grid = np.linspace(float(value.min()), float(value.max()) + 1e-9, 33)
    exact = turns_for(d, action_change=keep - grid, sideways=0.0, fret=fret).tilt
    turns = np.interp(value, grid, exact)
    stop = room.first(-1)
    band = np.quantile(value, (0.05, 0.5, 0.95), axis=1), np.quantile(turns, (0.05, 0.5, 0.95), axis=1)
    return Forecast(design.name, years, band[0], band[1], (turns < room.low).mean(axis=1), keep, -room.low,
                    stop.words if stop else "nothing within reach")
