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
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from lutherie_geom.show.typed import number_typed

__all__ = ["Mark", "Wrong", "check", "judge", "said", "usual_slips"]

MM_PER_INCH = 25.4
_DEGREE = 180 / math.pi


@dataclass(frozen=True)
class Wrong:
    """A wrong number that an answer may be: the slip's short name, what is said of it, and the number [unit of the answer]."""

    name: str
    words: str
    value: float


# What each slip makes of the right answer, its name, and how it is said. The first that fits is named, so the likelier come
# first. A slip toward the wanted unit cannot be told from its opposite by the number alone; the unit decides.
_Slip = tuple[float, str, str]
_ANY: tuple[_Slip, ...] = (
    (2.0, "double", "it is twice what it should be (both sides counted, or a diameter taken for a radius?)"),
    (0.5, "half", "it is half of what it should be (one side only, or a radius taken for a diameter?)"),
)
_TWICE = "one conversion too many, by"
_ANGLE: dict[str, tuple[_Slip, ...]] = {
    "rad": ((_DEGREE, "degrees", "it looks like degrees; radians are wanted"),
            (1 / math.tau, "turns", "it looks like turns; radians are wanted"),
            (1 / _DEGREE, "57.3 twice", f"{_TWICE} 57.3: the angle was in radians already")),
    "deg": ((1 / _DEGREE, "radians", "it looks like radians; degrees are wanted"),
            (1 / 360, "turns", "it looks like turns; degrees are wanted"),
            (_DEGREE, "57.3 twice", f"{_TWICE} 57.3: the angle was in degrees already")),
    "turn": ((360.0, "degrees", "it looks like degrees; turns are wanted"),
             (math.tau, "radians", "it looks like radians; turns are wanted")),
}
_LENGTH: dict[str, tuple[_Slip, ...]] = {
    "mm": ((1 / MM_PER_INCH, "inches", "it looks like inches; millimetres are wanted"),
           (1 / 1000, "metres", "it looks like metres; millimetres are wanted"),
           (MM_PER_INCH, "25.4 twice", f"{_TWICE} 25.4: the length was in millimetres already")),
    "in": ((MM_PER_INCH, "millimetres", "it looks like millimetres; inches are wanted"),
           (1 / MM_PER_INCH, "25.4 twice", f"{_TWICE} 25.4: the length was in inches already")),
}
_INSIDE: tuple[_Slip, ...] = (
    (_DEGREE, "degrees", "it is 57 times too large: an angle put in as degrees where radians belong?"),
    (1 / _DEGREE, "radians", "it is 57 times too small: an angle put in as radians where degrees belong?"),
)
_LAST: tuple[_Slip, ...] = (
    (10.0, "ten times", "it is ten times too large: look at the decimal point"),
    (0.1, "a tenth", "it is ten times too small: look at the decimal point"),
)
_COMMA = "Write decimals with a point, thousands without a mark."
_SIGN = "the sign is the other way round"


@dataclass(frozen=True)
class Mark:
    """What an answer is worth: right or not, and one sentence for whoever gave it.

    kind  "right", "blank", "unreadable", "slip", "near" or "wrong"
    slip  the slip's short name when the kind is "slip": "sign", "double", "half", "degrees", "inches", "unit" ... ("half, sign")
    """

    right: bool
    sentence: str
    kind: str = "wrong"
    slip: str = ""


def judge(answer: Any, expected: float, unit: str = "", within: float = 0.02, slips: Sequence[Wrong] = ()) -> Mark:
    """Hold an answer against the expected number.

    answer    a number in ``unit``, a text with or without its unit ("3/32 in", "1.5 deg"), or None for not answered
    expected  the right number [unit]
    unit      the unit of both: mm, in, rad, deg, turn, mm/turn ...
    within    how far off still counts as right, as a part of the expected number [1]; of one unit when that is zero
    slips     what this very problem may go wrong by; looked at before the usual slips
    """
    if answer is None or answer is Ellipsis or (isinstance(answer, str) and not answer.strip()):
        return Mark(False, "not answered yet", "blank")
    value, note = _number(answer, unit, expected)
    if isinstance(answer, str) and not _right(value, expected, within):
        bare = re.match(r"[\s+\-\u2212\u2013]*(\d+\s*/\s*\d+|[\d.,]+(e[+-]?\d+)?)(?=\s*[^\W\d]|\s*[\"'%°])", answer)
        if bare and _right(_number(bare[0], unit, expected)[0], expected, within):
            wanted = unit or "a plain number"
            return Mark(False, f"Not yet: the number fits, its unit does not; {wanted} is wanted.", "slip", "unit")
    if value is None:
        comma = f" {_COMMA}" if isinstance(answer, str) and "," in answer else ""
        return Mark(False, f"Not yet: {answer!r} is not a number in {unit or 'plain figures'}.{comma}", "unreadable")
    found = _judged(value, expected, unit, within, slips)
    return replace(found, sentence=f"{found.sentence} {note}") if note else found


def _right(value: float | None, expected: float, within: float) -> bool:
    return value is not None and math.isclose(value, expected, rel_tol=within, abs_tol=0.0 if expected else within)


def _judged(value: float, expected: float, unit: str, within: float, slips: Sequence[Wrong]) -> Mark:
    if _right(value, expected, within):
        return Mark(True, f"Right: {said(expected, unit)}.", "right")
    for wrong in (*slips, *usual_slips(expected, unit)):
        if value and math.isclose(value, wrong.value, rel_tol=within):
            return Mark(False, f"Not yet: {wrong.words}.", "slip", wrong.name)
    if expected and value and math.isclose(value, expected, rel_tol=0.15):
        return Mark(False, f"Not yet, but near: {said(value, unit)} is off by {abs(value / expected - 1):.0%}.", "near")
    return Mark(False, f"Not yet: {said(value, unit)} is {'too large' if value > expected else 'too small'}.")


def check(answer: Any, expected: float, unit: str = "", within: float = 0.02, slips: Sequence[Wrong] = ()) -> None:
    """Print what :func:`judge` says of the answer [unit]."""
    print(judge(answer, expected, unit, within, slips).sentence)


def usual_slips(expected: float, unit: str) -> Iterable[Wrong]:
    """What the usual slips make of the expected number [unit], likelier ones first; none of zero."""
    if not expected:
        return
    for factor, name, words in ((1.0, "", ""), *_slips(unit)):
        if name:
            yield Wrong(name, words, factor * expected)
            yield Wrong(f"{name}, sign", f"{words}, and {_SIGN}", -factor * expected)
        else:
            yield Wrong("sign", f"the size is right, {_SIGN}", -expected)


def _slips(unit: str) -> tuple[_Slip, ...]:
    head, _, below = unit.partition("/")
    if head in _ANGLE:
        own = _ANGLE[head]
    elif below in ("rad", "deg"):  # per angle: the factor stands upside down
        own = tuple((1 / factor, name, words) for factor, name, words in _ANGLE[below])
    else:
        own = _LENGTH.get(head, ())
    # A number per angle has its own words for degrees; so has an angle. A turn may still come from an angle put in wrongly.
    inside = () if head in ("rad", "deg") or below in ("rad", "deg") else _INSIDE
    return (*own, *_ANY, *inside, *_LAST)


def _number(answer: Any, unit: str, expected: float) -> tuple[float | None, str]:
    """The number [unit] that an answer is, None if it is none, and a note on how it was read."""
    try:
        if isinstance(answer, str):
            return _from_text(answer.strip(), unit, expected)
        value = math.nan if isinstance(answer, bool) else float(answer)
    except (TypeError, ValueError):
        return None, ""
    return (value if math.isfinite(value) else None), ""


def _from_text(text: str, unit: str, expected: float) -> tuple[float, str]:
    """As :func:`_number`, from a text. One full stop at the end is left out, and a single comma is a decimal one, unless three
    digits stand behind it and the thousand comes nearer to the expected number [unit]. Raises ValueError."""
    try:
        return number_typed(text, unit), ""
    except ValueError:
        short = re.sub(r"\s*[.;]$", "", text)
        if not re.fullmatch(r"[^,.]*\d,\d[^,.]*", short):
            return number_typed(short, unit), ""
    ways = [short.replace(",", "."), *([short.replace(",", "")] if re.search(r",\d{3}(?!\d)", short) else [])]
    taken = min(ways, key=lambda way: abs(number_typed(way, unit) - expected))
    return number_typed(taken, unit), f"{short!r} was read as {taken!r}. {_COMMA}"


def said(value: float, unit: str = "") -> str:
    """A value [unit] to three figures, with its unit."""
    return f"{value:.0f} {unit}".rstrip() if abs(value) >= 1000 else f"{value:.3g} {unit}".rstrip()
