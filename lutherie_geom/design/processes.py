"""Ways of working: what each holds for a kind of feature, and the minutes it costs. A builder can give a file of their own.

The shipped numbers stand in ``data/tables/processes.toml``: common practice and invented minutes, marked so.
"""

from __future__ import annotations

import math
import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from lutherie_geom.design.catalogue import CatalogueError, find, read_table
from lutherie_geom.design.grades import standard_spread
from lutherie_geom.design.spread import Spread, SpreadError, read_spread

__all__ = ["Held", "Process", "ProcessError", "Processes", "processes"]


class ProcessError(ValueError):
    """A file of processes that makes no sense; the message names every field, value, unit and range at fault."""


@dataclass(frozen=True)
class Held:
    """What one process holds for one kind of feature: the spread as written, and minutes of work."""

    spread: str
    minutes: float

    def at(self, size: float | None = None) -> Spread:
        """The spread [mm, or rad if written in degrees] at a ``size`` [mm], which only standard grades need."""
        unit = "rad" if re.search(r"deg|°|\brad", self.spread) else "mm"
        return standard_spread(self.spread, size) or read_spread(self.spread, unit)


@dataclass(frozen=True)
class Process:
    """A way of working; ``holds`` by kind of feature; ``caution`` where it can hurt someone."""

    name: str
    what: str
    holds: Mapping[str, Held]
    caution: str = ""


@dataclass(frozen=True)
class Processes:
    """All ways of working of one file, with what its numbers are worth: ``mark`` (spreads) and ``minutes_mark``."""

    features: Mapping[str, str]
    items: Mapping[str, Process]
    mark: str
    minutes_mark: str

    def __getitem__(self, name: str) -> Process:
        return self.items[find(name, self.items, "process")]

    def holding(self, feature: str) -> tuple[Process, ...]:
        """The processes that can make a kind of feature; a CatalogueError if there is none of that name."""
        found = find(feature, self.features, "kind of feature")
        able = tuple(p for p in self.items.values() if found in p.holds)
        if not able:
            raise CatalogueError(f"no process makes {found!r}; add one to the file of processes")
        return able

    def __str__(self) -> str:
        lines = [f"{'feature':<18}{'process':<24}{'holds':<24}{'minutes':>8}"]
        for f in self.features:
            lines += [f"{f:<18}{p.name:<24}{p.holds[f].spread:<24}{p.holds[f].minutes:>8g}" for p in self.items.values()
                      if f in p.holds]
        said = [f"{p.name}: {p.caution}" for p in self.items.values() if p.caution]
        return "\n".join([*lines, f"spreads: {self.mark}; minutes: {self.minutes_mark}", *said])

    __repr__ = __str__


def processes(path: str | Path | None = None) -> Processes:
    """The shipped ways of working, or those of a file of the same layout (see ``data/tables/processes.toml``)."""
    if path is None:
        return _read(read_table("processes"), "processes.toml")
    source = Path(path).name
    try:
        values = tomllib.loads(Path(path).read_text(encoding="utf-8"))
    except OSError as e:
        raise ProcessError(f"{source}: cannot be opened ({(e.strerror or 'unusable name').lower()})") from None
    except ValueError as e:
        raise ProcessError(f"{source}: not a TOML file in UTF-8: {e}") from None
    return _read(values, source)


def _read(values: Mapping[str, Any], source: str) -> Processes:
    wrong = [f"{k}: unknown; known: features, processes, mark, minutes_mark" for k in values
             if k not in ("features", "processes", "mark", "minutes_mark")]
    marks = [values.get(k, "the builder's own") for k in ("mark", "minutes_mark")]
    wrong += [f"{k}: {m!r} must be words" for k, m in zip(("mark", "minutes_mark"), marks, strict=True) if not isinstance(m, str)]
    features = values.get("features", read_table("processes")["features"])
    if not isinstance(features, dict) or not all(isinstance(v, str) for v in features.values()):
        wrong.append('features: must be a table of "kind of feature" = "what it is"')
        features = {}
    items: dict[str, Process] = {}
    table = values.get("processes")
    if not isinstance(table, dict) or not table:
        wrong.append('processes: there is none; write a table [processes."name"]')
        table = {}
    for name, row in table.items():
        holds: dict[str, Held] = {}
        held = row.get("holds") if isinstance(row, dict) else None
        if not isinstance(held, dict) or not held:
            wrong.append(f"{name}: holds nothing; write [processes.{name!r}.holds] with \"kind\" = {{spread, minutes}}")
            continue
        said = {k: row.get(k, "") for k in ("what", "caution")}
        wrong += [f"{name}: {k} is not known; known: what, caution, holds" for k in row if k not in (*said, "holds")]
        wrong += [f"{name}.{k}: {v!r} must be words" for k, v in said.items() if not isinstance(v, str)]
        for feature, cell in held.items():
            try:
                holds[find(feature, features, "kind of feature")] = _held(cell)
            except (CatalogueError, SpreadError, ProcessError) as e:
                wrong.append(f"{name}.{feature}: {e}")
        items[name] = Process(name, said["what"], holds, said["caution"])
    if wrong:
        head = f"{source}: {len(wrong)} problem{'s' if len(wrong) != 1 else ''}"
        raise ProcessError("\n".join([head, *(f"  - {w}" for w in wrong)]))
    return Processes(dict(features), items, *marks)


def _held(cell: Any) -> Held:
    if not isinstance(cell, dict) or set(cell) != {"spread", "minutes"} or not isinstance(cell["spread"], str):
        raise ProcessError(f'{cell!r} must be {{spread = "± 0.2 mm", minutes = 10}}')
    minutes = cell["minutes"]
    if isinstance(minutes, bool) or not isinstance(minutes, int | float) or not 0 <= minutes < math.inf:
        raise ProcessError(f"minutes is {minutes!r}; it must be 0 min or more")
    held = Held(cell["spread"], float(minutes))
    spread = held.at(30.0)
    if spread.absolute or spread.nominal is not None or not math.isclose(spread.low, -spread.high):
        raise ProcessError(f'{cell["spread"]!r} must be even and without a size, as "± 0.2 mm"')
    return held
