"""Sampled joints with 20 toleranced inputs, drawing included: python tests/benchmarks/bench_tolerances.py [samples]

Ways take turns and the best processor time of several rounds counts; only ratios are worth comparing. Rivals draw the same
spreads, from the same even numbers, and give the same readings (checked first).
"""

import argparse
import time

import numpy as np
from bench_whole_joint import best
from plain_loop import SINGLE as LOOP
from plain_loop import loop, outputs
from plain_numpy import whole_joint
from scipy.special import ndtri

import lutherie_geom as lg
from lutherie_geom.joint.body import gap_grid, heel_fit
from lutherie_geom.joint.many import _KEEP, BOARD, PER_STRING, SINGLE, many
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.strings import action, edge_margin
from lutherie_geom.studies.sampling import CHUNK, Job, run, uniform
from lutherie_geom.studies.setup import set_up
from lutherie_geom.studies.sobol import indices
from lutherie_geom.studies.spreads import Spread, Spreads
from lutherie_geom.studies.yields import _Instruments

SDS = {"alpha": 8e-4, "z_joint": 0.1, "x_p": 0.12, "z_p": 0.15, "spacing": 0.1, "x_head": 0.1, "z_head": 0.15, "x_receiver": 0.1,
       "z_receiver": 0.15, "gap_joint": 0.1, "tongue_length": 0.2, "tongue_width": 0.2, "floor_clearance": 0.1, "foot_z": 0.2,
       "half_width_top": 0.15, "half_width_foot": 0.15, "pocket": 0.12, "x_apex": 3.0, "h_nut": 0.02, "h_saddle": 0.06}
SPREADS = Spreads({k: Spread.sd(s) for k, s in SDS.items()}, common=frozenset({"h_nut", "h_saddle"}))
DESIGN = lg.load("slack_water")
D = DESIGN.dimensions()
FRETS = (1, 12, D.last_fret)
SIZE = 8192  # of the rivals: their own best


def jobs(n, size):
    return [Job(len(SDS), 1, 0, a, min(size, n - a)) for a in range(0, n, size)]


def by_hand(u):
    """What a rival draws: every varying number by name."""
    z = ndtri(u)
    found = {}
    for x, (name, sd) in zip(z, SDS.items(), strict=True):
        nominal = np.asarray(getattr(D, name), dtype=float)
        found[name] = nominal[..., None] + sd * x if name in PER_STRING else nominal + sd * x
    return found


FIXED = {k: np.asarray(getattr(D, k), dtype=float) for k in (*BOARD, *SINGLE)} | {
    k: np.asarray(getattr(D, k), dtype=float).reshape(D.strings, -1) for k in PER_STRING} | {
    k: np.asarray(0.0) for k in ("tilt", "bass", "treble")}


def numpy_by_hand(n, keep):
    for job in jobs(n, SIZE):
        found = whole_joint(FIXED | by_hand(uniform(job)), rod=False, joint_fret=D.joint_fret, last_fret=D.last_fret, frets=FRETS,
                            n=job.count, chunk=SIZE, into=keep if job.count == SIZE else None)
    return found


def looped(compiled, n, keep):
    f = np.asarray(FRETS, dtype=float)
    x_fret, dip = D.x_fret(f), D.dip(f)
    single = {k: float(FIXED[k]) for k in LOOP if k in FIXED} | {"radius": float(D.radius_nut), "x_nut": float(D.x_nut)}
    for job in jobs(n, SIZE):
        v = single | by_hand(uniform(job))
        table = np.empty((len(LOOP), job.count))
        for i, k in enumerate(LOOP):
            table[i] = v[k]
        into = keep if job.count == SIZE else outputs(D.strings, len(FRETS), job.count)
        compiled(table, D.y_nut, v["h_nut"], D.x_saddle, D.y_saddle, v["h_saddle"], x_fret, dip, *into)
    return into


def ours(backend, n, size=CHUNK):
    kept = None
    for job in jobs(n, size):
        dims, off = SPREADS.built(D, SPREADS.draw(D, uniform(job)))
        kept = many(dims, **off, frets=FRETS, backend=backend, into=kept if kept is not None and job.count == size else None)
    return kept


class Plain:
    """The plain run: drawn, read, ten numbers kept."""

    def __init__(self, backend):
        self.backend = backend

    def __call__(self, u):
        dims, off = SPREADS.built(D, SPREADS.draw(D, u))
        r = many(dims, **off, frets=FRETS, backend=self.backend)
        return np.stack([r.action[0, 1], r.action[-1, 1], r.centring, r.least_gap, r.reveal, r.floor, *r.margin,
                         r.action[:, 0].min(axis=0), r.action[0, 2]])


def said(words, seconds, base, goal):
    ratio = seconds / base
    print(f"  {words:<62} {seconds:8.3f} s   {ratio:8.2f}   goal {goal}", flush=True)


def python_loop(n):
    """The ordinary readings, one design at a time."""
    dims, _ = SPREADS.built(D, SPREADS.draw(D, uniform(Job(len(SDS), 1, 0, 0, n))))
    many_fields = {k: v for k, v in vars(dims).items() if isinstance(v, np.ndarray) and v.shape[-1:] == (n,)}
    t = time.process_time()
    for i in range(n):
        p = pose(dims.replaced(**{k: v[..., i] for k, v in many_fields.items()}))
        action(p, FRETS), gap_grid(p).min(), heel_fit(p), edge_margin(p, D.last_fret)
    return (time.process_time() - t) / n


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("n", nargs="?", type=int, default=10**6)
    parser.add_argument("--rounds", type=int, default=3)
    o = parser.parse_args()
    n = max(o.n // CHUNK, 1) * CHUNK
    keep = outputs(D.strings, len(FRETS), SIZE)
    np.empty(_KEEP)
    a, b = ours("numpy", SIZE, SIZE), numpy_by_hand(SIZE, keep)
    apart = max(float(np.abs(x - y).max()) for x, y in zip((a.action, a.least_gap, a.reveal, a.floor, a.margin), b, strict=True))
    ways = {"plain numpy": lambda: numpy_by_hand(n, keep), "ours, numpy": lambda: ours("numpy", n)}
    try:
        import numba

        compiled = numba.njit(error_model="numpy")(loop)
        c = looped(compiled, SIZE, keep)
        apart = max(apart, *(float(np.abs(x - y).max()) for x, y in zip(
            (a.action, a.least_gap, a.reveal, a.floor, a.margin), c, strict=True)))
        ours("compiled", SIZE)
        ways |= {"plain loop, compiled": lambda: looped(compiled, n, keep), "ours, compiled": lambda: ours("compiled", n)}
    except ImportError:
        numba = None
    print(f"{n} joints, {len(SDS)} toleranced inputs drawn and read; largest difference between ways {apart:.1e} mm")
    took = {k: t[1] for k, t in best(ways, o.rounds).items()}
    said("plain numpy by hand, chunks in the cache", took["plain numpy"], took["plain numpy"], "")
    said("ours, numpy, against plain numpy", took["ours, numpy"], took["plain numpy"], "1.2 at most")
    if numba:
        said("plain loop by hand, compiled, against plain numpy", took["plain loop, compiled"], took["plain numpy"], "")
        said("ours, compiled, against the compiled loop", took["ours, compiled"], took["plain loop, compiled"], "1.3 at most")
    scalar = min(python_loop(300) for _ in range(3))
    few = 400
    t = time.process_time()
    looped(loop, few, outputs(D.strings, len(FRETS), few))
    by_hand_python = (time.process_time() - t) / few
    for k in ("ours, numpy", *(("ours, compiled",) if numba else ())):
        print(f"  {k}: {scalar * n / took[k]:6.0f} times as fast as a Python loop over the scalar model (goal 500 at least), "
              f"{by_hand_python * n / took[k]:4.0f} times as a hand-written Python loop")
    plan = set_up(DESIGN)
    for backend in ("numpy", *(("compiled",) if numba else ())):
        after = _Instruments(SPREADS, D, plan, backend)
        plain = Plain(backend)
        runs = best({"plain": lambda m=plain: run(m, len(SDS), n, 1), "set up": lambda m=after: run(m, len(SDS), n, 1)}, o.rounds)
        said(f"read, set up and read again, {backend}, against the plain run", runs["set up"][1], runs["plain"][1], "4 at most")
    base, inputs = 2**14, len(SDS)
    for backend in ("numpy", *(("compiled",) if numba else ())):
        model = Plain(backend)
        drawn = [uniform(Job(inputs, 1, 0, a, CHUNK // 4)) for a in range(0, base, CHUNK // 4)]
        sobol = best({"bare": lambda m=model, d=drawn: [m(u) for u in d for _ in range(inputs + 2)],
                      "indices": lambda m=model: indices(m, inputs, base, 1)}, o.rounds)
        said(f"Sobol indices of {inputs} inputs, N = 2^14, {backend}, against bare model", sobol["indices"][1], sobol["bare"][1],
             "1.3 at most")


if __name__ == "__main__":
    main()
