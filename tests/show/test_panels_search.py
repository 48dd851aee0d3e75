"""The search's pictures and sheet: points are the front's, the sheet's reading is the joint's own. mm, N."""

from __future__ import annotations

import re

import numpy as np
import pytest

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
    first, words = sheet.png, sheet.text
    point = [line for axes in sheet.figure.axes for line in axes.lines if line.get_marker() == "o"]
    np.testing.assert_allclose([float(v) for p in point for v in np.ravel(p.get_data())],
                               [found.now[[a.key for a in found.aims].index(k)] for pair in PAIRS for k in pair], rtol=1e-9)
    for c in sheet.controls:
        for v in (c.low, c.high):
            sheet.set(**{c.name: v})
            assert sheet.error is None and "nan" not in sheet.text
        sheet.reset()
    sheet.set(arm=72.0)
    d = GUITAR.dimensions()
    longer = coupling(pose(d.replaced(z_head=d.z_p - 72, z_receiver=d.z_p - 72))).seen[:2, 0].mean() / 16
    step = float(re.findall(r"turn (\d+\.\d+) mm", sheet.text)[0])
    assert step == pytest.approx(longer, abs=1e-3) and "cannot" not in sheet.text
    sheet.set(arm=78.0)  # no wood is left under the screw
    assert "cannot be built" in sheet.text
    sheet.reset()
    assert sheet.png == first and sheet.text == words
