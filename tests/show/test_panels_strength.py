"""The strength pictures say states in words, worst first; the preload sheet follows its sliders and the library's own story."""

from __future__ import annotations

import statistics
import time

import numpy as np
import pytest

import lutherie_geom as lg
from lutherie_geom.mechanics.comparison import compare
from lutherie_geom.mechanics.margins import margins
from lutherie_geom.mechanics.preload import preload_story
from lutherie_geom.show import panels_strength
from lutherie_geom.show.panels_strength import plain_washer, wound_in

DESIGN = lg.load("slack_water")
LIMIT_MS = 25.0


@pytest.mark.parametrize("name", ["slack_water", "cross_tide", "flat_calm"])
def test_margins_stand_worst_first_with_their_state_in_words(name: str) -> None:
    found = margins(plain_washer(lg.load(name)), samples=256)
    axes = panels_strength.margins_picture(found).axes[0]
    said = [t.get_text() for t in axes.texts]
    assert len(said) == len(axes.get_yticklabels()) == len(found)
    for m, words in zip(found, said, strict=True):
        assert words.upper().startswith(m.state.upper())
    assert f"{len(found)} margins" in axes.get_title(loc="left")


def test_every_margin_has_a_short_name() -> None:
    for m in margins(DESIGN, samples=0):
        assert len(panels_strength._short(m.key, m.words)) <= 40, m.key


def test_the_table_says_the_ratios() -> None:
    c = compare(DESIGN, woods=["true mahogany", "sugar maple"], classes=["8.8", "12.9"], estimate=True)
    left, right = panels_strength.compare_picture(c).axes
    cells = [t.get_text().split("\n")[0] for t in left.texts]
    for mahogany, maple in c["block.insert"][:, :1].T:
        assert f"{mahogany:.2g}" in cells and f"{maple:.2g}" in cells
    shown = {t.get_text() for t in right.get_yticklabels()}
    assert "tilt screw: length of thread held" in shown and "seat's insert, pushed sideways" not in shown


def test_springs_keep_what_a_plain_washer_loses() -> None:
    """A teaching point: on a plain washer the first dry season takes all, however hard the key was turned down."""
    for preload in (900.0, 1500.0):
        wound, shrinks, left = wound_in(plain_washer(DESIGN, preload=preload))
        assert wound < shrinks and left == 0
    wound, shrinks, left = wound_in(DESIGN)
    # With soft springs the loss is nearly shrinkage times their rate; settling and creep are the rest.
    rate, full = float(DESIGN.clamp.spring_rate), float(DESIGN.clamp.preload)
    assert 10 * shrinks < wound and full - 1.5 * rate * shrinks < left < full - rate * shrinks
    assert "0 N are left" in panels_strength.preload_picture(DESIGN).axes[0].get_title(loc="left")


def test_the_sheet_is_the_librarys_story() -> None:
    sheet = panels_strength.preload_sheet(DESIGN)
    alone, kept, due = sheet.figure.axes[0].lines[1:4]
    story = preload_story(DESIGN)
    seen = story.days <= 3 * 365.25
    np.testing.assert_allclose(np.asarray(alone.get_ydata(), dtype=float), story.left[seen])
    np.testing.assert_allclose(np.asarray(kept.get_ydata(), dtype=float), story.kept[seen])
    sheet.set(missing=40.0)
    np.testing.assert_allclose(np.asarray(due.get_ydata(), dtype=float), 0.6 * story.preload)
    sheet.set(pressed=0.0)
    assert "0 N are left in the first dry season, not enough" in sheet.text and "the day after" in sheet.text
    assert min(np.asarray(alone.get_ydata(), dtype=float)) == 0


@pytest.mark.parametrize("name", ["slack_water", "cross_tide"])
def test_sheet_answers_at_every_sliders_ends(name: str) -> None:
    sheet = panels_strength.preload_sheet(lg.load(name))
    first, words = sheet.png, sheet.text
    for control in sheet.controls:
        for value in (control.low, control.high):
            sheet.set(**{control.name: value})
            assert sheet.error is None and "nan" not in sheet.text, f"{control.name} = {value}: {sheet.text}"
        sheet.reset()
    assert sheet.png == first and sheet.text == words
    times = []
    for _ in range(7):
        start = time.perf_counter()
        sheet._update(sheet.values)
        times.append(1e3 * (time.perf_counter() - start))
    assert statistics.median(times) < LIMIT_MS


def test_a_cone_is_gentler_than_a_rim_and_a_rim_than_one_point() -> None:
    left, right = panels_strength.contact_picture(DESIGN).axes
    point, rim, cone = (np.asarray(line.get_ydata(), dtype=float) for line in left.lines[:3])
    assert np.all(point > rim) and np.all(rim > cone)
    # Hertz: one point goes with the cube root of the force, a line with the square root.
    force = np.asarray(left.lines[0].get_xdata(), dtype=float)
    for peak, power in ((point, 1 / 3), (rim, 1 / 2), (cone, 1 / 2)):
        assert np.polyfit(np.log(force), np.log(peak), 1)[0] == pytest.approx(power, abs=1e-6)
    heights = [bar.get_extents().height for bar in right.patches]
    assert all(a > b for a, b in zip(heights[:4], heights[4:], strict=True))
    assert heights[0] > heights[1] > heights[2] > heights[3]  # harder screws dent less
