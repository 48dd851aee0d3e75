"""Two engines written by others, on the real joint: ``uncertainties`` for first order, SALib for the shares of the variance."""

from __future__ import annotations

import math

import numpy as np
import pytest
import uncertainties
from real_joint import NAMES, TEXTS, real_joint
from SALib.analyze import sobol as analyse
from SALib.sample import sobol as sample
from uncertainties import umath

import lutherie_geom as lg
from lutherie_geom.joint.pose import pose
from lutherie_geom.studies.first_order import READINGS, first_order
from lutherie_geom.studies.sobol import indices
from lutherie_geom.studies.spreads import Spreads, parse_spread

TURNS = dict(tilt=0.3, bass=0.1, treble=-0.15)
# Twenty dimensions; those written only here are ± 0.1 mm.
FIELDS = (*TEXTS, "x_receiver", "spacing", "tongue_length", "half_width_foot", "pitch_pivot")


def workshop():
    texts = {n: TEXTS.get(n, "± 0.01 mm/turn" if n == "pitch_pivot" else "± 0.1 mm") for n in FIELDS}
    return Spreads({n: parse_spread(t, n) for n, t in texts.items()}, common=frozenset({"h_saddle", "h_nut"}))


@pytest.mark.parametrize("design", ["slack_water", "cross_tide"])  # a cross dowel, and a rod along the heel
@pytest.mark.parametrize("reading", READINGS, ids=lambda r: r.key)
def test_uncertainties_with_its_own_numerical_slopes(design, reading):
    """The package knows the exact reading only, and differentiates it numerically; ours has exact slopes."""
    d, spreads = lg.load(design).dimensions(), workshop()
    nominal = pose(d, **TURNS)
    ours = first_order(nominal, spreads, [reading]).items[0]
    variables = spreads.variables(d)
    assert len(variables) == len(FIELDS) == 20

    def exact(*deviations):
        return float(reading.value(pose(spreads.moved(d, np.array(deviations)), **TURNS)))

    # About 0 the package steps by 1.5e-8: in this unit, 10^4 standard deviations, that is far enough to rise above rounding.
    unit = {c.name: 1e4 * c.sd for c in ours.contributions}
    inputs = [uncertainties.ufloat(0.0, 1e-4, tag=v.name) for v in variables]
    theirs = uncertainties.wrap(lambda *z: exact(*(x * unit[v.name] for x, v in zip(z, variables, strict=True))))(*inputs)
    assert theirs.nominal_value == pytest.approx(ours.nominal, abs=1e-12)
    assert theirs.std_dev == pytest.approx(ours.standard, rel=1e-5)
    parts = {v.tag: part for v, part in theirs.error_components().items()}
    for c in ours.contributions:
        assert parts.get(c.name, 0.0) == pytest.approx(abs(c.part), abs=1e-5 * ours.standard), c.name


def action_by_hand(v, *, tilt, bass, treble):
    """Action of the bass string at fret 12 [mm], receiver a cross dowel, written out from the definitions with umath's functions:
    rotate, shift, find the tilt that keeps the screw's length (Newton), put the saddle back into the neck's frame."""
    cos, sin, sqrt = umath.cos, umath.sin, umath.sqrt
    psi = umath.atan(v["pitch_pivot"] * (treble - bass) / v["spacing"])
    middle = v["x_p"] - v["pitch_pivot"] * (bass + treble) / 2
    length = sqrt((v["x_receiver"] - v["x_head"]) ** 2 + (v["z_receiver"] - v["z_head"]) ** 2) + v["pitch_tilt"] * tilt

    def body(theta, x, y, z):
        """A neck's point, given where it lies at the nominal pose."""
        a, c = x - v["x_p"], z - v["z_p"]
        a, c = a * cos(theta) + c * sin(theta), c * cos(theta) - a * sin(theta)
        return middle + a * cos(psi) - y * sin(psi), a * sin(psi) + y * cos(psi), v["z_p"] + c

    def miss(theta):
        x, y, z = body(theta, v["x_receiver"], 0.0, v["z_receiver"])
        return sqrt((x - v["x_head"]) ** 2 + y**2 + (z - v["z_head"]) ** 2) - length

    def plain(x):
        return getattr(x, "nominal_value", x)

    theta = 0.0
    for _ in range(6):  # on plain numbers
        slope = (plain(miss(theta + 1e-5)) - plain(miss(theta - 1e-5))) / 2e-5
        theta -= plain(miss(theta)) / slope
    theta = theta - miss(theta) / slope  # and once with their uncertainty

    def neck(x, y, z):
        """A body's point in the neck's own frame: turned and shifted back, then down the neck angle."""
        a, c = x - middle, z - v["z_p"]
        a, y = a * cos(psi) + y * sin(psi), y * cos(psi) - a * sin(psi)
        a, c = a * cos(theta) - c * sin(theta) + v["x_p"], c * cos(theta) + a * sin(theta) + v["z_p"] - v["z_joint"]
        return a * cos(v["alpha"]) + c * sin(v["alpha"]), y, c * cos(v["alpha"]) - a * sin(v["alpha"])

    k, x_a = v["curvature"], v["x_apex"]

    def drop(x, y):
        return (sqrt(1 - k**2 * (x**2 + y**2)) - 1) / k

    top = drop(v["x_saddle"] - x_a, v["y_saddle"]) - drop(x_a, 0.0) + v["h_saddle"]
    xs, ys, zs = neck(v["x_saddle"], v["y_saddle"], top)

    def crown(radius, y):
        return sqrt(radius**2 - y**2) - radius

    part = (v["x_fret"] - v["x_nut"]) / (xs - v["x_nut"])
    y = v["y_nut"] + part * (ys - v["y_nut"])
    z_nut = v["h_nut"] + crown(v["radius_nut"], v["y_nut"])
    return z_nut + part * (zs - z_nut) - crown(v["radius_fret"], y) + 4 * v["relief"] * v["part"] * (1 - v["part"])


def test_uncertainties_differentiates_the_joint_written_by_hand():
    """No line of ours: pose and action from their definitions, derivatives by the package's own rules."""
    d, spreads = lg.load("slack_water").dimensions(), workshop()
    p = pose(d, **TURNS)
    ours = first_order(p, spreads, [READINGS[0]]).items[0]
    fixed = ("curvature", "x_apex", "x_saddle", "y_saddle", "y_nut", "radius_nut", "x_nut")
    v = {n: float(np.asarray(getattr(d, n)).reshape(-1)[0]) for n in (*FIELDS, *fixed)}
    x = [float(d.x_fret(f)) for f in (1, 12, d.joint_fret, d.last_fret)]
    v |= {"x_fret": x[1], "part": (x[1] - x[0]) / (x[2] - x[0]), "radius_fret": float(d.board_radius(x[1]))}
    sd = {c.name: c.sd for c in ours.contributions}
    theirs = action_by_hand(v | {n: uncertainties.ufloat(v[n], sd[n], tag=n) for n in sd}, **TURNS)
    assert theirs.nominal_value == pytest.approx(ours.nominal, abs=1e-9)
    assert theirs.std_dev == pytest.approx(ours.standard, rel=1e-8)
    parts = {u.tag: part for u, part in theirs.error_components().items()}
    for c in ours.contributions:
        assert parts.get(c.name, 0.0) == pytest.approx(abs(c.part), abs=1e-8 * ours.standard), c.name


def test_salib_on_the_whole_joint():
    """Its own samples and another estimator of the first index; both say how far they are to be trusted."""
    names = ("z_p", "h_saddle", "z_joint", "alpha", "z_receiver", "gap_joint", "floor_clearance", "pocket")
    model, inputs = real_joint(*names)
    assert inputs == 8
    ours = indices(model, inputs, 2**12, 4)
    problem = {"num_vars": 8, "names": list(names), "bounds": [[2**-31, 1 - 2**-31]] * 8}  # a normal spread has no value at 0
    y = model(np.ascontiguousarray(sample.sample(problem, 2**11, calc_second_order=False, seed=5).T))
    for r, reading in enumerate(NAMES):
        theirs = analyse.analyze(problem, y[r], calc_second_order=False, seed=6)
        for own, interval, other, reach in ((ours.first[r], ours.first_interval[r], theirs["S1"], theirs["S1_conf"]),
                                            (ours.total[r], ours.total_interval[r], theirs["ST"], theirs["ST_conf"])):
            # Both intervals hold 95 in 100: the difference, put together, stays within one and a half of them for all 80.
            joint = np.hypot(np.diff(interval, axis=-1)[:, 0] / 2, reach)
            assert np.all(np.abs(own - other) <= 1.5 * joint + 1e-6), reading
        assert math.isclose(float(np.var(y[r])), float(ours.variance[r]), rel_tol=0.05)
