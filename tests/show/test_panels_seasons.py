"""A year in pictures: what is drawn against the report, and the block's sheet against its null and its signs."""

from __future__ import annotations

import re

import numpy as np
import pytest
from sheets import every_slider_answers

import lutherie_geom as lg
from lutherie_geom.mechanics.climate import seasonal
from lutherie_geom.mechanics.seasons import LAGS, ends, year
from lutherie_geom.show import panels_seasons

DESIGN = lg.load("slack_water")


@pytest.fixture(scope="module")
def found():
    return year(DESIGN, "net_loft_logger", samples=16)


def test_the_pictures_draw_the_report(found) -> None:
    air = panels_seasons.air_picture(found)
    months = found.air.by_month(found.air.humidity)
    assert f"{months.min():.0f} % in its driest" in air.axes[0].get_title(loc="left")
    action = panels_seasons.action_picture(found)
    bars = sorted(action.axes[0].patches, key=lambda p: p.get_x())
    heights = [p.get_height() for p in bars if p.get_width() == pytest.approx(0.62)]
    low, high = ends(found.change, axis=1)
    np.testing.assert_allclose(heights, high - low)
    assert f"{len(found.settings())} small turns" in action.axes[1].get_title(loc="left")
    window = panels_seasons.window_picture(found, DESIGN)
    said = [int(x) for x in re.findall(r"\d+", window.axes[0].get_title(loc="left"))]
    # 19 of 20 and the middle: the greatest of the lower ends, the least of the upper.
    assert said[:2] == [round(float(np.quantile(side, q))) for side, q in zip(found.window, (0.95, 0.05), strict=True)]
    parts = panels_seasons.parts_picture(found)
    assert [t.get_text() for t in parts.axes[0].get_yticklabels()] == list(found.parts)
    assert "braced top and bridge" in parts.axes[0].get_title(loc="left")


@pytest.fixture(scope="module")
def sheet():
    return panels_seasons.block_sheet(DESIGN)


def part(sheet) -> float:
    return float(re.search(r"own part is ([\d.]+) mm", sheet.text).group(1))  # type: ignore[union-attr]


def swing(sheet) -> float:
    return float(re.search(r"swings by ([\d.]+) mm", sheet.text).group(1))  # type: ignore[union-attr]


def test_the_sheet_agrees_with_the_year(sheet) -> None:
    """At the middle of all ranges: one sample of the year without spread (its months' means are flatter than the days)."""
    sheet.reset()
    middle = year(DESIGN, seasonal(), samples=2, share=(0.3, 0.3), lags={k: (sum(v) / 2,) * 2 for k, v in
                                                                         (LAGS | {"top": (25.0, 25.0)}).items()})
    assert swing(sheet) == pytest.approx(float(np.median(middle.swing)), rel=0.15)


def test_block_still_at_its_null_and_against_the_top_past_it(sheet) -> None:
    sheet.reset()
    null = round(float(re.search(r"null at ([\d.]+)", sheet.text).group(1)))  # type: ignore[union-attr]
    sheet.set(head=null)
    assert part(sheet) <= 0.01
    sheet.set(head=35)
    far = swing(sheet)
    sheet.set(head=0)
    assert far < swing(sheet)  # deeper than the null the block works against the top
    sheet.reset()


def test_every_slider_answers_and_a_slow_top_swings_less(sheet) -> None:
    sheet.reset()
    every_slider_answers(sheet)
    sheet.set(lag=80.0)
    slow = swing(sheet)
    sheet.set(lag=5.0)
    assert slow < swing(sheet)
    sheet.reset()
