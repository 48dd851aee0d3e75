"""Written by ``python -m lutherie_geom.theory.write`` from the derivations in ``access.py``; not to be edited."""

from numpy import arccos, arctan2, cos, pi, sign, sin, sqrt, tan

def segment_distance(screw_y, screw_z, start_y, start_z, end_y, end_z):
    """How near a straight stretch of the cutter's path comes to a screw's centre."""
    u0 = -start_y
    u1 = end_y + u0
    u2 = -start_z
    u3 = end_z + u2
    along = (u1*(screw_y + u0) + u3*(screw_z + u2))/(u1**2 + u3**2)
    held = (1/2)*abs(along) - 1/2*abs(along - 1) + 1/2
    return (sqrt((-held*u1 + screw_y - start_y)**2 + (-held*u3 + screw_z - start_z)**2),)


def segment_distance_slopes(screw_y, screw_z, start_y, start_z, end_y, end_z):
    """Exact derivatives of segment_distance, output by output, input by input."""
    u0 = -start_y
    u1 = end_y + u0
    u2 = -start_z
    u3 = end_z + u2
    u4 = u1**2 + u3**2
    u5 = u4**(-1.0)
    d_along_d_screw_y = u1*u5
    u6 = screw_y + u0
    u7 = screw_z + u2
    u8 = u1*u6 + u3*u7
    along = u5*u8
    u9 = along - 1
    u17 = (1/2)*sign(along) - 1/2*sign(u9)
    d_held_d_screw_y = d_along_d_screw_y*u17
    held = (1/2)*abs(along) - 1/2*abs(u9) + 1/2
    u18 = -held*u1 + screw_y - start_y
    u19 = -held*u3 + screw_z - start_z
    u20 = 1/sqrt(u18**2 + u19**2)
    u21 = u18*u20
    u10 = -2*start_y
    u11 = 2*end_y + u10
    u15 = -u11
    u13 = -2*start_z
    u14 = 2*end_z + u13
    u16 = -u14
    u22 = u20*((1/2)*u15*u18 + (1/2)*u16*u19)
    d_along_d_screw_z = u3*u5
    d_held_d_screw_z = d_along_d_screw_z*u17
    u23 = u19*u20
    u12 = u8/u4**2
    d_along_d_start_y = u11*u12 + u5*(-end_y - screw_y - u10)
    d_held_d_start_y = d_along_d_start_y*u17
    u24 = held - 1
    d_along_d_start_z = u12*u14 + u5*(-end_z - screw_z - u13)
    d_held_d_start_z = d_along_d_start_z*u17
    d_along_d_end_y = u12*u15 + u5*u6
    d_held_d_end_y = d_along_d_end_y*u17
    d_along_d_end_z = u12*u16 + u5*u7
    d_held_d_end_z = d_along_d_end_z*u17
    return (d_held_d_screw_y*u22 + u21, d_held_d_screw_z*u22 + u23, d_held_d_start_y*u22 + u21*u24, d_held_d_start_z*u22 + u23*u24, d_held_d_end_y*u22 - held*u21, d_held_d_end_z*u22 - held*u23,)


def cutter_margin(distance, tool_diameter, screw_diameter):
    """Room between a cutter and a screw: distance less the sum of the radii."""
    return (distance - 1/2*screw_diameter - 1/2*tool_diameter,)


def cutter_margin_slopes(distance, tool_diameter, screw_diameter):
    """Exact derivatives of cutter_margin, output by output, input by input."""
    return (1, -1/2, -1/2,)


def path_half_width(half_width_top, half_width_foot, foot_z, at_z, side_gap, bit_diameter):
    """Path of the bit's centre that leaves the heel's outline and the side gap."""
    lean = -(-half_width_foot + half_width_top)/foot_z
    cheek = at_z*lean + half_width_top
    return (-1/2*bit_diameter*sqrt(lean**2 + 1) + cheek + side_gap,)


def path_half_width_slopes(half_width_top, half_width_foot, foot_z, at_z, side_gap, bit_diameter):
    """Exact derivatives of path_half_width, output by output, input by input."""
    u0 = foot_z**(-1.0)
    d_lean_d_half_width_top = -u0
    d_cheek_d_half_width_top = at_z*d_lean_d_half_width_top + 1
    u1 = -half_width_foot + half_width_top
    lean = -u0*u1
    u2 = sqrt(lean**2 + 1)
    u3 = (1/2)*bit_diameter*lean/u2
    d_lean_d_half_width_foot = u0
    d_cheek_d_half_width_foot = at_z*d_lean_d_half_width_foot
    d_lean_d_foot_z = u1/foot_z**2
    d_cheek_d_foot_z = at_z*d_lean_d_foot_z
    return (d_cheek_d_half_width_top - d_lean_d_half_width_top*u3, d_cheek_d_half_width_foot - d_lean_d_half_width_foot*u3, d_cheek_d_foot_z - d_lean_d_foot_z*u3, lean, 1, -1/2*u2,)


def key_angle(ahead, aside, below):
    """Angle between a straight key through the soundhole and the screw it turns."""
    return (arctan2(sqrt(aside**2 + below**2), ahead),)


def key_angle_slopes(ahead, aside, below):
    """Exact derivatives of key_angle, output by output, input by input."""
    u0 = aside**2 + below**2
    u1 = sqrt(u0)
    u2 = (ahead**2 + u0)**(-1.0)
    u3 = ahead*u2/u1
    return (-u1*u2, aside*u3, below*u3,)


def hole_room(hole_half_width, hole_ahead, key_diameter, leaning):
    """Room that a leaning key has left in a hole through which the screw is reached."""
    return (-hole_ahead*tan(leaning) + hole_half_width - 1/2*key_diameter/cos(leaning),)


def hole_room_slopes(hole_half_width, hole_ahead, key_diameter, leaning):
    """Exact derivatives of hole_room, output by output, input by input."""
    u0 = tan(leaning)
    u1 = cos(leaning)
    return (1, -u0, -(1/2)/u1, -hole_ahead*(u0**2 + 1) - 1/2*key_diameter*sin(leaning)/u1**2,)


def rim_room(to_rim, ahead, aside, below, key_diameter):
    """Room between a slanting key and the soundhole's edge."""
    slope = below/sqrt(ahead**2 + aside**2 + below**2)
    return (-1/2*key_diameter + slope*to_rim,)


def rim_room_slopes(to_rim, ahead, aside, below, key_diameter):
    """Exact derivatives of rim_room, output by output, input by input."""
    u0 = below**2
    u1 = ahead**2 + aside**2 + u0
    u2 = 1/sqrt(u1)
    slope = below*u2
    u3 = u1**(-3/2)
    u4 = below*u3
    d_slope_d_ahead = -ahead*u4
    d_slope_d_aside = -aside*u4
    d_slope_d_below = -u0*u3 + u2
    return (slope, d_slope_d_ahead*to_rim, d_slope_d_aside*to_rim, d_slope_d_below*to_rim, -1/2,)


def brace_room(brace_z, socket_z, brace_ahead, ahead, below, key_diameter):
    """Room between a straight key and the brace over it."""
    height = socket_z + below*brace_ahead/ahead
    return (brace_z - height - 1/2*key_diameter*sqrt(1 + below**2/ahead**2),)


def brace_room_slopes(brace_z, socket_z, brace_ahead, ahead, below, key_diameter):
    """Exact derivatives of brace_room, output by output, input by input."""
    u0 = ahead**(-1.0)
    u1 = below*u0
    d_height_d_brace_ahead = u1
    u2 = ahead**(-2.0)
    u3 = below*u2
    d_height_d_ahead = -brace_ahead*u3
    u4 = below**2
    u5 = sqrt(u2*u4 + 1)
    u6 = u5**(-1.0)
    d_height_d_below = brace_ahead*u0
    return (1, -1, -d_height_d_brace_ahead, -d_height_d_ahead + (1/2)*key_diameter*u4*u6/ahead**3, -d_height_d_below - 1/2*key_diameter*u3*u6, -1/2*u5,)


def blocked_half_angle(wall, arm):
    """Half of the angle that a straight wall takes from the arm's swing."""
    return (arccos(wall/arm),)


def blocked_half_angle_slopes(wall, arm):
    """Exact derivatives of blocked_half_angle, output by output, input by input."""
    u0 = arm**(-2.0)
    u1 = 1/sqrt(-u0*wall**2 + 1)
    return (-u1/arm, u0*u1*wall,)


def opening_half_angle(opening, wall):
    """How far the arm may lean aside while it stands up through the soundhole."""
    return (arctan2(opening, wall),)


def opening_half_angle_slopes(opening, wall):
    """Exact derivatives of opening_half_angle, output by output, input by input."""
    u0 = (opening**2 + wall**2)**(-1.0)
    return (u0*wall, -opening*u0,)


def least_turn(hand_step, arm):
    """Smallest turn that a hand can make with an arm of a length."""
    return ((1/2)*hand_step/(pi*arm),)


def least_turn_slopes(hand_step, arm):
    """Exact derivatives of least_turn, output by output, input by input."""
    u0 = (1/2)/pi
    return (u0/arm, -hand_step*u0/arm**2,)


def longest_arm(room_over, room_under, grip):
    """Longest arm that can be gripped anew between top and back."""
    return (sqrt(room_over**2 + 2*room_over*room_under*cos(grip) + room_under**2)/sin(grip),)


def longest_arm_slopes(room_over, room_under, grip):
    """Exact derivatives of longest_arm, output by output, input by input."""
    u0 = cos(grip)
    u1 = room_under*u0
    u2 = sqrt(room_over**2 + 2*room_over*u1 + room_under**2)
    u3 = u2**(-1.0)
    u4 = sin(grip)
    u5 = u3/u4
    return (u5*(room_over + u1), u5*(room_over*u0 + room_under), -room_over*room_under*u3 - u0*u2/u4**2,)
