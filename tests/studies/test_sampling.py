"""The engine: the same bits whoever computes, memory of fixed size, right numbers, clear refusals."""

from __future__ import annotations

import dataclasses
import itertools
import math
import os
import pickle
import threading
import time
import tracemalloc
import warnings
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial
from multiprocessing import get_context

import numpy as np
import pytest
from scipy.special import ndtr, ndtri

from lutherie_geom.studies.sampling import PARTS, Job, Through, run, uniform
from lutherie_geom.studies.tally import Summary


def pool(workers=2):
    return ProcessPoolExecutor(workers, mp_context=get_context("spawn"))


def two_readings(u):
    z = ndtri(u)
    return np.stack([3 * z[0] + 4 * z[1] + 10, np.exp(u[2])])


@dataclass(frozen=True)
class Deadly:
    """Kills its worker once: the first time that it meets a certain chunk."""

    mark: str
    at: Job
    times: int = 1

    def __call__(self, u):
        if np.array_equal(u, uniform(self.at)):
            for k in range(self.times):
                if not os.path.exists(f"{self.mark}{k}"):
                    open(f"{self.mark}{k}", "x").close()
                    os._exit(9)
        return two_readings(u)


def same(a, b):
    """To the last bit, every field."""
    for f in dataclasses.fields(a):
        x, y = getattr(a, f.name), getattr(b, f.name)
        assert np.asarray(x).tobytes() == np.asarray(y).tobytes(), f.name


SMALL = {"dimension": 3, "samples": 50_000, "seed": 7, "chunk": 4096}


@pytest.fixture(scope="module")
def alone():
    return run(two_readings, **SMALL)


def test_two_processes_give_the_bits_of_one(alone):
    with pool() as workers:
        found = run(two_readings, **SMALL, executor=workers)
    same(found.tally, alone.tally)
    for a, b in zip(found.parts, alone.parts, strict=True):
        same(a, b)


@pytest.mark.parametrize(("workers", "ahead"), [(1, 1), (3, 2), (4, 64)])
def test_threads_that_finish_in_any_order_give_the_same_bits(alone, workers, ahead):
    def late(u):
        time.sleep(0.02 * (u[0, 0] % 0.1))
        return two_readings(u)

    with ThreadPoolExecutor(workers) as threads:
        same(run(late, **SMALL, executor=threads, ahead=ahead).tally, alone.tally)


def test_a_killed_worker_changes_nothing(alone, tmp_path):
    found = run(Deadly(str(tmp_path / "died"), Job(3, 7, 0, 5 * 4096, 4096), times=2), **SMALL, fresh=pool)
    assert sorted(p.name for p in tmp_path.iterdir()) == ["died0", "died1"]
    assert found.complete
    same(found.tally, alone.tally)


def test_without_a_new_pool_a_killed_worker_is_told(tmp_path):
    with pool() as workers, pytest.raises(RuntimeError, match=r"a worker died.*give `fresh`"):
        run(Deadly(str(tmp_path / "died"), Job(3, 7, 0, 4096, 4096)), **SMALL, executor=workers)


def test_a_worker_that_always_dies_is_given_up(tmp_path):
    with pytest.raises(RuntimeError, match="time 4 in a row"):
        run(Deadly(str(tmp_path / "died"), Job(3, 7, 0, 0, 4096), times=9), 3, 5000, 7, scrambles=1, chunk=4096,
            fresh=lambda: pool(1), summary=Summary([0, 0], [20, 3]))


def test_the_seed_repeats_and_another_differs(alone):
    same(run(two_readings, **SMALL).tally, alone.tally)
    assert run(two_readings, **SMALL | {"seed": 8}).tally.mean[0] != alone.tally.mean[0]


def test_chunks_of_another_size_read_the_same_samples(alone):
    other = run(two_readings, **SMALL | {"chunk": 512}, summary=Summary(alone.tally.start, alone.tally.start + 4096 *
                                                                        alone.tally.width)).tally
    np.testing.assert_allclose(other.mean, alone.tally.mean, rtol=1e-13)
    np.testing.assert_array_equal(other.low, alone.tally.low)
    np.testing.assert_allclose(other.squares, alone.tally.squares, rtol=1e-12)


def test_a_chunk_does_not_depend_on_what_was_drawn_before():
    want = [Job(5, 3, s, first, 100) for s in (0, 1) for first in (0, 128, 4096)]
    forward = [uniform(j) for j in want]
    backward = [uniform(j) for j in reversed(want)][::-1]
    for a, b in zip(forward, backward, strict=True):
        np.testing.assert_array_equal(a, b)
    assert forward[0].min() > 0 and forward[0].max() < 1
    long = uniform(Job(5, 3, 1, 0, 8192))
    np.testing.assert_array_equal(long[:, 4096:4196], forward[-1])


@pytest.mark.parametrize("samples", [1, 2, 3, 1000, 4097])
def test_no_sample_is_lost_and_nobody_warns(samples):
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        t = run(lambda u: u[0], 1, samples, 1, scrambles=1, chunk=256).tally
    assert t.samples == samples == t.histogram.sum() == t.inside[0]


def test_right_against_closed_forms(alone):
    """3 z + 4 z' + 10 is normal (10, 5); exp(u) has mean e - 1. The error that the run states itself is the yardstick."""
    big = run(two_readings, 3, 2**18, 1, summary=Summary([-30, 0.9], [50, 2.8], [(0, 20), (None, 2)]))
    t = big.tally
    exact_mean = np.array([10.0, math.e - 1])
    exact_deviation = np.array([5.0, math.sqrt((math.e**2 - 1) / 2 - (math.e - 1) ** 2)])
    assert np.all(abs(t.mean - exact_mean) < 3 * big.error(lambda p: p.mean))
    assert np.all(abs(t.deviation - exact_deviation) < 3 * big.error(lambda p: p.deviation))
    assert np.all(abs(t.mean - exact_mean) < 1e-4)
    assert abs(t.share_inside[0] - 0.954499736) < 3e-4
    assert abs(t.share_inside[1] - math.log(2)) < 1e-4
    assert abs(t.share_all_inside - 0.954499736 * math.log(2)) < 4e-4
    p = np.array([0.001, 0.025, 0.5, 0.975, 0.999])
    assert np.all(abs(t.quantile(p)[0] - (10 + 5 * ndtri(p))) < np.maximum(t.resolution[0], [0.1, 0.01, 0.005, 0.01, 0.1]))
    assert np.all(abs(t.quantile(p)[1] - np.exp(p)) < t.resolution[1])
    np.testing.assert_allclose(t.interval(0.95)[1], np.exp([0.025, 0.975]), atol=1e-3)
    np.testing.assert_allclose(t.interval(0.95, shortest=True)[1], np.exp([0, 0.95]), atol=2e-3)


@pytest.mark.parametrize(("scrambles", "fewest", "most"), [(1, 0.95, 1.0), (16, 0.88, 0.99)])
def test_the_error_that_a_run_states_holds(scrambles, fewest, most):
    """60 seeds, twice the standard error: one scrambling says too much rather than too little, many say what is."""
    hits = []
    for seed in range(60):
        found = run(two_readings, 3, 2**12, seed, chunk=128, scrambles=scrambles,
                    summary=Summary([0, 0], [20, 3], [(0, 17), (0, 2)]))
        off = np.abs(found.tally.share_inside - np.array([ndtr(1.4) - ndtr(-2), math.log(2)]))
        hits.append(off <= 2 * found.error(lambda t: t.share_inside))
    assert fewest <= np.mean(hits) <= most


def test_even_points_converge_faster_than_chance():
    error = [abs(run(two_readings, 3, n, 5).tally.mean[1] - (math.e - 1)) for n in (2**10, 2**16)]
    assert error[1] < error[0] / 20 or error[1] < 1e-7  # chance alone would give a factor 8
    assert error[1] < 1e-5


@pytest.mark.parametrize("offset", [0.0, 1e9])
def test_variance_keeps_its_digits_far_from_zero(offset):
    t = run(lambda u: u[0] + offset, 1, 2**16, 1, chunk=1024).tally
    assert t.variance[0] == pytest.approx(1 / 12, rel=1e-4)


def test_memory_does_not_grow_with_the_samples():
    """Numpy reports its arrays to tracemalloc; tests/benchmarks/bench_memory.py weighs whole processes up to 10^8 samples."""
    def peak(samples):
        tracemalloc.start()
        run(two_readings, 3, samples, 1, chunk=2048)
        found = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        return found

    peak(20_000)
    assert peak(3_000_000) < 1.05 * peak(100_000)


def test_memory_does_not_grow_with_the_samples_that_wait_for_an_executor():
    """The first chunk is read last: what is read meanwhile must wait, and no more than ``ahead`` of it."""
    ahead, tally = 16, 2 * (4096 + 2) * 8  # bytes of a histogram of two readings

    def peak(samples):
        def model(u):
            order = next(started)
            if order == 1:  # 0 is the chunk that fits the histogram
                assert gate.wait(30)
            if order == ahead:
                gate.set()
            return two_readings(u)

        started, gate = itertools.count(), threading.Event()
        with ThreadPoolExecutor(2) as threads:
            tracemalloc.start()
            run(model, 3, samples, 1, chunk=2048, executor=threads, ahead=ahead)
            found = tracemalloc.get_traced_memory()[1]
            tracemalloc.stop()
        return found

    peak(100_000)
    assert peak(3_000_000) < (ahead + PARTS + 24) * tally  # 1465 chunks: were all kept, 20 times as much


def test_samples_without_a_value_are_counted_and_meet_no_limit():
    def half(u):
        return np.stack([np.where(u[0] < 0.25, np.nan, u[0]), np.full_like(u[0], np.nan)])

    t = run(half, 1, 2**14, 1, summary=Summary([0, 0], [1, 1], [(None, 0.5), (None, None)])).tally
    assert t.missing[0] / t.samples == pytest.approx(0.25, abs=1e-3)
    assert t.mean[0] == pytest.approx(0.625, abs=1e-3)
    assert t.share_inside[0] == pytest.approx(0.25, abs=1e-3)
    assert t.quantile(0.5)[0] == pytest.approx(0.625, abs=1e-3)
    assert (t.count[1], t.inside[1], t.share_all_inside) == (0, 0, 0.0)
    assert np.isnan(t.quantile(0.5)[1]) and np.isnan(t.variance[1])


def test_beyond_the_histogram_the_extremes_are_exact():
    t = run(lambda u: u[0], 1, 4096, 1, summary=Summary([0.4], [0.6], bins=10)).tally
    assert t.beyond()[0] == pytest.approx([0.4, 0.4], abs=1e-3)
    assert t.quantile(0)[0] == t.low[0] and t.quantile(1)[0] == t.high[0]
    assert t.low[0] < 1e-3 and t.high[0] > 0.999
    assert t.quantile(0.5)[0] == pytest.approx(0.5, abs=1e-3)


def test_a_reading_that_does_not_vary():
    t = run(lambda u: np.full(u.shape[1], 18.1), 2, 3000, 1).tally
    assert t.deviation[0] < 1e-13 and t.low[0] == t.high[0] == t.quantile(0.3)[0] == 18.1


def test_progress_is_told_and_a_stop_keeps_what_was_read():
    told, stop = [], threading.Event()

    def progress(done, asked):
        told.append((done, asked))
        if done >= 3000:
            stop.set()

    found = run(two_readings, 3, 10_000, 1, scrambles=2, chunk=1024, progress=progress, stop=stop)
    assert told == [(1024, 10_000), (2048, 10_000), (3072, 10_000)]
    assert (found.samples, found.complete, found.tally.samples) == (3072, False, 3072)
    with ThreadPoolExecutor(2) as threads, pytest.raises(InterruptedError, match="before the first chunk"):
        run(two_readings, 3, 10_000, 1, executor=threads, stop=stop)


def test_the_models_own_error_comes_through():
    def bad(u):
        raise TimeoutError("the model's own")

    summary = Summary([0], [1])
    with ThreadPoolExecutor(2) as threads, pytest.raises(TimeoutError, match="the model's own"):
        run(bad, 1, 10_000, 1, executor=threads, summary=summary)


def test_spreads_before_the_model_and_pickling():
    model = Through(ndtri, partial(np.sum, axis=0))
    assert run(pickle.loads(pickle.dumps(model)), 4, 2**14, 1).tally.deviation[0] == pytest.approx(2, abs=0.02)


@pytest.mark.parametrize(("change", "words"), [
    ({"dimension": 0}, "dimension is 0: give a whole number from 1"), ({"samples": 2.5}, "samples is 2.5"),
    ({"samples": 2, "scrambles": 8}, "samples is 2: give a whole number from 8"),
    ({"seed": -1}, "seed is -1"), ({"chunk": 1000}, "chunk is 1000"),
    ({"scrambles": True}, "scrambles is True"), ({"ahead": 0}, "ahead is 0"),
])
def test_bad_input_is_named(change, words):
    with pytest.raises(ValueError, match=words):
        run(two_readings, **SMALL | change)


@pytest.mark.parametrize(("make", "words"), [
    (lambda: Summary([0], [0]), "histogram of reading 0 goes from 0.0 to 0.0"),
    (lambda: Summary([0, 1], [1]), "2 starts and 1 ends"),
    (lambda: Summary([0], [1], [(2, 1)]), "limits of reading 0 are 2.0 to 1.0"),
    (lambda: Summary([0], [1], [(2, float("nan"))]), "limits of reading 0"),
    (lambda: Summary([0], [1], [(0, 1), (0, 1)]), "limits are given for 2 readings"),
    (lambda: run(lambda u: u[0, :3], 1, 100, 1), r"the model gave shape \(3,\) for 100 samples"),
    (lambda: run(two_readings, 3, 100, 1, summary=Summary([0], [1])), "the model gave 2 readings, the summary is for 1"),
    (lambda: run(two_readings, 3, 100, 1).tally.quantile(1.5), "p is 1.5"),
    (lambda: run(two_readings, 3, 100, 1).tally.interval(95), "share is 95"),
    (lambda: run(two_readings, 3, 100, 1, scrambles=1).error(lambda t: t.mean), "the run has 1 part"),
])
def test_bad_summaries_models_and_questions_are_named(make, words):
    with pytest.raises(ValueError, match=words):
        make()
