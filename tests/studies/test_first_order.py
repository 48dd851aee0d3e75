"""First order: slopes against central differences of the exact reading, sums by hand, and the warning where lines bend."""

import dataclasses

import numpy as np
import pytest
from scipy.stats import qmc

import lutherie_geom as lg
from lutherie_geom.design.tolerances import Tolerances
from lutherie_geom.joint.body import least_gap
from lutherie_geom.joint.dimensions import PER_STRING
from lutherie_geom.joint.pose import pose, turns_for_tilt
from lutherie_geom.studies.first_order import READINGS, effective_freedom, first_order, propagate
from lutherie_geom.studies.gradients import action_at, floor_least, gap_least, margin_at, reveal_least
from lutherie_geom.studies.second_order import AsBuilt, second_order
from lutherie_geom.studies.sources import SOURCES
from lutherie_geom.studies.spreads import FIELDS, Group, Spread, SpreadError, Spreads, parse_spread, unit_of

TURNS = dict(tilt=0.3, bass=0.1, treble=-0.15)
WORKSHOP = {
    "z_p": "± 0.2 mm", "x_p": "± 0.2 mm rectangular", "h_saddle": "± 0.1 mm", "h_nut": "± 0.05 mm triangular",
    "z_joint": "+0.3 mm -0.1 mm", "alpha": "± 0.05 deg", "pitch_tilt": "± 0.01 mm/turn", "z_head": "± 0.3 mm",
    "z_receiver": "± 0.3 mm", "relief": "± 0.05 mm triangular", "gap_joint": "± 0.2 mm", "foot_z": "± 0.5 mm",
    "floor_clearance": "± 0.2 mm", "pocket": "± 0.2 mm rectangular",
}


def even(numbers, samples):
    """Even numbers in 0..1, (numbers, samples), none of them 0 or 1."""
    return qmc.Sobol(numbers, scramble=False).random(samples).T + 0.5 / samples


def workshop(*groups):
    return Spreads({n: parse_spread(t, n) for n, t in WORKSHOP.items()}, groups)


def joints():
    for name in ("slack_water", "cross_tide"):  # a cross dowel and a rod along the heel
        d = lg.load(name).dimensions()
        yield name, d
        yield name + ", planed, falling away", d.replaced(hollowed=0.0, fall_away_line=0.004, fall_away_curvature=1e-4,
                                                          radius_last=500.0)
        yield name + ", board flat", d.replaced(radius_nut=np.inf, radius_last=np.inf)


@pytest.mark.parametrize(("name", "d"), list(joints()), ids=lambda v: v if isinstance(v, str) else "")
def test_slopes_are_those_of_the_exact_reading(name, d):
    """Every dimension, every reading; the differences are only in the test."""
    p = pose(d, **TURNS)
    steps = {"curvature": 1e-8, "fall_away_curvature": 1e-8, "alpha": 1e-6}
    for e in (action_at(0), action_at(-1), action_at(2, 1), action_at(-1, 18), action_at(0, None), gap_least, floor_least,
              reveal_least, margin_at(0), margin_at(-1), margin_at(-1, 9)):
        slopes = e.slopes(p)
        for turn in TURNS:
            up, down = (e.value(pose(d, **(TURNS | {turn: TURNS[turn] + h}))) for h in (1e-4, -1e-4))
            assert float(slopes[turn]) == pytest.approx((up - down) / 2e-4, rel=1e-4, abs=2e-5), (e.key, turn)
        for field in FIELDS:
            value = np.asarray(getattr(d, field), dtype=float)
            if not np.all(np.isfinite(value)):
                continue
            h = steps.get(field, 1e-4 * max(1.0, float(np.abs(value).max()) / 10))
            for i in range(d.strings) if field in PER_STRING else [None]:
                step = np.array([h, -h]) if i is None else np.eye(d.strings)[i][:, None] * [h, -h]
                base = value[:, None] if field in PER_STRING else value
                up, down = np.broadcast_to(e.value(pose(d.replaced(**{field: base + step}), **TURNS)), 2)
                slope = np.asarray(slopes.get(field, 0.0))
                slope = float(slope if not slope.ndim else slope[i])
                assert slope == pytest.approx((up - down) / (2 * h), rel=1e-4, abs=2e-5), (e.key, field, i)


def test_slopes_of_a_batch_are_those_of_each_joint():
    d = lg.load("cross_tide").dimensions()
    rng = np.random.default_rng(4)
    off = {n: rng.uniform(-0.3, 0.3, 3) for n in ("z_p", "x_p", "x_head", "gap_joint", "floor_clearance", "width_last", "scale")}
    h = np.asarray(d.h_saddle)[:, None] + rng.uniform(-0.2, 0.2, (d.strings, 3))
    turns = {n: rng.uniform(-0.3, 0.3, 3) for n in TURNS}
    many = pose(d.replaced(h_saddle=h, hollowed=0.5, **{n: getattr(d, n) + v for n, v in off.items()}), **turns)
    for e in (*READINGS, margin_at(0, 3)):
        found = e.slopes(many)
        for k in range(3):
            one = e.slopes(pose(d.replaced(h_saddle=h[:, k], hollowed=0.5, **{n: getattr(d, n) + v[k] for n, v in off.items()}),
                                **{n: v[k] for n, v in turns.items()}))
            for name, slope in one.items():
                want = np.broadcast_to(found[name], (*np.shape(slope)[:1], 3)) if np.ndim(found[name]) < 2 else found[name]
                assert np.asarray(slope) == pytest.approx(want[..., k], rel=1e-9, abs=1e-12), (e.key, name)


@pytest.mark.parametrize("name", ["slack_water", "cross_tide"])
def test_slopes_to_every_source(name):
    """From design fields and bench errors to the reading, through dimensions and turns, with the joint built wrong already."""
    d = lg.load(name).dimensions()
    s = Spreads({n: Spread.plus_minus(0.1, unit=unit_of(n)) for n in (*SOURCES, "z_head", "pivot.proud")})
    variables = s.variables(d)
    size = np.array([{"body.dome_radius": 300.0, "heel.yaw": 0.003, "neck.angle": 0.003}.get(v.name, 0.1) for v in variables])
    at = np.random.default_rng(8).uniform(-1, 1, len(size)) * size
    p, h = pose(d, **TURNS), 1e-3 * size
    steps = at[:, None] + np.concatenate([np.diag(h), -np.diag(h)], axis=1)
    here, around = AsBuilt.of(p, s, at), AsBuilt.of(p, s, steps)
    for e in READINGS:
        up, down = around.value(e).reshape(2, -1)
        g = here.gradient(e)
        np.testing.assert_allclose(g * size, (up - down) / (2 * h) * size, rtol=1e-4, atol=2e-6, err_msg=e.key)
    assert s.idle == ("pivot.proud",) and "moves no reading: pivot.proud" in str(first_order(p, s, [action_at(0)]))


def test_sums_by_hand():
    d = lg.load("slack_water").dimensions()
    p = pose(d, tilt=0.3)
    found = first_order(p, workshop())
    assert [r.key for r in found] == [e.key for e in READINGS]
    for r in found:
        parts = np.array([c.part for c in r.contributions])
        assert r.standard == pytest.approx(np.sqrt((parts**2).sum()))
        assert sum(c.share for c in r.contributions) == pytest.approx(1)
        assert np.all(np.diff([c.share for c in r.contributions]) <= 1e-12)
        assert r.worst[0] <= r.nominal <= r.worst[1] and r.interval[0] < r.mean < r.interval[1]
        assert r.trustworthy and r.bend < 0.1 and abs(r.mean_shift) < 1e-3
    floor = found["heel.floor_least"]
    assert floor.nominal - floor.worst[0] == pytest.approx(sum(max(c.at_worst) for c in floor.contributions), rel=0.02)
    # A fret plane that is mostly set too high lowers the mean action by its slope times 0.1 mm.
    a = found["action.bass_12"]
    z = next(c for c in a.contributions if c.name == "z_joint")
    assert a.mean - a.nominal == pytest.approx(0.1 * z.slope)
    assert z.at_worst == pytest.approx((0.3 * z.slope, -0.1 * z.slope))
    assert next(c for c in a.contributions if c.name == "h_saddle[2]").slope == 0  # another string's saddle


def test_common_saddle_error_is_the_same_for_one_string():
    p = pose(lg.load("slack_water").dimensions())
    s = {"h_saddle": Spread.plus_minus(0.1)}
    each, common = (first_order(p, Spreads(s, common=c), [action_at(0)])["action.bass_12"] for c in
                    (frozenset(), frozenset({"h_saddle"})))
    assert each.standard == pytest.approx(common.standard) == pytest.approx(0.05 * 0.5, rel=0.02)


def test_two_holes_drilled_in_one_set_up():
    p = pose(lg.load("slack_water").dimensions(), tilt=1.0)
    s = {n: Spread.plus_minus(0.4) for n in ("z_head", "z_receiver")}
    apart = first_order(p, Spreads(s), [action_at(0)])["action.bass_12"]
    together = first_order(p, Spreads(s, (Group(tuple(s), 1.0),)), [action_at(0)])["action.bass_12"]
    assert together.standard == pytest.approx(abs(sum(c.part for c in apart.contributions)))
    assert sum(c.share for c in together.contributions) == pytest.approx(1)
    assert together.worst == pytest.approx(apart.worst)  # at worst asks for no likelihood


def test_agrees_with_drawn_joints():
    d = lg.load("slack_water").dimensions()
    spreads = workshop(Group(("z_head", "z_receiver"), 0.8))
    found = first_order(pose(d, **TURNS), spreads, [action_at(0), floor_least, reveal_least])
    u = even(len(spreads.variables(d)), 2**13)
    drawn = pose(spreads.moved(d, spreads.draw(d, u)), **TURNS)
    for e, r in zip((action_at(0), floor_least, reveal_least), found, strict=True):
        x = e.value(drawn)
        assert x.mean() == pytest.approx(r.mean, abs=0.01 * r.standard)
        assert x.std() == pytest.approx(r.standard, rel=0.01)


def rocking(off):
    """Neck driven out 0.7 turns at both pivots, the tilt screw set so that the tongue lies nearly level again: its least gap
    is at the joint or at the far end, whichever a small error of the thread makes lower."""
    d = lg.load("flat_calm").dimensions()
    level = turns_for_tilt(d, theta=0.0, advance=pose(d, bass=0.7, treble=0.7).advance)
    return pose(d, tilt=float(level) + off, bass=0.7, treble=0.7)


SCREW = Spreads({"pitch_tilt": Spread.plus_minus(0.02, unit="mm/turn"), "gap_joint": Spread.plus_minus(0.02)})


def test_a_minimum_that_switches_place_is_warned_of():
    near, far = first_order(rocking(0.002), SCREW, [gap_least]), first_order(rocking(0.3), SCREW, [gap_least])
    near, far = near["gap.least"], far["gap.least"]
    assert far.trustworthy and far.bend < 1e-3
    assert not near.trustworthy and near.bend > 0.5
    assert "pitch_tilt" in near.reason and "exact reading" in near.reason
    assert near.mean_shift < -0.005  # either way the gap only gets less
    assert "not to be trusted" in str(near)
    # The warning is right: drawn joints spread otherwise than first order says, and the ends do trade places.
    for off, agree in ((0.002, False), (0.3, True)):
        p = rocking(off)
        x = SCREW.draw(p.of, even(2, 2**12))
        drawn = least_gap(pose(SCREW.moved(p.of, x), tilt=p.tilt, bass=p.bass, treble=p.treble))
        r = first_order(p, SCREW, [gap_least])["gap.least"]
        assert (abs(drawn.gap.std() / r.standard - 1) < 0.02) == agree
        assert (np.ptp(drawn.x) == 0) == agree


def test_a_dimension_of_no_slope_may_still_bend_the_reading():
    """At the very top of the dome its place along does nothing, to first order."""
    d = lg.load("slack_water").dimensions()
    e = dataclasses.replace(gap_least, value=lambda p: (np.asarray(p.of.x_apex) - 260.0) ** 2, slopes=lambda p: {"x_apex": 0.0})
    r = first_order(pose(d), Spreads({"x_apex": Spread.plus_minus(1.0)}), [e]).items[0]
    assert r.standard == 0 and not r.trustworthy and r.mean_shift == pytest.approx(0.25)


def test_out_of_reach_within_the_spread():
    d = lg.load("slack_water").dimensions()
    r = first_order(pose(d), Spreads({"curvature": Spread.plus_minus(1e-2, unit="1/mm")}), [gap_least]).items[0]
    assert not r.trustworthy and "no exact reading" in r.reason and "curvature" in r.reason


def test_many_small_bends_add_up():
    """Each of nine dimensions bends the reading by less than a tenth of the uncertainty; the mean moves all the same."""
    names = ("x_p", "z_p", "x_head", "z_head", "x_receiver", "z_receiver", "foot_z", "pocket", "z_joint")
    d = lg.load("slack_water").dimensions()

    def value(p):
        off = [np.asarray(getattr(p.of, n)) - getattr(d, n) for n in names]
        return sum(x + 0.2 * x**2 for x in off)

    e = dataclasses.replace(gap_least, value=value, slopes=lambda p: dict.fromkeys(names, 1.0))
    r = first_order(pose(d), Spreads(dict.fromkeys(names, Spread.sd(1.0))), [e]).items[0]
    assert r.mean_shift == pytest.approx(9 * 0.2) and "second-order" in r.reason


def test_nothing_varies():
    r = first_order(pose(lg.load("slack_water").dimensions()), Spreads({"z_p": Spread.plus_minus(0.0)}))
    assert all(i.standard == 0 and i.trustworthy and i.worst == (i.nominal, i.nominal) for i in r)
    assert "none" in str(r)


def test_tables():
    r = first_order(pose(lg.load("slack_water").dimensions(), tilt=0.3), workshop())
    said = str(r)
    assert said.count("\n") == len(READINGS) and "action at fret 12, bass [mm]" in said and "%" in said
    one = str(r["action.bass_12"])
    for part in ("nominal", "at worst", "95 in 100", "alpha", "rad", "more, each under"):
        assert part in one
    with pytest.raises(KeyError, match=r"there are: action.bass_12"):
        r["nothing"]
    with pytest.raises(dataclasses.FrozenInstanceError):
        r["action.bass_12"].nominal = 1.0


def bowl(spreads, curve, line):
    """A reading that is exactly y = line x + curve x² / 2 of the dimensions (slopes in closed form), with its first order."""
    d = lg.load("slack_water").dimensions()
    names = list(spreads.of)
    line, curve = np.asarray(line, dtype=float), np.asarray(curve, dtype=float)

    def off(p):
        return np.stack(np.broadcast_arrays(*(np.asarray(getattr(p.of, n), dtype=float) - getattr(d, n) for n in names)))

    def slopes(p):
        g = line.reshape((-1,) + (1,) * p.of.batch) + np.einsum("ij,j...->i...", curve, off(p))
        return dict(zip(names, g, strict=True))

    e = dataclasses.replace(gap_least, value=lambda p: np.einsum("i,i...->...", line, off(p))
                            + np.einsum("i...,ij,j...->...", off(p), curve, off(p)) / 2, slopes=slopes)
    return d, e, first_order(pose(d), spreads, [e]).items[0]


def test_a_sum_of_two_squares():
    """y = x1² + x2², both normal about 0 with sd 1: chi squared with two degrees of freedom, mean 2, variance 4 (known in
    closed form). First order sees nothing at all."""
    s = Spreads({"z_p": Spread.sd(1.0), "x_p": Spread.sd(1.0)})
    _, _, r = bowl(s, 2 * np.eye(2), [0.0, 0.0])
    assert r.standard == 0 and not r.trustworthy
    assert r.mean_second == pytest.approx(2.0) and r.standard_second == pytest.approx(2.0)


@pytest.mark.parametrize("kind", ["normal", "rectangular", "triangular", "uneven", "measured"])
def test_a_bowl_has_the_moments_of_drawn_numbers(kind):
    """Mean and standard deviation of a quadratic reading are exact at second order, whatever the kinds (independent)."""
    sizes = np.random.default_rng(5).gamma(2.0, 0.3, 400)
    a = {"uneven": Spread("triangular", -0.2, 0.9), "measured": Spread.measured(sizes).about(0.4)}
    s = Spreads({"z_p": a.get(kind) or Spread.sd(0.4, kind), "x_p": a.get(kind) or Spread.sd(0.3, kind)})
    d, e, r = bowl(s, [[0.8, -0.6], [-0.6, 1.1]], [1.0, -0.5])
    n = 1000
    u = (np.arange(n) + 0.5) / n
    y = e.value(pose(s.moved(d, s.draw(d, np.stack([np.repeat(u, n), np.tile(u, n)])))))
    # A sample's own sd (n - 1) is a little more than that of what is drawn by it.
    room = 0.02 if kind == "measured" else 2e-3
    assert r.mean_second == pytest.approx(y.mean(), abs=room / 4)
    assert r.standard_second == pytest.approx(y.std(), rel=room)
    assert kind == "measured" or abs(r.standard / y.std() - 1) > 0.02  # first order is further off


def test_second_order_in_a_group():
    h, g = np.array([[1.0, 0.3], [0.3, -0.5]]), np.array([1.0, 0.4])
    for r in (0.6, -0.8, 1.0):
        cov = np.outer([0.5, 0.8], [0.5, 0.8]) * [[1, r], [r, 1]]
        x = np.random.default_rng(2).multivariate_normal([0, 0], cov, 400_000).T
        y = g @ x + np.einsum("in,ij,jn->n", x, h, x) / 2
        s = Spreads({"z_p": Spread.sd(0.5), "x_p": Spread.sd(0.8)}, (Group(("z_p", "x_p"), r),))
        found = bowl(s, h, g)[2]
        assert found.mean_second == pytest.approx(y.mean(), abs=4 * y.std() / 632)
        assert found.standard_second == pytest.approx(y.std(), rel=5e-3)


def test_powers_of_one_normal_number():
    """y = x² and x³ about 1 with sd 0.1. From the normal's moments, in closed form: var x² = 4 s² + 2 s⁴;
    var x³ = 9 s² + 36 s⁴ + 15 s⁶, of which the last is past the fourth order."""
    assert second_order([0.2], [[0.02]], [[0.0]]) == pytest.approx((0.01, 0.0402**0.5))
    assert second_order([0.3], [[0.06]], [[0.06 * 0.1]]) == pytest.approx((0.03, (0.09 + 0.0036) ** 0.5))


def test_end_gauge_with_the_second_order():
    """JCGM 100 H.1: 32 nm by first order (read in: sandialabs/suncal test_examples.py), 34 nm with the second order (from memory;
    formula evaluated here). l = l_s + d - l_s (d_alpha theta + alpha d_theta); two products of numbers that are 0 on average."""
    length = 50.000623e6
    # By l_s, d, d_alpha, d_theta, alpha, theta, each in its own standard uncertainty.
    g = np.array([25.0, 9.7, length * 0.1 * 5.8e-7, -length * 1.15e-5 * 0.029, 0.0, 0.0])
    h = np.zeros((6, 6))
    h[2, 5] = h[5, 2] = -length * 5.8e-7 * 0.41
    h[3, 4] = h[4, 3] = -length * 0.029 * 1.2e-6
    shift, sd = second_order(g, h, np.zeros((6, 6)))
    assert np.sqrt(g @ g) == pytest.approx(32, abs=0.5) and sd == pytest.approx(34, abs=0.5) and shift == 0


def test_a_real_joint_that_bends():
    """A dome whose radius is hardly known, screws set by guess: the curvature is 1 over the radius, the neck turns on circles.
    Drawn joints agree with the second order and not with the first."""
    d = lg.load("slack_water").dimensions()
    s = Spreads({"body.dome_radius": Spread.sd(1300.0), "pivot.set_bass": Spread.sd(0.3, unit="turn"),
                 "pivot.set_treble": Spread.sd(0.3, "rectangular", unit="turn")}, ())
    p = pose(d)
    for e in (action_at(0, 1), action_at(0), action_at(-1, None)):
        r = first_order(p, s, [e]).items[0]
        x = AsBuilt.of(p, s, s.draw(d, even(3, 2**14))).value(e)
        assert abs(x.mean() - r.mean) > 0.02 * r.standard
        assert x.mean() == pytest.approx(r.mean_second, abs=0.25 * abs(x.mean() - r.mean))
        assert abs(x.std() - r.standard_second) < 0.35 * abs(x.std() - r.standard), (x.std(), r.standard, r.standard_second)


def test_a_reading_that_breaks_has_no_second_order():
    r = first_order(rocking(0.002), SCREW, [gap_least]).items[0]
    assert np.isnan(r.mean_second) and np.isnan(r.standard_second) and "breaks within the spreads" in str(r)
    r = first_order(rocking(0.3), SCREW, [gap_least]).items[0]
    assert r.mean_second == pytest.approx(r.mean, abs=0.01 * r.standard)


def test_the_design_with_its_own_tolerances():
    for name in ("slack_water", "long_reach", "cross_tide"):
        design = lg.load(name)
        s = Spreads.of_design(design)
        p = design.pose(tilt=0.1)
        x = AsBuilt.of(p, s, s.draw(p.of, even(len(s.variables(p.of)), 2**12)))
        for e, r in zip(READINGS, first_order(p, s), strict=True):
            if r.trustworthy and "least" not in r.key:
                assert x.value(e).mean() == pytest.approx(r.mean_second, abs=0.02 * r.standard), r.key
                assert x.value(e).std() == pytest.approx(r.standard_second, rel=0.03), r.key
    with pytest.raises(SpreadError, match="Flat Calm: no number of the design has a tolerance"):
        Spreads.of_design(lg.load("flat_calm").model_copy(update={"tolerances": Tolerances()}))


def test_told_in_inches():
    p = lg.load("cross_tide").pose()
    found = first_order(p, Spreads.of_design(lg.load("cross_tide")), [action_at(0)])
    mm, inch = found.tell().splitlines()[1], found.tell("inch").splitlines()[1]
    r = found["action.bass_12"]
    assert f"{r.nominal:.3f}" in mm and "[mm]" in mm
    assert f"{r.nominal / 25.4:.4f}" in inch and "[in]" in inch and f"{r.worst[1] / 25.4:.3f}" in inch


def test_errors():
    d = lg.load("slack_water").dimensions()
    with pytest.raises(SpreadError, match="not a batch"):
        first_order(pose(d, tilt=np.zeros(3)), workshop())
    with pytest.raises(SpreadError, match="2 slopes for 1"):
        propagate([1, 2], [1])
    with pytest.raises(SpreadError, match="-1 is negative"):
        propagate([1, 2], [1, -1])
    with pytest.raises(SpreadError, match="for 2 inputs"):
        propagate([1, 2], [1, 1], np.eye(3))
    with pytest.raises(SpreadError, match="more than 0"):
        effective_freedom([1.0], [0])
