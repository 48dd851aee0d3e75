"""Millimetres told in inches: no number is lost, no other word is touched, and a figure comes back as it was."""

from __future__ import annotations

import re
import timeit
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lutherie_geom.show import style
from lutherie_geom.show.inches import in_inches, number_in_inches, set_in_inches, texts_of


@given(digits=st.integers(-10**7, 10**7), decimals=st.integers(0, 4))
def test_a_number_of_millimetres_comes_back_from_its_inches(digits: int, decimals: int) -> None:
    exact = Fraction(digits, 10**decimals)
    inches = Fraction(number_in_inches(float(exact), decimals))
    back = inches * Fraction(254, 10) * 10**decimals
    assert abs(back - digits) < Fraction(1, 2)  # so rounding gives the number that it came from
    assert round(back) == digits


@given(low=st.integers(0, 9999), high=st.integers(0, 9999), decimals=st.integers(0, 3))
def test_every_number_of_a_sentence_survives(low: int, high: int, decimals: int) -> None:
    a, b = (f"{n / 10**decimals:.{decimals}f}" for n in (low, high))
    said = in_inches(f"At fret 12, between 3/4 turn and 1 turn: {a} to {b} mm, or ± {b} mm.")
    found = re.fullmatch(r"At fret 12, between 3/4 turn and 1 turn: (\S+) to (\S+) in, or ± (\S+) in\.", said)
    assert found, said
    left, right, again = found.groups()
    assert right == again
    for text, number in ((left, low), (right, high)):
        assert round(float(text) * 25.4 * 10**decimals) == number


@pytest.mark.parametrize(("said", "told"), [
    ("2.54 mm", "0.1000 in"),
    ("25.4 mm/turn", "1.000 in/turn"),
    ("1 to 2 mm", "0.04 to 0.08 in"),
    ("-0.30 to +0.45 mm", "-0.0118 to +0.0177 in"),
    ("1.0-2.0 mm", "0.039-0.079 in"),
    ("2.50 ± 0.20 mm", "0.0984 ± 0.0079 in"),
    ("± 0.2 mm", "± 0.008 in"),
    ("-0.34 | 0.20 mm", "-0.0134 | 0.0079 in"),
    ("1/8 turn is 0.305 ± 0.012 mm (before: ± 0.021)", "1/8 turn is 0.01201 ± 0.00047 in (before: ± 0.00083)"),
    ("swings 0.305 mm (2)", "swings 0.01201 in (2)"),
    ("87 x 280 mm", "3.43 x 11.02 in"),
    ("bass 2.31, treble 1.85 mm.", "bass 0.0909, treble 0.0728 in."),
    ("0.1, 0.2 and 0.3 mm", "0.004, 0.008 and 0.012 in"),
    ("action at fret 12, mean 2.10 mm", "action at fret 12, mean 0.0827 in"),
    ("action [mm], pitch [mm/turn], sinks [mm/1000]", "action [in], pitch [in/turn], sinks [in/1000]"),
    ("height [mm] (stretched)", "height [in] (stretched)"),
    ("-0.00 mm", "-0.0000 in"),
])  # fmt: skip
def test_what_is_told(said: str, told: str) -> None:
    assert in_inches(said) == told


@pytest.mark.parametrize("said", ["", "12 N/mm", "3 N mm", "6 mm²", "area [mm²]", "5 mm^2", "hammer 12", "1/8 turn",
                                  "dimmed 3 times", "4.2 MPa", "35 deg", "0.2 mm/mm", "[mm/mm]"])  # fmt: skip
def test_what_is_left_alone(said: str) -> None:
    assert in_inches(said) == said


def test_a_reading_costs_far_less_than_a_millisecond() -> None:
    line = "Least floor clearance 1.23 mm, in the pocket 2.34 mm. One turn down needs 1.20 mm, one turn up takes 2.20 mm. " * 3
    assert min(timeit.repeat(lambda: in_inches(line), number=20, repeat=3)) / 20 < 1e-3


def test_a_figure_is_told_in_inches_and_comes_back() -> None:
    drawing, axes = style.figure("A step of 2.54 mm")
    drawing.set_layout_engine("none")  # a layout is found a little differently each time it is looked for
    axes.set(xlim=(0, 254), ylim=(0, 1))
    style.label_axes(axes, ("along", "mm"), ("turns", ""))
    number = axes.text(10, 0.5, "+0.25")
    axes.text(10, 0.7, "12")  # a whole number alone may be a fret's
    words, before = [t.get_text() for t in texts_of(drawing)], style.to_png(drawing)
    ticks = list(axes.get_xticks())
    with set_in_inches(drawing):
        assert axes.get_title() == "" and axes.get_title(loc="left") == "A step of 0.1000 in"
        assert axes.get_xlabel() == "along [in]" and axes.get_ylabel() == "turns"
        assert number.get_text() == "+0.0098"
        shown = [(x, t.get_text()) for x, t in zip(axes.get_xticks(), axes.get_xticklabels(), strict=True)]
        assert all(float(text) == pytest.approx(x / 25.4, abs=1e-6) for x, text in shown)
        assert (50.8, "2") in [(round(x, 6), text) for x, text in shown]  # round inches, not round millimetres
        assert style.to_png(drawing) != before
    assert [t.get_text() for t in texts_of(drawing)] == words and list(axes.get_xticks()) == ticks
    assert style.to_png(drawing) == before


def test_an_error_while_it_lasts_leaves_no_inches_behind() -> None:
    drawing, axes = style.figure("2 mm")
    with pytest.raises(ZeroDivisionError), set_in_inches(drawing):
        raise ZeroDivisionError
    assert axes.get_title(loc="left") == "2 mm"
