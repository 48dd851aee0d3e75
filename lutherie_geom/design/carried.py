# mypy: disable-error-code="valid-type"
"""What the joint is made of and what it must carry: woods, headstock, and the loads of handling."""

from __future__ import annotations

import math
from typing import Literal

from pydantic import Field

from lutherie_geom.design.fields import Part, a_force, a_length, a_number, an_angle

__all__ = ["Headstock", "Load", "MOST_PUSH", "Woods", "default_loads"]


class Woods(Part):
    """Woods by their names in ``data/tables/woods.toml``; the moisture they are used at; how the grain runs.

    The block's grain runs as ``block_grain`` says and leans out of it by ``block_runout``: upright or crossing grain toward the
    neck's axis x, grain along that axis upward. The heel's grain runs along the neck and out of it by ``heel_runout``, up or
    down: which way is not asked, the worse counts.
    """

    neck: str = "true mahogany"
    block: str = "true mahogany"
    board: str = "indian rosewood"
    top: str = "sitka spruce"
    moisture: a_number("%", 3, 25) = 8.5
    block_grain: Literal["up", "across", "along"] = "up"
    block_runout: an_angle(0, 45) = 0.0
    heel_runout: an_angle(0, 45) = 0.0

    def block_angle(self, x: float, y: float, z: float) -> float:
        """Angle [rad] between the block's grain and a direction in the body frame, 0 to pi/2."""
        out, on = math.sin(self.block_runout), math.cos(self.block_runout)
        grain = {"up": (out, 0.0, on), "across": (out, on, 0.0), "along": (on, 0.0, out)}[self.block_grain]
        part = abs(sum(a * b for a, b in zip(grain, (x, y, z), strict=True))) / math.hypot(x, y, z)
        return math.acos(min(1.0, part))

    @property
    def block_said(self) -> str:
        """The block's wood and grain in words."""
        lean = f", {math.degrees(self.block_runout):g} deg out" if self.block_runout else ""
        return f"{self.block}, grain {self.block_grain}{lean}"

    @property
    def heel_said(self) -> str:
        """The heel's wood, and its grain in words where it runs out."""
        return self.neck + (f", grain {math.degrees(self.heel_runout):g} deg out" if self.heel_runout else "")


class Headstock(Part):
    """Where handling takes hold: from the nut to the headstock's end, and what the whole instrument weighs [kg]."""

    length: a_length(50, 350) = 180.0
    instrument_mass: a_number("kg", 0.5, 8) = 2.1
    neck_mass: a_number("kg", 0.1, 3) = 0.7


MOST_PUSH = 3000.0
"""Largest push that a design file takes [N]."""


class Load(Part):
    """One load of handling on the neck, beside the strings' pull.

    ``push`` [N] in a ``direction`` at a place on the neck: to the bass, to the treble, sideways (both of these are asked, each
    by itself), back (away from the strings), forward (toward the player's view of the strings), along (away from the body).
    ``weights``: how many times the instrument's weight is added to the push: the hand that lifts it. ``lies``: which way the
    neck's own weight pulls when nothing lifts it. ``strings``: whether they are at pitch.
    """

    name: str = Field(min_length=1, max_length=80)
    push: a_force(0, MOST_PUSH) = 0.0
    weights: a_number("times the weight", 0, 10) = 0.0
    direction: Literal["to the bass", "to the treble", "sideways", "back", "forward", "along"] = "back"
    at: Literal["headstock end", "nut", "middle of the neck"] = "headstock end"
    lies: Literal["on its back", "face down"] = "on its back"
    strings: Literal["at pitch", "off"] = "at pitch"

    @property
    def ways(self) -> list[Load]:
        """The load as it is asked: itself, or one to each side when it goes sideways."""
        if self.direction != "sideways":
            return [self]
        return [self.model_copy(update={"direction": to, "name": f"{self.name}, {to}"})
                for to in ("to the bass", "to the treble")]

    def __str__(self) -> str:
        weights = f" + {self.weights:g} weights" if self.weights else ""
        lies = f", {self.lies}" if self.lies != "on its back" else ""
        return f"{self.name}: {self.push:g} N{weights}, {self.direction} at the {self.at}{lies}, strings {self.strings}"


def default_loads() -> list[Load]:
    """What every neck meets: common practice, no source for the sizes.

    Lifted face down, the hand presses the neck back: with the strings off nothing but washer spring and cover holds against it.
    """
    lifted = {"weights": 2, "direction": "back", "at": "middle of the neck"}
    return [
        Load(name="pushed to the bass", push="50 N", direction="to the bass"),
        Load(name="pushed to the treble", push="50 N", direction="to the treble"),
        Load(name="pushed back", push="50 N", direction="back"),
        Load(name="pulled forward", push="50 N", direction="forward"),
        Load(name="lifted by the neck, body hanging, with a jerk", weights=2, direction="along", at="middle of the neck"),
        Load(name="lifted by the neck, face down, with a jerk", **lifted),
        Load(name="lying face down", lies="face down"),
        Load(name="strings off, lying on its back", strings="off"),
        Load(name="strings off, lifted by the neck, face down, with a jerk", strings="off", **lifted),
    ]
