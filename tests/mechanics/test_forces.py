"""Reports of the forces: loads of handling asked each way, reversal, spring and cover, over the travel, no loads at all."""

from __future__ import annotations

import math

import numpy as np
import pytest

import lutherie_geom as lg
from lutherie_geom.design.carried import Load
from lutherie_geom.design.load import names
from lutherie_geom.joint.pose import arm
from lutherie_geom.mechanics.forces import forces, over_travel
from lutherie_geom.mechanics.friction import reversal, spring_and_cover
from lutherie_geom.mechanics.loads import load_wrench
from lutherie_geom.mechanics.margins import forces_of, margins
from lutherie_geom.mechanics.pull import string_pull
from lutherie_geom.mechanics.readings import load_readings
from lutherie_geom.mechanics.statics import balance, joint_of, load_wrenches
from lutherie_geom.show import book_forces
from lutherie_geom.theory.statics import reversing_load


def part_as(design, part, **changed):
    return design.model_copy(update={part: getattr(design, part).model_copy(update=changed)})


def test_reversal_by_rule_and_by_balance():
    d = lg.load("slack_water")
    light = part_as(d, "headstock", neck_mass=0.1)
    p = light.pose()
    j = joint_of(light, p)
    load = Load(name="back", push="50 N", direction="back")
    strings = string_pull(light).wrench
    push = load_wrench(light, p, load) - load_wrench(light, p, load.model_copy(update={"push": 0.0}))
    before, under = balance(j, strings).tilt, balance(j, strings + push).tilt
    found = reversal(light, load, before, under)
    rule = reversing_load(screw_force=before, arm=float(arm(p.of)), reach=float(push[4] / -50))
    assert found.at == pytest.approx(float(rule), rel=1e-9)
    assert balance(j, strings + push * found.at / 50).tilt == pytest.approx(0, abs=1e-8)
    assert math.isinf(reversal(light, load.model_copy(update={"direction": "forward"}), before, 2 * before).at)


def test_spring_and_cover():
    d = lg.load("slack_water")  # 40 N push, 60 N/mm, 1.5 mm of room
    moved, cover = spring_and_cover(d, np.array([400.0, 0, -40, -70, -130, -200]))
    np.testing.assert_allclose(moved, [0, 0, 0, 0.5, 1.5, 1.5])
    np.testing.assert_allclose(cover, [40, 40, 40, 70, 130, 200])
    none = part_as(d, "tilt_screw", spring_push=0.0, spring_rate=0.0)
    moved, cover = spring_and_cover(none, np.array([10.0, -10.0]))
    np.testing.assert_allclose(moved, [0, 1.5])
    np.testing.assert_allclose(cover, [0, 10])


def test_reversal_tells_no_rounding_and_nothing_past_what_a_file_takes():
    d = lg.load("slack_water")
    # A push square to the moment that the screw answers changes its force by rounding alone.
    for turn in (0.497, -0.3, 0.123):
        assert [r.load for r in forces(d, d.pose(tilt=turn)).reversals] == ["pushed back"]
    hand = Load(name="hand", push="50 N")
    assert reversal(d, hand, 400.0, 400.0 - 7.0).at == pytest.approx(400 / 7 * 50)
    assert math.isinf(reversal(d, hand, 400.0, 400.0 - 6.0).at), "3333 N: more than a design file takes"
    assert math.isinf(reversal(d, hand, 400.0, 400.0 - 1e-8).at)


def test_the_head_leaves_its_face_when_the_screw_pushes_as_hard_as_the_spring():
    d = lg.load("slack_water")
    found = next(r for r in forces(d).reversals if r.load == "pushed back")
    for size, tilt in ((found.at, 0.0), (found.head_leaves, -d.tilt_screw.spring_push)):
        push = Load(name="hand", push=f"{float(size)} N")
        assert balance(joint_of(d), load_wrenches(d, d.pose(), [push])[0]).tilt == pytest.approx(tilt, abs=1e-8)
    assert f"leaves its face at {found.head_leaves:.0f} N" in str(forces(d))
    # Over the travel the strings pull least at the low end: there a hand reverses the screw first.
    o = over_travel(d, steps=5)
    load, at, leaves = o.reversal
    low = next(r for r in forces(d, d.pose(tilt=o.turns[0])).reversals if r.load == "pushed back")
    assert (load, at, leaves) == ("pushed back", pytest.approx(low.at), pytest.approx(low.head_leaves)) and at < found.at - 2
    assert o.cover[0] == pytest.approx(max(r.cover for r in forces(d, d.pose(tilt=o.turns[0])).rows)) and o.cover.argmax() == 0


def test_report():
    for name in ("slack_water", "long_reach"):
        d = lg.load(name)
        f = forces(d)
        assert [r.least_clamp for r in f.rows] == sorted((r.least_clamp for r in f.rows), reverse=True)
        assert len(f.rows) == len(d.loads) and f.worst.load == "pushed to the bass"
        assert f.worst.verdict.ok and f.worst.least_clamp > f.worst.least_clamp_axial > 0
        text = str(f)
        assert "eye protection" in text and "Worst" in text and "from memory" in text and "left out" in text
    slack = forces(part_as(lg.load("slack_water"), "clamp", preload=200.0))
    assert not slack.worst.verdict.ok and "clamp.preload" in str(slack)
    with pytest.raises(ValueError, match="reads one pose"):
        forces(d, d.pose(tilt=np.zeros(2)))


def test_a_sideways_load_is_asked_both_ways():
    d = lg.load("slack_water")
    aside = d.model_copy(update={"loads": [Load(name="knock", push="50 N", direction="sideways")]})
    both = {r.load: r.least_clamp for r in forces(aside).rows}
    listed = {r.load: r.least_clamp for r in forces(d).rows}
    assert both == {f"knock, {way}": pytest.approx(listed[f"pushed {way}"]) for way in ("to the bass", "to the treble")}
    assert len(forces_of(aside).cases) == 3 and over_travel(aside).loaded.shape == (2, 9)
    # On any joint the side that asks more is the one reported, whichever it is.
    for name in names():
        assert forces(lg.load(name)).worst.least_clamp == max(r.least_clamp for r in forces(lg.load(name)).rows)
    with pytest.raises(ValueError, match="allowed is 0 to 3000 N"):
        Load.model_validate({"name": "x", "push": "-50 N"})


def test_loads_that_every_neck_meets():
    """The list, and what two of them ask by moments on paper: the balls' middle, the screw 60 mm under it."""
    d = lg.load("slack_water")
    rows = {r.load: r for r in forces(d).rows}
    assert len(rows) == 9 and [load.strings for load in d.loads].count("off") == 2
    x = d.pose().of
    half, end = (float(x.x_p - at) for at in ((x.x_nut + x.joint_fret_x) / 2, x.x_nut - d.headstock.length))
    weight, whole = 0.7 * 9.80665, 2.1 * 9.80665
    slope = math.cos(float(x.alpha))  # the neck leans by its angle; the arms above are along it
    assert rows["strings off, lying on its back"].tilt == pytest.approx(-weight * half / 60, rel=5e-3)
    lifted = rows["strings off, lifted by the neck, face down, with a jerk"]
    assert lifted.tilt == pytest.approx(-2 * (whole - weight) * half * slope / 60, rel=5e-3)
    assert lifted.cover == pytest.approx(-lifted.tilt) and lifted.cover > rows["pushed back"].cover, "the cover's case"
    level = rows["lying face down"].tilt - float(forces(d).rest.tilt)
    assert level == pytest.approx(weight * half / 60, rel=5e-3)
    off = forces(d).off
    assert off.cover == pytest.approx((50 * end + weight * half) / 60, rel=5e-3)
    # What is told in the caution is what the same push asks as a load of the list.
    hand = Load(name="hand", push="50 N", direction="sideways", strings="off")
    asked = forces(d.model_copy(update={"loads": [hand]})).worst.least_clamp
    assert off.clamp == pytest.approx(asked) and off.clamp > 1.5 * d.clamp.preload
    just = hand.model_copy(update={"push": off.side})
    assert forces(d.model_copy(update={"loads": [just]})).worst.least_clamp == pytest.approx(d.clamp.preload, rel=1e-6)
    assert f"{off.side:.0f} N sideways" in str(forces(d)) and f"{off.clamp:.0f} N of the" in str(forces(d))


def test_no_load_listed():
    d = lg.load("slack_water").model_copy(update={"loads": []})
    batch = d.pose(tilt=np.zeros(4))
    assert load_wrenches(d, d.pose()).shape == (0, 6) and load_wrenches(d, batch).shape == (0, 4, 6)
    f, o = forces(d), over_travel(d, steps=3)
    assert f.worst is None and f.rows == () and "No load listed" in str(f) and "no load listed" in str(o)
    assert o.loaded.shape == (0, 3) and (o.least_clamp == 0).all() and (o.cover == d.tilt_screw.spring_push).all()
    assert [x.tolist() for x in o.handled] == [o.tilt.tolist()] * 2
    found = {r.key: r for r in load_readings(d)}
    assert "no load listed" in found["loads.clamp"].words and found["loads.clamp"].verdict is None
    assert margins(d, samples=0)["clamp.preload_left"].case == "strings at pitch"
    assert "No load" in book_forces.least_clamps(f).axes[0].get_title(loc="left")
    assert "no load" in book_forces.over_the_travel(d, o).axes[0].get_title(loc="left").replace("\n", " ")


def test_over_the_travel():
    for name in ("slack_water", "long_reach"):
        d = lg.load(name)
        found = over_travel(d, steps=5)
        one = forces(d, d.pose(tilt=found.turns[3]))
        assert found.tilt[3] == pytest.approx(float(one.rest.tilt), rel=1e-9)
        assert found.least_clamp[3] == pytest.approx(one.worst.least_clamp, rel=1e-9)
        assert found.worst == ("pushed to the bass", pytest.approx(found.least_clamp.max()))
        # Nut up, the strings run higher over the pivot: the screw's force rises with the action.
        assert (np.diff(found.tilt) > 0).all() and found.loaded.shape == (9, 5) and "travel" in str(found)
        np.testing.assert_allclose(sorted(found.loaded[:, 3]), sorted(r.tilt for r in one.rows), rtol=1e-9)
    with pytest.raises(ValueError, match="steps is 1"):
        over_travel(d, steps=1)


@pytest.mark.parametrize("name", names())
def test_one_answer_for_the_least_clamp_force(name):
    """Report, travel, margin and book: the worst over the travel is one number, and the demo designs have half as much again."""
    d = lg.load(name)
    o, f = over_travel(d, steps=3), forces_of(d)
    ends = [forces(d, d.pose(tilt=t)).worst.least_clamp for t in o.turns]
    assert o.worst[1] == pytest.approx(max(ends)) and f.needed.max() == pytest.approx(max(ends))
    clamp = next(r for r in load_readings(d) if r.key == "loads.clamp").verdict
    assert clamp.required == pytest.approx(max(ends)) and clamp.state == "good" and d.clamp.preload >= 1.5 * max(ends)
    assert f.cover.max() == pytest.approx(o.cover.max(), rel=1e-6), "spring and screw push in a row: the larger counts"
