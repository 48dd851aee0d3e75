"""Arcs, rotations and linkages against published values; each number beside its source.

The tilt screw is an inverted slider-crank: the neck is the crank, the screw the coupler. So the textbook four-bar and
slider-crank must come out of ``tilt_dowel`` when their pins are given to it.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from lutherie_geom.theory.dome import dome_height, radius_from_sagitta, sagitta
from lutherie_geom.theory.pose import to_body, to_neck
from lutherie_geom.theory.tilt import tilt_dowel, turns_dowel

SAGITTA = (
    "formula read: cryer.org.uk \"Sagitta (geometry)\" (encyclopaedia copy) and Edmund Optics tech note: "
    "s=r-sqrt(r^2-l^2/4); number computed here"
)
SAGITTA_INVERSE = (
    "read in: cryer.org.uk \"Sagitta (geometry)\" (encyclopaedia copy) and Edmund Optics tech note: "
    "s=r-sqrt(r^2-l^2/4)"
)
ROTATION = (
    "computed here: scipy 1.17.1 Rotation.from_rotvec().as_matrix() run here; rechecked with the "
    "Rodrigues formula"
)
PERMUTATION = "computed here:"
NORTON = "from memory, loop closure solved here: Norton, Design of Machinery, Examples 4-1 and 4-2"
SLIDER_CRANK = (
    "read in: public repository note of a slider-crank test: x=sqrt(0.02)=141.42 mm, phi=asin(1/3)=19.47 "
    "deg (r and l inferred here)"
)

# radius, chord, sagitta in mm
SAGITTAS = [
    (8534.4, 400, 2.343779, SAGITTA),
    (4572, 250, 1.70909, SAGITTA),
    (304.8, 56, 1.288814, SAGITTA),
    (508, 56, 0.772241, SAGITTA),
]

# 30 degrees about (1, 2, 3), row by row
MATRIX = [
    [0.8755950178, -0.381752634838, 0.295970083959],
    [0.420031090899, 0.904303859846, -0.076212936864],
    [-0.238552399866, 0.191048305049, 0.952151929923],
]


@pytest.mark.parametrize(("radius", "chord", "rise", "source"), SAGITTAS)
def test_sagitta(near, radius, chord, rise, source):
    near(sagitta(radius=radius, chord=chord), rise, 1e-6, source)
    # The soundboard falls by the same amount from its highest point to half the chord, along and across.
    for along, across, x, y in ((1, 1, 0, chord / 2), (1, 0, chord / 2, 0), (0, 1, 0, -chord / 2)):
        fall = -dome_height(x=x, y=y, curvature=1 / radius, x_apex=0, along=along, across=across)
        near(fall, rise, 1e-6, source)


def test_radius_from_sagitta(near):
    near(radius_from_sagitta(rise=4.3769, chord=400), 4571.8, 0.6,
         SAGITTA_INVERSE)


def posed(point, psi, theta):
    """A point of the neck turned about the origin: yaw after tilt, no neck angle, no advance."""
    return np.array(to_body(xn=point[0], yn=point[1], zn=point[2], cos_alpha=1, sin_alpha=0, z_joint=0, cos_psi=math.cos(psi),
                            sin_psi=math.sin(psi), cos_theta=math.cos(theta), sin_theta=math.sin(theta), advance=0, x_p=0, z_p=0))


def turned(point, rotation):
    """Any rotation as yaw, tilt, yaw (z, y, z), so that the library's own two turns make it up."""
    last, tilt, first = rotation.as_euler("ZYZ")
    return posed(posed(point, first, 0.0), last, tilt)


def test_rotation_matrix(near):
    rotation = Rotation.from_rotvec(math.radians(30) * np.array([1, 2, 3]) / math.sqrt(14))
    for j, unit in enumerate(np.eye(3)):
        for i, found in enumerate(turned(unit, rotation)):
            near(found, MATRIX[i][j], 1e-10, ROTATION)


def test_cyclic_permutation(near):
    rotation = Rotation.from_rotvec(math.radians(120) * np.ones(3) / math.sqrt(3))
    near(turned((1, 0, 0), rotation)[1], 1.0, 1e-12, PERMUTATION)


@pytest.mark.parametrize("alpha", [0.0, 0.03])
@pytest.mark.parametrize("theta", [-0.04, 0.05])
@pytest.mark.parametrize("psi", [-0.02, 0.03])
def test_pose_is_the_rotation_that_another_library_makes(alpha, theta, psi):
    """Independent reference: scipy's Rotation (right-handed turns), put together after the definition of the pose."""
    point, pivot, advance, z_joint = np.array([-350.0, 21.0, -4.0]), np.array([-3.0, 0.0, -14.0]), 0.4, 9.0
    nominal = Rotation.from_euler("y", -alpha).apply(point) + np.array([0, 0, z_joint])
    expected = Rotation.from_euler("ZY", [psi, theta]).apply(nominal - pivot) + pivot - np.array([advance, 0, 0])
    pose = dict(cos_alpha=math.cos(alpha), sin_alpha=math.sin(alpha), z_joint=z_joint, cos_psi=math.cos(psi),
                sin_psi=math.sin(psi), cos_theta=math.cos(theta), sin_theta=math.sin(theta), advance=advance,
                x_p=pivot[0], z_p=pivot[2])
    found = to_body(xn=point[0], yn=point[1], zn=point[2], **pose)
    np.testing.assert_allclose(found, expected, atol=1e-11)
    np.testing.assert_allclose(to_neck(x=found.x, y=found.y, z=found.z, **pose), point, atol=1e-11)


def crank_angle(pivot, head, crank, coupler, start):
    """Angle in degrees (x toward z) at which the crank stands when the screw is as long as the coupler."""
    t0 = math.radians(start)
    receiver = (pivot[0] + crank * math.cos(t0), pivot[1] + crank * math.sin(t0))
    turns = coupler - math.dist(head, receiver)  # a pitch of 1 mm
    theta = tilt_dowel(tilt=turns, psi=0, advance=0, pitch_tilt=1, x_p=pivot[0], z_p=pivot[1], x_head=head[0], z_head=head[1],
                       x_receiver=receiver[0], z_receiver=receiver[1])
    return start - math.degrees(theta)  # positive tilt turns z toward x


# Starts on the same branch: the answer must not depend on where the neck stood before.
@pytest.mark.parametrize(("branch", "starts", "th3", "th4"), [
    ("open", (50, 57, 65), 20.3, 57.33),
    ("crossed", (-110, -98, -90), -60.98, -98.01),
])
def test_four_bar(near, branch, starts, th3, th4):
    crank = (40 * math.cos(math.radians(40)), 40 * math.sin(math.radians(40)))
    for start in starts:
        found = crank_angle((100, 0), crank, 80, 120, start)
        near(found, th4, 0.01, NORTON)
        far = (100 + 80 * math.cos(math.radians(found)), 80 * math.sin(math.radians(found)))
        near(math.degrees(math.atan2(far[1] - crank[1], far[0] - crank[0])), th3, 0.01, NORTON)


@pytest.mark.parametrize("start", [50, 60, 72])
def test_offset_slider_crank(near, start):
    # Slider pin at the published place; the crank must then stand at the given 60 degrees, the coupler at 27.09.
    pin = (-86.84, -20)
    found = crank_angle((0, 0), pin, 40, 120, start)
    near(found, 60, 0.02, NORTON)  # 0.01 mm of the printed place is 0.015 degrees here
    crank = (40 * math.cos(math.radians(found)), 40 * math.sin(math.radians(found)))
    near(math.degrees(math.atan2(crank[1] - pin[1], crank[0] - pin[0])), 27.09, 0.01, NORTON)


@pytest.mark.parametrize("start", [78, 90, 101])
def test_slider_crank(near, start):
    # Crank 50, rod 150, crank upright: the slider pin stands 141.42 mm away. Read backwards and forwards.
    pin = 141.42
    near(crank_angle((0, 0), (pin, 0), 50, 150, start), 90, math.degrees(0.005 / 50), SLIDER_CRANK)
    receiver = (50 * math.cos(math.radians(start)), 50 * math.sin(math.radians(start)))
    turns = turns_dowel(theta=math.radians(start - 90), psi=0, advance=0, pitch_tilt=1, x_p=0, z_p=0, x_head=pin, z_head=0,
                        x_receiver=receiver[0], z_receiver=receiver[1])
    near(math.dist((pin, 0), receiver) + turns, 150, 0.005, SLIDER_CRANK)
