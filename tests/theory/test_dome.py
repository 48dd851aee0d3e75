"""Dome against the plain sphere and arch formulas in fifty digits, and at exactly flat."""

from __future__ import annotations

import mpmath
import numpy as np
import pytest

from lutherie_geom.theory.dome import dome_height, radius_from_sagitta, sagitta


def plain(radius, x_apex, along, across, x, y):
    """Top of a sphere (or cylinder) less its height at the origin, in fifty digits: the form that loses digits in floats."""
    with mpmath.workdps(50):
        r, c, x, y = (mpmath.mpf(v) for v in (radius, x_apex, x, y))
        return mpmath.sqrt(r**2 - along * (x - c) ** 2 - across * y**2) - mpmath.sqrt(r**2 - along * c**2)


@pytest.mark.parametrize("radius", [1e3, 3e3, 8534.4, 1e5, 1e6, 1e7, 1e8, 1e9])
@pytest.mark.parametrize(("along", "across"), [(1, 1), (1, 0), (0, 1)])
def test_height_keeps_its_digits_on_the_way_to_flat(radius, along, across):
    for x, y in [(300.0, 0.0), (310.0, 42.0), (-120.0, 25.0), (520.0, -180.0)]:
        found = dome_height(x=x, y=y, curvature=1 / radius, x_apex=330.0, along=along, across=across)
        truth = plain(radius, 330.0, along, across, x, y)
        # The relative error stays at the size of one rounding, whatever the radius; the plain form loses 6 digits at 1e6.
        assert abs(found - float(truth)) <= 4e-15 * (abs(float(truth)) + 330.0**2 / radius / 2)


def test_flat_is_exactly_flat_and_the_origin_is_on_the_dome():
    x, y = np.meshgrid(np.linspace(-700, 600, 7), np.linspace(-250, 250, 5))
    assert np.all(dome_height(x=x, y=y, curvature=0.0, x_apex=330.0, along=1, across=1) == 0)
    assert dome_height(x=0.0, y=0.0, curvature=1 / 8000, x_apex=330.0, along=1, across=1) == 0
    assert np.all(np.array(list(dome_height.slopes(x=5.0, y=3.0, curvature=0.0, x_apex=330.0, along=1, across=1)["z_top"]
                                .values()))[[0, 1, 3, 4, 5]] == 0)


def test_arches_do_not_feel_the_other_direction():
    arch = {"curvature": 1 / 6000, "x_apex": 300.0}
    assert dome_height(x=200.0, y=90.0, along=1, across=0, **arch) == dome_height(x=200.0, y=0.0, along=1, across=0, **arch)
    assert dome_height(x=200.0, y=90.0, along=0, across=1, **arch) == dome_height(x=-50.0, y=90.0, along=0, across=1, **arch)
    assert dome_height(x=200.0, y=90.0, along=0, across=1, **arch) == pytest.approx(np.sqrt(6000**2 - 90**2) - 6000, abs=1e-11)


@pytest.mark.parametrize("radius", [1e3, 7620.0, 1e6])
def test_slope_at_the_joint(radius):
    slope = dome_height.slopes(x=0.0, y=0.0, curvature=1 / radius, x_apex=330.0, along=1, across=1)["z_top"]
    # A sphere's tangent is square to its radius: slope = tan(arcsin(x_c / R)).
    assert slope["x"] == pytest.approx(np.tan(np.arcsin(330.0 / radius)), rel=1e-13)
    assert slope["y"] == 0


@pytest.mark.parametrize("radius", [600.0, 8534.4, 1e6, 1e9])
def test_sagitta_and_back(radius):
    rise = sagitta(radius=radius, chord=400.0)
    with mpmath.workdps(50):
        truth = radius - mpmath.sqrt(mpmath.mpf(radius) ** 2 - 200**2)
    assert rise == pytest.approx(float(truth), rel=4e-16 * 4)
    assert radius_from_sagitta(rise=rise, chord=400.0) == pytest.approx(radius, rel=1e-14)
    assert sagitta(radius=np.inf, chord=400.0) == 0
