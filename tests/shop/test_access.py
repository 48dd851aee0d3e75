"""Cutter and key against independent judges: shapely for distances and outlines, turning an arm step by step for its swing."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity
from shapely.geometry import LineString, Point, Polygon, box

import lutherie_geom as lg
from lutherie_geom.design.load import names
from lutherie_geom.shop.order.access import (
    Box,
    Cutter,
    Standing,
    box_of,
    floor_path,
    meetings,
    outline_path,
    path_distance,
    standing,
)
from lutherie_geom.shop.order.keys import (
    GRIP,
    SCREWS,
    WAYS,
    Hand,
    Socket,
    bent_key,
    free_swing,
    key_way,
    key_ways,
    socket_of,
    straight_line,
)
from lutherie_geom.theory.access import longest_arm

DESIGN = lg.load("slack_water")


def pocket(design) -> Polygon:
    """Heel's outline with the side gap all round, run out above the soundboard: drawn by shapely, not by the library."""
    h, c = design.heel, design.pocket.side_gap
    lean = (h.half_width_top - h.half_width_foot) / -h.foot_z
    low = h.foot_z - c
    top, foot = h.half_width_top + c, h.half_width_foot + c - lean * c
    up = 30.0
    return Polygon([(-top - lean * up, up), (-foot, low), (foot, low), (top + lean * up, up)])


@pytest.mark.parametrize("name", names())
@pytest.mark.parametrize("bit", [6.0, 12.0])
def test_the_bit_keeps_to_the_pocket(name, bit):
    design = lg.load(name)
    room = pocket(design)
    path = LineString(outline_path(design, bit))
    # Nowhere past the outline, and along all of cheeks and foot right up to it.
    assert room.buffer(1e-6).contains(path.buffer(bit / 2))
    inner = room.buffer(-bit / 2)
    below = box(-60, -200, 60, -0.001)
    assert inner.exterior.intersection(below).hausdorff_distance(path) < 0.1
    # The lanes clear the whole floor, but for the corners that a round bit cannot enter.
    floor = LineString(floor_path(design, bit)).buffer(bit / 2 + 1e-6)
    left = room.intersection(below).difference(floor)
    # The two round corners at the foot, and the lens between lanes beside the cheeks, which the outline pass takes.
    assert left.area < 0.6 * bit**2


@settings(max_examples=60, deadline=None)
@given(st.floats(-40, 40), st.floats(-120, 20), st.floats(4, 16), st.booleans())
def test_distance_is_shapelys(y, z, bit, whole):
    path = (floor_path if whole else outline_path)(DESIGN, bit)
    assert float(path_distance(path, y, z)) == pytest.approx(LineString(path).distance(Point(y, z)), abs=1e-9)


def test_distances_of_many_bits_and_places_at_once():
    bits = np.array([4.0, 8.0, 14.0])
    y, z = np.array([[0.0], [18.0]]), np.array([[-80.0], [-20.0]])
    found = path_distance(outline_path(DESIGN, bits), y, z)
    assert found.shape == (2, 3)
    for i, j in np.ndindex(2, 3):
        one = LineString(outline_path(DESIGN, bits[j])).distance(Point(y[i, 0], z[i, 0]))
        assert found[i, j] == pytest.approx(one, abs=1e-9)


@settings(max_examples=80, deadline=None)
@given(st.floats(-30, 30), st.floats(-110, 0), st.floats(2, 10), st.floats(0.1, 60), st.floats(3, 16), st.booleans())
def test_a_meeting_is_an_overlap(y, z, wide, out, bit, whole):
    """They meet exactly when the area swept by bit, bush or base plate touches the screw, at a height that the screw has."""
    cutter = Cutter(bit=bit, bush=bit + 5, whole_floor=whole)
    (m,) = meetings(DESIGN, cutter, [Standing("screw", y, z, wide, out)])
    path = LineString((floor_path if whole else outline_path)(DESIGN, bit))
    depth = DESIGN.pocket.depth
    at = [d for d, above in ((bit, 0.0), (cutter.bush, depth), (cutter.base, depth + cutter.template)) if out > above]
    gap = min(path.distance(Point(y, z)) - (d + wide) / 2 for d in at)
    assert m.meets == (gap < 0)
    swept = shapely.buffer(path, max(at) / 2, quad_segs=64)
    if abs(gap) > 0.05:
        assert swept.intersects(Point(y, z).buffer(wide / 2, quad_segs=64)) == m.meets
    if not m.meets:
        assert m.margin == pytest.approx(gap, abs=1e-9)


def test_the_screw_that_stands_is_the_designs():
    s, *pivots = standing(DESIGN, ("tilt_screw", "pivot"))
    assert (s.z, s.out, s.diameter) == (-80.0, 24.0 + 9.0, 6.0)  # -24 mm receiver, 9 mm past it
    assert [p.y for p in pivots] == [-18.0, 18.0] and {p.out for p in pivots} == {0.5}
    assert all(m.meets for m in meetings(DESIGN, screws=("tilt_screw", "pivot")))
    small = Cutter(bit=3.0, bush=6.0, base=30.0, whole_floor=False)
    low = [Standing("low screw", 0.0, -40.0, 6.0, 3.0)]
    assert not meetings(DESIGN, small, low)[0].meets and meetings(DESIGN, Cutter(), low)[0].meets


@pytest.mark.parametrize(("make", "word"), [
    (lambda: Cutter(bit=1.0), "cutter.bit: 1 mm"), (lambda: Cutter(bush=10.0), "not wider"),
    (lambda: Box(depth=20.0), "box.depth"),
    (lambda: Box(near=200.0), "box.far"), (lambda: Hand(ball=1.0), "deg"), (lambda: Hand(reach=5.0), "hand.reach"),
    (lambda: standing(DESIGN, ("truss",)), "no screw named 'truss'"), (lambda: socket_of(DESIGN, "nut"), "no screw named 'nut'"),
    (lambda: outline_path(DESIGN, 29.0), "does not go into the pocket's foot")])
def test_bad_input_names_itself(make, word):
    with pytest.raises(ValueError, match=word):
        make()


def turned(arm: float, s: Socket, b: Box, at: float, steps: int = 7200) -> float:
    """Free swing by turning a thin arm step by step among walls drawn by shapely [rad]."""
    half = s.thick / 2
    under_brace = abs(at - b.brace_x) < b.brace_width / 2 + half
    over = -b.top - half - (b.brace_height if under_brace else 0.0)
    width = math.sqrt(max(b.radius**2 - (at - b.middle) ** 2, 0.0)) - half
    roof = LineString([(-500, over), (500, over)])
    if width > 0 and not under_brace:
        roof = roof.difference(box(-width, over - 1, width, over + 1))
    back = LineString([(-500, -b.depth + b.back + half), (500, -b.depth + b.back + half)])
    walls = shapely.union_all([roof, back])
    up = LineString([(s.y, s.z), (s.y, s.z + arm)])
    arms = [affinity.rotate(up, -k * 360 / steps, origin=(s.y, s.z)) for k in range(steps)]
    hit = shapely.intersects(np.array(arms), walls)
    if not hit.any():
        return 2 * math.pi
    first = int(np.argmax(hit))
    runs = "".join("x" if h else "." for h in np.roll(hit, -first)).split("x")
    return max(map(len, runs)) * 2 * math.pi / steps


@pytest.mark.parametrize("seed", range(25))
def test_swing_is_that_of_an_arm_turned_step_by_step(seed):
    rng = np.random.default_rng(seed)
    b = Box(depth=rng.uniform(80, 130), brace_height=rng.uniform(0, 15))
    s = Socket("clamp", 60.0, rng.uniform(-30, 30), rng.uniform(-70, -25), 4.0, (), 60.0)
    arm, at = rng.uniform(15, 120), rng.uniform(65, 190)
    assert float(free_swing(s, b, arm, at)) == pytest.approx(turned(arm, s, b, at), abs=0.003)


def test_swing_of_many_arms_at_once():
    s, b = socket_of(DESIGN, "pivot_bass"), box_of(DESIGN)
    arms, at = np.linspace(10, 120, 23)[:, None], np.linspace(65, 190, 7)
    found = free_swing(s, b, arms, at)
    assert found.shape == (23, 7) and np.all((found >= 0) & (found <= 2 * np.pi + 1e-12))
    assert np.all(np.diff(found, axis=0) <= 1e-9)  # a longer arm never swings further
    one = [[float(free_swing(s, b, float(a), float(x))) for x in at] for a in arms[:, 0]]
    np.testing.assert_allclose(found, one, atol=1e-12)


@settings(max_examples=60, deadline=None)
@given(st.floats(-95, -15), st.floats(100, 140))
def test_the_longest_arm_swings_exactly_one_grip(z, depth):
    b = Box(depth=depth, brace_height=0.0)
    s = Socket("clamp", 60.0, 0.0, z, 4.0, (), 60.0)
    over, under = -z - b.top - s.thick / 2, depth - b.back + z - s.thick / 2
    longest = float(longest_arm(room_over=over, room_under=under, grip=GRIP))
    assert float(free_swing(s, b, longest, 62.0)) == pytest.approx(GRIP, abs=1e-9)
    assert float(free_swing(s, b, longest * 1.01, 62.0)) < GRIP < float(free_swing(s, b, longest * 0.99, 62.0))


def rooms(s: Socket, b: Box, point: np.ndarray) -> tuple[float, float, float]:
    """Angle of the line socket to point, the room it has in holes and under the brace, and how far it sticks out past the rim:
    from points of the key itself, not from the library's relations."""
    start = np.array([s.x, s.y, s.z])
    along = (point - start) / np.linalg.norm(point - start)
    angle = math.acos(along[0])
    room = math.inf
    for edge, half in s.holes:
        off = start + along * (edge - s.x) / along[0] - [edge, s.y, s.z]
        # In the plane of the hole a slanting round key is an ellipse, stretched along its slant.
        room = min(room, half - math.hypot(off[1], off[2]) - s.thick / 2 / along[0])
    if b.brace_height > 0 and s.x < b.brace_x:
        t = (b.brace_x - s.x) / along[0]
        across = s.thick / 2 * math.hypot(along[0], along[2]) / along[0]
        room = min(room, -b.top - b.brace_height - (start + along * t)[2] - across)
    # Where the round key cuts the top's two faces, all of it must lie within the soundhole.
    side = np.cross(along, [0.0, 0.0, 1.0])
    side /= np.linalg.norm(side)
    over = np.cross(side, along)
    skin = start + s.thick / 2 * (np.cos(_SKIN)[:, None] * side + np.sin(_SKIN)[:, None] * over)
    past = 0.0
    for z in (0.0, -b.top):
        cut = skin + along * ((z - skin[:, 2]) / along[2])[:, None]
        past = max(past, float(np.hypot(cut[:, 0] - b.middle, cut[:, 1]).max()) - b.radius)
    return angle, room, past


_SKIN = np.linspace(0, 2 * np.pi, 90)


@pytest.mark.parametrize("name", names())
@pytest.mark.parametrize("screw", SCREWS)
def test_the_straight_line_is_the_best_of_all(name, screw):
    design = lg.load(name)
    s, b = socket_of(design, screw), box_of(design)
    angle, room, point, _ = straight_line(s, b)
    seen = rooms(s, b, np.array(point))
    assert angle == pytest.approx(seen[0], abs=1e-9)
    assert seen[1] >= room - 0.02  # the least of all rooms; the soundhole's edge may be nearer than hole and brace
    rng = np.random.default_rng(4)
    r, f = b.radius * np.sqrt(rng.random(1500)), 2 * np.pi * rng.random(1500)
    tried = [rooms(s, b, np.array([b.middle + x * np.cos(a), x * np.sin(a), 0.0])) for x, a in zip(r, f, strict=True)]
    free = [a for a, left, past in tried if left >= 0 and past <= 0]
    if room >= 0:
        assert seen[2] <= 0.3
        assert angle <= min(free, default=math.inf) + 0.01
    else:
        assert not free or room > -0.2


def test_every_way_can_come_out():
    """Moving hole, brace and key through their ranges, each way is met, and the better way is never passed over."""
    found = set()
    clear = Box(brace_height=0.0, depth=115.0)
    plain = Socket("clamp", 60.0, 0.0, -12.0, 4.0, (), 60.0)
    cases = [
        (plain, clear.moved(350.0)), (plain, clear), (Socket("clamp", 60.0, 0.0, -85.0, 4.0, (), 60.0), clear.moved(110.0)),
        (Socket("clamp", 30.0, 0.0, -70.0, 4.0, ((60.0, 4.0),), 60.0), clear.moved(140.0)),
        (Socket("clamp", 58.0, 0.0, -60.0, 5.0, ((60.0, 3.0),), 60.0), clear.moved(140.0)),
        (Socket("clamp", 20.0, 0.0, -70.0, 5.0, ((60.0, 2.0),), 60.0), clear),
        (Socket("clamp", 20.0, 0.0, -70.0, 5.0, (), 60.0, "heel"), clear)]
    # A plain end through a soundhole in the top never lies flat enough; a hand that allows it more shows the word.
    for s, b, hand in [*((s, b, Hand()) for s, b in cases), (plain, clear, Hand(plain=math.radians(20)))]:
        k = key_way(s, b, hand)
        found.add(k.way)
        assert k.way in WAYS and str(k) and k.open == (k.way != "no way")
        if k.way == "straight":
            assert k.angle <= hand.plain
        if k.way == "ball end":
            assert hand.plain < k.angle <= hand.ball and k.room >= 0
        if k.way == "no way":
            assert k.stops
    assert found == set(WAYS)


def test_smallest_turn_and_grips():
    k = key_ways(DESIGN)["tilt_screw"]
    assert k.way == "short arm" and k.arm == 28
    assert k.least == pytest.approx(2.0 / (2 * math.pi * 28))  # 2 mm at the end of the arm, as a part of its circle
    assert k.grips == math.ceil(360 / (60 * math.floor(math.degrees(k.swing) / 60)))
    assert key_way(k.socket, box_of(DESIGN), arms=(20.0, 40.0)).way == "no way"  # both arms end inside the block


def test_half_a_brace_too_many():
    s = socket_of(DESIGN, "pivot_bass")
    assert key_way(s, box_of(DESIGN)).open
    shut = key_way(s, box_of(DESIGN, brace_height=18.0))
    assert not shut.open and "brace" in str(shut)
    assert bent_key(s, box_of(DESIGN, brace_height=18.0), Hand(), 70.0, 25.0)[2]
