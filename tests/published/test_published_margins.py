"""Margins of strength against published values; each number beside its source.

No standard or handbook was open: values were read in reproductions, are from memory, or were computed here, as each source says.
"""

from __future__ import annotations

import math

import pytest

from lutherie_geom.design.catalogue import read_table, thread
from lutherie_geom.mechanics.screws import limits
from lutherie_geom.theory import joint_strength as j
from lutherie_geom.theory import strength as s

LBF, INCH = 4.4482216152605, 25.4
CREST = "read in: ISO 965 6g limits: amesweb.info metric external thread chart (M3-M5) and a reproduced ISO 965 table (M6)"
STRIP = "formula read: a web page that paraphrases Machinery's Handbook, 24th edition; number computed here"
TABLE_53 = (
    "read in: USDA FPL-GTR-282 (2021) Table 5-3a, reproduced in public repository soconnell345-geotech/geotech-references "
    "(wood_handbook/mechanical_properties.py)"
)
LOGAN = "read in: Logan, A First Course in the Finite Element Method, Example 2.1 (JWock82/PyNite Testing/test_springs.py)"
BOLT_RULE = "inch constants 11,200 and 6,100 from memory; number computed here"
MACHINE = "read in: data pages on free-cutting brass C36000 (a supplier's, and makeitfrom.com)"
HARDNESS = "read in: conversion table after DIN 50150 on a trade page (51tongren.cn)"


@pytest.mark.parametrize(("name", "least", "source"), [("M4", 3.838, CREST), ("M5", 4.826, CREST), ("M6", 5.794, CREST)])
def test_least_outer_diameter(near, name, least, source):
    near(read_table("metals")["crest"][name], least, 0, source)
    t = thread(name)
    crest, d2, n2 = limits(t.diameter, t.pitch)
    near(crest, least, 0, source)
    assert (d2, n2) == (t.screw_limits[0], t.nut_limits[1])
    assert limits(t.diameter, t.pitch * 0.75)[0] == t.diameter  # a fine thread has no limits here


def test_length_for_a_thread_as_strong_as_the_screw(near):
    """1/4-20: L_e = 2 At / (pi n K [1/(2n) + 0.57735 (E - K)]), in inches; K bore, E pitch diameter; one metal."""
    n, bore, pitch_diameter, area = 20, 0.1959, 0.2175, 0.0318
    book = 2 * area / (math.pi * n * bore * (1 / (2 * n) + 0.57735 * (pitch_diameter - bore)))
    a = j.strip_areas(engagement=book * INCH, pitch=INCH / n, diameter=0.25 * INCH, pitch_diameter=pitch_diameter * INCH,
                      bore_diameter=bore * INCH, nut_pitch_diameter=pitch_diameter * INCH)
    near(a.screw_shear_area / INCH**2, 2 * area, 1e-6, STRIP)


@pytest.mark.parametrize(("along", "across", "gravity", "soft", "source"), [
    (51.1, 8.0, 0.60, False, TABLE_53),  # white ash
    (49.0, 4.8, 0.50, False, TABLE_53),  # black cherry
    (54.0, 10.1, 0.63, False, TABLE_53),  # sugar maple
    (46.6, 7.0, 0.63, False, TABLE_53),  # northern red oak
    (51.3, 7.4, 0.68, False, TABLE_53),  # white oak
    (38.2, 3.4, 0.42, False, TABLE_53),  # yellow-poplar
    (30.9, 2.8, 0.35, True, TABLE_53),  # engelmann spruce
    (49.9, 5.5, 0.48, True, TABLE_53),  # douglas-fir, coast
    (49.0, 3.8, 0.45, True, TABLE_53),  # western hemlock
])
def test_estimate_across_the_grain_against_the_table(near, along, across, gravity, soft, source):
    guess = j.across_from_gravity(gravity=gravity)
    near((guess.across_softwood if soft else guess.across_hardwood) / across, 1.0, 0.34, source)
    assert across < along / 4  # a load at right angles to the grain is another matter


MOISTURE = [
    ("white ash", 27500, 51100, 4600, 8000, 9300, 13200),
    ("black cherry", 24400, 49000, 2500, 4800, 7800, 11700),
    ("sugar maple", 27700, 54000, 4400, 10100, 10100, 16100),
    ("northern red oak", 23700, 46600, 4200, 7000, 8400, 12300),
    ("white oak", 24500, 51300, 4600, 7400, 8600, 13800),
    ("yellow-poplar", 18300, 38200, 1900, 3400, 5400, 8200),
    ("coast douglas-fir", 26100, 49900, 2600, 5500, 6200, 7800),
    ("western hemlock", 23200, 49000, 1900, 3800, 5900, 8600),
    ("engelmann spruce", 15000, 30900, 1400, 2800, 4400, 8300),
]


@pytest.mark.parametrize("row", MOISTURE, ids=[r[0] for r in MOISTURE])
def test_green_and_dry_values(near, row):
    """Each pair as read, and the moisture relation runs through both of them."""
    name, *values = row
    table = read_table("wood_strength")["moisture"][name]
    keys = ("compression_along", "compression_across", "shear_strength")
    for key, green, dry in zip(keys, values[::2], values[1::2], strict=True):
        near(table[key][0], green, 0, TABLE_53)
        near(table[key][1], dry, 0, TABLE_53)
        at = {"dry_value": dry, "green_value": green, "meeting_point": 25}
        near(s.at_moisture(**at, moisture=12), dry, 1e-6, TABLE_53)
        near(s.at_moisture(**at, moisture=25), green, 1e-6, TABLE_53)


def test_meeting_point(near):
    near(read_table("wood_strength")["moisture_source"]["meeting_point"], 25, 0, TABLE_53 + "; printed default")


def test_bolt_bearing(near):
    psi = LBF / INCH**2
    b = j.bolt_bearing(gravity=0.5, dowel_diameter=12.7)
    near(b.along_grain, 11200 * 0.5 * psi, 0.02, BOLT_RULE)
    near(b.across_grain, 6100 * 0.5**1.45 / math.sqrt(0.5) * psi, 0.02, BOLT_RULE)


def test_bearing_at_an_angle_ends_at_the_two_strengths(near):
    b = j.bolt_bearing(gravity=0.45, dowel_diameter=12)
    for angle, value in ((0.0, b.along_grain), (math.pi / 2, b.across_grain)):
        near(s.hankinson(along_grain=b.along_grain, across_grain=b.across_grain, grain_angle=angle), value, 1e-9,
             "formula read: Hankinson, GTR-282 Eq. 8-16 (reproduction); limits")


def test_springs_that_share_a_load(near):
    """Springs of 1000, 2000 and 3000 lbf/in in a row, both ends held, 5000 lbf between the last two: the last is the screw."""
    members = 1 / (1 / 1000 + 1 / 2000)
    share = s.joint_constant(screw_stiffness=3000, member_stiffness=members)
    found = s.joint_forces(preload=0, joint_constant=share, load=5000)
    near(found.screw_force, 4090.9091, 1e-3, LOGAN)
    near(found.screw_force / 3000, 1.3636364, 1e-6, LOGAN)
    near(-found.clamp_force / 1000, 0.9090909, 1e-6, LOGAN)


@pytest.mark.parametrize(("what", "low", "high", "source"), [
    ("yield", 124, 310, MACHINE), ("modulus", 97000, 100000, MACHINE), ("shear", 210, 310, MACHINE),
    ("poisson", 0.31, 0.31, MACHINE),
])
def test_brass_lies_within_what_was_read(what, low, high, source):
    brass = read_table("metals")["metals"]["brass"]
    assert low <= brass[what] <= brass.get(f"{what}_high", high) <= high, source


@pytest.mark.parametrize(("tensile", "brinell", "source"), [(800, 238, HARDNESS), (995, 295, HARDNESS), (1220, 361, HARDNESS)])
def test_hardness(near, tensile, brinell, source):
    table = read_table("metals")["hardness"]
    near(dict(zip(table["tensile"], table["brinell"], strict=True))[tensile], brinell, 0, source)


def test_first_yield_by_the_stress_under_the_contact(near):
    """Largest von Mises stress on the axis under a Hertz contact, Poisson's ratio 0.3, by a fine search: computed here."""
    import numpy as np

    z = np.linspace(0.01, 3, 30000)  # depth over the half width of the touch
    radial = -(1 + 0.3) * (1 - z * np.arctan(1 / z)) + 1 / (2 * (1 + z**2))
    point = np.abs(radial + 1 / (1 + z**2)).max()
    root = np.sqrt(1 + z**2)
    x, y = -((1 + 2 * z**2) / root - 2 * z), -1 / root
    along = 0.3 * (x + y)
    line = np.sqrt(((x - y) ** 2 + (y - along) ** 2 + (along - x) ** 2) / 2).max()
    limit = j.first_yield(yield_stress=1.0)
    near(limit.point_limit, 1 / point, 0.02, "1.6: from memory; checked here")
    near(limit.line_limit, 1 / line, 0.01, "1.79: from memory; checked here")
