"""Spreads of one joint: which numbers vary, which of them err together, and the file that says so.

A number is a dimension of the joint (``z_p``), a field of the design file (``pivot.z``) or an error at the bench
(``heel.ball_height``). A dimension that errs is moved alone; what an error of a field or at the bench does is in ``sources``.
A single spread and the way it is written are in ``design.spread``.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np

from lutherie_geom.design.spread import KINDS, Spread, SpreadError, read_spread
from lutherie_geom.design.tolerance_files import read_tables
from lutherie_geom.design.tolerances import BENCH, Group, bare, is_list, misfits, unit_of_field, unknown
from lutherie_geom.joint.dimensions import PER_STRING, UNITS, Array, Dimensions
from lutherie_geom.studies.sources import SOURCES, weights
from lutherie_geom.studies.varying import Varying

__all__ = ["FIELDS", "KINDS", "NAMES", "Group", "Spread", "SpreadError", "Spreads", "Variable", "Varying", "parse_spread",
           "spreads_from_toml"]


_CHOICES = ("receiver", "joint_fret", "last_fret", "along", "across", "hollowed")  # decided, not made: no error at the bench
FIELDS = tuple(f.name for f in fields(Dimensions) if f.name not in _CHOICES)
"""Names of the dimensions that may have a spread."""
NAMES = (*FIELDS, *SOURCES)
"""Names of all that may have a spread and moves a reading."""


def unit_of(name: str) -> str:
    """Unit of a dimension, a design field or a bench error inside the library."""
    return UNITS.get(name, "mm") if bare(name) in FIELDS else str(unit_of_field(name))


def known_field(name: str) -> str:
    """The name, if a number of that name may have a spread; otherwise a SpreadError with a suggestion."""
    if name in FIELDS or (bare(name) in PER_STRING) or unit_of_field(name) is not None:
        return name
    if name in _CHOICES:
        raise SpreadError(f"{name}: is chosen, not made; it has no spread")
    if "." in name:
        raise unknown(name)
    near = difflib.get_close_matches(name, FIELDS, 1, 0.5)
    hint = f"did you mean {near[0]!r}?" if near else f"known: {', '.join(FIELDS)}, and the numbers of a design file"
    raise SpreadError(f"{name}: no dimension of that name; {hint}")


def _per_string(name: str) -> bool:
    return name in PER_STRING or is_list(name)


def parse_spread(text: str, name: str = "") -> Spread:
    """The spread of a dimension called ``name``, which sets the unit; without a name lengths [mm] and angles [rad] are read."""
    if name:
        return read_spread(text, unit_of(known_field(name)), name)
    angle = isinstance(text, str) and re.search(r"deg|rad|°|arc", text)
    return read_spread(text, "rad" if angle else "mm")


@dataclass(frozen=True)
class Variable:
    """One number that varies: a dimension, design field or bench error, or a field at one string (from 0 at the bass)."""

    name: str
    field: str
    string: int | None
    spread: Spread

    @property
    def plain(self) -> bool:
        """True for a dimension, which is moved alone."""
        return self.field in FIELDS

    def way(self, strings: int) -> dict[str, Any]:
        """What 1 unit of it moves, by target; a field per string has shape (strings,)."""
        if not self.plain:
            return weights(self.field, strings, self.string)
        if self.field not in PER_STRING:
            return {self.field: 1.0}
        return {self.field: np.ones(strings) if self.string is None else np.eye(strings)[self.string]}


@dataclass(frozen=True)
class Spreads:
    """Spreads by name, groups that err together, and the per-string fields whose error is ``common`` to all strings.

    A field per string (``h_saddle``, ``strings.saddle_heights`` ...) otherwise errs string by string, each with the same
    spread; ``strings.saddle_heights[2]`` is one string's own, counted from 1 at the bass, and goes before that of the field.
    """

    of: Mapping[str, Spread]
    groups: tuple[Group, ...] = ()
    common: frozenset[str] = frozenset()

    def __post_init__(self) -> None:
        for name in self.of:
            known_field(name)
        wrong = misfits(self.of, self.groups, self.common, _per_string)
        if wrong:
            raise SpreadError("; ".join(wrong))

    @classmethod
    def of_design(cls, design: Any) -> Spreads:
        """The tolerances that stand in a design file. Raises :class:`SpreadError` if it has none."""
        t = design.tolerances
        if not t:
            raise SpreadError(f"{design.name}: no number of the design has a tolerance; write one as \"18.0 mm ± 0.2\"")
        return cls(dict(t.spreads), t.groups, t.common)

    @cached_property
    def idle(self) -> tuple[str, ...]:
        """Names that move no reading studied here."""
        return tuple(n for n in self.of if bare(n) not in FIELDS and bare(n) not in SOURCES)

    def variables(self, d: Dimensions) -> tuple[Variable, ...]:
        """The numbers that vary, their spreads as deviations from the joint's own dimensions."""
        if d.batch:
            raise SpreadError("spreads belong to one joint, not to a batch of them")
        found = []
        for name, s in self.of.items():
            s, field = replace(s, unit=unit_of(name)), bare(name)
            if field != name:
                where = None  # loads stand in a list too, but no string counts them
                if _per_string(field):
                    where = int(name[len(field) + 1 : -1]) - 1
                    if not 0 <= where < d.strings:
                        raise SpreadError(f"{name}: there is no such string; allowed is 1 to {d.strings}, from the bass")
                found.append(Variable(name, field, where, _about(s, _nominal(d, field, where), name)))
            elif _per_string(name) and name not in self.common:
                found += [Variable(f"{name}[{i + 1}]", name, i, _about(s, _nominal(d, name, i), name)) for i in range(d.strings)
                          if f"{name}[{i + 1}]" not in self.of]
            else:
                values = {_nominal(d, name, i) for i in range(d.strings)} if _per_string(name) else {_nominal(d, name, None)}
                if len(values) > 1 and (s.absolute or s.nominal is not None):
                    raise SpreadError(f"{name}: differs from string to string; a common spread is written as ± alone")
                found.append(Variable(name, name, None, _about(s, values.pop() if len(values) == 1 else None, name)))
        return tuple(found)

    def correlation(self, d: Dimensions) -> np.ndarray:
        """Correlation matrix [1] in the order of :meth:`variables`."""
        names = [v.name for v in self.variables(d)]
        r = np.eye(len(names))
        for g in self.groups:
            at = [names.index(n) for n in g.names]
            r[np.ix_(at, at)] = g.correlation
        return r

    def varying(self, d: Dimensions) -> Varying:
        """All that drawing and building need for a joint, made ready once: for many draws of the same joint."""
        return Varying(d, self.variables(d), self.groups)

    def draw(self, d: Dimensions, u: Array) -> np.ndarray:
        """Deviations [unit of each number] from even numbers u, both (variables, *samples); see :meth:`Varying.draw`."""
        return self.varying(d).draw(u)

    def built(self, d: Dimensions, deviations: Array) -> tuple[Dimensions, dict[str, Array]]:
        """The joint as built with deviations [unit of each number], (variables, *samples), and the turns [turn] by which its
        screws are off; see :meth:`Varying.built`."""
        return self.varying(d).built(deviations)

    def pushed(self, d: Dimensions, deviations: Array) -> list[tuple[dict[str, Array], dict[str, Array]]]:
        """For each varying number the exact slopes of :meth:`built`; see :meth:`Varying.pushed`."""
        return self.varying(d).pushed(deviations)

    def moved(self, d: Dimensions, deviations: Array) -> Dimensions:
        """The joint with its varying dimensions moved by deviations [unit of each], (variables, *samples).

        For names that are dimensions; others may move the screws as well and are refused: see :meth:`built`.
        """
        other = [v.name for v in self.variables(d) if not v.plain]
        if other:
            raise SpreadError(f"{other[0]}: is no dimension and may turn the screws too; use built()")
        return self.built(d, deviations)[0]

    def __str__(self) -> str:
        return "\n".join([*(f"{n:<20} {s}" for n, s in self.of.items()),
                          *(f"together: {', '.join(g.names)}" for g in self.groups)])


def _nominal(d: Dimensions, field: str, string: int | None) -> float | None:
    """The value as designed, if the joint's dimensions tell it; 0 for an error at the bench."""
    if field in BENCH:
        return 0.0
    same = field if field in FIELDS else SOURCES[field].same if field in SOURCES else ""
    if field == "body.dome_radius" and d.curvature:
        return float(1 / d.curvature)
    if not same:
        return None
    value = np.asarray(getattr(d, same), dtype=float)
    return float(value[string or 0]) if value.ndim else float(value)


def _about(s: Spread, value: float | None, name: str) -> Spread:
    if value is not None:
        return s.about(value, name)
    if s.absolute:
        raise SpreadError(f"{name}: the joint's dimensions do not tell its value; write ± and the tolerance alone, "
                          "or put the tolerance into the design file")
    return s


def spreads_from_toml(path: str | Path) -> Spreads:
    """Spreads from a file: a table ``[spreads]`` with name = "± 0.2 mm" or
    ``{ measured = [...] }``; ``common = [names]`` for per-string fields that
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
    table = values.get("spreads")
    if not isinstance(table, dict) or not table:
        wrong.append("spreads: the table [spreads] is missing or empty")
        table = {}
    found, groups, common, more = read_tables(table, values.get("groups", []), values.get("common", []),
                                              lambda name: unit_of(known_field(name)), Path(path).parent)
    wrong += [f"{name}: {said}" if name else said for name, said in more]
    wrong += misfits(dict.fromkeys(table) | found, groups, common, _per_string)  # a name with a bad spread is not missing too
    if not wrong:
        return Spreads(found, groups, common)
    head = f"{source}: {len(wrong)} problem{'s' if len(wrong) != 1 else ''}"
    raise SpreadError("\n".join([head, *(f"  - {w}" for w in wrong)]))
