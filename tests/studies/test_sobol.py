"""Sobol indices against closed forms, against another engine, and on two processes."""

from __future__ import annotations

from concurrent.futures import ProcessPoolExecutor
from functools import partial
from multiprocessing import get_context

import numpy as np
import pytest
from scipy.stats import norm

from lutherie_geom.studies.sobol import indices


def ishigami(u, a=7.0, b=0.1):
    x = np.pi * (2 * u - 1)
    return np.sin(x[0]) + a * np.sin(x[1]) ** 2 + b * x[2] ** 4 * np.sin(x[0])


def ishigami_exact(a=7.0, b=0.1):
    """First and total indices, from the parts of the variance."""
    one = (1 + b * np.pi**4 / 5) ** 2 / 2
    two = a**2 / 8
    both = b**2 * np.pi**8 * (1 / 18 - 1 / 50)  # of x1 and x3 together
    v = one + two + both
    return np.array([one, two, 0]) / v, np.array([one + both, two, both]) / v


A = np.array([0, 1, 4.5, 9, 99, 99, 99, 99])


def g(u):
    return np.prod((abs(4 * u - 2) + A[:, None]) / (1 + A[:, None]), axis=0)


def g_exact():
    part = 1 / (3 * (1 + A) ** 2)
    v = np.prod(1 + part) - 1
    return part / v, part / (1 + part) * (1 + v) / v


@pytest.mark.parametrize(("model", "inputs", "exact"), [(ishigami, 3, ishigami_exact()), (g, 8, g_exact())])
def test_closed_forms(model, inputs, exact):
    found = [indices(model, inputs, 2**14, seed) for seed in range(8)]
    off = np.array([[s.first[0] - exact[0], s.total[0] - exact[1]] for s in found])
    assert abs(off).max() < 0.005
    assert np.sqrt((off**2).mean(axis=0)).max() < 0.0016
    s = found[0]
    assert (s.samples, s.evaluations) == (2**14, 2**14 * (inputs + 2))


@pytest.mark.parametrize(("scrambles", "fewest", "most"), [(1, 0.97, 1.0), (16, 0.9, 0.995)])
def test_the_intervals_hold_as_often_as_they_say(scrambles, fewest, most):
    """40 seeds, 6 indices, 95 in 100: one scrambling promises too little, many about what they keep."""
    exact = np.stack(ishigami_exact())
    hits = []
    for seed in range(40):
        s = indices(ishigami, 3, 2**11, seed, scrambles=scrambles)
        interval = np.stack([s.first_interval[0], s.total_interval[0]])
        hits.append((interval[..., 0] <= exact) & (exact <= interval[..., 1]))
    assert fewest <= np.mean(hits) <= most


def test_more_samples_narrow_the_interval():
    width = [np.diff(indices(ishigami, 3, n, 1).first_interval[0]).max() for n in (2**10, 2**14)]
    assert width[1] < width[0] / 3
    assert (np.diff(indices(ishigami, 3, 2**14, 1).first_interval[0]) > 0).all()


def test_several_readings_at_once_and_ranking():
    s = indices(lambda u: np.stack([ishigami(u), u[0] + 2 * u[1] + 0 * u[2]]), 3, 2**12, 1)
    np.testing.assert_array_equal(s.first[0], indices(ishigami, 3, 2**12, 1).first[0])
    np.testing.assert_allclose(s.first[1], [0.2, 0.8, 0], atol=0.01)
    np.testing.assert_allclose(s.total[1], [0.2, 0.8, 0], atol=0.01)
    assert s.total[1, 2] == 0
    assert s.ranked(1) == [1, 0, 2]
    assert s.variance[1] == pytest.approx(5 / 12, rel=1e-3) and s.mean[1] == pytest.approx(1.5, abs=1e-3)


def test_rows_in_one_block_count_as_one_input():
    """Closed form of Ishigami: x1 and x3 together have all that x2 has not, alone and with others alike."""
    second = ishigami_exact()[0][1]
    found = [indices(ishigami, 3, 2**13, seed, blocks=[(0, 2), (1,)]) for seed in range(4)]
    np.testing.assert_allclose([s.first[0] for s in found], [[1 - second, second]] * 4, atol=0.01)
    np.testing.assert_allclose([s.total[0] for s in found], [[1 - second, second]] * 4, atol=0.01)
    assert found[0].evaluations == 2**13 * 4 and found[0].ranked() == [0, 1]


@pytest.mark.parametrize("correlation", [0.9, -0.7])
def test_numbers_that_err_together_in_one_block(correlation):
    """Straight sum of normal numbers of which the second and the fourth are correlated: the block's share by hand."""
    root = np.linalg.cholesky([[1, correlation], [correlation, 1]])
    slopes = np.array([1.0, 2.0, 0.5, 1.5])

    def model(u):
        z = norm.ppf(u)
        z[[1, 3]] = root @ z[[1, 3]]
        return slopes @ z

    variance = np.array([1.0, 0.25, 4 + 2.25 + 2 * correlation * 3])
    s = indices(model, 4, 2**13, 1, blocks=[(0,), (2,), (1, 3)])
    np.testing.assert_allclose(s.first[0], variance / variance.sum(), atol=0.01)
    np.testing.assert_allclose(s.total[0], variance / variance.sum(), atol=0.01)


def test_blocks_of_one_row_are_the_rows():
    plain, each = indices(ishigami, 3, 2**10, 1), indices(ishigami, 3, 2**10, 1, blocks=[(2,), (0,), (1,)])
    for name in ("first", "total", "first_interval", "total_interval"):
        assert getattr(each, name)[0].tobytes() == getattr(plain, name)[0][[2, 0, 1]].tobytes()


def test_far_from_zero_no_digits_are_lost():
    near, far = indices(ishigami, 3, 2**10, 1), indices(lambda u: ishigami(u) + 1e6, 3, 2**10, 1)
    np.testing.assert_allclose(far.first, near.first, atol=1e-8)
    np.testing.assert_allclose(far.total, near.total, atol=1e-8)


def test_the_size_of_the_chunks_does_not_matter():
    """Stretches are no longer than a thirty-second of the samples, however long the chunks."""
    one, other = indices(ishigami, 3, 2**13, 1, chunk=256), indices(ishigami, 3, 2**13, 1, chunk=8192)
    np.testing.assert_array_equal(other.first_interval, one.first_interval)


@pytest.mark.parametrize("samples", [64, 1000, 5001])
def test_any_number_of_samples(samples):
    s = indices(lambda u: u[0] + 2 * u[1], 2, samples, 1, chunk=256)
    np.testing.assert_allclose(s.total[0], [0.2, 0.8], atol=0.1)
    assert np.isfinite(s.first_interval).all()


def test_a_reading_that_does_not_vary_has_no_shares():
    assert np.isnan(indices(lambda u: np.full(u.shape[1], 0.1), 2, 64, 1).first).all()


def test_two_processes_give_the_same_bits():
    alone = indices(ishigami, 3, 2**12, 3, chunk=128)
    pool = partial(ProcessPoolExecutor, 2, mp_context=get_context("spawn"))
    found = indices(ishigami, 3, 2**12, 3, chunk=128, fresh=pool)
    for name in ("first", "total", "first_interval", "total_interval", "mean", "variance"):
        assert getattr(found, name).tobytes() == getattr(alone, name).tobytes()


def test_another_engine_agrees():
    """SALib, an independent engine (its first-order estimator is another one)."""
    pytest.importorskip("SALib")
    from SALib.analyze import sobol as analyse
    from SALib.sample import sobol as sample

    problem = {"num_vars": 8, "names": [f"x{i}" for i in range(8)], "bounds": [[0, 1]] * 8}
    x = sample.sample(problem, 2**13, calc_second_order=False, seed=1)
    other = analyse.analyze(problem, g(x.T), calc_second_order=False, seed=1)
    own = indices(g, 8, 2**13, 1)
    np.testing.assert_allclose(own.first[0], other["S1"], atol=0.01)
    np.testing.assert_allclose(own.total[0], other["ST"], atol=0.01)


@pytest.mark.parametrize(("arguments", "words"), [
    ({"inputs": 0}, "inputs is 0"), ({"samples": 10}, "samples is 10: give a whole number from 64"),
    ({"confidence": 95}, "confidence is 95"), ({"scrambles": 2}, "scrambles is 2"), ({"chunk": 100}, "chunk is 100"),
    ({"blocks": [(0, 1)]}, r"blocks is \[\(0, 1\)\]: each row of u, 0 to 2"), ({"blocks": [(0, 1), (1, 2)]}, "exactly one"),
    ({"blocks": [(0, 1, 2), ()]}, "none be empty"), ({"blocks": [(0, 1, 3)]}, "0 to 2"),
    ({"model": lambda u: np.where(u[0] < 0.5, np.nan, 1)}, "reading 0 has no value for"),
    ({"model": lambda u: u[0][:3]}, "the model gave shape"),
])
def test_bad_input_is_named(arguments, words):
    with pytest.raises(ValueError, match=words):
        indices(**{"model": ishigami, "inputs": 3, "samples": 1024, "seed": 1} | arguments)
