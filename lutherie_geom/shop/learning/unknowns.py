"""What may be otherwise on one instrument than in its design, as far as readings at several turns can show it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

import numpy as np

from lutherie_geom.joint.dimensions import PER_STRING, Array, Dimensions

__all__ = ["UNKNOWNS", "Unknown", "applied"]

_BASS, _TREBLE = "bass", "treble"


@dataclass(frozen=True)
class Unknown:
    """One unknown: what 1 unit of it moves (by field of :class:`Dimensions`: a number, or the side of the strings on which it
    counts), its plausible size (a standard deviation, common practice, no source), and its unit."""

    name: str
    words: str
    size: float
    moves: Mapping[str, float | str] = field(default_factory=dict)
    unit: str = "mm"

    def weights(self, strings: int) -> dict[str, Array]:
        """What it moves, by field: a number, or for a field per string (strings,)."""
        part = np.linspace(0.0, 1.0, strings)
        over = {_BASS: 1 - part, _TREBLE: part}
        return {f: over[w] if isinstance(w, str) else np.full(strings, w) if f in PER_STRING else np.asarray(w)
                for f, w in self.moves.items()}


_TABLE = (
    Unknown("saddle_bass", "saddle's height at the bass side", 0.5, {"h_saddle": _BASS}),
    Unknown("saddle_treble", "saddle's height at the treble side", 0.5, {"h_saddle": _TREBLE}),
    Unknown("bridge_shift", "saddle's place across, to treble", 0.6, {"y_saddle": 1.0}),
    Unknown("gap", "gap under the tongue", 0.3, {"gap_joint": 1.0}),
    Unknown("play", "dead band of the tilt screw, thread play and friction", 0.1),
    Unknown("arm", "arm of the tilt screw", 2.0, {"z_head": -1.0, "z_receiver": -1.0}),
    Unknown("pivot_height", "height of the pivot axis", 0.5, {"z_p": 1.0}),
    Unknown("angle", "neck angle", 0.003, {"alpha": 1.0}, "rad"),
)
UNKNOWNS: Mapping[str, Unknown] = MappingProxyType({u.name: u for u in _TABLE})
"""By name, in the order in which readings are asked for them."""


def applied(d: Dimensions, values: Mapping[str, float]) -> Dimensions:
    """Dimensions with what was found added to them [mm, rad]. ``play`` moves no dimension."""
    new: dict[str, Array] = {}
    for name, value in values.items():
        for f, w in UNKNOWNS[name].weights(d.strings).items():
            now = new.get(f, np.asarray(getattr(d, f), dtype=float))
            w = w.reshape(w.shape + (1,) * (now.ndim - w.ndim)) if f in PER_STRING else w
            new[f] = now + value * w
    return d.replaced(**{f: float(v) if np.ndim(v) == 0 else v for f, v in new.items()})
