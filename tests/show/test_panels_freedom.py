"""Constraint and freedom: what is drawn is what the layout says, what moves follows the sliders. mm, turns, degrees."""

from __future__ import annotations

import re
from typing import Any

import numpy as np
import pytest
from sheets import every_slider_answers

import lutherie_geom as lg
from lutherie_geom.joint.layout import lay_out
from lutherie_geom.show import panels_freedom as panel
from lutherie_geom.theory.steer import seat_growth

GUITAR = lg.load("slack_water")


def numbers(words: str) -> list[float]:
    return [float(n) for n in re.findall(r"-?\d+\.?\d*", words)]


@pytest.mark.parametrize("joint", ["upper_pivot_cone_and_vee", "three_point_seat", "full_width_hinge", "fixed_and_shimmed"])
def test_axes_are_those_of_the_joint(joint: str) -> None:
    drawing = panel.axes_picture(joint, GUITAR)
    layout = lay_out(joint, GUITAR)
    space: Any = drawing.axes[0]
    told = "\n".join(t.get_text() for t in drawing.axes[1].texts)
    lines = [np.array(line.get_data_3d()) for line in space.lines if line.get_linewidth() == 2.2]
    motions = layout.screw_motions()
    assert len(lines) == len(motions)
    for line, m in zip(lines, motions, strict=True):
        way = (line[:, 1] - line[:, 0]) / np.linalg.norm(line[:, 1] - line[:, 0])
        np.testing.assert_allclose(np.abs(way @ m.direction), 1, atol=1e-9)
        off = line[:, 0] - m.point
        np.testing.assert_allclose(np.cross(off, m.direction), 0, atol=1e-6)
        assert m.name in told and f"{np.degrees(float(m.angle)):.2f} deg/turn" in told
    f = layout.freedom()
    assert f"{f.rows} rows of rank {int(f.rank)}" in told


def test_fight_picture_says_its_sum() -> None:
    axes = panel.fight_picture(GUITAR).axes[0]
    widths = [p.get_width() for p in axes.patches]
    assert widths[:4] == pytest.approx([0.1] * 4) and widths[4:] == pytest.approx([0.2, 0.4, 0.0])
    assert "0.20 mm" in axes.get_title(loc="left") and "0.40 mm" in axes.get_title(loc="left")


@pytest.mark.parametrize("design", ["slack_water", "long_reach", "flat_calm"])
def test_every_slider_answers(design: str) -> None:
    every_slider_answers(panel.fight_sheet(lg.load(design)))


def test_fight_sheet_against_plain_geometry() -> None:
    sheet = panel.fight_sheet(GUITAR)
    for off, bass in ((0.3, 0.0), (-0.2, 0.0), (0.0, 1.0), (0.3, -0.5)):
        sheet.set(off=off, bass=bass)
        assert sheet.error is None
        # Balls 36 mm apart, seats where they were set: what is missing between them is shared.
        apart = np.hypot(36 + off, 1.25 * bass) - 36
        two, none, along = numbers(sheet.text)[:3]
        assert two == pytest.approx(abs(apart), abs=2e-3) and none == 0
        assert along == pytest.approx(abs(np.sqrt(36**2 - (1.25 * bass) ** 2) - 36 - off), abs=2e-3)
        if not off:
            assert two == pytest.approx(float(seat_growth(bass=bass, treble=0.0, pitch_pivot=1.25, spacing=36.0)), abs=2e-3)
    balls = [p for p in sheet.figure.axes[0].patches if hasattr(p, "get_center")]
    before = balls[1].get_center()
    sheet.set(off=-0.3, bass=0.0)
    assert balls[1].get_center()[0] > before[0]  # the seats too near: the ball stands off to the treble, magnified
