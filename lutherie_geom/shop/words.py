"""How a turn is told: as a part of a turn, on the face of a clock, and from which side it is approached."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import numpy as np

from lutherie_geom.design.units import convert, format_length

__all__ = ["amount", "clock", "length", "told"]

_LEAST_FRACTION = 25.4 / 32  # mm: smaller ones are told in thousandths

_SPOKEN = {Fraction(1, 2): "half a turn", Fraction(1, 4): "a quarter turn", Fraction(3, 4): "three quarters of a turn",
           Fraction(1, 8): "an eighth of a turn", Fraction(1, 1): "one full turn", Fraction(1, 3): "a third of a turn"}


def length(mm: float, system: Any = "mm") -> str:
    """A length [mm] as it is told at the bench: mm, or inches in fractions where they are large enough, else in thousandths."""
    if system == "inch" and abs(mm) < _LEAST_FRACTION:
        return f"{round(convert(mm, 'inch'), 3) + 0.0:.3f} in"
    return format_length(mm, system)


def _fraction(turns: float) -> Fraction:
    return abs(Fraction(float(turns)).limit_denominator(192))


def amount(turns: float) -> str:
    """A turn as it is said, without its sense: ``a quarter turn``, ``5/24 turn``, ``1 1/8 turns``."""
    part = _fraction(turns)
    if part in _SPOKEN:
        return _SPOKEN[part]
    whole, rest = divmod(part, 1)
    if not whole:
        return f"{rest} turn"
    return f"{whole} {rest} turns" if rest else f"{whole} turns"


def _hour(at: Fraction) -> str:
    """Where the key's arm points, ``at`` turns clockwise of 12."""
    minutes = round(at % 1 * 720)
    hour, minute = divmod(minutes, 60)
    hour = hour or 12
    return f"{hour} o'clock" if minute == 0 else f"half past {hour}" if minute == 30 else f"{hour}:{minute:02d}"


def clock(turns: float, clockwise: bool, start: float = 0.0) -> str:
    """The same on a clock face on which the hour hand is the key: ``12 o'clock to 3 o'clock``; ``start`` in turns
    clockwise of 12."""
    part, begun = _fraction(turns), Fraction(float(start)).limit_denominator(192)
    end = begun + (part if clockwise else -part)
    rounds = {0: "", 1: "once round, then on ", 2: "twice round, then on "}.get(int(part), f"{int(part)} times round, then on ")
    return f"{_hour(begun)} {rounds}{'to' if clockwise else 'back to'} {_hour(end)}"


def told(turns: float, last: float, over: Fraction, positive_way: str, negative_way: str) -> str:
    """A signed turn in words, ending in the sense of ``last`` (+1 or -1), by ``over`` [turn] past the mark and back if need be.

    ``positive_way`` and ``negative_way``: as :func:`lutherie_geom.joint.turning.way` says them.
    """
    ways = {1: positive_way, -1: negative_way}
    sense = int(np.sign(turns)) or 1
    first = turns if sense == last and abs(turns) >= float(over) else turns - last * float(over)
    rest = turns - first
    if abs(first) < 1e-9:
        first, rest = turns, 0.0

    def leg(by: float, start: float, seen: bool) -> str:
        way = ways[int(np.sign(by))]
        clockwise = way.startswith("clockwise")
        return f"{amount(by)} {way if seen else way.split(',')[0]} ({clock(by, clockwise, start)})"

    if not rest:
        return leg(first, 0.0, True)
    stands = abs(first) if ways[int(np.sign(first))].startswith("clockwise") else -abs(first)
    return f"{leg(first, 0.0, True)}, then come back {leg(rest, stands, False)} to take up the play"
