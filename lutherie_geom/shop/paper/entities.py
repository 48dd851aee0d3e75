"""What a drawing is made of: lines, paths, circles, arcs, words, dimensions and datum marks, in mm, on named layers.

Line styles and widths follow ISO 128, lettering heights ISO 3098 (both from memory); names of layers are the library's own.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

from lutherie_geom.design.units import System, convert

__all__ = ["LAYERS", "Arc", "Circle", "Datum", "Dimension", "Entity", "Layer", "Line", "Path", "Point", "Primitive", "Text",
           "measure", "mirrored", "moved", "polar"]


@dataclass(frozen=True)
class Layer:
    """A layer: what is on it, line width [mm], dashes [mm] (drawn, left out, ...), colour (hex) and its AutoCAD colour index."""

    words: str
    width: float
    dashes: tuple[float, ...] = ()
    colour: str = "#000000"
    index: int = 7


_DASHED, _CHAIN, _TWO_DOTS = (3.0, 1.0), (6.0, 1.0, 0.3, 1.0), (6.0, 1.0, 0.3, 1.0, 0.3, 1.0)
LAYERS: dict[str, Layer] = {
    "cut": Layer("edges to cut", 0.5),
    "hole": Layer("holes to drill, their true diameter", 0.35, colour="#0072B2", index=5),
    "part": Layer("edges of the finished part, and of neighbours", 0.25, _TWO_DOTS, "#8a5a2b", 32),
    "hidden": Layer("edges behind", 0.25, _DASHED, "#5c6166", 8),
    "centre": Layer("centre lines", 0.18, _CHAIN, "#D55E00", 30),
    "dimension": Layer("dimensions", 0.18, colour="#30343a", index=250),
    "datum": Layer("datum marks: measure from here", 0.35, colour="#009E73", index=3),
    "text": Layer("words", 0.18),
    "caution": Layer("cautions", 0.35, colour="#7a3b00", index=1),
    "frame": Layer("frame and title block", 0.5),
    "scale": Layer("bars of 100 mm and 4 in", 0.35),
    "registration": Layer("marks where sheets meet", 0.18, colour="#CC79A7", index=6),
}
Point = tuple[float, float]


@dataclass(frozen=True)
class Line:
    """A straight line from (x1, y1) to (x2, y2) [mm]."""

    layer: str
    x1: float
    y1: float
    x2: float
    y2: float


@dataclass(frozen=True)
class Path:
    """Straight pieces through points [mm], closed or not; ``filled``: the inside in the layer's colour."""

    layer: str
    points: tuple[Point, ...]
    closed: bool = False
    filled: bool = False


@dataclass(frozen=True)
class Circle:
    """A circle [mm]."""

    layer: str
    x: float
    y: float
    radius: float


@dataclass(frozen=True)
class Arc:
    """An arc from ``start`` to ``end`` [deg], anticlockwise from x; lengths in mm."""

    layer: str
    x: float
    y: float
    radius: float
    start: float
    end: float

    @property
    def ends(self) -> tuple[Point, Point]:
        """Its two ends [mm]."""
        return polar(self.x, self.y, self.radius, self.start), polar(self.x, self.y, self.radius, self.end)


@dataclass(frozen=True)
class Text:
    """Words on one line. ``height``: of a capital [mm]; ``anchor``: start, middle or end of the baseline at (x, y) [mm];
    ``turn`` [deg]."""

    layer: str
    x: float
    y: float
    words: str
    height: float = 2.5
    anchor: str = "start"
    turn: float = 0.0


@dataclass(frozen=True)
class Dimension:
    """The distance of two points [mm], measured along ``way``: x, y or free (straight between them).

    ``at``: where the dimension line stands: its y for x, its x for y, its distance to the left of a -> b for free. ``before`` and
    ``after`` are set around the number, which is always measured, never typed.
    """

    a: Point
    b: Point
    way: str
    at: float
    units: System = "mm"
    before: str = ""
    after: str = ""

    @property
    def value(self) -> float:
        """What it measures [mm]."""
        dx, dy = self.b[0] - self.a[0], self.b[1] - self.a[1]
        return abs(dx) if self.way == "x" else abs(dy) if self.way == "y" else math.hypot(dx, dy)

    @property
    def words(self) -> str:
        """The number as written, in the drawing's unit."""
        return f"{self.before}{measure(self.value, self.units)}{self.after}"


@dataclass(frozen=True)
class Datum:
    """A filled triangle whose tip touches what is measured from, with its letter; ``turn`` [deg]: where it points from."""

    x: float
    y: float
    letter: str
    turn: float = 90.0


Entity = Line | Path | Circle | Arc | Text | Dimension | Datum
Primitive = Line | Path | Circle | Arc | Text


def measure(mm: float, units: System = "mm") -> str:
    """A length [mm] as a drawing has it: 0.01 mm or 0.001 in, the unit standing in the title block."""
    text = f"{convert(mm, units):.{2 if units == 'mm' else 3}f}"
    return text.removeprefix("-") if not text.strip("-0.") else text


def polar(x: float, y: float, radius: float, degrees: float) -> Point:
    """The point at a radius [mm] and an angle [deg] from (x, y) [mm]."""
    return x + radius * math.cos(math.radians(degrees)), y + radius * math.sin(math.radians(degrees))


def moved(entities: Iterable[Entity], dx: float, dy: float) -> tuple[Any, ...]:
    """The same, moved by dx, dy [mm]."""
    def one(e: Entity) -> Entity:
        if isinstance(e, Line):
            return replace(e, x1=e.x1 + dx, y1=e.y1 + dy, x2=e.x2 + dx, y2=e.y2 + dy)
        if isinstance(e, Path):
            return replace(e, points=tuple((x + dx, y + dy) for x, y in e.points))
        if isinstance(e, Dimension):
            off = {"x": dy, "y": dx}.get(e.way, 0.0)
            return replace(e, a=(e.a[0] + dx, e.a[1] + dy), b=(e.b[0] + dx, e.b[1] + dy), at=e.at + off)
        return replace(e, x=e.x + dx, y=e.y + dy)

    return tuple(one(e) for e in entities)


def mirrored(entities: Iterable[Entity]) -> tuple[Any, ...]:
    """The same seen in a mirror that stands on x = 0; words stay readable."""
    def one(e: Entity) -> Entity:
        if isinstance(e, Line):
            return replace(e, x1=-e.x1, x2=-e.x2)
        if isinstance(e, Path):
            return replace(e, points=tuple((-x, y) for x, y in e.points))
        if isinstance(e, Arc):
            return replace(e, x=-e.x, start=180 - e.end, end=180 - e.start)
        if isinstance(e, Dimension):
            return replace(e, a=(-e.a[0], e.a[1]), b=(-e.b[0], e.b[1]), at=e.at if e.way == "x" else -e.at)
        if isinstance(e, Datum):
            return replace(e, x=-e.x, turn=180 - e.turn)
        if isinstance(e, Text):
            return replace(e, x=-e.x, turn=-e.turn if e.turn % 90 else e.turn,
                           anchor={"start": "end", "end": "start"}.get(e.anchor, e.anchor) if e.turn % 180 != 90 else e.anchor)
        return replace(e, x=-e.x)

    return tuple(one(e) for e in entities)
