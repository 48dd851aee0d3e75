"""Spreads: how far a number of the joint may be off, as a builder writes it (``18.0 mm ± 0.2``).

A spread is kept as deviations from the nominal, in the field's own unit (mm, rad, 1/mm, mm/turn). What the half means:

- ``normal``: a tolerance ± t is taken as 2 standard deviations unless said otherwise (``, 3 sd``); 1 part in 22 lies
  outside it. Two-sided limits are taken as 2 standard deviations either side of their middle.
- ``rectangular``: anywhere between the limits alike, never outside; the standard deviation is the half over root 3.
- ``triangular``: most likely the number written, never outside the limits; root 6 when the limits are even.
"""

from __future__ import annotations

import difflib
import math
import re
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from lutherie_geom.design.units import UnitsError, parse_angle, parse_length

__all__ = ["KINDS", "Spread", "SpreadError", "read_spread"]

Array = Any  # a float or a numpy array of floats

KINDS = ("normal", "rectangular", "triangular")


class SpreadError(ValueError):
    """A spread that makes no sense. The message names field, value, unit and range."""


@dataclass(frozen=True)
class Spread:
    """Deviation of a dimension from its nominal: ``low`` to ``high``, in the field's unit (mm, rad, 1/mm, mm/turn).

    ``sds``: how many standard deviations the half of a normal spread stands for. ``nominal``: the number it was written
    with, in the same unit, or None. ``absolute``: low and high are values and not deviations (``17.9 mm to 18.3 mm``);
    :meth:`about` turns them into deviations.
    """

    kind: str
    low: float
    high: float
    sds: float = 2.0
    nominal: float | None = None
    absolute: bool = False
    unit: str = "mm"

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            near = difflib.get_close_matches(str(self.kind).lower(), KINDS, 1)
            raise SpreadError(f"{self.kind!r} is not a kind of spread; {f'did you mean {near[0]!r}?' if near else ''} "
                              f"known: {', '.join(KINDS)}")
        if not (math.isfinite(self.low) and math.isfinite(self.high)):
            raise SpreadError(f"limits {self.low:g} and {self.high:g} {self.unit} must be finite numbers")
        if self.low > self.high:
            raise SpreadError(f"limits crossed: lower {self.low:g} {self.unit} lies above upper {self.high:g} {self.unit}; the "
                              f"upper must be {self.low:g} {self.unit} or more")
        if not (math.isfinite(self.sds) and self.sds > 0):
            raise SpreadError(f"half of a normal spread is {self.sds:g} sd; it must be more than 0 sd, usually 2 or 3")

    @classmethod
    def plus_minus(cls, half: float, kind: str = "normal", *, sds: float = 2.0, nominal: float | None = None,
                   unit: str = "mm") -> Spread:
        """± half [unit of the field]; for a normal spread half is ``sds`` standard deviations."""
        if not half >= 0:
            raise SpreadError(f"half {half:g} {unit} is negative or no number; it must be 0 {unit} or more")
        return cls(kind, -half, half, sds, nominal, unit=unit)

    @classmethod
    def sd(cls, deviation: float, kind: str = "normal", *, nominal: float | None = None, unit: str = "mm") -> Spread:
        """From a standard deviation [unit of the field]; the limits follow (for a normal spread ± 2 of them)."""
        if not deviation >= 0:
            raise SpreadError(f"standard deviation {deviation:g} {unit} is negative or no number; it must be 0 {unit} or more")
        half = deviation * {"normal": 2.0, "rectangular": math.sqrt(3), "triangular": math.sqrt(6)}.get(kind, 1.0)
        return cls.plus_minus(half, kind, nominal=nominal, unit=unit)

    @classmethod
    def between(cls, low: float, high: float, kind: str = "rectangular", *, sds: float = 2.0, unit: str = "mm") -> Spread:
        """Between two values of the dimension [unit of the field]."""
        return cls(kind, low, high, sds, absolute=True, unit=unit)

    @property
    def limits(self) -> tuple[float, float]:
        """Lower and upper limit [unit of the field], deviations unless ``absolute``. A normal spread goes beyond them."""
        return self.low, self.high

    @property
    def half(self) -> float:
        """Half of the way from limit to limit [unit of the field]."""
        return (self.high - self.low) / 2

    @property
    def _peak(self) -> float:
        """Likeliest value of a triangular spread: the number written, if it lies between the limits."""
        return (self.low + self.high) / 2 if self.absolute else min(max(0.0, self.low), self.high)

    @property
    def mean(self) -> float:
        """Mean [unit of the field]: not 0 where the limits are uneven."""
        middle = (self.low + self.high) / 2
        return (self.low + self.high + self._peak) / 3 if self.kind == "triangular" else middle

    @property
    def standard_deviation(self) -> float:
        """Standard deviation [unit of the field]."""
        if self.kind == "normal":
            return self.half / self.sds
        if self.kind == "rectangular":
            return self.half / math.sqrt(3)
        up, down = self.high - self._peak, self._peak - self.low
        return math.sqrt((up**2 + down**2 + up * down) / 18)

    def draw(self, u: Array) -> Array:
        """Values [unit of the field] from even numbers u in 0..1 (the inverse of the distribution); nan outside 0..1."""
        from scipy.special import ndtri

        u = np.asarray(u, dtype=float)
        u = np.where((u >= 0) & (u <= 1), u, np.nan)
        if self.kind == "normal":
            # A spread of nothing is its mean even at u = 0, where the normal's tail is infinite.
            return np.where(np.isnan(u), u, self.mean) if self.half == 0 else self.mean + self.standard_deviation * ndtri(u)
        width = self.high - self.low
        if self.kind == "rectangular" or width == 0:
            return self.low + width * u
        turn = (self._peak - self.low) / width
        rising = self.low + np.sqrt(u * width * (self._peak - self.low))
        return np.where(u < turn, rising, self.high - np.sqrt((1 - u) * width * (self.high - self._peak)))

    def about(self, value: float, name: str = "value") -> Spread:
        """The same spread as deviations from a design's value [unit of the field]; refused if it was written for another."""
        unit = self.unit
        if self.absolute:
            if not self.low <= value <= self.high:
                raise SpreadError(f"{name}: the design has {value:g} {unit}, outside {self.low:g} to {self.high:g} {unit}")
            return replace(self, low=self.low - value, high=self.high - value, nominal=value, absolute=False)
        if self.nominal is not None and not math.isclose(self.nominal, value, rel_tol=1e-6, abs_tol=1e-9):
            raise SpreadError(f"{name}: the spread is written about {self.nominal:g} {unit}, the design has {value:g} {unit}; "
                              f"write {value:g} {unit}, or only ± and the tolerance")
        return self

    def __str__(self) -> str:
        tail = f", {self.sds:g} sd" if self.kind == "normal" else ""
        if self.absolute:
            return f"{self.low:g} to {self.high:g} {self.unit} {self.kind}{tail}"
        head = f"{self.nominal:g} {self.unit} " if self.nominal is not None else ""
        range_ = f"± {self.high:g}" if self.low == -self.high else f"{self.high:+g} {self.low:+g}"
        return f"{head}{range_} {self.unit} {self.kind}{tail}"


_NUMBER = r"[\d\s./¼½¾⅛⅜⅝⅞-]+(?:[eE][+-]?\d+)?"


def _value(text: str, unit: str, borrowed: str = "") -> float:
    """A number with its unit; without one the unit of the nominal is borrowed."""
    text = text.strip()
    if borrowed and re.fullmatch(rf"[+-]?{_NUMBER}", text):
        text = f"{text} {borrowed}"
    if unit == "mm":
        return parse_length(text)
    if unit == "rad":
        return parse_angle(text)
    found = re.fullmatch(r"([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*(.*)", text)
    if not found or found[2] != unit:
        raise UnitsError(f"{text!r} must be a number{f' with the unit {unit}' if unit else ' without a unit'}")
    return float(found[1])


def read_spread(text: str, unit: str = "mm", said: str = "") -> Spread:
    """A spread from ``18.0 mm ± 0.2``, ``± 0.2 mm rectangular``, ``18 mm +0.3 -0.1``, ``17.9 mm to 18.3 mm``, ``18 mm sd 0.1``.

    ``unit`` is that of the field: mm, rad, or a plain unit such as mm/turn or 1/mm. Without a kind ± and + - are normal, ``to``
    is rectangular. ``, 3 sd`` at the end: the half is 3 standard deviations. ``said`` stands before what is wrong.
    """
    head = f"{said}: " if said else ""
    if not isinstance(text, str):
        raise SpreadError(f"{head}{text!r} is not a spread: write it as \"18.0 mm ± 0.2\"")
    try:
        return _parsed(text, unit)
    except (UnitsError, SpreadError) as e:
        raise SpreadError(f"{head}{text!r}: {e}") from None


def _parsed(text: str, unit: str) -> Spread:
    t = text.translate(str.maketrans("\u2212\u2013\u00a0", "-- ")).strip()
    t = re.sub(r"\+\s*/\s*-|\+-", "±", t)
    sds = 2.0
    if found := re.search(r",\s*([\d.]+)\s*sd$", t):
        sds, t = float(found[1]), t[: found.start()].strip()
    kind, last = "", t.split()[-1].lower() if t else ""
    near = difflib.get_close_matches(last, KINDS, 1, 0.6)
    if near:
        if last != near[0]:
            raise SpreadError(f"{last!r} is not a kind of spread; did you mean {near[0]!r}?")
        kind, t = last, t[: -len(last)].strip()

    def rest(nominal: str) -> tuple[float | None, str]:
        borrowed = re.sub(rf"^\s*[+-]?{_NUMBER}", "", nominal).strip()
        return (_value(nominal, unit) if nominal.strip() else None), borrowed

    if "±" in t:
        nominal, half = t.split("±", 1)
        value, borrowed = rest(nominal)
        return Spread.plus_minus(_value(half, unit, borrowed), kind or "normal", sds=sds, nominal=value, unit=unit)
    if found := re.match(r"^(.*?)\bsd\s+(.+)$", t):
        value, borrowed = rest(found[1])
        return Spread.sd(_value(found[2], unit, borrowed), kind or "normal", nominal=value, unit=unit)
    if found := re.match(r"^(.*?)\s+to\s+(.+)$", t):
        high = _value(found[2], unit)
        return Spread.between(_value(found[1], unit, rest(found[2])[1]), high, kind or "rectangular", sds=sds, unit=unit)
    signed = r"([+-]\s*[\d.][^+-]*)"
    # Without a nominal the + must come first, or "-18 mm +0.3 mm" would pass for limits of -18 and +0.3.
    found = re.match(rf"^(.*?)(?:^|\s+){signed}\s*{signed}$", t)
    if found and (found[1].strip() or found[2].startswith("+")):
        value, borrowed = rest(found[1])
        a, b = (_value(found[i].strip(" /"), unit, borrowed) for i in (2, 3))
        return Spread(kind or "normal", min(a, b), max(a, b), sds, value, unit=unit)
    raise SpreadError('not a spread: write it as "18.0 mm ± 0.2", "18 mm +0.3 -0.1" or "17.9 mm to 18.3 mm"')
