"""The rival: whole-joint readings written by hand in plain numpy, for the benchmark only.

The same formulas as the library's, written straight down with every shared factor taken out once: one cosine and sine of
each angle a design, no small functions, no checks, chunks that stay in the cache. Points (strings, frets, places of the
footprint, heights of the heel) are broadcast axes before the samples. Lengths in mm, angles in rad.
"""

import numpy as np


def whole_joint(v, *, rod, joint_fret, last_fret, frets, n, chunk, into=None):
    """Action (strings, frets, n), least gap, reveal, floor clearance (n,), margins (2, n), from a dict of numbers and arrays."""
    strings = v["y_nut"].shape[0]
    if into is None:
        into = np.empty((strings, len(frets), n)), np.empty(n), np.empty(n), np.empty(n), np.empty((2, n))
    action, gap, reveal, floor, margin = into
    for a in range(0, n, chunk):
        part = slice(a, min(a + chunk, n))
        c = {k: x[..., part] if np.ndim(x) and np.shape(x)[-1] == n else x for k, x in v.items()}
        one(c, rod, joint_fret, last_fret, frets, action[..., part], gap[part], reveal[part], floor[part], margin[:, part])
    return action, gap, reveal, floor, margin


def one(c, rod, joint_fret, last_fret, frets, action, gap, reveal, floor, margin):
    """One chunk, written into the five outputs."""
    # pose
    b = 0.5 * c["pitch_pivot"] * (c["bass"] + c["treble"])
    psi = np.arctan2(c["pitch_pivot"] * (c["treble"] - c["bass"]), c["spacing"])
    cp, sp = np.cos(psi), np.sin(psi)
    xp, zp = c["x_p"], c["z_p"]
    dx, dz = c["x_head"] - c["x_receiver"], c["z_head"] - c["z_receiver"]
    s0 = np.sqrt(dx * dx + dz * dz)
    s = s0 + c["pitch_tilt"] * c["tilt"]
    vx, vz = c["x_receiver"] - xp, c["z_receiver"] - zp
    reach = c["x_head"] - xp + b
    qx = reach * cp
    if rod:
        ux, uz = dx / s0, dz / s0
        p, q, e = vx + s * ux, vz + s * uz, reach / cp
        ea = b + reach * (1 / cp - 1) - c["pitch_tilt"] * c["tilt"] * ux
    else:
        qy, qz = reach * sp, c["z_head"] - zp
        p, q = qx * vx + qz * vz, qx * vz - qz * vx
        d2 = (qx - vx) ** 2 + qy * qy + (qz - vz) ** 2
        ea = 0.5 * (np.sqrt(d2) - s) * (np.sqrt(d2) + s)
        e = p + ea
    theta = 2 * np.arctan(ea / (q + np.sign(q) * np.sqrt(p * p + q * q - e * e)))
    ct, st = np.cos(theta), np.sin(theta)
    # the dome's constants
    k, xc, wx, wy = c["curvature"], c["x_apex"], c["along"], c["across"]
    k2, a2 = k * k, wx * xc * xc
    root_a = np.sqrt(1 - k2 * a2)
    # strings: saddle in the neck frame, then the action over each fret
    ca, sa = np.cos(c["alpha"]), np.sin(c["alpha"])
    xs, ys = c["x_saddle"], c["y_saddle"]
    r2 = wx * (xs - xc) ** 2 + wy * ys * ys
    h = k * (a2 - r2) / (np.sqrt(1 - k2 * r2) + root_a) + c["h_saddle"] - zp
    along = xs - xp + b
    u = along * cp + ys * sp
    x0, z0 = xp + u * ct - h * st, zp - c["z_joint"] + h * ct + u * st
    xs, ys, zs = x0 * ca + z0 * sa, ys * cp - along * sp, z0 * ca - x0 * sa
    y2, r0 = c["y_nut"] ** 2, c["radius_nut"]
    z_nut = c["h_nut"] - y2 / (r0 + np.sqrt(r0 * r0 - y2) if np.all(np.isfinite(r0)) else np.inf)
    scale, shift = c["scale"], c["joint_fret_x"]
    to_joint = scale * (1 - 2 ** (-joint_fret / 12))
    x_nut = shift - to_joint + c["nut_compensation"]
    f = np.asarray(frets, dtype=float)[:, None]
    x_f = shift - to_joint + scale * (1 - 2 ** (-f / 12))
    x_joint, x_1 = shift, shift - to_joint + scale * (1 - 2 ** (-1 / 12))
    x_last = shift - to_joint + scale * (1 - 2 ** (-last_fret / 12))
    w = np.minimum(np.maximum((x_f - x_1) / (x_joint - x_1), 0), 1)
    past = np.maximum(x_f - x_joint, 0)
    dip = 4 * c["relief"] * w * (1 - w) + c["fall_away_line"] * past + 0.5 * c["fall_away_curvature"] * past * past
    flat = np.isinf(r0) | np.isinf(c["radius_last"])
    if np.all(flat):
        k_f = 0.0
    else:
        along_board = np.minimum(np.maximum((x_f - x_nut) / (x_last - x_nut), 0), 1)
        k_f = np.where(flat, 0.0, 1 / (r0 + (c["radius_last"] - r0) * along_board))
    y_nut = c["y_nut"][:, None]
    lam = (x_f - x_nut) * (1 / (xs - x_nut))[:, None]
    y = y_nut + lam * (ys[:, None] - y_nut)
    ky = k_f * y
    if frets[-1] != last_fret:
        raise NotImplementedError("margins are read at the last fret, which must be the last of those asked for")
    half = c["width_last"] / 2
    np.add(half, y[0, -1], out=margin[0])
    np.subtract(half, y[-1, -1], out=margin[1])
    z_nut = z_nut[:, None]
    np.add(z_nut + lam * (zs[:, None] - z_nut) + dip, ky * y / (1 + np.sqrt(1 - ky * ky)), out=action)
    # tongue: 9 x 3 places
    length, width = c["tongue_length"], c["tongue_width"]
    x = np.linspace(0, 1, 9)[:, None, None] * length
    y = np.linspace(-0.5, 0.5, 3)[:, None] * width
    hollow = c["hollowed"]
    if np.all(hollow == 0):
        under = taper(k, k2, a2, root_a, xc, wx, wy, length, width) * x
    else:
        r2 = wx * (x - xc) ** 2 + wy * (y * y)
        under = k * (a2 - r2) / (np.sqrt(1 - k2 * r2) + root_a)
        if np.any(hollow < 1):
            under = hollow * under + (1 - hollow) * taper(k, k2, a2, root_a, xc, wx, wy, length, width) * x
    rise = under + (c["gap_joint"] - zp)
    x = x - xp
    u = x * ct + rise * st
    at_x = u * cp + ((xp - b - xc) - y * sp)
    at_y = u * sp + y * cp
    r2 = wx * (at_x * at_x) + wy * (at_y * at_y)
    found = rise * ct + (zp - x * st) - k * (a2 - r2) / (np.sqrt(1 - k2 * r2) + root_a)
    found.min(axis=(0, 1), out=gap)
    # heel: 9 heights, both sides
    t = np.linspace(0, 1, 9)[:, None, None]
    half = c["half_width_top"] + (c["half_width_foot"] - c["half_width_top"]) * t
    u = (-c["floor_clearance"] - xp) * ct + (t * c["foot_z"] - zp) * st
    out = (xp - b) + u * cp - (np.array([[-1.0], [1.0]]) * half) * sp
    np.negative(out.max(axis=(0, 1)), out=floor)
    np.add(c["pocket"], out.min(axis=(0, 1)), out=reveal)


GAUSS = np.polynomial.legendre.leggauss(8)


def taper(k, k2, a2, root_a, xc, wx, wy, length, width):
    """Slope of the best plane under the tongue. The dome is even across: the four places of one side are enough."""
    u, w = (GAUSS[0] + 1) / 2, GAUSS[1] / 2
    x, y = u[:, None, None] * length, (u[4:, None] - 0.5) * width
    r2 = wx * (x - xc) ** 2 + wy * (y * y)
    z = k * (a2 - r2) / (np.sqrt(1 - k2 * r2) + root_a)
    mean = (2 * w[4:, None] * z).sum(axis=1)
    return ((w * (u - 0.5))[:, None] * mean).sum(axis=0) * 12 / length
