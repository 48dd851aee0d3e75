"""Strings as they are strung: a string set at a tuning, each string at the place of its course.

A course is one string, or two side by side (a twelve-string set on six courses). The design has one place at nut and saddle for
each course; both strings of a course are taken to lie there, in the course's middle. The set is one of the table, or the strings
that the design lists; so is the tuning.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

import numpy as np

from lutherie_geom.design.catalogue import CatalogueError, StringSpec, find, read_table, string_set
from lutherie_geom.design.own_strings import MOST, half_tones
from lutherie_geom.theory.intonation import pitch_ratio

__all__ = ["Strung", "string_problems", "strung", "tuning_names"]


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


def _own(design: Any) -> tuple[tuple[StringSpec, ...], list[int]]:
    """Strings that the design lists, and the course of each."""
    e, own = read_table("strings")["modulus"], design.strings.set
    said = [s.course for s in own]
    course = list(range(len(own))) if said == [None] * len(own) else [int(c or 0) - 1 for c in said]
    if course[0] != 0 or any(b - a not in (0, 1) for a, b in pairwise(course)):
        words = ", ".join("left out" if c is None else str(c) for c in said)
        raise CatalogueError(f"course is {words}; count up from 1, the bass, one by one, or leave it out everywhere")
    specs = (StringSpec(s.name or f"string {k}", s.mass, s.core_diameter, s.wound, s.pitch, e["middle"], e["low"], e["high"],
                        s.source, "given by you") for k, s in enumerate(own, 1))
    return tuple(specs), course


def _strings(design: Any) -> tuple[tuple[StringSpec, ...], list[int]]:
    """The strings as their set is meant, and the course of each."""
    fields = design.strings
    if fields.set:
        found, course = _own(design)
    else:
        sets = read_table("strings")["sets"]
        found = string_set(fields.gauges)
        each = sets[find(fields.gauges, sets, "string set")].get("strings_in_course", [1] * len(found))
        course = [int(i) for i in np.repeat(np.arange(len(each)), each)]
    if course[-1] + 1 != design.count:
        raise CatalogueError(f"{fields.called!r} has {course[-1] + 1} courses; the design has {design.count} places "
                             "at nut and saddle")
    return found, course


def _tuning(design: Any, found: tuple[StringSpec, ...], course: list[int]) -> tuple[list[float], str, str]:
    """Half tones up by course, the tuning's name, and what it is."""
    fields, table = design.strings, read_table("strings")["tunings"]
    if isinstance(fields.tuning, str):
        name = find(fields.tuning, table, "tuning")
        shift = table[name]
        return [shift["all"] + (shift["bass"] if c == 0 else 0) for c in range(design.count)], name, shift["about"]
    if len(fields.tuning) != design.count:
        raise CatalogueError(f"{fields.tuned} has {len(fields.tuning)} entries; the design has {design.count} courses")
    lowest = [min(s.pitch for s, at in zip(found, course, strict=True) if at == c) for c in range(design.count)]
    up = [half_tones(entry, low) for entry, low in zip(fields.tuning, lowest, strict=True)]
    for c, (n, entry) in enumerate(zip(up, fields.tuning, strict=True), 1):
        if abs(n) > MOST + 0.5:
            raise CatalogueError(f"{entry} for course {c} is {n:+.0f} half tones; allowed is -{MOST} to {MOST}")
    return up, fields.tuned, "given by you"


def strung(design: Any) -> Strung:
    """The design's strings at its tuning.

    Raises CatalogueError when there is no such set or tuning, when set or tuning have another number of courses than the design
    has places, or when a tuning moves a string too far.
    """
    found, course = _strings(design)
    up, name, about = _tuning(design, found, course)
    tuned = tuple(replace(s, pitch=s.pitch * float(pitch_ratio(half_tones=up[c]))) for s, c in zip(found, course, strict=True))
    return Strung(tuned, tuple(course), name, about)


def string_problems(design: Any) -> Iterator[tuple[str, str]]:
    """What is wrong with a design's own strings or its tuning: field and sentence. A set that the table lacks, or that has
    another number of courses, is told by the readings."""
    fields = design.strings
    try:
        found, course = _strings(design)
    except CatalogueError as e:
        if fields.set:
            yield "strings.set", str(e)
            return
        found, course = (), []
    try:
        if found or isinstance(fields.tuning, str):
            _tuning(design, found, course)
    except CatalogueError as e:
        yield "strings.tuning", str(e)
