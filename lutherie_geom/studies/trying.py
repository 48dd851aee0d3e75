"""Trying setting by setting, where the free best would break a limit: each is read exactly, the most promising first."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from lutherie_geom.joint.dimensions import PER_STRING, Array, Dimensions
from lutherie_geom.joint.many import ManyReadings
from lutherie_geom.studies import lattice
from lutherie_geom.studies.lattice import BASS, TILT, TREBLE, Surroundings

if TYPE_CHECKING:
    from lutherie_geom.studies.setup import SetUp

__all__ = ["chosen", "mended"]

FEW = 64  # instruments tried in one go
BATCH = 12  # settings of each that are read first; four times as many each time
STEERS, STEERS_FAR = 4, 2  # steps of steering either way that are tried, and where nothing near will do
LOST = 1.0  # turns of tilt either way that are then tried


def chosen(d: Dimensions, who: Array, n: int) -> Dimensions:
    """Some instruments of a batch."""
    new = {k: v[..., who] for k, v in vars(d).items()
           if isinstance(v, np.ndarray) and v.ndim == 1 + (k in PER_STRING) and v.shape[-1] == n and n > 1}
    return d.replaced(**new)


def mended(plan: SetUp, dims: Dimensions, start: Array, z: Array, backend: str) -> Array:
    """Steps (3, n) of the best setting that passes; where there is none, of the best within the stops, else nan.

    The settings tried lie about ``z`` [steps] from where the screws stand, ``start`` [turn].
    """
    out, n = np.full(z.shape, np.nan), z.shape[1]
    near, far = math.ceil(1 / abs(plan.slopes[0, TILT])), math.ceil(LOST / plan.step)
    for a in range(0, n, FEW):
        part = np.arange(a, min(a + FEW, n))
        trial = Trial(plan, chosen(dims, part, n), start[:, part], z[:, part], backend)
        for limits, within, steers, wide in ((True, 1.0, STEERS, near), (False, 1.0, STEERS, near),
                                             (False, np.inf, STEERS_FAR, far)):
            who = np.flatnonzero(np.isnan(out[0, part]))
            if len(who):
                out[:, part[who]] = trial.where(who).best(limits, within, steers, wide)
    return out


@dataclass
class Trial:
    """A few instruments tried setting by setting, about one that is known, the most promising first."""

    plan: SetUp
    dims: Dimensions
    start: Array
    z: Array
    backend: str

    def where(self, who: Array) -> Trial:
        """Some of them."""
        return Trial(self.plan, chosen(self.dims, who, self.z.shape[1]), self.start[:, who], self.z[:, who], self.backend)

    def read(self, who: Array, z: Array) -> ManyReadings:
        """Instruments ``who``, each at its setting ``z`` [steps]."""
        return self.plan.read(chosen(self.dims, who, self.z.shape[1]), self.start[:, who] + self.plan.step * z, self.backend)

    def best(self, limits: bool, within: float, steers: int, wide: int) -> Array:
        """Steps (3, n) of the best setting that keeps the limits (or only the stops), the objective ``within``; nan for none."""
        n, everyone = self.z.shape[1], np.arange(self.z.shape[1])
        at = self.z[:, None] + np.eye(3, 4, 1)[:, :, None]  # where they stand, and one step on of each screw
        r = self.read(np.tile(everyone, 4), at.reshape(3, -1))
        seen = lattice.halves_of(self.plan.off_target(r)).reshape(3, 4, n).swapaxes(0, 1)
        s = Surroundings.read(seen[0], seen[1:], self.plan.bend)
        by, value = lattice.around(s, self.z[[BASS, TREBLE]], np.array(self.plan.ks), steers, wide)
        z = self.z[:, None] + by
        low, high = self.plan.ends(self.start)
        value = np.where(np.all((z >= low[:, None]) & (z <= high[:, None]), axis=0), value, np.inf)
        value = np.where(value <= within * (1 + lattice.NEAR), value, np.inf)
        order = np.argsort(np.where(np.isnan(value), np.inf, value), axis=0, kind="stable")
        found, least, who, done, batch = np.full((3, n), np.nan), np.full(n, np.inf), everyone, 0, BATCH
        while len(who) and done < len(order):
            rows = order[done:done + batch, who]
            at = z[:, rows, who]
            r = self.read(np.tile(who, len(rows)), at.reshape(3, -1))
            able = (self.plan.rooms(r, limits).min(axis=0) >= 0).reshape(rows.shape) & np.isfinite(value[rows, who])
            true = self.plan.objective(r).reshape(rows.shape)
            true = np.where(able & (true <= within), true, np.inf)
            i, on = true.argmin(axis=0), np.arange(len(who))
            better = true[i, on] < least[who]
            to = who[better]
            least[to], found[:, to] = true[i, on][better], at[:, i, on][:, better]
            done += len(rows)
            # What comes next is guessed, and may be a little better than it looks.
            then = value[order[min(done, len(order) - 1), who], who]
            go = np.isfinite(then) & (then < least[who] * (1 + lattice.NEAR))
            who, batch = who[go], batch * 4
        return found
