"""Written by ``python -m lutherie_geom.theory.write`` from the derivations in ``neck_set.py``; not to be edited."""

from numpy import arcsin, arctan, arctan2, cos, sin, sqrt, tan

def straightedge(x_bridge, alpha, z_joint, curvature, x_apex, along, across):
    """Where a straightedge on the frets meets the bridge, above the soundboard."""
    a_2 = along*x_apex**2
    r_2 = along*(-x_apex + x_bridge)**2
    u0 = curvature**2
    return (-curvature*(a_2 - r_2)/(sqrt(-a_2*u0 + 1) + sqrt(-r_2*u0 + 1)) + x_bridge*tan(alpha) + z_joint,)


def straightedge_slopes(x_bridge, alpha, z_joint, curvature, x_apex, along, across):
    """Exact derivatives of straightedge, output by output, input by input."""
    u2 = 2*x_apex
    u3 = u2 - 2*x_bridge
    d_r_2_d_x_bridge = -along*u3
    u1 = (-x_apex + x_bridge)**2
    r_2 = along*u1
    u4 = curvature**2
    u6 = sqrt(-r_2*u4 + 1)
    u10 = u6**(-1.0)
    u0 = x_apex**2
    a_2 = along*u0
    u11 = a_2 - r_2
    u5 = sqrt(-a_2*u4 + 1)
    u7 = u5 + u6
    u12 = u11/u7**2
    u13 = (1/2)*curvature**3*u12
    u8 = u7**(-1.0)
    u9 = curvature*u8
    u14 = -u10*u13 + u9
    u15 = tan(alpha)
    u16 = u5**(-1.0)
    d_a_2_d_x_apex = along*u2
    d_r_2_d_x_apex = along*u3
    u17 = -u13*u16 - u9
    d_a_2_d_along = u0
    d_r_2_d_along = u1
    return (d_r_2_d_x_bridge*u14 + u15, x_bridge*(u15**2 + 1), 1, -curvature*u12*(a_2*curvature*u16 + curvature*r_2*u10) - u11*u8, d_a_2_d_x_apex*u17 + d_r_2_d_x_apex*u14, d_a_2_d_along*u17 + d_r_2_d_along*u14, 0,)


def saddle_for_action(action, x_fret, x_nut, z_nut, dip, alpha, z_joint, x_saddle, y_saddle, curvature, x_apex, along, across):
    """Saddle height that gives a target action, neck angle given; one string seen from the side."""
    a_2 = along*x_apex**2
    u2 = -x_saddle
    r_2 = across*y_saddle**2 + along*(-u2 - x_apex)**2
    slope = (action - dip - z_nut)/(x_fret - x_nut)
    tan_total = tan(alpha + arctan(slope))
    u3 = curvature**2
    u0 = cos(alpha)
    u1 = sin(alpha)
    x_nut_b = u0*x_nut - u1*z_nut
    z_nut_b = u0*z_nut + u1*x_nut + z_joint
    return (-curvature*(a_2 - r_2)/(sqrt(-a_2*u3 + 1) + sqrt(-r_2*u3 + 1)) + tan_total*(-u2 - x_nut_b) + z_nut_b,)


def saddle_for_action_slopes(action, x_fret, x_nut, z_nut, dip, alpha, z_joint, x_saddle, y_saddle, curvature, x_apex, along, across):
    """Exact derivatives of saddle_for_action, output by output, input by input."""
    u0 = x_fret - x_nut
    u1 = u0**(-1.0)
    d_slope_d_action = u1
    u2 = action - dip - z_nut
    slope = u1*u2
    u3 = tan(alpha + arctan(slope))
    u14 = u3**2 + 1
    u15 = u14/(slope**2 + 1)
    d_tan_total_d_action = d_slope_d_action*u15
    u10 = -x_saddle
    u4 = cos(alpha)
    u5 = sin(alpha)
    u6 = u4*x_nut - u5*z_nut
    x_nut_b = u6
    u18 = -u10 - x_nut_b
    u12 = u2/u0**2
    d_slope_d_x_fret = -u12
    d_tan_total_d_x_fret = d_slope_d_x_fret*u15
    d_slope_d_x_nut = u12
    d_tan_total_d_x_nut = d_slope_d_x_nut*u15
    d_x_nut_b_d_x_nut = u4
    d_z_nut_b_d_x_nut = u5
    tan_total = u3
    u13 = -u1
    d_slope_d_z_nut = u13
    d_tan_total_d_z_nut = d_slope_d_z_nut*u15
    d_x_nut_b_d_z_nut = -u5
    d_z_nut_b_d_z_nut = u4
    d_slope_d_dip = u13
    d_tan_total_d_dip = d_slope_d_dip*u15
    d_tan_total_d_alpha = u14
    u7 = u4*z_nut + u5*x_nut
    d_x_nut_b_d_alpha = -u7
    d_z_nut_b_d_alpha = u6
    u16 = 2*x_apex
    u17 = u16 - 2*x_saddle
    d_r_2_d_x_saddle = -along*u17
    u8 = x_apex**2
    a_2 = along*u8
    u19 = curvature**2
    u20 = sqrt(-a_2*u19 + 1)
    u11 = (-u10 - x_apex)**2
    u9 = y_saddle**2
    r_2 = across*u9 + along*u11
    u21 = sqrt(-r_2*u19 + 1)
    u22 = u20 + u21
    u23 = u22**(-1.0)
    u24 = curvature*u23
    u25 = u21**(-1.0)
    u26 = a_2 - r_2
    u27 = u26/u22**2
    u28 = (1/2)*curvature**3*u27
    u29 = u24 - u25*u28
    d_r_2_d_y_saddle = 2*across*y_saddle
    u30 = u20**(-1.0)
    d_a_2_d_x_apex = along*u16
    d_r_2_d_x_apex = along*u17
    u31 = -u24 - u28*u30
    d_a_2_d_along = u8
    d_r_2_d_along = u11
    d_r_2_d_across = u9
    return (d_tan_total_d_action*u18, d_tan_total_d_x_fret*u18, d_tan_total_d_x_nut*u18 - d_x_nut_b_d_x_nut*tan_total + d_z_nut_b_d_x_nut, d_tan_total_d_z_nut*u18 - d_x_nut_b_d_z_nut*tan_total + d_z_nut_b_d_z_nut, d_tan_total_d_dip*u18, d_tan_total_d_alpha*u18 - d_x_nut_b_d_alpha*tan_total + d_z_nut_b_d_alpha, 1, d_r_2_d_x_saddle*u29 + tan_total, d_r_2_d_y_saddle*u29, -curvature*u27*(a_2*curvature*u30 + curvature*r_2*u25) - u23*u26, d_a_2_d_x_apex*u31 + d_r_2_d_x_apex*u29, d_a_2_d_along*u31 + d_r_2_d_along*u29, d_r_2_d_across*u29,)


def angle_for_action(action, x_fret, x_nut, z_nut, dip, z_joint, x_saddle, y_saddle, h_saddle, curvature, x_apex, along, across):
    """Neck angle that gives a target action, saddle height given; one string seen from the side."""
    a_2 = along*x_apex**2
    r_2 = across*y_saddle**2 + along*(-x_apex + x_saddle)**2
    u0 = curvature**2
    height = curvature*(a_2 - r_2)/(sqrt(-a_2*u0 + 1) + sqrt(-r_2*u0 + 1)) + h_saddle - z_joint
    far = sqrt(height**2 + x_saddle**2)
    slope = (action - dip - z_nut)/(x_fret - x_nut)
    off = (-slope*x_nut + z_nut)/sqrt(slope**2 + 1)
    return (-arcsin(off/far) - arctan(slope) + arctan2(height, x_saddle),)


def angle_for_action_slopes(action, x_fret, x_nut, z_nut, dip, z_joint, x_saddle, y_saddle, h_saddle, curvature, x_apex, along, across):
    """Exact derivatives of angle_for_action, output by output, input by input."""
    u0 = x_fret - x_nut
    u1 = u0**(-1.0)
    d_slope_d_action = u1
    u2 = action - dip - z_nut
    slope = u1*u2
    u15 = slope**2 + 1
    u16 = 1/sqrt(u15)
    u17 = -slope*x_nut + z_nut
    u31 = -slope*u17/u15**(3/2) - u16*x_nut
    d_off_d_action = d_slope_d_action*u31
    u32 = u15**(-1.0)
    u3 = x_apex**2
    a_2 = along*u3
    u6 = curvature**2
    u7 = sqrt(-a_2*u6 + 1)
    u4 = y_saddle**2
    u5 = (-x_apex + x_saddle)**2
    r_2 = across*u4 + along*u5
    u8 = sqrt(-r_2*u6 + 1)
    u9 = u7 + u8
    u10 = u9**(-1.0)
    u11 = a_2 - r_2
    u12 = u10*u11
    height = curvature*u12 + h_saddle - z_joint
    u13 = height**2 + x_saddle**2
    u14 = sqrt(u13)
    far = u14
    off = u16*u17
    u33 = far**(-2.0)
    u34 = 1/sqrt(-off**2*u33 + 1)
    u35 = u34/far
    u18 = u2/u0**2
    d_slope_d_x_fret = -u18
    d_off_d_x_fret = d_slope_d_x_fret*u31
    d_slope_d_x_nut = u18
    d_off_d_x_nut = d_slope_d_x_nut*u31 - slope*u16
    u19 = -u1
    d_slope_d_z_nut = u19
    d_off_d_z_nut = d_slope_d_z_nut*u31 + u16
    d_slope_d_dip = u19
    d_off_d_dip = d_slope_d_dip*u31
    u29 = u14**(-1.0)
    u30 = height*u29
    d_far_d_z_joint = -u30
    u36 = u13**(-1.0)
    u37 = u36*x_saddle
    u38 = off*u33*u34
    u20 = 2*x_apex
    u21 = u20 - 2*x_saddle
    d_r_2_d_x_saddle = -along*u21
    u23 = u8**(-1.0)
    u25 = curvature*u10
    u24 = u11/u9**2
    u26 = (1/2)*curvature**3*u24
    u28 = u23*u26 - u25
    d_height_d_x_saddle = d_r_2_d_x_saddle*u28
    d_far_d_x_saddle = d_height_d_x_saddle*u30 + u29*x_saddle
    d_r_2_d_y_saddle = 2*across*y_saddle
    d_height_d_y_saddle = d_r_2_d_y_saddle*u28
    d_far_d_y_saddle = d_height_d_y_saddle*u30
    d_far_d_h_saddle = u30
    u22 = u7**(-1.0)
    d_height_d_curvature = curvature*u24*(a_2*curvature*u22 + curvature*r_2*u23) + u12
    d_far_d_curvature = d_height_d_curvature*u30
    d_a_2_d_x_apex = along*u20
    d_r_2_d_x_apex = along*u21
    u27 = u22*u26 + u25
    d_height_d_x_apex = d_a_2_d_x_apex*u27 + d_r_2_d_x_apex*u28
    d_far_d_x_apex = d_height_d_x_apex*u30
    d_a_2_d_along = u3
    d_r_2_d_along = u5
    d_height_d_along = d_a_2_d_along*u27 + d_r_2_d_along*u28
    d_far_d_along = d_height_d_along*u30
    d_r_2_d_across = u4
    d_height_d_across = d_r_2_d_across*u28
    d_far_d_across = d_height_d_across*u30
    return (-d_off_d_action*u35 - d_slope_d_action*u32, -d_off_d_x_fret*u35 - d_slope_d_x_fret*u32, -d_off_d_x_nut*u35 - d_slope_d_x_nut*u32, -d_off_d_z_nut*u35 - d_slope_d_z_nut*u32, -d_off_d_dip*u35 - d_slope_d_dip*u32, d_far_d_z_joint*u38 - u37, d_far_d_x_saddle*u38 + d_height_d_x_saddle*u37 - height*u36, d_far_d_y_saddle*u38 + d_height_d_y_saddle*u37, d_far_d_h_saddle*u38 + u37, d_far_d_curvature*u38 + d_height_d_curvature*u37, d_far_d_x_apex*u38 + d_height_d_x_apex*u37, d_far_d_along*u38 + d_height_d_along*u37, d_far_d_across*u38 + d_height_d_across*u37,)


def break_angle(x_nut_body, z_nut_body, x_saddle, z_saddle, pin_distance, z_pin):
    """Break angle of a string over the saddle, seen from the side."""
    u0 = -z_saddle
    before = arctan2(-u0 - z_nut_body, -x_nut_body + x_saddle)
    behind_saddle = arctan2(-u0 - z_pin, pin_distance)
    return (before + behind_saddle,)


def break_angle_slopes(x_nut_body, z_nut_body, x_saddle, z_saddle, pin_distance, z_pin):
    """Exact derivatives of break_angle, output by output, input by input."""
    u0 = -z_saddle
    u1 = u0 + z_nut_body
    u2 = -u1
    u3 = -x_nut_body + x_saddle
    u6 = (u2**2 + u3**2)**(-1.0)
    u7 = u1*u6
    d_before_d_x_nut_body = -u7
    u8 = u3*u6
    d_before_d_z_nut_body = -u8
    d_before_d_x_saddle = u7
    d_before_d_z_saddle = u8
    u4 = u0 + z_pin
    u5 = -u4
    u9 = (pin_distance**2 + u5**2)**(-1.0)
    u10 = pin_distance*u9
    d_behind_saddle_d_z_saddle = u10
    d_behind_saddle_d_pin_distance = u4*u9
    d_behind_saddle_d_z_pin = -u10
    return (d_before_d_x_nut_body, d_before_d_z_nut_body, d_before_d_x_saddle, d_before_d_z_saddle + d_behind_saddle_d_z_saddle, d_behind_saddle_d_pin_distance, d_behind_saddle_d_z_pin,)
