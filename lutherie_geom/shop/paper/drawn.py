"""Dimensions and datum marks written out in lines, filled arrows and words; how far a heap of entities reaches."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from lutherie_geom.shop.paper.entities import Arc, Circle, Datum, Dimension, Entity, Line, Path, Primitive, Text, polar

__all__ = ["extents", "primitives", "word_width"]


def word_width(words: str, height: float) -> float:
    """About how wide words of a capital ``height`` [mm] are [mm], on the wide side: fonts differ from format to format."""
    return 0.82 * height * len(words)


def _arrow(x: float, y: float, toward: float) -> Path:
    """A slim filled arrowhead with its tip at (x, y), pointing ``toward`` [deg]."""
    back = [polar(x, y, 2.5, toward + 180 + s) for s in (-9.5, 9.5)]
    return Path("dimension", ((x, y), *back), closed=True, filled=True)


def _dimension(d: Dimension) -> Iterator[Primitive]:
    """Extension lines, dimension line, arrows, number. Short ones have their arrows outside and the number behind the second."""
    (ax, ay), (bx, by) = d.a, d.b
    if d.way == "x":
        p, r, turn = (ax, d.at), (bx, d.at), 0.0
    elif d.way == "y":
        p, r, turn = (d.at, ay), (d.at, by), 90.0
    else:
        turn = math.degrees(math.atan2(by - ay, bx - ax))
        off = polar(0, 0, d.at, turn + 90)
        p, r = (ax + off[0], ay + off[1]), (bx + off[0], by + off[1])
    ahead = math.degrees(math.atan2(r[1] - p[1], r[0] - p[0]))
    for (fx, fy), (tx, ty) in ((d.a, p), (d.b, r)):
        far = math.hypot(tx - fx, ty - fy)
        if far > 1.5:
            ux, uy = (tx - fx) / far, (ty - fy) / far
            yield Line("dimension", fx + ux, fy + uy, tx + 1.5 * ux, ty + 1.5 * uy)
    height, wide = 2.5, 1.8 * len(d.words) + 1.5
    inside = d.value > 7.5
    yield Line("dimension", *p, *r)
    yield _arrow(*p, ahead + 180 if inside else ahead)
    yield _arrow(*r, ahead if inside else ahead + 180)
    upright = (turn + 90) % 180 - 90 if turn != 90 else 90.0  # readable from below or from the right
    if d.value > wide:
        x, y = polar((p[0] + r[0]) / 2, (p[1] + r[1]) / 2, 0.9, upright + 90)
        yield Text("dimension", x, y, d.words, height, "middle", upright)
        return
    yield Line("dimension", *r, *polar(*r, 3.2 + wide, ahead))
    x, y = polar(*polar(*r, 3.6, ahead), 0.9, upright + 90)
    yield Text("dimension", x, y, d.words, height, "start" if math.cos(math.radians(ahead - upright)) > 0 else "end", upright)
    if not inside:
        yield Line("dimension", *p, *polar(*p, 4.5, ahead + 180))


def _datum(d: Datum) -> Iterator[Primitive]:
    wings = [polar(d.x, d.y, 3.5, d.turn + s) for s in (-30, 30)]
    yield Path("datum", ((d.x, d.y), *wings), closed=True, filled=True)
    x, y = polar(d.x, d.y, 6.0, d.turn)
    yield Path("datum", ((x - 2.3, y - 2.3), (x + 2.3, y - 2.3), (x + 2.3, y + 2.3), (x - 2.3, y + 2.3)), closed=True)
    yield Text("datum", x, y - 1.25, d.letter, 2.5, "middle")


def primitives(entities: Iterable[Entity]) -> Iterator[Primitive]:
    """Dimensions and datum marks written out; everything else as it is."""
    for e in entities:
        yield from _dimension(e) if isinstance(e, Dimension) else _datum(e) if isinstance(e, Datum) else (e,)


def extents(entities: Iterable[Entity]) -> tuple[float, float, float, float]:
    """Least and largest x and y [mm] as (x0, y0, x1, y1); words count with a rough width."""
    xs: list[float] = []
    ys: list[float] = []
    for e in primitives(entities):
        if isinstance(e, Line):
            found = [(e.x1, e.y1), (e.x2, e.y2)]
        elif isinstance(e, Path):
            found = list(e.points)
        elif isinstance(e, Circle):
            found = [(e.x - e.radius, e.y - e.radius), (e.x + e.radius, e.y + e.radius)]
        elif isinstance(e, Arc):
            turns = [e.start, *(90 * k for k in range(math.ceil(e.start / 90), math.floor(e.end / 90) + 1)), e.end]
            found = [polar(e.x, e.y, e.radius, t) for t in turns]
        else:
            wide = word_width(e.words, e.height)
            left = {"start": 0.0, "middle": -wide / 2, "end": -wide}[e.anchor]
            found = [polar(*polar(e.x, e.y, x, e.turn), y, e.turn + 90) for x in (left, left + wide) for y in (0.0, e.height)]
        xs += [x for x, _ in found]
        ys += [y for _, y in found]
    return min(xs), min(ys), max(xs), max(ys)
