"""A reading: one number or table that a builder reads off, with unit, definition and, where one is due, a verdict."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

__all__ = ["Reading", "Readings", "Verdict", "at_least", "at_most"]


@dataclass(frozen=True)
class Verdict:
    """How a reading stands against what it must be, both in the reading's unit.

    ``margin`` is what is in hand (negative: what is missing), ``room`` the margin from which nothing need be said.
    ``cure`` names the dimension to change and by how much; it is empty when all is well.
    """

    provided: float
    required: float
    margin: float
    room: float
    cure: str = ""

    @property
    def state(self) -> str:
        """``fails``, ``tight`` or ``good``."""
        return "fails" if not self.margin >= 0 else "tight" if self.margin < self.room else "good"

    @property
    def ok(self) -> bool:
        """True unless it fails."""
        return self.state != "fails"

    @property
    def ratio(self) -> float:
        """Margin over room: 0 fails, 1 needs no word; the worst comes first when sorted by it."""
        return self.margin / self.room if self.room > 0 else math.copysign(math.inf, self.margin)


def at_least(provided: float, required: float, room: float, cure: str = "") -> Verdict:
    """Verdict on a value that must not fall below ``required``."""
    return Verdict(float(provided), float(required), float(provided - required), float(room), cure)


def at_most(provided: float, required: float, room: float, cure: str = "") -> Verdict:
    """Verdict on a value that must not exceed ``required``."""
    return Verdict(float(provided), float(required), float(required - provided), float(room), cure)


@dataclass(frozen=True)
class Reading:
    """One reading. ``key`` is stable (dotted words); ``value`` is a number, a word, or a list of either, in ``unit``.

    A table has ``columns``: a tuple of (name, unit), and ``value`` is a list of rows.
    """

    key: str
    words: str
    value: Any
    unit: str
    definition: str
    verdict: Verdict | None = None
    columns: tuple[tuple[str, str], ...] = ()

    def __str__(self) -> str:
        tail = ""
        if self.verdict and self.verdict.state != "good":
            tail = f"  [{self.verdict.state}: {self.verdict.cure}]"
        if self.columns:
            return f"{self.words}: table of {len(self.value)} rows ({', '.join(n for n, _ in self.columns)}){tail}"
        return f"{self.words}: {_show(self.value)} {self.unit}{tail}".rstrip()


def _show(value: Any) -> str:
    if isinstance(value, float):
        return f"{value:.4g}" if abs(value) < 1e4 else f"{value:.1f}"
    if isinstance(value, list | tuple):
        return ", ".join(_show(v) for v in value)
    return str(value)


@dataclass(frozen=True)
class Readings:
    """All readings of a design or of one pose, in the order of the book."""

    name: str
    items: tuple[Reading, ...]

    def __iter__(self) -> Iterator[Reading]:
        return iter(self.items)

    def __len__(self) -> int:
        return len(self.items)

    def __getitem__(self, key: str) -> Reading:
        for r in self.items:
            if r.key == key:
                return r
        raise KeyError(f"no reading {key!r}; there are: {', '.join(r.key for r in self.items)}")

    @property
    def worst_first(self) -> tuple[Reading, ...]:
        """Readings with a verdict, the worst first."""
        return tuple(sorted((r for r in self.items if r.verdict), key=lambda r: r.verdict.ratio if r.verdict else math.inf))

    @property
    def failing(self) -> tuple[Reading, ...]:
        """Readings that fail."""
        return tuple(r for r in self.worst_first if r.verdict and not r.verdict.ok)

    def __str__(self) -> str:
        return "\n".join([self.name, *(f"  {r}" for r in self.items)])

    __repr__ = __str__
