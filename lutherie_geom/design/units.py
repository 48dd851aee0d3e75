"""Lengths, angles and forces as a builder writes them, and back again.

Inside the library a length is in millimetres, an angle in radians and a force in newtons. At the edges (design file, hand
sheet, report) a builder writes ``6/64 in``, ``25 ft``, ``1.5 deg``. A number without its unit is refused, because nobody
can tell afterwards whether ``14`` meant inches or millimetres.

The number is read by a plain pattern, never by evaluating text; the unit is looked up with pint, which is loaded on first
use only (it takes a tenth of a second).
"""

from __future__ import annotations

import difflib
import math
import re
from fractions import Fraction
from functools import cache
from typing import Any, Literal

__all__ = ["UnitsError", "convert", "format_angle", "format_band", "format_length", "format_short", "parse_angle", "parse_force",
           "parse_length"]

INCH = 25.4
"""Millimetres in one inch, exact by definition since 1959."""

System = Literal["mm", "inch"]


class UnitsError(ValueError):
    """A text that is not a number with a fitting unit. The message is a sentence that says what to write instead."""


# What a builder writes, and the name under which pint knows it. Given first, so that quote marks work and "m" is a metre.
_WRITTEN = {
    "length": {'"': "inch", "″": "inch", "”": "inch", "''": "inch", "in.": "inch", "in": "inch", "inch": "inch",
               "inches": "inch", "'": "foot", "′": "foot", "’": "foot", "ft": "foot", "ft.": "foot", "feet": "foot",
               "thou": "thou", "mil": "thou", "mm": "mm", "cm": "cm", "m": "m"},  # "Mm" is a slip, not a megametre
    "angle": {"°": "degree", "º": "degree", "deg": "degree", "deg.": "degree", "degrees": "degree", "′": "arcminute",
              "'": "arcminute", "arcmin": "arcminute", "min": "arcminute"},
    "force": {"lb": "pound_force", "lbs": "pound_force", "lbf": "pound_force", "kg": "kilogram_force",
              "kgf": "kilogram_force", "kp": "kilogram_force"},
}
_BASE = {"length": "mm", "angle": "radian", "force": "newton"}
_EXAMPLE = {"length": '"2.4 mm", "6/64 in" or "25 ft"', "angle": '"1.5 deg" or "0.026 rad"', "force": '"700 N" or "160 lbf"'}
_KNOWN = {
    "length": ("mm", "cm", "m", "um", "in", "inch", "inches", "ft", "foot", "feet", "yard", "thou", "millimetre", "metre"),
    "angle": ("deg", "degree", "degrees", "rad", "radian", "radians", "mrad", "arcmin", "arcsec", "turn"),
    "force": ("N", "kN", "newton", "lbf", "lb", "kgf", "pound_force"),
}
_ARTICLE = {"length": "a length", "angle": "an angle", "force": "a force"}
_DASHES = str.maketrans({"\u2212": "-", "\u2013": "-", "\u00a0": " ", "\u202f": " ", "\u2009": " ", "\u2044": "/"})
_GLYPHS = {"¼": "1/4", "½": "1/2", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}

_NUMBER = re.compile(
    r"""\s*(?P<sign>[+-]?)\s*
    (?: (?:(?P<whole>\d+)(?:\s+|-))? (?P<top>\d+)\s*/\s*(?P<bottom>\d+)   # 3/8, 1 1/2, 1-1/2
      | (?P<decimal>(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?) )
    (?P<rest>.*)$""",
    re.VERBOSE | re.DOTALL | re.ASCII,
)


@cache
def _registry() -> Any:
    import pint

    return pint.UnitRegistry()


@cache
def _factor(unit: str, kind: str) -> float:
    """What one ``unit`` is in the library's own unit of this kind; refuses a unit that measures something else."""
    written = _WRITTEN[kind]
    name = written.get(unit.lower()) or unit
    likely = [w for u in (unit, unit.lower()) for w in difflib.get_close_matches(u, _KNOWN[kind], 1, 0.5)]
    hint = f" Did you mean {likely[0]!r}?" if likely else ""
    unknown = f"the unit {unit!r} is not known.{hint} Write {_ARTICLE[kind]} as {_EXAMPLE[kind]}."
    if not re.fullmatch(r"[^\W\d]+", name):  # one word only: pint would also read "mm*2" or "m/s"
        raise UnitsError(unknown)
    registry = _registry()
    try:
        quantity = registry.Quantity(1.0, name)
    except Exception:  # pint has several error types for a name that it does not know
        raise UnitsError(unknown) from None
    base = registry.Quantity(1.0, _BASE[kind])
    # A bare count, a percentage and a radian all have "no dimension", so an angle must also convert by a known angle unit.
    counts = kind == "angle" and name not in {*_KNOWN["angle"], *written.values(), "°", "milliradian", "arcminute", "arcsecond"}
    if quantity.dimensionality != base.dimensionality or counts:
        raise UnitsError(f"{unit!r} does not measure {_ARTICLE[kind]}.{hint} Write {_ARTICLE[kind]} as {_EXAMPLE[kind]}.")
    return float(quantity.to(_BASE[kind]).magnitude)


def _parse(text: object, kind: str) -> float:
    if isinstance(text, (int, float)) and not isinstance(text, bool):
        raise UnitsError(f"{text} has no unit: say the unit, for example {_EXAMPLE[kind]}.")
    if not isinstance(text, str):
        raise UnitsError(f"{text!r} is not {_ARTICLE[kind]}: write it as {_EXAMPLE[kind]}.")
    clean = text.translate(_DASHES).strip()
    if not clean.isascii():
        for glyph, fraction in _GLYPHS.items():
            clean = clean.replace(glyph, f" {fraction}")
    if "," in clean and re.search(r"\d,\d|^,\d|\d,$", clean):
        point = clean.replace(",", ".", 1)
        example = f", for example {point!r}" if point.count(".") == 1 and "," not in point else ""
        raise UnitsError(f"{text!r} has a comma in it: write the decimals with a point{example}, and thousands without any mark.")
    found = _NUMBER.match(clean)
    if not found:
        raise UnitsError(f"{text!r} is not a number with a unit: write {_ARTICLE[kind]} as {_EXAMPLE[kind]}.")
    unit = found["rest"].strip()
    if not unit:
        raise UnitsError(f"{text!r} has no unit: say the unit, for example {_EXAMPLE[kind]}.")
    if re.match(r"[\d./+-]", unit):
        raise UnitsError(f"{text!r} is not one number with one unit: write {_ARTICLE[kind]} as {_EXAMPLE[kind]}.")
    if found["decimal"] is not None:
        number = float(found["decimal"])
    else:
        bottom = int(found["bottom"])
        if bottom == 0:
            raise UnitsError(f"{text!r} divides by zero: the lower part of a fraction must be 1 or more.")
        try:
            number = float(int(found["whole"] or 0) + Fraction(int(found["top"]), bottom))
        except OverflowError:
            number = math.inf
    value = (-number if found["sign"] == "-" else number) * _factor(unit, kind)
    if not math.isfinite(value):
        raise UnitsError(f"{text!r} is too large to be {_ARTICLE[kind]}.")
    return value


def parse_length(text: str) -> float:
    """Length in mm from what a builder writes: ``25.4 in``, ``1 1/2 in``, ``1/4"``, ``25 ft``, ``2.4 mm``, ``8.5 m``."""
    return _parse(text, "length")


def parse_angle(text: str) -> float:
    """Angle in radians from ``1.5 deg``, ``1.5°`` or ``0.026 rad``."""
    return _parse(text, "angle")


def parse_force(text: str) -> float:
    """Force in newtons from ``700 N`` or ``160 lbf``; ``lb`` and ``kg`` are taken as the weight of that mass."""
    return _parse(text, "force")


def convert(mm: float, system: System = "mm") -> float:
    """The number to show for a length given in mm: in millimetres, or in inches (1 in = 25.4 mm)."""
    if system not in ("mm", "inch"):
        raise UnitsError(f"{system!r} is not a system of lengths: choose 'mm' or 'inch'.")
    return mm if system == "mm" else mm / INCH


def format_length(mm: float, system: System = "mm", digits: int = 2, fraction: int = 64) -> str:
    """A length given in mm, as text in mm or in inches.

    Inches are shown as the nearest fraction with ``fraction`` as the finest lower part, reduced; when the fraction is not
    the length itself, the length as a decimal (``digits`` + 1 places) stands behind it: ``15/32 in (0.472)``.
    """
    value = convert(mm, system)
    if not math.isfinite(value):
        return f"{value} {'mm' if system == 'mm' else 'in'}"
    if system == "mm":
        return f"{_no_minus_zero(f'{value:.{digits}f}')} mm"
    if fraction < 1:
        raise UnitsError(f"fractions of 1/{fraction} in do not exist: choose 1, 2, 4 ... 64.")
    nearest = Fraction(round(abs(value) * fraction), fraction)
    whole, part = divmod(nearest, 1)
    sign = "-" if value < 0 and nearest else ""
    said = sign + " ".join(str(p) for p in (whole, part) if p) if nearest else "0"
    exact = abs(abs(value) - float(nearest)) < 1e-9
    return f"{said} in" if exact else f"{said} in ({_no_minus_zero(f'{value:.{digits + 1}f}')})"


def format_short(mm: float, system: Any = "mm", signed: bool = False) -> str:
    """A short length for a table: ``1.20 mm`` or ``0.047 in``; with its sign if wanted."""
    text = f"{convert(mm, system):{'+' if signed else ''}.{2 if system == 'mm' else 3}f}"
    return f"{text if text.strip('+-0.') else text.lstrip('+-')} {'mm' if system == 'mm' else 'in'}"


def format_band(ends: Any, system: Any = "mm", signed: bool = False) -> str:
    """From one length to another, a pair given in mm: ``+0.12..+0.40 mm``."""
    low, high = (float(v) for v in ends)
    return f"{format_short(low, system, signed).split(' ')[0]}..{format_short(high, system, signed)}"


def format_angle(rad: float, digits: int = 2) -> str:
    """An angle given in radians, as text in degrees: ``1.50°``."""
    return _no_minus_zero(f"{math.degrees(rad):.{digits}f}") + "°"


def _no_minus_zero(text: str) -> str:
    """``-0.00`` read aloud is ``0.00``."""
    return text[1:] if text.startswith("-") and not text.strip("-0.") else text
