"""Pose: frames there and back, against scipy's rotations, rigid, mirror-true, and at rest with no turns."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lutherie_geom.theory.pose import NUT_END, POSE, to_body, to_neck

from .points import joint, matrix, posed, set_angle, trig

place = st.floats(-700, 600)
angle = st.floats(-0.2, 0.2)


@settings(max_examples=150, deadline=None)
@given(xn=place, yn=st.floats(-250, 250), zn=st.floats(-150, 50), psi=angle, theta=angle, alpha=angle, m=st.floats(-5, 5))
def test_to_neck_undoes_to_body(xn, yn, zn, psi, theta, alpha, m):
    frame = {"cos_alpha": np.cos(alpha), "sin_alpha": np.sin(alpha), "z_joint": 12.0, "advance": m, "x_p": 4.0, "z_p": -18.0,
             **trig(psi, theta)}
    body = to_body(xn=xn, yn=yn, zn=zn, **frame)
    own = posed(np.array([0, 0, 12.0]) + set_angle(alpha) @ [xn, yn, zn], psi, theta, m, 4.0, -18.0)
    np.testing.assert_allclose(body, own, atol=1e-11)
    np.testing.assert_allclose(to_neck(**body._asdict(), **frame), [xn, yn, zn], atol=1e-11)


def test_rigid_and_the_right_way_round():
    frame = {"cos_alpha": np.cos(0.03), "sin_alpha": np.sin(0.03), "z_joint": 11.0, "advance": 0.7, "x_p": 3.0, "z_p": -20.0,
             **trig(0.02, -0.05)}
    points = np.random.default_rng(4).uniform(-300, 300, (3, 40))
    moved = np.array(to_body(xn=points[0], yn=points[1], zn=points[2], **frame))

    def apart(p):
        return np.linalg.norm(p[:, :, None] - p[:, None, :], axis=0)

    np.testing.assert_allclose(apart(moved), apart(points), atol=1e-11)
    axes = moved[:, :3] - moved[:, 3:4]
    assert np.sign(np.linalg.det(axes)) == np.sign(np.linalg.det(points[:, :3] - points[:, 3:4]))
    np.testing.assert_allclose(axes, matrix(0.02, -0.05) @ set_angle(0.03) @ (points[:, :3] - points[:, 3:4]), atol=1e-11)


def test_signs_a_builder_knows():
    """Tilt up lifts the nut, yaw takes it to the bass side, advance takes the neck away from the body."""
    nut = {"xn": -400.0, "yn": 0.0, "zn": 0.0, "cos_alpha": 1.0, "sin_alpha": 0.0, "z_joint": 12.0, "x_p": 3.0, "z_p": -20.0}
    rest = to_body(**nut, advance=0.0, **trig(0, 0))
    assert rest == (-400.0, 0.0, 12.0)
    assert to_body(**nut, advance=0.0, **trig(0, 0.01)).z > rest.z
    assert to_body(**nut, advance=0.0, **trig(0.01, 0)).y < 0
    assert to_body(**nut, advance=1.0, **trig(0, 0)).x == rest.x - 1


@pytest.mark.parametrize("receiver", POSE)
def test_no_turns_no_move(receiver):
    drawn = joint(500) | {"tilt": 0.0, "bass": 0.0, "treble": 0.0}
    found = POSE[receiver](**drawn)
    assert np.all(found.psi == 0) and np.all(found.advance == 0) and np.all(found.cos_psi == 1)
    np.testing.assert_allclose(found.theta, 0, atol=1e-15)
    tidy = {k: np.round(v) for k, v in drawn.items() if k not in ("tilt", "bass", "treble")}
    still = POSE[receiver](**tidy, tilt=0.0, bass=0.0, treble=0.0)
    assert np.all(still.theta == 0) and np.all(still.cos_theta == 1) and np.all(still.sin_theta == 0)


@pytest.mark.parametrize("receiver", POSE)
def test_mirror(receiver):
    """Bass and treble turns swapped: yaw changes its sign, everything else stays to the last digit."""
    drawn = joint(500)
    one = POSE[receiver](**drawn)
    other = POSE[receiver](**(drawn | {"bass": drawn["treble"], "treble": drawn["bass"]}))
    assert np.all(one.psi == -other.psi) and np.all(one.theta == other.theta) and np.all(one.advance == other.advance)


@pytest.mark.parametrize("receiver", POSE)
def test_yaw_and_advance_from_two_seats(receiver):
    """The line through the two seats, drawn in plan: its direction and its middle are the yaw and the advance."""
    d = joint(200)
    found = POSE[receiver](**d)
    bass = np.array([d["x_p"] - d["pitch_pivot"] * d["bass"], -d["spacing"] / 2])
    treble = np.array([d["x_p"] - d["pitch_pivot"] * d["treble"], d["spacing"] / 2])
    line = treble - bass
    np.testing.assert_allclose(found.psi, np.arctan2(-line[0], line[1]), atol=1e-14)
    np.testing.assert_allclose(d["x_p"] - found.advance, (bass + treble)[0] / 2, atol=1e-12)
    np.testing.assert_allclose(found.cos_theta, np.cos(found.theta), atol=1e-15)
    np.testing.assert_allclose(found.sin_theta, np.sin(found.theta), atol=1e-15)


@pytest.mark.parametrize("receiver", NUT_END)
def test_nut_end_is_the_posed_centreline(receiver):
    d = joint(100)
    pose = POSE[receiver](**d)
    found = NUT_END[receiver](xn=-390.0, alpha=0.02, z_joint=12.0, **d)
    for i in range(100):
        own = posed(np.array([0, 0, 12.0]) + set_angle(0.02) @ [-390.0, 0, 0], pose.psi[i], pose.theta[i], pose.advance[i],
                    d["x_p"][i], d["z_p"][i])
        np.testing.assert_allclose([found.x[i], found.y[i], found.z[i]], own, atol=1e-10)
