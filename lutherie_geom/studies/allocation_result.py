"""What an allocation found, as a builder reads it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from lutherie_geom.design.input_words import in_the_file, words_of
from lutherie_geom.design.lines import folded
from lutherie_geom.design.spread import Spread
from lutherie_geom.studies.digits import NOT_KNOWN, stable_digits

__all__ = ["Allocated", "Allocation", "PriceCurve", "said"]


@dataclass(frozen=True)
class Allocated:
    """One input: process and spread [unit of the input], cost, share [1] of the variance of the reading that fails most.

    ``saves`` and ``loses``: cost saved and yield [1] lost by the next looser choice (0, 0 where there is none).
    """

    name: str
    process: str
    spread: Spread
    cost: float
    share: float
    saves: float = 0.0
    loses: float = 0.0


@dataclass(frozen=True)
class Allocation:
    """The set of tolerances. ``wanted`` yield [1]; ``straight``: yield by the slopes; ``full``: by the full model, or None.

    ``swaps``: pairs of inputs whose processes may be swapped at no cost.
    ``error`` and ``full_error``: standard errors of ``straight`` and ``full`` [1], at most.
    ``price``: cost of one more per cent, nan where it cannot be had; ``price_is`` says how it was found. ``tightest_window``:
    the reading that fails most. ``proven``: whether no cheaper set exists by the straight line. ``ways``: number of sets
    judged by the full model. ``notes``: what the numbers are worth, and cautions of the processes named. All costs in
    ``cost_unit``.
    """

    rows: tuple[Allocated, ...]
    wanted: float
    straight: float
    full: float | None
    cost: float
    price: float
    price_is: str
    tightest_window: str
    proven: bool
    cost_unit: str
    ways: int = 0
    error: float = 0.0
    full_error: float = 0.0
    swaps: tuple[tuple[str, str], ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def spreads(self) -> tuple[Spread, ...]:
        """Spread of every input, in their order."""
        return tuple(r.spread for r in self.rows)

    @property
    def loosen_first(self) -> tuple[Allocated, ...]:
        """Inputs by what their next looser choice saves for each yield lost, the best first."""
        return tuple(sorted((r for r in self.rows if r.saves > 0), key=lambda r: max(r.loses, 1e-9) / r.saves))

    @property
    def as_good(self) -> tuple[Allocated, ...]:
        """The first of :attr:`loosen_first` and those that the sample cannot tell from it, in the order of the inputs."""
        if not (ranked := self.loosen_first):
            return ()
        first = ranked[0]
        return tuple(r for r in self.rows if r.saves > 0
                     and r.loses / r.saves <= (first.loses + 2 * self.error) / first.saves)

    def __getitem__(self, name: str) -> Allocated:
        for r in self.rows:
            if r.name == name:
                return r
        raise KeyError(f"no input {name!r}; there are: {', '.join(r.name for r in self.rows)}")

    def __str__(self) -> str:
        u = self.cost_unit
        names = [words_of(r.name) for r in self.rows]
        width = max(20, *(len(n) + 2 for n in names))
        by, held = (max(len(word), *map(len, column)) + 2 for word, column in (
            ("process", [r.process for r in self.rows]), ("tolerance", [said(r.spread) for r in self.rows])))
        lines = [f"{'input':<{width}}{'process':<{by}}{'tolerance':<{held}}{u:>8}{'share':>8}"]
        lines += [f"{n:<{width}}{r.process:<{by}}{said(r.spread):<{held}}{r.cost:>8.1f}{100 * r.share:>7.1f}%"
                  for n, r in zip(names, self.rows, strict=True)]
        lines += [f"{'together':<{width + by + held}}{self.cost:>8.1f} {u}",
                  f"shares are of the variance of what fails most: {self.tightest_window}"]
        judged = "" if self.full is None else f"; by the full model {_met(self.full, self.wanted, self.full_error)}"
        lines.append(f"yield wanted {100 * self.wanted:.4g} in 100; by the slopes {_met(self.straight, self.wanted, self.error)}"
                     f"{judged}")
        none = ("would be every instrument: no tolerance promises that" if self.wanted + 0.01 >= 1 else
                "cannot be had from these processes")
        lines.append(f"one more in 100 {none}" if math.isnan(self.price) else
                     f"one more in 100 costs {f'{self.price:.1f} {u}' if self.price > 0 else 'nothing more'} ({self.price_is})")
        if best := self.as_good:
            lost = stable_digits(100 * best[0].loses, 100 * self.error, most=1)
            lines.append(f"to loosen first: {words_of(best[0].name)}, saves {best[0].saves:.1f} {u}"
                         + ("" if lost == NOT_KNOWN else f" and loses {lost} in 100")
                         + (f"; as good: {', '.join(words_of(r.name) for r in best[1:])}" if best[1:] else ""))
        lines += [f"as good: {words_of(a)} and {words_of(b)} the other way round" for a, b in self.swaps]
        if not self.proven:
            lines.append("best set found; not proven that none is cheaper")
        return folded(*lines, *self.notes, *in_the_file(r.name for r in self.rows))

    __repr__ = __str__


def _met(share: float, wanted: float, error: float) -> str:
    """A yield [1] in the digits that another sample would print again; where these do not part it from the one wanted, only
    whether it is met."""
    text = stable_digits(100 * share, 100 * error, most=1)
    clear = text != NOT_KNOWN and not text.startswith("about") and "." in text
    return text if clear else "met" if share >= wanted else "missed"


def said(s: Spread) -> str:
    """A spread as a builder writes it, angles in degrees."""
    if s.unit == "rad":
        return f"± {math.degrees(s.high):.3g} deg {s.kind}" + (f", {s.sds:g} sd" if s.kind == "normal" else "")
    return f"± {s.high:.3g} {s.unit} {s.kind}" + (f", {s.sds:g} sd" if s.kind == "normal" else "")


@dataclass(frozen=True)
class PriceCurve:
    """Cost of the cheapest set for each yield [1], by the straight line; nan where the yield cannot be had."""

    yields: tuple[float, ...]
    costs: tuple[float, ...]
    cost_unit: str
    best: float

    def __str__(self) -> str:
        rows = [f"{100 * y:>8.1f}{'   none' if math.isnan(c) else f'{c:>7.0f}'}"
                for y, c in zip(self.yields, self.costs, strict=True)]
        return "\n".join([f"{'in 100':>8}{self.cost_unit:>7}", *rows, f"the best that can be had: {100 * self.best:.1f} in 100"])

    __repr__ = __str__
