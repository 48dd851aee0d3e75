"""Intonation: against frequencies worked out in fifty digits from the string itself, unstretched length and mass."""

from __future__ import annotations

import mpmath
import numpy as np
import pytest

from lutherie_geom.theory.intonation import fretted_cents, pitch_drift, string_tension


def frequency(total, sounding, tension, mass):
    """Mersenne: half the wave speed over the sounding length; mass is that of the whole length (any unit)."""
    return mpmath.sqrt(tension / (mass / total)) / (2 * sounding)


@pytest.mark.parametrize(("ea", "tension"), [(2.0e4, 70.0), (1.2e5, 110.0)])
@pytest.mark.parametrize("semitones", [1, 5, 12, 20])
def test_fretted_note_from_the_string_itself(ea, tension, semitones):
    with mpmath.workdps(50):
        open_length, free = mpmath.mpf("648.2"), mpmath.mpf(95)
        vibrating = mpmath.mpf(648) * mpmath.mpf(2) ** (-mpmath.mpf(semitones) / 12) + mpmath.mpf("1.9")
        behind = open_length + mpmath.mpf("0.06") - vibrating
        before, after = open_length + free, vibrating + behind + free
        risen = tension + ea * (after - before) / before
        ratio = frequency(after, vibrating, risen, before) / frequency(before, open_length, tension, before)
        truth = 1200 * mpmath.log(ratio, 2) - 100 * semitones
    found = fretted_cents(semitones=semitones, open_length=float(open_length), vibrating=float(vibrating), behind=float(behind),
                          free_length=float(free), stiffness=ea, tension=tension)
    assert found == pytest.approx(float(truth), abs=1e-9)


def test_no_stretch_leaves_only_the_length():
    found = fretted_cents(semitones=12, open_length=650.0, vibrating=326.0, behind=324.0, free_length=100.0, stiffness=5e4,
                          tension=90.0)
    assert found == pytest.approx(1200 * np.log2(650.0 / 326.0) - 1200, abs=1e-11)
    exact = fretted_cents(semitones=12, open_length=650.0, vibrating=325.0, behind=325.0, free_length=100.0, stiffness=5e4,
                          tension=90.0)
    assert exact == pytest.approx(0, abs=1e-11)


@pytest.mark.parametrize("longer", [-0.4, -1e-6, 0.0, 0.3])
def test_drift_of_an_untouched_string(longer):
    with mpmath.workdps(50):
        before = mpmath.mpf("750.5")
        after = before + (mpmath.mpf(650.5 + longer) - mpmath.mpf(650.5))
        risen = 80 + mpmath.mpf(60000) * (after - before) / before
        ratio = frequency(after, mpmath.mpf(650.5 + longer), risen, before) / frequency(before, mpmath.mpf("650.5"), 80, before)
        truth = 1200 * mpmath.log(ratio, 2)
    found = pitch_drift(open_length=650.5, new_length=650.5 + longer, free_length=100.0, stiffness=60000.0, tension=80.0)
    assert found == pytest.approx(float(truth), abs=1e-10)
    assert np.sign(found) == np.sign(longer), "a longer string with the tuner left alone sounds sharp: stretch beats length"


def test_tension_gives_back_the_pitch():
    pull = string_tension(mass=3.9e-3, length=647.7, frequency=110.0)
    assert np.sqrt(pull / 3.9e-3) / (2 * 0.6477) == pytest.approx(110.0, rel=1e-14)
