"""Joints of any kind: freedom and fights, poses against the closed form, other solvers and a multibody
library, screw axes against differences. Lengths in mm, angles in radians, turns in turns.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import least_squares
from scipy.spatial.transform import Rotation

import lutherie_geom as lg
from lutherie_geom.design import DesignError
from lutherie_geom.design.files import data_folder
from lutherie_geom.design.joint_files import joint_from_text, joint_names, load_joint
from lutherie_geom.joint.contacts import Contacts, ball_on_rim, face_on_face, hinge, link, screw_on_face
from lutherie_geom.joint.fights import allowed_miss, dimensions, fights, forced_fits, preload_contacts, stresses, total_fit
from lutherie_geom.joint.layout import Layout, lay_out, varied
from lutherie_geom.joint.layout_readings import any_travel, read_layout
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.turning import way
from lutherie_geom.theory.contact import carried

# Name: rows and rank of what holds; rows with every clamp and spring counted as a link; all computed here.
ARCHETYPES = {
    "upper_pivot_dowel": (7, 6, 8), "upper_pivot_rod": (7, 6, 8), "upper_pivot_two_cones": (7, 6, 8),
    "upper_pivot_cone_and_vee": (6, 6, 7), "lower_pivot_upper_adjuster": (6, 6, 7), "full_width_hinge": (6, 6, 6),
    "wedge": (6, 6, 8), "three_point_seat": (6, 6, 7), "fixed_and_shimmed": (6, 6, 8)}
SCREWS = ("tilt screw", "bass pivot screw", "treble pivot screw")


@pytest.mark.parametrize("name", ARCHETYPES)
def test_archetypes_are_held_and_stand_at_their_nominal_pose(name: str) -> None:
    j = lay_out(name)
    rows, rank, pressed = ARCHETYPES[name]
    f = j.freedom()
    assert (f.rows, int(f.rank), int(f.free), int(f.self_stress)) == (rows, rank, 0, rows - rank)
    assert f.condition < 10
    p = j.pose()
    assert p.reason == "" and np.abs(p.moved).max() < 1e-12 and abs(p.theta) < 1e-14
    kinds = stresses(j)
    assert len(kinds) == pressed - rank and len(fights(j)) == rows - rank
    assert [s.kind.split()[0] for s in kinds] == ["fight"] * (rows - rank) + ["preload"] * (pressed - rows)


def test_every_archetype_has_its_numbers_and_no_other_file_lies_there() -> None:
    assert sorted(ARCHETYPES) == joint_names()


@pytest.mark.parametrize(("name", "receiver"), [("upper_pivot_dowel", "dowel across"), ("upper_pivot_two_cones", "dowel across"),
                                                ("upper_pivot_rod", "rod along")])
def test_the_built_in_joint_comes_out_of_its_description(name: str, receiver: str) -> None:
    """Two fighting seats, met by least squares, stand as the closed form centres them."""
    j, t = lay_out(name), np.random.default_rng(4).uniform(-1, 1, (3, 500))
    p = j.pose(dict(zip(SCREWS, t, strict=True)))
    q = pose(j.dimensions.replaced(receiver=receiver), tilt=t[0], bass=t[1], treble=t[2])
    assert (p.reason == "").all()
    off = max(np.abs(np.subtract(p.carried(*at), q.carried(*at))).max() for at in ((-360.0, -20.0, 12.0), (110.0, 28.0, 9.0)))
    print(f"\n{name}: {off:.1e} mm, {np.abs(p.psi - q.psi).max():.1e} rad")
    assert off < 1e-9 and np.abs(p.theta - q.theta).max() < 1e-12 and np.abs(p.roll).max() < 1e-12
    # The fight: the seats stand further apart than the balls, each ball misses half of it.
    apart = np.hypot(36.0, 1.25 * (t[2] - t[1])) - 36.0
    assert (p.missed <= apart / 2 + 1e-9).all() and (p.missed >= 0.99 * apart / 2 - 1e-9).all()
    assert "miss by up to 0.0027 mm" in str(j.pose({SCREWS[1]: -0.25, SCREWS[2]: 0.25}))


def test_carried_by_a_matrix_is_carried_by_tilt_yaw_and_advance() -> None:
    """The built-in motion as the special case of the general one."""
    d = lg.load("slack_water").dimensions()
    p = pose(d, tilt=0.7, bass=-0.4, treble=0.9)
    r = (Rotation.from_rotvec([0, 0, p.psi]) * Rotation.from_rotvec([0, p.theta, 0])).as_matrix()
    at = np.random.default_rng(0).uniform(-300, 300, (3, 50))
    names = {f"r_{i}{k}": r[a, b] for a, i in enumerate("xyz") for b, k in enumerate("xyz")}
    found = carried(nominal_x=at[0], nominal_y=at[1], nominal_z=at[2], ref_x=d.x_p, ref_y=0.0, ref_z=d.z_p,
                    pos_x=d.x_p - p.advance, pos_y=0.0, pos_z=d.z_p, **names)
    np.testing.assert_allclose(found, p.carried(*at), atol=1e-12)


def plain(j: Layout, turns: dict[str, float]) -> tuple[np.ndarray, np.ndarray]:
    """Position and rotation of a three-point seat by scipy, its equations written out for it alone."""
    f = {c.name: c for c in j.file.contacts}
    ref = np.array(j.contacts.reference)

    def miss(u: np.ndarray) -> np.ndarray:
        r = Rotation.from_rotvec(u[3:]).as_matrix()
        found = []
        for name in ("bass seat screw", "treble seat screw", "foot seat screw"):
            at = np.array(f[name].at)
            tip = at - [turns.get(name, 0.0), 0, 0]
            found.append((r @ [1, 0, 0]) @ (tip - (ref + u[:3] + r @ (at - ref))))
        upper, lower = (ref + u[:3] + r @ (np.array(f[n].at) - ref) - f[n].at for n in ("upper pin", "lower pin"))
        return np.array([*found, upper[1], upper[2], lower[1]])

    u = least_squares(miss, np.zeros(6), xtol=1e-15, ftol=1e-15, gtol=1e-15).x
    return ref + u[:3], Rotation.from_rotvec(u[3:]).as_matrix()


def test_three_point_seat_against_equations_written_for_it_alone() -> None:
    j = lay_out("three_point_seat")
    for turns in ({}, {"foot seat screw": 1.0}, {"bass seat screw": -0.7, "treble seat screw": 1.2, "foot seat screw": 0.3}):
        p, (position, rotation) = j.pose(turns).rigid, plain(j, turns)
        np.testing.assert_allclose(p.position, position, atol=1e-8)
        np.testing.assert_allclose(p.rotation, rotation, atol=1e-10)


def test_a_multibody_library_finds_the_same_pose() -> None:
    """Third opinion: exudyn, a general multibody code; its own joints, its own static solver."""
    exu = pytest.importorskip("exudyn")
    import exudyn.utilities as util

    j = lay_out("upper_pivot_cone_and_vee")
    ref, worst = np.array([-3.6, 0.0, -20.0]), 0.0
    for tilt, bass, treble in np.random.default_rng(7).uniform(-0.8, 0.8, (6, 3)):
        system = exu.SystemContainer().AddSystem()
        ground = system.AddObject(util.ObjectGround())
        made = system.CreateRigidBody(inertia=util.InertiaCuboid(1000, [0.1, 0.1, 0.1]), referencePosition=list(ref),
                                      nodeType=exu.NodeType.RotationEulerParameters, returnDict=True)

        def on(body: int, at: np.ndarray, kind: object, system: object = system) -> int:
            return system.AddMarker(kind(bodyNumber=body, localPosition=list(map(float, at))))

        for y, turns, axes in ((-18, bass, [1, 1, 1]), (18, treble, [1, 0, 1])):
            ends = [on(ground, np.array([-3.6 - 1.25 * turns, y, -20]), util.MarkerBodyRigid),
                    on(made["bodyNumber"], np.array([-3.6, y, -20]) - ref, util.MarkerBodyRigid)]
            system.AddObject(util.GenericJoint(markerNumbers=ends, constrainedAxes=[*axes, 0, 0, 0],
                                               rotationMarker0=np.eye(3), rotationMarker1=np.eye(3)))
        ends = [on(ground, np.array([6, 0, -80]), util.MarkerBodyPosition),
                on(made["bodyNumber"], np.array([-24, 0, -80]) - ref, util.MarkerBodyPosition)]
        system.AddObject(util.DistanceConstraint(markerNumbers=ends, distance=30 + tilt))
        system.Assemble()
        how = exu.SimulationSettings()
        how.solution.file.write = False
        how.linearSolver.solverType = exu.LinearSolverType.EigenDense
        how.staticSolver.newton.relativeTolerance = how.staticSolver.newton.absoluteTolerance = 1e-13
        system.SolveStatic(how)
        position = system.GetNodeOutput(made["nodeNumber"], exu.OutputVariableType.Position)
        rotation = system.GetNodeOutput(made["nodeNumber"], exu.OutputVariableType.RotationMatrix).reshape(3, 3)
        p = j.pose(dict(zip(SCREWS, (tilt, bass, treble), strict=True))).rigid
        worst = max(worst, np.abs(p.point(ref) - position).max(), 100 * np.abs(p.rotation - rotation).max())
    print(f"\nexudyn and the contact solver differ by {worst:.1e} mm at 100 mm")
    assert worst < 1e-9


@pytest.mark.parametrize("name", [n for n in ARCHETYPES if load_joint(n).adjusters])
def test_screw_axes_against_differences(name: str) -> None:
    j, h = lay_out(name), 1e-4
    start = {a: 0.1 * (k + 1) for k, a in enumerate(j.adjusters)}
    p = j.pose(start)
    for a, twist, screw in zip(j.adjusters, j.twists(p), j.screw_motions(p), strict=True):
        up, down = (j.pose({**start, a: start[a] + s}).rigid for s in (h, -h))
        spin = Rotation.from_matrix(up.rotation @ down.rotation.T).as_rotvec() / (2 * h)
        room = 2e-4 if fights(j) else 1e-6  # seats that miss each other bend the slopes a little
        np.testing.assert_allclose(twist, [*(up.position - down.position) / (2 * h), *spin], rtol=room, atol=room / 10)
        # A point of the axis moves along it, by the slide and no other way.
        on_axis = p.rigid.rotation.T @ (screw.point - p.rigid.position) + p.rigid.reference
        moved = (up.point(on_axis) - down.point(on_axis)) / (2 * h)
        np.testing.assert_allclose(moved, screw.slide * screw.direction, atol=room)


PINS = """
[[contacts]]
name = "upper pin"
kind = "ball in vee"
at = ["-12 mm", "0 mm", "-30 mm"]
along = [1, 0, 0]
[[contacts]]
name = "lower pin"
kind = "ball on flat"
at = ["-12 mm", "0 mm", "-70 mm"]
faces = [0, 1, 0]
captive = true
"""
WEDGE = """name = "Wedge behind the whole face"
[[contacts]]
name = "wedge"
kind = "wedge under face"
at = ["0 mm", "0 mm", "-50 mm"]
faces = [-1, 0, 0]
along = [0, 0, 1]
size_along = "90 mm"
size_across = "40 mm"
angle = "10 deg"
[[adjusters]]
name = "wedge screw"
contact = "wedge"
changes = "slide"
pitch = "0.8 mm"
""" + PINS


def test_a_wedge_behind_the_whole_face_only_slides() -> None:
    j = lay_out(joint_from_text(WEDGE))
    p = j.pose({"wedge screw": np.array([-1.0, 0.0, 2.0])})
    np.testing.assert_allclose(p.moved, np.outer([1.0, 0.0, -2.0], [0.8 * np.tan(np.radians(10)), 0, 0]), atol=1e-12)
    screw, = j.screw_motions()
    assert screw.angle == 0 and np.isnan(screw.point).all() and "slides" in str(screw)
    np.testing.assert_allclose([*screw.direction, screw.slide], [-1, 0, 0, 0.8 * np.tan(np.radians(10))], atol=1e-12)


def test_a_taper_turns_the_neck_by_its_own_angle() -> None:
    """A shim cut to another taper: the heel's face lies flat on it, by hand."""
    j = lay_out("fixed_and_shimmed")
    taper = np.radians(np.array([0.0, 0.3, 1.2]))
    shim = j.contacts.contacts[0]
    found = replace(j.contacts, contacts=(replace(shim, values={**shim.values, "slope_along": np.tan(taper)}),
                                          *j.contacts.contacts[1:])).solve()
    assert found.converged.all()
    # It was built at 0.3 deg, thicker upward: a thicker top turns the nut down.
    np.testing.assert_allclose(found.pose.angles.theta, np.radians(0.3) - taper, atol=1e-12)


def test_ball_on_a_rim_stands_off_as_the_radii_say() -> None:
    """The rise of a spherical cap, by hand; and its slope by the ball's radius."""
    at, big = (0.0, 0.0, 0.0), np.array([4.0, 4.2])
    three = [ball_on_rim(str(k), ball=p, rim=p, faces=(-1, 0, 0), ball_radius=big, rim_radius=2.5)
             for k, p in enumerate((at, (0.0, 30.0, 0.0)))]
    found = Contacts.of([*three, link("rod", receiver=(0, 0, -50), head=(60, 0, -50), length=np.hypot(60, 0) + np.sqrt(
        big**2 - 2.5**2))]).solve(tolerance=0.1)
    np.testing.assert_allclose(found.pose.position[:, 0], -np.sqrt(big**2 - 2.5**2), atol=1e-9)


def test_screw_fixed_in_the_body_by_hand() -> None:
    pin = (0.0, 0.0, 0.0)
    j = Contacts.of([*hinge("pin", ball=pin, seat=pin, axis=(0, 1, 0)),
                     screw_on_face("screw", face_at=(-2, 0, -60), face=(1, 0, 0), screw=(18, 0, -60), along=(-1, 0, 0),
                                   length=np.array([20.0, 20.7]))])
    theta = j.solve().pose.angles.theta
    # The face, -2 from the pin, leans by theta: x = (-2 - z sin) / cos must be the tip's at z = -60.
    t = np.linspace(-0.1, 0.1, 200_001)
    tip = t[np.argmin(np.abs((-2.7) * np.cos(t) - (-60) * np.sin(t) + 2))]
    np.testing.assert_allclose(theta, [0, tip], atol=2e-6)


@pytest.mark.parametrize("make", ["rim", "face", "pressed"])
def test_sensitivities_of_the_new_kinds_against_differences(make: str) -> None:
    rod = [link(f"rod {k}", receiver=r, head=h, length=float(np.linalg.norm(np.subtract(r, h)))) for k, (r, h) in enumerate((
        ((0, 0, -50), (40, 5, -52)), ((5, 20, -40), (10, 60, -45)), ((-5, -15, -30), (-8, -20, 30)), ((9, 9, 9), (40, 30, 20)),
        ((30, -9, 4), (33, -50, 8))))]
    extra = {"rim": ball_on_rim("new", ball=(0.1, 0, 0), rim=(3.22, 0, 0), faces=(-1, 0.1, 0), ball_radius=4.0, rim_radius=2.5),
             "face": face_on_face("new", middle=(0, 0, -50), on=(0.9, 0, -50), normal=(-1, 0.1, 0.05), along=(0.1, 0.2, 1),
                                  half_along=40, half_across=20, thickness=0.9, slope_along=0.01, slope_across=-0.02),
             "pressed": screw_on_face("new", face_at=(-2, 3, -60), face=(1, 0.2, 0), screw=(18, 2, -61), along=(-1, 0, 0.1),
                                      length=20.0)}[make]
    j = Contacts.of([extra, *rod[: 6 - extra.rows]])
    p = j.solve().pose
    for name in extra.values:
        h = 2e-5
        moved = replace(extra, values={**extra.values, name: extra.values[name] + np.array([h, -h])})
        found = Contacts((moved, *j.contacts[1:]), j.reference).solve()
        assert found.converged.all(), str(found)
        spin = Rotation.from_matrix(found.pose.rotation[0] @ found.pose.rotation[1].T).as_rotvec() / (2 * h)
        numeric = [*(found.pose.position[0] - found.pose.position[1]) / (2 * h), *spin]
        np.testing.assert_allclose(j.sensitivity(p, "new", name), numeric, rtol=1e-5, atol=1e-6, err_msg=name)


def test_forced_fit_is_what_least_squares_leaves() -> None:
    """Move a seat: the misses that remain are the fight's own pattern, and work on it by the forced fit."""
    j = lay_out("upper_pivot_two_cones")
    fight, = fights(j)
    assert set(fight.names) == {"bass ball", "treble ball"} and max(fight.forces.values()) == pytest.approx(1)
    first = {(f.contact, f.parameter): f.forced for f in forced_fits(j, 0.01)}
    assert list(first.values()) == pytest.approx([0.01] * 4)  # along the line of the seats, all of it is forced
    moved = replace(j.contacts.contacts[0], values={**j.contacts.contacts[0].values, "a_y": np.asarray(-18.01)})
    layout = replace(j.contacts, contacts=(moved, *j.contacts.contacts[1:]))
    left = layout.miss(layout.solve(tolerance=0.5).pose)
    assert abs(fight.rows @ left) == pytest.approx(first["bass ball", "a_y"], rel=1e-6)
    worst, root = total_fit(forced_fits(j))[0]
    assert (worst, root) == (pytest.approx(0.4), pytest.approx(0.2))  # four places, 0.1 mm each


@pytest.mark.parametrize("name", [n for n, v in ARCHETYPES.items() if v[2] > v[0]])
def test_preloads_balance(name: str) -> None:
    j = lay_out(name)
    for s, c in zip(stresses(j)[len(fights(j)):], preload_contacts(j), strict=True):
        assert s.by == c.name and s.newtons == c.newtons and s.held
        np.testing.assert_allclose(s.rows @ j.contacts.wrenches() - c.line.wrenches()[0], 0, atol=1e-10)


def test_where_the_neck_cannot_stand_it_says_why() -> None:
    far = varied("upper_pivot_cone_and_vee", **{"adjusters.tilt screw.most": 150.0})
    p = lay_out(far).pose({"tilt screw": np.array([0.0, 140.0, 200.0, np.nan])})
    assert p.reason.tolist() == ["", "out of reach", "past its end", "not a number"]
    assert np.isnan(p.theta[1:]).all() and np.isfinite(p.theta[0])
    assert "out of reach" in str(p) and "past its end" in str(p)
    # A plain number is a slip of the hand, and said at once; a hair of rounding is not.
    j = lay_out("upper_pivot_cone_and_vee")
    with pytest.raises(ValueError, match=r"'tilt screw' is turned \+20 turns; allowed is -12 to 12 turns"):
        j.pose({"tilt screw": 20})
    assert j.pose({"tilt screw": -12 - 1e-12}).reason == ""
    assert (j.within("tilt screw", 0.1), lay_out(varied("wedge", **{"adjusters.wedge screw.most": 0.0})).within(
        "wedge screw", 0.1)) == (0.1, -0.1)
    loose = joint_from_text(WEDGE.split("[[contacts]]\nname = \"lower pin\"")[0])
    p = lay_out(loose).pose()
    assert p.reason == "singular" and "no pose: singular" in str(p)
    with pytest.raises(KeyError, match="no adjuster named 'winch'"):
        lay_out("wedge").pose({"winch": 1.0})


def test_which_way_to_turn_is_that_of_the_built_in_joint() -> None:
    j = lay_out("upper_pivot_dowel")
    for a, screw in (("tilt screw", "tilt"), ("bass pivot screw", "pivot")):
        for turns in (-0.5, 0.5):
            assert j.way(a, turns) == way("right", "soundhole", turns > 0, screw)


def test_a_batch_of_designs_is_each_design_alone() -> None:
    """Drawn otherwise: pivot height, arm and pitch as arrays, on one layout."""
    z, head, pitch = np.array([-15.0, -20.0, -30.0]), np.array([-70.0, -80.0, -95.0]), np.array([0.75, 1.0, 1.25])

    def drawn(k: object) -> Layout:
        heights = {f"contacts.{b} ball.at.z": z[k] for b in ("bass", "treble")}
        return lay_out(varied("upper_pivot_cone_and_vee", **heights, **{
            "contacts.tilt screw.at.z": head[k], "contacts.tilt screw.head.z": head[k], "adjusters.tilt screw.pitch": pitch[k]}))

    turns = {"tilt screw": 0.4, "bass pivot screw": 0.3}
    many = drawn(slice(None))
    p = many.pose(turns)
    assert p.theta.shape == (3,) and many.freedom().rank.tolist() == [6, 6, 6]
    for k in range(3):
        one = drawn(k)
        np.testing.assert_allclose(p.rigid.point([10.0, 5, 5])[k], one.pose(turns).rigid.point([10.0, 5, 5]), atol=1e-11)
        np.testing.assert_allclose(many.twists(p)[k, :, 3:], one.twists(one.pose(turns))[:, 3:], atol=1e-12)
        np.testing.assert_allclose(many.screw_motions(p)[0].point[k, [0, 2]], one.screw_motions(one.pose(turns))[0].point[[0, 2]],
                                   atol=1e-9)
    for wrong in ("contacts.tilt screw.at", "contacts.winch.at.x", "contacts.tilt screw.kind", "adjusters.tilt screw.pitch.x"):
        with pytest.raises(KeyError, match="names no number"):
            varied("wedge", **{wrong: 1.0})
    with pytest.raises(ValueError, match="belong to one joint"):
        fights(many)


def shimmed(thickness: str, pitch: str) -> str:
    shim = WEDGE.replace('"wedge under face"', '"shim under face"').replace('angle = "10 deg"', f'thickness = "{thickness}"')
    return shim.replace('"slide"', '"thickness"').replace("0.8 mm", pitch)


def test_a_shim_cannot_be_thinner_than_nothing() -> None:
    j = lay_out(joint_from_text(shimmed("1.4 mm", "1.0 mm")))
    p = j.pose({"wedge screw": np.array([-3.0, -1.4, -1.3, 0.0])})
    assert p.reason.tolist() == ["out of reach", "out of reach", "", ""]
    np.testing.assert_allclose(p.moved[2:, 0], [1.3, 0.0], atol=1e-12)
    assert j.pose({"wedge screw": -3}).reason == "out of reach"


LEDGE = """name = "Heel face and ledge"
tolerance = "0.1 mm"
[[contacts]]
name = "heel face"
kind = "face on face"
at = ["0 mm", "0 mm", "-50 mm"]
faces = [-1, 0, 0]
along = [0, 0, 1]
size_along = "90 mm"
size_across = "40 mm"
captive = true
[[contacts]]
name = "ledge"
kind = "face on face"
at = ["-20 mm", "0 mm", "-95 mm"]
faces = [0, 0, 1]
along = [1, 0, 0]
size_along = "30 mm"
size_across = "40 mm"
captive = true
[[contacts]]
name = "pin"
kind = "ball on flat"
at = ["-20 mm", "0 mm", "-60 mm"]
faces = [0, 1, 0]
captive = true
"""


def off(j: Layout, contact: str, **changes: float) -> Layout:
    """The same joint with some numbers of a contact changed [mm, 1]."""
    held = list(j.contacts.contacts)
    k = j.contacts.index(contact)
    held[k] = replace(held[k], values={**held[k].values, **{n: held[k].values[n] + v for n, v in changes.items()}})
    return replace(j, contacts=replace(j.contacts, contacts=tuple(held)))


def test_two_faces_fight_over_the_angle_between_them() -> None:
    """A ledge out of square by 0.1 mm at its edge: solved anew, half of it is left at the ledge's edge, half at the face's."""
    j = lay_out(joint_from_text(LEDGE))
    f = j.freedom()
    assert (f.rows, int(f.rank)) == (7, 6)
    fight, = fights(j)
    assert set(fight.names) == {"heel face", "ledge"}
    fits = {(x.contact, x.parameter): x.forced for x in forced_fits(j)}
    assert {c for c, _ in fits} == {"heel face", "ledge"} and fits["ledge", "slope_along"] > 0
    for contact, parameter, half, changes in (("ledge", "slope_along", 15.0, {"slope_along": 0.1 / 15}),
                                              ("heel face", "slope_along", 45.0, {"slope_along": 0.1 / 45}),
                                              ("ledge", "u_along", 15.0, {"u_x": 0.1 / 15})):
        left = (moved := off(j, contact, **changes)).contacts.miss(moved.solve().pose)
        assert abs(fight.rows @ left) == pytest.approx(fits[contact, parameter], rel=2e-3), (contact, half)
    # By hand: both rows turn the neck about y, by 15 and by 45 mm at their edges. Least squares shares the angle by squares.
    tilted = off(j, "ledge", slope_along=0.1 / 15).contacts
    ledge = np.abs(tilted.miss(tilted.solve(tolerance=0.5).pose)).max()
    assert ledge == pytest.approx(0.1 * 45**2 / (45**2 + 15**2), rel=2e-3)
    # All worst: neck's and body's side of both faces; at the ledge's edge 0.1 mm twice, and the heel's 0.1 mm in 45 twice.
    assert allowed_miss(j) == pytest.approx((2 * 0.1 + 2 * 0.1 * 15 / 45) * 45**2 / (45**2 + 15**2), rel=1e-6)


def test_a_plain_face_has_no_thickness_to_be_off_but_a_shim_has() -> None:
    plain = {d.parameter for d in dimensions(lay_out(joint_from_text(LEDGE)))}
    shim = {d.parameter for d in dimensions(lay_out("fixed_and_shimmed"))}
    assert "thickness" not in plain and {"thickness", "taper_along"} <= shim


def test_a_hinge_fights_a_face_over_its_squareness_too() -> None:
    """A hinge pin straight across and a face: the pin's two ends and the face's edge across fight, by hand in like parts."""
    text = LEDGE[:LEDGE.index("[[contacts]]\nname = \"ledge\"")] + """[[contacts]]
name = "hinge"
kind = "hinge pin"
at = ["-4 mm", "-27 mm", "-20 mm"]
along = [0, 1, 0]
length = "54 mm"
"""
    j = lay_out(joint_from_text(text))
    fits = forced_fits(j)
    assert {"u_across", "slope_across"} <= {f.parameter for f in fits if f.contact == "heel face"}
    for n, fight in enumerate(fights(j)):
        out = off(j, "heel face", slope_across=1e-4 / 20)
        left = out.contacts.miss(out.contacts.solve(tolerance=0.5).pose)
        forced = next((f.forced for f in fits if (f.fight, f.parameter) == (n, "slope_across")), 0.0)
        assert abs(fight.rows @ left) == pytest.approx(forced * 1e-3, abs=1e-9)


def test_a_screw_out_of_true_at_its_end() -> None:
    """Three screws fixed in the body under one oblique face too many: the tip off by 0.1 mm across, solved anew."""
    text = LEDGE + """[[contacts]]
name = "screw"
kind = "screw fixed in body"
at = ["-20 mm", "0 mm", "-5 mm"]
along = [-1, 0, 0]
face = [0.8, 0, 0.6]
length = "25 mm"
"""
    j = lay_out(joint_from_text(text))
    fits = {(f.fight, f.parameter): f.forced for f in forced_fits(j) if f.contact == "screw"}
    out = off(j, "screw", d_z=1e-3 / 25)
    left = out.contacts.miss(out.contacts.solve(tolerance=0.5).pose)
    found = [abs(f.rows @ left) * 100 for f in fights(j)]
    across = [max(fits.get((n, "d_1"), 0.0), fits.get((n, "d_2"), 0.0)) for n in range(len(found))]
    assert max(found) > 0.01 and found == pytest.approx(across, rel=1e-2, abs=1e-6)


SECOND = """
[[contacts]]
name = "second screw"
kind = "link"
at = ["-24 mm", "0 mm", "-70 mm"]
head = ["6 mm", "0 mm", "-70 mm"]
[[adjusters]]
name = "second screw"
contact = "second screw"
changes = "length"
pitch = "1.0 mm"
"""


def two_tilt_screws() -> Layout:
    text = (data_folder() / "joints" / "upper_pivot_cone_and_vee.toml").read_text("utf-8")
    return lay_out(joint_from_text(text + SECOND))


def test_parts_forced_by_more_than_their_tolerances_are_told() -> None:
    """Two tilt screws 60 and 50 mm under the pivot fight over the tilt, by hand; 0.8 mm of it is no fit but force."""
    j = two_tilt_screws()
    fine, forced = (read_layout(j, {"second screw": t})["constraint.missed"] for t in (0.1, 0.8))
    # Forces that balance: 50 in the first, 60 the other way in the second, 5 in each ball along the body.
    size = 50**2 + 60**2 + 2 * 5**2
    assert forced.value == pytest.approx(0.8 * 60 * 60 / size, rel=1e-3)
    # Off by 0.1 mm each: both ends and the length of two screws, seat and centre of two balls.
    assert allowed_miss(j) == pytest.approx(60 / size * 0.1 * (3 * 50 + 3 * 60 + 2 * 2 * 5), rel=1e-6)
    assert forced.verdict is not None and not forced.verdict.ok and "second screw" in forced.verdict.cure
    assert fine.verdict is not None and fine.verdict.ok
    found = any_travel(j, lg.load("slack_water"), "second screw")
    stop = {s.direction: s for s in found.stops if s.name == "fight"}
    assert "than the tolerances allow" in stop[1].words
    assert stop[1].turn == pytest.approx(allowed_miss(j) * size / 60**2, rel=1e-2)
    assert found.high <= stop[1].turn and found.low >= stop[-1].turn
    reach = next(s for s in found.stops if s.name == "reach")
    assert "more than 0.5 mm" in reach.words and abs(reach.turn) > stop[1].turn
    # What can't fight says nothing of a miss.
    assert "constraint.missed" not in {r.key for r in read_layout(lay_out("upper_pivot_cone_and_vee"))}


def test_places_in_the_necks_frame() -> None:
    """A tilted neck, its receiver given along and square to the fret plane: turned by the neck angle, up by z_joint, by hand."""
    text = (data_folder() / "joints" / "upper_pivot_cone_and_vee.toml").read_text("utf-8")
    d = lg.load("slack_water").dimensions()
    a, up = float(d.alpha), float(d.z_joint)
    assert abs(a) > 1e-3
    neck = {n: (np.cos(a) * x + np.sin(a) * (z - up), -np.sin(a) * x + np.cos(a) * (z - up)) for n, (x, z) in
            {"at": (-24.0, -80.0), "head": (6.0, -80.0)}.items()}
    before = 'at = ["-24 mm", "0 mm", "-80 mm"]\nhead = ["6 mm", "0 mm", "-80 mm"]'
    assert text.count(before) == 1
    after = 'frame = "neck"\n' + "\n".join(f'{n} = ["{x!r} mm", "0 mm", "{z!r} mm"]' for n, (x, z) in
                                           ((n, tuple(map(float, v))) for n, v in neck.items()))
    j, same = lay_out(joint_from_text(text.replace(before, after))), lay_out("upper_pivot_cone_and_vee")
    screw = next(c for c in j.file.contacts if c.name == "tilt screw")
    np.testing.assert_allclose([screw.at, screw.head], [[-24, 0, -80], [6, 0, -80]], atol=1e-9)
    t = {"tilt screw": np.array([-0.3, 0.4]), "bass pivot screw": 0.2}
    np.testing.assert_allclose(j.pose(t).rigid.rotation, same.pose(t).rigid.rotation, atol=1e-12)
    # Directions turn and do not move: a seat driven along the board climbs by the neck angle.
    along = text.replace('changes = "seat"\nalong = [-1, 0, 0]', 'changes = "seat"\nframe = "neck"\nalong = [-1, 0, 0]')
    for c in lay_out(joint_from_text(along)).file.adjusters[1:]:
        np.testing.assert_allclose(c.along, [-np.cos(a), 0, -np.sin(a)], atol=1e-12)
    with pytest.raises(DesignError, match="frame"):
        joint_from_text(text.replace('kind = "link"', 'kind = "link"\nframe = "world"', 1))


def test_the_two_bodies_go_by_the_names_they_are_given() -> None:
    text = (data_folder() / "joints" / "upper_pivot_two_cones.toml").read_text("utf-8")
    named = '[bodies]\nneck = "heel block"\nbody = "neck block"\n\n'
    k = text.index("[[contacts]]")
    words = {d.words for d in dimensions(lay_out(joint_from_text(text[:k] + named + text[k:])))}
    assert {"bass ball, place in the heel block along y", "bass ball, place in the neck block along y"} <= words
    with pytest.raises(DesignError, match="there are always two"):
        joint_from_text(text[:k] + '[[bodies]]\nname = "neck"\n\n' + text[k:])


def test_where_the_fight_is_too_much_for_any_pose_it_says_by_how_much() -> None:
    with pytest.raises(ValueError, match=r"out of reach: contacts miss by 1\.\d\d mm, at most 0\.5 mm is let pass"):
        read_layout(two_tilt_screws(), {"second screw": 2.0})
