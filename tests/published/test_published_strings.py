"""Frets, pitch, tension and intonation against published values; each number beside its source."""

from __future__ import annotations

import math

import pytest

from lutherie_geom.design.catalogue import string_set
from lutherie_geom.theory.intonation import fretted_cents, pitch_ratio, string_mass, string_tension
from lutherie_geom.theory.scale import fret_distance

CHARTS = (
    "read in: two web charts of standard-tuning frequencies (E2 82.41, A2 110.00, D3 146.83, G3 196.00, "
    "B3 246.94, E4 329.63); more digits by formula 440*2^((m-69)/12), A4=440 Hz (ISO 16)"
)
SEMITONE = "formula read: 2^(1/12); a tuning web page prints 1.05946"
CENT = "computed here: definition of the cent"
INTERVALS = "from memory, formula evaluated here: music acoustics constants"
FRETS = "computed here: equal temperament"
RULE_18 = "from memory, formula evaluated here: equal temperament (old rule of 18 is the approximation)"
OPENSTAX = (
    "from memory, formula evaluated here: OpenStax University Physics vol. 1, section 16.3 example "
    "(inputs read in a stored copy of the example; results from memory)"
)
TENSION = "computed here: Mersenne/Taylor law; plain steel, density 7850 kg/m3 assumed"
PRELAB = "inputs and formula read in coursehero.com/file/6244092, prelab on standing waves; its number computed here"
MUSIC_WIRE = "read in: makeitfrom.com ASTM A228 music wire page"
STRETCH = "computed here: geometry of pressing the string by h at distance a"
COMPENSATION = "computed here:"

# string, semitones above A2, Hz
PITCHES = [
    ("E2", -5, 82.4069, CHARTS),
    ("A2", 0, 110.0, CHARTS),
    ("D3", 5, 146.8324, CHARTS),
    ("G3", 10, 195.9977, CHARTS),
    ("B3", 14, 246.9417, CHARTS),
    ("E4", 19, 329.6276, CHARTS),
]

# scale length, fret, distance from the nut in mm
DISTANCES = [
    (650, 1, 36.4817, FRETS),
    (650, 5, 163.0502, FRETS),
    (650, 7, 216.177, FRETS),
    (650, 12, 325.0, FRETS),
    (650, 14, 360.4579, FRETS),
    (650, 20, 445.2628, FRETS),
]

# diameter in inches, Hz, length in m, density in kg/m3, tension in N
TENSIONS = [
    (0.01, 329.6276, 0.648, 7850, 72.591, TENSION),
    (0.012, 329.6276, 0.648, 7850, 104.531, TENSION),
    (0.012, 329.6276, 0.6325, 7850, 99.59, TENSION),
    (0.016, 246.9417, 0.648, 7850, 104.296, TENSION),
    (0.017, 246.9417, 0.65, 7850, 118.468, TENSION),
]

# frequency ratio, cents, tolerance
INTERVAL_ROWS = [
    (3 / 2, 701.955, 0.001, INTERVALS),
    (81 / 80, 21.506, 0.001, INTERVALS),
    (1.00057779, 1.0, 2e-5, CENT),  # the ratio is printed to 1e-8
    (1.0594631, 100.0, 2e-4, SEMITONE),  # the ratio is printed to 1e-7
]


@pytest.mark.parametrize(("name", "above_a2", "hertz", "source"), PITCHES)
def test_pitch(near, name, above_a2, hertz, source):
    near({s.name: s.pitch for s in string_set()}[name], hertz, 5e-5, source)
    # The fret rule is the same law: stopped n frets up (or down, n below zero), a 110 Hz string gives this pitch.
    left = 1 - fret_distance(scale=1.0, fret=above_a2)
    near(110.0 / left, hertz, 5e-5, source)


@pytest.mark.parametrize(("scale", "fret", "mm", "source"), DISTANCES)
def test_fret_distance(near, scale, fret, mm, source):
    near(fret_distance(scale=scale, fret=fret), mm, 1e-4, source)


def test_semitone_and_the_old_rule_of_eighteen(near):
    first = fret_distance(scale=1.0, fret=1)
    near(1 / (1 - first), 1.0594631, 1e-07, SEMITONE)
    near(1 / first, 17.817, 0.0005, RULE_18)


@pytest.mark.parametrize(("ratio", "cents", "tolerance", "source"), INTERVAL_ROWS)
def test_intervals_in_cents(near, ratio, cents, tolerance, source):
    # A string of no stiffness, shortened by the ratio: only its length matters.
    found = fretted_cents(semitones=0, open_length=648, vibrating=648 / ratio, behind=648 - 648 / ratio, free_length=0,
                          stiffness=0, tension=100)
    near(found, cents, tolerance, source)


@pytest.mark.parametrize(("inches", "hertz", "metres", "density", "newton", "source"), TENSIONS)
def test_tension_of_a_plain_string(near, inches, hertz, metres, density, newton, source):
    mass = density * math.pi / 4 * (inches * 0.0254) ** 2
    near(string_tension(mass=mass, length=metres * 1000, frequency=hertz), newton, 1e-3, source)


def test_mass_of_a_plain_wire(near):
    found = string_mass(diameter=0.254, core_diameter=0.254, core_density=7800, wrap_density=0)
    near(found, 7.80e3 * math.pi * (0.010 * 0.0254) ** 2 / 4, 1e-9, PRELAB)


def test_semitones_of_the_charts(near):
    for _, above_a2, hertz, source in PITCHES:
        near(110.0 * pitch_ratio(half_tones=above_a2), hertz, 5e-5, source)


def test_wave_speed_on_a_string(near):
    # v = 2 l f: with l = 500 mm the frequency in Hz is the speed in m/s. 0.01 m/s of the speed is 0.0027 N.
    near(string_tension(mass=0.000309, length=500, frequency=427.23), 56.4,
         0.0027, OPENSTAX)


def test_steel_of_the_demo_set(near):
    for s in string_set():
        near(s.modulus_low, 190, 5, MUSIC_WIRE)
        assert s.modulus_low < s.modulus < s.modulus_high
        if not s.wound:
            near(s.mass / (math.pi / 4 * (s.core_diameter / 1000) ** 2), 7800, 60, MUSIC_WIRE)


def test_strain_of_a_pressed_string(near):
    # Pressed 2.5 mm down at half of 648 mm. The cents of a string 1000 times stiffer than its tension, less those of one
    # just as stiff as its tension (whose pitch does not change with strain), give the strain back.
    side = math.hypot(324, 2.5)
    soft, stiff = (fretted_cents(semitones=12, open_length=648, vibrating=side, behind=side, free_length=0, stiffness=k,
                                 tension=1) for k in (1, 1000))
    ratio = 2 ** ((stiff - soft) / 600)
    near((ratio - 1) / (1000 - ratio), 2.9768266e-05, 1e-11, STRETCH)


def test_compensation_flattens_the_octave(near):
    # Saddle 2 mm further back on a scale of 648 mm, against the note that the scale intends.
    found = fretted_cents(semitones=12, open_length=648, vibrating=326, behind=322, free_length=0, stiffness=0, tension=100)
    near(found, -10.6538, 0.0001, COMPENSATION)
