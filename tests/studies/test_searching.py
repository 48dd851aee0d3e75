"""The search: its front against brute force, closed forms and another optimiser; its slopes against differences. mm, N, turns."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import differential_evolution

import lutherie_geom as lg
from lutherie_geom.design.possible import problems_of
from lutherie_geom.joint.coupling import coupling
from lutherie_geom.joint.inside import inside_readings
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.strings import action, open_length
from lutherie_geom.joint.travel import travel
from lutherie_geom.mechanics.no_lift import bounds
from lutherie_geom.mechanics.pull import string_pull
from lutherie_geom.mechanics.statics import balance, joint_of, load_wrenches
from lutherie_geom.studies.search_aims import AIMS, aim_slopes, aims_of, read_aims
from lutherie_geom.studies.search_space import FREE, drawn, possible, present, spaces, spread_over
from lutherie_geom.studies.search_travel import travel_ends
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
    """Coupling x step hardly depends on the tilt screw's pitch: a hyperbola, all of it front, no fair winner."""
    s = search(GUITAR, ["pitch_tilt"], ["step", "coupled"], samples=256, rounds=1)
    product = s.readings[0] * s.readings[1]
    assert s.values.shape[1] == s.looked[0]
    np.testing.assert_allclose(product, product[0], rtol=3e-4)
    # A level screw: the tilt screw brings all of its pitch, a pivot screw half of its own, and what it turns the neck besides.
    own = pose(GUITAR.dimensions(), tilt=1 / 16)
    tilted = (action(own, 12) - action(pose(GUITAR.dimensions()), 12))[[0, -1], 0]
    turned = [(action(pose(GUITAR.dimensions(), **{k: 1 / 16}), 12) - action(pose(GUITAR.dimensions()), 12))[[0, -1], 0]
              for k in ("bass", "treble")]
    worst = np.abs(turned / tilted).max()
    assert worst > 1.15 * GUITAR.pivot.pitch / 2 / GUITAR.tilt_screw.pitch
    np.testing.assert_allclose(s.readings[1], worst * GUITAR.tilt_screw.pitch / s.values[0], rtol=5e-3)
    seen = s.coupling(s.values)
    np.testing.assert_allclose(seen.other / seen.own, s.readings[1])
    np.testing.assert_allclose(seen.other, seen.other[0], rtol=1e-9)  # the pivot screws don't know the tilt screw's pitch
    assert s.on_front


def test_a_steering_turn_is_not_free_string_by_string() -> None:
    """What the mean hides: it knows nothing of the spacing, a string does, as one over it."""
    free, d = spaces(["spacing"]), GUITAR.dimensions()
    apart = np.array([24.0, 36.0, 46.0])
    read = read_aims(GUITAR, spread_over(d, free, apart[None]), aims_of(["coupled"]))[0]
    over = (read - d.pitch_pivot / 2 / d.pitch_tilt) * apart
    np.testing.assert_allclose(over, over.mean(), rtol=0.02)
    assert over.mean() > 3
    assert aim_slopes(GUITAR, free, aims_of(["coupled"]))[0, 0] < -1e-3


def test_front_is_not_dominated_and_can_be_built(found: Search) -> None:
    costs = found.signs[:, None] * found.readings
    for k in range(0, costs.shape[1], 7):
        off = costs - costs[:, k:k + 1]
        assert not np.any(np.all(off <= 0, axis=0) & np.any(off < 0, axis=0))
    for k in range(0, costs.shape[1], 31):
        design = found.design_at(k)
        assert not problems_of(design)
        assert [r.key for r in inside_readings(design, travel(design)) if r.verdict and not r.verdict.ok] == []
        alone = read_aims(design, spread_over(design.dimensions(), found.free, present(found.free, design.dimensions())[:, None]))
        np.testing.assert_allclose(alone[:, 0], found.readings[:, k], rtol=1e-6, atol=1e-9)


@pytest.mark.parametrize("name", ["slack_water", "cross_tide", "long_reach"])
def test_room_in_a_batch_is_the_room_of_each_design(name: str) -> None:
    """Rods along the heel too, some of which serve both screws; failing readings of the design as it stands excuse as much."""
    design = lg.load(name)
    free, rest = spaces(None), SimpleNamespace(low=0.0, high=0.0)
    low, high = np.array([[f.low, f.high] for f in free]).T[:, :, None]
    values = low + (high - low) * np.random.default_rng(5).random((len(free), 40))

    def margins(made: Any) -> dict[str, float]:
        return {r.key: r.verdict.margin for r in inside_readings(made, rest) if r.verdict and r.key != "inside.tongue_wood"}

    now, by_hand = margins(design), []
    for v in values.T:
        made = drawn(design, free, v)
        by_hand.append(not problems_of(made) and all(m >= min(0, now.get(k, 0)) - 1e-9 for k, m in margins(made).items()))
    np.testing.assert_array_equal(possible(design, free, values, at_rest=True), by_hand)
    assert 0 < sum(by_hand) < len(by_hand)


def test_no_wood_under_the_dowel_is_no_joint() -> None:
    """1 or 2.9 mm under the dowel: the rules of the file let it pass, the wood does not; what is short as drawn may stay so."""
    t, free = GUITAR.tilt_screw, spaces(["arm"])
    block = GUITAR.block.model_copy(update={"foot_z": GUITAR.block.foot_z - 20})
    for under in (4.0, 2.0):
        heel = GUITAR.heel.model_copy(update={"foot_z": t.receiver_z - t.receiver_diameter / 2 - under})
        base = GUITAR.model_copy(update={"heel": heel, "block": block})
        wood = np.array([1.0, 1.9, 2.1, 2.9, 3.1])
        arms = present(free, base.dimensions())[:, None] + under - wood
        assert not any(problems_of(drawn(base, free, v)) for v in arms.T)
        np.testing.assert_array_equal(possible(base, free, arms), wood > min(under, 3.0))


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
        if not possible(GUITAR, free, x[:, None], at_rest=True)[0]:
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
    # The travel's gap is least on a grid; under load another push or side of a seat may come to ask most within the step.
    room = np.array([{"travel": 0.003, "clamp": 0.02, "seats": 0.02}.get(a.key, 1e-4) for a in AIMS])[:, None]
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
    joint = joint_of(design)
    loads = [string_pull(design).wrench, *load_wrenches(design, design.pose())]
    assert read["clamp"] == pytest.approx(max(_least_clamp(joint, w) for w in loads), rel=2e-4)
    assert read["seats"] == pytest.approx(max(abs(v) for w in loads for v in balance(joint, w).seat_push))
    own, *others = ((action(pose(d, **{k: 1 / 16}), 12) - action(pose(d), 12))[[0, -1], 0] for k in ("tilt", "bass", "treble"))
    assert read["coupled"] == pytest.approx(np.abs(others / own).max(), rel=1e-6)


def _least_clamp(joint: Any, wrench: np.ndarray) -> float:
    """Least clamp force [N] that keeps both balls down, by bisection over linear programs (bounds have none where one lifts)."""
    def holds(force: float) -> bool:
        return bool(np.isfinite(bounds(joint, wrench, (force, force))[0].low))

    low, high = 0.0, 20000.0
    if holds(low) or not holds(high):
        return 0.0 if holds(low) else np.inf
    while high - low > 1e-4 * high:
        low, high = (low, (low + high) / 2) if holds((low + high) / 2) else ((low + high) / 2, high)
    return high


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
    for bad, words in (({"free": ["colour"]}, "free has no key 'colour'"), ({"aims": ["beauty"]}, "aims has no key 'beauty'"),
                       ({"aims": []}, "at least one"), ({"samples": 3}, "samples is 3: give a whole number from 16 to"),
                       ({"weights": {"step": -1}}, "is -1: give a number from 0 up"), ({"weights": {"tone": 1}}, "no aim 'tone'"),
                       ({"rounds": 99}, "rounds is 99: give a whole number from 0 to 20"),
                       ({"samples": 3700.0}, "samples is 3700.0: give a whole number from 16"),
                       ({"samples": "a"}, "samples is 'a'"), ({"seed": -1}, "seed is -1: give a whole number from 0"),
                       ({"free": "height"}, "free is 'height': give a list of keys, of height, "),
                       ({"aims": [3]}, "aims has no key 3; there are step, "),
                       ({"weights": {"force": "x"}}, r"weights\['force'\] is 'x': give a number from 0"),
                       ({"weights": 2}, "weights is 2: give numbers by the key"),
                       ({"free": ["arm", "arm"]}, "name each once")):
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
    for bad in (0, "a"):
        with pytest.raises(ValueError, match=r"give a number from 0\.01 to 1 mm"):
            wishes(design, bad)
