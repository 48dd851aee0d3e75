"""Owners who do as they are told: how many instruments end inside their window, after how many rounds.

Each simulated instrument has errors that nobody sees: those of the design's own tolerances, a relief that nobody has set, and
screws whose threads stand anywhere in their play. Its owner reads with a gauge that errs, asks for advice, turns with hands that
err, and reads again, at most so many rounds. What counts at the end is where the instrument truly stands, not what was read.

Left out: an owner who misreads a line, turns the wrong screw or the wrong way; a joint that creeps while it is set up; strings
that were not tuned to pitch before each reading.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from lutherie_geom.joint.dimensions import PER_STRING, Array, Dimensions
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.relief import with_relief
from lutherie_geom.shop.setup.fitting import as_measured, batched
from lutherie_geom.shop.setup.hands import LAST, Hands, follow
from lutherie_geom.shop.setup.measured import Measured
from lutherie_geom.shop.setup.moves import READABLE, STEP, before_tilt, moves, options, rod_asked, sure_off
from lutherie_geom.shop.setup.shown import shown
from lutherie_geom.shop.setup.wanted import Wanted, wanted
from lutherie_geom.studies.counting import interval
from lutherie_geom.studies.spreads import Spreads

__all__ = ["Bend", "Eyes", "RoundTrip", "round_trip"]

Bend = Callable[[Dimensions, Array], Dimensions]
TILT_ONLY = np.array([[1.0], [0.0], [0.0]])
RELIEF = (0.0, 0.45)
"""Relief before the truss rod is touched [mm], anywhere between alike: invented."""


@dataclass(frozen=True)
class Eyes:
    """Standard deviations of a reading [mm]: feeler gauge (action, relief, nut, gap) and ruler (margins)."""

    feeler: float = 0.03
    ruler: float = 0.10


@dataclass(frozen=True)
class RoundTrip:
    """How owners fared. inside: truly in the window at the end, (n,); rounds: of turning that each took, (n,); action [mm] off
    target at the outer strings, (2, n); centring [mm], (n,); filed: a file was taken to the saddle, (n,);
    steered: rounds in which a pivot screw was turned, (n,); most: rounds that were allowed."""

    inside: Array
    rounds: Array
    action: Array
    centring: Array
    filed: Array
    steered: Array
    most: int

    @property
    def share(self) -> float:
        """Share inside [1]."""
        return float(np.mean(self.inside))

    @property
    def interval(self) -> tuple[float, float]:
        """Wilson interval of the share, 95 in 100."""
        return interval(int(self.inside.sum()), len(self.inside), method="wilson")

    def __str__(self) -> str:
        low, high = self.interval
        by = ", ".join(f"{int((self.rounds == k).sum())} after {k}" for k in range(self.most + 1))
        return (f"{int(self.inside.sum())} of {len(self.inside)} instruments inside their window: {100 * self.share:.1f} in 100, "
                f"{100 * low:.1f} to {100 * high:.1f} (Wilson, 95 in 100)\n"
                f"rounds of turning: {by}; saddle filed on {int(self.filed.sum())}, pivot screws turned on "
                f"{int((self.steered > 0).sum())}, more than once on {int((self.steered > 1).sum())}")

    __repr__ = __str__


def _some(d: Dimensions, who: Array) -> Dimensions:
    """Some instruments of a batch."""
    return d.replaced(**{k: v[..., who] for k, v in vars(d).items() if isinstance(v, np.ndarray)
                         and v.ndim == 1 + (k in PER_STRING)})


class _Owners:
    """n instruments as they truly are, and what their owners believe."""

    def __init__(self, design: Any, n: int, rng: np.random.Generator, hands: Hands, eyes: Eyes, spreads: Spreads,
                 bend: Bend) -> None:
        d = design.dimensions()
        u = rng.random((len(spreads.variables(d)), n))
        true, wrong = spreads.built(d, spreads.draw(d, u))
        h_saddle = np.asarray(true.h_saddle, dtype=float)
        h_saddle = np.array(np.broadcast_to(h_saddle.reshape(len(h_saddle), -1), (d.strings, n)))
        self.true = bend(true.replaced(h_saddle=h_saddle), rng.uniform(*RELIEF, n))
        self.rng, self.hands, self.eyes, self.handed, self.n = rng, hands, eyes, design.handed, n
        pitch = np.array([d.pitch_tilt, d.pitch_pivot, d.pitch_pivot])
        self.band = hands.dead_band(pitch)[:, None]
        self.over = np.array([float(hands.over(p)) for p in pitch])[:, None]
        self.wrong = np.stack([np.broadcast_to(np.asarray(wrong[k], dtype=float), (n,)) for k in ("tilt", "bass", "treble")])
        self.believed = np.zeros((3, n))
        self.key = np.zeros((3, n))
        self.screw = rng.uniform(-0.5, 0.5, (3, n)) * self.band

    def posed(self) -> Any:
        t = self.screw + self.wrong
        return pose(self.true, tilt=t[0], bass=t[1], treble=t[2])

    def read(self, fret: int) -> Measured:
        heights = (f"action.{fret}.bass", f"action.{fret}.treble", "nut.bass", "nut.treble", "gap.end")
        sds = dict.fromkeys((*heights, "relief.middle"), self.eyes.feeler) | dict.fromkeys(("margin.left", "margin.right"),
                                                                                          self.eyes.ruler)
        true = shown(self.posed(), sds, self.handed)
        values = {k: true[k] + self.rng.normal(0, sd, self.n) for k, sd in sds.items()}
        # No leaf goes in where the string lies on the fret or the tongue on the top: that reads nothing, 0.
        return Measured(values | {k: np.maximum(values[k], 0.0) for k in heights}, sds, self.handed)

    def turn(self, by: Array) -> None:
        """Past the mark and back to it, so that the last turn has the right sense. Marks are clock positions counted from where
        the key stood: each is missed by what a hand errs, and an over-turn adds nothing to that."""
        asked = np.abs(by) > 1e-9
        stood = self.key
        for mark in (by - LAST[:, None] * self.over, by):
            to = stood + mark + self.rng.normal(0, 1, by.shape) * self.hands.turn
            key, screw = follow(self.key, self.screw, to, self.band)
            self.key, self.screw = np.where(asked, key, self.key), np.where(asked, screw, self.screw)
        self.believed = self.believed + by

    def file(self, by: Array) -> None:
        at = np.abs(by) > 1e-9
        done = by + np.where(at, 1.0, 0.0) * self.rng.normal(0, self.hands.filing, by.shape)
        self.true.h_saddle[...] += np.where(at, done, 0.0)


def _filed_after(owners: _Owners, want: Wanted, go: Array, later: Array, rate: Array, step: float) -> Array:
    """Owners read again after turning; who is not sure of the window files the saddle, and turns until the mean is right."""
    keys = [f"action.{want.fret}.{s}" for s in ("bass", "treble")]
    read = owners.read(want.fret)
    off = np.stack([np.abs(read.get(k) - goal) for k, goal in zip(keys, want.ends, strict=True)]).max(axis=0)
    file = go & (later != 0).any(axis=0) & (off > sure_off(want, owners.eyes.feeler))
    owners.file(np.where(file, later, 0.0))
    read = owners.read(want.fret)
    short = np.mean(want.ends) - (read.get(keys[0]) + read.get(keys[1])) / 2
    owners.turn(np.where(file, np.rint(short / rate / step) * step, 0.0) * TILT_ONLY)
    return file


def round_trip(design: Any, n: int = 1000, *, target: Any = None, rounds: int = 3, seed: int = 1, step: float = STEP,
               hands: Hands | None = None, eyes: Eyes | None = None, spreads: Spreads | None = None,
               bend: Bend = with_relief) -> RoundTrip:
    """n owners [instruments] of one design, all wanting the same ``target``, with at most so many ``rounds`` of turning.

    ``spreads``: hidden errors, the design's tolerances unless said; ``bend``: how the true necks, (dimensions, relief [mm]) to
    dimensions, take another relief, when they are found and when the truss rod is turned; ``step``: what a hand sets
    [turn]. The window is the target's own, action of the outer strings and centring, with no stop of the joint passed. Where
    pivot screw or truss rod was turned, or the saddle filed, the owner reads the action once more before the tilt screw is
    turned, and corrects its turn by what is read; a saddle that turning may spare is filed after it, if what is read asks for
    it: the advice says so.
    """
    want, hands, eyes = wanted(design, target), hands or Hands(), eyes or Eyes()
    o = options(design, want, step=step, hands=hands)
    owners = _Owners(design, n, np.random.default_rng(seed), hands, eyes,
                     Spreads.of_design(design) if spreads is None else spreads, bend)
    error = np.array([eyes.feeler, eyes.feeler, eyes.ruler / np.sqrt(2)])
    took, filed, steered = np.zeros(n, dtype=int), np.zeros(n, dtype=bool), np.zeros(n, dtype=int)
    busy = np.ones(n, dtype=bool)
    for _ in range(rounds):
        m = owners.read(want.fret)
        rod = busy & rod_asked(want, m.get("relief.middle"), eyes.feeler)
        as_is = batched(as_measured(design.dimensions(), m, tilt=owners.believed[0], bass=owners.believed[1],
                                    treble=owners.believed[2]), n)
        as_is = with_relief(as_is, np.where(rod, want.relief, as_is.relief))
        found = moves(o, as_is, owners.believed, error)
        go = busy & found.within & ~found.nothing
        set_by_gauge = want.relief + owners.rng.normal(0, eyes.feeler, n)
        owners.true = bend(owners.true, np.where(rod, np.maximum(set_by_gauge, 0.0), owners.true.relief))
        turns = np.where(go, np.nan_to_num(found.turns), 0.0)
        expect, rate, lowest = before_tilt(o, as_is, owners.believed, found)
        late = lowest < READABLE
        owners.turn(turns * (1 - TILT_ONLY))
        owners.file(np.where(go, found.saddle, 0.0))
        touched = go & ((np.abs(turns[1:]) > 1e-9).any(axis=0) | (found.saddle != 0).any(axis=0) | rod)
        owners.turn(np.where(late, turns[0], 0.0) * TILT_ONLY)
        expect = expect + np.where(late, rate * turns[0], 0.0)
        again = owners.read(want.fret)
        mean = (again.get(f"action.{want.fret}.bass") + again.get(f"action.{want.fret}.treble")) / 2
        more = np.where(touched, np.rint((expect - mean) / rate / step) * step, 0.0)
        owners.turn((np.where(late, 0.0, turns[0]) + more) * TILT_ONLY)
        now_filed = _filed_after(owners, want, go, found.later, rate, step)
        took += go | rod
        filed |= go & (found.saddle != 0).any(axis=0) | now_filed
        steered += go & (np.abs(found.turns[1:]) > 1e-9).any(axis=0)
        busy = go | rod
    p = owners.posed()
    a = shown(p, [f"action.{want.fret}.bass", f"action.{want.fret}.treble", "margin.left", "margin.right"], design.handed)
    off = np.stack([a[f"action.{want.fret}.bass"] - want.ends[0], a[f"action.{want.fret}.treble"] - want.ends[1]])
    aside = (a["margin.left"] - a["margin.right"]) / 2 * (1 if design.handed == "right" else -1)
    t = owners.screw + owners.wrong
    stops = o.plans[0].rooms(o.plans[0].read(owners.true, t), False).min(axis=0)
    inside = (np.abs(off) <= want.within).all(axis=0) & (np.abs(aside) <= want.centring) & (stops >= 0)
    return RoundTrip(inside, took, off, aside, filed, steered, rounds)
