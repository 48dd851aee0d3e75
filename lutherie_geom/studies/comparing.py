"""Joints side by side on the same guitar, scored on criteria that the reader weighs.

A score runs evenly from 0 at ``worst`` to 1 at ``best`` of its criterion, and stays there beyond. Both are chosen here, shown
with the result (:meth:`Comparison.how`) and may be changed; they do not depend on which joints are compared, so that one more
in the table turns no order round. What a joint can't do, for want of an adjuster, earns nothing.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from lutherie_geom.design.joint_files import joint_names
from lutherie_geom.design.joints import JointFile
from lutherie_geom.design.lines import folded
from lutherie_geom.joint.own_joint import joint_of
from lutherie_geom.studies.joint_page import FRET, LIFT, JointPage, joint_page

__all__ = ["CRITERIA", "GROUPS", "Comparison", "Criterion", "compare"]


@dataclass(frozen=True)
class Criterion:
    """One thing to judge by: ``key`` of a page's measures, words, unit, and where the score is 0 and 1 [unit].

    ``group``: what it tells about, for readers who weigh a few things and not fourteen.
    """

    key: str
    short: str
    words: str
    unit: str
    worst: float
    best: float
    group: str = ""

    def score(self, value: Any) -> Any:
        """Score [1] of a value or values [unit], 0 to 1; none (nan) scores 0."""
        v = np.asarray(value, dtype=float)
        part = (np.where(np.isfinite(v), v, np.sign(v) * 1e12) - self.worst) / (self.best - self.worst)
        return np.where(np.isnan(v), 0.0, np.clip(part, 0.0, 1.0))[()]

    def __str__(self) -> str:
        unit = f" {self.unit}" if self.unit else ""
        return f"{self.short}: {self.words}; 0 at {self.worst:g}{unit}, 1 at {self.best:g}{unit}"

    __repr__ = __str__


_FOR = f"for {LIFT:g} mm of action at fret {FRET}"


def _group(name: str, *rows: tuple[str, str, str, str, float, float]) -> tuple[Criterion, ...]:
    return tuple(Criterion(*row, group=name) for row in rows)


CRITERIA = (
    *_group("setting",
            ("step", "step", f"mean action at fret {FRET} for 1/16 turn of the adjuster that sets it", "mm", 0.25, 0.05),
            ("travel", "travel", "change of action that is reached both ways before a stop, the lesser", "mm", 0.0, 2.0),
            ("steer", "steering", "nut end moved sideways by 1/16 turn of the adjuster that moves it most", "mm", 0.0, 0.25),
            ("coupled", "coupling", "a string's action moved by another screw over that by its own, same turn", "", 1.0, 0.0)),
    *_group("tuning",
            ("drift", "drift", f"drift of an untouched string, {_FOR}", "cent", 60.0, 0.0),
            ("fretted", "fretted", f"change of the fretted note at {FRET}, strings tuned again, {_FOR}", "cent", 4.0, 0.0)),
    *_group("room",
            ("gap", "gap", f"gap under the tongue taken, {_FOR}", "mm", 0.4, 0.0),
            ("reveal", "heel moves", f"heel moved at the pocket's floor, {_FOR}", "mm", 0.4, 0.0)),
    *_group("strength",
            ("force", "screw force", "force along the adjuster that sets the action, strings at pitch", "N", 1500.0, 0.0),
            ("preload", "preload", "least tension of clamps and springs with which the strings lift nothing", "N", 1500.0, 0.0),
            ("holds", "handling", "times the worst handling load that it holds at the file's tensions", "times", 0.0, 2.0)),
    *_group("making",
            ("free", "left free", "motions left free", "", 1.0, 0.0),
            ("fit", "forced fit", "root sum square of what the file's tolerances force on the worst fight", "mm", 0.4, 0.0),
            ("parts", "parts", "contacts, bolts and adjusters to mark out and make", "", 12.0, 2.0)),
)
"""What joints are judged by unless others are given. Where scores begin and end was chosen here, for a steel-string guitar."""
GROUPS = {"setting": "fine and free setting", "tuning": "quiet tuning", "room": "little room needed", "strength": "strength",
          "making": "easy making"}
"""What the groups of criteria stand for, in a builder's words."""


def _weights(criteria: Sequence[Criterion], given: Mapping[str, float] | None) -> np.ndarray:
    known = [c.key for c in criteria]
    for key, value in (given or {}).items():
        if key not in known:
            raise ValueError(f"weights has no criterion {key!r}; there are {', '.join(known)}")
        if isinstance(value, bool) or not (math.isfinite(value) and value >= 0):
            raise ValueError(f"weights[{key!r}] is {value!r}; allowed is 0 (left out) and more, finite")
    found = np.array([float((given or {}).get(k, 1.0)) for k in known])
    if not found.sum() > 0:
        raise ValueError("weights are all 0; at least one criterion must count")
    return found


@dataclass(frozen=True)
class Comparison:
    """Joints compared on one guitar. ``weights`` (criteria,) [1]; ``values`` (joints, criteria) in each criterion's unit."""

    guitar: str
    pages: tuple[JointPage, ...]
    criteria: tuple[Criterion, ...]
    weights: np.ndarray
    values: np.ndarray

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the joints, in the order given."""
        return tuple(p.name for p in self.pages)

    @property
    def scores(self) -> np.ndarray:
        """Scores (joints, criteria) [1], 0 to 1."""
        return np.stack([c.score(v) for c, v in zip(self.criteria, self.values.T, strict=True)], axis=1)

    @property
    def totals(self) -> np.ndarray:
        """Weighted mean of the scores (joints,), out of 100."""
        return 100 * self.scores @ self.weights / self.weights.sum()

    @property
    def order(self) -> np.ndarray:
        """Places of the joints, the best first; joints that score alike keep the order given."""
        return np.argsort(-np.round(self.totals, 9), kind="stable")

    @property
    def best(self) -> JointPage:
        """The page of the joint that scores best under these weights."""
        return self.pages[int(self.order[0])]

    def weighed(self, weights: Mapping[str, float]) -> Comparison:
        """The same readings under other weights [1], by the keys of the criteria; those not named keep theirs."""
        now = dict(zip((c.key for c in self.criteria), self.weights.tolist(), strict=True))
        _weights(self.criteria, weights)
        return replace(self, weights=_weights(self.criteria, {**now, **weights}))

    def weighed_groups(self, weights: Mapping[str, float]) -> Comparison:
        """The same with a weight [1] for each group, shared evenly among its criteria; groups not named count 1."""
        groups = [c.group for c in self.criteria]
        if wrong := [g for g in weights if g not in groups]:
            raise ValueError(f"weights has no group {wrong[0]!r}; there are {', '.join(dict.fromkeys(groups))}")
        return self.weighed({c.key: weights.get(c.group, 1.0) / groups.count(c.group) for c in self.criteria})

    def of(self, key: str) -> np.ndarray:
        """Values of one criterion (joints,), in its unit. Raises KeyError for a key that is not compared."""
        keys = [c.key for c in self.criteria]
        if key not in keys:
            raise KeyError(f"no criterion {key!r}; there are {', '.join(keys)}")
        return self.values[:, keys.index(key)]

    def how(self) -> str:
        """How each score is made, line by line, and how much it counts."""
        alike = bool(np.ptp(self.weights) == 0)
        rows = [f"  {c}" + ("" if alike else f"; weight {w:g}") for c, w in zip(self.criteria, self.weights, strict=True)]
        return folded("scores, even between the two ends; what a joint has no adjuster for scores 0"
                      + ("; all count alike" if alike else ""), *rows)

    def __str__(self) -> str:
        letters = [chr(ord("A") + k) for k in range(len(self.pages))]
        width = max(len(f"{c.short} [{c.unit}]") for c in self.criteria) + 2
        lines = [f"{self.guitar}: {len(self.pages)} joints, reading and (score out of 10)"]
        lines += [f"  {x}  {n}" for x, n in zip(letters, self.names, strict=True)]
        lines.append(f"{'':<{width}}" + "".join(f"{x:>14}" for x in letters) + "  weight")
        for c, row, marks, w in zip(self.criteria, self.values.T, self.scores.T, self.weights, strict=True):
            cells = "".join(f"{_said(v) + f' ({10 * s:.0f})':>14}" for v, s in zip(row, marks, strict=True))
            lines.append(f"{c.short + (f' [{c.unit}]' if c.unit else ''):<{width}}{cells}{w:8g}")
        lines.append(f"{'out of 100':<{width}}" + "".join(f"{t:14.1f}" for t in self.totals))
        return "\n".join(lines)

    __repr__ = __str__


def _said(value: float) -> str:
    return "none" if math.isnan(value) else "always" if value == math.inf else f"{round(float(value), 6) + 0.0:.3g}"


def compare(guitar: Any = "slack_water", joints: Sequence[str | Path | JointFile] | None = None,
            weights: Mapping[str, float] | None = None, criteria: Sequence[Criterion] = CRITERIA, own: bool = True) -> Comparison:
    """Joints (all of the library unless given: names, files or descriptions) on one guitar (a design or its name).

    The design's own joint comes first, under the design's name; ``own=False`` leaves it out. Joints of the library keep the
    sizes in their files on every guitar. ``weights``: how much each criterion counts [1], by its key; 1 where it is not named, 0
    leaves it out. Raises ValueError for weights that don't fit, DesignError for a joint that can't be read.
    """
    from lutherie_geom.design.load import load

    if not criteria:
        raise ValueError("criteria is empty; give at least one")
    wanted = list(joint_names() if joints is None else joints)
    if not wanted:
        raise ValueError("joints is empty; give at least one")
    heavy, design = _weights(criteria, weights), load(guitar) if isinstance(guitar, str | Path) else guitar
    pages = tuple(joint_page(j, design) for j in ([joint_of(design)] if own else []) + wanted)
    unknown = [c.key for c in criteria if c.key not in pages[0].measures]
    if unknown:
        raise ValueError(f"criteria: {unknown[0]!r} is not measured; there are {', '.join(pages[0].measures)}")
    values = np.array([[p.measures[c.key] for c in criteria] for p in pages])
    return Comparison(design.name, pages, tuple(criteria), heavy, values)
