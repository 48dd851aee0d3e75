"""What a joint of any kind does on its guitar: coupling of its adjusters, resolution, travel, pitch; by the common readings.

The adjusters come in the order of the joint's file, along the last part axis of every matrix.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np

from lutherie_geom.joint.body import soundboard
from lutherie_geom.joint.dimensions import Array
from lutherie_geom.joint.fights import allowed_miss, dimensions, forced_fits, stresses, total_fit
from lutherie_geom.joint.layout import GIVE, Layout
from lutherie_geom.joint.pitch import fretted_readings, strings_of
from lutherie_geom.joint.reading import Reading, Readings, at_most
from lutherie_geom.joint.readings import pose_readings
from lutherie_geom.joint.spatial import SpatialPose
from lutherie_geom.joint.strings import action, open_length, string_lines
from lutherie_geom.joint.travel import Stop, Travel, _search, margins
from lutherie_geom.theory.action import action_over_fret

__all__ = ["AnyCoupling", "ScrewCoupling", "any_coupling", "any_travel", "coupling_of_screws", "dimension_slopes",
           "length_change", "own_adjuster", "read_layout", "resolution"]

SIXTEENTH = 1 / 16
MOVES = ("tilt [deg]", "yaw [deg]", "roll [deg]", "along, to the tail [mm]", "across, to treble [mm]", "up [mm]")
ROUNDING = 1e-9  # mm: a miss that the solver's rounding leaves
COMMON_STOPS = ("tongue", "floor at the foot", "floor above the pivot", "pocket", "strings", "first touch")


@dataclass(frozen=True)
class AnyCoupling:
    """Slopes by the turns of each adjuster, (rows, adjusters, *batch).

    motion: tilt, yaw, roll [rad/turn] about the body's axes and the way of the design's pivot axis along, across, up [mm/turn].
    seen: action of the first and of the last string at the fret, nut end to treble [mm/turn].
    """

    adjusters: tuple[str, ...]
    motion: Array
    seen: Array

    @property
    def condition(self) -> Array:
        """Largest against smallest singular value of ``seen`` (*batch) [1]: 1 is decoupled, infinite can't set all three."""
        s = np.linalg.svd(np.moveaxis(self.seen, (0, 1), (-2, -1)), compute_uv=False)
        full = np.where(s[..., -1] > 0, s[..., -1], np.nan)
        return np.where(min(self.seen.shape[:2]) < 3, np.inf, np.nan_to_num(s[..., 0] / full, nan=np.inf))

    def __str__(self) -> str:
        if self.motion.ndim > 2:
            return f"coupling of {', '.join(self.adjusters)}: {self.motion.shape[2:]} samples"
        shown = np.concatenate([np.degrees(self.motion[:3]), self.motion[3:], self.seen])
        words = (*MOVES, "action bass [mm]", "action treble [mm]", "nut end to treble [mm]")
        width = max(10, *(len(a) + 2 for a in self.adjusters))
        head = f"{'for a turn of':<28}" + "".join(f"{a:>{width}}" for a in self.adjusters)
        rows = (f"{w:<28}" + "".join(f"{0.0 if abs(v) < 5e-7 else v:{width}.4f}" for v in row)
                for w, row in zip(words, shown, strict=True))
        return "\n".join([head, *rows])

    __repr__ = __str__


def _velocity(p: SpatialPose, twist: Array, x: Array, y: Array, z: Array) -> list[Array]:
    """How the neck's point that lies at x, y, z now moves with a twist (6, *batch)."""
    v, w = twist[:3], twist[3:]
    ax, ay, az = (c - p.rigid.position[..., k] for k, c in enumerate((x, y, z)))
    return [v[0] + w[1] * az - w[2] * ay, v[1] + w[2] * ax - w[0] * az, v[2] + w[0] * ay - w[1] * ax]


def _seen(p: SpatialPose, twists: Array, fret: int) -> Array:
    """Slopes of what a builder sees (3, motions, *batch) for motions (motions, 6, *batch) of the neck."""
    d, n = p.of, p.batch
    ends, xf = {k: v if np.ndim(v) > n else np.asarray(v)[None] for k, v in string_lines(p).ends.items()}, d.x_fret(float(fret))
    nut = p.to_body(d.x_nut, 0.0, 0.0)
    found = []
    for i in (0, -1):
        s = action_over_fret.slopes(x_fret=xf, radius_fret=d.board_radius(xf), dip=d.dip(float(fret)),
                                    **{k: v[i if len(v) > 1 else 0] for k, v in ends.items()})["action"]
        x, y = np.asarray(d.x_saddle)[i], np.asarray(d.y_saddle)[i]
        z = soundboard(d, x, y) + np.asarray(d.h_saddle)[i]
        here, row = p.to_neck(x, y, z), []
        for twist in twists:
            # Seen from the neck, the saddle moves the other way; a direction passes between the frames as a difference of points.
            moved = _velocity(p, twist, x, y, z)
            there = p.to_neck(x - moved[0], y - moved[1], z - moved[2])
            row.append(sum(s[k] * (b - a) for k, a, b in zip(("xn_saddle", "yn_saddle", "zn_saddle"), here, there, strict=True)))
        found.append(row)
    return _matrix([*found, [_velocity(p, twist, *nut)[1] for twist in twists]])


def any_coupling(layout: Layout, p: SpatialPose | None = None, fret: int = 12) -> AnyCoupling:
    """The coupling matrices at a pose (or the nominal one), exact: implicit slopes of the pose, chained with the action's.

    Raises ValueError for a joint without adjusters.
    """
    if not layout.adjusters:
        raise ValueError(f"{layout.file.name!r} has 0 adjusters; allowed is 1 and more")
    p = layout.pose() if p is None else p
    twists = np.moveaxis(layout.twists(p), (-2, -1), (0, 1))  # (adjusters, 6, *batch)
    pivot = p.carried(p.of.x_p, 0.0, p.of.z_p)
    ways = [_velocity(p, twist, *pivot) for twist in twists]
    motion = [[t[k] for t in twists] for k in (4, 5, 3)] + [[w[k] for w in ways] for k in range(3)]
    return AnyCoupling(layout.adjusters, _matrix(motion), _seen(p, twists, fret))


def dimension_slopes(layout: Layout, p: SpatialPose | None = None, fret: int = 12) -> dict[str, Array]:
    """For every dimension of every contact, in words: slopes of action bass, action treble and the nut end's place (3, *batch).

    [mm/mm] for all that can be off (:func:`lutherie_geom.joint.fights.dimensions`), by the implicit function theorem.
    """
    p = layout.pose() if p is None else p
    contacts = layout.turned(p.turns)
    named = [(d.words, contacts.answers(p.rigid, d.push(contacts, p.rigid))) for d in dimensions(layout)]
    seen = _seen(p, np.stack([np.moveaxis(t, -1, 0) for _, t in named]), fret)
    return {words: seen[:, i] for i, (words, _) in enumerate(named)}


def own_adjuster(seen: Array) -> int:
    """Which adjuster is there to set the action: it moves the action most beside the way at the nut end that it brings along.

    ``seen`` is that of a coupling, (3, adjusters), one joint.
    """
    mean = np.abs(np.asarray(seen)[:2].mean(axis=0))
    return int(np.argmax(np.round(mean / np.maximum(mean + np.abs(seen[2]), 1e-300), 9)))


class ScrewCoupling(NamedTuple):
    """Coupling of the screws: ``ratio`` [1] = ``other`` / ``own``, both the change of one string's action for 1/16 turn [mm]."""

    ratio: Array
    other: Array
    own: Array


def coupling_of_screws(seen: Array, own: int = 0) -> ScrewCoupling:
    """What another screw does to a string's action, over what the adjuster ``own`` does to the same string, 1/16 turn of each.

    ``seen`` (2 or 3, adjusters, *batch) [mm/turn]: action of the bass and of the treble string; a third row, string position at
    the nut, does not count. Of both strings and all other screws the largest ratio is given, each part (*batch); 0 for want of
    another screw, infinite where ``own`` leaves a string alone. String by string, because a mean hides a screw that
    raises one and lowers the other.
    """
    action_rows = np.abs(np.asarray(seen, dtype=float)[:2]) * SIXTEENTH
    mine = action_rows[:, own]
    others = np.concatenate([np.delete(action_rows, own, axis=1), np.zeros_like(mine)[:, None]], axis=1).max(axis=1)
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.where(others == 0, 0.0, others / mine)
    worst = ratio.argmax(axis=0)[None]
    return ScrewCoupling(*(np.take_along_axis(v, worst, axis=0)[0] for v in (ratio, others, mine)))


def _matrix(rows: list[list[Array]]) -> Array:
    flat = np.broadcast_arrays(*(v for row in rows for v in row))
    return np.stack(flat).reshape((len(rows), len(rows[0]), *flat[0].shape))


def resolution(layout: Layout, turn: float = SIXTEENTH, fret: int = 12) -> dict[str, float]:
    """Change of the mean action at a fret [mm] for a small turn of each adjuster alone, from nominal.

    An adjuster drawn at its end is turned the other way and the sign changed.
    """
    before, small = float(action(layout.pose(), fret).mean()), {a: layout.within(a, turn) for a in layout.adjusters}
    return {a: (float(action(layout.pose({a: t}), fret).mean()) - before) * turn / t for a, t in small.items()}


def length_change(layout: Layout, turn: float = 1 / 8) -> dict[str, Array]:
    """Change of each open string's length [mm] for a turn of each adjuster alone, from nominal: what intonation and pitch pay."""
    before, small = open_length(layout.pose()), {a: layout.within(a, turn) for a in layout.adjusters}
    return {a: (open_length(layout.pose({a: t})) - before) * turn / t for a, t in small.items()}


def any_travel(layout: Layout, design: Any, adjuster: str, turns: Mapping[str, float] | None = None) -> Travel:
    """Travel of one adjuster [turn], the others at ``turns``, with the stops that every joint shares, each at its own turn.

    Stops of the joint's own: the adjuster's ``least`` and ``most`` turns, contacts that can't be met any more, contacts that
    fight by more than the file's tolerances allow. ``design`` is the guitar (its tongue, heel, pocket and strings). Raises
    KeyError for an unknown adjuster, ValueError for ``turns`` past an adjuster's ends.
    """
    held = dict(turns or {})
    layout.turned(held)
    start = float(held.get(adjuster, 0.0))
    layout._known({adjuster: 0})
    a = next(x for x in layout.file.adjusters if x.name == adjuster)
    found = [Stop("least", f"{adjuster} is at its least", a.least, -1, "stop"),
             Stop("most", f"{adjuster} is at its most", a.most, 1, "stop")]

    known: dict[tuple[float, float], SpatialPose] = {}

    def at(t: Array) -> SpatialPose:
        # All stops are searched from the same lattice: its poses are solved once.
        key = float(t[0]), float(t[-1])
        if key not in known:
            known[key] = layout.pose({**{k: np.full_like(t, v) for k, v in held.items()}, adjuster: t})
        return known[key]

    common = [m for m in margins(design, layout.dimensions) if m[0] in COMMON_STOPS]
    own: list[Any] = [("reach", "the contacts can't all be met", "stop",
                       lambda p: np.where(np.isin(p.reason, ("", "past its end")), 1.0, -1.0))]
    if layout.give == GIVE:
        allowed = allowed_miss(layout)
        own = [("reach", f"the contacts that fight miss each other by more than {GIVE:g} mm", *own[0][2:]),
               ("fight", "parts fight by more than the tolerances allow", "stop", lambda p: allowed + ROUNDING - p.missed)]
    for name, words, kind, margin in (*common, *own):
        def value(t: Array, m: Any = margin, itself: bool = name == "reach") -> Array:
            p = at(t)
            read = np.broadcast_to(m(p), np.shape(t))
            return read if itself else np.where(np.isnan(read) | (p.reason != ""), np.inf, read)

        for direction in (-1, 1):
            found.append(Stop(name, words, _search(value, start, direction), direction, kind))
    found.sort(key=lambda s: np.inf if s.turn is None else abs(s.turn - start))
    ends = {k: [s.turn for s in found if s.direction == k and s.kind == "stop" and s.turn is not None] for k in (-1, 1)}
    return Travel(max(ends[-1]), min(ends[1]), tuple(found))


def read_layout(layout: Layout, turns: Mapping[str, float] | None = None, design: Any = None) -> Readings:
    """What the joint constrains, what it moves and what shows at one setting. Raises ValueError where the neck can't stand.

    ``design``: the guitar with its string set; with it the fretted notes are read too, every string tuned at that setting.
    """
    p = layout.pose(turns)
    if str(p.reason):
        far = f": contacts miss by {float(p.missed):.2f} mm, at most {GIVE:g} mm is let pass" if layout.give == GIVE else ""
        raise ValueError(f"{layout.file.name}: no pose at turns {dict(turns or {})}: {p.reason}{far}")
    notes = [] if design is None else fretted_readings(strings_of(design, p), p)
    return Readings(layout.file.name, (*_readings(layout, p), *notes))


def _readings(layout: Layout, p: SpatialPose) -> Iterator[Reading]:
    f = layout.freedom(p)
    for key, words, value, what in (
            ("rows", "rows of the contacts", f.rows, "How many motions the contacts forbid, each counted."),
            ("free", "motions left free", f.free, "Six less the rank of the contact wrench matrix."),
            ("self_stress", "fights", f.self_stress, "Ways in which the holding contacts can press against each other."),
            ("condition", "condition of the contacts", f.condition, "Stiffest against weakest motion; 1 holds all alike.")):
        yield Reading(f"constraint.{key}", words, float(np.asarray(value)), "", what)
    yield Reading("constraint.states", "states of self-stress", [str(s) for s in stresses(layout)], "",
                  "Fights are unwanted; preloads are wanted, forces per newton of clamp or spring.")
    if layout.give == GIVE:
        allowed, missed = allowed_miss(layout), round(float(np.asarray(p.missed)), 9)
        yield Reading("constraint.missed", "largest miss of the contacts that fight", missed, "mm",
                      f"What wood and metal must give, or a ball climb. The file's tolerances allow {allowed:.3f} mm, all at "
                      f"their worst; at {GIVE:g} mm the neck is taken not to stand.",
                      at_most(missed, allowed + ROUNDING, 0.0, f"parts are forced by {missed - allowed:.3f} mm more than the "
                              "tolerances allow: turn " + (", ".join(k for k, v in p.turns.items() if v) or "the adjusters")
                              + " back, or give one of these contacts less to hold" if missed > allowed + ROUNDING else ""))
    for k, (worst, root) in enumerate(total_fit(forced_fits(layout)), start=1):
        yield Reading(f"constraint.forced_fit_{k}", f"forced fit of fight {k}: worst case, root sum square",
                      [float(worst), float(root)], "mm", "What the tolerances of all its places force on it.")
    if layout.adjusters:
        c = any_coupling(layout, p)
        yield Reading("adjusters.motion", "motion that each adjuster makes", [str(m) for m in layout.screw_motions(p)], "",
                      "A small turn is a turn about a line and a slide along it.")
        yield Reading("adjusters.seen", "what the builder sees for a turn of each adjuster",
                      [[w, *map(float, row)] for w, row in zip(
                          ("action 12 bass [mm]", "action 12 treble [mm]", "nut end to treble [mm]"), c.seen, strict=True)], "",
                      "Exact slopes.", columns=(("reading", ""), *((a, "per turn") for a in layout.adjusters)))
        yield Reading("adjusters.resolution", "mean action at fret 12 for 1/16 turn",
                      [[k, v] for k, v in resolution(layout).items()], "mm", "One adjuster alone, from nominal.",
                      columns=(("adjuster", ""), ("action", "mm")))
        yield Reading("adjusters.length", "largest change of an open string for 1/8 turn",
                      [[k, float(v[np.argmax(np.abs(v))])] for k, v in length_change(layout).items()], "mm",
                      "Nut to saddle in space: what intonation pays.", columns=(("adjuster", ""), ("length", "mm")))
    yield from pose_readings(p)  # type: ignore[arg-type]
