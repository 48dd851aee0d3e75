"""The glossary: each word stands in one picture, once, and no two names meet there; units are those of the theory."""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
import pytest
from matplotlib.figure import Figure
from matplotlib.text import Text

import lutherie_geom as lg
from lutherie_geom.design.load import names
from lutherie_geom.show.glossary import WORDS, table, word, words_of
from lutherie_geom.show.glossary_pictures import picture
from lutherie_geom.show.glossary_words import TITLES, VIEWS
from lutherie_geom.show.marks import Marks, _apart
from lutherie_geom.show.style import figure
from lutherie_geom.theory.words import WORDS as QUANTITIES

ASKED = """pivot screw, ball head, seat, clamp screw, tilt screw, captive head, receiver, pocket, floor clearance, reveal, tongue,
tongue rod, dome, joint fret, fret plane, neck angle, action, relief, saddle, nut, compensation, gap, arm, yaw, advance, travel,
backlash, dead band, preload, pivot axis, heel, neck block, tilt, pitch, spacing, washer spring, cover, taper"""


@cache
def drawn(view: str) -> Figure:
    drawing = picture(view, lg.load("slack_water"))
    drawing.draw_without_rendering()
    return drawing


def named(drawing: Figure) -> list[Any]:
    """The names that are joined to something (every other text of a picture is no annotation with words and arrow)."""
    return [t for a in drawing.axes for t in a.texts if getattr(t, "arrow_patch", None) is not None and t.get_text()]


@pytest.mark.parametrize("view", TITLES)
def test_every_word_is_named_once_in_its_picture(view: str) -> None:
    assert sorted(t.get_text() for t in named(drawn(view))) == sorted(w.name for w in words_of(view))


@pytest.mark.parametrize("view", TITLES)
def test_no_two_names_meet_and_none_is_cut(view: str) -> None:
    drawing = drawn(view)
    scales = [t for a in drawing.axes for t in a.get_yticklabels() if a.viewLim.y0 <= t.get_position()[1] <= a.viewLim.y1]
    texts = [t for t in (*named(drawing), *scales, *(a.yaxis.label for a in drawing.axes)) if t.get_visible() and t.get_text()]
    boxes = [(t.get_text(), Text.get_window_extent(t)) for t in texts]  # an annotation's own takes in its line
    page = drawing.bbox
    for k, (one, a) in enumerate(boxes):
        assert page.x0 - 1 <= a.x0 and a.x1 <= page.x1 + 1, f"{one!r} stands over the picture's edge"
        for other, b in boxes[:k]:
            assert not (a.shrunk(0.9, 0.9).overlaps(b.shrunk(0.9, 0.9))), f"{one!r} and {other!r} meet"
    for axes in drawing.axes:
        title = axes._left_title.get_window_extent()
        assert title.x1 <= page.x1 + 1, f"the title {axes.get_title(loc='left')!r} is cut"


@pytest.mark.parametrize("design", names())
def test_the_pictures_follow_any_design(design: str) -> None:
    for view in ("joint", "pocket", "strings"):
        assert named(picture(view, lg.load(design)))


def test_the_joint_is_drawn_where_the_design_has_it() -> None:
    (axes,) = drawn("joint").axes
    design = lg.load("slack_water")
    ends = {t.get_text(): t.xy for t in named(drawn("joint"))}
    assert ends["pivot axis"] == (design.pivot.x, design.pivot.z)
    # The arm is measured from the pivot axis to the tilt screw's line, here level: half-way is the mean of both heights.
    assert np.isclose(ends["arm"][1], (design.pivot.z + design.tilt_screw.head_z) / 2)
    assert axes.get_aspect() == 1.0


def test_no_word_is_forgotten_and_none_stands_twice() -> None:
    rows = [row[0] for view in VIEWS.values() for row in view]
    assert len(rows) == len(set(rows)) == len(WORDS)
    assert {w.strip() for w in ASKED.replace("\n", " ").split(",")} <= set(WORDS)
    assert set(VIEWS) == set(TITLES)


def test_units_and_symbols_are_those_of_the_theory() -> None:
    for rows in VIEWS.values():
        for name, of, *_ in rows:
            if of in QUANTITIES:
                assert (word(name).unit, word(name).symbol) == (QUANTITIES[of].unit, QUANTITIES[of].latex)
            else:
                assert of in ("", "mm", "turn", "N"), f"{name}: {of!r} is neither a quantity nor a unit"
    assert all(w.says and w.says[0].islower() and not w.says.endswith(".") for w in WORDS.values())


def test_a_word_can_be_looked_up() -> None:
    assert str(word("yaw")) == "yaw [rad]: turn of the neck seen from above; positive: nut to the bass side"
    assert "**gap** $g$" in table(words_of("tongue"))
    with pytest.raises(KeyError, match="not in the glossary"):
        word("whammy")


def test_names_keep_apart_and_in_order() -> None:
    for wanted in ([0.5] * 6, [0.0, 0.01, 0.02], [0.98, 0.99, 1.0], [0.1, 0.5, 0.9]):
        found = _apart(wanted, 0.08)
        assert np.all(np.diff(found) >= 0.08 - 1e-12) and 0 <= found[0] and found[-1] <= 1 + 1e-12
    assert _apart([0.1, 0.5, 0.9], 0.08) == [0.1, 0.5, 0.9]


def test_a_name_given_twice_is_refused() -> None:
    marks = Marks(figure("x")[1])
    marks.name("nut", 0, 0, "left")
    with pytest.raises(ValueError, match="named twice"):
        marks.name("nut", 1, 1, "right")
