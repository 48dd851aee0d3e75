"""Sampling, Sobol indices and counting against published values; each number beside its source.

A published Monte Carlo result is one run of one generator: it is compared with an exact value first, and the printed digits
only within the numerical tolerance that belongs to them.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import brentq, minimize_scalar
from scipy.special import ndtr, ndtri

from lutherie_geom.studies.counting import interval, prototypes
from lutherie_geom.studies.sampling import run
from lutherie_geom.studies.sobol import indices

SUMS = "read in: JCGM 101 clause 9.2, Tables 2 and 3, as asserted in public repository sandialabs/suncal, test_examples.py"
IRWIN_HALL = "computed here: sum of four rectangular spreads, exact distribution (Irwin-Hall)"
WIDE = "computed here: three rectangular spreads of deviation 1 and one of 10 (JCGM 101 clause 9.2.4), exact quantile"
MASS = "from memory, a calculation reproduces it: JCGM 101 clause 9.3 (mass calibration), Table 8"
MASS_EXACT = "computed here: the distribution of JCGM 101 clause 9.3 by quadrature"
LOG = "read in: NPL DEM-ES-011 clause 9.2, Table 9.2, as asserted in sandialabs/suncal, test_examples.py; one Monte Carlo run"
LOG_EXACT = "computed here: ln X of a rectangular X from 0.1 to 1.1: low end ln 0.15"
ISHIGAMI = "read in: SALib, src/SALib/test_functions/Ishigami.py (after Saltelli et al. 2008)"
ISHIGAMI_TOTAL = "from memory, the closed form reproduces it: total indices of the Ishigami function"
SOBOL_G = "read in: SALib, src/SALib/test_functions/Sobol_G.py, header"
SOBOL_G_FORMULA = "formula read in: SALib, src/SALib/test_functions/Sobol_G.py (its header's 0.7165 is wrong); computed here"
NEWCOMBE = "from memory: Newcombe 1998, Statistics in Medicine 17, Table I"
ORDER = "from memory: non-parametric tolerance limits after Wilks, 95 % of the population at 95 % confidence"

ROOT3 = math.sqrt(3)


def normals(u):
    return ndtri(u).sum(axis=0)


def rectangles(u):
    return (ROOT3 * (2 * u - 1)).sum(axis=0)


def one_wide(u):
    return (ROOT3 * (2 * u - 1) * np.array([1, 1, 1, 10])[:, None]).sum(axis=0)


def mass(u):
    """Deviation of a weight from 100 g [mg], weighed in air against a reference of other density."""
    reference, difference = 100000 + 0.05 * ndtri(u[0]), 1.234 + 0.02 * ndtri(u[1])
    air, weight, of_reference = 1.1 + 0.2 * u[2], 7000 + 2000 * u[3], 7950 + 100 * u[4]
    return (reference + difference) * (1 + (air - 1.2) * (1 / weight - 1 / of_reference)) - 100000


def logarithm(u):
    return np.log(0.1 + u[0])


def irwin_hall(y):
    """Share below y of the sum of four even numbers between 0 and 1."""
    return sum((-1) ** k * math.comb(4, k) * max(y - k, 0) ** 4 for k in range(5)) / 24


def one_wide_share(y):
    """The same for the sum with one wide part: the narrow three by their density, the wide one in closed form."""
    t, w = np.polynomial.legendre.leggauss(60)
    total = 0.0
    for k in range(3):  # the density of three is a parabola on each of three pieces
        x = k + (t + 1) / 2
        density = sum((-1) ** j * math.comb(3, j) * np.maximum(x - j, 0) ** 2 for j in range(4)) / 2
        wide = np.clip((y - ROOT3 * (2 * x - 3)) / (20 * ROOT3) + 0.5, 0, 1)
        total += (w / 2 * density * wide).sum()
    return total


def mass_share():
    """A function: share of weights below y [mg]."""
    t, w = np.polynomial.legendre.leggauss(48)
    t, w = (t + 1) / 2, w / 2
    air, weight, of_reference = 1.1 + 0.2 * t[:, None, None], 7000 + 2000 * t[:, None], 7950 + 100 * t
    factor = 1 + (air - 1.2) * (1 / weight - 1 / of_reference)
    each = w[:, None, None] * w[:, None] * w
    return lambda y: float((each * ndtr((y + 100000 - 100001.234 * factor) / (math.hypot(0.05, 0.02) * factor))).sum())


@pytest.fixture(scope="module")
def exact_mass():
    """Mean and deviation [mg] by quadrature of the share, and the shortest 95 % interval."""
    share = mass_share()

    def ends(below):
        return [brentq(lambda y, q: share(y) - q, 0.5, 2, args=(q,), xtol=1e-9) for q in (below, below + 0.95)]

    best = minimize_scalar(lambda b: np.diff(ends(b))[0], bounds=(0.005, 0.045), method="bounded", options={"xatol": 1e-5})
    return ends(best.x), ends(0.025)


@pytest.fixture(scope="module")
def runs():
    found = {}

    def get(model, dimension):
        if model not in found:
            found[model] = run(model, dimension, 2**20, 1)
        return found[model].tally

    return get


def numerical_tolerance(deviation, digits):
    """Half a unit of the last of so many significant digits of the standard uncertainty, as JCGM 101 defines it."""
    return 0.5 * 10.0 ** (math.floor(math.log10(deviation)) + 1 - digits)


def test_numerical_tolerance():
    assert numerical_tolerance(0.0755, 2) == pytest.approx(0.0005)
    assert numerical_tolerance(2.0, 2) == pytest.approx(0.05)


@pytest.mark.parametrize(("model", "deviation", "end", "tolerance", "source"), [
    (normals, 2.0, 3.92, 0.01, SUMS),
    (normals, 2.0, 2 * 1.959963985, numerical_tolerance(2.0, 3), "computed here: normal, exact"),
    (rectangles, 2.0, 3.88, 0.01, SUMS),
    (rectangles, 2.0, ROOT3 * (2 * brentq(lambda y: irwin_hall(y) - 0.975, 2, 4) - 4), numerical_tolerance(2.0, 3), IRWIN_HALL),
    (one_wide, math.sqrt(103), brentq(lambda y: one_wide_share(y) - 0.975, 0, 20), numerical_tolerance(10.1, 3), WIDE),
])
def test_sums_of_four(near, runs, model, deviation, end, tolerance, source):
    t = runs(model, 4)
    near(t.mean[0], 0.0, 0.005, source)
    near(t.deviation[0], deviation, 0.005, source)
    near(t.interval(0.95)[0, 0], -end, tolerance, source)
    near(t.interval(0.95)[0, 1], end, tolerance, source)


def test_mass_printed(near, runs):
    t = runs(mass, 5)
    near(t.mean[0], 1.2341, 0.0005, MASS)
    near(t.deviation[0], 0.0754, 0.0005, MASS)
    low, high = t.interval(0.95, shortest=True)[0]
    near(low, 1.0834, 0.0015, MASS)  # the ends of the shortest interval wander: the density is alike at both
    near(high, 1.3825, 0.0015, MASS)


def test_mass_exact(near, runs, exact_mass):
    t = runs(mass, 5)
    tolerance = numerical_tolerance(t.deviation[0], 2)
    shortest, even = exact_mass
    for found, expected in zip(t.interval(0.95)[0], even, strict=True):
        near(found, expected, tolerance, MASS_EXACT)
    low, high = t.interval(0.95, shortest=True)[0]
    near(high - low, shortest[1] - shortest[0], tolerance, MASS_EXACT)
    near(low, shortest[0], 2 * tolerance, MASS_EXACT)
    near(high, shortest[1], 2 * tolerance, MASS_EXACT)


@pytest.mark.parametrize(("what", "expected", "tolerance", "source"), [
    ("mean", -0.665, 0.001, LOG), ("deviation", 0.606, 0.001, LOG), ("low", -1.895, 0.003, LOG),
    ("mean", 1.1 * math.log(1.1) - 0.1 * math.log(0.1) - 1, 0.0001, LOG_EXACT), ("low", math.log(0.15), 0.0005, LOG_EXACT),
])
def test_logarithm(near, runs, what, expected, tolerance, source):
    t = runs(logarithm, 1)
    found = {"mean": t.mean[0], "deviation": t.deviation[0], "low": t.interval(0.95, shortest=True)[0, 0]}
    near(found[what], expected, tolerance, source)


A = np.array([0, 1, 4.5, 9, 99, 99, 99, 99])


def ishigami(u):
    x = np.pi * (2 * u - 1)
    return np.sin(x[0]) + 7 * np.sin(x[1]) ** 2 + 0.1 * x[2] ** 4 * np.sin(x[0])


def sobol_g(u):
    return np.prod((abs(4 * u - 2) + A[:, None]) / (1 + A[:, None]), axis=0)


@pytest.fixture(scope="module")
def shares():
    return {m: indices(m, n, 2**16, 1) for m, n in ((ishigami, 3), (sobol_g, 8))}


@pytest.mark.parametrize(("model", "which", "number", "expected", "tolerance", "source"), [
    (ishigami, "first", 1, 0.4424, 0.001, ISHIGAMI), (ishigami, "first", 2, 0.0, 0.001, ISHIGAMI),
    (ishigami, "total", 0, 0.5576, 0.001, ISHIGAMI_TOTAL), (ishigami, "total", 1, 0.4424, 0.001, ISHIGAMI_TOTAL),
    (sobol_g, "first", 0, 0.716192, 0.001, SOBOL_G_FORMULA), (sobol_g, "first", 1, 0.1791, 0.001, SOBOL_G),
    (sobol_g, "first", 2, 0.0237, 0.001, SOBOL_G), (sobol_g, "first", 3, 0.0072, 0.001, SOBOL_G),
    (sobol_g, "first", 4, 0.0001, 0.001, SOBOL_G), (sobol_g, "total", 0, 0.787144, 0.001, SOBOL_G_FORMULA),
    (sobol_g, "total", 2, 0.034317, 0.001, SOBOL_G_FORMULA), (sobol_g, "total", 3, 0.01046, 0.001, SOBOL_G_FORMULA),
])
def test_sobol_indices(near, shares, model, which, number, expected, tolerance, source):
    near(getattr(shares[model], which)[0, number], expected, tolerance, source)


@pytest.mark.parametrize(("inside", "built", "wilson", "exact"), [
    (81, 263, (0.2553, 0.3662), (0.2527, 0.3676)), (15, 148, (0.0624, 0.1605), (0.0578, 0.1617)),
    (0, 20, (0.0, 0.1611), (0.0, 0.1684)), (1, 29, (0.0061, 0.1718), (0.0009, 0.1776)),
])
def test_intervals_of_a_share(near, inside, built, wilson, exact):
    for method, ends in (("wilson", wilson), ("exact", exact)):
        for found, expected in zip(interval(inside, built, 0.95, method), ends, strict=True):
            near(found, expected, 0.00006, NEWCOMBE)


@pytest.mark.parametrize(("outside", "built"), [(0, 59), (1, 93), (2, 124), (3, 153), (4, 181)])
def test_prototypes_for_19_in_20(near, outside, built):
    near(prototypes(0.95, 0.95, outside), built, 0, ORDER)
