"""Readings of the log brought to one state of the instrument, so that they can be compared over the years.

Turns are undone by the model. Relief, nut and saddle are brought to where they were read first; between readings of them they are
taken to stay as they were last read. Bench work that an entry notes, and its readings do not show, is a step.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from lutherie_geom.joint.dimensions import Dimensions
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.relief import with_relief
from lutherie_geom.joint.strings import action
from lutherie_geom.mechanics.climate import constant, moisture
from lutherie_geom.shop.bench.readings import straightedge_posed
from lutherie_geom.shop.log.entry import Entry, standing

__all__ = ["KINDS", "YEAR", "Comparable", "TrendError", "comparable"]

KINDS = {"action": "mean action of the outer strings at fret {fret}", "bridge": "straightedge on the frets, over the soundboard"}
YEAR = 365.25
ROOM_TEMPERATURE = 20.0  # degC, where none was noted
PARTS = {"relief": ("relief.middle",), "nut": ("nut.bass", "nut.treble"), "saddle": ("saddle.bass", "saddle.treble")}
"""Parts whose readings show work on them."""


class TrendError(ValueError):
    """A trend or forecast that cannot be made; the message says what, its value, unit and range."""


@dataclass(frozen=True)
class Comparable:
    """Readings brought to the nominal turns and to one relief, nut and saddle: ``years`` since the first, ``value`` and ``sd``
    [mm], ``moisture`` [%] (nan where no humidity was noted), ``days`` as text, each (n,); ``steps``: years of bench work that the
    readings do not show."""

    kind: str
    words: str
    years: np.ndarray
    value: np.ndarray
    sd: np.ndarray
    moisture: np.ndarray
    days: np.ndarray
    steps: tuple[float, ...] = ()

    def only(self, some: np.ndarray) -> Comparable:
        """The same with some of the readings, (n,) of True and False."""
        return replace(self, **{n: getattr(self, n)[some] for n in ("years", "value", "sd", "moisture", "days")})


def comparable(design: Any, entries: Iterable[Entry], kind: str = "action", fret: int = 12) -> Comparable:
    """The ``action`` at a fret, or the ``bridge`` height, of all entries that have it and were not withdrawn."""
    if kind not in KINDS:
        raise TrendError(f"kind: {kind!r}; allowed is {' or '.join(KINDS)}")
    keys = (f"action.{fret}.bass", f"action.{fret}.treble") if kind == "action" else ("straightedge.bridge",)
    book = sorted(standing(entries), key=lambda e: e.when)
    at = [i for i, e in enumerate(book) if all(k in e.readings for k in keys)]
    if not at:
        raise TrendError(f"no entry of the log has {' and '.join(keys)}")
    rows, d = [book[i] for i in at], design.dimensions()
    turns = {s: np.array([getattr(e, s) for e in rows]) for s in ("tilt", "bass", "treble")}
    parts = {k: (v[at], sd[at]) for ks in PARTS.values() for k in ks if (found := _held(book, k)) for v, sd in [found]}

    def shown(of: Dimensions, **turned: Any) -> Any:
        p = pose(of, **turned)
        return action(p, fret)[[0, -1], 0].mean(axis=0) if kind == "action" else straightedge_posed(p)

    off = {k: v for k, (v, _) in parts.items()}
    here = shown(_moved(d, off), **turns)
    sd = np.array([sum(e.readings[k].sd ** 2 for k in keys) for e in rows]) / len(keys) ** 2
    for k, (v, error) in parts.items():  # what the errors of these readings do, by a difference
        sd += ((shown(_moved(d, off | {k: v + 0.1}), **turns) - here) / 0.1 * error) ** 2
    read = np.array([[e.readings[k].value for k in keys] for e in rows]).mean(axis=1)

    def years(e: Entry) -> float:
        return (e.when - rows[0].when).total_seconds() / (86400 * YEAR)

    steps = sorted({years(e) for i, e in enumerate(book) if any(not _shows(book, i, c) for c in e.changed)})
    when = np.array([years(e) for e in rows])
    return Comparable(kind, KINDS[kind].format(fret=fret), when, read - (here - shown(d)), np.sqrt(sd),
                      np.array([_settled(e) for e in rows]), np.array([f"{e.when:%Y-%m-%d}" for e in rows]),
                      tuple(s for s in steps if 0 < s <= when[-1]))


def _shows(book: Sequence[Entry], i: int, part: str) -> bool:
    """Whether the readings show the work on a part that an entry notes: it was read before, and again now."""
    keys = PARTS.get(part, ())
    return bool(keys) and all(k in book[i].readings and any(k in e.readings for e in book[:i]) for k in keys)


def _held(book: Sequence[Entry], key: str) -> tuple[np.ndarray, np.ndarray] | None:
    """How far a part lies from its first reading [mm], as last read, and the error of that, each (entries,); None: never read."""
    read = [e.readings.get(key) for e in book]
    known = np.array([r is not None for r in read])
    if not known.any():
        return None
    first = int(known.argmax())
    last = np.maximum(np.maximum.accumulate(np.where(known, np.arange(len(book)), 0)), first)
    value, sd = (np.array([getattr(r, n) if r else math.nan for r in read]) for n in ("value", "sd"))
    return value[last] - value[first], np.where(last == first, 0.0, sd[last])


def _moved(d: Dimensions, off: dict[str, np.ndarray]) -> Dimensions:
    """The joint with relief, nut and saddle moved by so much [mm]; a nut that was read stands where it was read."""
    bent = with_relief(d, np.asarray(d.relief) + off["relief.middle"]) if "relief.middle" in off else d
    part = np.linspace(0.0, 1.0, d.strings)[:, None]
    new = {}
    for name, kind in (("h_nut", "nut"), ("h_saddle", "saddle")):
        if f"{kind}.bass" in off or f"{kind}.treble" in off:
            bass, treble = (off.get(f"{kind}.{side}", 0.0) for side in ("bass", "treble"))
            new[name] = np.asarray(getattr(d, name))[:, None] + bass * (1 - part) + treble * part
    return bent.replaced(**new) if new else bent


def _settled(e: Entry) -> float:
    """Moisture at which wood settles in the air of an entry [%]."""
    if e.humidity is None:
        return math.nan
    t = ROOM_TEMPERATURE if e.temperature is None else e.temperature
    return float(moisture(constant(temperature=t, humidity=100 * e.humidity, days=1.0), lag=1e-3)[-1])
