"""The contact solver against the closed form, against known ranks, against finite differences; and what it refuses.

Lengths in mm, angles in radians, turns in turns.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from lutherie_geom.joint.contacts import (
    Contacts,
    RigidPose,
    ball_in_cone,
    ball_in_vee,
    ball_on_flat,
    hinge,
    joint_contacts,
    link,
    screw_to_plane,
)
from lutherie_geom.theory.pose import POSE, to_body

NAMES = ("tilt", "bass", "treble", "pitch_tilt", "pitch_pivot", "spacing", "x_p", "z_p", "x_head", "z_head", "x_receiver",
         "z_receiver")
# A joint of our own, for single cases.
ONE = dict(pitch_tilt=1.0, pitch_pivot=1.0, spacing=38.0, x_p=3.0, z_p=-16.0, x_head=28.0, z_head=-80.0, x_receiver=-22.0,
           z_receiver=-80.0)
RECEIVERS = tuple(POSE)


def designs(n: int, seed: int) -> dict[str, np.ndarray]:
    """Random joints over the range that a builder could make; the arm is the tilt screw's height below the pivot."""
    rng = np.random.default_rng(seed)
    z_p, arm, turns = rng.uniform(-34, -12, n), rng.uniform(35, 80, n), rng.uniform(-0.6, 0.6, (3, n))
    z_head = z_p - arm
    found = dict(tilt=turns[0], bass=turns[1], treble=turns[2], pitch_tilt=rng.uniform(0.5, 1.5, n),
                 pitch_pivot=rng.uniform(0.5, 1.5, n), spacing=rng.uniform(25, 55, n), x_p=rng.uniform(-8, 15, n), z_p=z_p,
                 x_head=rng.uniform(20, 45, n), z_head=z_head, x_receiver=rng.uniform(-40, -12, n),
                 z_receiver=z_head + rng.uniform(-4, 4, n))
    return found | dict(alpha=np.radians(rng.uniform(-0.5, 3, n)), z_joint=rng.uniform(6, 20, n), arm=arm)


@pytest.mark.parametrize("receiver", RECEIVERS)
def test_same_pose_as_the_closed_form(receiver: str) -> None:
    n = 10_000
    d = designs(n, seed=6)
    exact = POSE[receiver](**{k: d[k] for k in NAMES})
    found = joint_contacts(receiver=receiver, **{k: d[k] for k in NAMES}).solve()
    assert found.converged.all(), str(found)
    angles = found.pose.angles
    off_angle = max(np.abs(angles.psi - exact.psi).max(), np.abs(angles.theta - exact.theta).max(), np.abs(angles.roll).max())
    # Two places of the neck, in the neck frame: the nut's end and the tongue's.
    ca, sa = np.cos(d["alpha"]), np.sin(d["alpha"])
    turned = {k: getattr(exact, k) for k in ("cos_psi", "sin_psi", "cos_theta", "sin_theta", "advance")}
    off_place = 0.0
    for xn, yn, zn in ((-360.0, -20.0, 0.0), (110.0, 28.0, -7.0)):
        nominal = np.stack([xn * ca - zn * sa, np.full(n, yn), d["z_joint"] + xn * sa + zn * ca], axis=-1)
        closed = np.stack(to_body(xn=xn, yn=yn, zn=zn, cos_alpha=ca, sin_alpha=sa, z_joint=d["z_joint"], x_p=d["x_p"],
                                  z_p=d["z_p"], **turned), axis=-1)
        off_place = max(off_place, np.abs(found.pose.point(nominal) - closed).max())
    print(f"\n{receiver}: {n} designs; ranges " + ", ".join(f"{k} {v.min():.3g}..{v.max():.3g}" for k, v in d.items()))
    print(f"  tilt {np.degrees(exact.theta.min()):.2f}..{np.degrees(exact.theta.max()):.2f} deg, yaw up to "
          f"{np.degrees(np.abs(exact.psi).max()):.2f} deg; at most {found.iterations.max()} steps, condition "
          f"{found.condition.min():.1f}..{found.condition.max():.1f}; differ by {off_place:.1e} mm, {off_angle:.1e} rad")
    assert off_place < 1e-9
    assert off_angle < 1e-12


# Ranks of kinematic couplings: (contacts, rows, rank). Six rows and no freedom for Kelvin's (cone or tetrahedron 3, vee
# pointing at it 2, flat 1) and for Maxwell's (three vees toward the middle, 2 each): read in copies of the encyclopedia
# article "Kinematic coupling" (Wikipedia). The singular arrangements: computed here, no printed source.
def around(angle_deg: float, radius: float = 40.0) -> tuple[float, float, float]:
    a = np.radians(angle_deg)
    return float(radius * np.cos(a)), float(radius * np.sin(a)), 0.0


UP = (0.0, 0.0, 1.0)


def vee(angle: float, along: tuple[float, float, float]) -> object:
    return ball_in_vee(f"vee {angle}", ball=around(angle), seat=around(angle), along=along)


def flat(name: str, at: tuple[float, float, float]) -> object:
    return ball_on_flat(name, ball=at, point=at, normal=UP)


def cone_vee_flat(p: tuple, q: tuple, r: tuple, along: tuple) -> list:
    return [ball_in_cone("cone", ball=p, seat=p), ball_in_vee("vee", ball=q, seat=q, along=along), flat("flat", r)]


A, B, C = (0.0, 0.0, 0.0), (60.0, 0.0, 0.0), (20.0, 50.0, 0.0)
COUPLINGS = {
    "kc-kelvin-rank": (cone_vee_flat(A, B, C, (1, 0, 0)), 6, 6),  # read
    "three radial vees": ([vee(a, around(a)) for a in (90, 210, 330)], 6, 6),  # read (Maxwell)
    "kc-parallelV-rank": ([vee(a, (1, 0, 0)) for a in (90, 210, 330)], 6, 5),  # computed
    "kc-tangentialV-rank": ([vee(a, around(a + 90)) for a in (90, 210, 330)], 6, 5),  # computed
    "kc-kelvin-badV-rank": (cone_vee_flat(A, B, C, (0, 1, 0)), 6, 5),  # computed
    "kc-collinear-rank": (cone_vee_flat(A, B, (100.0, 0.0, 0.0), (1, 0, 0)), 6, 5),  # computed
    "kc-3flats-rank": ([flat(str(a), around(a)) for a in (90, 210, 330)], 3, 3),  # computed
    "hinge": ([*hinge("hinge", ball=A, seat=A, axis=(0, 1, 0))], 5, 5),  # a hinge leaves its turn: computed
}


@pytest.mark.parametrize("name", COUPLINGS)
def test_rank_of_kinematic_couplings(name: str) -> None:
    contacts, rows, rank = COUPLINGS[name]
    f = Contacts.of(contacts, reference=(10.0, 5.0, 0.0)).freedom()
    assert (f.rows, int(f.rank), int(f.free), int(f.self_stress)) == (rows, rank, 6 - rank, rows - rank)
    assert 1 <= f.condition < 100
    assert str(f).startswith(f"{rows} rows, rank {rank}: {6 - rank} motions left free")


# Ranks of the guitar joint: computed here (two cones and a link share the axis' length between two cones).
@pytest.mark.parametrize(("seats", "clamp", "rows", "rank"), [
    ("two cones", None, 7, 6), ("two cones", (25.0, -20.0), 8, 6), ("cone and vee", None, 6, 6), ("centred", None, 6, 6)])
@pytest.mark.parametrize("receiver", RECEIVERS)
def test_rank_of_the_joint(receiver: str, seats: str, clamp: tuple | None, rows: int, rank: int) -> None:
    joint = joint_contacts(receiver=receiver, seats=seats, clamp=clamp, **ONE)
    f = joint.freedom()
    assert (f.rows, int(f.rank), int(f.self_stress), int(f.free)) == (rows, rank, rows - rank, 0)
    # States of self-stress press with no load on the neck; the free motions are none.
    forces = np.swapaxes(f.stresses, -1, -2)[rank:]
    assert np.abs(forces @ joint.wrenches()).max(initial=0) < 1e-12


def test_two_cones_leave_one_motion_tilt() -> None:
    joint = joint_contacts(receiver="dowel across", seats="two cones", **ONE)
    cones = Contacts(joint.contacts[:2], joint.reference)
    f = cones.freedom()
    assert (f.rows, int(f.rank), int(f.self_stress), int(f.free)) == (6, 5, 1, 1)
    motion = f.motions[5] / f.motions[5, 4]
    np.testing.assert_allclose(motion, [0, 0, 0, 0, 1, 0], atol=1e-12)
    assert cones.solve().reason == "singular"


def test_cone_and_vee_agrees_when_both_seats_go_together() -> None:
    turns = dict(tilt=0.4, bass=-0.3, treble=-0.3)
    results = [joint_contacts(receiver="dowel across", seats=s, **turns, **ONE).solve().pose
               for s in ("centred", "two cones", "cone and vee")]
    for other in results[1:]:
        np.testing.assert_allclose(other.rotation, results[0].rotation, atol=1e-13)
        np.testing.assert_allclose(other.position, results[0].position, atol=1e-12)


def test_unequal_seats_fight_in_two_cones() -> None:
    # The seats are now further apart than the balls: sqrt(38^2 + 1) - 38 = 0.013 mm, half of it missed at each.
    found = joint_contacts(receiver="dowel across", seats="two cones", tilt=0.1, bass=-0.5, treble=0.5, **ONE).solve()
    assert found.reason == "out of reach" and np.isnan(found.pose.position).all()
    assert found.residual == pytest.approx((np.hypot(38, 1) - 38) / 2, rel=0.02)


def test_each_sample_says_why_it_failed() -> None:
    # Pivot 64 mm above the screw: no tilt lets the screw be 200 turns longer; -200 makes its length negative.
    tilt = np.array([0.0, 0.5, 200.0, -200.0, np.nan])
    found = joint_contacts(receiver="dowel across", tilt=tilt, **ONE).solve()
    assert found.reason.tolist() == ["", "", "out of reach", "out of reach", "not a number"]
    assert np.isnan(found.pose.rotation[2:]).all() and np.isfinite(found.pose.rotation[:2]).all()
    assert found.iterations[0] == 0
    assert "nan" in str(found)


@pytest.mark.parametrize("receiver", RECEIVERS)
def test_up_to_the_dead_centre_it_solves_and_beyond_it_refuses(receiver: str) -> None:
    tilt = np.linspace(-60, 90, 301)
    found = joint_contacts(receiver=receiver, tilt=tilt, **ONE).solve()
    with np.errstate(invalid="ignore"):
        exact = POSE[receiver](**{k: v for k, v in ONE.items()}, tilt=tilt, bass=0.0, treble=0.0)
    assert set(found.reason.tolist()) <= {"", "out of reach", "singular", "other branch"}
    # Never a wrong answer: what converged is the closed form's root, and where that has none nothing converged.
    assert not found.converged[np.isnan(exact.theta)].any()
    r = found.pose.rotation
    theta = np.arctan2(r[:, 0, 2], r[:, 2, 2])  # no yaw here; tilt beyond a right angle would read as yaw and roll otherwise
    np.testing.assert_allclose(theta[found.converged], exact.theta[found.converged], atol=1e-9)
    # A screw can't be shorter than nothing; the closed form squares the length and so does not see its sign.
    possible = np.isfinite(exact.theta) & (50 + tilt > 0) & (np.abs(exact.theta) < 1.5)
    assert not found.converged[50 + tilt <= 0].any()
    print(f"\n{receiver}: {found.converged.sum()} of {np.isfinite(exact.theta).sum()} that have a root\n{found}")
    assert found.converged[possible].all()


def parameters() -> list[tuple[str, str, str, str]]:
    cases = []
    for receiver in RECEIVERS:
        for seats in ("centred", "cone and vee"):
            for c in joint_contacts(receiver=receiver, seats=seats, **ONE).contacts:
                cases += [(receiver, seats, c.name, k) for k in c.values]
    return cases


def test_sensitivities_against_differences() -> None:
    turns = dict(tilt=0.5, bass=-0.3, treble=0.4)
    step, worst = 1e-4, 0.0
    for receiver, seats, name, parameter in parameters():
        joint = joint_contacts(receiver=receiver, seats=seats, **turns, **ONE)
        pose = joint.solve().pose
        slope = joint.sensitivity(pose, name, parameter)
        k = joint.index(name)
        c = joint.contacts[k]
        moved = replace(c, values={**c.values, parameter: c.values[parameter] + np.array([step, -step])})
        found = Contacts((*joint.contacts[:k], moved, *joint.contacts[k + 1:]), joint.reference).solve()
        assert found.converged.all(), (name, parameter, str(found))
        r, t = found.pose.rotation, found.pose.position
        spin = (r[0] - r[1]) / (2 * step) @ pose.rotation.T
        numeric = np.concatenate([(t[0] - t[1]) / (2 * step), [spin[2, 1], spin[0, 2], spin[1, 0]]])
        worst = max(worst, float(np.abs(numeric - slope).max() / max(1.0, np.abs(slope).max())))
        np.testing.assert_allclose(slope, numeric, rtol=1e-8, atol=1e-8, err_msg=f"{receiver} {seats} {name} {parameter}")
    print(f"\n{len(parameters())} dimensions, differences against implicit slopes: {worst:.1e}")


@pytest.mark.parametrize("receiver", RECEIVERS)
def test_length_of_the_screw_moves_the_tilt_as_the_closed_form_says(receiver: str) -> None:
    values = dict(ONE, tilt=0.3, bass=0.2, treble=-0.1, pitch_tilt=0.8)
    joint = joint_contacts(receiver=receiver, **values)
    pose = joint.solve().pose
    spin = joint.sensitivity(pose, "tilt screw", "length")[3:] * values["pitch_tilt"]
    psi = pose.angles.psi
    slope = POSE[receiver].slopes(**values)["theta"]["tilt"]
    # Tilt turns about the steered pivot axis.
    np.testing.assert_allclose(spin, slope * np.array([-np.sin(psi), np.cos(psi), 0]), atol=1e-14)


def test_batch_of_any_shape_and_single_joints_agree() -> None:
    tilt, steer = np.meshgrid([-0.4, 0.0, 0.4], [-0.2, 0.3], indexing="ij")
    grid = joint_contacts(receiver="rod along", tilt=tilt, bass=steer, treble=-steer, **ONE).solve()
    assert grid.pose.rotation.shape == (3, 2, 3, 3) and grid.reason.shape == (3, 2)
    one = joint_contacts(receiver="rod along", tilt=tilt[2, 1], bass=steer[2, 1], treble=-steer[2, 1], **ONE).solve()
    assert one.converged.shape == ()
    np.testing.assert_allclose(grid.pose.rotation[2, 1], one.pose.rotation, atol=1e-15)


def test_a_joint_of_ones_own_from_a_hinge_and_a_screw() -> None:
    # A hinge across the body and a screw fixed in the neck, square to a wall: at zero the screw's end touches the wall.
    pin = (0.0, 0.0, 0.0)
    layout = Contacts.of([*hinge("pin", ball=pin, seat=pin, axis=(0, 1, 0)),
                          screw_to_plane("screw", receiver=(-20, 0, -50), thread=(1, 0, 0), length=20.5, point=(0, 0, 0),
                                         normal=(1, 0, 0))])
    theta = layout.solve().pose.angles.theta
    # (-20 + 20.5) cos - 50 sin = 0, by hand.
    assert theta == pytest.approx(np.arctan2(0.5, 50), abs=1e-14)


PIN = (0.0, 0.0, 0.0)


def crank(height: np.ndarray, stretch: np.ndarray) -> Contacts:
    """A hinge and a link that starts a little off its dead centre."""
    length = np.hypot(30.0, height) + stretch
    return Contacts.of([*hinge("pin", ball=PIN, seat=PIN, axis=(0, 1, 0)),
                        link("rod", receiver=(10.0, 0.0, height), head=(40.0, 0.0, 0.0), length=length)])


def test_near_a_dead_centre_the_near_side_or_none() -> None:
    rng = np.random.default_rng(3)
    height, stretch = rng.uniform(0.05, 5, 400), rng.uniform(-2, 2, 400)
    found = crank(height, stretch).solve()
    end = found.pose.point(np.stack([np.full(400, 10.0), np.zeros(400), height], axis=-1))
    # Reach by hand: the rod's end circles at hypot(10, height), so the link is at least 40 less that.
    possible = np.hypot(30, height) + stretch > 40 - np.hypot(10, height) + 1e-6
    print("\n" + str(found))
    assert (found.converged == possible).all()
    assert (end[possible, 2] > 0).all()


def test_other_branch_is_called_so() -> None:
    layout = crank(np.array(4.0), np.array(0.1))
    near = layout.solve()
    assert near.converged
    # Turned to the mirror place beyond the dead centre, the link closes too.
    beyond = 2 * np.arctan2(4.0, 10.0) + 0.02
    c, s = np.cos(beyond), np.sin(beyond)
    far = layout.solve(start=RigidPose(np.array([[c, 0, s], [0, 1, 0], [-s, 0, c]]), layout.reference, layout.reference))
    assert far.reason == "other branch" and far.residual < 1e-9 and np.isnan(far.pose.position).all()


@pytest.mark.parametrize("receiver", RECEIVERS)
def test_wild_turns_never_give_a_wrong_pose_in_silence(receiver: str) -> None:
    n = 3000
    d = designs(n, seed=9)
    d |= dict(zip(("tilt", "bass", "treble"), np.random.default_rng(10).uniform(-40, 40, (3, n)), strict=True))
    with np.errstate(invalid="ignore"):
        exact = POSE[receiver](**{k: d[k] for k in NAMES})
    # Where the block's head has been carried past the line from pivot to receiver, the closed form's choice of root no
    # longer follows the joint there from nominal; such cases (a neck 30 mm off the body) are left out.
    arm = [(m - d["x_p"]) * (d["z_receiver"] - d["z_p"]) - (d["z_head"] - d["z_p"]) * (d["x_receiver"] - d["x_p"])
           for m in (d["x_head"], d["x_p"] + exact.cos_psi * (d["x_head"] - d["x_p"] + exact.advance))]
    follows = np.ones(n, dtype=bool) if receiver == "rod along" else arm[0] * arm[1] > 0
    length = np.hypot(d["x_head"] - d["x_receiver"], d["z_head"] - d["z_receiver"]) + d["pitch_tilt"] * d["tilt"]
    found = joint_contacts(receiver=receiver, **{k: d[k] for k in NAMES}).solve()
    print(f"\n{receiver}: {(~follows).sum()} left out\n{found}")
    # Solved exactly where there is a pose; nowhere else.
    np.testing.assert_array_equal(found.converged, np.isfinite(exact.theta) & (length > 0))
    ok = found.converged & follows
    cp, sp, ct, st = (getattr(exact, k)[ok] for k in ("cos_psi", "sin_psi", "cos_theta", "sin_theta"))
    closed = np.array([[cp * ct, -sp, cp * st], [sp * ct, cp, sp * st], [-st, 0 * ct, ct]]).transpose(2, 0, 1)
    np.testing.assert_allclose(found.pose.rotation[ok], closed, atol=1e-7)


def test_unknown_names_are_refused() -> None:
    joint = joint_contacts(receiver="rod along", **ONE)
    with pytest.raises(KeyError, match="no contact named"):
        joint.sensitivity(joint.nominal(), "cellar", "length")
    with pytest.raises(KeyError, match="no dimension"):
        joint.sensitivity(joint.nominal(), "middle", "length")
    with pytest.raises(ValueError, match="dowel across"):
        joint_contacts(receiver="nail", **ONE)
    with pytest.raises(ValueError, match="two cones"):
        joint_contacts(receiver="rod along", seats="glue", **ONE)
