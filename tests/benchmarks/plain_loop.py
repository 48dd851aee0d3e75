"""The other rival: whole-joint readings as one hand-written loop over single numbers, for numba or for plain Python.

The same formulas as ``plain_numpy``, design by design: what one would write who compiles a loop and stops there. Cross dowel,
hollowed tongue, even frets given as places; lengths in mm, angles in rad. ``one`` is the columns' order of a design.
"""

import math

import numpy as np

SINGLE = ("alpha", "z_joint", "x_p", "z_p", "spacing", "x_head", "z_head", "x_receiver", "z_receiver", "gap_joint",
          "tongue_length", "tongue_width", "floor_clearance", "foot_z", "half_width_top", "half_width_foot", "pocket", "x_apex",
          "curvature", "pitch_tilt", "pitch_pivot", "tilt", "bass", "treble", "radius", "width_last", "x_nut")


def loop(v, y_nut, h_nut, x_saddle, y_saddle, h_saddle, x_fret, dip, action, gap, reveal, floor, margin):
    """v (SINGLE, n); y_nut, x_saddle, y_saddle (strings,); h_nut, h_saddle (strings, n); x_fret, dip (frets,), last fret last."""
    strings, frets = y_nut.shape[0], x_fret.shape[0]
    for i in range(v.shape[1]):
        (alpha, z_joint, xp, zp, spacing, x_head, z_head, x_receiver, z_receiver, gap_joint, length, width, clearance, foot_z,
         top, foot, pocket, xc, k, pitch_tilt, pitch_pivot, tilt, bass, treble, radius, width_last, x_nut) = (
            v[0, i], v[1, i], v[2, i], v[3, i], v[4, i], v[5, i], v[6, i], v[7, i], v[8, i], v[9, i], v[10, i], v[11, i],
            v[12, i], v[13, i], v[14, i], v[15, i], v[16, i], v[17, i], v[18, i], v[19, i], v[20, i], v[21, i], v[22, i],
            v[23, i], v[24, i], v[25, i], v[26, i])
        b = 0.5 * pitch_pivot * (bass + treble)
        psi = math.atan2(pitch_pivot * (treble - bass), spacing)
        cp, sp = math.cos(psi), math.sin(psi)
        dx, dz = x_head - x_receiver, z_head - z_receiver
        s = math.sqrt(dx * dx + dz * dz) + pitch_tilt * tilt
        vx, vz = x_receiver - xp, z_receiver - zp
        reach = x_head - xp + b
        qx, qy, qz = reach * cp, reach * sp, z_head - zp
        p, q = qx * vx + qz * vz, qx * vz - qz * vx
        d = math.sqrt((qx - vx) ** 2 + qy * qy + (qz - vz) ** 2)
        ea = 0.5 * (d - s) * (d + s)
        e = p + ea
        theta = 2 * math.atan(ea / (q + math.copysign(math.sqrt(p * p + q * q - e * e), q)))
        ct, st = math.cos(theta), math.sin(theta)
        k2, a2 = k * k, xc * xc
        root_a = math.sqrt(1 - k2 * a2)
        ca, sa = math.cos(alpha), math.sin(alpha)
        for j in range(strings):
            r2 = (x_saddle[j] - xc) ** 2 + y_saddle[j] * y_saddle[j]
            h = k * (a2 - r2) / (math.sqrt(1 - k2 * r2) + root_a) + h_saddle[j, i] - zp
            along = x_saddle[j] - xp + b
            u = along * cp + y_saddle[j] * sp
            x0, z0 = xp + u * ct - h * st, zp - z_joint + h * ct + u * st
            xs, ys, zs = x0 * ca + z0 * sa, y_saddle[j] * cp - along * sp, z0 * ca - x0 * sa
            y2 = y_nut[j] * y_nut[j]
            zn = h_nut[j, i] - y2 / (radius + math.sqrt(radius * radius - y2))
            y = 0.0
            for f in range(frets):
                lam = (x_fret[f] - x_nut) / (xs - x_nut)
                y = y_nut[j] + lam * (ys - y_nut[j])
                ky = y / radius
                action[j, f, i] = zn + lam * (zs - zn) + dip[f] + ky * y / (1 + math.sqrt(1 - ky * ky))
            if j == 0:
                margin[0, i] = width_last / 2 + y
            if j == strings - 1:
                margin[1, i] = width_last / 2 - y
        least = math.inf
        for m in range(9):
            for n in range(3):
                x, y = m / 8 * length, (n / 2 - 0.5) * width
                r2 = (x - xc) ** 2 + y * y
                rise = k * (a2 - r2) / (math.sqrt(1 - k2 * r2) + root_a) + gap_joint - zp
                u = (x - xp) * ct + rise * st
                at_x = u * cp + (xp - b - xc) - y * sp
                at_y = u * sp + y * cp
                r2 = at_x * at_x + at_y * at_y
                least = min(least, rise * ct + zp - (x - xp) * st - k * (a2 - r2) / (math.sqrt(1 - k2 * r2) + root_a))
        gap[i] = least
        near, far = math.inf, -math.inf
        for m in range(9):
            t = m / 8
            half = top + (foot - top) * t
            u = (-clearance - xp) * ct + (t * foot_z - zp) * st
            for side in (-1.0, 1.0):
                x = xp - b + u * cp - side * half * sp
                near, far = min(near, x), max(far, x)
        floor[i] = -far
        reveal[i] = pocket + near


def outputs(strings, frets, n):
    """Room for the readings of n designs."""
    return np.empty((strings, frets, n)), np.empty(n), np.empty(n), np.empty(n), np.empty((2, n))
