"""Counting: intervals against the sums that define them, and the smallest number of prototypes by trying every number."""

from __future__ import annotations

import math

import pytest
from scipy.stats import binom, norm

from lutherie_geom.studies.counting import chance, interval, justified, least_share, prototypes


@pytest.mark.parametrize(("inside", "built"), [(0, 1), (1, 1), (5, 20), (19, 20), (20, 20), (300, 311)])
@pytest.mark.parametrize("confidence", [0.8, 0.95, 0.99])
def test_exact_interval_leaves_half_of_the_doubt_at_each_end(inside, built, confidence):
    low, high = interval(inside, built, confidence)
    doubt = (1 - confidence) / 2
    assert low == 0 if inside == 0 else binom.sf(inside - 1, built, low) == pytest.approx(doubt, rel=1e-6)
    assert high == 1 if inside == built else binom.cdf(inside, built, high) == pytest.approx(doubt, rel=1e-6)


@pytest.mark.parametrize(("inside", "built"), [(0, 1), (5, 20), (19, 20), (20, 20), (300, 311)])
def test_wilson_ends_solve_its_equation(inside, built):
    z = norm.ppf(0.975)
    for end in interval(inside, built, method="wilson"):
        assert abs(inside / built - end) == pytest.approx(z * math.sqrt(end * (1 - end) / built), abs=1e-9)


@pytest.mark.parametrize("method", ["exact", "wilson"])
@pytest.mark.parametrize("outside", [0, 1, 3])
@pytest.mark.parametrize(("share", "confidence"), [(0.95, 0.95), (0.8, 0.9), (0.5, 0.5)])
def test_prototypes_are_the_fewest(share, confidence, outside, method):
    n = prototypes(share, confidence, outside, method)
    fewer = [justified(m - outside, m, share, confidence, method) for m in range(max(outside, 1), n)]
    assert not any(fewer)
    assert all(justified(m - outside, m, share, confidence, method) for m in range(n, n + 30))


@pytest.mark.parametrize("outside", [0, 1, 2, 5])
def test_exact_prototypes_by_the_binomial_sum(outside):
    n = prototypes(0.95, 0.95, outside)
    assert binom.cdf(outside, n, 0.05) <= 0.05 < binom.cdf(outside, n - 1, 0.05)


def test_without_a_miss_it_is_a_logarithm():
    for share in (0.5, 0.9, 0.99, 0.999):
        assert prototypes(share) == math.ceil(math.log(0.05) / math.log(share))


def test_one_sided_is_two_sided_with_twice_the_doubt():
    assert least_share(45, 50, 0.95) == pytest.approx(interval(45, 50, 0.90)[0], abs=1e-12)


def test_what_a_series_risks():
    assert chance(0.99, 59) == pytest.approx(0.99**59)
    assert chance(0.95, prototypes(0.95)) <= 0.05  # a joint only just as good passes seldom: that is the confidence
    assert chance(0.9, 10, 10) == 1


@pytest.mark.parametrize(("make", "words"), [
    (lambda: prototypes(1.0), "share is 1.0: give a number between 0 and 1"), (lambda: prototypes(0), "share is 0"),
    (lambda: prototypes(0.95, 95), "confidence is 95"), (lambda: prototypes(0.95, outside=-1), "outside is -1"),
    (lambda: interval(5, 4), "inside is 5: give a whole number from 0 to 4"), (lambda: interval(0, 0), "built is 0"),
    (lambda: interval(1, 2, method="best"), "method is 'best'"), (lambda: justified(1, 2, float("nan")), "share is nan"),
    (lambda: prototypes(1 - 1e-9), "more than 10000000 joints"), (lambda: chance(0.9, 3, 4), "outside is 4"),
])
def test_bad_input_is_named(make, words):
    with pytest.raises(ValueError, match=words):
        make()
