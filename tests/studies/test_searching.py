"""The search: its front against brute force, closed forms and another optimiser; its slopes against differences. mm, N, turns."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import differential_evolution

import lutherie_geom as lg
from lutherie_geom.design.possible import problems_of
from lutherie_geom.joint.coupling import coupling
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.strings import action, open_length
from lutherie_geom.joint.travel import travel
from lutherie_geom.studies.search_aims import AIMS, aim_slopes, aims_of, read_aims, travel_ends
from lutherie_geom.studies.search_space import FREE, drawn, possible, present, spaces, spread_over
from lutherie_geom.studies.searching import Search, non_dominated, search
from lutherie_geom.studies.wishes import wishes

GUITAR = lg.load("slack_water")


@pytest.fixture(scope="module")
def found() -> Search:
    return search(GUITAR, samples=1024, rounds=3)


@given(st.integers(0, 10**6), st.integers(1, 4), st.integers(1, 700))
@settings(max_examples=40, deadline=None)
def test_front_against_the_definition(seed: int, aims: int, n: int) -> None:
    """Few distinct values, so that ties and equal points come up; several blocks' worth of points."""
    costs = np.random.default_rng(seed).integers(0, 12, (aims, n)).astype(float)
    costs[0, ::17] = np.nan
    kept = non_dominated(costs)
    rng = np.random.default_rng(seed + 1)
    for k in rng.integers(0, n, 25):
        mine = costs[:, k]
        beaten = np.isnan(mine).any() or any(np.all(o <= mine) and np.any(o < mine) for o in costs.T)
        assert kept[k] == (not beaten)


def test_front_of_two_parabolas() -> None:
    """x² and (x - 2)²: everything from 0 to 2 is a fair trade, and nothing else."""
    x = np.linspace(-3, 5, 1601)
    kept = x[non_dominated(np.stack([x**2, (x - 2) ** 2]))]
    np.testing.assert_allclose([kept.min(), kept.max(), len(kept)], [0, 2, 401], atol=1e-9)


def test_two_aims_that_a_pitch_trades_exactly() -> None:
    """Coupling x step does not depend on the tilt screw's pitch: a hyperbola, all of it front, no fair winner."""
    s = search(GUITAR, ["pitch_tilt"], ["step", "coupled"], samples=256, rounds=1)
    product = s.readings[0] * s.readings[1]
    assert s.values.shape[1] == s.looked[0]
    np.testing.assert_allclose(product, product[0], rtol=3e-4)
    # A level screw: the pivot screw brings half its pitch, the tilt screw all of its own.
    np.testing.assert_allclose(s.readings[1], GUITAR.pivot.pitch / 2 / s.values[0], rtol=5e-3)
    assert s.on_front


def test_front_is_not_dominated_and_can_be_built(found: Search) -> None:
    costs = found.signs[:, None] * found.readings
    for k in range(0, costs.shape[1], 7):
        off = costs - costs[:, k:k + 1]
        assert not np.any(np.all(off <= 0, axis=0) & np.any(off < 0, axis=0))
    for k in range(0, costs.shape[1], 31):
        design = found.design_at(k)
        assert not problems_of(design)
        alone = read_aims(design, spread_over(design.dimensions(), found.free, present(found.free, design.dimensions())[:, None]))
        np.testing.assert_allclose(alone[:, 0], found.readings[:, k], rtol=1e-6, atol=1e-9)


def test_brute_force_over_a_small_box() -> None:
    """Two free dimensions on a grid, every point read and compared: the search reaches what the grid reaches."""
    keys, aims = ["arm", "gap"], aims_of(["force", "travel", "gap"])
    free = spaces(keys)
    axes = [np.linspace(f.low, f.high, 41) for f in free]
    grid = np.array(np.meshgrid(*axes)).reshape(2, -1)
    grid = grid[:, possible(GUITAR, free, grid)]
    readings = read_aims(GUITAR, spread_over(GUITAR.dimensions(), free, grid), aims)
    signs = np.array([[a.sign] for a in aims])
    brute = readings[:, non_dominated(signs * readings)]
    s = search(GUITAR, keys, [a.key for a in aims], samples=2048, rounds=5)
    size = np.ptp(readings, axis=1)[:, None]
    behind = [(signs * (s.readings - point[:, None]) / size).max(axis=0).min() for point in brute.T]
    assert max(behind) < 0.01  # for each point of the grid's front one at most a hundredth of the box's spread behind in any aim


def test_best_alone_against_another_optimiser(found: Search) -> None:
    """Least force in the tilt screw, by differential evolution on the same rules."""
    free, aims = spaces(None), aims_of(["force"])

    def cost(x: np.ndarray) -> float:
        if not possible(GUITAR, free, x[:, None])[0]:
            return 1e6
        return float(read_aims(GUITAR, spread_over(GUITAR.dimensions(), free, x[:, None]), aims)[0, 0])

    least = differential_evolution(cost, [(f.low, f.high) for f in free], maxiter=12, popsize=6, seed=3, polish=False).fun
    place = [a.key for a in found.aims].index("force")
    assert found.best[place] < 1.06 * least


@pytest.mark.parametrize("name", ["slack_water", "cross_tide", "spring_tide", "long_reach"])
def test_slopes_against_differences(name: str) -> None:
    design = lg.load(name)
    free, d = spaces(None), design.dimensions()
    x = present(free, d)
    h = 1e-3 * np.array([f.high - f.low for f in free])
    values = np.concatenate([x[:, None] + np.diag(h), x[:, None] - np.diag(h)], axis=1)
    read = read_aims(design, spread_over(d, free, values))
    by_difference = (read[:, :len(free)] - read[:, len(free):]) / (2 * h)
    room = np.array([0.003 if a.key == "travel" else 1e-4 for a in AIMS])[:, None]  # the gap's grid moves its least point
    exact = aim_slopes(design, free)
    assert np.all(np.abs(exact - by_difference) <= room * (1 + np.abs(exact)))


@pytest.mark.parametrize("name", ["slack_water", "cross_tide", "spring_tide", "flat_calm"])
def test_readings_are_those_of_the_joint_itself(name: str) -> None:
    design = lg.load(name)
    d, free = design.dimensions(), spaces(None)
    read = dict(zip((a.key for a in AIMS), read_aims(design, spread_over(d, free, present(free, d)[:, None]))[:, 0], strict=True))
    ends, whole = travel_ends(design, spread_over(d, free, present(free, d)[:, None])), travel(design)
    assert ends.turns[:, 0] == pytest.approx((whole.low, whole.high), abs=1e-3)
    c = coupling(pose(d))
    assert read["step"] == pytest.approx(c.seen[:2, 0].mean() / 16, rel=5e-3)
    assert read["steer"] == pytest.approx(abs(c.seen[2, 1]) / 16, rel=5e-3)
    assert read["force"] == pytest.approx(lg.read(design)["pitch.screw_force"].value, rel=1e-9)


def test_where_the_present_design_stands_and_what_to_change(found: Search) -> None:
    words = str(found)
    assert "First: " in words and "compromise" in words
    best = found.changes[0]
    assert all(best.merit >= c.merit for c in found.changes)
    # The change said to be first does what is said: read the changed design.
    k = found.free.index(best.free)
    moved = found.start.copy()
    moved[k] = best.to
    changed = drawn(GUITAR, found.free, moved).dimensions()
    now = read_aims(GUITAR, spread_over(changed, found.free, present(found.free, changed)[:, None]))[:, 0]
    np.testing.assert_allclose(now - found.now, found.slopes[:, k] * (best.to - best.start), rtol=0.1, atol=1e-4)
    if not found.on_front:
        gain = found.lost(found.now) - found.lost(found.readings[:, found.free_gain])
        assert gain.min() >= -1e-9 and gain.max() > 0
    assert np.max(found.lost(found.readings[:, found.compromise])) < 1


def test_what_the_search_refuses() -> None:
    for bad, words in (({"free": ["colour"]}, "no dimension 'colour'"), ({"aims": ["beauty"]}, "no aim 'beauty'"),
                       ({"aims": []}, "at least one"), ({"samples": 3}, "allowed is 16 to"),
                       ({"weights": {"step": -1}}, "allowed is 0 and more"), ({"weights": {"tone": 1}}, "no aim 'tone'"),
                       ({"rounds": 99}, "allowed is 0 to 20")):
        with pytest.raises(ValueError, match=words):
            search(GUITAR, **bad)
    with pytest.raises(ValueError, match="give"):
        non_dominated(np.zeros(3))
    assert len(spaces(None)) == len(FREE)


@pytest.mark.parametrize("name", ["slack_water", "cross_tide", "long_reach"])
def test_wishes_come_true_when_drawn(name: str) -> None:
    """Each answer put into the design, and the design read by its own functions."""
    design = lg.load(name)
    w, d = wishes(design, 0.12), design.dimensions()
    finer = d.replaced(pitch_tilt=w.pitch)
    longer = d.replaced(z_head=d.z_p - w.arm, z_receiver=d.z_p - w.arm)
    for made in (finer, longer):
        assert float((action(pose(made, tilt=1 / 16), 12) - action(pose(made), 12)).mean()) == pytest.approx(0.12, rel=0.01)
    assert abs(float(pose(d.replaced(x_p=w.plain_depth), bass=0.5, treble=-0.5).theta)) < 1e-15
    high = d.replaced(z_p=w.still_height, z_head=w.still_height - 60, z_receiver=w.still_height - 60)
    change = (open_length(pose(high, tilt=0.1)) - open_length(pose(high, tilt=-0.1))).mean()
    assert abs(float(change)) < 0.02 * abs(float((open_length(pose(d, tilt=0.1)) - open_length(pose(d, tilt=-0.1))).mean()))
    assert (w.still_depth > float(d.x_head)) == (d.receiver == "dowel across") and "exact answer" in str(w)
    with pytest.raises(ValueError, match="allowed is 0"):
        wishes(design, 0)
