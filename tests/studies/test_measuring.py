"""Measuring: Monte Carlo on even points, limiting cases and brute force over the number of readings against the closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.special import ndtri
from scipy.stats import norm

from lutherie_geom.design.catalogue import CatalogueError
from lutherie_geom.design.spread import Spread
from lutherie_geom.studies.measuring import (
    Gauge,
    MeasuringError,
    accepted,
    compare,
    conformity,
    gauge,
    gauge_names,
    guard_for,
    readings_needed,
    risks,
)
from lutherie_geom.studies.sampling import Job, uniform

PLAIN = Gauge("plain", Spread.sd(0.02), 0.05, 0.0)


def even(dimension: int, power: int = 17) -> np.ndarray:
    return ndtri(uniform(Job(dimension, 5, 0, 0, 2**power)))


def test_risks_against_monte_carlo():
    low, high, made, n, guard = 1.75, 2.25, (2.05, 0.12), 3, 0.04
    z = even(2 + n)
    true = made[0] + made[1] * z[0]
    read = true + 0.02 * z[1] + (0.05 * z[2:]).mean(axis=0)
    good, passed = (true >= low) & (true <= high), (read >= low + guard) & (read <= high - guard)
    r = risks(low, high, PLAIN, n, made=made, guard=guard)
    assert r.good == pytest.approx(good.mean(), abs=2e-4)
    assert r.passed == pytest.approx(passed.mean(), abs=3e-4)
    assert r.let_through == pytest.approx((passed & ~good).mean(), abs=2e-4)
    assert r.turned_back == pytest.approx((~passed & good).mean(), abs=3e-4)


def test_risks_against_one_integral():
    low, high, mean, sd, n, guard = 1.75, 2.25, 2.1, 0.15, 2, 0.03
    both, _ = quad(lambda y: norm.pdf(y, mean, sd) * accepted(low, high, y, PLAIN, n, guard=guard), low, high, epsabs=1e-13)
    r = risks(low, high, PLAIN, n, made=(mean, sd), guard=guard)
    assert r.passed - r.let_through == pytest.approx(both, abs=1e-9)
    assert r.good - r.turned_back == pytest.approx(both, abs=1e-9)


def test_conformity_against_monte_carlo_with_a_prior():
    """Of joints whose readings came out near a mean, how many are inside: counted, not computed."""
    low, high, made, n = 1.75, 2.25, (2.0, 0.15), 2
    z = even(2 + n, 20)
    true = made[0] + made[1] * z[0]
    read = true + 0.02 * z[1] + (0.05 * z[2:]).mean(axis=0)
    near = np.abs(read - 2.22) < 0.004
    assert near.sum() > 5000
    counted = ((true >= low) & (true <= high))[near].mean()
    assert conformity(low, high, 2.22, PLAIN, n, made=made) == pytest.approx(counted, abs=0.02)


def test_limiting_cases():
    exact = Gauge("nearly exact", Spread.sd(0.0), 1e-7, 0.0)
    r = risks(1.75, 2.25, exact, made=(2.0, 0.2))
    assert r.let_through == pytest.approx(0, abs=1e-6) and r.turned_back == pytest.approx(0, abs=1e-6)
    assert r.passed == pytest.approx(r.good, abs=1e-6)
    # No prior is a prior of any width; a very sure prior leaves the readings without weight.
    alone = conformity(1.75, 2.25, 2.2, PLAIN)
    assert conformity(1.75, 2.25, 2.2, PLAIN, made=(0.0, 1e5)) == pytest.approx(alone, abs=1e-6)
    assert conformity(1.75, 2.25, 9.0, PLAIN, 1, made=(2.0, 1e-6)) == pytest.approx(1.0, abs=1e-9)
    # On the limit of a one-sided window the odds are even.
    assert conformity(1.75, math.inf, 1.75, PLAIN) == pytest.approx(0.5)
    assert accepted(1.75, math.inf, 1.75, PLAIN) == pytest.approx(0.5)
    assert risks(1.75, 2.25, PLAIN, made=(2, 0.1), guard=0.3).passed == 0
    assert conformity(1.75, 2.25, np.array([1.8, 2.0]), PLAIN).shape == (2,)


def test_the_systematic_part_is_not_averaged():
    """Monte Carlo of the mean of n readings: the gauge is wrong by the same every time, the scatter differs."""
    z = even(10)
    read = 0.02 * z[0] + (0.05 * z[1:]).mean(axis=0)
    assert PLAIN.uncertainty(9) == pytest.approx(read.std(), rel=2e-3)
    assert PLAIN.uncertainty(10**6) == pytest.approx(0.02, rel=1e-4) and PLAIN.lasting == pytest.approx(0.02)
    step = Gauge("steps", Spread.sd(0.0), 0.0, 0.1)
    assert step.uncertainty(100) == pytest.approx(np.std((np.arange(10**5) + 0.5) / 10**6), rel=1e-6)  # even over one step


@settings(max_examples=60, deadline=None)
@given(st.floats(0.02, 0.25), st.floats(0.0, 0.06), st.floats(0.005, 0.2), st.floats(0.0, 0.1), st.floats(0.6, 0.99),
       st.floats(0.6, 0.99))
def test_readings_needed_against_trying_one_after_the_other(inside, systematic, scatter, step, confidence, safe):
    g = Gauge("tried", Spread.sd(systematic), scatter, step)
    found = readings_needed(1.75, 2.25, g, inside=inside, confidence=confidence, safe=safe)
    n = np.arange(1, 1001)
    u = np.sqrt(systematic**2 + scatter**2 / n + step**2 / 12)
    guard = norm.ppf(safe) * u
    chance = norm.cdf((0.5 - guard - inside) / u) - norm.cdf((guard - inside) / u)
    enough = np.nonzero(chance >= confidence - 1e-9)[0]
    if found.readings is None:
        assert not enough.size or chance.max() < confidence + 1e-6
    else:
        assert found.readings == n[enough[0]]
        assert found.uncertainty == pytest.approx(u[enough[0]])


def test_none_suffices_is_said_with_what_stays():
    found = readings_needed(1.75, 2.25, gauge("steel ruler"), inside=0.1)
    assert found.readings is None and "no number of readings suffices" in str(found) and "0.092 mm" in str(found)
    far = readings_needed(1.75, 2.25, Gauge("shaky", Spread.sd(0.0), 5.0, 0.0), inside=0.1)
    assert far.readings is None and "more than anyone takes" in far.reason


def test_several_windows_ask_for_more():
    one = readings_needed(1.75, 2.25, PLAIN, inside=0.08).readings
    two = readings_needed(1.75, 2.25, PLAIN, inside=0.08, windows=2).readings
    assert one < two
    # Both passed together with 95 in 100: the two chances multiplied.
    chance = accepted(1.75, 2.25, 1.83, PLAIN, two, guard=readings_needed(1.75, 2.25, PLAIN, inside=0.08, windows=2).guard)
    assert chance**2 >= 0.95


def test_guard_band_keeps_what_it_promises():
    made, wrong = (2.0, 0.15), 0.005
    guard = guard_for(1.75, 2.25, PLAIN, 2, made=made, wrong=wrong)
    assert guard > 0
    assert risks(1.75, 2.25, PLAIN, 2, made=made, guard=guard).wrong_if_passed == pytest.approx(wrong, abs=1e-5)
    assert guard_for(1.75, 2.25, PLAIN, 2, made=(2.0, 0.03), wrong=wrong) == 0
    with pytest.raises(MeasuringError, match="no guard band"):
        guard_for(1.95, 2.05, Gauge("coarse", Spread.sd(0.2), 0.1, 0.0), made=(2.0, 0.3), wrong=0.01)


def test_every_gauge_of_the_table():
    for name in gauge_names():
        g = gauge(name)
        assert g.mark == "common practice, no source" and g.what and 0.005 < g.uncertainty(1) < 0.2, name
    text = str(compare(1.75, 2.25, inside=0.15, windows=2))
    assert max(map(len, text.splitlines())) <= 100
    assert "2 windows" in text and all(n in text for n in gauge_names()) and "common practice, no source" in text
    with pytest.raises(CatalogueError, match="did you mean feeler gauge"):
        gauge("feeler guage")


@pytest.mark.parametrize("call, said", [
    (lambda: conformity(2.25, 1.75, 2.0, PLAIN), "lower limit must lie below"),
    (lambda: conformity(1.75, 2.25, 2.0, PLAIN, made=(2.0, -0.1)), "-0.1 mm"),
    (lambda: readings_needed(1.75, 2.25, PLAIN, inside=0.3), "at most 0.25 mm"),
    (lambda: readings_needed(1.75, 2.25, PLAIN, inside=0.0), "more than 0 mm"),
    (lambda: readings_needed(1.75, 2.25, PLAIN, inside=0.1, confidence=1.0), "less than 1"),
    (lambda: readings_needed(1.75, 2.25, PLAIN, inside=0.1, safe=0.2), "0.2"),
    (lambda: Gauge("bad", Spread.sd(0.0), -0.1, 0.0), "bad: scatter is -0.1 mm"),
    (lambda: Gauge("perfect", Spread.sd(0.0), 0.0, 0.0), "without any error"),
    (lambda: guard_for(1.75, 2.25, PLAIN, made=(2.0, 0.1), wrong=0), "wrong is 0"),
])
def test_bad_input(call, said):
    with pytest.raises(MeasuringError, match=said.replace("(", r"\(")):
        call()


def test_bad_number_of_readings():
    with pytest.raises(ValueError, match="readings is 0"):
        risks(1.75, 2.25, PLAIN, 0, made=(2.0, 0.1))
