"""Written by ``python -m lutherie_geom.theory.write`` from the derivations in ``fasteners.py``; not to be edited."""

from numpy import cos, pi, sin, sqrt

def metric_thread(diameter, pitch):
    """ISO metric thread from nominal diameter and pitch."""
    height = (1/2)*sqrt(3)*pitch
    d_2 = diameter - 3/4*height
    d_3 = diameter - 17/12*height
    D_1 = diameter - 5/4*height
    return (d_2, d_3, D_1, (1/4)*pi*((1/2)*d_2 + (1/2)*d_3)**2,)


def metric_thread_slopes(diameter, pitch):
    """Exact derivatives of metric_thread, output by output, input by input."""
    u0 = sqrt(3)
    height = (1/2)*pitch*u0
    d_2 = diameter - 3/4*height
    d_3 = diameter - 17/12*height
    u1 = pi*((1/2)*d_2 + (1/2)*d_3)
    return (1, -3/8*u0, 1, -17/24*u0, 1, -5/8*u0, (1/2)*u1, -13/48*u0*u1,)


def unified_thread(diameter, tpi):
    """Unified (inch) thread from nominal diameter and threads to the inch."""
    P = (127/5)/tpi
    u0 = -diameter
    d_2 = -3/8*sqrt(3)*P - u0
    return (P, d_2, (1/4)*pi*(-9743/10000*P - u0)**2,)


def unified_thread_slopes(diameter, tpi):
    """Exact derivatives of unified_thread, output by output, input by input."""
    d_P_d_tpi = -(127/5)/tpi**2
    u0 = (3/8)*sqrt(3)
    d_d_2_d_tpi = -d_P_d_tpi*u0
    P = (127/5)/tpi
    u1 = (1/4)*pi
    return (0, d_P_d_tpi, 1, d_d_2_d_tpi, u1*(-9743/5000*P + 2*diameter), d_P_d_tpi*u1*((94926049/50000000)*P - 9743/5000*diameter),)


def lead_slope(pitch, pitch_diameter, starts):
    """Tangent of the lead angle: rise of the thread over its way round."""
    return (pitch*starts/(pi*pitch_diameter),)


def lead_slope_slopes(pitch, pitch_diameter, starts):
    """Exact derivatives of lead_slope, output by output, input by input."""
    u0 = pi**(-1.0)
    u1 = u0/pitch_diameter
    return (starts*u1, -pitch*starts*u0/pitch_diameter**2, pitch*u1,)


def axial_play(nut_pitch_diameter, pitch_diameter):
    """Axial play between screw and nut thread, flanks at 30 degrees."""
    return ((1/3)*sqrt(3)*(nut_pitch_diameter - pitch_diameter),)


def axial_play_slopes(nut_pitch_diameter, pitch_diameter):
    """Exact derivatives of axial_play, output by output, input by input."""
    u0 = (1/3)*sqrt(3)
    return (u0, -u0,)


def torque_against(force, pitch_diameter, tan_lead, flank, friction, head_mean_diameter, head_friction):
    """Torque that turns a screw against its load (tightens, lifts)."""
    grip = friction/cos(flank)
    u0 = (1/2)*force
    thread = pitch_diameter*u0*(grip + tan_lead)/(-grip*tan_lead + 1)
    return (head_friction*head_mean_diameter*u0 + thread,)


def torque_against_slopes(force, pitch_diameter, tan_lead, flank, friction, head_mean_diameter, head_friction):
    """Exact derivatives of torque_against, output by output, input by input."""
    u0 = cos(flank)
    u1 = u0**(-1.0)
    grip = friction*u1
    u3 = -grip*tan_lead + 1
    u4 = u3**(-1.0)
    u5 = grip + tan_lead
    u6 = u4*u5
    u7 = pitch_diameter*u6
    d_thread_d_force = (1/2)*u7
    u12 = (1/2)*head_friction
    u2 = (1/2)*force
    d_thread_d_pitch_diameter = u2*u6
    u8 = pitch_diameter*u2
    u10 = u5*u8/u3**2
    u9 = u4*u8
    d_thread_d_tan_lead = grip*u10 + u9
    d_grip_d_flank = friction*sin(flank)/u0**2
    u11 = tan_lead*u10 + u9
    d_thread_d_flank = d_grip_d_flank*u11
    d_grip_d_friction = u1
    d_thread_d_friction = d_grip_d_friction*u11
    return (d_thread_d_force + head_mean_diameter*u12, d_thread_d_pitch_diameter, d_thread_d_tan_lead, d_thread_d_flank, d_thread_d_friction, force*u12, head_mean_diameter*u2,)


def torque_with(force, pitch_diameter, tan_lead, flank, friction, head_mean_diameter, head_friction):
    """Torque that turns a screw with its load (slackens, lowers)."""
    grip = friction/cos(flank)
    u0 = (1/2)*force
    thread = pitch_diameter*u0*(grip - tan_lead)/(grip*tan_lead + 1)
    return (head_friction*head_mean_diameter*u0 + thread,)


def torque_with_slopes(force, pitch_diameter, tan_lead, flank, friction, head_mean_diameter, head_friction):
    """Exact derivatives of torque_with, output by output, input by input."""
    u0 = cos(flank)
    u1 = u0**(-1.0)
    grip = friction*u1
    u3 = grip*tan_lead + 1
    u4 = u3**(-1.0)
    u5 = grip - tan_lead
    u6 = u4*u5
    u7 = pitch_diameter*u6
    d_thread_d_force = (1/2)*u7
    u12 = (1/2)*head_friction
    u2 = (1/2)*force
    d_thread_d_pitch_diameter = u2*u6
    u8 = pitch_diameter*u2
    u10 = u5*u8/u3**2
    u9 = u4*u8
    d_thread_d_tan_lead = -grip*u10 - u9
    d_grip_d_flank = friction*sin(flank)/u0**2
    u11 = -tan_lead*u10 + u9
    d_thread_d_flank = d_grip_d_flank*u11
    d_grip_d_friction = u1
    d_thread_d_friction = d_grip_d_friction*u11
    return (d_thread_d_force + head_mean_diameter*u12, d_thread_d_pitch_diameter, d_thread_d_tan_lead, d_thread_d_flank, d_thread_d_friction, force*u12, head_mean_diameter*u2,)


def torque_rule(nut_factor, diameter, force):
    """Short rule for the tightening torque."""
    return (diameter*force*nut_factor,)


def torque_rule_slopes(nut_factor, diameter, force):
    """Exact derivatives of torque_rule, output by output, input by input."""
    return (diameter*force, force*nut_factor, diameter*nut_factor,)


def screw_load(stress_area, strength):
    """Load that a screw bears at a given strength."""
    return (strength*stress_area,)


def screw_load_slopes(stress_area, strength):
    """Exact derivatives of screw_load, output by output, input by input."""
    return (strength, stress_area,)
