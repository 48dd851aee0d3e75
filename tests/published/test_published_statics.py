"""Springs, shared loads, string tension and wire strength against published values; each number beside its source."""

from __future__ import annotations

import math

import pytest

from lutherie_geom.design.catalogue import read_table
from lutherie_geom.theory.intonation import string_tension
from lutherie_geom.theory.lever import screw_force
from lutherie_geom.theory.statics import lift_side_load, string_energy, wire_strength
from lutherie_geom.theory.stiffness import in_series

LOGAN = "read in: PyNiteFEA test suite (Testing/test_springs.py), which quotes Logan, A First Course in the FEM, Example 2.1"
FE_WIRE = "read in: engineeringprep.com problem 141 (FE handbook constants 2060 MPa, 0.163)"
SHIGLEY_WIRE = ("from memory, formula evaluated here: Shigley Table 10-4 constants for music wire (2211 MPa, 0.145, 0.10 to "
                "6.5 mm); least tensile strength, the FE handbook's constants give less")
MUSIC_WIRE = "read in: makeitfrom.com ASTM A228 music wire page; one typical value, it depends on the diameter"
HAND = "computed here, by hand"


def test_three_springs_in_a_row(near):
    """Both ends held, 5000 lbf at the second node: two springs in series share the load with the third."""
    left = in_series(stiffness_1=1000, stiffness_2=2000)
    u4 = 5000 / (left + 3000)
    near(u4, 1.3636364, 1e-4, LOGAN)
    near(left * u4 / 1000, 0.9090909, 1e-4, LOGAN)
    near(-3000 * u4, -4090.9091, 1e-4, LOGAN)


@pytest.mark.parametrize(("which", "mm", "mpa", "tolerance", "source"), [
    ("low", 7.25, 1492, 1, FE_WIRE),
    ("high", 0.25, 2703.3, 0.1, SHIGLEY_WIRE),
    ("high", 0.33, 2596.6, 0.1, SHIGLEY_WIRE),
    ("high", 0.4, 2525.2, 0.1, SHIGLEY_WIRE),
])
def test_wire(near, which, mm, mpa, tolerance, source):
    row = read_table("strings")["wire"][which]
    near(wire_strength(wire_constant=row["constant"], wire_exponent=row["exponent"], wire_diameter=mm), mpa, tolerance, source)


def test_typical_wire_lies_between_the_handbooks():
    low, high = (wire_strength(wire_constant=r["constant"], wire_exponent=r["exponent"], wire_diameter=0.4)
                 for r in (read_table("strings")["wire"][k] for k in ("low", "high")))
    assert low * 0.98 < 2450 < high, MUSIC_WIRE


def test_core_stress_of_a_plain_string(near):
    """0.012 in at 0.648 m and 329.6276 Hz: 104.531 N on 0.0730 mm^2 is 1434 MPa, some six tenths of the wire's strength."""
    area = math.pi / 4 * 0.3048**2
    pull = string_tension(mass=7850 * area * 1e-6, length=648, frequency=329.6276)
    near(pull, 104.531, 0.001, "computed here: Mersenne's law, plain steel, density 7850 kg/m3 assumed")
    row = read_table("strings")["wire"]["low"]
    share = pull / area / wire_strength(wire_constant=row["constant"], wire_exponent=row["exponent"], wire_diameter=0.3048)
    near(share, 0.573, 0.001, HAND)
    # T^2 l / (2 EA) with E = 198 GPa and 700 mm that stretch.
    near(string_energy(tension=104.531, length=700, stiffness=198e3 * area).energy, 264.7, 0.1, HAND)


def test_rules_of_thumb_by_hand(near):
    near(screw_force(pull=720, string_lever=33.4, arm=60), 400.8, 0.05, HAND + ": total pull x lever arm / arm")
    near(lift_side_load(seat_total=1120, spacing=36, distance=540), 37.3, 0.05, HAND + ": N w / (2 l)")
