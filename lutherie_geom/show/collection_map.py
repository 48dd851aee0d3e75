"""The map of questions: the collection as one picture. Data in, Figure out."""

from __future__ import annotations

import textwrap

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import FancyArrowPatch, FancyBboxPatch

from lutherie_geom.show.collection import Collection
from lutherie_geom.show.style import COLOURS, figure, line_style

__all__ = ["map_picture"]

_WIDE, _HIGH = 0.88, 0.62  # a box, in columns and rows of the map


def map_picture(found: Collection) -> Figure:
    """The map of questions: a box for each notebook, an arrow to each question that uses its answer. No scale."""
    places = {e.number: (e.at[0] + 0.5, -float(e.at[1])) for e in found.entries}
    columns, rows = max(x for x, _ in places.values()) + 0.5, max(-y for _, y in places.values())
    drawing, axes = figure(f"{len(found.entries)} questions; an arrow leads from an answer to the question that uses it", 195,
                           24 * (rows + 1) + 8)
    axes.set_axis_off()
    axes.set(xlim=(0, columns), ylim=(-rows - 0.4, 0.4))
    for e in found.entries:
        for n in e.before:
            if n in places:
                axes.add_patch(_arrow(places[n], places[e.number]))
    for e in found.entries:
        _box(axes, places[e.number], f"{e.number:02d}", e.short, e.group - 1)
    for k, title in enumerate(found.groups):
        y = 0.22 - 0.26 * k
        axes.add_patch(_frame((3.2, y), 0.22, 0.15, k))
        axes.text(3.4, y, title, va="center", fontsize=9.5)
    return drawing


def _frame(middle: tuple[float, float], wide: float, high: float, group: int) -> FancyBboxPatch:
    (x, y), pad, style = middle, 0.03, line_style(group)
    return FancyBboxPatch((x - wide / 2 + pad, y - high / 2 + pad), wide - 2 * pad, high - 2 * pad, zorder=3, lw=1.6,
                          boxstyle=f"round,pad={pad}", facecolor="white", edgecolor=style["color"], linestyle=style["linestyle"])


def _box(axes: Axes, middle: tuple[float, float], number: str, words: str, group: int) -> None:
    axes.add_patch(_frame(middle, _WIDE, _HIGH, group))
    x, y = middle
    axes.text(x, y + 0.17, number, ha="center", va="center", fontsize=9.5, fontweight="bold", zorder=5)
    axes.text(x, y - 0.08, textwrap.fill(words, 16), ha="center", va="center", fontsize=8.2, zorder=5)


def _arrow(start: tuple[float, float], end: tuple[float, float]) -> FancyArrowPatch:
    """From box to box: edge to edge, sideways in a row and downward otherwise."""
    (x0, y0), (x1, y1) = start, end
    side = (x1 > x0) - (x1 < x0)
    if y0 == y1:
        a, b = (x0 + side * _WIDE / 2, y0), (x1 - side * _WIDE / 2, y1)
    else:
        a, b = (x0 + side * 0.2, y0 - _HIGH / 2), (x1 - side * 0.2, y1 + _HIGH / 2)
    return FancyArrowPatch(a, b, arrowstyle="-|>", mutation_scale=10, lw=1.1, color=COLOURS["guide"], shrinkA=0, shrinkB=0.5,
                           zorder=2)
