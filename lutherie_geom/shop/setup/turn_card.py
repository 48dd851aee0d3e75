"""The turn card: one page to keep in the case, drawn with reportlab. Text is text, fonts are in the file."""

from __future__ import annotations

import io
import math
from pathlib import Path
from typing import Any

from lutherie_geom.shop.placing import put
from lutherie_geom.shop.setup.card_numbers import CAUTIONS, Card, CardError, card

__all__ = ["PAPERS", "card_pdf", "write_card"]

PAPERS = ("A4", "Letter")
INK, SOFT, WOOD, RULE, CARE = "#1f2328", "#5c6166", "#8a5a2b", "#d8d3c8", "#fff8e1"
PLAIN, BOLD = "CardSans", "CardSansBold"


def _fonts() -> None:
    """DejaVu, which comes with matplotlib: reportlab's own fonts have neither all fractions nor all letters."""
    import matplotlib
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    folder = Path(matplotlib.get_data_path()) / "fonts" / "ttf"
    for name, file in ((PLAIN, "DejaVuSans.ttf"), (BOLD, "DejaVuSans-Bold.ttf")):
        if name not in pdfmetrics.getRegisteredFontNames():
            pdfmetrics.registerFont(TTFont(name, str(folder / file)))


def _style(size: float, bold: bool = False, color: str = INK) -> Any:
    from reportlab.lib.colors import HexColor
    from reportlab.lib.styles import ParagraphStyle

    return ParagraphStyle(f"{size}{bold}{color}", fontName=BOLD if bold else PLAIN, fontSize=size, leading=1.22 * size,
                          textColor=HexColor(color))


def _words(text: str, size: float = 7.6, bold: bool = False, color: str = INK) -> Any:
    from xml.sax.saxutils import escape

    from reportlab.platypus import Paragraph

    return Paragraph(escape(text), _style(size, bold, color))


def _table(rows: tuple[tuple[str, ...], ...], wide: float, first: float = 0.26) -> Any:
    from reportlab.lib.colors import HexColor
    from reportlab.platypus import Table

    n = len(rows[0])
    columns = [first * wide] + [(1 - first) * wide / (n - 1)] * (n - 1)
    made = Table([list(r) for r in rows], colWidths=columns, rowHeights=[12.2] * len(rows))
    made.setStyle([("FONT", (0, 0), (-1, 0), PLAIN, 6.6), ("FONT", (0, 1), (-1, -1), PLAIN, 8),
                   ("TEXTCOLOR", (0, 0), (-1, 0), HexColor(SOFT)), ("ALIGN", (1, 0), (-1, -1), "RIGHT"),
                   ("LINEBELOW", (0, 0), (-1, -1), 0.4, HexColor(RULE)), ("TOPPADDING", (0, 0), (-1, -1), 1),
                   ("BOTTOMPADDING", (0, 0), (-1, -1), 1), ("LEFTPADDING", (0, 0), (-1, -1), 1),
                   ("RIGHTPADDING", (0, 0), (-1, -1), 2), ("VALIGN", (0, 0), (-1, -1), "MIDDLE")])
    return made


def _text(x: float, y: float, words: str, size: float = 6.6, anchor: str = "middle", color: str = INK, bold: bool = False) -> Any:
    from reportlab.graphics.shapes import String
    from reportlab.lib.colors import HexColor

    return String(x, y, words, fontName=BOLD if bold else PLAIN, fontSize=size, textAnchor=anchor, fillColor=HexColor(color))


def _arrow(group: Any, x: float, y: float, r: float, clockwise: bool, top: bool, words: str) -> None:
    """A bent arrow over or under a screw, in the sense in which the key is turned."""
    from reportlab.graphics.shapes import Polygon, PolyLine
    from reportlab.lib.colors import HexColor

    turn = -1 if clockwise else 1
    middle = 90 if top else 270
    angles = [math.radians(middle + turn * a) for a in range(-55, 56, 5)]
    points = [(x + r * math.cos(a), y + r * math.sin(a)) for a in angles]
    group.add(PolyLine([v for p in points for v in p], strokeColor=HexColor(WOOD), strokeWidth=1.4))
    (tx, ty), a = points[-1], angles[-1] + turn * math.pi / 2
    tip = [tx + 5 * math.cos(a), ty + 5 * math.sin(a)]
    wings = [(tx + 2.6 * math.cos(a + s * math.pi / 2), ty + 2.6 * math.sin(a + s * math.pi / 2)) for s in (1, -1)]
    group.add(Polygon([*tip, *wings[0], *wings[1]], fillColor=HexColor(WOOD), strokeColor=None))
    group.add(_text(x, y + (r + 4 if top else -r - 9), words, color=WOOD, bold=True))


def _block(c: Card, wide: float, high: float) -> Any:
    """The neck block as one sees it who holds the key of the tilt screw: screws in their places, ways to turn."""
    from reportlab.graphics.shapes import Circle, Drawing, Line, Rect
    from reportlab.lib.colors import HexColor

    g, d = c.design, Drawing(wide, high)
    foot = float(min(g.block.foot_z, g.tilt_screw.head_z - 18))
    scale = min((high - 34) / -foot, (wide - 20) / (g.pivot.spacing + 44))
    middle, top = wide / 2, high - 22
    half = scale * (g.pivot.spacing / 2 + 22)
    side = 1 if c.right == "treble" else -1  # where the treble stands in the picture
    d.add(Rect(middle - half, top + scale * foot, 2 * half, -scale * foot, fillColor=HexColor("#f6efe2"),
               strokeColor=HexColor(RULE)))
    d.add(Line(middle - half, top, middle + half, top, strokeColor=HexColor(INK), strokeWidth=1.6))
    d.add(_text(middle, high - 8, f"seen from the {c.seen_from}, soundboard up", 6.8, color=SOFT))
    d.add(_text(middle, top + 3, "soundboard", 5.6, color=SOFT))
    up_clockwise = not c.ways[0][2].startswith("anti")
    for words, y_place, z, r in (("bass", -side * g.pivot.spacing / 2, g.pivot.z, g.pivot.screw_diameter / 2),
                                 ("treble", side * g.pivot.spacing / 2, g.pivot.z, g.pivot.screw_diameter / 2),
                                 ("clamp", 0.0, g.pivot.z - g.clamp.below_axis, g.clamp.diameter / 2 + 2),
                                 ("tilt", 0.0, g.tilt_screw.head_z, g.tilt_screw.head_diameter / 2)):
        x, y, size = middle + scale * y_place, top + scale * z, max(scale * r, 3.5)
        d.add(Circle(x, y, size, fillColor=HexColor("#ffffff"), strokeColor=HexColor(INK), strokeWidth=1))
        d.add(Circle(x, y, 0.45 * size, fillColor=HexColor(INK), strokeColor=None))
        aside, under = {"tilt": (size + 18, 2), "clamp": (0, -size - 3)}.get(words, (0, size + 8))
        d.add(_text(x + aside, y - under, words, 7, bold=True))
    x, y = middle, top + scale * g.tilt_screw.head_z
    r = max(scale * g.tilt_screw.head_diameter / 2, 3.5) + 4
    _arrow(d, x, y, r, up_clockwise, True, "raise")
    _arrow(d, x, y, r, not up_clockwise, False, "lower")
    return d


def _travel_bar(c: Card, wide: float) -> Any:
    """Travel of the tilt screw as a rule, in turns, with what ends it."""
    from reportlab.graphics.shapes import Drawing, Line, Rect
    from reportlab.lib.colors import HexColor

    high, left = 58.0, 14.0
    d = Drawing(wide, high)
    span = c.high - c.low

    def at(turn: float) -> float:
        return left + (wide - 2 * left) * (turn - c.low) / span

    y = 30.0
    d.add(Rect(at(c.low), y, at(c.high) - at(c.low), 8, fillColor=HexColor("#e9dcc6"), strokeColor=HexColor(INK),
               strokeWidth=0.6))
    step = 1 / 16 if span < 0.7 else 1 / 8 if span < 4 else 1 / 2
    for k in range(math.ceil(c.low / step), math.floor(c.high / step) + 1):
        long = k * step % 0.25 == 0
        d.add(Line(at(k * step), y, at(k * step), y + (8 if long else 4), strokeColor=HexColor(INK), strokeWidth=0.5))
        near = min(abs(at(k * step) - at(e)) for e in (c.low, c.high))
        if (long or k == 0) and near > 28:
            d.add(_text(at(k * step), y + 11, f"{k * step:+g}" if k else "0", 6.2))
    words = dict(c.stops)
    for turn, anchor in ((c.low, "start"), (c.high, "end")):
        d.add(_text(at(turn) + (-10 if anchor == "start" else 10), y + 11, f"{turn:+.2f}", 7, anchor, bold=True))
        said = next((w for t, w in words.items() if abs(t - turn) < 1e-6), "nothing within reach")
        d.add(_text(at(turn) + (-10 if anchor == "start" else 10), y - 20, said, 6.6, anchor))
    for turn, said in c.stops:
        if min(abs(turn - c.low), abs(turn - c.high)) > 1e-6:
            d.add(Line(at(turn), y - 3, at(turn), y + 8, strokeColor=HexColor(WOOD), strokeWidth=1))
            d.add(_text(at(turn), y - 10, f"{turn:+.2f} {said}", 6.2, "start" if at(turn) < wide / 2 else "end", WOOD))
    return d


def card_pdf(c: Card, paper: str = "A4") -> bytes:
    """The card as a PDF of one page, on ``A4`` or ``Letter``. Raises :class:`CardError` for another paper."""
    from reportlab.lib import pagesizes
    from reportlab.lib.colors import HexColor
    from reportlab.pdfgen.canvas import Canvas
    from reportlab.platypus import Frame, KeepInFrame, Spacer, Table

    known = {p.lower(): p for p in PAPERS}
    if str(paper).lower() not in known:
        raise CardError(f"paper: {paper!r}; allowed is {' or '.join(PAPERS)}")
    _fonts()
    page = pagesizes.A4 if known[str(paper).lower()] == "A4" else pagesizes.LETTER
    edge = 36.0
    wide, high = page[0] - 2 * edge, page[1] - 2 * edge
    left = 0.34 * wide
    ways = [item for what, screw, how in c.ways
            for item in (_words(what, 8.4, True, WOOD), _words(f"{screw}: {how}.", 8.2), Spacer(1, 2.5))]
    beside = [*ways, _words(c.last_turn, 7.8), Spacer(1, 2.5), _words(c.clamp, 7.8)]
    top = Table([[_block(c, left, 176), beside]], colWidths=[left, wide - left])
    top.setStyle([("VALIGN", (0, 0), (-1, -1), "TOP"), ("LEFTPADDING", (0, 0), (-1, -1), 0),
                  ("RIGHTPADDING", (0, 0), (-1, -1), 0), ("LEFTPADDING", (1, 0), (1, 0), 10)])
    care = Table([[[_words("Take care", 8.2, True), *(_words(f"• {s}", 7.4) for s in CAUTIONS)]]], colWidths=[wide])
    care.setStyle([("BACKGROUND", (0, 0), (-1, -1), HexColor(CARE)), ("BOX", (0, 0), (-1, -1), 1, HexColor("#7a5b00"))])
    keys = "   ".join(f"{s}: {k}." for s, k in c.keys)
    about = f"{c.about[:1].upper()}{c.about[1:]}. " if c.about else ""
    learned = "Numbers as learned on this instrument." if c.learned else "Numbers from the drawing; the instrument's may differ."

    def part(title: str, *what: Any) -> list[Any]:
        return [Spacer(1, 6), _words(title, 9.4, True, WOOD), *what]

    story = [
        _words(f"Turn card: {c.name}", 16, True), Spacer(1, 6),
        _words(f"{about}{c.handed.capitalize()}-handed. Turns are counted from the screws' nominal places. {learned}", 7.4,
               color=SOFT), Spacer(1, 6), top,
        *part("One step", _table(c.tilt_steps, wide), Spacer(1, 3), _table(c.steer_steps, wide),
              _words("The other way: the same with the other sign, near enough. Slacken the clamp for the pivot screws.", 6.6,
                     color=SOFT)),
        *part("What to turn for a wanted change (from the nominal place)", _table(c.changes, wide, 0.17)),
        *part("Travel of the tilt screw, in turns", _travel_bar(c, wide), _table(c.places, wide, 0.19)),
        *part("Hex keys", _words(keys, 7.4)), Spacer(1, 6), care, Spacer(1, 9),
        _words("Screws stand now:   tilt ________   bass ________   treble ________   date ____________   RH ______ %", 8),
    ]
    out = io.BytesIO()
    canvas = Canvas(out, pagesize=page, invariant=1)  # the same card gives the same file
    canvas.setTitle(f"Turn card: {c.name}")
    frame = Frame(edge, edge, wide, high, leftPadding=0, rightPadding=0, topPadding=0, bottomPadding=0)
    frame.addFromList([KeepInFrame(wide, high, story, mode="shrink")], canvas)
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def write_card(design: Any, place: str | Path, *, paper: str = "A4", units: str | None = None,
               learned: Any = None) -> Path:
    """Make the card (:func:`.card_numbers.card`) and put the PDF in place in one move; nothing is written if that fails."""
    return put(place, card_pdf(card(design, units=units, learned=learned), paper))
