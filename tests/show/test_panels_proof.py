"""Before the box is closed, on pictures and in the hand sheet: patterns against the joint, the verdict's words."""

from __future__ import annotations

import numpy as np
import pytest
from sheets import every_slider_answers

import lutherie_geom as lg
from lutherie_geom.joint.pose import pose
from lutherie_geom.shop.bench.proof import proof_sheet
from lutherie_geom.shop.bench.readings import straightedge_posed
from lutherie_geom.shop.bench.verdict import judge
from lutherie_geom.shop.invented import Bench, prototype
from lutherie_geom.show import panels_proof


@pytest.fixture(scope="module")
def design():
    return lg.load("slack_water")


@pytest.fixture(scope="module")
def bench(design):
    return Bench.of(design)


@pytest.fixture(scope="module")
def sheet(design):
    return panels_proof.proof_sheet_panel(design)


def at(bench, key):
    return [k for k, (r, _) in enumerate(bench.rows) if r.key == key]


def test_the_bench_shows_what_the_joint_does(design, bench):
    """The straightedge on a joint whose pitch is 0.2 mm larger, from a pose of dimensions changed by hand."""
    d = design.dimensions()
    wrong = d.replaced(pitch_tilt=d.pitch_tilt + 0.2)
    expected = [float(straightedge_posed(pose(wrong, tilt=t))) for t in bench.turns]
    assert bench.shown({"tilt_screw.pitch": 0.2})[at(bench, "straightedge.bridge")] == pytest.approx(expected, abs=1e-12)
    many = bench.shown({"pivot.z": np.array([0.0, 1.0]), "heel.yaw": 0.01})
    assert many.shape == (len(bench.rows), 2)
    assert many[:, 1] == pytest.approx(bench.shown({"pivot.z": 1.0, "heel.yaw": 0.01}), abs=1e-12)
    with pytest.raises(KeyError, match=r"pivot\.y"):
        bench.shown({"pivot.y": 1.0})


def test_every_pattern_is_just_fine_at_its_size(design, bench):
    """Built exactly at the size told, the worst reading is off by what is fine: nothing but the bend of the joint is left."""
    groups, unseen = panels_proof.patterns(design)
    s = proof_sheet(design)
    fine = np.array([s.fine[[q.key for q in s.readings].index(r.key), s.turns.index(t)] for r, t in bench.rows])
    for names, size, part in groups:
        off = (bench.shown({names[0]: size}) - bench.shown({})) / fine
        assert np.abs(off).max() == pytest.approx(1, abs=0.15), names
        assert off == pytest.approx(part, abs=0.15), names
    assert sum(len(names) for names, _, _ in groups) + unseen == len(bench.spreads.variables(design.dimensions()))
    found = [names for names, _, _ in groups]
    assert ("pivot.x", "heel.ball_depth") in found and ("heel.floor_clearance",) in found


def test_numbers_of_one_pattern_are_not_told_apart_by_the_verdict(design):
    for names, size, _ in panels_proof.patterns(design)[0][:3]:
        said = judge(design, prototype(design, {names[0]: 1.6 * size}, scatter=0.2))
        assert set(names[:2]) <= {s.name for s in said.suspects} and not said.close


def test_the_pictures_say_what_they_count(design):
    groups, unseen = panels_proof.patterns(design)
    drawing = panels_proof.signature_picture(design)
    title = drawing.axes[0].get_title(loc="left")
    assert f"leave {len(groups)} patterns; {unseen} more" in title
    found = {k: judge(design, prototype(design, e, seed=3)) for k, e in
             {"a": {}, "b": {"tilt_screw.pitch": 0.25}}.items()}
    title = panels_proof.verdict_picture(found).axes[0].get_title(loc="left")
    assert title == "1 of 2 prototypes may be closed; 0 readings are too far off (filled); 1 is refused for its pattern alone"


def test_a_slider_moves_dots_bars_and_words(sheet, bench, design):
    sheet.reset()
    bars = [a for a in sheet._artists if hasattr(a, "get_width")]
    dots = [a for a in sheet._artists if hasattr(a, "get_ydata")]
    start, long, high = sheet.text, [b.get_width() for b in bars], np.concatenate([a.get_ydata() for a in dots])
    sheet.set(pivot__z=0.0, heel__floor_clearance=1.0)
    assert not np.allclose(long, [b.get_width() for b in bars])
    assert not np.array_equal(high, np.concatenate([a.get_ydata() for a in dots]))
    assert sheet.error is None and sheet.text != start and sheet.text.startswith("Mend this first. 9 of 29")
    assert "looks most like floor clearance of the heel, 100 %" in sheet.text
    sheet.set(heel__floor_clearance=0.0, tilt_screw__pitch=0.24)
    assert sheet.text.startswith("Mend this first. 0 of 29") and "by 24 % more than designed" in sheet.text
    sheet.set(tilt_screw__pitch=0.0)
    assert sheet.text.startswith("Close it. 0 of 29") and "nothing to explain" in sheet.text
    sheet.set(scatter=1.0)
    assert sheet.text.startswith("Close it.")
    sheet.reset()


def test_the_sheet_agrees_with_the_verdict(sheet, design):
    for errors in ({"pivot.z": 0.9}, {"heel.floor_clearance": -0.5}, {"tilt_screw.head_x": 0.7, "pivot.z": 0.3}):
        sheet.set(**({"pivot__z": 0.0} | {k.replace(".", "__"): v for k, v in errors.items()}))
        v = judge(design, prototype(design, errors, scatter=0.0))
        far = sum(not o.ok for o in v.offs)
        assert f"{far} of {len(v.offs)} readings" in sheet.text
        assert sheet.text.lower().startswith("close it" if v.close else "mend this first")
        sheet.reset()


def test_every_slider_answers(sheet):
    sheet.reset()
    every_slider_answers(sheet)


@pytest.mark.parametrize("name", ["flat_calm", "cross_tide", "long_reach"])
def test_other_designs(name):
    design = lg.load(name)
    assert panels_proof.signature_picture(design).axes
    assert "readings too far off" in panels_proof.proof_sheet_panel(design).text
