"""An entry of the log from what a builder types: turns, air, a sheet of readings, single readings. All that is wrong at once."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from datetime import datetime
from pathlib import Path
from typing import Any

from lutherie_geom.design.spread import SpreadError
from lutherie_geom.design.units import UnitsError
from lutherie_geom.shop.log.entry import OWN, Entry, LogError, LogReading, meant, standing
from lutherie_geom.shop.setup.measured import Measured, SheetError, measured, one_reading
from lutherie_geom.studies.measuring import gauge

__all__ = ["entries_to_learn", "entry_of", "stands"]

OWN_GAUGE = "steel ruler"


def entries_to_learn(design: Any, log: Iterable[Entry]) -> list[Any]:
    """The log's readings for :func:`.learn.learn`: not those withdrawn, nor any from before the last bench work that the readings
    do not show themselves. Where the tilt screw's last turn was not noted it is taken to be the one that the card asks for."""
    from lutherie_geom.shop.learning.learn import Entry as ToLearn

    entries = sorted(standing(log), key=lambda e: e.when)
    found = []
    for e in entries[max((i for i, e in enumerate(entries) if _anew(e)), default=0):]:
        read = {k: r for k, r in e.readings.items() if k not in OWN}
        if read:
            m = Measured({k: r.value for k, r in read.items()}, {k: r.sd for k, r in read.items()}, design.handed, design.units)
            found.append(ToLearn(m, e.tilt, e.bass, e.treble, e.last or "lowering", f"{e.when:%Y-%m-%d %H:%M}"))
    return found


def _anew(e: Entry) -> bool:
    """Whether the instrument is another one from here on: relief and nut may change, where they were read along."""
    return any(c not in ("relief", "nut") or not any(k.startswith(f"{c}.") for k in e.readings) for c in e.changed)


def stands(log: Iterable[Entry]) -> Entry | None:
    """The latest entry by its date: where the screws stand."""
    return max(enumerate(log), key=lambda pair: (pair[1].when, pair[0]), default=(0, None))[1]


def entry_of(design: Any, turns: Mapping[str, float], wrong: Iterable[str] = (), *, who: str, when: str | None = None,
             rh: str | None = None, temperature: str | None = None, sheet: str | Path | None = None, read: Iterable[str] = (),
             words: str = "", last: str | None = None, changed: Iterable[str] = (), withdraw: Iterable[str] = (),
             log: Iterable[Entry] = ()) -> Entry:
    """The entry. ``turns`` [turn] by screw; ``rh`` in per cent, ``temperature`` in degC, ``when`` with its time zone, as text;
    ``sheet``: a set-up sheet (:mod:`.measured`); ``read``: single readings, ``action.12.bass=2.35 mm ± 0.1``; ``last``,
    ``changed``, ``withdraw``: as in :class:`.entry.Entry`; ``log``: the entries so far, which hold what is withdrawn.

    Raises :class:`LogError` with everything that is wrong, ``wrong`` included.
    """
    problems = list(wrong)
    moment = _moment(when, problems)
    humidity, degrees = _number("rh", rh, "%", problems), _number("temperature", temperature, "degC", problems)
    readings = _readings(design, sheet, read, problems)
    try:
        entry = Entry(when=moment, who=who, words=words, readings=readings, temperature=degrees, **turns, last=last,
                      changed=tuple(changed), withdraws=tuple(withdraw), humidity=None if humidity is None else humidity / 100)
    except LogError as e:
        raise LogError([*problems, *e.problems]) from None
    so_far = standing(log)
    for w in entry.withdraws:
        found = meant(so_far, w)
        if not found:
            problems.append(f"withdraw: {w!r} is no reading that stands in the log (of which there are {len(so_far)} entries)")
        elif len({i for i, _ in found}) > 1:
            problems.append(f"withdraw: {w!r} is in {len({i for i, _ in found})} entries; write its time with seconds and zone, "
                            "as the log has it")
    if problems:
        raise LogError(problems)
    return entry


def _moment(when: str | None, problems: list[str]) -> datetime:
    now = datetime.now().astimezone()
    if when is None:
        return now
    try:
        return datetime.fromisoformat(when)
    except ValueError:
        problems.append(f"when: {when!r} is no date with time and zone; write it as 2026-11-25 19:30+00:00")
        return now


def _number(name: str, text: str | None, unit: str, problems: list[str]) -> float | None:
    if text is None:
        return None
    found = re.fullmatch(rf"\s*([+-]?\d+(?:\.\d*)?|[+-]?\.\d+)\s*(?:{re.escape(unit)})?\s*", text)
    if not found:
        problems.append(f"{name}: {text!r} is no number in {unit}; write it as 45 or \"45 {unit}\"")
        return None
    return float(found[1])


def _readings(design: Any, sheet: str | Path | None, read: Iterable[str], problems: list[str]) -> dict[str, LogReading]:
    found: dict[str, LogReading] = {}
    sheets: list[Any] = [Path(sheet)] if sheet else []
    single: dict[str, str] = {}
    for text in read:
        key, equals, value = (p.strip() for p in text.partition("="))
        if not equals:
            problems.append(f"read: {text!r} is no reading; write it as action.12.bass=2.35 mm")
        elif key in OWN:
            try:
                mm, sd = one_reading(value)
                found[key] = LogReading(mm, float(gauge(OWN_GAUGE).uncertainty(1)) if sd is None else sd)
            except (UnitsError, SpreadError) as e:
                problems.append(f"{key}: {e}")
        else:
            single[key] = value
    for source in (*sheets, *([single] if single else [])):
        try:
            m = measured(source, design)
        except SheetError as e:
            problems += e.problems
            continue
        found |= {k: LogReading(float(m.values[k]), float(m.errors[k])) for k in m}
    return found
