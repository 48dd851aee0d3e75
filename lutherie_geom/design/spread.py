"""Spreads: how far a number of the joint may be off, as a builder writes it (``18.0 mm ± 0.2``).

A spread is kept as deviations from the nominal, in the field's own unit (mm, rad, 1/mm, mm/turn). What the half means:

- ``normal``: a tolerance ± t is taken as 2 standard deviations unless said otherwise (``, 3 sd``); 1 part in 22 lies
  outside it. Two-sided limits are taken as 2 standard deviations either side of their middle.
- ``rectangular``: anywhere between the limits alike, never outside; the standard deviation is the half over root 3.
- ``triangular``: most likely the number written, never outside the limits; root 6 when the limits are even.
- ``measured``: a sample of finished pieces. Drawn by straight lines between the sorted values, the k-th of n standing at
  (k - 1/2)/n of the way (numpy's ``hazen``), so that what is drawn has the sample's mean; never outside the sample.
"""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import lru_cache
from typing import Any

import numpy as np

from lutherie_geom.design.units import UnitsError, parse_angle, parse_force, parse_length

__all__ = ["KINDS", "LEAST_SAMPLE", "Spread", "SpreadError", "read_spread", "read_value"]

Array = Any  # a float or a numpy array of floats

KINDS = ("normal", "rectangular", "triangular", "measured")
_OTHER_WORDS = {"uniform": "rectangular", "even": "rectangular", "flat": "rectangular", "gaussian": "normal", "gauss": "normal",
                "bell": "normal", "triangle": "triangular", "sample": "measured"}
"""What others call the kinds."""
LEAST_SAMPLE = 3
"""Fewest measured pieces that make a spread."""
DASHES = str.maketrans("\u2212\u2013\u00a0", "-- ")
"""Signs that stand for minus and blank in typeset text."""


class SpreadError(ValueError):
    """A spread that makes no sense. The message names field, value, unit and range."""


@dataclass(frozen=True)
class Spread:
    """Deviation of a dimension from its nominal: ``low`` to ``high``, in the field's unit (mm, rad, 1/mm, mm/turn).

    ``sds``: how many standard deviations the half of a normal spread stands for. ``nominal``: the number it was written
    with, in the same unit, or None. ``absolute``: low and high are values and not deviations (``17.9 mm to 18.3 mm``);
    :meth:`about` turns them into deviations. ``sample``: the measured pieces, sorted.
    """

    kind: str
    low: float
    high: float
    sds: float = 2.0
    nominal: float | None = None
    absolute: bool = False
    unit: str = "mm"
    sample: tuple[float, ...] = field(default=(), repr=False)

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise _no_kind(str(self.kind), _kind_like(str(self.kind).lower()))
        if self.kind == "measured" and len(self.sample) < LEAST_SAMPLE:
            raise SpreadError(f"a measured spread holds {len(self.sample)} values; it must hold {LEAST_SAMPLE} or more")
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

    @classmethod
    def measured(cls, values: Sequence[float], *, unit: str = "mm") -> Spread:
        """From measured pieces: values of the dimension [unit of the field], three or more."""
        try:
            sample = tuple(sorted(float(v) for v in values))
        except (TypeError, ValueError):
            raise SpreadError(f"measured values must be numbers [{unit}]") from None
        if not all(map(math.isfinite, sample)):
            raise SpreadError(f"measured values must be finite numbers [{unit}]")
        ends = (sample[0], sample[-1]) if sample else (0.0, 0.0)
        return cls("measured", *ends, absolute=True, unit=unit, sample=sample)

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
        if self.kind == "measured":
            return math.fsum(self.sample) / len(self.sample)
        middle = (self.low + self.high) / 2
        return (self.low + self.high + self._peak) / 3 if self.kind == "triangular" else middle

    @property
    def standard_deviation(self) -> float:
        """Standard deviation [unit of the field]; of a sample with n - 1."""
        if self.kind == "measured":
            return float(np.std(self.sample, ddof=1))
        if self.kind == "normal":
            return self.half / self.sds
        if self.kind == "rectangular":
            return self.half / math.sqrt(3)
        up, down = self.high - self._peak, self._peak - self.low
        return math.sqrt((up**2 + down**2 + up * down) / 18)

    @property
    def skew_and_flat(self) -> tuple[float, float]:
        """Third and fourth central moment [unit of the field to the power of 3 and 4], for the second order."""
        s = self.standard_deviation
        if self.kind == "normal":
            return 0.0, 3 * s**4
        if self.kind == "rectangular":
            return 0.0, 1.8 * s**4
        if self.kind == "triangular":
            a, b, c = self.low - self.mean, self.high - self.mean, self._peak - self.mean
            return a * b * c / 10, 2.4 * s**4  # the general form, with a + b + c = 0 put in
        x = np.asarray(self.sample) - self.mean
        return float((x**3).mean()), float((x**4).mean())

    def draw(self, u: Array) -> Array:
        """Values [unit of the field] from even numbers u in 0..1 (the inverse of the distribution); nan outside 0..1."""
        u = np.asarray(u, dtype=float)
        u = np.where((u >= 0) & (u <= 1), u, np.nan)
        if self.kind == "normal":
            from scipy.special import ndtri

            # A spread of nothing is its mean even at u = 0, where the normal's tail is infinite.
            return np.where(np.isnan(u), u, self.mean) if self.half == 0 else self.at_score(ndtri(u))
        if self.kind == "measured":
            n = len(self.sample)
            return np.interp(u, (np.arange(n) + 0.5) / n, self.sample)
        width = self.high - self.low
        if self.kind == "rectangular" or width == 0:
            return self.low + width * u
        turn = (self._peak - self.low) / width
        rising = self.low + np.sqrt(u * width * (self._peak - self.low))
        return np.where(u < turn, rising, self.high - np.sqrt((1 - u) * width * (self.high - self._peak)))

    def at_score(self, z: Array) -> Array:
        """Values [unit of the field] at normal scores z [1]: what :meth:`draw` gives at the normal distribution of z."""
        if self.kind == "normal":
            return self.mean + self.standard_deviation * np.asarray(z, dtype=float)
        from scipy.special import ndtr

        return self.draw(ndtr(z))

    def about(self, value: float, name: str = "value") -> Spread:
        """The same spread as deviations from a design's value [unit of the field]; refused if it was written for another."""
        unit = self.unit
        if self.kind == "measured":  # a sample may lie to one side of what was asked for: that is what it tells
            if not self.absolute:
                return self
            sample = tuple(x - value for x in self.sample)
            return replace(self, low=sample[0], high=sample[-1], nominal=value, absolute=False, sample=sample)
        if self.absolute:
            if not self.low <= value <= self.high:
                raise SpreadError(f"{name}: the design has {value:g} {unit}, outside {self.low:g} to {self.high:g} {unit}")
            return replace(self, low=self.low - value, high=self.high - value, nominal=value, absolute=False)
        if self.nominal is not None and not math.isclose(self.nominal, value, rel_tol=1e-6, abs_tol=1e-9):
            raise SpreadError(f"{name}: the spread is written about {self.nominal:g} {unit}, the design has {value:g} {unit}; "
                              f"write {value:g} {unit}, or only ± and the tolerance")
        return self

    def __str__(self) -> str:
        unit, each = (" deg", 180 / math.pi) if self.unit == "rad" else (f" {self.unit}" if self.unit else "", 1.0)
        low, high = self.low * each, self.high * each
        if self.kind == "measured":
            return f"measured, {len(self.sample)} pieces, {low:g} to {high:g}{unit}"
        tail = f", {self.sds:g} sd" if self.kind == "normal" else ""
        if self.absolute:
            return f"{low:g} to {high:g}{unit} {self.kind}{tail}"
        head = f"{self.nominal * each:g}{unit} " if self.nominal is not None else ""
        range_ = f"± {high:g}" if low == -high else f"{high:+g}{unit} {low:+g}"
        return f"{head}{range_}{unit} {self.kind}{tail}"


_NUMBER = r"[\d\s./¼½¾⅛⅜⅝⅞-]+(?:[eE][+-]?\d+)?"


def read_value(text: str, unit: str, borrowed: str = "") -> float:
    """A number in ``unit``; without a unit of its own the borrowed one is meant. Raises :class:`UnitsError`."""
    text = text.strip()
    if borrowed and re.fullmatch(rf"[+-]?{_NUMBER}", text):
        text = f"{text} {borrowed}"
    if unit == "mm":
        return parse_length(text)
    if unit == "rad":
        return parse_angle(text)
    if unit == "N":
        return parse_force(text)
    found = re.fullmatch(r"([+-]?(?:\d+\s*/\s*0*[1-9]\d*|(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?))\s*(.*)", text)
    if not found or found[2] not in (unit, unit + "s"):
        raise UnitsError(f"{text!r} must be a number{f' with the unit {unit}' if unit else ' without a unit'}")
    return float(Fraction(found[1].replace(" ", ""))) if "/" in found[1] else float(found[1])


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


@lru_cache(1024)  # files write the same few units and kinds again and again, and likeness takes a while to measure
def _kind_like(word: str) -> str:
    """The kind of spread that a word is, or was meant to be; "" for none."""
    if word in _OTHER_WORDS:
        return _OTHER_WORDS[word]
    return next(iter(difflib.get_close_matches(word, KINDS, 1, 0.6)), "")


def _no_kind(word: str, near: str) -> SpreadError:
    hint = f"did you mean {near!r}? " if near else ""
    return SpreadError(f"{word!r} is not a kind of spread; {hint}known: {', '.join(KINDS)}")


def _parsed(text: str, unit: str) -> Spread:
    t = text.translate(DASHES).strip()
    t = re.sub(r"\+\s*/\s*-|\+-", "±", t)
    sds = 2.0
    if found := re.search(r",\s*([\d.]+)\s*sd$", t):
        sds, t = float(found[1]), t[: found.start()].strip()
    kind, last = "", t.split()[-1].lower() if t else ""
    if near := _kind_like(last):
        if last != near:
            raise _no_kind(last, near)
        kind, t = last, t[: -len(last)].strip()

    def rest(nominal: str) -> tuple[float | None, str]:
        borrowed = re.sub(rf"^\s*[+-]?{_NUMBER}", "", nominal).strip()
        return (read_value(nominal, unit) if nominal.strip() else None), borrowed

    if "±" in t:
        nominal, half = t.split("±", 1)
        value, borrowed = rest(nominal)
        return Spread.plus_minus(read_value(half, unit, borrowed), kind or "normal", sds=sds, nominal=value, unit=unit)
    if found := re.match(r"^(.*?)\bsd\s+(.+)$", t):
        value, borrowed = rest(found[1])
        return Spread.sd(read_value(found[2], unit, borrowed), kind or "normal", nominal=value, unit=unit)
    if found := re.match(r"^(.*?)\s+to\s+(.+)$", t):
        high = read_value(found[2], unit)
        return Spread.between(read_value(found[1], unit, rest(found[2])[1]), high, kind or "rectangular", sds=sds, unit=unit)
    signed = r"([+-]\s*[\d.][^+-]*)"
    # Without a nominal the + must come first, or "-18 mm +0.3 mm" would pass for limits of -18 and +0.3.
    found = re.match(rf"^(.*?)(?:^|\s+){signed}\s*{signed}$", t)
    if found and (found[1].strip() or found[2].startswith("+")):
        value, borrowed = rest(found[1])
        a, b = (read_value(found[i].strip(" /"), unit, borrowed) for i in (2, 3))
        return Spread(kind or "normal", min(a, b), max(a, b), sds, value, unit=unit)
    if re.search(r"\bIT\s*\d+$|\b[a-z]{1,2}\d{1,2}$", t, re.IGNORECASE):
        raise SpreadError("a grade or a fit is no spread here: grades belong into the table of processes (data/tables); write "
                          'the limits themselves, as "4.6 mm ± 0.04"')
    raise SpreadError('not a spread: write it as "18.0 mm ± 0.2", "18 mm +0.3 -0.1" or "17.9 mm to 18.3 mm"')
