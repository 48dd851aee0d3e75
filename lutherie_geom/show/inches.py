"""What a picture says in millimetres, told in inches: texts, labels and axes of a figure.

    >>> in_inches("Travel 1 to 2 mm, action 2.31 mm ± 0.2 mm, 0.5 mm/turn")
    'Travel 0.04 to 0.08 in, action 0.0909 in ± 0.008 in, 0.020 in/turn'
    >>> in_inches("action at fret 12 [mm]")
    'action at fret 12 [in]'

An inch gets two digits more behind the point than the millimetre had: then no number is lost, since half of its last digit
(0.13 of the millimetre's last digit) rounds back to the number that it came from.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axis import Axis
from matplotlib.figure import Figure
from matplotlib.text import Text
from matplotlib.ticker import FixedLocator, FuncFormatter, MaxNLocator, NullLocator

from lutherie_geom.show.style import MM_PER_INCH

__all__ = ["in_inches", "inch_unit", "number_in_inches", "set_in_inches"]

_NUMBER = r"(?:(?<!\d)[+\-−±])?(?<![\w./])\d+(?:\.\d+)?(?:[eE][+\-]?\d+)?"
# A unit that begins with mm: mm, mm/turn, mm per degree; not mm², mm³, mm/mm or a word with mm in it.
_UNIT = r"mm(?![\w²³^]|/mm)"
# Several numbers that share the unit after the last: "1 to 2 mm", "0.1, 0.2 and 0.3 mm", "bass 1.92, treble 1.60 mm". Where only
# a comma, "and" or a word joins them, all must have the same digits behind the point, or a fret's number would be taken too.
_JOINED = re.compile(rf"({_NUMBER})(?=(?:\s*(?:to|x|\||…|–|-|±|\+/-|×)\s*(?:{_NUMBER}))+\s?{_UNIT})")
_LIKE = re.compile(rf"({_NUMBER})(?=((?:(?:,| and| or|, and)(?: [a-z]+)? {_NUMBER})+)\s?{_UNIT})")
# "0.305 ± 0.012 mm (before: ± 0.021)": the number in brackets goes with the one before them, if it has as many digits.
_BRACKETED = re.compile(rf"({_NUMBER})(\s?{_UNIT} \((?:[a-z]+: )?±? ?)({_NUMBER})(?=\))")
_LAST = re.compile(rf"({_NUMBER})(\s?){_UNIT}")
_DECIMAL = re.compile(r"[+\-−±]?\s?\d*\.\d+")  # a number alone: on a bar, its unit stands on the axis
_BARE = re.compile(rf"(?<=\[){_UNIT}|(?<=\[± ){_UNIT}")


def number_in_inches(mm: float, decimals: int) -> str:
    """A length [mm], told to so many digits behind the point, as the number of inches: two digits more, never minus zero."""
    text = f"{mm / MM_PER_INCH:.{decimals + 2}f}"
    return text[1:] if text.startswith("-") and not text.strip("-0.") else text


def inch_unit(unit: str) -> str | None:
    """The unit in inches for a slider's unit of a length (``mm/turn`` gives ``in/turn``); None for what is no length."""
    return "in" + unit[2:] if re.match(_UNIT, unit) else None


def in_inches(text: str) -> str:
    """The text with every number of millimetres [mm] told in inches, ranges and axis labels too; other text is left alone."""
    if "mm" not in text:
        return text
    text = _JOINED.sub(lambda found: _told(found[1]), text)
    text = _LIKE.sub(lambda found: _told(found[1]) if _alike(found[1], found[2]) else found[1], text)
    text = _BRACKETED.sub(lambda found: found[1] + found[2] + (_told(found[3]) if _alike(found[1], found[3]) else found[3]), text)
    text = _LAST.sub(lambda found: f"{_told(found[1])}{found[2]}in", text)
    return _BARE.sub("in", text)


def _told(number: str) -> str:
    sign = number[0] if number[0] in "+-−±" else ""
    digits = number.removeprefix(sign)
    if "e" in digits.lower():
        mantissa = re.split("[eE]", digits)[0].replace(".", "")
        return f"{sign}{float(digits) / MM_PER_INCH:.{len(mantissa) + 1}g}"
    return sign + number_in_inches(float(digits), len(digits.partition(".")[2]))


def _alike(number: str, others: str) -> bool:
    return len({len(n.partition(".")[2]) for n in (number, *re.findall(_NUMBER, others))}) == 1


class _InchTicks(MaxNLocator):
    """Ticks at round inches on an axis whose data are in mm."""

    def tick_values(self, vmin: float, vmax: float) -> Any:
        return MM_PER_INCH * np.asarray(super().tick_values(vmin / MM_PER_INCH, vmax / MM_PER_INCH))


@contextmanager
def set_in_inches(figure: Figure, moving: Sequence[Text] | None = None) -> Iterator[None]:
    """While it lasts, the figure is told in inches; afterwards every text, tick and label [mm] is the very one it was.

    moving  the texts to change; without it all texts of the figure and the ticks of all its axes
    """
    # At the last moment and for one drawing only: an update that writes mm never meets a text in inches.
    kept = [] if moving is not None else [_inch_axis(axis) for axis in _axes_in_mm(figure)]
    changed = []
    for text in moving if moving is not None else texts_of(figure):
        words = text.get_text()
        told = _told(words) if _DECIMAL.fullmatch(words) and _beside_mm(text) else in_inches(words)
        if told != words:
            changed.append((text, words, told))
    for text, _, told in changed:
        text.set_text(told)
    try:
        yield
    finally:
        for text, words, _ in changed:
            text.set_text(words)
        for axis, locator, formatter, own in reversed(kept):
            axis.set_major_locator(locator)
            axis.set_major_formatter(formatter)
            axis.isDefault_majloc, axis.isDefault_majfmt = own


def texts_of(part: Artist) -> list[Text]:
    """Every text of a figure or of one of its artists; an axis's tick labels come from its formatter and are left out."""
    if isinstance(part, Axis):
        return [part.label]
    found = [part] if isinstance(part, Text) else []
    return found + [text for child in part.get_children() for text in texts_of(child)]


def _beside_mm(text: Text) -> bool:
    """Whether a number alone, on a bar say, is told in the mm of its axes."""
    pair = (text.axes.xaxis, text.axes.yaxis) if text.axes is not None else ()
    return any("[mm" in axis.label.get_text() or "[in" in axis.label.get_text() for axis in pair)


def _axes_in_mm(figure: Figure) -> Iterator[Axis]:
    for axes in figure.get_axes():
        for axis in (axes.xaxis, axes.yaxis):
            if _BARE.search(axis.label.get_text()):
                yield axis


def _inch_axis(axis: Any) -> tuple[Any, Any, Any, tuple[bool, bool]]:
    locator, formatter = axis.get_major_locator(), axis.get_major_formatter()
    kept = (axis, locator, formatter, (axis.isDefault_majloc, axis.isDefault_majfmt))
    blank = isinstance(locator, NullLocator) or (isinstance(locator, FixedLocator) and not len(axis.get_majorticklocs()))
    if not blank and axis.get_scale() == "linear":
        # As many ticks as the millimetres had, or one or two fewer: inches are longer numbers.
        axis.set_major_locator(_InchTicks(nbins=max(2, len(axis.get_majorticklocs()) - 1), steps=[1, 2, 2.5, 5, 10]))
    axis.set_major_formatter(FuncFormatter(lambda mm, _: f"{round(mm / MM_PER_INCH, 6) + 0.0:g}".replace("-", "−")))
    return kept
