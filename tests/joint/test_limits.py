"""Degenerate and limit cases: each must behave, and join its neighbours without a step."""

import math
import tomllib

import numpy as np
import pytest

import lutherie_geom as lg
from lutherie_geom.design import from_text
from lutherie_geom.design.files import data_folder
from lutherie_geom.design.load import from_values
from lutherie_geom.joint.body import least_gap, soundboard, taper_of
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.reading import Readings
from lutherie_geom.joint.strings import action, string_lines
from lutherie_geom.joint.travel import travel
from lutherie_geom.joint.turning import way

TURNS = dict(tilt=0.25, bass=0.1, treble=-0.1)


def changed(name="slack_water", **changes):
    """A demo design with fields replaced: ``strings__scale="24 in"``; None removes."""
    values = tomllib.loads((data_folder() / "designs" / f"{name}.toml").read_text("utf-8"))
    for key, value in changes.items():
        *tables, last = key.split("__")
        place = values
        for t in tables:
            place = place.setdefault(t, {})
        if value is None:
            place.pop(last, None)
        else:
            place[last] = value
    return from_values(values)


def summary(d, **turns):
    p = pose(d, **(turns or TURNS))
    return np.r_[action(p, [1, 12]).ravel(), least_gap(p).gap]


def test_the_way_to_a_flat_top_has_no_step():
    d = lg.load("slack_water").dimensions()
    flat = summary(d.replaced(curvature=0.0))
    for radius in (1e7, 1e9, 1e12, 1e15):
        np.testing.assert_allclose(summary(d.replaced(curvature=1 / radius)), flat, atol=2e6 / radius + 1e-12)


@pytest.mark.parametrize("dome", ["along", "across", "sphere"])
def test_arches(dome):
    d = changed(body__dome=dome).dimensions()
    along, across = soundboard(d, 100.0, 0.0), soundboard(d, 0.0, 25.0)
    assert (along > 0) == (dome != "across") and (across < 0) == (dome != "along")
    assert np.isfinite(summary(d)).all()
    if dome == "across":
        assert taper_of(d).slope == pytest.approx(0, abs=1e-15)


def test_relief_lowers_the_crowns_between_fret_1_and_the_joint_only():
    a = action(changed(board__relief="0 mm").pose(), [1, 7, 14, 18])
    b = action(changed(board__relief="0.3 mm").pose(), [1, 7, 14, 18])
    np.testing.assert_allclose((b - a)[:, [0, 2, 3]], 0, atol=1e-12)
    assert (b - a)[:, 1] == pytest.approx(0.3, abs=0.02)


@pytest.mark.parametrize("shape", ["line", "radius"])
def test_fall_away_reaches_its_drop_at_the_last_fret(shape):
    a = action(changed().pose(), [12, 20])
    b = action(changed(board__fall_away={"shape": shape, "drop": "0.4 mm"}).pose(), [12, 20])
    np.testing.assert_allclose(b - a, np.array([[0, 0.4]] * 6), atol=1e-12)


def test_cylinder_is_a_cone_of_equal_ends_and_flat_board_is_allowed():
    d = changed(board__radius_last="406.41 mm")
    np.testing.assert_allclose(summary(d.dimensions()), summary(changed().dimensions()), atol=1e-4)
    flat = changed(board__radius_nut="flat", board__radius_last="flat")
    assert np.isfinite(summary(flat.dimensions())).all()
    np.testing.assert_array_equal(string_lines(flat.pose()).z_nut, flat.dimensions().h_nut)


def test_joint_fret_at_the_bodys_edge_moves_nut_and_saddle_together():
    a, b = changed().dimensions(), changed(board__joint_fret_x="-4.6 mm").dimensions()
    assert b.x_nut - a.x_nut == pytest.approx(-4.6) and b.x_saddle - a.x_saddle == pytest.approx(-4.6)
    assert b.x_fret(14) == pytest.approx(-4.6)


@pytest.mark.parametrize("count", [4, 5, 7, 8])
def test_four_to_eight_strings(count):
    d = changed(strings__compensation=["3 mm"] * count, strings__saddle_heights=["12 mm"] * count)
    assert action(d.pose(**TURNS), [1, 12]).shape == (count, 2)


@pytest.mark.parametrize(("joint", "last", "scale"),
                         [(12, 19, "25.4 in"), (14, 20, "22.5 in"), (13, 20, "24 in"), (14, 22, "27 in")])
def test_joints_and_scales(joint, last, scale):
    d = changed(board__joint_fret=joint, board__last_fret=last, strings__scale=scale, body__soundhole_near="130 mm",
                neck__angle=None, target={"bass": "2.4 mm", "treble": "1.8 mm"})
    a = action(d.pose(), 12)
    assert a.mean() == pytest.approx(2.1, abs=1e-9)


def test_either_neck_angle_or_saddle_heights_can_be_asked_for():
    wanted = [2.4, 2.3, 2.2, 2.1, 2.0, 1.9]
    d = changed(strings__saddle_heights=None, target={"fret": 12, "each": [f"{w} mm" for w in wanted]})
    np.testing.assert_allclose(action(d.pose(), 12)[:, 0], wanted, atol=1e-10)
    d = changed(strings__saddle_heights=None, target={"bass": "3/32 in", "treble": "5/64 in"})
    np.testing.assert_allclose(action(d.pose(), 12)[[0, -1], 0], [25.4 * 3 / 32, 25.4 * 5 / 64], atol=1e-10)


def test_millimetres_and_inches_give_the_same_joint():
    text = (data_folder() / "designs" / "slack_water.toml").read_text("utf-8")
    inches = "\n".join(
        line if '"' not in line or " mm" not in line or line.startswith(("#", "about")) else
        __import__("re").sub(r'"(-?[\d.]+) mm"', lambda m: f'"{float(m[1]) / 25.4!r} in"', line) for line in text.splitlines())
    a, b = from_text(text), from_text(inches)
    np.testing.assert_allclose(summary(a.dimensions()), summary(b.dimensions()), atol=1e-10)


def test_which_way_to_turn():
    """A right-hand screw turned clockwise moves away from the viewer; a left-hand thread and the far side each reverse it."""
    assert way("right", "soundhole", True, "pivot") == "clockwise, seen from the soundhole"
    assert way("right", "heel", True, "pivot") == "anticlockwise, seen from the heel"
    assert way("left", "soundhole", True, "pivot") == "anticlockwise, seen from the soundhole"
    # Turned clockwise, the tilt screw goes into the heel and, its head being held, draws the heel in: action down.
    assert way("right", "soundhole", False, "tilt") == "clockwise, seen from the soundhole"
    assert way("left", "soundhole", False, "tilt") == "anticlockwise, seen from the soundhole"


def test_left_hand_threads_change_words_only():
    a, b = changed(), changed(tilt_screw__hand="left", pivot__hand="left")
    np.testing.assert_array_equal(summary(a.dimensions()), summary(b.dimensions()))


def test_out_of_reach_is_not_a_number_and_travel_says_so():
    p = lg.load("spring_tide").pose(tilt=np.array([0.0, 90.0, -90.0]))
    assert np.isfinite(p.theta[0]) and np.isnan(p.theta[1:]).all()
    t = travel(changed("spring_tide", tilt_screw__pitch="4 mm"))
    assert any(s.name == "reach" for s in t.stops)


@pytest.mark.parametrize("name", ["tongue", "floor at the foot"])
def test_the_cure_cures(name):
    """What a failing verdict tells the builder to change is enough."""
    d = lg.load("spring_tide")
    t = travel(d)
    from lutherie_geom.joint.turning import _travel

    readings = Readings("", tuple(_travel(d, d.dimensions(), t)))
    r = readings["travel.raising" if name == "tongue" else "travel.lowering"]
    assert r.verdict.state == "fails"
    more = float(r.verdict.cure.split(" mm")[0].split()[-1])
    if name == "tongue":
        mended = d.model_copy(update={"tongue": d.tongue.model_copy(update={"gap": d.tongue.gap + more})})
        assert travel(mended).high >= r.verdict.required
    else:
        heel = d.heel.model_copy(update={"floor_clearance": d.heel.floor_clearance + more})
        pocket = d.pocket.model_copy(update={"depth": d.pocket.depth + more})
        assert -travel(d.model_copy(update={"heel": heel, "pocket": pocket})).low >= r.verdict.required
    assert math.isfinite(more)
