"""The tongue: sections against sectionproperties, deflection against PyNiteFEA, its note against beam elements, and limits."""

from __future__ import annotations

import dataclasses
import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.linalg import eigh
from scipy.sparse import coo_matrix
from scipy.sparse.linalg import spsolve

from lutherie_geom import load
from lutherie_geom.design.catalogue import CatalogueError
from lutherie_geom.joint.body import gap
from lutherie_geom.joint.pose import pose
from lutherie_geom.mechanics import rods as rod_reports
from lutherie_geom.mechanics.along import column, gauss, read_at, running
from lutherie_geom.mechanics.rods import material, material_names, rod_gain, rod_map, rods, wood_gain
from lutherie_geom.mechanics.tongue import beam_note, note_name, pressed, ring, tip_stiffness, tongue
from lutherie_geom.mechanics.tongue_sections import SLOTS, sections
from lutherie_geom.theory import beam, tongue_beam

DESIGN = load("data/designs/slack_water.toml")  # 3.2 mm of wood at the joint, 1.25 mm at the tip
TWO = dict(rods=2, rod_height=2.0, rod_modulus=120e3)


def with_tongue(**changed):
    return DESIGN.model_copy(update={"tongue": DESIGN.tongue.model_copy(update=changed)})


def even(count=16, **changes):
    """A tongue alike all along: no taper, no slots."""
    x = column(gauss(count)[0], 0) * DESIGN.tongue.length
    return sections(DESIGN, x, slots="none", **({"wood": 4.0, "sagitta": 1.0, "spacing": 14.0} | changes))


def test_integration_along():
    u, w = gauss()
    np.testing.assert_allclose(running(np.exp(u)), np.exp(u) - 1, rtol=1e-12)
    assert w @ np.cos(u) == pytest.approx(math.sin(1), rel=1e-13)
    both = np.stack([np.sin(3 * u), u**5], axis=1)
    np.testing.assert_allclose(read_at(both, np.array([0.3, 0.71])), [math.sin(0.9), 0.71**5], rtol=1e-11)


# sections

def crowned(breadth, board, sagitta):
    from shapely import Polygon

    y = np.linspace(-breadth / 2, breadth / 2, 61)
    top = board - sagitta * (2 * y / breadth) ** 2
    return Polygon([(-breadth / 2, 0), (breadth / 2, 0), *zip(y[::-1], top[::-1], strict=True)])


@pytest.mark.parametrize(("shape", "middle"), [("round", 0.0), ("round", -0.5), ("flat", 0.3), ("round", -2.5)])
def test_section_against_sectionproperties(shape, middle):
    from sectionproperties.analysis import Section
    from sectionproperties.pre import CompoundGeometry, Geometry, Material
    from shapely import Point, box

    changed = dict(rod_shape=shape, rod_diameter=2.0, rod_width=5.0, rods=2, rod_above_glue_line=middle)
    s = sections(with_tongue(**changed), np.array([20.0]), slots="none", wood=np.array([4.2]), rod_modulus=150e3)
    board = crowned(float(s.breadth), float(s.board), float(s.sagitta[0]))
    neck = box(-s.breadth / 2, -4.2, s.breadth / 2, 0)
    bars, like_a_circle = [], math.sqrt(math.pi / (48 * math.sin(2 * math.pi / 96)))  # of 96 corners, with the circle's area
    for y in (-12.0, 12.0):
        bar = Point(y, middle).buffer(like_a_circle, quad_segs=24)
        if shape == "flat":
            bar = box(y - 2.5, middle - 1, y + 2.5, middle + 1)
        # Cut at the glue line, so that the meshes of rod and wood share their corners.
        bars += [half for half in (bar.intersection(board), bar.intersection(neck)) if half.area > 0]
        board, neck = board.difference(bar), neck.difference(bar)

    def made(polygon, modulus):
        return Geometry(polygon, material=Material(str(modulus), elastic_modulus=float(modulus), poissons_ratio=0.0,
                                                   yield_strength=1.0, density=1.0, color="w"))

    parts = [made(board, s.board_modulus), made(neck, s.neck_modulus), *(made(b, 150e3) for b in bars)]
    judge = Section(CompoundGeometry(parts).create_mesh(mesh_sizes=[0.0]))
    judge.calculate_geometric_properties()
    found = s.whole
    assert found.axial[0] == pytest.approx(judge.get_ea(), rel=5e-5)
    assert found.centroid[0] == pytest.approx(judge.get_c()[1], abs=1e-3)
    assert found.rigidity[0] == pytest.approx(judge.get_eic(e_ref=1)[0], rel=1e-4)


def test_twist_against_sectionproperties():
    """Torsion of the layered, crowned section: the library takes one rectangle, within a tenth. Moduli here are shear moduli."""
    from sectionproperties.analysis import Section
    from sectionproperties.pre import CompoundGeometry, Geometry, Material
    from shapely import box

    s = sections(DESIGN, np.array([45.0]))
    parts = [Geometry(polygon, material=Material(str(g), elastic_modulus=float(g), poissons_ratio=0.0, yield_strength=1.0,
                                                 density=1.0, color="w"))
             for polygon, g in ((crowned(57.0, 6.0, float(s.sagitta[0])), s.board_shear),
                                (box(-28.5, -float(s.wood[0]), 28.5, 0), s.neck_shear))]
    judge = Section(CompoundGeometry(parts).create_mesh(mesh_sizes=[2.5]))
    judge.calculate_geometric_properties()
    judge.calculate_warping_properties()
    assert s.torsion_stiffness[0] == pytest.approx(judge.get_ej(e_ref=1), rel=0.1)
    # Pressed off the middle of an even tongue: force times offset turns it, angle times offset is what the fret gives more.
    p = pressed(DESIGN, frets=20, slots="none", wood=2.0, sagitta=1.0)
    e = even(wood=2.0)
    off = math.sqrt(float(p.twist[0]) * float(e.torsion_stiffness) / 15 / float(p.x[0]))
    d = DESIGN.dimensions()
    between = np.interp(float(p.x[0]), [float(d.x_nut), float(d.x_saddle[0])], [d.y_nut[-1], d.y_saddle[-1]])
    assert off == pytest.approx(between, rel=5e-3)


def test_rods_of_the_same_wood_change_nothing():
    same = dict(board_modulus=11000.0, neck_modulus=11000.0, rod_modulus=11000.0)
    for y in (0.0, -1.5, 0.6):
        assert rod_gain(DESIGN, rods=3, rod_height=2.5, rod_middle=y, **same) == pytest.approx(0, abs=1e-13)
    # Of the neck's wood, half in the board: they only put one wood for the other.
    gain = rod_gain(DESIGN, rods=2, rod_height=2.0, rod_modulus=float(even().neck_modulus))
    assert abs(gain) < 0.005 and gain != 0


def test_no_rods_bring_nothing():
    assert rod_gain(DESIGN) == 0
    assert rod_gain(DESIGN, rods=0, rod_height=2.0) == 0
    assert rod_gain(with_tongue(rod_diameter=2.0, rods=0)) == 0
    assert rod_gain(DESIGN, rods=2, rod_height=np.array([0.0, 1e-3]))[1] == pytest.approx(0, abs=1e-6)


def test_known_figures():
    """3.2 to 1.25 mm of wood under a flat 6 mm board: two 2 mm rods about 7 %, half a millimetre more wood about 18 %.

    Under 9 to 5 mm the rods are next to nothing: some 0.1 % with a hard board, a third of a percent with this one.
    """
    d = DESIGN.dimensions()
    assert (d.tongue_width, DESIGN.board.thickness) == (57.0, 6.0)
    plain = dict(slots="none", sagitta=0.0)
    assert rod_gain(DESIGN, d, **plain, **TWO) == pytest.approx(0.07, abs=0.005)
    assert wood_gain(DESIGN, 0.5, d, **plain) == pytest.approx(0.18, abs=0.005)
    thick = 9 - 4 * gauss()[0]
    assert rod_gain(DESIGN, d, **plain, **TWO, wood=thick) < 0.005
    assert rod_gain(DESIGN, d, **plain, **TWO, wood=thick, board_modulus=18000.0) == pytest.approx(0.001, abs=0.001)
    assert wood_gain(DESIGN, 0.5, d, **plain, wood=thick) > 0.1


def test_fit_is_the_least_along_the_tongue():
    d = with_tongue(rod_diameter=2.0, rod_cover=0.5)
    found = rods(d)
    wood = [s.wood for s in found.stations]
    assert [s.under for s in found.stations] == pytest.approx([w - 0.5 - 1.0 for w in wood])
    assert [s.fits for s in found.stations] == [w >= 1.5 for w in wood] and not found.fit
    assert rods(with_tongue(rod_diameter=1.4, rod_cover=0.5)).fit
    high = with_tongue(rod_diameter=2.0, rod_above_glue_line=2.0)
    left = 6 - 2.2 - DESIGN.tongue.width**2 / 8 / 406.4 - 0.5 - 3  # board less slot, crowning, cover, and the rod's top
    assert sections(high, np.array([0.0])).spare_over[0] == pytest.approx(left, abs=1e-3)


@settings(max_examples=25, deadline=None)
@given(st.floats(0.5, 3.0), st.floats(0.0, 2.0), st.floats(0.05, 2.0), st.sampled_from(SLOTS))
def test_more_depth_is_stiffer(diameter, more, added, slots):
    base = dict(slots=slots, rods=2, rod_height=diameter, rod_modulus=120e3)
    one, two = tip_stiffness(DESIGN, more_wood=np.array([more, more + added]), **base)
    assert two > one
    assert tip_stiffness(DESIGN, slots=slots, more_wood=more, rods=2, rod_height=diameter * 1.1, rod_modulus=120e3) >= one
    flexed = [tip_stiffness(DESIGN, slots=s, more_wood=more, **TWO) for s in SLOTS]
    assert flexed == sorted(flexed, reverse=True)


def test_gain_is_least_near_the_neutral_axis():
    depth = np.linspace(-3, 3, 61)
    level = float(even(**TWO).whole.centroid)
    gain = rod_gain(DESIGN, slots="none", wood=4.0, sagitta=1.0, rod_middle=depth, **TWO)
    assert depth[gain.argmin()] == pytest.approx(level, abs=0.3)


def test_planed_and_hollowed_undersides():
    """A planed underside leaves wood that runs evenly; the hollowed one follows the dome, a few hundredths off that plane."""
    x = np.linspace(0, DESIGN.tongue.length, 5)
    planed, hollow = (sections(with_tongue(underside=u), x).wood for u in ("planed flat", "hollowed"))
    np.testing.assert_allclose(np.diff(planed, 2), 0, atol=1e-12)
    assert np.all(np.abs(np.diff(hollow, 2)) > 1e-3) and np.abs(planed - hollow).max() < 0.3
    assert tip_stiffness(with_tongue(underside="planed flat")) != tip_stiffness(DESIGN)


# the map

def test_map_agrees_with_single_calls():
    m = rod_map(DESIGN, diameter=[0, 1, 2], depth=[-0.5, 0, 1.5], modulus=[70, 130], count=2)
    assert m.gain.shape == m.fits.shape == (3, 3, 2) and np.all(m.gain[0] == 0)
    one = rod_gain(DESIGN, rods=2, rod_height=2.0, rod_middle=1.5, rod_modulus=130e3)
    assert m.gain[2, 2, 1] == pytest.approx(float(one), rel=1e-12)
    in_air = np.isnan(m.gain)
    assert in_air[2, 0].all() and in_air.sum() == 2  # 1.5 mm below the glue line, under 1.25 mm of wood at the tip
    assert np.all(np.diff(m.gain, axis=2)[1:][~in_air[1:, :, 0]] > 0)  # stiffer stuff, more gain
    assert m.fits[1, 1, 0] and not m.fits[2, 0, 0]
    for bad, said in (({"modulus": 130000}, r"modulus: 130000.* GPa; allowed is 1 to 400"),
                      ({"depth": -50}, r"depth: -50 to -50 mm; allowed is -3\.2 to 6 mm"), ({"depth": 7}, "depth: 7 to 7 mm"),
                      ({"depth": math.nan}, "depth: nan"), ({"diameter": -1}, "diameter: -1")):
        with pytest.raises(ValueError, match=said):
            rod_map(DESIGN, **({"diameter": 2, "depth": 0, "modulus": 120} | bad))


def test_flat_rods_in_the_map_are_the_reports():
    flat = with_tongue(rod_shape="flat", rods=2, rod_width=6.0, rod_diameter=2.0, rod_above_glue_line=0.4)
    t = flat.tongue
    m = rod_map(flat, diameter=[2.0], depth=[0.4], modulus=[t.rod_modulus])
    assert float(m.gain.item()) == pytest.approx(rods(flat).gain[1], rel=1e-12)
    # Two strips 6 x 2 mm have nearly four times the cross-section of two round rods of 2 mm, and gain as much more.
    rounds = rod_map(with_tongue(rods=2, rod_diameter=2.0), diameter=[2.0], depth=[0.4], modulus=[t.rod_modulus])
    assert m.gain.item() == pytest.approx(rounds.gain.item() * 12 / math.pi, rel=0.1)


def test_rods_in_air_are_not_told():
    """Spring Tide: the neck wood runs out before half the tongue; half of a 2 mm rod on the glue line has nothing round it."""
    d = load("data/designs/spring_tide.toml")
    found = rods(d)
    assert all(s.wood < 1.0 for s in found.stations) and all(math.isnan(s.gain) for s in found.stations)
    assert all(map(math.isnan, (*found.gain, found.worth, found.lasting, *found.materials.values()))) and found.wood[1] > 0
    said = " ".join(str(found).split())
    assert "is not told: a part of them lies in air at 0, 16" in said and "nan" not in said
    # 0.6 mm of wood at the joint holds half of a 1 mm rod there, and at 47 mm there is none.
    thin = d.model_copy(update={"tongue": d.tongue.model_copy(update={"rods": 2, "rod_diameter": 1.0})})
    assert [math.isnan(s.gain) for s in rods(thin).stations] == [False] + [True] * 6
    assert not rods(DESIGN).in_air and "nan" not in str(rods(DESIGN))


def test_depth_at_which_rods_pay():
    found = rods(with_tongue(rod_diameter=2.0))
    wanted = float(wood_gain(DESIGN))
    for y in (found.lowest_that_pays, found.highest_that_pays):
        assert rod_gain(DESIGN, **(TWO | {"rod_middle": y})) == pytest.approx(wanted, rel=2e-3)
    assert rod_gain(DESIGN, **TWO) == pytest.approx(float(wood_gain(DESIGN, found.worth)), rel=1e-3)


def test_materials_are_marked():
    for name in material_names():
        m = material(name)
        assert m.low <= m.modulus <= m.high and m.mark and "rules" in m.caution
    with pytest.raises(CatalogueError, match="steel"):
        material("stel")


# slots

def slotted_strip(h, cuts, rows, half, e, ex, g, nu, columns=50):
    """Bending stiffness of an endless strip cut every 2 x half, to that of a whole one: plane stress, four-node elements.

    Half a period: at the cut's plane the wood left may not move along, at the other end the section turns and stays plane.
    """
    x, z = half * np.linspace(0, 1, columns + 1) ** 2, np.linspace(0, h, rows + 1)
    c = np.linalg.inv([[1 / e, -nu / e, 0], [-nu / e, 1 / ex, 0], [0, 0, 1 / g]])
    node = np.arange((columns + 1) * (rows + 1)).reshape(columns + 1, rows + 1)
    hx, hz = (a.ravel() for a in np.meshgrid(np.diff(x), np.diff(z), indexing="ij"))
    corner = np.stack([node[:-1, :-1], node[1:, :-1], node[1:, 1:], node[:-1, 1:]], -1).reshape(-1, 4)
    stiff = np.zeros((len(corner), 8, 8))
    for s in np.array([-1, 1]) / math.sqrt(3):
        for t in np.array([-1, 1]) / math.sqrt(3):
            by_s, by_t = np.array([[-(1 - t), 1 - t, 1 + t, -(1 + t)], [-(1 - s), -(1 + s), 1 + s, 1 - s]]) / 4
            strain = np.zeros((len(corner), 3, 8))
            strain[:, 0, 0::2] = strain[:, 2, 1::2] = by_s * 2 / hx[:, None]
            strain[:, 1, 1::2] = strain[:, 2, 0::2] = by_t * 2 / hz[:, None]
            stiff += np.einsum("eia,ij,ejb->eab", strain, c, strain) * (hx * hz / 4)[:, None, None]
    place = np.stack([2 * corner, 2 * corner + 1], -1).reshape(-1, 8)
    size = 2 * node.size
    k = coo_matrix((stiff.ravel(), (np.repeat(place, 8, 1).ravel(), np.tile(place, (1, 8)).ravel())), shape=(size, size)).tocsr()
    far, held = 2 * node[-1], np.concatenate([2 * node[0, :rows - cuts + 1], [2 * node[0, 0] + 1]])
    known = np.union1d(far, held)
    free = np.setdiff1d(np.arange(size), known)

    def answer(moved):
        u = np.zeros(size)
        u[far] = moved
        u[free] = spsolve(k[free][:, free], -(k[free][:, known] @ u[known]))
        force = (k @ u)[far]
        return force.sum(), force @ z

    (n0, m0), (n1, m1) = answer(np.ones(rows + 1)), answer(z)
    return (m1 - n1 / n0 * m0) * half / (e * h**3 / 12)


@pytest.mark.parametrize(("wood_", "h", "rows", "cuts"), [
    ((12300.0, 1300.0, 800.0, 0.37), 9.2, 92, 22), ((12300.0, 600.0, 700.0, 0.37), 7.2, 72, 22),
    ((1.0, 1.0, 1 / 2.6, 0.3), 9.2, 92, 22), ((12300.0, 1300.0, 800.0, 0.37), 12.0, 120, 10)])
@pytest.mark.parametrize("spacing", [40.0, 16.0, 11.0])
def test_slots_against_plane_elements(wood_, h, rows, cuts, spacing):
    e, ex, g, nu = wood_
    deep = h * cuts / rows
    judge = slotted_strip(h, cuts, rows, spacing / 2, e, ex, g, nu)
    dead = tongue_beam.slot_dead_zone(slot_depth=deep, slot_width=0, depth=h, modulus=e, across_modulus=ex, shear_modulus=g,
                                      poisson=nu)
    part = tongue_beam.cut_part(dead_zone=dead, spacing=spacing)
    found = tongue_beam.slotted_rigidity(whole=1.0, cut=(1 - deep / h) ** 3, cut_part=part)
    assert found == pytest.approx(judge, rel=0.03)


def test_slots_lie_between_the_bounds():
    x = np.linspace(0, 90, 5)
    by = [sections(DESIGN, x, slots=s).rigidity for s in SLOTS]
    assert all(np.all(a > b) for a, b in pairwise(by))
    np.testing.assert_allclose(by[0], sections(DESIGN, x).whole.rigidity)
    np.testing.assert_allclose(by[3], sections(DESIGN, x).cut.rigidity)
    d = DESIGN.dimensions()
    gaps = np.diff(d.x_fret(np.arange(14.0, 21.0)))
    np.testing.assert_allclose(sections(DESIGN, d.x_fret(np.arange(14.5, 20.0))).spacing, gaps, rtol=2e-4)


# deflection

def pynite(rigidity, shear, length, place, force, count=200):
    """Deflections at ``place`` and at the tip, slope there: a cantilever of many short members, PyNiteFEA (bending alone)."""
    from Pynite import FEModel3D

    model = FEModel3D()
    model.add_material("wood", 1.0, 1.0, 0.0, 1.0)
    x = np.unique(np.concatenate([np.linspace(0, place, count // 2 + 1), np.linspace(place, length, count // 2 + 1)]))
    for i, xi in enumerate(x):
        model.add_node(f"n{i}", xi, 0, 0)
    for i in range(len(x) - 1):
        ei = float(rigidity((x[i] + x[i + 1]) / 2))
        model.add_section(f"s{i}", 1e9, ei, ei, ei)
        model.add_member(f"m{i}", f"n{i}", f"n{i + 1}", "wood", f"s{i}")
    model.def_support("n0", *(True,) * 6)
    at = int(np.argmin(abs(x - place)))
    model.add_node_load(f"n{at}", "FY", -force)
    model.analyze_linear()
    name = next(iter(model.load_combos))
    node = model.nodes[f"n{at}"]
    return -node.DY[name], -model.nodes[f"n{len(x) - 1}"].DY[name], -node.RZ[name]


@pytest.mark.parametrize("fret", [16, 19])
def test_pressed_against_pynite(fret):
    design = with_tongue(rod_diameter=1.5)
    p = pressed(design, frets=fret, force=15.0)
    place, length = float(p.x[0]), design.tongue.length

    def rigidity(x):
        return sections(design, np.array([x])).rigidity[0]

    give, tip, slope = pynite(rigidity, None, length, place, 15.0)
    slid = 15 * quad(lambda x: 1 / sections(design, np.array([x])).shear_stiffness[0], 0, place)[0]
    assert float(p.give[0]) == pytest.approx(give + slid, rel=2e-5)
    assert float(p.tip[0]) == pytest.approx(tip + slid, rel=2e-5)
    assert float(p.slope[0]) == pytest.approx(slope, rel=2e-5)
    assert float(p.shear[0]) == pytest.approx(slid / give, rel=2e-5)


def test_even_tongue_against_the_closed_form():
    plain = dict(slots="none", wood=4.0, sagitta=1.0)
    s = even()
    stiff = tip_stiffness(DESIGN, **plain)
    closed = beam.cantilever_tip(force=1.0, span=DESIGN.tongue.length, rigidity=s.rigidity[0])
    assert stiff == pytest.approx(1 / closed.deflection, rel=1e-12)
    p = pressed(DESIGN, frets=20, force=10.0, **plain)
    shear = beam.cantilever_shear(force=10.0, span=float(p.x[0]), rigidity=s.rigidity[0], shear_factor=1.0,
                                  shear_modulus=s.shear_stiffness, area=1.0)
    assert float(p.give[0]) == pytest.approx(shear.total, rel=1e-12)
    assert float(p.shear[0]) == pytest.approx(shear.added, rel=1e-12)
    on_spring = pressed(DESIGN, frets=20, force=10.0, root=1e6, **plain)
    assert float(on_spring.give[0] - p.give[0]) == pytest.approx(10 * float(p.x[0]) ** 2 / 1e6, rel=1e-9)


def test_taper_against_the_closed_form():
    """Board and neck of one wood: a wedge 9.2 mm at the root, 7.25 mm at the tip."""
    one = dict(slots="none", sagitta=0.0, board_modulus=1e4, neck_modulus=1e4, wood=3.2 - 1.95 * gauss()[0])
    closed = beam.tapered_tip(force=1.0, span=DESIGN.tongue.length, modulus=1e4, breadth=57.0, tip_depth=7.25,
                              depth_ratio=9.2 / 7.25)
    assert tip_stiffness(DESIGN, **one) == pytest.approx(1 / closed, rel=1e-10)


def test_shear_matters_below_a_span():
    depths = tongue_beam.span_for_shear(modulus=10000, shear_modulus=625, shear_factor=5 / 6, added=0.05)
    h, b = 8.0, 40.0
    found = beam.cantilever_shear(force=1, span=depths * h, rigidity=1e4 * b * h**3 / 12, shear_factor=5 / 6, shear_modulus=625,
                                  area=b * h)
    assert found.added == pytest.approx(0.05, rel=1e-12)


def test_touch_is_where_the_gap_is_used_up():
    p = pressed(DESIGN, frets=20, force=15.0)
    again = pressed(DESIGN, frets=20, force=float(p.touch[0]))
    room = min(float(gap(pose(DESIGN.dimensions()), p.touch_x[0], y)) for y in (-28.5, 0.0, 28.5))
    assert float(again.tip[0]) == pytest.approx(room, rel=1e-6) and p.touch_x[0] == pytest.approx(DESIGN.tongue.length)
    lowered = pressed(DESIGN, frets=20, force=15.0, at=pose(DESIGN.dimensions(), tilt=0.5))  # action up, tongue down
    assert lowered.touch[0] < p.touch[0]


def test_batches_agree_with_single_calls():
    e = np.array([9000.0, 10300.0, 12000.0])
    many = pressed(DESIGN, force=15.0, neck_modulus=e, more_wood=np.array([0.0, 0.2, 0.5]))
    one = pressed(DESIGN, force=15.0, neck_modulus=12000.0, more_wood=0.5)
    assert many.give.shape == many.touch.shape == (6, 3)
    np.testing.assert_allclose(many.give[:, 2], one.give, rtol=1e-12)
    np.testing.assert_allclose(many.touch[:, 2], one.touch, rtol=1e-12)
    hz, sag = ring(DESIGN, neck_modulus=e)
    assert hz.shape == sag.shape == (3,) and hz[1] == pytest.approx(float(ring(DESIGN)[0]), rel=1e-12)
    d = DESIGN.dimensions()
    many = pressed(DESIGN, d.replaced(tongue_length=np.array([80.0, 90.0]), radius_last=np.array([406.4, 300.0])), frets=[18, 19])
    assert many.give.shape == many.twist.shape == (2, 2)
    tilted = pressed(DESIGN, at=pose(d, tilt=np.array([0.0, 0.5])))
    np.testing.assert_allclose(tilted.touch[:, 0], pressed(DESIGN).touch, rtol=1e-12)
    longer = tip_stiffness(DESIGN, d.replaced(tongue_length=np.array([80.0, 90.0])))
    assert longer[1] == pytest.approx(float(tip_stiffness(DESIGN)), rel=1e-12) and longer[0] > longer[1]


# its note

def test_note_of_an_even_tongue():
    s = dataclasses.replace(even(), board_shear=1e12, neck_shear=1e12)  # no shear
    found, sag = beam_note(s, 90.0)
    assert found == pytest.approx(beam.cantilever_frequency(span=90.0, rigidity=s.rigidity[0], line_mass=s.line_mass), rel=1e-5)
    assert sag == pytest.approx(s.line_mass * 9.80665e-3 * 90.0**4 / (8 * s.rigidity[0]), rel=1e-6)  # q L^4/(8 EI)
    assert beam_note(even(), 90.0)[0] < found


def test_note_of_the_tapered_tongue_against_elements():
    length, count = DESIGN.tongue.length, 120
    h = length / count / 1000  # metres
    k, m = np.zeros((2, 2 * count + 2, 2 * count + 2))
    x = (np.arange(count) + 0.5) * length / count
    s = sections(DESIGN, x)
    for i, (ei, line) in enumerate(zip(s.rigidity * 1e-6, s.line_mass, strict=True)):
        at = slice(2 * i, 2 * i + 4)
        k[at, at] += ei / h**3 * np.array([[12, 6 * h, -12, 6 * h], [6 * h, 4 * h * h, -6 * h, 2 * h * h],
                                           [-12, -6 * h, 12, -6 * h], [6 * h, 2 * h * h, -6 * h, 4 * h * h]])
        m[at, at] += line * h / 420 * np.array([[156, 22 * h, 54, -13 * h], [22 * h, 4 * h * h, 13 * h, -3 * h * h],
                                                [54, 13 * h, 156, -22 * h], [-13 * h, -3 * h * h, -22 * h, 4 * h * h]])
    lowest = math.sqrt(eigh(k[2:, 2:], m[2:, 2:], eigvals_only=True, subset_by_index=[0, 0])[0]) / (2 * math.pi)
    at = sections(DESIGN, gauss()[0] * length)
    found = beam_note(dataclasses.replace(at, board_shear=1e12, neck_shear=1e12), length)[0]
    assert found == pytest.approx(lowest, rel=1e-4)
    assert float(ring(DESIGN)[0]) == pytest.approx(lowest, rel=0.03) and float(ring(DESIGN)[0]) < lowest


def test_note_names():
    assert note_name(440.0) == "A 4 +0 cents" and note_name(82.4069) == "E 2 +0 cents"
    assert note_name(261.63 * 2 ** (0.2 / 12)) == "C 4 +20 cents"


# words and errors

def test_reports():
    said = str(rods(with_tongue(rod_diameter=2.0)))
    assert max(map(len, said.splitlines())) <= 100
    words = " ".join(said.split())
    assert "two 2 mm rods bring 4 % of the stiffness at the tip, half a millimetre more wood 25 %" in words
    assert "7 % against 19 % if none counted, 4 % against 27 % if cut all along" in words and words.count("4 %") == 3
    assert "lungs" in said and "NOT fit" in said
    for s in rods(with_tongue(rod_diameter=2.0)).stations:
        assert s.at_slot < s.neutral  # a slot takes board away above, the axis sinks
    assert "would bring" in str(rods(DESIGN))
    assert "one 6 x 1 mm flat rod brings" in str(rods(with_tongue(rod_shape="flat", rods=1, rod_width=6.0, rod_diameter=1.0)))
    said = str(tongue(DESIGN))
    assert max(map(len, said.splitlines())) <= 100
    said = " ".join(said.split())
    assert "meets the top at" in said.split(" slots: ")[0] and "left out" in said and "after years" in said
    assert "hardly do: then they bring 6 %" in words
    assert rod_reports.MORE_WOOD == 0.5


def test_errors_name_the_field():
    with pytest.raises(ValueError, match=r"tongue\.rod_width is 0 mm"):
        rods(with_tongue(rod_shape="flat", rod_diameter=2.0))
    with pytest.raises(ValueError, match=r"tongue\.slot_depth: 5\.5 mm.*6 mm thick; allowed is less than"):
        tongue(with_tongue(slot_depth=5.5))
    with pytest.raises(ValueError, match=r"fret 12 lies .* mm past the joint"):
        pressed(DESIGN, frets=12)
    with pytest.raises(ValueError, match="none, least, likely, most"):
        sections(DESIGN, np.zeros(1), slots="some")
    with pytest.raises(TypeError, match="more_wood"):
        sections(DESIGN, np.zeros(1), rod_size=2)


@pytest.mark.parametrize(("asked", "said"), [
    ({"force": -5.0}, "force: -5 N is not in the range; allowed is above 0 to 1000 N"), ({"force": math.nan}, "force: nan N"),
    ({"force": 0.0}, "force: 0 N"), ({"force": math.inf}, "force: inf N"), ({"root": 0.0}, r"root: 0 N mm/rad is no spring"),
    ({"root": math.nan}, "root: nan"), ({"root": -1e6}, "allowed is above 0, infinite for a clamped root")])
def test_forces_and_springs_that_make_no_sense_are_named(asked, said):
    with pytest.raises(ValueError, match=said):
        tongue(DESIGN, **asked)
    with pytest.raises(ValueError, match=said):
        pressed(DESIGN, **asked)
