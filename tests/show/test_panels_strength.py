"""The strength pictures say states in words, worst first; the preload sheet follows its sliders and the library's own story."""

from __future__ import annotations

import numpy as np
import pytest
from sheets import every_slider_answers

import lutherie_geom as lg
from lutherie_geom.mechanics.comparison import compare
from lutherie_geom.mechanics.margins import margins
from lutherie_geom.mechanics.preload import preload_story
from lutherie_geom.show import panels_strength
from lutherie_geom.show.panels_strength import plain_washer, wound_in

DESIGN = lg.load("slack_water")


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
def test_every_slider_answers(name: str) -> None:
    every_slider_answers(panels_strength.preload_sheet(lg.load(name)))


@pytest.mark.parametrize("kind", ["cup rim", "cone", "hex socket", "vee groove"])
def test_the_seat_picture_says_what_the_margin_says(kind: str) -> None:
    """Curve, bars and headlines of its own kind of seat: the margin's pressure and dent, where the ball touches."""
    d = DESIGN.model_copy(update={"pivot": DESIGN.pivot.model_copy(update={"seat": kind})})
    left, right = panels_strength.contact_picture(d).axes
    found, key = margins(d, samples=0), kind.replace(" ", "_")
    worst = float(np.asarray(left.lines[-3].get_xdata())[0])
    words = {"cup rim": "rim", "cone": "cone", "hex socket": "hex", "vee groove": "vee"}[kind]
    (line,) = [x for x in left.lines if str(x.get_label()).startswith(words)]
    force, peak = (np.asarray(x, dtype=float) for x in line.get_data())
    at = np.exp(np.interp(np.log(worst), np.log(force), np.log(peak)))
    assert at == pytest.approx(found[f"seat.first_yield.{key}"].required, rel=1e-3)
    assert f"{found[f'seat.first_yield.{key}'].required:.0f} MPa in a {kind}" in left.get_title(loc="left")
    dent = found[f"seat.dent.{key}"].required
    assert f"Class 8.8, {kind}: dents {dent:.2g} mm" in right.get_title(loc="left")
    assert f"{1000 * dent:.2g}" in {t.get_text() for t in right.texts}


def test_a_cone_touches_where_it_is_tangent() -> None:
    """By hand: 1742 N on a 4 mm ball in a 45 degree cone, a ring of 4 / sqrt(2) mm, a line load of 138.6 N/mm over a cylinder
    of radius 4 mm; p = sqrt(w E* / (pi R)) with E* = 205000 / (2 * 0.91) MPa."""
    left = panels_strength.contact_picture(DESIGN).axes[0]
    force, peak = (np.asarray(x, dtype=float) for x in left.lines[2].get_data())
    along = force / (2 * np.pi * 4 / np.sqrt(2) * np.sqrt(0.5))
    np.testing.assert_allclose(peak, np.sqrt(along * 205000 / 1.82 / (np.pi * 4)), rtol=1e-6)


def test_the_number_beside_a_mark_is_where_the_mark_stands() -> None:
    axes = panels_strength.margins_picture(margins(DESIGN, samples=0)).axes[0]
    marks = {round(float(np.ravel(x.get_ydata())[0])): float(np.ravel(x.get_xdata())[0]) for x in axes.lines
             if len(np.ravel(x.get_xdata())) == 1}
    for text in axes.texts:
        state, _, said = text.get_text().partition(": ")
        if said and said[0].isdigit():
            assert float(said) == pytest.approx(marks[round(text.xy[1])], rel=0.06) and "times" not in state
            assert state != "TIGHT" or float(said) < 1


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
