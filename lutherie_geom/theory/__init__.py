"""Every formula of the library, each derived once. See :mod:`lutherie_geom.theory.relation`."""

from __future__ import annotations

import importlib

from lutherie_geom.theory.relation import Quantity, Relation

MODULES = ("scale", "dome", "steer", "tilt", "pose", "action", "tongue", "heel", "lever", "swivel", "intonation", "neck_set",
           "fasteners", "contact", "strength", "climate", "beam", "plate", "tolerances", "tongue_beam", "statics", "stiffness",
           "joint_strength", "access", "templates", "optima")

__all__ = ["MODULES", "Quantity", "Relation", "all_relations", "relations_by_module"]


def relations_by_module() -> dict[str, list[Relation]]:
    """The relations of each theory module, in the order in which they stand there."""
    found = {}
    for name in MODULES:
        module = importlib.import_module(f"lutherie_geom.theory.{name}")
        found[name] = [v for v in vars(module).values() if isinstance(v, Relation) and v.module == name]
    return found


def all_relations() -> dict[str, Relation]:
    """All relations by name."""
    return {r.name: r for rs in relations_by_module().values() for r in rs}
