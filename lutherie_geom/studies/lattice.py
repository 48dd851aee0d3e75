"""The best setting on a lattice of turns: what a builder finds by trying, for thousands of instruments at once.

Three readings are to come near their targets: action bass, action treble, centring. They are kept in half-windows off target,
as the ``middle`` and the ``lean`` of the two actions (half their sum and half their difference) and the ``aside`` of the
strings; the objective is max(|middle| + |lean|, |aside|), which is the largest of the three. From one exact reading, the exact
readings one step on of each screw, and the bend of the nominal design, every setting nearby follows. Steering sets aside and
lean; both pivot screws together by ``k`` steps, with the tilt screw making up for it, leave them nearly alone and change only
how near the middle comes: like the marks of a vernier. So the search goes steering by steering, k by k, and leaves an
instrument as soon as nothing better can follow. No loop runs over instruments.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from lutherie_geom.studies.tally import Array

__all__ = ["NEAR", "Surroundings", "around", "halves_of", "nearest"]

NEAR = 0.005
"""A setting further off must be better by this part to be preferred, and one this near to what is possible is kept."""
STEERS = (0, 1, -1, 2, -2, 3, -3, 4, -4)
LOOK_UP = (0, 1, 3, 6, 10, 16, 24, 40, 64)  # settings of a vernier after which instruments that are done are left out
STEER_ROOM = 2  # steps that steering may add to what stops leave
TILT, BASS, TREBLE = 0, 1, 2


def halves_of(readings: Array) -> Array:
    """Middle, lean and aside from (action bass, action treble, centring) in half-windows off target, (3, n)."""
    a, b, c = readings
    return np.stack([(a + b) / 2, (a - b) / 2, c])


def _largest(v: Array) -> Array:
    return np.maximum(np.abs(v[0]) + np.abs(v[1]), np.abs(v[2]))


@dataclass(frozen=True)
class Surroundings:
    """Instruments about a setting. Readings are (middle, lean, aside) in half-windows off target; screws tilt, bass, treble.

    base: at the setting (3, n); steps: by one step more of each screw (3 screws, 3, n); bend: second-order terms of the
    nominal design per step² (3, 3 screws, 3 screws).
    """

    base: Array
    steps: Array
    bend: Array

    @classmethod
    def read(cls, base: Array, on: Array, bend: Array) -> Surroundings:
        """From exact readings at the setting, (3, n), and one step on of each screw, (3 screws, 3, n)."""
        own = np.stack([bend[:, i, i] for i in range(3)])
        return cls(base, on - base - own[:, :, None] / 2, bend)

    def at(self, tilt: Array, bass: Array, treble: Array) -> Array:
        """Readings (3, ..., n) at steps (..., n) away from the setting."""
        s, h = (tilt, bass, treble), self.bend
        shape = np.broadcast_shapes(*(np.shape(v) for v in s))
        out = np.empty((3, *shape))
        for r in range(3):
            out[r] = self.base[r]
            for i in range(3):
                out[r] += s[i] * (self.steps[i, r] + h[r, i, i] / 2 * s[i])
                for j in range(i):
                    out[r] += h[r, i, j] * (s[i] * s[j])
        return out

    def where(self, chosen: Array) -> Surroundings:
        """Some of the instruments."""
        return Surroundings(self.base[:, chosen], self.steps[:, :, chosen], self.bend)


@dataclass
class _Vernier:
    """Along k steps of both pivot screws, from a steering: the tilt that brings the middle to nothing, and what is left then.

    Each row (n,) is a coefficient of 1, k or k²: tilt_0.. in steps, lean_0.. and aside_0.. in half-windows; ``slope`` and
    ``lean_slope`` per step of tilt.
    """

    rows: Array

    @classmethod
    def of(cls, s: Surroundings, bass: Array, treble: Array) -> _Vernier:
        h = s.bend
        start = s.at(np.zeros_like(bass), bass, treble)
        tilt = s.steps[TILT] + h[:, TILT, BASS, None] * bass + h[:, TILT, TREBLE, None] * treble
        both = (s.steps[BASS] + s.steps[TREBLE] + (h[:, BASS, BASS] + h[:, BASS, TREBLE])[:, None] * bass
                + (h[:, BASS, TREBLE] + h[:, TREBLE, TREBLE])[:, None] * treble)
        kk = h[:, BASS, BASS] + 2 * h[:, BASS, TREBLE] + h[:, TREBLE, TREBLE]
        tk, tt = h[:, TILT, BASS] + h[:, TILT, TREBLE], h[:, TILT, TILT]
        first = -start[0] / tilt[0]
        t0 = -start[0] / (tilt[0] + tt[0] / 2 * first)
        slope = tilt + tt[:, None] * t0
        t1 = -(both[0] + tk[0] * t0) / slope[0]
        t2 = -(kk[0] / 2 + tk[0] * t1 + tt[0] / 2 * t1 * t1) / slope[0]
        left = [(start[r] + t0 * (tilt[r] + tt[r] / 2 * t0), both[r] + tk[r] * t0 + slope[r] * t1,
                 kk[r] / 2 + tk[r] * t1 + tt[r] / 2 * t1 * t1 + slope[r] * t2) for r in (1, 2)]
        return cls(np.stack([t0, t1, t2, *left[0], *left[1], np.abs(slope[0]), slope[1]]))

    def least(self, lowest: Array, highest: Array) -> Array:
        """What the objective cannot fall below, (n,), for any k between these (0 among them)."""
        out = np.zeros(self.rows.shape[1])
        for a, b, c in (self.rows[3:6], self.rows[6:9]):
            ends = [a + k * (b + k * c) for k in (lowest, highest)]
            turning = np.minimum(np.minimum(np.abs(ends[0]), np.abs(ends[1])), np.abs(a))
            out = np.maximum(out, np.where((ends[0] > 0) == (ends[1] > 0), turning, 0.0))
        return out

    def roughly(self, s: Surroundings, bass: Array, treble: Array, reach: Array) -> Array:
        """The same after a little more steering, guessed low and without the bend: most instruments need no closer look."""
        middle, lean, aside = bass * s.steps[BASS] + treble * s.steps[TREBLE]
        tilt = -middle / s.steps[TILT, 0]
        lean = np.abs(self.rows[3] + lean + tilt * s.steps[TILT, 1]) - reach * np.abs(self.rows[4])
        aside = np.abs(self.rows[6] + aside + tilt * s.steps[TILT, 2]) - reach * np.abs(self.rows[7])
        return 0.95 * np.maximum(lean, aside)

    def at(self, k: float) -> tuple[Array, Array, Array]:
        """At k: the step of tilt just below where the middle is nothing, the objective there, and one step above."""
        t0, t1, t2, d0, d1, d2, a0, a1, a2, slope, lean_slope = self.rows
        tilt = t0 + k * (t1 + k * t2)
        low = np.floor(tilt)
        over = tilt - low
        lean, aside = d0 + k * (d1 + k * d2) - over * lean_slope, np.abs(a0 + k * (a1 + k * a2))
        down = np.maximum(over * slope + np.abs(lean), aside)
        return low, down, np.maximum((1.0 - over) * slope + np.abs(lean + lean_slope), aside)


@dataclass(frozen=True)
class Room:
    """Room to the limits [mm] at the setting, (rooms, n), and what a step does to it: of tilt (rooms, n), of both pivot screws
    with the tilt that makes up for it, and of steering (rooms, 1). Steering may also give room: that much is allowed, and who
    reads the setting exactly will see."""

    here: Array
    per_tilt: Array
    per_k: Array
    per_steer: Array


def nearest(s: Surroundings, pivots: Array, ks: Array, room: Room, enough: float = 0.0) -> tuple[Array, Array]:
    """Best steps (3 screws, n) away from the setting, and what no objective falls below, (n,); limits are kept nearly.

    A step of tilt either side of where the middle is nothing is looked at: where limits keep the neck from coming so near,
    there may be better, or nothing is found (nan). ``pivots`` (2, n) is where the pivot screws stand, bass and treble, in
    steps, ``ks`` the steps of both to try, nearest first; neither goes further than the furthest of these. What lies further
    out, or is steered more, must be better by :data:`NEAR` and by ``enough`` half-windows.
    """
    n = s.base.shape[1]
    best, found = np.full(n, np.inf), np.full((3, n), np.nan)
    steer = pivots[1] - pivots[0]
    todo = {0: np.arange(n)}
    for by in STEERS:
        way = int(np.sign(by))
        who = todo[way]
        if not len(who):
            continue
        search = _Search.of(s if by == 0 else s.where(who), who, pivots, by, ks, room, best[who], enough)
        if by == 0:
            bound = search.least
            close = {w: search.vernier.roughly(s, *steered(steer, w), np.maximum(-search.first, search.last)) for w in (1, -1)}
        else:
            search = search.where(search.best > search.least)
        todo[way] = search.who  # what can be no better by one more step of steering can be no better by two
        for i, k in enumerate(ks.tolist()):
            if not len(search.who):
                break
            search.look(k)
            if i in LOOK_UP or i == len(ks) - 1:
                go = (search.best > search.least) & (np.maximum(-search.first, search.last) > abs(k)) & (i < len(ks) - 1)
                if not go.all():
                    search.note(~go, best, found)
                    search = search.where(go)
        if by == 0:
            todo |= {w: np.flatnonzero(best > close[w]) for w in (1, -1)}
    return found, np.minimum(bound, np.minimum(close[1], close[-1]))


@dataclass
class _Search:
    """Instruments still searched along their vernier: what was found so far, and where it is worth looking."""

    who: Array
    rows: Array
    bass: Array
    treble: Array
    room: Array
    per_tilt: Array
    per_k: Array
    first: Array
    last: Array
    least: Array
    best: Array
    k: Array
    tilt: Array
    enough: float

    @classmethod
    def of(cls, s: Surroundings, who: Array, pivots: Array, by: int, ks: Array, room: Room, best: Array,
           enough: float) -> _Search:
        """At the start of a steering: the room at no tilt and k of nothing, and the first and last k that it may allow."""
        at_bass, at_treble = pivots if by == 0 else pivots[:, who]
        bass, treble = steered(at_treble - at_bass, by)
        v = _Vernier.of(s, bass, treble)
        all_ = slice(None) if by == 0 else who
        per_tilt = room.per_tilt[:, all_]
        here = room.here[:, all_] + room.per_k * ((bass + treble) / 2) + room.per_steer * abs(by)
        edge = -(here + per_tilt * v.rows[0] + np.abs(per_tilt)) / room.per_k
        at_bass, at_treble = at_bass + bass, at_treble + treble
        first = np.maximum(np.where(room.per_k > 0, edge, -np.inf).max(axis=0), ks.min() - np.minimum(at_bass, at_treble))
        last = np.minimum(np.where(room.per_k > 0, np.inf, edge).min(axis=0), ks.max() - np.maximum(at_bass, at_treble))
        least = v.least(np.minimum(first, 0), np.maximum(last, 0)) * (1 + NEAR) + enough
        none = np.full(len(who), np.nan)
        return cls(who, v.rows, bass, treble, here, per_tilt, room.per_k, first, last, least, best.copy(), none, none.copy(),
                   enough)

    @property
    def vernier(self) -> _Vernier:
        return _Vernier(self.rows)

    def where(self, chosen: Array) -> _Search:
        """Some of them."""
        i = np.flatnonzero(chosen)
        each = {k: v.take(i, axis=-1) for k, v in vars(self).items() if k not in ("per_k", "enough")}
        return replace(self, **each)

    def look(self, k: int) -> None:
        """Try k; near the edge of the room either step of tilt must be within it."""
        low, down, up = self.vernier.at(float(k))
        value, asked = np.minimum(down, up), self.best * (1 - NEAR) - self.enough
        new = np.flatnonzero((value < asked) & (self.first <= k) & (k <= self.last))
        low, down, up = low[new], down[new], up[new]
        edge = np.flatnonzero((k < self.first[new] + 3) | (k > self.last[new] - 3))
        if len(edge):
            at = new[edge]
            by_tilt = low[edge] - k * (self.rows[1, at] + k * self.rows[2, at])
            room = self.room[:, at] + self.per_k * k + self.per_tilt[:, at] * by_tilt
            down[edge] = np.where(room.min(axis=0) >= 0, down[edge], np.inf)
            up[edge] = np.where((room + self.per_tilt[:, at]).min(axis=0) >= 0, up[edge], np.inf)
            better = np.minimum(down, up) < asked[new]
            new, low, down, up = new[better], low[better], down[better], up[better]
        self.best[new], self.k[new], self.tilt[new] = np.minimum(down, up), k, low + (up < down)

    def note(self, done: Array, best: Array, found: Array) -> None:
        """Keep what was found for those who are done and found something better than before."""
        new = np.flatnonzero(done & (self.best < best[self.who]))
        to, k = self.who[new], self.k[new]
        best[to] = self.best[new]
        found[TILT, to], found[BASS, to], found[TREBLE, to] = self.tilt[new], self.bass[new] + k, self.treble[new] + k


def steered(steer: Array, by: int) -> tuple[Array, Array]:
    """Steps of bass and treble that steer ``by`` more, shared so that the pivot axis stays where it is, or nearly."""
    now, then = np.floor((steer + 1) / 2), np.floor((steer + by + 1) / 2)
    return (then - (steer + by)) - (now - steer), then - now


def around(s: Surroundings, pivots: Array, ks: Array, steers: int, wide: int) -> tuple[Array, Array]:
    """Every setting about the verniers: steps (3 screws, settings, n) and the objective there (settings, n).

    Up to ``steers`` more steps of steering either way, all ``ks`` of both pivot screws from where they stood before
    ``pivots`` (2, n), and ``wide`` steps of tilt either way.
    """
    steer = pivots[1] - pivots[0]
    k = ks[:, None, None] - np.floor(pivots.sum(axis=0) / 2)
    more = np.arange(-wide, wide + 2.0)[:, None]
    shape = (len(ks), len(more), len(steer))
    all_ = []
    for by in range(-steers, steers + 1):
        bass, treble = steered(steer, by)
        v = _Vernier.of(s, bass, treble)
        tilt = np.floor(v.rows[0] + k * (v.rows[1] + k * v.rows[2])) + more
        all_.append(np.stack([tilt, np.broadcast_to(bass + k, shape), np.broadcast_to(treble + k, shape)]))
    steps = np.stack(all_, axis=1).reshape(3, -1, len(steer))
    return steps, _largest(s.at(*steps))
