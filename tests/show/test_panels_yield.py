"""Before and after set-up on pictures and in the hand sheet: what they show is what the studies and a builder's own sum give."""

from __future__ import annotations

import numpy as np
import pytest
from sheets import every_slider_answers

import lutherie_geom as lg
from lutherie_geom.design.spread import SpreadError
from lutherie_geom.design.tolerances import Tolerances
from lutherie_geom.joint.coupling import action_slopes
from lutherie_geom.joint.pose import pose
from lutherie_geom.show import panels_yield
from lutherie_geom.studies.allocation_design import judge_for
from lutherie_geom.studies.setup import limits_of
from lutherie_geom.studies.spreads import Spreads
from lutherie_geom.studies.yield_table import model_names
from lutherie_geom.studies.yields import before_and_after


@pytest.fixture(scope="module")
def design():
    return lg.load("slack_water")


@pytest.fixture(scope="module")
def sheet(design):
    return panels_yield.yields_sheet(design)


def titles(drawing):
    return [axes.get_title(loc="left") for axes in drawing.axes]


def test_the_histogram_is_the_run_and_the_titles_say_its_shares(design):
    result = before_and_after(design, samples=2**14)
    drawing = panels_yield.yields_picture(result)
    left, right = drawing.axes
    for patch, after in zip([p for p in left.patches if hasattr(p, "get_data")][::2], (False, True), strict=True):
        values = patch.get_data().values
        assert values.sum() == pytest.approx(100, abs=1.0)  # a last part bin may be left out
        edges = patch.get_data().edges
        mean = float((values * (edges[1:] + edges[:-1]) / 2).sum() / values.sum())
        own = result.run.tally.mean[model_names().index(f"action_bass_{'after' if after else 'before'}")]
        assert mean == pytest.approx(own, abs=0.01)
    shares = right.lines[-2].get_xdata() if len(right.lines) > 2 else right.lines[1].get_xdata()
    assert shares[-1] == pytest.approx(100 * result.passing_after)
    assert titles(drawing)[1] == "All at once: adjustability buys about 80 in 100"


def test_too_few_instruments_print_no_digit():
    assert panels_yield.in_100(0.17, 0.006) == "not known"
    assert panels_yield.in_100(0.1732, 0.001) == "about 20"
    assert panels_yield.in_100(1.0, 1e-6) == "100"


def test_mended_one_error_at_a_time_against_sums_by_hand(design):
    rows = {row[0]: row[1:] for row in panels_yield.mended(design)}
    own = Spreads.of_design(design).of
    # The head bears too deep by its tolerance: as good as a turn of the same length, and no trace of it is left.
    off = own["tilt_screw.head_x"].high
    per_turn = np.abs(action_slopes(pose(design.dimensions()), 12)["tilt"]).max()
    before, after, _, gap = rows["tilt_screw.head_x"]
    assert before == pytest.approx(off / design.tilt_screw.pitch * per_turn, rel=0.02) and after < 0.01 and abs(gap) < 0.01
    # A string between: half of the saddle's error at fret 12, and no screw touches it.
    before, after, *_ = rows["strings.saddle_heights[3]"]
    assert before == after == pytest.approx(own["strings.saddle_heights"].high / 2, rel=0.02)
    # More wood under the board is less gap, before and after.
    assert rows["tongue.wood"][2:] == pytest.approx([-own["tongue.wood"].high] * 2, abs=1e-6)
    assert list(rows.values()) == sorted(rows.values(), key=lambda r: -r[0])


def test_mend_picture_says_its_largest_numbers(design):
    drawing = panels_yield.mend_picture(design)
    rows = panels_yield.mended(design)
    assert f"{max(r[1] - r[2] for r in rows):.2f} mm" in titles(drawing)[0]
    assert f"{max(abs(r[4]) for r in rows):.2f} mm" in titles(drawing)[1]
    labels = [t.get_text() for t in drawing.axes[0].get_yticklabels()]
    assert sum("saddle" in w for w in labels) == 2 and "tongue wood" in labels


def test_a_slider_moves_dots_curves_and_words(sheet):
    sheet.reset()
    box, loose, done, rule, _, after, dots, finding, _ = sheet_artists(sheet)
    cloud, curve, text = done.get_xydata().copy(), after.get_ydata().copy(), sheet.text
    sheet.set(steps=8, scatter=2.0, half=0.10)
    assert sheet.error is None and sheet.text != text
    assert not np.allclose(cloud, done.get_xydata()) and (after.get_ydata() <= curve + 1e-9).mean() > 0.9
    assert box.get_width() == pytest.approx(0.2) and list(rule.get_xdata()) == [0.10, 0.10]
    assert "steps of 1/8 turn, work 2 times as loose" in sheet.text and "work 2 times as loose" in finding.get_text()
    bass, treble = loose.get_data()
    inside = np.maximum(np.abs(bass), np.abs(treble)) <= 0.10
    assert dots.get_ydata()[0] <= 100 * inside.mean() + 1e-9  # the other limits must be kept, too
    sheet.reset()
    assert sheet.text == text


def sheet_artists(sheet):
    figure = sheet.figure
    cloud, curve = figure.axes
    loose, done = cloud.lines
    before, after, dots, rule = curve.lines
    return cloud.patches[0], loose, done, rule, before, after, dots, cloud._left_title, curve._left_title


def test_the_sheet_agrees_with_a_judge_of_its_own(design, sheet):
    """The same yield by the allocation's judge, which draws other instruments."""
    sheet.set(scatter=1.0, half=0.25, steps=16)
    own = tuple(Spreads.of_design(design).of.values())
    limits = limits_of(design)
    words = [100 * judge_for(design, set_up=s, limits=limits, samples=1024)(own) for s in (False, True)]
    shown = sheet_artists(sheet)[6].get_ydata()
    assert shown == pytest.approx(words, abs=6)  # 200 instruments: twice 2.7 in 100


def test_finer_steps_and_wider_windows_never_lose(sheet):
    x = []
    for steps in panels_yield.PER_TURN[::2]:
        sheet.set(scatter=1.0, steps=steps, half=0.05)
        curve = sheet_artists(sheet)[5].get_ydata()
        assert np.all(np.diff(curve) >= 0)
        x.append(curve[10])
    assert x[-1] >= x[0]


def test_every_slider_answers(sheet):
    sheet.reset()
    every_slider_answers(sheet)


def test_a_design_without_tolerances_is_refused_in_words():
    bare = lg.load("flat_calm").model_copy(update={"tolerances": Tolerances()})
    for make in (panels_yield.mended, panels_yield.yields_sheet):
        with pytest.raises(SpreadError, match="no number of the design has a tolerance"):
            make(bare)


def test_another_design_is_mended_as_well():
    rows = {row[0]: row[1:] for row in panels_yield.mended(lg.load("long_reach"))}
    assert max(after for _, after, *_ in rows.values()) < 0.25 * max(before for before, *_ in rows.values())
