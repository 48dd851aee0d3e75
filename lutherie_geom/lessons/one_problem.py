"""A problem: an exercise with the numbers of one student, for a notebook cell or a sheet.

    >>> one = problem("floor_for_travel", seed="net loft")
    >>> one.show()
    >>> one.try_("1.9 mm")
    >>> one.hint()
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from functools import cache, cached_property
from textwrap import fill
from typing import Any

from lutherie_geom.lessons.exercise import TIE, Exercise, LessonError, Line
from lutherie_geom.lessons.inch_sheet import in_inches
from lutherie_geom.show.exercise import Mark, Wrong, judge

__all__ = ["UNITS", "Problem", "exercises", "problem", "problems", "seed_of"]

WIDTH = 100
UNITS = ("mm", "inch")
MOST = 200
"""Longest seed or name of a student [characters]."""


@cache
def exercises() -> dict[str, Exercise]:
    """Every exercise by its name, in the order of the notebooks."""
    from lutherie_geom.lessons import topics_geometry, topics_loads, topics_shop, topics_spreads, topics_turning, topics_years

    rooms = (topics_geometry, topics_turning, topics_spreads, topics_loads, topics_years, topics_shop)
    found = sorted((e for room in rooms for e in room.EXERCISES), key=lambda e: e.notebook)
    return {e.name: e for e in found}


def one_line(text: Any, field: str) -> str:
    """A name or a seed, blanks put in order. Raises :class:`LessonError` if it is empty, too long or more than one line."""
    said = str(text).strip()
    if not said or len(said) > MOST or not said.isprintable():
        raise LessonError([f"{field}: {text!r}; allowed is one line of 1 to {MOST} characters"], "sheet")
    return " ".join(said.split())


def seed_of(class_seed: str, student: str) -> str:
    """The seed of one student of a class: the class's seed and the student's name, whatever its capitals and blanks."""
    return f"{one_line(class_seed, 'class')} / {' '.join(one_line(student, 'student').lower().split())}"


def chosen(names: str | Iterable[str] | None = None) -> tuple[Exercise, ...]:
    """Exercises by name or by notebook ("04"), in the order given; all of them for None. Raises :class:`LessonError`."""
    known = exercises()
    if names is None:
        return tuple(known.values())
    found: dict[str, Exercise] = {}
    wrong = []
    for name in [names] if isinstance(names, str) else names:
        of_notebook = [e for e in known.values() if name.isdecimal() and int(e.notebook) == int(name)]
        if name in known:
            of_notebook = [known[name]]
        if not of_notebook:
            near = difflib.get_close_matches(name, list(known), 1, 0.5)
            books = ", ".join(sorted({e.notebook for e in known.values()}))
            wrong.append(f"problems: {name!r} is none; " + (f"did you mean {near[0]!r}?" if near else f"notebooks: {books}"))
        found |= {e.name: e for e in of_notebook}
    if not found and not wrong:
        wrong = ["problems: none was named"]
    if wrong:
        raise LessonError(wrong, "exercises")
    return tuple(found.values())


def told_in(exercise: Exercise, units: str) -> Exercise:
    """The exercise with its lengths in "mm" or "inch". Raises :class:`LessonError`."""
    if units not in UNITS:
        raise LessonError([f"units: {units!r}; allowed is mm or inch"], "sheet")
    return in_inches(exercise) if units == "inch" else exercise


def _lines(text: str, indent: str = "") -> str:
    return fill(text, WIDTH, initial_indent=indent, subsequent_indent=indent).replace(TIE, " ")


class Problem:
    """An exercise with numbers drawn for a seed. The right answer is worked out when it is asked for, and kept nowhere.

    exercise, seed  what it is made of; given: the numbers drawn, as attributes, each in its own unit
    """

    def __init__(self, exercise: Exercise, seed: str) -> None:
        self.exercise = exercise
        self.seed = one_line(seed, "seed")
        self.given = exercise.drawn(self.seed)
        self._hinted = 0

    @property
    def name(self) -> str:
        """Its stable name."""
        return self.exercise.name

    @property
    def unit(self) -> str:
        """Unit of the answer; empty for a plain number."""
        return self.exercise.unit

    @cached_property
    def _tied(self) -> str:
        return self.exercise.words(self.given, self.exercise.asks)

    @property
    def text(self) -> str:
        """What is asked, with its numbers."""
        return self._tied.replace(TIE, " ")

    def lines(self, indent: str = "") -> str:
        """What is asked, broken into lines; no number is parted from its unit."""
        return _lines(self._tied, indent)

    @property
    def working(self) -> tuple[Line, ...]:
        """The working, line by line; the last one is the right answer [unit]."""
        return self.exercise.lines(self.given)

    @property
    def right(self) -> float:
        """The right answer [unit]."""
        return self.working[-1].value

    @property
    def wrong(self) -> tuple[Wrong, ...]:
        """The wrong answers that are known for this problem alone [unit]."""
        return self.exercise.wrong(self.given)

    @property
    def hints(self) -> tuple[str, ...]:
        """Nudge, method, nearly there."""
        return tuple(self._hint(k).replace(TIE, " ") for k in range(len(self.exercise.hints)))

    def _hint(self, k: int) -> str:
        return self.exercise.words(self.given, self.exercise.hints[k])

    def mark(self, answer: Any) -> Mark:
        """What an answer is worth: a number in the problem's unit, a text with its unit, or None."""
        return judge(answer, self.right, self.unit, self.exercise.within, self.wrong)

    def show(self) -> None:
        """Print what is asked."""
        print(self.lines())

    def try_(self, answer: Any) -> None:
        """Print what an answer is worth, and what it looks like if it is not right."""
        print(self.mark(answer).sentence)

    def hint(self, level: int | None = None) -> None:
        """Print the next hint, or the one of a level: 1 a nudge, 2 the method, 3 nearly there."""
        last = len(self.exercise.hints)
        if level is not None and level not in range(1, last + 1):
            raise LessonError([f"hint: {level!r}; allowed is 1 to {last}"], self.name)
        if level is None:
            self._hinted = level = min(self._hinted + 1, last)
        print(_lines(f"Hint {level} of {last}: {self._hint(level - 1)}"))

    def worked(self) -> None:
        """Print the working, with its numbers."""
        print(*self.working, sep="\n")

    def __repr__(self) -> str:
        return self.lines()


def problem(name: str, seed: str = "net loft", units: str = "mm") -> Problem:
    """One problem by the name of its exercise, lengths in ``units`` ("mm" or "inch"). Raises :class:`LessonError` for a name that
    is not known."""
    return Problem(told_in(chosen([name])[0], units), seed)


def problems(names: str | Iterable[str] | None = None, seed: str = "net loft", units: str = "mm") -> tuple[Problem, ...]:
    """Problems by names or notebooks ("04"), all for None, with the numbers of one seed; ``units``: "mm" or "inch"."""
    return tuple(Problem(told_in(e, units), seed) for e in chosen(names))
