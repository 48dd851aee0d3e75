"""The freed top: where the area that swings lies, what is not known about it, and how far a floating tongue moves its note."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Circle, Rectangle

from lutherie_geom.design.woods import wood
from lutherie_geom.mechanics.freed_top import Brace, FreedTop, UpperBout, along_tongue, sheet_of, tongue_layers
from lutherie_geom.mechanics.plate import Patch, Plate, each_number, natural_frequencies, plate_of
from lutherie_geom.show import panels as stagehand
from lutherie_geom.show.sheet import HandSheet
from lutherie_geom.show.style import BLUE, COLOURS, ORANGE, legend
from lutherie_geom.theory.plate import frequency_change

__all__ = ["Grid", "shift_grid", "top_picture", "top_sheet"]

_LAYOUTS = tuple((edges, braced) for edges in ("supported", "clamped") for braced in (False, True))
_BEDS = np.array([0.0, 1e-2, 1e-1, 1.0, 1e5])
"""How firmly the neck block holds the top, 0 to 4 on the slider: a bed in N/mm^3, from nothing to as good as rigid."""
_HELD = ("is left out", "holds a little", "holds somewhat", "holds well", "holds like a vice")
_TOP_HZ = 3000.0


def _plan(axes: Axes, a: UpperBout, tongue: tuple[float, float]) -> dict[str, Any]:
    """The upper bout from above, the joint below: the area, the block's glue face, the tongue. Lengths in mm."""
    axes.set_aspect("equal", adjustable="box")
    stagehand.axes_of(axes, "across the body [mm]", "from the joint [mm]", (-150, 150), (-8, 235))
    parts: dict[str, Any] = {}
    boxes: tuple[tuple[str, tuple[float, float], dict[str, Any]], ...] = (
        ("area", (a.length, a.width), {"facecolor": COLOURS["soundboard"], "alpha": 0.18, "edgecolor": "none"}),
        ("block", (a.block_depth, a.block_width), {"fill": False, "hatch": "///", "edgecolor": "#9A9A9A", "lw": 0.8}),
        ("tongue", tongue, {"facecolor": COLOURS["board"], "alpha": 0.55, "edgecolor": "#5d3b50"}))
    for name, size, look in boxes:
        parts[name] = axes.add_patch(Rectangle((-size[1] / 2, 0), size[1], size[0], **look))
    (parts["brace"],) = axes.plot([], [], color=COLOURS["text"], lw=2, ls=(0, (4, 2)))
    for name, words, x, y in (("area", "", -136, 20), ("brace", "brace", 44, 0), ("tongue", "tongue", -25, tongue[0] - 8),
                              ("block", "block's glue face", 40, 22)):
        parts[f"words_{name}"] = axes.text(x, y, words, fontsize=8, ha="left", va="center")
    _spread(parts, a.length, a)
    return parts


def _spread(parts: dict[str, Any], length: float, a: UpperBout) -> None:
    """The area ``length`` [mm] long, and its brace where the lay-outs that have one put it."""
    parts["area"].set_height(length)
    parts["words_area"].set_text(f"the area:\n{length:.0f} x {a.width:.0f} mm")
    at = (min(a.block_depth, length) + length) / 2
    parts["brace"].set_data([-a.width / 2, a.width / 2], [at, at])
    parts["words_brace"].set_y(at + 8)


def top_picture(found: FreedTop, design: Any) -> Figure:
    """The area from above; the shift of its lowest note [%] for every lay-out of what is not known: middle, 5 to 95 in 100."""
    drawing, (plan, chart) = stagehand.stage((0.95, 1.05), 195.0, 96.0)
    _plan(plan, found.area, (float(design.tongue.length), float(design.tongue.width)))
    hole = design.body
    radius = (hole.soundhole_far - hole.soundhole_near) / 2
    plan.add_patch(Circle((0, hole.soundhole_near + radius), radius, fill=False, color=COLOURS["guide"], lw=1.2))
    plan.text(0, hole.soundhole_near + radius, "soundhole", fontsize=8, ha="center", va="center", color=COLOURS["text"])
    stagehand.headline(plan, f"{found.mass:.0f} g of wood are left off the top")
    rows = sorted(found.cases, key=lambda c: float(np.median(c.percent)))
    for k, c in enumerate(rows):
        low, middle, high = (stagehand.plain(v, 1) for v in np.quantile(c.percent, (0.05, 0.5, 0.95)))
        colour, mark = (BLUE, "o") if c.block else (ORANGE, "s")
        chart.plot([low, high], [-k, -k], color=colour, lw=5, alpha=0.55, solid_capstyle="butt")
        chart.plot([middle], [-k], mark, color=colour, mec="black", mew=0.6, ms=7)
        chart.text(2.0, -k, f"{middle:+.1f} %" if middle else "0 %", fontsize=8, va="center")
    chart.set_yticks([-k for k in range(len(rows))], [f"{c.edges}, {'one brace' if c.brace else 'no brace'}" for c in rows])
    chart.axvline(0, color=COLOURS["guide"], lw=1)
    for colour, mark, words in ((ORANGE, "s", "block left out"), (BLUE, "o", "block holds the top")):
        chart.plot([], [], mark, color=colour, mec="black", mew=0.6, label=words)
    legend(chart, "lower left")
    low, high = found.percent
    left = min(-10.0, 1.08 * low)
    stagehand.axes_of(chart, "freed against glued [%], bars: 5 to 95 in 100", "", (left, 0.2 * -left + 2), (0.6 - len(rows), 0.6))
    stagehand.headline(chart, f"The lowest note moves by {_percent(low)} to {_percent(high)} %")
    return drawing


def _percent(value: float) -> str:
    """A whole number of percent with its sign; nought without."""
    return f"{stagehand.plain(value, 0):+.0f}".replace("+0", "0") if abs(value) < 0.5 else f"{value:+.0f}"


class Grid:
    """Lowest notes [Hz] on a grid of area length [mm], tongue wood [mm] and the block's hold [0 to 4], read between its points.

    ``glued`` (4 lay-outs, lengths, woods, holds), ``freed`` the same without woods.
    """

    def __init__(self, axes: Sequence[np.ndarray], glued: np.ndarray, freed: np.ndarray) -> None:
        self.axes, self.glued, self.freed = tuple(axes), glued, freed

    def __call__(self, length: float, wood: float, hold: float) -> tuple[np.ndarray, np.ndarray]:
        """Glued and freed [Hz], both (4,)."""
        places = [_place(a, v) for a, v in zip(self.axes, (length, wood, hold), strict=True)]
        glued, freed = self.glued, self.freed
        for k, part in places:
            glued = (1 - part) * glued[:, k] + part * glued[:, k + 1]
        for k, part in (places[0], places[2]):
            freed = (1 - part) * freed[:, k] + part * freed[:, k + 1]
        return glued, freed


def _place(grid: np.ndarray, value: float) -> tuple[int, float]:
    k = int(np.clip(np.searchsorted(grid, value) - 1, 0, len(grid) - 2))
    return k, float((value - grid[k]) / (grid[k + 1] - grid[k]))


def _sheets(design: Any, thickness: Any) -> tuple[Plate, Plate]:
    """The top alone, and the top with a tongue of that much neck wood at the joint [mm] glued on, its middle stretching half
    freely."""
    w, b = design.woods, design.body
    top = sheet_of(wood(w.top), thickness=float(b.top_thickness), moisture=w.moisture)
    layers = tongue_layers(design, np.asarray(thickness) - float(design.tongue.wood))
    neck, board = (sheet_of(wood(n), thickness=t, moisture=w.moisture) for n, t in zip((w.neck, w.board), layers, strict=True))
    return plate_of(top), each_number(plate_of(top, neck, board, held=0.5), along_tongue)


def shift_grid(design: Any, lengths: Sequence[float] | None = None, woods: Sequence[float] = (0.5, 2.5, 5.0, 10.0),
               degree: int = 4) -> Grid:
    """Lowest notes at nominal woods on a grid; takes a second or two. ``lengths`` of the area, ``woods`` in the tongue [mm]."""
    t, body = design.tongue, design.body
    spans = np.asarray(lengths if lengths is not None else (65.0, float(t.length), 110.0, 140.0, 180.0))
    spans = np.unique(spans)
    thick, hold = np.asarray(woods, dtype=float), np.arange(len(_BEDS), dtype=float)
    a = UpperBout(length=float(spans[-1]), block_depth=float(design.block.depth))
    bare, _ = _sheets(design, 1.0)
    sheet = sheet_of(wood(design.woods.top), thickness=float(body.top_thickness), moisture=design.woods.moisture)
    both = []
    for span, under, bed in ((spans[:, None, None], thick[:, None], _BEDS), (spans[:, None], None, _BEDS)):
        added = None if under is None else _sheets(design, under)[1].less(bare)
        block = Patch(end=np.minimum(a.block_depth, span), width=a.block_width, spring=bed)
        on = Patch(end=float(t.length), width=float(t.width), added=added)
        notes = []
        for edges, braced in _LAYOUTS:
            middle = (np.minimum(a.block_depth, span) + span) / 2
            # With a long area the brace stands midway between block and far end, as in the library's own default.
            bars = (replace(Brace(at=1.0).strip(sheet), at=middle),) if braced else ()
            notes.append(natural_frequencies(bare, length=span, width=a.width, edges=edges, patches=(on, block), strips=bars,
                                             degree=degree).lowest)
        both.append(np.array(notes))
    return Grid((spans, thick, hold), both[0], both[1])


def top_sheet(design: Any, grid: Grid | None = None) -> HandSheet:
    """Move the length of the area [mm], the tongue's wood [mm] and how firmly the block holds; see notes glued and freed [Hz]."""
    grid = grid or shift_grid(design)
    spans = grid.axes[0]
    start = float(np.clip(design.body.soundhole_near - 10.0, spans[0], spans[-1]))
    drawing, (plan, chart) = stagehand.stage((0.95, 1.05), 195.0, 88.0)
    a = UpperBout(length=start, block_depth=float(design.block.depth))
    parts = _plan(plan, a, (float(design.tongue.length), float(design.tongue.width)))
    stagehand.headline(plan, "What lies where, from above")
    rows = [-k for k in range(len(_LAYOUTS))]
    chart.set_yticks(rows, [f"{edges}, {'one brace' if braced else 'no brace'}" for edges, braced in _LAYOUTS])
    stagehand.axes_of(chart, "lowest note of the area [Hz]", "", (0, _TOP_HZ), (-len(rows) + 0.4, 1.25))
    lines = [chart.plot([], [], color=COLOURS["guide"], lw=2)[0] for _ in rows]
    (on,) = chart.plot([], [], "s", color=ORANGE, mec="black", ms=9, mew=0.8, label="tongue glued down")
    (off,) = chart.plot([], [], "o", color="white", mec=BLUE, ms=9, mew=2.2, label="tongue floats")
    words = [chart.text(0, y + 0.22, "", fontsize=8.5, ha="center") for y in rows]
    legend(chart, "upper right")
    finding = stagehand.headline(chart)

    def update(v: dict[str, float]) -> str:
        glued, freed = grid(v["length"], v["wood"], v["hold"])
        percent = np.asarray(frequency_change(before=glued, after=freed).percent)
        _spread(parts, v["length"], a)
        for name in ("block", "words_block"):
            parts[name].set_visible(v["hold"] > 0)
        for line, y, f0, f1 in zip(lines, rows, glued, freed, strict=True):
            line.set_data([min(f0, _TOP_HZ), min(f1, _TOP_HZ)], [y, y])
        on.set_data(np.minimum(glued, _TOP_HZ), rows)
        off.set_data(np.minimum(freed, _TOP_HZ), rows)
        for text, f0, f1, p in zip(words, glued, freed, percent, strict=True):
            text.set_text(f"{_percent(p)} %")
            text.set_x(float(np.clip((f0 + f1) / 2, 80, _TOP_HZ - 80)))
        low, high = _percent(percent.min()), _percent(percent.max())
        finding.set_text(f"Freed against glued: {low} to {high} %")
        return (f"Area {v['length']:.0f} mm long, the block {_HELD[round(v['hold'])]}, {v['wood']:.1f} mm of neck wood in the "
                f"tongue: freed, the lowest note moves by {low} to {high} % over four lay-outs (glued {glued.min():.0f} to "
                f"{glued.max():.0f} Hz).")

    controls = [stagehand.slider("length", "area: joint to first brace", start, float(spans[0]), float(spans[-1]), 1.0),
                stagehand.slider("wood", "neck wood in the tongue", float(design.tongue.wood), float(grid.axes[1][0]),
                                 float(grid.axes[1][-1]), 0.1, field="tongue.wood"),
                stagehand.slider("hold", "hold of the neck block", 0.0, 0.0, len(_BEDS) - 1.0, 1.0, "of 4")]
    return HandSheet(drawing, controls, [*parts.values(), *lines, on, off, *words, finding], update, design=design)
