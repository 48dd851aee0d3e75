"""Pitch: lengths by plain vectors, Hooke and Mersenne by hand, the screw's force by virtual work."""

import math

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

import lutherie_geom as lg
from lutherie_geom.design.catalogue import string_set
from lutherie_geom.design.files import data_folder
from lutherie_geom.design.load import DesignError, from_text
from lutherie_geom.joint.pitch import FREE_BEYOND_NUT, pitch_readings, strings_of

FRETS = (1, 5, 7, 12)
MODULUS = 198e3  # MPa, the middle of the catalogue's spread


def readings(design):
    return {r.key: r for r in pitch_readings(design)}


def bench(g, psi=0.0, theta=0.0, advance=0.0):
    """Nut, saddle and fret crowns of every string in the body frame, by rotation matrices and circles (cylindrical board)."""
    s, b, n = g.strings, g.board, g.count
    even = np.linspace(-0.5, 0.5, n)
    joint = s.scale * (1 - 2 ** (-b.joint_fret / 12))

    def to_body(p):
        fixed = Rotation.from_euler("Y", -g.neck.angle).apply(p) + np.array([0, 0, g.z_joint])
        pivot = np.array([g.pivot.x, 0, g.pivot.z])
        turn = Rotation.from_euler("Z", psi) * Rotation.from_euler("Y", theta)
        return turn.apply(fixed - pivot) + pivot - [advance, 0, 0]

    def arc(y):
        return -(b.radius_nut - np.sqrt(b.radius_nut**2 - y**2))

    y0 = s.nut_spread * even
    h0 = np.linspace(s.nut_height_bass, s.nut_height_treble, n)
    nut = to_body(np.column_stack([np.full(n, b.joint_fret_x - joint + s.nut_compensation), y0, h0 + arc(y0)]))
    xs = s.scale - joint + b.joint_fret_x + np.array(s.compensation)
    ys, r, c = s.saddle_spread * even, g.body.dome_radius, g.body.apex_x
    top = np.sqrt(r**2 - (xs - c) ** 2 - ys**2) - math.sqrt(r**2 - c**2)
    saddle = np.column_stack([xs, ys, top + np.array(s.saddle_heights)])

    def crown(fret):
        x = b.joint_fret_x + s.scale * (1 - 2 ** (-fret / 12)) - joint
        first = b.joint_fret_x + s.scale * (1 - 2 ** (-1 / 12)) - joint
        v = min(max((x - first) / (b.joint_fret_x - first), 0), 1)
        # Where the string passes over the fret, seen from above the board: on the straight line in the neck frame.
        back = Rotation.from_euler("Y", g.neck.angle).apply(saddle - [0, 0, g.z_joint])
        start = np.column_stack([np.full(n, b.joint_fret_x - joint + s.nut_compensation), y0])
        part = (x - start[:, 0]) / (back[:, 0] - start[:, 0])
        y = y0 + part * (back[:, 1] - y0)
        return to_body(np.column_stack([np.full(n, x), y, arc(y) - 4 * b.relief * v * (1 - v)]))

    return nut, saddle, crown


def norm(v):
    return np.linalg.norm(v, axis=1)


@pytest.fixture(params=["slack_water", "long_reach"])
def design(request):
    return lg.load(request.param)


def pull_of(g, length):
    """Mersenne by hand: T = mu (2 l f)^2."""
    return np.array([s.mass * (2 * x / 1000 * s.pitch) ** 2 for s, x in zip(string_set(g.strings.gauges), length, strict=True)])


def free_of(g):
    s = g.strings
    return np.array([FREE_BEYOND_NUT + math.hypot(s.pin_distance, h - s.pin_height) for h in s.saddle_heights])


def tone(tension, mass, length):
    """Frequency of a string [Hz]."""
    return np.sqrt(tension / mass) / (2 * length / 1000)


def test_lengths_and_pull(design):
    nut, saddle, _ = bench(design)
    r = readings(design)
    length = norm(saddle - nut)
    np.testing.assert_allclose(r["pitch.length"].value, length, atol=1e-9)
    tension = pull_of(design, length)
    np.testing.assert_allclose(r["pitch.tension"].value, tension, rtol=1e-12)
    assert r["pitch.pull"].value == pytest.approx(tension.sum())


def test_fretted_notes_by_hooke_and_mersenne(design):
    nut, saddle, crown = bench(design)
    strings = string_set(design.strings.gauges)
    mass, core = np.array([s.mass for s in strings]), np.array([s.core_diameter for s in strings])
    length = norm(saddle - nut)
    tension, whole = pull_of(design, length), length + free_of(design)
    table = readings(design)["pitch.fretted"]
    assert [c for c, _ in table.columns] == ["string", "fret 1", "fret 5", "fret 7", "fret 12"]
    found = np.array([row[1:] for row in table.value])
    for k, fret in enumerate(FRETS):
        top = crown(fret)
        vibrating, behind = norm(saddle - top), norm(top - nut)
        stretched = vibrating + behind - length
        new = tension + MODULUS * math.pi / 4 * core**2 * stretched / whole
        thinner = mass * whole / (whole + stretched)  # the same string, longer
        cents = 1200 * np.log2(tone(new, thinner, vibrating) / tone(tension, mass, length)) - 100 * fret
        np.testing.assert_allclose(found[:, k], cents, atol=1e-6)


def test_spread_of_the_modulus(design):
    """The stretch part of a fretted note scales with the modulus: 190 and 207 about 198 GPa, at most 9 in 198 of it."""
    r = readings(design)
    assert 0 < r["pitch.fretted_spread"].value < 9 / 198 * 20


@pytest.mark.parametrize("screw, turns", [("tilt", (0.125, 0, 0)), ("bass", (0, 0.125, 0)), ("treble", (0, 0, 0.125))])
def test_drift_for_an_eighth_turn(design, screw, turns):
    p = design.pose(*turns)
    nut, saddle, _ = bench(design)
    moved, _, _ = bench(design, float(p.psi), float(p.theta), float(p.advance))
    strings = string_set(design.strings.gauges)
    mass, core = np.array([s.mass for s in strings]), np.array([s.core_diameter for s in strings])
    length, new = norm(saddle - nut), norm(saddle - moved)
    tension, whole = pull_of(design, length), length + free_of(design)
    pull = tension + MODULUS * math.pi / 4 * core**2 * (new - length) / whole
    cents = 1200 * np.log2(tone(pull, mass * whole / (whole + new - length), new) / tone(tension, mass, length))
    table = readings(design)["pitch.drift"]
    k = [c for c, _ in table.columns].index(screw)
    np.testing.assert_allclose([row[k] for row in table.value], cents, atol=1e-6)


def test_action_up_slackens(design):
    """The pivot lies under the strings: nut up brings nut and saddle nearer, the pitch falls."""
    assert all(row[1] < 0 for row in readings(design)["pitch.drift"].value)


def test_screw_force_by_virtual_work(design):
    """Turning the screw by dt moves the strings' ends: T dl = F pitch dt, whatever the path of the force."""
    h = 1e-4
    tension = pull_of(design, norm(np.subtract(*bench(design)[:2])))
    ends = []
    for turn in (-h, h):
        p = design.pose(tilt=turn)
        nut, saddle, _ = bench(design, float(p.psi), float(p.theta), float(p.advance))
        ends.append(norm(saddle - nut))
    force = -(tension * (ends[1] - ends[0])).sum() / (2 * h * design.tilt_screw.pitch)
    # The rule sees each string from the side; its angle to the centreline costs a few parts in ten thousand.
    assert readings(design)["pitch.screw_force"].value == pytest.approx(force, rel=2e-3)


def test_lever_rule(design):
    r, turn = readings(design), design.pose(tilt=0.125)
    nut, saddle, _ = bench(design)
    moved, _, _ = bench(design, 0.0, float(turn.theta), 0.0)
    change = norm(saddle - moved) - norm(saddle - nut)
    rule = -np.array(r["pitch.lever"].value) * float(turn.theta)
    assert r["pitch.lever_miss"].value == pytest.approx(np.abs(change - rule).max(), abs=1e-9)
    assert r["pitch.lever_miss"].value < 0.02 * np.abs(change).max()
    # The lever by the side view's own geometry: the pivot's distance from the line nut to saddle.
    d = (saddle - nut)[:, ::2]
    v = np.array([design.pivot.x, design.pivot.z]) - nut[:, ::2]
    np.testing.assert_allclose(r["pitch.lever"].value, np.abs(d[:, 0] * v[:, 1] - d[:, 1] * v[:, 0]) / norm(d), atol=1e-9)


def test_a_set_that_does_not_fit_is_told():
    g = lg.load("slack_water")
    (only,) = pitch_readings(g.model_copy(update={"strings": g.strings.model_copy(update={"gauges": "no such set"})}))
    assert only.key == "pitch.set" and only.verdict.state == "fails" and only.verdict.cure.startswith("strings.gauges")
    s = g.strings
    five = s.model_copy(update={"compensation": s.compensation[:5], "saddle_heights": s.saddle_heights[:5]})
    (only,) = pitch_readings(g.model_copy(update={"strings": five}))
    assert "6 courses" in only.verdict.cure and "5" in only.verdict.cure


def strung_as(g, **fields):
    return g.model_copy(update={"strings": g.strings.model_copy(update=fields)})


def test_strings_sound_at_the_design_s_tuning():
    """Mersenne: at the same length the pull goes with the square of the pitch; two half tones down is 2^(-1/6)."""
    g = lg.load("slack_water")
    p, low = g.pose(), strung_as(g, tuning="lowered a whole tone")
    np.testing.assert_allclose(strings_of(low, p).tension, strings_of(g, p).tension * 2 ** (-1 / 3), rtol=1e-12)
    bass = strings_of(strung_as(g, tuning="dropped bass"), p).tension / strings_of(g, p).tension
    np.testing.assert_allclose(bass, [2 ** (-1 / 3), 1, 1, 1, 1, 1], rtol=1e-12)
    assert readings(low)["pitch.pull"].value == pytest.approx(readings(g)["pitch.pull"].value * 2 ** (-1 / 3))


def test_twelve_strings_on_six_courses():
    g = lg.load("slack_water")
    twelve = strung_as(g, gauges="evening class twelve")
    s, r = strings_of(twelve, g.pose()), readings(twelve)
    nut, saddle, _ = bench(g)
    np.testing.assert_allclose(s.length, np.repeat(norm(saddle - nut), 2), atol=1e-9)
    np.testing.assert_allclose(s.tension, pull_of(twelve, s.length), rtol=1e-12)
    np.testing.assert_allclose(s.course_tension, s.tension.reshape(6, 2).sum(axis=1))
    assert len(r["pitch.fretted"].value) == len(r["pitch.drift"].value) == 12 and len(r["pitch.lever"].value) == 6
    assert r["pitch.screw_force"].value == pytest.approx(s.course_tension @ np.array(r["pitch.lever"].value) / 60)


@pytest.mark.parametrize("gauges", ["evening class light", "evening class twelve"])
def test_a_batch_is_its_poses_one_by_one(gauges):
    """As many poses as strings: what once went wrong without a word."""
    g = strung_as(lg.load("slack_water"), gauges=gauges)
    turns = np.linspace(-0.5, 0.5, 6)
    many = strings_of(g, g.pose(tilt=turns))
    for k, turn in enumerate(turns):
        one = strings_of(g, g.pose(tilt=turn))
        for field in ("length", "free", "tension", "course_tension"):
            np.testing.assert_allclose(getattr(many, field)[:, k], getattr(one, field), rtol=1e-13)
    grid = strings_of(g, g.pose(tilt=turns, bass=np.array([[0.0], [0.1]])))
    np.testing.assert_allclose(grid.tension[:, 0], many.tension, rtol=1e-13)


def test_an_unknown_tuning_is_refused_at_load():
    text = (data_folder() / "designs" / "slack_water.toml").read_text("utf-8")
    with pytest.raises(DesignError, match=r"strings\.tuning.*did you mean standard"):
        from_text(text.replace("[strings] ", '[strings]\ntuning = "standart"\n'))
    assert from_text(text.replace("[strings] ", '[strings]\ntuning = "dropped bass"\n')).strings.tuning == "dropped bass"
