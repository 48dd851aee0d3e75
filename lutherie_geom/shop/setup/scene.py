"""One step of a set-up, and the scene that the steps' words are made from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from lutherie_geom.joint.dimensions import Dimensions
from lutherie_geom.joint.pose import Pose, pose
from lutherie_geom.joint.travel import Travel, travel
from lutherie_geom.shop.setup.fitting import AsMeasured
from lutherie_geom.shop.setup.measured import Measured, words_of
from lutherie_geom.shop.setup.moves import Moves, Options
from lutherie_geom.shop.setup.shown import shown
from lutherie_geom.shop.setup.wanted import Wanted
from lutherie_geom.shop.words import length

__all__ = ["SMALL", "Instruction", "Scene"]

SMALL = 0.01
"""Less than this is not worth a word [mm]."""


@dataclass(frozen=True)
class Instruction:
    """One step. part: what is worked on; do: what to do; turns: signed, when it is a screw of the joint [turn]; expect: what
    the gauges show afterwards [mm], by key; disturbs, pitch, caution: what goes with it, or nothing."""

    part: str
    do: str
    expect: Mapping[str, float]
    turns: float | None = None
    disturbs: str = ""
    pitch: str = ""
    caution: str = ""

    def told(self, system: Any = "mm") -> str:
        """The step as it is printed."""
        seen = "; ".join(f"{words_of(k)} " + ("none: the string lies on the frets" if k.startswith("action") and v <= 0 else
                                               length(v, system)) for k, v in self.expect.items())
        parts = [f"{self.part}: {self.do}.", f"Careful: {self.caution}." if self.caution else "",
                 f"Expect: {seen}." if seen else "", f"It also {self.disturbs}." if self.disturbs else "",
                 f"Pitch: {self.pitch}." if self.pitch else ""]
        return " ".join(p for p in parts if p)

    def __str__(self) -> str:
        return self.told()


@dataclass
class Scene:
    """All that the words need: design (or what was learned of it), readings, target, the instrument as measured, with the relief
    set, and as it will be when the nut is done too; how far off an action may read and be surely inside [mm]; where the screws
    stand [turn], the move, whether the truss rod is asked; ``before_tilt``: mean action [mm] when all else is done, what a turn
    of the tilt screw adds [mm/turn], and the lower action [mm]."""

    design: Any
    readings: Measured
    want: Wanted
    options: Options
    measured: Dimensions
    rod_done: Dimensions
    set_: Dimensions
    sure_off: float
    now: np.ndarray
    move: Moves
    rod: bool
    before_tilt: tuple[float, float, float]

    @cached_property
    def travel(self) -> Travel:
        """Of the tilt screw, with all else as it will be."""
        end = self.now + self.move.turns
        bass, treble = float(end[1]), float(end[2])
        return travel(AsMeasured(self.design, self.filed), bass=bass, treble=treble, start=float(end[0]))

    @property
    def steers(self) -> bool:
        """A pivot screw is turned."""
        return bool((self.move.turns[1:] != 0).any())

    @property
    def filed(self) -> Dimensions:
        """With the saddle as it will be."""
        return self.set_.replaced(h_saddle=np.asarray(self.set_.h_saddle, dtype=float) + self.move.saddle)

    def keys(self) -> list[str]:
        """What is told after a step: the outer strings at the fret wanted, and what else was measured and moves."""
        base = [f"action.{self.want.fret}.bass", f"action.{self.want.fret}.treble"]
        return base + [k for k in self.readings if k.startswith(("margin", "gap"))]

    def shown(self, p: Pose, keys: list[str]) -> dict[str, float]:
        """What the gauges show [mm]."""
        read = shown(p, keys, self.design.handed)
        for k in (k for k in keys if k.startswith("margin")):  # a board of another width keeps its own margin
            first = shown(pose(self.measured, **self.at(self.now)), [k], self.design.handed)[k]
            read[k] = read[k] + self.readings.get(k) - first
        return {k: float(v) for k, v in read.items()}

    @staticmethod
    def at(t: np.ndarray) -> dict[str, float]:
        """Turns as arguments of a pose."""
        return dict(zip(("tilt", "bass", "treble"), map(float, t), strict=True))

    def length(self, mm: float) -> str:
        """A length in the design's own units."""
        return length(mm, self.design.units)
