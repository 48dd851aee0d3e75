"""Readings of joints of any kind: the built-in joint's own where the joint is the same, plain geometry where it is not.

Lengths in mm, angles in radians, forces in N, turns in turns.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

import lutherie_geom as lg
from lutherie_geom.joint.body import gap_grid, heel_fit, least_gap
from lutherie_geom.joint.contacts import RigidPose
from lutherie_geom.joint.coupling import coupling
from lutherie_geom.joint.layout import lay_out
from lutherie_geom.joint.layout_readings import any_coupling, any_travel, dimension_slopes, length_change, read_layout, resolution
from lutherie_geom.joint.pitch import fretted
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.spatial import SpatialPose
from lutherie_geom.joint.strings import action, buzz, edge_margin, lever, open_length
from lutherie_geom.joint.travel import travel
from lutherie_geom.mechanics.layout_forces import carried_forces, least_preload, lifts
from lutherie_geom.mechanics.no_lift import least_clamp
from lutherie_geom.mechanics.pull import axis_middle, string_pull
from lutherie_geom.mechanics.statics import balance, joint_of

GUITAR = lg.load("slack_water")
SCREWS = ("tilt screw", "bass pivot screw", "treble pivot screw")
JOINTS = {"dowel across": "upper_pivot_two_cones", "rod along": "upper_pivot_rod"}
READ = {"action": lambda p: action(p, [1, 5, 12, 20]), "buzz": lambda p: buzz(p).clearance, "length": open_length,
        "gap": lambda p: gap_grid(p), "least gap": lambda p: least_gap(p).gap, "floor": lambda p: heel_fit(p).floor,
        "reveal": lambda p: heel_fit(p).reveal, "side": lambda p: heel_fit(p).side, "lever": lever,
        "edge": lambda p: np.stack(edge_margin(p, [1, 20]))}


@pytest.mark.parametrize("receiver", JOINTS)
@pytest.mark.parametrize("reading", READ)
def test_same_functions_same_readings(receiver: str, reading: str) -> None:
    t = np.random.default_rng(2).uniform(-0.6, 0.6, (3, 40))
    joint = lay_out(JOINTS[receiver])
    d = joint.dimensions.replaced(receiver=receiver)
    built_in, any_kind = pose(d, tilt=t[0], bass=t[1], treble=t[2]), joint.pose(dict(zip(SCREWS, t, strict=True)))
    np.testing.assert_allclose(READ[reading](any_kind), READ[reading](built_in), atol=2e-9)
    one = joint.pose(dict(zip(SCREWS, t[:, 3], strict=True)))
    np.testing.assert_allclose(READ[reading](one), READ[reading](any_kind)[..., 3], atol=1e-9)


def test_fretted_lengths_too() -> None:
    one = lay_out("upper_pivot_cone_and_vee").pose({"tilt screw": 0.4})
    for a, b in zip(fretted(one, [1, 12]), fretted(pose(GUITAR.dimensions(), tilt=0.4), [1, 12]), strict=True):
        np.testing.assert_allclose(a, b, atol=1e-10)


def wild() -> SpatialPose:
    """A pose that no screw of the built-in joint gives: rolled, lifted, shifted aside."""
    r = Rotation.from_rotvec([0.02, -0.013, 0.007]).as_matrix()
    return SpatialPose(GUITAR.dimensions(), RigidPose(r, np.array([-4.0, 0.7, -19.2]), np.array([-3.6, 0.0, -20.0])))


def test_gap_and_floor_of_a_rolled_neck_by_plain_geometry() -> None:
    p = wild()
    d, r = p.of, p.rigid.rotation

    def dome(x: float, y: float) -> float:
        big = 1 / d.curvature
        return math.sqrt(big**2 - (x - d.x_apex) ** 2 - y**2) - math.sqrt(big**2 - d.x_apex**2)

    found = gap_grid(p, along=4, across=3)
    for i, x in enumerate(np.linspace(0, d.tongue_length, 4)):
        for k, y in enumerate(np.linspace(-0.5, 0.5, 3) * d.tongue_width):
            at = p.rigid.position + r @ (np.array([x, y, dome(x, y) + d.gap_joint]) - p.rigid.reference)
            assert found[i, k] == pytest.approx(at[2] - dome(at[0], at[1]), abs=1e-9)
    foot = p.rigid.position + r @ (np.array([-d.floor_clearance, d.half_width_foot, d.foot_z]) - p.rigid.reference)
    assert heel_fit(p).floor[-1, 1] == pytest.approx(-foot[0], abs=1e-12)


def test_action_of_a_rolled_neck_by_plain_geometry() -> None:
    """String from nut to saddle in the body frame; height over the fret plane along its normal."""
    p = wild()
    d, r = p.of, p.rigid.rotation
    tilted = Rotation.from_rotvec([0, -d.alpha, 0]).as_matrix()

    def body(neck: list[float]) -> np.ndarray:
        return p.rigid.position + r @ (tilted @ neck + [0, 0, d.z_joint] - p.rigid.reference)

    big, i, f = 1 / d.curvature, 1, 12.0
    radius = 406.4
    y0 = d.y_nut[i]
    nut = body([d.x_nut, y0, d.h_nut[i] - radius + math.sqrt(radius**2 - y0**2)])
    xs, ys = d.x_saddle[i], d.y_saddle[i]
    top = math.sqrt(big**2 - (xs - d.x_apex) ** 2 - ys**2) - math.sqrt(big**2 - d.x_apex**2) + d.h_saddle[i]
    saddle, normal, along = np.array([xs, ys, top]), r @ tilted @ [0, 0, 1], r @ tilted @ [1, 0, 0]
    fret = body([d.x_fret(f), 0, 0])
    s = (fret - nut) @ along / ((saddle - nut) @ along)
    at = nut + s * (saddle - nut)
    yf = (at - fret) @ (r @ tilted @ [0, 1, 0])
    crown = math.sqrt(radius**2 - yf**2) - radius - d.dip(f)
    assert action(p, f)[i, 0] == pytest.approx((at - fret) @ normal - crown, abs=1e-9)
    assert open_length(p)[i] == pytest.approx(np.linalg.norm(saddle - nut), abs=1e-9)


def test_readings_that_know_only_tilt_refuse_a_rolled_neck() -> None:
    with pytest.raises(ValueError, match=r"roll \[rad\]"):
        _ = wild().turned
    p, q = lay_out("upper_pivot_two_cones").pose({"tilt screw": 0.3}), pose(GUITAR.dimensions(), tilt=0.3)
    np.testing.assert_allclose(list(p.turned.values()), [float(v) for v in q.turned.values()], atol=1e-12)


@pytest.mark.parametrize("turns", [{}, {"tilt screw": 0.5, "bass pivot screw": 0.2, "treble pivot screw": 0.2}])
@pytest.mark.parametrize("receiver", JOINTS)
def test_coupling_is_that_of_the_built_in_joint(receiver: str, turns: dict[str, float]) -> None:
    joint = lay_out(JOINTS[receiver])
    c = any_coupling(joint, joint.pose(turns))
    q = pose(joint.dimensions.replaced(receiver=receiver), **dict(zip(("tilt", "bass", "treble"), turns.values(), strict=False)))
    old = coupling(q)
    np.testing.assert_allclose(c.seen, old.seen, atol=1e-7)
    np.testing.assert_allclose(c.motion[:2], old.motion[:2], atol=1e-9)
    np.testing.assert_allclose(c.motion[3], -old.motion[2], atol=1e-9)
    assert "tilt screw" in str(c)


@pytest.mark.parametrize("name", ["three_point_seat", "wedge", "lower_pivot_upper_adjuster", "full_width_hinge"])
def test_coupling_against_differences(name: str) -> None:
    joint, h = lay_out(name), 1e-4
    start = {a: 0.2 * (k + 1) for k, a in enumerate(joint.adjusters)}
    p = joint.pose(start)
    c = any_coupling(joint, p)
    d = joint.dimensions
    for k, a in enumerate(joint.adjusters):
        up, down = (joint.pose({**start, a: start[a] + s}) for s in (h, -h))
        slope = (action(up, 12) - action(down, 12))[[0, -1], 0] / (2 * h)
        across = (up.to_body(d.x_nut, 0.0, 0.0).y - down.to_body(d.x_nut, 0.0, 0.0).y) / (2 * h)
        np.testing.assert_allclose(c.seen[:, k], [*slope, across], atol=1e-6)
        np.testing.assert_allclose(c.motion[3:, k], (up.moved - down.moved) / (2 * h), atol=1e-6)
    batch = joint.pose({a: np.array([0.0, start[a]]) for a in joint.adjusters})
    np.testing.assert_allclose(any_coupling(joint, batch).seen[..., 1], c.seen, atol=1e-9)


def test_slopes_of_dimensions_against_differences() -> None:
    """A seat, a receiver and a length that are off, by solving again."""
    joint, h = lay_out("upper_pivot_cone_and_vee"), 1e-4
    slopes = dimension_slopes(joint)
    d = joint.dimensions
    for words, contact, name in (("bass ball, place in the body along x", 0, "a_x"), ("tilt screw, length", 2, "length"),
                                 ("tilt screw, place in the neck along z", 2, "p_z"),
                                 ("treble ball, place in the neck along x", 1, "p_x")):
        ends = []
        for s in (h, -h):
            held = list(joint.contacts.contacts)
            old = held[contact].values
            held[contact] = replace(held[contact], values={**old, name: old[name] + s})
            p = SpatialPose(d, replace(joint.contacts, contacts=tuple(held)).solve().pose)
            ends.append(np.append(action(p, 12)[[0, -1], 0], p.to_body(d.x_nut, 0.0, 0.0).y))
        np.testing.assert_allclose(slopes[words], (ends[0] - ends[1]) / (2 * h), atol=1e-6, err_msg=words)
    assert len(slopes) == 6 + 6 + 7


def test_travel_has_the_stops_of_the_built_in_joint() -> None:
    old = travel(GUITAR)
    new = any_travel(lay_out("upper_pivot_two_cones"), GUITAR, "tilt screw")
    assert (new.low, new.high) == pytest.approx((old.low, old.high), abs=1e-6)
    turns = {(s.name, s.direction): s.turn for s in new.stops if s.turn is not None}
    for s in old.stops:
        if (s.name, s.direction) in turns:
            assert turns[s.name, s.direction] == pytest.approx(s.turn, abs=1e-6), s
    # Further than any pose: the contacts' own stop.
    far = any_travel(lay_out("upper_pivot_cone_and_vee"), GUITAR, "bass pivot screw")
    assert {s.name for s in far.stops} >= {"reach", "tongue", "most"}
    with pytest.raises(KeyError, match="winch"):
        any_travel(lay_out("wedge"), GUITAR, "winch")


def test_resolution_and_lengths() -> None:
    joint = lay_out("upper_pivot_two_cones")
    fine, length = resolution(joint), length_change(joint)
    d = GUITAR.dimensions()
    higher = action(pose(d, tilt=1 / 16), 12) - action(pose(d), 12)
    assert fine["tilt screw"] == pytest.approx(float(higher.mean()), abs=1e-9)
    longer = open_length(pose(d, bass=1 / 8)) - open_length(pose(d))
    np.testing.assert_allclose(length["bass pivot screw"], longer, atol=1e-9)


@pytest.mark.parametrize("seat", ["cone", "vee groove"])
def test_forces_and_lifting_are_those_of_the_built_in_joint(seat: str) -> None:
    design = GUITAR.model_copy(update={"pivot": GUITAR.pivot.model_copy(update={"seat": seat})})
    joint = lay_out("upper_pivot_two_cones" if seat == "cone" else "upper_pivot_cone_and_vee", design)
    p, q = joint.pose({"tilt screw": 0.2}), design.pose(tilt=0.2)
    old = joint_of(design, q)
    wrench = string_pull(design, q).wrench
    np.testing.assert_allclose(string_pull(design, p).wrench, wrench, rtol=1e-9, atol=1e-6)
    push = np.array([0, 40.0, 0, 0, 0, 40.0 * 300])
    for load in (wrench, wrench + push):
        r = balance(old, load, 1500.0)
        new = carried_forces(joint, p, load, axis_middle(p))
        assert np.abs(new.left).max() < 1e-6
        assert new.forces["tilt screw"] == pytest.approx(abs(float(r.tilt)), rel=1e-6)
        assert (new.forces["bass ball"], new.forces["treble ball"]) == pytest.approx(tuple(map(float, r.seat_total)), rel=1e-6)
        least = least_clamp(old, load)
        assert least_preload(joint, p, load, axis_middle(p), "clamp screw") == pytest.approx(least, rel=1e-6, abs=1e-6)
        assert lifts(joint, p, load, axis_middle(p), {"clamp screw": 0.9 * least}) == (least > 0)
        assert not lifts(joint, p, load, axis_middle(p), {"clamp screw": 1.001 * least + 1e-6})


def test_a_face_lifts_when_the_load_leaves_its_outline() -> None:
    """The shimmed heel: one bolt, and the moment that opens the joint, by hand."""
    joint = lay_out("fixed_and_shimmed")
    p, about = joint.pose(), np.array([0.0, 0.0, -50.0])
    hold = {"upper bolt": 1000.0, "lower bolt": 1000.0}
    # 2000 N; their middle lies 2.5 mm below the face's; the face reaches 45 mm up. About y, positive opens the foot.
    opens = 2000.0 * (45 + 2.5)
    for share, lifted in ((0.97, False), (1.03, True)):
        assert lifts(joint, p, np.array([0, 0, 0, 0, share * opens, 0]), about, hold) is lifted
    with pytest.raises(KeyError, match="no clamp or spring named"):
        lifts(joint, p, np.zeros(6), about, {"rope": 1.0})
    with pytest.raises(ValueError, match="one load at one pose"):
        lifts(joint, p, np.zeros((2, 6)), about, hold)


def test_a_whole_sheet_of_readings() -> None:
    sheet = read_layout(lay_out("upper_pivot_two_cones"), {"tilt screw": 0.1})
    keys = {r.key: r.value for r in sheet.items}
    assert keys["constraint.self_stress"] == 1 and len(keys["constraint.states"]) == 2
    assert keys["constraint.forced_fit_1"] == pytest.approx([0.4, 0.2])
    assert {"adjusters.seen", "action.fret_12", "gap.least", "heel.reveal"} <= set(keys)
    with pytest.raises(ValueError, match="allowed is -12 to 12 turns"):
        read_layout(lay_out("upper_pivot_cone_and_vee"), {"tilt screw": 300.0})
