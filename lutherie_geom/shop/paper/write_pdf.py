"""Drawings as PDF at 1:1 with reportlab: on A4 or Letter, tiled where they are larger, or all on one large sheet."""

from __future__ import annotations

import io
import math
from collections.abc import Iterable, Sequence
from typing import Any

from lutherie_geom.shop.paper.drawing import Drawing
from lutherie_geom.shop.paper.entities import LAYERS, Arc, Circle, Line, Path, Primitive, Text, moved, polar
from lutherie_geom.shop.paper.tiles import EDGE, PAPERS, Tile, registration, tiles
from lutherie_geom.shop.paper.title_block import bar

__all__ = ["CAPITAL", "MM", "one_sheet", "pdf_bytes"]

MM = 72 / 25.4
"""Points in a millimetre: 1 pt is 1/72 in."""
CAPITAL = 0.729
"""Height of a capital of DejaVu Sans over its size."""


class _Pen:
    """Draws primitives on a reportlab canvas; lengths in mm from the canvas's origin."""

    def __init__(self, canvas: Any) -> None:
        from reportlab.lib.colors import HexColor

        self.c = canvas
        self.colours = {name: HexColor(layer.colour) for name, layer in LAYERS.items()}

    def draw(self, entities: Iterable[Primitive]) -> None:
        """Every entity in its layer's line."""
        for e in entities:
            layer = LAYERS[e.layer]
            self.c.setStrokeColor(self.colours[e.layer])
            self.c.setFillColor(self.colours[e.layer])
            self.c.setLineWidth(layer.width * MM)
            self.c.setDash([v * MM for v in layer.dashes] if layer.dashes and not isinstance(e, Text) else [])
            self._one(e)

    def _one(self, e: Primitive) -> None:
        c = self.c
        if isinstance(e, Line):
            c.line(e.x1 * MM, e.y1 * MM, e.x2 * MM, e.y2 * MM)
        elif isinstance(e, Circle):
            c.circle(e.x * MM, e.y * MM, e.radius * MM, stroke=1, fill=0)
        elif isinstance(e, Path):
            p = c.beginPath()
            p.moveTo(e.points[0][0] * MM, e.points[0][1] * MM)
            for x, y in e.points[1:]:
                p.lineTo(x * MM, y * MM)
            if e.closed:
                p.close()
            c.drawPath(p, stroke=0 if e.filled else 1, fill=1 if e.filled else 0)
        elif isinstance(e, Arc):
            self._arc(e)
        else:
            c.saveState()
            c.translate(e.x * MM, e.y * MM)
            c.rotate(e.turn)
            c.setFont("CardSans", e.height / CAPITAL * MM)
            {"start": c.drawString, "middle": c.drawCentredString, "end": c.drawRightString}[e.anchor](0, 0, e.words)
            c.restoreState()

    def _arc(self, e: Arc) -> None:
        """An arc as cubic pieces of 30 degrees at most: off by less than 1e-7 of the radius."""
        n = max(1, math.ceil((e.end - e.start) / 30 - 1e-9))
        step = (e.end - e.start) / n
        reach = 4 / 3 * math.tan(math.radians(step) / 4) * e.radius
        p = self.c.beginPath()
        x, y = polar(e.x, e.y, e.radius, e.start)
        p.moveTo(x * MM, y * MM)
        for k in range(n):
            a, b = e.start + k * step, e.start + (k + 1) * step
            x0, y0 = polar(e.x, e.y, e.radius, a)
            x1, y1 = polar(e.x, e.y, e.radius, b)
            h0, h1 = polar(x0, y0, reach, a + 90), polar(x1, y1, reach, b - 90)
            p.curveTo(h0[0] * MM, h0[1] * MM, h1[0] * MM, h1[1] * MM, x1 * MM, y1 * MM)
        self.c.drawPath(p, stroke=1, fill=0)


def one_sheet(drawings: Sequence[Drawing], widest: float = 841.0, between: float = 12.0) -> tuple[float, float,
                                                                                                  list[tuple[float, float]]]:
    """Width and height [mm] of one large sheet that holds all drawings, and the lower left corner of each: in rows, as they come,
    no wider than A0 (841 mm) unless a drawing is."""
    widest = max(widest, *(d.width + 2 * EDGE for d in drawings))
    places: list[tuple[float, float]] = []
    x = top = EDGE
    row = reach = 0.0
    for d in drawings:
        if x > EDGE and x + d.width + EDGE > widest:
            top, x, row = top + row + between, EDGE, 0.0
        places.append((x, top + d.height))  # y downward for now
        x, row = x + d.width + between, max(row, d.height)
        reach = max(reach, x - between + EDGE)
    high = top + row + EDGE
    return reach, high, [(px, high - py) for px, py in places]


def _tile(canvas: Any, pen: _Pen, d: Drawing, t: Tile, marks: Sequence[Primitive]) -> None:
    canvas.setPageSize((t.paper[0] * MM, t.paper[1] * MM))
    canvas.saveState()
    if not t.single:
        window = canvas.beginPath()
        window.rect(EDGE * MM, EDGE * MM, t.width * MM, t.height * MM)
        canvas.clipPath(window, stroke=0, fill=0)
    shift = (EDGE - t.x, EDGE - t.y)
    pen.draw(moved((*d.primitives(), *marks), *shift))
    canvas.restoreState()
    if not t.single:
        said = (f"{d.name}: {d.title}. Row {t.row + 1} of {t.rows}, column {t.column + 1} of {t.columns}. Lay ring on ring, then "
                "tape.")
        # Every page has its own bar: a printer may scale one page and not the next.
        pen.draw([Text("registration", EDGE, t.paper[1] - EDGE + 3, said, 1.8),
                  *bar(EDGE, EDGE - 4.5, 100.0, 10, "100 mm on this page?")])
    canvas.showPage()


def pdf_bytes(drawings: Sequence[Drawing], paper: str = "A4") -> bytes:
    """All drawings as one PDF: ``A4``, ``Letter`` (a page a drawing, tiles where it is larger) or ``one`` sheet for a plotter.

    The same drawings give the same bytes. Raises ValueError for another paper or no drawing.
    """
    from reportlab.pdfgen.canvas import Canvas

    from lutherie_geom.shop.setup.turn_card import _fonts

    if not drawings:
        raise ValueError("no drawing to write")
    if str(paper).lower() not in {"one", *(p.lower() for p in PAPERS)}:
        raise ValueError(f"paper: {paper!r}; allowed is {', '.join(PAPERS)} or 'one'")
    _fonts()
    out = io.BytesIO()
    canvas = Canvas(out, invariant=1)
    canvas.setTitle(f"Templates: {drawings[0].name}")
    # Viewers print such a file at its own size unless they are told otherwise.
    canvas.setViewerPreference("PrintScaling", "None")
    pen = _Pen(canvas)
    if str(paper).lower() == "one":
        wide, high, places = one_sheet(drawings)
        canvas.setPageSize((wide * MM, high * MM))
        for d, (x, y) in zip(drawings, places, strict=True):
            pen.draw(moved(d.primitives(), x, y))
        canvas.showPage()
    else:
        for d in drawings:
            grid = tiles(d, paper)
            marks = registration(d, grid)
            for t in grid:
                _tile(canvas, pen, d, t, marks)
    canvas.save()
    return out.getvalue()
