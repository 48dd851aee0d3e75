"""Neck set: the two closed forms undo each other and give the target; the straightedge is a straight line."""

from __future__ import annotations

import numpy as np
import pytest

from lutherie_geom.theory.action import ACTION
from lutherie_geom.theory.dome import dome_height
from lutherie_geom.theory.neck_set import angle_for_action, saddle_for_action, straightedge

from .points import draw
from .test_action import brute_force, level_case

DOME = ("curvature", "x_apex", "along", "across")


def cases(n=300):
    d = draw(saddle_for_action, n, seed=9)
    return d | {"action": np.linspace(1, 4, n), "dip": np.linspace(-0.2, 0.6, n), "z_nut": np.linspace(0.3, 1.5, n),
                "x_fret": np.linspace(-150, -20, n)}


def test_saddle_and_angle_undo_each_other():
    d = cases()
    saddle = saddle_for_action(**d)
    back = angle_for_action(**{k: v for k, v in d.items() if k != "alpha"}, h_saddle=saddle)
    np.testing.assert_allclose(back, d["alpha"], atol=1e-13)
    again = saddle_for_action(**(d | {"alpha": back}))
    np.testing.assert_allclose(again, saddle, atol=1e-11)


@pytest.mark.parametrize("receiver", ACTION)
def test_target_is_met(receiver):
    """One string on the centreline of a flat board, over a flat and over a domed top, by relation and by brute force."""
    for i, d in enumerate({k: v[j] for k, v in cases(40).items()} for j in range(40)):
        d |= {"y_saddle": 0.0, "curvature": 0.0 if i % 2 else d["curvature"], "along": 1.0, "across": 1.0}
        whole = level_case() | {k: d[k] for k in (*DOME, "x_fret", "x_nut", "dip", "alpha", "z_joint", "x_saddle")}
        whole |= {"h_nut": d["z_nut"], "h_saddle": saddle_for_action(**d)}
        assert ACTION[receiver](**whole).action == pytest.approx(d["action"], abs=1e-12)
        if d["curvature"]:
            judged = brute_force(whole | {"radius_nut": 1e9, "radius_fret": 1e9}, 0.0, 0.0, 0.0)[0]
            assert judged == pytest.approx(d["action"], abs=1e-6)


def test_straightedge_is_a_line_from_the_joint():
    d = {"x_bridge": 250.0, "alpha": 0.03, "z_joint": 12.0, "curvature": 1 / 8000, "x_apex": 330.0, "along": 1, "across": 1}
    top = np.sqrt(8000**2 - (250.0 - 330.0) ** 2) - np.sqrt(8000**2 - 330.0**2)
    assert straightedge(**d) == pytest.approx(12.0 + 250.0 * np.tan(0.03) - top, abs=1e-11)
    flat = d | {"curvature": 0.0, "alpha": 0.0}
    assert straightedge(**flat) == 12.0
    assert dome_height(x=250.0, y=0.0, **{k: d[k] for k in DOME}) == pytest.approx(top, abs=1e-11)
