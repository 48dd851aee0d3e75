"""Aims of a search: what the built-in joint is read for at many sizes at once, and the slopes of every aim at one joint.

The slopes come by the chain rule from the theory's own; that of the travel by the implicit function theorem at its stop. Those
of the forces under handling loads are taken by differences: from joint to joint another load, or another side of a seat, asks
most.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from lutherie_geom.joint.coupling import action_slopes
from lutherie_geom.joint.dimensions import Dimensions
from lutherie_geom.joint.layout_readings import SIXTEENTH, ScrewCoupling, coupling_of_screws
from lutherie_geom.joint.many import many
from lutherie_geom.joint.pitch import strings_of
from lutherie_geom.joint.pose import Pose, arm, pose
from lutherie_geom.joint.strings import action, lever, open_length, saddle_tops, string_lines
from lutherie_geom.mechanics.no_lift import least_clamp
from lutherie_geom.mechanics.pull import string_pull
from lutherie_geom.mechanics.statics import balance, joint_of, load_wrenches
from lutherie_geom.studies.gradients import Exact, action_at, floor_least, gap_least, reveal_least, through_pose
from lutherie_geom.studies.joint_page import FRET
from lutherie_geom.studies.search_space import Free, named, present, spread_over
from lutherie_geom.studies.search_travel import travel_ends
from lutherie_geom.theory.action import saddle_in_neck
from lutherie_geom.theory.lever import screw_force, string_lever
from lutherie_geom.theory.pose import NUT_END
from lutherie_geom.theory.scale import sounding_length
from lutherie_geom.theory.tilt import tilt_arm, tilt_arm_rod

__all__ = ["AIMS", "Aim", "aim_slopes", "aims_of", "read_aims", "read_coupling"]


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
    Aim("coupled", "coupling: a pivot screw's pull on a string's action over the tilt screw's, 1/16 turn of each", "", 1),
    Aim("steer", "steering: nut end moved sideways by 1/16 turn of a pivot screw", "mm", 1),
    Aim("length", "length: change of an open string for each mm of action, mean of all", "mm/mm", 1),
    Aim("reveal", "reveal: heel still inside the pocket, at rest", "mm", -1),
    Aim("force", "force on the tilt screw, strings at pitch, friction left out", "N", 1),
    Aim("clamp", "clamp: least force so that no ball climbs under the design's loads, friction left out", "N", 1),
    Aim("seats", "pivot screws: largest force along one under the design's loads, clamp at its preload", "N", 1),
    Aim("gap", "least gap under the tongue, at rest: less hides better", "mm", 1),
)
DIFFERENCE = 1e-5
"""Step of the slopes that are taken by differences: this part of a dimension's range."""
UNDER_LOAD = ("clamp", "seats")


def aims_of(keys: Sequence[str] | None) -> tuple[Aim, ...]:
    """The aims of these keys, all of them for None. Raises ValueError as :func:`search_space.named` does."""
    return named("aims", keys, {a.key: a for a in AIMS})


def _pulls(d: Dimensions, start: np.ndarray) -> np.ndarray:
    """Change of every string's action by 1/16 turn of tilt, bass and treble screw, each alone: (3, strings, n) [mm]."""
    return np.stack([many(d, tilt, bass, treble, frets=(FRET,)).action[:, 0] - start
                     for tilt, bass, treble in SIXTEENTH * np.eye(3)])


def _coupling(pulls: np.ndarray) -> ScrewCoupling:
    return coupling_of_screws(np.moveaxis(pulls[:, [0, -1]], 0, 1) / SIXTEENTH)


def read_coupling(d: Dimensions) -> ScrewCoupling:
    """The coupling of a batch of n joints with both its parts, each (n,): a pivot screw's pull on a string [mm for 1/16 turn],
    the tilt screw's on the same."""
    return _coupling(_pulls(d, many(d, frets=(FRET,)).action[:, 0]))


def _under_load(design: Any, p: Pose) -> dict[str, np.ndarray]:
    """Forces [N] under the worst of the design's loads, the strings alone counted as one; inf where no clamp force keeps a ball
    down."""
    joint = joint_of(design, p)
    strings = string_pull(design, p).wrench
    loads = np.concatenate([strings[None], np.broadcast_to(w := load_wrenches(design, p), (len(w), *strings.shape))])
    return {"clamp": least_clamp(joint, loads).max(axis=0), "seats": np.abs(balance(joint, loads).seat_push).max(axis=(0, 1))}


def read_aims(design: Any, d: Dimensions, aims: Sequence[Aim] = AIMS) -> np.ndarray:
    """Every aim of a batch of n joints (aims, n), in its unit; nan or inf where a joint can't be read or can't be held."""
    rest, found = pose(d), {}
    here = many(d, frets=(FRET,))
    pulls = _pulls(d, here.action[:, 0])
    step = np.abs(pulls[0].mean(axis=0))
    found["step"], found["coupled"] = step, _coupling(pulls).ratio
    nut = [pose(d, bass=np.asarray(v)).to_body(d.x_nut, 0.0, 0.0).y for v in (SIXTEENTH, 0.0)]
    found["steer"] = np.abs(nut[0] - nut[1])
    longer = open_length(pose(d, tilt=np.asarray(SIXTEENTH))) - open_length(rest)
    found["length"] = np.abs(longer.mean(axis=0)) / step
    found["gap"], found["reveal"] = here.least_gap, here.reveal
    found["force"] = np.abs(_force(design, rest))
    if any(a.key in UNDER_LOAD for a in aims):
        found |= _under_load(design, rest)
    if any(a.key == "travel" for a in aims):
        found["travel"] = np.abs(travel_ends(design, d).change).min(axis=0)
    return np.stack([np.broadcast_to(found[a.key], np.shape(step)) for a in aims])


def _force(design: Any, p: Pose) -> Any:
    """Force in the tilt screw [N]."""
    tensions = strings_of(design, p).course_tension
    return screw_force(pull=tensions, string_lever=lever(p), arm=arm(p.of)).sum(axis=0)


def _action(p: Pose, string: int | None = None) -> dict[str, float]:
    """Slopes of the mean action, or of one string's, by every dimension and turn, all strings moved alike."""
    return {k: float(np.mean(v if string is None else v[string])) for k, v in action_slopes(p, FRET).items()}


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
    """Slopes (aims, dimensions) of every aim by every free dimension at the design as it stands [unit per unit]: exact, but for
    those under load, taken by differences.

    nan for a travel that ends at a stop whose slopes are not known (washer spring, reach). Where two stops, or both pivot screws,
    tie, the slopes are those of one of them.
    """
    d = design.dimensions()
    rest, up = pose(d), pose(d, tilt=SIXTEENTH)
    at_rest, raised = _action(rest), _action(up)
    start = float(action(rest, FRET).mean())
    step, by_step = float(action(up, FRET).mean()) - start, _less(raised, at_rest)
    sides = [pose(d, bass=SIXTEENTH), pose(d, treble=SIXTEENTH)]
    gained = float((open_length(up) - open_length(rest)).mean())

    def coupled() -> dict[str, float]:
        ends = [[float((action(p, FRET) - action(rest, FRET))[i, 0]) for p in (up, *sides)] for i in (0, -1)]
        ratios = np.array([[v / own for v in others] for own, *others in ends])
        row, k = np.unravel_index(np.abs(ratios).argmax(), ratios.shape)
        string, ratio = (0, -1)[row], float(ratios[row, k])
        by_other, by_own = (_less(_action(p, string), _action(rest, string)) for p in (sides[k], up))
        return {n: float(np.sign(ratio)) * v for n, v in _over(by_other, ratio, by_own, ends[row][0]).items()}

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
    found = np.empty((len(aims), len(free)))
    for row, a in zip(found, aims, strict=True):
        if a.key in made:
            slopes = made[a.key]()
            row[:] = [sum(by * slopes.get(name, 0.0) for name, by in f.moves.items()) for f in free]
    loaded = [i for i, a in enumerate(aims) if a.key in UNDER_LOAD]
    if loaded:
        asked, x, h = [aims[i] for i in loaded], present(free, d)[:, None], DIFFERENCE * np.array([f.high - f.low for f in free])
        ways = [read_aims(design, spread_over(d, free, x + way * np.diag(h)), asked) for way in (1, -1)]
        with np.errstate(invalid="ignore"):
            found[loaded] = (ways[0] - ways[1]) / (2 * h)
    return found
