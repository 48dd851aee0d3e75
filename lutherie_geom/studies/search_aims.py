"""Aims of a search: what the built-in joint is read for at many sizes at once, and the exact slopes of every aim at one joint.

The slopes come by the chain rule from the theory's own; that of the travel by the implicit function theorem at its stop.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from lutherie_geom.joint.coupling import action_slopes
from lutherie_geom.joint.dimensions import Dimensions
from lutherie_geom.joint.layout_readings import SIXTEENTH
from lutherie_geom.joint.many import many
from lutherie_geom.joint.pitch import strings_of
from lutherie_geom.joint.pose import Pose, arm, pose
from lutherie_geom.joint.strings import action, lever, open_length, saddle_tops, string_lines
from lutherie_geom.joint.travel import REACH, margins
from lutherie_geom.studies.gradients import Exact, action_at, floor_least, gap_least, reveal_least, through_pose
from lutherie_geom.studies.joint_page import FRET
from lutherie_geom.studies.search_space import Free
from lutherie_geom.studies.setup import SCREW_STOPS
from lutherie_geom.theory.action import saddle_in_neck
from lutherie_geom.theory.lever import screw_force, string_lever
from lutherie_geom.theory.pose import NUT_END
from lutherie_geom.theory.scale import sounding_length
from lutherie_geom.theory.tilt import tilt_arm, tilt_arm_rod

__all__ = ["AIMS", "Aim", "Ends", "aim_slopes", "aims_of", "read_aims", "travel_ends"]


@dataclass(frozen=True)
class Aim:
    """One thing to be had small (``sign`` 1) or large (-1)."""

    key: str
    words: str
    unit: str
    sign: int


AIMS = (
    Aim("step", f"step: mean action at fret {FRET} for 1/16 turn of the tilt screw", "mm", 1),
    Aim("travel", "travel: change of that action before a stop, the lesser of both ways", "mm", -1),
    Aim("coupled", "coupling: a pivot screw's pull on that action over the tilt screw's, 1/16 turn of each", "", 1),
    Aim("steer", "steering: nut end moved sideways by 1/16 turn of a pivot screw", "mm", 1),
    Aim("length", "length: change of an open string for each mm of action, mean of all", "mm/mm", 1),
    Aim("reveal", "reveal: heel still inside the pocket, at rest", "mm", -1),
    Aim("force", "force on the tilt screw, strings at pitch, friction left out", "N", 1),
    Aim("gap", "least gap under the tongue, at rest: less hides better", "mm", 1),
)
LATTICE = 0.25
"""Turns from one look outward for a stop to the next."""
HALVINGS = 16


def aims_of(keys: Sequence[str] | None) -> tuple[Aim, ...]:
    """The aims of these keys, all of them for None. Raises ValueError for an unknown key, a key named twice or none."""
    known = {a.key: a for a in AIMS}
    chosen = list(known) if keys is None else list(keys)
    if not chosen or len(set(chosen)) < len(chosen):
        raise ValueError(f"aims is {chosen!r}: name each aim once, at least one of {', '.join(known)}")
    wrong = [k for k in chosen if k not in known]
    if wrong:
        raise ValueError(f"aims has no aim {wrong[0]!r}; there are {', '.join(known)}")
    return tuple(known[k] for k in chosen)


@dataclass(frozen=True)
class Ends:
    """Travel of the tilt screw of n joints: ``turns`` (2, n) [turn] down and up, the ``stops`` there by name (2, n), and the
    ``change`` of the mean action there (2, n) [mm]. A joint that is stopped at rest has none."""

    turns: np.ndarray
    stops: np.ndarray
    change: np.ndarray


def _margins(design: Any, d: Dimensions, turns: np.ndarray) -> tuple[tuple[str, ...], np.ndarray, np.ndarray]:
    """Names of the stops, what is left to each (stops, n) [mm], and the mean action (n,) [mm], at turns (n,)."""
    r = many(d, turns, frets=(1, FRET))
    p = pose(d, tilt=turns)
    screws = {name: np.broadcast_to(m(p), turns.shape) for name, _, _, m in margins(design, d) if name in SCREW_STOPS}
    stands = np.broadcast_to(np.where(np.isnan(p.theta), -1.0, 1.0), turns.shape)
    rows = {"gap": r.least_gap, "floor": r.floor, "pocket": r.reveal, "strings": r.action[:, 0].min(axis=0), **screws,
            "reach": stands}
    found = np.stack(list(rows.values()))
    return tuple(rows), np.where(np.isnan(found), np.inf, found), r.action[:, 1].mean(axis=0)


def travel_ends(design: Any, d: Dimensions) -> Ends:
    """Travel of many joints at once, from rest both ways up to 12 turns: looked for on a lattice, then halved to 4e-6 turn.

    ``d`` holds a batch with one axis of samples (n,); the screw's own lengths are the design's. The gap is that of ``many``.
    """
    n = max(np.size(getattr(d, k)) for k in ("x_p", "z_p", "z_head", "spacing", "pitch_tilt", "pitch_pivot", "gap_joint",
                                             "floor_clearance"))
    names, rest, start = _margins(design, d, np.zeros(n))
    turns, stops, change = np.zeros((2, n)), np.zeros((2, n), dtype=int), np.zeros((2, n))
    stuck = rest.min(axis=0) < 0
    for k, way in enumerate((-1.0, 1.0)):
        good, bad = np.zeros(n), np.where(stuck, 0.0, np.nan)
        for t in np.arange(LATTICE, REACH + LATTICE / 2, LATTICE):
            out = (_margins(design, d, np.full(n, way * t))[1].min(axis=0) < 0) & np.isnan(bad)
            bad[out] = t
            good[np.isnan(bad)] = t
            if not np.isnan(bad).any():
                break
        bad = np.where(np.isnan(bad), REACH, bad)
        for _ in range(HALVINGS):
            middle = (good + bad) / 2
            out = _margins(design, d, way * middle)[1].min(axis=0) < 0
            good, bad = np.where(out, good, middle), np.where(out, middle, bad)
        turns[k] = way * good
        _, left, there = _margins(design, d, way * bad)
        stops[k] = left.argmin(axis=0)
        change[k] = np.where(stuck, 0.0, there - start)
    return Ends(turns, np.array(names)[stops], change)


def read_aims(design: Any, d: Dimensions, aims: Sequence[Aim] = AIMS) -> np.ndarray:
    """Every aim of a batch of n joints (aims, n), in its unit; nan where a joint can't be read."""
    rest, found = pose(d), {}
    at = {}
    for k, screw in enumerate(("tilt", "bass", "treble")):
        tilt, bass, treble = SIXTEENTH * np.eye(3)[k]
        at[screw] = many(d, tilt, bass, treble, frets=(FRET,)).action[:, 0].mean(axis=0)
    here = many(d, frets=(FRET,))
    start = here.action[:, 0].mean(axis=0)
    step = np.abs(at["tilt"] - start)
    found["step"] = step
    found["coupled"] = np.maximum(np.abs(at["bass"] - start), np.abs(at["treble"] - start)) / step
    nut = [pose(d, bass=np.asarray(v)).to_body(d.x_nut, 0.0, 0.0).y for v in (SIXTEENTH, 0.0)]
    found["steer"] = np.abs(nut[0] - nut[1])
    longer = open_length(pose(d, tilt=np.asarray(SIXTEENTH))) - open_length(rest)
    found["length"] = np.abs(longer.mean(axis=0)) / step
    found["gap"], found["reveal"] = here.least_gap, here.reveal
    found["force"] = np.abs(_force(design, rest))
    if any(a.key == "travel" for a in aims):
        found["travel"] = np.abs(travel_ends(design, d).change).min(axis=0)
    return np.stack([np.broadcast_to(found[a.key], np.shape(step)) for a in aims])


def _force(design: Any, p: Pose) -> Any:
    """Force in the tilt screw [N]."""
    tensions = strings_of(design, p).course_tension
    return screw_force(pull=tensions, string_lever=lever(p), arm=arm(p.of)).sum(axis=0)


def _action(p: Pose) -> dict[str, float]:
    """Slopes of the mean action by every dimension and turn, all strings moved alike."""
    return {k: float(np.mean(v)) for k, v in action_slopes(p, FRET).items()}


def _length(p: Pose) -> dict[str, float]:
    """Slopes of the mean open length, the same."""
    d, lines = p.of, string_lines(p)
    by = sounding_length.slopes(**lines.ends)["sounding_length"]
    there = saddle_in_neck.slopes(x_saddle=d.x_saddle, y_saddle=d.y_saddle, h_saddle=d.h_saddle, curvature=d.curvature,
                                  x_apex=d.x_apex, along=d.along, across=d.across, **p.set_, **p.turned)
    direct = {k: np.mean(sum(by[f"{i}n_saddle"] * there[f"{i}n_saddle"][k] for i in "xyz")) for k in there["xn_saddle"]}
    return {k: float(v) for k, v in through_pose(p, direct).items()}


def _nut(p: Pose) -> dict[str, float]:
    """Slopes of the nut end's place across."""
    relation = NUT_END[p.of.receiver]
    own = dict(tilt=p.tilt, bass=p.bass, treble=p.treble, xn=p.of.x_nut)
    values = {x.name: own[x.name] if x.name in own else getattr(p.of, x.name) for x in relation.inputs}
    return {k: float(v) for k, v in relation.slopes(**values)["y"].items()}


def _force_slopes(design: Any, p: Pose) -> dict[str, float]:
    """Slopes of the force in the tilt screw; at rest the strings keep their length, whatever is free, and so their tension."""
    d, lines = p.of, string_lines(p)
    nut, (x, _, z) = p.to_body(lines.x_nut, lines.y_nut, lines.z_nut), saddle_tops(p)
    at = dict(x_nut_body=nut.x, z_nut_body=nut.z, x_saddle=x, z_saddle=z, x_p=d.x_p, z_p=d.z_p)
    pull, h, by = strings_of(design, p).course_tension, lever(p), string_lever.slopes(**at)["string_lever"]
    force = screw_force.slopes(pull=pull, string_lever=h, arm=arm(d))["screw_force"]
    relation = tilt_arm if d.receiver == "dowel across" else tilt_arm_rod
    found = {k: float(np.sum(force["arm"])) * float(v)
             for k, v in relation.slopes(**{x.name: getattr(d, x.name) for x in relation.inputs})["arm"].items()}
    for name, mover in (("x_p", "x_p"), ("z_p", "z_p"), ("z_joint", "z_nut_body"), ("h_saddle", "z_saddle")):
        found[name] = found.get(name, 0.0) + float(np.sum(force["string_lever"] * by[mover]))
    return found


def _less(a: dict[str, float], b: dict[str, float]) -> dict[str, float]:
    return {k: a.get(k, 0.0) - b.get(k, 0.0) for k in {*a, *b}}


def _over(above: dict[str, float], value: float, below: dict[str, float], by: float) -> dict[str, float]:
    """Slopes of a quotient: ``value`` = top / ``by``, from the slopes of both."""
    return {k: (above.get(k, 0.0) - value * below.get(k, 0.0)) / by for k in {*above, *below}}


def _plain(e: Exact, p: Pose) -> dict[str, float]:
    """Slopes of a reading, all strings moved alike."""
    return {k: float(np.sum(v)) for k, v in e.slopes(p).items()}


def _travel(design: Any, d: Dimensions, rest: dict[str, float]) -> dict[str, float]:
    ends = travel_ends(design, d)
    k = int(np.abs(ends.change[:, 0]).argmin())
    turn, stop = float(ends.turns[k, 0]), str(ends.stops[k, 0])
    p = pose(d, tilt=turn)
    if stop in ("screw bottoms", "thread"):  # so many mm of thread: turns go as one over the pitch
        stopped = {"pitch_tilt": turn / float(d.pitch_tilt), "tilt": 1.0}
    elif stop == "strings":
        stopped = _plain(action_at(int(action(p, 1)[:, 0].argmin()), 1), p)
    elif stop in (known := {"gap": gap_least, "floor": floor_least, "pocket": reveal_least}):
        stopped = _plain(known[stop], p)
    else:
        return dict.fromkeys(rest, math.nan)
    there = _action(p)
    moved = {k: there.get(k, 0.0) - there["tilt"] * stopped.get(k, 0.0) / stopped["tilt"] for k in {*there, *stopped}}
    sign = float(np.sign(ends.change[k, 0]))
    return {k: sign * v for k, v in _less(moved, rest).items()}


def aim_slopes(design: Any, free: Sequence[Free], aims: Sequence[Aim] = AIMS) -> np.ndarray:
    """Exact slopes (aims, dimensions) of every aim by every free dimension at the design as it stands [unit per unit].

    nan for a travel that ends at a stop whose slopes are not known (washer spring, reach). Where two stops, or both pivot screws,
    tie, the slopes are those of one of them.
    """
    d = design.dimensions()
    rest, up = pose(d), pose(d, tilt=SIXTEENTH)
    at_rest, raised = _action(rest), _action(up)
    start = float(action(rest, FRET).mean())
    step, by_step = float(action(up, FRET).mean()) - start, _less(raised, at_rest)
    sides = [pose(d, bass=SIXTEENTH), pose(d, treble=SIXTEENTH)]
    pulls = [float(action(p, FRET).mean()) - start for p in sides]
    k = int(np.abs(pulls).argmax())
    gained = float((open_length(up) - open_length(rest)).mean())

    def coupled() -> dict[str, float]:
        found = _over(_less(_action(sides[k]), at_rest), pulls[k] / step, by_step, step)
        return {n: float(np.sign(pulls[k] / step)) * v for n, v in found.items()}

    def length() -> dict[str, float]:
        found = _over(_less(_length(up), _length(rest)), gained / step, by_step, step)
        return {n: float(np.sign(gained / step)) * v for n, v in found.items()}

    def steer() -> dict[str, float]:
        # 1/16 turn of the bass screw takes the nut end to the treble.
        return _less(_nut(sides[0]), _nut(rest))

    made: dict[str, Callable[[], dict[str, float]]] = {
        "step": lambda: by_step, "travel": lambda: _travel(design, d, at_rest), "coupled": coupled, "steer": steer,
        "length": length,
        "reveal": lambda: _plain(reveal_least, rest), "force": lambda: _force_slopes(design, rest),
        "gap": lambda: _plain(gap_least, rest)}
    slopes = [made[a.key]() for a in aims]
    return np.array([[sum(by * s.get(name, 0.0) for name, by in f.moves.items()) for f in free] for s in slopes])
