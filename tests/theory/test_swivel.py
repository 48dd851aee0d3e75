"""Swivel: both ends of the tilt screw by plain vectors, both receivers, signs too; holes and rocking by section."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq
from shapely.affinity import rotate
from shapely.geometry import box

from lutherie_geom.theory.pose import POSE
from lutherie_geom.theory.swivel import clamp_offset, clamp_stretch, clearance_hole, head_rock, swivel_dowel, swivel_rod

from .points import joint, matrix, posed
from .test_tilt import PLACES, ends


def setting(receiver, n=200):
    d = joint(n, seed=12)
    pose = POSE[receiver](**d)
    for i in range(n):
        places = {k: d[k][i] for k in PLACES}
        yield places, float(pose.psi[i]), float(pose.theta[i]), float(pose.advance[i]), d["pitch_tilt"][i] * d["tilt"][i]


def slope(v):
    """Slope of a direction in the plane of symmetry."""
    return np.arctan2(v[2], v[0])


def check_swing(found, nominal, now):
    """The two swings together make up the whole angle between the two directions, and each has its sign."""
    nominal, now = nominal / np.linalg.norm(nominal), now / np.linalg.norm(now)
    assert found.swing_head == pytest.approx(slope(now) - slope(nominal), abs=1e-12)
    assert np.sin(found.swing_side) == pytest.approx(now[1], abs=1e-12)
    whole = np.arctan2(np.linalg.norm(np.cross(nominal, now)), nominal @ now)
    assert np.cos(found.swing_head) * np.cos(found.swing_side) == pytest.approx(np.cos(whole), abs=1e-13)


def test_dowel_by_vectors():
    for places, psi, theta, advance, _ in setting("dowel across"):
        pivot, head, rest = ends(places)
        found = swivel_dowel(psi=psi, theta=theta, advance=advance, **places)
        now = head - posed(rest, psi, theta, advance, *pivot[[0, 2]])
        check_swing(found, head - rest, now)
        # In the heel, seen along the dowel's own axis, the screw turns by this much.
        in_heel = matrix(psi, theta).T @ now
        assert found.swing_receiver == pytest.approx(slope(in_heel) - slope(head - rest), abs=1e-12)


def test_rod_by_vectors():
    for places, psi, theta, advance, turned_out in setting("rod along"):
        pivot, head, rest = ends(places)
        found = swivel_rod(psi=psi, theta=theta, advance=advance, **places)
        thread = matrix(psi, theta) @ ((head - rest) / np.linalg.norm(head - rest))
        check_swing(found, head - rest, thread)
        if abs(psi) < 1e-12:
            assert found.swing_head == pytest.approx(-theta, abs=1e-12)
        # The screw's own length, set by its turns, ends in the plane of the bearing face: there is the head now.
        length = np.linalg.norm(head - rest) + turned_out
        tip = posed(rest, psi, theta, advance, *pivot[[0, 2]]) + length * thread
        assert tip[0] == pytest.approx(head[0], abs=1e-10)
        assert found.slide == pytest.approx(tip[2] - head[2], abs=1e-10)
        assert found.slide_side == pytest.approx(tip[1], abs=1e-10)


@pytest.mark.parametrize("relation", [swivel_dowel, swivel_rod])
def test_at_rest_nothing_swings(relation):
    places = {"x_p": 5.0, "z_p": -15.0, "x_head": 30.0, "z_head": -95.0, "x_receiver": -25.0, "z_receiver": -88.0}
    np.testing.assert_allclose(relation(psi=0.0, theta=0.0, advance=0.0, **places), 0, atol=1e-13)
    unsteered = relation(psi=0.0, theta=0.02, advance=0.0, **places)
    assert unsteered.swing_side == 0
    steered = relation(psi=0.01, theta=0.0, advance=0.0, **places)
    mirrored = relation(psi=-0.01, theta=0.0, advance=0.0, **places)
    assert steered.swing_side == -mirrored.swing_side > 0 and steered.swing_head == mirrored.swing_head


def test_flat_head_rocks_on_its_rim():
    """A disc tilted on a plane until its rim touches: distance along the screw from the disc's middle to the plane."""
    for swing in (0.01, 0.05, 0.15):
        axis, across = np.array([np.sin(swing), np.cos(swing)]), np.array([np.cos(swing), -np.sin(swing)])
        middle = np.array([0.0, -min(0.0, (5.0 * across)[1], (-5.0 * across)[1])])
        along = middle[1] / axis[1]
        assert head_rock(head_diameter=10.0, swing=swing) == pytest.approx(along, rel=1e-12)


@pytest.mark.parametrize("shift", [-0.8, 0.0, 0.8])
def test_hole_that_just_lets_the_shank_swing(shift):
    """Section through the hole: the tilted shank, shifted, is just inside; the way of the shift does not matter."""
    shank, depth = 6.0, 18.0
    for swing in (0.02, 0.1):
        def outside(hole, swing=swing):
            screw = rotate(box(-shank / 2, -100, shank / 2, 100), -swing, origin=(0, 0), use_radians=True)
            reach = max(abs(x + side * abs(shift)) for side in (1,) for x, _ in
                        screw.intersection(box(-50, 0, 50, depth)).exterior.coords)
            return reach - hole / 2

        hole = brentq(outside, 1, 60, xtol=1e-12)
        assert clearance_hole(shank=shank, depth=depth, swing=swing, side_shift=shift) == pytest.approx(hole, abs=1e-9)


def test_clamp():
    """The clamp's point in the heel moves sideways with the yaw; off the axis, the tilt stretches the clamp screw."""
    turns = {"bass": -1.0, "treble": 1.5, "pitch_pivot": 1.0, "spacing": 40.0}
    psi = np.arctan2(2.5, 40.0)
    moved = posed([5.0 - 22.0, 0.0, -15.0], psi, 0.0, 0.25, 5.0, -15.0)
    assert clamp_offset(reach=22.0, **turns) == pytest.approx(moved[1], abs=1e-13)
    # e above the axis: tilting up takes the point toward the tail by e sin(theta); a first-order statement.
    for theta in (0.01, 0.001):
        up = posed([5.0, 0.0, -15.0 + 4.0], 0.0, theta, 0.0, 5.0, -15.0)[0] - 5.0
        assert abs(clamp_stretch(eccentricity=4.0, theta=theta) - up) < 4.0 * theta**3
    assert clamp_stretch(eccentricity=0.0, theta=0.05) == 0
