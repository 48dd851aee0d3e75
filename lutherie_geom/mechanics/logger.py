"""Air from a humidity logger's file: what is missing or wrong is left out, counted and said."""

from __future__ import annotations

import codecs
import csv
import re
from datetime import datetime
from pathlib import Path

import numpy as np

from lutherie_geom.design.files import data_folder
from lutherie_geom.mechanics.climate import Air, ClimateError, steps

__all__ = ["from_logger"]


_DATE = re.compile(r"(\d{1,2})([./])(\d{1,2})\2(\d{4})\b\s*(.*)")
"""A date that does not begin with its year, and the time of day behind it."""


def _times(texts: list[str]) -> np.ndarray:
    """Days since year 1 from ISO times, from dates with the day first (with strokes the month may be first, if other dates of the
    file tell), or the number of days as written; nan when it is none of these. Raises ClimateError where no date tells."""
    dates = [_DATE.fullmatch(text.strip()) for text in texts]
    strokes = [d for d in dates if d and d[2] == "/"]
    day_first, month_first = (any(int(d[k]) > 12 for d in strokes) for k in (1, 3))
    if strokes and day_first == month_first:
        raise ClimateError(f"time: {strokes[0][0]!r} may have the day or the month first, and the other dates of the file do not "
                           "tell which; write it as 2031-02-14 06:00")

    def iso(d: re.Match[str]) -> str:
        day, month = (d[3], d[1]) if d[2] == "/" and month_first else (d[1], d[3])
        return f"{d[4]}-{month:0>2}-{day:0>2} {_clock(d[5])}"

    return np.array([_time_of(iso(d) if d else text) for text, d in zip(texts, dates, strict=True)])


def _clock(text: str) -> str:
    """Time of day on 24 hours, two digits each: ``6:00 PM`` is ``18:00``."""
    found = re.fullmatch(r"(\d{1,2})(:\d\d(?::\d\d)?)\s*([AP]M)?", text.strip(), re.IGNORECASE)
    if not found:
        return text
    hour = int(found[1]) if not found[3] else int(found[1]) % 12 + 12 * (found[3].upper() == "PM")
    return f"{hour:02d}{found[2]}"


def _time_of(text: str) -> float:
    """Days since year 1 from an ISO time, or the number of days as written; nan when it is neither."""
    try:
        return float(text)
    except ValueError:
        pass
    try:
        t = datetime.fromisoformat(text.strip().replace("/", "-")).replace(tzinfo=None)
    except ValueError:
        return float("nan")
    return (t - datetime(t.year, 1, 1)).total_seconds() / 86400 + (datetime(t.year, 1, 1) - datetime(1, 1, 1)).days


def _number(text: str | None) -> float:
    try:
        return float((text or "").strip().rstrip("%").replace(",", "."))
    except ValueError:
        return float("nan")


def _columns(head: list[str]) -> dict[str, str]:
    known = {"time": ("date", "time"), "temperature": ("temp",), "humidity": ("rh", "humid")}
    found = {}
    for what, words in known.items():
        hits = [h for h in head if any(w in h.lower() for w in words)]
        if not hits:
            raise ClimateError(f"{what}: no such column; the file has {', '.join(head) or 'no heading'}")
        found[what] = hits[0]
    return found


def _found(path: str | Path) -> Path:
    named = data_folder() / "climate" / f"{path}.csv"
    if not Path(path).is_file() and not named.is_file():
        raise ClimateError(f"logger's file: there is no file {str(path)!r}, and none of that name in data/climate")
    return Path(path) if Path(path).is_file() else named


def _text_of(path: Path) -> str:
    data = path.read_bytes()
    wide = data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE))
    try:
        return data.decode("utf-16" if wide else "utf-8-sig")
    except UnicodeDecodeError:
        raise ClimateError(f"{path.name}: its letters are in an encoding not known here; allowed is UTF-8, or UTF-16 with its "
                           "mark at the beginning: save it again as CSV in UTF-8") from None


def from_logger(path: str | Path, *, step: float = 0.25, stuck_hours: float = 48.0, gap_hours: float = 24.0,
                spike: float = 25.0) -> Air:
    """Air from a logger's CSV file (UTF-8, or UTF-16 with its mark) with columns for time (ISO, or day, month, year with points
    or strokes, in one column or in two; or days), temperature [degC; degF where the heading says F] and relative humidity [%].
    ``path``: a file, or the name of one in ``data/climate``. Lines that begin with # are remarks.

    Left out and counted: values that cannot be read, humidity outside 0 to 100 %, temperature outside -40 to 60 degC, the second
    reading of a time, a sensor that shows the very same pair for longer than ``stuck_hours`` (the same humidity alone: four
    times as long), and single readings that stand off both their neighbours by more than ``spike`` [%]. Rows out of order are
    sorted and counted. Gaps are bridged by a straight line; those longer than ``gap_hours`` are counted, with the hours they
    make. ``step`` [day] of the even steps that come out. Raises ClimateError when fewer than two good readings are left, when
    humidity is a fraction throughout, and when day and month cannot be told apart.
    """
    lines = [line for line in _text_of(_found(path)).splitlines() if not line.startswith("#")]
    kind = max(",;\t", key=lines[0].count) if lines else ","
    rows = list(csv.DictReader(lines, delimiter=kind))
    names = _columns(list(rows[0]) if rows else [])
    clock = [h for h in rows[0] if "time" in h.lower() and h != names["time"]]  # date and time of day in columns of their own
    times = _times([" ".join([r[names["time"]] or "", *(r[h] or "" for h in clock[:1])]) for r in rows])
    table = np.array([[day, _number(r[names["temperature"]]), _number(r[names["humidity"]])]
                      for day, r in zip(times, rows, strict=True)])
    if names["temperature"].rstrip(" )]").endswith("F"):
        table[:, 1] = (table[:, 1] - 32) / 1.8
    humid = table[np.isfinite(table[:, 2]), 2]
    if humid.size and humid.max() <= 1:
        raise ClimateError(f"humidity: {humid.min():g} to {humid.max():g} in all rows is a fraction; allowed is 0 to 100 %: "
                           "multiply that column by 100")
    counts: dict[str, int] = {}

    def keep(good: np.ndarray, words: str) -> None:
        nonlocal table
        counts[words] = int(np.sum(~good))
        table = table[good]

    keep(np.all(np.isfinite(table), axis=1), "readings that are missing or cannot be read, left out")
    keep((table[:, 2] >= 0) & (table[:, 2] <= 100), "humidity outside 0 to 100 %, left out")
    keep((table[:, 1] >= -40) & (table[:, 1] <= 60), "temperature outside -40 to 60 degC, left out")
    counts["rows out of order, sorted"] = int(np.sum(np.diff(table[:, 0]) < 0))
    table = table[np.argsort(table[:, 0], kind="stable")]
    keep(np.diff(table[:, 0], prepend=-np.inf) > 0, "second readings of a time, left out")
    stuck = _stuck(table, [1, 2], stuck_hours / 24) | _stuck(table, [2], 4 * stuck_hours / 24)
    keep(~stuck, f"readings of a sensor stuck for more than {stuck_hours:g} h, left out")
    off = np.diff(table[:, 2])
    lone = np.zeros(len(table), dtype=bool)
    lone[1:-1] = (np.minimum(np.abs(off[:-1]), np.abs(off[1:])) > spike) & (off[:-1] * off[1:] < 0)
    keep(~lone, f"single readings more than {spike:g} % off their neighbours, left out")
    if len(table) < 2:
        raise ClimateError(f"{Path(path).name}: {len(table)} good readings of {len(rows)}; 2 or more are needed, times as "
                           "2031-02-14 06:00, 14.02.2031 06:00 or in days")
    gaps = np.diff(table[:, 0]) * 24
    wide = gaps > gap_hours
    counts[f"gaps longer than {gap_hours:g} h, bridged by a straight line"] = int(wide.sum())
    counts["hours in those gaps"] = round(float(gaps[wide].sum()))
    start = float(np.floor(table[0, 0]))
    days = start + steps(max(step, float(np.ceil((table[-1, 0] - start) / step)) * step), step)
    t, h = (np.interp(days + step / 2, table[:, 0], table[:, k]) for k in (1, 2))
    first = datetime.fromordinal(1 + int(start)).timetuple().tm_yday - 1 if start > 366 else start  # place in the year
    return Air(days - start + first, t, h, step, f"logger's file {Path(path).name}, {len(table)} of {len(rows)} readings",
               mended=tuple(counts.items()))


def _stuck(table: np.ndarray, columns: list[int], longest: float) -> np.ndarray:
    """True for the readings of runs of the very same values that last longer than ``longest`` [day]; the first stays."""
    if not len(table):
        return np.zeros(0, dtype=bool)
    changed = np.any(np.diff(table[:, columns], axis=0) != 0, axis=1)
    run = np.concatenate([[0], np.cumsum(changed)])
    first = np.concatenate([[0], np.flatnonzero(changed) + 1])
    last = np.concatenate([np.flatnonzero(changed), [len(table) - 1]])
    too_long = (table[last, 0] - table[first, 0]) > longest
    stuck = too_long[run]
    stuck[first] = False
    return np.asarray(stuck)
