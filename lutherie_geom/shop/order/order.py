"""The order of work: a valid one, why each step stands where it does, what locks which part in, and how to mend a builder's own.

Three things put one operation before another: the file says that the second *needs* the first; the second *closes* a place that
the first must reach; or geometry (:mod:`.access`, :mod:`.keys`): a cutter would meet a screw that already stands, a key would
have no way in once the box is closed.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise
from typing import Any

from lutherie_geom.design.load import Problem
from lutherie_geom.joint.bores import has_insert
from lutherie_geom.mechanics.rods import fitted
from lutherie_geom.shop.order.access import Box, Cutter, box_of, meetings
from lutherie_geom.shop.order.keys import Hand, KeyWay, key_ways
from lutherie_geom.shop.order.order_file import OrderError, Work, load_work, meant, ring_in, without

__all__ = ["Fault", "Impossible", "Mending", "Move", "NoReturn", "Plan", "Reason", "kept_most", "plan", "put_after"]

INSIDE = "box inside"
"""The place that the back closes: where a key has no way in from outside, this must still be open."""


class Impossible(ValueError):
    """No order builds this joint: operations wait for each other in a ring, each link with its reason."""


@dataclass(frozen=True)
class Reason:
    """Why ``first`` comes before ``then``. ``kind``: needs, closes, cutter or key."""

    first: str
    then: str
    kind: str
    words: str


@dataclass(frozen=True)
class Fault:
    """The first step of an order that cannot be done: ``step`` counts from 1."""

    operation: str
    step: int
    reason: Reason
    words: str

    def __str__(self) -> str:
        return self.words


@dataclass(frozen=True)
class Move:
    """One operation taken out and put back elsewhere; steps count from 1."""

    operation: str
    was: int
    now: int
    words: str


@dataclass(frozen=True)
class Mending:
    """The least change that makes an order valid."""

    order: tuple[str, ...]
    moves: tuple[Move, ...]

    def __str__(self) -> str:
        return "\n".join(m.words for m in self.moves) or "nothing to move: this order can be done"


@dataclass(frozen=True)
class NoReturn:
    """The step after which a part cannot be taken out, and what must have been done at it by then, with why."""

    part: str
    operation: str
    step: int
    by_then: tuple[Reason, ...]


@dataclass(frozen=True)
class Plan:
    """Operations, the design that they build, and every reason for their order."""

    work: Work
    keys: dict[str, KeyWay]
    reasons: tuple[Reason, ...]
    left_out: Mapping[str, str] = field(default_factory=dict)
    """Operations for which this design has nothing, each with what it has not."""

    @cached_property
    def graph(self) -> Any:
        """The reasons as a networkx DiGraph: an edge from what comes first to what comes after."""
        import networkx as nx

        g = nx.DiGraph()
        g.add_nodes_from(self.work.operations)
        for r in self.reasons:
            if g.has_edge(r.first, r.then):
                g.edges[r.first, r.then]["reasons"].append(r)
            else:
                g.add_edge(r.first, r.then, reasons=[r])
        return g

    @cached_property
    def before(self) -> frozenset[tuple[str, str]]:
        """All pairs (first, then) that must stand so, directly or through others."""
        import networkx as nx

        return frozenset(nx.transitive_closure_dag(self.graph).edges)

    @cached_property
    def order(self) -> tuple[str, ...]:
        """A valid order: of all that can be done next, always what stands first in the file."""
        return self._sorted(self.graph, tuple(self.work.operations))

    def __str__(self) -> str:
        locked: dict[int, list[str]] = {}
        for x in self.no_return():
            locked.setdefault(x.step, []).append(x.part)
        marks = {k: f"  [from here on locked in: {', '.join(parts)}]" for k, parts in locked.items()}
        return "\n".join(f"{k:2d}  {self.words(name)}{marks.get(k, '')}" for k, name in enumerate(self.order, 1))

    @staticmethod
    def _sorted(graph: Any, wish: Sequence[str]) -> tuple[str, ...]:
        import networkx as nx

        place = {name: k for k, name in enumerate(wish)}
        return tuple(nx.lexicographical_topological_sort(graph, key=place.__getitem__))

    def words(self, name: str) -> str:
        """What is done, in words."""
        return self.work.operations[name].words

    def why(self, name: str) -> list[str]:
        """Why an operation stands where it does: what it waits for, and what would lock it out; if it waits for nothing, all that
        waits for it. Raises OrderError for no such name."""
        self._complete([name], whole=False)
        found: dict[str, list[str]] = {}
        for r in self.reasons:
            if r.then == name:
                found.setdefault(f"after '{self.words(r.first)}'", []).append(r.words)
        waits = bool(found)
        for r in self.reasons:
            if r.first == name and (r.kind != "needs" or not waits):
                found.setdefault(f"before '{self.words(r.then)}'", []).append(r.words)
        told = [f"{where}: {'; '.join(why)}" for where, why in found.items()]
        return told or ["anywhere: nothing waits for it, and it waits for nothing"]

    @cached_property
    def windows(self) -> dict[str, tuple[int, int]]:
        """Earliest and latest step (from 1) of each operation over all valid orders."""
        n = len(self.work.operations)
        early, late = dict.fromkeys(self.work.operations, 1), dict.fromkeys(self.work.operations, n)
        for first, then in self.before:
            early[then] += 1
            late[first] -= 1
        return {name: (early[name], late[name]) for name in self.work.operations}

    def no_return(self, order: Sequence[str] | None = None) -> tuple[NoReturn, ...]:
        """The point of no return of each part that gets locked in, in the order given (default: the plan's own)."""
        order = self.order if order is None else self._complete(order)
        found = []
        for step, name in enumerate(order, 1):
            by_then = tuple(r for r in self.reasons if r.then == name and r.kind != "needs")
            for part in self.work.operations[name].locks:
                # What the part itself is in the way of counts too: its screw already stands.
                also = tuple(r for r in self.reasons if r.kind == "cutter" and r.then != name
                             and part.replace(" ", "_") in self.work.operations[r.then].stands)
                found.append(NoReturn(part, name, step, by_then + also))
        return tuple(found)

    def check(self, order: Sequence[str]) -> Fault | None:
        """The first step of a builder's own order that cannot be done, or None. Raises OrderError when an operation is unknown,
        missing or there twice."""
        order = self._complete(order)
        step = {name: k for k, name in enumerate(order, 1)}
        faults = []
        for r in self.reasons:
            if step[r.first] < step[r.then]:
                continue
            early, late = (r.then, r.first)
            name, other = (early, late) if r.kind == "needs" else (late, early)
            said = (f"'{self.words(other)}' comes only at step {step[other]}, and {r.words}" if r.kind == "needs" else
                    f"'{self.words(other)}' came at step {step[other]}: {r.words}")
            faults.append(Fault(name, step[name], r, f"step {step[name]}, '{self.words(name)}', cannot be done: {said}"))
        return min(faults, key=lambda f: f.step, default=None)

    def mend(self, order: Sequence[str]) -> Mending:
        """The least change: as many operations as possible keep their order, the others are put where they can be done, as near
        as may be to where they were. Raises OrderError as :meth:`check` does."""
        order = self._complete(order)
        kept = kept_most(order, self.before)
        held = self.graph.copy()
        held.add_edges_from(pairwise(kept))
        now = self._sorted(held, order)
        moves = []
        for name in (x for x in order if x not in kept):
            k = now.index(name)
            where = f"after '{self.words(now[k - 1])}'" if k else "to the very beginning"
            was = order.index(name) + 1
            moves.append(Move(name, was, k + 1, f"move '{self.words(name)}' from step {was} to step {k + 1}, {where}"))
        return Mending(now, tuple(moves))

    def _complete(self, order: Sequence[str], *, whole: bool = True) -> tuple[str, ...]:
        known, found = self.work.operations, []
        for k, name in enumerate(order, 1):
            if name in self.left_out:
                found.append(Problem(f"step {k}", f"{name!r} is no step here: this design has no {self.left_out[name]}"))
            elif name not in known:
                found.append(Problem(f"step {k}", f"no operation {name!r}; {meant(name, known)}"))
            elif name in order[:k - 1]:
                found.append(Problem(f"step {k}", f"{name!r} is there twice"))
        if whole:
            found += [Problem("order", f"{name!r} ('{self.words(name)}') is missing") for name in known if name not in order]
        if found:
            raise OrderError(found, "order of work")
        return tuple(order)


def put_after(order: Sequence[str], name: str, after: str) -> tuple[str, ...]:
    """The same order with one operation put right after another."""
    rest = [x for x in order if x != name]
    k = rest.index(after) + 1
    return (*rest[:k], name, *rest[k:])


def kept_most(order: Sequence[str], before: Iterable[tuple[str, str]]) -> tuple[str, ...]:
    """The longest part of an order that can stay as it is, ``before`` holding every pair (first, then), closed under "before".

    Two operations quarrel when they stand the wrong way round. If a quarrels with b, and b with a later c, then a quarrels with
    c: the quarrels are themselves an order. So the most operations without a quarrel are its largest antichain, which a matching
    gives exactly (theorems of Dilworth and König, from memory). The others can always be put back, since what is kept
    contradicts nothing.
    """
    import networkx as nx

    place = {name: k for k, name in enumerate(order)}
    quarrels = [(b, a) for a, b in before if place[b] < place[a]]
    if not quarrels:
        return tuple(order)
    g = nx.Graph()
    g.add_edges_from(((early, 0), (late, 1)) for early, late in sorted(quarrels))
    left = {node for node in g if node[1] == 0}
    matching = nx.bipartite.hopcroft_karp_matching(g, left)
    cover = {name for name, _ in nx.bipartite.to_vertex_cover(g, matching, left)}
    return tuple(name for name in order if name not in cover)


def plan(design: Any, work: Work | None = None, *, cutter: Cutter | None = None, box: Box | None = None,
         hand: Hand | None = None) -> Plan:
    """The plan for a design with its operations (default: the library's), router, box and keys; what is only done with rods or
    inserts is left out of a design that has none.

    Raises :class:`Impossible` when no order works, naming the ring of operations with the reason of every link.
    """
    has = {"": True, "rods": fitted(design), "inserts": has_insert(design)}
    whole = work or load_work()
    left_out = {name: o.only_with for name, o in whole.operations.items() if not has[o.only_with]}
    work = without(whole, left_out)
    keys = key_ways(design, box or box_of(design), hand)
    found = Plan(work, keys, tuple(_reasons(design, work, cutter, keys)), left_out)
    ring = ring_in((r.first, r.then) for r in found.reasons)
    if ring:
        links = [next(r for r in found.reasons if (r.first, r.then) == pair) for pair in pairwise(ring)]
        raise Impossible("no order of work builds this joint:\n" + "\n".join(
            f"  - '{found.words(r.first)}' must come before '{found.words(r.then)}': {r.words}" for r in links))
    return found


def _reasons(design: Any, work: Work, cutter: Cutter | None, keys: dict[str, KeyWay]) -> Iterable[Reason]:
    """Every reason, listed or computed, each pair of operations and cause once."""
    for name, o in work.operations.items():
        yield from (Reason(other, name, "needs", why) for other, why in o.needs.items())
        yield from (Reason(name, other, "needs", why) for other, why in o.before.items())
        shut: dict[tuple[str, str], list[str]] = {}
        for place, why in o.closes.items():
            for other, p in work.operations.items():
                if place in p.at and other != name:
                    shut.setdefault((other, why), []).append(f"the {place}")
        yield from (Reason(other, name, "closes", f"{work.tools[work.operations[other].tool].words} must still reach "
                           f"{' and '.join(places)}; then {why}") for (other, why), places in shut.items())
    closers = [name for name, o in work.operations.items() if INSIDE in o.closes]
    for name, o in work.operations.items():
        for way in (keys[s] for s in o.turns if not keys[s].open):
            yield from (Reason(name, back, "key", str(way)) for back in closers if back != name)
        if o.cutter:
            for other, p in work.operations.items():
                worst = min(meetings(design, cutter, p.stands), key=lambda m: m.margin, default=None)
                if worst and worst.meets and other != name:
                    yield Reason(name, other, "cutter", str(worst))
