"""An exercise before it has its numbers: what is drawn, what is asked, how it is worked, what it may go wrong by.

Numbers are drawn from ``(seed, exercise)`` by a hash, so that they are the same on every machine and in every year; they are
drawn again until the right answer and every wrong one that is known lie well apart, so that a slip is never taken for another.
Nothing that is asked for is stored: the right answer is worked out by the library when it is needed.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from types import SimpleNamespace
from typing import Any

from lutherie_geom.shop.setup.measured import SheetError
from lutherie_geom.show.exercise import MM_PER_INCH, Wrong, said, usual_slips

__all__ = ["Also", "Draw", "Exercise", "LessonError", "Line", "Slip", "among", "steps"]

TRIES = 400
APART = 3.0
"""Right and wrong answers lie at least so many tolerances apart."""
TIE = "\N{NO-BREAK SPACE}"
"""Stands between number and unit until the text is broken into lines."""
Given = Any
"""The numbers of one problem by name, as attributes (``g.arm``), each in its own unit."""


class LessonError(SheetError):
    """What is wrong with what was asked for, or with a sheet: field, value, and what is allowed."""




@dataclass(frozen=True)
class Draw:
    """A number that is drawn: what it may be, and its unit. ``inches``: it is told in inches; ``metric``: it never is."""

    values: tuple[float, ...]
    unit: str
    metric: bool = False
    inches: bool = False

    def said(self, value: float) -> str:
        """The number as a problem's text shows it."""
        return say(value / MM_PER_INCH, "in") if self.inches else say(value, self.unit)


def say(value: float, unit: str) -> str:
    """A given number [unit] in full: turns as a fraction, degrees written out."""
    if unit == "turn":
        from lutherie_geom.shop.log.entry import turn_text

        return f"{turn_text(value).lstrip('+').replace(' ', TIE)}{TIE}turn{'s' if abs(value) > 1 else ''}"
    if unit == "deg":
        return f"{value:g}{TIE}degree{'' if value == 1 else 's'}"
    return f"{value:g}{TIE}{unit}".rstrip()


def steps(low: float, high: float, step: float, unit: str) -> Draw:
    """From low to high by a step [unit]."""
    return Draw(tuple(round(low + k * step, 9) for k in range(round((high - low) / step) + 1)), unit)


def among(unit: str, *values: float, metric: bool = False) -> Draw:
    """One of the values [unit]; ``metric`` for what is bought by the millimetre, such as a screw."""
    return Draw(values, unit, metric)


@dataclass(frozen=True)
class Also:
    """A number that the text gives too, worked out from those drawn and rounded as it is shown: its unit, decimals; ``inches``:
    it is told in inches."""

    work: Callable[[Given], Any]
    unit: str
    digits: int = 1
    inches: bool = False

    def rounded(self, g: Given) -> float:
        """The number [unit] as it is shown."""
        one = MM_PER_INCH if self.inches else 1.0
        return round(float(self.work(g)) / one, self.digits) * one

    def said(self, value: float) -> str:
        """The number as a problem's text shows it."""
        told, unit = (value / MM_PER_INCH, "in") if self.inches else (value, self.unit)
        return f"{told:.{self.digits}f}{TIE}{unit}".rstrip()


@dataclass(frozen=True)
class Line:
    """One line of the working: what is done, and what comes out [unit]."""

    words: str
    value: float
    unit: str

    def __str__(self) -> str:
        return f"{self.words}: {said(self.value, self.unit)}"


@dataclass(frozen=True)
class Slip:
    """A wrong way that is known: its short name, what is said of it, and the number it leads to [unit of the answer].

    ``also``: short name of a usual slip that comes to the same number here; this one is then named in its place.
    """

    name: str
    words: str
    wrong: Callable[[Given], Any]
    also: str = ""


@dataclass(frozen=True)
class Exercise:
    """An exercise of a notebook.

    name      stable name, never changed once handed out
    notebook  number of the notebook to which it belongs, "04"
    unit      of the answer
    asks      the text, with the givens' names in braces
    given     what is drawn, by name
    work      lines of the working from the givens; the last one is the right answer [unit]
    hints     nudge, method, nearly there; may hold givens in braces, and {w1}, {w2} ... for the lines of the working
    slips     wrong ways of this exercise beside the usual ones
    also      further numbers of the text
    metric    stays in millimetres on a sheet in inches
    within    tolerance of the answer, as a part of it [1]
    fits      whether numbers drawn make a sensible problem
    """

    name: str
    notebook: str
    unit: str
    asks: str
    given: Mapping[str, Draw]
    work: Callable[[Given], Sequence[tuple[str, Any, str]]]
    hints: tuple[str, str, str]
    slips: tuple[Slip, ...] = ()
    also: Mapping[str, Also] = field(default_factory=dict)
    metric: bool = False
    within: float = 0.02
    fits: Callable[[Given], bool] = lambda g: True

    def drawn(self, seed: str) -> SimpleNamespace:
        """The givens for a seed."""
        for attempt in range(TRIES):
            g = SimpleNamespace(**{name: d.values[_number(seed, self.name, name, attempt) % len(d.values)]
                                   for name, d in self.given.items()})
            for name, more in self.also.items():
                setattr(g, name, more.rounded(g))
            if self.fits(g) and self.apart(g):
                return g
        raise LessonError([f"{self.name}: no numbers were found for the seed {seed!r}"], "exercise")

    def lines(self, g: Given) -> tuple[Line, ...]:
        """The working; the last line is the right answer."""
        return tuple(Line(words, float(value), unit) for words, value, unit in self.work(g))

    def answer(self, g: Given) -> float:
        """The right answer [unit]."""
        return self.lines(g)[-1].value

    def wrong(self, g: Given) -> tuple[Wrong, ...]:
        """What the known wrong ways of this exercise come to."""
        return tuple(Wrong(s.name, s.words, float(s.wrong(g))) for s in self.slips)

    def apart(self, g: Given) -> bool:
        """Whether right and wrong answers can all be told from each other."""
        right, own = self.answer(g), self.wrong(g)
        also = {s.name: s.also for s in self.slips}
        room = APART * self.within
        if not right:
            return False
        for k, w in enumerate(own):
            others = [right, *(o.value for o in own[:k])]
            usual = [u.value for u in usual_slips(right, self.unit) if u.name != also[w.name]]
            if not w.value or any(math.isclose(w.value, other, rel_tol=room) for other in (*others, *usual)):
                return False
        return True

    def words(self, g: Given, text: str) -> str:
        """A text with the givens and the lines of the working put in; numbers are tied to their units by :data:`TIE`."""
        shown = {n: d.said(getattr(g, n)) for n, d in self.given.items()}
        shown |= {n: a.said(getattr(g, n)) for n, a in self.also.items()}
        if "{w" in text:
            shown |= {f"w{k}": said(line.value, line.unit).replace(" ", TIE) for k, line in enumerate(self.lines(g), 1)}
        return text.format(**shown)


def _number(*parts: object) -> int:
    """A whole number from the parts, the same everywhere."""
    return int.from_bytes(hashlib.sha256("|".join(map(str, parts)).encode("utf-8")).digest()[:8], "big")
