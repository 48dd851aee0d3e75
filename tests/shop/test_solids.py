"""Solids: volumes against closed forms, holes where the design has them; STEP read back when the modeller is installed."""

import importlib.util
import math

import numpy as np
import pytest
from scipy.integrate import quad

from lutherie_geom.design.load import load, names
from lutherie_geom.joint.holes import heel_drills
from lutherie_geom.joint.travel import travel
from lutherie_geom.shop.hardware import clamp_hole
from lutherie_geom.shop.pack import write_pack
from lutherie_geom.shop.templates.refusals import ShopError
from lutherie_geom.shop.templates.solid_parts import Rod, solid_parts

GOOD = [n for n in names() if n != "spring_tide"]
HAS = importlib.util.find_spec("build123d") is not None
needs_modeller = pytest.mark.skipif(not HAS, reason="the extra 'solids' (build123d, 1 GB) is not installed")


def crossing(small, large, reach):
    """What two cylinders that cross at right angles share; the larger ends ``reach`` past the smaller one's axis or further."""
    assert reach >= small
    return 8 * quad(lambda t: math.sqrt(large**2 - t**2) * math.sqrt(max(small**2 - t**2, 0.0)), 0, small)[0]


def block_volume(design):
    v, t, b = design.pivot, design.tilt_screw, design.block
    wide = 2 * (design.heel.half_width_top + 14.0)
    box = wide * (-b.foot_z - design.body.top_thickness) * b.depth
    pivot = v.insert_diameter**2 * b.depth  # put in from inside
    seat = t.head_x + t.diameter + t.spring_room  # of the cover
    tilt = t.hole_in_block**2 * t.head_x + t.washer_diameter**2 * (seat - t.head_x)
    recess = t.cover_width * t.cover_height * (b.depth - seat)
    return box - math.pi / 4 * (2 * pivot + design.clamp.hole_in_block**2 * b.depth + tilt) - recess


def heel_volume(design):
    """For level screws and cross dowels bored from the bass cheek: a cylinder cut off by a plane is as long as its axis."""
    h, t, c, alpha = design.heel, design.tilt_screw, design.clamp, float(design.dimensions().alpha)
    face, far = -h.floor_clearance, -h.length
    glue = float(design.dimensions().z_joint) - design.board.crown - design.board.thickness + (face + far) / 2 * math.tan(alpha)
    wood = (face - far) * ((h.half_width_top + h.half_width_foot) * -h.foot_z + 2 * h.half_width_top * glue)
    tilt, clamp = heel_drills(design, travel(design))
    v = design.pivot
    wood -= 2 * math.pi * v.ball_radius**2 * (face - (v.x - v.ball_radius))  # from the end face to the back of each ball
    for x, z, dowel, long, screw, deep in (
            (t.receiver_x, t.receiver_z, t.receiver_diameter, t.receiver_length, tilt,
             face - (t.receiver_x - t.hole_past_receiver)),
            (c.receiver_x, design.pivot.z - c.below_axis, c.receiver_diameter, c.receiver_length, clamp,
             clamp_hole(design))):
        half = h.half_width_top + (h.half_width_foot - h.half_width_top) * z / h.foot_z
        wood -= math.pi / 4 * (dowel**2 * (half + long / 2) + screw**2 * deep) - crossing(screw / 2, dowel / 2, long / 2)
        assert deep >= face - x + dowel / 2 - 1e-9  # the screw's hole goes right through the receiver's
    return wood


def tongue_volume(design):
    """Board's glue face less the dome and the gap, integrated over the footprint."""
    d, t = design.dimensions(), design.tongue
    u, w = np.polynomial.legendre.leggauss(24)
    x, y = (u[:, None] + 1) / 2 * t.length, u[None, :] / 2 * t.width
    dome = np.zeros((24, 24))
    if design.body.dome == "sphere":
        r, c = design.body.dome_radius, design.body.apex_x
        dome = np.sqrt(r**2 - (x - c) ** 2 - y**2) - math.sqrt(r**2 - c**2)
    wood = float(d.z_joint) - design.board.crown - design.board.thickness + x * math.tan(float(d.alpha)) - dome - t.gap
    return float((w[:, None] * w[None, :] * wood).sum()) * t.length * t.width / 4


WANTED = {"block": block_volume, "heel": heel_volume, "tongue": tongue_volume}
BOXES = {"block": ((0, -60, -101), (61, 60, 0)), "heel": ((-56, -30, -99), (0, 30, 6)), "tongue": ((0, -31, 0), (113, 31, 7))}


@pytest.mark.parametrize("name", ["slack_water", "flat_calm", "spring_tide_mended"])
def test_parts_in_plain_words_have_the_volume(name):
    """Even points in a box, counted: what the description holds, without any modeller."""
    design = load(name)
    for part in solid_parts(design):
        low, high = (np.array(v, dtype=float) for v in BOXES[part.name])
        k = np.arange(400_000)[:, None]
        even = (0.5 + k * np.array([0.8191725133961645, 0.6710436067037893, 0.5497004779019703])) % 1.0
        share = part.inside(low + even * (high - low)).mean()
        assert share * np.prod(high - low) == pytest.approx(WANTED[part.name](design), rel=4e-3), part.name


@pytest.mark.parametrize("name", GOOD)
def test_holes_lie_where_the_design_has_them(name):
    design = load(name)
    block, heel, _ = solid_parts(design)
    v, t = design.pivot, design.tilt_screw
    for y, z, r in ((-v.spacing / 2, v.z, v.insert_diameter / 2), (v.spacing / 2, v.z, v.insert_diameter / 2),
                    (0.0, v.z, design.clamp.hole_in_block / 2)):
        around = np.array([(55.0, y + k * r * math.cos(a), z + k * r * math.sin(a)) for k in (0.0, 0.98, 1.02)
                           for a in np.linspace(0, 6, 12)])
        assert not block.inside(around[:24]).any() and block.inside(around[24:]).all()
    corner = np.array([[55.0, k * t.cover_width / 2, t.head_z + k * t.cover_height / 2] for k in (0.99, 1.01, -0.99, -1.01)])
    assert list(block.inside(corner)) == [False, True, False, True]
    middle = np.array([[t.receiver_x, 0.0, t.receiver_z], [design.clamp.receiver_x, 0.0, v.z]])
    assert not heel.inside(middle).any()
    hand = -1 if design.handed == "left" else 1
    bass = np.array([[t.receiver_x, -hand * 10.0, t.receiver_z], [t.receiver_x, hand * 10.0, t.receiver_z]])
    assert list(heel.inside(bass)) == ([False, True] if t.receiver == "dowel across" else [True, True])


def test_what_cannot_be_cut_has_no_solid(tmp_path):
    with pytest.raises(ShopError, match="runs out of wood"):
        solid_parts(load("spring_tide"))
    if not HAS:
        with pytest.raises(ShopError, match=r"lutherie_geom\[solids\]"):
            write_pack(load("slack_water"), tmp_path / "pack", solids=True)
        assert not list(tmp_path.iterdir())


@needs_modeller
@pytest.mark.parametrize("name", GOOD)
def test_modelled_volumes_and_step_read_back(name, tmp_path):
    import build123d as b

    from lutherie_geom.shop.templates.solids import modelled, solid_files

    design = load(name)
    files = solid_files(design)
    assert sorted(files) == sorted(f"{p}.{k}" for p in WANTED for k in ("step", "stl"))
    for part in solid_parts(design):
        (tmp_path / "part.step").write_bytes(files[f"{part.name}.step"])
        again = b.import_step(str(tmp_path / "part.step"))
        made = modelled(part)
        assert again.volume == pytest.approx(made.volume, rel=1e-7)
        if design.tilt_screw.receiver == "dowel across" or part.name != "heel":
            assert again.volume == pytest.approx(WANTED[part.name](design), rel=1e-6), part.name
        # Every hole's wall: a cylinder with the radius and on the axis of the description.
        walls = [f for f in again.faces() if f.geom_type == b.GeomType.CYLINDER]
        for hole in (c for c in part.cuts if isinstance(c, Rod)):
            start, way = np.array(hole.start), np.subtract(hole.end, hole.start)
            way = way / np.linalg.norm(way)
            off = []
            for wall in walls:
                axis = wall.axis_of_rotation
                at, along = np.array(tuple(axis.position)), np.array(tuple(axis.direction))
                apart = np.linalg.norm(np.cross(at - start, way))
                off.append(apart + abs(wall.radius - hole.radius) + np.linalg.norm(np.cross(along, way)))
            assert min(off) < 1e-6, (part.name, hole)


@needs_modeller
def test_stl_is_closed_and_close(tmp_path):
    trimesh = pytest.importorskip("trimesh")
    from lutherie_geom.shop.templates.solids import solid_files

    design = load("slack_water")
    for name, wanted in WANTED.items():
        place = tmp_path / f"{name}.stl"
        place.write_bytes(solid_files(design)[f"{name}.stl"])
        mesh = trimesh.load(place)
        assert mesh.is_watertight and mesh.volume == pytest.approx(wanted(design), rel=1e-3)
