"""Margins of strength: by integration, by springs solved anew, by drawing again, and in the limits."""

from __future__ import annotations

import math
import re
from dataclasses import FrozenInstanceError
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import quad, solve_bvp

import lutherie_geom as lg
from lutherie_geom.design.catalogue import CatalogueError, read_table
from lutherie_geom.design.load import DesignError, from_text
from lutherie_geom.mechanics.comparison import compare
from lutherie_geom.mechanics.givens import GivenError, PartForces, numbers, simple_forces
from lutherie_geom.mechanics.margins import checks, forces_of, margins
from lutherie_geom.mechanics.preload import clamped, left_after, most_clamp, preload_story
from lutherie_geom.mechanics.screws import turned
from lutherie_geom.theory import joint_strength as j
from lutherie_geom.theory import strength as s

FORCES = PartForces(700.0, 1400.0, side=60.0, outer=90.0, cover=50.0, needed=300.0)
DESIGNS = ("slack_water", "cross_tide", "spring_tide", "flat_calm", "long_reach")
KNOWN = {"block_across": 6.0, "neck_across": 6.0}


@pytest.fixture(scope="module")
def design():
    return lg.load("slack_water")


@pytest.fixture(scope="module")
def plain(design):
    return margins(design, FORCES, given=KNOWN, samples=0)


def changed(design, part, **values):
    return design.model_copy(update={part: getattr(design, part).model_copy(update=values)})


# the screw as a beam

BEAM = {"modulus": 205000.0, "root_diameter": 4.77}


@pytest.mark.parametrize("fixity", [1.0, 3.0, 4.0])
def test_held_head_against_the_beam_equation(fixity):
    """Slope at the head given, with the pull that stiffens the beam: the moment there is the relation's within a percent."""
    length, swing, pull = 30.0, 0.02, 800.0
    ei = BEAM["modulus"] * math.pi * BEAM["root_diameter"] ** 4 / 64

    def beam(x, y):
        return np.vstack([y[1], y[2], y[3], pull / ei * y[2]])

    def ends(a, b):
        far = (a[0], a[2]) if fixity == 3 else (a[0], a[1])  # swivels, or is held
        near = (b[0], b[1] - swing) if fixity > 1 else (b[3] - pull / ei * b[1], b[1] - swing)  # in place, or free to slide
        return np.array([*far, *near])

    x = np.linspace(0, length, 40)
    found = solve_bvp(beam, ends, x, np.zeros((4, 40)), tol=1e-8)
    assert found.success
    moment = abs(found.y[2, -1]) * ei
    if fixity == 1.0:  # free to slide, the pull would hold the head by itself: without it
        pull = 0.0
        moment = abs(solve_bvp(beam, ends, x, np.zeros((4, 40)), tol=1e-8).y[2, -1]) * ei
    assert j.held_moment(**BEAM, swing=swing, length=length, fixity=fixity) == pytest.approx(moment, rel=0.01)


def test_pushed_aside_against_virtual_work():
    ei = BEAM["modulus"] * math.pi * BEAM["root_diameter"] ** 4 / 64
    moment = j.pushed_moment(**BEAM, offset=0.2, length=25.0)
    give = quad(lambda x: moment / 25.0 * x * x / ei, 0, 25.0)[0]
    assert give == pytest.approx(0.2, rel=1e-9)


def test_stresses_carry_their_moments():
    bend, twist, r = j.bent_stress(moment=3000, root_diameter=4.77), j.twist_stress(torque=2000, root_diameter=4.77), 4.77 / 2
    carried = quad(lambda y: bend * y / r * y * 2 * math.sqrt(r * r - y * y), -r, r)[0]
    turned_by = quad(lambda q: twist * q / r * q * 2 * math.pi * q, 0, r)[0]
    assert (carried, turned_by) == (pytest.approx(3000, rel=1e-6), pytest.approx(2000, rel=1e-6))
    assert j.whole_stress(axial_stress=30, bending_stress=40, twist_stress=0) == 70
    assert j.whole_stress(axial_stress=0, bending_stress=0, twist_stress=10) == pytest.approx(10 * math.sqrt(3))


def test_head_rocks_or_the_screw_bends_whichever_is_less(design):
    flat = changed(design, "tilt_screw", head="flat")
    sphere = changed(design, "tilt_screw", head="spherical washers")
    bent = [margins(x, FORCES, samples=0)["tilt.bent"].required for x in (sphere, flat)]
    assert bent[0] < bent[1]
    light = [margins(flat, PartForces(f, 1400.0), samples=0)["tilt.bent"].required for f in (1e-3, 700.0)]
    assert light[0] < 1e-2 < light[1]  # no pull, no moment: the head just lies on its rim


def test_tight_hole_bends_the_shank(design):
    tight = changed(design, "tilt_screw", hole_in_block=6.0)
    assert turned(tight).aside > 0 and turned(changed(design, "tilt_screw", hole_in_block=12.0)).aside == 0
    assert margins(tight, FORCES, samples=0)["tilt.bent"].ratio < margins(design, FORCES, samples=0)["tilt.bent"].ratio


# seats

def test_dents_by_their_shape():
    """A band as wide as told, cut by the ball into a cone's flank and into a sharp rim, lies as deep as told."""
    size = {"force": 900.0, "ball_radius": 4.0, "rim_radius": 2.0, "hardness": 2000.0}
    ring, rim = j.ring_dent(**size), j.rim_dent(**size)
    slant = math.acos(2.0 / 4.0)  # of the normal to the seat's plane
    assert ring.width * 2 * math.pi * 2.0 * 2000 * math.sin(slant) == pytest.approx(900)
    deep = 4.0 - math.sqrt(16 - (ring.width / 2) ** 2)
    assert ring.sink == pytest.approx(deep / math.sin(slant), rel=1e-3)
    # The rim: a corner of a level face and an upright bore; the ball's tangent there leans by 30 degrees (sin = 2/4).
    lean = math.asin(2.0 / 4.0)
    assert rim == pytest.approx(ring.width * math.sin(lean), rel=1e-12)
    assert rim > ring.sink


def test_flanks_of_a_vee_are_balls_on_flats():
    ring = 4.0 / math.sqrt(2)
    found = j.ball_on_points(force=1000, ball_radius=4.0, rim_radius=ring, points=2, edge_curvature=0, contact_modulus=1e5)
    flat = s.hertz_point(force=1000 / math.sqrt(2), relative_radius=4.0, contact_modulus=1e5)
    assert np.allclose(found, flat, rtol=1e-12)


def test_seat_kinds_in_order(design):
    """A cone bears better than a rim, a rim better than a socket's six places."""
    ratio = {k: margins(changed(design, "pivot", seat=k), FORCES, samples=0) for k in ("cone", "cup rim", "hex socket")}
    yields = [ratio[k][f"seat.first_yield.{k.replace(' ', '_')}"].ratio for k in ("cone", "cup rim", "hex socket")]
    assert yields == sorted(yields, reverse=True)
    vee = margins(changed(design, "pivot", seat="vee groove"), FORCES, samples=0)
    assert {"seat.dent.cone", "seat.dent.vee_groove"} <= {m.key for m in vee}


# preload

def test_preload_by_springs_solved_anew(design):
    """Screw and wood as two springs between fixed marks; wood softer and shorter by what was lost."""
    kb, km, f0, phi, z, dry = 4e4, 2e4, 1500.0, 1.3, 0.012, 0.02
    # Unknown: force, stretch of the screw, give of the wood; the screw's and the wood's lengths still match.
    rows = np.array([[1, -kb, 0], [1, 0, -km / phi], [0, 1, 1]])
    force = np.linalg.solve(rows, [0, 0, f0 / kb + f0 / km - z - dry])[0]
    found = j.preload_later(preload=f0, screw_stiffness=kb, member_stiffness=km, creep=phi, bedding=z, shrinkage=dry)
    assert found == pytest.approx(force)
    settled = j.preload_later(preload=f0, screw_stiffness=kb, member_stiffness=km, creep=1, bedding=z, shrinkage=0)
    assert f0 - settled == pytest.approx(s.preload_lost(bedding=z, screw_stiffness=kb, member_stiffness=km))


def test_preload_in_the_limits(design):
    n = numbers(changed(design, "clamp", spring_rate=0.0), FORCES)
    k = clamped(n)
    full = design.clamp.preload
    still = n.replaced(bedding=0.0, long_creep=1.0)
    assert left_after(still, k, 3650.0, 0.0) == pytest.approx(full)
    times = np.geomspace(0.1, 3650, 50)
    assert np.all(np.diff(left_after(n, k, times, 0.0)) < 0)
    assert np.all(np.diff(left_after(n, k, 30.0, np.linspace(-2, 2, 9))) <= 0)
    soft = clamped(n, spring_rate=200.0)
    own = clamped(numbers(changed(design, "clamp", spring_rate=200.0), FORCES))
    assert own.screw == pytest.approx(soft.screw) and 1 / soft.screw == pytest.approx(1 / k.screw + 1 / 200)
    assert left_after(n, soft, 90.0, 2.0) > 0.9 * full > left_after(n, k, 90.0, 2.0)
    along = design.model_copy(update={"woods": design.woods.model_copy(update={"block_grain": "along"})})
    assert clamped(numbers(along, FORCES)).swelling == 0
    assert preload_story(along).losses[2] == ("drying", 0.0)


def test_story_keeps_what_it_promises(design):
    story = preload_story(changed(design, "clamp", spring_rate=0.0), loss=0.25)
    assert story.turns and story.turns[0][1] <= 2
    after = story.days > story.turns[-1][1]
    assert story.kept[after].min() >= 0.75 * story.preload * (1 - 1e-9)
    assert story.kept[after].min() > story.left[after].min()
    assert "turn the key again" in str(story) and "leaves out" in str(story)
    assert preload_story(design, loss=0.25).left.min() > 0.75 * story.preload, "disc springs keep what a plain washer loses"
    for bad in (0.0, 1.2, math.nan):
        with pytest.raises(GivenError, match=r"loss is .* give one from 0\.02 to 0\.9"):
            preload_story(design, loss=bad)
    with pytest.raises(GivenError, match="spring_rate is -1 N/mm"):
        preload_story(design, spring_rate=-1)


def test_the_damp_season_reaches_every_part_that_the_clamp_presses(design):
    """On a plain washer: screw and wood as two springs, the wood swollen, solved anew; receiver, plug, thread and both seats."""
    stiff = changed(design, "clamp", spring_rate=0.0)
    quiet = PartForces(400.0, 1000.0, needed=300.0)
    n = numbers(stiff, quiet, given=KNOWN)
    k = clamped(n)
    # Unknown: force, stretch of the screw, give of the wood, which has crept, bedded in and swollen.
    phi = float(j.creep_growth(time=365.25 / 4, long_time=10 * 365.25, long_creep=n["long_creep"], exponent=n["creep_exponent"]))
    wound = 900 / float(k.screw) + 900 / float(k.wood)
    swollen = wound - n["bedding"] + float(k.swelling * n["season_swing"])
    force = float(np.linalg.solve([[1, -float(k.screw), 0], [1, 0, -float(k.wood) / phi], [0, 1, 1]], [0, 0, swollen])[0])
    assert force > 2 * 900
    m, before = (margins(d, quiet, given=KNOWN, samples=0) for d in (stiff, changed(design, "clamp", spring_rate=1e-3)))
    c = design.clamp
    assert m["heel.clamp_receiver"].required == pytest.approx(force / (c.receiver_diameter * c.receiver_length), rel=1e-6)
    for key in ("heel.clamp_receiver", "heel.clamp_shear_out", "clamp.thread", "clamp.strip"):
        # Springs so soft that nothing changes the force: the preload itself.
        assert before[key].ratio / m[key].ratio == pytest.approx(force / 900, rel=1e-3), key
    # Half of what the clamp pulls beyond the preload goes to each seat.
    assert m["block.insert"].required == pytest.approx(1000 + (force - 900) / 2, rel=1e-6)
    sizes = {"ball_radius": 4.0, "rim_radius": 2.0, "hardness": n["pivot_hardness"]}
    assert m["seat.dent.cup_rim"].required == pytest.approx(float(j.rim_dent(force=1000 + (force - 900) / 2, **sizes)), rel=1e-6)
    # Where the wood's stiffness is not known, it is taken as rigid: never less.
    soft = n.replaced(block_radial_ratio=math.nan)
    assert most_clamp(soft, clamped(soft)) > most_clamp(n, k)


# margins

def test_twice_the_force_is_half_the_ratio(design):
    soft = changed(design, "clamp", spring_rate=1e-3)  # springs so soft that no season changes the clamp's force
    plain = margins(soft, FORCES, given=KNOWN, samples=0)
    double = PartForces(1400.0, 2800.0, side=120.0, outer=180.0, cover=100.0, needed=600.0)
    twice = margins(soft, double, given=KNOWN, samples=0)
    for key in ("tilt.thread", "tilt.strip", "pivot.screw", "block.insert", "block.insert_side", "block.captive_washer",
                "heel.tilt_receiver", "heel.tilt_shear_out", "cover.glue", "clamp.preload_left"):
        assert twice[key].ratio == pytest.approx(plain[key].ratio / 2, rel=1e-5), key


def test_stress_stays_when_lengths_double_and_forces_grow_fourfold():
    def stresses(k):
        f = 600.0 * k * k
        return (j.washer_pressure(force=f, washer_diameter=18 * k, bore=7 * k),
                s.dowel_pressure(force=f, diameter=12 * k, bearing_length=16 * k),
                s.shear_out(force=f, end_distance=17 * k, bearing_length=16 * k),
                f / j.strip_areas(engagement=8 * k, pitch=1.0 * k, diameter=6 * k, pitch_diameter=5.35 * k,
                                  bore_diameter=4.917 * k, nut_pitch_diameter=5.35 * k).nut_shear_area,
                j.bent_stress(moment=j.rim_moment(force=f, face_diameter=10 * k), root_diameter=4.77 * k),
                s.ball_on_ring(force=f, ball_radius=4 * k, rim_radius=2 * k, edge_curvature=1 / k, contact_modulus=1e5).peak,
                j.ball_on_points(force=f, ball_radius=4 * k, rim_radius=2 * k, points=6, edge_curvature=1 / k,
                                 contact_modulus=1e5).peak)

    assert np.allclose(stresses(1.0), stresses(2.0), rtol=1e-12)


@pytest.mark.parametrize(("part", "field", "value", "key"), [
    ("tilt_screw", "diameter", 8.0, "tilt.thread"), ("tilt_screw", "strength_class", "10.9", "tilt.bent"),
    ("tilt_screw", "washer_diameter", 32.0, "block.captive_washer"),
    ("tilt_screw", "receiver_length", 24.0, "heel.tilt_receiver"),
    ("tilt_screw", "receiver_x", -30.0, "heel.tilt_shear_out"), ("tilt_screw", "receiver_metal", "steel", "tilt.strip"),
    ("tilt_screw", "cover_width", 40.0, "cover.glue"), ("pivot", "insert_length", 30.0, "block.insert"),
    ("pivot", "strength_class", "12.9", "seat.first_yield.cup_rim"), ("clamp", "washer_diameter", 32.0, "block.clamp_washer"),
    ("tilt_screw", "pitch", 0.75, "tilt.locking"),
])
def test_what_a_cure_promises_it_does(design, plain, part, field, value, key):
    assert margins(changed(design, part, **{field: value}), FORCES, given=KNOWN, samples=0)[key].ratio > plain[key].ratio


def test_unknown_is_said_and_never_good(design):
    m = margins(design, FORCES, samples=0)["block.captive_washer"]
    assert m.state == "not known" and m.verdict is None and math.isnan(m.ratio)
    assert "not found in a source" in str(m) and "given={'block_across': ...}" in str(m)
    assert margins(design, FORCES, given={"block_across": 5.0}, samples=0)["block.captive_washer"].state != "not known"
    guess = margins(design, FORCES, estimate=True, samples=0)["block.captive_washer"]
    assert guess.state != "not known" and "estimated from the gravity" in guess.source
    unlifted = margins(design, PartForces(700.0, 1400.0), samples=0)["clamp.preload_left"]
    assert unlifted.state == "not known" and "clamp_needed" in unlifted.missing
    never = margins(design, PartForces(700.0, 1400.0, needed=math.inf), samples=0)
    assert never.items[0].key == "clamp.preload_left" and never.items[0].state == "fails"


def test_worst_first_frozen_and_told(plain, design):
    order = {"fails": 0, "not known": 1, "tight": 2, "beds in": 3, "good": 4}
    ranks = [order[m.state] for m in plain]
    assert ranks == sorted(ranks)
    for a, b in zip(plain.items, plain.items[1:], strict=False):
        if a.state == b.state and a.verdict:
            assert a.verdict.ratio <= b.verdict.ratio
    for m in plain:
        assert m.formula and m.source and m.leaves_out and m.words
        assert m.reading.key == f"margin.{m.key}" and m.reading.verdict is m.verdict
    text = plain.tell()
    assert "leaves out:" in text and "caution:" in text and "stand in for no test" in " ".join(str(plain).split())
    assert max(map(len, f"{text}\n{plain}".splitlines())) <= 100
    with pytest.raises(FrozenInstanceError):
        plain.items[0].ratio = 2.0
    with pytest.raises(KeyError, match="there are"):
        plain["heel.nothing"]


def test_the_worst_load_case_counts(design):
    many = PartForces(np.array([500.0, -80.0, 900.0]), np.array([900.0, 1500.0, 700.0]), needed=np.array([0.0, 250.0, 90.0]),
                      cases=("one", "two", "three"))
    m = margins(design, many, given=KNOWN, samples=0)
    assert m["tilt.thread"].case == "three" and m["tilt.thread"].required == 900
    assert m["block.insert"].case == "two" and m["clamp.preload_left"].case == "two"
    alone = margins(design, PartForces(900.0, 700.0), given=KNOWN, samples=0)
    assert alone["tilt.bent"].ratio == pytest.approx(m["tilt.bent"].ratio)


def test_spread_by_drawing_again(design):
    """Shear-out and glue: their 5th percentile and chance of failing, drawn here with numpy's own distributions."""
    pushed = PartForces(2800.0, 1400.0, cover=900.0)
    m = margins(design, pushed, samples=2**13)
    rng, n = np.random.default_rng(3), 10**6
    nominal = margins(design, pushed, samples=0)
    lasting = rng.uniform(0.55, 0.65, n) / 0.6
    shear = nominal["heel.tilt_shear_out"].ratio * np.maximum(rng.normal(1, 0.14, n), 0.02) * lasting
    row = read_table("wood_strength")["glue"]
    glue = nominal["cover.glue"].ratio * rng.uniform(row["low"], row["high"], n) / row["middle"] * lasting
    for key, drawn in (("heel.tilt_shear_out", shear), ("cover.glue", glue)):
        assert m[key].low == pytest.approx(np.quantile(drawn, 0.05), rel=0.01), key
        assert m[key].chance == pytest.approx(np.mean(drawn < 1), abs=0.01), key
    assert 0.02 < m["heel.tilt_shear_out"].chance < 0.98 and 0.02 < m["cover.glue"].chance < 0.98


def test_each_source_stands_once_and_every_number_in_brackets_leads_to_it(plain):
    """The list read back: what a margin cites by number is what it holds itself."""
    for text, items in ((plain.tell(), list(plain)), (plain["tilt.thread"].tell(), [plain["tilt.thread"]])):
        body, rest = text.split("\nsources:\n")
        listed = {}
        for row in re.findall(r"^  \[(\d+)\] ((?:.+\n?)(?:      .+\n?)*)", rest, re.M):
            listed[row[0]] = " ".join(row[1].split())
        assert list(listed) == [str(k + 1) for k in range(len(listed))] and len(set(listed.values())) == len(listed)
        words = " ".join(body.split())
        told = re.split(r"(?=formula: )", words)[1:]
        assert len(told) == len(items)
        for m, said in zip(items, told, strict=True):
            for one in (*m.formulas, *m.numbers):
                number = re.search(re.escape(" ".join(one.what.split())) + r" \[(\d+)\]", said)
                assert number and listed[number[1]] == " ".join(one.text.split()), one.what


@pytest.mark.parametrize("name", DESIGNS)
def test_nothing_left_out_is_said_twice(name):
    for m in margins(lg.load(name), samples=0):
        starts = [" ".join(s.split()[:4]).rstrip(".:,;") for s in re.split(r"(?<=[.;:]) ", m.leaves_out)]
        assert len(starts) == len(set(starts)), m.leaves_out


def test_where_one_margin_is_worst_of_all_the_second_worst_is_named(design):
    cone = changed(design, "pivot", seat="cone")  # whose class of screw then matters to no margin that is worst
    table = compare(cone, classes=["8.8", "10.9"], estimate=True)
    over = table.ratios[:, 0] / np.array(table.factors)[:, None]
    for c in range(2):
        ranked = sorted((over[k, c], key) for k, key in enumerate(table.keys) if not table.settles[k])
        for place in (1, 2, 3):
            key, ratio = table.worst(place)[0][c]
            assert ratio == pytest.approx(ranked[place - 1][0]) and table[key][0, c] / ratio in table.factors
    text = str(table)
    assert {table.worst()[0][c][0] for c in range(2)} == {"tilt.locking"} and "second worst" in text
    assert table.worst(2)[0][0][0] in text.split("second worst")[2]
    assert "second worst" not in str(compare(design, woods=["yellow-poplar"], classes=["8.8", "A2-70"], estimate=True))
    assert table.worst(len(table.keys) + 1) == [[("", math.inf)] * 2]
    with pytest.raises(ValueError, match="place is 0"):
        table.worst(0)


def test_compare_is_each_design_by_itself(design):
    woods, classes = ["true mahogany", "Sugar Maple", "spanish-cedar", "engelmann spruce"], ["8.8", "12.9", "A2-70"]
    table = compare(design, woods=woods, classes=classes, forces=FORCES)
    assert table.ratios.shape == (len(table.keys), 4, 3)
    for i, w in enumerate(table.woods):
        for k, c in enumerate(table.classes):
            one = design.model_copy(update={"woods": design.woods.model_copy(update={"neck": w, "block": w})})
            for part in ("tilt_screw", "clamp", "pivot"):
                one = changed(one, part, strength_class=c)
            alone = {m.key: m.ratio for m in margins(one, FORCES, samples=0)}
            assert np.allclose([alone[key] for key in table.keys], table.ratios[:, i, k], equal_nan=True, rtol=1e-9)
    assert "block.captive_washer" in table.unknown("true mahogany") and not table.unknown("sugar maple")
    assert "?" in str(table) and "sugar maple" in str(table)
    assert len(table.rows()) == 12
    only = compare(design, woods=["sugar maple"], parts=["block"], forces=FORCES)
    assert only["heel.tilt_shear_out"][0, 0] == pytest.approx(table["heel.tilt_shear_out"][0, 0])
    with pytest.raises(GivenError, match="at least one name"):
        compare(design, woods=[], forces=FORCES)
    with pytest.raises(GivenError, match="parts has 'board'"):
        compare(design, parts=["board"], forces=FORCES)
    with pytest.raises(CatalogueError, match="mahogony"):
        compare(design, woods=["mahogony"], forces=FORCES)


def test_arrays_give_what_numbers_give(design):
    n = numbers(design, FORCES, given=KNOWN)
    way = turned(design)
    thick = np.linspace(3.0, 9.0, 5)
    wide = n.wide(1).replaced(block_across=thick, neck_shear=2 * thick)
    for c in checks(wide, way):
        many = c.worst(1, (5,))
        for i in (0, 4):
            one = next(x for x in checks(n.replaced(block_across=thick[i], neck_shear=2 * thick[i]), way) if x.key == c.key)
            assert many[i] == pytest.approx(float(one.worst(1)))


@pytest.mark.parametrize("grain", ["up", "across", "along"])
def test_grain_that_leans_reaches_the_margins(design, grain):
    """Hankinson by hand at 20 deg: grain along leans 20 deg out of the load, upright grain comes 20 deg toward it."""
    lean = math.radians(20)
    own = {"block_along": 40.0, "block_across": 8.0, "block_swelling": 0.002}
    m = margins(changed(design, "woods", block_grain=grain, block_runout=lean), FORCES, samples=0, given=own)
    off = lean if grain == "along" else math.pi / 2 - lean
    along = 40 * 0.6  # ten years
    assert m["block.captive_washer"].provided == pytest.approx(
        along * 8 / (along * math.sin(off) ** 2 + 8 * math.cos(off) ** 2), rel=1e-6)
    assert m["clamp.damp"].provided == pytest.approx(320 / (40 * math.sin(off) ** 2 + 8 * math.cos(off) ** 2), rel=1e-6)
    plain = margins(changed(design, "woods", block_grain="up"), FORCES, samples=0, given=own)
    hold = m["block.insert"].provided / plain["block.insert"].provided  # end grain holds 0.75 of side grain
    assert hold == pytest.approx(0.75 / (0.75 * math.sin(off) ** 2 + math.cos(off) ** 2), rel=1e-6)
    assert "20 deg out" in m["block.insert"].words and "deg" not in plain["block.insert"].words
    at = clamped(numbers(changed(design, "woods", block_grain=grain, block_runout=lean), FORCES, given=own))
    full = clamped(numbers(changed(design, "woods", block_grain="up"), FORCES, given=own)).swelling
    assert at.swelling == pytest.approx(full * math.sin(off) ** 2, rel=1e-9)


def test_heel_that_runs_out_bears_less(design):
    """The bearing strength falls from along to across as the grain runs out of the screw; whichever way, the worse counts."""
    plain = margins(design, FORCES, samples=0)["heel.clamp_receiver"].provided
    n = numbers(design, FORCES)
    b = j.bolt_bearing(gravity=n["neck_gravity"], dowel_diameter=12.0)
    assert plain == pytest.approx(float(b.along_grain) * 0.6)
    for degrees in (5, 15, 40):
        sin, cos = math.sin(math.radians(degrees)) ** 2, math.cos(math.radians(degrees)) ** 2
        m = margins(changed(design, "woods", heel_runout=math.radians(degrees)), FORCES, samples=0)
        by_hand = 0.6 * float(b.along_grain * b.across_grain / (b.along_grain * sin + b.across_grain * cos))
        assert m["heel.clamp_receiver"].provided == pytest.approx(by_hand, rel=1e-9)
        assert m["heel.tilt_receiver"].provided <= m["heel.clamp_receiver"].provided
        assert f"{degrees} deg out" in m["heel.clamp_receiver"].words


def test_grain_angles_are_read_from_the_file():
    grain = '\n[woods]\nblock_runout = "12 deg"\nheel_runout = "0.1 rad"\n'
    text = Path("data/designs/slack_water.toml").read_text("utf-8") + grain
    found = from_text(text).woods
    assert found.block_runout == pytest.approx(math.radians(12)) and found.heel_runout == pytest.approx(0.1)
    with pytest.raises(DesignError, match=r"woods\.block_runout: 60 deg.*allowed is 0 to 45 deg"):
        from_text(text.replace("12 deg", "60 deg"))


def test_wetter_is_weaker_and_grain_is_minded(design):
    def at(moisture):
        return numbers(design.model_copy(update={"woods": design.woods.model_copy(update={"moisture": moisture})}), FORCES)

    dry, wet = at(6.0), at(18.0)
    assert dry["neck_shear"] > at(12.0)["neck_shear"] > wet["neck_shear"]
    assert at(12.0)["neck_shear"] == pytest.approx(8.5)
    for grain, degrees in (("up", 90), ("across", 90), ("along", 0)):
        assert math.degrees(changed(design, "woods", block_grain=grain).woods.block_angle(1, 0, 0)) == pytest.approx(degrees)
    along = changed(design, "woods", block_grain="along")
    m = margins(along, FORCES, samples=0)
    assert m["block.captive_washer"].state == "good"  # end grain bears, and needs no strength across
    assert m["block.insert"].provided == pytest.approx(0.75 * margins(design, FORCES, samples=0)["block.insert"].provided)


@pytest.mark.parametrize(("given", "said"), [
    ({"block_accross": 5.0}, "did you mean block_across"), ({"block_across": -2.0}, "finite number above 0"),
    ({"block_across": math.nan}, "finite number above 0"), ({"block_across": "5"}, "finite number above 0"),
])
def test_bad_numbers_are_named(design, given, said):
    with pytest.raises(GivenError, match=said):
        margins(design, FORCES, given=given, samples=0)


def test_bad_forces_are_named(design):
    with pytest.raises(GivenError, match=r"forces.seat is -3\.0 N"):
        PartForces(100.0, -3.0)
    with pytest.raises(GivenError, match="shape"):
        PartForces(np.ones(3), 5.0)
    with pytest.raises(GivenError, match=r"forces\.tilt"):
        PartForces(math.inf, 5.0)
    with pytest.raises(CatalogueError, match="class"):
        margins(changed(design, "tilt_screw", strength_class="8.9"), FORCES, samples=0)


def test_forces_by_statics_and_by_virtual_work(design):
    f, simple = forces_of(design), simple_forces(design)
    assert f.cases[0] == "strings at pitch" and len(f.cases) == 1 + len(design.loads)
    # The travel changes the lever a little; nothing else does.
    assert f.tilt[0] == pytest.approx(simple.tilt, rel=0.08)
    assert f.seat[0] == pytest.approx(simple.seat, rel=0.05)
    assert f.needed[0] == 0 and f.needed.max() > 0


@pytest.mark.parametrize("name", ["slack_water", "spring_tide", "cross_tide", "flat_calm", "long_reach"])
def test_every_design_has_all_its_margins(name):
    m = margins(lg.load(name), samples=64)
    assert len(m) >= 24 and len({x.key for x in m}) == len(m)
    for x in m:
        assert x.state == "not known" or math.isfinite(x.ratio) or x.required in (0.0, math.inf), x.key
    assert "nan" not in str(m)
