"""Forces of joints of any kind by other roads: virtual work on displaced necks, a spring by hand, the built-in joint's statics.

mm, N, turns.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

import lutherie_geom as lg
from lutherie_geom.design.joint_files import joint_from_text, joint_names, joint_text, load_joint
from lutherie_geom.design.load import names
from lutherie_geom.joint.body import heel_fit, least_gap
from lutherie_geom.joint.fights import preload_contacts
from lutherie_geom.joint.layout import lay_out, varied
from lutherie_geom.joint.own_joint import joint_of
from lutherie_geom.joint.strings import action
from lutherie_geom.joint.travel import travel
from lutherie_geom.mechanics import statics
from lutherie_geom.mechanics.layout_forces import carried_forces, lifts, screw_forces
from lutherie_geom.mechanics.loads import load_wrench
from lutherie_geom.mechanics.no_lift import least_clamp
from lutherie_geom.mechanics.pull import axis_middle, string_pull
from lutherie_geom.studies.comparing import compare
from lutherie_geom.studies.joint_page import joint_page

GUITAR = lg.load("slack_water")
ADJUSTED = [n for n in joint_names() if load_joint(n).adjusters]


@pytest.mark.parametrize("name", ADJUSTED)
def test_force_along_a_screw_by_virtual_work(name: str) -> None:
    """Turn a screw a hair: its force times its way is the work done on strings and clamps, read off the displaced neck."""
    joint, h = lay_out(name, GUITAR), 1e-3
    rest = joint.pose()
    load, about = string_pull(GUITAR, rest).wrench, axis_middle(rest)
    found = screw_forces(joint, rest, carried_forces(joint, rest, load, about))
    for a in joint.file.adjusters:
        up, down = (joint.pose({a.name: s * h}).rigid for s in (1, -1))

        def gone(point: tuple[float, ...], up=up, down=down) -> np.ndarray:
            return up.point(np.array(point)) - down.point(np.array(point))

        # The load as a force at its place, and a couple that works on the turn.
        at = gone(tuple(about))
        turn = up.rotation @ down.rotation.T
        spin = np.array([turn[2, 1], turn[0, 2], turn[1, 0]])
        work = load[:3] @ at + load[3:] @ spin
        for c in joint.file.contacts:
            if getattr(c, "preload", None):
                way = np.subtract(c.head, c.at)
                work += float(c.preload) * (way / np.linalg.norm(way)) @ gone(c.at)
        assert found[a.name] == pytest.approx(abs(work) / (2 * h * float(a.pitch)), rel=1e-4, abs=0.02), a.name


def test_a_wedge_screw_carries_the_sine_of_the_flank() -> None:
    page = joint_page("wedge", GUITAR)
    flank = page.carried.forces["wedge"]
    assert flank == pytest.approx(1100.57, abs=0.1)
    assert page.measures["force"] == pytest.approx(flank * math.sin(math.radians(8)), rel=1e-4)
    assert page.measures["force"] == pytest.approx(153.17, abs=0.1)


def test_a_spring_slackens_as_the_neck_comes_nearer() -> None:
    """The wedge let out by 7.9 turns: the bolt's way and what the flank then carries, by hand from the moved points."""
    turns = {"wedge screw": -7.9}
    forces = {}
    for rate in (0.0, 900.0, 5000.0):
        joint = lay_out(varied("wedge", **{"contacts.foot bolt.rate": rate}), GUITAR)
        p = joint.pose(turns)
        bolt = next(c for c in preload_contacts(joint) if c.name == "foot bolt")
        shorter = 84.0 - float(np.linalg.norm(np.subtract((60, 0, -70), p.rigid.point(np.array([-24.0, 0, -70])))))
        assert shorter == pytest.approx(0.922, abs=0.001)
        assert float(bolt.tension(p.rigid)) == pytest.approx(max(1800 - rate * shorter, 0.0), abs=1e-6)
        load = string_pull(GUITAR, p).wrench
        forces[rate] = float(carried_forces(joint, p, load, axis_middle(p)).forces["wedge"])
        given = carried_forces(joint, p, load, axis_middle(p), {"foot bolt": max(1800 - rate * shorter, 0.0)})
        assert float(given.forces["wedge"]) == pytest.approx(forces[rate], abs=1e-4)
    # The flank stands 60 mm under the balls, the bolt 50: a newton less in the bolt is 50/60 of one less on the flank, along x.
    assert forces[0.0] - forces[900.0] == pytest.approx(900 * 0.922 * 50 / 60 / math.cos(math.radians(8)), rel=0.01)
    # Slack, it does not push.
    joint = lay_out(varied("wedge", **{"contacts.foot bolt.rate": 5000.0}), GUITAR)
    p = joint.pose(turns)
    assert lifts(joint, p, string_pull(GUITAR, p).wrench, axis_middle(p))
    many = joint.pose({"wedge screw": np.array([0.0, -1.0, -7.9])})
    tension = preload_contacts(joint)[0].tension(many.rigid)
    assert tension[0] == pytest.approx(1800) and 0 < tension[1] < 1800 and tension[2] == 0
    assert carried_forces(joint, many, np.zeros(6), axis_middle(many)).rows.shape == (3, 6)


def test_a_spring_that_pushes_pushes_less_as_it_grows() -> None:
    joint = lay_out(varied("wedge", **{"contacts.foot bolt.preload": -100.0, "contacts.foot bolt.rate": 50.0}), GUITAR)
    c = preload_contacts(joint)[0]
    p = joint.pose({"wedge screw": np.array([-7.9, 0.0, 8.0])})
    nearer, rest, apart = c.tension(p.rigid)
    assert nearer == pytest.approx(-100 - 50 * 0.922, abs=0.1) and rest == pytest.approx(-100) and -100 < apart < 0


@pytest.mark.parametrize("name", names())
def test_a_designs_own_joint_is_the_closed_form(name: str) -> None:
    """Poses, readings, forces and the least clamp of every design, by the built-in joint's own code; read back from its text."""
    design = lg.load(name)
    own = joint_from_text(joint_text(joint_of(design)))
    assert own == joint_of(design) and own.name == design.name
    joint, t = lay_out(own, design), np.random.default_rng(5).uniform(-0.4, 0.4, (3, 20))
    p = joint.pose(dict(zip(joint.adjusters, t, strict=True)))
    q = design.pose(*t)
    for read in (lambda x: action(x, [1, 12]), lambda x: least_gap(x).gap, lambda x: heel_fit(x).reveal):
        np.testing.assert_allclose(read(p), read(q), atol=2e-9)
    p, q = joint.pose({"tilt screw": 0.1}), design.pose(0.1)
    held, about = statics.joint_of(design, q), axis_middle(p)
    strings = string_pull(design, p).wrench
    r = statics.balance(held, strings)
    found = carried_forces(joint, p, strings, about)
    assert found.forces["tilt screw"] == pytest.approx(abs(float(r.tilt)), rel=1e-5)
    seats = tuple(map(float, r.seat_total))
    assert (found.forces["bass ball"], found.forces["treble ball"]) == pytest.approx(seats, rel=1e-5)
    tilt, old = joint.file.adjusters[0], travel(design)
    assert tilt.least - 1e-5 <= old.low and old.high <= tilt.most + 1e-5  # the screw's own stops are among those of the travel


def test_a_hex_socket_holds_at_six_places() -> None:
    design = GUITAR.model_copy(update={"pivot": GUITAR.pivot.model_copy(update={"seat": "hex socket"})})
    joint = lay_out(joint_of(design), design)
    p, q = joint.pose(), design.pose()
    wrench = string_pull(design, p).wrench + np.array([0, 60.0, 0, 0, 0, -60.0 * 400])
    least = float(least_clamp(statics.joint_of(design, q), wrench))
    assert least > 100
    for share, up in ((0.999, True), (1.001, False)):
        assert lifts(joint, p, wrench, axis_middle(p), {"clamp screw": share * least}) is up


@pytest.mark.parametrize("name", ["slack_water", "spring_tide", "cross_tide"])
def test_least_clamp_load_by_load_is_the_built_in_joints(name: str) -> None:
    """The page's linear program against the built-in joint's own stepping, where the tilt screw can hold both ways."""
    design = lg.load(name)
    own = joint_of(design)
    both = own.model_copy(update={"contacts": tuple(c.model_copy(update={"carries": "both"}) if c.name == "tilt screw" else c
                                                    for c in own.contacts)})
    page = joint_page(both, design)
    held, q = statics.joint_of(design, design.pose()), design.pose()
    strings = string_pull(design, q).wrench
    by_name = {load.name: load for load in design.loads}
    for words, least in page.no_lift:
        more = load_wrench(design, q, by_name[words]) if words in by_name else 0.0
        assert least == pytest.approx(float(least_clamp(held, strings + more)), rel=1e-5, abs=1e-3), words
    assert len(page.no_lift) > 3 and max(v for _, v in page.no_lift) > 50


def test_reactions_are_among_the_readings() -> None:
    page = joint_page("wedge", GUITAR)
    rows = {r[0]: r[1:] for r in page.readings["page.reactions"].value}
    assert set(rows) == {"bass ball", "treble ball", "wedge"} and all(v[1] == "decided" for v in rows.values())
    assert rows["wedge"][0] == pytest.approx(1100.57, abs=0.1)
    two = {r[0]: r[2] for r in joint_page("upper_pivot_two_cones", GUITAR).readings["page.reactions"].value}
    assert two["tilt screw"] == "decided" and "to the treble -" in two["bass ball"] and " to " in two["bass ball"]
    lift = joint_page("upper_pivot_two_cones", GUITAR).readings["page.no_lift"]
    assert [c[0] for c in lift.columns] == ["load", "clamp screw"] and lift.value[0][0] == "strings at pitch"
    assert "none is enough" in {r[1] for r in lift.value}  # pushed back, a tilt screw that only draws goes slack
    assert "page.no_lift" not in {r.key for r in joint_page("full_width_hinge", GUITAR).readings}


def test_an_adjuster_that_ends_too_soon_is_told_and_not_turned_on() -> None:
    page = joint_page(varied("upper_pivot_cone_and_vee", **{"adjusters.tilt screw.most": 0.02}), GUITAR)
    assert math.isnan(page.lift_turns) and math.isnan(page.measures["drift"]) and page.measures["step"] > 0.1
    assert "not reached before the adjuster's end" in str(page.readings["page.drift"])


def test_the_design_at_hand_comes_first() -> None:
    design = lg.load("spring_tide")
    table = compare(design, ["upper_pivot_dowel"])
    assert table.names == ("Spring Tide", "Upper pivot, lower adjuster, cross dowel")
    own, rival = table.pages
    read = lg.read(design)
    assert own.measures["force"] == pytest.approx(float(read["pitch.screw_force"].value), rel=0.01)
    step = float((action(design.pose(1 / 16), 12) - action(design.pose(), 12)).mean())
    assert own.measures["step"] == pytest.approx(step, abs=1e-9) and own.measures["step"] > 1.5 * rival.measures["step"]
    assert compare(design, ["upper_pivot_dowel"], own=False).names == ("Upper pivot, lower adjuster, cross dowel",)
