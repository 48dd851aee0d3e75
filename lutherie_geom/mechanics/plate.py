"""Lowest notes of a rectangular plate of wood with patches and braces, by Rayleigh-Ritz.

The deflection is a product of piecewise polynomials (Hermite cubics and integrated Legendre polynomials above them) with joints
at the edges of the patches and at the braces, where curvature or shear may jump. All integrals are exact; more terms can only
bring the frequency down.
Plate: 0 to ``length`` along x (the grain), width ``width`` along y, everything alike on both sides of the middle line, so that
symmetric and antisymmetric notes are found apart. Numbers or arrays that broadcast together; the batch is last in every answer.
"""

from __future__ import annotations

import operator
from collections.abc import Callable, Iterable
from dataclasses import dataclass, fields
from functools import lru_cache
from typing import Any

import numpy as np
from threadpoolctl import threadpool_limits

from lutherie_geom.theory.plate import free_rigidity, layer_shares, sheet_stiffness

__all__ = ["Layer", "Modes", "Patch", "Plate", "Strip", "each_number", "natural_frequencies", "plate_of"]

Array = Any  # a float or a numpy array of floats
_FOURS = ("11", "12", "22", "66")


@dataclass(frozen=True, kw_only=True)
class Layer:
    """One sheet of wood: thickness [mm], moduli [MPa], Poisson's ratio for a pull along x [1], density [kg/m^3]."""

    thickness: Array
    modulus_x: Array
    modulus_y: Array
    poisson_xy: Array
    shear_modulus: Array
    density: Array


@dataclass(frozen=True, kw_only=True)
class Plate:
    """Bending stiffness per width: along, coupling, across, twisting [N mm], and mass on unit area [kg/m^2]."""

    d11: Array
    d12: Array
    d22: Array
    d66: Array
    mass: Array

    def less(self, other: Plate) -> Plate:
        """What this plate has more than the other."""
        return Plate(**{f.name: getattr(self, f.name) - getattr(other, f.name) for f in fields(self)})


def plate_of(*layers: Layer, held: Array = 0.0) -> Plate:
    """Layers glued on each other, from the lowest up.

    ``held`` [1]: 0 when the plate may stretch as it likes, 1 when the middle of the lowest layer is held (upper bound).
    """
    sums: dict[str, Array] = {}
    bottom = -layers[0].thickness / 2
    for layer in layers:
        q = sheet_stiffness(modulus_x=layer.modulus_x, modulus_y=layer.modulus_y, poisson_xy=layer.poisson_xy,
                            shear_modulus=layer.shear_modulus)
        for which, stiffness in zip(_FOURS, q, strict=True):
            share = layer_shares(stiffness=stiffness, thickness=layer.thickness, middle=bottom + layer.thickness / 2)
            for letter, value in zip("abd", share, strict=True):
                sums[letter + which] = sums.get(letter + which, 0.0) + value
        bottom = bottom + layer.thickness
    low = free_rigidity(**sums)
    mass = sum(layer.density * layer.thickness for layer in layers) / 1000
    stiff = {f"d{w}": (1 - held) * free + held * sums[f"d{w}"] for w, free in zip(_FOURS, low, strict=True)}
    return Plate(mass=mass, **stiff)


@dataclass(frozen=True, kw_only=True)
class Patch:
    """What is added to the plate from x ``start`` to ``end`` [mm] and half a ``width`` [mm] to either side of the middle line.

    ``added``: stiffness and mass beyond the plate's own, or None (then it only sets joints of the polynomials). ``spring``: bed
    under the patch [N/mm^3] (very stiff: held).
    """

    start: Array = 0.0
    end: Array
    width: Array
    added: Plate | None = None
    spring: Array = 0.0


@dataclass(frozen=True, kw_only=True)
class Strip:
    """A brace from side to side at x = ``at`` [mm]: bending and twisting stiffness [N mm^2], mass to the metre [kg/m]."""

    at: Array
    rigidity: Array
    torsion: Array = 0.0
    line_mass: Array = 0.0


@dataclass(frozen=True)
class Modes:
    """Lowest natural frequencies [Hz], (count, *batch): ``symmetric`` and ``antisymmetric`` about the middle line."""

    symmetric: Array
    antisymmetric: Array

    @property
    def lowest(self) -> Array:
        """The lowest of all [Hz], shape of the batch."""
        return np.minimum(self.symmetric[0], self.antisymmetric[0])


@lru_cache(maxsize=8)
def _shapes(degree: int) -> tuple[Any, ...]:
    """Shape functions on -1..1: value and slope at either end, then double integrals of Legendre polynomials."""
    leg = np.polynomial.Legendre
    power = np.polynomial.Polynomial
    ends = [power(c).convert(kind=leg) / 4 for c in ([2, -3, 0, 1], [1, -1, -1, 1], [2, 3, 0, -1], [-1, -1, 1, 1])]
    bubbles = [leg.basis(k).integ(lbnd=-1).integ(lbnd=-1) * np.sqrt(k + 0.5) for k in range(2, degree - 1)]
    return (*ends, *bubbles)


@lru_cache(maxsize=8)
def _reference(degree: int, a: int, b: int) -> np.ndarray:
    """Exact integrals over -1..1 of the a-th times the b-th derivatives of the shapes."""
    x, w = np.polynomial.legendre.leggauss(degree + 1)
    left, right = (np.array([s.deriv(k)(x) if k else s(x) for s in _shapes(degree)]) for k in (a, b))
    return np.asarray((left * w) @ right.T)


class _Line:
    """Piecewise polynomials on one direction; nodes (samples, segments + 1) [mm]. ``dropped``: unknowns that are zero."""

    def __init__(self, nodes: np.ndarray, degree: int, dropped: tuple[int, ...]) -> None:
        self.nodes, self.degree = nodes, degree
        self.h = np.diff(nodes)
        n, extra = self.h.shape[1], degree - 3
        self.size = 2 * (n + 1) + n * extra
        first = 2 * (n + 1)
        self.places = [[*range(2 * k, 2 * k + 4), *range(first + k * extra, first + (k + 1) * extra)] for k in range(n)]
        self.kept = np.setdiff1d(np.arange(self.size), [d % first for d in dropped])
        self.span = nodes[:, -1] - nodes[:, 0]

    def _scale(self, k: int) -> np.ndarray:
        """Slope unknowns are slope times span, so that all unknowns are lengths."""
        s = np.ones((len(self.nodes), self.degree + 1))
        s[:, [1, 3]] = (self.h[:, k] / (2 * self.span))[:, None]
        return s

    def integral(self, a: int, b: int, weight: np.ndarray | None = None) -> np.ndarray:
        """Integral of a-th times b-th derivative, each segment times its weight (samples, segments): (samples, n, n)."""
        out = np.zeros((len(self.nodes), self.size, self.size))
        for k, places in enumerate(self.places):
            s = self._scale(k)
            factor = (2 / self.h[:, k]) ** (a + b - 1) * (1.0 if weight is None else weight[:, k])
            out[:, np.array(places)[:, None], places] += factor[:, None, None] * s[:, :, None] * s[:, None, :] * _reference(
                self.degree, a, b)
        return out[:, self.kept[:, None], self.kept]

    def at(self, x: np.ndarray, derivative: int) -> np.ndarray:
        """The functions' values (or slopes) at x (samples,) [mm]: (samples, n)."""
        out = np.zeros((len(self.nodes), self.size))
        for k, places in enumerate(self.places):
            here = (x >= self.nodes[:, k]) & ((x < self.nodes[:, k + 1]) | (k == len(self.places) - 1))
            local = np.clip(2 * (x - self.nodes[:, k]) / self.h[:, k] - 1, -1, 1)
            value = np.array([s.deriv(derivative)(local) if derivative else s(local) for s in _shapes(self.degree)]).T
            out[:, places] += here[:, None] * value * self._scale(k) * (2 / self.h[:, k, None]) ** derivative
        return out[:, self.kept]


def _inside(line: _Line, start: np.ndarray, end: np.ndarray) -> np.ndarray:
    """1 for the segments between start and end, (samples, segments)."""
    middle = (line.nodes[:, 1:] + line.nodes[:, :-1]) / 2
    return ((middle > start[:, None]) & (middle < end[:, None])).astype(float)


def _product(x: np.ndarray, y: np.ndarray, factor: np.ndarray) -> np.ndarray:
    return np.einsum("s,sij,skl->sikjl", factor, x, y)


def _matrices(x: _Line, y: _Line, plate: Plate, patches: list[Patch], strips: list[Strip]) -> tuple[np.ndarray, np.ndarray]:
    """Stiffness [N/mm] and mass [t], each (samples, n, n)."""
    nx, ny = len(x.kept), len(y.kept)
    stiff = np.zeros((len(x.nodes), nx, ny, nx, ny))
    mass = np.zeros_like(stiff)

    def add(p: Plate, wx: np.ndarray | None, wy: np.ndarray | None) -> None:
        cross_x, cross_y = x.integral(2, 0, wx), y.integral(0, 2, wy)
        stiff[:] += _product(x.integral(2, 2, wx), y.integral(0, 0, wy), p.d11)
        stiff[:] += _product(x.integral(0, 0, wx), y.integral(2, 2, wy), p.d22)
        stiff[:] += _product(cross_x, cross_y, p.d12) + _product(cross_x.swapaxes(1, 2), cross_y.swapaxes(1, 2), p.d12)
        stiff[:] += _product(x.integral(1, 1, wx), y.integral(1, 1, wy), 4 * p.d66)
        mass[:] += _product(x.integral(0, 0, wx), y.integral(0, 0, wy), p.mass * 1e-9)  # kg/m^2 is 1e-9 t/mm^2

    add(plate, None, None)
    for patch in patches:
        wx, wy = _inside(x, patch.start, patch.end), _inside(y, -patch.width, patch.width / 2)
        if patch.added is not None:
            add(patch.added, wx, wy)
        if np.any(patch.spring):
            stiff += _product(x.integral(0, 0, wx), y.integral(0, 0, wy), patch.spring)
    for strip in strips:
        value, slope = x.at(strip.at, 0), x.at(strip.at, 1)
        line = value[:, :, None] * value[:, None, :]
        stiff += _product(line, y.integral(2, 2), strip.rigidity)
        stiff += _product(slope[:, :, None] * slope[:, None, :], y.integral(1, 1), strip.torsion)
        mass += _product(line, y.integral(0, 0), strip.line_mass * 1e-6)
    return stiff.reshape(-1, nx * ny, nx * ny), mass.reshape(-1, nx * ny, nx * ny)


def _lowest(stiff: np.ndarray, mass: np.ndarray, count: int) -> np.ndarray:
    """Lowest frequencies [Hz], (samples, count). The reciprocal problem keeps the low notes exact beside very stiff springs."""
    low = np.linalg.cholesky(stiff)
    half = np.linalg.solve(low, mass)
    inverse = np.linalg.solve(low, half.swapaxes(1, 2))
    values = np.linalg.eigvalsh((inverse + inverse.swapaxes(1, 2)) / 2)[:, ::-1][:, :count]
    return np.asarray(1 / np.sqrt(values) / (2 * np.pi))


def each_number(part: Any, change: Callable[[Any], Any]) -> Any:
    """The same plate, patch or strip with every number changed."""
    if isinstance(part, Plate | Patch | Strip):
        return type(part)(**{f.name: each_number(getattr(part, f.name), change) for f in fields(part)})
    return None if part is None else change(part)


def _numbers(parts: Iterable[Any]) -> list[Any]:
    found: list[Any] = []
    for part in parts:
        each_number(part, found.append)
    return found


def _breaks(edges: list[np.ndarray], span: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Sorted candidate joints (samples, k) and which of them stand apart from the ends and from each other."""
    if not edges:
        return np.zeros((len(span), 0)), np.zeros((len(span), 0), dtype=bool)
    found = np.sort(np.clip(np.stack(edges, axis=1), 0, span[:, None]), axis=1)
    least = 1e-6 * span[:, None]
    apart = np.diff(found, axis=1, prepend=np.zeros((len(span), 1))) > least
    return found, apart & (found < span[:, None] - least)


def natural_frequencies(plate: Plate, *, length: Array, width: Array, edges: str, patches: tuple[Patch, ...] = (),
                        strips: tuple[Strip, ...] = (), degree: int = 7, count: int = 1) -> Modes:
    """Lowest natural frequencies [Hz] of the plate, ``length`` along x by ``width`` along y [mm].

    ``edges``: ``supported`` (free to turn) or ``clamped``, all four alike. ``degree`` of the polynomials between two joints.
    nan in, nan out. Raises ValueError for another word, a degree below 4, or a size, stiffness or mass that is not above 0.
    """
    if edges not in ("supported", "clamped"):
        raise ValueError(f"edges: {edges!r} is not known; supported or clamped")
    if degree < 4:
        raise ValueError(f"degree: {degree} is too low; 4 or more")
    for name, value, unit in (("length", length, "mm"), ("width", width, "mm"), ("d11", plate.d11, "N mm"),
                              ("d22", plate.d22, "N mm"), ("d66", plate.d66, "N mm"), ("mass", plate.mass, "kg/m^2")):
        if np.any(np.asarray(value) <= 0):
            raise ValueError(f"{name}: {np.nanmin(value):g} {unit} must be above 0 {unit}")
    shape = np.broadcast_shapes(*map(np.shape, _numbers((plate, length, width, *patches, *strips))))

    def flat(part: Any) -> Any:
        return each_number(part, lambda v: np.broadcast_to(np.asarray(v, dtype=float), shape).reshape(-1))

    base, span_x, span_y = flat(plate), flat(length), flat(width) / 2
    on, bars = [flat(p) for p in patches], [flat(s) for s in strips]
    whole = np.all([np.isfinite(v) for v in _numbers((base, span_x, span_y, *on, *bars))], axis=0)
    bx, kx = _breaks([e for p in on for e in (p.start, p.end)] + [s.at for s in bars], span_x)
    by, ky = _breaks([p.width / 2 for p in on], span_y)
    signs, group = np.unique(np.concatenate([kx, ky], axis=1), axis=0, return_inverse=True)
    out = np.full((2, count, len(span_x)), np.nan)
    fixed = (0, -2) if edges == "supported" else (0, 1, -2, -1)
    # Many small matrices: threads that wait for each other cost many times what they save on a busy machine.
    with threadpool_limits(1, "blas"):
        for g, sign in enumerate(signs):  # joints that exist in some samples only: a few layouts, each solved at once
            members = np.flatnonzero((np.ravel(group) == g) & whole)
            for rows in np.array_split(members, max(1, len(members) // 32)):
                zero = np.zeros((len(rows), 1))
                x = _Line(np.hstack([zero, bx[rows][:, sign[:kx.shape[1]]], span_x[rows, None]]), degree, fixed)
                nodes_y = np.hstack([zero, by[rows][:, sign[kx.shape[1]:]], span_y[rows, None]])
                for parity, middle in enumerate((1, 0)):  # on the middle line: no slope, or no deflection
                    y = _Line(nodes_y, degree, (middle, *(f for f in fixed if f < 0)))
                    here = operator.itemgetter(rows)
                    parts = each_number(base, here), [each_number(p, here) for p in on], [each_number(s, here) for s in bars]
                    out[parity, :, rows] = _lowest(*_matrices(x, y, *parts), count)
    found = out.reshape(2, count, *shape)
    return Modes(found[0], found[1])
