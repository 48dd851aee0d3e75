"""One check of strength: what a part bears against what is asked of it, and the margin that a person reads."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from lutherie_geom.joint.reading import Reading, Verdict, at_least
from lutherie_geom.mechanics.givens import Numbers
from lutherie_geom.theory.relation import Relation

__all__ = ["Check", "Margin"]

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
    formula: str
    source: str
    leaves_out: str
    verdict: Verdict | None
    missing: str = ""
    settles: bool = False
    low: float = math.nan
    chance: float = math.nan
    verbs: tuple[str, str] = ("bears", "asked")

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
        """The margin with its formula, its sources and what it leaves out."""
        chance = "" if math.isnan(self.chance) else f"\n    falls short in {100 * self.chance:.2g} of 100, by the spreads known"
        return f"{self}{chance}\n    formula: {self.formula}\n    source: {self.source}\n    leaves out: {self.leaves_out}"

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
    sources = dict.fromkeys([*(f"{r.title}: {r.source}" for r in check.relations),
                             *(f"{u}: {n.sources[u]}" for u in check.uses if u in n.sources)])
    notes = " ".join(dict.fromkeys(r.note for r in check.relations if r.note))
    verdict = None if missing else at_least(provided, required, (check.factor - 1) * required, check.cure)
    return Margin(check.key, check.words, provided, required, check.unit, float(ratio[k]), check.factor, n.cases[k],
                  "; ".join(f"{r.title} ({r.name})" for r in check.relations), "; ".join(sources),
                  f"{check.leaves_out} {notes}".strip(), verdict, missing, check.settles, low, chance, check.verbs)
