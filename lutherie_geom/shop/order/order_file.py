"""The operations of the workshop as data: places, tools that reach them, operations with what they need and what they close.

The library's own list lies in ``data/work/order.toml``; a builder's own file adds to it or replaces an operation. Everything that
is wrong is said at once, each with its field.
"""

from __future__ import annotations

import difflib
import tomllib
from collections.abc import Callable, Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from lutherie_geom.design.files import data_folder
from lutherie_geom.design.load import DesignError, Problem

__all__ = ["Operation", "OrderError", "Tool", "Work", "load_work", "order_text", "read_order", "ring_in", "without"]

Words = Field(min_length=1, max_length=120)


class OrderError(DesignError):
    """Operations or an order that cannot be read. ``problems`` holds every one of them."""


class Row(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class Tool(Row):
    """A tool and the places it reaches."""

    words: str = Words
    reach: tuple[str, ...] = Field(min_length=1)


class Operation(Row):
    """One operation; see the head of ``order.toml`` for each field."""

    words: str = Words
    tool: str
    at: tuple[str, ...] = Field(min_length=1)
    needs: dict[str, str] = {}
    before: dict[str, str] = {}
    closes: dict[str, str] = {}
    stands: tuple[Literal["tilt_screw", "pivot"], ...] = ()
    locks: tuple[str, ...] = ()
    turns: tuple[Literal["tilt_screw", "pivot_bass", "pivot_treble", "clamp"], ...] = ()
    cutter: bool = False
    caution: str = ""
    only_with: Literal["", "rods", "inserts"] = ""


class Work(Row):
    """All operations by name, in the order in which the files have them."""

    places: dict[str, str]
    tools: dict[str, Tool]
    operations: dict[str, Operation] = Field(min_length=1)


def load_work(*own: str | Path, only: bool = False) -> Work:
    """The library's operations, with a builder's ``own`` files laid over them in turn (``only``: the own files alone).

    Raises :class:`OrderError` with every problem: unknown field, place, tool or operation, a tool that does not reach its place,
    a ring of operations that wait for each other.
    """
    files = [] if only else [data_folder() / "work" / "order.toml"]
    rows: dict[str, dict[str, Any]] = {"places": {}, "tools": {}, "operations": {}}
    found: list[Problem] = []
    files += [Path(p) for p in own]
    for path in files:
        try:
            values = tomllib.loads(path.read_text(encoding="utf-8"))
        except (OSError, ValueError) as e:
            reason = f"cannot be opened ({e.strerror})" if isinstance(e, OSError) else f"not a TOML file: {e}"
            found.append(Problem(path.name, reason))
            continue
        for name, part in values.items():
            if name not in rows:
                found.append(Problem(name, f"unknown part; {meant(name, rows)}"))
            elif not isinstance(part, dict):
                found.append(Problem(name, f"{part!r} is not a table"))
            else:
                rows[name] |= part
    return work_of(rows, ", ".join(p.name for p in files), found)


def read_order(path: str | Path) -> tuple[str, ...]:
    """An order that a builder wrote down: a name of an operation on each line; from a # on a remark. Raises OrderError."""
    path = Path(path)
    try:
        lines = path.read_text(encoding="utf-8").splitlines()
    except (OSError, UnicodeDecodeError) as e:
        reason = e.strerror if isinstance(e, OSError) else "not text in UTF-8"
        raise OrderError([Problem(path.name, f"cannot be opened ({reason})")], "order of work") from None
    found = tuple(name for line in lines if (name := line.split("#")[0].strip()))
    if not found:
        raise OrderError([Problem(path.name, "no operation in it; write one a line")], "order of work")
    return found


def order_text(order: Iterable[str], words: Callable[[str], str]) -> str:
    """An order as :func:`read_order` takes it, with the ``words`` of every operation behind it."""
    return "".join(f"{name:12} # {words(name)}\n" for name in order)


def work_of(rows: Mapping[str, Any], source: str = "order of work", found: Iterable[Problem] = ()) -> Work:
    """The operations in a dictionary shaped like the file. Raises :class:`OrderError`."""
    problems = list(found)
    try:
        work = Work.model_validate(dict(rows))
    except ValidationError as e:
        for row in e.errors():
            field = ".".join(str(p) for p in row["loc"])
            said = "unknown key" if row["type"] == "extra_forbidden" else "is missing" if row["type"] == "missing" else (
                f"{row['input']!r}: {row['msg'][0].lower()}{row['msg'][1:]}")
            if row["type"] == "extra_forbidden" and row["loc"][0] == "operations":
                said += f"; {meant(str(row['loc'][-1]), Operation.model_fields)}"
            problems.append(Problem(field, said))
        raise OrderError(problems, source) from None
    problems += wrong_in(work)
    if problems:
        raise OrderError(problems, source)
    return work


def without(work: Work, names: Iterable[str]) -> Work:
    """The same work without some operations: what needed one of them needs what that one needed, and what had to come before one
    has to come before what that one came before."""
    rows = dict(work.operations)
    for gone in (n for n in names if n in rows):
        out = rows.pop(gone)
        for name, o in rows.items():
            changed = {part: {k: why for k, why in (getattr(out, part) | getattr(o, part)).items() if k not in (gone, name)}
                       for part in ("needs", "before") if gone in getattr(o, part)}
            if changed:
                rows[name] = o.model_copy(update=changed)
    return work.model_copy(update={"operations": rows})


def wrong_in(work: Work) -> Iterator[Problem]:
    """What does not fit together between the rows."""
    for name, tool in work.tools.items():
        yield from (Problem(f"tools.{name}.reach", f"no place {p!r}; {meant(p, work.places)}") for p in tool.reach
                    if p not in work.places)
    for name, o in work.operations.items():
        at = f"operations.{name}"
        if o.tool not in work.tools:
            yield Problem(f"{at}.tool", f"no tool {o.tool!r}; {meant(o.tool, work.tools)}")
        for part, places in (("at", o.at), ("closes", o.closes)):
            yield from (Problem(f"{at}.{part}", f"no place {p!r}; {meant(p, work.places)}") for p in places
                        if p not in work.places)
        if o.tool in work.tools:
            tool = work.tools[o.tool]
            yield from (Problem(f"{at}.at", f"{tool.words} ({o.tool}) does not reach {p!r}; it reaches "
                                f"{', '.join(map(repr, tool.reach))}")
                        for p in o.at if p in work.places and p not in tool.reach)
        for part, others in (("needs", o.needs), ("before", o.before)):
            for other in others:
                if other not in work.operations:
                    yield Problem(f"{at}.{part}", f"no operation {other!r}; {meant(other, work.operations)}")
    ring = ring_in((a, b) for a, b in listed_pairs(work) if a in work.operations)
    if ring:
        yield Problem("operations", f"wait for each other in a ring: {' before '.join(ring)}")


def listed_pairs(work: Work) -> Iterator[tuple[str, str]]:
    """(first, then) for every pair whose order the file itself sets, by needs, before or a place that is closed."""
    for name, o in work.operations.items():
        yield from ((other, name) for other in o.needs)
        yield from ((name, other) for other in o.before)
        for place in o.closes:
            yield from ((other, name) for other, p in work.operations.items() if place in p.at and other != name)


def ring_in(pairs: Iterable[tuple[str, str]]) -> list[str]:
    """A ring among pairs (first, then), the first name said again at the end; empty when there is none."""
    import networkx as nx

    try:
        ring = nx.find_cycle(nx.DiGraph(list(pairs)))
    except nx.NetworkXNoCycle:
        return []
    return [a for a, _ in ring] + [ring[0][0]]


def meant(name: str, known: Iterable[str]) -> str:
    """What was probably meant, or what there is."""
    near = difflib.get_close_matches(name, list(known), 1)
    return f"did you mean {near[0]!r}?" if near else f"there are {', '.join(known)}"
