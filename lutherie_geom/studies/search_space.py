"""Free dimensions of the built-in joint: what a search may change, between which ends, and what goes along with each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, TypeVar

import numpy as np

from lutherie_geom.design.possible import problems_of
from lutherie_geom.joint.bores import one_rod
from lutherie_geom.joint.dimensions import PER_STRING, Array, Dimensions
from lutherie_geom.joint.inside import inside_margins
from lutherie_geom.studies.search_travel import travel_ends

__all__ = ["FREE", "HOMES", "Free", "drawn", "named", "possible", "present", "spaces", "spread_over"]

_T = TypeVar("_T")

ROUNDING = 1e-9  # mm: what adding up sizes may lose


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

HOMES = {"z_p": ("pivot", "z"), "x_p": ("pivot", "x"), "spacing": ("pivot", "spacing"), "pitch_pivot": ("pivot", "pitch"),
          "z_head": ("tilt_screw", "head_z"), "z_receiver": ("tilt_screw", "receiver_z"), "pitch_tilt": ("tilt_screw", "pitch"),
          "gap_joint": ("tongue", "gap"), "h_saddle": ("strings", "saddle_heights"),
          "floor_clearance": ("heel", "floor_clearance")}
"""Part and field of the design file for the joint's numbers that move."""


def named(field: str, keys: Sequence[str] | None, known: Mapping[str, _T]) -> tuple[_T, ...]:
    """What is ``known`` by these keys, all of it for None. Raises ValueError, with the field's name, for anything but a list, an
    unknown key, a key named twice or none."""
    if keys is not None and not isinstance(keys, list | tuple):
        raise ValueError(f"{field} is {keys!r}: give a list of keys, of {', '.join(known)}")
    chosen = list(known) if keys is None else list(keys)
    wrong = [k for k in chosen if not isinstance(k, str) or k not in known]
    if wrong:
        raise ValueError(f"{field} has no key {wrong[0]!r}; there are {', '.join(known)}")
    if not chosen or len(set(chosen)) < len(chosen):
        raise ValueError(f"{field} is {chosen!r}: name each once, at least one of {', '.join(known)}")
    return tuple(known[k] for k in chosen)


def spaces(keys: Sequence[str] | None) -> tuple[Free, ...]:
    """The free dimensions of these keys, all for None. Raises ValueError as :func:`named` does."""
    return named("free", keys, {f.key: f for f in FREE})


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

    Saddle heights that the design computes from a target are computed anew. With values (dimensions, n) its fields hold arrays
    (n,): for reading, not for writing.
    """
    start = present(free, design.dimensions())
    by = _by_field(free, np.asarray(values, dtype=float) - start.reshape((-1,) + (1,) * (np.ndim(values) - 1)))
    parts: dict[str, dict[str, Any]] = {}
    for name, off in by.items():
        if name not in HOMES:
            continue  # z_joint follows from the gap
        part, field = HOMES[name]
        old, off = getattr(getattr(design, part), field), off if np.ndim(off) else float(off)
        if old is not None:
            parts.setdefault(part, {})[field] = type(old)(h + off for h in old) if name == "h_saddle" else old + off
    return design.model_copy(update={k: getattr(design, k).model_copy(update=v) for k, v in parts.items()})


def possible(design: Any, free: Sequence[Free], values: np.ndarray, at_rest: bool = False) -> np.ndarray:
    """Which of these values (dimensions, n) give a joint that can be built, (n,): by the rules that design files are read by, and
    by the wood and room that :mod:`lutherie_geom.joint.inside` asks for, over the whole travel or only ``at_rest``.

    Where the design as it stands falls short already, a joint may fall as short, not shorter.
    """
    values = np.asarray(values, dtype=float)
    fits = np.array([not problems_of(drawn(design, free, v)) for v in values.T], dtype=bool)
    for still in (True,) if at_rest else (True, False):
        if fits.any():
            fits[fits] = _room(design, free, values[:, fits], still)
    return fits


def _room(design: Any, free: Sequence[Free], values: np.ndarray, at_rest: bool) -> np.ndarray:
    base, shared = design.dimensions(), one_rod(drawn(design, free, values), spread_over(design.dimensions(), free, values))
    if np.any(shared) and not np.all(shared):  # some have one rod for both screws, some two: other wood is asked of each
        fits = np.zeros(values.shape[1], dtype=bool)
        for which in (shared, ~shared):
            fits[which] = _room(design, free, values[:, which], at_rest)
        return fits

    def margins(at: np.ndarray) -> dict[str, Array]:
        d = spread_over(base, free, at)
        return inside_margins(drawn(design, free, at), d, None if at_rest else travel_ends(design, d))

    as_is = margins(present(free, base)[:, None])
    fits = np.ones(values.shape[1], dtype=bool)
    for key, margin in margins(values).items():
        fits &= margin >= np.minimum(as_is.get(key, 0.0), 0.0) - ROUNDING
    return fits
