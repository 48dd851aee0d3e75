"""A year of air, and the moisture that wood makes of it.

Air comes from a constant, a sine over the year, a logger's file (:mod:`.mechanics.logger`), or a typical year of a real place;
outdoor air may be brought into a heated room. Time runs along the first axis, samples after it. Temperatures in degrees
Celsius, relative humidity and moisture content in percent, time in days.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from lutherie_geom.design.lines import folded
from lutherie_geom.theory.climate import emc_glass, emc_simpson, moisture_lag

__all__ = ["Air", "ClimateError", "PLACES", "constant", "moisture", "seasonal", "steps", "typical_year"]

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
    ``humidity`` [%], (time, *batch), steady within a step, nan where it is not known; ``step`` [day]; where it comes from;
    ``mended``: what was wrong in a logger's file, and how often.
    """

    days: np.ndarray
    temperature: Array
    humidity: Array
    step: float
    source: str
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
        for name in ("temperature", "humidity"):  # one shape for all, time first
            v = np.asarray(getattr(self, name), dtype=float)
            if v.ndim and v.shape[0] != n:
                raise ClimateError(f"{name}: {v.shape[0]} values for {n} steps of time")
            v = np.broadcast_to(v, (n,)).reshape(n, *(1,) * deep) if v.ndim < 2 else v
            object.__setattr__(self, name, np.broadcast_to(v, (n, *v.shape[1:])))
        if not self.step > 0:
            raise ClimateError(f"step: {self.step:g} day must be above 0 day")

    def heated(self, to: float = 20.0) -> Air:
        """The same air let into a room kept at ``to`` [degC] or warmer, at its own humidity ratio; nan stays nan.

        No people, kettles or plants, no walls that store water, no cooling: the driest winter that a room can have. Below
        freezing, humidity is counted over ice. Of the two typical years the subarctic one does so; the mild one counts over
        water, and its room comes out drier by up to a tenth of the value than it should.
        """
        if not 5 <= to <= 35:
            raise ClimateError(f"room: {to:g} degC is outside 5 to 35 degC")
        inside = np.maximum(self.temperature, to)
        # Neither humidity ratio nor the air's pressure changes: so the vapour keeps its own pressure.
        humidity = np.asarray(self.humidity) * _saturation(self.temperature) / _saturation(inside)
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
        return folded(*lines, *(f"  {what}: {n}" for what, n in self.mended if n))

    __repr__ = __str__


_OVER_ICE = (6.112, 22.46, 272.62)
"""Coefficients A [hPa], B [1], C [degC] of the Magnus equation over ice: from memory, checked against another library."""


def _saturation(temperature: Array) -> np.ndarray:
    """Pressure of saturated vapour as a part of that at 0 degC [1], below it over ice; nan stays nan."""
    from pvlib.atmosphere import rh_from_tdew

    t = np.asarray(temperature, dtype=float)
    return np.asarray(np.where(t < 0, rh_from_tdew(0.0, t, _OVER_ICE), rh_from_tdew(0.0, t)) / 100)


def steps(days: float, step: float) -> np.ndarray:
    """Starts of even steps [day], from 0; raises ClimateError where there is none."""
    if not (step > 0 and days >= step):
        raise ClimateError(f"days: {days:g} day in steps of {step:g} day: both above 0, days not less than one step")
    return np.arange(round(days / step)) * step


def _over_time(value: Array, n: int) -> Array:
    v = np.asarray(value, dtype=float)
    return np.broadcast_to(v, (n, *v.shape))


def constant(*, temperature: Array = 21.0, humidity: Array, days: float = _YEAR, step: float = 1.0) -> Air:
    """Air that never changes: ``temperature`` [degC], ``humidity`` [%], numbers or (*batch)."""
    t = steps(days, step)
    return Air(t, _over_time(temperature, len(t)), _over_time(humidity, len(t)), step, "constant air")


def seasonal(*, humidity: Array = 48.0, swing: Array = 14.0, wettest_day: Array = 210.0, temperature: Array = 21.0,
             warmer: Array = 2.0, days: float = _YEAR, step: float = 1.0) -> Air:
    """A sine over the year: mean ``humidity`` and ``swing`` to either side [%], greatest on ``wettest_day`` [day], when the room
    is ``warmer`` than its mean ``temperature`` [degC] by so much. Defaults: a heated workshop (common practice, no source).
    """
    t = steps(days, step)
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
        raise ClimateError("typical years come with the pvlib package, which is not here: pip install pvlib") from None
    data, _ = pvlib.iotools.read_tmy3(Path(pvlib.__file__).parent / "data" / PLACES[place], map_variables=True)
    days = np.arange(len(data)) / 24.0
    return Air(days, data["temp_air"].to_numpy(float), data["relative_humidity"].to_numpy(float), 1 / 24,
               f"outdoor air, TMY3 file {PLACES[place]} in the pvlib package {pvlib.__version__} ({place} place)")


def moisture(air: Air, *, lag: Array = 20.0, start: Array | None = None, curve: str = "glass") -> Array:
    """Moisture content of the wood at the end of each step [%], (time, *batch).

    ``lag`` [day]: time constant of wood and finish (no source: measure it; a bare top days, a finished body weeks). ``start``
    [%]: moisture at the beginning; left out, the year is taken to come round again and again. ``curve``: ``glass`` or
    ``simpson``, whose distance shows how well the curve is known. Exact for air that is steady within each step. Raises
    ClimateError where the air is not known.
    """
    if curve not in ("glass", "simpson"):
        raise ClimateError(f"curve: {curve!r} is not known; glass or simpson")
    if np.any(np.asarray(lag) <= 0):
        raise ClimateError(f"lag: {np.min(lag):g} day must be above 0 day")
    unknown = np.isnan(air.humidity) | np.isnan(air.temperature)
    if unknown.any():
        day = air.days[int(np.argmax(unknown.reshape(len(air.days), -1).any(axis=1)))]
        raise ClimateError(f"air: {int(unknown.sum())} values are missing, the first on day {day:g}; from_logger bridges a "
                           "logger's gaps")
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
