"""The travel budget: the build's share against travel searched on every instrument, sums, the year in which it runs out."""

from __future__ import annotations

import numpy as np
import pytest

import lutherie_geom as lg
from lutherie_geom.design.tolerances import Tolerances
from lutherie_geom.joint.body import heel_fit, least_gap
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.strings import action
from lutherie_geom.joint.travel import travel
from lutherie_geom.mechanics.climate import ClimateError, seasonal
from lutherie_geom.mechanics.seasons import seasons
from lutherie_geom.mechanics.years import ageing
from lutherie_geom.studies.budget import Share, budget, build_share, travel_budget
from lutherie_geom.studies.spreads import Spreads

DESIGN = lg.load("slack_water")
SPREADS = Spreads.of_design(DESIGN)


@pytest.fixture(scope="module")
def parts():
    return (build_share(DESIGN, SPREADS, samples=256), seasons(DESIGN, seasonal(), samples=16), ageing(DESIGN, samples=16))


def test_build_share_against_travel_searched_on_every_instrument():
    """Twelve instruments built; the turn to the drawing's action and both ends found by bisection on the full model."""
    from scipy.stats import qmc

    n = 16
    found = build_share(DESIGN, SPREADS, samples=n, seed=4)
    d, room = DESIGN.dimensions(), travel(DESIGN)
    u = qmc.Sobol(len(SPREADS.variables(d)), rng=np.random.default_rng(4)).random(n).T
    dims, off = SPREADS.built(d, SPREADS.draw(d, u))
    start = pose(dims, **off)
    goal = action(pose(d), 12).mean()

    def zero(f, low, high):
        low, high = np.full(n, low), np.full(n, high)
        up = f(high) > f(low)
        for _ in range(45):
            mid = (low + high) / 2
            side = (f(mid) > 0) == up
            low, high = np.where(side, low, mid), np.where(side, mid, high)
        return (low + high) / 2

    def posed(turns):
        return pose(dims, tilt=turns + off["tilt"], bass=start.bass, treble=start.treble)

    need = zero(lambda t: action(posed(t), 12).mean(axis=(0, 1)) - goal, -3.0, 3.0)
    down = zero(lambda t: heel_fit(posed(t)).floor.min(axis=(0, 1)), -4.0, 1.0)
    up = zero(lambda t: least_gap(posed(t)).gap, -1.0, 4.0)
    # The pivots' own small errors are steered out in the share and stay here: hundredths of a turn.
    np.testing.assert_allclose(found.low, need - (down - room.low), atol=0.03)
    np.testing.assert_allclose(found.high, need - (up - room.high), atol=0.03)


def test_looser_work_takes_more_and_none_takes_nothing(parts):
    none, twice = (build_share(DESIGN, SPREADS, looser=k, samples=256) for k in (0.0, 2.0))
    assert np.abs(none.low).max() < 1e-9 and np.abs(none.high).max() < 1e-9
    assert twice.down == pytest.approx(2 * parts[0].down, rel=0.1)
    with pytest.raises(ClimateError, match="looser: -1 is outside"):
        build_share(DESIGN, SPREADS, looser=-1.0)


def test_budget_adds_up(parts):
    build, year, old = parts
    b = travel_budget(DESIGN, build=build, seasons=year, ageing=old, taste=0.2)
    t = travel(DESIGN)
    assert (b.down, b.up) == pytest.approx((-t.low, t.high))
    down, up = b.after(4)
    np.testing.assert_allclose(down, b.down + sum(s.low for s in b.shares))
    np.testing.assert_allclose(up, b.up - sum(s.high for s in b.shares))
    assert b.after(0)[0] == pytest.approx(np.full(256, b.down))
    assert b.left[0] >= b.at_worst[0] and b.left[1] >= b.at_worst[1]  # not all falls due at once
    by_words = {s.words: s for s in b.shares}
    assert by_words["20 years"].down > 0 and by_words["20 years"].up == 0  # tops lift: the way is down
    taste = action(pose(DESIGN.dimensions(), tilt=np.abs(by_words["taste"].low).max()), 12).mean() - action(
        pose(DESIGN.dimensions()), 12).mean()
    assert float(taste) == pytest.approx(0.2, rel=0.03)
    assert b.verdicts[0].margin == pytest.approx(b.left[0])


def test_the_year_it_runs_out_is_when_the_sum_meets_the_stop(parts):
    build, year, old = parts
    b = travel_budget(DESIGN, build=build, seasons=year, ageing=old, taste=1.0)
    for looked in (0.0, 5.0, 20.0, 40.0):
        then = travel_budget(DESIGN, build=build, seasons=year, ageing=old, taste=1.0, year=looked)
        gone = np.nan_to_num(b.runs_out, nan=np.inf)
        np.testing.assert_array_equal(then.lasting, gone > looked if looked else gone > 0)


def test_front_door_and_the_story():
    bad, good = (budget(lg.load(n), spreads=SPREADS, samples=256) for n in ("spring_tide", "spring_tide_mended"))
    assert bad.lasting.mean() < 0.2 < 0.8 < good.lasting.mean()
    assert bad.verdicts[0].state == "fails" and "more travel down is wanted" in str(bad) and "first year" in str(bad)


def test_a_design_without_tolerances_is_built_as_usual_and_says_so():
    spring = lg.load("spring_tide")
    spring = spring.model_copy(update={"tolerances": Tolerances()})
    assert not spring.tolerances and not budget(lg.load("slack_water"), samples=64).usual
    found = budget(spring, samples=256)
    assert found.usual and "the design states no" in str(found) and found.shares[0].up > 0.05
    half = budget(spring, samples=256, looser=0.5)
    assert half.shares[0].up < 0.7 * found.shares[0].up  # the usual tolerances are what is drawn


def test_senseless_questions_are_named(parts):
    build, year, old = parts
    for words, said in (({"year": 90}, "year: 90 is outside 0 to 40"), ({"taste": -1.0}, "taste: -1 mm")):
        with pytest.raises(ClimateError, match=said):
            travel_budget(DESIGN, build=build, seasons=year, ageing=old, **words)
    assert Share("x", np.array([0.1]), np.array([-0.1])).down == 0.0
