"""Templates in a notebook: pictures that say their number, a router sheet whose discs touch what they cut."""

import math

import numpy as np
import pytest
from shapely.geometry import LineString, Point
from sheets import every_slider_answers

import lutherie_geom as lg
from lutherie_geom.shop.order.access import Cutter
from lutherie_geom.shop.paper.title_block import Job
from lutherie_geom.shop.templates.refusals import ShopError
from lutherie_geom.shop.templates.templates import templates
from lutherie_geom.show import panels_templates as p

DESIGN = lg.load("slack_water")


def title(figure):
    return figure.axes[0].get_title(loc="left")


def test_titles_state_the_finding():
    assert "stands 2.50 mm off" in title(p.template_picture(DESIGN, "pocket-routing"))
    other = p.template_picture(DESIGN, "pocket-routing", Job(cutter=Cutter(bit=10.0, bush=16.0)))
    assert "stands 3.00 mm off" in title(other)
    assert "3.20 mm at fret 14" in title(p.template_picture(DESIGN, "tongue-rails"))
    assert title(p.tiles_picture(DESIGN)).startswith("705 mm on A4: 3 sheets")


@pytest.mark.parametrize("name", ["slack_water", "cross_tide", "long_reach"])
def test_every_sheet_can_be_seen(name):
    for d in templates(lg.load(name)):
        figure = p.preview(d)
        assert title(figure) == d.title
        x0, x1 = figure.axes[0].get_xlim()
        y0, y1 = figure.axes[0].get_ylim()
        assert x0 <= 0 and x1 >= d.width and y0 <= 0 and y1 >= d.height
        wide, high = figure.get_size_inches()
        assert (x1 - x0) / wide == pytest.approx((y1 - y0) / (high - 0.3), rel=1e-9)  # as long upward as sideways


def test_what_cannot_be_cut_has_no_picture():
    with pytest.raises(ShopError):
        p.template_picture(lg.load("spring_tide"), "tongue-rails")


def test_sliders_move_the_edges_and_the_words():
    sheet = p.router_sheet(DESIGN)
    axes = sheet.figure.axes[0]
    by = {line.get_label(): line for line in axes.lines}
    bit, bush = axes.patches[-2:]
    for values in ({"bit": 12.0}, {"bit": 6.0, "wider": 12.0}, {"bit": 16.0, "gap": 0.8, "film": 0.3, "along": 42.0}):
        sheet.set(**values)
        v = sheet.values
        pocket, edge = (LineString(by[k].get_xydata()) for k in ("raw pocket", "template's edge"))
        middle = Point(bit.center)
        assert bit.radius == pytest.approx(v["bit"] / 2) and bush.radius == pytest.approx((v["bit"] + v["wider"]) / 2)
        assert pocket.distance(middle) == pytest.approx(bit.radius, abs=0.02)  # the arcs are drawn in short straight pieces
        assert edge.distance(middle) == pytest.approx(bush.radius, abs=0.02)
        assert f"stands {v['wider'] / 2:.2f} mm off" in sheet.text and f"corners of {v['bit'] / 2:.2f} mm" in sheet.text
        heel = LineString(by["heel, its corners rounded"].get_xydata())
        assert 0 < heel.distance(pocket) <= math.hypot(1, 1) * (v["gap"] + v["film"])
    sheet.reset()
    assert "round the heel's by 4.31 mm" in sheet.text
    sheet.set(bit=4.0, gap=1.2)
    assert "sharp heel corner" in sheet.text and sheet.error is None


@pytest.mark.parametrize("name", ["slack_water", "flat_calm", "cross_tide"])
def test_every_slider_answers(name):
    sheet = p.router_sheet(lg.load(name))
    every_slider_answers(sheet)
    for control in sheet.controls:
        for value in (control.low, control.high):
            sheet.set(**{control.name: value})
            assert np.isfinite(sheet.figure.axes[0].lines[0].get_xydata()).all()
        sheet.reset()
