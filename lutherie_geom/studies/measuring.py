"""How many readings, with which gauge, it takes to know that a joint is in its window.

A gauge has something wrong every time (systematic), scatters from one reading to the next, and shows only steps. More readings
average the scatter; they do nothing for the rest. Errors are taken as normal. The rules are those of JCGM 106 (guard
band, conformance probability, the risks of both sides), from memory: the text was not read.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np

from lutherie_geom.design.catalogue import find, read_table
from lutherie_geom.design.lines import folded
from lutherie_geom.design.spread import Spread, SpreadError, read_spread
from lutherie_geom.design.units import UnitsError, parse_length
from lutherie_geom.theory.tolerances import mean_reading, true_value

__all__ = ["Comparison", "Gauge", "MeasuringError", "Needed", "Risks", "accepted", "compare", "conformity", "gauge",
           "gauge_names", "guard_for", "readings_needed", "risks"]

Array = Any  # a float or a numpy array of floats
MOST = 1000
"""Readings past which nobody goes on."""


class MeasuringError(ValueError):
    """A question about measuring that makes no sense. The message names field, value, unit and range."""


@dataclass(frozen=True)
class Gauge:
    """A gauge: ``systematic`` spread [mm], ``scatter`` of one reading (standard deviation) and ``step`` [mm]."""

    name: str
    systematic: Spread
    scatter: float
    step: float
    what: str = ""
    mark: str = "the builder's own"

    def __post_init__(self) -> None:
        for key in ("scatter", "step"):
            _size(getattr(self, key), f"{self.name}: {key}", zero=True)
        if self.uncertainty(1) == 0:
            raise MeasuringError(f"{self.name}: a gauge without any error; scatter, step or systematic must be more than 0 mm")

    @property
    def lasting(self) -> float:
        """Standard uncertainty [mm] that no number of readings takes away."""
        return float(mean_reading(systematic=self.systematic.standard_deviation, scatter=0.0, resolution=self.step, readings=1.0))

    def uncertainty(self, readings: Array) -> Any:
        """Standard uncertainty [mm] of the mean of so many readings (arrays broadcast)."""
        return mean_reading(systematic=self.systematic.standard_deviation, scatter=self.scatter, resolution=self.step,
                            readings=readings)

    def __str__(self) -> str:
        return (f"{self.name}: wrong every time {self.systematic}, scatter {self.scatter:g} mm, step {self.step:g} mm\n"
                f"mark: {self.mark}")


def _size(value: Any, said: str, *, zero: bool = False) -> float:
    good = isinstance(value, int | float | np.number) and not isinstance(value, bool) and math.isfinite(value)
    if not good or value < 0 or (value == 0 and not zero):
        raise MeasuringError(f"{said} is {value!r} mm; it must be {'0 mm or more' if zero else 'more than 0 mm'}")
    return float(value)


def _window(low: Any, high: Any) -> tuple[float, float]:
    if not all(isinstance(v, int | float | np.number) and not math.isnan(v) for v in (low, high)) or not low < high:
        raise MeasuringError(f"window {low!r} to {high!r} mm: the lower limit must lie below the upper")
    return float(low), float(high)


def _chance(value: Any, said: str) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0.5 <= value < 1:
        raise MeasuringError(f"{said} is {value!r}; it must be from 0.5 to less than 1: 0.95 for 19 in 20")
    return float(value)


def _count(value: Any, said: str = "readings") -> int:
    from lutherie_geom.studies.sampling import whole

    return whole(said, value, 1, 10**6)


def gauge_names() -> list[str]:
    """Names of the gauges in ``data/tables/gauges.toml``."""
    return list(read_table("gauges")["gauges"])


@cache
def gauge(name: str) -> Gauge:
    """A gauge by its name: typical accuracy, common practice. Read one joint ten times to know your own."""
    table = read_table("gauges")
    found = find(name, table["gauges"], "gauge")
    row = table["gauges"][found]
    try:
        return Gauge(found, read_spread(row["systematic"]), parse_length(row["scatter"]), parse_length(row["step"]), row["what"],
                     table["mark"])
    except (SpreadError, UnitsError) as e:
        raise MeasuringError(f"{found}: {e}") from None


def _known(measured: Array, u: Array, made: tuple[float, float] | None) -> tuple[Array, Array]:
    if made is None:
        return measured, u
    found = true_value(prior_mean=made[0], prior_sd=_size(made[1], "made: standard deviation"), measured=measured, measured_sd=u)
    return found.value, found.value_sd


def conformity(low: float, high: float, measured: Array, gauge: Gauge, readings: int = 1, *,
               made: tuple[float, float] | None = None) -> Any:
    """Probability [1] that the true value lies from ``low`` to ``high`` [mm], the mean of the readings being ``measured`` [mm].

    ``made``: mean and standard deviation [mm] of instruments as they come out; without it only the readings are believed.
    An infinite limit is none. Arrays of ``measured`` broadcast.
    """
    from scipy.special import ndtr

    low, high = _window(low, high)
    value, sd = _known(np.asarray(measured, dtype=float), gauge.uncertainty(_count(readings)), made)
    return (ndtr((high - value) / sd) - ndtr((low - value) / sd))[()]


def accepted(low: float, high: float, true: Array, gauge: Gauge, readings: int = 1, *, guard: float = 0.0) -> Any:
    """Chance [1] that the mean of the readings falls inside the window [mm] drawn in by the guard band, the joint being ``true``.

    All in mm; a negative guard lets in what reads just outside. Arrays of ``true`` broadcast.
    """
    from scipy.special import ndtr

    low, high = _window(low, high)
    u, y = gauge.uncertainty(_count(readings)), np.asarray(true, dtype=float)
    return np.maximum(ndtr((high - guard - y) / u) - ndtr((low + guard - y) / u), 0.0)[()]


@dataclass(frozen=True)
class Risks:
    """Of all joints, as shares [1]: ``good`` ones in the window, ``passed`` ones accepted, ``let_through`` (accepted though
    outside: the player's risk) and ``turned_back`` (refused though inside: the builder's)."""

    good: float
    passed: float
    let_through: float
    turned_back: float

    @property
    def wrong_if_passed(self) -> float:
        """Share [1] outside the window among those accepted."""
        return self.let_through / self.passed if self.passed > 0 else 0.0

    def __str__(self) -> str:
        return (f"in the window {100 * self.good:.1f} in 100, accepted {100 * self.passed:.1f}\n"
                f"accepted though outside {100 * self.let_through:.2f}, refused though inside {100 * self.turned_back:.2f}")


def risks(low: float, high: float, gauge: Gauge, readings: int = 1, *, made: tuple[float, float], guard: float = 0.0) -> Risks:
    """Risks of both sides for joints that come out ``made`` (mean, standard deviation) [mm].

    The window is drawn in by ``guard`` [mm]. True value and mean reading are two normal numbers that correlate: a rectangle
    of their common distribution.
    """
    from scipy.stats import multivariate_normal, norm

    low, high = _window(low, high)
    mean, sd = float(made[0]), _size(made[1], "made: standard deviation")
    u = float(gauge.uncertainty(_count(readings)))
    good = float(norm.cdf(high, mean, sd) - norm.cdf(low, mean, sd))
    in_low, in_high, read_sd = low + guard, high - guard, math.hypot(sd, u)
    if in_low >= in_high:
        return Risks(good, 0.0, 0.0, good)
    passed = float(norm.cdf(in_high, mean, read_sd) - norm.cdf(in_low, mean, read_sd))
    # In units of their own standard deviations, or the accuracy asked for would depend on the sizes.
    r = sd / read_sd
    ends = [[(a - mean) / sd, (b - mean) / read_sd] for a, b in ((low, in_low), (high, in_high))]
    both = float(multivariate_normal.cdf(ends[1], mean=[0.0, 0.0], cov=[[1.0, r], [r, 1.0]], lower_limit=ends[0],
                                         allow_singular=True, abseps=1e-10, releps=1e-10))
    return Risks(good, passed, max(passed - both, 0.0), max(good - both, 0.0))


def guard_for(low: float, high: float, gauge: Gauge, readings: int = 1, *, made: tuple[float, float], wrong: float = 0.01
              ) -> float:
    """The guard band [mm] with which no more than ``wrong`` [1] of the accepted joints lie outside the window; 0 if none is
    needed.

    A MeasuringError where even a window drawn in to a line lets through more.
    """
    from scipy.optimize import brentq

    low, high = _window(low, high)
    if not 0 < wrong < 1:
        raise MeasuringError(f"wrong is {wrong!r}; it must be between 0 and 1: 0.01 for 1 in 100 of the accepted")

    def over(guard: float) -> float:
        return risks(low, high, gauge, readings, made=made, guard=guard).wrong_if_passed - wrong

    if over(0.0) <= 0:
        return 0.0
    u = float(gauge.uncertainty(readings))
    top = min((high - low) / 2 * (1 - 1e-6), 12 * u)
    if over(top) > 0:
        raise MeasuringError(f"{gauge.name}: with {readings} readings no guard band keeps the wrong ones to "
                             f"{100 * wrong:g} in 100 of the accepted; standard uncertainty {u:.3f} mm against a window of "
                             f"{high - low:.3f} mm")
    return float(brentq(over, 0.0, top, xtol=1e-6))


@dataclass(frozen=True)
class Needed:
    """How many ``readings`` a gauge needs, or None and the ``reason``. ``uncertainty`` and ``guard`` [mm] at that number."""

    gauge: Gauge
    readings: int | None
    uncertainty: float
    guard: float
    reason: str = ""

    def __str__(self) -> str:
        if self.readings is None:
            return f"{self.gauge.name}: {self.reason}"
        return (f"{self.gauge.name}: {self.readings} reading{'s' if self.readings > 1 else ''}; their mean is known to "
                f"{self.uncertainty:.3f} mm (standard); accept it {self.guard:.2f} mm or more inside the limits")


def readings_needed(low: float, high: float, gauge: Gauge, *, inside: float, confidence: float = 0.95, safe: float = 0.95,
                    windows: int = 1) -> Needed:
    """Readings, so that a joint truly ``inside`` [mm] its nearer limit is accepted with ``confidence`` [1].

    The window is drawn in so far that a joint on the very limit is refused with chance ``safe`` [1]. With several ``windows`` to
    pass (bass and treble action, say) each is asked for more, so that all are passed together with that confidence.
    """
    from scipy.optimize import brentq
    from scipy.special import ndtr, ndtri

    low, high = _window(low, high)
    inside = _size(inside, "inside")
    if 2 * inside > (high - low) * (1 + 1e-12):
        raise MeasuringError(f"inside is {inside:g} mm; the window is {high - low:g} mm wide, so it must be at most "
                             f"{(high - low) / 2:g} mm")
    each = _chance(confidence, "confidence") ** (1 / _count(windows, "windows"))
    k = float(ndtri(_chance(safe, "safe")))

    def miss(u: float) -> float:
        return float(ndtr((high - low - inside - k * u) / u) - ndtr((k * u - inside) / u)) - each

    # Twice the simple one-limit answer is too much for either; a hundredth is enough for both.
    simple = inside / (k + float(ndtri(each)))
    enough = float(brentq(miss, simple * 1e-3, 2 * simple, xtol=1e-12))
    left = enough**2 - gauge.lasting**2
    if left <= 0:
        least = inside * gauge.lasting / enough
        return Needed(gauge, None, gauge.lasting, k * gauge.lasting,
                      f"no number of readings suffices: {gauge.lasting:.3f} mm (standard) stays however often it is read, at "
                      f"most {enough:.3f} mm may be left; good for joints about {least:.2f} mm or more inside, if the window "
                      "has them")
    n = max(1, math.ceil(gauge.scatter**2 / left - 1e-9))
    if n > MOST:
        return Needed(gauge, None, enough, k * enough, f"{n} readings would be needed, more than anyone takes ({MOST})")
    u = float(gauge.uncertainty(n))
    return Needed(gauge, n, u, k * u)


@dataclass(frozen=True)
class Comparison:
    """What each gauge needs, the fewest readings first."""

    rows: tuple[Needed, ...]
    question: str

    def __str__(self) -> str:
        lines = [folded(self.question), f"{'gauge':<26}{'readings':>9}{'known to mm':>13}{'guard mm':>10}"]
        for r in self.rows:
            cells = f"{'none' if r.readings is None else r.readings:>9}{r.uncertainty:>13.3f}{r.guard:>10.2f}"
            lines.append(f"{r.gauge.name:<26}{cells}{'  ' + r.reason.split(':')[0] if r.reason else ''}")
        marks = sorted({r.gauge.mark for r in self.rows})
        return "\n".join([*lines, folded(f"gauges: {'; '.join(marks)}")])

    __repr__ = __str__


def compare(low: float, high: float, *, inside: float, confidence: float = 0.95, safe: float = 0.95, windows: int = 1,
            gauges: Iterable[Gauge] | None = None) -> Comparison:
    """:func:`readings_needed` for every gauge of the table, or for those given."""
    every = [gauge(n) for n in gauge_names()] if gauges is None else list(gauges)
    rows = [readings_needed(low, high, g, inside=inside, confidence=confidence, safe=safe, windows=windows) for g in every]
    rows.sort(key=lambda r: (r.readings is None, r.readings or 0, r.uncertainty))
    which = "" if windows == 1 else f", {windows} windows"
    return Comparison(tuple(rows), f"a joint {inside:g} mm inside {low:g} to {high:g} mm accepted {100 * confidence:g} times in "
                                   f"100{which}, one on the limit refused {100 * safe:g} times in 100")
