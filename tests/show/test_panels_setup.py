"""Set-up day on pictures and in the hand sheet: the advice of the day itself, found again by the sliders, on either hand."""

from __future__ import annotations

import numpy as np
import pytest
from sheets import every_slider_answers

import lutherie_geom as lg
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.travel import travel
from lutherie_geom.shop.setup.fitting import as_measured
from lutherie_geom.shop.setup.measured import Measured
from lutherie_geom.shop.setup.set_up import advise
from lutherie_geom.shop.setup.shown import shown
from lutherie_geom.show import panels_setup

TARGET = {"bass": "2.2 mm", "treble": "1.7 mm"}
READ = {"action": {"12": {"bass": "3.05 mm", "treble": "2.40 mm"}}, "relief": {"middle": "0.32 mm"},
        "margin": {"left": "4.6 mm", "right": "2.9 mm"}, "gap": {"end": "1.05 mm"}}


@pytest.fixture(scope="module")
def design():
    return lg.load("slack_water")


@pytest.fixture(scope="module")
def sheet(design):
    return panels_setup.set_up_sheet(design, TARGET)


def test_the_picture_follows_the_steps(design):
    day = advise(design, READ, TARGET)
    drawing = panels_setup.steps_picture(design, READ, TARGET)
    left, right = drawing.axes
    bass, treble = (line.get_ydata() for line in left.lines[:2])
    # Of the last two a saddle that may be spared and the compensation foretell no action.
    told = [i.part for i in day.instructions if i.part not in ("saddle", "compensation")]
    assert [t.get_text() for t in left.get_xticklabels()] == ["as read", *told]
    assert (bass[0], treble[0]) == (3.05, 2.40)
    assert (bass[-1], treble[-1]) == pytest.approx((day.after["action.12.bass"], day.after["action.12.treble"]), abs=1e-9)
    assert f"{len(told)} steps" in left.get_title(loc="left")
    # The travel that is left, from the joint itself.
    room = travel(design)
    low, high = (float(w.split(" turns")[0].split()[-1]) if "turns" in w else float(w.split()[0])
                 for w in right.get_title(loc="left").removeprefix("Left: ").split(", "))
    assert low == pytest.approx(day.turns[0] - room.low, abs=0.08) and high == pytest.approx(room.high - day.turns[0], abs=0.08)


@pytest.mark.parametrize("at", [dict(bass=3.0, treble=2.5, aside=0.0), dict(bass=1.9, treble=1.4, aside=1.0),
                                dict(bass=2.2, treble=1.7, aside=0.0), dict(bass=2.6, treble=2.4, aside=-2.0)])
def test_the_sheet_says_what_the_day_says(design, sheet, at):
    """The same readings handed to set-up day, one instrument by itself."""
    sheet.set(**at)
    base = shown(design.pose(), ("margin.left", "margin.right"))
    values = {"action.12.bass": at["bass"], "action.12.treble": at["treble"],
              "margin.left": float(base["margin.left"]) + at["aside"], "margin.right": float(base["margin.right"]) - at["aside"]}
    sds = {k: panels_setup.FEELER if k.startswith("action") else panels_setup.RULER * 2**0.5 for k in values}
    day = advise(design, Measured(values, sds), TARGET)
    bars = [a for a in sheet._artists if hasattr(a, "get_width")]
    assert sorted(b.get_width() for b in bars) == pytest.approx(sorted(day.turns), abs=1e-9)
    # As foreseen, by the pose of the instrument as measured.
    d = as_measured(design.dimensions(), Measured(values, sds))
    d = d.replaced(h_saddle=np.asarray(d.h_saddle) + np.array(day.saddle))
    end = shown(pose(d, **dict(zip(("tilt", "bass", "treble"), day.turns, strict=True))), list(values))
    assert f"Then {float(end['action.12.bass']):.2f} and {float(end['action.12.treble']):.2f} mm" in sheet.text
    aside = (float(end["margin.left"]) - float(end["margin.right"])) / 2
    assert f"strings {abs(aside):.2f} mm aside" in sheet.text


def test_every_slider_answers(sheet):
    sheet.reset()
    every_slider_answers(sheet)


def test_the_list_as_it_is_shown(design, monkeypatch):
    got = []
    monkeypatch.setattr("IPython.display.display", lambda bundle, **_: got.append(bundle["text/markdown"]))
    day = advise(design, READ, TARGET)
    panels_setup.show_day(day)
    lines = got[0].splitlines()
    assert [line.split("**")[1] for line in lines if line[:1].isdigit()] == [i.part for i in day.instructions]
    for step in day.instructions:
        assert not step.caution or f"**Careful:** {step.caution}." in got[0]
    panels_setup.show_day(advise(design, {"action": {"12": {"bass": "2.2 mm", "treble": "1.7 mm"}}}, TARGET))
    assert "Leave it alone" in got[1]
    heel = design.model_copy(update={"pivot": design.pivot.model_copy(update={"key_from": "heel"})})
    panels_setup.show_day(advise(heel, READ, TARGET))
    assert "comes off once" in got[2]


def test_left_handed_strings_go_to_the_side_that_the_slider_says():
    twin = lg.load("slack_water").model_copy(update={"handed": "left"})
    sheet = panels_setup.set_up_sheet(twin, TARGET)
    sheet.set(aside=2.0)
    bars = [a.get_width() for a in sheet._artists if hasattr(a, "get_width")]
    right = panels_setup.set_up_sheet(lg.load("slack_water"), TARGET)
    right.set(aside=2.0)
    assert bars == pytest.approx([a.get_width() for a in right._artists if hasattr(a, "get_width")])


def test_the_card_is_one_picture(design, monkeypatch):
    pytest.importorskip("pypdfium2")
    got = []
    monkeypatch.setattr("IPython.display.display", lambda bundle, **_: got.append(bundle))
    panels_setup.card_picture(design)
    assert got[0]["text/plain"].startswith("Turn card of Slack Water: one page") and len(got[0]["image/png"]) > 20000
