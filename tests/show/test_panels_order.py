"""Pictures and sheet of the order of work: numbers in the titles are the plan's, sliders move what they should."""

from __future__ import annotations

import re

import numpy as np
import pytest
from sheets import every_slider_answers

import lutherie_geom as lg
from lutherie_geom.design.load import names
from lutherie_geom.shop.order.access import Cutter, box_of, meetings
from lutherie_geom.shop.order.keys import key_ways
from lutherie_geom.shop.order.order import plan, put_after
from lutherie_geom.show import panels_order

DESIGN = lg.load("slack_water")
PLAN = plan(DESIGN)


def title(drawing, k=0):
    return drawing.axes[k].get_title(loc="left").replace("\n", " ")


@pytest.fixture(scope="module")
def sheet():
    return panels_order.access_sheet(DESIGN)


def drawn(sheet, axes: int) -> list[np.ndarray]:
    return [np.array(line.get_xydata()) for line in sheet.figure.axes[axes].lines]


def test_the_chart_is_the_plan():
    drawing = panels_order.order_picture(PLAN)
    fixed = sum(a == b for a, b in PLAN.windows.values())
    assert title(drawing) == (f"Of {len(PLAN.order)} steps {fixed} can stand nowhere else; "
                              f"the tilt screw is captive from step {PLAN.order.index('cover') + 1}")
    axes = drawing.axes[0]
    labels = [t.get_text() for t in axes.get_yticklabels()]
    assert labels == [f"{PLAN.words(x)}  {k}" for k, x in enumerate(PLAN.order, 1)]
    locked = [t.get_text() for t in axes.texts]
    assert "rods" not in PLAN.order and len(locked) == 3  # this guitar has none
    assert all("locked in" in t for t in locked)


def test_a_mending_draws_what_moves():
    theirs = put_after(PLAN.order, "pocket", after="cover")
    drawing = panels_order.mending_picture(PLAN, theirs)
    moved = len(PLAN.mend(theirs).moves)
    assert title(drawing) == f"Step {PLAN.check(theirs).step} cannot be done; {moved} of {len(theirs)} operations must move"
    thick = [line for line in drawing.axes[0].lines if line.get_linewidth() > 2]
    assert len(thick) == moved
    assert title(panels_order.mending_picture(PLAN, PLAN.order)).startswith("Every step can be done; 0 of")


@pytest.mark.parametrize("bit", [6.0, 12.0])
def test_cutter_pictures_numbers_are_the_meetings(bit):
    drawing = panels_order.cutter_picture(DESIGN, bit)
    for k, whole in enumerate((False, True)):
        m = meetings(DESIGN, Cutter(bit=bit, bush=bit + 5, whole_floor=whole))[0]
        assert float(re.search(r"(\d+\.\d) mm", title(drawing, k))[1]) == pytest.approx(abs(m.bit), abs=0.051)
        assert ("too near" in title(drawing, k)) == (m.bit < 0)


@pytest.mark.parametrize("name", names())
def test_pictures_of_every_design(name):
    design = lg.load(name)
    tilt = key_ways(design)["tilt_screw"]
    assert f"({np.degrees(tilt.angle):.0f}°)" in title(panels_order.key_picture(design))
    longest = float(re.search(r"up to (\d+) mm", title(panels_order.swing_picture(design)))[1])
    assert 20 < longest <= 130
    panels_order.cutter_picture(design)
    panels_order.order_picture(plan(design))
    assert panels_order.access_sheet(design).text


def test_a_wider_bit_collides_and_a_screw_that_does_not_stand_is_clear(sheet):
    sheet.reset()
    assert "the bit meets the tilt screw" in sheet.text
    before = drawn(sheet, 0)
    sheet.set(bit=6.0, out=4.0)
    assert "the bit clears the tilt screw by 4.9 mm" in sheet.text
    assert any(not np.array_equal(a, b) for a, b in zip(before, drawn(sheet, 0), strict=True))
    sheet.set(out=6.0)  # past the pocket's depth, 4.6 mm: now the bush counts, 2.5 mm wider to each side
    assert "the guide bush clears the tilt screw by 2.4 mm" in sheet.text
    sheet.set(out=33.0)
    assert "the base plate meets" in sheet.text
    sheet.set(out=0.0)
    assert "does not stand out" in sheet.text


def test_the_swept_band_is_what_the_bit_takes():
    import shapely

    from lutherie_geom.shop.order.access import outline_path

    for bit in (6.0, 10.0, 14.0):
        band = shapely.Polygon(panels_order._swept(DESIGN, bit))
        path = shapely.LineString(outline_path(DESIGN, bit))
        swept = path.buffer(bit / 2).intersection(shapely.box(-60, -200, 60, -bit))
        # But for round corners at the foot.
        assert swept.difference(band.buffer(1e-6)).area < 0.01 * swept.area
        assert band.intersection(shapely.box(-60, -200, 60, -bit)).difference(swept).area < 0.6 * bit**2


def test_the_brace_shuts_the_key_out(sheet):
    sheet.reset()
    assert "no way" not in sheet.text
    sheet.set(brace=18.0)
    assert "Bass pivot screw: no way in" in sheet.text
    sheet.reset()
    start = drawn(sheet, 1)
    sheet.set(hole=170.0)
    now = drawn(sheet, 1)
    assert any(a.shape != b.shape or not np.allclose(a, b) for a, b in zip(start, now, strict=True))
    way = key_ways(DESIGN, box_of(DESIGN).moved(170.0))["tilt_screw"]
    assert f"({np.degrees(way.angle):.0f}°)" in sheet.text


def test_every_slider_answers(sheet):
    sheet.reset()
    every_slider_answers(sheet)
