"""At worst and in practice on pictures: bars are the numbers found, the sheet's bars and steps follow the sliders."""

import re

import numpy as np
import pytest
from matplotlib.collections import LineCollection
from sheets import every_slider_answers

import lutherie_geom as lg
from lutherie_geom.show import panels_worst as panels
from lutherie_geom.studies.practice import in_practice


@pytest.fixture(scope="module")
def sheet():
    return panels.worst_sheet(lg.load("slack_water"))


@pytest.fixture(scope="module")
def found():
    return in_practice(lg.load("slack_water"), samples=2**14)


def ends(axes, number):
    return np.array([s[:, 0] for s in [c for c in axes.collections if isinstance(c, LineCollection)][number].get_segments()])


def test_the_picture_shows_the_numbers_found(found):
    (axes,) = panels.practice_picture(found).axes
    numbers = [(r.straight.worst, r.straight.interval, r.interval) for r in found]
    for k, what in enumerate(zip(*numbers, strict=True)):
        np.testing.assert_allclose(ends(axes, k), what)
    said = [t.get_text() for t in axes.texts]
    assert said.count("agree") == 4 and said.count("part: believe the count") == 3
    assert "At worst 3 of 7" in axes.get_title(loc="left")


def test_the_kink_is_where_the_joint_rests(found):
    left, right = panels.kink_picture(lg.load("slack_water"), found).axes
    exact, straight = (line.get_ydata() for line in left.lines[:2])
    assert exact.argmax() == 40 and np.all(straight >= exact - 1e-4)
    assert re.search(r"-0\.63 and -0\.17", left.get_title(loc="left")) and "less than 1.2 mm" in right.get_title(loc="left")


@pytest.mark.parametrize("design", ["long_reach", "cross_tide"])
def test_other_designs(design):
    design = lg.load(design)
    found = in_practice(design, samples=2**13)
    pictures = panels.practice_picture(found), panels.kink_picture(design, found)
    titles = [axes.get_title(loc="left") for drawing in pictures for axes in drawing.axes]
    assert all(re.search(r"\d", t) and "nan" not in t for t in titles)
    assert "nan" not in panels.worst_sheet(design).text


def test_every_slider_answers(sheet):
    every_slider_answers(sheet)


def test_twice_as_loose_is_twice_as_wide_but_for_what_is_counted_at_a_kink(sheet):
    axes = sheet.figure.axes[0]
    before = [np.diff(ends(axes, k))[:, 0] for k in range(3)]
    sheet.set(times=2.0)
    after = [np.diff(ends(axes, k))[:, 0] for k in range(3)]
    np.testing.assert_allclose(after[0], 2 * before[0])
    np.testing.assert_allclose(after[1], 2 * before[1])
    np.testing.assert_allclose(after[2][[0, 1, 5, 6]], 2 * before[2][[0, 1, 5, 6]], rtol=0.02)
    sheet.reset()


def test_another_kind_keeps_the_limits_and_changes_the_spread(sheet):
    """Half over 2, root 3, root 6: what a normal, rectangular and triangular spread make of the same limits."""
    axes, wide = sheet.figure.axes[0], {}
    for kind, root in ((0, 4), (1, 3), (2, 6)):
        sheet.set(kind=kind)
        wide[kind] = [np.diff(ends(axes, k))[:, 0] for k in range(3)]
        np.testing.assert_allclose(wide[kind][0], wide[0][0])
        np.testing.assert_allclose(wide[kind][1], wide[0][1] * (4 / root) ** 0.5)
    assert np.all(wide[1][2] > wide[0][2]) and np.all(wide[2][2] < wide[0][2])
    assert "triangular" in sheet.text and "triangular" in axes.get_title(loc="left")
    sheet.reset()


def test_what_is_outside_is_counted(sheet):
    sheet.set(reading=1)
    outside = int(re.search(r"Outside are (\d+) of 2048", sheet.text)[1])
    assert outside == pytest.approx(2048 / 20, abs=15)
    steps = sheet.figure.axes[1].lines[0].get_ydata()
    assert steps.sum() == pytest.approx(100, abs=0.2)
    sheet.reset()
    assert int(re.search(r"Outside are (\d+) of 2048", sheet.text)[1]) > 3 * outside  # the gap, at its kink
