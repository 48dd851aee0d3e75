"""The neck under its strings: sections against sectionproperties, the bow against a boundary-value solver and closed forms."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad, solve_bvp

from lutherie_geom import load
from lutherie_geom.joint.pitch import strings_of
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.strings import action, crown, string_places
from lutherie_geom.mechanics.along import gauss, read_at
from lutherie_geom.mechanics.neck_relief import neck_bow, relief
from lutherie_geom.theory import tongue_beam

DESIGN = load("data/designs/slack_water.toml")


def test_half_ellipse_against_integration():
    a, h = 24.0, 15.0
    found = tongue_beam.half_ellipse(half_breadth=a, depth=h)

    def part(power):
        return quad(lambda y: y**power * 2 * a * np.sqrt(1 - (y / h) ** 2), 0, h)[0]

    assert found.area == pytest.approx(part(0)) and found.centroid_depth == pytest.approx(part(1) / part(0))
    assert found.second_moment == pytest.approx(part(2) - part(1) ** 2 / part(0))


def test_neck_section_against_sectionproperties():
    from sectionproperties.analysis import Section
    from sectionproperties.pre import CompoundGeometry, Geometry, Material
    from shapely import Polygon, box

    b, h, board, sag, w, d = 48.0, 15.0, 6.0, 1.1, 6.0, 10.0
    t = np.linspace(0, np.pi, 241)
    neck = Polygon(np.stack([b / 2 * np.cos(t), -h * np.sin(t)], axis=1)).difference(box(-w / 2, -d, w / 2, 1))
    y = np.linspace(-b / 2, b / 2, 81)
    top = Polygon([(-b / 2, 0), (-w / 2, 0), (w / 2, 0), (b / 2, 0),
                   *zip(y[::-1], (board - sag * (2 * y / b) ** 2)[::-1], strict=True)])

    def made(polygon, modulus):
        return Geometry(polygon, material=Material(str(modulus), elastic_modulus=modulus, poissons_ratio=0.0, yield_strength=1.0,
                                                   density=1.0, color="w"))

    judge = Section(CompoundGeometry([made(neck, 10300.0), made(top, 12300.0)]).create_mesh(mesh_sizes=[0.0]))
    judge.calculate_geometric_properties()
    found = tongue_beam.neck_section(breadth=b, board=board, sagitta=sag, board_modulus=12300.0, depth=h, neck_modulus=10300.0,
                                     truss_width=w, truss_depth=d)
    assert found.axial == pytest.approx(judge.get_ea(), rel=2e-4)
    assert found.centroid == pytest.approx(judge.get_c()[1], abs=2e-3)
    assert found.rigidity == pytest.approx(judge.get_eic(e_ref=1)[0], rel=3e-4)


def test_bow_against_a_boundary_value_solver():
    """v'' = T (e + chord - v)/EI, clamped at the joint, with the stations' own EI and lever read between by splines."""
    from scipy.interpolate import CubicSpline

    found = neck_bow(DESIGN)
    d = DESIGN.dimensions()
    pull = strings_of(DESIGN, pose(d)).tension.sum()
    along = -found.x[::-1]  # from the joint (0) toward the nut; x falls along the stations
    order = np.argsort(along)
    ei, lever = (CubicSpline(along[order], v[::-1][order]) for v in (found.rigidity, found.lever))
    length = -float(d.x_nut)

    def run(s, state, p):
        return np.stack([state[1], pull * (lever(s) + p[0] * s / length - state[0]) / ei(s)])

    solved = solve_bvp(run, lambda a, b, p: np.array([a[0], a[1], b[0] - p[0]]), np.linspace(0, length, 60), np.zeros((2, 60)),
                       p=[1.0], tol=1e-9)
    first, joint = -float(d.x_fret(1)), 0.0
    at = solved.sol(np.array([first, joint, (first + joint) / 2]))[0]
    assert float(found.nut) == pytest.approx(float(solved.p[0]), rel=1e-5)
    assert float(found.relief) == pytest.approx((at[0] + at[1]) / 2 - at[2], rel=1e-5)


def even_neck(monkeypatch, ei, offset):
    """A neck alike all along, the strings ``offset`` over its axis all along."""
    from types import SimpleNamespace

    import lutherie_geom.mechanics.neck_relief as module

    def section(**given):
        here = np.ones(np.shape(given["depth"]))
        return SimpleNamespace(rigidity=ei * here, centroid=-offset * here)

    fake = SimpleNamespace(neck_section=section, slotted_rigidity=lambda whole, cut, cut_part: whole)
    monkeypatch.setattr(module, "tongue_beam", fake)
    lines = SimpleNamespace(z_nut=np.full(6, -7.1), zn_saddle=np.full(6, -7.1), xn_saddle=np.full(6, 300.0), x_nut=-370.0)
    monkeypatch.setattr(module, "string_lines", lambda p: lines)
    monkeypatch.setattr(module, "cut_parts", lambda *a: 0.0)


@pytest.mark.parametrize("pull", [10.0, 700.0, 2500.0])
def test_even_neck_against_the_secant_formula(monkeypatch, pull):
    even_neck(monkeypatch, 2e8, 12.0)
    d = DESIGN.dimensions()
    length = float(-d.x_nut)
    found = neck_bow(DESIGN, pull=pull)
    assert DESIGN.board.crown + DESIGN.board.thickness == pytest.approx(7.1)
    np.testing.assert_allclose(found.lever, 12.0, atol=1e-9)
    # The formula's span is nut to joint; the relief read from fret 1 is a little less. Read the bow at the middle of the span.
    nut, bow = float(found.nut), found.bow
    middle = nut / 2 - float(read_at(bow, 0.5))
    assert middle == pytest.approx(float(tongue_beam.eccentric_bow(pull=pull, offset=12.0, span=length, rigidity=2e8)), rel=1e-6)
    small = pull * 12.0 * length**2 / 8 / 2e8
    assert middle >= small and (pull > 100 or middle == pytest.approx(small, rel=1e-2))


def test_lever_is_the_strings_over_the_axis():
    """At a fret: action, crown dip of the design's own relief, and what lies between the crown and the neutral axis."""
    design = DESIGN.model_copy(update={"board": DESIGN.board.model_copy(update={"relief": 0.0})})
    p = pose(design.dimensions())
    found = neck_bow(design)
    fret = 7
    u = (0.0 - float(p.of.x_fret(fret))) / -float(p.of.x_nut)
    lever = float(read_at(found.lever, u))
    # Outer strings lie over a lower crown: compare the centre's height through the mean of all, crowning put back.
    heights = action(p, np.array([fret]))[:, 0] + crown(p.of, float(fret), string_places(p, np.array([fret]))[:, 0])
    share = strings_of(design, p).tension
    height = (share * heights).sum() / share.sum()
    assert 7.1 + height < lever < 7.1 + height + 10  # the axis lies in the neck wood, under the glue line
    depth = 20.5 + (23.5 - 20.5) * (1 - u) - 6
    x = float(p.of.x_fret(fret))
    breadth = np.interp(x, [float(p.of.x_nut), float(p.of.x_fret(20))], [44.5, 57])
    section = tongue_beam.neck_section(breadth=breadth, board=6.0, sagitta=breadth**2 / 8 / float(p.of.board_radius(x)),
                                       board_modulus=12300.0, depth=depth, neck_modulus=10300.0, truss_width=6.0,
                                       truss_depth=10.0)
    assert lever == pytest.approx(7.1 + height - section.centroid, abs=0.01)


@settings(max_examples=20, deadline=None)
@given(st.floats(0.7, 1.4), st.floats(0.0, 3.0), st.floats(50, 1200))
def test_what_stiffens_straightens(stiffer, deeper, pull):
    base = neck_bow(DESIGN, pull=pull).relief
    both = neck_bow(DESIGN, pull=pull, neck_modulus=10300 * stiffer, board_modulus=12300 * stiffer).relief
    assert (both < base) == (stiffer > 1) or stiffer == 1
    assert neck_bow(DESIGN, pull=pull, depth_nut=20.5 + deeper, depth_joint=23.5 + deeper).relief <= base
    assert neck_bow(DESIGN, pull=pull, truss_width=0.0).relief < base
    assert neck_bow(DESIGN, pull=pull, clamped=55.0).relief < base
    assert neck_bow(DESIGN, pull=pull, slots="most").relief > neck_bow(DESIGN, pull=pull, slots="none").relief


def test_batches_agree_with_single_calls():
    e, t = np.array([9000.0, 11000.0]), np.array([[600.0], [700.0], [800.0]])
    many = neck_bow(DESIGN, neck_modulus=e, pull=t)
    assert many.relief.shape == (3, 2) and many.bow.shape == (len(gauss()[0]), 3, 2)
    assert many.relief[1, 0] == pytest.approx(float(neck_bow(DESIGN, neck_modulus=9000.0, pull=700.0).relief), rel=1e-12)
    d = DESIGN.dimensions()
    wide = neck_bow(DESIGN, d.replaced(width_nut=np.array([44.5, 46.0])))
    assert wide.relief[0] == pytest.approx(float(neck_bow(DESIGN).relief), rel=1e-12) and wide.relief[1] < wide.relief[0]


def test_report():
    found = relief(DESIGN)
    assert found.low < found.relief < found.high and found.stiff_heel < found.relief < found.slotted
    assert found.low == pytest.approx(found.relief / 1.2, rel=0.01)  # stiffness and relief go against each other
    said = str(found)
    assert max(map(len, said.splitlines())) <= 100
    said = " ".join(said.split())
    assert "truss rod must take back" in said.split(" range ")[0] and "after years" in said and "left out" in said
    little = DESIGN.model_copy(update={"board": DESIGN.board.model_copy(update={"relief": 1.0})})
    assert "planed so" in str(relief(little))


def test_errors():
    deep = DESIGN.model_copy(update={"neck": DESIGN.neck.model_copy(update={"slot_depth": 16.0})})
    with pytest.raises(ValueError, match=r"neck\.slot_depth: 16 mm"):
        relief(deep)
    with pytest.raises(TypeError, match="depth_nut"):
        neck_bow(DESIGN, depth=3)
