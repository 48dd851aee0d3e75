"""An exercise as a builder with an inch ruler has it: lengths given and wanted in inches, screws still in millimetres.

The sizes drawn are those of the exercise in mm, rounded to a whole thousandth of an inch (small ones to a tenth of that), so
that what is read is exactly what the answer is worked out from. Pitches and diameters of screws stay metric: to know which
number is in which unit is part of the problem.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

from lutherie_geom.lessons.exercise import Exercise, Slip
from lutherie_geom.show.exercise import MM_PER_INCH

__all__ = ["in_inches"]

_TOLD = ("mm", "mm/rad", "N mm")
"""Units of an answer, or of a line of the working, that are told in inches."""


def _thousandths(mm: float) -> float:
    """A length [mm] at the next thousandth of an inch, under a tenth of an inch at the next tenth of that [mm]."""
    inches = mm / MM_PER_INCH
    return MM_PER_INCH * round(inches, 3 if abs(inches) >= 0.1 else 4)


def in_inches(e: Exercise) -> Exercise:
    """The exercise told in inches; the very same one where no inch ruler comes in (:attr:`Exercise.metric`)."""
    lengths = {n for n, d in e.given.items() if d.unit == "mm" and not d.metric}
    if e.metric or not lengths:
        return e
    given = {n: replace(d, values=tuple(map(_thousandths, d.values)), inches=True) if n in lengths else d
             for n, d in e.given.items()}
    also = {n: replace(a, digits=a.digits + 2, inches=True) if a.unit == "mm" else a for n, a in e.also.items()}
    wide = MM_PER_INCH if e.unit in _TOLD else 1.0

    def work(g: Any) -> Any:
        return tuple((w, v / MM_PER_INCH, u.replace("mm", "in")) if u in _TOLD else (w, v, u) for w, v, u in e.work(g))

    def slip(s: Slip) -> Slip:
        return replace(s, wrong=lambda g: s.wrong(g) / wide)

    asks = re.sub(r"\b(in|many) mm\b", r"\1 inches", e.asks)
    return replace(e, unit=e.unit.replace("mm", "in"), asks=asks, given=given, also=also, work=work,
                   slips=tuple(map(slip, e.slips)))

