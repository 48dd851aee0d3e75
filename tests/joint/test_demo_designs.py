"""The demo designs against readings from a brute-force pose solver: a separate program that minimises the misfit of the
three screws over all six freedoms of the neck, with straight lines and planes in space. Computed for this project, with a
cross dowel in every design; the travel was read on a lattice of 0.02 turn, the last good point taken."""

import math

import numpy as np
import pytest

import lutherie_geom as lg
from lutherie_geom.joint.body import least_gap
from lutherie_geom.joint.pose import arm, pose
from lutherie_geom.joint.strings import action, lever
from lutherie_geom.joint.travel import travel

ROWS = {
    "slack_water": dict(a12=(2.38, 1.78), a1=(.66, .46), last=(3.03, 2.25), step=.1525, gap=.415, travel=(-1.10, .76),
                        yaw=-.497, nut=3.07, force=400),
    "long_reach": dict(a12=(2.32, 1.72), a1=(.66, .46), last=(2.95, 2.20), step=.1142, gap=.740, travel=(-1.64, 1.06),
                       yaw=-.471, nut=2.57, force=348),
    "flat_calm": dict(a12=(2.21, 1.62), a1=(.62, .46), last=(2.83, 2.05), step=.1305, gap=.331, travel=(-1.28, .74),
                      yaw=-.527, nut=3.07, force=429),
    "cross_tide": dict(a12=(2.40, 1.79), a1=(.66, .46), last=(3.04, 2.26), step=.1371, gap=.496, travel=(-1.30, .84),
                       yaw=-.415, nut=2.50, force=409),
    "spring_tide": dict(a12=(2.52, 1.92), a1=(.67, .47), last=(3.19, 2.43), step=.2608, gap=-.99, travel=(-.18, .14),
                        yaw=-.597, nut=3.71, force=1029),
}


@pytest.fixture(params=ROWS)
def case(request):
    design = lg.load(request.param)
    screw = design.tilt_screw.model_copy(update={"receiver": "dowel across"})
    return design.model_copy(update={"tilt_screw": screw}), ROWS[request.param]


def digits(value, expected, unit):
    """Equal to the digits shown (half a unit of the last digit, and a hair for a value that lies on the edge)."""
    return abs(value - expected) <= unit * 0.51


def test_action(case):
    design, row = case
    a = action(design.pose(), [1, 12, design.board.last_fret])
    for k, key in enumerate(("a1", "a12", "last")):
        for i, want in zip((0, -1), row[key], strict=True):
            assert digits(a[i, k], want, 0.01), (key, a[i, k], want)


def test_step_of_a_sixteenth_turn(case):
    design, row = case
    step = action(design.pose(tilt=1 / 16), 12).mean() - action(design.pose(), 12).mean()
    assert digits(step, row["step"], 1e-4)


def test_least_gap_at_half_a_turn(case):
    design, row = case
    assert digits(float(least_gap(design.pose(tilt=0.5)).gap), row["gap"], 0.01 if row["gap"] == -.99 else 0.001)


def test_travel_on_the_lattice(case):
    design, row = case
    t = travel(design)
    lattice = (math.ceil(t.low / 0.02 - 1e-9) * 0.02, math.floor(t.high / 0.02 + 1e-9) * 0.02)
    np.testing.assert_allclose(lattice, row["travel"], atol=1e-9)


def test_steering(case):
    design, row = case
    p, q = design.pose(), design.pose(bass=1 / 8, treble=-1 / 8)
    assert digits(math.degrees(q.psi), row["yaw"], 1e-3)
    x = p.of.x_nut
    assert digits(q.to_body(x, 0.0, 0.0).y - p.to_body(x, 0.0, 0.0).y, row["nut"], 0.01)


def test_tilt_screw_force(case):
    design, row = case
    p = design.pose()
    assert digits(720 * lever(p).mean() / arm(p.of), row["force"], 1)


def test_mended_design():
    t = travel(lg.load("spring_tide_mended"))
    a = action(lg.load("spring_tide_mended").pose(), 12)
    assert digits(a[0, 0], 2.42, 0.01) and digits(a[-1, 0], 1.81, 0.01)
    assert (math.ceil(t.low / 0.02) * 0.02, math.floor(t.high / 0.02) * 0.02) == pytest.approx((-1.00, 0.66))


@pytest.mark.parametrize("name", ROWS)
def test_both_receivers_agree_to_first_order(name):
    d = lg.load(name).dimensions()
    dowel, rod = (pose(d.replaced(receiver=r), tilt=1e-4) for r in ("dowel across", "rod along"))
    assert rod.theta == pytest.approx(dowel.theta, rel=1e-4)
