"""How a hex key gets at each screw through the soundhole, and the smallest turn that a hand can then make.

The ways, best first: ``straight`` (a plain stick nearly along the screw), ``ball end``, ``short arm`` (the long arm of a bent key
in the socket, the short one swings), ``long arm`` (the other way round), ``no way``. Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from lutherie_geom.joint.bores import COVER, block_bores, cap_bed
from lutherie_geom.shop.order.access import Box, box_of
from lutherie_geom.theory.access import (
    blocked_half_angle,
    brace_room,
    hole_room,
    key_angle,
    least_turn,
    longest_arm,
    opening_half_angle,
    rim_room,
)

__all__ = ["GRIP", "SCREWS", "WAYS", "Hand", "KeyWay", "Socket", "bent_key", "free_swing", "key_way", "key_ways", "socket_of",
           "straight_line"]

WAYS = ("straight", "ball end", "short arm", "long arm", "from the heel", "no way")
SCREWS = ("tilt_screw", "pivot_bass", "pivot_treble", "clamp")
WORDS = {"tilt_screw": "tilt screw", "pivot_bass": "bass pivot screw", "pivot_treble": "treble pivot screw",
         "clamp": "clamp screw"}
GRIP = math.pi / 3
"""Angle from one grip of a hex socket to the next [rad]: geometry."""
_FULL = 2 * math.pi
# Places over the soundhole, as parts of its radius: where a straight key may cross the top.
_DISC = np.stack([f(a) * r for f in (np.cos, np.sin) for a, r in [np.meshgrid(np.linspace(-math.pi, math.pi, 97), np.linspace(
    0.0, 1.0, 41))]]).reshape(2, -1)
# Arms of a usual bent key over its size [mm], from memory (ISO 2936); between sizes evenly.
_SIZES, _SHORT, _LONG = (2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0), (16, 18, 20, 25, 28, 32, 36), (50, 56, 63, 70, 80, 90, 100)


@dataclass(frozen=True)
class Hand:
    """What keys and fingers do (common practice, no source): angles [rad], lengths [mm].

    ``ball``: how far a ball end may lean; ``plain``: a plain end; ``reach``: fingers from the soundhole's edge to the arm;
    ``step``: least move of the arm's end; ``knob``: radius of a straight key's handle.
    """

    ball: float = math.radians(25)
    plain: float = math.radians(3)
    reach: float = 110.0
    step: float = 2.0
    knob: float = 12.0

    def __post_init__(self) -> None:
        if not 0 <= self.plain <= self.ball <= math.radians(40):
            raise ValueError(f"hand.ball: {math.degrees(self.ball):.3g} deg; allowed is hand.plain "
                             f"({math.degrees(self.plain):.3g} deg) to 40 deg")
        for name, low, high in (("reach", 20.0, 250.0), ("step", 0.2, 20.0), ("knob", 3.0, 60.0)):
            if not low <= (value := getattr(self, name)) <= high:
                raise ValueError(f"hand.{name}: {value:g} mm; allowed is {low:g} to {high:g} mm")


@dataclass(frozen=True)
class Socket:
    """A screw's socket [mm] at ``x``, ``y``, ``z``, facing the tail; ``key`` across flats; ``holes``: (x of the far edge, half
    width) of every hole through which it is reached; ``inside``: where the block ends."""

    screw: str
    x: float
    y: float
    z: float
    key: float
    holes: tuple[tuple[float, float], ...]
    inside: float
    key_from: str = "soundhole"

    @property
    def thick(self) -> float:
        """The key over its corners [mm]."""
        return self.key * 2 / math.sqrt(3)

    @property
    def arms(self) -> tuple[float, float]:
        """Short and long arm of the usual bent key [mm]."""
        return float(np.interp(self.key, _SIZES, _SHORT)), float(np.interp(self.key, _SIZES, _LONG))


@dataclass(frozen=True)
class KeyWay:
    """How a key gets in: ``angle`` of the best straight line [rad] and ``room`` [mm] it leaves in holes and under the brace;
    ``swing``: free swing of the bent key [rad]; ``arm``: what the hand moves [mm]; ``least``: smallest turn [turn]; ``grips`` for
    a whole turn; ``longest``: the longest arm that could be gripped anew there [mm]; ``stops``: what stands in the way."""

    socket: Socket
    way: str
    angle: float
    room: float
    swing: float
    swings_at: float
    arm: float
    least: float
    grips: int
    longest: float
    line: tuple[float, float, float]
    stops: tuple[str, ...]

    @property
    def open(self) -> bool:
        """Whether a key gets in with the box closed."""
        return self.way != "no way"

    def __str__(self) -> str:
        words = WORDS[self.socket.screw]
        lean = f"the best straight line from the soundhole stands {math.degrees(self.angle):.1f}° to the screw"
        if not self.open:
            return f"{words}: no way in once the back is on ({lean}; {'; '.join(self.stops)})"
        if self.way == "from the heel":
            return f"{words}: from the heel, with the neck off"
        turn = f"smallest turn about 1/{1 / self.least:.0f}"
        if self.way in ("straight", "ball end"):
            return f"{words}: {self.way}; {lean}; {turn}"
        again = "no new grip needed" if self.grips == 0 else f"{self.grips} grips to a turn"
        return (f"{words}: {self.way} of {self.arm:.0f} mm, free to swing {math.degrees(self.swing):.0f}°, {again}; {turn} "
                f"({'; '.join((lean, *self.stops))})")


def socket_of(design: Any, screw: str) -> Socket:
    """Where the socket of a screw is. Key sizes and head heights are those usual for the diameter (common practice, no source):
    cap heads as high as the screw is thick, 5/6 of it across flats; set screws half of it. The clamp's head bears on the block's
    inner face. Raises ValueError for an unknown screw."""
    t, v, c, inner = design.tilt_screw, design.pivot, design.clamp, float(design.block.depth)
    if screw == "tilt_screw":
        x = t.head_x + t.diameter
        cover = cap_bed(design) + COVER
        holes = ((cover, t.cover_hole / 2), (max(inner, cover), min(t.cover_width, t.cover_height) / 2))
        return Socket(screw, x, 0.0, t.head_z, t.diameter * 5 / 6, holes, inner, t.key_from)
    if screw in ("pivot_bass", "pivot_treble"):
        y = v.spacing / 2 * (-1 if screw == "pivot_bass" else 1)
        rim = v.x + math.sqrt(v.ball_radius**2 - v.rim_radius**2)
        x = rim + v.screw_length
        half = block_bores(design)[screw].wide / 2
        return Socket(screw, x, y, v.z, v.screw_diameter / 2, ((inner, half),) if inner > x else (), inner, v.key_from)
    if screw == "clamp":
        return Socket(screw, inner + c.diameter, 0.0, v.z - c.below_axis, c.diameter * 5 / 6, (), inner)
    raise ValueError(f"no screw named {screw!r}; there are {', '.join(SCREWS)}")


def _to_rim(at: np.ndarray, way: np.ndarray, radius: float) -> np.ndarray:
    """From points (2, n) of the soundhole along directions (2, n) to its edge [mm]; negative outside it."""
    along = np.sum(at * way, axis=0)
    inside = along**2 + radius**2 - np.sum(at**2, axis=0)
    return np.where(inside >= 0, np.sqrt(np.maximum(inside, 0.0)) - along, -np.sqrt(np.abs(inside)))


def straight_line(s: Socket, box: Box) -> tuple[float, float, tuple[float, float, float], str]:
    """The best straight key from the soundhole to a socket.

    Gives its angle to the screw [rad], the least room it has left in holes, under the brace and in the soundhole [mm], the point
    where it crosses the top's outside (x, y, z) [mm], and what is nearest. The flattest line that leaves room is taken; failing
    that, the one that lacks least.
    """
    x, y, z = box.middle + box.radius * _DISC[0], box.radius * _DISC[1], 0.0
    ahead, aside, below = np.maximum(x - s.x, 1e-3), y - s.y, z - s.z
    angle = key_angle(ahead=ahead, aside=aside, below=below)
    # Outside, the key is nearest to the rim ahead of it; at the top's underside, to the rim behind it; sideways, to either.
    flat_out = np.hypot(ahead, aside)
    lean = np.array([ahead, aside]) / flat_out
    back = flat_out * box.top / below
    under = np.array([x - box.middle, y]) - back * lean
    slant = dict(ahead=ahead, aside=aside, below=below, key_diameter=s.thick)
    side = np.array([-lean[1], lean[0]])
    chords = [_to_rim(np.array([x - box.middle, y]), lean, box.radius), _to_rim(under, -lean, box.radius)]
    rooms = [np.minimum(*(rim_room(to_rim=c, **slant) for c in chords))]
    rooms += [np.minimum(_to_rim(under, way, box.radius), _to_rim(under + back * lean, way, box.radius)) - s.thick / 2
              for way in (side, -side)]
    names = ["the soundhole's edge"] * 3
    flat = np.minimum(angle, 1.5)
    for k, (edge, half) in enumerate(s.holes):
        rooms.append(hole_room(hole_half_width=half, hole_ahead=edge - s.x, key_diameter=s.thick, leaning=flat))
        names.append("the hole in the cover" if s.screw == "tilt_screw" and k == 0 else "the key hole in the block")
    if box.brace_height > 0 and s.x < box.brace_x:
        rooms.append(brace_room(brace_z=-box.top - box.brace_height, socket_z=s.z, brace_ahead=box.brace_x - s.x, ahead=ahead,
                                below=below, key_diameter=s.thick))
        names.append("the brace")
    worst = np.min(rooms, axis=0)
    free = np.where(worst >= 0, angle, np.inf)
    k = int(np.argmin(free)) if np.isfinite(free).any() else int(np.argmax(worst))
    nearest = names[int(np.argmin([r[k] for r in rooms]))]
    return float(angle[k]), float(worst[k]), (float(x[k]), float(y[k]), float(z)), nearest


def free_swing(s: Socket, box: Box, arm: Any, at: Any) -> Any:
    """Free swing [rad] of an arm [mm] about the screw's axis in the plane x = ``at`` [mm], between top, brace and back; arrays
    broadcast. Under the soundhole the arm may stand up through it."""
    arm, at = np.broadcast_arrays(np.asarray(arm, dtype=float), np.asarray(at, dtype=float))
    half = s.thick / 2
    under_brace = (np.abs(at - box.brace_x) < box.brace_width / 2 + half)
    over = -s.z - box.top - half - np.where(under_brace, box.brace_height, 0.0)
    under = box.depth - box.back + s.z - half
    width = np.sqrt(np.maximum(box.radius**2 - (at - box.middle) ** 2, 0.0))

    def blocked(room: Any) -> Any:
        """Half of what a wall blocks; all of the half turn toward it when it is nearer than the key is thick."""
        near = np.minimum(np.maximum(room, 0.0), arm)
        return blocked_half_angle(wall=near, arm=arm)

    up, down = blocked(over), blocked(under)
    # Angles from straight up, to the treble. Round the circle: wall, window, wall, treble side, back, bass side.
    wall = np.maximum(over, 1e-6)
    left = opening_half_angle(opening=-width - s.y + half, wall=wall)
    right = opening_half_angle(opening=width - s.y - half, wall=wall)
    shut = (right <= left) | (width == 0) | under_brace
    left, right = (np.where(shut, up, np.clip(a, -up, up)) for a in (left, right))
    walls = (left + up, up - right, 2 * down)
    gaps = (right - left, math.pi - down - up, math.pi - down - up)
    best = np.zeros(arm.shape)
    for k in range(3):  # a wall of no width stops nothing
        second = gaps[(k + 1) % 3] + np.where(walls[(k + 2) % 3] <= 1e-12, gaps[(k + 2) % 3], 0.0)
        best = np.maximum(best, gaps[k] + np.where(walls[(k + 1) % 3] <= 1e-12, second, 0.0))
    return best[()]


def bent_key(s: Socket, box: Box, hand: Hand, along: float, arm: float) -> tuple[float, float, list[str]]:
    """One arm of a bent key in the socket (``along`` [mm]), the other swinging (``arm`` [mm]): where it swings (x [mm]), its free
    swing [rad], and what stops it."""
    at, half, stops = s.x + along, s.thick / 2, []
    if any(half > width for _, width in s.holes):
        stops.append(f"the key, {s.thick:.1f} mm over its corners, does not go through its hole")
    if at < s.inside + half:
        stops.append(f"an arm of {along:.0f} mm ends inside the block")
    if s.x < box.brace_x < at and s.z + half > -box.top - box.brace_height:
        stops.append("the brace lies over the screw's line")
    swing = float(free_swing(s, box, arm, at))
    if swing < GRIP:
        stops.append(f"an arm of {arm:.0f} mm swings {math.degrees(swing):.0f}°, less than the 60° of a new grip")
    off = math.hypot(max(box.near - at, at - box.far, 0.0), s.z)
    if off > hand.reach:
        stops.append(f"the arm swings {off:.0f} mm from the soundhole's edge; fingers reach {hand.reach:.0f} mm")
    return at, swing, stops


def key_way(s: Socket, box: Box, hand: Hand | None = None, arms: tuple[float, float] | None = None) -> KeyWay:
    """How a key gets at one socket with the box closed; ``arms``: short and long arm of the bent key [mm]."""
    hand = hand or Hand()
    angle, room, line, nearest = straight_line(s, box)
    short, long = arms or s.arms
    over, under = -s.z - box.top - s.thick / 2, box.depth - box.back + s.z - s.thick / 2
    longest = float(longest_arm(room_over=max(over, 0.0), room_under=max(under, 0.0), grip=GRIP))
    stops: list[str] = []

    def found(way: str, swing: float, at: float, arm: float, grips: int) -> KeyWay:
        least = float(least_turn(hand_step=hand.step, arm=arm))
        return KeyWay(s, way, angle, room, swing, at, arm, least, grips, longest, line, tuple(stops))

    if s.key_from == "heel":
        return found("from the heel", _FULL, s.x, long, 0)
    if room < 0:
        stops.append(f"a straight key meets {nearest} by {-room:.1f} mm")
    elif angle > hand.ball:
        stops.append(f"a ball end leans {math.degrees(hand.ball):.0f}° at most")
    else:
        return found("straight" if angle <= hand.plain else "ball end", _FULL, line[0], hand.knob, 0)
    bent = [(name, arm, *bent_key(s, box, hand, along, arm)) for name, along, arm in
            (("short arm", long, short), ("long arm", short, long))]
    free = [b for b in bent if not b[4]]
    if free:
        name, arm, at, swing, _ = max(free, key=lambda b: b[1])  # a longer arm sets finer
        whole = swing > _FULL - 1e-9
        return found(name, swing, at, arm, 0 if whole else math.ceil(6 / math.floor(swing / GRIP + 1e-9)))
    for name, _, _, _, why in bent:
        stops.append(f"{name}: {', '.join(why)}")
    name, arm, at, swing, _ = max(bent, key=lambda b: b[3])
    return found("no way", swing, at, arm, 0)


def key_ways(design: Any, box: Box | None = None, hand: Hand | None = None) -> dict[str, KeyWay]:
    """How a key gets at every screw of a design, by the screw's name."""
    box = box or box_of(design)
    return {screw: key_way(socket_of(design, screw), box, hand) for screw in SCREWS}
