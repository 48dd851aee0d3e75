"""Margins of strength: what each part bears against what is asked of it, the worst first, each with formula, source and limits.

    >>> import lutherie_geom as lg
    >>> from lutherie_geom.mechanics.margins import margins
    >>> print(margins(lg.load("slack_water")))

Strengths are for clear wood and sound metal. They say what they leave out, and stand in for no test: a joint that lets go under
string pull can hurt. Bring the strings up in steps, nobody's face over them; leave to a trained person what you are not sure
of, and keep to your workshop's own rules.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from lutherie_geom.design.lines import folded
from lutherie_geom.joint.reading import Reading
from lutherie_geom.joint.travel import travel
from lutherie_geom.mechanics.ball_seats import seat_checks
from lutherie_geom.mechanics.check import ORDER, Check, Margin, margin_of, told
from lutherie_geom.mechanics.friction import spring_and_cover
from lutherie_geom.mechanics.givens import Numbers, PartForces, numbers
from lutherie_geom.mechanics.loads import each_way
from lutherie_geom.mechanics.no_lift import least_clamp
from lutherie_geom.mechanics.preload import Clamped, clamped, most_clamp, preload_checks
from lutherie_geom.mechanics.pull import CAUTION, string_pull
from lutherie_geom.mechanics.screws import Turned, screw_checks, turned
from lutherie_geom.mechanics.statics import balance, joint_of, load_wrenches
from lutherie_geom.mechanics.wood_bearing import wood_checks

__all__ = ["Margins", "at_most_clamped", "checks", "forces_of", "margins"]

Array = Any
NO_TEST = ("These are strengths of clear wood and sound metal, with what they leave out beside them; they stand in for no test. "
           "Bring the strings up in steps, and ask a trained repairer where you doubt.")
SAMPLES, SEED = 2**12, 5
MOST = 1e3  # ratios above are all alike; a finite end keeps a histogram of them


def forces_of(design: Any) -> PartForces:
    """Forces [N] by exact statics: strings at pitch, and every load of the design's list; the loaded seat of the two.

    The clamp force needed is the one below which a ball would climb its seat. Raises CatalogueError for an unknown string set.
    """
    way, loads = travel(design), each_way(design.loads)
    p = design.pose(tilt=np.array([way.low, 0.0, way.high]))
    strings = np.asarray(string_pull(design, p).wrench)
    w = np.concatenate([strings[None], load_wrenches(design, p)])
    joint = joint_of(design, p)
    r = balance(joint, w)
    tilt = np.asarray(r.tilt)
    at_pitch = np.array([True, *(load.strings == "at pitch" for load in loads)])
    handling = w - strings * at_pitch[:, None, None]

    largest = np.take_along_axis(tilt, np.nanargmax(np.abs(tilt), axis=1)[:, None], axis=1)[:, 0]
    return PartForces(largest, _most(r.seat_push), side=_most(r.seat_aside), outer=_most([-handling[..., 0]]),
                  cover=_most([spring_and_cover(design, tilt)[1]]), needed=_most([least_clamp(joint, w)]),
                  cases=("strings at pitch", *(str(load) for load in loads)),
                  source="statics by exact constraint, the design's strings and loads, worst over the travel, no friction, clamp "
                         "at its preload")


def _most(x: Array) -> Array:
    """Largest over seats and poses (seats, cases, poses), not below zero; an end of the travel may be out of reach."""
    return np.maximum(np.nanmax(np.asarray(x), axis=(0, -1)), 0.0)


def at_most_clamped(n: Numbers) -> tuple[Numbers, Clamped]:
    """The numbers with the clamp's largest force and what it adds on the seats [N], and what the clamp stretches and presses."""
    k = clamped(n)
    most = most_clamp(n, k)
    # The forces were worked out at the preload; what the clamp pulls beyond it the two seats push back, half each.
    return n.replaced(clamp_most=most, seat_force=np.maximum(n["seat_force"] + (most - n["preload"]) / 2, 0.0)), k


def checks(n: Numbers, way: Turned | None = None) -> Iterator[Check]:
    """Every check of a design's numbers; arrays in, arrays out."""
    n, k = at_most_clamped(n)
    yield from screw_checks(n, way or turned(n.design), k.screw, k.wood)
    yield from seat_checks(n)
    yield from wood_checks(n)
    yield from preload_checks(n, k)


@dataclass(frozen=True)
class Ratios:
    """Model for the sampling engine: ratios (checks, n) [1] of even numbers u (spreads, n) [1]."""

    numbers: Numbers
    way: Turned

    def __call__(self, u: Array) -> Array:
        n = self.numbers.drawn(u)
        found = [c.worst(len(n.cases), (u.shape[1],)) for c in checks(n, self.way)]
        return np.minimum(np.stack(found), MOST)


@dataclass(frozen=True)
class Margins:
    """All margins of a design, the worst first. ``margins["tilt.thread"]`` is one; ``.tell()`` prints all with their sources."""

    name: str
    items: tuple[Margin, ...]
    loads: tuple[str, ...]
    forces: str

    def __iter__(self) -> Iterator[Margin]:
        return iter(self.items)

    def __len__(self) -> int:
        return len(self.items)

    def __getitem__(self, key: str) -> Margin:
        for m in self.items:
            if m.key == key:
                return m
        raise KeyError(f"no margin {key!r}; there are: {', '.join(m.key for m in self.items)}")

    def in_state(self, state: str) -> tuple[Margin, ...]:
        """Margins that are ``fails``, ``not known``, ``tight``, ``beds in`` or ``good``."""
        return tuple(m for m in self.items if m.state == state)

    @property
    def readings(self) -> tuple[Reading, ...]:
        """As readings of the joint book, the worst first."""
        return tuple(m.reading for m in self.items)

    def _head(self) -> str:
        count = ", ".join(f"{len(self.in_state(s))} {s}" for s in ORDER if self.in_state(s))
        return f"{self.name}: {len(self)} margins of strength ({count}); load cases: {len(self.loads)}, the worst counts"

    def __str__(self) -> str:
        lines = (f"  {m}" for m in self.items)
        return folded(self._head(), *lines, f"forces: {self.forces}", NO_TEST, f"caution: {CAUTION}")

    __repr__ = __str__

    def tell(self) -> str:
        """Every margin with its load case, formulas, numbers and what it leaves out; all sources once, numbered, at the end."""
        return folded(self._head(), *told(self.items), f"forces: {self.forces}", NO_TEST, f"caution: {CAUTION}")


def margins(design: Any, forces: PartForces | None = None, *, given: Mapping[str, float] | None = None, estimate: bool = False,
            samples: int = SAMPLES) -> Margins:
    """Margins of strength of a design, the worst first.

    ``forces`` [N]; without them by :func:`forces_of`. ``given`` replaces numbers by name (strengths in MPa):
    ``given={"block_across": 5.2}``; such a number keeps its spread. ``estimate`` takes a wood's strength across the grain from
    its gravity where none was found.
    ``samples`` of the spreads of woods, metals, friction and settling give the ratio that 95 in 100 reach; 0: none.
    Raises CatalogueError for unknown names, GivenError for numbers that make no sense.
    """
    n = numbers(design, forces or forces_of(design), given=given, estimate=estimate)
    way = turned(design)
    found = list(checks(n, way))
    low = chance = np.full(len(found), math.nan)
    if samples:
        from lutherie_geom.studies.sampling import Job, run, uniform
        from lutherie_geom.studies.tally import Summary

        model, spreads = Ratios(n, way), len(n.spreads)
        fitted = Summary.fitted(model(uniform(Job(spreads, SEED, 0, 0, min(samples, 1024)))), [(1.0, None)] * len(found))
        tally = run(model, spreads, samples, SEED, summary=fitted).tally
        low = tally.quantile(0.05)
        chance = np.where(tally.count > 0, 1 - tally.inside / np.maximum(tally.count, 1), math.nan)
    items = [margin_of(c, n, float(low[i]), float(chance[i])) for i, c in enumerate(found)]
    return Margins(design.name, tuple(sorted(items, key=lambda m: m.rank)), n.cases, n.sources["tilt_force"])
