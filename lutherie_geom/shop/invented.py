"""Invented readings, for lessons and trials: a prototype on the bench, an instrument that is not quite its design, a log.

All are computed with the exact joint as it would be built, then read with gauges that scatter. What was hidden is known to
whoever invents it, and to nobody else.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from types import MappingProxyType
from typing import Any

import numpy as np

from lutherie_geom.joint.dimensions import Array
from lutherie_geom.joint.pose import pose
from lutherie_geom.mechanics.climate import constant, moisture
from lutherie_geom.shop.bench.proof import NOW_OR_NEVER, gauge_error, suspects
from lutherie_geom.shop.bench.readings import BENCH_READINGS, BenchReading
from lutherie_geom.shop.bench.sheet import SCREWS, BenchReadings, Taken
from lutherie_geom.shop.learning.learn import SENSES, Entry
from lutherie_geom.shop.learning.unknowns import UNKNOWNS, applied
from lutherie_geom.shop.log.entry import Entry as LogEntry
from lutherie_geom.shop.log.entry import LogReading
from lutherie_geom.shop.setup.hands import Hands
from lutherie_geom.shop.setup.measured import GAUGES, Measured
from lutherie_geom.shop.setup.shown import shown
from lutherie_geom.studies.measuring import gauge
from lutherie_geom.studies.spreads import Spreads
from lutherie_geom.theory.joint_strength import creep_growth

__all__ = ["Bench", "GAUGE_SD", "instrument", "kept_log", "prototype"]

GAUGE_SD: Mapping[str, float] = MappingProxyType({k: float(gauge(GAUGES[k.partition(".")[0]]).uncertainty(1)) for k in (
    "action.12.bass", "action.12.treble", "margin.left", "margin.right", "gap.end", "relief.middle")})
"""What is read of an instrument, and the standard deviation of the gauge that is usual for it [mm]."""


@dataclass(frozen=True)
class Bench:
    """All readings of the bench proof of one design, one a row: ``rows``, each with its turn of the tilt screw [turn]; ``sd`` of
    its gauge [mm], (rows,)."""

    design: Any
    turns: tuple[float, ...]
    rows: tuple[tuple[BenchReading, float], ...]
    sd: np.ndarray
    spreads: Spreads

    @classmethod
    def of(cls, design: Any, turns: Sequence[float] = (-0.5, 0.0, 0.5)) -> Bench:
        """Readings at these turns; the side gaps are read at 0 only."""
        rows = tuple((r, float(t)) for r in BENCH_READINGS for t in turns if r.every_turn or t == 0)
        return cls(design, tuple(float(t) for t in turns), rows, np.array([gauge_error(r) for r, _ in rows]),
                   suspects(design))

    def shown(self, errors: Mapping[str, Array]) -> np.ndarray:
        """What perfect gauges show [mm], (rows, *batch), on joints with these errors: by name, in the unit of the number (mm,
        rad, turn), each a number or a batch. Raises KeyError for an unknown name."""
        d = self.design.dimensions()
        names = [v.name for v in self.spreads.variables(d)]
        if unknown := [k for k in errors if k not in names]:
            raise KeyError(f"no number {unknown[0]!r} that may be off; known: {', '.join(names)}")
        batch = np.broadcast_shapes(*(np.shape(v) for v in errors.values()))
        off = np.zeros((len(names), len(self.turns), *batch))
        for name, size in errors.items():
            off[names.index(name)] = size
        dims, wrong = self.spreads.built(d, off)
        turned = {"tilt": np.array(self.turns).reshape(-1, *(1 for _ in batch)), "bass": 0.0, "treble": 0.0}
        p = pose(dims, **{k: v + wrong.get(k, 0.0) for k, v in turned.items()})
        values = {r.key: np.broadcast_to(r.exact.value(p), off.shape[1:]) for r in dict.fromkeys(r for r, _ in self.rows)}
        return np.array([values[r.key][self.turns.index(t)] for r, t in self.rows])


def prototype(design: Any, errors: Mapping[str, float], *, turns: Sequence[float] = (-0.5, 0.0, 0.5), scatter: float = 1.0,
              seed: int = 0) -> BenchReadings:
    """Readings of a prototype built with these ``errors`` (see :meth:`Bench.shown`), every gauge off by ``scatter`` times its
    standard deviation; every screw turns freely and everything that was looked at is as it should be."""
    bench = Bench.of(design, turns)
    read = bench.shown(errors) + scatter * bench.sd * np.random.default_rng(seed).standard_normal(len(bench.sd))
    taken = tuple(Taken(r.key, t, round(float(v), 3), float(s)) for (r, t), v, s in zip(bench.rows, read, bench.sd, strict=True))
    return BenchReadings(taken, dict.fromkeys(SCREWS, "free"), dict.fromkeys(NOW_OR_NEVER, True))


def instrument(design: Any, hidden: Mapping[str, float], plan: Sequence[tuple[float, str]], *, seed: int | None = 0,
               slips: Mapping[tuple[int, str], float] | None = None, hands: Hands | None = None,
               sds: Mapping[str, float] = GAUGE_SD) -> list[Entry]:
    """Readings of an instrument whose ``hidden`` departures (names of :data:`UNKNOWNS`, mm or rad) nobody knows. ``plan``: turn
    of the tilt screw [turn] and sense of its last turn; ``slips``: (number of the reading from 1, key) read wrong by so much
    [mm]; a ``seed`` of None: perfect gauges and hands. Raises KeyError for an unknown name or sense."""
    if unknown := [k for k in hidden if k not in UNKNOWNS]:
        raise KeyError(f"no unknown {unknown[0]!r}; known: {', '.join(UNKNOWNS)}")
    d, h, off = applied(design.dimensions(), hidden), hands or Hands(), dict(slips or {})
    rng = np.random.default_rng(seed)
    true = float(seed is not None)
    found = []
    for k, (tilt, last) in enumerate(plan, 1):
        lag: Array = -SENSES[last] / 2 * hidden.get("play", 0.0) / d.pitch_tilt
        at = tilt + lag + true * rng.normal(0, h.turn)
        show = shown(pose(d, tilt=at), sds, design.handed)
        read = {q: float(show[q]) + true * rng.normal(0, sd) + off.get((k, q), 0.0) for q, sd in sds.items()}
        found.append(Entry(Measured(read, dict(sds), design.handed, design.units), tilt, last=last, name=f"reading {k}"))
    return found


def kept_log(design: Any, *, years: float = 6.0, each: float = 0.25, lift: float = 0.3, by_moisture: float = 0.12,
             seed: int = 0) -> list[LogEntry]:
    """Entries of a set-up log as a careful owner keeps it, one ``each`` so many years: a top that lifts so that the action rises
    by ``lift`` in its first year and on by the power law of creep [mm], a room that is damp in summer and dry in winter, action
    that follows the wood's moisture [mm/%], and 1/12 turn down whenever it stands 0.3 mm too high."""
    rng, start = np.random.default_rng(seed), datetime(2026, 11, 25, 19, 30, tzinfo=UTC)
    keys = ("action.12.bass", "action.12.treble")
    sds = {k: GAUGE_SD[k] for k in keys}
    down, found, d = 0, [], design.dimensions()
    goal = {k: float(v) for k, v in shown(pose(d), keys, design.handed).items()}
    for k in range(int(years / each) + 1):
        t, tilt = k * each, -down / 12
        humidity = round(0.48 - 0.14 * math.cos(2 * math.pi * (t + 0.9)) + 0.02 * rng.normal(), 2)
        damp = float(moisture(constant(temperature=20.0, humidity=100 * humidity, days=1.0), lag=1e-3)[-1])
        rise = lift * (float(creep_growth(time=t, long_time=1.0, long_creep=2.0, exponent=0.35)) - 1) + by_moisture * (damp - 9.0)
        show = shown(pose(d, tilt=tilt), keys, design.handed)
        read = {q: LogReading(round(float(show[q]) + rise + rng.normal(0, sd), 2), round(sd, 3)) for q, sd in sds.items()}
        words = "Strung up." if k == 0 else ""
        found.append(LogEntry(when=start + timedelta(days=round(365.25 * t)), who="evening class", tilt=tilt, humidity=humidity,
                              temperature=20.0, readings=read, words=words))
        if np.mean([read[q].value - goal[q] for q in keys]) > 0.3:
            down += 1
    return found
