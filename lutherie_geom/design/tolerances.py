"""Tolerances of a design: which of its numbers may be off, by how much, and which of them err together.

Names are those of the design file (``pivot.z``, ``strings.saddle_heights[2]``, counted from 1 at the bass), and a few errors
made at the bench that no field stands for (:data:`BENCH`).
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache
from types import MappingProxyType
from typing import Any

import numpy as np

from lutherie_geom.design.spread import Spread, SpreadError

__all__ = ["BENCH", "Group", "Tolerances", "bare", "is_count", "is_list", "misfits", "number_fields", "unit_of_field", "unknown"]

BENCH: Mapping[str, tuple[str, str]] = MappingProxyType({
    "heel.ball_height": ("mm", "ball heads set too high in the heel, toward the board"),
    "heel.ball_depth": ("mm", "ball heads set too deep into the heel, toward the nut"),
    "heel.yaw": ("rad", "line of the ball heads not square to the neck; positive steers the nut to the bass side"),
    "tilt_screw.set": ("turn", "tilt screw set too far, counted as its turns are"),
    "pivot.set_bass": ("turn", "bass pivot screw set too far out, toward the neck"),
    "pivot.set_treble": ("turn", "treble pivot screw set too far out, toward the neck"),
    "strings.nut_place": ("mm", "nut slots cut too far to the treble, all of them"),
    "strings.bridge_place": ("mm", "bridge glued too far to the tail"),
    "strings.bridge_shift": ("mm", "bridge glued too far to the treble"),
})
"""Errors at the bench without a field of their own: unit and what a positive one is; each is 0 as designed."""
WISHES = ("limits", "target")  # what is asked of the joint, not made at the bench


def bare(name: str) -> str:
    """The field's name without its place in a list."""
    return re.sub(r"\[\d+\]", "", name)


@cache
def number_fields() -> dict[str, str]:
    """Every number of a design file that is made or measured: dotted name and unit (``""`` for a plain number)."""
    from lutherie_geom.design.model import Design

    return {k: v for k, v in _walk(Design, "") if k.split(".")[0] not in WISHES}


@cache
def _lists() -> frozenset[str]:
    from lutherie_geom.design.model import Design

    found = set()
    for part, f in Design.model_fields.items():
        for name, inner in getattr(f.annotation, "model_fields", {}).items():
            if "list[" in str(inner.annotation):
                found.add(f"{part}.{name}")
    return frozenset(found & set(number_fields()))


def is_list(name: str) -> bool:
    """True for a field that holds one number a string."""
    return name in _lists()


def _walk(model: Any, before: str) -> Any:
    for name, f in model.model_fields.items():
        for unit, inner in _kinds(f.annotation, f):
            if inner is not None:
                yield from _walk(inner, f"{before}{name}.")
            else:
                yield before + name, unit


def _kinds(annotation: Any, f: Any = None) -> Any:
    """Units of the numbers, and models of the tables, that an annotation lets in."""
    if hasattr(annotation, "model_fields"):
        yield "", annotation
        return
    extra = [f.json_schema_extra] if f is not None else []
    extra += [getattr(m, "json_schema_extra", None) for m in getattr(annotation, "__metadata__", ())]
    units = [str(e["unit"]) for e in extra if isinstance(e, dict) and "unit" in e]
    if units:
        yield units[0], None
        return
    for a in getattr(annotation, "__args__", ()):
        yield from _kinds(a)


def unit_of_field(name: str) -> str | None:
    """Unit of a design field or bench error inside the library; None if no number of that name can be off."""
    if name in BENCH:
        return BENCH[name][0]
    field = bare(name)
    # A place counts in a list of numbers, one a string, and it must be said in a list of tables.
    listed = field.startswith("loads.")
    where = re.fullmatch(r"loads\[\d+\]\.\w+", name) if listed else name == field or (is_list(field) and name.endswith("]"))
    return number_fields().get(field) if where else None


def is_count(name: str) -> bool:
    """True for a field of the design that is counted, such as a fret's number."""
    return _end(name) is int


def _end(name: str) -> Any:
    """What the model says stands at a dotted name: a type, a model, or None if there is nothing of that name."""
    from lutherie_geom.design.model import Design

    place: Any = Design
    for part in bare(name).split("."):
        f = getattr(place, "model_fields", {}).get(part)
        if f is None:
            return None
        place = f.annotation
    return place


def unknown(name: str, more: Iterable[str] = ()) -> SpreadError:
    """What to say of a name that can have no tolerance; ``more`` are other names known where it stands."""
    if name.split(".")[0] in WISHES:
        return SpreadError(f"{name}: is wanted, not made; it has no tolerance")
    place = _end(name)
    if bare(name) in number_fields():
        return SpreadError(f"{name}: no number of that name; " + (
            "a load is meant by its place, loads[1]" if name == bare(name) else f"it is one number, written {bare(name)!r}"))
    if place is not None and not hasattr(place, "model_fields"):
        return SpreadError(f"{name}: is chosen, not made; it has no tolerance")
    known = [*more, *number_fields(), *BENCH]
    near = difflib.get_close_matches(name, known, 1, 0.5)
    hint = f"did you mean {near[0]!r}?" if near else f"known are the numbers of a design file and {', '.join(BENCH)}"
    return SpreadError(f"{name}: no number of that name; {hint}")


@dataclass(frozen=True)
class Group:
    """Numbers that err together, such as two holes drilled in one set-up: names and their correlation matrix [1].

    One number stands for the same correlation between all of them.
    """

    names: tuple[str, ...]
    correlation: Any = field(compare=False)

    def __post_init__(self) -> None:
        n, said = len(self.names), f"correlation of {', '.join(self.names)}"
        if n < 2 or len(set(self.names)) < n:
            raise SpreadError(f"{said}: a group needs two names or more, each once")
        try:
            r = np.array(self.correlation, dtype=float)
        except (TypeError, ValueError):
            raise SpreadError(f"{said}: not a table of numbers") from None
        if r.ndim == 0:
            r = np.full((n, n), float(r)) + (1 - float(r)) * np.eye(n)
        if r.shape != (n, n):
            raise SpreadError(f"{said}: the matrix is {' x '.join(map(str, r.shape))}, it must be {n} x {n}")
        if not np.all(np.isfinite(r)):
            raise SpreadError(f"{said}: every number must be finite")
        if not np.allclose(r, r.T, rtol=0, atol=1e-12):
            i, k = np.argwhere(np.abs(r - r.T) > 1e-12)[0]
            raise SpreadError(f"{said}: not symmetric, {r[i, k]:g} in row {i + 1} column {k + 1} but {r[k, i]:g} across")
        if not np.allclose(np.diag(r), 1.0, rtol=0, atol=1e-12):
            raise SpreadError(f"{said}: the diagonal is {np.diag(r).tolist()}, it must be 1 throughout")
        if np.abs(r).max() > 1:
            raise SpreadError(f"{said}: {r.flat[np.abs(r).argmax()]:g} is outside -1 to 1")
        least = float(np.linalg.eigvalsh(r)[0])
        if least < -1e-9:
            raise SpreadError(f"{said}: no such numbers can exist together (least eigenvalue {least:.3g}, it must be 0 or more); "
                              "bring the correlations nearer to 0")
        r.flags.writeable = False
        object.__setattr__(self, "correlation", r)


def misfits(of: Mapping[str, Any], groups: Iterable[Group], common: Iterable[str], per_string: Any) -> list[str]:
    """What is wrong between spreads, groups and the fields common to all strings; ``per_string(name)`` knows lists."""
    wrong, taken = [], set()
    common = set(common)
    for name in sorted(common):
        if not per_string(name):
            wrong.append(f"{name}: is one number anyway; common is for a field with one number a string")
        elif name not in of:
            wrong.append(f"{name}: is called common but has no tolerance")
    for g in groups:
        for name in g.names:
            if name not in of:
                # One string of a field whose spread is given for all of them may stand in a group by itself.
                if not (bare(name) in of and per_string(bare(name)) and bare(name) not in common):
                    wrong.append(f"{name}: stands in a group but has no spread")
            elif per_string(name) and name not in common:
                wrong.append(f"{name}: errs string by string; say common before grouping it")
            if name in taken:
                wrong.append(f"{name}: stands in two groups; put both groups into one matrix")
            taken.add(name)
    return wrong


@dataclass(frozen=True)
class Tolerances:
    """Spreads by name, as deviations from the design's own numbers [unit of each field]; groups that err together; the
    per-string fields whose error is ``common`` to all strings. A spread for one string goes before that of the whole field."""

    spreads: Mapping[str, Spread] = field(default_factory=dict)
    groups: tuple[Group, ...] = ()
    common: frozenset[str] = frozenset()

    def __post_init__(self) -> None:
        object.__setattr__(self, "spreads", MappingProxyType(dict(self.spreads)))
        object.__setattr__(self, "groups", tuple(self.groups))
        object.__setattr__(self, "common", frozenset(self.common))
        wrong = [str(unknown(n)) for n in self.spreads if unit_of_field(n) is None]
        wrong += misfits(self.spreads, self.groups, self.common, is_list)
        if wrong:
            raise SpreadError("; ".join(wrong))

    def __bool__(self) -> bool:
        return bool(self.spreads)

    def __reduce__(self) -> Any:  # a mapping proxy cannot be pickled; studies send designs to workers
        return Tolerances, (dict(self.spreads), self.groups, self.common)

    def __deepcopy__(self, memo: Any) -> Tolerances:
        return self

    def __str__(self) -> str:
        if not self.spreads:
            return "none given"
        lines = [f"of {len(self.spreads)} numbers", *(f"{n:<28} {s}" for n, s in self.spreads.items()),
                 *(f"together: {', '.join(g.names)}" for g in self.groups)]
        return "\n  ".join(lines)

    __repr__ = __str__
