"""What is written measures what is drawn: PDF, DXF and SVG read back by other libraries; tiles make up the sheet again."""

import functools
import io
import math
from xml.etree import ElementTree

import ezdxf
import numpy as np
import pdfplumber
import pypdfium2
import pytest

from lutherie_geom.design.load import load, names
from lutherie_geom.shop.paper.entities import LAYERS, Arc, Circle, Line, Path, Text
from lutherie_geom.shop.paper.tiles import EDGE, OVERLAP, PAPERS, registration, tiles
from lutherie_geom.shop.paper.title_block import Job
from lutherie_geom.shop.paper.write_dxf import dxf_text
from lutherie_geom.shop.paper.write_pdf import MM, one_sheet, pdf_bytes
from lutherie_geom.shop.paper.write_svg import svg_text
from lutherie_geom.shop.templates.templates import templates

GOOD = [n for n in names() if n != "spring_tide"]


@functools.cache
def sheets(name):
    return templates(load(name))


def ends(lines):
    """Lines as an array of ends in one sense, sorted: (n, 4)."""
    rows = [(*min((a, b), (c, d)), *max((a, b), (c, d))) for a, b, c, d in lines]
    return np.array(sorted(tuple(round(v, 3) + 0.0 for v in r) for r in rows))


def nearest(wanted, found):
    """Largest distance [mm] from a wanted row to the nearest found row."""
    return max(np.abs(found - w).max(axis=1).min() for w in wanted)


def drawn_lines(d):
    return np.array([(*min((e.x1, e.y1), (e.x2, e.y2)), *max((e.x1, e.y1), (e.x2, e.y2)))
                     for e in d.primitives() if isinstance(e, Line) and math.hypot(e.x2 - e.x1, e.y2 - e.y1) > 1e-3])


def circles(d):
    return np.array([(e.x, e.y, e.radius) for e in d.primitives() if isinstance(e, Circle)])


def page_lines(page, tile):
    """Lines of a PDF page in the sheet's own millimetres."""
    found = []
    for e in page.lines:
        (xa, ya), (xb, yb) = ((x / MM - EDGE + tile.x, (float(page.height) - y) / MM - EDGE + tile.y) for x, y in e["pts"])
        found.append((*min((xa, ya), (xb, yb)), *max((xa, ya), (xb, yb))))
    return np.array(found)


def page_curves(page, tile):
    """Curves of a PDF page: their points in the sheet's own millimetres."""
    return [np.array([(x / MM - EDGE + tile.x, (float(page.height) - y) / MM - EDGE + tile.y) for x, y in e["pts"]])
            for e in page.curves]


@pytest.mark.parametrize("name", GOOD)
@pytest.mark.parametrize("paper", list(PAPERS))
def test_pdf_measures_what_is_drawn(name, paper):
    """Every line, and every circle's middle and radius, of every drawing, on every page where it falls, to 0.01 mm."""
    found = sheets(name)
    with pdfplumber.open(io.BytesIO(pdf_bytes(found, paper))) as pdf:
        pages = list(pdf.pages)
        for d in found:
            for t in tiles(d, paper):
                page = pages.pop(0)
                assert sorted((float(page.width) / MM, float(page.height) / MM)) == pytest.approx(sorted(PAPERS[paper]), abs=0.01)
                assert nearest(drawn_lines(d), page_lines(page, t)) < 0.01, d.key
                boxes = np.array([(*(c.min(axis=0) + c.max(axis=0)) / 2, np.ptp(c[:, 0]) / 2) for c in page_curves(page, t)])
                if len(circles(d)):
                    assert nearest(circles(d), boxes) < 0.01, d.key
        assert not pages


@pytest.mark.parametrize("name", GOOD)
def test_pdf_has_the_designs_distances(name):
    design = load(name)
    block = next(d for d in sheets(name) if d.key == "block-drilling")
    with pdfplumber.open(io.BytesIO(pdf_bytes((block,)))) as pdf:
        page = pdf.pages[0]
        text = page.extract_text()
        round_ones = [c for c in page_curves(page, tiles(block)[0]) if abs(np.ptp(c[:, 0]) - design.pivot.insert_diameter) < 0.01
                      and abs(np.ptp(c[:, 1]) - design.pivot.insert_diameter) < 0.01]
    middles = [(c.min(axis=0) + c.max(axis=0)) / 2 for c in round_ones]
    assert len(middles) == 2
    assert np.linalg.norm(middles[0] - middles[1]) == pytest.approx(design.pivot.spacing, abs=0.01)
    assert design.name in text and "Print at 100 %" in text and "Take care" in text
    assert block.origin[1] - middles[0][1] == pytest.approx(-design.pivot.z, abs=0.01)


def test_frets_of_the_pdf_are_those_of_the_scale():
    design = load("slack_water")
    stick = sheets("slack_water")[0]
    with pdfplumber.open(io.BytesIO(pdf_bytes((stick,), "one"))) as pdf:
        page = pdf.pages[0]
        assert len(pdf.pages) == 1 and float(page.width) / MM == pytest.approx(stick.width + 2 * EDGE, abs=0.01)
        upright = sorted(e["x0"] / MM for e in page.lines if abs(e["x0"] - e["x1"]) < 1e-6)
    nut = stick.origin[0] + EDGE + float(design.dimensions().x_nut)
    for n in range(1, design.board.last_fret + 1):
        wanted = nut + design.strings.scale * (1 - 2 ** (-n / 12))
        assert min(abs(x - wanted) for x in upright) < 0.01


def test_long_arcs_keep_to_their_circle():
    """The pieces of the dome's arc, along each cubic, stay on a circle of 8.5 m radius to a thousandth of a millimetre."""
    gauge = next(d for d in sheets("slack_water") if d.key == "dome-gauge")
    arc = gauge.on("cut", Arc)[0]
    with pdfplumber.open(io.BytesIO(pdf_bytes((gauge,)))) as pdf:
        page = pdf.pages[0]
        shift = (EDGE - tiles(gauge)[0].x, EDGE - tiles(gauge)[0].y)
        worst = []
        for e in page.curves:
            at = [(x / MM - shift[0], (float(page.height) - y) / MM - shift[1]) for p in e["path"] for x, y in p[1:]]
            if len(at) == 4 and abs(at[0][0] - arc.ends[0][0]) < 0.01 and abs(at[0][1] - arc.ends[0][1]) < 0.01:
                t = np.linspace(0, 1, 51)[:, None]
                a, b, c, d = (np.array(p) for p in at)
                along = (1 - t) ** 3 * a + 3 * t * (1 - t) ** 2 * b + 3 * t**2 * (1 - t) * c + t**3 * d
                worst.append(np.abs(np.hypot(along[:, 0] - arc.x, along[:, 1] - arc.y) - arc.radius).max())
    assert worst and max(worst) < 1e-3


@pytest.mark.parametrize("paper", list(PAPERS))
def test_tiles_cover_the_sheet_and_overlap(paper):
    for name in GOOD:
        for d in sheets(name):
            grid = tiles(d, paper)
            marks = {(e.x, e.y) for e in registration(d, grid) if isinstance(e, Circle)}
            if grid[0].single:
                assert not marks and grid[0].width >= d.width and grid[0].height >= d.height
                continue
            assert min(t.x for t in grid) == 0 and max(t.y + t.height for t in grid) == pytest.approx(d.height)
            assert max(t.x + t.width for t in grid) >= d.width and min(t.y for t in grid) <= 0
            for a in grid:
                for b in grid:
                    if (a.row, a.column + 1) == (b.row, b.column):
                        assert a.x + a.width - b.x == pytest.approx(OVERLAP)
                        both = [m for m in marks if b.x < m[0] < a.x + a.width and a.y < m[1] < a.y + a.height]
                        assert len(both) >= 2  # two marks fix how two tiles lie
            assert all(any(t.x <= x <= t.x + t.width and t.y <= y <= t.y + t.height for t in grid) for x, y in marks)


def picture(data, page, dots):
    """A page of a PDF as grey values, ``dots`` to the millimetre."""
    pdf = pypdfium2.PdfDocument(data)
    return np.asarray(pdf[page].render(scale=dots * 25.4 / 72).to_pil().convert("L"), dtype=float)


def thick(dark, by):
    """Dark pixels and their neighbours."""
    wide = np.pad(dark, by)
    return np.any([wide[by + i:by + i + dark.shape[0], by + j:by + j + dark.shape[1]]
                   for i in range(-by, by + 1) for j in range(-by, by + 1)], axis=0)


@pytest.mark.parametrize("paper", list(PAPERS))
def test_tiles_put_together_are_the_sheet(paper):
    dots = 4
    stick = sheets("slack_water")[0]
    grid = tiles(stick, paper)
    assert len(grid) > 2
    data = pdf_bytes((stick,), paper)
    whole = picture(pdf_bytes((stick,), "one"), 0, dots)
    edge = round(EDGE * dots)
    whole = whole[edge:edge + round(stick.height * dots), edge:edge + round(stick.width * dots)]
    again = np.full(whole.shape, 255.0)
    for k, t in enumerate(grid):
        page = picture(data, k, dots)[edge:-edge, edge:-edge]
        top, left = round((stick.height - t.y - t.height) * dots), round(t.x * dots)
        high, wide = min(page.shape[0], again.shape[0] - top), min(page.shape[1], again.shape[1] - left)
        part = again[top:top + high, left:left + wide]
        np.minimum(part, page[:high, :wide], out=part)
    whole, again = whole[3:-3, 3:-3], again[3:-3, 3:-3]  # the frame itself falls on a rounded edge
    missing = (whole < 128) & ~thick(again < 160, 1)
    assert missing.sum() < 0.002 * (whole < 128).sum()
    added = (again < 90) & ~thick(whole < 200, 2)  # the marks are paler than that
    assert added.sum() < 0.01 * (whole < 128).sum()


@pytest.mark.parametrize("key", ["block-drilling", "story-stick"])
@pytest.mark.parametrize("paper", list(PAPERS))
def test_rasterised_bar_is_100_mm_long(paper, key):
    dots = 10
    block = next(d for d in sheets("slack_water") if d.key == key)
    page = picture(pdf_bytes((block,), paper), 0, dots)  # the first page of a tiled sheet holds both bars
    t = tiles(block, paper)[0]
    bar = max((e for e in block.on("scale", Line) if e.y1 == e.y2), key=lambda e: -abs(abs(e.x2 - e.x1) - 100))
    row = round((t.paper[1] - (bar.y1 - t.y + EDGE)) * dots)
    dark = np.flatnonzero((page[row - 3:row + 4] < 128).any(axis=0))
    left = round((bar.x1 - t.x + EDGE) * dots)
    run = [x for x in dark if left - 20 <= x <= left + 1015]
    assert (run[-1] - run[0] + 1) / dots == pytest.approx(100 + LAYERS["scale"].width, abs=0.2)
    assert len(run) == run[-1] - run[0] + 1


@pytest.mark.parametrize("paper", list(PAPERS))
@pytest.mark.parametrize("name", GOOD)
def test_every_page_has_its_bar(name, paper):
    """A line of 100 mm, level, with two ends and tens, whole on every page; in the foot margin of each tile."""
    with pdfplumber.open(io.BytesIO(pdf_bytes(sheets(name), paper))) as pdf:
        tiled = [not t.single for d in sheets(name) for t in tiles(d, paper)]
        assert len(tiled) == len(pdf.pages) and any(tiled)
        for page, one in zip(pdf.pages, tiled, strict=True):
            level = [e for e in page.lines if abs(e["top"] - e["bottom"]) < 1e-6 and abs(e["x1"] - e["x0"] - 100 * MM) < 0.01]
            foot = [e for e in level if float(page.height) - e["bottom"] < EDGE * MM]
            bar = (foot if one else level)[0]
            assert 4 * MM < bar["x0"] and bar["x1"] < float(page.width) - 4 * MM  # where every printer prints
            ticks = {round((e["x0"] - bar["x0"]) / MM, 2) for e in page.lines if abs(e["x0"] - e["x1"]) < 1e-6
                     and abs(e["bottom"] - bar["bottom"]) < 0.01}
            assert {10.0 * k for k in range(11)} <= ticks
            assert "100mm" in page.extract_text().replace(" ", "")


@pytest.mark.parametrize("name", GOOD)
def test_dxf_is_clean_and_measures_what_is_drawn(name):
    for d in sheets(name):
        doc = ezdxf.read(io.StringIO(dxf_text(d)))
        audit = doc.audit()
        assert not audit.errors and not audit.fixes
        assert doc.units == 4 and doc.header["$INSUNITS"] == 4 and doc.header["$MEASUREMENT"] == 1
        space = doc.modelspace()
        lines = ends([(*e.dxf.start.vec2, *e.dxf.end.vec2) for e in space.query("LINE")])
        assert nearest(drawn_lines(d), lines) < 0.01
        rounds = np.array([(e.dxf.center.x, e.dxf.center.y, e.dxf.radius) for e in space.query("CIRCLE")])
        if len(circles(d)):
            assert nearest(circles(d), rounds) < 1e-6
        assert len(space.query("ARC")) == sum(isinstance(e, Arc) for e in d.primitives())
        assert {e.dxf.layer for e in space} <= set(LAYERS)
        for layer, wanted in LAYERS.items():
            made = doc.layers.get(layer)
            assert made.dxf.lineweight == round(100 * wanted.width)
            assert (made.dxf.linetype == "Continuous") == (not wanted.dashes)
        said = {e.dxf.text for e in space.query("TEXT")}
        assert said == {e.words for e in d.primitives() if isinstance(e, Text)}


@pytest.mark.parametrize("name", ["slack_water", "cross_tide"])
def test_the_three_formats_agree(name):
    for d in sheets(name):
        svg = ElementTree.fromstring(svg_text(d))
        space = "{http://www.w3.org/2000/svg}"
        assert svg.get("width") == f"{d.width:.4f}".rstrip("0").rstrip(".") + "mm"
        assert [float(v) for v in svg.get("viewBox").split()] == pytest.approx([0, 0, d.width, d.height], abs=1e-3)
        lines = ends([(float(e.get("x1")), d.height - float(e.get("y1")), float(e.get("x2")), d.height - float(e.get("y2")))
                      for e in svg.iter(f"{space}line")])
        doc = ezdxf.read(io.StringIO(dxf_text(d)))
        other = ends([(*e.dxf.start.vec2, *e.dxf.end.vec2) for e in doc.modelspace().query("LINE")])
        assert len(lines) == len(other) and np.abs(lines - other).max() < 0.003
        with pdfplumber.open(io.BytesIO(pdf_bytes((d,), "one"))) as pdf:
            page = pdf.pages[0]
            third = ends([(a / MM - EDGE, (float(page.height) - b) / MM - EDGE, c / MM - EDGE,
                           (float(page.height) - f) / MM - EDGE)
                          for (a, b), (c, f) in (e["pts"] for e in page.lines)])
            words = {w.replace(" ", "") for w in page.extract_text(layout=False).split("\n")}
        assert nearest(lines, third) < 0.01 and words
        rounds = np.array([(float(e.get("cx")), d.height - float(e.get("cy")),
                            float(e.get("r"))) for e in svg.iter(f"{space}circle")])
        if len(circles(d)):
            assert nearest(circles(d), rounds) < 0.001
        assert [t.text for t in svg.iter(f"{space}text")] and {t.text for t in svg.iter(f"{space}text")} == {
            e.words for e in d.primitives() if isinstance(e, Text)}
        arcs = [e.get("d").split() for e in svg.iter(f"{space}path")]
        assert len(arcs) == sum(isinstance(e, Arc) for e in d.primitives())
        paths = sum(isinstance(e, Path) for e in d.primitives())
        assert len(list(svg.iter(f"{space}polygon"))) + len(list(svg.iter(f"{space}polyline"))) == paths


def test_svg_arcs_turn_the_right_way():
    """An arc's middle, from its two ends, radius and flags as the SVG standard has it, is the drawing's."""
    d = next(x for x in sheets("slack_water") if x.key == "pocket-routing")
    space = "{http://www.w3.org/2000/svg}"
    paths = [e.get("d").split() for e in ElementTree.fromstring(svg_text(d)).iter(f"{space}path")]
    for arc in (e for e in d.primitives() if isinstance(e, Arc)):
        best = math.inf
        for p in paths:
            x0, y0, r, large, sweep, x1, y1 = (float(p[k]) for k in (1, 2, 4, 7, 8, 9, 10))
            mx, my, dx, dy = (x0 + x1) / 2, (y0 + y1) / 2, x1 - x0, y1 - y0
            off = math.sqrt(max(r**2 - (dx**2 + dy**2) / 4, 0.0)) * (1 if large != sweep else -1) / math.hypot(dx, dy)
            best = min(best, math.hypot(mx - dy * off - arc.x, d.height - (my + dx * off) - arc.y) + abs(r - arc.radius))
        assert best < 0.01


def test_the_same_drawings_give_the_same_files():
    a, b = (templates(load("flat_calm"), Job()) for _ in range(2))
    assert pdf_bytes(a, "Letter") == pdf_bytes(b, "Letter")
    assert svg_text(a[0]) == svg_text(b[0])


def test_one_large_sheet_holds_all_without_overlap():
    found = sheets("slack_water")
    wide, high, places = one_sheet(found)
    boxes = [(x, y, x + d.width, y + d.height) for d, (x, y) in zip(found, places, strict=True)]
    for k, (x0, y0, x1, y1) in enumerate(boxes):
        assert EDGE - 1e-9 <= x0 and x1 <= wide - EDGE + 1e-9 and EDGE - 1e-9 <= y0 and y1 <= high - EDGE + 1e-9
        assert all(x1 <= a or c <= x0 or y1 <= b or e <= y0 for a, b, c, e in boxes[k + 1:])
    with pdfplumber.open(io.BytesIO(pdf_bytes(found, "one"))) as pdf:
        assert (float(pdf.pages[0].width) / MM, float(pdf.pages[0].height) / MM) == pytest.approx((wide, high), abs=0.01)


def test_unknown_paper_is_named():
    with pytest.raises(ValueError, match="paper: 'A5'"):
        pdf_bytes(sheets("slack_water"), "A5")
    with pytest.raises(ValueError, match="paper: 'B4'"):
        tiles(sheets("slack_water")[0], "B4")
    with pytest.raises(ValueError, match="no drawing"):
        pdf_bytes((), "A4")
