"""Strings and tunings of one's own: masses by hand, notes against a chart, and every slip named."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import quad

import lutherie_geom as lg
from lutherie_geom.design import DesignError
from lutherie_geom.design.load import from_text
from lutherie_geom.design.own_strings import note_frequency
from lutherie_geom.design.tuning import strung
from lutherie_geom.joint.strings import open_length
from lutherie_geom.mechanics.pull import string_pull
from lutherie_geom.theory.intonation import string_mass

TEXT = Path("data/designs/slack_water.toml").read_text("utf-8")
ROWS = [("E2", "0.053 in", "0.018 in"), ("A2", "1.07 mm", "0.41 mm"), ("D3", "0.032 in", "0.014 in"),
        ("G3", "0.024 in", "0.013 in"), ("B3", "0.016 in", ""), ("E4", "0.3048 mm", "")]


def listed(rows, **more):
    """The design file with strings of its own; ``more`` goes into the first."""
    lines = []
    for k, (pitch, diameter, core) in enumerate(rows):
        lines += ["[[strings.set]]", f'pitch = "{pitch}"', f'diameter = "{diameter}"']
        lines += [f'core = "{core}"', 'wrap = "phosphor bronze"'] if core else []
        lines += [f"{key} = {value}" for key, value in more.items()] if k == 0 else []
    return f"{TEXT}\n" + "\n".join(lines)


def tuned(tuning, text=TEXT):
    return text.replace("scale = ", f"tuning = {tuning}\nscale = ")


def test_a_wound_string_by_its_helix():
    """Wire of the wrap along its curve, turn by turn, by integration; the core as a rod."""
    core, whole = 0.45, 1.35
    wire = (whole - core) / 2

    def speed(turn):
        x, y, z = (core + wire) * math.pi * math.sin(turn), (core + wire) * math.pi * math.cos(turn), wire
        return math.sqrt(x * x + y * y + z * z)

    one_turn = quad(speed, 0, 2 * math.pi)[0] / (2 * math.pi)
    grams_per_mm = 8.8e-3 * math.pi / 4 * wire**2 * one_turn / wire + 7.85e-3 * math.pi / 4 * core**2
    found = string_mass(diameter=whole, core_diameter=core, core_density=7850.0, wrap_density=8800.0)
    assert found == pytest.approx(grams_per_mm, rel=1e-12)  # g/mm is kg/m
    plain = string_mass(diameter=core, core_diameter=core, core_density=7850.0, wrap_density=8800.0)
    assert plain == pytest.approx(7850 * math.pi / 4 * 0.45e-3**2, rel=1e-12)
    # Lighter than a solid of the same outline, heavier than such wire with a quarter of it air.
    solid = 7.85e-3 * math.pi / 4 * core**2 + 8.8e-3 * math.pi / 4 * (whole**2 - core**2)
    assert 0.75 * solid < found < solid


def test_own_strings_pull_as_they_weigh():
    d = from_text(listed(ROWS))
    found = string_pull(d)
    lengths = open_length(d.pose())
    hertz = 82.4069, 110.0, 146.8324, 195.9977, 246.9417, 329.6276
    masses = [s.mass for s in strung(d).strings]
    by_hand = [m * (2 * x / 1000 * f) ** 2 for m, x, f in zip(masses, lengths, hertz, strict=True)]
    np.testing.assert_allclose(found.tension, by_hand, rtol=1e-6)
    assert masses[5] == pytest.approx(7850 * math.pi / 4 * 0.3048e-3**2)
    assert [s.wound for s in strung(d).strings] == [True] * 4 + [False] * 2
    assert strung(d).strings[0].core_diameter == pytest.approx(0.4572)
    assert "own strings" in str(found) and "my twelves" in str(string_pull(from_text(
        listed(ROWS).replace("scale = ", 'gauges = "my twelves"\nscale = '))))


def test_a_weighed_string_and_courses():
    d = from_text(listed(ROWS, mass_per_metre='"9.7 g/m"'))
    assert strung(d).strings[0].mass == pytest.approx(0.0097)
    assert from_text(listed(ROWS, mass_per_metre='"0.0097 kg/m"')).strings.set[0].mass == pytest.approx(0.0097)
    twelve = [row for pitch, size, core in ROWS for row in ((pitch, size, core), (pitch, "0.3 mm", ""))]
    text = listed(twelve)
    for k in range(12):
        text = text.replace("]]\npitch", f"]]\ncourse = {1 + k // 2}\npitch", 1)
    d = from_text(text)
    assert strung(d).course == tuple(np.repeat(range(6), 2)) and len(string_pull(d).tension) == 12


def test_own_tunings():
    standard = string_pull(lg.load("slack_water")).tension
    down = 2 ** (-1 / 3)  # two half tones: the pitch falls by 2^(-1/6), the pull by its square
    by_note = string_pull(from_text(tuned('["D2", "A2", "D3", "G3", "A3", "D4"]'))).tension
    np.testing.assert_allclose(by_note / standard, [down, 1, 1, 1, down, down], rtol=1e-6)
    by_step = string_pull(from_text(tuned("[-2, 0, 0, 0, -2, -2]"))).tension
    np.testing.assert_allclose(by_step / standard, [down, 1, 1, 1, down, down], rtol=1e-12)
    mixed = from_text(tuned('[0, 1.5, "D3", -12, 0, "E flat 4"]'))
    np.testing.assert_allclose(string_pull(mixed).tension / standard, [1, 2 ** (3 / 12), 1, 0.25, 1, 2 ** (-2 / 12)], rtol=1e-6)
    assert "0 +1.5 D3 -12 0 E flat 4" in mixed.strings.tuned.replace("+0", "0")
    # Both strings of a course go with the note of its lower one.
    twelve = from_text(tuned('["D2", 0, 0, 0, 0, 0]').replace("scale = ", 'gauges = "evening class twelve"\nscale = '))
    assert strung(twelve).strings[0].pitch == pytest.approx(146.83, abs=0.01)


@pytest.mark.parametrize(("note", "hertz"), [
    ("E2", 82.41), ("A2", 110.0), ("D3", 146.83), ("G3", 196.0), ("B3", 246.94), ("E4", 329.63),  # two web charts, read
    ("F#3", 185.0), ("Gb3", 185.0), ("g flat 3", 185.0), ("F sharp 3", 185.0), ("82.4 Hz", 82.4)])  # 185.00 from memory
def test_notes(note, hertz):
    assert note_frequency(note) == pytest.approx(hertz, abs=0.006)


@pytest.mark.parametrize(("text", "said"), [
    (listed([("H2", "1 mm", ""), *ROWS[1:]]), r"strings\.set\.0\.pitch: 'H2' is not a pitch"),
    (listed([("E9", "1 mm", ""), *ROWS[1:]]), r"strings\.set\.0\.pitch: E9 is .* Hz; allowed is 20 to 1500 Hz"),
    (listed([("E2", "9 mm", ""), *ROWS[1:]]), r"strings\.set\.0\.diameter: 9 mm.*allowed is 0\.1 to 3 mm"),
    (listed(ROWS, mass_per_metre=6), r"strings\.set\.0\.mass_per_metre: 6 is not a mass for a length"),
    (listed(ROWS, mass_per_metre='"600 g/m"'), r"600 g/m.*allowed is 0\.05 to 50 g/m"),
    (listed(ROWS).replace('"phosphor bronze"', '"gold"', 1), r"strings\.set\.0: wrap: no metal of a wrap 'gold'.*phosphor"),
    (listed(ROWS).replace('wrap = "phosphor bronze"\n', "", 1), r"strings\.set\.0: wrap is missing"),
    (listed([("E2", "0.4 mm", "0.5 mm"), *ROWS[1:]]), r"core, 0\.5 mm, is not thinner than the whole string, 0\.4 mm"),
    (listed(ROWS[:5]), r"strings\.set: 'own strings' has 5 courses; the design has 6 places"),
    (listed(ROWS, course=2), r"strings\.set: course is 2, left out.*count up from 1"),
    (tuned('["D2", "A2"]'), r"strings\.tuning: D2 A2 has 2 entries; the design has 6 courses"),
    (tuned('["D2", "A2", "D3", "G3", "A3", "D6"]'), r"strings\.tuning: D6 for course 6 is \+22 half tones; allowed is -12 to 12"),
    (tuned("[0, 0, 0, 0, 0, 40]"), r"strings\.tuning: course 6: 40 half tones; allowed is -12 to 12"),
    (tuned('[0, 0, 0, 0, 0, "x"]'), r"strings\.tuning: 'x' is not a pitch"),
    (tuned("3"), r"strings\.tuning: 3 is not a tuning"),
    (tuned('"upside down"'), r"strings\.tuning: no tuning 'upside down'"),
])
def test_slips_are_named(text, said):
    with pytest.raises(DesignError, match=said):
        from_text(text)
