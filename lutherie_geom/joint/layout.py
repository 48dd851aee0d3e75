"""A joint of any kind, laid out from its description on a guitar: its contacts, its adjusters, and where the neck then stands.

    joint = lay_out("upper_pivot_cone_and_vee")       # on the guitar that its file names
    joint.freedom()                                    # rows, rank, motions left free, states of self-stress
    p = joint.pose({"tilt screw": 0.25})               # turns; arrays make a batch
    action(p, 12)                                      # every reading of the built-in joint
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lutherie_geom.design import joints as parts
from lutherie_geom.design.joint_files import load_joint
from lutherie_geom.design.joints import Adjuster, JointFile
from lutherie_geom.joint.contacts import Contacts, Freedom, Solution
from lutherie_geom.joint.dimensions import Array, Dimensions
from lutherie_geom.joint.layout_parts import changes_of, contacts_of
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.spatial import SpatialPose
from lutherie_geom.theory import contact as theory

__all__ = ["GIVE", "Layout", "ScrewMotion", "lay_out", "varied"]

GIVE = 0.5
"""Contacts that fight are let miss each other by so much [mm] before the pose counts as out of reach: parts give, or won't go.

Far less is already too much for the parts: :func:`lutherie_geom.joint.fights.allowed_miss`.
"""


def _plain(values: Array, digits: int) -> Array:
    """Rounded, and no minus before a zero."""
    return np.round(values, digits) + 0.0


@dataclass(frozen=True)
class ScrewMotion:
    """The motion that a small turn of one adjuster makes, as a screw axis; all of shape (*batch, 3) or (*batch).

    ``direction`` [1] through ``point`` [mm], ``angle`` [rad/turn] about it and ``lead`` [mm/rad] along it. Where the neck only
    slides, direction is that of the slide, ``slide`` [mm/turn] its size, angle is zero, point and lead are nan.
    """

    name: str
    direction: Array
    point: Array
    angle: Array
    lead: Array
    slide: Array

    def __str__(self) -> str:
        if np.ndim(self.angle):
            return f"{self.name}: {np.shape(self.angle)} motions"
        way = "({:+.3f}, {:+.3f}, {:+.3f})".format(*_plain(self.direction, 3))
        if self.angle == 0:
            return f"{self.name}: slides {self.slide:.4g} mm/turn along {way}, no turn"
        place = "({:.2f}, {:.2f}, {:.2f})".format(*_plain(self.point, 2))
        slide = float(_plain(self.slide, 6))
        return (f"{self.name}: {np.degrees(self.angle):.4g} deg/turn about the line through {place} mm along {way}"
                + (f", {slide:+.4g} mm/turn along it" if slide else ""))

    __repr__ = __str__


@dataclass(frozen=True)
class Layout:
    """A joint laid out on a guitar; see :func:`lay_out`."""

    file: JointFile
    dimensions: Dimensions
    contacts: Contacts
    """What holds the neck, all at their nominal place."""

    @property
    def adjusters(self) -> tuple[str, ...]:
        """Names of the adjusters, in the order of the file."""
        return tuple(a.name for a in self.file.adjusters)

    @cached_property
    def changes(self) -> dict[str, tuple[tuple[int, dict[str, Array]], ...]]:
        """For each adjuster the contacts, by their place in ``contacts``, and what a turn changes in them [mm/turn]."""
        by_name, found = {c.name: c for c in self.file.contacts}, {}
        for a in self.file.adjusters:
            c = by_name[a.contact]
            found[a.name] = tuple((self.contacts.index(rows.name), changes_of(a, c)) for rows in contacts_of(c))
        return found

    def turned(self, turns: Mapping[str, ArrayLike]) -> Contacts:
        """The contacts after ``turns`` [turn] of the adjusters named, numbers or arrays that broadcast.

        Raises KeyError for an unknown adjuster, ValueError for a plain number past an adjuster's ``least`` or ``most``. In arrays
        such samples are moved all the same; :meth:`solve` gives them no pose.
        """
        self._known(turns)
        for a, t, past in self._past(turns):
            if past.ndim == 0 and past:
                raise ValueError(f"{a.name!r} is turned {t:+g} turns; allowed is {a.least:g} to {a.most:g} turns, counted from "
                                 "where it is drawn")
        found = list(self.contacts.contacts)
        for name, t in turns.items():
            for k, per_turn in self.changes[name]:
                old = found[k].values
                new = {p: old[p] + by * np.asarray(t, dtype=float) for p, by in per_turn.items()}
                found[k] = replace(found[k], values={**old, **new})
        return Contacts(tuple(found), self.contacts.reference)

    def _known(self, names: Mapping[str, Any]) -> None:
        wrong = [n for n in names if n not in self.changes]
        if wrong:
            raise KeyError(f"no adjuster named {wrong[0]!r}; there are {', '.join(map(repr, self.changes))}")

    def _past(self, turns: Mapping[str, ArrayLike]) -> Iterator[tuple[Adjuster, Array, NDArray[np.bool_]]]:
        """Each adjuster turned, by how much, and where that is past its ends; a hair of rounding is let pass."""
        for a in self.file.adjusters:
            if a.name in turns:
                t = np.asarray(turns[a.name], dtype=float)
                yield a, t, np.asarray((t < np.asarray(a.least) - 1e-9) | (t > np.asarray(a.most) + 1e-9))

    def within(self, adjuster: str, turn: float) -> float:
        """A small turn [turn] that the adjuster can make from where it is drawn: ``turn``, or its opposite at an end."""
        self._known({adjuster: turn})
        a = next(x for x in self.file.adjusters if x.name == adjuster)
        return turn if np.all(np.less_equal(a.least, turn) & np.less_equal(turn, a.most)) else -turn

    @cached_property
    def give(self) -> float:
        """How far contacts may miss [mm] in a pose that counts: nothing but rounding, unless some can fight."""
        return GIVE if int(np.max(self.freedom().self_stress)) else 1e-9

    def solve(self, turns: Mapping[str, ArrayLike] | None = None) -> Solution:
        """The solver's whole answer; where contacts fight, ``residual`` is the largest miss that the parts must give [mm].

        No pose ("past its end") where an adjuster is past its ends, nor ("out of reach") where a shim would be of no thickness.
        """
        turns = turns or {}
        held = self.turned(turns)
        found = held.solve(tolerance=self.give)
        for c in self.file.contacts:
            if isinstance(c, parts.Shim) and any(a.contact == c.name and a.name in turns for a in self.file.adjusters):
                found = found.without(held.contacts[held.index(c.name)].values["thickness"] <= 0, "out of reach")
        for _, _, past in self._past(turns):
            found = found.without(past, "past its end")
        return found

    def pose(self, turns: Mapping[str, ArrayLike] | None = None) -> SpatialPose:
        """The neck after turns [turn] of the adjusters; nan where there is no pose, and ``reason`` says why."""
        found = self.solve(turns)
        shown = {k: np.asarray(v, dtype=float) for k, v in (turns or {}).items()}
        return SpatialPose(self.dimensions, found.pose, shown, found.reason, found.residual)

    def freedom(self, pose: SpatialPose | None = None) -> Freedom:
        """What the contacts leave free, and how well they hold the rest, at a pose (or the nominal one)."""
        return self.contacts.freedom() if pose is None else self.turned(pose.turns).freedom(pose.rigid)

    def twists(self, pose: SpatialPose | None = None) -> Array:
        """Motion of the neck for one turn of each adjuster (*batch, adjusters, 6) [mm/turn, rad/turn], by implicit slopes.

        The move is that of the contacts' reference point, then the rotation, along the body's axes.
        """
        p = self.pose() if pose is None else pose
        layout = self.turned(p.turns)
        found = [layout.answers(p.rigid, push) for push in self.pushes(p).values()]
        return np.stack(found, axis=-2) if found else np.zeros((*layout.shape, 0, 6))

    def pushes(self, pose: SpatialPose | None = None) -> dict[str, Array]:
        """For each adjuster, how every row's miss grows with a turn of it, the neck held (*batch, rows) [mm/turn]."""
        p = self.pose() if pose is None else pose
        layout, found = self.turned(p.turns), {}
        for a in self.adjusters:
            push = np.zeros((layout.rows,))
            for k, per_turn in self.changes[a]:
                push = push + layout.pushed(k, per_turn, p.rigid)
            found[a] = push
        return found

    def screw_motions(self, pose: SpatialPose | None = None) -> tuple[ScrewMotion, ...]:
        """The motion of each adjuster as a screw axis, at a pose (or the nominal one)."""
        p = self.pose() if pose is None else pose
        found = []
        for a, twist in zip(self.adjusters, np.moveaxis(self.twists(p), -2, 0), strict=True):
            move, turn = twist[..., :3], twist[..., 3:]
            angle, way = np.linalg.norm(turn, axis=-1), np.linalg.norm(move, axis=-1)
            slides = angle * self.contacts.length <= 1e-9 * np.maximum(way, 1e-300)
            safe = np.where(slides[..., None], np.nan, turn)
            names = {f"{k}_{i}": v[..., j] for k, v in (("move", move), ("turn", safe), ("ref", p.rigid.position))
                     for j, i in enumerate("xyz")}
            axis = theory.screw_axis(**names)
            direction = np.where(slides[..., None], move, turn)
            direction = direction / np.maximum(np.linalg.norm(direction, axis=-1, keepdims=True), 1e-300)
            angle = np.where(slides, 0.0, angle)
            found.append(ScrewMotion(a, direction, np.stack(axis[:3], axis=-1), angle, axis.lead,
                                     np.where(slides, way, axis.lead * angle)))
        return tuple(found)

    def way(self, adjuster: str, turns: float) -> str:
        """Clockwise or anticlockwise, as seen by the person who holds the key, for turns [turn] of either sign.

        A screw between two swivels shortens when a right-hand thread is turned clockwise; one that drives a part goes away from
        the key.
        """
        from lutherie_geom.joint.turning import way

        self._known({adjuster: turns})
        a = next(x for x in self.file.adjusters if x.name == adjuster)
        draws = isinstance(next(c for c in self.file.contacts if c.name == a.contact), parts.Link | parts.ScrewInNeck)
        toward = a.along is not None and a.along[0] > 0.5  # to the tail: toward a key in the soundhole
        return way(a.hand, a.key_from, (turns > 0) != toward, "tilt" if draws else "pivot")

    def __str__(self) -> str:
        return f"{self.file}\n{self.freedom()}"

    __repr__ = __str__


def _in_body(file: JointFile, d: Dimensions) -> JointFile:
    """The joint with every place and direction in the body frame: those in the neck's turned as the neck stands when drawn."""
    if all(p.frame == "body" for p in file.contacts) and all(a.frame == "body" for a in file.adjusters):
        return file
    p = pose(d)
    none = p.to_body(0.0, 0.0, 0.0)

    def moved(part: Any) -> Any:
        if part.frame == "body":
            return part
        new: dict[str, Any] = {"frame": "body"}
        for name in ("at", "head", "along", "faces", "face"):
            v = getattr(part, name, None)
            if v is not None:
                there = tuple(p.to_body(*v))
                new[name] = there if name in ("at", "head") else tuple(a - b for a, b in zip(there, none, strict=True))
        return part.model_copy(update=new)

    return file.model_copy(update={"contacts": tuple(map(moved, file.contacts)), "adjusters": tuple(map(moved, file.adjusters))})


def lay_out(joint: str | Path | JointFile, guitar: Any = None) -> Layout:
    """A joint on a guitar: the joint's file or name, and a design (or its name; by default the one that the joint names).

    The neck's set, board, strings and tongue are the guitar's; its own pivot and screws are left aside. Raises
    :class:`lutherie_geom.design.DesignError` for a file that can't be read or built.
    """
    from lutherie_geom.design.load import load

    described = joint if isinstance(joint, JointFile) else load_joint(joint)
    design = load(described.guitar if guitar is None else guitar) if guitar is None or isinstance(guitar, str | Path) else guitar
    d = design if isinstance(design, Dimensions) else design.dimensions()
    file = _in_body(described, d)
    held = [rows for c in file.contacts for rows in contacts_of(c)]
    x, y, z = (sum(np.asarray(c.at[k]) for c in file.contacts) / len(file.contacts) for k in range(3))
    return Layout(file, d, Contacts.of(held, reference=(x, y, z)))


def varied(joint: str | Path | JointFile, **changes: ArrayLike) -> JointFile:
    """A joint with some of its numbers replaced, by arrays of samples if wanted [mm, rad, N]: a design drawn otherwise.

    Keys are those by which a file's problems are named: ``varied(j, **{"contacts.tilt screw.head.x": array,
    "adjusters.tilt screw.pitch": 0.75})``; a place takes its axis x, y or z. Neck and body are drawn to the same place, so the
    nominal pose stays. Ranges are not checked. Raises KeyError for a number that the joint does not have.
    """
    file = joint if isinstance(joint, JointFile) else load_joint(joint)
    tables = {k: {p.name: p for p in getattr(file, k)} for k in ("contacts", "adjusters")}
    for key, value in changes.items():
        table, _, rest = key.partition(".")
        name, _, field = rest.partition(".")
        part = tables.get(table, {}).get(name)
        field, _, axis = field.partition(".")
        old = getattr(part, field, None)
        place = list(old) if isinstance(old, tuple) else []
        if part is None or field not in type(part).model_fields or isinstance(old, str) or bool(place) != (axis in tuple("xyz")):
            raise KeyError(f"{key!r} names no number of {file.name!r}; write contacts.NAME.FIELD or adjusters.NAME.FIELD, a "
                           f"place with .x, .y or .z; contacts: {', '.join(tables['contacts'])}")
        new: Any = np.asarray(value, dtype=float)
        if place:
            place["xyz".index(axis)] = new
            new = tuple(place)
        tables[table][name] = part.model_copy(update={field: new})
    return file.model_copy(update={k: tuple(v.values()) for k, v in tables.items()})
