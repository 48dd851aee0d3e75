"""Cutting a sheet that is larger than the paper into tiles that overlap, with marks where they meet."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from lutherie_geom.shop.paper.drawing import Drawing
from lutherie_geom.shop.paper.drawn import extents
from lutherie_geom.shop.paper.entities import Circle, Line, Primitive, Text

__all__ = ["EDGE", "OVERLAP", "PAPERS", "Tile", "registration", "tiles"]

PAPERS = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
"""Papers, upright [mm]: ISO 216, and 8.5 by 11 in."""
EDGE = 9.0
"""Margin that every printer leaves white [mm]: common practice, no source."""
OVERLAP = 12.0
"""Width that two tiles share [mm] (chosen here)."""


@dataclass(frozen=True)
class Tile:
    """A window on the sheet: its lower left corner and size [mm], the paper's size as it lies, place in the grid from the upper
    left."""

    x: float
    y: float
    width: float
    height: float
    paper: tuple[float, float]
    row: int
    column: int
    rows: int
    columns: int

    @property
    def single(self) -> bool:
        """Whether the sheet goes on one page."""
        return self.rows * self.columns == 1


def _count(long: float, window: float) -> int:
    return 1 if long <= window + 1e-9 else math.ceil((long - OVERLAP) / (window - OVERLAP) - 1e-9)


def tiles(drawing: Drawing, paper: str = "A4") -> tuple[Tile, ...]:
    """Tiles of a sheet on ``A4`` or ``Letter``, lying the way that needs fewer; a sheet that fits is one tile in its middle.

    Raises ValueError for another paper.
    """
    known = {p.lower(): p for p in PAPERS}
    if str(paper).lower() not in known:
        raise ValueError(f"paper: {paper!r}; allowed is {', '.join(PAPERS)} or 'one'")
    a, b = PAPERS[known[str(paper).lower()]]

    def grid(size: tuple[float, float]) -> tuple[int, int]:
        return _count(drawing.height, size[1] - 2 * EDGE), _count(drawing.width, size[0] - 2 * EDGE)

    lying = min(((a, b), (b, a)), key=lambda size: math.prod(grid(size)))
    rows, columns = grid(lying)
    wide, high = lying[0] - 2 * EDGE, lying[1] - 2 * EDGE
    if rows * columns == 1:
        return (Tile((drawing.width - wide) / 2, (drawing.height - high) / 2, wide, high, lying, 0, 0, 1, 1),)
    return tuple(Tile(c * (wide - OVERLAP), drawing.height - high - r * (high - OVERLAP), wide, high, lying, r, c, rows, columns)
                 for r in range(rows) for c in range(columns))


def _clear(texts: Sequence[tuple[float, float, float, float]], x: float, y: float, step: tuple[float, float]) -> tuple[float,
                                                                                                                       float]:
    """The first place from (x, y) on, by steps [mm], where a mark covers no words."""
    for _ in range(40):
        if not any(x0 - 5 < x < x1 + 5 and y0 - 5 < y < y1 + 5 for x0, y0, x1, y1 in texts):
            break
        x, y = x + step[0], y + step[1]
    return x, y


def registration(drawing: Drawing, grid: tuple[Tile, ...]) -> tuple[Primitive, ...]:
    """Rings with crosses in the middle of every overlap [mm, on the sheet]: the same mark is printed on both tiles."""
    first = grid[0]
    if first.single:
        return ()
    texts = [extents([e]) for e in drawing.primitives() if isinstance(e, Text)]
    across = [c * (first.width - OVERLAP) + OVERLAP / 2 for c in range(1, first.columns)]
    up = [drawing.height - r * (first.height - OVERLAP) - OVERLAP / 2 for r in range(1, first.rows)]
    places = {(x, y) for x in across for y in up}
    places |= {_clear(texts, x, y, (0.0, step)) for x in across for y, step in ((8.0, 2.0), (drawing.height - 8.0, -2.0))}
    places |= {_clear(texts, x, y, (step, 0.0)) for y in up for x, step in ((8.0, 2.0), (drawing.width - 8.0, -2.0))}
    marks: list[Primitive] = []
    for x, y in sorted(places):
        marks += [Circle("registration", x, y, 2.0), Line("registration", x - 4, y, x + 4, y), Line("registration", x, y - 4, x,
                                                                                                    y + 4)]
    return tuple(marks)
