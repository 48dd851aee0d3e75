"""Numbers as they may be printed: only the digits that another run, with another seed, would print again.

JCGM 101 (7.9.2, from memory) calls a result stable when twice its standard error is within half a unit of the last digit:
that digit is then right to one, and may still be another in the next run. Here it must come out the same. A rounded number
changes when it lies near enough to a half: two runs differ by 1.13 standard errors on average (2/sqrt(pi), normal errors), so
that with a last digit worth :data:`STEADY` of them fewer than 1.13/25 of all numbers, 4.5 in 100, are printed otherwise.

The error itself must be steady, or the number of digits is not: take those of a :class:`~lutherie_geom.studies.tally.Tally`
(``mean_error``, ``share_error``, ``quantile_error``). An error from the 32 parts of a run swings by an eighth; it would change
the number of digits in 6 of 100.
"""

from __future__ import annotations

import math
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Any

import numpy as np

from lutherie_geom.design.units import convert, format_short

__all__ = ["NOT_KNOWN", "STEADY", "decimals", "plain_pair", "stable_digits", "stable_pair"]

STEADY = 25.0
"""Standard errors [1] that one unit of the last printed digit is worth, at the least."""
NOT_KNOWN = "not known"


def decimals(error: float, most: int = 6) -> int:
    """Digits behind the point that a standard ``error`` [any unit] supports, at most ``most``; negative for tens, hundreds."""
    if not error >= 0:
        raise ValueError(f"error is {error!r}: give a standard error of 0 or more, in the unit of the value")
    if isinstance(most, bool) or not isinstance(most, int) or not -9 <= most <= 15:
        raise ValueError(f"most is {most!r}: give a whole number of decimals from -9 to 15")
    return most if error == 0 else min(most, math.floor(-math.log10(STEADY * error)))


def stable_digits(value: float, error: float, *, most: int = 6) -> str:
    """The ``value`` with the digits that its standard ``error`` [same unit] supports, and at most ``most`` decimals.

    ``most`` is what the reader has use for: 2 for a gap in mm, 1 for a share in per cent. A value of which not even the first
    digit stands (or that is nan, or whose error is not finite) prints as "not known"; one good to tens only says "about".

    >>> stable_digits(2.34567, 0.0002), stable_digits(2.34567, 0.0002, most=1), stable_digits(17.3, 0.1), stable_digits(0.02, 0.1)
    ('2.35', '2.3', 'about 20', 'not known')
    """
    value, error = float(value), float(error)
    if math.isnan(value) or math.isnan(error) or math.isinf(error):
        return NOT_KNOWN
    if math.isinf(value):
        raise ValueError(f"value is {value}: give a finite number")
    last = decimals(error, most)
    step = Decimal(1).scaleb(-last)
    rounded = Decimal(value).quantize(step, rounding=ROUND_HALF_EVEN)
    if rounded == 0:
        # A nought says "less than half of this" only when its place is one that was asked for, or at least behind the point.
        return f"{abs(rounded):f}" if last == most or last >= 0 else NOT_KNOWN
    return f"{'about ' if last < 0 else ''}{rounded:f}"


def plain_pair(pair: Any, system: Any = "mm") -> str:
    """From one length to another [mm in], in hundredths of a millimetre or thousandths of an inch, without the unit."""
    low, high = (float(v) for v in pair)
    if math.isnan(low + high):
        return "no setting" if math.isnan(low) and math.isnan(high) else NOT_KNOWN
    return " to ".join(format_short(v, system).split(" ")[0] for v in (low, high))


def stable_pair(pair: Any, error: Any, system: Any = "mm") -> str:
    """The same in the digits that their standard errors [mm] support."""
    most = 2 if system == "mm" else 3
    ends = [stable_digits(convert(v, system), convert(e, system), most=most)
            for v, e in zip(np.ravel(pair).tolist(), np.ravel(error).tolist(), strict=True)]
    return NOT_KNOWN if set(ends) == {NOT_KNOWN} else " to ".join(ends)
