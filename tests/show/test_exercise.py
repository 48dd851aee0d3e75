"""The checker of exercises: right answers pass, each usual slip is named, and nothing a student types raises an error."""

from __future__ import annotations

import math

import numpy as np
import pytest

from lutherie_geom.show.exercise import check, judge


@pytest.mark.parametrize("answer", [0.25, 0.2501, np.float64(0.25), np.asarray(0.25), "0.25 mm"])
def test_right_in_every_form(answer: object) -> None:
    mark = judge(answer, 0.25, unit="mm")
    assert mark.right and mark.sentence == "Right: 0.25 mm."


def test_a_text_with_a_unit_is_read_in_that_unit() -> None:
    assert judge("3/32 in", 3 / 32 * 25.4, unit="mm").right
    assert judge("25.4 mm", 1.0, unit="in").right
    assert judge("1.5 deg", math.radians(1.5), unit="rad").right
    assert judge("1.5 deg", 1.5, unit="deg").right


@pytest.mark.parametrize(
    ("answer", "expected", "unit", "words"),
    [
        (-1.3, 1.3, "mm", "sign is the other way round"),
        (2.6, 1.3, "mm", "twice"),
        (0.65, 1.3, "mm", "half"),
        (-0.65, 1.3, "mm", "half of what it should be (one side only, or a radius taken for a diameter?), and the sign"),
        (1.3 / 25.4, 1.3, "mm", "inches; millimetres are wanted"),
        (1.3 * 25.4, 1.3, "in", "millimetres; inches are wanted"),
        (0.0013, 1.3, "mm", "metres; millimetres"),
        (1.5, math.radians(1.5), "rad", "degrees; radians are wanted"),
        (-1.5, math.radians(1.5), "rad", "and the sign"),
        (math.radians(1.5), 1.5, "deg", "radians; degrees are wanted"),
        (150.0 * math.pi / 180, 150.0, "mm/rad", "degrees; radians are wanted"),
        (1.9 * 25.4, 1.9, "mm", "too many, by 25.4: the length was in millimetres already"),
        (-1.9 * 25.4, 1.9, "mm", "in millimetres already, and the sign"),
        (0.5 / 25.4, 0.5, "in", "too many, by 25.4: the length was in inches already"),
        (1.5 * 57.2958, 1.5, "deg", "too many, by 57.3: the angle was in degrees already"),
        (math.radians(0.03), 0.03, "rad", "too many, by 57.3: the angle was in radians already"),
        ("-0.164 rad", -0.164, "turn", "the number fits, its unit does not; turn is wanted"),
        ("1.9 in", 1.9, "mm", "its unit does not; mm is wanted"),
        ("2.6 in", 60.0, "in", "too small"),
        ("12 mm", 12, "", "a plain number is wanted"),
        (13.0, 1.3, "mm", "decimal point"),
        (0.13, 1.3, "turn", "decimal point"),
        (1.4, 1.3, "mm", "near"),
        (5.0, 1.3, "mm", "too large"),
        (0.4, 1.3, "mm", "too small"),
        (0.3, 0.0, "mm", "too large"),
    ],
)
def test_the_slip_is_named(answer: float, expected: float, unit: str, words: str) -> None:
    mark = judge(answer, expected, unit)
    assert not mark.right and words in mark.sentence


@pytest.mark.parametrize("answer", ["a lot", [1, 2], {}, math.nan, math.inf, True, object, "3 furlongs"])
def test_what_is_no_number_is_said_and_raises_nothing(answer: object) -> None:
    assert not judge(answer, 1.3, unit="mm").right


@pytest.mark.parametrize(("answer", "expected", "unit", "note"), [
    ("1.276.", 1.276, "mm", ""), ("1.9 mm.", 1.9, "mm", ""), ("1.9;", 1.9, "mm", ""), ("3/32 in.", 2.381, "mm", ""),
    ("1,9", 1.9, "mm", "'1,9' was read as '1.9'"), ("1,9 mm.", 1.9, "mm", "was read as '1.9 mm'"),
    ("1,276", 1.276, "mm", "was read as '1.276'"), ("1,276", 1276, "N", "was read as '1276'"),
])
def test_a_full_stop_or_a_decimal_comma_voids_nothing(answer: str, expected: float, unit: str, note: str) -> None:
    mark = judge(answer, expected, unit)
    assert mark.right and note in mark.sentence and ("Write decimals" in mark.sentence) == bool(note)


@pytest.mark.parametrize("answer", ["1,2,3", "1,234.5", "1.9..", ","])
def test_marks_that_leave_a_doubt_are_not_read(answer: str) -> None:
    mark = judge(answer, 1.3, unit="mm")
    assert mark.kind == "unreadable" and ("," in answer) == ("Write decimals with a point" in mark.sentence)


def test_not_answered_and_zero(capsys: pytest.CaptureFixture[str]) -> None:
    check(None, 0.25, unit="mm")
    check(..., 0.25, unit="mm")
    assert capsys.readouterr().out == "not answered yet\nnot answered yet\n"
    assert judge(0.0, 0.0, unit="mm").right
    assert not judge(0.0, 1.0, unit="mm").right
