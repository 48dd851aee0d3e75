"""From a view to a sheet: frame, title block, scale bars, notes and cautions around it.

The frame's margins are the printer's affair. The title block stands in the lower right corner (ISO 5457 and 7200, from memory);
on a strip cut into tiles it stands at the left, so that it and the bars are whole on one page.
"""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from lutherie_geom.design.units import INCH, System
from lutherie_geom.shop.order.access import Cutter
from lutherie_geom.shop.paper.drawing import Drawing
from lutherie_geom.shop.paper.drawn import extents, word_width
from lutherie_geom.shop.paper.entities import Entity, Line, Path, Primitive, Text, moved

__all__ = ["Finish", "Job", "View", "bar", "compose"]

NARROW = 178.0
"""Width of a sheet that goes on one upright page of A4 or Letter [mm]."""
_INNER, _SMALL, _LEAD = 6.0, 2.0, 3.6
_SECOND = 300.0  # past the first tile of A4 and Letter lying


@dataclass(frozen=True)
class Finish:
    """Film of the finish [mm], once dry: on the pocket's floor and cheeks, on the heel's cheeks (common practice, no source)."""

    floor: float = 0.1
    cheeks: float = 0.1
    heel: float = 0.1

    def __post_init__(self) -> None:
        for name in ("floor", "cheeks", "heel"):
            if not 0 <= (value := getattr(self, name)) <= 1:
                raise ValueError(f"finish.{name}: {value:g} mm; allowed is 0 to 1 mm")

    @property
    def side(self) -> float:
        """What the side gap loses to the finish, pocket and heel together [mm]."""
        return self.cheeks + self.heel


@dataclass(frozen=True)
class Job:
    """What all sheets of one pack share. ``units`` None: as the design says; ``sled``: thickness of the packing under the board's
    glue face when the tongue is planed, which the rails stand beside [mm]; ``into_neck``: how far rod slots run past the joint
    toward the nut [mm]; ``made``: the date in the title block."""

    cutter: Cutter = field(default_factory=Cutter)
    finish: Finish = field(default_factory=Finish)
    units: System | None = None
    sled: float = 12.0
    into_neck: float = 40.0
    made: date = field(default_factory=date.today)

    def __post_init__(self) -> None:
        for name, low, high in (("sled", 2.0, 60.0), ("into_neck", 0.0, 300.0)):
            if not low <= (value := getattr(self, name)) <= high:
                raise ValueError(f"job.{name}: {value:g} mm; allowed is {low:g} to {high:g} mm")
        if self.units not in (None, "mm", "inch"):
            raise ValueError(f"job.units: {self.units!r}; allowed is 'mm' or 'inch'")


@dataclass(frozen=True)
class View:
    """A template before it stands on a sheet: entities in its own frame [mm], what is seen, notes and cautions in words."""

    key: str
    title: str
    seen: str
    entities: tuple[Entity, ...]
    notes: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()


def _lines(words: Sequence[str], width: float) -> list[str]:
    """Each of the sentences as lines that fit a width [mm], with a mark before the first."""
    letters = int(width / word_width("n", _SMALL))
    found: list[str] = []
    for said in words:
        found += textwrap.wrap(said, letters, initial_indent="– ", subsequent_indent="   ", break_long_words=False)
    return found


def _words(lines: Sequence[str], x: float, top: float, layer: str) -> list[Entity]:
    return [Text(layer, x, top - _LEAD * (k + 1) + 1.0, line, _SMALL) for k, line in enumerate(lines)]


def bar(x: float, y: float, long: float, parts: int, words: str) -> list[Primitive]:
    """A bar to measure before cutting, ``long`` [mm] in so many parts, its left end at (x, y), its name behind it."""
    return [Line("scale", x, y, x + long, y),
            *(Line("scale", x + long * k / parts, y, x + long * k / parts, y + (3.0 if k in (0, parts) else 1.5))
              for k in range(parts + 1)),
            Text("scale", x + long + 2.5, y, words, 2.5)]


def _bars(x: float, y: float) -> list[Entity]:
    """Two bars: 100 mm in tens, 4 in in halves; their left end at (x, y), the inch bar below."""
    said = ("Print at 100 %, not \"fit to", "page\". Measure both bars", "before you cut.")
    return [*bar(x, y + 7, 100.0, 10, "100 mm"), *bar(x, y, 4 * INCH, 8, "4 in"), *_words(said, x + 122.0, y + 10.5, "scale")]


def _block(design: Any, view: View, job: Job, number: int, of: int, right: float) -> list[Entity]:
    """The title block, its lower right corner at (right, 0)."""
    left, high, row = right - NARROW, 20.0, 9.0
    units = job.units or design.units
    cells = (("design", design.name, 62.0), ("date", job.made.isoformat(), 27.0), ("lengths in",
                                                                                   "mm" if units == "mm" else "inch", 22.0),
             ("scale", "1 : 1", 17.0), ("hand", design.handed, 18.0), ("sheet", f"{number} of {of}", 32.0))
    found: list[Entity] = [Path("frame", ((left, 0), (right, 0), (right, high), (left, high)), closed=True),
                           Line("frame", left, row, right, row),
                           Text("frame", left + 2.5, row + 5.6, view.title, 3.5),
                           Text("frame", left + 2.5, row + 1.6, view.seen, _SMALL)]
    at = left
    for head, value, wide in cells:
        if at > left:
            found.append(Line("frame", at, 0, at, row))
        fits = int((wide - 3) / word_width("n", 2.5))
        shown = value if len(value) <= fits else f"{value[:fits - 1]}…"
        found += [Text("frame", at + 2, 6.2, head, 1.8), Text("frame", at + 2, 1.8, shown, 2.5)]
        at += wide
    return found


def compose(design: Any, view: View, job: Job, number: int = 1, of: int = 1) -> Drawing:
    """The view on its sheet. Raises ValueError when there is nothing to see."""
    if not view.entities:
        raise ValueError(f"view {view.key!r} is empty")
    x0, y0, x1, y1 = extents(view.entities)
    width = max(NARROW, x1 - x0 + 2 * _INNER)
    column = min(width, NARROW)
    x = width - column + _INNER
    notes, cautions = _lines(view.notes, column - 2 * _INNER), _lines(view.cautions, column - 2 * _INNER - 4)
    bars = 24.0
    care = bars + 14.0
    top_care = care + (len(cautions) * _LEAD + 9.0 if cautions else 0.0)
    top_notes = top_care + (len(notes) * _LEAD + 4.0 if notes else 2.0)
    right, x_notes = width, x
    if width > 2 * NARROW and not cautions:  # a long strip: block and bars whole on its first tile, the notes on its second
        right, x, x_notes, top_notes = NARROW, _INNER, _SECOND, max(care, len(notes) * _LEAD + 8.0)
    dx, dy = (width - (x1 - x0)) / 2 - x0, top_notes + 3.0 - y0
    height = dy + y1 + _INNER
    found: list[Entity] = [*moved(view.entities, dx, dy), *_words(notes, x_notes, top_notes - 2.0, "text"),
                           *_bars(x, bars), *_block(design, view, job, number, of, right)]
    if cautions:
        left, far = x - 2, width - _INNER + 2
        found += [Path("caution", ((left, care), (far, care), (far, top_care - 2.5), (left, top_care - 2.5)), closed=True),
                  Text("caution", left + 2, top_care - 6.0, "Take care", 2.5),
                  *_words(cautions, left + 2, top_care - 7.2, "caution")]
    found.append(Path("frame", ((0, 0), (width, 0), (width, height), (0, height)), closed=True))
    return Drawing(view.key, view.title, design.name, width, height, tuple(found), (dx, dy), design.handed == "left",
                   job.units or design.units)
