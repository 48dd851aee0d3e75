"""Standard tolerances by size: the grades of ISO 286-1 and the general tolerances of ISO 2768-1, each with its source.

Neither standard was open; ``data/tables/grades.toml`` says where the numbers were read.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from typing import Any

from lutherie_geom.design.catalogue import find, read_table
from lutherie_geom.design.spread import Spread, SpreadError

__all__ = ["general_half", "grade_width", "standard_spread"]


def _step(size: Any, steps: Sequence[Sequence[float]], what: str) -> int:
    ok = isinstance(size, int | float) and not isinstance(size, bool) and math.isfinite(size)
    for k, (low, high) in enumerate(steps):
        if ok and (low < size <= high or (k == 0 and size == low)):
            return k
    raise SpreadError(f"{what}: size {size!r} mm must be from {steps[0][0]:g} to {steps[-1][1]:g} mm")


def grade_width(name: str, size: float) -> float:
    """Width [mm] from limit to limit of a grade such as ``IT11`` at a ``size`` [mm], as tabulated (rounded).

    CatalogueError for a grade, SpreadError for a size that is not in the table.
    """
    table = read_table("grades")["grades"]
    found = find(name, table["names"], "tolerance grade")
    row = table["steps"][_step(size, [s["size"] for s in table["steps"]], found)]
    return float(row["widths"][table["names"].index(found)]) / 1000.0


def general_half(name: str, size: float) -> float:
    """Half [mm], the number after ±, of general tolerance class ``f``, ``m`` or ``c`` at a ``size`` [mm].

    CatalogueError for a class, SpreadError for a size that is not in the table.
    """
    table = read_table("grades")["general"]
    found = find(name, table["classes"], "general tolerance class")
    return float(table["classes"][found][_step(size, table["steps"], f"ISO 2768 {found}")])


def standard_spread(text: str, size: float | None) -> Spread | None:
    """The spread meant by ``IT11`` or ``ISO 2768 m`` at a ``size`` [mm], limits and nothing beyond; None for other text."""
    grade = re.fullmatch(r"\s*IT\s*(\d+)\s*", text, re.IGNORECASE)
    general = re.fullmatch(r"\s*ISO\s*2768(?:-1)?[\s-]*(\w+)\s*", text, re.IGNORECASE)
    if not grade and not general:
        return None
    if size is None:
        raise SpreadError(f"{text!r}: goes by the size of the feature; give the size in mm")
    half = grade_width(f"IT{grade[1]}", size) / 2 if grade else general_half(general[1] if general else "", size)
    return Spread.plus_minus(half, "rectangular")
