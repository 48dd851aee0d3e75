"""The same studies on a dask.distributed cluster: ``run(model, ..., fresh=on_cluster(client))``.

The cluster sends the chunks of a dead worker to another one by itself. What it gives up (workers that die again and again, a
lost connection) is told as a broken executor, so that ``fresh`` sends once more what was not yet read. A chunk is known by its
number, never by who reads it: the numbers are those of one machine, to the last bit, as long as the workers' processors and
numpy are alike.

An optional extra: ``pip install "lutherie_geom[cluster]"``. Whoever reaches the cluster's ports can run programs on its
workers: keep it inside a network that you trust, or secure it as dask's own manual says.
"""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import BrokenExecutor, CancelledError, Executor, Future
from typing import Any, TypeVar

__all__ = ["OnCluster", "on_cluster"]

T = TypeVar("T")


class OnCluster(Executor):
    """A cluster as an executor of concurrent.futures; called, it gives another on the same cluster: fit for ``fresh``.

    The client stays open: whoever made it closes it. With no worker left a study waits for one to join; ``stop`` ends it.
    """

    def __init__(self, client: Any) -> None:
        self._client = client
        # Each chunk is work of its own: dask must not take two calls alike for one.
        self._inner = client.get_executor(pure=False)

    def __call__(self) -> OnCluster:
        return OnCluster(self._client)

    def submit(self, fn: Callable[..., T], /, *args: Any, **kwargs: Any) -> Future[T]:
        """Send one call to the cluster; BrokenExecutor when the client is closed or has lost its scheduler."""
        if self._client.status != "running":
            raise BrokenExecutor(f"the client of the cluster is {self._client.status}: it must be running")
        inner: Future[T] = self._inner.submit(fn, *args, **kwargs)
        outer: Future[T] = Future()
        outer.add_done_callback(lambda f: f.cancelled() and inner.cancel())
        inner.add_done_callback(lambda f: _hand_on(f, outer))
        return outer

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = False) -> None:
        """Take no more calls; with ``cancel_futures``, or without ``wait``, those not yet read are called off."""
        if self._client.status == "running":
            self._inner.shutdown(wait=wait and not cancel_futures)


def _hand_on(done: Future[T], outer: Future[T]) -> None:
    """Give a result or the model's own error as it is; what the cluster has given up, as a broken executor."""
    from distributed import CancelledError as DaskCancelled
    from distributed import KilledWorker
    from distributed.comm import CommClosedError

    if not outer.set_running_or_notify_cancel():
        return
    try:
        result = done.result()
    except (KilledWorker, CommClosedError, DaskCancelled, CancelledError) as lost:
        broken = BrokenExecutor(f"the cluster gave up a chunk ({type(lost).__name__}: {lost})")
        broken.__cause__ = lost
        outer.set_exception(broken)
    except BaseException as error:  # the model's own: it belongs to whoever asked
        outer.set_exception(error)
    else:
        outer.set_result(result)


def on_cluster(client: Any) -> OnCluster:
    """A cluster for ``executor=``, or better for ``fresh=``, of :func:`~lutherie_geom.studies.sampling.run` and
    :func:`~lutherie_geom.studies.sobol.indices`.

    ``client`` is an open ``dask.distributed.Client``. ImportError when dask is not installed, TypeError for anything else.
    """
    try:
        from distributed import Client
    except ImportError:
        raise ImportError('a cluster needs dask.distributed: pip install "lutherie_geom[cluster]"') from None
    if not isinstance(client, Client) or client.asynchronous:
        raise TypeError(f"client is {client!r}: give an open dask.distributed.Client that is not asynchronous")
    return OnCluster(client)
