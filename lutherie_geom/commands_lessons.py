"""The class's jobs of the command line: hand out sheets, mark what was handed in, work out the key."""

from __future__ import annotations

from pathlib import Path
from typing import Any

__all__ = ["add_lessons"]


def add_lessons(jobs: Any) -> None:
    """Give the jobs sheet, mark and key their arguments."""
    sheet = jobs.add_parser("sheet", help="hand out sheets of exercises, with numbers of their own for each student")
    _class(sheet)
    sheet.add_argument("--into", default="sheets", metavar="FOLDER", help="where the sheets go (default: sheets)")
    sheet.add_argument("--list", action="store_true", help="list the problems there are, and hand out nothing")
    sheet.set_defaults(do=_sheet, makes="the sheets", source="sheets")
    mark = jobs.add_parser("mark", help="mark a folder of sheets that were handed in")
    mark.add_argument("source", metavar="FOLDER", help="the folder with the sheets")
    mark.add_argument("--class", dest="class_seed", metavar="SEED", help="seed of the class: checks whose sheet it is")
    mark.add_argument("--csv", metavar="FILE", help="the table for a spreadsheet (default: the folder's name and -marks.csv)")
    mark.add_argument("--each", action="store_true", help="show also what is said of every answer")
    mark.set_defaults(do=_mark, makes="the table")
    key = jobs.add_parser("key", help="show the teacher's key, worked out for the seed of a class")
    _class(key)
    key.set_defaults(do=_key, makes="the key", source="key")


def _class(job: Any) -> None:
    job.add_argument("--class", dest="class_seed", metavar="SEED", help="seed of the class: any word, the same for sheet and key")
    job.add_argument("--student", action="append", default=[], metavar="NAME", help="a student; may be given again")
    job.add_argument("--students", metavar="FILE", help="a text with one name a line")
    job.add_argument("--problems", nargs="+", metavar="PROBLEM", help="names of problems, or notebooks: 04 08 (default: all)")
    job.add_argument("--units", choices=("mm", "inch"), default="mm", help="how lengths are given and wanted (default: mm)")
    job.add_argument("--alike", action="store_true", help="the same numbers for everybody")


def _sheets(asked: Any) -> Any:
    from lutherie_geom.lessons.exercise import LessonError
    from lutherie_geom.lessons.handing_out import class_of, students_of

    if asked.class_seed is None:
        raise LessonError(["--class: missing; any word will do, as \"net loft 3\""], asked.job)
    students = [*asked.student, *(students_of(asked.students) if asked.students else ())]
    if not students:
        raise LessonError(["--student: missing; name one or more, or give a file of names with --students"], asked.job)
    return class_of(students, asked.class_seed, asked.problems, alike=asked.alike, units=asked.units)


def _sheet(asked: Any) -> int:
    from lutherie_geom.lessons.handing_out import hand_out
    from lutherie_geom.lessons.one_problem import chosen

    if asked.list:
        for e in chosen(asked.problems):
            print(f"{e.notebook}  {e.name:28} answer in {e.unit or 'plain figures'}")
        return 0
    places = hand_out(_sheets(asked), asked.into)
    print(*places, sep="\n")
    print(f"\n{len(places)} sheet{'s' if len(places) != 1 else ''} to hand out. "
          "When they are back in one folder: mark FOLDER --class SEED")
    return 0


def _mark(asked: Any) -> int:
    from lutherie_geom.lessons.exercise import LessonError
    from lutherie_geom.lessons.marking import mark
    from lutherie_geom.shop.placing import put

    folder = Path(asked.source).resolve()
    table = Path(asked.csv) if asked.csv else folder.with_name(f"{folder.name}-marks.csv")
    if folder in table.resolve().parents:
        raise LessonError([f"--csv: {asked.csv} lies among the sheets; give a place outside of {asked.source}"], "mark")
    found = mark(asked.source, asked.class_seed)
    place = put(table, found.csv().encode("utf-8-sig"))
    print(found)
    if asked.each:
        print("", *found.sheets, sep="\n\n")
    print(f"\nFor a spreadsheet:  {place}")
    return 0


def _key(asked: Any) -> int:
    from lutherie_geom.lessons.teachers_key import key

    print(key(_sheets(asked)))
    return 0
