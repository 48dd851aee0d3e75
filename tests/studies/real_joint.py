"""The real joint as a model of even numbers, for the studies' tests: whole-joint readings under spreads of every kind."""

from __future__ import annotations

import os
import signal
import time
from dataclasses import dataclass

import numpy as np

import lutherie_geom as lg
from lutherie_geom.joint.dimensions import Dimensions
from lutherie_geom.joint.many import many
from lutherie_geom.studies.sampling import Job, Through, uniform
from lutherie_geom.studies.spreads import Spreads, parse_spread

TEXTS = {
    "z_p": "± 0.2 mm", "x_p": "± 0.2 mm rectangular", "h_saddle": "± 0.1 mm", "h_nut": "± 0.05 mm triangular",
    "z_joint": "+0.3 mm -0.1 mm", "alpha": "± 0.05 deg", "pitch_tilt": "± 0.01 mm/turn", "z_head": "± 0.3 mm",
    "x_head": "± 0.3 mm", "z_receiver": "± 0.3 mm", "relief": "± 0.05 mm triangular", "gap_joint": "± 0.2 mm",
    "foot_z": "± 0.5 mm", "floor_clearance": "± 0.2 mm", "pocket": "± 0.2 mm rectangular",
}
NAMES = ("action at fret 12, bass", "action at fret 12, treble", "least gap", "least floor clearance", "least reveal")


@dataclass(frozen=True)
class Drawn:
    """Dimensions from even numbers."""

    d: Dimensions
    spreads: Spreads

    def __call__(self, u):
        return self.spreads.moved(self.d, self.spreads.draw(self.d, u))


@dataclass(frozen=True)
class Read:
    """Five readings [mm], (5, n); the tilt screw stands ``tilt`` turns from rest."""

    tilt: float = 0.3

    def __call__(self, d):
        r = many(d, tilt=self.tilt, frets=(12,))
        return np.stack([r.action[0, 0], r.action[-1, 0], r.least_gap, r.floor, r.reveal])


def real_joint(*names):
    """The model and how many even numbers it takes: all spreads, or those of the named dimensions."""
    d = lg.load("slack_water").dimensions()
    spreads = Spreads({n: parse_spread(t, n) for n, t in TEXTS.items() if not names or n in names},
                      common=frozenset({"h_saddle", "h_nut"} if not names else {"h_saddle", "h_nut"} & set(names)))
    return Through(Drawn(d, spreads), Read()), len(spreads.variables(d))


@dataclass(frozen=True)
class Slow:
    """The same numbers, later: time for a worker to be killed in."""

    model: object
    seconds: float

    def __call__(self, u):
        time.sleep(self.seconds)
        return self.model(u)


@dataclass(frozen=True)
class Fatal:
    """Kills its own process, as a kernel short of memory would, at a certain job; ``times`` times, counted in files."""

    model: object
    mark: str
    at: Job
    times: int = 1

    def __call__(self, u):
        marked = uniform(self.at)[:len(u), :u.shape[1]]
        if np.array_equal(u, marked):
            for k in range(self.times):
                if not os.path.exists(f"{self.mark}{k}"):
                    open(f"{self.mark}{k}", "x").close()
                    os.kill(os.getpid(), signal.SIGKILL)
        return self.model(u)
