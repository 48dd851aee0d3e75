"""Sources of error: each against the contact solver, in which the wrong hole itself is moved; slopes against differences.

The solver knows nothing of the table of sources: balls and receiver are points of the neck, seats and captive head points of
the body, the tilt screw a link of its designed length (or a thread fixed in the heel). What each error moves there is said anew
in MOVED, as a builder would.
"""

import dataclasses

import numpy as np
import pytest

import lutherie_geom as lg
from lutherie_geom.design.tolerances import BENCH, number_fields
from lutherie_geom.joint.contacts import Contacts, ball_in_vee, ball_on_flat, link, screw_to_plane
from lutherie_geom.joint.dimensions import PER_STRING, from_design
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.strings import action
from lutherie_geom.studies.sources import SOURCES, STEPS, TURNS, table
from lutherie_geom.studies.spreads import FIELDS, Spread, Spreads, parse_spread, unit_of
from lutherie_geom.theory.heel import heel_point

TURNED = dict(tilt=0.3, bass=0.1, treble=-0.15)
NONE = np.zeros(3)
# Source: what 1 mm (or 1 turn) of it moves in space: balls and receiver in the neck, seats and head in the body.
MOVED = {
    "pivot.x": dict(seats=(1, 0, 0)), "pivot.z": dict(seats=(0, 0, 1)),
    "tilt_screw.head_x": dict(head=(1, 0, 0)), "tilt_screw.head_z": dict(head=(0, 0, 1)),
    "tilt_screw.receiver_x": dict(receiver=(1, 0, 0)), "tilt_screw.receiver_z": dict(receiver=(0, 0, 1)),
    "heel.ball_height": dict(balls=(0, 0, 1)), "heel.ball_depth": dict(balls=(-1, 0, 0)),
    "tongue.gap": dict(balls=(0, 0, -1), receiver=(0, 0, -1)),
    "tilt_screw.set": dict(tilt=1), "pivot.set_bass": dict(bass=1), "pivot.set_treble": dict(treble=1),
    "pivot.pitch": dict(pitch_pivot=1), "tilt_screw.pitch": dict(pitch_tilt=1), "heel.yaw": dict(yaw=1),
}
MIX = {"pivot.x": 0.3, "pivot.z": -0.4, "tilt_screw.head_x": 0.25, "tilt_screw.receiver_x": -0.2, "tilt_screw.receiver_z": 0.3,
       "heel.ball_height": 0.2, "heel.ball_depth": -0.35, "tilt_screw.set": 0.1, "pivot.set_bass": -0.07, "pivot.pitch": 0.01,
       "tilt_screw.pitch": -0.02, "tilt_screw.head_z": 0.2}


def solved(d, errors, turns):
    """The neck on its contacts, every wrong part moved by itself; points of the neck are those of the design."""
    off = {k: sum((np.asarray(MOVED[n].get(k, 0.0)) * e for n, e in errors.items()), 0.0)
           for k in ("seats", "head", "balls", "receiver", "tilt", "bass", "treble", "pitch_pivot", "pitch_tilt", "yaw")}
    t = {k: turns[k] + off[k] for k in TURNS}
    pitch = d.pitch_pivot + off["pitch_pivot"]
    middle, head, receiver = (np.array((x, 0.0, z)) for x, z in (
        (d.x_p, d.z_p), (d.x_head, d.z_head), (d.x_receiver, d.z_receiver)))
    thread = head - receiver
    length = np.linalg.norm(thread) + (d.pitch_tilt + off["pitch_tilt"]) * t["tilt"]
    side = np.array([0, d.spacing / 2, 0])
    line = np.array([np.sin(off["yaw"]), np.cos(off["yaw"]), 0]) * d.spacing / 2
    balls, seats = middle + off["balls"], middle + off["seats"]
    seat_b, seat_t = seats - side - [pitch * t["bass"], 0, 0], seats + side - [pitch * t["treble"], 0, 0]
    along = tuple(seat_t - seat_b)
    held = [ball_in_vee("bass", ball=tuple(balls - line), seat=tuple(seat_b), along=along, across=(0.0, 0.0, 1.0)),
            ball_in_vee("treble", ball=tuple(balls + line), seat=tuple(seat_b), along=along, across=(0.0, 0.0, 1.0)),
            ball_on_flat("middle", ball=tuple(balls), point=tuple((seat_b + seat_t) / 2), normal=along)]
    head, receiver = head + off["head"], receiver + off["receiver"]
    if d.receiver == "dowel across":
        screw = link("screw", receiver=tuple(receiver), head=tuple(head), length=length)
    else:
        screw = screw_to_plane("screw", receiver=tuple(receiver), thread=tuple(thread), length=length, point=tuple(head),
                               normal=(1.0, 0.0, 0.0))
    found = Contacts.of([*held, screw], reference=tuple(balls)).solve(tolerance=1e-12)
    assert found.converged.all(), str(found)
    return found.pose


def spreads_of(*names):
    return Spreads({n: Spread.plus_minus(0.2, unit=unit_of(n)) for n in names})


def joint(receiver):
    d = lg.load("slack_water").dimensions()
    # A screw that does not lie level tells a thread's direction from a hole's height.
    return d.replaced(receiver=receiver, z_receiver=d.z_receiver + 2.0, joint_fret_x=-2.0)


def check(d, errors, turns, room):
    s = spreads_of(*errors)
    built, off = s.built(d, np.array(list(errors.values())))
    p, found = pose(built, **{k: turns[k] + off[k] for k in TURNS}), solved(d, errors, turns)
    ca, sa = np.cos(d.alpha), np.sin(d.alpha)
    for xn, yn, zn in ((-360.0, -20.0, 0.0), (90.0, 25.0, -1.0), (0.0, 0.0, 3.0)):  # nut, last fret, over the joint
        want = found.point([xn * ca - zn * sa, yn, d.z_joint + xn * sa + zn * ca])
        np.testing.assert_allclose(np.array(p.to_body(xn, yn, zn)), want, atol=room)
    want = found.point([-d.floor_clearance, 11.0, d.foot_z])
    got = heel_point(x_face=-built.floor_clearance, y_face=11.0, z_face=built.foot_z, **p.turned)
    np.testing.assert_allclose([got.x, got.y, got.z], want, atol=room)
    # A point of the underside 1.2 mm over the soundboard's level.
    want = found.point([80.0, 20.0, 1.2])
    got = heel_point(x_face=80.0, y_face=20.0, z_face=1.2 + built.gap_joint - d.gap_joint, **p.turned)
    np.testing.assert_allclose([got.x, got.y, got.z], want, atol=room)


@pytest.mark.parametrize("receiver", ["dowel across", "rod along"])
@pytest.mark.parametrize("name", [n for n in MOVED if n != "heel.yaw"])
def test_a_wrong_part_against_the_contact_solver(name, receiver):
    for size in (0.4, -0.25):
        size *= 0.1 if "pitch" in name else 1.0
        check(joint(receiver), {name: size}, TURNED, 1e-9)


@pytest.mark.parametrize("receiver", ["dowel across", "rod along"])
def test_all_of_them_at_once(receiver):
    check(joint(receiver), MIX, TURNED, 1e-9)


def test_balls_out_of_line_steer():
    d = joint("dowel across")
    # A roll of yaw times tilt is left out; steering by itself tilts the neck by a hair.
    check(d, {"heel.yaw": 0.01}, dict.fromkeys(TURNS, 0.0), 1e-5)
    check(d, {"heel.yaw": 0.01}, TURNED, 0.02)
    built, off = spreads_of("heel.yaw").built(d, [0.005])
    assert pose(built, **off).psi == pytest.approx(0.005, abs=1e-15)  # nut to the bass side
    assert off["treble"] == -off["bass"] > 0


def test_a_head_too_deep_is_a_turn_too_few():
    """With a level screw in a plane with its arm the two are the same to second order."""
    d = lg.load("slack_water").dimensions()
    built, off = spreads_of("tilt_screw.head_x").built(d, [0.1])
    assert off["tilt"] == pytest.approx(-0.1 / d.pitch_tilt)
    assert pose(built, **off).theta == pytest.approx(float(pose(d, tilt=-0.1).theta), rel=2e-3)
    # The dimension by itself keeps the meaning of the pose: no turn is no tilt.
    assert pose(spreads_of("x_head").moved(d, [0.1])).theta == 0


NOT_AS_DESIGNED = {  # one number of the design moves all that hangs on it, one wrong cut does not
    "pivot.x", "pivot.z", "tilt_screw.head_x", "tilt_screw.head_z", "tilt_screw.receiver_x", "tilt_screw.receiver_z",
    "tongue.wood", "tongue.gap", "strings.scale", "board.joint_fret_x"}


@pytest.mark.parametrize("name", sorted(set(SOURCES) & set(number_fields()) - NOT_AS_DESIGNED))
@pytest.mark.parametrize("shape", ["line", "radius"])
def test_where_design_and_bench_agree(name, shape):
    """A field that only one thing hangs on: the design with the other number is the joint built wrong by that much."""
    if shape == "radius" and "fall_away" not in name:
        return
    design = lg.load("cross_tide")
    design = design.model_copy(update={"board": design.board.model_copy(update={
        "fall_away": design.board.fall_away.model_copy(update={"shape": shape, "drop": 0.4})})})
    d = design.dimensions()
    part, _, field = name.partition(".")
    error = {"body.dome_radius": 300.0, "neck.angle": 0.003, "heel.draught": 0.02}.get(name, 0.11)
    value = design
    for step in name.split("."):
        value = getattr(value, step)
    new = [v + error for v in value] if isinstance(value, list) else value + error
    if "." in field:
        inner, field = field.split(".")
        one = getattr(design.board, inner).model_copy(update={field: new})
        field, new = inner, one
    want = from_design(design.model_copy(update={part: getattr(design, part).model_copy(update={field: new})}))
    s = spreads_of(name)
    got, off = s.built(d, np.full(len(s.variables(d)), error))
    assert off == dict.fromkeys(TURNS, 0.0)
    for f in FIELDS:
        np.testing.assert_allclose(getattr(got, f), getattr(want, f), rtol=1e-12, atol=1e-15, err_msg=f)


def test_rows_that_stack_at_the_joint():
    d = lg.load("slack_water").dimensions()
    for name, z, gap in (("board.thickness", 0.1, 0.0), ("board.crown", 0.1, 0.0), ("tongue.wood", 0.0, -0.1),
                         ("tongue.gap", 0.1, 0.1)):
        got, off = spreads_of(name).built(d, [0.1])
        assert got.z_joint - d.z_joint == pytest.approx(z) and got.gap_joint - d.gap_joint == pytest.approx(gap)
        assert (got.z_p, got.x_head, got.z_receiver, off) == (d.z_p, d.x_head, d.z_receiver, dict.fromkeys(TURNS, 0.0))
    frets, _ = spreads_of("strings.scale").built(d, [1.0])
    assert frets.scale == d.scale + 1 and np.all(frets.x_saddle == d.x_saddle)  # the bridge is glued where the plan has it


@pytest.mark.parametrize("name", ["slack_water", "cross_tide"])
def test_slopes_of_the_joint_as_built(name):
    """Every source at once, away from the nominal; differences only here."""
    design = lg.load(name)
    for d in (design.dimensions().replaced(draught=0.05, fall_away_line=0.004),
              design.dimensions().replaced(fall_away_curvature=1e-4, z_receiver=design.dimensions().z_receiver + 2)):
        names = [*SOURCES, "z_head", "x_receiver", "curvature", "spacing"]
        s = Spreads({n: Spread.plus_minus(0.1, unit=unit_of(n)) for n in names})
        rng = np.random.default_rng(3)
        variables = s.variables(d)
        scale = np.array([{"body.dome_radius": 100.0, "curvature": 1e-6, "heel.yaw": 0.01}.get(v.name, 0.1) for v in variables])
        at = rng.uniform(-1, 1, len(variables)) * scale
        h = 1e-4 * scale
        steps = at[:, None] + np.concatenate([np.diag(h), -np.diag(h)], axis=1)
        built, off = s.built(d, steps)
        n = len(variables)
        for i, (fields, turns) in enumerate(s.pushed(d, at)):
            for f in (*FIELDS, *TURNS):
                value = np.asarray(off[f] if f in TURNS else getattr(built, f), dtype=float)
                value = np.broadcast_to(value[:, None] if f in PER_STRING and value.ndim == 1 else value,
                                        (*((d.strings,) if f in PER_STRING else ()), 2 * n))
                want = (value[..., i] - value[..., n + i]) / (2 * h[i])
                got = np.asarray((turns if f in TURNS else fields).get(f, 0.0))
                unit = abs(value[..., 0]).max() / scale[i] if value.size else 1.0
                np.testing.assert_allclose(got, want, rtol=2e-6, atol=2e-9 * max(1.0, unit), err_msg=f"{variables[i].name} {f}")


def test_batches_are_single_joints_in_a_row():
    d = lg.load("cross_tide").dimensions()
    s = spreads_of(*MIX, "strings.saddle_heights", "strings.nut_spread", "strings.bridge_shift", "board.thickness")
    x = s.draw(d, np.random.default_rng(1).uniform(size=(len(s.variables(d)), 4)))
    many, off = s.built(d, x)
    heights = action(pose(many, **off), 12)
    for k in range(4):
        one, turns = s.built(d, x[:, k])
        assert action(pose(one, **turns), 12)[:, 0] == pytest.approx(heights[:, 0, k], abs=1e-12)


def test_no_error_is_the_joint_as_designed():
    for name in ("slack_water", "long_reach", "cross_tide", "flat_calm"):
        d = lg.load(name).dimensions()
        s = spreads_of(*SOURCES)
        got, off = s.built(d, np.zeros(len(s.variables(d))))
        assert off == dict.fromkeys(TURNS, 0.0)
        for f in FIELDS:
            np.testing.assert_allclose(getattr(got, f), getattr(d, f), rtol=1e-14, err_msg=f)


def test_the_table():
    said = table()
    for name, source in SOURCES.items():
        assert name in said and source.why
        assert unit_of(name) in {"mm", "rad", "turn"}
        for target in source.moves:
            assert target in FIELDS or target in TURNS or target in STEPS
    assert set(BENCH) <= set(SOURCES)
    assert "moves no reading: " in said and "woods.moisture" in said.split("moves no reading: ")[1]
    with pytest.raises(dataclasses.FrozenInstanceError):
        SOURCES["pivot.x"].why = ""
    assert parse_spread("± 1/16 turn", "tilt_screw.set").half == 1 / 16
    assert parse_spread("± 0.2 deg", "heel.yaw").half == pytest.approx(np.radians(0.2))
