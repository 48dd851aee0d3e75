"""Years and the travel budget: geometry of a lifted bridge, turns that undo it, the year in which the travel ends."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from lutherie_geom.design.load import load
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.strings import action
from lutherie_geom.joint.travel import travel
from lutherie_geom.mechanics.climate import ClimateError, seasonal
from lutherie_geom.mechanics.movement import seasons
from lutherie_geom.mechanics.years import ageing, travel_budget

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


def test_budget_adds_up(design):
    year, old = seasons(design, seasonal(), samples=8), ageing(design, samples=8)
    b = travel_budget(design, seasons=year, ageing=old, build=0.2)
    t = travel(design)
    assert b.down == pytest.approx(-t.low) and b.up == pytest.approx(t.high)
    assert b.left[0] == pytest.approx(-t.low - sum(s.down for s in b.shares))
    by_words = {s.words: s for s in b.shares}
    assert by_words["20 years"].down > 0 and by_words["20 years"].up == 0  # tops lift: the way is down
    step = action(pose(design.dimensions(), tilt=by_words["build"].up), 12).mean() - action(pose(design.dimensions()), 12).mean()
    assert float(step) == pytest.approx(0.2, rel=0.02)
    more = travel_budget(design, seasons=year, ageing=old, build=5.0)
    assert more.verdicts[0].state == "fails" and "more travel down is wanted" in str(more)
    assert b.verdicts[0].margin == pytest.approx(b.left[0])


def test_senseless_years_are_named(design):
    for words, said in (({"lift": (3.0, 1.0)}, "lift: 3 to 1 mm"), ({"rotation": (0.0, 0.5)}, r"rotation: 0 to 0\.5 rad"),
                        ({"after": 0.0}, "after, until: 0"), ({"samples": 1}, "samples: 1")):
        with pytest.raises(ClimateError, match=said):
            ageing(design, **words)
    year, old = seasons(design, seasonal(), samples=2), ageing(design, samples=2)
    with pytest.raises(ClimateError, match="year: 90 is outside 0 to 40"):
        travel_budget(design, seasons=year, ageing=old, build=0.1, year=90)
    with pytest.raises(ClimateError, match="build: -1 mm"):
        travel_budget(design, seasons=year, ageing=old, build=-1.0)
