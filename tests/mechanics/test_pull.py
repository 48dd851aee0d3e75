"""The strings' pull: against hand calculation, straight geometry and virtual work."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import lutherie_geom as lg
from lutherie_geom.design.catalogue import CatalogueError, names, string_set
from lutherie_geom.design.tuning import strung, tuning_names
from lutherie_geom.joint.pose import arm, pose
from lutherie_geom.joint.strings import open_length
from lutherie_geom.mechanics.pull import pull_of, string_ends, string_pull


def strings_as(design, **changed):
    return design.model_copy(update={"strings": design.strings.model_copy(update=changed)})


def test_tension_by_hand():
    # E4: 0.3048 mm of steel at 7850 kg/m^3, 329.6276 Hz, T = mu (2 l f)^2 with l in m.
    d = lg.load("slack_water")
    found = string_pull(d)
    length = open_length(d.pose())[-1] / 1000
    assert found.tension[-1] == pytest.approx(7850 * np.pi / 4 * 0.3048e-3**2 * (2 * length * 329.6276) ** 2, rel=1e-4)
    assert found.total == pytest.approx(720, abs=15)
    # T^2 l / (2 EA), with 60 mm beyond the nut and the way to the pin stretching too.
    behind = 60 + np.hypot(14, 10.9 - 7)
    ea = 198e3 * np.pi / 4 * 0.3048**2
    assert found.energy[-1] == pytest.approx(found.tension[-1] ** 2 * (1000 * length + behind) / (2 * ea), rel=1e-9)
    assert found.slack[-1] == pytest.approx(found.tension[-1] * (1000 * length + behind) / ea, rel=1e-9)


@pytest.mark.parametrize("set_", names("string sets"))
def test_no_core_near_its_strength(set_):
    found = string_pull(strings_as(lg.load("slack_water"), gauges=set_))
    assert 0.2 < found.wire_share.min() and found.wire_share.max() < 0.8
    spec = string_set(set_)[-1]
    stress = found.tension[-1] / (np.pi / 4 * spec.core_diameter**2)
    assert found.wire_share[-1] == pytest.approx(stress / (2060 / spec.core_diameter**0.163), rel=1e-9)


def test_tunings():
    d = lg.load("slack_water")
    whole = string_pull(d).tension
    # Two half tones down: the pitch falls to 2^(-1/6), the tension to 2^(-1/3).
    lowered = string_pull(strings_as(d, tuning="lowered a whole tone")).tension
    np.testing.assert_allclose(lowered, whole * 2 ** (-1 / 3), rtol=1e-12)
    dropped = string_pull(strings_as(d, tuning="dropped bass")).tension / whole
    np.testing.assert_allclose(dropped, [2 ** (-1 / 3), 1, 1, 1, 1, 1], rtol=1e-12)
    with pytest.raises(CatalogueError, match="standard"):
        string_pull(strings_as(d, tuning="upside down"))
    assert "standard" in tuning_names()


def test_twelve_strings_on_six_courses():
    d = strings_as(lg.load("slack_water"), gauges="evening class twelve")
    found = string_pull(d)
    assert len(found.tension) == 12 and found.course == tuple(np.repeat(range(6), 2))
    assert 950 < found.total < 1150
    # Both strings of a course lie in its place: the same wrench comes from six strings that pull with the courses' sums.
    courses = found.tension.reshape(6, 2).sum(axis=1)
    np.testing.assert_allclose(pull_of(found.pose, courses).wrench, found.wrench, rtol=1e-12, atol=1e-9)
    for low, high in ((0, 1), (2, 3), (4, 5), (6, 7)):
        assert strung(d).strings[low].pitch == pytest.approx(2 * strung(d).strings[high].pitch, rel=1e-5)


def test_wrong_number_of_courses_is_refused():
    d = lg.load("slack_water")
    five = strings_as(d, compensation=d.strings.compensation[:5], saddle_heights=d.strings.saddle_heights[:5])
    with pytest.raises(CatalogueError, match="6 courses; the design has 5"):
        string_pull(five)
    with pytest.raises(ValueError, match="one value for each of the 6 strings"):
        pull_of(d.pose(), np.ones(5))


@pytest.mark.parametrize("set_", names("string sets"))
def test_every_set_is_sound(set_):
    for s in string_set(set_):
        assert s.mass > 0 and 0.2 < s.core_diameter < 0.7 and s.modulus_low < s.modulus < s.modulus_high
        if not s.wound:  # a plain string is nothing but its core
            assert s.mass == pytest.approx(7850 * np.pi / 4 * (s.core_diameter / 1000) ** 2, rel=2e-4)


def test_wrench_is_the_sum_of_the_strings():
    d = lg.load("slack_water")
    p = d.pose(tilt=0.3, bass=0.1, treble=-0.1)
    tension = np.array([90.0, 130, 110, 120, 100, 95])
    found = pull_of(p, tension)
    nut, saddle = string_ends(p)
    middle = np.array([p.of.x_p - p.advance, 0.0, p.of.z_p])
    force, moment = np.zeros(3), np.zeros(3)
    for t, a, b in zip(tension, nut.T, saddle.T, strict=True):
        f = t * (b - a) / np.linalg.norm(b - a)
        force += f
        moment += np.cross((a + b) / 2 - middle, f)  # anywhere on the line will do
    np.testing.assert_allclose(found.wrench, [*force, *moment], rtol=1e-12)
    # The resultant through its point, and a couple about its own line, say the same.
    again = np.cross(found.point - middle, found.force) + found.twist * found.direction
    np.testing.assert_allclose(again, moment, rtol=1e-9, atol=1e-6)
    assert found.point[0] == pytest.approx(0, abs=1e-12)


def test_virtual_work_of_the_lengths():
    """What the strings give while the tilt screw turns a little is what the screw takes."""
    for name in ("slack_water", "long_reach", "spring_tide"):
        d = lg.load(name)
        dims, tension = d.dimensions(), string_pull(d).tension
        step = 1e-5
        up, down = (open_length(pose(dims, tilt=s)) for s in (step, -step))
        by_hand = -(tension * (up - down)).sum() / (2 * step * dims.pitch_tilt)
        assert string_pull(d).by_virtual_work == pytest.approx(by_hand, rel=1e-6)
        assert string_pull(d).line.lever / arm(dims) * string_pull(d).total == pytest.approx(by_hand, rel=1e-3)


def test_batches_and_one_pose_agree():
    d = lg.load("flat_calm")
    tilt = np.linspace(-1, 0.7, 7)
    many = string_pull(d, d.pose(tilt=tilt, bass=0.1))
    assert many.wrench.shape == (7, 6) and many.tension.shape == (6, 7) and many.point.shape == (7, 3)
    one = string_pull(d, d.pose(tilt=tilt[2], bass=0.1))
    np.testing.assert_allclose(many.wrench[2], one.wrench, rtol=1e-12)
    np.testing.assert_allclose(many.moment[2], one.moment, rtol=1e-12)
    assert "poses" in str(many) and "eye protection" in str(one)


@settings(max_examples=30, deadline=None)
@given(st.lists(st.floats(1, 300), min_size=6, max_size=6), st.floats(0.1, 5))
def test_the_pull_is_linear_in_the_tensions(tension, times):
    p = lg.load("slack_water").pose()
    a, b = pull_of(p, np.array(tension)), pull_of(p, times * np.array(tension))
    np.testing.assert_allclose(b.wrench, times * a.wrench, rtol=1e-9, atol=1e-6)
    assert 0.999 * a.total < np.linalg.norm(a.force) <= a.total * (1 + 1e-12)
    np.testing.assert_allclose(b.line.lever, a.line.lever, rtol=1e-9)
