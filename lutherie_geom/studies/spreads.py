"""Spreads of one joint: which dimensions vary, which of them err together, and the file that says so.

A single spread and the way it is written are in ``spread``.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from pathlib import Path
from typing import Any

import numpy as np

from lutherie_geom.design.spread import KINDS, Spread, SpreadError, read_spread
from lutherie_geom.joint.dimensions import PER_STRING, UNITS, Array, Dimensions

__all__ = ["FIELDS", "KINDS", "Group", "Spread", "SpreadError", "Spreads", "Variable", "parse_spread", "spreads_from_toml"]


_CHOICES = ("receiver", "joint_fret", "last_fret", "along", "across", "hollowed")  # decided, not made: no error at the bench
FIELDS = tuple(f.name for f in fields(Dimensions) if f.name not in _CHOICES)
"""Names of the dimensions that may have a spread."""


def unit_of(name: str) -> str:
    """Unit of a dimension inside the library."""
    return UNITS.get(name, "mm")


def known_field(name: str) -> str:
    """The name, if a dimension of that name may have a spread; otherwise a SpreadError with a suggestion."""
    if name in FIELDS:
        return name
    if name in _CHOICES:
        raise SpreadError(f"{name}: is chosen, not made; it has no spread")
    near = difflib.get_close_matches(name, FIELDS, 1, 0.5)
    hint = f"did you mean {near[0]!r}?" if near else f"known: {', '.join(FIELDS)}"
    raise SpreadError(f"{name}: no dimension of that name; {hint}")


def parse_spread(text: str, name: str = "") -> Spread:
    """The spread of a dimension called ``name``, which sets the unit; without a name lengths [mm] and angles [rad] are read."""
    if name:
        return read_spread(text, unit_of(known_field(name)), name)
    angle = isinstance(text, str) and re.search(r"deg|rad|°|arc", text)
    return read_spread(text, "rad" if angle else "mm")


@dataclass(frozen=True)
class Group:
    """Dimensions that err together, such as two holes drilled in one set-up: names and their correlation matrix [1].

    One number stands for the same correlation between all of them.
    """

    names: tuple[str, ...]
    correlation: Any = field(compare=False)

    def __post_init__(self) -> None:
        n, said = len(self.names), f"correlation of {', '.join(self.names)}"
        if n < 2 or len(set(self.names)) < n:
            raise SpreadError(f"{said}: a group needs two names or more, each once")
        try:
            r = np.asarray(self.correlation, dtype=float)
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
        object.__setattr__(self, "correlation", r)


@dataclass(frozen=True)
class Variable:
    """One number that varies: a field, or a field at one string (counted from 0 at the bass)."""

    name: str
    field: str
    string: int | None
    spread: Spread


@dataclass(frozen=True)
class Spreads:
    """Spreads by dimension, groups that err together, and the per-string fields whose error is ``common`` to all strings.

    A field per string (``h_saddle`` ...) otherwise errs string by string, each with the same spread.
    """

    of: Mapping[str, Spread]
    groups: tuple[Group, ...] = ()
    common: frozenset[str] = frozenset()

    def __post_init__(self) -> None:
        for name in self.of:
            known_field(name)
        taken: set[str] = set()
        for name in self.common:
            if name not in PER_STRING:
                raise SpreadError(f"{name}: is one number anyway; common is for {', '.join(PER_STRING)}")
        for g in self.groups:
            for name in g.names:
                if name not in self.of:
                    raise SpreadError(f"{name}: stands in a group but has no spread")
                if name in taken:
                    raise SpreadError(f"{name}: stands in two groups; put both groups into one matrix")
                if name in PER_STRING and name not in self.common:
                    raise SpreadError(f"{name}: errs string by string; say common before grouping it")
                taken.add(name)

    def variables(self, d: Dimensions) -> tuple[Variable, ...]:
        """The numbers that vary, their spreads as deviations from the joint's own dimensions."""
        if d.batch:
            raise SpreadError("spreads belong to one joint, not to a batch of them")
        found = []
        for name, s in self.of.items():
            s = replace(s, unit=unit_of(name))
            values = np.atleast_1d(np.asarray(getattr(d, name), dtype=float))
            if name in PER_STRING and name not in self.common:
                found += [Variable(f"{name}[{i + 1}]", name, i, s.about(float(v), name)) for i, v in enumerate(values)]
            elif name in PER_STRING and (s.absolute or s.nominal is not None) and np.ptp(values) > 1e-9:
                raise SpreadError(f"{name}: differs from string to string; a common spread is written as ± alone")
            else:
                found.append(Variable(name, name, None, s.about(float(values[0]), name)))
        return tuple(found)

    def correlation(self, d: Dimensions) -> np.ndarray:
        """Correlation matrix [1] in the order of :meth:`variables`."""
        names = [v.name for v in self.variables(d)]
        r = np.eye(len(names))
        for g in self.groups:
            at = [names.index(n) for n in g.names]
            r[np.ix_(at, at)] = g.correlation
        return r

    def draw(self, d: Dimensions, u: Array) -> np.ndarray:
        """Deviations [unit of each field] from even numbers u, both (variables, *samples).

        Groups are joined through normal scores: exact for normal spreads, for others the correlation of their ranks.
        """
        from scipy.special import ndtr, ndtri

        variables, u = self.variables(d), np.array(u, dtype=float)
        names = [v.name for v in variables]
        if u.shape[0] != len(names):
            raise SpreadError(f"{u.shape[0]} rows of even numbers for {len(names)} varying numbers")
        for g in self.groups:
            at = [names.index(n) for n in g.names]
            w, q = np.linalg.eigh(g.correlation)  # unlike Cholesky, fit for a correlation of 1
            root = (q * np.sqrt(np.maximum(w, 0.0))) @ q.T
            # einsum adds in one order; a matrix product may not, and a study must give the same bits on every worker.
            u[at] = ndtr(np.einsum("ij,j...->i...", root, ndtri(u[at]), optimize=False))
        return np.stack([v.spread.draw(x) for v, x in zip(variables, u, strict=True)])

    def moved(self, d: Dimensions, deviations: Array) -> Dimensions:
        """The joint with its varying numbers moved by deviations [unit of each field], (variables, *samples)."""
        deviations = np.asarray(deviations, dtype=float)
        new: dict[str, np.ndarray] = {}
        for v, by in zip(self.variables(d), deviations, strict=True):
            value = np.asarray(getattr(d, v.field), dtype=float)
            if v.field in PER_STRING:
                value = value.reshape(value.shape + (1,) * by.ndim)
                base = new.setdefault(v.field, np.broadcast_to(value, (d.strings, *by.shape)).copy())
                base[slice(None) if v.string is None else v.string] += by
            else:
                new[v.field] = value + by
        return d.replaced(**new)

    def __str__(self) -> str:
        return "\n".join([*(f"{n:<20} {s}" for n, s in self.of.items()),
                          *(f"together: {', '.join(g.names)}" for g in self.groups)])


def spreads_from_toml(path: str | Path) -> Spreads:
    """Spreads from a file: a table ``[spreads]`` with dimension = "± 0.2 mm"; ``common = [names]`` for per-string fields that
    err together; ``[[groups]]`` with ``names`` and ``correlation`` (a number or a matrix). All that is wrong is said at once."""
    import tomllib

    source = Path(path).name
    try:
        values = tomllib.loads(Path(path).read_text(encoding="utf-8"))
    except OSError as e:
        raise SpreadError(f"{source}: cannot be opened ({(e.strerror or 'unusable name').lower()})") from None
    except ValueError as e:
        raise SpreadError(f"{source}: not a TOML file in UTF-8: {e}") from None
    tables = ("spreads", "groups", "common")
    wrong = [f"{k}: no table of that name; known: {', '.join(tables)}" for k in values if k not in tables]
    found: dict[str, Spread] = {}
    table = values.get("spreads")
    if not isinstance(table, dict) or not table:
        wrong.append("spreads: the table [spreads] is missing or empty")
        table = {}
    for name, text in table.items():
        try:
            found[name] = parse_spread(text, name)
        except SpreadError as e:
            wrong.append(str(e))
    groups, rows = [], values.get("groups", [])
    for g in rows if isinstance(rows, list) else [rows]:
        try:
            if not isinstance(g, dict) or set(g) != {"names", "correlation"} or not isinstance(g["names"], list):
                raise SpreadError("groups: each needs names (a list) and correlation, nothing else")
            groups.append(Group(tuple(map(str, g["names"])), g["correlation"]))
        except SpreadError as e:
            wrong.append(str(e))
    common = values.get("common", [])
    if not isinstance(common, list):
        wrong.append("common: must be a list of names")
    if not wrong:
        try:
            return Spreads(found, tuple(groups), frozenset(map(str, common)))
        except SpreadError as e:
            wrong.append(str(e))
    head = f"{source}: {len(wrong)} problem{'s' if len(wrong) != 1 else ''}"
    raise SpreadError("\n".join([head, *(f"  - {w}" for w in wrong)]))
