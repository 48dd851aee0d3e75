"""Written by ``python -m lutherie_geom.theory.write`` from the derivations in ``statics.py``; not to be edited."""

from numpy import cos, log, sin, sqrt

def pull_line(force_x, force_z, moment_y):
    """Where the strings' resultant passes the pivot axis, seen from the side."""
    return (moment_y/force_x, moment_y/sqrt(force_x**2 + force_z**2),)


def pull_line_slopes(force_x, force_z, moment_y):
    """Exact derivatives of pull_line, output by output, input by input."""
    u0 = force_x**2
    u1 = force_z**2 + u0
    u2 = moment_y/u1**(3/2)
    return (-moment_y/u0, 0, force_x**(-1.0), -force_x*u2, -force_z*u2, 1/sqrt(u1),)


def seat_slope(ball_radius, rim_radius):
    """How much sideways force a ring-shaped seat holds before the ball rides up."""
    return (rim_radius/sqrt(ball_radius**2 - rim_radius**2),)


def seat_slope_slopes(ball_radius, rim_radius):
    """Exact derivatives of seat_slope, output by output, input by input."""
    u0 = rim_radius**2
    u1 = ball_radius**2 - u0
    u2 = u1**(-3/2)
    return (-ball_radius*rim_radius*u2, u0*u2 + 1/sqrt(u1),)


def gripped_slope(slope, friction):
    """The same seat with friction."""
    return ((friction + slope)/(-friction*slope + 1),)


def gripped_slope_slopes(slope, friction):
    """Exact derivatives of gripped_slope, output by output, input by input."""
    u0 = -friction*slope + 1
    u1 = u0**(-1.0)
    u2 = (friction + slope)/u0**2
    return (friction*u2 + u1, slope*u2 + u1,)


def cone_ring(ball_radius, half_angle):
    """Radius of the ring where a ball touches a cone."""
    return (ball_radius*cos(half_angle),)


def cone_ring_slopes(ball_radius, half_angle):
    """Exact derivatives of cone_ring, output by output, input by input."""
    return (cos(half_angle), -ball_radius*sin(half_angle),)


def lift_side_load(seat_total, spacing, distance):
    """Side load that lifts one seat."""
    return ((1/2)*seat_total*spacing/distance,)


def lift_side_load_slopes(seat_total, spacing, distance):
    """Exact derivatives of lift_side_load, output by output, input by input."""
    u0 = (1/2)/distance
    return (spacing*u0, seat_total*u0, -1/2*seat_total*spacing/distance**2,)


def ball_friction(seat_force, friction, ball_radius, rim_radius):
    """Friction torque of a ball that turns in a ring-shaped seat."""
    u0 = ball_radius**2
    u1 = rim_radius**2
    rise = sqrt(u0 - u1)
    normal = ball_radius*seat_force/rise
    return (friction*normal*sqrt(u0 - 1/2*u1),)


def ball_friction_slopes(seat_force, friction, ball_radius, rim_radius):
    """Exact derivatives of ball_friction, output by output, input by input."""
    u0 = ball_radius**2
    u1 = rim_radius**2
    u2 = sqrt(u0 - u1)
    rise = u2
    u3 = rise**(-1.0)
    u4 = ball_radius*u3
    d_normal_d_seat_force = u4
    u7 = sqrt(u0 - 1/2*u1)
    u8 = friction*u7
    normal = seat_force*u4
    u5 = u2**(-1.0)
    d_rise_d_ball_radius = ball_radius*u5
    u6 = ball_radius*seat_force/rise**2
    d_normal_d_ball_radius = -d_rise_d_ball_radius*u6 + seat_force*u3
    u9 = friction*normal/u7
    d_rise_d_rim_radius = -rim_radius*u5
    d_normal_d_rim_radius = -d_rise_d_rim_radius*u6
    return (d_normal_d_seat_force*u8, normal*u7, ball_radius*u9 + d_normal_d_ball_radius*u8, d_normal_d_rim_radius*u8 - 1/2*rim_radius*u9,)


def dowel_friction(force, friction, diameter):
    """Friction torque of a loaded dowel that turns in its hole."""
    return ((1/2)*diameter*force*friction,)


def dowel_friction_slopes(force, friction, diameter):
    """Exact derivatives of dowel_friction, output by output, input by input."""
    u0 = (1/2)*diameter
    return (friction*u0, force*u0, (1/2)*force*friction,)


def slide_friction(force, friction, slide_rate):
    """Friction torque of a head that slides on its face while the neck tilts."""
    return (force*friction*slide_rate,)


def slide_friction_slopes(force, friction, slide_rate):
    """Exact derivatives of slide_friction, output by output, input by input."""
    return (friction*slide_rate, force*slide_rate, force*friction,)


def dead_band(friction_torque, arm):
    """Band of force in which friction alone holds the neck."""
    return (friction_torque/arm,)


def dead_band_slopes(friction_torque, arm):
    """Exact derivatives of dead_band, output by output, input by input."""
    return (arm**(-1.0), -friction_torque/arm**2,)


def reversing_load(screw_force, arm, reach):
    """Load at which the tilt screw's force reverses."""
    return (arm*screw_force/reach,)


def reversing_load_slopes(screw_force, arm, reach):
    """Exact derivatives of reversing_load, output by output, input by input."""
    u0 = reach**(-1.0)
    return (arm*u0, screw_force*u0, -arm*screw_force/reach**2,)


def string_energy(tension, length, stiffness):
    """Energy that a string stores, and how far it must shorten to let go of it."""
    slack = length*tension/stiffness
    return ((1/2)*slack*tension, slack,)


def string_energy_slopes(tension, length, stiffness):
    """Exact derivatives of string_energy, output by output, input by input."""
    u0 = stiffness**(-1.0)
    u1 = length*u0
    d_slack_d_tension = u1
    slack = tension*u1
    u2 = (1/2)*tension
    d_slack_d_length = tension*u0
    d_slack_d_stiffness = -length*tension/stiffness**2
    return (d_slack_d_tension*u2 + (1/2)*slack, d_slack_d_length*u2, d_slack_d_stiffness*u2, d_slack_d_tension, d_slack_d_length, d_slack_d_stiffness,)


def energy_kept(energy_full, slack, shortened):
    """Energy that a string still stores when its ends have come together a little."""
    return (energy_full*(-shortened/slack + 1)**2,)


def energy_kept_slopes(energy_full, slack, shortened):
    """Exact derivatives of energy_kept, output by output, input by input."""
    u0 = slack**(-1.0)
    u1 = -shortened*u0 + 1
    u2 = 2*energy_full*u1
    return (u1**2, shortened*u2/slack**2, -u0*u2,)


def wire_strength(wire_constant, wire_exponent, wire_diameter):
    """Tensile strength of music wire by its thickness."""
    return (wire_constant*wire_diameter**(-wire_exponent),)


def wire_strength_slopes(wire_constant, wire_exponent, wire_diameter):
    """Exact derivatives of wire_strength, output by output, input by input."""
    u0 = wire_diameter**(-wire_exponent)
    u1 = u0*wire_constant
    return (u0, -u1*log(wire_diameter), -u1*wire_exponent/wire_diameter,)
