"""Over-constraint: which contacts press against each other with no load on the neck, and what then must give.

A state of self-stress is a set of contact forces that balance among themselves: a left null vector of the contact wrench matrix.
Two sorts are told apart. A **fight** is a state of the holding contacts alone: parts that differ by a hair are forced together,
by as much as the state works on the difference (**forced fit**). A **preload** is a state that a spring or clamp screw brings in:
it is wanted, and its force is given.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lutherie_geom.design.joints import Link, Spring
from lutherie_geom.joint.contact_body import RANK_TOLERANCE
from lutherie_geom.joint.contact_kinds import Array, link
from lutherie_geom.joint.contacts import Contacts
from lutherie_geom.joint.layout import Layout, contacts_of

__all__ = ["Fight", "ForcedFit", "Preload", "Stress", "dimensions", "fights", "forced_fits", "preload_contacts", "stresses",
           "total_fit"]

PLACES = {"a": "place in the body", "p": "place in the neck"}


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


def preload_contacts(layout: Layout) -> list[tuple[str, float, Contacts]]:
    """Clamps and springs: name, force in tension [N], and its line as a contact whose row is the push for one newton."""
    found = []
    for c in layout.file.contacts:
        if isinstance(c, Spring) or (isinstance(c, Link) and c.preload is not None):
            line = link(c.name, receiver=c.at, head=c.head, length=float(np.linalg.norm(np.subtract(c.head, c.at))))
            found.append((c.name, float(c.preload or 0.0), Contacts((line,), layout.contacts.reference)))
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
    for name, newtons, line in preload_contacts(layout):
        pull = -line.wrenches()[0] * scale  # tension draws the neck's point toward the head
        rows = -np.linalg.pinv(w.T) @ pull
        names, kept, forces = _stress(layout, rows, 1.0)
        wanted.append(Preload(names, kept, forces, name, newtons, (w.T @ rows + pull) / scale))
    return (*found, *wanted)


def dimensions(layout: Layout) -> Iterator[tuple[int, str, str, str, float]]:
    """Every length that can be off: place and name of its contact, the relation's parameter, words, tolerance [mm]."""
    for c in layout.file.contacts:
        tolerance = float(layout.file.tolerance if c.tolerance is None else c.tolerance)
        for rows in contacts_of(c):
            k = layout.contacts.index(rows.name)
            for name in rows.values:
                letter, axis = name[:1], name[2:]
                if letter in PLACES and axis in ("x", "y", "z") and len(name) == 3:
                    yield k, rows.name, name, f"{rows.name}, {PLACES[letter]} along {axis}", tolerance
                elif name in ("length", "thickness", "ball_radius", "rim_radius"):
                    yield k, rows.name, name, f"{rows.name}, {name.replace('_', ' ')}", tolerance


def forced_fits(layout: Layout, tolerance: ArrayLike | None = None) -> tuple[ForcedFit, ...]:
    """For every fight, what each dimension forces when it is off by its tolerance [mm], the worst first.

    The state of self-stress, its most loaded contact at 1, times the miss that the dimension causes: the way by which the parts
    must give in the direction of that force. ``tolerance`` [mm] for all of them; by default each has that of the file.
    """
    p = layout.contacts.nominal()
    found = []
    for n, fight in enumerate(fights(layout)):
        for k, contact, name, words, given in dimensions(layout):
            off = given if tolerance is None else float(np.asarray(tolerance))
            forced = abs(float(fight.rows @ layout.contacts.push(k, name, p))) * off
            if forced > 1e-9 * max(off, 1e-300):
                found.append(ForcedFit(n, contact, name, words, off, forced))
    return tuple(sorted(found, key=lambda f: (f.fight, -f.forced)))


def total_fit(found: tuple[ForcedFit, ...]) -> NDArray[np.float64]:
    """Worst case and root sum square of forced fits [mm], one row for each fight."""
    numbers = sorted({f.fight for f in found})
    each = [np.array([f.forced for f in found if f.fight == n]) for n in numbers]
    return np.array([[v.sum(), np.sqrt((v * v).sum())] for v in each]).reshape(-1, 2)
