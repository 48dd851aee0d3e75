"""Learn the instrument: readings at known turns calibrate the model.

Weighted least squares over all readings, exact slopes, with the errors of gauges, of the turns, and of the relief and nut read
along. Nothing is averaged in silence: readings that contradict each other or the rest are named, and while they stand nothing
that was learned is used. Only what the readings can tell is fitted; for the rest it is said what it cannot be told apart from,
and which further reading would tell.

The direction of the last turn of the tilt screw is kept with each reading: after raising, the screw lags behind the key by half
of the dead band, after lowering it leads by as much. Readings of one sense only say nothing of the dead band, and need not.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from lutherie_geom.joint.dimensions import Array, Dimensions
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.relief import by_relief, with_relief
from lutherie_geom.shop.learning.unknowns import UNKNOWNS, applied
from lutherie_geom.shop.setup.hands import Hands
from lutherie_geom.shop.setup.measured import Measured
from lutherie_geom.shop.setup.shown import exact_of, shown
from lutherie_geom.shop.words import length

__all__ = ["SENSES", "Entry", "LearnError", "Learned", "learn"]

SENSES = {"raising": 1.0, "lowering": -1.0, "unknown": 0.0}
ODD = 3.3
"""Standard deviations past which a reading is named: 1 in 1000 of good ones."""
_GIVEN = ("relief.middle", "nut.bass", "nut.treble")  # readings that are dimensions themselves, taken as they are


class LearnError(ValueError):
    """Readings from which nothing can be learned; the message says what is missing."""


@dataclass(frozen=True)
class Entry:
    """Readings with the turns at which they were taken [turn], and the sense of the tilt screw's last turn: ``raising`` the
    action, ``lowering`` it, or ``unknown``."""

    measured: Measured
    tilt: float = 0.0
    bass: float = 0.0
    treble: float = 0.0
    last: str = "lowering"
    name: str = ""

    def __post_init__(self) -> None:
        if self.last not in SENSES:
            raise LearnError(f"last: {self.last!r}; the sense of the tilt screw's last turn must be one of {', '.join(SENSES)}")
        for k in ("tilt", "bass", "treble"):
            v = getattr(self, k)
            if isinstance(v, bool) or not (np.isfinite(v) and abs(v) <= 12):
                raise LearnError(f"{k}: {v!r} turn; allowed is -12 to 12 turns")


@dataclass(frozen=True)
class Learned:
    """What was learned of one instrument.

    values, sds: by unknown, as :data:`UNKNOWNS` [mm, rad]; covariance in their order; chi2 with ``dof`` degrees of freedom and
    ``chance`` of one as large; normalised: residual over its standard deviation by (entry, key), nan where nothing checks the
    reading; suspects: outliers and contradictions in words; apart: what cannot be told apart; further: readings that would tell.
    """

    values: Mapping[str, float]
    sds: Mapping[str, float]
    covariance: Array
    chi2: float
    dof: int
    chance: float
    normalised: Mapping[tuple[str, str], float]
    suspects: tuple[str, ...]
    apart: tuple[str, ...]
    further: tuple[str, ...]
    pitch: float
    units: Any = "mm"

    @property
    def trusted(self) -> bool:
        """No reading contradicts another."""
        return not self.suspects

    @property
    def dead_band(self) -> float | None:
        """Dead band of the tilt screw [turn], None when no reading tells of it."""
        return max(self.values["play"], 0.0) / self.pitch if "play" in self.values else None

    def applied(self, d: Dimensions) -> Dimensions:
        """Dimensions with what was learned."""
        return applied(d, self.values)

    def hands(self, h: Hands) -> Hands:
        """The same hands on this instrument: its own dead band, one standard deviation to the safe side."""
        if "play" not in self.values:
            return h
        return replace(h, play=min(max(self.values["play"] + self.sds["play"], 0.0), 1.0), friction=0.0)

    def __str__(self) -> str:
        lines = []
        for k, v in self.values.items():
            u = UNKNOWNS[k]
            said = (f"{np.degrees(v):+.3f} deg, standard uncertainty {np.degrees(self.sds[k]):.3f} deg" if u.unit == "rad" else
                    f"{'+' if v >= 0 else ''}{length(v, self.units)}, standard uncertainty {length(self.sds[k], self.units)}")
            lines.append(f"{u.words:<54}{said}")
        if self.dof:
            lines.append(f"chi-square {self.chi2:.1f} for {self.dof}: so large or larger in {100 * self.chance:.0f} of 100")
        else:
            lines.append("as many unknowns as readings: nothing checks them")
        lines += [f"CONTRADICTION: {s}" for s in self.suspects]
        lines += [f"not told apart: {s}" for s in self.apart]
        lines += [f"would tell: {s}" for s in self.further]
        return "\n".join(lines)

    __repr__ = __str__


@dataclass(frozen=True)
class Rows:
    """All readings as one list: which entry and key each is, value [mm]; covariance of their errors [mm²]."""

    entries: tuple[Entry, ...]
    at: tuple[tuple[int, str], ...]
    value: Array

    @classmethod
    def of(cls, entries: Sequence[Entry], leave_out: Sequence[tuple[str, str]] = ()) -> Rows:
        found = [(i, k) for i, e in enumerate(entries) for k in e.measured
                 if k not in _GIVEN and (_name(entries, i), k) not in leave_out]
        return cls(tuple(entries), tuple(found), np.array([float(entries[i].measured.values[k]) for i, k in found]))

    def model(self, d: Dimensions, values: Mapping[str, float], h: Hands, slopes: bool = True) -> tuple[Array, Array, Array]:
        """What the model shows [mm], (rows,); its slopes by every unknown, (rows, unknowns); covariance of the errors [mm²]."""
        entries = self.entries
        now = _as_read(applied(d, values), entries)
        sense = np.array([SENSES[e.last] for e in entries])
        lag = -sense / (2 * d.pitch_tilt)
        t = {k: np.array([getattr(e, k) for e in entries], dtype=float) for k in ("tilt", "bass", "treble")}
        t["tilt"] = t["tilt"] + lag * values.get("play", 0.0)
        p = pose(now, **t)
        keys = list(dict.fromkeys(k for _, k in self.at))
        handed = entries[0].measured.handed
        show = shown(p, keys, handed)
        n = len(entries)
        model = np.array([np.broadcast_to(show[k], (n,))[i] for i, k in self.at])
        if not slopes:
            return model, np.zeros(0), np.zeros(0)
        names = tuple(UNKNOWNS)
        jac, error = np.zeros((len(self.at), len(names))), np.zeros((len(self.at), len(self.at)))
        by_key = {k: exact_of(k, handed).slopes(p) for k in keys}
        bends = by_relief(d)
        wobble = []  # what each row moves with the errors of its own entry's relief, nut and turns
        for r, (i, k) in enumerate(self.at):
            s, e = by_key[k], entries[i].measured
            for c, u in enumerate(names):
                jac[r, c] = _at(s["tilt"], i, n) * lag[i] if u == "play" and "tilt" in s else sum(
                    _dot(s.get(f, 0.0), w, i, n) for f, w in UNKNOWNS[u].weights(d.strings).items())
            part = np.linspace(0, 1, d.strings)
            turn = [_at(s.get(x, 0.0), i, n) * h.turn * (x == "tilt" or getattr(entries[i], x) != 0) for x in t]
            unknown = _at(s.get("tilt", 0.0), i, n) * (sense[i] == 0) * UNKNOWNS["play"].size / (2 * d.pitch_tilt)
            given = [e.errors["relief.middle"] * sum(_dot(s.get(f, 0.0), np.asarray(w), i, n) for f, w in bends.items())
                     if "relief.middle" in e else 0.0]
            given += [e.errors[g] * _dot(s.get("h_nut", 0.0), w, i, n) if g in e else 0.0
                      for g, w in (("nut.bass", 1 - part), ("nut.treble", part))]
            wobble.append([*turn, unknown, *given])
            error[r, r] = e.errors[k] ** 2
        w = np.array(wobble)
        same = np.array([[a == b for b, _ in self.at] for a, _ in self.at])
        return model, jac, error + (w @ w.T) * same


def _name(entries: Sequence[Entry], i: int) -> str:
    return entries[i].name or f"reading {i + 1}"


def _at(slope: Array, i: int, n: int) -> float:
    return float(np.broadcast_to(np.asarray(slope, dtype=float), (n,))[i])


def _dot(slope: Array, w: Array, i: int, n: int) -> float:
    """A slope along what an unknown moves, at one entry."""
    if np.ndim(w) == 0:
        return _at(slope, i, n) * float(w)
    s = np.asarray(slope, dtype=float)
    if s.ndim == 0:
        return float(s * w.sum()) if s else 0.0
    return float((s[:, i] if s.ndim == 2 else s) @ w)


def _as_read(d: Dimensions, entries: Sequence[Entry]) -> Dimensions:
    """Relief and nut as they were read at each entry, (entries,)."""
    def each(key: str, own: float) -> Array:
        return np.array([float(e.measured.values.get(key, own)) for e in entries])

    d = with_relief(d, each("relief.middle", float(np.asarray(d.relief))))
    part = np.linspace(0, 1, d.strings)[:, None]
    off = [np.nan_to_num(each(k, np.nan) - d.h_nut[i]) for k, i in (("nut.bass", 0), ("nut.treble", -1))]
    return d.replaced(h_nut=d.h_nut + off[0] * (1 - part) + off[1] * part)


def learn(design: Any, entries: Sequence[Entry], *, unknowns: Sequence[str] | None = None, hands: Hands | None = None,
          leave_out: Sequence[tuple[str, str]] = ()) -> Learned:
    """What two or more readings with known turns say of an instrument.

    ``unknowns``: names out of :data:`UNKNOWNS`; all of them unless said, and of these as many as the readings can tell.
    ``hands``: how well turns were set. ``leave_out``: readings (entry's name, key) that the builder, and not this function, has
    decided to leave out.
    Raises :class:`LearnError`.
    """
    from scipy.optimize import least_squares
    from scipy.stats import chi2 as chi2_of

    from lutherie_geom.shop.learning.doubts import apart_and_further, chosen, suspects

    asked = tuple(UNKNOWNS) if unknowns is None else tuple(unknowns)
    if wrong := [u for u in asked if u not in UNKNOWNS]:
        raise LearnError(f"unknowns: {wrong[0]!r} is not among them; known: {', '.join(UNKNOWNS)}")
    if len(entries) < 2:
        raise LearnError(f"entries: {len(entries)}; at least 2 readings with known turns are needed")
    h, d = hands or Hands(), design.dimensions()
    rows = Rows.of(entries, leave_out)
    if not rows.at:
        raise LearnError("entries: no reading of action, margin, gap or saddle is left")
    _, jac, error = rows.model(d, {}, h)
    use, left = chosen(jac, error, asked)
    if not use:
        raise LearnError("entries: their errors are larger than anything that could be learned; read with a finer gauge")
    white = np.linalg.inv(np.linalg.cholesky(error))
    columns = [list(UNKNOWNS).index(u) for u in use]
    sizes = np.array([UNKNOWNS[u].size for u in use])

    def values(x: Array) -> dict[str, float]:
        return dict(zip(use, (x * sizes).tolist(), strict=True))

    def misfit(x: Array) -> Array:
        return white @ (rows.model(d, values(x), h, slopes=False)[0] - rows.value)

    def slopes(x: Array) -> Array:
        return white @ rows.model(d, values(x), h)[1][:, columns] * sizes

    found = least_squares(misfit, np.zeros(len(use)), slopes, xtol=1e-12, ftol=1e-12)
    best = values(found.x)
    model, jac, error = rows.model(d, best, h)
    j = jac[:, columns]
    cov = np.linalg.inv((white @ j).T @ (white @ j))
    dof = len(rows.at) - len(use)
    chi2 = float(2 * found.cost)
    # Spread of the residuals themselves: what the fit has taken up is not in them.
    spread = np.diag(error - j @ cov @ j.T)
    free = spread > 1e-6 * np.diag(error)
    norm = np.where(free, (rows.value - model) / np.sqrt(np.where(free, spread, 1.0)), np.nan)
    chance = float(chi2_of.sf(chi2, dof)) if dof else 1.0
    odd = suspects(rows, norm, model, error, chance, lambda i: _name(entries, i), design.units, d, best, h)
    apart, further = apart_and_further(rows, d, best, h, use, left)
    return Learned(best, dict(zip(use, np.sqrt(np.diag(cov)).tolist(), strict=True)), cov, chi2, dof, chance,
                   {(_name(entries, i), k): float(v) for (i, k), v in zip(rows.at, norm, strict=True)}, odd, apart, further,
                   float(d.pitch_tilt), design.units)
