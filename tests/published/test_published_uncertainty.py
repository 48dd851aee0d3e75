"""Propagation of uncertainty against published values and independent engines; each number beside its source."""

from __future__ import annotations

import math

import numpy as np
import pytest
import uncertainties
from scipy import stats
from uncertainties import umath

import lutherie_geom as lg
from lutherie_geom.joint.pose import pose
from lutherie_geom.studies.first_order import effective_freedom, first_order, propagate
from lutherie_geom.studies.gradients import action_at
from lutherie_geom.studies.spreads import Group, Spread, Spreads, parse_spread

GTC = "read in: MSLNZ/GTC test_uncertain_real_dof.py"
SUNCAL = "read in: sandialabs/suncal test_examples.py"
GUM_H1 = f"JCGM 100 H.1; {SUNCAL} (32 and 16, its own tolerances 0.4 and 1)"
GUM_H1_PARTS = "JCGM 100 H.1; rounded components from memory, evaluated here; unrounded ones " + GTC
GUM_H2 = f"JCGM 100 H.2, Table H.4; {SUNCAL}; the five readings, read in: sandialabs/suncal test_GUMH2.csv"
GUM_S1 = f"JCGM 101 clause 9.2, Tables 2 and 3; {SUNCAL}"
GUM_S1_MASS = "JCGM 101 clause 9.3 (mass calibration), Table 8; from memory, formula evaluated here"
NPL_LOG = f"NPL DEM-ES-011 clause 9.2, Table 9.2; {SUNCAL}"
GUM_S2 = f"JCGM 102 clause 9.3, Table 6; {SUNCAL}"
NIST_E13 = f"NIST TN 1900 Example E13; {SUNCAL}"
STACK = ('four contributors and the gap of 3.00, read in: metricmech.com, "Tolerance stack-up: a worked example using worst-case '
         'and RSS" (opening pages: its table of contributors, and the loop)')
STACK_SUMS = "sums of that table computed here; what the page makes of them was not read"
STACK_TEN = "read in: a web note on root-sum-square tolerance analysis (no author; weak source)"

LENGTH, EXPANSION, OFF = 50.000623e6, 1.15e-5, -0.1  # nm, 1/K, K


def end_gauge(length=LENGTH):
    """Slopes of l = l_s + d - l_s (d_alpha theta + alpha d_theta) by l_s, d, d_alpha, d_theta, alpha, theta [nm per unit]."""
    return [1.0, 1.0, -length * OFF, -length * EXPANSION, 0.0, 0.0]


def test_end_gauge(near):
    found = propagate(end_gauge(), [25, 9.7, 5.8e-7, 0.029, 1.2e-6, 0.41])
    near(found.standard, 32, 0.5, GUM_H1)
    for part, expected in zip(np.abs(found.parts), (25, 9.7, 2.9), strict=False):
        near(part, expected, 0.1, GUM_H1_PARTS)
    freedom = effective_freedom(found.parts[:4], [18, 25.6, 50, 2])
    near(freedom, 16.7, 0.2, "JCGM 100 H.1, Welch-Satterthwaite; from memory, formula evaluated here")
    near(freedom, 16, 1, GUM_H1)
    near(found.standard * stats.t.ppf(0.995, int(freedom)), 93, 0.6,
         "JCGM 100 H.1, expanded uncertainty for 99 %; from memory, formula evaluated here")


def test_end_gauge_with_components_not_rounded(near):
    parts = [25, 5.8, 3.9, 6.7, Spread.plus_minus(1e-6, "rectangular").standard_deviation,
             Spread.plus_minus(0.05, "rectangular").standard_deviation]
    found = propagate([1, 1, 1, 1, -5e7 * OFF, -5e7 * EXPANSION], parts)
    near(found.standard, 31.6637674111, 1e-9, GTC)
    near(abs(found.parts[4]), 2.88675134595, 1e-9, GTC)
    near(abs(found.parts[5]), 16.5988202392, 1e-9, GTC)
    d = propagate([1, 1, 1], [5.8, 3.9, 6.7])
    near(d.standard, 9.68194195397, 1e-9, GTC)
    near(effective_freedom(d.parts, [24, 5, 8]), 25.4472507774, 1e-9, GTC)
    near(effective_freedom(found.parts, [18, 24, 5, 8, 50, 2]), 16.7521475092, 1e-9, GTC)


def impedance_slopes(v, i, phi):
    """Slopes of R, X, Z = V cos/I, V sin/I, V/I by V, I, phi."""
    z, c, s = v / i, math.cos(phi), math.sin(phi)
    return {"R": [c / i, -z * c / i, -z * s], "X": [s / i, -z * s / i, z * c], "Z": [1 / i, -z / i, 0.0]}


def test_correlated_measurements(near):
    sample = np.array([[5.007, 4.994, 5.005, 4.990, 4.999], [19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3],
                       [1.0456, 1.0438, 1.0468, 1.0428, 1.0433]])
    v, i, phi = sample.mean(axis=1)
    near(v * math.cos(phi) / i, 127.732, 0.001, GUM_H2)
    sds, r = sample.std(axis=1, ddof=1) / math.sqrt(5), np.corrcoef(sample)
    slopes = impedance_slopes(v, i, phi)
    for key, expected in (("R", 0.071), ("X", 0.295), ("Z", 0.236)):
        near(propagate(slopes[key], sds, r).standard, expected, 0.001, GUM_H2)


def test_correlated_measurements_from_rounded_coefficients(near):
    r = [[1, -0.36, 0.86], [-0.36, 1, -0.65], [0.86, -0.65, 1]]
    slopes = impedance_slopes(4.999, 0.019661, 1.04446)
    for key, expected in (("R", 0.0699787279884), ("X", 0.295716826846), ("Z", 0.236602971835)):
        near(propagate(slopes[key], [0.0032, 0.0000095, 0.00075], r).standard, expected, 1e-10, GTC)


@pytest.mark.parametrize(("kind", "high", "tolerance"), [("normal", 3.92, 0.01), ("rectangular", 3.88, 0.01)])
def test_sum_of_four(near, kind, high, tolerance):
    s = Spread.sd(1.0, kind)
    near(propagate(np.ones(4), [s.standard_deviation] * 4).standard, 2.0, 0.005, GUM_S1)
    u = stats.qmc.Sobol(4, scramble=False).random(2**16) + 0.5 / 2**16
    near(np.quantile(s.draw(u).sum(axis=1), 0.975), high, tolerance, GUM_S1)


def test_mass_calibration_to_first_order(near):
    air, water, weight = 1.20, 8000.0, 8000.0
    nominal = 100000.0 + 1.234
    slopes = [1 + (air - 1.2) * (1 / water - 1 / weight)] * 2 + [
        nominal * (1 / water - 1 / weight), -nominal * (air - 1.2) / water**2, nominal * (air - 1.2) / weight**2]
    sds = [0.050, 0.020, *(Spread.plus_minus(h, "rectangular").standard_deviation for h in (0.1, 1000, 50))]
    u = propagate(slopes, sds).standard
    near(u, 0.0539, 1e-4, GUM_S1_MASS)
    near(1.234 - 1.959964 * u, 1.1285, 1e-4, GUM_S1_MASS)
    near(1.234 + 1.959964 * u, 1.3395, 1e-4, GUM_S1_MASS)


def test_where_first_order_is_known_to_fall_short(near):
    """ln of an even spread: first order gives 0.481, the truth is 0.606; the drawn values know."""
    x = Spread.between(0.1, 1.1)
    near(propagate([1 / x.mean], [x.standard_deviation]).standard, 0.481, 0.001, NPL_LOG)
    y = np.log(x.draw((np.arange(2**16) + 0.5) / 2**16))
    near(y.mean(), -0.665, 0.001, NPL_LOG)
    near(y.std(), 0.606, 0.001, NPL_LOG)


def test_magnitude_to_first_order(near):
    near(propagate([1.0, 0.0], [0.01, 0.01]).standard, 0.010, 0.001, GUM_S2)


def test_expansion_coefficient(near):
    l0, t0, l1, t1 = 1.4999, 288.15, 1.5021, 373.10
    alpha = (l1 - l0) / (l0 * (t1 - t0))
    near(alpha, 1.7266e-5, 1e-9, NIST_E13)
    slopes = [-l1 / (l0**2 * (t1 - t0)), alpha / (t1 - t0), 1 / (l0 * (t1 - t0)), -alpha / (t1 - t0)]
    # The spreads are scaled so that these are their standard uncertainties.
    near(propagate(slopes, [1e-4, 0.02, 2e-4, 0.05]).standard, 1.76e-6, 0.01e-6, NIST_E13)


def test_textbook_stack(near):
    parts = [parse_spread(t) for t in ("40.00 mm ± 0.10", "25.00 mm ± 0.05", "2.00 mm ± 0.03", "10.00 mm ± 0.05")]
    slopes = np.array([1, -1, -1, -1])
    near(float(slopes @ [p.nominal for p in parts]), 3.0, 1e-9, STACK)
    near(sum(abs(g) * p.half for g, p in zip(slopes, parts, strict=True)), 0.23, 1e-9, STACK_SUMS)
    near(2 * propagate(slopes, [p.standard_deviation for p in parts]).standard, 0.1261, 5e-5, STACK_SUMS)


def test_ten_equal_parts(near):
    s = Spread.plus_minus(0.1)
    near(10 * s.half, 1.0, 1e-9, STACK_TEN)
    near(2 * propagate(np.ones(10), [s.standard_deviation] * 10).standard, 0.316, 0.0005, STACK_TEN)


# The real joint, by another engine: the geometry written again with plain numbers, differentiated by `uncertainties`.

VARIED = {"x_p": 0.2, "z_p": 0.3, "x_head": 0.2, "z_head": 0.3, "x_receiver": 0.2, "z_receiver": 0.3, "pitch_tilt": 0.02,
          "alpha": 0.001, "z_joint": 0.2, "curvature": 2e-6, "x_apex": 5.0, "h_saddle": 0.1, "h_nut": 0.05, "x_saddle": 0.5,
          "scale": 0.3, "relief": 0.05, "nut_compensation": 0.1, "joint_fret_x": 0.2}
TILT = 0.8


def action_by_hand(d, v, string=0, fret=12):
    """Action [mm], no steering, receiver a cross dowel, from the definitions: circle and sphere in their textbook forms."""
    vx, vz = v["x_receiver"] - v["x_p"], v["z_receiver"] - v["z_p"]
    qx, qz = v["x_head"] - v["x_p"], v["z_head"] - v["z_p"]
    length = umath.hypot(v["x_head"] - v["x_receiver"], v["z_head"] - v["z_receiver"]) + v["pitch_tilt"] * TILT
    a, b = qx * vx + qz * vz, qx * vz - qz * vx
    e = (qx**2 + qz**2 + vx**2 + vz**2 - length**2) / 2
    middle, half = umath.atan2(b, a), umath.acos(e / umath.sqrt(a**2 + b**2))
    theta = min((middle + half, middle - half), key=lambda t: abs(uncertainties.nominal_value(t)))
    radius = 1 / v["curvature"]
    dome = (umath.sqrt(radius**2 - (v["x_saddle"] - v["x_apex"]) ** 2 - float(d.y_saddle[string]) ** 2)
            - umath.sqrt(radius**2 - v["x_apex"] ** 2))
    dx, dz = v["x_saddle"] - v["x_p"], dome + v["h_saddle"] - v["z_p"]
    x = v["x_p"] + dx * umath.cos(theta) - dz * umath.sin(theta)
    z = v["z_p"] - v["z_joint"] + dz * umath.cos(theta) + dx * umath.sin(theta)
    xn, zn = x * umath.cos(v["alpha"]) + z * umath.sin(v["alpha"]), z * umath.cos(v["alpha"]) - x * umath.sin(v["alpha"])

    def place(n):
        return v["joint_fret_x"] + v["scale"] * (2 ** (-d.joint_fret / 12) - 2 ** (-n / 12))

    r, y0 = float(d.radius_nut), float(d.y_nut[string])  # a cylinder: the same radius all along
    nut_x, nut_z = place(0) + v["nut_compensation"], v["h_nut"] - (r - math.sqrt(r**2 - y0**2))
    part = (place(fret) - nut_x) / (xn - nut_x)
    y = y0 + part * (float(d.y_saddle[string]) - y0)
    along = (place(fret) - place(1)) / (place(d.joint_fret) - place(1))
    crown = umath.sqrt(r**2 - y**2) - r - 4 * v["relief"] * along * (1 - along)
    return nut_z + part * (zn - nut_z) - crown


@pytest.mark.parametrize("correlation", [0.0, 0.8])
def test_action_of_the_real_joint_by_another_engine(correlation):
    d = lg.load("slack_water").dimensions()
    groups = (Group(("z_p", "z_head", "z_receiver"), correlation),) if correlation else ()
    spreads = Spreads({n: Spread.plus_minus(t) for n, t in VARIED.items()}, groups, frozenset({"h_saddle", "h_nut", "x_saddle"}))
    found = first_order(pose(d, tilt=TILT), spreads, [action_at(0)]).items[0]
    nominal = [float(np.ravel(getattr(d, n))[0]) for n in VARIED]
    values = uncertainties.correlated_values_norm([(x, t / 2) for x, t in zip(nominal, VARIED.values(), strict=True)],
                                                  spreads.correlation(d))
    other = action_by_hand(d, dict(zip(VARIED, values, strict=True)))
    assert found.nominal == pytest.approx(other.nominal_value, abs=1e-8)
    assert found.standard == pytest.approx(other.std_dev, rel=1e-7)
    if not correlation:
        alone = {n: uncertainties.ufloat(x, t / 2, n) for (n, t), x in zip(VARIED.items(), nominal, strict=True)}
        shares = {k.tag: s for k, s in action_by_hand(d, alone).error_components().items()}
        for c in found.contributions:
            assert abs(c.part) == pytest.approx(shares.get(c.name, 0.0), rel=1e-6, abs=1e-9), c.name
