"""Templates: every distance against an independent way to it; what cannot be cut is refused by name."""

import math

import numpy as np
import pytest
from shapely.geometry import LineString, Point, Polygon

from lutherie_geom.design.load import load, names
from lutherie_geom.joint.holes import heel_need, poses
from lutherie_geom.joint.travel import travel
from lutherie_geom.shop.hardware import ball_head, clamp_hole
from lutherie_geom.shop.order.access import Cutter
from lutherie_geom.shop.paper.drawn import extents
from lutherie_geom.shop.paper.entities import (
    LAYERS,
    Arc,
    Circle,
    Datum,
    Dimension,
    Line,
    Path,
    Text,
    measure,
    mirrored,
    moved,
    polar,
)
from lutherie_geom.shop.paper.title_block import Finish, Job
from lutherie_geom.shop.templates.block import pocket_shape
from lutherie_geom.shop.templates.ground import Ground, limits_text, tight_fields
from lutherie_geom.shop.templates.refusals import ShopError, collisions
from lutherie_geom.shop.templates.templates import KEYS, templates, views
from lutherie_geom.shop.templates.tongue import frets_on_tongue
from lutherie_geom.theory.templates import heel_corner, template_offset

GOOD = [n for n in names() if n != "spring_tide"]
VIEW = ("cut", "hole", "part", "hidden", "centre")


def with_part(design, part, **values):
    return design.model_copy(update={part: getattr(design, part).model_copy(update=values)})


def one(design, key, job=None):
    return templates(design, job, only=(key,))[0]


def seen(drawing, kinds=(Line, Circle, Arc, Path)):
    """Geometry of the view about its own origin."""
    return moved([e for e in drawing.primitives() if e.layer in VIEW and isinstance(e, kinds)], -drawing.origin[0],
                 -drawing.origin[1])


@pytest.mark.parametrize("name", GOOD)
@pytest.mark.parametrize("units", ["mm", "inch"])
def test_all_are_drawn_and_stay_on_their_sheet(name, units):
    design = load(name)
    found = templates(design, Job(units=units))
    flat = design.body.dome == "flat"
    assert [d.key for d in found] == [k for k in KEYS if k != "rod-slots" and not (flat and k == "dome-gauge")]
    for d in found:
        x0, y0, x1, y1 = extents(d.entities)
        assert -0.01 <= x0 and -0.01 <= y0 and x1 <= d.width + 0.01 and y1 <= d.height + 0.01, d.key
        said = " ".join(e.words for e in d.primitives() if isinstance(e, Text))
        for words in (design.name, d.title, "1 : 1", "100 mm", "4 in", design.handed, units, "Print at 100 %"):
            assert words in said, (d.key, words)
        bars = sorted(abs(e.x2 - e.x1) for e in d.on("scale", Line) if e.y1 == e.y2)
        assert bars == pytest.approx([100, 101.6], abs=1e-9)
        assert {e.layer for e in d.primitives()} <= set(LAYERS)


def _box(e):
    wide, high = 0.62 * e.height / 0.729 * len(e.words), e.height
    left = {"start": 0.0, "middle": -wide / 2, "end": -wide}[e.anchor]
    corners = [(left, 0), (left + wide, 0), (left + wide, high), (left, high)]
    return Polygon([polar(*polar(e.x, e.y, x, e.turn), y, e.turn + 90) for x, y in corners])


@pytest.mark.parametrize("name", GOOD)
def test_no_words_lie_on_words(name):
    for d in templates(load(name)):
        boxes = [(e.words, _box(e)) for e in d.primitives() if isinstance(e, Text)]
        for k, (words, box) in enumerate(boxes):
            for other, there in boxes[k + 1:]:
                assert box.intersection(there).area < 0.35 * min(box.area, there.area), (d.key, words, other)


@pytest.mark.parametrize("name", GOOD)
def test_story_stick_by_halving_the_string(name):
    design = load(name)
    d = design.dimensions()
    hand = -1 if design.handed == "left" else 1
    lines = sorted({round(hand * e.x1, 9) for e in seen(one(design, "story-stick"), (Line,))
                    if e.layer == "cut" and e.x1 == e.x2 and abs(min(e.y1, e.y2)) < 1e-9})
    marks = np.array(lines) - float(d.x_nut) + float(d.nut_compensation)
    left = design.strings.scale
    expected = [0.0]
    for _ in range(design.board.last_fret):  # each fret takes a seventeen-point-eight-seventeenth of what is left
        left /= 2 ** (1 / 12)
        expected.append(design.strings.scale - left)
    assert marks[:len(expected)] == pytest.approx(expected, abs=1e-6)
    by = {round(x.value, 6) for x in one(design, "story-stick").dimensions}
    assert round(design.strings.scale, 6) in by and round(expected[design.board.joint_fret], 6) in by


@pytest.mark.parametrize("name", GOOD)
def test_holes_of_the_block_and_the_heel(name):
    design = load(name)
    hand = -1 if design.handed == "left" else 1
    v, t = design.pivot, design.tilt_screw
    circles = seen(one(design, "block-drilling"), (Circle,))
    block = {(round(c.x, 6), round(c.y, 6)): 2 * c.radius for c in circles}
    assert block[(round(hand * v.spacing / 2, 6), v.z)] == pytest.approx(v.insert_diameter)  # dashed, round its guide hole
    holes = {(round(c.x, 6), round(c.y, 6)): 2 * c.radius for c in circles if c.layer == "hole"}
    assert holes[(round(hand * v.spacing / 2, 6), v.z)] == pytest.approx(v.screw_diameter)
    assert block[(0.0, v.z - design.clamp.below_axis)] == pytest.approx(design.clamp.hole_in_block)
    assert block[(0.0, round(t.head_z, 6))] == pytest.approx(t.hole_in_block)  # level in all demo designs
    heel = {(round(c.x, 6), round(c.y, 6)): 2 * c.radius for c in seen(one(design, "heel-end"), (Circle,))}
    assert heel[(-v.spacing / 2, v.z)] == pytest.approx(2 * v.ball_radius)
    # The heel's screw holes are wider than the screws, and by more where a cross dowel lets them swing.
    way = travel(design)
    needs = [np.max(n) for n in heel_need(design, poses(design.dimensions(), way, 0.25))]
    for z, need in ((round(t.receiver_z, 6), needs[0]), (v.z, needs[1])):
        assert need + 0.1 - 1e-9 <= heel[(0.0, z)] <= need + 0.2 + 1e-9
    side = one(design, "heel-side")
    wanted = {-t.receiver_x - design.heel.floor_clearance, -v.x - -v.x + -v.x - design.heel.floor_clearance}
    glue = float(Ground(design).glue_face(-design.heel.length))
    wanted |= {glue - v.z, clamp_hole(design)}  # height of the clamp screw's receiver, depth of its hole
    measured = {round(x.value, 6) for x in side.dimensions}
    assert {round(w, 6) for w in wanted} <= measured


@pytest.mark.parametrize("name", GOOD)
def test_block_from_inside(name):
    """Bass and treble change sides; bed, recess and inserts stand at their holes, with depths from the inner face."""
    design = load(name)
    hand = -1 if design.handed == "left" else 1
    v, t, b = design.pivot, design.tilt_screw, design.block
    sheet = one(design, "block-inside")
    circles = {(round(c.x, 6), round(c.y, 6), round(2 * c.radius, 6)) for c in seen(sheet, (Circle,)) if c.layer == "hole"}
    assert {(s * v.spacing / 2, v.z, v.insert_diameter) for s in (-1, 1)} <= circles
    assert {(0.0, round(t.head_z, 6), t.washer_diameter), (0.0, v.z, design.clamp.hole_in_block)} <= circles
    recess = next(e for e in seen(sheet, (Path,)) if e.layer == "hole")
    (x0, y0), (x1, y1) = np.min(recess.points, axis=0), np.max(recess.points, axis=0)
    assert (x1 - x0, y1 - y0) == pytest.approx((t.cover_width, t.cover_height)) and (y0 + y1) / 2 == pytest.approx(t.head_z)
    (view,) = views(design, only=("block-inside",))
    said = " ".join(view.notes)
    g = Ground(design)
    for deep in (b.depth - t.head_x, b.depth - t.head_x - t.diameter - t.spring_room, v.insert_length, t.cover_hole):
        assert measure(deep, g.units) in said
    bass = [next(e.x for e in v.entities if isinstance(e, Text) and e.words == "bass")
            for v in views(design, only=("block-drilling", "block-inside"))]
    assert hand * bass[1] < 0 < hand * bass[0]


def test_ball_heads_get_a_seat_as_deep_as_they_sit():
    design = load("slack_water")
    (view,) = views(design, only=("heel-end",))
    said = " ".join(view.notes)
    assert "centres 2.20 mm behind the end face" in said  # 3.6 less the floor clearance of 1.4
    assert "seats Ø 8.00 mm, 6.20 mm deep" in said  # a ball of 8 that stands 1.8 out
    button = with_part(design, "pivot", ball_radius=4.38, rim_radius=2.0)  # the cap of an M4 button head
    head = ball_head(button)
    assert head.fits and (head.near, head.wide) == ("M4", 7.6) and head.deep == pytest.approx(2.2 - (-3.6 + 4.38 + 1.4))


def test_one_bore_is_told_and_drawn():
    (view,) = views(load("long_reach"), only=("heel-side",))
    assert any("One bore from the heel's foot, Ø 12.00 mm, 88.00 mm deep, holds both" in n for n in view.notes)
    upright = [e for e in view.entities if isinstance(e, Line) and e.layer == "hidden" and e.y1 == -98.0]
    assert sorted(e.x1 for e in upright) == pytest.approx([-28.0, -16.0]) and {e.y2 for e in upright} == {-10.0}


def test_rails_are_set_by_the_joint_fret():
    """The heel's end face lies short of the pocket's floor, and the heel is narrower than the tongue: no rail can touch it."""
    for name, moved_by in (("slack_water", 0.0), ("slack_water", 6.0)):
        design = with_part(load(name), "board", joint_fret_x=moved_by)
        (view,) = views(design, only=("tongue-rails",))
        datum = next(e for e in view.entities if isinstance(e, Datum) and e.letter == "F")
        assert datum.x == pytest.approx(moved_by, abs=0.06) and view.seen == "seen from the treble side, neck upside down"
        assert "Square the line of fret 14" in " ".join(view.notes) and "end face" not in " ".join(view.notes)


def test_a_flat_underside_gets_no_dome():
    for way, there in (("hollowed", True), ("planed flat", False)):
        (view,) = views(with_part(load("slack_water"), "tongue", underside=way), only=("dome-gauge",))
        words = " ".join(e.words for e in view.entities if isinstance(e, Text))
        assert ("under the tongue" in words) == there


def _raw(design, job):
    """The raw pocket with sharp corners, carried on above the soundboard; by shapely."""
    h, gap = design.heel, design.pocket.side_gap
    up = 60.0
    top = h.half_width_top + (h.half_width_top - h.half_width_foot) / -h.foot_z * up + gap
    foot = h.half_width_foot - (h.half_width_top - h.half_width_foot) / -h.foot_z * gap + gap
    sharp = Polygon([(-top, up), (top, up), (foot, h.foot_z - gap), (-foot, h.foot_z - gap)])
    return sharp.buffer(job.finish.side, join_style="mitre")


def _points(entities):
    for e in entities:
        if isinstance(e, Line):
            yield from ((e.x1 + (e.x2 - e.x1) * k, e.y1 + (e.y2 - e.y1) * k) for k in np.linspace(0, 1, 21))
        else:
            yield from (polar(e.x, e.y, e.radius, a) for a in np.linspace(e.start, e.end, 21))


@pytest.mark.parametrize("bit, bush", [(12.0, 17.0), (6.35, 19.05), (9.5, 11.0)])
@pytest.mark.parametrize("name", ["slack_water", "cross_tide"])
def test_bush_on_the_template_cuts_the_pocket(name, bit, bush):
    """Shapely sweeps the disc of the bit inside the sharp pocket, and the disc of the bush inside the drawn opening."""
    design, job = load(name), Job(cutter=Cutter(bit=bit, bush=bush))
    g = Ground(design, job)
    raw = _raw(design, job)
    path = raw.buffer(-bit / 2, join_style="mitre")
    cut = path.buffer(bit / 2, quad_segs=256)
    for x, y in _points(pocket_shape(g, 0.0, corner=bit / 2, layer="part")):
        assert cut.exterior.distance(Point(x, y)) < 0.002
    offset = float(template_offset(bush_diameter=bush, bit_diameter=bit))
    opening = pocket_shape(g, offset, corner=bush / 2, layer="cut")
    for x, y in _points(opening):
        assert path.exterior.distance(Point(x, y)) == pytest.approx(bush / 2, abs=0.002)


@pytest.mark.parametrize("bit", [6.0, 12.0, 18.0])
@pytest.mark.parametrize("gap", [0.2, 0.4, 1.0])
def test_round_heel_corner_just_goes_in(bit, gap):
    top, foot, low = 27.0, 11.0, -96.0
    found = float(heel_corner(half_width_top=top, half_width_foot=foot, foot_z=low, side_gap=gap, bit_diameter=bit))
    lean = (top - foot) / -low
    up = 60.0
    heel = Polygon([(-top - lean * up, up), (top + lean * up, up), (foot, low), (-foot, low)])
    gap_square = heel.buffer(gap, join_style="mitre")  # the relation measures the gap square to cheek and foot
    pocket = gap_square.buffer(-bit / 2, join_style="mitre").buffer(bit / 2, quad_segs=256)

    def inside(r):
        rounded = heel.buffer(-r, join_style="mitre").buffer(r, quad_segs=256) if r > 0 else heel
        below = rounded.intersection(Polygon([(-99, 0), (99, 0), (99, -200), (-99, -200)]))  # the upper ends are round, too
        return below.difference(pocket.buffer(1e-4)).area < 1e-6

    assert inside(found + 0.02)
    assert found == 0 or not inside(found - 0.05)


@pytest.mark.parametrize("name", GOOD)
def test_tongue_wood_at_each_fret_by_the_sphere(name):
    design = load(name)
    d = design.dimensions()
    found = frets_on_tongue(Ground(design))
    assert found[0][0] == design.board.joint_fret and found[-1][1] <= design.tongue.length
    for _, x, wood in found:
        dome = 0.0
        if design.body.dome_radius:
            r, c = design.body.dome_radius, design.body.apex_x
            dome = math.sqrt(r**2 - (x - c) ** 2) - math.sqrt(r**2 - c**2)
        glue = float(d.z_joint) - design.board.crown - design.board.thickness + x * math.tan(float(d.alpha))
        assert wood == pytest.approx(glue - dome - design.tongue.gap, abs=1e-6)
    frets = [x for _, x, _ in found]
    x12 = [design.strings.scale * (2 ** (-design.board.joint_fret / 12) - 2 ** (-n / 12)) for n, _, _ in found]
    assert frets == pytest.approx(x12, abs=0.15)  # along the top, not along the board: shorter by the neck angle's cosine
    rail = next(e for e in seen(one(design, "tongue-rails"), (Path,)) if e.layer == "cut")
    edge = LineString(rail.points)
    for _, x, wood in found:
        assert edge.distance(Point(x if design.handed == "right" else -x, 12.0 + wood)) < 0.001


def test_dome_gauge_lies_on_the_sphere():
    design = load("slack_water")
    d = one(design, "dome-gauge")
    low, up = sorted((e for e in d.on("cut", Arc)), key=lambda e: e.y)
    r = design.body.dome_radius
    assert low.radius == up.radius == r
    rise, chord = (next(x.value for x in d.dimensions if x.way == w) for w in ("y", "x"))
    assert chord == pytest.approx(200, abs=1e-9) and rise == pytest.approx(r - math.sqrt(r**2 - 100**2), abs=1e-9)
    middle = polar(low.x, low.y, low.radius, 90)
    ends = low.ends
    assert middle[1] - ends[0][1] == pytest.approx(rise, abs=1e-6)


@pytest.mark.parametrize("name", GOOD)
def test_angle_card_has_the_neck_angle(name):
    design = load(name)
    card = next(e for e in seen(one(design, "neck-angle"), (Path,)) if e.layer == "cut" and len(e.points) == 6)
    corner, along, down = (np.array(card.points[k]) for k in (0, 1, 5))
    a, b = along - corner, down - corner
    angle = math.acos(a @ b / np.linalg.norm(a) / np.linalg.norm(b))
    assert angle == pytest.approx(math.pi / 2 - float(design.dimensions().alpha), abs=1e-9)


@pytest.mark.parametrize("name", ["slack_water", "long_reach"])
def test_left_handed_is_the_mirror_image(name):
    right = load(name)
    left = right.model_copy(update={"handed": "left"})

    def plain(entities):
        found = set()
        for e in entities:
            ends = [(e.x1, e.y1), (e.x2, e.y2)] if isinstance(e, Line) else e.points if isinstance(e, Path) else (
                [(e.x, e.y, e.radius), *e.ends] if isinstance(e, Arc) else [(e.x, e.y, e.radius)])
            found.add((e.layer, type(e).__name__, frozenset(tuple(round(v, 6) + 0.0 for v in p) for p in ends)))
        return found

    for r, q in zip(templates(right), templates(left), strict=True):
        assert plain(mirrored(seen(r))) == plain(seen(q)), r.key
        assert sorted(x.words for x in r.dimensions) == sorted(x.words for x in q.dimensions)
        if r.key in ("block-drilling", "pocket-routing", "heel-end"):
            bass = [next(e.x - d.origin[0] for e in d.primitives() if isinstance(e, Text) and e.words == "bass") for d in (r, q)]
            assert bass[0] == pytest.approx(-bass[1], abs=1e-6) and (bass[0] > 0) == (r.key != "heel-end")
    assert plain(mirrored(mirrored(seen(templates(right)[3])))) == plain(seen(templates(right)[3]))


def test_dimensions_measure_what_they_show():
    d = Dimension((1.0, 2.0), (4.0, 6.0), "free", 5.0)
    assert (d.value, d.words) == (5.0, "5.00")
    assert Dimension((1.0, 2.0), (4.0, 6.0), "x", 5.0, "inch").words == "0.118"
    with pytest.raises(KeyError, match="no layer"):
        templates(load("slack_water"), only=("neck-angle",))[0].on("ink")
    with pytest.raises(ValueError, match="no drawing"):
        templates(load("slack_water"), only=("pocket",))


def test_tight_tolerances_stand_behind_their_dimension():
    design = load("slack_water")
    assert "heel.ball_height" in tight_fields(design)
    words = {x.words for x in one(design, "heel-end").dimensions}
    assert any(w.endswith("± 0.30") for w in words)
    assert tight_fields(load("flat_calm")) == {} or load("flat_calm").tolerances
    assert limits_text(-0.3, 0.3, "inch") == " ± 0.012" and limits_text(-0.1, 0.2) == " +0.20 -0.10"
    assert limits_text(-math.pi / 900, math.pi / 900, unit="rad") == " ± 0.20°"


@pytest.mark.parametrize("name", GOOD)
def test_every_tight_field_is_told_once_or_more(name):
    """What is tight and cut stands with its tolerance on the sheet that cuts it; the rest is told on the first sheet."""
    design = load(name)
    tight = tight_fields(design)
    shown = {v.key: " ".join([*v.notes, *(e.words for e in v.entities if isinstance(e, Text | Dimension))])
             for v in views(design, Job(units="mm"))}
    clear = design.block.depth - design.tilt_screw.head_x
    where = {"pivot.x": ("block-drilling", -design.pivot.x), "tilt_screw.head_x": ("block-inside", clear),
             "pocket.depth": ("pocket-routing", design.pocket.depth + Finish().floor), "heel.ball_depth": ("heel-side", None),
             "heel.floor_clearance": ("heel-side", design.heel.floor_clearance), "heel.yaw": ("heel-end", None),
             "pivot.z": ("block-drilling", -design.pivot.z), "heel.ball_height": ("heel-end", None),
             "tilt_screw.receiver_x": ("heel-side", None), "tongue.wood": ("tongue-rails", None)}
    assert len(tight) > 5
    for field, spread in tight.items():
        if field not in where:
            assert field.startswith("pivot.set_") and f"± {spread.high:.3f} turn" in shown["story-stick"], field
            continue
        key, nominal = where[field]
        far = spread.high if field != "heel.yaw" else design.pivot.spacing * spread.high  # a small angle
        assert f"{'' if nominal is None else f'{nominal:.2f}'} ± {far:.2f}" in shown[key], (field, key)


def test_an_angle_and_a_half_width_tell_what_the_rule_measures():
    """A tilt of 0.1 degrees over the card's 120 mm is 0.21 mm; a width is off by twice its half."""
    g = Ground(load("slack_water"))
    tenth = g.design.tolerances.spreads["neck.angle"]
    g.tight = {"neck.angle": tenth, "heel.half_width_top": g.design.tolerances.spreads["pocket.depth"]}
    assert g.tolerance("neck.angle", run=120.0, angle=float(g.d.alpha)) == " ± 0.21"
    assert g.tolerance("heel.half_width_top", times=2) == " ± 0.50" and g.untold() == []
    assert g.tolerance("pocket.depth") == ""


def test_rods_get_slots():
    design = with_part(load("slack_water"), "tongue", rod_diameter=1.0, wood=4.5, gap=1.2)
    d = one(design, "rod-slots")
    slots = [e for e in seen(d, (Path,)) if e.layer == "hole"]
    assert len(slots) == 2
    for s in slots:
        ys = [y for _, y in s.points]
        assert max(ys) - min(ys) == pytest.approx(1.0) and abs(sum(ys) / 4) == pytest.approx(design.pivot.spacing / 2)


@pytest.mark.parametrize("part, values, key", [
    ("pivot", {"z": -7.0}, "inside.pivot_top"),
    ("tilt_screw", {"receiver_length": 30.0}, "inside.receiver_side"),
    ("tilt_screw", {"receiver_x": -9.0}, "inside.receiver_end"),
    ("tilt_screw", {"receiver_x": -9.0}, "strength.heel.tilt_shear_out"),
    ("heel", {"foot_z": -85.0}, "inside.receiver_foot"),
    ("pivot", {"screw_length": 70.0}, "inside.pivot_depth"),
    ("block", {"depth": 14.0}, "inside.head_depth"),
    ("tongue", {"wood": 0.5}, "inside.tongue_wood"),
    ("heel", {"length": 30.0}, "inside.receiver_back"),
    ("clamp", {"receiver_x": -5.0}, "inside.clamp_end"),
    ("clamp", {"receiver_x": -5.0}, "strength.heel.clamp_shear_out"),
    ("clamp", {"receiver_x": -54.0}, "inside.clamp_back"),
    ("clamp", {"receiver_length": 60.0}, "inside.clamp_side"),
    ("heel", {"foot_z": -112.0}, "inside.pocket_foot"),
    ("pivot", {"insert_diameter": 20.0, "z": -12.0}, "inside.pivot_top"),
    ("pivot", {"spacing": 39.0}, "inside.ball_side"),
    ("tilt_screw", {"washer_diameter": 40.0}, "inside.bed_foot"),
])
def test_what_cannot_be_cut_is_refused_by_name(part, values, key):
    design = with_part(load("slack_water"), part, **values)
    assert key in [p.field for p in collisions(design)]
    with pytest.raises(ShopError, match="cannot be cut") as e:
        templates(design)
    assert key in str(e.value) and "mm" in str(e.value)


def test_rods_out_of_line_are_refused():
    design = with_part(load("long_reach"), "clamp", receiver_x=-24.0)
    (problem,) = collisions(design)
    assert problem.field == "inside.receiver_line" and "at most 0.50 mm" in problem.sentence


def test_wrong_on_purpose_is_refused():
    with pytest.raises(ShopError, match="runs out of wood"):
        templates(load("spring_tide"))


def test_bad_wishes_are_named():
    narrow = with_part(with_part(load("slack_water"), "heel", half_width_foot=9.0), "tilt_screw", receiver_length=10.0)
    with pytest.raises(ShopError, match=r"cutter.bit: 24 mm does not go into the pocket's foot"):
        templates(narrow, Job(cutter=Cutter(bit=24.0, bush=30.0)))
    with pytest.raises(ValueError, match=r"finish.floor: 2 mm"):
        Finish(floor=2.0)
    with pytest.raises(ValueError, match=r"job.sled: 1 mm"):
        Job(sled=1.0)
    with pytest.raises(ValueError, match=r"job.units"):
        Job(units="cm")
