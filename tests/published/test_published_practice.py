"""Facts and ranges of the trade. The ranges have no source and serve for a word of doubt only; the half rule is geometry."""

from __future__ import annotations

import pytest

from lutherie_geom.design.catalogue import KPSI, names, usual_range
from lutherie_geom.theory.action import saddle_rule
from lutherie_geom.theory.scale import fret_distance

PRACTICE = "common practice, no source"
HALF_RULE = "computed here: geometry: string is straight from nut to saddle, fret 12 is at S/2"
PINT = "computed here: Pint 0.25.3, installed with pip and run here"

# name, low, high, unit
RANGES = [
    ("scale-steel", 628, 650, "mm", PRACTICE),
    ("scale-classical", 640, 660, "mm", PRACTICE),
    ("body-fret", 12, 14, "fret", PRACTICE),
    ("action12-bass", 2.0, 2.8, "mm", PRACTICE),
    ("action12-treble", 1.5, 2.2, "mm", PRACTICE),
    ("action12-nylon-bass", 3.5, 4.2, "mm", PRACTICE),
    ("action12-nylon-treble", 2.8, 3.2, "mm", PRACTICE),
    ("saddle-projection", 2.5, 5.0, "mm", PRACTICE),
    ("string-height-bridge-steel", 11, 14, "mm", PRACTICE),
    ("string-height-bridge-classical", 9, 12, "mm", PRACTICE),
    ("dome-top", 7.0, 18.3, "m", PRACTICE),
    ("dome-back", 3.6, 7.6, "m", PRACTICE),
    ("tension-steel", 600, 850, "N", PRACTICE),
    ("tension-nylon", 350, 450, "N", PRACTICE),
    ("side-thickness", 1.8, 2.3, "mm", PRACTICE),
    ("fingerboard-thickness", 5.5, 6.5, "mm", PRACTICE),
    ("fingerboard-radius", 254, 508, "mm", PRACTICE),
    ("nut-slot-height", 0.3, 0.7, "mm", PRACTICE),
    ("relief", 0.1, 0.3, "mm", PRACTICE),
    ("humidity-workshop", 40, 50, "%RH", PRACTICE),
]

# scale, compensation, change of action at fret 12 for 1 mm at the saddle, tolerance
HALF = [
    (650, 0.0, 0.5, 1e-09, HALF_RULE),
    (650, 3.0, 0.497703, 1e-06, HALF_RULE),
]


@pytest.mark.parametrize(("name", "low", "high", "unit", "source"), RANGES)
def test_usual_range_is_carried_as_given(name, low, high, unit, source):
    found = usual_range(name)
    assert (found.low, found.high, found.unit, found.mark) == (low, high, unit, source)


def test_no_other_range_crept_in():
    assert names("ranges") == [row[0] for row in RANGES]


@pytest.mark.parametrize(("scale", "compensation", "change", "tolerance", "source"), HALF)
def test_half_of_the_saddle_arrives_at_fret_12(near, scale, compensation, change, tolerance, source):
    twelve = fret_distance(scale=scale, fret=12)
    near(saddle_rule(saddle_lift=1.0, nut_to_fret=twelve, nut_to_saddle=scale + compensation), change, tolerance, source)


def test_pressure_unit(near):
    near(15.7 * KPSI, 108.2477, 0.0001, PINT)  # 15,700 lbf/in2 in N/mm2
