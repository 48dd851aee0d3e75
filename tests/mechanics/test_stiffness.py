"""The joint's own give: springs by hand, against energy, and against a search for the resting place."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import brentq, minimize

import lutherie_geom as lg
from lutherie_geom.design.woods import wood
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.strings import action
from lutherie_geom.joint.turning import STEPS
from lutherie_geom.mechanics.loads import place
from lutherie_geom.mechanics.pull import string_pull
from lutherie_geom.mechanics.statics import balance, joint_of
from lutherie_geom.mechanics.stiffness import _elastic, give, springs_of
from lutherie_geom.theory import stiffness
from lutherie_geom.theory.strength import hertz_point

STEEL = 205e3  # Young's modulus in MPa, handbook value from memory, as the table of metals has it


def test_ball_on_a_ring_by_the_whole_ring():
    """The relation's approach and force against the log formula solved backward, force from approach."""
    e, r, a, force = 113736.0, 4.0, 2.0, 1300.0
    found = float(stiffness.ring_approach(force=force, ball_radius=r, rim_radius=a, contact_modulus=e))
    cos = math.sqrt(1 - (a / r) ** 2)

    def near(line):
        half = math.sqrt(4 * line * r / (math.pi * e))
        return line / (math.pi * e) * (2 * math.log(4 * r / half) - 1) - found * cos

    line = brentq(near, 1e-6, 1e4)
    assert line * 2 * math.pi * a * cos == pytest.approx(force, rel=1e-9)
    # The ring spreads the load: several times stiffer than one point, and both stiffer under more load.
    ring = 1 / stiffness.ring_approach.slopes(force=force, ball_radius=r, rim_radius=a, contact_modulus=e)["approach"]["force"]
    point = 1 / hertz_point.slopes(force=force, relative_radius=r, contact_modulus=e)["approach"]["force"]
    assert 3 < ring / point < 10
    # One point: delta grows as F^(2/3), so the tangent stiffness is 3/2 F / delta.
    delta = hertz_point(force=force, relative_radius=r, contact_modulus=e).approach
    assert point == pytest.approx(1.5 * force / delta, rel=1e-9)


def test_springs_in_a_row_are_softer_than_the_softest():
    d = lg.load("slack_water")
    j = joint_of(d)
    s = springs_of(balance(j, string_pull(d).wrench))
    for k in (*s.seat_along, *s.seat_aside, s.tilt, s.clamp):
        assert (np.diff(k) > 0).all() and k[1] == pytest.approx(math.sqrt(k[0] * k[2]), rel=0.35)
    # The tilt screw by hand, stiff side: bar M6 x 1 over 30 mm, dowel along the grain, washer across it.
    neck, block = wood(d.woods.neck), wood(d.woods.block)
    bar = STEEL * math.pi / 4 * ((6 - 3 * math.sqrt(3) / 8 + 6 - 17 * math.sqrt(3) / 24) / 2) ** 2 / 30
    dowel = math.pi * neck.modulus * 16 / (2 * math.log(4 * 24 / 12))
    face = _elastic(block)[1] * d.tilt_screw.washer_diameter
    assert s.tilt[2] == pytest.approx(1 / (1 / bar + 1 / dowel + 1 / face), rel=1e-9)
    # Soft side: the code's slip rule for dowel and washer.
    soft = [w.density(8.5) ** 1.5 * size / 23 for w, size in ((neck, 12), (block, d.tilt_screw.washer_diameter))]
    assert s.tilt[0] == pytest.approx(1 / (1 / bar + sum(1 / x for x in soft)), rel=1e-9)
    assert s.ball_alone[0] > s.ball_one_point[0] > s.seat_along[0][2]


def test_tilt_by_hand():
    """Two seats and two screws in the side view: a beam on springs."""
    d = lg.load("slack_water")
    g = give(d, direction="back")
    s = g.springs
    assert (g.tilt < 0).all() and (g.action < 0).all() and (g.end > 0).all()
    x = float(place(d, d.pose(), "headstock end")[0]) + 3.6
    for k in range(3):
        level = s.seat_along[0][k] + s.seat_along[1][k] + s.clamp[k]  # springs at the height of the axis
        foot = s.tilt[k]  # 60 mm lower
        # Unknown: move along x and tilt; the foot moves by u - 60 theta. Up and down the seats give, and turn nothing.
        matrix = np.array([[level + foot, -60 * foot], [-60 * foot, 3600 * foot]])
        u, theta = np.linalg.solve(matrix, [0.0, 100 * x])
        assert g.tilt[k] == pytest.approx(theta, rel=1e-3)
        assert u == pytest.approx(60 * theta * foot / (level + foot), rel=1e-9)


def test_rest_is_where_energy_is_least():
    d = lg.load("long_reach")
    p = d.pose(tilt=0.3, bass=0.1)
    j = joint_of(d, p)
    g = give(d, p, load=50.0, direction="sideways")
    b, t = j.seat_rows
    s = g.springs
    along, aside = (np.array([float(v[1]) for v in pair]) for pair in (s.seat_along, s.seat_aside))
    k = np.array([along[0], aside[0], aside[0], along[1], aside[1], aside[1], s.tilt[1], s.clamp[1]])
    rows = np.concatenate([b, t, j.tilt_pull[None], j.clamp_pull[None]])
    at, middle = place(d, p, "headstock end"), j.stands.position

    def energy(v):
        move = v * np.array([1, 1, 1, 0.02, 0.02, 0.02])
        end = move[:3] + np.cross(move[3:], at - middle)
        return 0.5 * (k * (rows @ move) ** 2).sum() - 50 * end[1]

    best = minimize(energy, np.zeros(6), method="BFGS", options={"gtol": 1e-7}).x * np.array([1, 1, 1, 0.02, 0.02, 0.02])
    assert g.yaw[1] == pytest.approx(best[5], rel=1e-3) and g.tilt[1] == pytest.approx(best[4], rel=1e-2, abs=1e-7)


def test_action_follows_the_exact_pose():
    """The short form of the change of action against the exact reading at a pose of the same small tilt."""
    d = lg.load("slack_water")
    turn = 0.01
    p = d.pose(tilt=turn)
    exact = float((action(p, 12) - action(d.pose(), 12)).mean())
    x = d.dimensions()
    lever = x.x_p - x.x_nut
    rise = float(p.theta)
    more = stiffness.action_give(rise_nut=rise * lever, rise_fret=rise * (x.x_p - float(x.x_fret(12))),
                                 to_fret=float(x.x_fret(12)) - x.x_nut, to_saddle=float(np.mean(x.x_saddle)) - x.x_nut)
    assert more == pytest.approx(exact, rel=0.02)


def test_give_is_linear_and_broadcasts():
    d = lg.load("flat_calm")
    tilt = np.linspace(-0.5, 0.5, 3)
    many = give(d, d.pose(tilt=tilt, treble=0.05))
    assert many.tilt.shape == (3, 3) and many.step_over_give.shape == (3, 3)
    one = give(d, d.pose(tilt=tilt[2], treble=0.05))
    np.testing.assert_allclose(many.tilt[:, 2], one.tilt, rtol=1e-9)
    np.testing.assert_allclose(give(d, load=10.0).action * 10, give(d, load=100.0).action, rtol=1e-9)
    np.testing.assert_allclose(give(d, direction="forward").tilt, -give(d, direction="back").tilt, rtol=1e-9)
    assert "sideways" in str(give(d, direction="sideways")) and "slip rule" in str(give(d))
    np.testing.assert_allclose(give(d, direction="to the bass").yaw, -give(d, direction="sideways").yaw, rtol=1e-9)
    assert "yaw" in str(give(d, direction="to the bass"))
    with pytest.raises(ValueError, match="'up'"):
        give(d, direction="up")


def test_the_finest_step_is_that_of_the_joint_at_its_pose():
    """A longer arm makes a finer step: a batch of screws at three heights, each against its own joint and a turn of it."""
    d = lg.load("slack_water")
    low = np.array([-70.0, -80.0, -90.0])
    many = give(d, pose(d.dimensions().replaced(z_head=low, z_receiver=low), tilt=0.3))
    fine = float(STEPS[-1])
    for k, z in enumerate(low):
        dims = d.dimensions().replaced(z_head=z, z_receiver=z)
        one = [float(action(pose(dims, tilt=t), 12).mean()) for t in (0.3, 0.3 + fine)]
        assert many.step[k] == pytest.approx(one[1] - one[0], rel=1e-9)
    # A turn of the screw tilts the neck by pitch over arm: the arms are 50, 60 and 70 mm.
    np.testing.assert_allclose(many.step * np.array([50, 60, 70]) / (many.step[1] * 60), 1, rtol=0.01)
    assert many.step_over_give.shape == (3, 3)


@pytest.mark.parametrize("load", [0.0, -10.0, math.nan, math.inf, 1e6])
def test_a_load_that_makes_no_sense_is_named(load):
    with pytest.raises(ValueError, match=r"load: \S+ N is not in the range; allowed is above 0 to 3000 N"):
        give(lg.load("slack_water"), load=load)
