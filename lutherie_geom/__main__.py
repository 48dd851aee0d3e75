"""The command ``python -m lutherie_geom``: make a joint book, or list the demo designs."""

from __future__ import annotations

import argparse
import os
import sys
from pathlib import Path
from typing import Any

__all__ = ["main"]


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="lutherie_geom", description="Guitar neck joints that can be re-set with a hex key.")
    jobs = parser.add_subparsers(dest="job", required=True, metavar="JOB")
    book = jobs.add_parser("book", help="make the joint book of a design: a page to read or print, and a file for programs")
    book.add_argument("source", help="name of a demo design, or a design file (.toml)")
    book.add_argument("--into", default="joint-book", metavar="FOLDER", help="where the files go (default: joint-book)")
    book.add_argument("--units", choices=("mm", "inch"), help="lengths on the page (default: as the design says)")
    jobs.add_parser("designs", help="list the demo designs")
    return parser


def main(arguments: list[str] | None = None) -> int:
    """Do what the command line asks; the exit code: 0 done, 2 the design or the place to write is no good."""
    asked = _parser().parse_args(arguments)
    from lutherie_geom.design.load import DesignError

    try:
        return _designs() if asked.job == "designs" else _book(asked)
    except DesignError as e:
        print(e, file=sys.stderr)
    except OSError as e:
        print(f"cannot write the book: {e.filename or asked.into}: {(e.strerror or str(e)).lower()}", file=sys.stderr)
    return 2


def _designs() -> int:
    from lutherie_geom.design.load import load, names

    for name in names():
        print(f"{name:20} {load(name).about}")
    return 0


def _book(asked: Any) -> int:
    from lutherie_geom.design.load import load
    from lutherie_geom.joint.readings import read
    from lutherie_geom.show.book import write_book

    design = load(asked.source)
    readings = read(design)
    name = Path(asked.source.strip()).stem.lower().replace(" ", "_").replace("-", "_") or "design"
    page, data = write_book(design, asked.into, name, asked.units, readings)
    system = asked.units or design.units
    for line in summary(design, readings, system):
        print(line)
    print(f"\nThe book, to read or print:  {page}")
    print(f"The numbers, for programs:   {data}")
    python = os.path.relpath(sys.executable) if Path(sys.executable).is_relative_to(Path.cwd()) else sys.executable
    print(f"The notebooks, to turn the screws yourself:  {python} -m jupyter lab notebooks")
    return 0


def summary(design: Any, readings: Any, system: str) -> list[str]:
    """What a builder wants to know first: verdicts worst first, action, travel."""
    from lutherie_geom.show.book_text import STATES, show_value, show_words, verdict_words

    lines = [design.name, ""]
    good = 0
    for r in readings.worst_first:
        if r.verdict.state == "good":
            good += 1
            continue
        lines.append(f"{STATES[r.verdict.state]}: {show_words(r.words, system)}: {verdict_words(r, system)}")
        if r.verdict.cure:
            lines.append(f"    {show_words(r.verdict.cure, system)}")
    lines += [f"{STATES['good']}: {good} readings", ""]
    action, low, high = readings["action.fret_12"], readings["travel.lowering"], readings["travel.raising"]
    lines.append(f"{action.words}: {show_value(action.value, action.unit, system)}")
    lines += [f"{r.words}: {show_value(r.value, r.unit, system)}" for r in (low, high)]
    return lines


if __name__ == "__main__":
    sys.exit(main())
