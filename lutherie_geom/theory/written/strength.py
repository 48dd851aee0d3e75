"""Written by ``python -m lutherie_geom.theory.write`` from the derivations in ``strength.py``; not to be edited."""

from numpy import cos, log, pi, sin, sqrt, tan

def preload_rule(torque, nut_factor, diameter):
    """Short rule for the preload that a torque gives."""
    return (torque/(diameter*nut_factor),)


def preload_rule_slopes(torque, nut_factor, diameter):
    """Exact derivatives of preload_rule, output by output, input by input."""
    u0 = diameter**(-1.0)
    u1 = nut_factor**(-1.0)
    return (u0*u1, -torque*u0/nut_factor**2, -torque*u1/diameter**2,)


def preload_long(torque, pitch_diameter, tan_lead, flank, friction, head_mean_diameter, head_friction):
    """Preload that a torque gives, friction in thread and under the head apart."""
    grip = friction/cos(flank)
    thread = (1/2)*pitch_diameter*(grip + tan_lead)/(-grip*tan_lead + 1)
    return (torque/((1/2)*head_friction*head_mean_diameter + thread),)


def preload_long_slopes(torque, pitch_diameter, tan_lead, flank, friction, head_mean_diameter, head_friction):
    """Exact derivatives of preload_long, output by output, input by input."""
    u0 = cos(flank)
    u1 = u0**(-1.0)
    grip = friction*u1
    u2 = grip + tan_lead
    u3 = -grip*tan_lead + 1
    u4 = (1/2)/u3
    u5 = u2*u4
    thread = pitch_diameter*u5
    u9 = (1/2)*head_friction
    u10 = head_mean_diameter*u9 + thread
    d_thread_d_pitch_diameter = u5
    u11 = torque/u10**2
    u6 = pitch_diameter*u4
    u7 = (1/2)*pitch_diameter*u2/u3**2
    d_thread_d_tan_lead = grip*u7 + u6
    d_grip_d_flank = friction*sin(flank)/u0**2
    u8 = tan_lead*u7 + u6
    d_thread_d_flank = d_grip_d_flank*u8
    d_grip_d_friction = u1
    d_thread_d_friction = d_grip_d_friction*u8
    return (u10**(-1.0), -d_thread_d_pitch_diameter*u11, -d_thread_d_tan_lead*u11, -d_thread_d_flank*u11, -d_thread_d_friction*u11, -u11*u9, -1/2*head_mean_diameter*u11,)


def screw_stiffness(shank_area, stress_area, shank_length, thread_length, modulus):
    """Stiffness of a screw: shank and thread in series."""
    return (modulus/(thread_length/stress_area + shank_length/shank_area),)


def screw_stiffness_slopes(shank_area, stress_area, shank_length, thread_length, modulus):
    """Exact derivatives of screw_stiffness, output by output, input by input."""
    u0 = shank_area**(-1.0)
    u1 = stress_area**(-1.0)
    u2 = shank_length*u0 + thread_length*u1
    u3 = modulus/u2**2
    return (shank_length*u3/shank_area**2, thread_length*u3/stress_area**2, -u0*u3, -u1*u3, u2**(-1.0),)


def frustum_stiffness(bore, face, thickness, modulus, cone_angle):
    """Stiffness of one clamped part, taken as a cone of pressure round the screw."""
    slant = tan(cone_angle)
    wide = face + 2*slant*thickness
    return (pi*bore*modulus*slant/log((-bore + wide)*(bore + face)/((-bore + face)*(bore + wide))),)


def frustum_stiffness_slopes(bore, face, thickness, modulus, cone_angle):
    """Exact derivatives of frustum_stiffness, output by output, input by input."""
    u0 = tan(cone_angle)
    slant = u0
    u2 = bore + face
    u1 = 2*slant
    wide = face + thickness*u1
    u3 = -bore + wide
    u4 = bore + wide
    u5 = u4**(-1.0)
    u6 = -bore + face
    u7 = u6**(-1.0)
    u8 = u5*u7
    u9 = u3*u8
    u10 = log(u2*u9)
    u11 = u10**(-1.0)
    u12 = u2*u8
    u13 = u2*u3
    u14 = u13*u7/u4**2
    u15 = -u13*u5/u6**2
    u16 = pi*bore*modulus
    u17 = slant*u16*u4*u6/(u10**2*u2*u3)
    u18 = u17*(u12 - u14)
    d_wide_d_thickness = u1
    d_slant_d_cone_angle = u0**2 + 1
    d_wide_d_cone_angle = 2*d_slant_d_cone_angle*thickness
    return (pi*modulus*slant*u11 - u17*(-u12 - u14 - u15 + u3*u5*u7), -u17*(u15 + u9) - u18, -d_wide_d_thickness*u18, pi*bore*slant*u11, d_slant_d_cone_angle*u11*u16 - d_wide_d_cone_angle*u18,)


def pair_stiffness(bore, face, grip, modulus, cone_angle):
    """Stiffness of two like cones of pressure, face to face, through the whole grip."""
    slant = tan(cone_angle)
    wide = face + grip*slant
    return ((1/2)*pi*bore*modulus*slant/log((-bore + wide)*(bore + face)/((-bore + face)*(bore + wide))),)


def pair_stiffness_slopes(bore, face, grip, modulus, cone_angle):
    """Exact derivatives of pair_stiffness, output by output, input by input."""
    u0 = tan(cone_angle)
    slant = u0
    u1 = bore + face
    wide = face + grip*slant
    u2 = -bore + wide
    u3 = bore + wide
    u4 = u3**(-1.0)
    u5 = -bore + face
    u6 = u5**(-1.0)
    u7 = u4*u6
    u8 = u2*u7
    u9 = log(u1*u8)
    u10 = u9**(-1.0)
    u11 = u1*u7
    u12 = u1*u2
    u13 = u12*u6/u3**2
    u14 = -u12*u4/u5**2
    u15 = (1/2)*pi*bore*modulus
    u16 = u15*u3*u5/(u1*u2*u9**2)
    u17 = slant*u16
    u18 = u11 - u13
    u19 = u17*u18
    d_slant_d_cone_angle = u0**2 + 1
    d_wide_d_cone_angle = d_slant_d_cone_angle*grip
    return ((1/2)*pi*modulus*slant*u10 - u17*(-u11 - u13 - u14 + u2*u4*u6), -u17*(u14 + u8) - u19, -slant**2*u16*u18, (1/2)*pi*bore*slant*u10, d_slant_d_cone_angle*u10*u15 - d_wide_d_cone_angle*u19,)


def joint_constant(screw_stiffness, member_stiffness):
    """Joint constant: how screw and parts share an outer load."""
    return (screw_stiffness/(member_stiffness + screw_stiffness),)


def joint_constant_slopes(screw_stiffness, member_stiffness):
    """Exact derivatives of joint_constant, output by output, input by input."""
    u0 = member_stiffness + screw_stiffness
    u1 = screw_stiffness/u0**2
    return (-u1 + u0**(-1.0), -u1,)


def joint_forces(preload, joint_constant, load):
    """Forces in a preloaded joint under an outer load."""
    u0 = 1 - joint_constant
    return (joint_constant*load + preload, -load*u0 + preload, preload/u0,)


def joint_forces_slopes(preload, joint_constant, load):
    """Exact derivatives of joint_forces, output by output, input by input."""
    u0 = joint_constant - 1
    u1 = -u0
    return (1, load, joint_constant, 1, load, u0, u1**(-1.0), preload/u1**2, 0,)


def preload_lost(bedding, screw_stiffness, member_stiffness):
    """Preload lost when the parts settle."""
    return (bedding*member_stiffness*screw_stiffness/(member_stiffness + screw_stiffness),)


def preload_lost_slopes(bedding, screw_stiffness, member_stiffness):
    """Exact derivatives of preload_lost, output by output, input by input."""
    u0 = member_stiffness + screw_stiffness
    u1 = u0**(-1.0)
    u2 = bedding*member_stiffness*screw_stiffness/u0**2
    return (member_stiffness*screw_stiffness*u1, bedding*member_stiffness*u1 - u2, bedding*screw_stiffness*u1 - u2,)


def contact_modulus(modulus_1, poisson_1, modulus_2, poisson_2):
    """Modulus of two bodies in contact."""
    return (((1 - poisson_2**2)/modulus_2 + (1 - poisson_1**2)/modulus_1)**(-1.0),)


def contact_modulus_slopes(modulus_1, poisson_1, modulus_2, poisson_2):
    """Exact derivatives of contact_modulus, output by output, input by input."""
    u1 = 1 - poisson_1**2
    u0 = modulus_1**(-1.0)
    u2 = modulus_2**(-1.0)
    u3 = 1 - poisson_2**2
    u4 = (u0*u1 + u2*u3)**(-2.0)
    u5 = 2*u4
    return (u1*u4/modulus_1**2, poisson_1*u0*u5, u3*u4/modulus_2**2, poisson_2*u2*u5,)


def hertz_point(force, relative_radius, contact_modulus):
    """Ball against a flat (one-point contact)."""
    a = (1/2)*6**(1/3)*(force*relative_radius/contact_modulus)**(1/3)
    u0 = a**2
    return (a, (3/2)*force/(pi*u0), u0/relative_radius,)


def hertz_point_slopes(force, relative_radius, contact_modulus):
    """Exact derivatives of hertz_point, output by output, input by input."""
    u0 = contact_modulus**(-1.0)
    u1 = 6**(1/3)*(force*relative_radius*u0)**(1/3)
    u2 = (1/6)*u1
    d_a_d_force = u2/force
    u3 = relative_radius**(-1.0)
    d_a_d_relative_radius = u2*u3
    d_a_d_contact_modulus = -u0*u2
    u4 = pi**(-1.0)
    a = (1/2)*u1
    u5 = a**2
    u6 = 3*force*u4/a**3
    u7 = 2*a*u3
    return (d_a_d_force, d_a_d_relative_radius, d_a_d_contact_modulus, -d_a_d_force*u6 + (3/2)*u4/u5, -d_a_d_relative_radius*u6, -d_a_d_contact_modulus*u6, d_a_d_force*u7, 2*a*d_a_d_relative_radius*u3 - u5/relative_radius**2, d_a_d_contact_modulus*u7,)


def ball_in_cup(force, ball_radius, cup_radius, contact_modulus):
    """Ball in a spherical cup."""
    R = (-1/cup_radius + ball_radius**(-1.0))**(-1.0)
    a = (1/2)*6**(1/3)*(R*force/contact_modulus)**(1/3)
    u0 = a**2
    return (a, (3/2)*force/(pi*u0), u0/R,)


def ball_in_cup_slopes(force, ball_radius, cup_radius, contact_modulus):
    """Exact derivatives of ball_in_cup, output by output, input by input."""
    u0 = -1/cup_radius + ball_radius**(-1.0)
    R = u0**(-1.0)
    u1 = contact_modulus**(-1.0)
    u2 = 6**(1/3)*(R*force*u1)**(1/3)
    u4 = (1/6)*u2
    d_a_d_force = u4/force
    u3 = u0**(-2.0)
    d_R_d_ball_radius = u3/ball_radius**2
    u5 = R**(-1.0)
    u6 = u4*u5
    d_a_d_ball_radius = d_R_d_ball_radius*u6
    d_R_d_cup_radius = -u3/cup_radius**2
    d_a_d_cup_radius = d_R_d_cup_radius*u6
    d_a_d_contact_modulus = -u1*u4
    u7 = pi**(-1.0)
    a = (1/2)*u2
    u8 = a**2
    u9 = 3*force*u7/a**3
    u10 = 2*a*u5
    u11 = u8/R**2
    return (d_a_d_force, d_a_d_ball_radius, d_a_d_cup_radius, d_a_d_contact_modulus, -d_a_d_force*u9 + (3/2)*u7/u8, -d_a_d_ball_radius*u9, -d_a_d_cup_radius*u9, -d_a_d_contact_modulus*u9, d_a_d_force*u10, -d_R_d_ball_radius*u11 + d_a_d_ball_radius*u10, -d_R_d_cup_radius*u11 + d_a_d_cup_radius*u10, d_a_d_contact_modulus*u10,)


def hertz_line(line_load, relative_radius, contact_modulus):
    """Line contact: cylinder on a flat, pin in a hole."""
    half = 2*sqrt(line_load*relative_radius/contact_modulus)/sqrt(pi)
    return (half, 2*line_load/(pi*half),)


def hertz_line_slopes(line_load, relative_radius, contact_modulus):
    """Exact derivatives of hertz_line, output by output, input by input."""
    u0 = contact_modulus**(-1.0)
    u1 = sqrt(line_load*relative_radius*u0)/sqrt(pi)
    d_half_d_line_load = u1/line_load
    d_half_d_relative_radius = u1/relative_radius
    d_half_d_contact_modulus = -u0*u1
    half = 2*u1
    u2 = pi**(-1.0)
    u3 = 2*line_load*u2/half**2
    return (d_half_d_line_load, d_half_d_relative_radius, d_half_d_contact_modulus, -d_half_d_line_load*u3 + 2*u2/half, -d_half_d_relative_radius*u3, -d_half_d_contact_modulus*u3,)


def ball_on_ring(force, ball_radius, rim_radius, edge_curvature, contact_modulus):
    """Ball seated on a cone or on the rim of a hole."""
    rise = sqrt(1 - rim_radius**2/ball_radius**2)
    u0 = pi**(-1.0)
    line = (1/2)*force*u0/(rim_radius*rise)
    half = 2*sqrt(line/(contact_modulus*(edge_curvature + ball_radius**(-1.0))))/sqrt(pi)
    return (half, 2*line*u0/half,)


def ball_on_ring_slopes(force, ball_radius, rim_radius, edge_curvature, contact_modulus):
    """Exact derivatives of ball_on_ring, output by output, input by input."""
    u3 = rim_radius**(-1.0)
    u0 = ball_radius**(-2.0)
    u1 = rim_radius**2
    u2 = sqrt(-u0*u1 + 1)
    rise = u2
    u4 = pi**(-1.0)
    u5 = (1/2)*u4/rise
    u6 = u3*u5
    d_line_d_force = u6
    line = force*u6
    u7 = contact_modulus**(-1.0)
    u8 = (edge_curvature + ball_radius**(-1.0))**(-1.0)
    u9 = sqrt(line*u7*u8)/sqrt(pi)
    u12 = u9/line
    d_half_d_force = d_line_d_force*u12
    u10 = u2**(-1.0)
    d_rise_d_ball_radius = u1*u10/ball_radius**3
    u11 = (1/2)*force*u3*u4/rise**2
    d_line_d_ball_radius = -d_rise_d_ball_radius*u11
    u13 = u8*u9
    d_half_d_ball_radius = d_line_d_ball_radius*u12 + u0*u13
    d_rise_d_rim_radius = -rim_radius*u0*u10
    d_line_d_rim_radius = -d_rise_d_rim_radius*u11 - force*u5/u1
    d_half_d_rim_radius = d_line_d_rim_radius*u12
    d_half_d_edge_curvature = -u13
    d_half_d_contact_modulus = -u7*u9
    half = 2*u9
    u14 = half**(-1.0)
    u15 = 2*line*u4/half**2
    return (d_half_d_force, d_half_d_ball_radius, d_half_d_rim_radius, d_half_d_edge_curvature, d_half_d_contact_modulus, -d_half_d_force*u15 + 2*d_line_d_force*u14*u4, -d_half_d_ball_radius*u15 + 2*d_line_d_ball_radius*u14*u4, -d_half_d_rim_radius*u15 + 2*d_line_d_rim_radius*u14*u4, -d_half_d_edge_curvature*u15, -d_half_d_contact_modulus*u15,)


def ball_dent(force, ball_radius, hardness):
    """Dent of a ball that sinks until the hardness bears it."""
    return ((1/2)*force/(pi*ball_radius*hardness),)


def ball_dent_slopes(force, ball_radius, hardness):
    """Exact derivatives of ball_dent, output by output, input by input."""
    u0 = ball_radius**(-1.0)
    u1 = pi**(-1.0)
    u2 = (1/2)*u1/hardness
    return (u0*u2, -force*u2/ball_radius**2, -1/2*force*u0*u1/hardness**2,)


def hankinson(along_grain, across_grain, grain_angle):
    """Strength of wood at an angle to the grain (Hankinson)."""
    return (across_grain*along_grain/(across_grain*cos(grain_angle)**2 + along_grain*sin(grain_angle)**2),)


def hankinson_slopes(along_grain, across_grain, grain_angle):
    """Exact derivatives of hankinson, output by output, input by input."""
    u2 = sin(grain_angle)
    u3 = along_grain*u2**2
    u0 = cos(grain_angle)
    u1 = across_grain*u0**2
    u4 = u1 + u3
    u5 = u4**(-1.0)
    u6 = u4**(-2.0)
    u7 = across_grain*u6
    u8 = 2*u0*u2
    return (across_grain*u5 - u3*u7, -along_grain*u1*u6 + along_grain*u5, along_grain*u7*(across_grain*u8 - along_grain*u8),)


def dowel_pressure(force, diameter, bearing_length):
    """Pressure of a dowel on the wood that holds it."""
    return (force/(bearing_length*diameter),)


def dowel_pressure_slopes(force, diameter, bearing_length):
    """Exact derivatives of dowel_pressure, output by output, input by input."""
    u0 = bearing_length**(-1.0)
    u1 = diameter**(-1.0)
    return (u0*u1, -force*u0/diameter**2, -force*u1/bearing_length**2,)


def dowel_strength(gravity):
    """Bearing strength of wood under a nail or thin screw."""
    return ((229/2)*gravity**(46/25),)


def dowel_strength_slopes(gravity):
    """Exact derivatives of dowel_strength, output by output, input by input."""
    return ((5267/25)*gravity**(21/25),)


def shear_out(force, end_distance, bearing_length):
    """Shear stress where a dowel would push a plug out of the wood's end."""
    return ((1/2)*force/(bearing_length*end_distance),)


def shear_out_slopes(force, end_distance, bearing_length):
    """Exact derivatives of shear_out, output by output, input by input."""
    u0 = end_distance**(-1.0)
    u1 = (1/2)/bearing_length
    return (u0*u1, -force*u1/end_distance**2, -1/2*force*u0/bearing_length**2,)


def wood_screw_pull(gravity, diameter, thread_depth):
    """Withdrawal of a wood screw from side grain."""
    return ((433/4)*diameter*gravity**2*thread_depth,)


def wood_screw_pull_slopes(gravity, diameter, thread_depth):
    """Exact derivatives of wood_screw_pull, output by output, input by input."""
    u0 = (433/4)*gravity**2
    return ((433/2)*diameter*gravity*thread_depth, thread_depth*u0, diameter*u0,)


def lag_screw_pull(gravity, diameter, thread_depth):
    """Withdrawal of a lag screw or coarse insert from side grain."""
    return ((627/5)*diameter**(3/4)*gravity**(3/2)*thread_depth,)


def lag_screw_pull_slopes(gravity, diameter, thread_depth):
    """Exact derivatives of lag_screw_pull, output by output, input by input."""
    u0 = diameter**(3/4)
    u1 = gravity**(3/2)
    return ((1881/10)*sqrt(gravity)*thread_depth*u0, (1881/20)*thread_depth*u1/diameter**(1/4), (627/5)*u0*u1,)


def at_moisture(dry_value, green_value, moisture, meeting_point):
    """A property of wood at another moisture content."""
    return (dry_value*(dry_value/green_value)**((12 - moisture)/(meeting_point - 12)),)


def at_moisture_slopes(dry_value, green_value, moisture, meeting_point):
    """Exact derivatives of at_moisture, output by output, input by input."""
    u0 = dry_value/green_value
    u1 = meeting_point - 12
    u2 = u1**(-1.0)
    u3 = 12 - moisture
    u4 = u2*u3
    u5 = u0**u4
    u6 = u4*u5
    u7 = dry_value*u5*log(u0)
    return (u5 + u6, -u0*u6, -u2*u7, -u3*u7/u1**2,)
