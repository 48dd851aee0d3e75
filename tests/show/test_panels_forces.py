"""Forces on show: the sheet's curves and arrows against plain moments, pictures whose titles are the library's numbers."""

from __future__ import annotations

import re

import numpy as np
import pytest
from sheets import every_slider_answers

import lutherie_geom as lg
from lutherie_geom.design.load import names
from lutherie_geom.mechanics.forces import forces, over_travel
from lutherie_geom.show import book_forces, panels_forces
from lutherie_geom.show.panels_forces import forces_sheet

PICTURES = ("free_body_picture", "loads_picture", "reversal_picture", "screw_over_travel_picture")


@pytest.fixture(scope="module")
def sheet():
    return forces_sheet(lg.load("slack_water"))


def lines(sheet):
    """Curves of the right-hand picture by their labels."""
    return {line.get_label(): line.get_data() for line in sheet.figure.axes[1].get_lines()}


def told(text):
    """Numbers with their units in the sheet's line: tilt screw, bass seat, treble seat, least clamp."""
    return [float(x) for x in re.findall(r"(-?\d+) N", text)]


@pytest.mark.parametrize("name", ["slack_water", "long_reach", "flat_calm"])
def test_every_slider_answers(name):
    every_slider_answers(forces_sheet(lg.load(name)))


def test_sheet_says_what_the_report_says():
    design = lg.load("slack_water")
    sheet, found = forces_sheet(design), forces(design)
    # It opens on the worse side, and asks the other as well.
    for row, side in ((found.worst, sheet.values["side"]), (next(r for r in found.rows if r.load == "pushed to the treble"), 50)):
        sheet.set(side=side)
        tilt, bass, treble, least = told(sheet.text)
        # The slider counts whole newtons of pull.
        assert (tilt, bass, treble) == pytest.approx((row.tilt, *row.seats), abs=1.5)
        assert least == pytest.approx(row.least_clamp, abs=1.5)


def test_sheet_tells_the_push_at_which_a_ball_climbs(sheet):
    """Its headline against its own line: there the least clamp force is the preload."""
    sheet.reset()
    preload = lg.load("slack_water").clamp.preload
    bass, treble = (float(x) for x in re.findall(r"(\d+) N to the", sheet.figure.axes[1].get_title(loc="left")))
    x, need = lines(sheet)["least clamp force"]
    for push in (-bass, treble):
        assert np.interp(push, x, need) == pytest.approx(preload, abs=35)  # a newton of push is some 27 of clamp
    sheet.set(side=-bass - 2)
    assert "a ball climbs" in sheet.text
    sheet.set(side=-bass + 2)
    assert "a ball climbs" not in sheet.text and "lifted" not in sheet.text
    sheet.reset()


def test_half_the_arm_is_twice_the_force(sheet):
    sheet.reset()
    sheet.set(arm=60, pull=700)
    long = told(sheet.text)[0]
    sheet.set(arm=30)
    short = told(sheet.text)[0]
    sheet.reset()
    assert short == pytest.approx(2 * long, abs=2)


def test_seats_by_moments_on_a_sheet_of_paper(sheet):
    """A push to the side moves N = F l / w from one seat to the other; the screws' pulls share evenly."""
    design = lg.load("slack_water")
    d = design.dimensions()
    reach = float(d.x_p) - float(d.x_nut) + design.headstock.length
    x, bass = lines(sheet)["bass seat pushes"]
    _, treble = lines(sheet)["treble seat pushes"]
    moved = (treble - bass) / 2
    np.testing.assert_allclose(np.diff(moved) / np.diff(x), reach / design.pivot.spacing, rtol=1e-3)
    before = (np.array(bass) + treble)[0]
    sheet.set(preload=design.clamp.preload + 400)
    after = np.array(lines(sheet)["bass seat pushes"][1]) + lines(sheet)["treble seat pushes"][1]
    sheet.reset()
    assert after[0] - before == pytest.approx(400, rel=1e-6)


def test_a_lifted_seat_is_told(sheet):
    sheet.set(side=140, preload=200)
    assert "the bass seat has lifted" in sheet.text
    sheet.set(side=-140)
    assert "the treble seat has lifted" in sheet.text
    sheet.set(back=100)
    assert "spring and cover carry it" in sheet.text
    sheet.reset()
    assert "lifted" not in sheet.text


@pytest.mark.parametrize("name", PICTURES)
@pytest.mark.parametrize("design", ["slack_water", "cross_tide", "spring_tide"])
def test_every_picture_states_a_number_and_units(name, design):
    axes = getattr(panels_forces, name)(lg.load(design)).axes[0]
    assert re.search(r"\d N", axes.get_title(loc="left")) and "[" in axes.get_xlabel()


@pytest.mark.parametrize("name", names())
def test_arrows_of_the_free_body_balance(name):
    """Along the body all arrows together are nothing, but for the strings' slope: they are drawn to one scale."""
    design = lg.load(name)
    f = forces(design)
    for system in ("mm", "inch"):
        axes = book_forces.free_body(design, f, system).axes[0]
        arrows = [a for a in axes.texts if getattr(a, "arrowprops", None) and a.arrowprops["arrowstyle"].startswith("-|>")]
        along = np.array([a.xy[0] - a.xyann[0] for a in arrows])
        assert len(arrows) == 5 and abs(along.sum()) < 0.02 * np.abs(along).sum()
        assert max(np.abs(along)) == pytest.approx(book_forces.LONGEST / (1 if system == "mm" else 25.4), rel=1e-6)


def test_reversal_is_the_reports():
    design = lg.load("slack_water")
    f = forces(design)
    at = float(re.search(r"reverses at (\d+) N", book_forces.reversing(design, f).axes[0].get_title(loc="left"))[1])
    assert at == pytest.approx(next(r.at for r in f.reversals if r.load == "pushed back"), abs=0.6)


def test_travel_picture_holds_the_reports_numbers():
    design = lg.load("long_reach")
    o = over_travel(design, steps=5)
    title = book_forces.over_the_travel(design, o).axes[0].get_title(loc="left").replace("\n", " ")
    assert [int(x) for x in re.findall(r"-?\d+", title)] == [round(x) for x in (o.tilt.min(), o.tilt.max(), o.loaded.min(),
                                                                                o.loaded.max())]


def test_what_lets_go_comes_with_its_caution():
    text = panels_forces.lets_go(lg.load("slack_water")).data
    assert "eye protection" in text and "Left out" in text and text.count("\n| ") == 7
