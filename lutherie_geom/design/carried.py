# mypy: disable-error-code="valid-type"
"""What the joint is made of and what it must carry: woods, headstock, and the loads of handling."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from lutherie_geom.design.fields import Part, a_force, a_length, a_number

__all__ = ["Headstock", "Load", "Woods", "default_loads"]


class Woods(Part):
    """Woods by their names in ``data/tables/woods.toml``; the moisture they are used at; how the grain runs.

    Grain angles are between grain and the neck's axis x: the heel's grain runs along the neck, the block's across it.
    """

    neck: str = "true mahogany"
    block: str = "true mahogany"
    board: str = "indian rosewood"
    top: str = "sitka spruce"
    moisture: a_number("%", 3, 25) = 8.5
    block_grain: Literal["up", "across", "along"] = "up"


class Headstock(Part):
    """Where handling takes hold: from the nut to the headstock's end, and what the whole instrument weighs [kg]."""

    length: a_length(50, 350) = 180.0
    instrument_mass: a_number("kg", 0.5, 8) = 2.1
    neck_mass: a_number("kg", 0.1, 3) = 0.7


class Load(Part):
    """One load of handling on the neck, beside the strings' pull.

    ``push`` [N] in a ``direction`` at a place on the neck: sideways to the treble, back (away from the strings), forward
    (toward the player's view of the strings), along (away from the body). ``weights``: how many times the instrument's
    weight is added to the push. ``strings``: whether they are at pitch.
    """

    name: str = Field(min_length=1, max_length=80)
    push: a_force(0, 3000) = 0.0
    weights: a_number("times the weight", 0, 10) = 0.0
    direction: Literal["sideways", "back", "forward", "along"] = "back"
    at: Literal["headstock end", "nut", "middle of the neck"] = "headstock end"
    strings: Literal["at pitch", "off"] = "at pitch"

    def __str__(self) -> str:
        weights = f" + {self.weights:g} weights" if self.weights else ""
        return f"{self.name}: {self.push:g} N{weights}, {self.direction} at the {self.at}, strings {self.strings}"


def default_loads() -> list[Load]:
    """What every neck meets: common practice, no source for the sizes."""
    return [
        Load(name="pushed to the treble", push="50 N", direction="sideways"),
        Load(name="pushed back", push="50 N", direction="back"),
        Load(name="pulled forward", push="50 N", direction="forward"),
        Load(name="hung by the neck, with a jerk", weights=2, direction="along", at="middle of the neck"),
        Load(name="held out level by the neck, face down, with a jerk", weights=2, direction="back", at="middle of the neck"),
        Load(name="strings off, laid on its back", weights=0, direction="back", strings="off"),
    ]
