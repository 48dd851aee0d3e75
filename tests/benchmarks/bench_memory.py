"""Peak memory of 10^6 and of 10^8 samples: python tests/benchmarks/bench_memory.py

Each run has a process of its own; its peak (the system's own count of the process, ru_maxrss) is printed beside what a fresh
process weighs that has only loaded the same modules. The model is cheap, two readings of three inputs: drawing, summing and
merging are what is weighed. Beside it stands what 10^8 whole joints would take, from 2 * 10^5 of them that were read.
"""

import argparse
import subprocess
import sys
import time
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path

import numpy as np

SEED = 1


def cheap(u):
    """Two readings, (2, n) [1], of three even numbers."""
    return np.stack([3 * u[0] + 4 * u[1] ** 2 + 10, np.exp(u[2])])


def weigh(samples, workers):
    """Prints the peak [MiB] of this process and of its largest worker, seconds, and the mean of the first reading."""
    import resource

    from lutherie_geom.studies.sampling import run

    start, mean = time.perf_counter(), np.nan
    if samples:
        pool = ProcessPoolExecutor(workers, mp_context=get_context("spawn")) if workers else None
        with pool or open(__file__):  # a file, where no pool must be closed
            mean = run(cheap, 3, samples, SEED, executor=pool).tally.mean[0]
    took = time.perf_counter() - start
    peaks = [resource.getrusage(who).ru_maxrss / 1024 for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    print(*peaks, took, mean)


def whole_joint(samples):
    """Seconds to read so many whole joints of the studies' tests (and how many of their dimensions vary)."""
    sys.path.insert(0, str(Path(__file__).parents[1] / "studies"))
    from real_joint import real_joint

    from lutherie_geom.studies.sampling import run

    model, inputs = real_joint()
    run(model, inputs, 20_000, SEED)
    start = time.perf_counter()
    run(model, inputs, samples, SEED)
    return inputs, time.perf_counter() - start


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("samples", nargs="*", type=int, default=[10**6, 10**8])
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--weigh", nargs=2, type=int, help=argparse.SUPPRESS)
    o = parser.parse_args()
    if o.weigh:
        weigh(*o.weigh)
        return
    for workers in (0, o.workers):
        print(f"\n{workers or 'no'} worker processes")
        for samples in (0, *o.samples):
            command = [sys.executable, __file__, "--weigh", str(samples), str(workers)]
            said = subprocess.run(command, capture_output=True, text=True, check=True).stdout
            own, child, took, mean = map(float, said.split())
            print(f"  {samples:>11,} samples   peak {own:6.1f} MiB" + (f", largest worker {child:6.1f} MiB" if workers else "")
                  + f"   {took:7.2f} s   " + (f"mean {mean:.9f}, exact {1.5 + 4 / 3 + 10:.9f}" if samples else "modules only"))
    few = 200_000
    inputs, took = whole_joint(few)
    print(f"\n{few:,} whole joints, {inputs} toleranced inputs, one process: {took:.2f} s; 10^8 of them would take "
          f"{took * 10**8 / few / 60:.0f} min, in the same memory")


if __name__ == "__main__":
    main()
