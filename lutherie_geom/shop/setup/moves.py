"""What to turn, for one instrument or thousands: the arithmetic behind the advice, without its words.

The fewest screws that do. Nothing is touched that is likely enough inside its window already; then the tilt screw alone is
tried; then the pivot screws too, by as little as will do. Each option is the best setting on the lattice of steps that a hand
can set (:func:`lutherie_geom.studies.setup.best_turns`: full model, all stops kept), and is judged by how far off it may end:
what is foreseen, and beside it what gauge and hand may err, taken :data:`SURE` standard deviations wide. What no turn brings is
left to the saddle, in such a way that it is filed and not shimmed wherever the screws can give the rest.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np

from lutherie_geom.joint.coupling import action_slopes
from lutherie_geom.joint.dimensions import Array, Dimensions
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.strings import action
from lutherie_geom.shop.setup.hands import Hands
from lutherie_geom.shop.setup.wanted import Wanted
from lutherie_geom.studies.setup import SetUp, best_turns, set_up

__all__ = ["MOST_SADDLE", "Moves", "Options", "READABLE", "REACHES", "STEP", "before_tilt", "moves", "options", "rod_asked",
           "sure_off"]

STEP = 1 / 24
"""Step that a hand sets [turn]: half an hour on the clock face."""
SURE = 1.645
"""Standard deviations that must fit into the window beside what is foreseen: 19 in 20 end on the right side of that limit."""
REACHES = (0.0, 1 / 8, 1 / 4, 1 / 2)
"""How far pivot screws may be turned [turn], from not at all: the first that will do is taken."""
FORGIVEN, FORGIVEN_NECK_OFF = 0.8, 0.9
"""Half-windows off that are no reason to slacken the clamp, or to take the neck off."""
LEAN = 0.35
"""Half-windows, one string high and the other low, that are no reason to take up a file."""
_STOPPED = 1.0  # half-windows off, both strings the same way: no rounding, but a stop
MOST_SADDLE = 1.5
"""What a saddle gives either way [mm] (common practice, no source); the rest stays."""
_HALF = 0.5
"""A saddle cut by all that it gives must leave no more than this part of the lean; else, and where all strings are off alike,
it is left alone: what is wrong is the neck's angle, and whoever mends that wants the saddle's height."""
_WORTH = 0.1  # half-windows that one more screw must gain
_TOUCH = 1e-6  # mm
TILT = 0

@dataclass(frozen=True)
class Options:
    """Plans of set-up, one for each reach of the pivot screws, the nearest first; target; hands. neck_off: the pivot screws can
    only be turned with the neck off."""

    plans: tuple[SetUp, ...]
    wanted: Wanted
    hands: Hands
    neck_off: bool

    @property
    def slopes(self) -> Array:
        """Of action bass, action treble and centring by the three screws [half-windows/turn], (3, 3)."""
        middle, lean, aside = self.plans[0].slopes / self.plans[0].step
        return np.stack([middle + lean, middle - lean, aside])


def options(design: Any, want: Wanted, *, step: float = STEP, hands: Hands | None = None) -> Options:
    """All that the moves of instruments of one design need. ``design.dimensions()`` may be those that were learned.

    ValueError for a ``step`` [turn] that no hand can set (1/512 to 1).
    """
    limits = want.limits(design)
    plans = tuple(set_up(design, limits=limits, step=step, reach=r) for r in REACHES)
    return Options(plans, want, hands or Hands(), design.pivot.key_from == "heel")


@dataclass(frozen=True)
class Moves:
    """Moves of n instruments. turns: by how much tilt, bass and treble screw are turned, signed [turn], (3, n); saddle: change
    of the saddle's height under each string [mm], (strings, n); option: 0 leave the screws, 1 tilt alone, 2 and more with the
    pivot screws; off and off_before: action bass, action treble, centring [half-windows] foreseen and before, (3, n); may: how
    far off they may end, hand and gauge included [half-windows], (n,); within: a setting inside every stop was found, (n,);
    alone: as ``off``, by turning alone and the saddle as it is, (3, n); later: change of the saddle [mm], (strings, n), where
    turning alone is foreseen to do but not surely: for after the turning, if what is then read is more off than
    :func:`sure_off`."""

    turns: Array
    saddle: Array
    option: Array
    off: Array
    off_before: Array
    may: Array
    within: Array
    alone: Array
    later: Array

    @property
    def nothing(self) -> Array:
        """Instruments to leave alone, (n,)."""
        return (self.option == 0) & (self.saddle == 0).all(axis=0) & (self.later == 0).all(axis=0)


def rod_asked(want: Wanted, relief: Array, error: float) -> Array:
    """Whether the truss rod is to be turned for a ``relief`` read with an ``error`` (standard deviation) [mm]: only when it is
    out of its window for sure, or reading and setting would chase each other."""
    return np.abs(np.asarray(relief, dtype=float) - want.relief) > want.relief_within + SURE * error


def sure_off(want: Wanted, error: Array) -> Array:
    """How far off its target an action may read, with an ``error`` (standard deviation) [mm], and still be inside its window for
    sure [mm]."""
    return np.maximum(want.within - SURE * np.asarray(error, dtype=float), 0.0)


READABLE = 0.3
"""Action of the lower outer string [mm] below which nobody reads before the tilt screw is turned, but after it."""


def before_tilt(o: Options, dims: Dimensions, now: Array, m: Moves) -> tuple[Array, Array, Array]:
    """What the outer strings should read when all is done but the tilt screw: the mean of both actions [mm], what a turn of the
    tilt screw adds to it [mm/turn], and the lower of the two actions [mm], each (n,). Who reads another mean turns so much less
    or more."""
    t = now + np.nan_to_num(m.turns)
    p = pose(_filed(dims, m.saddle), tilt=now[TILT], bass=t[1], treble=t[2])
    ends = action(p, o.wanted.fret)[[0, -1], 0]
    return ends.mean(axis=0), action_slopes(p, o.wanted.fret)["tilt"][[0, -1], 0].mean(axis=0), ends.min(axis=0)


def moves(o: Options, dims: Dimensions, now: Array, read: Array) -> Moves:
    """What to turn on instruments of ``dims`` (n samples, as measured, relief and nut as they will be) with screws at ``now``
    (3, n) [turn]. ``read``: standard deviations of action bass, action treble and centring as read [mm], (3,) or (3, n)."""
    now = np.asarray(now, dtype=float)
    n = now.shape[1]
    dims = _standing(o, dims, now)
    halves = np.array([o.wanted.within, o.wanted.within, o.wanted.centring])
    error = np.asarray(read, dtype=float).reshape(3, -1) / halves[:, None]
    first = _chosen(o, dims, now, error)
    (saddle, later), alone, before = np.zeros((2, dims.strings, n)), first.off, first.off_before
    bass, treble = alone[:2]
    lean, alike = np.abs(bass - treble) / 2, np.where(bass * treble > 0, np.minimum(np.abs(bass), np.abs(treble)), 0.0)
    ask = np.flatnonzero(first.within & (first.may > 1) & ((lean > LEAN) | (alike > _STOPPED)))
    if len(ask):
        saddle[:, ask] = _cut(o, dims, now + first.turns, first.off[:2] * halves[:2, None])[:, ask]
        again = _chosen(o, _filed(dims, saddle), now, error)
        worst, rest = (np.abs(m.off[:2]).max(axis=0) for m in (first, again))
        part = (rest <= _HALF * worst) & (alike <= _STOPPED)
        better = (again.may < first.may) & ((np.abs(saddle).max(axis=0) < MOST_SADDLE) | part)
        saddle[:, ~better] = 0.0
        turn_first = better & (worst <= 1)  # what is filed stays filed: where turning is foreseen to do, turn and read first
        later[:, turn_first], saddle[:, turn_first] = saddle[:, turn_first], 0.0
        first = _either((saddle != 0).any(axis=0), again, first)
    # Where neither screws nor saddle bring the action home, the strings are still steered to the middle, as if it were.
    lost = first.within & (np.abs(first.off[:2]).max(axis=0) > 1) & (np.abs(first.off[2]) > FORGIVEN)
    if lost.any():
        gone = -first.off[:2] * halves[:2, None] / _rate(o, dims, now + first.turns)
        again = _chosen(o, _filed(dims, saddle + _strings(np.where(lost, gone, 0.0), dims.strings)), now, error)
        off = o.plans[0].off_target(o.plans[0].read(_filed(dims, saddle), now + np.nan_to_num(again.turns)))
        first = _either(lost & again.within, replace(again, off=off, may=np.abs(off).max(axis=0)), first)
    first = replace(first, saddle=saddle, off_before=before, alone=alone, later=later)
    return _each(o, dims, now, first) if o.wanted.per_string else first


def _standing(o: Options, dims: Dimensions, now: Array) -> Dimensions:
    """Where the joint stands no stop can have been passed: one that the dimensions would have passed is taken to be touched."""
    gap, reveal, floor, _ = np.maximum(-o.plans[0].rooms(o.plans[0].read(dims, now), False), 0.0) + _TOUCH
    gap, reveal, floor = (np.where(v > _TOUCH, v, 0.0) for v in (gap, reveal, floor))
    if not (gap.any() or reveal.any() or floor.any()):
        return dims
    return dims.replaced(gap_joint=dims.gap_joint + gap, floor_clearance=dims.floor_clearance + floor,
                         pocket=dims.pocket + reveal + floor)


def _either(pick: Array, a: Moves, b: Moves) -> Moves:
    """The moves ``a`` where picked, else ``b``."""
    return Moves(*(np.where(pick, getattr(a, f.name), getattr(b, f.name)) for f in fields(Moves)))


def _filed(dims: Dimensions, saddle: Array) -> Dimensions:
    return dims.replaced(h_saddle=_column(dims.h_saddle, saddle.shape[1]) + saddle)


def _strings(ends: Array, strings: int) -> Array:
    """Evenly from bass to treble, (strings, n), from both ends (2, n)."""
    part = np.linspace(0, 1, strings)[:, None]
    return np.asarray(ends[0] * (1 - part) + ends[1] * part)


def _rate(o: Options, dims: Dimensions, turns: Array) -> Array:
    """What the saddle does to the action of the outer strings [1], (2, n)."""
    p = pose(dims, tilt=turns[0], bass=turns[1], treble=turns[2])
    return np.asarray(action_slopes(p, o.wanted.fret)["h_saddle"][[0, -1], 0])


def _column(v: Array, n: int) -> Array:
    v = np.asarray(v, dtype=float)
    return np.broadcast_to(v[:, None] if v.ndim == 1 else v, (v.shape[0], n))


def _chosen(o: Options, dims: Dimensions, now: Array, error: Array) -> Moves:
    """The first option that is sure enough, else the one that may end least far off."""
    n = now.shape[1]
    here = o.plans[0].read(dims, now)
    before = o.plans[0].off_target(here)
    by_hand = (o.hands.turn * o.slopes) ** 2
    stops = o.plans[0].rooms(here, False).min(axis=0)
    none = np.zeros((dims.strings, n))
    best = Moves(np.zeros((3, n)), none, np.zeros(n, dtype=int), before, before,
                 np.where(stops >= 0, (np.abs(before) + SURE * error).max(axis=0), np.inf), stops >= 0, before, none)
    for k, plan in enumerate(o.plans):
        if np.all(best.may <= 1):
            break
        # The clamp is not slackened to split hairs, and the neck taken off only where the tilt screw leaves something outside.
        fine = FORGIVEN_NECK_OFF if o.neck_off else FORGIVEN
        reluctant = (np.abs(best.off).max(axis=0) <= fine) & (k > 0)
        found = best_turns(plan, dims, tilt=now[0], bass=now[1], treble=now[2])
        turns = np.stack([found.tilt, found.bass, found.treble]) - now
        off = plan.off_target(found.after)
        spread = np.sqrt(error**2 + np.einsum("rs,sn->rn", by_hand, np.abs(np.nan_to_num(turns)) > 1e-9))
        may = np.where(found.feasible, (np.abs(np.nan_to_num(off)) + SURE * spread).max(axis=0), np.inf)
        harms = (np.abs(off[2]) > 1) & (np.abs(best.off[2]) <= 1)  # strings are not put aside for the sake of the action
        worth = may < np.where(np.isinf(best.may), np.inf, best.may - _WORTH)
        take = (best.may > 1) & worth & ~reluctant & ~harms
        best = replace(best, turns=np.where(take, turns, best.turns), option=np.where(take, k + 1, best.option),
                       off=np.where(take, off, best.off), may=np.where(take, may, best.may), within=best.within | take)
    return best


def _cut(o: Options, dims: Dimensions, turns: Array, off: Array) -> Array:
    """Change of the saddle under each string [mm], (strings, n), for actions that are ``off`` [mm] (2, n) after turning."""
    stopped = _STOPPED * o.wanted.within
    low, high = off.min(axis=0), off.max(axis=0)
    # One string too high and one too low: file the high one down to the low, and let the tilt screw bring both up.
    base = np.where((low > stopped) | (high < -stopped), 0.0, low)
    return _strings(np.clip(-(off - base) / _rate(o, dims, turns), -MOST_SADDLE, MOST_SADDLE), dims.strings)


def _each(o: Options, dims: Dimensions, now: Array, m: Moves) -> Moves:
    """With a target for every string: the saddle takes up what is outside its window string by string."""
    t = now + m.turns
    p = pose(_filed(dims, m.saddle), tilt=t[0], bass=t[1], treble=t[2])
    off = action(p, o.wanted.fret)[:, 0] - np.array(o.wanted.each)[:, None]
    rate = action_slopes(p, o.wanted.fret)["h_saddle"][:, 0]
    more = np.where(np.abs(off) > o.wanted.within, -off / rate, 0.0)
    saddle = np.clip(m.saddle + more, -MOST_SADDLE, MOST_SADDLE)
    return replace(m, saddle=saddle, later=np.where((saddle == 0).all(axis=0), m.later, 0.0))
