"""Set-up day: from what the gauges show and what is wanted to a short list of what to do, in order.

The order: relief first, for it moves every action; then the nut; then steering, with the clamp slackened, for the pivot screws
move the action too; then the saddle, where no screw will do; the tilt screw after all these, because it alone can be undone at
any time; compensation last. The last turn of a screw always has the same sense (:mod:`lutherie_geom.shop.setup.hands`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from lutherie_geom.design.catalogue import usual_range
from lutherie_geom.joint.dimensions import Dimensions
from lutherie_geom.shop.setup.fitting import AsMeasured, as_measured, batched
from lutherie_geom.shop.setup.hands import Hands
from lutherie_geom.shop.setup.measured import Measured, SheetError, measured
from lutherie_geom.shop.setup.moves import STEP, Moves, Options, before_tilt, moves, options, rod_asked
from lutherie_geom.shop.setup.scene import Instruction, Scene
from lutherie_geom.shop.setup.steps import instructions
from lutherie_geom.shop.setup.wanted import Wanted, wanted
from lutherie_geom.shop.words import length

__all__ = ["SetUpDay", "advise"]


@dataclass(frozen=True)
class SetUpDay:
    """What to do on one instrument.

    turns: by how much tilt, bass and treble screw are turned [turn], signed as everywhere; saddle: change of its height under
    each string [mm]; before, after: what the gauges show and should show [mm], by key; left: what then is still off the target
    [mm]: action bass, action treble, centring to treble; cannot: what turning does not give, and what gives it; near: stops that
    are close; removals: how often the neck comes off; sure: no window is missed on its nearer side but 1 time in 20.
    """

    name: str
    wanted: Wanted
    instructions: tuple[Instruction, ...]
    turns: tuple[float, float, float]
    saddle: tuple[float, ...]
    before: Mapping[str, float]
    after: Mapping[str, float]
    left: tuple[float, float, float]
    cannot: tuple[str, ...]
    near: tuple[str, ...]
    notes: tuple[str, ...]
    removals: int
    sure: bool
    units: Any = "mm"

    @property
    def done(self) -> bool:
        """Nothing to turn, to file or to set: leave it alone."""
        return all(i.part == "compensation" for i in self.instructions)

    def __str__(self) -> str:
        lines = [f"{self.name}: {self.wanted.said(self.units)}"]
        if self.done:
            lines.append("Leave it alone: what the gauges show is inside the window, their error counted in.")
        for k, i in enumerate(self.instructions, 1):
            lines.append(f"{k}. {i.told(self.units)}")
        bass, treble, aside = (length(v, self.units) for v in self.left)
        lines.append(f"Left over: action bass {bass}, treble {treble}; strings off the board's middle at the last fret {aside} "
                     "(plus is high, or to treble)")
        lines += [f"Not by turning: {c}" for c in self.cannot]
        lines += [f"Stop near: {c}" for c in self.near]
        lines += [f"Note: {c}" for c in self.notes]
        if self.removals:
            lines.append("The neck comes off once: the sockets of the pivot screws face the heel. Do all of it in one removal.")
        return "\n".join(lines)

    __repr__ = __str__


def advise(design: Any, readings: Any, target: Any = None, *, levels: Mapping[str, Any] | None = None, step: float = STEP,
           turns_now: tuple[float, float, float] = (0.0, 0.0, 0.0), learned: Any = None, hands: Hands | None = None) -> SetUpDay:
    """What to do on set-up day.

    ``readings``: a :class:`Measured`, or what :func:`lutherie_geom.shop.setup.measured.measured` reads. ``target``: see
    :func:`lutherie_geom.shop.setup.wanted.wanted`; ``levels``: the builder's own low, medium, high. ``step``: what a hand sets
    [turn]. ``turns_now``: where tilt, bass and treble screw stand [turn]. ``learned``: what
    :func:`lutherie_geom.shop.learning.learn.learn` found of this instrument; not used where its readings contradict each
    other. Raises SheetError, WantedError or ValueError with field, value, unit and range.
    """
    m = readings if isinstance(readings, Measured) else measured(readings, design)
    want = wanted(design, target, levels)
    hands, own, notes = hands or Hands(), design, []
    if learned is not None and learned.trusted:
        own, hands = AsMeasured(design, learned.applied(design.dimensions())), learned.hands(hands)
    elif learned is not None:
        notes.append("what was learned is not used: its readings contradict each other; " + "; ".join(learned.suspects))
    now = _turns(turns_now)
    d, error = _fitted(own.dimensions(), m, want, now)
    o = options(own, want, step=step, hands=hands)
    rod = "relief.middle" in m and bool(rod_asked(want, m.get("relief.middle"), m.errors["relief.middle"]))
    set_ = _relief_and_nut_done(d, m, want, rod)
    found = moves(o, batched(set_, 1), now[:, None], error)
    notes += _doubts(want, design.units)
    scene = Scene(own, m, want, o, d, set_, now, _one(found), rod, _expected(o, set_, now, found))
    steps, after, cannot, near = instructions(scene)
    move = scene.move
    tilt, bass, treble = (float(v) for v in move.turns)
    off = move.off * np.array([want.within, want.within, want.centring])
    return SetUpDay(design.name, want, steps, (tilt, bass, treble), tuple(move.saddle.tolist()),
                    {k: float(v) for k, v in m.values.items()}, after, (float(off[0]), float(off[1]), float(off[2])), cannot,
                    near, tuple(notes), int(design.pivot.key_from == "heel" and scene.steers),
                    bool(move.may <= 1), design.units)


def _doubts(want: Wanted, system: Any) -> list[str]:
    """A word where a target is outside what the trade calls usual; steel strings, fret 12."""
    asked = [("relief", "relief", want.relief)]
    if want.fret == 12:
        asked += [("action12-bass", "action bass", want.ends[0]), ("action12-treble", "action treble", want.ends[1])]
    found = []
    for name, words, value in asked:
        usual = usual_range(name)
        if not usual.low <= round(value, 3) <= usual.high:
            low, high = (length(v, system) for v in (usual.low, usual.high))
            found.append(f"{words} wanted {length(value, system)}; usual for steel strings is {low} to {high} ({usual.mark})")
    return found


def _turns(given: Any) -> np.ndarray:
    now = np.asarray(given, dtype=float)
    if now.shape != (3,) or not (np.abs(now) <= 12).all():
        raise ValueError(f"turns_now: {given!r} turn; give three numbers, tilt, bass and treble, each from -12 to 12 turns")
    return now


def _fitted(d: Dimensions, m: Measured, want: Wanted, now: np.ndarray) -> tuple[Dimensions, np.ndarray]:
    """The instrument as it was measured, and the errors of action bass, treble and centring [mm]."""
    errors = []
    for side, last in (("bass", "string_1"), ("treble", f"string_{d.strings}")):
        keys = [k for k in m if k.startswith("action.") and k.endswith((side, last))]
        if not keys:
            raise SheetError([f"action.{want.fret}.{side}: is missing; set-up needs the action of both outer strings"])
        here = [k for k in keys if k.split(".")[1] == str(want.fret)]
        errors.append(min(m.errors[k] for k in (here or keys)))
    sides = [m.errors[k] for k in ("margin.left", "margin.right") if k in m]
    # Where nobody measured, nothing is known and nothing is asked.
    aside = float(np.sqrt(sum(s**2 for s in sides)) / len(sides)) if sides else 0.0
    fitted = as_measured(d, m, tilt=now[0], bass=now[1], treble=now[2])
    return fitted, np.array([*errors, aside])


def _relief_and_nut_done(d: Dimensions, m: Measured, want: Wanted, rod: bool) -> Dimensions:
    """The instrument with relief and nut as they will be when truss rod and slots are done."""
    if rod:
        d = d.replaced(relief=want.relief)
    if want.nut is not None and all(k in m for k in ("nut.bass", "nut.treble")):
        at = np.array([m.get("nut.bass"), m.get("nut.treble")], dtype=float)
        off = at - want.nut
        by = np.where(np.abs(off) > want.nut_within, off, 0.0)
        part = np.linspace(0, 1, d.strings)
        d = d.replaced(h_nut=np.asarray(d.h_nut, dtype=float) - (by[0] * (1 - part) + by[1] * part))
    return d


def _one(m: Moves) -> Moves:
    """The only instrument of a batch of one."""
    one = Moves(*(v[..., 0] for v in (m.turns, m.saddle, m.option, m.off, m.off_before, m.may, m.within, m.alone)))
    return replace(one, turns=np.where(np.abs(np.nan_to_num(one.turns)) < 1e-9, 0.0, np.nan_to_num(one.turns)))


def _expected(o: Options, d: Dimensions, now: np.ndarray, m: Moves) -> tuple[float, float, float]:
    mean, rate, lowest = before_tilt(o, batched(d, 1), now[:, None], m)
    return float(mean[0]), float(rate[0]), float(lowest[0])
