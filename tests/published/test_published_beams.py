"""Beams of the tongue against published and remembered values. No textbook was open; each source says so.

Peery's Z-section: flanges reaching 4 past a web of 2, clear web 8, height 12 (inches).
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from lutherie_geom.mechanics.along import gauss, running
from lutherie_geom.theory import beam, tongue_beam

PEERY = "read in: Peery, Aircraft Structures, Example 7.2.1, as in section-properties tests/validation/test_peery.py"


def stacked(breadths, heights):
    return beam.three_layers(**{f"{n}_{i}": v for i, (b, t) in enumerate(zip(breadths, heights, strict=True), 1)
                                for n, v in (("breadth", b), ("thickness", t), ("modulus", 1.0))}).rigidity


def test_z_section(near):
    ixx = stacked((6, 2, 6), (2, 8, 2))
    iyy = stacked((2, 12, 2), (4, 2, 4))  # seen from the side: the flanges' free parts, and the web over the whole height
    near(ixx, 693.3, 0.7, PEERY)
    near(iyy, 173.3, 0.3, PEERY)
    ixy = -2 * 12 * 2 * 5  # two flanges of 12, 5 up and 2 aside
    low, high = np.linalg.eigvalsh([[ixx, ixy], [ixy, iyy]])
    near(high, 787, 1, PEERY + "; principal axes by eigenvalues")
    near(low, 79.5, 0.1, PEERY + "; principal axes by eigenvalues")


TORSION = "from memory: Timoshenko and Roark, table for rectangles; the series was recomputed"


@pytest.mark.parametrize(("ratio", "expected"), [(1, 0.1406), (4, 0.281), (10, 0.312)])
def test_torsion_of_rectangles(near, ratio, expected):
    near(tongue_beam.rectangle_torsion(long_side=ratio, short_side=1) / ratio, expected, 0.0006, TORSION)


def test_torsion_of_a_square(near):
    near(tongue_beam.rectangle_torsion(long_side=1, short_side=1), 0.140578, 2e-5, "computed with sectionproperties 3.10.2")


TABLE_9_1 = "read in: Wood Handbook GTR-282 Table 9-1, reproduction; W is the total load"


def bent(load_moment, span=1.0, parts=64):
    """Deflection at the end of a clamped beam of EI 1 by the library's own running integrals, pieces laid end to end."""
    u, w = gauss()
    slope = deflection = 0.0
    for i in range(parts):
        x = (i + u) * span / parts
        curvature = load_moment(x)
        h = span / parts
        deflection += h * slope + h * h * float(w @ running(curvature))
        slope += h * float(w @ curvature)
    return deflection


def test_uniform_load_between_clamps(near):
    """Half the beam from one clamp: moment of the clamp 1/12, of the reaction 1/2 x, of the load x^2/2 (W = L = 1)."""
    near(abs(bent(lambda x: -1 / 12 + x / 2 - x**2 / 2, span=0.5)), 0.0026041666666666665, 1e-12, TABLE_9_1)


def test_load_in_the_middle(near):
    near(bent(lambda x: (0.5 - x) / 2, span=0.5), 0.020833333333333332, 1e-12, TABLE_9_1 + "; ends free to turn")
    near(abs(bent(lambda x: -1 / 8 + x / 2, span=0.5)), 0.005208333333333333, 1e-12, TABLE_9_1)


def test_loads_at_the_quarters(near):
    """Ends free to turn; W/2 at each quarter: how far the middle goes down."""
    def moment(x):  # from the middle, where the beam runs level, to the end
        return np.where(x < 0.25, 1 / 8, (0.5 - x) / 2)

    near(bent(moment, span=0.5), 0.014322916666666666, 1e-12, TABLE_9_1)


def test_wedge_by_quadrature(near):
    u, w = gauss()
    near(float(w @ (u**2 / (1 + u) ** 3)), 0.06814718056, 1e-11, "computed with mpmath 1.3.0: integral of x^2/(1+x)^3 on 0 to 1")
    f = beam.tapered_tip(force=1, span=1, modulus=12, breadth=1, tip_depth=1, depth_ratio=2)
    near(f, 0.06814718056, 1e-10, "computed with mpmath 1.3.0")


def test_uniform_cantilever_note(near):
    """1.8751^2/(2 pi) sqrt(EI/m)/L^2, from Rayleigh's quotient with the shape under its own weight: half a percent high."""
    u, w = gauss()
    shape = (u**4 - 4 * u**3 + 6 * u**2) / 24  # under a load of 1, EI 1
    k, m = float(w @ shape) / (1 / 8) ** 2, float(w @ shape**2) / (1 / 8) ** 2
    found = tongue_beam.rayleigh_frequency(stiffness=k, line_mass=m, span=1.0) * 2 * math.pi / 1000
    near(found, 1.875104**2, 0.016, "textbook root of cos x cosh x = -1, from memory")
    near(found, 3.53, 0.001, "from memory: Rayleigh's value with the shape under own weight")
