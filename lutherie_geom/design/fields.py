# mypy: disable-error-code="valid-type"
"""Kinds of fields that a design is made of: text with a unit in, mm, rad, N out, with the range that can be built."""

from __future__ import annotations

import math
from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from lutherie_geom.design.units import parse_angle, parse_force, parse_length

__all__ = ["Part", "a_force", "a_length", "a_number", "a_radius", "an_angle"]


def told(value: Any, shown: float, unit: str) -> str:
    """What was written, and what that is in ``unit`` where it does not say so itself."""
    try:
        same = math.isclose(float(str(value).removesuffix(unit)), shown)
    except ValueError:
        same = False
    return f"{shown:.6g} {unit}" if same else f"{value} is {shown:.6g} {unit}"


def checked(parse: Any, unit: str, low: float, high: float, scale: float = 1.0) -> Any:
    """Reads with ``parse`` and refuses what lies outside the limits, said in ``unit``."""
    def read(value: Any) -> float:
        number = float(parse(value))
        shown = number / scale
        if not low <= shown <= high:
            raise ValueError(f"{told(value, shown, unit)}; allowed is {low:g} to {high:g} {unit}")
        return number

    return BeforeValidator(read)


def a_length(low: float, high: float) -> Any:
    """A length [mm] between the limits [mm]."""
    return Annotated[float, checked(parse_length, "mm", low, high), Field(json_schema_extra={"unit": "mm"})]


def a_radius() -> Any:
    """A radius of the board [mm], infinite for ``flat``."""
    def parse(value: Any) -> float:
        return math.inf if value == "flat" else parse_length(value)

    def read(value: Any) -> float:
        number = float(parse(value))
        if not (200 <= number <= 1e6 or value == "flat"):  # a kilometre: past it the square of the radius tells nothing
            raise ValueError(f"{told(value, number, 'mm')}; allowed is 200 to 1000000 mm, or 'flat'")
        return number

    return Annotated[float, BeforeValidator(read), Field(json_schema_extra={"unit": "mm"})]


def an_angle(low: float, high: float) -> Any:
    """An angle [rad] between the limits [deg]."""
    return Annotated[float, checked(parse_angle, "deg", low, high, math.pi / 180), Field(json_schema_extra={"unit": "rad"})]


def a_number(unit: str, low: float, high: float) -> Any:
    """A plain number in a unit that goes without saying, between the limits."""
    def parse(value: Any) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise ValueError(f"{value!r} is not a plain number ({unit})")
        return float(value)

    return Annotated[float, checked(parse, unit, low, high), Field(json_schema_extra={"unit": unit})]


def a_force(low: float, high: float) -> Any:
    """A force [N] from ``50 N`` or ``11 lbf``, between the limits [N]."""
    return Annotated[float, checked(parse_force, "N", low, high), Field(json_schema_extra={"unit": "N"})]


class Part(BaseModel):
    """A part of the design: frozen, no unknown keys, prints its own sheet."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    def __str__(self) -> str:
        from lutherie_geom.design.sheet import part_sheet

        return part_sheet(self)

    __repr__ = __str__
