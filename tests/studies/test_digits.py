"""Digits that stand: what one run prints, another prints too; and no digit is held back without need."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as some
from real_joint import real_joint

from lutherie_geom.studies.digits import NOT_KNOWN, STEADY, decimals, stable_digits
from lutherie_geom.studies.sampling import run
from lutherie_geom.studies.tally import Summary


@pytest.mark.parametrize(("value", "error", "most", "text"), [
    (2.34567, 0.0002, 6, "2.35"), (2.34567, 0.0002, 1, "2.3"), (2.34567, 0.0, 3, "2.346"), (1234.5, 1.0, 6, "about 1200"),
    (-0.0004, 1e-5, 2, "0.00"), (0.02, 0.1, 6, NOT_KNOWN), (float("nan"), 0.1, 6, NOT_KNOWN), (1.0, float("inf"), 6, NOT_KNOWN),
    (97.5, 0.0039, 1, "97.5"), (0.5, 0.039, 1, "0"), (99.96, 0.001, 1, "100.0"),
])
def test_by_hand(value, error, most, text):
    assert stable_digits(value, error, most=most) == text


@given(some.floats(-1e6, 1e6), some.floats(1e-8, 1e3))
def test_half_a_unit_of_the_last_digit_covers_twelve_errors_and_a_finer_digit_would_not(value, error):
    """JCGM 101 clause 7.9.2 (from memory) asks for two; the step up is at most tenfold."""
    unit = 10.0 ** -decimals(error, 15)
    assert STEADY * error <= unit * (1 + 1e-12) and unit / 10 < STEADY * error * (1 + 1e-12)
    text = stable_digits(value, error, most=15)
    assert text == NOT_KNOWN or text.startswith("about ") == (unit > 1)
    text = text.removeprefix("about ")
    if text != NOT_KNOWN:
        assert abs(float(text) - value) <= unit / 2 * (1 + 1e-9)
        assert not text.startswith("-0") or float(text) < 0


@pytest.mark.parametrize("just", [True, False])
def test_two_runs_print_the_same_in_95_of_100(just):
    """Normal errors about values anywhere; at worst the last digit is worth just the 25 errors."""
    rng = np.random.default_rng(1)
    n = 20_000
    error = np.full(n, 0.1 / STEADY * 0.9999) if just else 10 ** rng.uniform(-4, -2, n)
    true = rng.uniform(-5, 5, n)
    runs = true + error * rng.standard_normal((2, n))
    same = [stable_digits(a, e) == stable_digits(b, e) for a, b, e in zip(*runs, error, strict=True)]
    assert np.mean(same) >= 0.95
    assert np.mean(same) <= 0.99  # with fewer digits it would be easy


def texts(tally):
    """All that a table prints of a tally: mean, spread of 95 in 100, shares in per cent."""
    ends, end_errors = tally.quantile([0.025, 0.975]), tally.quantile_error([0.025, 0.975])
    for r in range(len(tally.count)):
        yield stable_digits(tally.mean[r], tally.mean_error[r])
        yield from map(stable_digits, ends[r], end_errors[r])
        yield stable_digits(100 * tally.share_inside[r], 100 * tally.share_error[r])
    yield stable_digits(100 * tally.share_all_inside, 100 * tally.share_all_error)


JOINT, INPUTS = real_joint()
LIMITS = [(2.0, 2.8), (1.5, 2.2), (0.8, None), (0.5, None), (1.0, None)]


def summary():
    first = JOINT(np.random.default_rng(0).random((INPUTS, 4096)))
    return Summary.fitted(first, LIMITS)


def test_other_seeds_print_the_same_table_of_the_real_joint():
    same, printed = [], []
    for samples in (1000, 2048, 3000, 8192, 12_000, 20_000):
        tables = [list(texts(run(JOINT, INPUTS, samples, seed, chunk=2048, summary=summary()).tally)) for seed in range(8)]
        same += [a == b for one, other in combinations(tables, 2) for a, b in zip(one, other, strict=True)]
        printed += tables[0]
    assert np.mean(same) >= 0.95
    assert np.mean([t != NOT_KNOWN for t in printed]) > 0.8


def test_the_errors_of_a_tally_are_those_of_chance():
    """400 runs drawn by chance, of exp(z): the errors that one tally tells against how much the runs differ."""
    made = Summary([0], [12], [(None, 1.5)])
    tallies = [made.of(np.exp(np.random.default_rng(s).standard_normal((1, 2000)) / 2)) for s in range(400)]
    for what, told in ((lambda t: t.mean[0], lambda t: t.mean_error[0]),
                       (lambda t: t.share_inside[0], lambda t: t.share_error[0]),
                       (lambda t: t.share_all_inside, lambda t: t.share_all_error),
                       (lambda t: t.quantile(0.975)[0], lambda t: t.quantile_error(0.975)[0]),
                       (lambda t: t.quantile([0.1])[0, 0], lambda t: t.quantile_error([0.1])[0, 0])):
        assert np.median([told(t) for t in tallies]) == pytest.approx(np.std([what(t) for t in tallies]), rel=0.15)


@pytest.mark.parametrize(("arguments", "words"), [
    ((1.0, -0.1), "error is -0.1"), ((float("inf"), 0.1), "value is inf"),
])
def test_bad_input_is_named(arguments, words):
    with pytest.raises(ValueError, match=words):
        stable_digits(*arguments)
    with pytest.raises(ValueError, match=r"most is 2\.5"):
        stable_digits(1.0, 0.1, most=2.5)


def test_nothing_inside_is_not_certain():
    t = Summary([0], [1], [(2, 3)]).of(np.linspace(0, 1, 100)[None])
    assert t.share_inside[0] == 0 and 0.005 < t.share_error[0] < 0.02
