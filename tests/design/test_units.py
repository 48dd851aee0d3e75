"""What a builder writes, what the library reads, and what it says when it cannot."""

from __future__ import annotations

import math
import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lutherie_geom.design.units import (
    UnitsError,
    convert,
    format_angle,
    format_length,
    parse_angle,
    parse_force,
    parse_length,
)


@pytest.mark.parametrize(("text", "mm"), [
    ("25.4 in", 645.16), ("6/64 in", 2.38125), ("1 1/2 in", 38.1), ("1-1/2 in", 38.1), ('1/4"', 6.35), ("25 ft", 7620),
    ("2.4 mm", 2.4), ("8.5 m", 8500), (".5mm", 0.5), ("5. mm", 5), ("-3/8 inch", -9.525), ("+2 cm", 20), ("1½ in", 38.1),
    ("½″", 12.7), ("28 feet", 8534.4), ("10 thou", 0.254), ("1e-1 mm", 0.1), ("\u22121.5 mm", -1.5), ("16 IN", 406.4),
    ("2 inches", 50.8), ("2.4 Mm", 2.4), ("2.4 MM", 2.4),
    ("1 yard", 914.4), ("0.5 millimetres", 0.5), ("250 µm", 0.25), ("15'", 4572),
])
def test_length(text, mm):
    assert parse_length(text) == pytest.approx(mm, rel=1e-14)


@pytest.mark.parametrize(("text", "said"), [
    ("14", "say the unit"), ("1 1/2", "say the unit"), ("", "not a number"), ("mm", "not a number"), ("0,5 mm", "'0.5 mm'"),
    ("1/0 in", "divides by zero"), ("nan mm", "not a number"), ("inf mm", "not a number"), ("1e999 mm", "too large"),
    ("3 inhces", "'inches'"), ("3 milimeter", "Did you mean"), ("3 kg", "does not measure a length"), ("3 deg", "length"),
    ("3 4 mm", "not one number"), ("1/2/3 in", "not one number"), ("3 mm*2", "not known"), ("3 m/s", "not known"),
    ("flat", "not a number"), ("__import__('os') mm", "not a number"), ("1,000 mm", "comma"), ("2**3 mm", "not known"),
    ("5 ft 3 in", "not known"), ("1" * 400 + "/1 mm", "too large"), ("3 %", "not known"),
])
def test_length_refused(text, said):
    with pytest.raises(UnitsError) as caught:
        parse_length(text)
    assert said in str(caught.value)
    assert str(caught.value).endswith((".", "mark."))


@pytest.mark.parametrize("bare", [14, 14.0, math.nan, None, True, ["1 mm"]])
def test_length_must_be_text(bare):
    with pytest.raises(UnitsError):
        parse_length(bare)


@pytest.mark.parametrize(("text", "rad"), [
    ("1.5 deg", math.radians(1.5)), ("1.5°", math.radians(1.5)), ("0.026 rad", 0.026), ("30'", math.radians(0.5)),
    ("90 degrees", math.pi / 2), ("1/2 turn", math.pi), ("5 mrad", 0.005),
])
def test_angle(text, rad):
    assert parse_angle(text) == pytest.approx(rad, rel=1e-14)


@pytest.mark.parametrize("text", ["1.5", "1.5 mm", "3 %", "3 percent", "3 dimensionless", "2 count"])
def test_angle_refused(text):
    with pytest.raises(UnitsError):
        parse_angle(text)


# The pound-force is defined as 0.45359237 kg under 9.80665 m/s2.
@pytest.mark.parametrize(("text", "newton"), [("700 N", 700), ("0.7 kN", 700), ("160 lbf", 160 * 4.4482216152605),
                                              ("160 lbs", 160 * 4.4482216152605), ("10 kg", 98.0665)])
def test_force(text, newton):
    assert parse_force(text) == pytest.approx(newton, rel=1e-12)


@pytest.mark.parametrize(("mm", "said"), [
    (12, "15/32 in (0.472)"), (38.1, "1 1/2 in"), (6.35, "1/4 in"), (0, "0 in"), (-9.525, "-3/8 in"), (25.4, "1 in"),
    (645.16, "25 13/32 in (25.400)"), (0.01, "0 in (0.000)"), (25.39, "1 in (1.000)"),
])
def test_inches_written(mm, said):
    assert format_length(mm, "inch") == said


def test_millimetres_and_degrees_written():
    assert format_length(2.384) == "2.38 mm"
    assert format_length(-0.001) == "0.00 mm"
    assert format_length(2.384, digits=1) == "2.4 mm"
    assert format_length(math.nan) == "nan mm"
    assert format_angle(math.radians(1.5)) == "1.50°"
    assert convert(50.8, "inch") == 2
    with pytest.raises(UnitsError):
        convert(1, "ell")


@given(st.integers(0, 5000), st.sampled_from([1, 2, 4, 8, 16, 32, 64]))
def test_a_written_fraction_reads_back(top, bottom):
    mm = top / bottom * 25.4
    assert parse_length(format_length(mm, "inch")) == pytest.approx(mm, abs=1e-9)


@given(st.text(max_size=20))
def test_any_text_is_read_or_refused_in_words(text):
    try:
        value = parse_length(text)
    except UnitsError as e:
        assert str(e)
    else:
        assert math.isfinite(value)


def test_pint_is_not_loaded_on_import():
    code = "import sys, lutherie_geom.design.units; assert 'pint' not in sys.modules"
    subprocess.run([sys.executable, "-c", code], check=True)
