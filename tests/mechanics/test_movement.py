"""The joint over a year: each movement alone against geometry or its own exact relation, turns that undo, the window."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from lutherie_geom.design.load import load
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.strings import action
from lutherie_geom.mechanics.climate import ClimateError, constant, moisture, seasonal
from lutherie_geom.mechanics.movement import Swelling, TopStrip, action_change, null_captive_face, seasons, swelling_of, swollen
from lutherie_geom.theory.climate import block_tilt

DESIGNS = Path(__file__).parents[2] / "data" / "designs"
STILL = Swelling(top_rise=0.0, block=0.0, block_up=0.0, heel=0.0, neck=0.0, board=0.0, bridge=0.0, relief=0.0, anchor=10.0,
                 ball=-3.6)
CHANGE = np.array([-4.0, -1.0, 0.0, 2.0, 4.0])


@pytest.fixture(scope="module")
def design():
    return load(DESIGNS / "spring_tide_mended.toml")


def test_nothing_swells_nothing_moves(design):
    assert np.abs(action_change(design, CHANGE, STILL)).max() < 1e-12


def test_block_alone_against_the_exact_tilt(design):
    d = design.dimensions()
    found = swollen(design, CHANGE, replace(STILL, block=0.00225), d).theta
    exact = block_tilt(swelling=0.00225, moisture_change=CHANGE, x_head=d.x_head, x_anchor=10.0, x_p=d.x_p, z_p=d.z_p,
                       z_head=d.z_head, x_receiver=d.x_receiver, z_receiver=d.z_receiver)
    np.testing.assert_allclose(found, exact, rtol=0.01, atol=1e-12)
    assert found[-1] < 0  # wetter: action down, the captive face deeper than the threads
    lower = action_change(design, CHANGE, replace(STILL, block=0.00225))
    assert lower[-1] < -0.01 and lower[0] > 0.01


def test_captive_face_that_nulls(design):
    s = swelling_of(design)
    only = replace(STILL, block=s.block, heel=s.heel, anchor=s.anchor, ball=s.ball)
    x = float(null_captive_face(design, s))
    moved = design.model_copy(update={"tilt_screw": design.tilt_screw.model_copy(update={"head_x": x})})
    assert np.abs(action_change(moved, CHANGE, only)).max() < 1e-9
    assert np.abs(action_change(design, CHANGE, only)).max() > 0.01


def test_top_and_neck_by_similar_triangles(design):
    """A rising saddle moves the string at fret 12 by the fret's share of the length; a rising neck by the rest of it, down."""
    d = design.dimensions()
    share = float((d.x_fret(12) - d.x_nut) / (np.mean(d.x_saddle) - d.x_nut))
    up = action_change(design, CHANGE, replace(STILL, top_rise=0.1))
    np.testing.assert_allclose(up, 0.1 * CHANGE * share, rtol=0.01, atol=1e-12)
    neck = action_change(design, CHANGE, replace(STILL, neck=0.002, board=0.002))
    np.testing.assert_allclose(neck, -0.002 * float(d.z_joint - d.z_p) * CHANGE * share, rtol=0.02, atol=1e-12)
    block = action_change(design, CHANGE, replace(STILL, block_up=0.002))
    np.testing.assert_allclose(block, 0.002 * -float(d.z_p) * CHANGE * share, rtol=0.03, atol=1e-12)


def test_a_board_that_swells_more_takes_relief_away(design):
    s = swelling_of(design, board_more=np.array([0.0, 2e-5]))
    assert s.relief[0] == 0 and -0.1 < s.relief[1] < 0
    # Two equal strips of one stiffness bow by 3/2 of the difference of strain over the depth: Timoshenko's own special case.
    t = 12.0
    even = design.model_copy(update={
        "board": design.board.model_copy(update={"thickness": t}),
        "neck": design.neck.model_copy(update={"depth_nut": 2 * t, "depth_joint": 2 * t}),
        "woods": design.woods.model_copy(update={"board": design.woods.neck})})
    d = even.dimensions()
    span = float(d.x_fret(d.joint_fret) - d.x_fret(1))
    assert swelling_of(even, board_more=2e-5).relief == pytest.approx(-1.5 * 2e-5 / (2 * t) * span**2 / 8, rel=1e-9)


def test_rise_goes_with_share_and_span(design):
    rise = [swelling_of(design, strip=TopStrip(**k)).top_rise for k in ({}, {"share": 0.6}, {"span": 700.0})]
    np.testing.assert_allclose(rise, rise[0] * np.array([1, 2, 4]), rtol=1e-12)


@pytest.mark.parametrize("name", ["spring_tide_mended", "long_reach", "cross_tide"])  # both kinds of receiver
def test_turns_undo_and_the_window_holds(name):
    design = load(DESIGNS / f"{name}.toml")
    mine = swelling_of(design)
    air = seasonal()
    r = seasons(design, air, samples=4, lag=(20.0, 20.0 + 1e-9), swelling=mine, tolerance=0.1)
    d = design.dimensions()
    m = r.moisture - r.set_at
    back = swollen(design, m, mine, d)
    mended = action(pose(back.of, tilt=back.tilt + r.turns), 12).mean(axis=(0, 1))
    assert np.abs(mended - action(pose(d), 12).mean()).max() < 1e-9
    np.testing.assert_allclose(r.moisture, air.by_month(moisture(air, lag=20.0))[:, None] * np.ones(4), rtol=1e-9)
    assert np.sign(r.turns[1, 0]) == -np.sign(r.change[1, 0])
    for side in r.window[:, 0]:
        settled = moisture(constant(temperature=20.0, humidity=side, days=1.0), lag=1e-3)[-1]
        assert abs(float(action_change(design, settled - r.set_at, mine))) == pytest.approx(0.1, abs=5e-4)
    assert r.window[0, 0] < r.window[1, 0]
    text = str(r)
    assert text.startswith(design.name) and "no turn needed" in text.splitlines()[1] and "left out" in text and "Aug" in text


def test_range_widens_with_what_is_not_known(design):
    wide = seasons(design, seasonal(), samples=16)
    narrow = seasons(design, seasonal(), samples=16, share=(0.29, 0.31), lag=(19.0, 21.0))
    assert np.ptp(wide.change, axis=1).max() > np.ptp(narrow.change, axis=1).max()
    assert wide.change.shape == wide.turns.shape == (12, 16) and wide.window.shape == (2, 16)


def test_senseless_questions_are_named(design):
    for call, said in ((lambda: seasons(design, seasonal(humidity=np.array([40.0, 50.0]))), "air: one air"),
                       (lambda: seasons(design, seasonal(), tolerance=0.0), "tolerance: 0 mm"),
                       (lambda: seasons(design, seasonal(), set_at=60.0), "set_at: 60 % moisture is outside 2 to 25 %"),
                       (lambda: seasons(design, seasonal(), samples=1), "samples: 1")):
        with pytest.raises(ClimateError, match=said):
            call()
