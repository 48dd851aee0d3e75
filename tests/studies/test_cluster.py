"""Two worker processes of a dask cluster: the bits of one machine, also when a worker is killed in mid-run.

Starting worker processes is what takes the time here: the tests share one cluster, the peaceful ones first.
"""

from __future__ import annotations

import dataclasses
import os
import signal
import sys
import threading
from concurrent.futures import BrokenExecutor, ProcessPoolExecutor
from contextlib import contextmanager
from functools import partial
from multiprocessing import get_context

import dask
import numpy as np
import pytest
from distributed import Client, LocalCluster
from real_joint import Fatal, Slow, real_joint

from lutherie_geom.studies.cluster import on_cluster
from lutherie_geom.studies.sampling import Job, run
from lutherie_geom.studies.sobol import indices
from lutherie_geom.studies.tally import Summary

MODEL, INPUTS = real_joint()
RUN = {"dimension": INPUTS, "samples": 20_000, "seed": 11, "chunk": 1024}
SOBOL = {"inputs": INPUTS, "samples": 2**11, "seed": 11, "chunk": 128}
pools = partial(ProcessPoolExecutor, 2, mp_context=get_context("spawn"))


@contextmanager
def cluster(folder, workers=2, **settings):
    """Worker processes that leave nothing behind: their scratch files lie in ``folder``."""
    quiet = {"temporary-directory": str(folder), "distributed.comm.timeouts.connect": "4s"}
    with dask.config.set(quiet | settings), LocalCluster(
            n_workers=workers, processes=True, threads_per_worker=1, dashboard_address=":0", worker_dashboard_address=None,
            silence_logs=50, local_directory=str(folder)) as made, Client(made) as client:
        yield client


@pytest.fixture(scope="module")
def client(tmp_path_factory):
    """A cluster whose workers the tests may kill: it starts others."""
    with cluster(tmp_path_factory.mktemp("dask")) as c:
        yield c


def same(a, b):
    """To the last bit, every field."""
    for f in dataclasses.fields(a):
        x, y = getattr(a, f.name), getattr(b, f.name)
        if f.name == "parts":
            for p, q in zip(x, y, strict=True):
                same(p, q)
        elif dataclasses.is_dataclass(x):
            same(x, y)
        else:
            assert np.asarray(x).tobytes() == np.asarray(y).tobytes(), f.name


@pytest.fixture(scope="module")
def alone():
    return run(MODEL, **RUN)


@pytest.fixture(scope="module")
def indices_alone():
    return indices(MODEL, **SOBOL)


def test_the_cluster_gives_the_bits_of_one_process(client, alone, indices_alone):
    assert len(client.scheduler_info()["workers"]) == 2
    same(run(MODEL, **RUN, executor=on_cluster(client)), alone)
    same(run(MODEL, **RUN, fresh=on_cluster(client), ahead=3), alone)
    same(indices(MODEL, **SOBOL, fresh=on_cluster(client)), indices_alone)


def test_the_models_own_error_and_a_stop_come_through(client):
    def bad(u):
        raise TimeoutError("the model's own")

    with pytest.raises(TimeoutError, match="the model's own"):
        run(bad, 1, 4096, 1, scrambles=1, chunk=1024, executor=on_cluster(client),
            summary=Summary([0], [1]))
    stop = threading.Event()
    found = run(Slow(MODEL, 0.02), **RUN, fresh=on_cluster(client), stop=stop, ahead=4,
                progress=lambda done, _: done > 3000 and stop.set())
    assert 3000 < found.samples < found.asked and not found.complete


@pytest.mark.parametrize("study", ["run", "indices"])
def test_a_worker_killed_in_mid_run_changes_nothing(study, client, alone, indices_alone):
    client.wait_for_workers(2)
    left = list(client.run(os.getpid).values())[:1]

    def progress(done, _asked):
        if left and done >= 256:
            os.kill(left.pop(), signal.SIGKILL)

    if study == "run":
        same(run(Slow(MODEL, 0.05), **RUN, fresh=on_cluster(client), progress=progress), alone)
    else:
        same(indices(Slow(MODEL, 0.01), **SOBOL, fresh=on_cluster(client), progress=progress), indices_alone)
    assert not left  # it was killed


def test_work_called_off_by_the_cluster_is_sent_again(client, alone):
    """Somebody restarts the cluster in mid-run: all that waits is called off, both workers are new."""
    client.wait_for_workers(2)
    before, restarted = set(client.run(os.getpid).values()), []

    def progress(done, _asked):
        if not restarted:
            restarted.append(done)
            client.restart()

    same(run(Slow(MODEL, 0.05), **RUN, fresh=on_cluster(client), progress=progress), alone)
    assert restarted and not before & set(client.run(os.getpid).values())


def test_one_worker_and_what_the_cluster_gives_up(tmp_path, alone, indices_alone):
    """A cluster of one worker, told not to try again: the bits of two, and the run sends again what was given up."""
    with cluster(tmp_path, workers=1, **{"distributed.scheduler.allowed-failures": 0}) as c:
        same(run(MODEL, **RUN, fresh=on_cluster(c)), alone)
        same(indices(MODEL, **SOBOL, fresh=on_cluster(c)), indices_alone)
        fatal = Fatal(MODEL, str(tmp_path / "died"), Job(INPUTS, 11, 0, 5 * 1024, 1024), times=2)
        same(run(fatal, **RUN, fresh=on_cluster(c)), alone)
        assert (tmp_path / "died1").exists()
        always = Fatal(MODEL, str(tmp_path / "always"), Job(INPUTS, 11, 0, 5 * 1024, 1024))
        with pytest.raises(RuntimeError, match=r"a worker died.*give `fresh`"):
            run(always, **RUN, executor=on_cluster(c))
    with pytest.raises(BrokenExecutor, match="client of the cluster is closed"):
        on_cluster(c).submit(abs, 1)


def test_a_killed_process_of_a_pool_changes_nothing(indices_alone):
    """On the same machine without a cluster; for runs see test_sampling."""
    made, left = [], [True]

    def fresh():
        made.append(pools())
        return made[-1]

    def progress(done, _asked):
        if left and done >= 256:
            left.clear()
            os.kill(next(iter(made[0]._processes)), signal.SIGKILL)

    same(indices(Slow(MODEL, 0.005), **SOBOL, fresh=fresh, progress=progress), indices_alone)
    assert len(made) == 2


def test_without_dask_it_is_said_what_to_install(monkeypatch):
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(ImportError, match=r"lutherie_geom\[cluster\]"):
        on_cluster(object())


def test_what_is_no_client_is_refused():
    with pytest.raises(TypeError, match="client is 'tcp://harrowmere:8786'"):
        on_cluster("tcp://harrowmere:8786")
