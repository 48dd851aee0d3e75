"""The tongue's pictures and sheet: what they say agrees with the reports, what moves follows the sliders."""

from __future__ import annotations

import re

import numpy as np
import pytest
from sheets import every_slider_answers

import lutherie_geom as lg
from lutherie_geom.mechanics.neck_relief import relief
from lutherie_geom.mechanics.rods import rods
from lutherie_geom.show import panels_tongue

DESIGNS = ("slack_water", "cross_tide", "long_reach", "flat_calm")


def numbers(words: str) -> list[float]:
    return [float(n) for n in re.findall(r"-?\d+\.?\d*", words)]


@pytest.mark.parametrize("name", DESIGNS)
def test_every_slider_answers_in_picture_and_words(name: str) -> None:
    sheet = panels_tongue.rods_sheet(lg.load(name))
    words = sheet.text
    every_slider_answers(sheet)
    for change in ({"size": 3.0}, {"middle": -1.5}, {"count": 4}, {"wood": 6.0}, {"modulus": 60.0}):
        sheet.set(**change)
        assert sheet.text != words
        sheet.reset()


@pytest.mark.parametrize("name", DESIGNS)
def test_sheet_begins_with_what_the_report_says(name: str) -> None:
    """One array calculation in the sheet, two beams and a search in the report."""
    design = lg.load(name)
    report, text = rods(design), panels_tongue.rods_sheet(design).text
    gain, _, more = numbers(text)[:3]
    assert gain == pytest.approx(100 * report.gain[1], abs=0.06)
    assert more == pytest.approx(100 * report.wood[1], abs=0.06)
    assert ("They fit all along" in text) == report.fit


def test_the_room_of_the_sheet_is_the_reports() -> None:
    design = lg.load("slack_water")
    sheet = panels_tongue.rods_sheet(design)
    chart = sheet.figure.axes[1]
    room = next(line for line in chart.lines if str(line.get_label()).startswith("where they fit"))
    np.testing.assert_allclose(np.asarray(room.get_xdata(), dtype=float), np.array(rods(design).room), atol=1e-9)
    sheet.set(wood=1.0, size=3.0)
    assert len(np.asarray(room.get_xdata())) == 0 and "do not fit" in sheet.text


def test_rods_on_the_neutral_axis_bring_least_and_the_point_lies_on_the_curve() -> None:
    sheet = panels_tongue.rods_sheet(lg.load("slack_water"))
    chart = sheet.figure.axes[1]
    sheet.set(wood=5.5)  # deep enough for rods 2 mm under the glue line, all along
    curve, point = chart.lines[0], next(line for line in chart.lines if line.get_marker() == "o")
    for middle in (-2.0, 0.0, 1.0, 2.0):
        sheet.set(middle=middle)
        x, y = np.asarray(curve.get_xdata(), dtype=float), np.asarray(curve.get_ydata(), dtype=float)
        seen = np.isfinite(y)
        assert np.asarray(point.get_ydata())[0] == pytest.approx(np.interp(middle, x[seen], y[seen]), abs=0.2)
    lowest = float(x[seen][np.argmin(y[seen])])
    joint, tip = (np.asarray(sheet.figure.axes[0].lines[k].get_ydata(), dtype=float) for k in (0, 2))
    assert joint[3] < lowest < tip[0] + 25  # over the axis at a slot at the joint, under that between slots at the tip
    assert joint[3] < joint[0] and tip[3] < tip[0]  # where a slot has cut the board, the neutral axis lies lower


def test_flat_rods_are_drawn_flat_and_told_as_such() -> None:
    d = lg.load("slack_water")
    flat = d.model_copy(update={"tongue": d.tongue.model_copy(update={
        "rod_shape": "flat", "rods": 1, "rod_width": 6.0, "rod_diameter": 2.0, "rod_above_glue_line": 0.5})})
    view, chart = panels_tongue.rods_picture(flat).axes
    gain = 100 * rods(flat).gain[1]
    assert f"bring {gain:.0f} %" in chart.get_title(loc="left") and chart.get_ylabel() == "rods' height [mm]"
    assert "6 x 2 mm" in view.get_title(loc="left")
    drawn = [p.get_extents().transformed(view.transData.inverted()) for p in view.patches if p.get_facecolor()[:3] == (0, 0, 0)
             and p.get_visible()]
    assert [(round(b.width, 6), round(b.height, 6)) for b in drawn] == [(6.0, 2.0)] * 3
    assert numbers(panels_tongue.rods_sheet(flat).text)[0] == pytest.approx(gain, abs=0.06)


def test_rods_in_air_are_not_told_in_picture_and_sheet() -> None:
    spring = lg.load("spring_tide")
    assert "not told" in panels_tongue.rods_picture(spring).axes[1].get_title(loc="left")
    sheet = panels_tongue.rods_sheet(spring)
    assert "what they bring is not told" in sheet.text and "nan" not in sheet.text
    sheet.set(wood=6.0)
    assert "Rods bring" in sheet.text
    sheet.set(middle=-7.0)
    assert "not told" in sheet.text


@pytest.mark.parametrize("name", DESIGNS)
def test_pictures_state_the_reports_numbers(name: str) -> None:
    design = lg.load(name)
    r, bow = rods(design), relief(design)
    titles = [axes.get_title(loc="left") for axes in panels_tongue.rods_picture(design).axes]
    assert f"{100 * r.gain[1]:.0f} %" in titles[1] and f"{100 * r.wood[1]:.0f} %" in titles[1]
    title = panels_tongue.relief_picture(design).axes[0].get_title(loc="left")
    assert f"{bow.relief:.2f} mm ({bow.low:.2f} to {bow.high:.2f} mm)" in title
    for axes in panels_tongue.give_picture(design).axes:
        assert axes.get_xlabel() and re.search(r"\d", axes.get_title(loc="left"))


def test_the_drawn_neck_dips_by_its_relief() -> None:
    design = lg.load("slack_water")
    line = panels_tongue.relief_picture(design).axes[0].lines[0]
    x, y = np.asarray(line.get_xdata(), dtype=float), np.asarray(line.get_ydata(), dtype=float)
    assert y[0] == pytest.approx(0, abs=1e-9) and y[-1] == pytest.approx(0, abs=1e-9)
    assert np.interp((x[0] + x[-1]) / 2, x, y) == pytest.approx(relief(design).relief, rel=2e-3)
