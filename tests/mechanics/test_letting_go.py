"""What lets go: motions set free against known ranks, the way to the catch against the exact travel, energy against Hooke."""

from __future__ import annotations

import math

import numpy as np
import pytest

import lutherie_geom as lg
from lutherie_geom.joint.body import heel_fit, least_gap
from lutherie_geom.joint.strings import action, open_length
from lutherie_geom.joint.travel import travel
from lutherie_geom.mechanics.letting_go import PARTS, freed, letting_go
from lutherie_geom.mechanics.pull import string_pull
from lutherie_geom.mechanics.statics import joint_of

DESIGNS = ("slack_water", "long_reach", "cross_tide", "spring_tide")


@pytest.fixture(params=DESIGNS)
def case(request):
    design = lg.load(request.param)
    return design, letting_go(design)


def test_tilt_screw_gone_until_the_tongue_catches(case):
    design, found = case
    stop = next(s for s in travel(design).stops if s.name == "tongue" and s.direction == 1)
    there = design.pose(tilt=stop.turn)
    for part in ("tilt screw", "receiver's wood"):
        f = found[part]
        assert f.free == 1 and f.caught_by == "the tongue meets the soundboard"
        assert f.tilt == pytest.approx(float(there.theta), rel=0.02)  # followed to the first order: the top's slope is left out
        assert f.yaw == pytest.approx(0, abs=1e-12)
        assert f.action == pytest.approx(float((action(there, 12) - action(design.pose(), 12)).mean()), rel=0.03)
        # Moments about the pivot axis: the strings' over the tongue's end.
        moment = float(string_pull(design).moment)
        where = float(least_gap(there).x) - design.pivot.x
        assert f.catch_force == pytest.approx(moment / where, rel=0.02)


def test_energy_given_up_against_the_exact_lengths(case):
    design, found = case
    stop = next(s for s in travel(design).stops if s.name == "tongue" and s.direction == 1)
    pull = found.pull
    shorter = open_length(design.pose()) - open_length(design.pose(tilt=stop.turn))
    stiff = pull.tension / pull.slack
    # Work of springs that let go: mean of first and last tension times the way.
    work = ((pull.tension + pull.tension - stiff * shorter) / 2 * shorter).sum()
    # To the first order: the lever grows a little as the nut rises.
    assert found["tilt screw"].released == pytest.approx(float(work), rel=0.03)
    assert 0 < found["tilt screw"].released < pull.energy.sum()


def test_nothing_moves_at_pitch_without_cover_or_clamp(case):
    _, found = case
    for part in ("glued cover", "clamp screw"):
        f = found[part]
        assert f.free == 0 and not f.motion.any() and math.isnan(f.nut_way)


def test_a_seat_gone(case):
    design, found = case
    bass, treble = found["bass seat"], found["treble seat"]
    # One ball (3 rows) and the tilt screw (1) are left: two motions.
    assert bass.free == treble.free == 2
    assert bass.yaw > 0 > treble.yaw and bass.caught_by == treble.caught_by == "the heel meets the pocket's floor"
    assert bass.nut_way == pytest.approx(treble.nut_way, rel=0.05)
    # The ball that is left stays, the other has gone in; no point of the heel's end face is past the floor.
    half = design.pivot.spacing / 2
    for f, side in ((bass, -1), (treble, 1)):
        kept, gone = (f.motion[:3] + np.cross(f.motion[3:], [0, s * half, 0]) for s in (-side, side))
        np.testing.assert_allclose(kept, 0, atol=1e-9)
        assert gone[0] > 0
        fit = heel_fit(design.pose())
        heel, pivot = design.heel, design.pivot
        widths = side * np.interp(-fit.z[:, 0], [0, -heel.foot_z], [heel.half_width_top, heel.half_width_foot])
        moved = [(f.motion[:3] + np.cross(f.motion[3:], [-heel.floor_clearance - pivot.x, y, z - pivot.z]))[0]
                 for y, z in zip(widths, fit.z[:, 0], strict=True)]
        assert max(moved) == pytest.approx(design.heel.floor_clearance, rel=1e-6)


def test_cover_gone_and_pushed_back(case):
    design, found = case
    f = found["cover gone and the neck pushed back"]
    stop = next(s for s in travel(design).stops if s.name == "floor at the foot" and s.direction == -1)
    assert f.tilt == pytest.approx(float(design.pose(tilt=stop.turn).theta), rel=0.02)
    assert f.released < 0 and math.isnan(f.catch_force)


def test_freed_motions():
    design = lg.load("slack_water")
    j = joint_of(design)
    b, t = j.seat_rows
    assert freed(np.concatenate([b, t]), string_pull(design).wrench)[0] == 1
    assert freed(b, string_pull(design).wrench)[0] == 3
    assert freed(np.concatenate([b, t, j.tilt_pull[None]]), string_pull(design).wrench)[0] == 0
    free, motion = freed(np.concatenate([b, t]), string_pull(design).wrench)
    np.testing.assert_allclose(np.concatenate([b, t]) @ motion, 0, atol=1e-9)
    assert free == 1 and string_pull(design).wrench @ motion > 0
    # A load that the rest carries drives nothing.
    assert not freed(np.concatenate([b, t]), np.array([100.0, 0, 0, 0, 0, 0]))[1].any()


def test_report_names_every_part_and_the_caution():
    found = letting_go(lg.load("slack_water"))
    text = str(found)
    assert all(part in text for part in PARTS)
    assert "Slacken all strings" in text and "eye protection" in text and "left out" in text
    with pytest.raises(ValueError, match="one pose"):
        letting_go(lg.load("slack_water"), lg.load("slack_water").pose(tilt=np.zeros(3)))


def test_twelve_strings_and_a_turned_screw():
    d = lg.load("slack_water")
    e = d.model_copy(update={"strings": d.strings.model_copy(update={"gauges": "evening class twelve"})})
    more, less = letting_go(e), letting_go(d)
    assert more["tilt screw"].catch_force > 1.3 * less["tilt screw"].catch_force
    assert more["tilt screw"].tilt == pytest.approx(less["tilt screw"].tilt, rel=1e-9)
    assert letting_go(d, d.pose(tilt=0.4))["tilt screw"].tilt < 0.6 * less["tilt screw"].tilt
