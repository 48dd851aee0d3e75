"""Each hand sheet builds, answers at both ends of every slider without an error, and is quick; each picture says a finding."""

from __future__ import annotations

import re
import statistics
import time

import numpy as np
import pytest

import lutherie_geom as lg
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.strings import action
from lutherie_geom.show import panels
from lutherie_geom.show.panels_moves import exact_rate, ranked, rule_rate
from lutherie_geom.show.panels_travel import _run

LIMIT_MS = 20.0  # what one slider's step may take in the kernel before the picture is drawn


@pytest.mark.parametrize("name", panels.SHEETS)
@pytest.mark.parametrize("design", ["slack_water", "long_reach", "flat_calm"])
def test_every_sheet_answers_at_every_sliders_ends(name: str, design: str) -> None:
    sheet = getattr(panels, name)(lg.load(design))
    first, words = sheet.png, sheet.text
    for control in sheet.controls:
        for value in (control.low, control.high):
            sheet.set(**{control.name: value})
            assert sheet.error is None, f"{control.name} = {value}: {sheet.text}"
            assert "nan" not in sheet.text and "-0.00 " not in sheet.text
        sheet.reset()
        near = control.start + (control.step if control.start + control.step <= control.high else -control.step)
        sheet.set(**{control.name: near})
        assert sheet.png != first, f"a step of {control.name} leaves the picture as it was"
        sheet.reset()
    assert sheet.png == first and sheet.text == words


@pytest.mark.parametrize("name", panels.SHEETS)
def test_a_step_costs_the_kernel_little(name: str) -> None:
    sheet = getattr(panels, name)(lg.load("slack_water"))
    times = []
    for _ in range(7):
        start = time.perf_counter()
        sheet._update(sheet.values)
        times.append(1e3 * (time.perf_counter() - start))
    assert statistics.median(times) < LIMIT_MS


@pytest.mark.parametrize("name", panels.PICTURES)
@pytest.mark.parametrize("design", ["slack_water", "cross_tide"])
def test_every_picture_states_a_number(name: str, design: str) -> None:
    chosen = [lg.load(design)] + ([lg.load("long_reach")] if name == "tilt_picture" else [])
    drawing = getattr(panels, name)(*chosen)
    titles = " ".join(axes.get_title(loc="left") for axes in drawing.axes)
    assert re.search(r"\d", titles), titles
    assert all(axes.get_xlabel() for axes in drawing.axes)


def test_another_gap_leaves_the_action_alone() -> None:
    d = lg.load("slack_water").dimensions()
    higher = panels.moved_height(d, 2.0)
    np.testing.assert_allclose(action(pose(higher), [1, 12]), action(pose(d), [1, 12]), atol=1e-9)


def test_the_pivots_height_drops_out_and_the_rule_is_near() -> None:
    """Exact slopes against a difference quotient and against the teaching form (computed here)."""
    d = lg.load("slack_water").dimensions()
    near = [pose(d, tilt=t) for t in (-1e-4, 1e-4)]
    quotient = np.diff([panels.mean_action(p) for p in near])[0] / (near[1].theta - near[0].theta)
    assert exact_rate(pose(d)) == pytest.approx(quotient, rel=1e-6)
    assert rule_rate(d) == pytest.approx(exact_rate(pose(d)), rel=5e-3)


def test_ranked_puts_the_largest_first() -> None:
    rows = ranked(lg.load("slack_water").dimensions(), tilt=0.5)
    sizes = [abs(value) for _, value in rows]
    assert sizes == sorted(sizes, reverse=True)
    assert dict(rows)["saddle height"] == pytest.approx(0.05, abs=0.002)  # about half: the string is a straight line


def test_run_of_good_places() -> None:
    assert _run(np.array([True, False, True, True, True])) == (2, 4)
    assert _run(np.array([True, True, False, True, True])) is None
