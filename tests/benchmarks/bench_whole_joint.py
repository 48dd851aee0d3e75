"""Whole-joint readings of many designs, timed against hand-written numpy: python tests/benchmarks/bench_whole_joint.py

Every way reads the same 10^6 designs (or as many as the first argument says). Ways take turns and the best of several
rounds counts, so that other work on the machine disturbs all alike. Only ratios are worth comparing between machines.
"""

import argparse
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
from plain_numpy import whole_joint

import lutherie_geom as lg
from lutherie_geom.joint.body import gap_grid, heel_fit
from lutherie_geom.joint.many import _KEEP, BOARD, PER_STRING, SINGLE, many
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.strings import action

VARIED = ("alpha", "z_joint", "x_p", "z_p", "spacing", "x_head", "z_head", "x_receiver", "z_receiver", "gap_joint",
          "tongue_length", "tongue_width", "floor_clearance", "foot_z", "half_width_top", "half_width_foot", "pocket")


def designs(n, *, board, hollowed):
    """n designs about a demo: every place of pivot, screw, saddle, nut, dome, tongue and heel drawn; the board when asked."""
    rng = np.random.default_rng(11)
    d = lg.load("slack_water").dimensions()

    def about(value, spread):
        value = np.asarray(value, dtype=float)
        return value[..., None] + spread * rng.standard_normal((*value.shape, n))

    new = {k: about(getattr(d, k), 0.001 if k == "alpha" else 0.05) for k in VARIED}
    new |= {k: about(getattr(d, k), 0.03) for k in ("h_nut", "h_saddle")}
    new |= {"curvature": about(d.curvature, 1e-6), "x_apex": about(d.x_apex, 3)}
    if board:
        new |= {"relief": about(0.15, 0.02), "radius_nut": about(254.0, 2), "radius_last": about(400.0, 2)}
    return d.replaced(hollowed=float(hollowed), **new), {k: rng.uniform(-0.5, 0.5, n) for k in ("tilt", "bass", "treble")}


def for_plain(d, turns):
    """The same numbers in a dict; what belongs to a string has an axis for the samples."""
    v = {k: np.asarray(x, dtype=float) for k, x in (turns | {k: getattr(d, k) for k in (*PER_STRING, *BOARD, *SINGLE)}).items()}
    return v | {k: v[k].reshape(d.strings, -1) for k in PER_STRING}


def best(ways, rounds):
    """Least (wall, processor) seconds of each way; the ways take turns."""
    least = dict.fromkeys(ways, (np.inf, np.inf))
    for _ in range(rounds):
        for name, way in ways.items():
            wall, processor = time.perf_counter(), time.process_time()
            way()
            least[name] = (min(least[name][0], time.perf_counter() - wall), min(least[name][1], time.process_time() - processor))
    return least


def fresh(code):
    """What a fresh interpreter prints."""
    return float(subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True,
                                cwd=Path(__file__).parent).stdout)


def milliseconds(way, repeats=300):
    way()
    seen = []
    for _ in range(repeats):
        t = time.perf_counter()
        way()
        seen.append(time.perf_counter() - t)
    return 1e3 * float(np.median(seen))


def compare(title, n, rounds, chunk_plain, fresh_too, **kind):
    d, turns = designs(n, **kind)
    v = for_plain(d, turns)
    common = dict(rod=d.receiver == "rod along", joint_fret=d.joint_fret, last_fret=d.last_fret, frets=(1, 12, d.last_fret))
    few = min(n, 2000)
    cut = {k: x[..., :few] if x.ndim and x.shape[-1] == n else x for k, x in v.items()}
    rival = whole_joint(cut, **common, n=few, chunk=few)
    ours = many(d, **turns)
    apart = max(float(np.max(np.abs(a[..., :few] - b))) for a, b in zip(
        (ours.action, ours.least_gap, ours.reveal, ours.floor, ours.margin), rival, strict=True))
    kept = (ours.action, ours.least_gap, ours.reveal, ours.floor, ours.margin)  # all ways write into the same memory
    np.empty(_KEEP)  # the rival, too, may keep its freed blocks
    ways = {"plain numpy by hand": lambda: whole_joint(v, **common, n=n, chunk=chunk_plain, into=kept),
            "many, numpy": lambda: many(d, **turns, into=ours),
            "many, numpy, 2 threads": lambda: many(d, **turns, workers=2, into=ours)}
    try:
        t = time.perf_counter()
        many(d.replaced(**{k: x[..., :1] for k, x in vars(d).items() if np.ndim(x) and np.shape(x)[-1] == n}),
             **{k: x[:1] for k, x in turns.items()}, backend="compiled")
        first = time.perf_counter() - t
        ways |= {f"many, compiled, {w} thread{'s' * (w > 1)}":
                 lambda w=w: many(d, **turns, backend="compiled", workers=w, into=ours) for w in (1, 2)}
    except ImportError:
        first = np.nan
    if fresh_too:
        ways |= {"plain, fresh memory": lambda: whole_joint(v, **common, n=n, chunk=chunk_plain),
                 "many, numpy, fresh memory": lambda: many(d, **turns),
                 "many, compiled, fresh memory": lambda: many(d, **turns, backend="compiled")}
    seconds = best(ways, rounds)
    base, base_processor = seconds["plain numpy by hand"]
    print(f"\n{title}: {n} designs, best of {rounds}; largest difference from plain {apart:.1e} mm")
    print(f"  compiled, first call {first:.2f} s")
    for name, (wall, processor) in seconds.items():
        print(f"  {name:<28} wall {wall:6.3f} s, of plain {wall / base:5.2f} (1/{base / wall:.2f})   "
              f"processor {processor:6.3f} s, of plain {processor / base_processor:5.2f} (1/{base_processor / processor:.2f})")


def chunk_sizes(n):
    d, turns = designs(n, board=False, hollowed=True)
    v = for_plain(d, turns)
    common = dict(rod=d.receiver == "rod along", joint_fret=d.joint_fret, last_fret=d.last_fret, frets=(1, 12, d.last_fret), n=n)
    kept = many(d, **turns)
    out = kept.action, kept.least_gap, kept.reveal, kept.floor, kept.margin
    np.empty(_KEEP)
    print(f"\nchunk sizes, {n} designs, processor ns a design")
    for size in (512, 1024, 2048, 4096, 8192, 16384, 32768):
        s = best({
            "plain": lambda z=size: whole_joint(v, **common, chunk=z, into=out),
            "many": lambda z=size: many(d, **turns, chunk=z, into=kept),
            "compiled": lambda z=size: many(d, **turns, chunk=z, backend="compiled", into=kept)}, 4)
        print(f"  {size:6d}" + "".join(f"   {k} {1e9 * t[1] / n:5.0f}" for k, t in s.items()))


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("n", nargs="?", type=int, default=10**6)
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--chunk-plain", type=int, default=8192, help="samples in one go for the rival: its own best")
    parser.add_argument("--sizes", action="store_true", help="only try the chunk sizes")
    o = parser.parse_args()
    if o.sizes:
        return chunk_sizes(o.n)
    compare("board the same, tongue hollowed", o.n, o.rounds, o.chunk_plain, True, board=False, hollowed=True)
    compare("board drawn too, tongue planed", o.n, o.rounds, o.chunk_plain, False, board=True, hollowed=False)
    peak = fresh("import resource, bench_whole_joint as b\n"
                 f"d, t = b.designs({o.n}, board=True, hollowed=False)\n"
                 "b.many(d, **t)\nprint((resource.getrusage(resource.RUSAGE_SELF).ru_maxrss) / 1024)")
    print(f"\npeak memory of a process that draws and reads {o.n} designs: {peak:.0f} MiB")
    d = lg.load("slack_water").dimensions()
    frets = (1, 12, d.last_fret)

    def ordinary():
        p = pose(d, tilt=0.125)
        return action(p, frets), gap_grid(p).min(), heel_fit(p)

    print(f"one design: ordinary readings {milliseconds(ordinary):.3f} ms, "
          f"many {milliseconds(lambda: many(d, tilt=0.125)):.3f} ms")
    planed = d.replaced(hollowed=0.0)
    print(f"one design, tongue planed: many {milliseconds(lambda: many(planed, tilt=0.125)):.3f} ms")
    clock = "import time; t = time.perf_counter(); import {}; print(time.perf_counter() - t)"
    took = {m: sorted(fresh(clock.format(m)) for _ in range(7))[3] for m in ("lutherie_geom", "numpy")}
    print(f"import lutherie_geom / import numpy: {took['lutherie_geom'] / took['numpy']:.3f}")
    return None


if __name__ == "__main__":
    main()
