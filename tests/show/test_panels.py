"""The joint's own hand sheets answer at every step and end of every slider; each picture says a finding."""

from __future__ import annotations

import re

import numpy as np
import pytest
from matplotlib.text import Text
from sheets import every_slider_answers

import lutherie_geom as lg
from lutherie_geom.design.load import names
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.strings import action
from lutherie_geom.show import panels
from lutherie_geom.show.panels_moves import exact_rate, ranked, rule_rate
from lutherie_geom.show.panels_travel import _run


@pytest.mark.parametrize("name", panels.SHEETS)
@pytest.mark.parametrize("design", ["slack_water", "long_reach", "flat_calm"])
def test_every_slider_answers(name: str, design: str) -> None:
    every_slider_answers(getattr(panels, name)(lg.load(design)))


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


def _drawn(design: lg.Design) -> tuple[panels.SideView, list[np.ndarray]]:
    """A side view at rest, and what stands still on it: corners of each patch [mm]."""
    _, (axes, _) = panels.stage()
    view = panels.SideView(axes, design, times=1.0)
    view.draw(design.pose())
    return view, [patch.get_xy() for patch in axes.patches if patch is not view.neck]


def test_the_side_view_is_drawn_from_the_design() -> None:
    design = lg.load("slack_water")
    other = design.model_copy(update={"block": design.block.model_copy(update={"depth": 45.0, "foot_z": -130.0}),
                                      "heel": design.heel.model_copy(update={"length": 62.0})})
    for each, block, foot, heel in ((design, 60, -100, -55), (other, 45, -130, -62)):
        view, still = _drawn(each)
        corners = next(c for c in still if c[:, 1].min() < -50)
        assert (corners[:, 0].max(), corners[:, 1].min()) == (block, foot)
        assert view.axes.get_ylim()[0] < foot
        neck = view.neck.get_xy()
        assert neck[:, 1].min() == pytest.approx(-96) and np.any(np.abs(neck - [heel, -10]).max(axis=1) < 1e-9)
        face = neck[(neck[:, 1] < -5) & (neck[:, 0] > -10)]
        assert face[:, 0] == pytest.approx(-1.4)  # floor clearance of Slack Water, from its file


@pytest.mark.parametrize("name", names())
def test_names_in_the_side_view_stand_apart_and_all_stops_can_be_found(name: str) -> None:
    drawing = panels.joint_picture(lg.load(name))
    drawing.draw_without_rendering()
    side = drawing.axes[0]
    named = {t.get_text().replace("\n", " ") for t in side.texts}
    assert {"heel", "foot", "tongue", "pocket", "floor of the pocket", "clamp screw", "pivot", "tilt screw"} <= named
    # An annotation's own extent takes its line in; the letters alone must not meet.
    boxes = [Text.get_window_extent(t) for t in side.texts]
    assert not [(a, b) for k, a in enumerate(boxes) for b in boxes[:k] if a.overlaps(b)]
    frame = side.get_window_extent()
    assert all(frame.x0 <= b.x0 and b.x1 <= frame.x1 + 2 and frame.y0 <= b.y0 for b in boxes)
