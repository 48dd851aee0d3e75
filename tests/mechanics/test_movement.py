"""What moisture moves: each movement alone against geometry or its own exact relation, and parts that add up."""

from __future__ import annotations

from dataclasses import fields, replace
from pathlib import Path

import numpy as np
import pytest

from lutherie_geom.design.load import load
from lutherie_geom.mechanics.movement import (
    PARTS,
    Swelling,
    TopStrip,
    action_change,
    null_captive_face,
    swelling_of,
    swollen,
)
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


def test_parts_follow_their_own_moisture(design):
    """Each movement alone listens only to the wood it is made of; together they are the sum of the parts (small motions)."""
    mine = swelling_of(design, board_more=1e-5)
    args = dict(block=np.array([1.0, -2.0]), neck=np.array([0.5, 3.0]))
    top = np.array([2.0, 2.0])
    assert np.ptp(action_change(design, top, mine.only("top_rise", "bridge"), **args)) < 1e-12
    a = action_change(design, top, mine.only("block"), **args)
    np.testing.assert_allclose(a, action_change(design, args["block"], mine.only("block")), rtol=1e-12)
    b = action_change(design, top, mine.only("neck", "board", "heel", "relief"), **args)
    np.testing.assert_allclose(b, action_change(design, args["neck"], mine.only("neck", "board", "heel", "relief")), rtol=1e-12)
    whole = action_change(design, top, mine, **args)
    parts = sum(action_change(design, top, mine.only(*names), **args) for names in PARTS.values())
    np.testing.assert_allclose(parts, whole, atol=2e-3)
    used = [name for names in PARTS.values() for name in names]
    assert sorted(used) == sorted(f.name for f in fields(Swelling) if f.name not in ("anchor", "ball"))


def test_relief_alone_moves_the_action_as_a_neck_held_at_the_joint(design):
    """The bow by moisture is even along the neck: held at the joint, the nut moves by (out / span)^2 times four reliefs, and the
    string's middle half as far. The hollow under fret 12 alone would be a sixth of it."""
    d, wetter = design.dimensions(), np.array([-4.0, 4.0])
    mine = swelling_of(design, board_more=2e-5).only("relief")
    out = (d.x_fret(d.joint_fret) - d.x_nut) / (d.x_fret(d.joint_fret) - d.x_fret(1))
    by_hand = 0.5 * 4 * out**2 * mine.relief * wetter
    np.testing.assert_allclose(action_change(design, wetter, mine), by_hand, rtol=0.03)
    assert abs(by_hand).max() > 0.1
