"""Limits that a finished joint must meet, whatever its parts' errors: the builder's own window for each reading."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BeforeValidator, Field

from lutherie_geom.design.fields import Part, a_length

__all__ = ["Limits", "Window"]


class Window(Part):
    """From ``low`` to ``high`` [mm]; the target is the middle."""

    low: float
    high: float

    def __str__(self) -> str:
        return f"{self.low:g} to {self.high:g} mm"

    @property
    def target(self) -> float:
        """Middle of the window [mm]."""
        return (self.low + self.high) / 2

    @property
    def half(self) -> float:
        """Half its width [mm]."""
        return (self.high - self.low) / 2


def _window(value: Any) -> Any:
    if isinstance(value, Window):
        return value
    from lutherie_geom.design.spread import SpreadError, read_spread

    try:
        s = read_spread(value)
    except SpreadError as e:
        raise ValueError(str(e)) from None
    middle = 0.0 if s.absolute or s.nominal is None else s.nominal
    if not s.low < s.high:
        raise ValueError(f"{value!r} leaves no window; its low end must lie below its high end")
    return Window(low=middle + s.low, high=middle + s.high)


_Window = Annotated[Window, BeforeValidator(_window)]


class Limits(Part):
    """What every instrument built to this design must meet, turned to its best if need be.

    Action windows at ``fret``; ``centring``: how far the strings may run off the board's middle at the last fret, to treble;
    least gap under the tongue, least reveal, least floor clearance of the heel, least string edge margin at the last fret.
    A window left out is not asked for, but for the action: then it is the design's own action and ``± 0.25 mm``.
    """

    fret: int = Field(default=12, ge=1, le=30)
    action_bass: _Window | None = None
    action_treble: _Window | None = None
    centring: _Window = Window(low=-0.5, high=0.5)
    least_gap: a_length(0, 5) = 0.1  # type: ignore[valid-type]
    least_reveal: a_length(0, 5) = 0.2  # type: ignore[valid-type]
    least_floor: a_length(0, 5) = 0.05  # type: ignore[valid-type]
    least_margin: a_length(0, 10) = 2.0  # type: ignore[valid-type]
