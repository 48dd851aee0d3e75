"""Readings at a pose against independent computation: points in space, a fine mesh, shapely, finite differences."""

import math

import numpy as np
import pytest
from shapely import affinity
from shapely.geometry import LineString, Point, Polygon

import lutherie_geom as lg
from lutherie_geom.design import names
from lutherie_geom.joint.body import gap, heel_fit, least_gap, taper_of
from lutherie_geom.joint.coupling import action_slopes, coupling, turns_for
from lutherie_geom.joint.neck_set import angle_for, saddles_for, straightedge_at_bridge
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.strings import action, buzz, lever, open_length, string_lines, string_places
from lutherie_geom.joint.travel import travel

TURNS = dict(tilt=0.3, bass=0.1, treble=-0.15)


@pytest.fixture(params=names(), scope="module")
def design(request):
    return lg.load(request.param)


def crown_by_hand(d, fret, y):
    """Crown's height over the fret plane, written again from the definitions: arc, relief between fret 1 and the joint."""
    def place(n):
        return d.joint_fret_x + d.scale * (2 ** (-d.joint_fret / 12) - 2 ** (-n / 12))

    x = place(fret)
    v = (x - place(1)) / (place(d.joint_fret) - place(1))
    dip = 4 * d.relief * v * (1 - v) if 0 < v < 1 else 0.0
    part = (x - d.x_nut) / (place(d.last_fret) - d.x_nut)
    radius = d.radius_nut + (d.radius_last - d.radius_nut) * part
    return math.sqrt(radius**2 - y**2) - radius - dip, x


def test_action_is_the_distance_from_crown_to_string_in_space(design):
    p = design.pose(**TURNS)
    d, lines = p.of, string_lines(p)
    found, places = action(p, [1, 7, d.last_fret]), string_places(p, [1, 7, d.last_fret])
    for i in range(d.strings):
        nut = np.array(p.to_body(lines.x_nut, lines.y_nut[i], lines.z_nut[i]))
        r = 0.0 if d.curvature == 0 else 1 / d.curvature
        dome = 0.0 if r == 0 else (math.sqrt(r**2 - (d.x_saddle[i] - d.x_apex) ** 2 - d.y_saddle[i] ** 2)
                                   - math.sqrt(r**2 - d.x_apex**2))
        saddle = np.array([d.x_saddle[i], d.y_saddle[i], dome + d.h_saddle[i]])
        for k, fret in enumerate((1, 7, d.last_fret)):
            z, x = crown_by_hand(d, fret, places[i, k])
            foot = np.array(p.to_body(x, places[i, k], z))
            top = np.array(p.to_body(x, places[i, k], z + found[i, k]))
            along = (saddle - nut) / np.linalg.norm(saddle - nut)
            assert np.linalg.norm(np.cross(top - nut, along)) < 1e-8  # the end of the action lies on the string
            assert np.linalg.norm(top - foot) == pytest.approx(abs(found[i, k]), abs=1e-9)


def test_no_turn_is_no_change(design):
    p = design.pose()
    assert (p.theta, p.psi, p.advance) == (0, 0, 0)
    np.testing.assert_allclose(gap(p, np.array([0.0, 30.0]), np.array([0.0, 10.0]))[0], design.tongue.gap, atol=1e-12)


def test_left_handed_twin_reads_the_same(design):
    twin = design.model_copy(update={"handed": "left" if design.handed == "right" else "right"})
    np.testing.assert_array_equal(action(design.pose(**TURNS), [1, 12]), action(twin.pose(**TURNS), [1, 12]))


def test_mirrored_joint_reads_mirrored(design):
    d = design.dimensions()
    mirror = d.replaced(h_nut=d.h_nut[::-1], h_saddle=d.h_saddle[::-1], x_saddle=d.x_saddle[::-1])
    a = action(pose(d, tilt=0.2, bass=0.1, treble=-0.3), [1, 12])
    b = action(pose(mirror, tilt=0.2, bass=-0.3, treble=0.1), [1, 12])
    np.testing.assert_allclose(a, b[::-1], atol=1e-11)


def test_broadcasts_over_turns_and_over_designs(design):
    d = design.dimensions()
    turns = np.linspace(-0.3, 0.3, 5)
    depth = np.linspace(-24.0, -18.0, 5)
    many = d.replaced(z_p=depth)
    a, g, f = (action(pose(many, tilt=turns), [1, 12]), least_gap(pose(many, tilt=turns)).gap,
               heel_fit(pose(many, tilt=turns)).floor)
    for k in range(5):
        one = pose(d.replaced(z_p=depth[k]), tilt=turns[k])
        np.testing.assert_allclose(a[..., k], action(one, [1, 12]), atol=1e-12)
        assert g[k] == pytest.approx(least_gap(one).gap, abs=1e-9)
        np.testing.assert_allclose(f[..., k], heel_fit(one).floor, atol=1e-12)


def test_buzz_against_every_pair_by_hand():
    p = lg.load("flat_calm").pose(tilt=-0.3)
    d, lines, z = p.of, string_lines(p), buzz(p)
    places = string_places(p, np.arange(1, d.last_fret + 1))
    i, n = 4, 5
    z_n, x_n = crown_by_hand(d, n, places[i, n - 1])
    least = []
    for m in range(n + 1, d.last_fret + 1):
        x = crown_by_hand(d, m, 0.0)[1]
        part = (x - x_n) / (lines.xn_saddle[i] - x_n)
        y = places[i, n - 1] + part * (lines.yn_saddle[i] - places[i, n - 1])
        least.append(z_n + part * (lines.zn_saddle[i] - z_n) - crown_by_hand(d, m, y)[0])
    assert z.clearance[i, n] == pytest.approx(min(least), abs=1e-10)
    assert z.over_fret[i, n] == n + 1 + int(np.argmin(least))


def test_least_gap_against_a_fine_mesh(design):
    p = design.pose(tilt=0.4, bass=0.2, treble=-0.2)
    d = p.of
    x, y = np.meshgrid(np.linspace(0, d.tongue_length, 901), np.linspace(-0.5, 0.5, 401) * d.tongue_width, indexing="ij")
    assert float(least_gap(p).gap) == pytest.approx(float(gap(p, x, y).min()), abs=1e-4)


def test_taper_is_the_least_squares_plane(design):
    d = design.dimensions()
    x, y = np.meshgrid((np.arange(400) + 0.5) / 400 * d.tongue_length, ((np.arange(200) + 0.5) / 200 - 0.5) * d.tongue_width)
    from lutherie_geom.joint.body import soundboard

    z = soundboard(d, x, y) + 0 * x
    fit = np.linalg.lstsq(np.c_[np.ones(x.size), x.ravel(), y.ravel()], z.ravel(), rcond=None)[0]
    assert taper_of(d).slope == pytest.approx(fit[1], abs=1e-7)


def test_heel_side_view_against_shapely(design):
    p = design.pose(tilt=0.5)
    d = p.of
    face = LineString([(-d.floor_clearance, 0.0), (-d.floor_clearance, d.foot_z)])
    turned = affinity.rotate(face, -math.degrees(float(p.theta)), origin=Point(d.x_p, d.z_p))
    assert heel_fit(p, heights=2).floor.min() == pytest.approx(-max(x for x, _ in turned.coords), abs=1e-9)
    inside = Polygon([(-d.pocket, -200), (0, -200), (0, 50), (-d.pocket, 50)])
    assert inside.buffer(1e-9).covers(turned) == bool((heel_fit(p, 2).floor >= 0).all() and (heel_fit(p, 2).reveal >= 0).all())


def test_slopes_against_differences(design):
    p = design.pose(**TURNS)
    s, h = action_slopes(p, 12), 1e-6
    for screw in ("tilt", "bass", "treble"):
        up, down = (pose(p.of, **{**TURNS, screw: TURNS[screw] + e}) for e in (h, -h))
        np.testing.assert_allclose(s[screw][:, 0], ((action(up, 12) - action(down, 12)) / (2 * h))[:, 0], rtol=1e-6, atol=1e-7)
    for name in ("z_p", "x_p", "alpha", "x_head", "pitch_tilt"):
        v = getattr(p.of, name)
        up, down = (pose(p.of.replaced(**{name: v + e}), **TURNS) for e in (h, -h))
        np.testing.assert_allclose(s[name][:, 0], ((action(up, 12) - action(down, 12)) / (2 * h))[:, 0], rtol=1e-5, atol=1e-7)


def test_coupling_and_what_to_turn(design):
    d = design.dimensions()
    c = coupling(pose(d))
    np.testing.assert_allclose(c.motion @ c.inverse, np.eye(3), atol=1e-12)
    want = turns_for(d, action_change=-0.2, sideways=0.7)
    p, q = pose(d), pose(d, tilt=want.tilt, bass=want.bass, treble=want.treble)
    assert (action(q, 12) - action(p, 12)).mean() == pytest.approx(-0.2, abs=1e-10)
    assert q.to_body(d.x_nut, 0.0, 0.0).y - p.to_body(d.x_nut, 0.0, 0.0).y == pytest.approx(0.7, abs=1e-10)


def test_neck_set_undoes_itself(design):
    d = design.dimensions()
    wanted = np.linspace(2.3, 1.7, d.strings)
    h = saddles_for(d.replaced(h_saddle=np.full(d.strings, 10.0)), wanted, 12)
    np.testing.assert_allclose(action(pose(d.replaced(h_saddle=h)), 12)[:, 0], wanted, atol=1e-12)
    assert angle_for(d.replaced(h_saddle=h, alpha=0.0), wanted, 12) == pytest.approx(d.alpha, abs=1e-12)


def test_straightedge_in_space(design):
    d = design.dimensions()
    p = pose(d)
    x = float(np.mean(d.x_saddle))
    a, b = (np.array(p.to_body(xn, 0.0, 0.0)) for xn in (d.x_fret(1), d.x_fret(d.joint_fret)))
    z = a[2] + (b - a)[2] / (b - a)[0] * (x - a[0])
    r = 0.0 if d.curvature == 0 else 1 / d.curvature
    dome = 0.0 if r == 0 else math.sqrt(r**2 - (x - d.x_apex) ** 2) - math.sqrt(r**2 - d.x_apex**2)
    assert straightedge_at_bridge(d) == pytest.approx(z - dome, abs=1e-8)


def test_length_falls_by_the_lever_arm_for_each_radian(design):
    h = 1e-5
    up, down = design.pose(tilt=h), design.pose(tilt=-h)
    rate = (open_length(up) - open_length(down)) / (up.theta - down.theta)
    # The lever is read from the side; the strings' spread changes the rate by less than one part in a thousand.
    np.testing.assert_allclose(rate, -lever(design.pose()), rtol=1e-3)


def test_travel_ends_where_the_margin_is_zero(design):
    t = travel(design)
    for stop in t.stops:
        if stop.turn is None:
            continue
        inner, outer = (design.pose(tilt=stop.turn - stop.direction * e) for e in (1e-6, -1e-6))
        if stop.name == "tongue":
            assert least_gap(inner).gap * least_gap(outer).gap < 0
        if stop.name == "pocket":
            assert heel_fit(inner).reveal.min() * heel_fit(outer).reveal.min() < 0
        if stop.name == "first touch":
            frets = np.arange(1, design.board.last_fret + 1)
            assert action(inner, frets).min() > 0 > action(outer, frets).min()


def test_facts_of_the_trade(design):
    """Common practice, no source: raising the action brings the tongue's far end down first and the foot out; lowering
    opens the gap; the string at fret 12 moves by about half of what the saddle moves."""
    up, down = design.pose(tilt=0.1), design.pose(tilt=-0.1)
    assert least_gap(up).gap < least_gap(design.pose()).gap and least_gap(up).x == pytest.approx(design.tongue.length)
    assert heel_fit(up).floor[-1].min() > heel_fit(design.pose()).floor[-1].min()
    far = gap(down, np.array(design.tongue.length), np.array(0.0))
    assert far > gap(design.pose(), np.array(design.tongue.length), np.array(0.0))
    assert action_slopes(design.pose(), 12)["h_saddle"] == pytest.approx(0.5, abs=0.01)


DIMENSIONS = sorted(set(vars(lg.load("slack_water").dimensions())) - {"receiver", "joint_fret", "last_fret"})


@pytest.mark.parametrize("name", DIMENSIONS)
def test_any_dimension_may_be_sampled(name):
    """Each dimension alone as a batch gives what its samples give one by one."""
    d = lg.load("slack_water").dimensions()
    value = np.asarray(getattr(d, name))
    samples = np.stack([value * 1.001, value], axis=-1)
    p = pose(d.replaced(**{name: samples}), **TURNS)
    for k in range(2):
        one = pose(d.replaced(**{name: samples[..., k]}), **TURNS)
        for reading in (lambda q: action(q, [1, 12]), lambda q: buzz(q).clearance, lambda q: least_gap(q).gap,
                        lambda q: heel_fit(q).side, lambda q: taper_of(q.of).slope, open_length):
            many = np.broadcast_to(reading(p), (*np.shape(reading(one)), 2))[..., k]  # one sample if it does not vary
            np.testing.assert_allclose(many, reading(one), atol=1e-9)
        slope = action_slopes(p, 12)["z_joint"]
        np.testing.assert_allclose(np.broadcast_to(slope, (d.strings, 1, 2))[..., k], action_slopes(one, 12)["z_joint"],
                                   atol=1e-9)


def test_gap_against_a_geometry_library():
    """Side view on the centreline with shapely: the top a circle of many sides, the tongue turned about the pivot."""
    p = lg.load("slack_water").pose(tilt=0.4)
    d, radius = p.of, 1 / p.of.curvature
    below = math.sqrt(radius**2 - d.x_apex**2)
    top = Point(d.x_apex, -below).buffer(radius, quad_segs=50_000).exterior
    for x in (0.0, 30.0, d.tongue_length):
        over = LineString([(x, -200), (x, 200)]).intersection(top)
        under = Point(x, over.y + d.gap_joint)
        turned = affinity.rotate(under, -math.degrees(float(p.theta)), origin=Point(d.x_p, d.z_p))
        found = LineString([(turned.x, -200), (turned.x, 200)]).intersection(top)
        assert float(gap(p, np.array(x), np.array(0.0))) == pytest.approx(turned.y - found.y, abs=1e-5)
