"""The comparison's picture and sheet: cells are the readings, bars add up to the totals, weights decide."""

from __future__ import annotations

import re

import numpy as np
import pytest
from sheets import every_slider_answers

import lutherie_geom as lg
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.strings import string_lines
from lutherie_geom.show import panels_compare as panel
from lutherie_geom.studies.comparing import Comparison, compare


@pytest.fixture(scope="module")
def table() -> Comparison:
    return compare(lg.load("slack_water"), ["fixed_and_shimmed", "full_width_hinge", "wedge", "upper_pivot_cone_and_vee"])


def test_table_holds_every_reading_and_total(table: Comparison) -> None:
    drawing = panel.table_picture(table)
    axes = drawing.axes[0]
    cells = [t.get_text() for t in axes.texts]
    n, m = table.values.shape
    assert len(cells) == n * (m + 1)
    totals = [float(c) for c in cells[m::m + 1]]
    assert totals == sorted(totals, reverse=True) == pytest.approx(np.sort(np.round(table.totals))[::-1])
    assert cells.count("–") == np.isnan(table.values).sum()
    assert table.best.name.lower() in axes.get_title(loc="left")


def test_weights_move_the_bars(table: Comparison) -> None:
    sheet = panel.weights_sheet(table)
    every_slider_answers(sheet)
    own = table.weighed_groups({})
    axes = sheet.figure.axes[0]

    def totals() -> np.ndarray:
        ends = np.zeros(len(table.names))
        for bar in axes.collections:
            for k, path in enumerate(bar.get_paths()):
                assert path.vertices[:, 0].min() == pytest.approx(ends[k], abs=1e-9)
                ends[k] = path.vertices[:, 0].max()
        return ends

    np.testing.assert_allclose(totals(), own.totals)
    sheet.set(strength=5.0, setting=0.0)
    np.testing.assert_allclose(totals(), table.weighed_groups({"strength": 5.0, "setting": 0.0}).totals)
    assert sheet.text.startswith(table.names[int(np.argmax(np.round(totals(), 9)))])
    sheet.set(**{c.name: 0.0 for c in sheet.controls})
    assert "nothing counts" in sheet.text and sheet.error is None
    with pytest.raises(ValueError, match="no group 'beauty'"):
        table.weighed_groups({"beauty": 1.0})


@pytest.fixture
def own():
    return panel.own_sheet("upper_pivot_cone_and_vee", lg.load("slack_water"))


def read(sheet) -> dict[str, float]:
    """What the line says: mm of action, mm of string length, another screw's pull, mm at the nut."""
    found = re.findall(r"[-+]?\d+\.\d+", sheet.text)
    return dict(zip(("action", "length", "pull", "nut"), map(float, found), strict=True))


@pytest.mark.parametrize(("joint", "design"), [("upper_pivot_cone_and_vee", "slack_water"),
                                               ("upper_pivot_two_cones", "long_reach")])
def test_every_slider_of_the_own_joint_answers(joint: str, design: str) -> None:
    every_slider_answers(panel.own_sheet(joint, lg.load(design)))


def test_half_the_pitch_is_half_the_step(own) -> None:
    start = read(own)
    whole = {c.name: c.start for c in own.controls}
    own.set(pitch=whole["pitch"] / 2)
    half = read(own)
    assert half["action"] == pytest.approx(start["action"] / 2, abs=1e-3)
    assert half["length"] == pytest.approx(start["length"] / 2, abs=1e-3)
    assert half["pull"] == pytest.approx(2 * start["pull"], abs=0.02) and half["nut"] == start["nut"]
    own.reset()
    own.set(seats=whole["seats"] / 2)
    half = read(own)
    assert half["nut"] == pytest.approx(start["nut"] / 2, abs=0.01) and half["pull"] == pytest.approx(start["pull"] / 2, abs=0.01)
    assert half["action"] == start["action"]


def test_the_strings_grow_as_between_two_poses(own) -> None:
    """Distance from the nut's to the saddle's end of each string, before and after 1/16 turn, by the pose worked out in closed
    form; the sheet goes by the joint's contacts."""
    design = lg.load("slack_water")
    alone = 1 / 16 * np.vstack([np.zeros(3), np.eye(3)])
    lines = string_lines(pose(design.dimensions(), tilt=alone[:, 0], bass=alone[:, 1], treble=alone[:, 2]))
    ends = zip((lines.xn_saddle, lines.yn_saddle, lines.zn_saddle), (lines.x_nut, lines.y_nut, lines.z_nut), strict=True)
    lengths = np.sqrt(sum((saddle - nut) ** 2 for saddle, nut in ends)).mean(axis=0)
    screws = [word.get_text() for word in own.figure.axes[0].get_yticklabels()]
    shown = dict(zip(screws, (bar.get_width() for bar in own.figure.axes[2].patches), strict=True))
    names = ("tilt screw", "bass pivot screw", "treble pivot screw")
    assert [shown[k] for k in names] == pytest.approx(lengths[1:] - lengths[0], abs=2e-4)
    assert f"{lengths[1] - lengths[0]:+.3f} mm of string length" in own.text


def test_a_joint_without_its_own_balls_and_screw_is_refused() -> None:
    with pytest.raises(ValueError, match="allowed is 2 and 1"):
        panel.own_sheet("wedge", lg.load("slack_water"))
