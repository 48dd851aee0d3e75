"""Marking what was handed in: a folder of sheets in, a table for the teacher and a table for a spreadsheet out.

Nothing handed in is lost: a sheet, an answer or a line that cannot be marked is named with its file, line and field.
"""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product
from pathlib import Path

from lutherie_geom.lessons.exercise import LessonError
from lutherie_geom.lessons.handed_in import Block, HandedIn, merged, read_sheet, read_text
from lutherie_geom.lessons.one_problem import UNITS, Problem, exercises, seed_of, told_in
from lutherie_geom.show.exercise import Mark

__all__ = ["ClassMarks", "Marked", "MarkedSheet", "mark", "mark_text"]

STATES = ("right", "slip", "near", "wrong", "blank", "unreadable", "cut out", "altered")
"""What may be said of an answer. "cut out": the problem is not on the sheet any more; "altered": its text was changed."""
COLUMNS = ("file", "student", "problem", "notebook", "line", "answer", "unit", "because", "state", "slip", "said")


@dataclass(frozen=True)
class Marked:
    """One answer with its mark. ``line``: where it stands in the sheet, 0 if nowhere; ``slip``: its short name; ``unit``: the one
    that the sheet asks for."""

    problem: str
    state: str
    slip: str = ""
    answer: str = ""
    because: str = ""
    said: str = ""
    line: int = 0
    unit: str = ""

    @property
    def short(self) -> str:
        """What a table has room for."""
        return self.slip if self.state == "slip" else self.state


@dataclass(frozen=True)
class MarkedSheet:
    """One sheet: file, student, answers, and what is odd (line and field named). ``readable``: whether it could be marked."""

    file: str
    student: str
    answers: tuple[Marked, ...]
    odd: tuple[str, ...] = ()
    readable: bool = True

    @property
    def right(self) -> int:
        """How many answers are right."""
        return sum(a.state == "right" for a in self.answers)

    def __str__(self) -> str:
        lines = [f"{self.student or self.file}: {self.right} of {len(self.answers)} right"]
        lines += [f"  {a.problem}: {a.said}" for a in self.answers]
        return "\n".join([*lines, *(f"  ! {o}" for o in self.odd)])


@dataclass(frozen=True)
class ClassMarks:
    """All sheets of a folder. As text: :func:`str`; for a spreadsheet: :meth:`csv`."""

    folder: str
    sheets: tuple[MarkedSheet, ...]

    def __str__(self) -> str:
        marked = [s for s in self.sheets if s.readable]
        parts = [f"{self.folder}: {len(marked)} sheet{'s' if len(marked) != 1 else ''} marked"
                 + (f", {len(self.sheets) - len(marked)} not readable" if len(marked) < len(self.sheets) else "")]
        if marked:
            parts += ["", *_table(("student", "right", "of", "what else"), [
                (s.student, str(s.right), str(len(s.answers)),
                 _what_else(s)) for s in marked])]
            parts += ["", *_table(("problem", "right", "of", "what else"), _by_problem(marked))]
        odd = [f"{s.file}: {o}" for s in self.sheets for o in s.odd]
        odd += [f"{s.file}: line {a.line}, {a.problem}, answer: {a.said}" for s in marked for a in s.answers
                if a.state == "unreadable"]
        return "\n".join([*parts, *(["", "To look at:", *(f"  {o}" for o in odd)] if odd else [])])

    def csv(self) -> str:
        """One row for each student and problem, and one for each sheet that could not be read; with a row of names."""
        out = io.StringIO()
        write = csv.writer(out, lineterminator="\n")
        write.writerow(COLUMNS)
        known = exercises()
        for s in self.sheets:
            for a in s.answers:
                e = known.get(a.problem)
                write.writerow(map(_plain, (s.file, s.student, a.problem, e.notebook if e else "", str(a.line or ""), a.answer,
                                            a.unit, a.because, a.state, a.slip, a.said)))
            if not s.readable:
                write.writerow(map(_plain, (s.file, s.student, *[""] * 6, "unreadable", "", "; ".join(s.odd))))
        return out.getvalue()


def _plain(text: str) -> str:
    """A cell that no spreadsheet takes for a formula; numbers stay as they are."""
    return f"'{text}" if re.match(r"[=@]|[+-](?!\s*[\d.])", text) else text


def _what_else(sheet: MarkedSheet) -> str:
    """The answers that are not right, those with the same mark together."""
    rest: dict[str, list[str]] = {}
    for a in sheet.answers:
        if a.state != "right":
            rest.setdefault(a.short, []).append(a.problem)
    return "; ".join(f"{what}: {', '.join(names)}" for what, names in rest.items())


def _by_problem(sheets: Sequence[MarkedSheet]) -> list[tuple[str, str, str, str]]:
    rows = []
    for name in dict.fromkeys(n for n in (*exercises(), *(a.problem for s in sheets for a in s.answers))):
        answers = [a for s in sheets for a in s.answers if a.problem == name]
        if answers:
            rest = Counter(a.short for a in answers if a.state != "right")
            rows.append((name, str(sum(a.state == "right" for a in answers)), str(len(answers)),
                         ", ".join(f"{what} {n}" for what, n in rest.most_common())))
    return rows


def _table(head: tuple[str, ...], rows: Sequence[tuple[str, ...]]) -> list[str]:
    """Columns as wide as they must be; the last one free."""
    wide = [max(len(r[k]) for r in (head, *rows)) for k in range(len(head) - 1)]
    return [("  ".join(f"{c:<{w}}" for c, w in zip(r, wide, strict=False)) + "  " + r[-1]).rstrip() for r in (head, *rows)]


def mark(folder: str | Path, class_seed: str | None = None) -> ClassMarks:
    """Mark every sheet in a folder.

    ``class_seed``: the seed of the class, where it is to be made sure that each student answered the sheet they were given, and
    to mark sheets whose own seed was lost. Raises :class:`LessonError` if there is no such folder or nothing in it.
    """
    place = Path(folder)
    try:
        inside = sorted(p for p in place.iterdir() if not p.name.startswith("."))
    except OSError as e:
        raise LessonError([f"folder cannot be read ({(e.strerror or str(e)).lower()})"], str(folder)) from None
    if not inside:
        raise LessonError(["nothing was handed in: the folder is empty"], str(folder))
    sheets = [_file(p, class_seed) for p in inside]
    return ClassMarks(str(folder), tuple(_twice(sheets)))


def _file(place: Path, class_seed: str | None) -> MarkedSheet:
    try:
        if place.is_dir():
            raise LessonError(["is a folder; it was not looked into"], place.name)
        text, odd = read_text(place)
    except LessonError as e:
        return MarkedSheet(place.name, "", (), e.problems, readable=False)
    return mark_text(text, place.name, class_seed, odd)


def _twice(sheets: Sequence[MarkedSheet]) -> list[MarkedSheet]:
    """Says where one student handed in two sheets; both are marked."""
    by = Counter(s.student.lower() for s in sheets if s.readable)
    return [MarkedSheet(s.file, s.student, s.answers, (*s.odd, f"{s.student} handed in {by[s.student.lower()]} sheets"))
            if s.readable and by[s.student.lower()] > 1 else s for s in sheets]


def mark_text(text: str, file: str = "sheet", class_seed: str | None = None, odd: Sequence[str] = ()) -> MarkedSheet:
    """Mark one sheet from its text; ``class_seed`` as for :func:`mark`, ``odd`` what is already known to be odd about it."""
    found = read_sheet(text)
    blocks = {b.name: b for b in merged(found)}
    found.odd = [*odd, *found.odd]
    known = exercises()
    if not found.student:
        found.odd.append("student: no name is given")
    unknown = [n for n in found.names if n not in known]
    if unknown:
        found.odd.append(f"problems: {', '.join(unknown)} not known")
    names = [n for n in dict.fromkeys((*found.names, *blocks)) if n in known]
    try:
        if not names:
            raise LessonError(["no problem was found in it; is it a sheet?"], file)
        problems = _as_handed_out(found, names, blocks, class_seed)
    except LessonError as e:
        kept = [f"line {b.answer_line}, {b.name}: answer {b.answer!r} kept" for b in blocks.values() if b.answer]
        return MarkedSheet(file, found.student, (), (*found.odd, *e.problems, *kept), readable=False)
    answers = [_marked(problems[n], blocks.get(n), found.odd) for n in names]
    for b in blocks.values():
        if b.name not in known and b.answer:
            found.odd.append(f"line {b.answer_line}, {b.name}: answer {b.answer!r} kept, not marked")
    return MarkedSheet(file, found.student or file, tuple(answers), tuple(found.odd))


def _same(b: Block, p: Problem) -> bool:
    """Whether a block asks for what the problem asks: the same text, or at least the same numbers in it."""
    want = p.text.split()
    return b.asked.split()[:len(want)] == want or _numbers(b.asked) == _numbers(p.text)


def _numbers(text: str) -> list[str]:
    return re.findall(r"\d+(?:\.\d+)?", text)


def _as_handed_out(found: HandedIn, names: Sequence[str], blocks: dict[str, Block], class_seed: str | None) -> dict[str, Problem]:
    """The problems as they were handed out: of the likely seeds, in mm or inches, those with the sheet's texts."""
    own = [] if class_seed is None else [seed_of(class_seed, found.student), class_seed] if found.student else [class_seed]
    seeds = list(dict.fromkeys(s for s in (found.seed, *own) if s))
    units = UNITS[::-1] if any("inch" in b.asked for b in blocks.values()) else UNITS  # the likelier first
    if not seeds:
        raise LessonError(["seed: it is missing, so the numbers are not known; give the seed of the class to mark it"], "sheet")
    best: tuple[int, str, dict[str, Problem]] = (-1, "", {})
    for seed, told in product(seeds, units):
        these = {n: Problem(told_in(exercises()[n], told), seed) for n in names}
        alike = sum(_same(blocks[n], p) for n, p in these.items() if n in blocks)
        if alike > best[0]:
            best = (alike, seed, these)
        if alike == len(blocks):
            break
    if not found.seed:
        found.odd.append(f"seed: it is missing; {best[1]!r} was taken")
    elif best[1] != found.seed:
        found.odd.append(f"seed: {found.seed!r} does not give these numbers; {best[1]!r} does, and was taken")
    elif own and found.seed not in own:
        found.odd.append(f"seed: {found.seed!r} is not that of this student in this class; whose sheet is it?")
    return best[2]


def _marked(p: Problem, b: Block | None, odd: list[str]) -> Marked:
    if b is None:
        odd.append(f"problem {p.name}: it is not on the sheet any more")
        return Marked(p.name, "cut out", said="the problem is not on the sheet any more", unit=p.unit)
    line = b.answer_line or b.line
    if not _same(b, p):
        odd.append(f"line {b.line}, {p.name}: the text is not the one that was handed out; answer {b.answer!r} kept, not marked")
        return Marked(p.name, "altered", "", b.answer, b.because, "the text is not the one that was handed out; not marked", line,
                      p.unit)
    want, there = p.text.split(), b.asked.split()
    if there[:len(want)] != want:
        odd.append(f"line {b.line}, {p.name}: words of the text were changed, its numbers were not; marked")
    elif there[len(want):]:
        odd.append(f"line {b.line}, {p.name}: {' '.join(there[len(want):])!r} stands between text and answer; not marked")
    found: Mark = p.mark(b.answer)
    return Marked(p.name, found.kind, found.slip, b.answer, b.because, found.sentence, line, p.unit)
