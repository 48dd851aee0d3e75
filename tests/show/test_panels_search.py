"""The search's pictures and sheet: points are the front's, the sheet's reading is the joint's own. mm, N."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
from sheets import every_slider_answers

import lutherie_geom as lg
from lutherie_geom.joint.coupling import coupling
from lutherie_geom.joint.pose import pose
from lutherie_geom.show import panels_search as panel
from lutherie_geom.studies.searching import Search, search

GUITAR = lg.load("slack_water")
PAIRS = (("step", "coupled"), ("length", "force"))


@pytest.fixture(scope="module")
def found() -> Search:
    return search(GUITAR, aims=["step", "coupled", "length", "force", "gap"], samples=256, rounds=1)


def test_front_picture_shows_front_and_design(found: Search) -> None:
    drawing = panel.front_picture(found, PAIRS)
    keys = [a.key for a in found.aims]
    for axes, (x, y) in zip(drawing.axes, PAIRS, strict=True):
        lines = {line.get_label(): line for line in axes.lines}
        i, j = keys.index(x), keys.index(y)
        np.testing.assert_allclose(np.array(lines["front of all aims"].get_data()), found.readings[[i, j]])
        np.testing.assert_allclose(np.ravel(lines["the design now"].get_data()), found.now[[i, j]])
        edge = np.array(lines["front of these two"].get_data())
        assert np.all(np.diff(edge[0]) >= 0) and np.all(np.diff(edge[1]) <= 0)  # both to be had small
    assert str(int(found.better.sum())) in drawing.axes[0].get_title(loc="left") or found.on_front


def test_changes_picture_names_the_first(found: Search) -> None:
    axes = panel.changes_picture(found).axes[0]
    first = found.changes[0]
    assert first.free.words.partition(",")[0] in axes.get_title(loc="left")
    words = [t.get_text() for t in axes.texts]
    assert any(w.startswith("better") for w in words)
    assert axes.get_yticklabels()[0].get_text().startswith(first.free.words.partition(",")[0])


def test_sheet_follows_its_sliders(found: Search) -> None:
    sheet = panel.pivot_sheet(GUITAR, found, PAIRS)
    point = [line for axes in sheet.figure.axes for line in axes.lines if line.get_marker() == "o"]
    np.testing.assert_allclose([float(v) for p in point for v in np.ravel(p.get_data())],
                               [found.now[[a.key for a in found.aims].index(k)] for pair in PAIRS for k in pair], rtol=1e-9)
    every_slider_answers(sheet, small=["depth", "spacing"])  # none of these four readings asks much of them
    sheet.set(arm=62.0)
    d = GUITAR.dimensions()
    slopes = coupling(pose(d.replaced(z_head=d.z_p - 62, z_receiver=d.z_p - 62))).seen[:2] / 16
    longer = slopes[:, 0].mean()
    step = float(re.findall(r"turn (\d+\.\d+) mm", sheet.text)[0])
    assert step == pytest.approx(longer, abs=1e-3) and "cannot" not in sheet.text
    other, own = (float(v) for v in re.findall(r"by (\d+\.\d+) mm", sheet.text))
    assert (other, own) == pytest.approx(np.abs(slopes[0, 1::-1]), abs=1e-3)  # bass screw and tilt screw on the bass string
    sheet.set(arm=72.0)  # too little wood is left under the captive head
    assert "cannot be built" in sheet.text


def test_what_the_sliders_say_is_kept(found: Search, tmp_path: Path) -> None:
    sheet = panel.pivot_sheet(GUITAR, found, PAIRS)
    sheet.set(height=-18.0, arm=62.0, spacing=37.0, pitch_pivot=1.0)
    assert sheet.keep(str(tmp_path / "mine.toml")), sheet.text
    d = lg.load(tmp_path / "mine.toml").dimensions()
    assert [float(v) for v in (d.z_p, d.z_head, d.z_receiver, d.spacing, d.pitch_pivot, d.x_p, d.pitch_tilt)] == pytest.approx(
        [-18, -80, -80, 37, 1, -3.6, 1])
