"""Allocation, gauges and prototypes on pictures and in hand sheets, against the studies and against sums by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import binom, norm
from sheets import every_slider_answers

import lutherie_geom as lg
from lutherie_geom.show import panels_allocation, panels_measuring
from lutherie_geom.studies.allocation_design import judge_for, problem_for
from lutherie_geom.studies.setup import limits_of
from lutherie_geom.studies.spreads import Spreads

LOW, HIGH = 2.13, 2.63


@pytest.fixture(scope="module")
def design():
    return lg.load("slack_water")


@pytest.fixture(scope="module")
def menu(design):
    return panels_allocation.menu(design, gaps=(0.1, 0.9), halves=(0.5, 1.0))


@pytest.fixture(scope="module")
def sheet(menu):
    return panels_allocation.allocation_sheet(menu)


@pytest.fixture(scope="module")
def gauge_sheet():
    return panels_measuring.measuring_sheet(LOW, HIGH)


def titles(drawing):
    return [axes.get_title(loc="left") for axes in drawing.axes]


def test_a_menu_rises_in_cost_and_yield_and_its_best_is_not_passed(menu):
    for sets in (*menu.turned.values(), *menu.still.values()):
        assert [a.cost for a in sets] == sorted(a.cost for a in sets)
        assert all(a.straight >= a.wanted for a in sets)
    assert all(max(a.straight for a in sets) <= menu.best_still[h] + 1e-9 for h, sets in menu.still.items())
    assert max(menu.best_still.values()) < 0.95  # notebook 11 says so
    assert menu.offered.any(axis=1).all() and "hand tools" in menu.processes


def test_the_cheapest_set_with_the_screws_is_the_cheapest_of_every_input(menu):
    first = menu.turned[0.1][0]
    assert first.cost == sum(min(h.minutes for p in offers(name) for h in [p.holds[kind(name)]]) for name in menu.names)


def kind(name):
    from lutherie_geom.studies.allocation_design import FEATURES

    return FEATURES[name]


def offers(name):
    from lutherie_geom.design.processes import processes

    return processes().holding(kind(name))


def test_a_set_found_by_the_straight_line_holds_on_the_whole_joint(design, menu):
    found = menu.still[1.0][0]
    limits = panels_allocation.windowed(limits_of(design), 1.0)
    named = dict(zip(Spreads.of_design(design).of, found.spreads, strict=True))
    assert set(menu.names) <= set(named)
    yields = judge_for(design, set_up=False, limits=limits, samples=2048)(found.spreads)
    assert yields == pytest.approx(found.straight, abs=0.06)


def test_the_picture_says_its_sets(menu):
    drawing = panels_allocation.allocation_picture(menu)
    left, right = titles(drawing)
    costs = [panels_allocation._first(s, 0.7).cost for s in (menu.turned[0.1], menu.still[0.5])]
    assert left == f"70 in 100: {costs[0]:.0f} min with the screws, {costs[1]:.0f} min without"
    assert f"of {len(menu.names)} by hand" in right
    marks = {line.get_label(): line for line in drawing.axes[1].lines}
    assert len(marks["turned"].get_xdata()) == len(marks["as put together"].get_xdata()) == len(menu.names)


def test_a_slider_moves_the_choice_and_the_money(menu, sheet):
    sheet.reset()
    chart, money = sheet.figure.axes
    marks = {line.get_label(): line for line in (*chart.lines, *money.lines)}
    text = sheet.text
    sheet.set(share=95, gap=0.9, half=0.5, hour=60, miss=600)
    assert sheet.error is None and sheet.text != text
    found = panels_allocation._first(menu.turned[0.9], 0.95)
    assert f"turned {found.cost:.0f} min or {found.cost:.0f} of your money" in sheet.text  # 60 an hour: a minute is one
    assert "as put together it cannot be had" in sheet.text
    assert marks["chosen for this yield"].get_ydata() == pytest.approx([found.cost + 600 * (1 - found.straight)])
    rows = list(marks["turned"].get_ydata())
    names = [menu.processes[x] for x in marks["turned"].get_xdata()]
    assert names == [found[menu.names[r]].process for r in rows]
    sheet.reset()
    assert sheet.text == text


@pytest.mark.parametrize("name", ["sheet", "gauge_sheet"])
def test_every_slider_answers(name, request):
    found = request.getfixturevalue(name)
    found.reset()
    every_slider_answers(found)


def test_gauges_picture_against_the_normal_curve():
    drawing = panels_measuring.measuring_picture(LOW, HIGH)
    left, right = drawing.axes
    # Steel ruler: ± 0.10 mm rectangular, scatter 0.08 mm, step 0.25 mm.
    u = math.sqrt(0.1**2 / 3 + 0.08**2 + 0.25**2 / 12)
    ruler = left.lines[0]
    x = np.asarray(ruler.get_xdata())
    np.testing.assert_allclose(ruler.get_ydata(), 100 * (norm.cdf(HIGH, x, u) - norm.cdf(LOW, x, u)), atol=1e-9)
    out = 100 * (norm.cdf(HIGH, HIGH + 0.1, u) - norm.cdf(LOW, HIGH + 0.1, u))
    assert f"lets {out:.0f} in 100 through" in titles(drawing)[0]
    assert right.lines[0].get_ydata()[-1] == pytest.approx(math.sqrt(0.1**2 / 3 + 0.08**2 / 30 + 0.25**2 / 12))


def test_the_gauge_sheet_counts_as_dice_do(gauge_sheet):
    gauge_sheet.reset()
    gauge_sheet.set(guard=0.05, readings=4, made=0.2)
    rng = np.random.default_rng(1)
    true = rng.normal((LOW + HIGH) / 2, 0.2, 400_000)
    read = true + rng.normal(0, math.sqrt(0.1**2 / 3 + 0.08**2 / 4 + 0.25**2 / 12), true.size)
    good, passed = (true >= LOW) & (true <= HIGH), (read >= LOW + 0.05) & (read <= HIGH - 0.05)
    said = [100 * v.mean() for v in (passed & ~good, good & ~passed)]
    numbers = [float(w) for w in gauge_sheet.figure.axes[0].get_title(loc="left").replace(",", "").split() if w[0].isdigit()]
    assert numbers[:2] == pytest.approx(said, abs=0.25)
    assert "the mean of 4 readings" in gauge_sheet.text
    gauge_sheet.set(wrong=0, scatter=0, step=0)
    assert gauge_sheet.error is None and "without any error" in gauge_sheet.text


def test_prototypes_picture_against_powers():
    drawing = panels_measuring.prototypes_picture()
    left, right = drawing.axes
    exact = left.lines[0]
    np.testing.assert_allclose(exact.get_ydata(), 100 * 0.05 ** (1 / np.asarray(exact.get_xdata())), rtol=1e-6)
    n = math.ceil(math.log(0.05) / math.log(0.95))
    assert f"{n} joints without a miss" in titles(drawing)[0]
    assert f"{100 * 0.99**n:.0f} times in 100" in titles(drawing)[1]
    two = right.lines[2]
    t = np.asarray(two.get_xdata()) / 100
    np.testing.assert_allclose(two.get_ydata(), 100 * binom.cdf(2, 124, 1 - t), rtol=1e-6, atol=1e-9)


def test_a_narrowed_question_is_the_one_asked_anew(design):
    limits = limits_of(design)
    wide, narrow = (problem_for(design, limits=panels_allocation.windowed(limits, h), samples=256, set_up=False)
                    for h in (1.0, 0.5))
    same = panels_allocation._narrowed(wide, 0.5)
    np.testing.assert_allclose(same.slopes, narrow.slopes, atol=1e-12)
    np.testing.assert_allclose(same.windows.room, narrow.windows.room, atol=1e-12)
    assert same.options == narrow.options
