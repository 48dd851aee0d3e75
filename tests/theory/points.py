"""Random points inside the plausible ranges, and the plain geometry that the tests judge with.

Lengths in mm, angles in radians, turns in turns. Nothing here uses a relation of the library.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from scipy.spatial.transform import Rotation

# Finite sub-ranges: where a range is open, and where two numbers drawn apart would make no real joint.
NARROW = {
    "radius_nut": (250, 500), "radius_fret": (250, 500), "radius": (600, 9000), "curvature": (0, 1 / 4000),
    "x_p": (-8, 15), "z_p": (-25, -5), "x_head": (20, 45), "x_receiver": (-40, -12),
    "z_head": (-110, -75), "z_receiver": (-110, -75), "spacing": (25, 55), "pitch_tilt": (0.5, 1.5), "pitch_pivot": (0.5, 1.5),
    "tilt": (-2, 2), "bass": (-2, 2), "treble": (-2, 2), "x_nut": (-500, -300), "x_fret": (-250, 100), "alpha": (-0.02, 0.06),
    "y": (-60, 60), "x": (-100, 400), "x_nut_body": (-500, -300), "x_saddle": (200, 350),
    "ball_radius": (5, 8), "rim_radius": (1.5, 3.5), "rise": (1, 50), "chord": (50, 900),
    "open_length": (630, 640), "vibrating": (318, 322), "behind": (320, 324), "new_length": (640, 642), "swing": (0.01, 0.2),
    "side_shift": (0.2, 3), "hardness": (100, 3000), "rigidity": (1e7, 1e9),
}


def bounds(quantity: Any) -> tuple[float, float]:
    low, high = NARROW.get(quantity.name, (quantity.low, quantity.high))
    assert np.isfinite(low) and np.isfinite(high), f"{quantity.name} needs a finite sub-range"
    return float(low), float(high)


def draw(relation: Any, n: int, seed: int = 1) -> dict[str, np.ndarray]:
    """``n`` random values of each input, in the unit of the library."""
    rng = np.random.default_rng(seed)
    return {q.name: rng.uniform(*bounds(q), n) for q in relation.inputs}


def joint(n: int, seed: int = 2, turns: float = 1.5) -> dict[str, np.ndarray]:
    """``n`` random joints with random turns of all three screws."""
    rng = np.random.default_rng(seed)
    names = "x_p z_p x_head z_head x_receiver z_receiver spacing pitch_tilt pitch_pivot".split()
    drawn = {k: rng.uniform(*NARROW[k], n) for k in names}
    return drawn | {k: rng.uniform(-turns, turns, n) for k in ("tilt", "bass", "treble")}


def matrix(psi: float, theta: float) -> np.ndarray:
    """Tilt about +y, then yaw about +z (scipy's own rotations)."""
    return (Rotation.from_rotvec([0, 0, psi]) * Rotation.from_rotvec([0, theta, 0])).as_matrix()


def set_angle(alpha: float) -> np.ndarray:
    """Neck frame to body frame at the nominal pose: the board rises toward the bridge."""
    return Rotation.from_rotvec([0, -alpha, 0]).as_matrix()


def posed(point: Any, psi: float, theta: float, advance: float, x_p: float, z_p: float) -> np.ndarray:
    """A point of the neck, nominal body coordinates in, posed out."""
    axis = np.array([x_p, 0.0, z_p])
    return axis - [advance, 0, 0] + matrix(psi, theta) @ (np.asarray(point, dtype=float) - axis)


def trig(psi: float, theta: float) -> dict[str, float]:
    return {"cos_psi": np.cos(psi), "sin_psi": np.sin(psi), "cos_theta": np.cos(theta), "sin_theta": np.sin(theta)}
