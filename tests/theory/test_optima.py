"""Optima of the theory against the full model, minimised by numbers. mm, rad, turns."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from scipy.optimize import brentq, minimize_scalar

import lutherie_geom as lg
from lutherie_geom.joint.coupling import action_slopes
from lutherie_geom.joint.dimensions import Dimensions
from lutherie_geom.joint.pose import arm, pose
from lutherie_geom.joint.strings import action, open_length, saddle_tops, string_lines
from lutherie_geom.theory import optima
from lutherie_geom.theory.action import action_rate
from lutherie_geom.theory.climate import null_head
from lutherie_geom.theory.pose import POSE

DESIGNS = ("slack_water", "cross_tide", "spring_tide")


def least(of: Any, low: float, high: float) -> float:
    return float(minimize_scalar(of, bounds=(low, high), method="bounded", options={"xatol": 1e-10}).x)


@pytest.mark.parametrize("name", DESIGNS)
def test_pivot_height_that_leaves_a_string_its_length(name: str) -> None:
    """The screw is not asked: the neck is tilted by an angle either way, the length read off the full model."""
    d = lg.load(name).dimensions()
    h = 1e-4

    def length(string: int, z: float, theta: float) -> float:
        # The screw goes with the pivot, so that the turns that give the tilt stay the same.
        moved = d.replaced(z_p=z, z_head=d.z_head + z - d.z_p, z_receiver=d.z_receiver + z - d.z_p)
        return float(open_length(pose(moved, tilt=theta * arm(d) / d.pitch_tilt))[string])

    p = pose(d)
    line = string_lines(p)
    nut, (x, _, z) = p.to_body(line.x_nut, line.y_nut, line.z_nut), saddle_tops(p)
    for string in (0, -1):
        found = optima.still_length(x_nut_body=nut.x[string], z_nut_body=nut.z[string], x_saddle=x[string], z_saddle=z[string],
                                    x_p=d.x_p)
        stands = brentq(lambda v, k=string: length(k, v, h) - length(k, v, -h), -40, 60, xtol=1e-9)
        assert found == pytest.approx(stands, abs=2e-3)
        assert found > d.z_p + 20  # over the soundboard: no joint's pivot can lie there


def with_arm(d: Dimensions, arm_: float) -> Dimensions:
    return d.replaced(z_head=d.z_p - arm_, z_receiver=d.z_p - arm_)


def test_arm_and_pitch_for_a_wanted_step() -> None:
    d, turn, wanted = lg.load("slack_water").dimensions(), 1 / 16, 0.1
    own = {k.name: getattr(d, k.name, 0.0) for k in POSE[d.receiver].inputs}
    rate = float(action_slopes(pose(d), 12)["tilt"].mean() / POSE[d.receiver].slopes(**own)["theta"]["tilt"])

    def step(dims: Dimensions) -> float:
        return float((action(pose(dims, tilt=turn / 2), 12) - action(pose(dims, tilt=-turn / 2), 12)).mean())

    known = dict(rate=rate, tilt=turn, action_step=wanted)
    found = float(optima.arm_for_step(pitch_tilt=d.pitch_tilt, **known))
    assert found == pytest.approx(least(lambda a: (step(with_arm(d, a)) - wanted) ** 2, 40, 150), rel=1e-4)
    finer = float(optima.pitch_for_step(arm=60.0, **known))
    assert finer == pytest.approx(least(lambda p: (step(d.replaced(pitch_tilt=p)) - wanted) ** 2, 0.2, 2.0), rel=1e-4)
    # A level string, by hand from nut, pivot and saddle: good to three in a hundred.
    level = action_rate(nut_to_fret=float(d.x_fret(12) - d.x_nut), nut_to_pivot=float(d.x_p - d.x_nut),
                        nut_to_saddle=float(np.mean(d.x_saddle) - d.x_nut))
    assert level == pytest.approx(rate, rel=0.03)


def steered(d: Dimensions, psi: float, depth: float, receiver: str = "dowel across") -> Any:
    """The full model: pivot set deeper, the pivot screws turned against each other."""
    apart = np.tan(psi) * d.spacing / (2 * d.pitch_pivot)
    return pose(d.replaced(x_p=depth, receiver=receiver), bass=-apart, treble=apart)


@pytest.mark.parametrize("receiver", ["dowel across", "rod along"])
def test_tilt_that_steering_brings(receiver: str) -> None:
    d, psi = lg.load("slack_water").dimensions(), 0.004
    relation = optima.steered_tilt if receiver == "dowel across" else optima.steered_tilt_rod
    known = dict(x_head=d.x_head, arm=60.0)
    if receiver == "dowel across":
        known |= dict(x_receiver=d.x_receiver, screw_length=30.0)
    for depth in (-8.0, -3.6, 2.0, 15.0):
        rule = float(relation(psi=psi, x_p=depth, **known))
        assert rule == pytest.approx(float(steered(d, psi, depth, receiver).theta), rel=2e-3)
    # As deep as the captive head: none at any yaw; so it is the depth that a search by numbers finds.
    for wide in (0.01, 0.1):
        assert abs(float(steered(d, wide, d.x_head, receiver).theta)) < 1e-15
        found = least(lambda x, w=wide: float(steered(d, w, x, receiver).theta) ** 2, 0.0, 20.0)
        assert found == pytest.approx(d.x_head, abs=1e-4)
    at_receiver = abs(float(steered(d, 0.1, d.x_receiver, receiver).theta))
    assert at_receiver < 1e-15 if receiver == "dowel across" else at_receiver > 1e-3


@pytest.mark.parametrize("name", ["slack_water", "spring_tide"])
def test_pivot_depth_at_which_steering_leaves_the_action_alone(name: str) -> None:
    """A string on the centreline, level, over a hollow-free board: what is left is the second order that is derived."""
    design = lg.load(name)
    d = design.dimensions()
    d = d.replaced(y_nut=np.zeros(1), h_nut=np.array([0.5]), x_saddle=d.x_saddle[:1], y_saddle=np.zeros(1), relief=0.0,
                   h_saddle=d.h_saddle[:1], receiver="dowel across", z_receiver=d.z_head)
    p = pose(d)
    # Level over the fret plane: the saddle is raised until it is as high as the nut.
    lift = float(string_lines(p).zn_saddle[0] - string_lines(p).z_nut[0])
    d = d.replaced(h_saddle=d.h_saddle - lift / np.cos(d.alpha))
    x_saddle, psi = float(string_lines(pose(d)).xn_saddle[0]), 0.004
    part = float((d.x_fret(12) - d.x_nut) / (x_saddle - d.x_nut))
    known = dict(x_saddle=float(d.x_saddle[0]), alpha=d.alpha, radius_fret=float(d.board_radius(d.x_fret(12))), string_part=part,
                 x_head=d.x_head, x_receiver=d.x_receiver, arm=d.z_p - d.z_head, screw_length=d.x_head - d.x_receiver)

    def change(depth: float, yaw: float = psi) -> float:
        return float((action(steered(d, yaw, depth), 12) - action(pose(d.replaced(x_p=depth)), 12))[0, 0])

    for depth in (d.x_p, 10.0):
        assert float(optima.steered_action(psi=psi, x_p=depth, **known)) == pytest.approx(change(depth), rel=0.01, abs=1e-7)
    outer, inner = optima.still_depth(**known)
    assert outer < d.x_receiver and inner > d.x_head
    assert float(inner) == pytest.approx(least(lambda x: change(x) ** 2, 0.0, 60.0), abs=0.2)
    assert abs(change(float(inner))) < 0.02 * abs(change(d.x_p))
    rod = {k: v for k, v in known.items() if k not in ("x_receiver", "screw_length")}
    found = float(optima.still_depth_rod(**rod))

    def with_rod(depth: float) -> float:
        return float((action(steered(d, psi, depth, "rod along"), 12) - action(pose(d.replaced(x_p=depth)), 12))[0, 0])

    assert found == pytest.approx(least(lambda x: with_rod(x) ** 2, -60.0, 60.0), abs=0.2)


def test_captive_face_that_nulls_the_swelling() -> None:
    """Block and heel swell; the screws keep their lengths: the head's place at which the closed form gives no tilt."""
    d, wetter, block, heel = lg.load("slack_water").dimensions(), 3.0, 0.0024, 0.0003
    anchor, ball = 6.0, -8.0

    def tilt(x_head: float) -> float:
        dry = d.replaced(x_head=x_head)
        wet = dry.replaced(x_head=x_head + block * wetter * (x_head - anchor),
                           x_receiver=d.x_receiver + heel * wetter * (d.x_receiver - ball))
        return float(pose(wet, tilt=(dry.x_head - dry.x_receiver - wet.x_head + wet.x_receiver) / d.pitch_tilt).theta)

    found = null_head(swelling=block, x_anchor=anchor, heel_swelling=heel, x_receiver=d.x_receiver, x_ball=ball)
    assert float(found) == pytest.approx(least(lambda x: tilt(x) ** 2, -10, 40), abs=1e-3)
