"""The answer of :mod:`lutherie_geom.studies.yields`: its rows, and the table that is printed."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from lutherie_geom.design.lines import folded
from lutherie_geom.design.units import convert
from lutherie_geom.studies.agreement import AGREE
from lutherie_geom.studies.digits import NOT_KNOWN, plain_pair, stable_digits, stable_pair
from lutherie_geom.studies.first_order import NOT_TRUSTED
from lutherie_geom.studies.sampling import Run
from lutherie_geom.studies.tally import Array

__all__ = ["KEYS", "TURNED", "BeforeAfter", "Row", "model_names", "said_unit"]

KEYS = ("action_bass", "action_treble", "centring", "least_gap", "least_reveal", "least_floor", "margin_bass", "margin_treble",
        "over_fret_1")
TURNED = ("tilt", "bass", "treble")


def model_names() -> list[str]:
    """What the model gives, in order."""
    return [*(f"{k}_before" for k in KEYS), "passes_before", *(f"{k}_after" for k in KEYS), "passes_after",
            *(f"turn_{k}" for k in TURNED)]


def said_unit(system: Any) -> str:
    """How the unit of lengths is written above a column."""
    return "in" if system == "inch" else "mm"


@dataclass(frozen=True)
class Row:
    """One reading [mm]. ``limits`` (low, high), infinite for none. nominal; ``worst``: every dimension within its limits, and
    ``usual``: 95 in 100 by root-sum-square, both as it comes together; ``reason``: why first order is not to be trusted, if it
    is not; ``worst_after``, ``usual_after``: the same set up, what each number leaves added up (see ``after``; nan where a
    number alone leaves no setting). ``before`` and ``after``: the interval that holds 95 in 100 of the sample, with their
    standard errors; ``agree``, ``agree_after``: root-sum-square and sample, within ``tolerance`` or ``tolerance_after``; None
    if not known. ``inside_before`` and ``inside_after``: share [-] that meets the limits, with standard errors.
    """

    key: str
    words: str
    limits: tuple[float, float]
    nominal: float
    worst: tuple[float, float]
    usual: tuple[float, float]
    before: tuple[float, float]
    before_error: tuple[float, float]
    after: tuple[float, float]
    after_error: tuple[float, float]
    agree: bool | None
    tolerance: float
    inside_before: float
    inside_before_error: float
    inside_after: float
    inside_after_error: float
    worst_after: tuple[float, float]
    usual_after: tuple[float, float]
    agree_after: bool | None
    tolerance_after: float
    reason: str = ""
    unit: str = "mm"


@dataclass(frozen=True)
class BeforeAfter:
    """All readings before and after set-up. Shares [-] with standard errors: ``passing_before``, ``passing_after`` meet every
    limit at once, and their strings clear fret 1; ``lost`` have no setting within their stops. ``gain`` is in instruments per
    hundred, with its error. ``turned``: from and to what turn 95 in 100 of the screws (tilt, bass, treble) are turned [turn];
    ``reach``: how far a pivot screw is turned at the most [turn]. ``units``: what it is printed in; ``idle``: numbers with a
    tolerance that move no reading.
    """

    name: str
    rows: tuple[Row, ...]
    passing_before: float
    passing_before_error: float
    passing_after: float
    passing_after_error: float
    lost: float
    lost_error: float
    gain: float
    gain_error: float
    turned: dict[str, tuple[float, float]]
    step: float
    reach: float
    run: Run = field(repr=False)
    units: Any = "mm"
    idle: tuple[str, ...] = ()

    @property
    def samples(self) -> int:
        """Instruments read."""
        return self.run.samples

    def __getitem__(self, key: str) -> Row:
        for r in self.rows:
            if r.key == key:
                return r
        raise KeyError(f"no reading {key!r}; there are: {', '.join(r.key for r in self.rows)}")

    def distribution(self, key: str, after: bool = False) -> tuple[Array, Array]:
        """Edges of bins [mm] (turns [turn] for tilt, bass, treble) and the share of instruments in each [-]."""
        t = self.run.tally
        names = model_names()
        wanted = f"turn_{key}" if key in TURNED else f"{key}_{'after' if after else 'before'}"
        if wanted not in names:
            raise KeyError(f"no reading {key!r}; there are: {', '.join((*KEYS, *TURNED))}")
        i = names.index(wanted)
        inner = t.histogram[i, 1:-1]
        return t.start[i] + t.width[i] * np.arange(len(inner) + 1), inner / t.samples

    def tell(self, units: Any = None) -> str:
        """The tables, lengths in "mm" or "inch"; the design's own unless given."""
        units = units or self.units
        unit, most = said_unit(units), 3 if units == "inch" else 2
        said = "" if self.run.complete else f", stopped: {self.run.asked} were asked for"
        wide = max(len(r.words) for r in self.rows) + 1
        head = f"{'at worst':>16}{'rss':>16}{'counted':>16}{'agree':>8}"

        def sums(worst: Any, usual: Any, counted: Any, error: Any, agree: bool | None) -> str:
            return (f"{plain_pair(worst, units):>16}{plain_pair(usual, units):>16}{stable_pair(counted, error, units):>16}"
                    f"{AGREE[agree]:>8}")

        lines = [folded(f"{self.name}: {self.samples} instruments, before and after set-up in steps of {self.step:g} turn, a "
                        f"pivot screw by {self.reach:g} turn at the most{said}"),
                 f"as put together [{unit}] (rss: 95 in 100 by root-sum-square; counted: 95 in 100 of the sample)",
                 f"  {'':<{wide}}{'nominal':>8}{head}"]
        lines += [f"  {r.words:<{wide}}{convert(r.nominal, units):>8.{most}f}"
                  f"{sums(r.worst, r.usual, r.before, r.before_error, r.agree)}{' *' if r.reason else ''}" for r in self.rows]
        lines += [NOT_TRUSTED] * any(r.reason for r in self.rows)
        lines += [f"set up [{unit}] (at worst, rss: what each number leaves when the screws are turned, and half steps)",
                  f"  {'':<{wide}}{'':>8}{head}"]
        lines += [f"  {r.words:<{wide}}{'':>8}{sums(r.worst_after, r.usual_after, r.after, r.after_error, r.agree_after)}"
                  for r in self.rows]
        lines += [f"how many instruments in 100 meet the limits [{unit}]",
                  f"  {'':<{wide}}{'limits':>17}{'before':>12}{'after':>12}"]
        lines += [f"  {r.words:<{wide}}{_window(r.limits, units):>17}{_share(r.inside_before, r.inside_before_error):>12}"
                  f"{_share(r.inside_after, r.inside_after_error):>12}" for r in self.rows]
        lines.append(f"  {'all limits at once':<{wide + 17}}{_share(self.passing_before, self.passing_before_error):>12}"
                     f"{_share(self.passing_after, self.passing_after_error):>12}")
        gain, lost = stable_digits(self.gain, self.gain_error, most=1), _share(self.lost, self.lost_error)
        bought = ("this sample does not tell what adjustability buys" if gain == NOT_KNOWN else
                  f"adjustability buys {gain} instruments in 100")
        lines.append(folded(bought + ("; nor how many have no setting within their stops" if lost == NOT_KNOWN == gain else
                               "; how many have no setting within their stops is not known" if lost == NOT_KNOWN else
                               f"; {lost} in 100 have no setting within their stops")))
        turned = ", ".join(f"{k} {a:+.2f} to {b:+.2f}" for k, (a, b) in self.turned.items())
        lines.append(folded(f"screws turned, 95 in 100: {turned} turn"))
        if self.idle:
            lines.append(folded(f"moves no reading: {', '.join(self.idle)}"))
        return "\n".join(lines)

    def __str__(self) -> str:
        return self.tell()

    __repr__ = __str__


def _share(value: float, error: float) -> str:
    return stable_digits(100 * value, 100 * error, most=1)


def _window(limits: tuple[float, float], units: Any) -> str:
    low, high = limits
    return f"at least {plain_pair((low, low), units).split()[0]}" if math.isinf(high) else plain_pair(limits, units)
