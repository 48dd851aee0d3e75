"""Heel and steer: circles about the pivot, seats that part, balls that ride up, caps; all by direct geometry."""

from __future__ import annotations

import numpy as np
import pytest
from shapely.geometry import LineString, Point

from lutherie_geom.theory.heel import foot_in, foot_out, foot_rule, heel_point
from lutherie_geom.theory.steer import ball_rise, cap_radius, pivot_from_rim, seat_growth

from .points import posed, trig


@pytest.mark.parametrize("angle", [0.002, 0.03, 0.15])
@pytest.mark.parametrize("behind", [-6.0, 0.0, 4.0])
def test_foot_against_the_moved_point(angle, behind):
    """The foot stands `behind` from the pivot along x and `below` under it: its travel along x, both ways."""
    x_p, z_p, below = 5.0, -15.0, 75.0
    foot = {"x_face": x_p + behind, "y_face": 0.0, "z_face": z_p - below, "advance": 0.0, "x_p": x_p, "z_p": z_p}
    lowered = heel_point(**foot, **trig(0, -angle))
    raised = heel_point(**foot, **trig(0, angle))
    assert lowered.x > foot["x_face"] > raised.x, "lowered: the foot goes in; raised: it comes out"
    size = {"below_pivot": below, "behind_pivot": behind, "angle": angle}
    assert lowered.x - foot["x_face"] == pytest.approx(foot_in(**size), abs=1e-13)
    assert foot["x_face"] - raised.x == pytest.approx(foot_out(**size), abs=1e-13)
    rule = foot_rule(below_pivot=below, angle=angle)
    bound = abs(behind) * angle**2 / 2 + below * angle**3 / 6
    assert abs(rule - foot_in(**size)) <= bound * (1 + 1e-9) and abs(rule - foot_out(**size)) <= bound * (1 + 1e-9)


def test_heel_point_is_the_pose():
    found = heel_point(x_face=-3.0, y_face=20.0, z_face=-60.0, advance=0.4, x_p=5.0, z_p=-15.0, **trig(0.02, 0.03))
    np.testing.assert_allclose(found, posed([-3.0, 20.0, -60.0], 0.02, 0.03, 0.4, 5.0, -15.0), atol=1e-12)


def test_seats_part_by_the_longer_hypotenuse():
    d = {"bass": -1.5, "treble": 2.0, "pitch_pivot": 1.25, "spacing": 42.0}
    bass, treble = np.array([1.25 * 1.5, -21.0]), np.array([-1.25 * 2.0, 21.0])
    assert seat_growth(**d) == pytest.approx(np.linalg.norm(treble - bass) - 42.0, abs=1e-13)
    assert seat_growth(**(d | {"treble": -1.5})) == 0
    # Small differences keep their digits: D^2 / (2 w).
    assert seat_growth(**(d | {"bass": 0.0, "treble": 1e-6})) == pytest.approx(1.25e-6**2 / 84.0, rel=1e-12)


def test_ball_on_its_rim():
    """The ball, a circle in section, is lowered on one corner of the rim until it touches."""
    radius, rim = 6.0, 2.5
    for offset in (-0.4, 0.0, 0.3):
        # A long vertical line through the rim's corner, seen from the moved ball, cuts the circle at the touching height.
        corner = LineString([(rim - offset, 0), (rim - offset, -2 * radius)])
        touch = Point(0, 0).buffer(radius, quad_segs=20000).exterior.intersection(corner)
        height = -touch.y
        assert ball_rise(ball_radius=radius, rim_radius=rim, offset=offset) == pytest.approx(
            height - np.sqrt(radius**2 - rim**2), abs=1e-7)
    assert ball_rise(ball_radius=radius, rim_radius=rim, offset=0.0) == 0
    assert ball_rise(ball_radius=radius, rim_radius=rim, offset=0.3) > 0


def test_cap_through_three_points():
    d, k = 9.5, 2.75
    r = cap_radius(head_diameter=d, head_height=k)
    centre = np.array([0.0, k - r])
    for point in ([0, k], [d / 2, 0], [-d / 2, 0]):
        assert np.linalg.norm(np.array(point) - centre) == pytest.approx(r, rel=1e-14)


def test_pivot_stands_off_the_rims():
    x = pivot_from_rim(x_rim=6.0, ball_radius=5.0, rim_radius=3.0)
    assert x == 2.0
    assert np.hypot(6.0 - x, 3.0) == 5.0, "the rim lies on the ball"
