"""Action: against a brute force in the body frame, and the teaching forms against exact slopes."""

from __future__ import annotations

import numpy as np
import pytest

from lutherie_geom.theory.action import ACTION, action_over_fret, action_rate, saddle_rule
from lutherie_geom.theory.pose import POSE

from .points import draw, joint, posed, set_angle


def crown(y, radius):
    return np.sqrt(radius**2 - y**2) - radius


def brute_force(d, psi, theta, advance):
    """Everything in the body frame: posed nut and crown, string as a 3-D line, measured along the posed z'."""
    tilted = set_angle(d["alpha"])

    def place(neck_point):
        return posed(np.array([0, 0, d["z_joint"]]) + tilted @ neck_point, psi, theta, advance, d["x_p"], d["z_p"])

    nut = place([d["x_nut"], d["y_nut"], d["h_nut"] + crown(d["y_nut"], d["radius_nut"])])
    radius, c = 1 / d["curvature"], d["x_apex"]
    wx, wy = d["along"], d["across"]
    top = np.sqrt(radius**2 - wx * (d["x_saddle"] - c) ** 2 - wy * d["y_saddle"] ** 2) - np.sqrt(radius**2 - wx * c**2)
    saddle = np.array([d["x_saddle"], d["y_saddle"], top + d["h_saddle"]])
    origin = place([d["x_fret"], 0, 0])
    ex, ey, ez = (place(np.add([d["x_fret"], 0, 0], e)) - origin for e in np.eye(3))
    # Where the string passes through the fret's own plane, square to the board.
    share = ex @ (origin - nut) / (ex @ (saddle - nut))
    at = nut + share * (saddle - nut)
    y = ey @ (at - origin)
    top_of_fret = place([d["x_fret"], y, crown(y, d["radius_fret"]) - d["dip"]])
    return ez @ (at - top_of_fret), y


@pytest.mark.parametrize("receiver", ACTION)
def test_action_against_brute_force(receiver):
    n = 300
    d = draw(ACTION[receiver], n, seed=5) | joint(n, seed=6)
    d["along"], d["across"] = np.ones(n), np.ones(n)
    found = ACTION[receiver](**d)
    pose = POSE[receiver](**{q.name: d[q.name] for q in POSE[receiver].inputs})
    for i in range(n):
        action, y = brute_force({k: v[i] for k, v in d.items()}, pose.psi[i], pose.theta[i], pose.advance[i])
        assert found.action[i] == pytest.approx(action, abs=2e-9)
        assert found.y_string[i] == pytest.approx(y, abs=1e-10)


def level_case(z_p=-18.0):
    """Flat board at no neck angle, string level: its height at the nut is that at the saddle."""
    return {"tilt": 0.0, "bass": 0.0, "treble": 0.0, "pitch_tilt": 1.0, "pitch_pivot": 1.0, "spacing": 40.0,
            "x_p": 4.0, "z_p": z_p, "x_head": 30.0, "z_head": -90.0, "x_receiver": -25.0, "z_receiver": -90.0,
            "alpha": 0.0, "z_joint": 12.0, "x_saddle": 260.0, "y_saddle": 0.0, "h_saddle": 14.0, "curvature": 0.0,
            "x_apex": 300.0, "along": 1.0, "across": 1.0, "x_nut": -380.0, "y_nut": 0.0, "h_nut": 2.0, "radius_nut": np.inf,
            "x_fret": -60.0, "radius_fret": np.inf, "dip": 0.0}


@pytest.mark.parametrize("receiver", ACTION)
@pytest.mark.parametrize("z_p", [-40.0, -18.0, -2.0])
def test_rate_per_radian_and_the_pivots_height_drops_out(receiver, z_p):
    d = level_case(z_p)
    by_turn = ACTION[receiver].slopes(**d)["action"]["tilt"]
    tilt_by_turn = POSE[receiver].slopes(**{q.name: d[q.name] for q in POSE[receiver].inputs})["theta"]["tilt"]
    nut_to_fret, nut_to_pivot, nut_to_saddle = 320.0, 384.0, 640.0
    rate = action_rate(nut_to_fret=nut_to_fret, nut_to_pivot=nut_to_pivot, nut_to_saddle=nut_to_saddle)
    assert rate == pytest.approx(128.0, abs=1e-12)
    assert by_turn / tilt_by_turn == pytest.approx(rate, rel=1e-12)
    # The same by central difference through the brute force, which knows no relation.
    step = 1e-4
    flat = d | {"curvature": 1e-12, "radius_nut": 1e9, "radius_fret": 1e9}
    up, down = (brute_force(flat, 0.0, t, 0.0)[0] for t in (step, -step))
    assert (up - down) / (2 * step) == pytest.approx(rate, rel=1e-5)


@pytest.mark.parametrize("receiver", ACTION)
def test_saddle_rule_is_the_exact_slope_on_a_level_board(receiver):
    d = level_case()
    slope = ACTION[receiver].slopes(**d)["action"]
    half = saddle_rule(saddle_lift=1.0, nut_to_fret=320.0, nut_to_saddle=640.0)
    assert half == 0.5
    assert slope["h_saddle"] == pytest.approx(half, rel=1e-13)
    assert slope["dip"] == pytest.approx(1.0, rel=1e-13)
    assert slope["h_nut"] == pytest.approx(1 - half, rel=1e-13)
    assert slope["tilt"] > 0, "positive turns raise the action"


def test_crown_is_exact_for_a_flat_board():
    line = {"x_fret": -60.0, "x_nut": -380.0, "y_nut": 18.0, "z_nut": 1.0, "xn_saddle": 260.0, "yn_saddle": 26.0,
            "zn_saddle": 5.0, "dip": 0.1}
    assert action_over_fret(**line, radius_fret=np.inf).action == pytest.approx(3.0 + 0.1, abs=1e-15)
    assert action_over_fret(**line, radius_fret=400.0).y_string == 22.0
    assert action_over_fret(**line, radius_fret=400.0).action == pytest.approx(3.1 + 400 - np.sqrt(400**2 - 22**2), abs=1e-12)
