"""Woods and screws side by side: every margin for every wood and every class of strength, in one table."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from lutherie_geom.design.catalogue import strength_class
from lutherie_geom.mechanics.givens import PARTS, GivenError, PartForces, class_numbers, numbers, wood_numbers, woods_known
from lutherie_geom.mechanics.margins import checks, forces_of
from lutherie_geom.mechanics.screws import turned

__all__ = ["Comparison", "compare"]

SCREWS = ("tilt", "clamp", "pivot")
COLUMN = 32  # characters for one class of screw


@dataclass(frozen=True)
class Comparison:
    """Ratios of provided over required [1], (margins, woods, classes), at the worst load case; nan where not known."""

    name: str
    keys: tuple[str, ...]
    words: tuple[str, ...]
    factors: tuple[float, ...]
    settles: tuple[bool, ...]
    woods: tuple[str, ...]
    classes: tuple[str, ...]
    ratios: np.ndarray

    def __getitem__(self, key: str) -> np.ndarray:
        """Ratios of one margin (woods, classes)."""
        if key not in self.keys:
            raise KeyError(f"no margin {key!r}; there are: {', '.join(self.keys)}")
        return np.asarray(self.ratios[self.keys.index(key)])

    def worst(self, place: int = 1) -> list[list[tuple[str, float]]]:
        """The worst known margin of each pair (wood by class), or with ``place`` 2 the next worst, and so on: its key and its
        ratio over the ratio wanted [1]; no key and infinite where fewer are known. Raises ValueError for a place below 1."""
        if place < 1:
            raise ValueError(f"place is {place}: the worst is 1, the next worst 2")
        part = self.ratios / np.array(self.factors)[:, None, None]
        part = np.where(np.array(self.settles)[:, None, None] | np.isnan(part), np.inf, part)
        if place > len(self.keys):
            return [[("", math.inf)] * len(self.classes) for _ in self.woods]
        k = np.argsort(part, axis=0, kind="stable")[place - 1]
        return [[(self.keys[k[i, j]] if np.isfinite(part[k[i, j], i, j]) else "", float(part[k[i, j], i, j]))
                 for j in range(len(self.classes))] for i in range(len(self.woods))]

    def unknown(self, wood: str) -> tuple[str, ...]:
        """Margins that are not known for a wood."""
        i = self.woods.index(wood)
        return tuple(key for k, key in enumerate(self.keys) if np.all(np.isnan(self.ratios[k, i])))

    def rows(self) -> list[list[Any]]:
        """One row a wood and a class: wood, class, worst margin, its ratio, how many margins are not known, and all ratios."""
        worst = self.worst()
        return [[w, c, *worst[i][j], len(self.unknown(w)), *self.ratios[:, i, j].tolist()]
                for i, w in enumerate(self.woods) for j, c in enumerate(self.classes)]

    def __str__(self) -> str:
        wide = max(len(x) for x in (*self.woods, *self.classes, "wood"))
        first = max([34, *(len(w) + 2 for w in self.woods)])
        lines = [f"{self.name}: times over what is asked, worst load case (? not known)"]
        worst = self.worst()
        same = {key for row in worst for key, _ in row}
        shown = [("worst margin over what is wanted", worst)]
        if len(same) == 1 and len(self.woods) * len(self.classes) > 1:
            # One margin that nothing here touches would hide what the choice does.
            lines.append(f"  {min(same)} is the worst of all: the second worst is shown below it")
            shown.append(("second worst", self.worst(2)))
        for title, table in shown:
            lines.append(f"  {title:<{first}}" + "".join(f"  class {c:<{COLUMN - 8}}" for c in self.classes).rstrip())
            for w, row in zip(self.woods, table, strict=True):
                gone = f"  ({len(self.unknown(w))} not known)" if self.unknown(w) and table is worst else ""
                lines.append(f"  {w:<{first}}" + "".join(f"  {r:6.2f}  {k:<{COLUMN - 10}}" for k, r in row).rstrip() + gone)
        by_class = np.array([_differs(x.T) for x in self.ratios])
        by_wood = np.array([_differs(x) for x in self.ratios])
        if len(self.woods) > 1:
            lines.append(f"  {'what depends on the wood':<34}" + "".join(f"{w:>{wide + 2}}" for w in self.woods))
            lines += [f"  {k:<34}" + "".join(f"{_show(x):>{wide + 2}}" for x in self.ratios[i, :, 0])
                      for i, k in enumerate(self.keys) if by_wood[i]]
        if len(self.classes) > 1:
            lines.append(f"  {'what depends on the class':<34}" + "".join(f"{c:>{wide + 2}}" for c in self.classes))
            lines += [f"  {k:<34}" + "".join(f"{_show(x):>{wide + 2}}" for x in self.ratios[i, 0])
                      for i, k in enumerate(self.keys) if by_class[i]]
        return "\n".join(lines)

    __repr__ = __str__


def _differs(x: np.ndarray) -> bool:
    """Whether rows of ratios (or what is known of them) differ."""
    return bool(np.any(np.isnan(x) != np.isnan(x[:1])) or np.any(~np.isclose(x, x[:1], rtol=1e-6, equal_nan=True)))


def _show(x: float) -> str:
    return "?" if math.isnan(x) else "no load" if math.isinf(x) else f"{x:.3g}"


def compare(design: Any, *, woods: Sequence[str] | None = None, classes: Sequence[str] | None = None,
            parts: Sequence[str] = PARTS, forces: PartForces | None = None, given: Mapping[str, float] | None = None,
            estimate: bool = False) -> Comparison:
    """Margins of a design with other woods and other classes of screw, all at once.

    ``woods`` for the ``parts`` named (neck and block alike, unless one is named alone), ``classes`` for all three screws; what
    is left out stays the design's. Raises CatalogueError for unknown names, GivenError for an empty list or an unknown part.
    """
    for part in parts:
        if part not in PARTS:
            raise GivenError(f"parts has {part!r}: it holds {' and '.join(PARTS)}")
    if (woods is not None and not woods) or (classes is not None and not classes) or not parts:
        raise GivenError("nothing to compare: woods, classes and parts take at least one name each")
    n = numbers(design, forces or forces_of(design), given=given, estimate=estimate)
    kept = set(given or {})
    changed: dict[str, Any] = {}
    names = tuple(woods_known(list(woods))) if woods else (f"{design.woods.neck} neck, {design.woods.block} block",)
    if woods:
        for part in parts:
            each = [wood_numbers(part, w, design.woods.moisture, estimate)[0] for w in names]
            changed |= {k: np.array([e[k] for e in each])[:, None] for k in each[0] if k not in kept}
    grades = tuple(strength_class(c).name for c in classes) if classes else (design.tilt_screw.strength_class,)
    if classes:
        for screw in SCREWS:
            each = [class_numbers(screw, c)[0] for c in grades]
            changed |= {k: np.array([e[k] for e in each])[None, :] for k in each[0] if k not in kept}
    wide = n.wide(2).replaced(**changed)
    found = list(checks(wide, turned(design)))
    shape = (len(names), len(grades))
    ratios = np.stack([c.worst(len(n.cases), shape) for c in found])
    return Comparison(design.name, tuple(c.key for c in found), tuple(c.words for c in found), tuple(c.factor for c in found),
                      tuple(c.settles for c in found), names, grades, ratios)
