"""The jobs of the command line: their arguments, and what each does. Everything heavy is imported when a job is done."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

from lutherie_geom.commands_collection import add_collection_jobs, collection_errors
from lutherie_geom.commands_lessons import add_lessons
from lutherie_geom.commands_log import add_learn, add_log, add_turns, learned, screws, where_from
from lutherie_geom.commands_order import add_bench, add_order, bench

__all__ = ["add_jobs", "plain_errors", "summary"]

UNITS = ("mm", "inch")


def plain_errors() -> tuple[type[Exception], ...]:
    """Errors whose message is meant for the builder."""
    from lutherie_geom.design.load import DesignError
    from lutherie_geom.shop.learning.learn import LearnError
    from lutherie_geom.shop.log.entry import LogError
    from lutherie_geom.shop.log.trend import TrendError
    from lutherie_geom.shop.setup.card_numbers import CardError
    from lutherie_geom.shop.setup.measured import SheetError
    from lutherie_geom.shop.setup.wanted import WantedError

    return (DesignError, CardError, LearnError, LogError, SheetError, TrendError, WantedError, *collection_errors())


def add_jobs(jobs: Any) -> None:
    """Give every job its arguments."""
    book = _job(jobs, "book", _book, "the book",
                "make the joint book of a design: a page to read or print, and a file for programs")
    book.add_argument("--into", default="joint-book", metavar="FOLDER", help="where the files go (default: joint-book)")
    _units(book, "lengths on the page")
    jobs.add_parser("designs", help="list the demo designs").set_defaults(do=_designs, makes="the list", source="")
    card = _job(jobs, "card", _card, "the card", "make the turn card: one page (PDF) to keep in the case")
    card.add_argument("--into", metavar="FILE", help="the file (default: the design's name and -turn-card.pdf, in this folder)")
    card.add_argument("--paper", choices=("A4", "Letter"), default="A4", help="size of the page (default: A4)")
    _units(card, "lengths on the card")
    add_learn(card)
    proof = _job(jobs, "proof", _proof, "the page", "before the box is closed: the test sheet, or the verdict on what was read")
    proof.add_argument("--readings", metavar="FILE", help="what was read, felt and seen (.toml); without it the sheet is shown")
    proof.add_argument("--page", metavar="FILE", help="write sheet or verdict as a page to print (.html)")
    proof.add_argument("--blank", metavar="FILE", help="write a file for the readings, to fill in (.toml)")
    _units(proof, "lengths on sheet and page")
    setup = _job(jobs, "setup", _setup, "the advice", "set-up day: what to do, in order, from what the gauges show")
    setup.add_argument("--readings", metavar="FILE", required=True, help="what the gauges show (.toml)")
    wish = setup.add_mutually_exclusive_group()
    wish.add_argument("--action", nargs=2, metavar=("BASS", "TREBLE"), help="action wanted, as \"2.2 mm\" \"1.7 mm\"")
    wish.add_argument("--target", nargs="+", metavar=("FILE", "NAME"),
                      help="all that is wanted (.toml): bass and treble or each, within, fret, relief, nut_bass, nut_treble ...; "
                           "NAME: one of several tables in the file")
    add_turns(setup)
    add_learn(setup)
    add_log(_job(jobs, "log", None, "the log", "the set-up log beside the design: add an entry, or show it"))
    add_collection_jobs(jobs)
    add_order(_job(jobs, "order", None, "the order of work", "the order of work: which step locks what in; or check your own"))
    pack = _job(jobs, "pack", _pack, "the pack",
                "make the shop pack: a folder with all templates at full scale, cut list, order of work")
    pack.add_argument("--into", metavar="FOLDER", help="the folder (default: the design's name and -pack, in this folder)")
    pack.add_argument("--paper", choices=("A4", "Letter", "one"), default="A4",
                      help="A4, Letter, or one large sheet (default: A4)")
    add_bench(pack)
    pack.add_argument("--order", metavar="FILE", help="an order of work of your own, one operation a line; one that cannot be "
                                                      "done is refused, with the least change")
    pack.add_argument("--film", metavar="LENGTH", help="thickness of the finish on pocket and heel (default: \"0.1 mm\")")
    pack.add_argument("--film-floor", metavar="LENGTH", help="on the pocket's floor, if other than --film")
    pack.add_argument("--film-cheeks", metavar="LENGTH", help="on the cheeks of pocket and heel, each, if other than --film")
    pack.add_argument("--solids", action="store_true",
                      help="STEP and STL of block, heel and tongue too (needs the extra 'solids')")
    _units(pack, "lengths on the drawings")
    add_lessons(jobs)


def _job(jobs: Any, name: str, do: Callable[[Any], int] | None, makes: str, words: str) -> Any:
    job = jobs.add_parser(name, help=words)
    job.add_argument("source", metavar="DESIGN", help="name of a demo design, or a design file (.toml)")
    job.set_defaults(do=do, makes=makes)
    return job


def _units(job: Any, what: str) -> None:
    job.add_argument("--units", choices=UNITS, help=f"{what} (default: as the design says)")


# ------------------------------------------------------------------------------------------------------------ jobs
def _design(asked: Any) -> Any:
    from lutherie_geom.design.load import load

    return load(asked.source)


def _name(source: str) -> str:
    return Path(source.strip()).stem.lower().replace(" ", "_").replace("-", "_") or "design"


def _designs(asked: Any) -> int:
    from lutherie_geom.design.load import load, names

    for name in names():
        print(f"{name:20} {load(name).about}")
    return 0


def _book(asked: Any) -> int:
    from lutherie_geom.readings import read
    from lutherie_geom.show.book import write_book

    design = _design(asked)
    readings = read(design)
    page, data = write_book(design, asked.into, _name(asked.source), asked.units, readings)
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


def _card(asked: Any) -> int:
    from lutherie_geom.shop.setup.card_numbers import card
    from lutherie_geom.shop.setup.turn_card import write_card

    design = _design(asked)
    own = learned(asked, design)
    made = card(design, units=asked.units, learned=own)
    place = write_card(design, asked.into or f"{_name(asked.source)}-turn-card.pdf", paper=asked.paper, units=asked.units,
                       learned=own)
    print(made)
    print(f"\nThe card, to print:  {place}")
    return 0


def _proof(asked: Any) -> int:
    from lutherie_geom.shop.bench.page import bench_page
    from lutherie_geom.shop.bench.proof import proof_sheet
    from lutherie_geom.shop.bench.sheet import bench_readings, blank
    from lutherie_geom.shop.bench.verdict import judge
    from lutherie_geom.shop.placing import put

    design = _design(asked)
    sheet = proof_sheet(design, units=asked.units)
    verdict = judge(design, bench_readings(Path(asked.readings), design), units=asked.units) if asked.readings else None
    page = bench_page(verdict or sheet) if asked.page else ""
    if asked.blank:
        put(asked.blank, blank(sheet).encode("utf-8"), fresh_only=True)
    if asked.page:
        put(asked.page, page.encode("utf-8"))
    print(verdict or sheet)
    for what, place in (("The page, to print", asked.page), ("To fill in", asked.blank)):
        if place:
            print(f"\n{what}:  {place}")
    return 1 if verdict and not verdict.close else 0


def _pack(asked: Any) -> int:
    from lutherie_geom.shop.order.order_file import read_order
    from lutherie_geom.shop.pack import write_pack

    design = _design(asked)
    job, given = bench(asked, design, film=asked.film, film_floor=asked.film_floor, film_cheeks=asked.film_cheeks,
                       units=asked.units)
    place = write_pack(design, asked.into or f"{_name(asked.source)}-pack", paper=asked.paper, job=job, solids=asked.solids,
                       order=read_order(asked.order) if asked.order else None, **given)
    print(f"The pack, to take to the bench:  {place}\nBegin with:  {place / 'index.html'}")
    return 0


def _setup(asked: Any) -> int:
    from lutherie_geom.shop.setup.measured import SheetError
    from lutherie_geom.shop.setup.set_up import advise
    from lutherie_geom.shop.setup.wanted import read_target

    design = _design(asked)
    turns, wrong = screws(asked)
    wrong += [f"{s}: {t:g} turns; allowed is -12 to 12 turns" for s, t in turns.items() if not abs(t) <= 12]
    if wrong:
        raise SheetError(wrong, "turns")
    target, levels = dict(zip(("bass", "treble"), asked.action, strict=True)) if asked.action else None, None
    if asked.target:
        target, levels = read_target(*asked.target)
    if told := where_from(asked, turns):
        print(told)
    now = (turns["tilt"], turns["bass"], turns["treble"])
    print(advise(design, Path(asked.readings), target, levels=levels, turns_now=now, learned=learned(asked, design)))
    return 0
