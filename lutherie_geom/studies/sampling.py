"""Many samples of a joint, drawn evenly, read in chunks and forgotten: what is kept is a summary of fixed size.

The samples are scrambled Sobol points: they fill the space more evenly than chance would. A chunk is known by its scrambling
and its first sample, never by who reads it, and summaries are merged in the order of the chunks: the result is the same to
the last bit on one worker or a hundred.

How far to trust a result is read from its parts, consecutive blocks of the one scrambling. They balance each other, so the
error told is about that of chance, most often too large; what all blocks have wrong alike is not in it. Several ``scrambles``
tell it truly, but each has fewer points: for smooth readings the result itself is worse by about their number.
"""

from __future__ import annotations

import math
import threading
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import BrokenExecutor, Executor, Future, wait
from dataclasses import dataclass
from functools import reduce
from numbers import Integral, Real
from typing import Any, Protocol, TypeVar

import numpy as np
from scipy.stats import qmc

from lutherie_geom.studies.tally import Array, Summary, Tally

__all__ = ["CHUNK", "Job", "Run", "Through", "compute", "jobs", "ordered", "run", "uniform"]

CHUNK = 2**14  # samples: 20 inputs take 2.6 MB, and a call of the model is short beside its work
PARTS = 32  # blocks of a single scrambling
BITS = 30  # of a Sobol number: more samples than 2**30 would repeat
_own = threading.local()  # each thread its own sequence: it remembers where it stands
T = TypeVar("T")


class Summing(Protocol[T]):
    """What a summary must do. It and its results are pickled when the workers are processes."""

    def of(self, values: Array) -> T: ...

    def merge(self, first: T, second: T) -> T: ...


@dataclass(frozen=True)
class Job:
    """``count`` samples from number ``first`` of scrambling ``scramble``, in ``dimension`` uniform numbers."""

    dimension: int
    seed: int
    scramble: int
    first: int
    count: int


@dataclass(frozen=True)
class Through:
    """A model of the uniform numbers: ``reading(draw(u))``. Can be pickled if both can."""

    draw: Callable[[Array], Any]
    reading: Callable[[Any], Array]

    def __call__(self, u: Array) -> Array:
        return self.reading(self.draw(u))


@dataclass(frozen=True)
class Run:
    """What a run found. ``parts`` is one tally a scrambling, or a block of the only one; ``tally`` all of them together.

    ``samples`` were read of the ``asked``; fewer when the run was stopped.
    """

    tally: Tally
    parts: tuple[Tally, ...]
    samples: int
    asked: int
    seed: int

    @property
    def complete(self) -> bool:
        """Whether every sample asked for was read."""
        return self.samples == self.asked

    def error(self, what: Callable[[Tally], Any]) -> Array:
        """Standard error of a number of the tally, in its unit, from how much the parts differ.

        ``run.error(lambda t: t.quantile(0.975))``. With few parts it is itself rough: eight give it to a quarter.
        """
        n = len(self.parts)
        if n < 2:
            raise ValueError(f"the run has {n} part: an error needs 2 or more; read more samples, or take a smaller chunk")
        each = np.asarray([what(p) for p in self.parts], dtype=float)
        weight = np.array([p.samples / self.samples for p in self.parts]).reshape(-1, *[1] * (each.ndim - 1))
        off = weight * (each - (weight * each).sum(axis=0))
        return np.asarray(np.sqrt((off * off).sum(axis=0) * n / (n - 1)))


def whole(name: str, value: Any, low: int, high: int) -> int:
    """The value as an int, or an error that names the field, the value and its range."""
    if isinstance(value, bool) or not isinstance(value, Integral) or not low <= int(value) <= high:
        raise ValueError(f"{name} is {value!r}: give a whole number from {low} to {high}")
    return int(value)


def whole_chunk(chunk: Any) -> int:
    """The same for the size of a chunk."""
    chunk = whole("chunk", chunk, 1, 2**24)
    if chunk & (chunk - 1):
        raise ValueError(f"chunk is {chunk} samples: give a power of two, near it {1 << chunk.bit_length() - 1}")
    return int(chunk)


def three_turns(turns: Any) -> tuple[float, float, float]:
    """Turns of tilt, bass and treble [turn] as three floats, or an error that names the field, the value and its range."""
    try:
        found = tuple(float(t) for t in turns)
    except (TypeError, ValueError):
        found = ()
    if isinstance(turns, str) or len(found) != 3 or not all(map(math.isfinite, found)):
        raise ValueError(f"turns is {turns!r} turn: give three finite numbers, of the tilt, bass and treble screw")
    return found[0], found[1], found[2]


def number(name: str, value: Any, unit: str, low: float, high: float, said: str) -> float:
    """The value as a float, or an error that names the field, the value, the unit and, in ``said``, the range."""
    good = isinstance(value, Real) and not isinstance(value, bool) and low <= float(value) <= high
    if not good:
        raise ValueError(f"{name} is {value!r} {unit}: give {said}")
    return float(value)


def uniform(job: Job) -> Array:
    """The uniform numbers (dimension, count) [-] of a job, never 0 or 1."""
    key = (job.dimension, job.seed, job.scramble)
    kept = getattr(_own, "kept", None)
    if kept is None or kept[0] != key or kept[1].num_generated > job.first:
        rng = np.random.default_rng(np.random.SeedSequence(job.seed, spawn_key=(job.scramble,)))
        kept = (key, qmc.Sobol(job.dimension, scramble=True, bits=BITS, seed=rng))
    _own.kept = None  # an error on the way must not leave a sequence that stands elsewhere
    sequence = kept[1]
    # Going forward costs time with the distance; a worker that takes its chunks in order goes the whole way once only.
    if job.first > sequence.num_generated:
        sequence.fast_forward(job.first - sequence.num_generated)
    # A power of two is drawn also at the end: a shorter draw at the start would warn about the balance.
    u = sequence.random(1 << (job.count - 1).bit_length())[:job.count]
    _own.kept = kept
    # Half a step up, to the middle of the smallest cell: a normal spread has no value at 0.
    return np.ascontiguousarray(u.T) + 2.0 ** -(BITS + 1)


def compute(model: Callable[[Array], Array], summary: Summing[T], job: Job) -> T:
    """The summary of one job; runs in the worker."""
    values = np.asarray(model(uniform(job)), dtype=float)
    if not 1 <= values.ndim <= 2 or values.shape[-1] != job.count:
        raise ValueError(f"the model gave shape {values.shape} for {job.count} samples: give ({job.count},) or "
                         f"(readings, {job.count})")
    return summary.of(np.ascontiguousarray(np.atleast_2d(values)))


def jobs(dimension: int, samples: int, seed: int, scrambles: int, chunk: int) -> Iterator[Job]:
    """The jobs of a run, in the order in which they are merged."""
    for s in range(scrambles):
        per = samples // scrambles + (s < samples % scrambles)
        for first in range(0, per, chunk):
            yield Job(dimension, seed, s, first, min(chunk, per - first))


def part(job: Job, samples: int, scrambles: int, chunk: int) -> int:
    """The part of a run to which a chunk belongs: its scrambling, or its block of the only one."""
    return job.scramble if scrambles > 1 else job.first // chunk * PARTS // -(-samples // chunk)


def ordered(model: Callable[[Array], Array], summary: Summing[T], todo: Iterable[Job], executor: Executor | None = None,
            fresh: Callable[[], Executor] | None = None, stop: threading.Event | None = None, retries: int = 3, ahead: int = 64
            ) -> Iterator[tuple[Job, T]]:
    """Every job with its summary, in order, whoever finishes first.

    At most ``ahead`` jobs wait or run at once, so that memory does not grow with their number. When a worker dies and takes the
    pool with it, what was not yet read is sent to a pool made by ``fresh``; after ``retries`` deaths in a row with no
    job read between, the error is passed on.
    """
    if executor is None and fresh is None:
        for job in todo:
            if stop is not None and stop.is_set():
                return
            yield job, compute(model, summary, job)
        return
    source, waiting, own, deaths = iter(todo), deque[tuple[Job, Future[T] | None]](), executor is None, 0
    pool = fresh() if executor is None and fresh is not None else executor
    assert pool is not None
    try:
        while True:
            try:
                for k, (job, future) in enumerate(waiting):
                    if future is None:
                        waiting[k] = job, pool.submit(compute, model, summary, job)
                while len(waiting) < ahead and (new := next(source, None)) is not None:
                    waiting.append((new, None))
                    waiting[-1] = new, pool.submit(compute, model, summary, new)
                if not waiting:
                    return
                job, future = waiting[0]
                assert future is not None
                while not wait([future], timeout=0.1).done:
                    if stop is not None and stop.is_set():
                        break
                if stop is not None and stop.is_set():
                    return
                found = future.result()
            except BrokenExecutor as broken:
                deaths += 1
                if fresh is None or deaths > retries:
                    raise RuntimeError(f"a worker died while samples were read (time {deaths} in a row); give `fresh`, which "
                                       "makes a new pool, or look for what kills it (memory?)") from broken
                if own:
                    pool.shutdown(wait=False, cancel_futures=True)
                pool, own = fresh(), True
                waiting = deque((j, f if f is not None and _read(f) else None) for j, f in waiting)
                continue
            deaths = 0
            waiting.popleft()
            yield job, found
    finally:
        for _, future in waiting:
            if future is not None:
                future.cancel()
        if own:
            pool.shutdown(wait=True, cancel_futures=True)


def _read(future: Future[Any]) -> bool:
    """Whether the future holds its result (or the model's own error) although its pool is gone."""
    return future.done() and not future.cancelled() and not isinstance(future.exception(), BrokenExecutor)


def run(model: Callable[[Array], Array], dimension: int, samples: int, seed: int, *, executor: Executor | None = None,
        fresh: Callable[[], Executor] | None = None, summary: Summary | None = None, chunk: int = CHUNK, scrambles: int = 1,
        progress: Callable[[int, int], None] | None = None, stop: threading.Event | None = None, ahead: int = 64) -> Run:
    """Read ``samples`` joints with a ``model`` of ``dimension`` uniform numbers, and summarise.

    ``model(u)`` takes u (dimension, n) [-], each row even between 0 and 1, and gives (n,) or (readings, n) in the units of
    its own; see :class:`Through`. ``summary`` says what is kept; without it, moments and quantiles, with no limits.
    ``executor`` is any executor of concurrent.futures; ``fresh`` makes one (``lambda: ProcessPoolExecutor(2)``), also after
    a worker has died. ``progress(done, asked)`` is told the samples read; ``stop`` ends the run early with what is there.
    The result depends on the model, samples, seed, chunk, scrambles and summary; on nothing else.
    """
    dimension = whole("dimension", dimension, 1, qmc.Sobol.MAXDIM)
    scrambles = whole("scrambles", scrambles, 1, 1024)
    samples = whole("samples", samples, scrambles, scrambles * 2**BITS)
    seed = whole("seed", seed, 0, 2**63)
    chunk = whole_chunk(chunk)
    ahead = whole("ahead", ahead, 1, 2**16)
    if summary is None:
        first = next(jobs(dimension, samples, seed, scrambles, min(chunk, 4096)))
        summary = compute(model, _Fit(), first)
    parts: list[Tally] = []
    last, done = -1, 0
    todo = jobs(dimension, samples, seed, scrambles, chunk)
    for job, tally in ordered(model, summary, todo, executor, fresh, stop, ahead=ahead):
        here = part(job, samples, scrambles, chunk)
        if here == last:
            parts[-1] = summary.merge(parts[-1], tally)
        else:
            parts.append(tally)
            last = here
        done += job.count
        if progress is not None:
            progress(done, samples)
    if not parts:
        raise InterruptedError(f"stopped before the first chunk of {chunk} samples was read")
    return Run(reduce(summary.merge, parts), tuple(parts), done, samples, seed)


class _Fit:
    """Makes a summary whose histogram fits the first samples."""

    def of(self, values: Array) -> Summary:
        return Summary.fitted(values)

    def merge(self, first: Summary, second: Summary) -> Summary:
        return first
