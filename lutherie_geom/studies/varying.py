"""The varying numbers of one joint, made ready once for many samples: drawn from even numbers, and the joint built with them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from lutherie_geom.design.spread import SpreadError
from lutherie_geom.design.tolerances import Group
from lutherie_geom.joint.dimensions import Array, Dimensions
from lutherie_geom.studies.sources import built, pushed

if TYPE_CHECKING:
    from lutherie_geom.studies.spreads import Variable

__all__ = ["Varying"]


@dataclass(frozen=True)
class Varying:
    """The numbers of one joint that vary, in order, and the groups of them that err together. Made by ``Spreads.varying``."""

    of: Dimensions
    variables: tuple[Variable, ...]
    groups: tuple[Group, ...]

    @cached_property
    def _joined(self) -> list[tuple[list[int], np.ndarray]]:
        """For each group the places of its numbers, and the square root of its correlation [1]."""
        names = [v.name for v in self.variables]
        found = []
        for g in self.groups:
            w, q = np.linalg.eigh(g.correlation)  # unlike Cholesky, fit for a correlation of 1
            found.append(([names.index(n) for n in g.names], (q * np.sqrt(np.maximum(w, 0.0))) @ q.T))
        return found

    @cached_property
    def _alone(self) -> list[int]:
        grouped = {i for at, _ in self._joined for i in at}
        return [i for i in range(len(self.variables)) if i not in grouped]

    @cached_property
    def _ways(self) -> list[dict[str, Any]]:
        return [v.way(self.of.strings) for v in self.variables]

    def draw(self, u: Array) -> np.ndarray:
        """Deviations [unit of each number] from even numbers u, both (variables, *samples).

        Groups are joined through normal scores: exact for normal spreads, for others the correlation of their ranks.
        """
        from scipy.special import ndtri

        u = np.asarray(u, dtype=float)
        if u.shape[0] != len(self.variables):
            raise SpreadError(f"{u.shape[0]} rows of even numbers for {len(self.variables)} varying numbers")
        found = np.empty(u.shape)
        for at, root in self._joined:
            # einsum adds in one order; a matrix product may not, and a study must give the same bits on every worker.
            for i, z in zip(at, np.einsum("ij,j...->i...", root, ndtri(u[at]), optimize=False), strict=True):
                found[i] = self.variables[i].spread.at_score(z)
        for i in self._alone:
            found[i] = self.variables[i].spread.draw(u[i])
        return found

    def _moves(self, deviations: Array) -> tuple[dict[str, Array], dict[str, Array]]:
        """What deviations add to each target: by sources, and by dimensions moved alone."""
        moves: tuple[dict[str, Array], dict[str, Array]] = ({}, {})
        for v, way, by in zip(self.variables, self._ways, np.asarray(deviations, dtype=float), strict=True):
            for target, w in way.items():
                here = moves[v.plain]
                if np.ndim(w):
                    base = here.setdefault(target, np.zeros((self.of.strings, *by.shape)))
                    for i in np.flatnonzero(w):  # strings, not samples
                        base[i] += w[i] * by
                else:
                    here[target] = here.get(target, 0.0) + (by if w == 1 else w * by)
        return moves

    def built(self, deviations: Array) -> tuple[Dimensions, dict[str, Array]]:
        """The joint as built with deviations [unit of each number], (variables, *samples), and the turns [turn] by which its
        screws are off, by ``tilt``, ``bass`` and ``treble``: add them to what the screws are turned by."""
        return built(self.of, *self._moves(deviations))

    def pushed(self, deviations: Array) -> list[tuple[dict[str, Array], dict[str, Array]]]:
        """For each varying number the exact slopes of :meth:`built` at the deviations, (variables, *samples): of fields and
        of turns, by name [unit per unit of the number]."""
        moves, plain = self._moves(deviations)
        return [pushed(self.of, moves, plain, *(({}, way) if v.plain else (way, {})))
                for v, way in zip(self.variables, self._ways, strict=True)]
