"""Years: lift at the bridge and rotation of the neck block, and the turns of the tilt screw that they take.

How far a top lifts cannot be computed from a drawing: lift and rotation after so many years are given as ranges (the defaults are
a guess, no source), and grow in between by the power law of creep.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np

from lutherie_geom.design.lines import folded
from lutherie_geom.design.units import format_band
from lutherie_geom.joint.coupling import turns_for
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.strings import action
from lutherie_geom.joint.travel import travel
from lutherie_geom.mechanics.climate import ClimateError
from lutherie_geom.mechanics.seasons import ends
from lutherie_geom.theory.joint_strength import creep_growth

__all__ = ["Ageing", "ageing", "first_passing"]

Array = Any  # a float or a numpy array of floats


def first_passing(years: np.ndarray, over: Array) -> Array:
    """The year in which ``over`` (years, samples) first is above zero, on a straight line between the years looked at; the first
    year where it is so from the beginning, nan where never; (samples,)."""
    past = over > 0
    k, some = np.argmax(past, axis=0), np.arange(over.shape[1])
    before = np.maximum(k - 1, 0)
    a, b = over[before, some], over[k, some]
    with np.errstate(invalid="ignore", divide="ignore"):
        between = years[before] + (years[k] - years[before]) * a / (a - b)
    return np.where(past.any(axis=0), np.where(k == 0, years[0], between), np.nan)


@dataclass(frozen=True)
class Ageing:
    """Growth over years. ``years`` (n,); ``lift`` of the bridge [mm], ``rotation`` of the neck block [rad, nut up], ``change`` of
    the mean action at the fret [mm], ``turns`` of the tilt screw that undo it, each (n, samples); ``down`` and ``up``: the travel
    [turn], and what ends it; ``gone_down`` and ``gone_up``: the year in which that stop is met, nan when not within the years
    looked at, (samples,).
    """

    name: str
    fret: int
    years: np.ndarray
    lift: Array = field(repr=False)
    rotation: Array = field(repr=False)
    change: Array = field(repr=False)
    turns: Array = field(repr=False)
    down: float
    up: float
    down_stop: str
    up_stop: str
    gone_down: Array = field(repr=False)
    gone_up: Array = field(repr=False)
    units: Any = "mm"

    @property
    def runs_out(self) -> Array:
        """The year in which the first of the two stops is met, nan when neither is within the years looked at, (samples,)."""
        return np.fmin(self.gone_down, self.gone_up)

    def __str__(self) -> str:
        last = f"{self.years[-1]:g} years"
        sides = sorted((float(np.nanmin(gone)), f"the {words} travel runs out within {last} in "
                        f"{100 * np.isfinite(gone).mean():.0f} of 100 samples, first in year {np.nanmin(gone):.1f}")
                       for words, gone in (("lowering", self.gone_down), ("raising", self.gone_up)) if np.isfinite(gone).any())
        first = "; ".join(said for _, said in sides) or f"the travel lasts more than {last}"
        lines = [f"{self.name}: {first}; down it ends when {self.down_stop} ({self.down:.2f} turns), up when {self.up_stop} "
                 f"({self.up:.2f} turns)."]
        for k in np.unique(np.linspace(0, len(self.years) - 1, 6).astype(int)):
            lift, change = (format_band(ends(v[k]), system=self.units, signed=True) for v in (self.lift, self.change))
            low, high = ends(self.turns[k])
            lines.append(f"  year {self.years[k]:5.1f}: bridge {lift}, action {change}, turns to undo {low:+.2f}..{high:+.2f}")
        return folded(*lines, "  left out: what happens when braces come loose, a new saddle, a changed string set")

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
    down_stop, up_stop = (s.words if (s := room.first(k)) else "nothing within reach" for k in (-1, 1))
    return Ageing(design.name, fret, years, up, rotated, off, turns, -room.low, room.high, down_stop, up_stop,
                  first_passing(years, room.low - turns), first_passing(years, turns - room.high), design.units)
