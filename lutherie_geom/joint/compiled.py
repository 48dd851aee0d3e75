"""Compiled back end of :func:`lutherie_geom.joint.many.many`: the same written functions, in blocks of a few hundred samples.

numba turns the relations' written functions, and the elementwise joins of ``many``, into machine code; here stand only the
loops. The samples of a block form the innermost loop, so that the compiler works on several at once; two to four places
(of tongue, heel, best plane) are read in one pass, so that what they share is worked out once.
"""

from __future__ import annotations

import hashlib
import inspect
from functools import cache
from typing import Any

import numpy as np

from lutherie_geom.joint import many as joining
from lutherie_geom.joint.dimensions import Array
from lutherie_geom.joint.many import ManyReadings
from lutherie_geom.theory.action import action_over_fret, nut_height, saddle_in_neck
from lutherie_geom.theory.dome import dome_height
from lutherie_geom.theory.heel import heel_x
from lutherie_geom.theory.scale import edge_margin
from lutherie_geom.theory.tongue import gap_below, gap_under_tongue, hollow_underside, planed_slope, planed_underside

try:
    import numba
except ImportError as missing:
    raise ImportError('the compiled back end needs numba: pip install "lutherie_geom[compiled]", '
                      'or use backend="numpy"') from missing

__all__ = ["CHUNK", "read"]

CHUNK = 8192  # samples handed over at once
BLOCK = 256  # samples read together: their rows stay in the nearest cache (512 would make rows share places in it)
_UNDERSIDES = ("hollowed", "planed", "either")
_ORDER = ("m", "cp", "sp", "ct", "st", "ca", "sa", "x_p", "z_p", "z_joint", "curvature", "x_apex", "along", "across",
          "radius_nut", "tongue_length", "tongue_width", "gap_joint", "hollowed", "floor_clearance", "foot_z",
          "half_width_top", "half_width_foot", "pocket", "x_nut", "x_last", "width_nut", "width_last")
SINGLES = len(_ORDER)
(M, CP, SP, CT, ST, CA, SA, X_P, Z_P, Z_JOINT, K, X_APEX, ALONG, ACROSS, RADIUS_NUT, LENGTH, WIDTH, GAP_JOINT, HOLLOWED,
 CLEARANCE, FOOT_Z, TOP, FOOT, POCKET, X_NUT, X_LAST, WIDTH_NUT, WIDTH_LAST) = range(SINGLES)
_BOARD = ("x_fret", "radius_fret", "dip")

# Floating point as numpy does it: no division errors raised, nan in gives nan out, nothing reordered.
_machine = numba.njit(error_model="numpy")
_RELATIONS = (saddle_in_neck, nut_height, action_over_fret, hollow_underside, planed_underside, gap_below, gap_under_tongue,
              heel_x, dome_height, planed_slope, edge_margin)
_saddle, _nut, _over, _hollow, _flat, _below, _gap, _place, _dome, _planed, _margin = (_machine(r.raw) for r in _RELATIONS)
_gap_hollow, _gap_planed, _gap_either, _dome_share, _face_x, _edge = (
    _machine(f) for f in (joining.gap_hollow, joining.gap_planed, joining.gap_either, joining.dome_share, joining.face_x,
                          joining.edge))


def _smaller(a: Any, b: Any) -> Any:
    """The smaller number; nan when either is."""
    return b if b < a or b != b else a


_least = _machine(_smaller)


def _fetch_row(row: Any, start: Any, count: Any, into: Any) -> None:
    """A block of a row that holds all samples, or one number for all of them: that is fetched once."""
    if row.shape[0] > 1:
        for i in range(count):
            into[i] = row[start + i]
    elif start == 0:
        for i in range(into.shape[0]):
            into[i] = row[0]


_fetch = _machine(_fetch_row)


def _loops(underside: Any, single: Any, strings: Any, board: Any, tongue: Any, heel: Any, slope: Any,
           action: Any, gap: Any, reveal: Any, floor: Any, margin: Any, first: Any) -> None:
    """All designs of a posed chunk; the order of ``single`` is _ORDER, of ``strings`` PER_STRING, of ``board`` _BOARD.

    ``action`` and ``margin`` hold all samples, and the chunk begins there at ``first``; the others hold the chunk alone.
    """
    count, frets, n = action.shape[0], action.shape[1], gap.shape[0]
    # Rows of few tables: the compiler can then tell that no place is written while another is read.
    d, w, e = np.empty((SINGLES, BLOCK)), np.empty((5 * count, BLOCK)), np.empty((3 * frets, BLOCK))
    t, x, least, taper = np.empty((4, BLOCK)), np.empty((2, BLOCK)), np.empty(BLOCK), np.empty(BLOCK)
    for start in range(0, n, BLOCK):
        b = min(BLOCK, n - start)
        for r in range(SINGLES):
            _fetch(single[r], start, b, d[r])
        for f in range(frets):
            for r in range(3):
                _fetch(board[r][f], start, b, e[3 * f + r])
        for s in range(count):
            for r in range(5):
                _fetch(strings[r][s], start, b, w[5 * s + r])
            for i in range(b):
                t[0, i], t[1, i], t[2, i] = _saddle(
                    w[5 * s + 2, i], w[5 * s + 3, i], w[5 * s + 4, i], d[K, i], d[X_APEX, i], d[ALONG, i], d[ACROSS, i],
                    d[CA, i], d[SA, i], d[Z_JOINT, i], d[CP, i], d[SP, i], d[CT, i], d[ST, i], d[M, i], d[X_P, i], d[Z_P, i])
            for i in range(b):
                t[3, i] = _nut(w[5 * s + 1, i], w[5 * s, i], d[RADIUS_NUT, i])[0]
            for f in range(frets):
                for i in range(b):
                    action[s, f, first + start + i] = _over(
                        e[3 * f, i], d[X_NUT, i], w[5 * s, i], t[3, i], t[0, i], t[1, i], t[2, i], e[3 * f + 1, i],
                        e[3 * f + 2, i])[0]
            if s == 0:
                for i in range(b):
                    margin[0, first + start + i] = _edge(_over, _margin, -1.0, d[X_LAST, i], (d[WIDTH_NUT, i], d[WIDTH_LAST, i]),
                                                         d[X_NUT, i], w[5 * s, i], t[0, i], t[1, i])
            if s == count - 1:
                for i in range(b):
                    margin[1, first + start + i] = _edge(_over, _margin, 1.0, d[X_LAST, i], (d[WIDTH_NUT, i], d[WIDTH_LAST, i]),
                                                         d[X_NUT, i], w[5 * s, i], t[0, i], t[1, i])
        if underside > 0:
            for i in range(b):
                taper[i] = 0.0
            for p in range(0, slope.shape[1], 4):
                for i in range(b):
                    share = 0.0
                    for q in range(p, p + 4):
                        share += _dome_share(_dome, slope[0, q], slope[1, q], slope[2, q], d[LENGTH, i], d[WIDTH, i],
                                             d[K, i], d[X_APEX, i], d[ALONG, i], d[ACROSS, i])
                    taper[i] += share
            for i in range(b):
                taper[i] = _planed(taper[i], d[LENGTH, i])[0]
        for i in range(b):
            least[i] = x[0, i] = x[1, i] = np.inf
        for p in range(0, tongue.shape[1], 3):
            if underside == 0:
                for i in range(b):
                    g = least[i]
                    for q in range(p, p + 3):
                        g = _least(g, _gap_hollow(
                            _hollow, _below, tongue[0, q], tongue[1, q], d[LENGTH, i], d[WIDTH, i], d[GAP_JOINT, i], d[K, i],
                            d[X_APEX, i], d[ALONG, i], d[ACROSS, i], d[CP, i], d[SP, i], d[CT, i], d[ST, i], d[M, i], d[X_P, i],
                            d[Z_P, i]))
                    least[i] = g
            elif underside == 1:
                for i in range(b):
                    g = least[i]
                    for q in range(p, p + 3):
                        g = _least(g, _gap_planed(
                            _flat, _below, tongue[0, q], tongue[1, q], d[LENGTH, i], d[WIDTH, i], d[GAP_JOINT, i], taper[i],
                            d[K, i], d[X_APEX, i], d[ALONG, i], d[ACROSS, i], d[CP, i], d[SP, i], d[CT, i], d[ST, i], d[M, i],
                            d[X_P, i], d[Z_P, i]))
                    least[i] = g
            else:
                for i in range(b):
                    g = least[i]
                    for q in range(p, p + 3):
                        g = _least(g, _gap_either(
                            _gap, tongue[0, q], tongue[1, q], d[LENGTH, i], d[WIDTH, i], d[GAP_JOINT, i], d[HOLLOWED, i],
                            taper[i], d[K, i], d[X_APEX, i], d[ALONG, i], d[ACROSS, i], d[CP, i], d[SP, i], d[CT, i], d[ST, i],
                            d[M, i], d[X_P, i], d[Z_P, i]))
                    least[i] = g
        for p in range(0, heel.shape[1], 2):
            for i in range(b):
                near, far = x[0, i], x[1, i]
                for q in range(p, p + 2):
                    at = _face_x(_place, heel[0, q], heel[1, q], d[CLEARANCE, i], d[FOOT_Z, i], d[TOP, i], d[FOOT, i], d[CP, i],
                                 d[SP, i], d[CT, i], d[ST, i], d[M, i], d[X_P, i], d[Z_P, i])
                    near, far = _least(near, at), _least(far, -at)
                x[0, i], x[1, i] = near, far
        for i in range(b):
            gap[start + i] = least[i]
            reveal[start + i] = d[POCKET, i] + x[0, i]
            floor[start + i] = x[1, i]


_inner = _machine(_loops)


def _digest() -> str:
    """What the machine code was made from: a kept copy of an older text of the formulas must never be used."""
    modules = {inspect.getmodule(r.raw) for r in _RELATIONS} | {joining}
    texts = sorted(inspect.getsource(m) for m in modules if m is not None)
    return hashlib.sha256("".join(texts).encode()).hexdigest()


@cache
def _kernel() -> Any:
    """The compiled loops; kept on disk between runs, under a key that holds the text of the formulas."""
    t = numba.types
    several: Any = t.UniTuple
    row = t.Array(t.float64, 1, "C", readonly=True)
    table = t.Array(t.float64, 2, "A", readonly=True)
    fixed = t.Array(t.float64, 2, "C", readonly=True)
    out, out2, out3 = (t.Array(t.float64, axes, "C") for axes in (1, 2, 3))
    signature = t.void(t.int64, several(row, len(_ORDER)), several(table, 5), several(table, 3),
                       fixed, fixed, fixed, out3, out, out, out, out2, t.int64)
    made_from = _digest()

    def loops(underside, single, strings, board, tongue, heel, slope,  # type: ignore[no-untyped-def]
              action, gap, reveal, floor, margin, first):
        if len(made_from):  # names the text in the key of the kept copy
            _inner(underside, single, strings, board, tongue, heel, slope, action, gap, reveal, floor, margin, first)

    try:
        return numba.njit(signature, error_model="numpy", nogil=True, cache=True)(loops)
    except RuntimeError:  # nowhere to keep a copy: compile in every run
        return numba.njit(signature, error_model="numpy", nogil=True)(loops)


@cache
def _places() -> tuple[Array, Array, Array]:
    """Places on the tongue (27, read by threes), on the heel (18, by twos) and of the quadrature (32, by fours)."""
    at = joining.points()

    def flat(*parts: Array) -> Array:
        return np.stack([np.ravel(v) for v in np.broadcast_arrays(*parts)])

    return flat(at.tongue_u, at.tongue_v), flat(at.heel_t, at.heel_side), flat(at.slope_u, at.slope_v, at.slope_weight)


def read(c: dict[str, Array], underside: str, found: ManyReadings, part: slice) -> None:
    """Read one posed chunk into its part of the outputs, for :func:`many`."""
    def row(v: Array) -> Array:
        return np.ascontiguousarray(v).reshape(-1)

    def rows(v: Array) -> Array:
        return v if v.ndim == 2 else v[:, None]

    _kernel()(_UNDERSIDES.index(underside), tuple(row(c[k]) for k in _ORDER),
              tuple(rows(c[k]) for k in joining.PER_STRING), tuple(rows(c[k]) for k in _BOARD), *_places(),
              found.action, found.least_gap[part], found.reveal[part], found.floor[part], found.margin, part.start)
