"""At worst, or in practice: for each reading every number at its limit, 95 in 100 by root-sum-square, and 95 in 100 counted.

What is counted are instruments as put together, before any screw is turned. Where root-sum-square and the count part, the count
is right, within the error that its sample leaves.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from concurrent.futures import Executor
from dataclasses import dataclass, field
from typing import Any

from lutherie_geom.design.lines import folded
from lutherie_geom.design.units import convert
from lutherie_geom.joint.pose import pose
from lutherie_geom.studies.agreement import AGREE, agreement, tolerance_of
from lutherie_geom.studies.contributions import READ, Joints
from lutherie_geom.studies.digits import plain_pair, stable_pair
from lutherie_geom.studies.first_order import NOT_TRUSTED, FirstOrder, first_order
from lutherie_geom.studies.sampling import CHUNK, Job, Run, run, three_turns, uniform, whole
from lutherie_geom.studies.sources import TURNS
from lutherie_geom.studies.spreads import Spreads
from lutherie_geom.studies.tally import Summary
from lutherie_geom.studies.yield_table import said_unit
from lutherie_geom.studies.yields import COVER, FIRST

__all__ = ["Counted", "Practice", "in_practice"]


@dataclass(frozen=True)
class Counted:
    """One reading [mm]: ``straight`` is its first order (nominal, worst, interval, reason); ``interval`` holds 95 in 100 of the
    sample, with the standard errors ``error`` of its ends; ``agree``: both ends of the two intervals, within ``tolerance``."""

    straight: FirstOrder
    interval: tuple[float, float]
    error: tuple[float, float]
    tolerance: float

    @property
    def key(self) -> str:
        """The reading's key."""
        return self.straight.key

    @property
    def agree(self) -> bool | None:
        """True if root-sum-square gives the counted interval, to half a unit of the standard uncertainty's first digit or 0.005
        mm; None if the sample does not tell."""
        return agreement(self.interval, self.error, self.straight.interval, self.tolerance)

    @property
    def said(self) -> str:
        """The counted interval [mm] in the digits that another sample would give again."""
        return stable_pair(self.interval, self.error)


@dataclass(frozen=True)
class Practice:
    """Every reading at worst and in practice; ``run`` holds the sample's tally; ``units`` [mm or inch] it is printed in;
    ``idle``: numbers with a tolerance that move no reading."""

    name: str
    items: tuple[Counted, ...]
    run: Run = field(repr=False)
    units: Any = "mm"
    idle: tuple[str, ...] = ()

    def __iter__(self) -> Iterator[Counted]:
        return iter(self.items)

    def __getitem__(self, key: str) -> Counted:
        for r in self.items:
            if r.key == key:
                return r
        raise KeyError(f"no reading {key!r}; there are: {', '.join(r.key for r in self.items)}")

    def tell(self, units: Any = None) -> str:
        """The table, lengths in "mm" or "inch"; the design's own unless given."""
        units = units or self.units
        most = 3 if units == "inch" else 2
        lines = [f"{self.name}: {self.run.samples} instruments as put together",
                 f"{f'reading [{said_unit(units)}]':<36}{'nominal':>8}{'at worst':>16}{'95 in 100: rss':>16}{'counted':>14}"
                 f"{'agree':>8}"]
        for r in self.items:
            s = r.straight
            lines.append(f"{s.words:<36}{convert(s.nominal, units):>8.{most}f}{plain_pair(s.worst, units):>16}"
                         f"{plain_pair(s.interval, units):>16}{stable_pair(r.interval, r.error, units):>14}"
                         f"{AGREE[r.agree]:>8}" + ("" if s.trustworthy else " *"))
        if any(not r.straight.trustworthy for r in self.items):
            lines.append(NOT_TRUSTED)
        if self.idle:
            lines.append(folded(f"moves no reading: {', '.join(self.idle)}"))
        return "\n".join(lines)

    def __str__(self) -> str:
        return self.tell()

    __repr__ = __str__


def in_practice(design: Any, spreads: Spreads | None = None, samples: int = 2**17, seed: int = 1, *,
                turns: tuple[float, float, float] = (0.0, 0.0, 0.0), backend: str = "numpy", executor: Executor | None = None,
                fresh: Callable[[], Executor] | None = None, progress: Callable[[int, int], None] | None = None,
                stop: threading.Event | None = None, chunk: int = CHUNK) -> Practice:
    """Every reading of a design at worst and in practice, its screws turned by ``turns`` (tilt, bass, treble) [turn].

    ``spreads`` are the design's own unless given; ``samples`` are 64 or more. The rest as in
    :func:`lutherie_geom.studies.sampling.run`.
    """
    samples, seed, turns = whole("samples", samples, 64, 2**30), whole("seed", seed, 0, 2**63), three_turns(turns)
    spreads = Spreads.of_design(design) if spreads is None else spreads
    d = design.dimensions()
    straight = first_order(pose(d, **dict(zip(TURNS, turns, strict=True))), spreads, READ)
    count, model = len(spreads.variables(d)), Joints(spreads, d, turns, backend)
    summary = Summary.fitted(model(uniform(Job(count, seed, 0, 0, min(FIRST, samples)))))
    found = run(model, count, samples, seed, executor=executor, fresh=fresh, summary=summary, chunk=chunk, progress=progress,
                stop=stop)
    sides = [(1 - COVER) / 2, (1 + COVER) / 2]
    ends, error = found.tally.quantile(sides), found.tally.quantile_error(sides)
    rows = tuple(Counted(s, (float(e[0]), float(e[1])), (float(u[0]), float(u[1])), tolerance_of(s.standard))
                 for s, e, u in zip(straight, ends, error, strict=True))
    return Practice(design.name, rows, found, design.units, spreads.idle)
