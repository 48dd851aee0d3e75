"""A sheet to hand out: a plain text that a student fills in with any editor, or with a pencil.

    Exercises
    Student: Ada Tern
    Seed: net loft 3 / ada tern
    Problems: tilt_of_a_turn, off_the_saddle

    1. tilt_of_a_turn (notebook 04)
       The tilt screw has a pitch of 0.8 mm and an arm of 68 mm. By how many degrees ...
       Answer [deg]:
       Because:

The seed gives the key to whoever has the library: sheets are for learning, and the line "Because" shows who reasoned. The texts
are there to be read; what is marked is worked out again from seed and name. A sheet that is damaged in one place keeps
all its other answers.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from textwrap import fill

from lutherie_geom.lessons.exercise import LessonError
from lutherie_geom.lessons.one_problem import Problem, chosen, one_line, seed_of
from lutherie_geom.lessons.one_problem import problems as drawn

__all__ = ["Sheet", "class_of", "hand_out", "sheet", "students_of"]

ABOUT = ("Write behind \"Answer\": a number, with its unit if it has another than the one in brackets (\"2.4 mm\", \"3/32 in\"). "
         "Write behind \"Because\", in one line, how you came to it. Change nothing else.")
FOR_PLAIN = "plain number"
"""What stands in the brackets of an answer without a unit."""


@dataclass(frozen=True)
class Sheet:
    """What is handed out to one student: name, seed, and the problems with their numbers. As text: :attr:`text`."""

    student: str
    seed: str
    problems: tuple[Problem, ...]

    @property
    def text(self) -> str:
        """The whole sheet, blanks open."""
        lines = ["Exercises", f"Student: {self.student}", f"Seed: {self.seed}",
                 *_wrapped("Problems: " + ", ".join(p.name for p in self.problems)), "", fill(ABOUT, 96), ""]
        for k, p in enumerate(self.problems, 1):
            lines += [f"{k}. {p.name} (notebook {p.exercise.notebook})", p.lines("   "), f"   Answer [{p.unit or FOR_PLAIN}]:",
                      "   Because:", ""]
        return "\n".join(lines)

    @property
    def file_name(self) -> str:
        """Its name as a file, from the student's name."""
        plain = unicodedata.normalize("NFKD", self.student).encode("ascii", "ignore").decode()
        return (re.sub(r"[^a-z0-9]+", "_", plain.lower()).strip("_") or "sheet") + ".txt"

    def write(self, folder: str | Path) -> Path:
        """Write the sheet into a folder, whole or not at all; FileExistsError if one of that name is there."""
        from lutherie_geom.shop.placing import put

        return put(Path(folder) / self.file_name, self.text.encode("utf-8"), fresh_only=True)

    def __str__(self) -> str:
        return self.text


def _wrapped(text: str) -> list[str]:
    return fill(text, 96, subsequent_indent="   ", break_long_words=False, break_on_hyphens=False).splitlines()


def sheet(student: str, seed: str | None = None, *, class_seed: str | None = None,
          problems: str | Iterable[str] | None = None, units: str = "mm") -> Sheet:
    """The sheet of one student.

    seed        numbers are drawn from it: the same seed gives the same sheet to anybody
    class_seed  in place of a seed: each student of the class gets numbers of their own
    problems    names of exercises, or of notebooks ("04"); all of them for None
    units       "mm", or "inch": lengths given and wanted in inches, where a builder with an inch ruler would have them so

    Raises :class:`LessonError` naming field, value and what is allowed.
    """
    name = one_line(student, "student")
    if (seed is None) == (class_seed is None):
        raise LessonError(["give either a seed or the seed of a class"], "sheet")
    own = one_line(seed, "seed") if seed is not None else seed_of(class_seed or "", name)
    return Sheet(name, own, drawn(problems, own, units))


def students_of(place: str | Path) -> tuple[str, ...]:
    """Names out of a file, one a line; empty lines and what stands behind a # are left out. Raises :class:`LessonError`."""
    try:
        lines = Path(place).read_text("utf-8-sig").splitlines()
    except UnicodeDecodeError:
        raise LessonError(["is no plain text in UTF-8"], str(place)) from None
    except OSError as e:
        raise LessonError([f"cannot be read ({(e.strerror or str(e)).lower()})"], str(place)) from None
    return tuple(name for name in (line.partition("#")[0].strip() for line in lines) if name)


def class_of(students: Iterable[str], class_seed: str, problems: str | Iterable[str] | None = None, *,
             alike: bool = False, units: str = "mm") -> tuple[Sheet, ...]:
    """The sheets of a class, numbers of their own for each, or ``alike`` for all; ``units`` as for :func:`sheet`. Raises
    :class:`LessonError`."""
    given = [one_line(s, "student") for s in students]
    if not given:
        raise LessonError(["students: none was named"], "sheet")
    which = [e.name for e in chosen(problems)]
    made = tuple(sheet(s, one_line(class_seed, "class") if alike else seed_of(class_seed, s), problems=which, units=units)
                 for s in given)
    seen: dict[str, str] = {}
    wrong = [f"students: {s.student!r} and {seen[s.file_name]!r} would get the same file, {s.file_name}; tell them apart"
             for s in made if seen.setdefault(s.file_name, s.student) is not s.student]
    if wrong:
        raise LessonError(wrong, "sheet")
    return made


def hand_out(sheets: Iterable[Sheet], folder: str | Path) -> tuple[Path, ...]:
    """Write all sheets into a folder. Nothing is written if one of them is there already (FileExistsError)."""
    all_of_them = tuple(sheets)
    for one in all_of_them:
        if (Path(folder) / one.file_name).exists():
            raise FileExistsError(17, "is there already; give another folder, or take it away first",
                                  str(Path(folder) / one.file_name))
    return tuple(one.write(folder) for one in all_of_them)
