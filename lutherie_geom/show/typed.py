"""A number as it is typed, with a unit or without: for an answer, and for a slider that is moved from code.

    >>> number_typed("3/32 in", "mm")
    2.38125
    >>> number_typed("90 deg", "turns")
    0.25
"""

from __future__ import annotations

import math
import re

__all__ = ["number_typed"]

_ANGLE = {"rad": 1.0, "deg": math.pi / 180, "turn": math.tau}


def number_typed(text: str, unit: str) -> float:
    """The number that a text gives [unit]; without a unit of its own it is in the wanted one. Raises ValueError.

    unit  mm, in, rad, deg, turn, turns, N, or a plain unit such as mm/turn; "" for a plain number
    """
    from lutherie_geom.design.spread import read_value
    from lutherie_geom.design.units import INCH

    text = text.replace("\u2212", "-").replace("\u2013", "-").strip()
    if unit == "in":
        return read_value(text, "mm", unit) / INCH
    one = unit.removesuffix("s") if unit == "turns" else unit
    if one in _ANGLE:
        return read_value(re.sub(r"\bturns\b", "turn", text), "rad", one) / _ANGLE[one]
    return read_value(text, unit, unit)
