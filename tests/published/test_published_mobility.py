"""Mobility of linkages and kinematic couplings, and the poses of textbook linkages, by the contact solver.

The linkages are planar: a face on a face keeps the coupler in its plane, z is square to it. Lengths in mm, angles in degrees.
"""

from __future__ import annotations

import numpy as np
import pytest

from lutherie_geom.design.joint_files import joint_from_text
from lutherie_geom.joint.contacts import Contacts, ball_in_cone, ball_in_vee, ball_on_flat, face_on_face, hinge, link
from lutherie_geom.joint.layout import lay_out

COUPLING = ("read in: Wikipedia \"Kinematic coupling\" (copies on infosekolah.net, wikiclassic.com): Maxwell 3 V-grooves = 6 "
            "contacts; Kelvin tetrahedron 3 + V 2 + flat 1 = 6; after Slocum 2010")
SINGULAR = "computed here: wrench-matrix rank computed here (singular arrangements)"
MOBILITY = "from memory, textbook mobility (Gruebler and Kutzbach); freedoms of one body on its contacts"
NORTON = "from memory, loop closure solved here: Norton, Design of Machinery, Examples 4-1 and 4-2"
SLIDER_CRANK = ("read in: public repository note of a slider-crank test: x=sqrt(0.02)=141.42 mm, phi=asin(1/3)=19.47 deg "
                "(r and l inferred here)")


def part(kind: str, name: str, at: tuple, **directions: list) -> str:
    """One contact of a joint's file, so that the reader is tested too."""
    rows = "".join(f"{k} = {list(map(float, v))}\n" for k, v in directions.items())
    return f'[[contacts]]\nname = "{name}"\nkind = "{kind}"\nat = [{", ".join(f"{chr(34)}{v} mm{chr(34)}" for v in at)}]\n{rows}'


def around(angle: float) -> tuple[float, float, float]:
    return round(40 * np.cos(np.radians(angle)), 9), round(40 * np.sin(np.radians(angle)), 9), 0.0


def vees(turned: float | None) -> str:
    """Three vees 120 degrees apart, each turned from the way to the middle; None: all along x."""
    up = [0, 0, 1]
    return "".join(part("ball in vee", f"vee {a}", around(a), faces=up,
                        along=[1, 0, 0] if turned is None else around(a + turned)) for a in (90, 210, 330))


def clamp(along: list, third: tuple) -> str:
    up = [0, 0, 1]
    return (part("ball in cone", "cone", (0, 0, 0), faces=up) + part("ball in vee", "vee", (60, 0, 0), along=along, faces=up)
            + part("ball on flat", "flat", third, faces=up))


FLATS = "".join(part("ball on flat", f"flat {a}", around(a), faces=[0, 0, 1]) for a in (90, 210, 330))
# name: contacts, rank expected, source
CLAMPS = {
    "kc-kelvin-rank": (clamp([1, 0, 0], (20, 50, 0)), 6, COUPLING),
    "maxwell, three radial vees": (vees(0), 6, COUPLING),
    "kc-parallelV-rank": (vees(None), 5, SINGULAR),
    "kc-tangentialV-rank": (vees(90), 5, SINGULAR),
    "kc-kelvin-badV-rank": (clamp([0, 1, 0], (20, 50, 0)), 5, SINGULAR),
    "kc-collinear-rank": (clamp([1, 0, 0], (100, 0, 0)), 5, SINGULAR),
    "kc-3flats-rank": (FLATS, 3, SINGULAR),
}


@pytest.mark.parametrize("name", CLAMPS)
def test_kinematic_couplings(name, near):
    text, rank, source = CLAMPS[name]
    joint = lay_out(joint_from_text(f'name = "{name}"\n{text}'))
    f = joint.freedom()
    near(int(f.rank), rank, 0, source)
    near(int(f.free), 6 - rank, 0, source)
    # What is held fast has a pose; what is not says so.
    assert joint.pose().reason == ("" if rank == 6 else "singular")


P = (0.0, 0.0, 0.0)


def rod(k: int, receiver: tuple, head: tuple) -> object:
    return link(f"rod {k}", receiver=receiver, head=head, length=float(np.linalg.norm(np.subtract(receiver, head))))


def platform(base: float, top: float, twist: float) -> list:
    """Six legs from a base hexagon up to a platform, in pairs; angles in degrees."""
    at = [(radius * np.cos(np.radians(a)), radius * np.sin(np.radians(a)), z) for radius, z, a in (
        [(base, 0.0, 120 * (k // 2) + (-1) ** k * 20.0) for k in range(6)]
        + [(top, 60.0, 120 * (k // 2) + (-1) ** k * twist) for k in range(6)])]
    return [rod(k, at[6 + k], at[k]) for k in range(6)]


def plane() -> object:
    return face_on_face("plane", middle=P, on=P, normal=(0, 0, 1), along=(1, 0, 0), half_along=20, half_across=20)


# name: contacts, motions left free, source
MECHANISMS = {
    "ball and socket": ([ball_in_cone("ball", ball=P, seat=P)], 3, MOBILITY),
    "hinge": ([*hinge("pin", ball=P, seat=P, axis=(0, 0, 1))], 1, MOBILITY),
    "body that slides on a plane": ([plane()], 3, MOBILITY),
    "coupler of a planar four-bar: a plane and two cranks": ([plane(), rod(1, P, (0, 40, 0)), rod(2, (50, 0, 0), (60, 50, 0))], 1,
                                                             MOBILITY),
    "coupler of a slider-crank": (
        [plane(), rod(1, P, (0, 40, 0)), ball_on_flat("slide", ball=(80, 0, 0), point=(80, 0, 0), normal=(0, 1, 0))], 1,
        MOBILITY),
    "body on five rods": (platform(50, 30, 40)[:5], 1, MOBILITY),
    "platform on six legs": (platform(50, 30, 40), 0, MOBILITY),
    "socket and two rods": (
        [ball_in_cone("ball", ball=P, seat=P), rod(1, (40, 0, 0), (40, 30, 5)), rod(2, (0, 40, 9), (30, 40, 9))], 1, MOBILITY),
    # A plane with three parallel rods: they hold only one way along and one turn, the third rod fights.
    "parallel rods in a plane": ([plane(), *(rod(k, (20.0 * k, 0, 0), (20.0 * k, 40, 0)) for k in range(3))], 1, SINGULAR),
    "platform on six parallel legs": (
        [rod(k, (*around(60 * k + 5 * k * k)[:2], 60.0), around(60 * k + 5 * k * k)) for k in range(6)], 3, SINGULAR),
}


@pytest.mark.parametrize("name", MECHANISMS)
def test_mobility(name, near):
    contacts, free, source = MECHANISMS[name]
    f = Contacts.of(contacts, reference=(5.0, 5.0, 10.0)).freedom()
    near(int(f.free), free, 0, source)
    near(int(f.self_stress), f.rows - (6 - free), 0, source)


def coupler(pin: np.ndarray, far: object) -> Contacts:
    """A coupler on the crank's pin, its far end held by one contact."""
    return Contacts.of([*hinge("pin", ball=tuple(pin), seat=tuple(pin), axis=(0, 0, 1), reach=100.0), far], reference=tuple(pin))


def along(angle: float, length: float) -> np.ndarray:
    return length * np.array([np.cos(np.radians(angle)), np.sin(np.radians(angle)), 0.0])


@pytest.mark.parametrize(("start", "theta3", "theta4"), [(30.0, 20.30, 57.33), (-50.0, -60.98, -98.01)])
def test_four_bar(start, theta3, theta4, near):
    """Ground 100, crank 40 at 40 degrees, coupler 120, rocker 80: open and crossed, each from a start on its own side."""
    pin = along(40, 40)
    end = pin + along(start, 120)
    found = coupler(pin, link("rocker", receiver=tuple(end), head=(100, 0, 0), length=80.0)).solve()
    assert found.converged, str(found)
    far = found.pose.point(end)
    near(np.degrees(np.arctan2(*(far - pin)[[1, 0]])), theta3, 0.01, NORTON)
    near(np.degrees(np.arctan2(far[1], far[0] - 100)), theta4, 0.01, NORTON)


def test_offset_slider_crank(near):
    """Crank 40 at 60 degrees, coupler 120, offset -20, crossed: the coupler's angle is counted from the slide to the pin."""
    pin = along(60, 40)
    end = pin - along(35.0, 120)
    found = coupler(pin, ball_on_flat("slide", ball=tuple(end), point=(0, -20, 0), normal=(0, 1, 0))).solve()
    assert found.converged, str(found)
    far = found.pose.point(end)
    near(np.degrees(np.arctan2(*(pin - far)[[1, 0]])), 27.09, 0.01, NORTON)
    near(far[0], -86.84, 0.01, NORTON)


def test_slider_crank_at_a_right_angle(near):
    """Crank 50 upright, coupler 150."""
    pin = along(90, 50)
    end = pin + along(-10.0, 150)
    found = coupler(pin, ball_on_flat("slide", ball=tuple(end), point=P, normal=(0, 1, 0))).solve()
    far = found.pose.point(end)
    near(far[0], 141.42, 0.005, SLIDER_CRANK)
    near(np.degrees(np.arcsin((pin - far)[1] / 150)), 19.47, 0.005, SLIDER_CRANK)


def test_vee_with_a_pin_is_a_slide(near):
    """A pin in a hole: two rows, four motions left."""
    f = Contacts.of([ball_in_vee("pin", ball=P, seat=P, along=(1, 0, 0))]).freedom()
    near(int(f.free), 4, 0, MOBILITY)
