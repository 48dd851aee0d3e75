"""One check of strength: what a part bears against what is asked of it, and the margin that a person reads."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np

from lutherie_geom.design.lines import folded
from lutherie_geom.joint.reading import Reading, Verdict, at_least
from lutherie_geom.mechanics.givens import Numbers
from lutherie_geom.theory.relation import Relation

__all__ = ["Check", "Margin", "Source", "told"]

Array = Any
ORDER = {"fails": 0, "not known": 1, "tight": 2, "beds in": 3, "good": 4}


@dataclass(frozen=True)
class Check:
    """What is ``provided`` and what is ``required``, in ``unit``; both broadcast to (cases, *batch), nan where not known.

    ``factor``: how many times the required is wanted before nothing need be said. ``settles``: falling short is no failure,
    the place beds in. ``uses``: names of the numbers that went in.
    """

    key: str
    words: str
    provided: Array
    required: Array
    unit: str
    factor: float
    relations: tuple[Relation, ...]
    uses: tuple[str, ...]
    leaves_out: str
    cure: str = ""
    settles: bool = False
    verbs: tuple[str, str] = ("bears", "asked")

    @property
    def ratio(self) -> Array:
        """Provided over required [1]; infinite where nothing is asked."""
        p, r = np.asarray(self.provided, dtype=float), np.asarray(self.required, dtype=float)
        with np.errstate(divide="ignore", invalid="ignore"):
            # Nothing asked is met by anything, but a number that is missing stays missing.
            return np.where((r == 0) & ~np.isnan(p), np.inf, p / r)

    def worst(self, cases: int, batch: tuple[int, ...] = ()) -> Array:
        """Least ratio [1] over the load cases, (*batch)."""
        return np.min(np.broadcast_to(self.ratio, (cases, *batch)), axis=0)


@dataclass(frozen=True)
class Source:
    """Where a formula or a number comes from: what it is called, and the text of its source."""

    what: str
    text: str

    def __str__(self) -> str:
        return f"{self.what}: {self.text}"


@dataclass(frozen=True)
class Margin:
    """One margin of strength at its worst load case: ``ratio`` [1] is provided over required, both in ``unit``.

    ``low``: the ratio that 95 boards and screws of 100 reach; ``chance``: share of them below 1; nan when not asked for.
    ``missing`` says which number was not found and is to be given.
    """

    key: str
    words: str
    provided: float
    required: float
    unit: str
    ratio: float
    factor: float
    case: str
    formulas: tuple[Source, ...]
    numbers: tuple[Source, ...]
    leaves_out: str
    verdict: Verdict | None
    missing: str = ""
    settles: bool = False
    low: float = math.nan
    chance: float = math.nan
    verbs: tuple[str, str] = ("bears", "asked")

    @property
    def formula(self) -> str:
        """The formulas by title and name."""
        return "; ".join(f.what for f in self.formulas)

    @property
    def source(self) -> str:
        """The sources of the formulas and of the numbers that went in."""
        return "; ".join(map(str, (*self.formulas, *self.numbers)))

    @property
    def state(self) -> str:
        """``fails``, ``not known``, ``tight``, ``beds in`` or ``good``."""
        if self.verdict is None:
            return "not known"
        return "beds in" if self.settles and self.verdict.state == "fails" else self.verdict.state

    @property
    def rank(self) -> tuple[int, float]:
        """The worst comes first when sorted by this."""
        size = self.verdict.ratio if self.verdict else 0.0
        return ORDER[self.state], -math.inf if math.isnan(size) else size

    def __str__(self) -> str:
        head = f"{self.state.upper():<9} {self.words}"
        if self.missing:
            return f"{head}: not known. {self.missing}"
        times = f"{self.ratio:.2g} times" if math.isfinite(self.ratio) else "nothing is asked of it"
        low = f"; 95 in 100 reach {self.low:.2g}" if math.isfinite(self.low) else ""
        bad = self.state in ("fails", "tight")
        cure = f" -> {self.verdict.cure}" if bad and self.verdict and self.verdict.cure else ""
        load = f" under \"{self.case}\"" if self.state == "fails" and self.case else ""
        unit = f" {self.unit}" if self.unit else ""
        return (f"{head}: {self.verbs[0]} {self.provided:.3g}{unit}, {self.verbs[1]} {self.required:.3g}{unit}{load}: {times} "
                f"(wanted {self.factor:g}{low}){cure}")

    def tell(self) -> str:
        """The margin with its load case, formulas, numbers and what it leaves out; the sources, numbered, at the end."""
        return folded(*told([self]))

    @property
    def reading(self) -> Reading:
        """The margin as a reading of the joint book."""
        value: Any = self.ratio if math.isfinite(self.ratio) else "not known" if self.missing else "nothing asked"
        return Reading(f"margin.{self.key}", self.words, value, "times" if isinstance(value, float) else "",
                       f"{self.formula}. Source: {self.source}. Leaves out: {self.leaves_out}", self.verdict)


def margin_of(check: Check, n: Numbers, low: float = math.nan, chance: float = math.nan) -> Margin:
    """The margin of a check at its worst load case."""
    ratio = np.broadcast_to(check.ratio, len(n.cases))
    k = int(np.argmin(np.where(np.isnan(ratio), -np.inf, ratio)))
    provided, required = (float(np.broadcast_to(x, len(n.cases))[k]) for x in (check.provided, check.required))
    gone = n.missing(check.uses)
    missing = ""
    if math.isnan(ratio[k]):
        what = "; ".join(f"{g}: {n.sources[g]}" for g in gone) or "a number is not a number"
        missing = f"{what}. Give your own: given={{{', '.join(f'{g!r}: ...' for g in gone)}}}"
    notes = dict.fromkeys(r.note for r in check.relations if r.note and r.note not in check.leaves_out)
    verdict = None if missing else at_least(provided, required, (check.factor - 1) * required, check.cure)
    formulas = tuple(dict.fromkeys(Source(f"{r.title} ({r.name})", r.source) for r in check.relations))
    known = tuple(Source(u, n.sources[u]) for u in dict.fromkeys(check.uses) if u in n.sources)
    return Margin(check.key, check.words, provided, required, check.unit, float(ratio[k]), check.factor, n.cases[k], formulas,
                  known, " ".join([check.leaves_out, *notes]).strip(), verdict, missing, check.settles, low, chance, check.verbs)


def told(margins: Iterable[Margin]) -> list[str]:
    """Lines that tell each margin in full; a source is a number in brackets, and stands once, in a list at the end."""
    place: dict[str, int] = {}

    def cited(sources: tuple[Source, ...]) -> str:
        return "; ".join(f"{s.what} [{place.setdefault(s.text, len(place) + 1)}]" for s in sources)

    lines: list[str] = []
    for m in margins:
        lines.append(f"  {m}")
        if not math.isnan(m.chance):
            lines.append(f"    falls short in {100 * m.chance:.2g} of 100, by the spreads known")
        lines += [f"    formula: {cited(m.formulas)}"]
        if m.numbers:
            lines.append(f"    numbers: {cited(m.numbers)}")
        lines += [f"    leaves out: {m.leaves_out}", f"    load case: {m.case}"]
    return [*lines, "sources:", *(f"  [{k}] {text}" for text, k in place.items())]
