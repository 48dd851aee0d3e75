"""Data sheets: how a design and its parts print themselves, each number with its unit."""

from __future__ import annotations

import math
from typing import Any


def _value(value: Any, unit: str) -> str:
    if value is None:
        return "to be computed"
    if isinstance(value, list) and not value:
        return "none"
    if isinstance(value, list):
        return ", ".join(_value(v, "") for v in value) + (f" {unit}" if unit else "")
    if isinstance(value, float):
        if unit == "rad":
            return f"{math.degrees(value):.4g} deg"
        return ("flat" if math.isinf(value) else f"{value:.6g}") + (f" {unit}" if unit and not math.isinf(value) else "")
    return str(value)


def _unit(field: Any) -> str:
    extra = field.json_schema_extra
    if isinstance(extra, dict) and "unit" in extra:
        return str(extra["unit"])
    for m in getattr(field, "metadata", ()):
        extra = getattr(m, "json_schema_extra", None)
        if isinstance(extra, dict):
            return str(extra.get("unit", ""))
    return "mm"


def part_sheet(part: Any, indent: str = "") -> str:
    """Text sheet of a design or one of its parts."""
    from pydantic import BaseModel

    from lutherie_geom.design.fields import Part

    lines = []
    for name, field in type(part).model_fields.items():
        value = getattr(part, name)
        if isinstance(value, BaseModel) and type(value).__str__ is Part.__str__:
            lines.append(f"{indent}{name}")
            lines.append(part_sheet(value, indent + "  "))
        elif isinstance(value, list) and value and isinstance(value[0], BaseModel):
            lines += [f"{indent}{name}", *(f"{indent}  {v}" for v in value)]
        else:
            unit = _unit(field) if isinstance(value, float | list) else ""
            lines.append(f"{indent}{name:<20} {_value(value, unit)}")
    return "\n".join(lines)
