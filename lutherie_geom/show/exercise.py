"""Exercises that check themselves, and say which of the usual slips an answer looks like.

    >>> check(None, 0.25, unit="mm")
    not answered yet
    >>> check(-0.25, 0.25, unit="mm")
    Not yet: the size is right, the sign is the other way round.
    >>> check(0.251, 0.25, unit="mm")
    Right: 0.25 mm.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Any

__all__ = ["Mark", "check", "judge"]

MM_PER_INCH = 25.4
_DEGREE = 180 / math.pi

# What each slip makes of the right answer, and how it is said. The first that fits is named, so the likelier come first.
_ANY: tuple[tuple[float, str], ...] = (
    (2.0, "it is twice what it should be (both sides counted, or a diameter taken for a radius?)"),
    (0.5, "it is half of what it should be (one side only, or a radius taken for a diameter?)"),
)
_ANGLE: tuple[tuple[float, str], ...] = (
    (_DEGREE, "it looks like degrees; radians are wanted"),
    (1 / _DEGREE, "it looks like radians; degrees are wanted"),
)
_LENGTH: tuple[tuple[float, str], ...] = (
    (1 / MM_PER_INCH, "it looks like inches; millimetres are wanted"),
    (MM_PER_INCH, "it looks like millimetres; inches are wanted"),
    (1 / 1000, "it looks like metres; millimetres are wanted"),
)
_LAST: tuple[tuple[float, str], ...] = (
    (10.0, "it is ten times too large: look at the decimal point"),
    (0.1, "it is ten times too small: look at the decimal point"),
)


@dataclass(frozen=True)
class Mark:
    """What an answer is worth: right or not, and one sentence for whoever gave it."""

    right: bool
    sentence: str


def judge(answer: Any, expected: float, unit: str = "", within: float = 0.02) -> Mark:
    """Hold an answer against the expected number.

    answer    a number in ``unit``, a text with a unit ("3/32 in", "1.5 deg"), or None for not answered
    expected  the right number [unit]
    unit      the unit of both: mm, in, rad, deg, turn, mm/turn ...
    within    how far off still counts as right, as a part of the expected number [1]; of one unit when that is zero
    """
    if answer is None or answer is Ellipsis:
        return Mark(False, "not answered yet")
    value = _number(answer, unit)
    if value is None:
        return Mark(False, f"Not yet: {answer!r} is not a number in {unit or 'plain figures'}.")
    if math.isclose(value, expected, rel_tol=within, abs_tol=0.0 if expected else within):
        return Mark(True, f"Right: {_said(expected, unit)}.")
    if expected and value:
        for factor, words in _slips(unit):
            for sign in (1.0, -1.0):
                if math.isclose(value, sign * factor * expected, rel_tol=within):
                    return Mark(False, _slip(factor, words, sign))
    if expected and value and math.isclose(value, expected, rel_tol=0.15):
        return Mark(False, f"Not yet, but near: {_said(value, unit)} is off by {abs(value / expected - 1):.0%}.")
    return Mark(False, f"Not yet: {_said(value, unit)} is {'too large' if value > expected else 'too small'}.")


def check(answer: Any, expected: float, unit: str = "", within: float = 0.02) -> None:
    """Print what :func:`judge` says of the answer [unit]."""
    print(judge(answer, expected, unit, within).sentence)


def _slips(unit: str) -> tuple[tuple[float, str], ...]:
    head = re.split(r"[/ ]", unit)[0]
    own: tuple[tuple[float, str], ...] = ()
    # A slip toward the wanted unit cannot be told from its opposite by the number alone; the unit decides.
    if head in ("rad", "deg") or "/rad" in unit or "/deg" in unit:
        wanted = "radians" if "rad" in unit else "degrees"
        own = tuple((f, w) for f, w in _ANGLE if w.endswith(f"{wanted} are wanted"))
        if "/" in unit and head not in ("rad", "deg"):  # per angle: the factor stands upside down
            own = tuple((1 / f, w) for f, w in own)
    elif head in ("mm", "in"):
        wanted = "millimetres" if head == "mm" else "inches"
        own = tuple((f, w) for f, w in _LENGTH if w.endswith(f"{wanted} are wanted"))
    return ((1.0, ""), *own, *_ANY, *_LAST)


def _slip(factor: float, words: str, sign: float) -> str:
    if factor == 1.0:
        return "Not yet: the size is right, the sign is the other way round."
    also = ", and the sign is the other way round" if sign < 0 else ""
    return f"Not yet: {words}{also}."


def _number(answer: Any, unit: str) -> float | None:
    if isinstance(answer, bool):
        return None
    if isinstance(answer, str):
        return _from_text(answer, unit)
    try:
        value = float(answer)
    except (TypeError, ValueError):
        return None
    return value if math.isfinite(value) else None


def _from_text(text: str, unit: str) -> float | None:
    from lutherie_geom.design.units import parse_angle, parse_length

    try:
        if unit == "mm":
            return float(parse_length(text))
        if unit == "in":
            return float(parse_length(text)) / MM_PER_INCH
        if unit in ("rad", "deg"):
            return float(parse_angle(text)) * (1.0 if unit == "rad" else _DEGREE)
        return float(text)
    except (ValueError, TypeError):
        return None


def _said(value: float, unit: str) -> str:
    return f"{value:.0f} {unit}".rstrip() if abs(value) >= 1000 else f"{value:.3g} {unit}".rstrip()
