"""Written by ``python -m lutherie_geom.theory.write`` from the derivations in ``joint_strength.py``; not to be edited."""

from numpy import cos, log, pi, sin, sqrt

def strip_areas(engagement, pitch, diameter, pitch_diameter, bore_diameter, nut_pitch_diameter):
    """Areas on which a thread strips: screw's at the nut's bore, nut's at the screw's crest."""
    u0 = (1/2)*pitch
    u1 = (1/3)*sqrt(3)
    turns = engagement/pitch
    u2 = pi*turns
    return (bore_diameter*u2*(u0 + u1*(-bore_diameter + pitch_diameter)), diameter*u2*(u0 + u1*(diameter - nut_pitch_diameter)),)


def strip_areas_slopes(engagement, pitch, diameter, pitch_diameter, bore_diameter, nut_pitch_diameter):
    """Exact derivatives of strip_areas, output by output, input by input."""
    u0 = pitch**(-1.0)
    d_turns_d_engagement = u0
    u1 = pi*d_turns_d_engagement
    u2 = (1/2)*pitch
    u3 = (1/3)*sqrt(3)
    u4 = u2 + u3*(-bore_diameter + pitch_diameter)
    u5 = bore_diameter*u4
    turns = engagement*u0
    u6 = pi*turns
    u7 = (1/2)*u6
    d_turns_d_pitch = -engagement/pitch**2
    u8 = pi*d_turns_d_pitch
    u9 = u3*u6
    u10 = bore_diameter*u9
    u11 = u2 + u3*(diameter - nut_pitch_diameter)
    u12 = diameter*u11
    u13 = diameter*u9
    return (u1*u5, bore_diameter*u7 + u5*u8, 0, u10, pi*turns*u4 - u10, 0, u1*u12, diameter*u7 + u12*u8, u11*u6 + u13, 0, 0, -u13,)


def held_moment(modulus, root_diameter, swing, length, fixity):
    """Moment that bends a screw whose head may not tip by its swing."""
    EI = (1/64)*pi*modulus*root_diameter**4
    return (EI*fixity*swing/length,)


def held_moment_slopes(modulus, root_diameter, swing, length, fixity):
    """Exact derivatives of held_moment, output by output, input by input."""
    u0 = (1/64)*pi*root_diameter**4
    d_EI_d_modulus = u0
    u1 = length**(-1.0)
    u2 = fixity*swing
    u3 = u1*u2
    d_EI_d_root_diameter = (1/16)*pi*modulus*root_diameter**3
    EI = modulus*u0
    u4 = EI*u1
    return (d_EI_d_modulus*u3, d_EI_d_root_diameter*u3, fixity*u4, -EI*u2/length**2, swing*u4,)


def pushed_moment(modulus, root_diameter, offset, length):
    """Moment in a screw held at one end and pushed aside at the other."""
    EI = (1/64)*pi*modulus*root_diameter**4
    return (3*EI*offset/length**2,)


def pushed_moment_slopes(modulus, root_diameter, offset, length):
    """Exact derivatives of pushed_moment, output by output, input by input."""
    u0 = (1/64)*pi*root_diameter**4
    d_EI_d_modulus = u0
    u1 = 3/length**2
    u2 = offset*u1
    d_EI_d_root_diameter = (1/16)*pi*modulus*root_diameter**3
    EI = modulus*u0
    return (d_EI_d_modulus*u2, d_EI_d_root_diameter*u2, EI*u1, -6*EI*offset/length**3,)


def rim_moment(force, face_diameter):
    """Largest moment that a flat face can pass on: all the force at its rim."""
    return ((1/2)*face_diameter*force,)


def rim_moment_slopes(force, face_diameter):
    """Exact derivatives of rim_moment, output by output, input by input."""
    return ((1/2)*face_diameter, (1/2)*force,)


def bent_stress(moment, root_diameter):
    """Bending stress in a round screw."""
    return (32*moment/(pi*root_diameter**3),)


def bent_stress_slopes(moment, root_diameter):
    """Exact derivatives of bent_stress, output by output, input by input."""
    u0 = pi**(-1.0)
    return (32*u0/root_diameter**3, -96*moment*u0/root_diameter**4,)


def twist_stress(torque, root_diameter):
    """Shear stress in a twisted round screw."""
    return (16*torque/(pi*root_diameter**3),)


def twist_stress_slopes(torque, root_diameter):
    """Exact derivatives of twist_stress, output by output, input by input."""
    u0 = pi**(-1.0)
    return (16*u0/root_diameter**3, -48*torque*u0/root_diameter**4,)


def whole_stress(axial_stress, bending_stress, twist_stress):
    """Pull, bending and twist together in one stress."""
    return (sqrt(3*twist_stress**2 + (axial_stress + bending_stress)**2),)


def whole_stress_slopes(axial_stress, bending_stress, twist_stress):
    """Exact derivatives of whole_stress, output by output, input by input."""
    u0 = axial_stress + bending_stress
    u1 = 1/sqrt(3*twist_stress**2 + u0**2)
    u2 = u0*u1
    return (u2, u2, 3*twist_stress*u1,)


def thread_grip(friction, flank):
    """Friction of a thread with slanted flanks; self-locking when above the lead's tangent."""
    return (friction/cos(flank),)


def thread_grip_slopes(friction, flank):
    """Exact derivatives of thread_grip, output by output, input by input."""
    u0 = cos(flank)
    return (u0**(-1.0), friction*sin(flank)/u0**2,)


def washer_pressure(force, washer_diameter, bore):
    """Pressure of a washer on what it lies on."""
    return (4*force/(pi*(-bore**2 + washer_diameter**2)),)


def washer_pressure_slopes(force, washer_diameter, bore):
    """Exact derivatives of washer_pressure, output by output, input by input."""
    u0 = pi**(-1.0)
    u1 = -bore**2 + washer_diameter**2
    u2 = 8*force*u0/u1**2
    return (4*u0/u1, -u2*washer_diameter, bore*u2,)


def first_yield(yield_stress):
    """Peak pressure at which a contact first yields, under its surface."""
    return ((8/5)*yield_stress, (179/100)*yield_stress,)


def first_yield_slopes(yield_stress):
    """Exact derivatives of first_yield, output by output, input by input."""
    return (8/5, 179/100,)


def ball_on_points(force, ball_radius, rim_radius, points, edge_curvature, contact_modulus):
    """Ball that touches a few places of a ring: socket's corners, the flanks of a vee."""
    rise = sqrt(1 - rim_radius**2/ball_radius**2)
    each = force/(points*rise)
    both = (edge_curvature + ball_radius**(-1.0))**(-1.0)
    u0 = sqrt(ball_radius*both)
    a = (1/2)*6**(1/3)*(each*u0/contact_modulus)**(1/3)
    u1 = a**2
    return (a, (3/2)*each/(pi*u1), u1/u0,)


def ball_on_points_slopes(force, ball_radius, rim_radius, points, edge_curvature, contact_modulus):
    """Exact derivatives of ball_on_points, output by output, input by input."""
    u3 = points**(-1.0)
    u0 = ball_radius**(-2.0)
    u1 = rim_radius**2
    u2 = sqrt(-u0*u1 + 1)
    rise = u2
    u4 = rise**(-1.0)
    u5 = u3*u4
    d_each_d_force = u5
    each = force*u5
    u8 = contact_modulus**(-1.0)
    u6 = ball_radius**(-1.0)
    u7 = edge_curvature + u6
    both = u7**(-1.0)
    u9 = sqrt(ball_radius*both)
    u10 = 6**(1/3)*(each*u8*u9)**(1/3)
    u15 = (1/6)*u10
    u16 = u15/each
    d_a_d_force = d_each_d_force*u16
    u13 = u7**(-2.0)
    d_both_d_ball_radius = u0*u13
    u11 = u2**(-1.0)
    d_rise_d_ball_radius = u1*u11/ball_radius**3
    u12 = force*u3/rise**2
    d_each_d_ball_radius = -d_rise_d_ball_radius*u12
    u14 = (1/12)*u10
    u17 = both**(-1.0)
    u18 = u14*u17
    d_a_d_ball_radius = d_both_d_ball_radius*u18 + d_each_d_ball_radius*u16 + u14*u6
    d_rise_d_rim_radius = -rim_radius*u0*u11
    d_each_d_rim_radius = -d_rise_d_rim_radius*u12
    d_a_d_rim_radius = d_each_d_rim_radius*u16
    d_each_d_points = -force*u4/points**2
    d_a_d_points = d_each_d_points*u16
    d_both_d_edge_curvature = -u13
    d_a_d_edge_curvature = d_both_d_edge_curvature*u18
    d_a_d_contact_modulus = -u15*u8
    u19 = pi**(-1.0)
    a = (1/2)*u10
    u20 = a**2
    u21 = (3/2)*u19/u20
    u22 = 3*each*u19/a**3
    u23 = u9**(-1.0)
    u24 = 2*a*u23
    u25 = (1/2)*u20*u23
    u26 = u17*u25
    return (d_a_d_force, d_a_d_ball_radius, d_a_d_rim_radius, d_a_d_points, d_a_d_edge_curvature, d_a_d_contact_modulus, -d_a_d_force*u22 + d_each_d_force*u21, -d_a_d_ball_radius*u22 + d_each_d_ball_radius*u21, -d_a_d_rim_radius*u22 + d_each_d_rim_radius*u21, -d_a_d_points*u22 + d_each_d_points*u21, -d_a_d_edge_curvature*u22, -d_a_d_contact_modulus*u22, d_a_d_force*u24, 2*a*d_a_d_ball_radius*u23 - d_both_d_ball_radius*u26 - u25*u6, d_a_d_rim_radius*u24, d_a_d_points*u24, 2*a*d_a_d_edge_curvature*u23 - d_both_d_edge_curvature*u26, d_a_d_contact_modulus*u24,)


def ring_dent(force, ball_radius, rim_radius, hardness):
    """Band that a ball presses into a cone or a rim until the hardness bears it."""
    rise = sqrt(1 - rim_radius**2/ball_radius**2)
    u0 = rise**(-1.0)
    w_d = (1/2)*force*u0/(pi*hardness*rim_radius)
    return (w_d, (1/8)*u0*w_d**2/ball_radius,)


def ring_dent_slopes(force, ball_radius, rim_radius, hardness):
    """Exact derivatives of ring_dent, output by output, input by input."""
    u3 = rim_radius**(-1.0)
    u0 = ball_radius**(-2.0)
    u1 = rim_radius**2
    u2 = sqrt(-u0*u1 + 1)
    rise = u2
    u4 = rise**(-1.0)
    u5 = pi**(-1.0)
    u6 = hardness**(-1.0)
    u7 = (1/2)*u4*u5*u6
    u8 = u3*u7
    d_w_d_d_force = u8
    u12 = (1/2)*force*u3*u5
    u13 = u12*u6
    u9 = u2**(-1.0)
    d_rise_d_ball_radius = u1*u9/ball_radius**3
    u10 = rise**(-2.0)
    u14 = d_rise_d_ball_radius*u10
    d_w_d_d_ball_radius = -u13*u14
    d_rise_d_rim_radius = -rim_radius*u0*u9
    u11 = d_rise_d_rim_radius*u10
    d_w_d_d_rim_radius = -force*u7/u1 - u11*u13
    d_w_d_d_hardness = -u12*u4/hardness**2
    u15 = ball_radius**(-1.0)
    w_d = force*u8
    u16 = (1/4)*u15*u4*w_d
    u17 = (1/8)*w_d**2
    u18 = u15*u17
    return (d_w_d_d_force, d_w_d_d_ball_radius, d_w_d_d_rim_radius, d_w_d_d_hardness, d_w_d_d_force*u16, (1/4)*d_w_d_d_ball_radius*u15*u4*w_d - u0*u17*u4 - u14*u18, (1/4)*d_w_d_d_rim_radius*u15*u4*w_d - u11*u18, d_w_d_d_hardness*u16,)


def rim_dent(force, ball_radius, rim_radius, hardness):
    """Sinking of a ball on a truly sharp rim until a band is wide enough to bear it."""
    cosb = rim_radius/ball_radius
    rise = sqrt(1 - rim_radius**2/ball_radius**2)
    w_d = (1/2)*force/(pi*hardness*rim_radius*rise)
    return (cosb*w_d,)


def rim_dent_slopes(force, ball_radius, rim_radius, hardness):
    """Exact derivatives of rim_dent, output by output, input by input."""
    u9 = ball_radius**(-1.0)
    cosb = rim_radius*u9
    u3 = rim_radius**(-1.0)
    u4 = pi**(-1.0)
    u5 = hardness**(-1.0)
    u0 = ball_radius**(-2.0)
    u1 = rim_radius**2
    u2 = sqrt(-u0*u1 + 1)
    rise = u2
    u6 = rise**(-1.0)
    u7 = (1/2)*u4*u5*u6
    u8 = u3*u7
    d_w_d_d_force = u8
    u11 = rim_radius*u0
    d_cosb_d_ball_radius = -u11
    u10 = u2**(-1.0)
    d_rise_d_ball_radius = u1*u10/ball_radius**3
    u12 = (1/2)*force*u3*u4
    u13 = u12*u5/rise**2
    d_w_d_d_ball_radius = -d_rise_d_ball_radius*u13
    w_d = force*u8
    d_cosb_d_rim_radius = u9
    d_rise_d_rim_radius = -u10*u11
    d_w_d_d_rim_radius = -d_rise_d_rim_radius*u13 - force*u7/u1
    d_w_d_d_hardness = -u12*u6/hardness**2
    return (cosb*d_w_d_d_force, cosb*d_w_d_d_ball_radius + d_cosb_d_ball_radius*w_d, cosb*d_w_d_d_rim_radius + d_cosb_d_rim_radius*w_d, cosb*d_w_d_d_hardness,)


def bolt_bearing(gravity, dowel_diameter):
    """Bearing strength of wood under a thick dowel or bolt."""
    return ((386/5)*gravity, 212*gravity**(29/20)/sqrt(dowel_diameter),)


def bolt_bearing_slopes(gravity, dowel_diameter):
    """Exact derivatives of bolt_bearing, output by output, input by input."""
    return (386/5, 0, (1537/5)*gravity**(9/20)/sqrt(dowel_diameter), -106*gravity**(29/20)/dowel_diameter**(3/2),)


def across_from_gravity(gravity):
    """Estimate of the strength across the grain from the gravity alone."""
    return ((108/5)*gravity**(209/100), (33/2)*gravity**(157/100),)


def across_from_gravity_slopes(gravity):
    """Exact derivatives of across_from_gravity, output by output, input by input."""
    return ((5643/125)*gravity**(109/100), (5181/200)*gravity**(57/100),)


def glue_load(cover_width, cover_height, cavity, glue_strength):
    """Push that a cover glued over a cavity bears."""
    lost = (1/4)*pi*cavity**2
    return (glue_strength*(cover_height*cover_width - lost),)


def glue_load_slopes(cover_width, cover_height, cavity, glue_strength):
    """Exact derivatives of glue_load, output by output, input by input."""
    d_lost_d_cavity = (1/2)*pi*cavity
    lost = (1/4)*pi*cavity**2
    return (cover_height*glue_strength, cover_width*glue_strength, -d_lost_d_cavity*glue_strength, cover_height*cover_width - lost,)


def creep_growth(time, long_time, long_creep, exponent):
    """How the give of wood grows under a lasting load."""
    return ((time/long_time)**exponent*(long_creep - 1) + 1,)


def creep_growth_slopes(time, long_time, long_creep, exponent):
    """Exact derivatives of creep_growth, output by output, input by input."""
    u0 = long_time**(-1.0)
    u1 = time*u0
    u2 = u1**exponent
    u3 = u2*(long_creep - 1)
    u4 = exponent*u3
    return (u4/time, -u0*u4, u2, u3*log(u1),)


def preload_later(preload, screw_stiffness, member_stiffness, creep, bedding, shrinkage):
    """Preload after bedding-in, creep and a change of moisture."""
    u0 = member_stiffness**(-1.0)
    u1 = screw_stiffness**(-1.0)
    wound = preload*(u0 + u1)
    return ((-bedding - shrinkage + wound)/(creep*u0 + u1),)


def preload_later_slopes(preload, screw_stiffness, member_stiffness, creep, bedding, shrinkage):
    """Exact derivatives of preload_later, output by output, input by input."""
    u0 = member_stiffness**(-1.0)
    u1 = screw_stiffness**(-1.0)
    u2 = u0 + u1
    d_wound_d_preload = u2
    u5 = creep*u0 + u1
    u6 = u5**(-1.0)
    u3 = screw_stiffness**(-2.0)
    d_wound_d_screw_stiffness = -preload*u3
    wound = preload*u2
    u7 = (-bedding - shrinkage + wound)/u5**2
    u4 = member_stiffness**(-2.0)
    d_wound_d_member_stiffness = -preload*u4
    u8 = -u6
    return (d_wound_d_preload*u6, d_wound_d_screw_stiffness*u6 + u3*u7, creep*u4*u7 + d_wound_d_member_stiffness*u6, -u0*u7, u8, u8,)
