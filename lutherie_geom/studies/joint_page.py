"""One page about one joint on one guitar: what it holds, what it lets go, what a screw does, what that costs.

Every joint is read by the same functions as the built-in one. The readings that a comparison weighs are asked for the same change
of the action, :data:`LIFT`, made by the adjuster that is there for it, so that a fine thread and a coarse one are judged alike.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np

from lutherie_geom.design.carried import Load
from lutherie_geom.design.joints import JointFile
from lutherie_geom.joint.body import heel_fit, least_gap
from lutherie_geom.joint.fights import Fight, ForcedFit, fights, forced_fits, preload_contacts, total_fit
from lutherie_geom.joint.layout import Layout, lay_out
from lutherie_geom.joint.layout_readings import (
    SIXTEENTH,
    AnyCoupling,
    any_coupling,
    any_travel,
    coupling_of_screws,
    own_adjuster,
    read_layout,
)
from lutherie_geom.joint.pitch import drift, fretted_errors, strings_of
from lutherie_geom.joint.reading import Reading, Readings
from lutherie_geom.joint.strings import action, open_length
from lutherie_geom.joint.travel import Travel
from lutherie_geom.mechanics.layout_forces import (
    AXES,
    Carried,
    carried_forces,
    force_bounds,
    least_preload,
    least_preloads,
    lifts,
    load_factor,
    screw_forces,
)
from lutherie_geom.mechanics.loads import each_way, load_wrench
from lutherie_geom.mechanics.pull import CAUTION, axis_middle, string_pull

__all__ = ["FRET", "LIFT", "JointPage", "joint_page"]

LIFT = 0.25
"""Change of the mean action [mm] at :data:`FRET` for which a joint is asked what it brings along: a usual correction."""
FRET = 12
ASKED = ("step", "travel", "steer", "coupled", "length", "drift", "fretted", "gap", "reveal", "force")  # of an adjuster
LEFT_OUT = "Left out: friction, the give of wood and metal. No proof of strength."


def _mean(p: Any) -> float:
    return float(action(p, FRET).mean())


def _span(low: float, high: float) -> str:
    ends = [f"{round(v) + 0 if math.isfinite(v) else v}" for v in (low, high)]
    return ends[0] if ends[0] == ends[1] else " to ".join(ends)


@dataclass(frozen=True)
class JointPage:
    """One joint laid out on a guitar, and what it comes to. ``guitar`` is the design."""

    layout: Layout
    guitar: Any

    @property
    def name(self) -> str:
        """What the joint is called."""
        return self.layout.file.name

    @cached_property
    def rest(self) -> Any:
        """The neck's pose, all screws as drawn."""
        return self.layout.pose()

    @cached_property
    def _strings(self) -> tuple[np.ndarray, np.ndarray]:
        """The strings' pull on the neck (6,) [N, N mm] and the place that its moment is about [mm]."""
        return string_pull(self.guitar, self.rest).wrench, axis_middle(self.rest)

    @cached_property
    def fights(self) -> tuple[Fight, ...]:
        """Contacts that press against each other with no load on the neck."""
        return fights(self.layout)

    @cached_property
    def fits(self) -> tuple[ForcedFit, ...]:
        """What each dimension off by its tolerance forces on each fight [mm]."""
        return forced_fits(self.layout)

    @cached_property
    def coupling(self) -> AnyCoupling | None:
        """What each adjuster does, for a turn; None for a joint without adjusters."""
        return any_coupling(self.layout, fret=FRET) if self.layout.adjusters else None

    @cached_property
    def own(self) -> str | None:
        """The adjuster that is there to set the action; None when the joint has none."""
        return None if self.coupling is None else self.layout.adjusters[own_adjuster(self.coupling.seen)]

    @cached_property
    def travel(self) -> Travel | None:
        """Travel of that adjuster [turn], with every stop."""
        return None if self.own is None else any_travel(self.layout, self.guitar, self.own)

    @cached_property
    def reached(self) -> tuple[float, float]:
        """Change of the mean action [mm] at both ends of that travel, lower end first; nan without an adjuster."""
        if self.travel is None:
            return math.nan, math.nan
        rest = _mean(self.rest)
        # A hair inside: at a stop of the contacts' own the pose just ceases to be.
        ends = [_mean(self.layout.pose({self.own or "": t * (1 - 1e-6)})) - rest for t in (self.travel.low, self.travel.high)]
        return min(ends), max(ends)

    @cached_property
    def lift_turns(self) -> float:
        """Turns of the own adjuster that raise the mean action by :data:`LIFT`, by Newton on the full model; nan without one, and
        where its ends come first."""
        if self.own is None or self.coupling is None:
            return math.nan
        goal, turns = _mean(self.rest) + LIFT, 0.0
        rate = float(self.coupling.seen[:2, self.layout.adjusters.index(self.own)].mean())
        a = next(x for x in self.layout.file.adjusters if x.name == self.own)
        for _ in range(5):
            turns += (goal - _mean(self.layout.pose({self.own: turns}))) / rate
            if not a.least <= turns <= a.most:
                return math.nan
        return turns

    @cached_property
    def measures(self) -> dict[str, float]:
        """The readings that a comparison weighs, by the keys of its criteria; nan where the joint has no adjuster to ask."""
        layout, rest = self.layout, self.rest
        found = dict.fromkeys(ASKED, math.nan)
        found |= {"free": float(np.max(layout.freedom().free)), "fights": float(len(self.fights)),
                  "fit": float(total_fit(self.fits)[:, 1].max(initial=0.0)),
                  "preload": self._least(), "holds": self.holds[1],
                  "parts": float(len(layout.file.contacts) + len(layout.file.adjusters))}
        if self.own is None or self.coupling is None:
            return found
        own, seen = layout.adjusters.index(self.own), self.coupling.seen
        found |= {
            "step": abs(_mean(layout.pose({self.own: layout.within(self.own, SIXTEENTH)})) - _mean(rest)),
            "travel": min(abs(v) for v in self.reached), "steer": float(np.abs(seen[2]).max()) * SIXTEENTH,
            "coupled": float(coupling_of_screws(seen, own).ratio),
            "force": float(screw_forces(layout, rest, self.carried)[self.own])}
        return found | self._for_lift()

    def _for_lift(self) -> dict[str, float]:
        """What a change of the action by :data:`LIFT` brings along; nothing where the adjuster can't make it."""
        if self.own is None or math.isnan(self.lift_turns):
            return {}
        rest, lifted = self.rest, self.layout.pose({self.own: self.lift_turns})
        longer = open_length(lifted)
        notes = [fretted_errors(strings_of(self.guitar, p), p, np.array([float(FRET)]))[0] for p in (rest, lifted)]
        return {"length": float(np.abs(longer - open_length(rest)).max()),
                "drift": float(np.abs(drift(strings_of(self.guitar, rest), longer)).max()),
                "fretted": float(np.abs(notes[1] - notes[0]).max()), "gap": float(least_gap(rest).gap - least_gap(lifted).gap),
                "reveal": float(np.abs(heel_fit(lifted).floor - heel_fit(rest).floor).max())}

    @cached_property
    def carried(self) -> Carried:
        """What every contact carries with the strings at pitch, tensions as in the file [N]."""
        return carried_forces(self.layout, self.rest, *self._strings)

    @property
    def _handling(self) -> list[Load]:
        """Handling with the strings at pitch, each load one way."""
        return [load for load in each_way(self.guitar.loads) if load.strings == "at pitch"]

    @cached_property
    def reactions(self) -> list[list[Any]]:
        """Contact by contact: its force [N], and whether balance decides it; if not, its bounds along the body's axes [N]."""
        bounds = force_bounds(self.layout, self.rest, *self._strings) if self.carried.undecided else ()

        def decided(name: str) -> str:
            if name not in self.carried.undecided:
                return "decided"
            own = [(way, b) for b in bounds for way in ("", *AXES) if b.name == f"{name} {way}".strip()]
            if any(math.isnan(b.low) for _, b in own):
                return "not decided: something lifts"
            return "not decided: " + ", ".join(f"{way or 'along it'} {_span(b.low, b.high)} N" for way, b in own)

        return [[name, float(force), decided(name)] for name, force in self.carried.forces.items()]

    @cached_property
    def no_lift(self) -> list[list[Any]]:
        """Load by load: for each clamp and spring the least force [N] with which no contact lifts, the others as in the file;
        inf where none is enough. Handling comes on top of the strings."""
        wrench, about = self._strings
        loads = [("strings at pitch", wrench)] + [(load.name, wrench + load_wrench(self.guitar, self.rest, load))
                                                  for load in self._handling]
        return [[words, *(least_preload(self.layout, self.rest, load, about, c.name) for c in preload_contacts(self.layout))]
                for words, load in loads]

    @cached_property
    def holds(self) -> tuple[str, float]:
        """The handling load, strings at pitch, that lifts something first at the file's preloads, and how many times it [1] it
        takes; nan when the strings alone do."""
        wrench, about = self._strings
        found = [(load.name, load_factor(self.layout, self.rest, wrench, load_wrench(self.guitar, self.rest, load), about))
                 for load in self._handling]
        return min(found, key=lambda x: -1.0 if math.isnan(x[1]) else x[1], default=("none given", math.inf))

    def _least(self) -> float:
        """Tensions of all clamps and springs together [N] that hold the strings; inf when none do."""
        wrench, about = self._strings
        least = least_preloads(self.layout, self.rest, wrench, about)
        if not least:
            return math.inf if lifts(self.layout, self.rest, wrench, about) else 0.0
        return sum(least.values())

    @cached_property
    def readings(self) -> Readings:
        """The whole page: what every joint is read for, then what a comparison weighs."""
        return Readings(self.name, (*read_layout(self.layout, design=self.guitar), *self._own_readings()))

    def _own_readings(self) -> Iterator[Reading]:
        m = self.measures
        none = "no adjuster: the angle is set once" if self.own is None else "not reached before the adjuster's end"
        yield Reading("page.own", "adjuster that sets the action", self.own or none, "", "It moves the nut end least beside.")
        if self.travel is not None:
            first = [self.travel.first(way) for way in (-1, 1)]
            yield Reading("page.travel", "travel of that adjuster", [self.travel.low, self.travel.high], "turn",
                          "First stops: " + "; ".join(s.words for s in first if s is not None) + ".")
            yield Reading("page.reached", "change of mean action at both ends", list(self.reached), "mm", f"At fret {FRET}.")
        for key, words, unit, what in (
                ("coupled", "another screw's pull on a string's action over that adjuster's", "",
                 "The same turn of each, mm over mm of action of the same string; the largest of bass and treble."),
                ("length", f"open string changes, for {LIFT:g} mm of action", "mm", "The largest of all strings."),
                ("drift", f"untouched string drifts, for {LIFT:g} mm of action", "cent", "The largest of all strings."),
                ("fretted", f"fretted note at {FRET} changes, for {LIFT:g} mm of action", "cent",
                 "Every string tuned again; the largest."),
                ("gap", f"gap under the tongue taken, for {LIFT:g} mm of action", "mm", "Least gap before, less after."),
                ("reveal", f"heel moves at the pocket's floor, for {LIFT:g} mm of action", "mm", "The largest over its height."),
                ("force", "force along that adjuster, strings at pitch", "N",
                 f"By virtual work: a wedge's screw carries a small part of the force on its flank. {LEFT_OUT}")):
            value = m[key]
            yield Reading(f"page.{key}", words, none if math.isnan(value) else value, "" if math.isnan(value) else unit, what)
        least = m["preload"]
        yield Reading("page.preload", "least tension of clamps and springs with which the strings lift nothing",
                      least if math.isfinite(least) else "none is enough", "N" if math.isfinite(least) else "",
                      f"All together. {LEFT_OUT} Caution: {CAUTION}")
        yield Reading("page.reactions", "what each contact carries, strings at pitch", self.reactions, "",
                      f"Tensions as in the file; what balance leaves open is shown at its smallest. {LEFT_OUT}",
                      columns=(("contact", ""), ("force", "N"), ("decided by balance", "")))
        if clamps := preload_contacts(self.layout):
            yield Reading("page.no_lift", "least force of each clamp or spring with which nothing lifts",
                          [[words, *(v if math.isfinite(v) else "none is enough" for v in row)] for words, *row in self.no_lift],
                          "N", f"The others as in the file, handling on top of the strings. {LEFT_OUT} Caution: {CAUTION}",
                          columns=(("load", ""), *((c.name, "N") for c in clamps)))
        load, times = self.holds
        yield Reading("page.holds", "handling that it holds, times the load", times, "times",
                      f"Strings at pitch, tensions as in the file; first to lift something: {load}. {LEFT_OUT}")
        yield Reading("page.parts", "places to mark out and make", m["parts"], "", "Contacts, bolts and adjusters.")

    def __str__(self) -> str:
        return f"{self.layout.file.about}\n{self.readings}"

    __repr__ = __str__


def joint_page(joint: str | Path | JointFile, guitar: Any = "slack_water") -> JointPage:
    """The page of a joint (its name, file or description) on a guitar (a design or its name).

    Raises :class:`lutherie_geom.design.DesignError` for a file that can't be read, CatalogueError for unknown strings.
    """
    from lutherie_geom.design.load import load

    design = load(guitar) if isinstance(guitar, str | Path) else guitar
    return JointPage(lay_out(joint, design), design)
