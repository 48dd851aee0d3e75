"""Strings as they are strung: a string set at a tuning, each string at the place of its course.

A course is one string, or two side by side (a twelve-string set on six courses). The design has one place at nut and saddle for
each course; both strings of a course are taken to lie there, in the course's middle.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from lutherie_geom.design.catalogue import CatalogueError, StringSpec, find, read_table, string_set

__all__ = ["Strung", "strung", "tuning_names"]


@dataclass(frozen=True)
class Strung:
    """Strings bass to treble, their pitches [Hz] at the tuning, and the course of each (0 is the bass course)."""

    strings: tuple[StringSpec, ...]
    course: tuple[int, ...]
    tuning: str
    about: str


def tuning_names() -> list[str]:
    """The tunings that the table knows."""
    return list(read_table("strings")["tunings"])


def strung(design: Any) -> Strung:
    """The design's string set at its tuning.

    Raises CatalogueError when there is no such set or tuning, or when the set has another number of courses than the design
    has places.
    """
    table, fields = read_table("strings"), design.strings
    found = string_set(fields.gauges)
    each = table["sets"][find(fields.gauges, table["sets"], "string set")].get("strings_in_course", [1] * len(found))
    if len(each) != design.count:
        raise CatalogueError(f"{fields.gauges!r} has {len(each)} courses; the design has {design.count} places "
                             "at nut and saddle")
    name = find(fields.tuning, table["tunings"], "tuning")
    shift = table["tunings"][name]
    course = tuple(int(i) for i in np.repeat(np.arange(len(each)), each))
    half_tones = [shift["all"] + (shift["bass"] if c == 0 else 0) for c in course]
    tuned = tuple(replace(s, pitch=s.pitch * 2 ** (n / 12)) for s, n in zip(found, half_tones, strict=True))
    return Strung(tuned, course, name, shift["about"])
