"""Free dimensions of the built-in joint: what a search may change, between which ends, and what goes along with each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from lutherie_geom.design.possible import problems_of
from lutherie_geom.joint.dimensions import PER_STRING, Array, Dimensions

__all__ = ["FREE", "Free", "drawn", "possible", "present", "spaces", "spread_over"]


@dataclass(frozen=True)
class Free:
    """A dimension that a search may choose between ``low`` and ``high`` [unit].

    ``moves``: the fields of the joint's numbers that go along, and by how much for one unit of it. ``less``, ``more``: what a
    builder calls that. Ranges were chosen here; the rules of possible geometry narrow them.
    """

    key: str
    words: str
    unit: str
    low: float
    high: float
    moves: Mapping[str, float]
    less: str
    more: str


FREE = (
    Free("height", "pivot's height, tilt screw keeping its arm", "mm", -35.0, -12.0,
         {"z_p": 1.0, "z_head": 1.0, "z_receiver": 1.0}, "lower", "higher"),
    Free("depth", "pivot's depth along the body", "mm", -7.0, 10.0, {"x_p": 1.0}, "further out", "deeper"),
    Free("arm", "tilt screw under the pivot", "mm", 45.0, 78.0, {"z_head": -1.0, "z_receiver": -1.0}, "shorter", "longer"),
    Free("spacing", "pivot screws apart", "mm", 24.0, 46.0, {"spacing": 1.0}, "nearer", "wider"),
    Free("pitch_tilt", "tilt screw's pitch", "mm/turn", 0.5, 1.25, {"pitch_tilt": 1.0}, "finer", "coarser"),
    Free("pitch_pivot", "pivot screws' pitch", "mm/turn", 0.5, 1.5, {"pitch_pivot": 1.0}, "finer", "coarser"),
    Free("gap", "gap under the tongue, neck and saddle going up with it", "mm", 0.6, 2.4,
         {"gap_joint": 1.0, "z_joint": 1.0, "h_saddle": 1.0}, "smaller", "larger"),
    Free("clearance", "heel's floor clearance", "mm", 0.8, 2.6, {"floor_clearance": 1.0}, "smaller", "larger"),
)
"""The dimensions that may be chosen. Pitches run evenly here: take the nearest thread that exists for the screw."""

_HOMES = {"z_p": ("pivot", "z"), "x_p": ("pivot", "x"), "spacing": ("pivot", "spacing"), "pitch_pivot": ("pivot", "pitch"),
          "z_head": ("tilt_screw", "head_z"), "z_receiver": ("tilt_screw", "receiver_z"), "pitch_tilt": ("tilt_screw", "pitch"),
          "gap_joint": ("tongue", "gap"), "h_saddle": ("strings", "saddle_heights"),
          "floor_clearance": ("heel", "floor_clearance")}


def spaces(keys: Sequence[str] | None) -> tuple[Free, ...]:
    """The free dimensions of these keys, all for None. Raises ValueError for an unknown key, a key named twice or none."""
    known = {f.key: f for f in FREE}
    chosen = list(known) if keys is None else list(keys)
    if not chosen or len(set(chosen)) < len(chosen):
        raise ValueError(f"free is {chosen!r}: name each dimension once, at least one of {', '.join(known)}")
    wrong = [k for k in chosen if k not in known]
    if wrong:
        raise ValueError(f"free has no dimension {wrong[0]!r}; there are {', '.join(known)}")
    return tuple(known[k] for k in chosen)


def present(free: Sequence[Free], d: Dimensions) -> np.ndarray:
    """Where one joint stands (dimensions,), each in its unit."""
    own = {"height": d.z_p, "depth": d.x_p, "arm": np.asarray(d.z_p) - d.z_receiver, "gap": d.gap_joint,
           "clearance": d.floor_clearance}
    return np.array([float(np.asarray(own[f.key] if f.key in own else getattr(d, f.key))) for f in free])


def _by_field(free: Sequence[Free], off: np.ndarray) -> dict[str, Array]:
    found: dict[str, Array] = {}
    for f, v in zip(free, off, strict=True):
        for name, factor in f.moves.items():
            found[name] = found.get(name, 0.0) + factor * v
    return found


def spread_over(d: Dimensions, free: Sequence[Free], values: np.ndarray) -> Dimensions:
    """The joint at ``values`` (dimensions, n) of the free dimensions, each in its unit: a batch of n samples."""
    by = _by_field(free, np.asarray(values, dtype=float) - present(free, d)[:, None])
    return d.replaced(**{k: np.asarray(getattr(d, k))[..., None] + v if k in PER_STRING else getattr(d, k) + v
                         for k, v in by.items()})


def drawn(design: Any, free: Sequence[Free], values: np.ndarray) -> Any:
    """A design with these values (dimensions,) of its free dimensions, each in its unit; the rest stays.

    Saddle heights that the design computes from a target are computed anew.
    """
    by = _by_field(free, np.asarray(values, dtype=float) - present(free, design.dimensions()))
    parts: dict[str, dict[str, Any]] = {}
    for name, off in by.items():
        if name not in _HOMES:
            continue  # z_joint follows from the gap
        part, field = _HOMES[name]
        old = getattr(getattr(design, part), field)
        if old is not None:
            parts.setdefault(part, {})[field] = type(old)(h + float(off) for h in old) if name == "h_saddle" else old + float(off)
    return design.model_copy(update={k: getattr(design, k).model_copy(update=v) for k, v in parts.items()})


def possible(design: Any, free: Sequence[Free], values: np.ndarray) -> np.ndarray:
    """Which of these values (dimensions, n) give a joint that can be built, (n,): by the rules that design files are read by."""
    return np.array([not problems_of(drawn(design, free, v)) for v in np.asarray(values).T], dtype=bool)
