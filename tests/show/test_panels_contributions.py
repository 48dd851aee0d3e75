"""Ranked contributions on pictures: bars and points are the numbers found, the sheet's bars follow the sliders."""

import numpy as np
import pytest
from sheets import every_slider_answers

import lutherie_geom as lg
from lutherie_geom.joint.pose import pose
from lutherie_geom.show import panels_contributions as panels
from lutherie_geom.studies.contributions import READ, contributions
from lutherie_geom.studies.first_order import first_order
from lutherie_geom.studies.spreads import Spreads


@pytest.fixture(scope="module")
def sheet():
    return panels.tolerance_sheet(lg.load("slack_water"))


def test_the_picture_shows_the_numbers_found():
    found = contributions(lg.load("slack_water"), samples=2**11)
    drawing = panels.ranked_picture(found, few=6)
    left, right = drawing.axes
    for axes, key in ((left, "action.bass_12"), (right, "gap.least")):
        rows = found[key].items[:6]
        np.testing.assert_allclose([p.get_width() for p in axes.patches[:6]], [100 * c.share for c in rows])
        points = {line.get_marker(): line.get_xdata() for line in axes.lines if line.get_marker() in "oD"}
        np.testing.assert_allclose(points["o"], [100 * c.first for c in rows])
        np.testing.assert_allclose(points["D"], [100 * c.total for c in rows])
        assert [t.get_text() for t in axes.get_yticklabels()] == [panels.group_words(c.names) for c in rows]
        assert axes.get_xlim()[1] > 100 * max(c.total_interval[1] for c in rows)
    assert "of 25 errors carry 85 %" in left.get_title(loc="left") and "the slopes say" in right.get_title(loc="left")


@pytest.mark.parametrize("design", ["slack_water", "long_reach", "cross_tide"])
def test_maps_and_sheet_of_every_design(design):
    titles = " ".join(a.get_title(loc="left") for a in panels.map_picture(lg.load(design)).axes)
    assert "pivot's height counts" in titles and "nan" not in titles
    every_slider_answers(panels.tolerance_sheet(lg.load(design)))


def bars(sheet):
    return np.array([p.get_width() for p in sheet.figure.axes[0].patches])


def test_bars_are_first_order_of_the_joint_as_moved(sheet):
    """Against the study itself, on a joint built anew with the screw's arm shortened to 45 mm."""
    design = lg.load("slack_water")
    d = design.dimensions()
    sheet.set(arm=45.0)
    r = first_order(pose(d.replaced(z_head=d.z_p - 45.0, z_receiver=d.z_p - 45.0)), Spreads.of_design(design), READ[:1]).items[0]
    width = bars(sheet)
    np.testing.assert_allclose(sorted(width[:5]), sorted(abs(c.part) for c in r.contributions)[-5:], rtol=1e-9)
    assert f"± {1.959964 * r.standard:.2f} mm" in sheet.text
    sheet.reset()


def test_a_looser_tolerance_moves_its_bar_alone_and_the_dot(sheet):
    before, text = bars(sheet), sheet.text
    line, _, dot = sheet.figure.axes[1].lines[:3]
    sheet.set(which=2, times=2.0)
    after = bars(sheet)
    assert after[1] == pytest.approx(2 * before[1])
    np.testing.assert_allclose(np.delete(after, 1), np.delete(before, 1))
    assert dot.get_xdata()[0] == 2.0 and dot.get_ydata()[0] == pytest.approx(np.interp(2.0, *line.get_data()))
    assert "± 0.6 mm" in sheet.text and sheet.text != text
    sheet.reset()


def test_the_curve_is_the_law_of_propagation(sheet):
    """Three points make the curve; a fourth, of a grouped error, lies on it."""
    line, dot = sheet.figure.axes[1].lines[0], sheet.figure.axes[1].lines[2]
    for which in (1, 7, 8):
        for times in (0.0, 0.7, 1.6):
            sheet.set(which=which, times=times)
            assert dot.get_ydata()[0] == pytest.approx(np.interp(times, *line.get_data()), rel=1e-3)
    sheet.reset()


def test_words_of_a_group_stand_on_two_lines():
    assert panels.group_words(("heel.ball_height", "tilt_screw.receiver_z")).count("\n") == 1
