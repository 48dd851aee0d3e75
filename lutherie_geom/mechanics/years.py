"""Years: lift at the bridge and rotation of the neck block, the turns they take, and what is left of the tilt screw's travel.

How far a top lifts cannot be computed from a drawing: lift and rotation after so many years are given as ranges (the defaults are
a guess, no source), and grow in between by the power law of creep.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np

from lutherie_geom.joint.coupling import action_slopes, turns_for
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.reading import Verdict, at_least
from lutherie_geom.joint.strings import action
from lutherie_geom.joint.travel import travel
from lutherie_geom.mechanics.climate import ClimateError
from lutherie_geom.mechanics.movement import Seasons
from lutherie_geom.theory.joint_strength import creep_growth

__all__ = ["Ageing", "Share", "TravelBudget", "ageing", "travel_budget"]

Array = Any  # a float or a numpy array of floats
ROOM = 0.25
"""Turns in hand from which nothing need be said: common practice, no source."""


def _ends(v: Array) -> tuple[float, float]:
    low, high = np.nanquantile(v, (0.05, 0.95))
    return float(low) + 0.0, float(high) + 0.0


@dataclass(frozen=True)
class Ageing:
    """Growth over years. ``years`` (n,); ``lift`` of the bridge [mm], ``rotation`` of the neck block [rad, nut up], ``change`` of
    the mean action at the fret [mm], ``turns`` of the tilt screw that undo it, each (n, samples); ``runs_out``: the year in which
    the lowering travel ends, nan when not within the years looked at, (samples,).
    """

    name: str
    fret: int
    years: np.ndarray
    lift: Array = field(repr=False)
    rotation: Array = field(repr=False)
    change: Array = field(repr=False)
    turns: Array = field(repr=False)
    lowering: float
    ends_with: str
    runs_out: Array = field(repr=False)

    def __str__(self) -> str:
        gone = np.isfinite(self.runs_out)
        last = f"{self.years[-1]:g} years"
        first = (f"the travel lasts more than {last}" if not gone.any() else
                 f"the lowering travel runs out within {last} in {100 * gone.mean():.0f} of 100 samples, first in year "
                 f"{np.nanmin(self.runs_out):.1f}")
        lines = [f"{self.name}: {first}; it ends when {self.ends_with} ({self.lowering:.2f} turns down)."]
        for k in np.unique(np.linspace(0, len(self.years) - 1, 6).astype(int)):
            (a, b), (c, d), (e, f) = (_ends(v[k]) for v in (self.lift, self.change, self.turns))
            lines.append(f"  year {self.years[k]:5.1f}: bridge {a:+.2f}..{b:+.2f} mm, action {c:+.2f}..{d:+.2f} mm, "
                         f"turns to undo {e:+.2f}..{f:+.2f}")
        return "\n".join([*lines, "  left out: what happens when braces come loose, a new saddle, a changed string set"])

    __repr__ = __str__


def _range(name: str, pair: tuple[float, float], low: float, high: float, unit: str) -> tuple[float, float]:
    a, b = (float(v) for v in pair)
    if not low <= a <= b <= high:
        raise ClimateError(f"{name}: {a:g} to {b:g} {unit} is not a range within {low:g} to {high:g} {unit}")
    return a, b


def ageing(design: Any, *, lift: tuple[float, float] = (0.5, 2.5), rotation: tuple[float, float] = (0.0, 0.006),
           after: float = 20.0, exponent: tuple[float, float] = (0.2, 0.4), until: float = 40.0, fret: int = 12,
           samples: int = 64, seed: int = 1) -> Ageing:
    """Action and turns over the years.

    ``lift`` [mm] of the bridge and ``rotation`` [rad] of the neck block (nut up, about the joint) ``after`` so many years: ranges
    taken evenly. ``exponent`` [1] of the growth in time. Travel is that of the new instrument. Raises ClimateError for
    ranges that are crossed or out of reach.
    """
    from scipy.stats import qmc

    ranges = (_range("lift", lift, -5, 15, "mm"), _range("rotation", rotation, -0.05, 0.05, "rad"),
              _range("exponent", exponent, 0.05, 1, ""))
    if not (0 < after <= 200 and 0 < until <= 200):
        raise ClimateError(f"after, until: {after:g} and {until:g} years must lie above 0 and up to 200 years")
    if samples < 2:
        raise ClimateError(f"samples: {samples} is too few; 2 or more")
    u = qmc.Sobol(3, rng=np.random.default_rng(seed)).random(samples).T
    most, turn, power = (a + (b - a) * row for (a, b), row in zip(ranges, u, strict=True))
    years = np.linspace(0.0, until, 41)
    # Give beyond the first give, which is one after ``after`` years.
    grown = creep_growth(time=years[:, None], long_time=after, long_creep=2.0, exponent=power) - 1
    up, rotated = most * grown, turn * grown
    d = design.dimensions()
    height = np.asarray(d.h_saddle)[:, None, None]
    old = d.replaced(h_saddle=height + up, alpha=d.alpha - rotated)
    off = action(pose(old), fret).mean(axis=(0, 1)) - action(pose(d), fret).mean()
    turns = turns_for(old, action_change=-off, sideways=0.0, fret=fret).tilt
    room = travel(design)
    stop = room.first(-1)
    over = -turns + room.low  # positive: more than there is
    k = np.argmax(over > 0, axis=0)
    gone = np.any(over > 0, axis=0) & (k > 0)
    some = np.arange(samples)
    a, b = over[np.maximum(k - 1, 0), some], over[k, some]
    with np.errstate(invalid="ignore", divide="ignore"):
        when = np.where(gone, years[np.maximum(k - 1, 0)] + (years[k] - years[np.maximum(k - 1, 0)]) * a / (a - b), np.nan)
    ends_with = stop.words if stop else "nothing within reach"
    return Ageing(design.name, fret, years, up, rotated, off, turns, -room.low, ends_with, when)


@dataclass(frozen=True)
class Share:
    """What one thing takes of the travel: turns down and turns up, 95 in 100."""

    words: str
    down: float
    up: float


@dataclass(frozen=True)
class TravelBudget:
    """Shares of the travel, what there is of it, and what is left, down (action lower) and up [turn]."""

    name: str
    shares: tuple[Share, ...]
    down: float
    up: float
    down_stop: str
    up_stop: str

    @property
    def left(self) -> tuple[float, float]:
        """Turns left down and up when every share falls due at once (the worst case)."""
        return self.down - sum(s.down for s in self.shares), self.up - sum(s.up for s in self.shares)

    @property
    def verdicts(self) -> tuple[Verdict, Verdict]:
        """Down and up: the travel that there is against what is asked for [turn]."""
        cures = (f"more travel down is wanted: what ends it is that {self.down_stop}",
                 f"more travel up is wanted: what ends it is that {self.up_stop}")
        return tuple(at_least(have, have - left, ROOM, cure)  # type: ignore[return-value]
                     for have, left, cure in zip((self.down, self.up), self.left, cures, strict=True))

    def __str__(self) -> str:
        down, up = (f"{left:.2f} are left" if left >= 0 else f"{-left:.2f} are missing" for left in self.left)
        lines = [f"{self.name}: when all falls due at once, {down} of {self.down:.2f} turns down and {up} of {self.up:.2f} up."]
        lines += [f"  {s.words:<28} {s.down:6.2f} down {s.up:6.2f} up" for s in self.shares]
        lines += [f"  {v.cure}" for v in self.verdicts if v.state != "good"]
        return "\n".join(lines)

    __repr__ = __str__


def travel_budget(design: Any, *, seasons: Seasons, ageing: Ageing, build: float, taste: float = 0.3, year: float = 20.0,
                  fret: int = 12) -> TravelBudget:
    """What build, seasons, years and taste each take of the travel.

    ``build`` [mm]: how far the action of a new instrument may lie off, either way, 95 in 100 (``studies.first_order`` gives it);
    ``taste`` [mm]: how far a player may want it lower or higher; ``year``: the age looked at. Raises ClimateError for a negative
    length or a year that the ageing does not reach.
    """
    for name, value in (("build", build), ("taste", taste)):
        if not value >= 0:
            raise ClimateError(f"{name}: {value:g} mm must be 0 mm or more")
    if not 0 <= year <= ageing.years[-1]:
        raise ClimateError(f"year: {year:g} is outside 0 to {ageing.years[-1]:g}, the years that the ageing looks at")
    nominal = pose(design.dimensions())
    rate = abs(float(action_slopes(nominal, fret)["tilt"].mean()))
    at = int(np.argmin(np.abs(ageing.years - year)))

    def most(turns: Array) -> float:
        return max(0.0, float(np.nanquantile(turns, 0.95)))

    shares = (Share("build", build / rate, build / rate),
              Share("seasons", most(np.nanmax(-seasons.turns, axis=0)), most(np.nanmax(seasons.turns, axis=0))),
              Share(f"{ageing.years[at]:g} years", most(-ageing.turns[at]), most(ageing.turns[at])),
              Share("taste", taste / rate, taste / rate))
    room = travel(design)
    stops = [s.words if (s := room.first(k)) else "nothing within reach" for k in (-1, 1)]
    return TravelBudget(design.name, shares, -room.low, room.high, stops[0], stops[1])
