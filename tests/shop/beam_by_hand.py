"""A neck that bends, worked out as a uniform beam held at the joint fret: the truth of tests, apart from the library's own."""

import numpy as np


def bent(d, relief):
    """The neck of dimensions ``d`` [mm, rad] under as much more of an even bending moment as gives it this ``relief`` [mm]."""
    first, joint, nut = (np.asarray(v, dtype=float) for v in (d.x_fret(1), d.x_fret(d.joint_fret), d.x_nut))

    def way(x):  # of the neck at x, held at the joint, for a curvature of 1/mm: x''= 1 taken twice
        return (joint - x) ** 2 / 2

    def chord(x):  # from fret 1 to the joint fret
        return way(first) * (joint - x) / (joint - first)

    middle = (first + joint) / 2
    curvature = (relief - np.asarray(d.relief)) / (chord(middle) - way(middle))
    turn = curvature * way(first) / (joint - first)
    nut_over = curvature * (way(nut) - chord(nut))
    h = np.asarray(d.h_nut, dtype=float)
    return d.replaced(relief=relief, alpha=d.alpha - turn, z_joint=d.z_joint + turn * d.joint_fret_x,
                      h_nut=h.reshape(h.shape + (1,) * (np.ndim(nut_over) + 1 - h.ndim)) + nut_over,
                      fall_away_line=d.fall_away_line - turn)
