"""Set-up: the turns found against every setting of the lattice, what must hold whatever the spreads, clear refusals."""

import numpy as np
import pytest

import lutherie_geom as lg
from lutherie_geom.design.limits import Limits, Window
from lutherie_geom.joint.dimensions import PER_STRING
from lutherie_geom.joint.many import many
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.strings import action, edge_margin
from lutherie_geom.joint.travel import travel
from lutherie_geom.studies.setup import ENOUGH, best_turns, limits_of, set_up

FIELDS = {"alpha": 0.002, "z_joint": 0.1, "x_p": 0.15, "z_p": 0.15, "spacing": 0.1, "x_head": 0.15, "z_head": 0.15,
          "x_receiver": 0.1, "z_receiver": 0.15, "gap_joint": 0.1, "floor_clearance": 0.1, "pocket": 0.1, "joint_fret_x": 0.1,
          "h_nut": 0.02, "h_saddle": 0.05, "relief": 0.02, "x_apex": 3.0, "width_last": 0.2}


def built(name, n, seed=3, much=1.0):
    """n instruments about a demo design, the bridge off to a side, and where their screws stand [turn]."""
    rng = np.random.default_rng(seed)
    design = lg.load(name)
    d = design.dimensions()

    def about(v, sd):
        v = np.asarray(v, dtype=float)
        return v[..., None] + much * sd * rng.standard_normal((*v.shape, n))

    new = {k: about(getattr(d, k), sd) for k, sd in FIELDS.items()}
    new["y_saddle"] = np.asarray(d.y_saddle)[:, None] + much * 0.4 * rng.standard_normal(n)
    start = {k: much * w * rng.uniform(-1, 1, n) for k, w in (("tilt", 0.1), ("bass", 0.06), ("treble", 0.06))}
    return design, d.replaced(**new), start


def one(d, i):
    return d.replaced(**{k: v[..., i] for k, v in vars(d).items() if isinstance(v, np.ndarray) and v.ndim > (k in PER_STRING)})


def settings(design, step, start, reach=0.5, wide=2.0):
    """Every setting within the screws' own stops, as turns (3, settings), from where the screws stand."""
    steps = np.arange(-round(reach / step), round(reach / step) + 1)
    tilts = np.arange(-round(wide / step), round(wide / step) + 1)
    t, b, r = (v.ravel() for v in np.meshgrid(tilts, steps, steps, indexing="ij"))
    turns = np.array(start)[:, None] + step * np.stack([t, b, r])
    ends = [s.turn for s in travel(design).stops if s.name in ("screw bottoms", "thread", "washer spring") and s.turn is not None]
    low, high = max((e for e in ends if e < 0), default=-12), min((e for e in ends if e > 0), default=12)
    return turns[:, (turns[0] >= low) & (turns[0] <= high)]


def by_trying(design, limits, dims, start, step=1 / 16):
    """Least objective over every setting, and whether an instrument can pass: written from the definition, not from the code."""
    r = many(dims, *settings(design, step, start), frets=(1, limits.fret, dims.last_fret))
    f = np.max([np.abs(v - w.target) / w.half for v, w in (
        (r.action[0, 1], limits.action_bass), (r.action[-1, 1], limits.action_treble),
        ((r.margin[0] - r.margin[1]) / 2, limits.centring))], axis=0)
    stops = (r.least_gap >= 0) & (r.reveal >= 0) & (r.floor >= 0) & (r.action[:, 0] >= 0).all(axis=0)
    passing = stops & (f <= 1) & (r.least_gap >= limits.least_gap) & (r.reveal >= limits.least_reveal) & (
        r.floor >= limits.least_floor) & (r.margin >= limits.least_margin).all(axis=0)
    among = passing if passing.any() else stops
    return (f[among].min() if among.any() else np.inf), bool(passing.any())


@pytest.mark.parametrize(("name", "n", "much"), [("slack_water", 200, 1.0), ("long_reach", 30, 1.0), ("cross_tide", 30, 2.0),
                                                ("flat_calm", 20, 0.3), ("spring_tide", 40, 1.0)])
def test_within_one_per_cent_of_trying_every_setting(name, n, much):
    design, d, start = built(name, n, much=much)
    plan = set_up(design)
    found = best_turns(plan, d, **start)
    worst = 0.0
    for i in range(n):
        least, can = by_trying(design, plan.limits, one(d, i), [start[k][i] for k in ("tilt", "bass", "treble")])
        assert found.passes[i] == can, i
        assert found.feasible[i] == np.isfinite(least), i
        if np.isfinite(least):
            assert found.objective[i] >= least * (1 - 1e-9)
            worst = max(worst, found.objective[i] / least)
    assert worst <= 1.01


def test_narrow_windows_and_few_that_pass():
    """Windows that are narrow and uneven, and limits on the gap that lie in the middle of the instruments."""
    design, d, start = built("slack_water", 40, much=1.0)
    own = limits_of(design)
    limits = own.model_copy(update={
        "action_bass": Window(low=own.action_bass.low + 0.2, high=own.action_bass.high - 0.2),
        "action_treble": Window(low=own.action_treble.low, high=own.action_treble.high - 0.3), "least_gap": 1.15,
        "centring": Window(low=-2.0, high=2.0)})
    found = best_turns(set_up(design, limits=limits), d, **start)
    tried = [by_trying(design, limits, one(d, i), [start[k][i] for k in ("tilt", "bass", "treble")]) for i in range(40)]
    assert list(found.passes) == [can for _, can in tried] and 0 < found.passes.sum() < 40
    assert np.all(found.objective <= 1.01 * np.array([f for f, _ in tried]))


def test_turns_are_steps_within_all_stops_and_readings_are_true():
    design, d, start = built("long_reach", 500)
    plan = set_up(design)
    found = best_turns(plan, d, **start)
    turns = np.stack([found.tilt, found.bass, found.treble])
    off = np.stack([start[k] for k in ("tilt", "bass", "treble")])
    np.testing.assert_allclose((turns - off) * 16, np.rint((turns - off) * 16), atol=1e-9)
    assert np.all(np.abs(turns[1:] - off[1:]) <= 0.5 + 1e-12)
    assert found.feasible.all() and np.all(turns[0] >= plan.tilt[0]) and np.all(turns[0] <= plan.tilt[1])
    p = pose(d, tilt=found.tilt, bass=found.bass, treble=found.treble)
    np.testing.assert_allclose(found.after.action, action(p, plan.frets), atol=1e-11)
    np.testing.assert_allclose(found.after.margin, [m[0] for m in edge_margin(p, d.last_fret)], atol=1e-11)
    assert min(found.after.least_gap.min(), found.after.floor.min(), found.after.reveal.min()) >= 0


def test_who_passes_as_it_comes_passes_when_set_up():
    design, d, start = built("slack_water", 3000, much=0.5)
    plan = set_up(design)
    found = best_turns(plan, d, **start)
    as_it_comes = (plan.rooms(found.before, True).min(axis=0) >= 0) & (plan.objective(found.before) <= 1)
    assert 0.02 < as_it_comes.mean() < 0.98
    assert np.all(found.passes[as_it_comes])
    assert np.all(found.objective[as_it_comes] <= plan.objective(found.before)[as_it_comes] * 1.01)


@pytest.mark.parametrize("name", ["slack_water", "cross_tide"])
def test_an_instrument_on_target_is_left_alone(name):
    design = lg.load(name)
    d = design.dimensions()
    middle = float(many(d).centring[0])
    limits = limits_of(design).model_copy(update={"centring": Window(low=middle - 0.5, high=middle + 0.5)})
    found = best_turns(set_up(design, limits=limits), d)
    assert (found.tilt[0], found.bass[0], found.treble[0]) == (0, 0, 0) and found.objective[0] < 1e-9 and found.passes[0]


def test_the_mirrored_instrument_is_set_up_as_well():
    design, d, start = built("slack_water", 300)
    limits = limits_of(design)
    swapped = limits.model_copy(update={"action_bass": limits.action_treble, "action_treble": limits.action_bass})
    mirror = d.replaced(**{k: -getattr(d, k)[::-1] for k in ("y_nut", "y_saddle")},
                        **{k: getattr(d, k)[::-1] for k in ("h_nut", "x_saddle", "h_saddle")})
    found = best_turns(set_up(design, limits=limits), d, **start)
    other = best_turns(set_up(design, limits=swapped), mirror, tilt=start["tilt"], bass=start["treble"], treble=start["bass"])
    np.testing.assert_allclose(other.objective, found.objective, rtol=0.01)
    same = (other.bass == found.treble) & (other.treble == found.bass) & (other.tilt == found.tilt)
    assert same.mean() > 0.9  # the rest found a neighbour that is as good within a per cent


def test_a_finer_step_never_does_worse():
    design, d, start = built("slack_water", 400)
    objective = [best_turns(set_up(design, step=s), d, **start).objective for s in (1 / 8, 1 / 16, 1 / 48)]
    assert np.all(objective[1] <= objective[0] * 1.01) and np.all(objective[2] <= objective[1] * 1.01)


@pytest.mark.parametrize("step", [1 / 16, 1 / 64])
def test_near_enough_leaves_the_pivot_screws(step):
    """The objective gives away no more than was allowed, against trying every setting; both pivot screws go far less far."""
    design, d, start = built("slack_water", 200)
    exact, near = (best_turns(set_up(design, step=step, enough=e), d, **start) for e in (0.0, ENOUGH))
    assert np.array_equal(exact.passes, near.passes) and near.feasible.all()
    assert np.all(near.objective <= (exact.objective + ENOUGH) * 1.01)
    out = [np.abs(b.bass - start["bass"] + b.treble - start["treble"]) / 2 for b in (exact, near)]
    assert out[1].mean() < 0.35 * out[0].mean() and np.median(out[1]) <= step / 2 + 1e-9
    if step == 1 / 16:
        limits = limits_of(design)
        for i in range(20):
            least, _ = by_trying(design, limits, one(d, i), [start[k][i] for k in ("tilt", "bass", "treble")])
            assert near.objective[i] <= (least + ENOUGH) * 1.01


def test_a_longer_reach_never_does_worse():
    design, d, start = built("slack_water", 200)
    near, far = (best_turns(set_up(design, reach=r), d, **start) for r in (0.25, 0.5))
    assert np.all(far.objective <= near.objective * 1.01)


def test_what_has_no_setting_is_said():
    design = lg.load("slack_water")
    d = design.dimensions().replaced(pocket=np.array([design.pocket.depth, 0.5]))
    found = best_turns(set_up(design), d)
    assert list(found.feasible) == [True, False] and list(found.passes) == [True, False]
    assert np.isnan(found.tilt[1]) and np.isnan(found.after.least_gap[1]) and np.isinf(found.objective[1])
    assert "1 have no setting" in str(found)


def test_back_ends_agree_and_chunks_change_nothing(monkeypatch):
    from lutherie_geom.studies import setup

    design, d, start = built("slack_water", 700)
    plan = set_up(design)
    whole = best_turns(plan, d, **start)
    monkeypatch.setattr(setup, "CHUNK", 128)
    parts = best_turns(plan, d, **start)
    for name in ("tilt", "bass", "treble", "objective", "passes"):
        assert np.array_equal(getattr(whole, name), getattr(parts, name)), name
    pytest.importorskip("numba")
    np.testing.assert_allclose(best_turns(plan, d, **start, backend="compiled").objective, whole.objective, rtol=0.01)


def test_windows_left_out_are_the_designs_own():
    limits = limits_of(lg.load("slack_water"))
    own = action(pose(lg.load("slack_water").dimensions()), 12)[:, 0]
    assert limits.action_bass.target == pytest.approx(own[0]) and limits.action_treble.half == pytest.approx(0.25)


def test_bad_input_is_refused():
    design = lg.load("slack_water")
    for step in (0, -0.1, 2, float("nan"), True):
        with pytest.raises(ValueError, match=r"step is .* turn: give"):
            set_up(design, step=step)
    with pytest.raises(ValueError, match="reach is 9 turn"):
        set_up(design, reach=9)
    for enough in (-0.1, 2, float("nan"), True):
        with pytest.raises(ValueError, match=r"enough is .* half-windows: give"):
            set_up(design, enough=enough)
    with pytest.raises(ValueError, match=r"limits.action_bass is not given"):
        set_up(design, limits=Limits())
    crossed = limits_of(design).model_copy(update={"centring": Window(low=1.0, high=-1.0)})
    with pytest.raises(ValueError, match=r"limits\.centring is 1 to -1 mm"):
        set_up(design, limits=crossed)
    with pytest.raises(ValueError, match="the board has 20 frets"):
        limits_of(design.model_copy(update={"limits": Limits(fret=24)}))


@pytest.mark.parametrize(("name", "twist"), [("slack_water", 0.76), ("flat_calm", 0.8), ("cross_tide", -1.0)])
def test_pivot_screws_that_must_stand_leave_the_tilt_screw_to_do_what_it_can(name, twist):
    """A twist that steering would mend, without leave to steer: the best is where bass and treble are off alike, by trying."""
    design = lg.load(name)
    d = design.dimensions()
    lean = np.linspace(1, -1, d.strings) * twist
    dims = d.replaced(h_saddle=(np.asarray(d.h_saddle) + 2.0 * lean)[:, None])
    for reach in (0.0, 1 / 8):
        found = best_turns(set_up(design, step=1 / 24, reach=reach), dims)
        assert found.feasible.all() and abs(float(found.bass[0])) <= reach and abs(float(found.treble[0])) <= reach
    alone = best_turns(set_up(design, step=1 / 24, reach=0.0), dims)
    turns = np.arange(-10, 11) / 24
    off = action(pose(dims.replaced(h_saddle=np.asarray(dims.h_saddle)[:, 0]), tilt=turns), 12)[[0, -1], 0]
    worst = np.abs(off - np.array([[(w.low + w.high) / 2] for w in (
        limits_of(design).action_bass, limits_of(design).action_treble)])).max(axis=0)
    assert float(alone.tilt[0]) == pytest.approx(turns[worst.argmin()])
