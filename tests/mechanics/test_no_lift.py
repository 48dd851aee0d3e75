"""No ball climbs its seat: the least clamp force against linear programs, brute force and short rules; bounds."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import linprog

import lutherie_geom as lg
from lutherie_geom.design.carried import Load
from lutherie_geom.design.load import names
from lutherie_geom.mechanics.letting_go import letting_go
from lutherie_geom.mechanics.no_lift import bounds, least_clamp, least_times, side_push
from lutherie_geom.mechanics.pull import string_pull
from lutherie_geom.mechanics.statics import balance, joint_of, load_wrenches
from lutherie_geom.theory.statics import lift_side_load, seat_slope


def part_as(design, part, **changed):
    return design.model_copy(update={part: getattr(design, part).model_copy(update=changed)})


def by_programming(j, wrench, hold):
    """Least clamp force by a linear program over what the contacts may give, written here: inf when nothing holds."""
    b, t = j.seat_rows
    columns = np.column_stack([b.T, t.T, j.tilt_pull, j.clamp_pull])
    sides = [seat.facets(hold) @ rows[:, :3].T for seat, rows in zip(j.seats, (b, t), strict=True)]
    limits = np.zeros((sum(map(len, sides)), columns.shape[1]))
    limits[:len(sides[0]), :len(b)], limits[len(sides[0]):, len(b):len(b) + len(t)] = sides
    size = np.array([1, 1, 1, 50, 50, 50])
    found = linprog(np.eye(columns.shape[1])[-1], A_ub=limits, b_ub=np.zeros(len(limits)), A_eq=columns / size[:, None],
                    b_eq=-wrench / size, bounds=[(None, None)] * (columns.shape[1] - 1) + [(0, None)], method="highs")
    return found.fun if found.status == 0 else math.inf


@pytest.mark.parametrize("seat", ["cup rim", "cone", "hex socket", "vee groove"])
@pytest.mark.parametrize("name", ["slack_water", "cross_tide"])
def test_least_clamp_against_programming(name, seat):
    """Every kind of seat, steered and not, all loads and poses at once; a seat lifts off later than a ball climbs."""
    d = part_as(lg.load(name), "pivot", seat=seat)
    p = d.pose(tilt=np.array([-0.5, 0.0, 0.4]), bass=np.array([0.0, 0.0, 0.3]), treble=np.array([0.0, 0.2, -0.2]))
    j, w = joint_of(d, p), load_wrenches(d, p)
    smooth, rubbing, axial = (least_clamp(j, w, h) for h in ("smooth", "rubbing", "axial"))
    assert smooth.shape == (9, 3) and (axial <= rubbing + 1e-9).all() and (rubbing <= smooth + 1e-9).all()
    for k in range(3):
        one = d.pose(*(float(x[k]) for x in (p.tilt, p.bass, p.treble)))
        jk, wk = joint_of(d, one), load_wrenches(d, one)
        for found, hold in ((smooth, "smooth"), (rubbing, "rubbing")):
            np.testing.assert_allclose(found[:, k], [by_programming(jk, x, hold) for x in wk], rtol=1e-6, atol=1e-6)


def test_a_help_that_only_lifts_is_never_enough():
    d = lg.load("slack_water")
    j, w = joint_of(d), load_wrenches(d, d.pose())
    asked = least_clamp(j, w) > 0
    found = least_times(j, w, -j.clamp_pull)
    assert np.isinf(found[asked]).all() and (found[~asked] == 0).all()


def test_short_rule_for_a_side_load():
    """F = N w / (2 l), the rule, against linear programming: push on the axis' height, so that nothing rolls."""
    d = lg.load("slack_water")
    j = joint_of(d)
    strings = np.array([727.0, 0, 0, 0, 24000.0, 0])
    total = 727 + 24000 / 60
    far = 540.0
    for side in (20.0, 50.0, 80.0):
        w = strings + np.array([0, side, 0, 0, 0, -far * side])
        need = max(0.0, side * 2 * far / d.pivot.spacing - total)
        assert least_clamp(j, w, "axial") == pytest.approx(need, abs=1e-5)
        if need > 0:
            rule = lift_side_load(seat_total=total + need, spacing=d.pivot.spacing, distance=far)
            assert rule == pytest.approx(side, rel=1e-9)


def stays_down(j, wrench, clamp, slope):
    """Some split of the sideways force lies in both round cones, neck not steered."""
    r = balance(j, wrench, clamp)
    if min(r.seat_push) < 0:
        return False
    room = [(slope * n) ** 2 - f[2] ** 2 for n, f in zip(r.seat_push, (r.bass, r.treble), strict=True)]
    return min(room) >= 0 and math.sqrt(room[0]) + math.sqrt(room[1]) >= abs(r.bass[1] + r.treble[1])


def turning_point(holds, low, high):
    """Where ``holds`` changes from what it is at ``low``, by halving."""
    at_low = holds(low)
    for _ in range(50):
        middle = (low + high) / 2
        low, high = (middle, high) if holds(middle) == at_low else (low, middle)
    return high


@pytest.mark.parametrize("name", names())
def test_least_clamp_against_brute_force(name):
    """The clamp is raised until the balls stay down; a push to the bass asks more, for the strings load that seat more."""
    d = lg.load(name)
    slope = d.pivot.rim_radius / math.sqrt(d.pivot.ball_radius**2 - d.pivot.rim_radius**2)
    for p in (d.pose(), d.pose(tilt=-0.5)):
        j, w = joint_of(d, p), load_wrenches(d, p)
        brute = [turning_point(lambda c, j=j, w=w, k=k: stays_down(j, w[k], c, slope), 0.0, 5000.0) for k in range(2)]
        assert [x.direction for x in d.loads[:2]] == ["to the bass", "to the treble"] and brute[0] > brute[1]
        # The pyramid of 48 sides lies inside the round cone: a little more clamp force, never less.
        for found, least in zip(least_clamp(j, w), brute, strict=False):
            assert least - 1e-6 <= found <= least * 1.005


def test_a_side_push_with_the_clamp_gone_against_brute_force():
    d = lg.load("slack_water")
    j, slope = joint_of(d), 2 / math.sqrt(12)
    none = Load(name="no hand")
    told = letting_go(d)["clamp screw"].words
    found = side_push(j, load_wrenches(d, d.pose(), [none])[0])
    for k, way in enumerate(("to the bass", "to the treble")):
        hand = Load(name="hand", push="1 N", direction=way)
        still, one = load_wrenches(d, d.pose(), [none, hand])
        brute = turning_point(lambda f, still=still, one=one: stays_down(j, still + f * (one - still), 0.0, slope), 0.0, 500.0)
        assert brute * 0.995 <= found[k] <= brute + 1e-6 and f"{found[k]:.0f} N {way}" in told
    # Long before the far seat lifts off, as the short rule counts it.
    seats = sum(balance(j, string_pull(d).wrench, 0.0).seat_push)
    reach = d.pose().of.x_p - d.pose().of.x_nut + d.headstock.length
    assert max(found) < float(lift_side_load(seat_total=seats, spacing=d.pivot.spacing, distance=reach))


def test_bounds_say_what_is_not_decided():
    d = lg.load("slack_water")
    j, w = joint_of(d), load_wrenches(d, d.pose())[0]
    r = balance(j, w)
    found = {b.name: b for b in bounds(j, w)}
    for name, value in (("bass seat along its axis", r.seat_push[0]), ("treble seat up", r.treble[2]),
                        ("tilt screw, tension", r.tilt)):
        assert found[name].decided and found[name].low == pytest.approx(value, abs=1e-4)
    aside = found["bass seat to the treble"]
    assert not aside.decided and aside.low < r.bass[1] < aside.high and "not decided" in str(aside)
    # How far the seats can fight, in closed form: until the weaker one's ball would climb.
    slope = float(seat_slope(ball_radius=4.0, rim_radius=2.0))
    room = [math.sqrt((slope * n) ** 2 - f[2] ** 2) for n, f in zip(r.seat_push, (r.bass, r.treble), strict=True)]
    y = r.bass[1] + r.treble[1]
    assert aside.low == pytest.approx(max(-room[0], y - room[1]), rel=5e-3)
    assert aside.high == pytest.approx(min(room[0], y + room[1]), rel=5e-3)
    # A clamp force known only within limits: the seats' forces then lie within half of it each.
    wide = {b.name: b for b in bounds(j, w, (1200.0, 1800.0))}
    assert wide["bass seat along its axis"].high - wide["bass seat along its axis"].low == pytest.approx(300, rel=1e-6)
    vee = joint_of(part_as(d, "pivot", seat="vee groove"))
    assert all(b.decided for b in bounds(vee, w))
    lifted = bounds(j, load_wrenches(d, d.pose())[0], (0.0, 0.0))
    assert all(math.isnan(b.low) for b in lifted)


def test_programming_takes_one_load_only():
    d = lg.load("slack_water")
    with pytest.raises(ValueError, match="one load at one pose"):
        bounds(joint_of(d), load_wrenches(d, d.pose()))
    with pytest.raises(ValueError, match="hold is 'firm'"):
        least_clamp(joint_of(d), string_pull(d).wrench, "firm")
