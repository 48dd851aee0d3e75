"""Scale and tongue: fret distances, length in space, and the gap by moving the underside as points."""

from __future__ import annotations

import numpy as np
import pytest

from lutherie_geom.theory.scale import fret_distance, sounding_length
from lutherie_geom.theory.tongue import gap_under_tongue

from .points import posed, trig


def test_frets():
    frets = np.arange(25)
    left = 650.0 - fret_distance(scale=650.0, fret=frets)
    np.testing.assert_allclose(left[:-1] / left[1:], 2 ** (1 / 12), rtol=1e-13)
    assert left[12] == 325.0 and left[24] == 162.5 and left[0] == 650.0


def test_length_in_space():
    ends = np.array([[-380.0, -18.0, 0.6], [260.0, -27.0, 6.0]])
    found = sounding_length(x_nut=-380.0, y_nut=-18.0, z_nut=0.6, xn_saddle=260.0, yn_saddle=-27.0, zn_saddle=6.0)
    assert found == pytest.approx(np.linalg.norm(ends[1] - ends[0]), rel=1e-15)


def top(x, y, radius=8000.0, c=330.0):
    return np.sqrt(radius**2 - (x - c) ** 2 - y**2) - np.sqrt(radius**2 - c**2)


@pytest.mark.parametrize("hollowed", [0.0, 1.0])
def test_gap_by_points(hollowed):
    dome = {"curvature": 1 / 8000, "x_apex": 330.0, "along": 1.0, "across": 1.0}
    for x, y, psi, theta, m in [(5.0, 0.0, 0.0, 0.0, 0.0), (95.0, -27.0, 0.01, 0.012, 0.3), (110.0, 27.0, -0.02, -0.01, -0.5)]:
        under = (top(x, y) if hollowed else 0.04 * x) + 1.2
        at = posed([x, y, under], psi, theta, m, 5.0, -15.0)
        found = gap_under_tongue(x=x, y=y, gap_joint=1.2, hollowed=hollowed, taper=0.04, advance=m, x_p=5.0, z_p=-15.0,
                                 **dome, **trig(psi, theta))
        assert found == pytest.approx(at[2] - top(at[0], at[1]), abs=1e-10)
    rest = {"y": 0.0, "gap_joint": 1.2, "hollowed": hollowed, "taper": 0.04, "advance": 0.0, "x_p": 5.0, "z_p": -15.0, **dome}
    assert gap_under_tongue(x=100.0, **rest, **trig(0, 0.01)) < gap_under_tongue(x=100.0, **rest, **trig(0, 0)), \
        "raising the action closes the gap"
