"""The freed top's picture and sheet: the grid against the solver and a closed form, the text against what is drawn."""

from __future__ import annotations

import re

import numpy as np
import pytest
from sheets import every_slider_answers

import lutherie_geom as lg
from lutherie_geom.design.woods import wood
from lutherie_geom.mechanics.freed_top import UpperBout, freed_top, sheet_of
from lutherie_geom.mechanics.plate import plate_of
from lutherie_geom.show import panels_top
from lutherie_geom.theory.plate import plate_frequency

DESIGN = lg.load("slack_water")


@pytest.fixture(scope="module")
def grid() -> panels_top.Grid:
    return panels_top.shift_grid(DESIGN, lengths=(80.0, 100.0, 150.0), woods=(1.0, 4.0))


def test_the_free_plate_is_the_closed_form(grid: panels_top.Grid) -> None:
    """Supported edges, no block, no brace, tongue floating: the sine wave's own frequency; Ritz comes from above."""
    top = sheet_of(wood(DESIGN.woods.top), thickness=float(DESIGN.body.top_thickness), moisture=DESIGN.woods.moisture)
    p = plate_of(top)
    for length in grid.axes[0]:
        exact = plate_frequency(d11=p.d11, d12=p.d12, d22=p.d22, d66=p.d66, density=top.density, thickness=top.thickness,
                                length=length, width=280.0, waves_x=1, waves_y=1)
        _, freed = grid(length, 2.0, 0.0)
        assert 1 <= freed[0] / exact < 1.005


def test_between_its_points_the_grid_is_near(grid: panels_top.Grid) -> None:
    fine = panels_top.shift_grid(DESIGN, lengths=(89.0, 90.0), woods=(2.2, 2.5))
    for hold in (0.0, 2.0, 4.0):
        rough, exact = np.array(grid(90.0, 2.5, hold)), np.array(fine(90.0, 2.5, hold))
        np.testing.assert_allclose(rough, exact, rtol=0.08)
        shift = [100 * (f[1] / f[0] - 1) for f in (rough, exact)]
        np.testing.assert_allclose(shift[0], shift[1], atol=6)


def test_the_sheet_lies_within_the_reports_range(grid: panels_top.Grid) -> None:
    area = UpperBout(length=100.0, block_depth=float(DESIGN.block.depth))
    found = freed_top(DESIGN, area=area, samples=8, degree=4)
    glued, freed = grid(100.0, 3.2, 0.0)
    for case, f0, f1 in zip([c for c in found.cases if not c.block], glued, freed, strict=True):
        shift = 100 * (f1 / f0 - 1)
        assert case.percent.min() - 4 < shift < case.percent.max() + 4, case


def test_every_slider_answers_in_picture_and_words(grid: panels_top.Grid) -> None:
    sheet = panels_top.top_sheet(DESIGN, grid)
    words = sheet.text
    every_slider_answers(sheet)
    off = next(line for line in sheet.figure.axes[1].lines if line.get_label() == "tongue floats")
    before = np.array(off.get_xdata(), dtype=float)
    for change in ({"length": 140.0}, {"wood": 3.9}, {"hold": 4.0}):
        sheet.set(**change)
        assert sheet.text != words
        sheet.reset()
    sheet.set(length=140.0)
    assert np.all(np.asarray(off.get_xdata()) < before)  # a longer area swings lower
    low, high = re.search(r"by (\S+) to (\S+) %", sheet.text).groups()  # type: ignore[union-attr]
    shown = [float(t.get_text().removesuffix(" %")) for t in sheet.figure.axes[1].texts if t.get_text().endswith("%")]
    assert (float(low), float(high)) == (min(shown), max(shown))


def test_the_picture_draws_the_reports_quantiles() -> None:
    found = freed_top(DESIGN, samples=4, degree=4)
    drawing = panels_top.top_picture(found, DESIGN)
    chart = drawing.axes[1]
    thick = [np.asarray(line.get_xdata(), dtype=float) for line in chart.lines if line.get_linewidth() == 5]
    bars = sorted(tuple(np.round(x, 1)) for x in thick)
    expected = sorted(tuple(np.round(np.quantile(c.percent, (0.05, 0.95)), 1) + 0.0) for c in found.cases)
    np.testing.assert_allclose(bars, expected, atol=0.11)
    assert len(chart.get_yticklabels()) == len(found.cases)
    assert f"{found.mass:.0f} g" in drawing.axes[0].get_title(loc="left")
