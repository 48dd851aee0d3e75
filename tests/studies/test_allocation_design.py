"""Allocation of a design: linear programs and the whole joint, built and set up, against the straight line."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import linprog

from lutherie_geom import load
from lutherie_geom.design.catalogue import CatalogueError
from lutherie_geom.design.processes import Held, Process, processes
from lutherie_geom.design.spread import SpreadError
from lutherie_geom.design.tolerances import Tolerances, unit_of_field
from lutherie_geom.studies.allocation import AllocationError, Windows
from lutherie_geom.studies.allocation_design import FEATURES, after_turning, allocation_for, judge_for, problem_for
from lutherie_geom.studies.allocation_search import Sampled
from lutherie_geom.studies.setup import limits_of

DESIGN = load(Path(__file__).parents[2] / "data" / "designs" / "slack_water.toml")
TIGHT = limits_of(DESIGN).model_copy(update=dict(least_gap=0.8, least_floor=0.9, least_reveal=2.9))
"""Limits under which it matters who makes what."""


@pytest.mark.parametrize("seed", range(4))
def test_what_no_turning_mends_against_a_linear_program(seed):
    rng = np.random.default_rng(seed)
    slopes, turns = rng.normal(size=(5, 3)), rng.normal(size=(5, 2))
    low, high = -rng.uniform(0.3, 1, 5), rng.uniform(0.3, 1, 5)
    low[1], high[2] = -np.inf, np.inf
    windows = Windows(tuple("abcde"), np.full(5, 0.1), low + 0.1, high + 0.1)
    g, conditions = after_turning(slopes, turns, windows)
    assert np.all(conditions.high == 1) and np.all(np.isinf(conditions.low))
    errors = rng.uniform(0.1, 2, 200) * rng.normal(size=(3, 200))
    held = (g @ errors <= 1).all(axis=0)
    for x, mended in zip(errors.T, held, strict=True):
        moved = slopes @ x
        sides = [(turns[k], high[k] - moved[k]) for k in range(5) if np.isfinite(high[k])]
        sides += [(-turns[k], moved[k] - low[k]) for k in range(5) if np.isfinite(low[k])]
        a, b = map(np.array, zip(*sides, strict=True))
        assert mended == (linprog([0, 0], a, b, bounds=(None, None)).status == 0)
    assert 0.05 < held.mean() < 0.95


def test_without_a_screw_every_limit_is_its_own_condition():
    windows = Windows(("a", "b"), np.zeros(2), np.array([-1.0, -2.0]), np.array([1.0, np.inf]))
    g, conditions = after_turning(np.eye(2), np.zeros((2, 0)), windows)
    assert conditions.names == ("a too high", "a too low", "b too low")
    assert np.allclose(g, [[1, 0], [-1, 0], [0, -0.5]])


def random_sets(problem, count, seed=1):
    rng = np.random.default_rng(seed)
    yield tuple(int(np.argmin([c.cost for c in o])) for o in problem.options)
    for _ in range(count):
        yield tuple(int(rng.integers(len(o))) for o in problem.options)


@pytest.mark.parametrize("set_up, room", [(False, 0.03), (True, 0.1)])
def test_straight_line_against_the_whole_joint(set_up, room):
    """After set-up the straight line knows no steps of a screw and no stop: it is off by more, and too kind."""
    limits = TIGHT if set_up else limits_of(DESIGN).model_copy(update={
        k: replace_window(getattr(limits_of(DESIGN), k), 3) for k in ("action_bass", "action_treble")})
    p = problem_for(DESIGN, limits=limits, set_up=set_up, samples=2**12)
    judge, s = judge_for(DESIGN, limits=limits, set_up=set_up, samples=2**10), Sampled(p)
    for chosen in random_sets(p, 3):
        straight = s.share(chosen)
        full = judge(tuple(o[k].spread for o, k in zip(p.options, chosen, strict=True)))
        assert full == pytest.approx(straight, abs=room)


def replace_window(window, wider):
    return type(window)(low=window.target - wider * window.half, high=window.target + wider * window.half)


def test_slack_water_with_and_without_set_up():
    a = allocation_for(DESIGN, 0.9, limits=TIGHT, samples=2**10, tries=5)
    assert a.full >= 0.9 and len(a.rows) == len(DESIGN.tolerances.spreads) and a.cost_unit == "min"
    other = judge_for(DESIGN, limits=TIGHT, samples=2**11, seed=9)  # other instruments
    assert other(a.spreads) == pytest.approx(a.full, abs=0.03)
    dearest = sum(max(c.cost for c in o) for o in problem_for(DESIGN, samples=256).options)
    cheapest = sum(min(c.cost for c in o) for o in problem_for(DESIGN, samples=256).options)
    assert cheapest < a.cost < 0.6 * dearest
    assert "Clamp the work" in str(a) and "minutes: invented for the class" in str(a)
    assert a["body.dome_radius"].process == "as in the design" and a["body.dome_radius"].cost == 0
    assert a["neck.angle"].spread.unit == "rad" and " deg" in str(a)
    # What adjustability buys: without set-up no process in the table comes near it, not even for wider limits.
    with pytest.raises(AllocationError, match="cannot be had"):
        allocation_for(DESIGN, 0.9, set_up=False, samples=2**10)


def test_every_feature_is_known_on_both_sides():
    table = processes()
    for name, feature in FEATURES.items():
        assert unit_of_field(name) is not None, name
        units = {p.holds[feature].at(10.0).unit for p in table.holding(feature)}
        assert units == {unit_of_field(name)}, name


def test_own_table_and_features():
    table = processes()
    only = replace(table, items={**table.items, "laser": Process("laser", "", {"hole depth": Held("± 0.01 mm", 3.0)})})
    p = problem_for(DESIGN, table=only, samples=256)
    assert "laser" in {c.process for c in p.options[p.names.index("pivot.x")]}
    mine = {**FEATURES, "tilt_screw.receiver_x": "hole depth"}
    p = problem_for(DESIGN, features=mine, samples=256)
    assert [c.process for c in p.options[p.names.index("tilt_screw.receiver_x")]] == ["hand tools", "drill press", "CNC"]
    with pytest.raises(AllocationError, match=r"pivot.x: hand tools holds .* it must be in mm"):
        problem_for(DESIGN, features={**FEATURES, "pivot.x": "angle"})
    with pytest.raises(CatalogueError, match="kind of feature"):
        problem_for(DESIGN, features={**FEATURES, "pivot.x": "hole colour"})


def test_no_tolerances_and_missed_limits():
    with pytest.raises(SpreadError, match="no number of the design has a tolerance"):
        problem_for(DESIGN.model_copy(update={"tolerances": Tolerances()}))
    with pytest.raises(AllocationError, match="least gap: the design itself reads"):
        problem_for(DESIGN, limits=TIGHT.model_copy(update={"least_gap": 3.0}))


def test_a_design_that_only_turning_brings_into_its_windows():
    """Action windows 0.4 mm off the design's own: refused as put together, found once the screws are turned."""
    own = limits_of(DESIGN)
    moved = own.model_copy(update={k: type(own.action_bass)(low=getattr(own, k).low + 0.4, high=getattr(own, k).high + 0.4)
                                   for k in ("action_bass", "action_treble")})
    with pytest.raises(AllocationError, match="action at the bass: the design itself reads"):
        problem_for(DESIGN, limits=moved, set_up=False)
    p = problem_for(DESIGN, limits=moved, samples=2**11)
    s, judge = Sampled(p), judge_for(DESIGN, limits=moved, samples=2**10)
    chosen = next(random_sets(p, 0))
    assert judge(tuple(o[k].spread for o, k in zip(p.options, chosen, strict=True))) == pytest.approx(s.share(chosen), abs=0.1)
