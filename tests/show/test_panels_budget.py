"""The budget's pictures and sheet: bars against the budget's own numbers, the sheet against the full computation."""

from __future__ import annotations

import re

import numpy as np
import pytest
from sheets import every_slider_answers

import lutherie_geom as lg
from lutherie_geom.joint.travel import travel
from lutherie_geom.show import panels_budget
from lutherie_geom.studies.budget import budget

DESIGN = lg.load("slack_water")


@pytest.fixture(scope="module")
def found():
    return budget(DESIGN, samples=256)


@pytest.fixture(scope="module")
def sheet():
    return panels_budget.budget_sheet(DESIGN)


def test_bars_are_the_budgets_quantiles(found) -> None:
    drawing = panels_budget.budget_picture(found)
    for side, (axes, turns) in enumerate(zip(drawing.axes, (found.down, found.up), strict=True)):
        bars = [p for p in axes.patches if p.get_height() == pytest.approx(0.64)]
        assert bars[0].get_width() == pytest.approx(turns)
        edge = turns
        for k in range(len(found.shares)):
            next_edge = float(np.quantile(found.after(k + 1)[side], 0.05))
            assert bars[k + 1].get_width() == pytest.approx(abs(edge - next_edge))
            edge = next_edge
        assert edge == pytest.approx(found.left[side])
        words = axes.get_title(loc="left")
        assert f"{abs(edge):.2f}" in words and ("missing" in words) == (edge < 0)


def test_lasting_curve_counts(found) -> None:
    curve = panels_budget.lasting_picture([found, found]).axes[0]
    x, y = curve.lines[0].get_data()
    at_20 = 100 * float(found.lasting.mean())
    assert float(np.interp(20.0, x, y)) == pytest.approx(at_20, abs=1.0) and np.all(np.diff(y) <= 0)


def test_moved_stops_against_travel() -> None:
    ends = panels_budget.moved_stops(DESIGN)
    for gap, clearance in ((1.2, 1.4), (0.7, 2.1), (2.0, 0.8)):
        more = gap - DESIGN.tongue.gap
        other = DESIGN.model_copy(update={
            "tongue": DESIGN.tongue.model_copy(update={"gap": gap}),
            "heel": DESIGN.heel.model_copy(update={"floor_clearance": clearance}),
            "strings": DESIGN.strings.model_copy(update={"saddle_heights": [h + more for h in DESIGN.strings.saddle_heights]})})
        t = travel(other)
        assert ends(gap, clearance) == pytest.approx((t.low, t.high), abs=0.02)


def test_every_slider_answers(sheet) -> None:
    every_slider_answers(sheet)


def test_sliders_make_it_last_longer_or_shorter(sheet, found) -> None:
    sheet.reset()
    shown = int(re.search(r"Of 100 instruments (\d+)", sheet.text).group(1))  # type: ignore[union-attr]
    assert shown == pytest.approx(100 * found.lasting.mean(), abs=5)
    for change, better in (({"lift": 3.0}, False), ({"taste": 0.9}, False), ({"loose": 2.5}, False), ({"clearance": 2.6}, True),
                           ({"lift": 0.0}, True)):
        sheet.set(**change)
        assert sheet.error is None
        now = int(re.search(r"Of 100 instruments (\d+)", sheet.text).group(1))  # type: ignore[union-attr]
        assert now > shown if better else now < shown, change
        sheet.reset()
    sheet.set(gap=2.2)
    up = float(re.search(r"([\d.]+) up", sheet.text).group(1))  # type: ignore[union-attr]
    assert up > travel(DESIGN).high + 0.3
