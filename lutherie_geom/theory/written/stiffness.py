"""Written by ``python -m lutherie_geom.theory.write`` from the derivations in ``stiffness.py``; not to be edited."""

from numpy import log, pi, sqrt

def in_series(stiffness_1, stiffness_2):
    """Two springs one behind the other."""
    return (stiffness_1*stiffness_2/(stiffness_1 + stiffness_2),)


def in_series_slopes(stiffness_1, stiffness_2):
    """Exact derivatives of in_series, output by output, input by input."""
    u0 = stiffness_1 + stiffness_2
    u1 = u0**(-1.0)
    u2 = stiffness_1*stiffness_2/u0**2
    return (stiffness_2*u1 - u2, stiffness_1*u1 - u2,)


def ring_approach(force, ball_radius, rim_radius, contact_modulus):
    """How far a ball sinks elastically into a ring-shaped seat."""
    u0 = pi**(-1.0)
    rise = sqrt(1 - rim_radius**2/ball_radius**2)
    u1 = rise**(-1.0)
    line = (1/2)*force*u0*u1/rim_radius
    u2 = line/contact_modulus
    half = 2*sqrt(ball_radius*u2)/sqrt(pi)
    near = u0*u2*(2*log(4*ball_radius/half) - 1)
    return (near*u1,)


def ring_approach_slopes(force, ball_radius, rim_radius, contact_modulus):
    """Exact derivatives of ring_approach, output by output, input by input."""
    u3 = rim_radius**(-1.0)
    u0 = ball_radius**(-2.0)
    u1 = rim_radius**2
    u2 = sqrt(-u0*u1 + 1)
    rise = u2
    u4 = rise**(-1.0)
    u5 = pi**(-1.0)
    u6 = (1/2)*u4*u5
    u7 = u3*u6
    d_line_d_force = u7
    line = force*u7
    u8 = contact_modulus**(-1.0)
    u9 = line*u8
    u10 = sqrt(ball_radius*u9)/sqrt(pi)
    u18 = u10/line
    d_half_d_force = d_line_d_force*u18
    half = 2*u10
    u11 = half**(-1.0)
    u12 = 2*log(4*ball_radius*u11) - 1
    u19 = 2*u5*u9
    u20 = u11*u19
    d_near_d_force = -d_half_d_force*u20 + d_line_d_force*u12*u5*u8
    u14 = u2**(-1.0)
    d_rise_d_ball_radius = u1*u14/ball_radius**3
    u15 = rise**(-2.0)
    u16 = (1/2)*force*u15*u3*u5
    d_line_d_ball_radius = -d_rise_d_ball_radius*u16
    u17 = ball_radius**(-1.0)
    d_half_d_ball_radius = d_line_d_ball_radius*u18 + u10*u17
    u13 = u12*u5
    d_near_d_ball_radius = -d_half_d_ball_radius*u20 + d_line_d_ball_radius*u13*u8 + u17*u19
    near = u13*u9
    u21 = near*u15
    d_rise_d_rim_radius = -rim_radius*u0*u14
    d_line_d_rim_radius = -d_rise_d_rim_radius*u16 - force*u6/u1
    d_half_d_rim_radius = d_line_d_rim_radius*u18
    d_near_d_rim_radius = -d_half_d_rim_radius*u20 + d_line_d_rim_radius*u12*u5*u8
    d_half_d_contact_modulus = -u10*u8
    d_near_d_contact_modulus = -d_half_d_contact_modulus*u20 - line*u13/contact_modulus**2
    return (d_near_d_force*u4, d_near_d_ball_radius*u4 - d_rise_d_ball_radius*u21, d_near_d_rim_radius*u4 - d_rise_d_rim_radius*u21, d_near_d_contact_modulus*u4,)


def dowel_in_wood(modulus, bearing_length, diameter, depth):
    """Stiffness of a dowel that presses into wood of some depth, elastic, close fit."""
    return ((1/2)*pi*bearing_length*modulus/log(4*depth/diameter),)


def dowel_in_wood_slopes(modulus, bearing_length, diameter, depth):
    """Exact derivatives of dowel_in_wood, output by output, input by input."""
    u0 = diameter**(-1.0)
    u1 = log(4*depth*u0)
    u2 = (1/2)*pi/u1
    u3 = (1/2)*pi*bearing_length*modulus/u1**2
    return (bearing_length*u2, modulus*u2, u0*u3, -u3/depth,)


def insert_in_wood(rigidity, bearing_length, diameter, reach):
    """Stiffness of a threaded insert or screw along its axis, held by the wood round it."""
    return (2*pi*bearing_length*rigidity/log(2*reach/diameter),)


def insert_in_wood_slopes(rigidity, bearing_length, diameter, reach):
    """Exact derivatives of insert_in_wood, output by output, input by input."""
    u0 = pi*bearing_length
    u1 = 2/diameter
    u2 = log(reach*u1)
    u3 = 2/u2
    u4 = rigidity*u0/u2**2
    return (u0*u3, pi*rigidity*u3, u1*u4, -2*u4/reach,)


def face_on_wood(modulus, diameter):
    """Stiffness of a round rigid face on deep wood."""
    return (diameter*modulus,)


def face_on_wood_slopes(modulus, diameter):
    """Exact derivatives of face_on_wood, output by output, input by input."""
    return (diameter, modulus,)


def slip_modulus(density, diameter):
    """Stiffness of a bolt or dowel in wood in use, by the rule of a code."""
    return ((1/23)*density**(3/2)*diameter,)


def slip_modulus_slopes(density, diameter):
    """Exact derivatives of slip_modulus, output by output, input by input."""
    return ((3/46)*sqrt(density)*diameter, (1/23)*density**(3/2),)


def action_give(rise_nut, rise_fret, to_fret, to_saddle):
    """Change of action when nut and fret move and the saddle stays."""
    return (-rise_fret + rise_nut*(-to_fret/to_saddle + 1),)


def action_give_slopes(rise_nut, rise_fret, to_fret, to_saddle):
    """Exact derivatives of action_give, output by output, input by input."""
    u0 = to_saddle**(-1.0)
    return (-to_fret*u0 + 1, -1, -rise_nut*u0, rise_nut*to_fret/to_saddle**2,)
