"""One slider of a hand sheet: its range, its words, and the field of the design file that it is."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

import ipywidgets

from lutherie_geom.show.inches import inch_unit, number_in_inches
from lutherie_geom.show.style import label as with_unit
from lutherie_geom.show.typed import number_typed

__all__ = ["Control", "Written"]

# Fields of the design file, each with what is written there, made from the values of all sliders (by name, in their units).
Written = tuple[str, Callable[[dict[str, float]], Any]]


@dataclass(frozen=True)
class Control:
    """One slider. ``start``, ``low``, ``high`` and ``step`` are in ``unit``, the unit that ``update`` is handed.

    field  the field of the design file that the slider is (``"tongue.gap"``), written there in ``unit``; or a pair of the field
           and a function that makes its text with unit from the values of all sliders; or several such pairs; or nothing
    """

    name: str
    label: str
    start: float
    low: float
    high: float
    step: float
    unit: str = "mm"
    field: str | Written | tuple[Written, ...] = ()

    def __post_init__(self) -> None:
        if not self.low <= self.start <= self.high or self.low == self.high:
            raise ValueError(f"{self.label}: the start {self.start} {self.unit} must lie between {self.low} and {self.high}")
        if not 0 < self.step <= self.high - self.low:
            raise ValueError(f"{self.label}: a step of {self.step} {self.unit} does not fit between {self.low} and {self.high}")

    @property
    def decimals(self) -> int:
        """Digits behind the point that show every step (no unit); five at most."""
        exponent = Decimal(repr(round(self.step, 5))).normalize().as_tuple().exponent
        return max(0, -exponent) if isinstance(exponent, int) else 0

    def value_of(self, given: float | str) -> float:
        """The value [unit] that a reader gives from code: a number in ``unit``, or a text with a unit of its own.

        Raises ValueError for what is no finite number or lies outside the slider's ends; it names label, value, unit and ends.
        """
        told, why = f"{given!r}" if isinstance(given, str) else f"{given} {self.unit}".rstrip(), ""
        value = math.nan
        try:
            if not isinstance(given, bool):
                value = number_typed(given, self.unit) if isinstance(given, str) else float(given)
        except (TypeError, ValueError) as e:
            why = f". {e}" if isinstance(given, str) else ""
        room = 1e-9 * (self.high - self.low)  # an end worked out in another way is still the end
        if not self.low - room <= value <= self.high + room:  # nan lies nowhere
            raise ValueError(f"{self.label}: {told}; allowed is {self.low:g} to {self.high:g} {self.unit}".rstrip() + why)
        return value

    def written(self, values: dict[str, float]) -> dict[str, Any]:
        """What stands in the design file for these values of all sliders (by name, in their units)."""
        if isinstance(self.field, str):
            return {self.field: f"{values[self.name]:.6g} {self.unit}".rstrip()}
        pairs: Any = (self.field,) if self.field and isinstance(self.field[0], str) else self.field
        return {field: text(values) for field, text in pairs}

    def slider(self) -> ipywidgets.FloatSlider:
        """The slider at its start, its label in ``unit``."""
        slider = ipywidgets.FloatSlider(
            value=self.start, min=self.low, max=self.high, step=self.step, readout_format=f".{self.decimals}f",
            continuous_update=True, layout=ipywidgets.Layout(width="100%", max_width="44em"),
        )  # fmt: skip
        self.label_slider(slider, "mm")
        return slider

    def label_slider(self, slider: ipywidgets.FloatSlider, units: str) -> None:
        """Tell a length in ``units`` ("mm" or "inch"). The slider stays in ``unit``: in inches its number stands in the label."""
        inches = inch_unit(self.unit) if units == "inch" else None
        slider.readout = inches is None
        slider.style.description_width = "24em" if units == "inch" else "16em"
        number = number_in_inches(slider.value, self.decimals)
        slider.description = f"{self.label} {number} {inches}" if inches else with_unit(self.label, self.unit)
