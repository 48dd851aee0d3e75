"""Years: geometry of a lifted bridge, turns that undo it, the year in which the travel ends."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from lutherie_geom.design.load import load
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.strings import action
from lutherie_geom.joint.travel import travel
from lutherie_geom.mechanics.climate import ClimateError
from lutherie_geom.mechanics.years import ageing, first_passing

DESIGNS = Path(__file__).parents[2] / "data" / "designs"


@pytest.fixture(scope="module")
def design():
    return load(DESIGNS / "spring_tide_mended.toml")


def test_lift_alone_by_similar_triangles(design):
    r = ageing(design, lift=(2.0, 2.0), rotation=(0.0, 0.0), exponent=(0.3, 0.3), after=20.0, samples=2)
    d = design.dimensions()
    share = float((d.x_fret(12) - d.x_nut) / (np.mean(d.x_saddle) - d.x_nut))
    at = int(np.argmin(np.abs(r.years - 20)))
    assert r.lift[at, 0] == pytest.approx(2.0) and r.change[at, 0] == pytest.approx(2.0 * share, rel=0.01)
    np.testing.assert_allclose(r.lift[1:, 0], 2.0 * (r.years[1:] / 20) ** 0.3, rtol=1e-12)
    assert r.change[0, 0] == pytest.approx(0.0, abs=1e-12)
    back = d.replaced(h_saddle=np.asarray(d.h_saddle) + 2.0)
    assert float(action(pose(back, tilt=r.turns[at, 0]), 12).mean() - action(pose(d), 12).mean()) == pytest.approx(0.0, abs=1e-9)


def test_rotated_block_is_a_turned_neck(design):
    """Rotation of the block about the joint against the very same rotation done by the tilt screw's pose."""
    r = ageing(design, lift=(0.0, 0.0), rotation=(0.004, 0.004), exponent=(0.3, 0.3), samples=2)
    d = design.dimensions()
    at = int(np.argmin(np.abs(r.years - 20)))
    p = pose(d, tilt=np.linspace(0, 2, 2001))
    a = action(p, 12).mean(axis=(0, 1)) - action(pose(d), 12).mean()
    assert r.change[at, 0] == pytest.approx(float(np.interp(0.004, p.theta, a)), abs=0.1)
    assert r.change[at, 0] > 0.4 and r.turns[at, 0] < 0


def test_year_in_which_travel_ends():
    tight = load(DESIGNS / "spring_tide.toml")  # no travel left for its second year
    r = ageing(tight, samples=16)
    assert np.isfinite(r.runs_out).any() and str(r).startswith("Spring Tide: the lowering travel runs out")
    low = travel(tight).low
    for k in np.flatnonzero(np.isfinite(r.runs_out)):
        assert np.interp(r.runs_out[k], r.years, r.turns[:, k]) == pytest.approx(low, abs=1e-6)
    roomy = ageing(load(DESIGNS / "spring_tide_mended.toml"), lift=(0.0, 0.1), rotation=(0.0, 0.0), samples=4)
    assert np.all(np.isnan(roomy.runs_out)) and "lasts more than 40 years" in str(roomy)


def test_a_top_that_sinks_meets_the_stop_above(design):
    """Travel up is what ends when the bridge sinks; the year is when the turns to undo it meet that stop."""
    slack = load(DESIGNS / "slack_water.toml")
    high = travel(slack).high
    r = ageing(slack, lift=(-4.0, -3.0), rotation=(-0.006, -0.005), samples=16)
    assert np.all(np.isnan(r.gone_down)) and np.isfinite(r.gone_up).all() and np.array_equal(r.runs_out, r.gone_up)
    assert str(r).startswith("Slack Water: the raising travel runs out within 40 years in 100 of 100 samples")
    for k in range(16):
        assert np.interp(r.runs_out[k], r.years, r.turns[:, k]) == pytest.approx(high, abs=1e-6)
    both = ageing(slack, lift=(-5.0, 8.0), rotation=(0.0, 0.0), samples=16)
    said = str(both)
    assert np.isfinite(both.gone_down).any() and np.isfinite(both.gone_up).any()
    first = "lowering" if np.nanmin(both.gone_down) < np.nanmin(both.gone_up) else "raising"
    assert said.index(f"the {first} travel") == len("Slack Water: ") and "lowering travel" in said and "raising travel" in said


def test_years_are_told_in_the_designs_own_units():
    said = str(ageing(load("cross_tide"), lift=(1.27, 1.27), rotation=(0.0, 0.0), exponent=(0.3, 0.3), until=20.0, samples=2))
    assert "bridge +0.050..+0.050 in" in said and " mm" not in said


def test_first_passing():
    years = np.array([0.0, 1.0, 2.0])
    over = np.array([[-1.0, 1.0, -1.0, -3.0], [1.0, 1.0, -1.0, -2.0], [2.0, -1.0, -1.0, 1.0]])
    np.testing.assert_allclose(first_passing(years, over), [0.5, 0.0, np.nan, 1 + 2 / 3])


def test_senseless_years_are_named(design):
    for words, said in (({"lift": (3.0, 1.0)}, "lift: 3 to 1 mm"), ({"rotation": (0.0, 0.5)}, r"rotation: 0 to 0\.5 rad"),
                        ({"after": 0.0}, "after, until: 0"), ({"samples": 1}, "samples: 1")):
        with pytest.raises(ClimateError, match=said):
            ageing(design, **words)
