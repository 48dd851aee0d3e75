"""The teacher's key: worked out for a seed when it is asked for, with every line of the working, and kept nowhere."""

from __future__ import annotations

from collections.abc import Iterable

from lutherie_geom.lessons.handing_out import Sheet
from lutherie_geom.show.exercise import said

__all__ = ["key", "key_of"]


def key_of(one: Sheet) -> str:
    """The key to one sheet: text, working, right answer, and what the known slips would come to."""
    lines = [f"Key: {one.student}", f"Seed: {one.seed}", ""]
    for k, p in enumerate(one.problems, 1):
        lines += [f"{k}. {p.name} (notebook {p.exercise.notebook})", p.lines("   "), *(f"     {line}" for line in p.working)]
        lines.append(f"   Right: {said(p.right, p.unit)} (within {p.exercise.within:.1%})")
        if p.wrong:
            lines.append("   Slips: " + "; ".join(f"{w.name} {said(w.value, p.unit)}" for w in p.wrong))
        lines.append("")
    return "\n".join(lines)


def key(sheets: Iterable[Sheet]) -> str:
    """The key to all sheets of a class."""
    return "\n".join(key_of(s) for s in sheets)
