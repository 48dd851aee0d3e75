"""Lever arm: the sounding length's change per radian, and the screw's force by virtual work."""

from __future__ import annotations

import numpy as np
import pytest

from lutherie_geom.theory.lever import screw_force, string_lever
from lutherie_geom.theory.tilt import TILT, tilt_arm

from .points import matrix, posed


def test_length_changes_by_minus_the_lever_per_radian():
    rng = np.random.default_rng(3)
    for _ in range(200):
        x0, z0, xs, zs = rng.uniform(-500, -300), rng.uniform(-10, 30), rng.uniform(200, 350), rng.uniform(8, 30)
        xp, zp = rng.uniform(-8, 15), rng.uniform(-40, -5)
        saddle = np.array([xs, 0.0, zs])

        def length(theta, nut=(x0, 0.0, z0), saddle=saddle, xp=xp, zp=zp):
            return np.linalg.norm(saddle - posed(nut, 0.0, theta, 0.0, xp, zp))

        step = 1e-4
        lever = string_lever(x_nut_body=x0, z_nut_body=z0, x_saddle=xs, z_saddle=zs, x_p=xp, z_p=zp)
        assert (length(step) - length(-step)) / (2 * step) == pytest.approx(-lever, rel=1e-6, abs=1e-6)
        direct = np.linalg.norm(np.cross(saddle - [x0, 0, z0], np.array([xp, 0, zp]) - [x0, 0, z0])) / length(0.0)
        assert abs(lever) == pytest.approx(direct, rel=1e-12)


def test_screw_force_by_virtual_work():
    """What the strings give while the neck tilts a little, the screw takes: T dl_string = F dl_screw."""
    places = {"x_p": 5.0, "z_p": -15.0, "x_head": 30.0, "z_head": -95.0, "x_receiver": -25.0, "z_receiver": -88.0}
    nut, saddle = np.array([-380.0, 0, 12.0]), np.array([260.0, 0, 15.0])
    head = np.array([30.0, 0, -95.0])

    def lengths(theta):
        return (np.linalg.norm(saddle - posed(nut, 0.0, theta, 0.0, 5.0, -15.0)),
                np.linalg.norm(head - posed((-25.0, 0, -88.0), 0.0, theta, 0.0, 5.0, -15.0)))

    step = 1e-4
    string, screw = (np.array(lengths(step)) - lengths(-step)) / (2 * step)
    lever = string_lever(x_nut_body=-380.0, z_nut_body=12.0, x_saddle=260.0, z_saddle=15.0, x_p=5.0, z_p=-15.0)
    force = screw_force(pull=750.0, string_lever=lever, arm=tilt_arm(**places))
    assert screw > 0 > string, "tilting up shortens the strings' path and lengthens the screw's"
    assert force == pytest.approx(-750.0 * string / screw, rel=1e-7)
    assert force > 0, "the strings put the screw in tension"


@pytest.mark.parametrize("receiver", TILT)
def test_screw_force_when_the_screw_slopes(receiver):
    """With the true arm, pitch over tilt per turn, the same law holds for both receivers; a rod's arm is not tilt_arm."""
    places = {"x_p": 5.0, "z_p": -15.0, "x_head": 30.0, "z_head": -100.0, "x_receiver": -25.0, "z_receiver": -85.0}
    pivot, head, rest = np.array([5.0, 0, -15.0]), np.array([30.0, 0, -100.0]), np.array([-25.0, 0, -85.0])
    thread = (head - rest) / np.linalg.norm(head - rest)

    def screw(theta):
        """Length from receiver to head, or to the bearing face along the turned thread."""
        turn = matrix(0.0, theta)
        end = pivot + turn @ (rest - pivot)
        return np.linalg.norm(head - end) if receiver == "dowel across" else (head - end)[0] / (turn @ thread)[0]

    step = 1e-4
    per_radian = (screw(step) - screw(-step)) / (2 * step)
    true_arm = 1 / TILT[receiver].slopes(tilt=0.0, psi=0.0, advance=0.0, pitch_tilt=1.0, **places)["theta"]["tilt"]
    assert true_arm == pytest.approx(per_radian, rel=1e-7)
    if receiver == "dowel across":
        assert true_arm == pytest.approx(tilt_arm(**places), rel=1e-12)
    else:
        # The face only pushes along x: its arm is the face's height below the pivot, over the thread's share along x.
        assert true_arm == pytest.approx(85.0 / thread[0], rel=1e-12)
    assert screw_force(pull=750.0, string_lever=26.0, arm=true_arm) == pytest.approx(750.0 * 26.0 / per_radian, rel=1e-7)
