"""Integration along a beam: Gauss stations, their weights, and running integrals from the root, exact for polynomials."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np

__all__ = ["STATIONS", "column", "gauss", "read_at", "running"]

Array = Any
STATIONS = 16
"""Stations along a beam; the sections change smoothly, so that these are good to some ten digits."""


@lru_cache(maxsize=4)
def gauss(n: int = STATIONS) -> tuple[np.ndarray, np.ndarray]:
    """Stations on 0 to 1 and their weights, both (n,)."""
    x, w = np.polynomial.legendre.leggauss(n)
    return (x + 1) / 2, w / 2


@lru_cache(maxsize=4)
def _series(n: int) -> np.ndarray:
    """From values at the stations to the Legendre series through them."""
    return np.linalg.inv(np.polynomial.legendre.legvander(2 * gauss(n)[0] - 1, n - 1))


@lru_cache(maxsize=4)
def _matrix(n: int) -> np.ndarray:
    legendre = np.polynomial.legendre
    summed = [legendre.legval(2 * gauss(n)[0] - 1, legendre.legint(c, lbnd=-1)) for c in np.eye(n)]
    return np.stack(summed, axis=1) @ _series(n) / 2


def running(values: Array) -> Array:
    """Integral from 0 up to each Gauss station of ``values`` at the stations, both (stations, *any)."""
    return np.tensordot(_matrix(len(values)), values, axes=(1, 0))


def read_at(values: Array, at: Array) -> Array:
    """``values`` at the stations (stations, *batch), read at places 0 to 1 (*batch) by the polynomial through them."""
    series = np.tensordot(_series(len(values)), values, axes=(1, 0))
    return np.polynomial.legendre.legval(2 * np.asarray(at) - 1, series, tensor=False)


def column(values: Array, ndim: int) -> Array:
    """``values`` (parts,) with ``ndim`` axes behind."""
    a = np.asarray(values, dtype=float)
    return a.reshape(a.shape + (1,) * ndim)
