"""The set-up log on the command line: add an entry, show them all, and what other jobs take from it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

__all__ = ["add_learn", "add_log", "add_turns", "learned", "screws", "where_from"]

SCREWS = ("tilt", "bass", "treble")


def add_turns(job: Any) -> None:
    """Where the three screws stand."""
    for screw in SCREWS:
        job.add_argument(f"--{screw}", metavar="TURN", help=f"where the {screw} screw stands, from its nominal place: 1/8, -0.25 "
                                                           "(default: as the log's latest entry has it, else 0)")


def add_learn(job: Any) -> None:
    """Whether to learn from the log, and where it is."""
    job.add_argument("--learn", action="store_true", help="use what the log tells of this instrument (two entries or more)")
    _add_place(job)


def _add_place(job: Any) -> None:
    job.add_argument("--log", metavar="FILE", help="the set-up log (default: beside the design file, its name and .log.txt)")


def add_log(job: Any) -> None:
    """Add an entry, or show the log."""
    what = job.add_subparsers(dest="what", required=True, metavar="WHAT")
    add = what.add_parser("add", help="add an entry")
    add.add_argument("--who", required=True, help="who was at the bench")
    add.add_argument("--when", help="date, time and zone, 2026-11-25 19:30+00:00 (default: now)")
    add_turns(add)
    add.add_argument("--last", metavar="SENSE", help="what the tilt screw's last turn did to the action: raising or lowering")
    add.add_argument("--rh", metavar="PERCENT", help="relative humidity of the room")
    add.add_argument("--temperature", metavar="DEGC", help="temperature of the room")
    add.add_argument("--readings", metavar="FILE", help="what the gauges show (.toml)")
    add.add_argument("--read", action="append", default=[], metavar="READING",
                     help="one reading: \"action.12.bass=2.35 mm\", \"straightedge.bridge=11.8 mm ± 0.3\"; may be given again")
    add.add_argument("--changed", action="append", default=[], metavar="WHAT",
                     help="bench work done before these readings: saddle, nut, relief, frets, strings, other; may be given again")
    add.add_argument("--withdraw", action="append", default=[], metavar="READING",
                     help="a reading that was wrong, as \"2024-01-01 12:30 action.12.bass\", the reason in --words: it stays in "
                          "the log and counts no more; may be given again")
    add.add_argument("--words", default="", help="what was done, in your words")
    add.set_defaults(do=_add)
    show = what.add_parser("show", help="show all entries, and every damaged place")
    show.add_argument("--trend", action="store_true", help="trend of action and bridge height, and when the travel ends")
    show.set_defaults(do=_show)
    for one in (add, show):
        _add_place(one)


def _place(asked: Any) -> Path:
    from lutherie_geom.shop.log.log import log_place

    return Path(asked.log) if asked.log else log_place(asked.source)


def _so_far(asked: Any) -> Any:
    """The log, or no entries where there is none yet."""
    from lutherie_geom.shop.log.log import read_log

    place = _place(asked)
    return read_log(place) if place.exists() else ()


def _log_of(asked: Any) -> Any:
    from lutherie_geom.shop.log.log import LogError

    if not _place(asked).exists():
        raise LogError(["there is no log yet; the first entry makes it"], str(_place(asked)))
    return _so_far(asked)


def screws(asked: Any) -> tuple[dict[str, float], list[str]]:
    """Turns of the three screws [turn], as asked or as the log's latest entry has them, and what is wrong with them."""
    from lutherie_geom.design.spread import read_value
    from lutherie_geom.design.units import UnitsError
    from lutherie_geom.shop.log.notes import stands

    found, wrong, last = {}, [], None
    if None in (getattr(asked, s) for s in SCREWS):
        last = stands(_so_far(asked))
    for screw in SCREWS:
        said = getattr(asked, screw)
        try:
            found[screw] = getattr(last, screw, 0.0) if said is None else read_value(said, "turn", "turn")
        except UnitsError:
            wrong.append(f"{screw}: {said!r} is no turn; write it as 1/8, -0.25 or 0")
    return found, wrong


def where_from(asked: Any, turns: dict[str, float]) -> str:
    """Which screws stand where the log says, in one line; nothing where all were asked for, or there is no log."""
    from lutherie_geom.shop.log.log import turn_text
    from lutherie_geom.shop.log.notes import stands

    last, taken = stands(_so_far(asked)), [s for s in SCREWS if getattr(asked, s) is None]
    said = ", ".join(f"{s} {turn_text(turns[s])}" for s in taken)
    return f"As the log has it on {last.when:%Y-%m-%d %H:%M}: {said}.\n" if last and taken else ""


def learned(asked: Any, design: Any) -> Any:
    """What the log tells of the instrument, if that was asked for."""
    if not asked.learn:
        return None
    from lutherie_geom.shop.learning.learn import learn
    from lutherie_geom.shop.log.notes import entries_to_learn

    found = learn(design, entries_to_learn(design, _log_of(asked)))
    print(f"Learned from the log:\n{found}\n")
    return found


def _add(asked: Any) -> int:
    from lutherie_geom.design.load import load
    from lutherie_geom.shop.log.log import add
    from lutherie_geom.shop.log.notes import entry_of

    design, place = load(asked.source), _place(asked)
    turns, wrong = screws(asked)
    entry = entry_of(design, turns, wrong, who=asked.who, when=asked.when, rh=asked.rh, temperature=asked.temperature,
                     sheet=asked.readings, read=asked.read, words=asked.words, last=asked.last, changed=asked.changed,
                     withdraw=asked.withdraw, log=_so_far(asked))
    add(place, entry)
    print(f"{entry}\n\nWritten to:  {place}")
    return 0


def _show(asked: Any) -> int:
    from lutherie_geom.design.load import load
    from lutherie_geom.shop.log.trend import TrendError, forecast, trend

    design, log = load(asked.source), _log_of(asked)
    print(log)
    for kind in ("action", "bridge") if asked.trend else ():
        print()
        try:
            found = trend(design, log, kind)
            print(found)
            if kind == "action" and found.fits:
                print(forecast(design, found))
        except TrendError as e:
            print(f"No trend: {e}.")
    return 0
