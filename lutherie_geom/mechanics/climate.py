"""A year of air, and the moisture that wood makes of it.

Air comes from a constant, a sine over the year, a logger's file (wrong and missing values counted), or a typical year of a real
place; outdoor air may be brought into a heated room. Time runs along the first axis, samples after it. Temperatures in degrees
Celsius, relative humidity and moisture content in percent, time in days.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np

from lutherie_geom.theory.climate import emc_glass, emc_simpson, moisture_lag

__all__ = ["Air", "ClimateError", "PLACES", "constant", "from_logger", "moisture", "seasonal", "typical_year"]

Array = Any  # a float or a numpy array of floats

PLACES = {"mild": "723170TYA.CSV", "subarctic": "703165TY.csv"}
"""Typical years (TMY3 files) that the pvlib package carries: a mild inland place, and an island shore in the subarctic."""
WETTEST, DRIEST = 98.0, 1.0
"""The sorption curves end before the air does: humidity is taken no further than this [%]."""
_YEAR = 365.0


class ClimateError(ValueError):
    """Air that makes no sense. The message names what, its value, unit and range."""


@dataclass(frozen=True)
class Air:
    """Air over time: ``days`` (time,) [day] at the start of each step, counted from New Year; ``temperature`` [degC] and
    ``humidity`` [%], (time, *batch), steady within a step; ``step`` [day]; ``pressure`` [Pa]; where it comes from; ``mended``:
    what was wrong in a logger's file, and how often.
    """

    days: np.ndarray
    temperature: Array
    humidity: Array
    step: float
    source: str
    pressure: Array = 101325.0
    mended: tuple[tuple[str, int], ...] = ()

    def __post_init__(self) -> None:
        for name, value, unit, low, high in (("temperature", self.temperature, "degC", -60, 60),
                                             ("humidity", self.humidity, "%", 0, 100)):
            v = np.asarray(value, dtype=float)
            wrong = v[~np.isnan(v) & ~((v >= low) & (v <= high))]
            if wrong.size:
                raise ClimateError(f"{name}: {wrong.flat[0]:g} {unit} is outside {low} to {high} {unit}")
        n = len(self.days)
        deep = max(np.ndim(self.temperature), np.ndim(self.humidity), 1) - 1
        for name in ("temperature", "humidity", "pressure"):  # one shape for all, time first
            v = np.asarray(getattr(self, name), dtype=float)
            if v.ndim and v.shape[0] != n:
                raise ClimateError(f"{name}: {v.shape[0]} values for {n} steps of time")
            v = np.broadcast_to(v, (n,)).reshape(n, *(1,) * deep) if v.ndim < 2 else v
            object.__setattr__(self, name, np.broadcast_to(v, (n, *v.shape[1:])))
        if not self.step > 0:
            raise ClimateError(f"step: {self.step:g} day must be above 0 day")

    def heated(self, to: float = 20.0) -> Air:
        """The same air let into a room kept at ``to`` [degC] or warmer, at its own humidity ratio (PsychroLib, ice below zero).

        No people, kettles or plants, no walls that store water, no cooling: the driest winter that a room can have. Needs
        ``psychrolib``.
        """
        try:
            import psychrolib
        except ImportError:
            raise ClimateError("heated rooms need the humid-air library: pip install lutherie_geom[climate]") from None
        if not 5 <= to <= 35:
            raise ClimateError(f"room: {to:g} degC is outside 5 to 35 degC")
        psychrolib.SetUnitSystem(psychrolib.SI)
        inside = np.maximum(self.temperature, to)

        def warmed(t: float, rh: float, room: float, p: float) -> float:
            ratio = psychrolib.GetHumRatioFromRelHum(t, rh, p)
            return float(psychrolib.GetRelHumFromHumRatio(room, ratio, p))

        humidity = 100 * np.vectorize(warmed, otypes=[float])(self.temperature, np.asarray(self.humidity) / 100, inside,
                                                              self.pressure)
        return replace(self, temperature=inside, humidity=np.minimum(humidity, 100.0),
                       source=f"{self.source}; let into a room kept at {to:g} degC or warmer")

    @property
    def months(self) -> np.ndarray:
        """Which twelfth of the year each step falls in, 0 to 11, (time,)."""
        return (np.floor(12 * np.mod(self.days, _YEAR) / _YEAR)).astype(int)

    def by_month(self, values: Array) -> Array:
        """Means of values (time, *batch) over the twelve months, (12, *batch); nan for a month without air."""
        months, v = self.months, np.asarray(values, dtype=float)
        return np.stack([v[months == m].mean(axis=0) if np.any(months == m) else np.full(v.shape[1:], np.nan) for m in range(12)])

    def __str__(self) -> str:
        def ends(v: Array) -> str:
            return f"{np.nanmin(v):.0f} to {np.nanmax(v):.0f}"

        lines = [f"air of {len(self.days) * self.step:.0f} days: {ends(self.humidity)} % humidity, {ends(self.temperature)} degC",
                 f"  source: {self.source}"]
        return "\n".join(lines + [f"  {what}: {n}" for what, n in self.mended if n])

    __repr__ = __str__


def _steps(days: float, step: float) -> np.ndarray:
    if not (step > 0 and days >= step):
        raise ClimateError(f"days: {days:g} day in steps of {step:g} day: both above 0, days not less than one step")
    return np.arange(round(days / step)) * step


def _over_time(value: Array, n: int) -> Array:
    v = np.asarray(value, dtype=float)
    return np.broadcast_to(v, (n, *v.shape))


def constant(*, temperature: Array = 21.0, humidity: Array, days: float = _YEAR, step: float = 1.0) -> Air:
    """Air that never changes: ``temperature`` [degC], ``humidity`` [%], numbers or (*batch)."""
    t = _steps(days, step)
    return Air(t, _over_time(temperature, len(t)), _over_time(humidity, len(t)), step, "constant air")


def seasonal(*, humidity: Array = 48.0, swing: Array = 14.0, wettest_day: Array = 210.0, temperature: Array = 21.0,
             warmer: Array = 2.0, days: float = _YEAR, step: float = 1.0) -> Air:
    """A sine over the year: mean ``humidity`` and ``swing`` to either side [%], greatest on ``wettest_day`` [day], when the room
    is ``warmer`` than its mean ``temperature`` [degC] by so much. Defaults: a heated workshop (common practice, no source).
    """
    t = _steps(days, step)
    batch = np.broadcast_shapes(*(np.shape(v) for v in (humidity, swing, wettest_day, temperature, warmer)))
    time = (t + step / 2).reshape(-1, *(1,) * len(batch))
    wave = np.cos(2 * np.pi * (time - wettest_day) / _YEAR)
    return Air(t, temperature + warmer * wave, humidity + swing * wave, step, "a sine over the year")


def typical_year(place: str = "mild") -> Air:
    """Hourly outdoor air of a typical year, ``mild`` or ``subarctic``, from a TMY3 file inside the installed pvlib package."""
    if place not in PLACES:
        raise ClimateError(f"place: {place!r} is not known; {' or '.join(PLACES)}")
    try:
        import pvlib
    except ImportError:
        raise ClimateError("typical years come with the pvlib package: pip install lutherie_geom[climate]") from None
    data, _ = pvlib.iotools.read_tmy3(Path(pvlib.__file__).parent / "data" / PLACES[place], map_variables=True)
    days = np.arange(len(data)) / 24.0
    return Air(days, data["temp_air"].to_numpy(float), data["relative_humidity"].to_numpy(float), 1 / 24,
               f"outdoor air, TMY3 file {PLACES[place]} in the pvlib package {pvlib.__version__} ({place} place)",
               data["pressure"].to_numpy(float) * 100.0)


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
    known = {"time": ("time", "date"), "temperature": ("temp",), "humidity": ("rh", "humid")}
    found = {}
    for what, words in known.items():
        hits = [h for h in head if any(w in h.lower() for w in words)]
        if not hits:
            raise ClimateError(f"{what}: no such column; the file has {', '.join(head) or 'no heading'}")
        found[what] = hits[0]
    return found


def from_logger(path: str | Path, *, step: float = 0.25, stuck_hours: float = 48.0, gap_hours: float = 24.0) -> Air:
    """Air from a logger's CSV file with columns for time (ISO or days), temperature [degC] and relative humidity [%].

    Left out and counted: values that cannot be read, humidity outside 0 to 100 %, temperature outside -40 to 60 degC, the second
    reading of a time, and a sensor that shows the very same pair for longer than ``stuck_hours`` (the same humidity alone: four
    times as long). Rows out of order are sorted and counted. Gaps are bridged by a straight line; those longer than ``gap_hours``
    are counted, with the hours they make. ``step`` [day] of the even steps that come out. Raises ClimateError when fewer than two
    good readings are left.
    """
    with open(path, newline="", encoding="utf-8-sig") as handle:
        text = handle.read()
    kind = ";" if text.partition("\n")[0].count(";") > text.partition("\n")[0].count(",") else ","
    rows = list(csv.DictReader(text.splitlines(), delimiter=kind))
    names = _columns(list(rows[0]) if rows else [])
    table = np.array([[_time_of(r[names["time"]] or ""), _number(r[names["temperature"]]), _number(r[names["humidity"]])]
                      for r in rows])
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
    if len(table) < 2:
        raise ClimateError(f"{Path(path).name}: {len(table)} good readings of {len(rows)}; 2 or more are needed")
    gaps = np.diff(table[:, 0]) * 24
    wide = gaps > gap_hours
    counts[f"gaps longer than {gap_hours:g} h, bridged by a straight line"] = int(wide.sum())
    counts["hours in those gaps"] = round(float(gaps[wide].sum()))
    start = float(np.floor(table[0, 0]))
    days = start + _steps(max(step, float(np.ceil((table[-1, 0] - start) / step)) * step), step)
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


def moisture(air: Air, *, lag: Array = 20.0, start: Array | None = None, curve: str = "glass") -> Array:
    """Moisture content of the wood at the end of each step [%], (time, *batch).

    ``lag`` [day]: time constant of wood and finish (no source: measure it; a bare top days, a finished body weeks). ``start``
    [%]: moisture at the beginning; left out, the year is taken to come round again and again. ``curve``: ``glass`` or
    ``simpson``, whose distance shows how well the curve is known. Exact for air that is steady within each step.
    """
    if curve not in ("glass", "simpson"):
        raise ClimateError(f"curve: {curve!r} is not known; glass or simpson")
    if np.any(np.asarray(lag) <= 0):
        raise ClimateError(f"lag: {np.min(lag):g} day must be above 0 day")
    relation = emc_glass if curve == "glass" else emc_simpson
    goal = relation(temperature=air.temperature, humidity=np.clip(air.humidity, DRIEST, WETTEST))
    batch = np.broadcast_shapes(goal.shape[1:], np.shape(lag), np.shape(start) if start is not None else ())

    def run(first: Array) -> Array:
        out = np.empty((len(goal), *batch))
        now = np.broadcast_to(first, batch)
        for k in range(len(goal)):  # a loop over time; samples go together
            now = out[k] = moisture_lag.raw(now, goal[k], air.step, lag)[0]
        return out

    if start is not None:
        return run(start)
    # The end of a year is a straight line in its beginning: two runs give the beginning that comes round.
    low, high = run(0.0)[-1], run(10.0)[-1]
    return run(10 * low / (10 - (high - low)))
