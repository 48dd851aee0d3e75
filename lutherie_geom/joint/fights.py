"""Over-constraint: which contacts press against each other with no load on the neck, and what then must give.

A state of self-stress is a set of contact forces that balance among themselves: a left null vector of the contact wrench matrix.
Two sorts are told apart. A **fight** is a state of the holding contacts alone: parts that differ by a hair are forced together,
by as much as the state works on the difference (**forced fit**). A **preload** is a state that a spring or clamp screw brings in:
it is wanted, and its force is given.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lutherie_geom.design.joints import AnyContact, AnyFace, Link, ScrewInBody, ScrewInNeck, Shim, Spring
from lutherie_geom.joint.contact_body import RANK_TOLERANCE
from lutherie_geom.joint.contact_kinds import Array, link
from lutherie_geom.joint.contacts import Contacts, RigidPose
from lutherie_geom.joint.layout import Layout
from lutherie_geom.joint.layout_parts import apart, contacts_of, in_plane
from lutherie_geom.theory.contact import spring_tension

__all__ = ["Dimension", "Fight", "ForcedFit", "Preload", "Pressing", "Stress", "allowed_miss", "dimensions", "draws", "fights",
           "forced_fits", "preload_contacts", "stresses", "total_fit"]

PLACES = {"a": "body", "p": "neck"}


@dataclass(frozen=True)
class Stress:
    """One state of self-stress: forces of the contacts (rows,) [1], the most loaded contact carrying 1."""

    names: tuple[str, ...]
    """Contacts that take part, most loaded first."""
    rows: Array
    forces: dict[str, float]
    """Size of the force that each of them carries [1]."""

    def __str__(self) -> str:
        return f"{self.kind}: " + ", ".join(f"{n} {self.forces[n]:.3g}" for n in self.names)

    __repr__ = __str__

    @property
    def kind(self) -> str:
        """What it is called."""
        return "self-stress"


class Fight(Stress):
    """Unwanted: these contacts fight over the same motion."""

    @property
    def kind(self) -> str:
        """What it is called."""
        return "fight"


@dataclass(frozen=True)
class Preload(Stress):
    """Wanted: a clamp or spring, and what it presses on; forces per newton of its own. ``left``: what is not held [N, N mm]."""

    by: str = ""
    newtons: float = 0.0
    left: Array = field(default_factory=lambda: np.zeros(6))

    @property
    def held(self) -> bool:
        """False when the contacts can't hold the preload: it would move the neck."""
        return bool(np.max(np.abs(self.left), initial=0.0) < 1e-9)

    @property
    def kind(self) -> str:
        """What it is called."""
        return f"preload by {self.by}, {self.newtons:g} N" + ("" if self.held else " (moves the neck)")


@dataclass(frozen=True)
class ForcedFit:
    """What one dimension that is off by its tolerance [mm] forces on a fight [mm]: the parts must give so much between them."""

    fight: int
    contact: str
    parameter: str
    words: str
    tolerance: float
    forced: float

    def __str__(self) -> str:
        return f"{self.words} off by {self.tolerance:g} mm: {self.forced:.4f} mm forced"

    __repr__ = __str__


@dataclass(frozen=True)
class Pressing:
    """A clamp or spring: its force in tension as built [N], its ``rate`` [N/mm], and its line as a contact of one row.

    ``sign``: of that row's force on the neck when it is drawn.
    """

    name: str
    newtons: Array
    rate: Array
    line: Contacts
    sign: float = -1.0

    def pull(self, pose: RigidPose) -> Array:
        """What one newton of tension does to the neck at a pose (*batch, 6) [1, mm]: it draws the neck's point to the head."""
        return self.sign * self.line.wrenches(pose)[..., 0, :]

    def tension(self, pose: RigidPose) -> Array:
        """Its force in tension at a pose (*batch) [N]. Once slack it gives none: it never turns from pulling to pushing."""
        force = np.asarray(spring_tension(preload=self.newtons, rate=self.rate, longer=self.line.miss(pose)[..., 0]))
        return np.where(force * np.sign(self.newtons) < 0, 0.0, force)


def draws(c: ScrewInNeck) -> float:
    """Sign of the way in which a fixed screw's plane pushes the neck when the screw is in tension [1]."""
    way = sum((np.asarray(h) - np.asarray(a)) * n for h, a, n in zip(c.head, c.at, c.faces, strict=True))
    return float(np.sign(np.mean(way)))


def preload_contacts(layout: Layout) -> list[Pressing]:
    """The clamps and springs of a joint, in the order of its file."""
    found = []
    for c in layout.file.contacts:
        if not isinstance(c, Spring | Link | ScrewInNeck) or c.preload is None:
            continue
        # A link's row pushes the neck from the head, a fixed screw's the way that its plane faces.
        if isinstance(c, ScrewInNeck):
            line, sign = in_plane(c), draws(c)
        else:
            line, sign = link(c.name, receiver=c.at, head=c.head, length=apart(c)), -1.0
        found.append(Pressing(c.name, np.asarray(c.preload, dtype=float), np.asarray(getattr(c, "rate", 0.0)),
                              Contacts((line,), layout.contacts.reference), sign))
    return found


def _one(layout: Layout) -> Array:
    if layout.contacts.shape:
        raise ValueError(f"the layout holds a batch of shape {layout.contacts.shape}; states of self-stress belong to one joint")
    w = layout.contacts.wrenches()
    scale = np.repeat([1.0, 1 / float(layout.contacts.length)], 3)
    return np.asarray(w * scale)


def _echelon(states: Array) -> Array:
    """The same states (k, rows) as sparse as elimination makes them: each takes in as few contacts as may be."""
    a = states.copy()
    for k in range(len(a)):
        free = np.abs(a[k:])
        row, column = divmod(int(np.argmax(free)), free.shape[1])
        a[[k, k + row]] = a[[k + row, k]]
        a[k] /= a[k, column]
        others = np.arange(len(a)) != k
        a[others] -= np.outer(a[others, column], a[k])
    a[np.abs(a) < 1e-9] = 0.0
    return a


def _carried(layout: Layout, rows: Array) -> dict[str, float]:
    found, first = {}, 0
    for c in layout.contacts.contacts:
        found[c.name] = float(np.linalg.norm(rows[first:first + c.rows]))
        first += c.rows
    return found


def _stress(layout: Layout, rows: Array, size: float | None = None) -> tuple[tuple[str, ...], Array, dict[str, float]]:
    forces = _carried(layout, rows)
    by = (max(forces.values()) or 1.0) if size is None else size
    forces = {k: v / by for k, v in forces.items() if v > 1e-9 * by}
    return tuple(sorted(forces, key=lambda k: -forces[k])), rows / by, forces


def fights(layout: Layout) -> tuple[Fight, ...]:
    """Fights of the holding contacts at the nominal pose; none when the joint is exactly constrained (or less)."""
    w = _one(layout)
    u, s, _ = np.linalg.svd(w)
    rank = int(np.sum(s > RANK_TOLERANCE * s[0]))
    states = u[:, rank:].T
    return tuple(Fight(*_stress(layout, rows)) for rows in _echelon(states)) if len(states) else ()


def stresses(layout: Layout) -> tuple[Stress, ...]:
    """All states of self-stress: fights first, then one preload for each clamp and spring."""
    w, found = _one(layout), list(fights(layout))
    scale = np.repeat([1.0, 1 / float(layout.contacts.length)], 3)
    wanted: list[Stress] = []
    for c in preload_contacts(layout):
        pull = c.pull(layout.contacts.nominal()) * scale
        rows = -np.linalg.pinv(w.T) @ pull
        names, kept, forces = _stress(layout, rows, 1.0)
        wanted.append(Preload(names, kept, forces, c.name, float(c.newtons), (w.T @ rows + pull) / scale))
    return (*found, *wanted)


@dataclass(frozen=True)
class Dimension:
    """A place, length or squareness of one contact that can be off, by its ``tolerance`` [mm].

    ``changes``: which numbers of the contact's relation 1 mm of it changes, and by how much. A face out of square is measured at
    its edge, half its size from the middle; a screw's direction at the screw's end.
    """

    k: int
    contact: str
    parameter: str
    changes: Mapping[str, Array]
    words: str
    tolerance: float

    def push(self, contacts: Contacts, pose: RigidPose) -> Array:
        """How every row's miss grows with it, the neck held (*batch, rows) [mm/mm]."""
        return contacts.pushed(self.k, self.changes, pose)


def dimensions(layout: Layout) -> Iterator[Dimension]:
    """Everything that can be off, contact by contact: places, lengths, faces out of square, screws out of true.

    The direction of a vee is not among them: it turns about its ball and forces nothing. That of a hinge pin is: the places of
    its far end.
    """
    parts_named = layout.file.bodies
    for c in layout.file.contacts:
        tolerance = float(layout.file.tolerance if c.tolerance is None else c.tolerance)
        for rows in contacts_of(c):
            k = layout.contacts.index(rows.name)
            for name in rows.values:
                letter, axis = name[:1], name[2:]
                if letter in PLACES and axis in ("x", "y", "z") and len(name) == 3:
                    where = getattr(parts_named, PLACES[letter])
                    yield Dimension(k, rows.name, name, {name: np.ones(())}, f"{rows.name}, place in the {where} along {axis}",
                                    tolerance)
                elif name in ("length", "ball_radius", "rim_radius") or (name == "thickness" and isinstance(c, Shim)):
                    yield Dimension(k, rows.name, name, {name: np.ones(())}, f"{rows.name}, {name.replace('_', ' ')}", tolerance)
            for parameter, changes, words in _slants(c, rows.values, layout):
                yield Dimension(k, rows.name, parameter, changes, f"{rows.name}, {words}", tolerance)


def _slants(c: AnyContact, v: Mapping[str, Array], layout: Layout) -> Iterator[tuple[str, dict[str, Array], str]]:
    """Directions of a contact that can be off: parameter, what 1 mm at the edge or at the end changes, words."""
    def way(letter: str) -> Array:
        return _unit(np.stack(np.broadcast_arrays(*(v[f"{letter}_{i}"] for i in "xyz")), axis=-1))

    def leaned(letter: str, toward: Array, reach: Array) -> dict[str, Array]:
        size = np.sqrt(sum(np.asarray(v[f"{letter}_{i}"]) ** 2 for i in "xyz"))
        return {f"{letter}_{i}": size * toward[..., j] / reach for j, i in enumerate("xyz")}

    if isinstance(c, AnyFace):
        n = way("n")
        across = _unit(np.cross(n, way("d")))
        for name, toward in (("along", np.cross(across, n)), ("across", across)):
            half = v[f"half_{name}"]
            yield f"slope_{name}", {f"slope_{name}": 1 / half}, f"face of the {layout.file.bodies.body} square {name}"
            yield f"u_{name}", leaned("u", toward, half), f"face of the {layout.file.bodies.neck} square {name}"
            if isinstance(c, Shim):
                yield f"taper_{name}", {f"slope_{name}": 1 / half}, f"taper {name}"
    elif isinstance(c, ScrewInNeck | ScrewInBody):
        letter = "u" if isinstance(c, ScrewInNeck) else "d"
        own = way(letter)
        first = _unit(np.cross(own, np.eye(3)[int(np.argmin(np.abs(own).reshape(-1, 3).max(axis=0)))]))
        for k, toward in enumerate((first, np.cross(own, first)), start=1):
            yield f"{letter}_{k}", leaned(letter, toward, v["length"]), f"screw's direction, way {k} across"


def _unit(v: Array) -> Array:
    return np.asarray(v / np.linalg.norm(v, axis=-1, keepdims=True))


def forced_fits(layout: Layout, tolerance: ArrayLike | None = None) -> tuple[ForcedFit, ...]:
    """For every fight, what each dimension forces when it is off by its tolerance [mm], the worst first.

    The state of self-stress, its most loaded contact at 1, times the miss that the dimension causes: the way by which the parts
    must give in the direction of that force. ``tolerance`` [mm] for all of them; by default each has that of the file.
    """
    p = layout.contacts.nominal()
    found = []
    for n, fight in enumerate(fights(layout)):
        for d in dimensions(layout):
            off = d.tolerance if tolerance is None else float(np.asarray(tolerance))
            forced = abs(float(fight.rows @ d.push(layout.contacts, p))) * off
            if forced > 1e-9 * max(off, 1e-300):
                found.append(ForcedFit(n, d.contact, d.parameter, d.words, off, forced))
    return tuple(sorted(found, key=lambda f: (f.fight, -f.forced)))


def allowed_miss(layout: Layout) -> float:
    """Largest miss of a contact [mm] that the file's tolerances leave at the nominal pose, all of them at their worst.

    The part of each dimension's misses that no move of the neck takes up; 0 where nothing fights.
    """
    states = np.linalg.svd(_one(layout))[0][:, int(layout.freedom().rank):]
    p = layout.contacts.nominal()
    left = [np.abs(states @ (states.T @ d.push(layout.contacts, p))) * d.tolerance for d in dimensions(layout)]
    return float(np.sum(left, axis=0).max(initial=0.0))


def total_fit(found: tuple[ForcedFit, ...]) -> NDArray[np.float64]:
    """Worst case and root sum square of forced fits [mm], one row for each fight."""
    numbers = sorted({f.fight for f in found})
    each = [np.array([f.forced for f in found if f.fight == n]) for n in numbers]
    return np.array([[v.sum(), np.sqrt((v * v).sum())] for v in each]).reshape(-1, 2)
