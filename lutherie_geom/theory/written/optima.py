"""Written by ``python -m lutherie_geom.theory.write`` from the derivations in ``optima.py``; not to be edited."""

from numpy import cos, sin, sqrt

def still_length(x_nut_body, z_nut_body, x_saddle, z_saddle, x_p):
    """Pivot height at which tilt does not change a string's length."""
    return ((x_nut_body*z_saddle + x_p*z_nut_body - x_p*z_saddle - x_saddle*z_nut_body)/(x_nut_body - x_saddle),)


def still_length_slopes(x_nut_body, z_nut_body, x_saddle, z_saddle, x_p):
    """Exact derivatives of still_length, output by output, input by input."""
    u0 = -x_saddle
    u1 = u0 + x_nut_body
    u2 = u1**(-1.0)
    u3 = -(x_nut_body*z_saddle + x_p*z_nut_body - x_p*z_saddle - x_saddle*z_nut_body)/u1**2
    return (u2*z_saddle + u3, u2*(u0 + x_p), -u2*z_nut_body - u3, u2*(x_nut_body - x_p), u2*(z_nut_body - z_saddle),)


def step_rule(rate, tilt, pitch_tilt, arm):
    """Step of the action for a small turn of the tilt screw."""
    theta = pitch_tilt*tilt/arm
    return (rate*theta,)


def step_rule_slopes(rate, tilt, pitch_tilt, arm):
    """Exact derivatives of step_rule, output by output, input by input."""
    u0 = arm**(-1.0)
    u1 = pitch_tilt*u0
    theta = tilt*u1
    d_theta_d_tilt = u1
    d_theta_d_pitch_tilt = tilt*u0
    d_theta_d_arm = -pitch_tilt*tilt/arm**2
    return (theta, d_theta_d_tilt*rate, d_theta_d_pitch_tilt*rate, d_theta_d_arm*rate,)


def arm_for_step(rate, tilt, pitch_tilt, action_step):
    """Arm of the tilt screw that gives a wanted step of the action."""
    return (pitch_tilt*rate*tilt/action_step,)


def arm_for_step_slopes(rate, tilt, pitch_tilt, action_step):
    """Exact derivatives of arm_for_step, output by output, input by input."""
    u0 = action_step**(-1.0)
    u1 = pitch_tilt*u0
    u2 = rate*tilt
    return (tilt*u1, rate*u1, u0*u2, -pitch_tilt*u2/action_step**2,)


def pitch_for_step(rate, tilt, arm, action_step):
    """Pitch of the tilt screw that gives a wanted step of the action."""
    return (action_step*arm/(rate*tilt),)


def pitch_for_step_slopes(rate, tilt, arm, action_step):
    """Exact derivatives of pitch_for_step, output by output, input by input."""
    u0 = tilt**(-1.0)
    u1 = action_step*arm
    u2 = rate**(-1.0)
    u3 = u0*u2
    return (-u0*u1/rate**2, -u1*u2/tilt**2, action_step*u3, arm*u3,)


def steered_tilt(psi, x_p, x_head, x_receiver, arm, screw_length):
    """Tilt that steering brings, the tilt screw left alone, receiver a cross dowel (small yaw)."""
    return ((1/2)*psi**2*(x_head - x_p)*(x_p - x_receiver)/(arm*screw_length),)


def steered_tilt_slopes(psi, x_p, x_head, x_receiver, arm, screw_length):
    """Exact derivatives of steered_tilt, output by output, input by input."""
    u0 = x_p - x_receiver
    u1 = arm**(-1.0)
    u2 = screw_length**(-1.0)
    u3 = x_head - x_p
    u4 = u1*u2*u3
    u5 = (1/2)*psi**2
    u6 = u4*u5
    u7 = u0*u2*u5
    u8 = u1*u7
    return (psi*u0*u4, u6 - u8, u8, -u6, -u3*u7/arm**2, -u0*u1*u3*u5/screw_length**2,)


def steered_tilt_rod(psi, x_p, x_head, arm):
    """Tilt that steering brings, the tilt screw left alone, receiver a rod along the heel (small yaw)."""
    return ((1/2)*psi**2*(-x_head + x_p)/arm,)


def steered_tilt_rod_slopes(psi, x_p, x_head, arm):
    """Exact derivatives of steered_tilt_rod, output by output, input by input."""
    u0 = arm**(-1.0)
    u1 = -x_head + x_p
    u2 = (1/2)*psi**2
    u3 = u0*u2
    return (psi*u0*u1, u3, -u3, -u1*u2/arm**2,)


def steered_action(psi, x_p, x_saddle, alpha, radius_fret, string_part, x_head, x_receiver, arm, screw_length):
    """What steering does to the action on the centreline, receiver a cross dowel (small yaw)."""
    u0 = string_part*(-x_p + x_saddle)
    board = sin(alpha) + u0/radius_fret
    u1 = (1/2)*psi**2
    return (u0*(board*u1 + u1*(x_head - x_p)*(x_p - x_receiver)/(arm*screw_length)),)


def steered_action_slopes(psi, x_p, x_saddle, alpha, radius_fret, string_part, x_head, x_receiver, arm, screw_length):
    """Exact derivatives of steered_action, output by output, input by input."""
    u0 = -x_p + x_saddle
    u1 = radius_fret**(-1.0)
    u2 = string_part*u1
    board = u0*u2 + sin(alpha)
    u3 = string_part*u0
    u4 = x_p - x_receiver
    u5 = arm**(-1.0)
    u6 = screw_length**(-1.0)
    u7 = x_head - x_p
    u8 = u5*u6*u7
    u9 = u4*u8
    d_board_d_x_p = -u2
    u10 = (1/2)*psi**2
    u11 = board*u10 + u10*u9
    u12 = string_part*u11
    u13 = u10*u8
    u14 = u10*u4*u6
    u15 = u14*u5
    u16 = u10*u3
    d_board_d_x_saddle = u2
    d_board_d_alpha = cos(alpha)
    d_board_d_radius_fret = -u3/radius_fret**2
    d_board_d_string_part = u0*u1
    return (u3*(board*psi + psi*u9), d_board_d_x_p*u16 - u12 + u3*(u13 - u15), d_board_d_x_saddle*u16 + u12, d_board_d_alpha*u16, d_board_d_radius_fret*u16, d_board_d_string_part*u16 + u0*u11, u15*u3, -u13*u3, -u14*u3*u7/arm**2, -u16*u4*u5*u7/screw_length**2,)


def still_depth(x_saddle, alpha, radius_fret, string_part, x_head, x_receiver, arm, screw_length):
    """Pivot depth at which steering leaves the action on the centreline alone, receiver a cross dowel."""
    u0 = radius_fret**(-1.0)
    half = -1/2*u0*(arm*screw_length*string_part - radius_fret*x_head - radius_fret*x_receiver)
    u1 = arm*screw_length
    off = sqrt(half**2 + string_part*u0*u1*x_saddle + u1*sin(alpha) - x_head*x_receiver)
    return (half - off, half + off,)


def still_depth_slopes(x_saddle, alpha, radius_fret, string_part, x_head, x_receiver, arm, screw_length):
    """Exact derivatives of still_depth, output by output, input by input."""
    u0 = radius_fret**(-1.0)
    u1 = arm*screw_length*string_part - radius_fret*x_head - radius_fret*x_receiver
    half = -1/2*u0*u1
    u2 = sin(alpha)
    u3 = arm*screw_length
    u4 = string_part*u3
    u5 = u4*x_saddle
    u6 = sqrt(half**2 + u0*u5 + u2*u3 - x_head*x_receiver)
    u13 = u6**(-1.0)
    u7 = (1/2)*u0
    d_off_d_x_saddle = u13*u4*u7
    u14 = (1/2)*u13
    d_off_d_alpha = u14*u3*cos(alpha)
    u8 = radius_fret**(-2.0)
    d_half_d_radius_fret = (1/2)*u1*u8 - u7*(-x_head - x_receiver)
    d_off_d_radius_fret = d_half_d_radius_fret*half*u13 - u14*u5*u8
    u9 = u3*u7
    d_half_d_string_part = -u9
    u15 = half*u13
    d_off_d_string_part = d_half_d_string_part*u15 + u13*u9*x_saddle
    u16 = (1/2)*u15
    d_off_d_x_head = -u14*x_receiver + u16
    d_off_d_x_receiver = -u14*x_head + u16
    u10 = string_part*u7
    u11 = screw_length*u10
    d_half_d_arm = -u11
    u17 = (1/2)*u2
    d_off_d_arm = d_half_d_arm*u15 + u13*(screw_length*u17 + u11*x_saddle)
    u12 = arm*u10
    d_half_d_screw_length = -u12
    d_off_d_screw_length = d_half_d_screw_length*u15 + u13*(arm*u17 + u12*x_saddle)
    return (-d_off_d_x_saddle, -d_off_d_alpha, d_half_d_radius_fret - d_off_d_radius_fret, d_half_d_string_part - d_off_d_string_part, 1/2 - d_off_d_x_head, 1/2 - d_off_d_x_receiver, d_half_d_arm - d_off_d_arm, d_half_d_screw_length - d_off_d_screw_length, d_off_d_x_saddle, d_off_d_alpha, d_half_d_radius_fret + d_off_d_radius_fret, d_half_d_string_part + d_off_d_string_part, d_off_d_x_head + 1/2, d_off_d_x_receiver + 1/2, d_half_d_arm + d_off_d_arm, d_half_d_screw_length + d_off_d_screw_length,)


def still_depth_rod(x_saddle, alpha, radius_fret, string_part, x_head, arm):
    """Pivot depth at which steering leaves the action on the centreline alone, receiver a rod along the heel."""
    u0 = arm*string_part
    return ((arm*radius_fret*sin(alpha) - radius_fret*x_head + u0*x_saddle)/(-radius_fret + u0),)


def still_depth_rod_slopes(x_saddle, alpha, radius_fret, string_part, x_head, arm):
    """Exact derivatives of still_depth_rod, output by output, input by input."""
    u0 = arm*string_part
    u1 = -radius_fret + u0
    u2 = u1**(-1.0)
    u3 = radius_fret*u2
    u4 = sin(alpha)
    u5 = arm*u4
    u6 = (radius_fret*u5 - radius_fret*x_head + u0*x_saddle)/u1**2
    return (u0*u2, arm*u3*cos(alpha), u2*(u5 - x_head) + u6, arm*u2*x_saddle - arm*u6, -u3, -string_part*u6 + u2*(radius_fret*u4 + string_part*x_saddle),)
