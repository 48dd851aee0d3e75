"""Whole-joint readings for many designs at once: action, edge margins, least gap, reveal, floor clearance.

Nothing of a formula is written here: the written functions of the relations are called on chunks of samples that stay in
the processor's cache. The few lines that join them (:func:`tongue_gap` and its like) are elementwise, so that the compiled
back end (:mod:`lutherie_geom.joint.compiled`) runs the same ones on single numbers.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np

from lutherie_geom.joint.dimensions import Array, Dimensions
from lutherie_geom.theory.action import action_over_fret, nut_height, saddle_in_neck
from lutherie_geom.theory.dome import dome_height
from lutherie_geom.theory.heel import heel_x
from lutherie_geom.theory.pose import POSE
from lutherie_geom.theory.scale import edge_margin
from lutherie_geom.theory.tilt import screw_length
from lutherie_geom.theory.tongue import gap_below, gap_under_tongue, hollow_underside, planed_slope, planed_underside

__all__ = ["ManyReadings", "many"]

CHUNK = 8192  # samples; found by tests/benchmarks/bench_whole_joint.py: smaller ones pay for calls, larger ones leave the cache
# An untouched block, freed at once, tells the C library (glibc) to keep freed blocks of up to this size (24 MiB) for the next
# operation. Else it hands large temporaries back to the system, and every operation pays for fresh pages: three times slower.
_KEEP = 3 * 2**20
PER_STRING = ("y_nut", "h_nut", "x_saddle", "y_saddle", "h_saddle")
TURNS = ("tilt", "bass", "treble")
BOARD = ("scale", "nut_compensation", "joint_fret_x", "radius_nut", "radius_last", "relief", "fall_away_line",
         "fall_away_curvature")
SINGLE = ("pitch_tilt", "pitch_pivot", "spacing", "x_p", "z_p", "x_head", "z_head", "x_receiver", "z_receiver", "alpha",
          "z_joint", "curvature", "x_apex", "along", "across", "radius_nut", "tongue_length", "tongue_width", "gap_joint",
          "hollowed", "floor_clearance", "foot_z", "half_width_top", "half_width_foot", "pocket", "width_nut", "width_last")


@dataclass(frozen=True)
class ManyReadings:
    """Readings of n joints [mm]: action (strings, frets, n); least gap, least reveal, least floor clearance, each (n,).

    The gap is the least of an even 9 x 3 grid over the tongue's footprint; reveal and floor clearance are the least of
    nine heights and both sides. ``margin`` (2, n) is from the outer strings, bass and treble, to the board's edges at the last
    fret. A pose out of the tilt screw's reach reads ``nan``.
    """

    frets: tuple[int, ...]
    action: Array
    least_gap: Array
    reveal: Array
    floor: Array
    margin: Array

    @property
    def centring(self) -> Array:
        """How far the strings' middle runs off the board's middle at the last fret [mm], to treble, (n,)."""
        return off_middle(self.margin[0], self.margin[1])


@dataclass(frozen=True)
class Points:
    """Where a design is read, as fractions: of the tongue (length, width) and of the heel's height and half-width."""

    tongue_u: Array
    tongue_v: Array
    heel_t: Array
    heel_side: Array
    slope_u: Array
    slope_v: Array
    slope_weight: Array


@lru_cache(maxsize=1)
def points() -> Points:
    """The fixed places: 9 x 3 on the tongue, 9 x 2 on the heel, 8 x 8 for the best plane (exact quadrature)."""
    x, w = np.polynomial.legendre.leggauss(8)
    u, w = (x + 1) / 2, w / 2
    # The soundboard is even across: the four places of one side count twice.
    return Points(np.linspace(0, 1, 9)[:, None, None], np.linspace(-0.5, 0.5, 3)[None, :, None],
                  np.linspace(0, 1, 9)[:, None, None], np.array([-1.0, 1.0])[None, :, None],
                  u[:, None, None], u[None, 4:, None] - 0.5, 2 * (w * (u - 0.5))[:, None, None] * w[None, 4:, None])


# Elementwise, on arrays or on single numbers; the relation's written function comes first.

def gap_hollow(under: Any, below: Any, u: Any, v: Any, length: Any, width: Any, gap_joint: Any, k: Any, xc: Any, wx: Any, wy: Any,
               cp: Any, sp: Any, ct: Any, st: Any, m: Any, x_p: Any, z_p: Any) -> Any:
    """Gap [mm] at the fractions u, v of the tongue's length and width, underside hollowed to the dome."""
    x, y = u * length, v * width
    return below(x, y, under(x, y, gap_joint, k, xc, wx, wy)[0], k, xc, wx, wy, cp, sp, ct, st, m, x_p, z_p)[0]


def gap_planed(under: Any, below: Any, u: Any, v: Any, length: Any, width: Any, gap_joint: Any, taper: Any, k: Any, xc: Any,
               wx: Any, wy: Any, cp: Any, sp: Any, ct: Any, st: Any, m: Any, x_p: Any, z_p: Any) -> Any:
    """The same, underside planed to one slope."""
    x, y = u * length, v * width
    return below(x, y, under(x, gap_joint, taper)[0], k, xc, wx, wy, cp, sp, ct, st, m, x_p, z_p)[0]


def gap_either(gap: Any, u: Any, v: Any, length: Any, width: Any, gap_joint: Any, hollowed: Any, taper: Any, k: Any, xc: Any,
               wx: Any, wy: Any, cp: Any, sp: Any, ct: Any, st: Any, m: Any, x_p: Any, z_p: Any) -> Any:
    """The same, for samples of both kinds."""
    return gap(u * length, v * width, gap_joint, hollowed, taper, k, xc, wx, wy, cp, sp, ct, st, m, x_p, z_p)[0]


def dome_share(dome: Any, u: Any, v: Any, weight: Any, length: Any, width: Any, k: Any, xc: Any, wx: Any, wy: Any) -> Any:
    """What the place at the fractions u, v of the footprint adds to the dome's moment [mm]."""
    return weight * dome(u * length, v * width, k, xc, wx, wy)[0]


def face_x(place: Any, t: Any, side: Any, clearance: Any, foot_z: Any, top: Any, foot: Any, cp: Any, sp: Any, ct: Any, st: Any,
           m: Any, x_p: Any, z_p: Any) -> Any:
    """Where the heel's end face comes to lie along x [mm], at the fraction t of its height."""
    return place(-clearance, side * (top + (foot - top) * t), t * foot_z, cp, sp, ct, st, m, x_p, z_p)[0]


def edge(over: Any, margin: Any, side: Any, x_last: Any, widths: Any, x_nut: Any, y_nut: Any, xs: Any, ys: Any) -> Any:
    """From an outer string (side -1 bass, +1 treble) to the board's edge at the last fret [mm]."""
    # Where the string runs across the board does not depend on heights: none are given, over a flat board.
    y = over(x_last, x_nut, y_nut, 0.0, xs, ys, 0.0, np.inf, 0.0)[1]
    return margin(x_last, x_nut, x_last, widths[0], widths[1], side * y)[0]


def off_middle(bass: Any, treble: Any) -> Any:
    """How far the strings' middle runs off the board's middle [mm], to treble, from the edge margins of both sides."""
    return (bass - treble) / 2


def _column(v: Array) -> Array:
    """Room for the samples behind the strings."""
    return v[:, None] if v.ndim == 1 else v


def _board(d: Dimensions, frets: tuple[int, ...]) -> dict[str, Array]:
    """What the board says: x_nut, x_last, and (frets, samples or 1) of x_fret, radius and dip at the frets."""
    f = np.asarray(frets, dtype=float)[:, None]
    x = d.x_fret(f)
    return {"x_nut": np.asarray(d.x_nut), "x_last": np.asarray(d.x_fret(d.last_fret)), "x_fret": x,
            "radius_fret": d.board_radius(x), "dip": d.dip(f)}


def chunks(values: dict[str, Array], dims: Dimensions, frets: tuple[int, ...], n: int, size: int
           ) -> Iterator[tuple[slice, dict[str, Array]]]:
    """Slices of the samples and what belongs to each: numbers that do not vary stay numbers."""
    varied = [k for k, v in values.items() if v.ndim == (2 if k in PER_STRING else 1)]
    board_varied = [k for k in varied if k in BOARD]
    fixed = {k: v if v.ndim else float(v) for k, v in values.items() if k not in varied}
    if not board_varied:
        fixed |= _board(dims, frets)
    for a in range(0, n, size):
        part = slice(a, min(a + size, n))
        here = {k: values[k][..., part] for k in varied}
        if board_varied:
            here |= _board(dims.replaced(**{k: here[k] for k in board_varied}), frets)
        yield part, fixed | here


def posed(c: dict[str, Array], receiver: str) -> dict[str, Array]:
    """Pose and neck angle of a chunk, for both back ends."""
    screw = (c["x_head"], c["z_head"], c["x_receiver"], c["z_receiver"])
    length, = screw_length.raw(c["tilt"], c["pitch_tilt"], *screw)
    tilt = c["tilt"] if np.all(length > 0) else np.where(length > 0, c["tilt"], np.nan)  # no screw is shorter than nothing
    _, _, m, cp, sp, ct, st = POSE[receiver].raw(tilt, c["bass"], c["treble"], c["pitch_tilt"], c["pitch_pivot"], c["spacing"],
                                                 c["x_p"], c["z_p"], *screw)
    set_ = {} if "ca" in c else {"ca": np.cos(c["alpha"]), "sa": np.sin(c["alpha"])}  # posed before, at other turns
    return c | {"m": m, "cp": cp, "sp": sp, "ct": ct, "st": st} | set_


def _moved(c: dict[str, Array]) -> tuple[tuple[Array, ...], tuple[Array, ...]]:
    """What a posed chunk says of where the neck stands and of the dome, in the relations' order."""
    return ((c["cp"], c["sp"], c["ct"], c["st"], c["m"], c["x_p"], c["z_p"]),
            (c["curvature"], c["x_apex"], c["along"], c["across"]))


def over_board(c: dict[str, Array]) -> tuple[Array, tuple[Array, Array]]:
    """Action (strings, frets, samples) [mm] of a posed chunk, and the edge margins of bass and treble [mm]."""
    turned, dome = _moved(c)
    y_nut = _column(c["y_nut"])
    saddle = saddle_in_neck.raw(_column(c["x_saddle"]), _column(c["y_saddle"]), _column(c["h_saddle"]), *dome, c["ca"], c["sa"],
                                c["z_joint"], *turned)
    z_nut, = nut_height.raw(_column(c["h_nut"]), y_nut, c["radius_nut"])
    xs, ys, zs = (v[:, None] for v in saddle)
    action, _ = action_over_fret.raw(c["x_fret"], c["x_nut"], y_nut[:, None], z_nut[:, None], xs, ys, zs, c["radius_fret"],
                                     c["dip"])
    bass, treble = (edge(action_over_fret.raw, edge_margin.raw, side, c["x_last"], (c["width_nut"], c["width_last"]), c["x_nut"],
                         y_nut[s], saddle[0][s], saddle[1][s]) for side, s in ((-1.0, 0), (1.0, -1)))
    return action, (bass, treble)


def _read(c: dict[str, Array], underside: str, found: ManyReadings, part: slice) -> None:
    """Read one posed chunk into its part of the outputs."""
    at = points()
    turned, dome = _moved(c)
    found.action[..., part], (found.margin[0, part], found.margin[1, part]) = over_board(c)
    where = (at.tongue_u, at.tongue_v, c["tongue_length"], c["tongue_width"], c["gap_joint"])
    if underside == "hollowed":
        g = gap_hollow(hollow_underside.raw, gap_below.raw, *where, *dome, *turned)
    else:
        moment = dome_share(dome_height.raw, at.slope_u, at.slope_v, at.slope_weight, *where[2:4], *dome).sum(axis=(0, 1))
        taper, = planed_slope.raw(moment, c["tongue_length"])
        if underside == "planed":
            g = gap_planed(planed_underside.raw, gap_below.raw, *where, taper, *dome, *turned)
        else:
            g = gap_either(gap_under_tongue.raw, *where, c["hollowed"], taper, *dome, *turned)
    found.least_gap[part] = g.min(axis=(0, 1))
    x = face_x(heel_x.raw, at.heel_t, at.heel_side, c["floor_clearance"], c["foot_z"], c["half_width_top"], c["half_width_foot"],
               *turned)
    found.floor[part] = -x.max(axis=(0, 1))
    found.reveal[part] = c["pocket"] + x.min(axis=(0, 1))


def values_of(dims: Dimensions, turns: dict[str, Array]) -> tuple[dict[str, Array], int]:
    """Every number as an array of floats, and how many samples there are."""
    names = (*PER_STRING, *dict.fromkeys((*BOARD, *SINGLE)))
    values = {k: np.asarray(v, dtype=float) for k, v in (turns | {k: getattr(dims, k) for k in names}).items()}
    n = 1
    for k, v in values.items():
        own = 1 if k in PER_STRING else 0
        if not own <= v.ndim <= own + 1:
            raise ValueError(f"{k} has shape {v.shape}: give one number, or one axis of samples"
                             + (" behind the strings" if own else ""))
        if own and v.shape[0] != dims.strings:
            raise ValueError(f"{k} has {v.shape[0]} strings, y_nut has {dims.strings}")
        if v.ndim > own and (m := v.shape[-1]) != 1:
            if n not in (1, m):
                raise ValueError(f"{k} has {m} samples, another dimension has {n}")
            n = m
    # an axis of one sample beside longer ones is a number that does not vary
    return {k: v[..., 0] if v.ndim > (k in PER_STRING) and v.shape[-1] == 1 else v for k, v in values.items()}, n


def many(dims: Dimensions, tilt: Array = 0.0, bass: Array = 0.0, treble: Array = 0.0, frets: tuple[int, ...] | None = None,
         backend: str = "numpy", workers: int = 1, chunk: int | None = None, into: ManyReadings | None = None) -> ManyReadings:
    """Readings [mm] of many sampled designs after turns [turn] of the three screws.

    ``dims`` and the turns hold numbers, or arrays with one axis of n samples (behind the strings where a field has them).
    ``frets`` is (1, 12, last) unless given. ``backend`` is "numpy" or "compiled" (the same functions through numba, an
    optional extra); ``workers`` is the number of threads; ``chunk`` the samples in one go, best left alone.
    ``into`` takes readings of the same shape that are no longer needed, and overwrites them: fresh memory for a million
    designs can cost as much time as the readings themselves.
    """
    frets = (1, 12, dims.last_fret) if frets is None else tuple(frets)
    if backend not in ("numpy", "compiled"):
        raise ValueError(f"back end {backend!r} is not known: use 'numpy' or 'compiled'")
    values, n = values_of(dims, {"tilt": tilt, "bass": bass, "treble": treble})
    plain = dims.replaced(**{k: values[k] for k in BOARD})
    shape = (dims.strings, len(frets), n)
    if into is None:
        found = ManyReadings(frets, np.empty(shape), np.empty(n), np.empty(n), np.empty(n), np.empty((2, n)))
    elif into.action.shape == shape:
        found = ManyReadings(frets, into.action, into.least_gap, into.reveal, into.floor, into.margin)
    else:
        raise ValueError(f"the readings to overwrite have shape {into.action.shape}, these have {shape}")
    if not all(a.flags.c_contiguous for a in (found.action, found.least_gap, found.reveal, found.floor, found.margin)):
        raise ValueError("the readings to overwrite must lie in one piece of memory each")
    hollowed = values["hollowed"]
    underside = "hollowed" if np.all(hollowed == 1) else "planed" if np.all(hollowed == 0) else "either"
    read: Callable[..., None] = _read
    size = CHUNK
    if backend == "compiled":
        from lutherie_geom.joint import compiled

        read, size = compiled.read, compiled.CHUNK

    def task(job: tuple[slice, dict[str, Array]]) -> None:
        part, c = job
        with np.errstate(invalid="ignore"):
            read(posed(c, dims.receiver), underside, found, part)

    if n > 1000:
        np.empty(_KEEP)  # freed at once
    jobs = chunks(values, plain, frets, n, chunk or size)
    if workers == 1:
        for job in jobs:
            task(job)
    else:
        with ThreadPoolExecutor(workers) as pool:
            for _ in pool.map(task, jobs):
                pass
    return found
