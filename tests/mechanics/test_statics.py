"""Balance of the neck: against virtual work, hand calculation and the general solver; seats, loads, friction, torque."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

import lutherie_geom as lg
from lutherie_geom.design.carried import Load
from lutherie_geom.joint.contacts import joint_contacts
from lutherie_geom.joint.pose import arm, pose
from lutherie_geom.joint.strings import open_length
from lutherie_geom.mechanics.friction import friction_band
from lutherie_geom.mechanics.loads import load_wrench
from lutherie_geom.mechanics.no_lift import clamp_torque, least_clamp, screw_torque
from lutherie_geom.mechanics.pull import pull_of, string_pull
from lutherie_geom.mechanics.seats import seats_of
from lutherie_geom.mechanics.statics import balance, joint_of, load_wrenches
from lutherie_geom.theory.statics import ball_friction, gripped_slope

FORCES = {"slack_water": 400, "long_reach": 348, "flat_calm": 429, "cross_tide": 409, "spring_tide": 1029,
          "spring_tide_mended": 436}
"""Force in the tilt screw at 720 N [N], strings alike: computed here by a separate brute-force program, to the digits shown."""


def part_as(design, part, **changed):
    return design.model_copy(update={part: getattr(design, part).model_copy(update=changed)})


@pytest.mark.parametrize("name", FORCES)
def test_tilt_screw_by_balance_and_by_virtual_work(name):
    d = lg.load(name)
    for receiver in ("dowel across", "rod along"):
        e = part_as(d, "tilt_screw", receiver=receiver)
        p = e.pose()
        pull = pull_of(p, np.full(6, 120.0))
        r = balance(joint_of(e, p), pull.wrench, 0.0)
        assert r.tilt == pytest.approx(pull.by_virtual_work, rel=1e-9)
        assert abs(r.tilt - FORCES[name]) <= 0.51


@pytest.mark.parametrize("receiver", ["dowel across", "rod along"])
def test_virtual_work_at_any_pose(receiver):
    """Strings give, the screw takes; slope of the screw's length by differences, tilt screw sloping, neck steered."""
    d = part_as(lg.load("cross_tide"), "tilt_screw", receiver=receiver, receiver_z=-74.0)
    dims = d.dimensions()
    tension = string_pull(d).tension
    for turns in ((0.0, 0.0, 0.0), (0.7, 0.2, -0.1), (-1.0, -0.25, 0.25)):
        step = 1e-5
        up, down = (open_length(pose(dims, tilt=turns[0] + s, bass=turns[1], treble=turns[2])) for s in (step, -step))
        work = -(tension * (up - down)).sum() / (2 * step * dims.pitch_tilt)
        p = pose(dims, tilt=turns[0], bass=turns[1], treble=turns[2])
        r = balance(joint_of(d, p), pull_of(p, tension).wrench, 0.0)
        assert r.tilt == pytest.approx(work, rel=1e-6)


def test_rows_are_those_of_the_general_solver():
    """Rank and self-stress as known; the matrix is that of the general solver's own layout of this joint."""
    d = lg.load("slack_water")
    j = joint_of(d)
    assert (j.freedom.rows, int(j.freedom.rank), int(j.freedom.self_stress)) == (8, 6, 2)
    s = d.dimensions()
    own = joint_contacts(receiver="dowel across", pitch_tilt=s.pitch_tilt, pitch_pivot=s.pitch_pivot, spacing=s.spacing,
                         x_p=s.x_p, z_p=s.z_p, x_head=s.x_head, z_head=s.z_head, x_receiver=s.x_receiver, z_receiver=s.z_receiver,
                         seats="two cones", clamp=(d.block.depth, d.clamp.receiver_x))
    np.testing.assert_allclose(j.rows, own.wrenches(), atol=1e-12)
    vee = joint_of(part_as(d, "pivot", seat="vee groove"))
    assert (vee.freedom.rows, int(vee.freedom.rank), int(vee.freedom.self_stress)) == (7, 6, 1)
    assert arm(s) == pytest.approx(float(j.arm), rel=1e-12)


def test_forces_balance_over_poses_and_loads():
    for name in ("slack_water", "long_reach"):
        d = lg.load(name)
        p = d.pose(tilt=np.linspace(-1, 0.7, 5), bass=0.1, treble=-0.05)
        j = joint_of(d, p)
        w = load_wrenches(d, p)
        r = balance(j, w, 800.0)
        assert r.tilt.shape == (9, 5)
        # By hand: every force at its own place, moments about the middle of the axis.
        half = d.pivot.spacing / 2
        along = np.stack([-p.sin_psi, p.cos_psi, np.zeros_like(p.sin_psi)], -1)
        places = (-half * along, half * along)
        total = w + r.tilt[..., None] * j.tilt_pull + 800.0 * j.clamp_pull
        for place, force in zip(places, (r.bass, r.treble), strict=True):
            total = total + np.concatenate([force, np.cross(np.broadcast_to(place, force.shape), force)], axis=-1)
        assert np.abs(total).max() < 1e-7


@pytest.mark.parametrize("name", ["slack_water", "long_reach"])
def test_many_joints_at_once(name):
    """Sampled dimensions as a batch, each sample against its own joint alone."""
    d = part_as(lg.load(name), "clamp", below_axis=1.0)
    rng = np.random.default_rng(5)
    dims = d.dimensions()
    heights = dims.h_saddle[:, None] + rng.normal(0, 0.3, (6, 4))
    drawn = {"z_p": dims.z_p + rng.normal(0, 1, 4), "x_head": dims.x_head + rng.normal(0, 0.5, 4),
             "spacing": dims.spacing + rng.normal(0, 1, 4)}
    p = pose(dims.replaced(h_saddle=heights, **drawn), tilt=0.2, bass=0.1)
    r = balance(joint_of(d, p), load_wrenches(d, p))
    band = friction_band(r).band
    for k in (0, 3):
        one = pose(dims.replaced(h_saddle=heights[:, k], **{n: v[k] for n, v in drawn.items()}), tilt=0.2, bass=0.1)
        alone = balance(joint_of(d, one), load_wrenches(d, one))
        np.testing.assert_allclose(r.tilt[:, k], alone.tilt, rtol=1e-9)
        np.testing.assert_allclose(r.bass[:, k], alone.bass, rtol=1e-9, atol=1e-7)
        np.testing.assert_allclose(band[:, :, k], friction_band(alone).band, rtol=1e-9)


def test_by_hand_in_the_plane():
    """One pull on the centreline, screw level, clamp on the axis: moments and forces on paper."""
    d = lg.load("slack_water")
    j = joint_of(d)
    # 700 N toward the tail, 34 mm over the axis; tilt screw 60 mm below it.
    r = balance(j, np.array([700.0, 0, 0, 0, 34 * 700.0, 0]), 1500.0)
    assert r.tilt == pytest.approx(700 * 34 / 60, rel=1e-12)
    both = (700 + 1500 + 700 * 34 / 60) / 2
    np.testing.assert_allclose(r.seat_push, (both, both), rtol=1e-12)
    np.testing.assert_allclose(r.seat_aside, 0, atol=1e-9)
    np.testing.assert_allclose(r.seat_total, (both, both), rtol=1e-12)


def test_clamp_below_the_axis_helps_the_tilt_screw():
    d = part_as(lg.load("slack_water"), "clamp", below_axis=3.0)
    j = joint_of(d)
    w = string_pull(d).wrench
    assert balance(j, w, 1000.0).tilt - balance(j, w, 0.0).tilt == pytest.approx(-1000 * 3 / 60, rel=1e-9)


def test_symmetric_loads_give_symmetric_seats():
    d = lg.load("slack_water")
    even = d.model_copy(update={"strings": d.strings.model_copy(update={"compensation": [3.0] * 6, "saddle_heights": [12.0] * 6,
                                                                        "nut_height_treble": 0.45})})
    p = even.pose(tilt=0.2)
    r = balance(joint_of(even, p), pull_of(p, np.full(6, 120.0)).wrench)
    np.testing.assert_allclose(r.bass[[0, 2]], r.treble[[0, 2]], rtol=1e-9, atol=1e-9)
    assert r.bass[1] == pytest.approx(-r.treble[1], abs=1e-9)
    # A push to the bass does to the bass seat what a push to the treble does to the treble seat.
    load = Load(name="aside", push="50 N", direction="sideways")
    strings = pull_of(p, np.full(6, 120.0)).wrench
    j, (bass, treble) = joint_of(even, p), [load_wrench(even, p, way) for way in load.ways]
    np.testing.assert_allclose(treble, bass * np.array([1, -1, 1, -1, 1, -1]), atol=1e-9)
    one, other = balance(j, strings + bass), balance(j, strings + treble)
    np.testing.assert_allclose(one.seat_push, other.seat_push[::-1], rtol=1e-9)
    assert one.seat_push[0] > one.seat_push[1], "pushed to the bass, the treble seat is the one that lifts"
    assert least_clamp(j, strings + bass) == pytest.approx(float(least_clamp(j, strings + treble)), rel=1e-9)


def test_seats_and_their_cones():
    d = lg.load("slack_water")
    cup = seats_of(d)[0]
    assert cup.slope == pytest.approx(2 / math.sqrt(12), rel=1e-12)
    cone = seats_of(part_as(d, "pivot", seat="cone"))[0]
    assert cone.slope == pytest.approx(1, rel=1e-12) and cone.ring == pytest.approx(4 / math.sqrt(2), rel=1e-12)
    hex_ = seats_of(part_as(d, "pivot", seat="hex socket", key_from="heel"))[0]
    # A push through one of the six places of touch is just held; between two of them a little less is.
    for turn, held in ((0.0, 1.0), (math.pi / 6, math.cos(math.pi / 6))):
        push = np.array([-1.0, *(held * hex_.slope * np.array([math.cos(turn), math.sin(turn)]))])
        assert (hex_.facets() @ push).max() == pytest.approx(0, abs=1e-12)
    for seat in (cup, cone, hex_):
        assert (seat.facets() @ np.array([-1.0, 0, 0])).max() < 0 < (seat.facets() @ np.array([1.0, 0, 0])).max()
    angle = math.atan(0.577) + math.atan(0.15)
    assert gripped_slope(slope=0.577, friction=0.15) == pytest.approx(math.tan(angle), rel=1e-12)


def test_loads_in_the_body_frame():
    d = lg.load("slack_water")
    p = d.pose()
    light = d.model_copy(update={"headstock": d.headstock.model_copy(update={"neck_mass": 0.1})})
    x = p.of.x_nut - 180.0
    ways = {"to the bass": (0, -1, 0), "to the treble": (0, 1, 0), "back": (0, 0, -1), "forward": (0, 0, 1), "along": (-1, 0, 0)}
    for direction, force in ways.items():
        load = Load(name="x", push="50 N", direction=direction)
        w = load_wrench(light, p, load) - load_wrench(light, p, load.model_copy(update={"push": 0.0}))
        np.testing.assert_allclose(w[:3], 50 * np.array(force, dtype=float), atol=1e-9)
        z = p.to_body(x, 0.0, 0.0).z
        np.testing.assert_allclose(w[3:], np.cross([p.to_body(x, 0.0, 0.0).x - p.of.x_p, 0, z - p.of.z_p], w[:3]), atol=1e-6)
    with pytest.raises(ValueError, match="one load goes one way"):
        load_wrench(d, p, Load(name="x", direction="sideways"))
    # Face down the neck's weight pulls the other way; where it takes hold is the same.
    back, face_down = (load_wrench(d, p, Load(name="x", lies=how)) for how in ("on its back", "face down"))
    np.testing.assert_allclose(face_down, -back, atol=1e-9)
    assert back[2] == pytest.approx(-0.7 * 9.80665)
    # Hung by the neck: the joint carries the instrument less the neck, as many times.
    hung = load_wrench(d, p, Load(name="hung", weights=2, direction="along", at="middle of the neck"))
    assert hung[0] == pytest.approx(-2 * (2.1 - 0.7) * 9.80665, rel=1e-12)


def test_friction_of_a_ball_in_a_ring():
    """Against the sum over the ring, each place at its own distance from the axis."""
    for r, a in ((4.0, 2.0), (4.0, 4 / math.sqrt(2)), (5.0, 1.5)):
        depth = math.sqrt(r * r - a * a)
        mean = quad(lambda t, a=a, depth=depth: math.hypot(depth, a * math.sin(t)), 0, 2 * math.pi)[0] / (2 * math.pi)
        found = ball_friction(seat_force=1000.0, friction=0.15, ball_radius=r, rim_radius=a)
        assert found == pytest.approx(0.15 * 1000 * r / depth * mean, rel=0.01) and found >= 0.15 * 1000 * r / depth * mean


def test_friction_band():
    d = lg.load("slack_water")
    j = joint_of(d)
    band = friction_band(balance(j, string_pull(d).wrench))
    # The table of metals holds the ranges: 0.1 to 0.2 at balls and heads, 0.2 to 0.5 for a dowel in wood.
    for part, ratio in (("balls in their seats", 2.0), ("tilt screw's head", 2.0), ("clamp screw's dowel", 2.5)):
        low, high = band.parts[part]
        assert high == pytest.approx(ratio * low, rel=1e-9) and low > 0
    np.testing.assert_allclose(sum(band.parts.values()) / 60.0, band.band, rtol=1e-9)
    slack = friction_band(balance(j, string_pull(d).wrench, 0.0))
    assert slack.band[1] < 0.5 * band.band[1]
    assert (band.lowering > band.raising).all() and (band.raising > 0).all()
    p = d.pose(tilt=np.linspace(-0.5, 0.5, 4))
    many = friction_band(balance(joint_of(d, p), string_pull(d, p).wrench))
    assert many.band.shape == (2, 4)
    # Thread fixed in the heel: a tight clamp sweeps its head along the block and grips far harder.
    rod = lg.load("long_reach")
    held = friction_band(balance(joint_of(rod), string_pull(rod).wrench))
    assert held.parts["clamp screw's head, sliding"][0] == pytest.approx(0.10 * rod.clamp.preload * (60 + 3.6), rel=1e-9)


def test_key_torque():
    d = lg.load("slack_water")
    low, high = clamp_torque(d, 1500.0)
    # K d F with K about 1.3 times the friction: the short rule of thumb lies between.
    assert low < 0.2 * 6 * 1500 < high * 1.2 and 1.6 < high / low < 2
    # By hand: M6 x 1, d2 = 5.3505 mm, tan(lead) = 0.05949, friction 0.10, head on 7.8 mm.
    d2 = 6 - 3 * math.sqrt(3) / 8
    lead, grip = 1 / (math.pi * d2), 0.10 / math.cos(math.radians(30))
    assert low == pytest.approx(1500 * (d2 / 2 * (grip + lead) / (1 - grip * lead) + 0.10 * 7.8 / 2), rel=1e-9)
    assert screw_torque(d, "tilt_screw", 400.0, 0.1, loosening=True) < screw_torque(d, "tilt_screw", 400.0, 0.1)


@settings(max_examples=25, deadline=None)
@given(st.lists(st.floats(-200, 200), min_size=6, max_size=6), st.floats(0, 3000), st.floats(-1, 0.7), st.floats(-0.2, 0.2))
def test_forces_balance_whatever_the_load(load, clamp, tilt, steer):
    d = lg.load("slack_water")
    p = d.pose(tilt=tilt, bass=steer, treble=-steer)
    j = joint_of(d, p)
    w = np.array(load) * np.array([1, 1, 1, 50, 50, 50])
    r = balance(j, w, clamp)
    whole = w + clamp * j.clamp_pull + j.unit @ np.concatenate([r.bass, r.treble, [float(r.tilt)]])
    assert np.abs(whole).max() < 1e-7 * (1 + np.abs(w).max() + clamp)
    # More clamp force never lets a seat down.
    more = balance(j, w, clamp + 100)
    assert all(a < b for a, b in zip(r.seat_push, more.seat_push, strict=True))
