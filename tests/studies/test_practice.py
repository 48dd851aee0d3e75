"""At worst and in practice: counted again by numpy, the same bits whoever computes, agreement where the reading runs straight."""

import threading
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest

import lutherie_geom as lg
from lutherie_geom.studies.contributions import Joints
from lutherie_geom.studies.practice import in_practice
from lutherie_geom.studies.sampling import Job, uniform
from lutherie_geom.studies.spreads import Spreads, parse_spread


@pytest.fixture(scope="module")
def slack():
    return in_practice(lg.load("slack_water"), samples=2**15)


def test_intervals_counted_again(slack):
    d, s = (design := lg.load("slack_water")).dimensions(), Spreads.of_design(design)
    values = Joints(s, d)(uniform(Job(len(s.variables(d)), 1, 0, 0, 2**15)))
    np.testing.assert_allclose([r.interval for r in slack], np.quantile(values, [0.025, 0.975], axis=1).T, atol=2e-3)


def test_straight_readings_agree_and_kinks_do_not(slack):
    for r in slack:
        kinked = "least" in r.key
        assert r.agree == r.straight.trustworthy == (not kinked), r.key
        assert r.straight.worst[0] < r.straight.interval[0] and r.straight.worst[1] > r.straight.interval[1]
        if kinked:  # either way it only gets less
            assert r.interval[1] < r.straight.interval[1]


def test_a_stack_that_nobody_needs_to_sample():
    """One error alone, rectangular: 95 in 100 lie within 0.95 of its limits, root-sum-square says 1.96 / sqrt(3) of them."""
    s = Spreads({"heel.floor_clearance": parse_spread("± 0.4 mm rectangular")})
    r = in_practice(lg.load("slack_water"), s, samples=2**14, turns=(-0.3, 0.0, 0.0))["heel.floor_least"]
    half = np.array(r.straight.worst) - r.straight.nominal
    np.testing.assert_allclose(np.array(r.interval) - r.straight.nominal, 0.95 * half, atol=1e-3)
    np.testing.assert_allclose(np.array(r.straight.interval) - r.straight.nominal, 1.959964 / 3**0.5 * half, atol=1e-4)
    assert r.straight.trustworthy and not r.agree


def test_few_samples_and_bad_input():
    with pytest.raises(ValueError, match=r"samples is 1000\.5: give a whole number from 64"):
        in_practice(lg.load("slack_water"), samples=1000.5)
    with pytest.raises(ValueError, match="turns is 'abc' turn"):
        in_practice(lg.load("slack_water"), samples=64, turns="abc")
    few = in_practice(lg.load("cross_tide"), Spreads({"pivot.proud": parse_spread("± 0.1 mm")}), samples=64)
    assert all(r.agree for r in few) and "[in]" in str(few) and "moves no reading: pivot.proud" in str(few)
    assert any(r.agree is None for r in in_practice(lg.load("slack_water"), samples=64))


def test_the_same_bits_on_threads(slack):
    with ThreadPoolExecutor(2) as pool:
        again = in_practice(lg.load("slack_water"), samples=2**15, executor=pool)
    assert [r.interval for r in again] == [r.interval for r in slack]


def test_stopped_early_it_tells_of_what_was_read():
    stop = threading.Event()
    found = in_practice(lg.load("slack_water"), samples=2**15, chunk=2**12, stop=stop,
                        progress=lambda done, asked: stop.set() if done >= 2**13 else None)
    assert max(map(len, str(found).splitlines())) <= 100 and " *" in str(found) and "\n* first order not" in str(found)
    assert found.run.samples == 2**13 and str(found).startswith("Slack Water: 8192 instruments")


def test_only_digits_that_stand_are_printed():
    """Another chance prints the same."""
    first, *others = (in_practice(lg.load("slack_water"), seed=seed) for seed in range(1, 6))
    same = [r.said == first[r.key].said for other in others for r in other]
    assert np.mean(same) > 0.9
    with pytest.raises(KeyError, match="there are: action"):
        first["gap"]
