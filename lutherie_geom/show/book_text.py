"""Numbers and verdicts of the joint book as text, in the reader's units."""

from __future__ import annotations

import re
from typing import Any

from lutherie_geom.design.units import INCH, format_length
from lutherie_geom.joint.reading import Reading

__all__ = ["STATES", "show_table", "show_value", "show_words", "verdict_words"]

# The word and the sign say it; colour only helps.
STATES = {"fails": "\u2717 fails", "tight": "\u25b3 tight", "good": "\u2713 good"}


def _plain(text: str) -> str:
    return text.lstrip("-") if text.startswith("-") and not text.strip("-0.") else text


def _digits(unit: str, biggest: float) -> int:
    if unit == "in":
        return 4 if biggest < 10 else 3
    if unit.startswith("per "):
        return 4
    few = {"mm": 3 if biggest < 20 else 2, "turn": 3, "deg": 3, "cent": 2, "N": 0 if biggest >= 10 else 2,
           "times": 2 if biggest < 10 else 1, "N m": 2, "J": 2, "%": 1, "Hz": 0, "g": 0}.get(unit)
    if few is None:
        few = max(0, 4 - len(str(int(biggest)))) if biggest >= 1 else 4
    return few + 2 if 0 < biggest < 0.01 and unit not in ("N", "in", "turn") else few


def _number(value: float, unit: str, biggest: float | None = None) -> str:
    return _plain(f"{value:.{_digits(unit, abs(value) if biggest is None else biggest)}f}")


def show_value(value: Any, unit: str, system: str = "mm") -> str:
    """A reading's value as text: lengths given in mm as mm or inches with fractions, other units as they are."""
    if isinstance(value, list | tuple):
        if unit == "mm" and system == "inch":
            return ", ".join(show_value(v, unit, system) for v in value)
        floats = [v for v in value if isinstance(v, float)]
        biggest = max(map(abs, floats), default=0.0)
        few = (4 if 0 < biggest < 0.1 else 2) if unit in ("mm", "deg") else _digits(unit, biggest)
        shown = [_plain(f"{v:.{few}f}") if isinstance(v, float) else str(v) for v in value]
        return f"{', '.join(shown)} {unit}".rstrip()
    if isinstance(value, bool) or not isinstance(value, int | float):
        return str(value)
    small = 0 < abs(value) < 0.1
    if unit == "mm" and system == "inch":
        # Less than half of the finest fraction: the fraction would say 0.
        tiny = 0 < abs(value) < INCH / 128
        return f"{_plain(f'{value / INCH:.4f}')} in" if tiny else format_length(float(value), "inch", 3)
    if unit in ("mm", "deg"):
        return f"{_plain(f'{value:.{4 if small else 2}f}')} {unit}"
    if unit == "turn":
        return f"{_number(float(value), unit)} turns"
    if isinstance(value, int):
        return f"{value} {unit}".rstrip()
    return f"{_number(value, unit)} {unit}".rstrip()


def show_words(text: str, system: str) -> str:
    """Lengths inside a sentence (``0.25 mm``) in the reader's system."""
    if system == "mm":
        return text
    return re.sub(r"(?<![\w.])(-?\d+(?:\.\d+)?) mm\b", lambda m: show_value(float(m[1]), "mm", "inch"), text)


def show_table(reading: Reading, system: str) -> tuple[list[str], list[list[str]]]:
    """Heads and rows of a table as text; every column has one number of decimals."""
    inch = system == "inch"
    rows = [list(row) for row in reading.value]
    units = [u for _, u in reading.columns]
    for row in rows:  # rows that name their own unit: "advance [mm]"
        if inch and isinstance(row[0], str) and "[mm]" in row[0]:
            row[0] = row[0].replace("[mm]", "[in]")
            row[1:] = [v / INCH if isinstance(v, float) else v for v in row[1:]]
    shown: list[list[str]] = [[] for _ in rows]
    for k, unit in enumerate(units):
        column = [row[k] for row in rows]
        if unit == "mm" and inch:
            column, unit = [v / INCH if isinstance(v, int | float) else v for v in column], "in"
        floats = [abs(v) for v in column if isinstance(v, float)]
        whole = unit == "" and all(v == int(v) for v in floats)
        for place, v in zip(shown, column, strict=True):
            if isinstance(v, float):
                place.append(str(int(v)) if whole else _number(v, unit, max(floats)))
            else:
                place.append(show_words(str(v), system))
        units[k] = unit
    heads = [f"{name} [{u}]" if u and not name.startswith("turn") else name
             for (name, _), u in zip(reading.columns, units, strict=True)]
    return heads, shown


def verdict_words(reading: Reading, system: str) -> str:
    """What is provided against what is required, as a sentence."""
    v = reading.verdict
    if v is None:
        return ""
    bound = "at least" if v.margin == v.provided - v.required else "at most"
    need = f"{show_value(v.provided, reading.unit, system)}; must be {bound} {show_value(v.required, reading.unit, system)}"
    if v.state == "fails":
        return f"{need}; missing: {show_value(abs(v.margin), reading.unit, system)}"
    of = f" of the {show_value(v.room, reading.unit, system)} wanted" if v.state == "tight" else ""
    return f"{need}; in hand: {show_value(v.margin, reading.unit, system)}{of}"
