"""What turning does not give, and the stops that are near where it ends."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from lutherie_geom.joint.travel import Travel
from lutherie_geom.shop.setup.moves import MOST_SADDLE
from lutherie_geom.shop.setup.scene import SMALL, Scene

__all__ = ["cannot", "near"]

NEAR = 0.25
"""Turns of the tilt screw within which a stop is named."""


def cannot(s: Scene, t: Travel, end: np.ndarray) -> Iterator[str]:
    """What no turn gives, how much, why, and what gives it; ``end``: where the screws come to stand [turn]."""
    m, want = s.move, s.want
    if not m.within:
        yield "no setting of the screws within their stops was found; turn nothing, look first for what is out of place"
        return
    off = m.off * np.array([want.within, want.within, want.centring])
    if np.abs(m.saddle).max() >= SMALL:
        bass, treble = m.saddle[0], m.saddle[-1]
        alike = bass * treble > 0 and min(abs(bass), abs(treble)) > SMALL
        stop = t.first(-1 if bass < 0 else 1) if alike else None
        why = (f"{stop.words}, {abs((stop.turn or 0.0) - end[0]):.2f} turn further on" if stop and alike else
               "the screws move all strings together; one side or one string alone is the saddle's")
        alone = [a + b * want.within for a, b in zip(want.ends, m.alone[:2], strict=True)]
        yield (f"{s.length(abs(bass))} at the bass and {s.length(abs(treble))} at the treble side of the saddle: {why}. By "
               f"turning alone the nearest is {s.length(alone[0])} bass, {s.length(alone[1])} treble")
    for k, words in ((0, "bass"), (1, "treble")):
        if abs(m.off[k]) > 1:
            stop = t.first(-1 if off[k] > 0 else 1)
            close = stop is not None and abs((stop.turn or 0.0) - end[0]) < 2 * NEAR
            full = np.abs(m.saddle).max() > MOST_SADDLE - SMALL
            why = (stop.words if stop and close else f"a saddle gives {s.length(MOST_SADDLE)} at the most" if full else
                   "the other string and the centring pull the other way")
            yield (f"action {words} stays {s.length(abs(off[k]))} {'above' if off[k] > 0 else 'below'} its target, at "
                   f"{s.length(want.ends[k] + off[k])}, the nearest that can be had: {why}. More than a saddle gives is the neck "
                   "angle's or the bridge's work")
    if abs(m.off[2]) > 1:
        yield f"the strings stay {s.length(abs(off[2]))} off the board's middle: the bridge's place is the cure"


def near(s: Scene, t: Travel, end: np.ndarray) -> Iterator[str]:
    """Stops of the tilt screw close to where the screws come to stand [turn]."""
    over = float(s.options.hands.over(s.design.tilt_screw.pitch))
    for direction, word in ((-1, "lowering"), (1, "raising")):
        stop = t.first(direction)
        if stop is None or stop.turn is None:
            continue
        left = abs(stop.turn - float(end[0]))
        if left < max(NEAR, over + 0.05):
            yield f"{word} the action, {stop.words} {left:.2f} turn past this setting; stop when the key gets stiff"
