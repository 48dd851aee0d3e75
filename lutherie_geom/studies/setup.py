"""Set-up: the three screws of every instrument turned to their best, as a builder would by trying.

A hand sets a screw in steps, 1/16 turn unless said otherwise, from where it stands when the joint is put together. Best is the
setting with the least max(\\|reading - target\\| / half-window) over action bass, action treble and centring, within all stops:
gap, floor clearance and reveal not below nothing, strings clear of fret 1, tilt screw neither bottomed nor out of its thread nor
its washer spring flat, pivot screws held in the block. Where the best setting would break one of the builder's limits (least
gap, reveal, floor clearance, edge margin) and another keeps them all with every window met, that one is taken: an instrument
is turned so that it passes, if it can. One without a setting within its stops has no turns (nan) and fails.

Both pivot screws driven together move the neck in or out and leave action and centring to be made up by the tilt screw: a fine
adjustment that costs intonation, for the saddle stays behind. So a pivot screw is turned by no more than the ``reach``, half a
turn unless said otherwise (half a millimetre or so; at the twelfth fret two cents at the most), and no further than it takes.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from lutherie_geom.design.limits import Limits, Window
from lutherie_geom.joint.dimensions import PER_STRING, Array, Dimensions
from lutherie_geom.joint.many import ManyReadings, chunks, many, over_board, posed, values_of
from lutherie_geom.joint.travel import REACH, travel
from lutherie_geom.studies import lattice
from lutherie_geom.studies.lattice import BASS, TILT, TREBLE, Surroundings
from lutherie_geom.studies.sampling import number
from lutherie_geom.studies.trying import chosen, mended

__all__ = ["BestTurns", "ENOUGH", "SetUp", "STEP", "WINDOW", "best_turns", "limits_of", "set_up"]

STEP = 1 / 16
"""Step that a hand can set [turn]."""
REACH_PIVOT = 0.5
"""How far a pivot screw is turned either way from where it stands [turn]."""
WINDOW = 0.25
"""Half of the action's window where the design gives none [mm]."""
ENOUGH = 0.02
"""What no gauge of the class tells from the target [half-windows]: 0.005 mm in a window of ± 0.25 mm (computed here)."""
CHUNK = 8192  # instruments searched in one go
ROOM = 0.05  # how far the guessed room may be off [mm]: what it lets pass wrongly is looked at again, what it refuses is not
SPARE = 0.5  # how much more room than the nominal an instrument is thought to have [mm]: sets how far the pivot screws are tried
SCREW_STOPS = ("screw bottoms", "thread", "washer spring", "reach")
SCREWS = ("tilt", "bass", "treble")


def limits_of(design: Any) -> Limits:
    """The limits of a design; an action window left out is its own nominal action ± 0.25 mm, at the limits' fret."""
    limits: Limits = design.limits
    d = design.dimensions()
    if limits.fret > d.last_fret:
        raise ValueError(f"limits.fret is {limits.fret}: the board has {d.last_fret} frets; give 1 to {d.last_fret}")
    own = many(d, frets=(limits.fret,)).action[:, 0, 0]
    new = {name: Window(low=float(a) - WINDOW, high=float(a) + WINDOW)
           for name, a in (("action_bass", own[0]), ("action_treble", own[-1])) if getattr(limits, name) is None}
    return limits.model_copy(update=new)


@dataclass(frozen=True)
class SetUp:
    """How instruments of a design are set up: limits, step [turn], how far each screw goes, ``enough`` [half-windows], what
    the search needs.

    tilt, pivot: lowest and highest turn of the screws themselves; reach: of a pivot screw from where it stands [turn]. ks: steps
    of both pivot screws together that are tried, nearest first. Of the nominal design: slopes of (middle, lean, aside) per
    step, and bend, their second-order terms per step²; rooms_by: what a step of tilt up, of tilt down, of both pivot screws
    with the tilt that makes up for it, and of steering does to least gap, reveal and floor clearance [mm], (3, 4).
    """

    nominal: Dimensions
    limits: Limits
    step: float
    reach: float
    enough: float
    tilt: tuple[float, float]
    pivot: tuple[float, float]
    ks: tuple[int, ...]
    bend: Array
    slopes: Array
    rooms_by: Array

    @property
    def frets(self) -> tuple[int, int, int]:
        """Frets that are read: the first (a stop), that of the limits, the last."""
        return 1, self.limits.fret, self.nominal.last_fret

    def read(self, dims: Dimensions, turns: Array, backend: str = "numpy") -> ManyReadings:
        """Readings [mm] of instruments at turns (3 screws, n) [turn]."""
        tilt, bass, treble = turns
        return many(dims, tilt, bass, treble, frets=self.frets, backend=backend)

    def off(self, bass: Array, treble: Array, centring: Array) -> Array:
        """Actions at the limits' fret and centring [mm] as half-windows off their targets [-], (3, n)."""
        windows = _windows(self.limits)
        return np.stack([(v - w.target) / w.half for v, w in zip((bass, treble, centring), windows, strict=True)])

    def objective(self, r: ManyReadings) -> Array:
        """Largest departure from target in half-windows [-], (n,)."""
        return np.abs(self.off_target(r)).max(axis=0)

    def off_target(self, r: ManyReadings) -> Array:
        """Action bass, action treble and centring as half-windows off their targets [-], (3, n)."""
        return self.off(r.action[0, 1], r.action[-1, 1], r.centring)

    def rooms(self, r: ManyReadings, limits: bool) -> Array:
        """What is left to the stops [mm], (4, n), or to the builder's ``limits`` (6, n); minus infinity out of reach."""
        over = r.action[:, 0].min(axis=0)
        if limits:
            m = self.limits
            rooms = np.stack([r.least_gap - m.least_gap, r.reveal - m.least_reveal, r.floor - m.least_floor, over,
                              r.margin[0] - m.least_margin, r.margin[1] - m.least_margin])
        else:
            rooms = np.stack([r.least_gap, r.reveal, r.floor, over])
        return np.where(np.isnan(rooms), -np.inf, rooms)

    def ends(self, start: Array) -> tuple[Array, Array]:
        """Lowest and highest whole steps (3 screws, n) from where the screws stand [turn]."""
        low, high = (np.array([self.tilt[i], self.pivot[i], self.pivot[i]])[:, None] for i in (0, 1))
        most = np.array([np.inf, self.reach, self.reach])[:, None]
        return (np.ceil(np.maximum(low - start, -most) / self.step - 1e-9),
                np.floor(np.minimum(high - start, most) / self.step + 1e-9))


@dataclass(frozen=True)
class BestTurns:
    """Instruments set up: turns of the screws [turn] (nan: no setting within the stops), readings before and after.

    objective: largest departure from target in half-windows [-]; passes: within every limit; feasible: within every stop.
    """

    tilt: Array
    bass: Array
    treble: Array
    objective: Array
    passes: Array
    feasible: Array
    before: ManyReadings
    after: ManyReadings

    def __str__(self) -> str:
        n = len(self.tilt)
        return (f"{n} instruments set up: {int(self.passes.sum())} pass, {n - int(self.feasible.sum())} have no setting within "
                "their stops")

    __repr__ = __str__


def _windows(limits: Limits) -> tuple[Window, Window, Window]:
    found = []
    for name in ("action_bass", "action_treble", "centring"):
        w = getattr(limits, name)
        if w is None:
            raise ValueError(f"limits.{name} is not given: take limits_of(design), which fills it in")
        if not (math.isfinite(w.low) and math.isfinite(w.high) and w.low < w.high):
            raise ValueError(f"limits.{name} is {w.low:g} to {w.high:g} mm: the lower must come first, both finite")
        found.append(w)
    return found[0], found[1], found[2]


def set_up(design: Any, *, limits: Limits | None = None, step: float = STEP, reach: float = REACH_PIVOT,
           enough: float = 0.0) -> SetUp:
    """How instruments of a design are set up, with its own limits unless others are given, in steps of ``step`` [turn]; a
    pivot screw is turned by no more than ``reach`` [turn] either way.
    The pivot screws stay nearer to where they stand if that costs no more than ``enough`` half-windows: in fine steps, both
    driven far buy a last hundredth and move floor clearance and reveal by tenths of a millimetre; give :data:`ENOUGH` there."""
    step = number("step", step, "turn", 1 / 512, 1, "what a hand can set, from 1/512 to 1 turn")
    reach = number("reach", reach, "turn", 0, 4, "how far a pivot screw may be turned, from 0 to 4 turns")
    enough = number("enough", enough, "half-windows", 0, 1, "how much nearer a setting must come, from 0 to 1")
    limits = limits_of(design) if limits is None else limits
    _windows(limits)
    d, v = design.dimensions(), design.pivot
    found = [(s.direction, s.turn) for s in travel(design).stops if s.name in SCREW_STOPS and s.turn is not None]
    tilt = max([t for way, t in found if way < 0], default=-REACH), min([t for way, t in found if way > 0], default=REACH)
    # Outward until too little of the screw is left in the block, inward until it is the block that ends.
    pivot = (-(design.block.depth + v.proud - v.least_hold) / v.pitch, (v.screw_length - v.proud - v.least_hold) / v.pitch)
    none = np.zeros((3, 3))
    plan = SetUp(d, limits, step, reach, enough, tilt, pivot, (0,), np.zeros((3, 3, 3)), none, none)
    bend, slopes = _bend(plan, max(1, round(0.5 / step)))
    plan = replace(plan, bend=bend, slopes=slopes)
    return replace(plan, ks=_together(plan), rooms_by=_rooms_by(plan))


def _bend(plan: SetUp, wide: int) -> tuple[Array, Array]:
    """Second-order terms per step² (3, 3 screws, 3 screws) and slopes per step (3, 3 screws) of the nominal design, from
    readings ``wide`` steps either way."""
    e, pairs = np.eye(3) * wide, ((TILT, BASS), (TILT, TREBLE), (BASS, TREBLE))
    half = [*e, *(e[i] + e[j] for i, j in pairs)]
    places = np.array([np.zeros(3), *half, *(-v for v in half)]).T
    at = lattice.halves_of(plan.off_target(plan.read(plan.nominal, plan.step * places)))
    at = np.where(np.isfinite(at), at, at[:, :1])
    up, down = at[:, 1:7], at[:, 7:]
    # Both ways, so that third-order terms do not pass for second-order ones.
    along = (up + down - 2 * at[:, :1]) / wide**2
    h = np.zeros((3, 3, 3))
    for i in range(3):
        h[:, i, i] = along[:, i]
    for p, (i, j) in enumerate(pairs):
        h[:, i, j] = h[:, j, i] = (along[:, 3 + p] - along[:, i] - along[:, j]) / 2
    return h, (up - down)[:, :3] / (2 * wide)


def _rooms_by(plan: SetUp) -> Array:
    made_up = -(plan.slopes[0, BASS] + plan.slopes[0, TREBLE]) / plan.slopes[0, TILT]
    turns = plan.step * np.array([[0, 1, -1, made_up, 0], [0, 0, 0, 1, -0.5], [0, 0, 0, 1, 0.5]])
    room = plan.rooms(plan.read(plan.nominal, turns), False)[:3]
    up, down, both, steer = (room[:, 1:] - room[:, :1]).T
    # On a flat top the gap does not know how far the neck stands out: no room may be divided by nothing.
    return np.stack([up, -down, np.where(both == 0, 1e-12, both), np.abs(steer)], axis=1)


def _together(plan: SetUp) -> tuple[int, ...]:
    """Steps of both pivot screws at which the nominal design, with room to spare, is within its stops, nearest first."""
    most = math.floor(plan.reach / plan.step + 1e-9)
    ks = np.arange(-most, most + 1)
    tilt = -ks * (plan.slopes[0, BASS] + plan.slopes[0, TREBLE]) / plan.slopes[0, TILT]
    r = plan.read(plan.nominal, plan.step * np.stack([tilt, ks, ks]))
    able = ks[plan.rooms(r, False).min(axis=0) >= -SPARE]
    return tuple(sorted({0, *able.tolist()}, key=lambda k: (abs(k), -k)))


def best_turns(plan: SetUp, dims: Dimensions, *, tilt: Array = 0.0, bass: Array = 0.0, treble: Array = 0.0,
               backend: str = "numpy") -> BestTurns:
    """Every instrument of ``dims`` (n samples) set up from where its screws stand [turn]; read before and after [mm]."""
    before = many(dims, tilt, bass, treble, frets=plan.frets, backend=backend)
    n = len(before.least_gap)
    start = np.stack([np.broadcast_to(np.asarray(v, dtype=float), (n,)) for v in (tilt, bass, treble)])
    z, bound = np.empty((3, n)), np.empty(n)
    outer = dims.replaced(**{k: np.asarray(getattr(dims, k), dtype=float)[[0, -1]] for k in PER_STRING})
    values, _ = values_of(outer, {})
    with np.errstate(invalid="ignore", divide="ignore"):
        guess = _near(lattice.halves_of(plan.off_target(before)), plan.slopes, math.floor(plan.reach / plan.step + 1e-9))
        close = plan.read(dims, start + plan.step * guess, backend)
        for part, c in chunks(values, outer, (plan.limits.fret,), n, CHUNK):
            z[:, part], bound[part] = _setting(plan, c, dims.receiver, start[:, part], guess[:, part], _part(close, part))
        turns = start + plan.step * z
        after = plan.read(dims, turns, backend)
        low, high = plan.ends(start)
        kept = np.all((z >= low) & (z <= high), axis=0)
        able = (plan.rooms(after, True).min(axis=0) >= 0) & kept
        objective = plan.objective(after)
        near = np.maximum(abs(plan.slopes[0, TILT]), bound) * (1 + 2 * lattice.NEAR) + plan.enough
        again = np.flatnonzero(~(able & (objective <= near)))
        if len(again):
            about = np.where(np.isfinite(z[:, again]), z[:, again], guess[:, again])
            z[:, again] = mended(plan, chosen(dims, again, n), start[:, again], about, backend)
            turns[:, again] = start[:, again] + plan.step * z[:, again]
            read = plan.read(chosen(dims, again, n), turns[:, again], backend)
            for name in ("action", "least_gap", "reveal", "floor", "margin"):
                getattr(after, name)[..., again] = getattr(read, name)
            able[again] = plan.rooms(read, True).min(axis=0) >= 0
            objective[again] = plan.objective(read)
    feasible = ~np.isnan(z[0])
    objective = np.where(feasible, objective, np.inf)
    return BestTurns(turns[0], turns[1], turns[2], objective, feasible & able & (objective <= 1), feasible, before, after)


def _part(r: ManyReadings, part: Any) -> ManyReadings:
    return ManyReadings(r.frets, r.action[..., part], r.least_gap[part], r.reveal[part], r.floor[part], r.margin[:, part])


def _setting(plan: SetUp, c: dict[str, Array], receiver: str, start: Array, z: Array, close: ManyReadings
             ) -> tuple[Array, Array]:
    """Steps (3, n) of the best setting of a chunk, limits kept nearly, from a setting ``z`` that is ``close``; and what no
    objective falls below."""
    c = c | {"ca": np.cos(c["alpha"]), "sa": np.sin(c["alpha"])}

    def read(z: Array) -> Array:
        turned = c | dict(zip(SCREWS, start + plan.step * z, strict=True))
        action, (left, right) = over_board(posed(turned, receiver))
        return lattice.halves_of(plan.off(action[0, 0], action[1, 0], (left - right) / 2))

    on = np.stack([read(z + e[:, None]) for e in np.eye(3)])
    s = Surroundings.read(lattice.halves_of(plan.off_target(close)), on, plan.bend)
    raised = start[TILT] + plan.step * z[TILT] > 0
    by = plan.rooms_by
    room = lattice.Room(plan.rooms(close, True)[:3] + ROOM, np.where(raised, by[:, :1], by[:, 1:2]), by[:, 2:3], by[:, 3:])
    found, bound = lattice.nearest(s, z[[BASS, TREBLE]], np.array(plan.ks), room, plan.enough)
    return np.asarray(z + found), bound


def _near(at: Array, slopes: Array, most: int) -> Array:
    """A first setting (3, n), by the nominal slopes: steer for the least of lean and aside, each pivot screw by no more than
    ``most`` steps, then tilt for the middle."""
    at = np.where(np.isfinite(at), at, 0.0)
    by_steer = (slopes[:, TREBLE] - slopes[:, BASS]) / 2
    per_tilt = slopes[:, TILT] / slopes[0, TILT]
    lean, aside = (at[r] - at[0] * per_tilt[r] for r in (1, 2))
    a, b = (by_steer[r] - by_steer[0] * per_tilt[r] for r in (1, 2))
    best, steer = np.full(at.shape[1], np.inf), np.zeros(at.shape[1])
    for over, under in ((-lean, a), (-aside, b), (aside - lean, a - b), (-aside - lean, a + b)):
        q = over / under if abs(under) > 1e-12 else np.zeros_like(over)
        value = np.maximum(np.abs(lean + a * q), np.abs(aside + b * q))
        better = value < best
        best, steer = np.where(better, value, best), np.where(better, q, steer)
    steer = np.clip(np.rint(steer), -2 * most, 2 * most)
    treble = np.floor((steer + 1) / 2)
    bass = treble - steer
    return np.stack([np.rint(-(at[0] + slopes[0, BASS] * bass + slopes[0, TREBLE] * treble) / slopes[0, TILT]), bass, treble])
