"""Written by ``python -m lutherie_geom.theory.write`` from the derivations in ``tongue.py``; not to be edited."""

from numpy import sqrt

def gap_under_tongue(x, y, gap_joint, hollowed, taper, curvature, x_apex, along, across, cos_psi, sin_psi, cos_theta, sin_theta, advance, x_p, z_p):
    """Gap under a point of the tongue, the neck posed."""
    u1 = curvature**2
    u0 = along*x_apex**2
    under_a_2 = u0
    u2 = -x_p
    u3 = u2 + x
    a_2 = u0
    r_2 = across*y**2 + along*(x - x_apex)**2
    shape = curvature*hollowed*(a_2 - r_2)/(sqrt(-a_2*u1 + 1) + sqrt(-r_2*u1 + 1)) + taper*x*(1 - hollowed)
    u4 = gap_joint + shape - z_p
    along_neck = cos_theta*u3 + sin_theta*u4
    x_turned = -advance + along_neck*cos_psi - sin_psi*y - u2
    y_turned = along_neck*sin_psi + cos_psi*y
    under_r_2 = across*y_turned**2 + along*(-x_apex + x_turned)**2
    z_turned = cos_theta*u4 - sin_theta*u3 + z_p
    gap = -curvature*(under_a_2 - under_r_2)/(sqrt(-u1*under_a_2 + 1) + sqrt(-u1*under_r_2 + 1)) + z_turned
    return (gap,)


def gap_under_tongue_slopes(x, y, gap_joint, hollowed, taper, curvature, x_apex, along, across, cos_psi, sin_psi, cos_theta, sin_theta, advance, x_p, z_p):
    """Exact derivatives of gap_under_tongue, output by output, input by input."""
    u25 = 2*x_apex
    u27 = -u25 + 2*x
    d_r_2_d_x = along*u27
    u0 = x_apex**2
    u1 = along*u0
    a_2 = u1
    u7 = curvature**2
    u8 = sqrt(-a_2*u7 + 1)
    u2 = y**2
    u3 = (x - x_apex)**2
    r_2 = across*u2 + along*u3
    u9 = sqrt(-r_2*u7 + 1)
    u10 = u8 + u9
    u11 = u10**(-1.0)
    u12 = curvature*u11
    u13 = hollowed*u12
    u30 = u9**(-1.0)
    u6 = a_2 - r_2
    u31 = hollowed*u6
    u32 = u31/u10**2
    u33 = (1/2)*curvature**3
    u34 = u32*u33
    u35 = -u13 + u30*u34
    u4 = 1 - hollowed
    u5 = taper*u4
    d_shape_d_x = d_r_2_d_x*u35 + u5
    d_along_neck_d_x = cos_theta + d_shape_d_x*sin_theta
    d_x_turned_d_x = cos_psi*d_along_neck_d_x
    d_y_turned_d_x = d_along_neck_d_x*sin_psi
    u14 = -x_p
    u15 = u14 + x
    shape = u13*u6 + u5*x
    u16 = gap_joint + shape - z_p
    along_neck = cos_theta*u15 + sin_theta*u16
    x_turned = -advance + along_neck*cos_psi - sin_psi*y - u14
    u39 = u25 - 2*x_turned
    u40 = -along*u39
    u28 = 2*across
    y_turned = along_neck*sin_psi + cos_psi*y
    u41 = u28*y_turned
    d_under_r_2_d_x = d_x_turned_d_x*u40 + d_y_turned_d_x*u41
    u38 = -sin_theta
    d_z_turned_d_x = cos_theta*d_shape_d_x + u38
    under_a_2 = u1
    u20 = sqrt(-u7*under_a_2 + 1)
    u17 = y_turned**2
    u18 = (-x_apex + x_turned)**2
    under_r_2 = across*u17 + along*u18
    u21 = sqrt(-u7*under_r_2 + 1)
    u22 = u20 + u21
    u23 = u22**(-1.0)
    u24 = curvature*u23
    u42 = u21**(-1.0)
    u19 = under_a_2 - under_r_2
    u43 = u19/u22**2
    u44 = u33*u43
    u45 = u24 - u42*u44
    d_gap_d_x = d_under_r_2_d_x*u45 + d_z_turned_d_x
    u29 = u28*y
    d_r_2_d_y = u29
    d_shape_d_y = d_r_2_d_y*u35
    d_along_neck_d_y = d_shape_d_y*sin_theta
    d_x_turned_d_y = cos_psi*d_along_neck_d_y - sin_psi
    d_y_turned_d_y = cos_psi + d_along_neck_d_y*sin_psi
    d_under_r_2_d_y = d_x_turned_d_y*u40 + d_y_turned_d_y*u41
    d_z_turned_d_y = cos_theta*d_shape_d_y
    d_gap_d_y = d_under_r_2_d_y*u45 + d_z_turned_d_y
    d_x_turned_d_gap_joint = cos_psi*sin_theta
    d_y_turned_d_gap_joint = sin_psi*sin_theta
    d_under_r_2_d_gap_joint = d_x_turned_d_gap_joint*u40 + d_y_turned_d_gap_joint*u41
    d_gap_d_gap_joint = cos_theta + d_under_r_2_d_gap_joint*u45
    d_shape_d_hollowed = -taper*x + u12*u6
    d_along_neck_d_hollowed = d_shape_d_hollowed*sin_theta
    d_x_turned_d_hollowed = cos_psi*d_along_neck_d_hollowed
    d_y_turned_d_hollowed = d_along_neck_d_hollowed*sin_psi
    d_under_r_2_d_hollowed = d_x_turned_d_hollowed*u40 + d_y_turned_d_hollowed*u41
    d_z_turned_d_hollowed = cos_theta*d_shape_d_hollowed
    d_gap_d_hollowed = d_under_r_2_d_hollowed*u45 + d_z_turned_d_hollowed
    d_shape_d_taper = u4*x
    d_along_neck_d_taper = d_shape_d_taper*sin_theta
    d_x_turned_d_taper = cos_psi*d_along_neck_d_taper
    d_y_turned_d_taper = d_along_neck_d_taper*sin_psi
    d_under_r_2_d_taper = d_x_turned_d_taper*u40 + d_y_turned_d_taper*u41
    d_z_turned_d_taper = cos_theta*d_shape_d_taper
    d_gap_d_taper = d_under_r_2_d_taper*u45 + d_z_turned_d_taper
    u36 = u8**(-1.0)
    d_shape_d_curvature = curvature*u32*(a_2*curvature*u36 + curvature*r_2*u30) + u11*u31
    d_along_neck_d_curvature = d_shape_d_curvature*sin_theta
    d_x_turned_d_curvature = cos_psi*d_along_neck_d_curvature
    d_y_turned_d_curvature = d_along_neck_d_curvature*sin_psi
    d_under_r_2_d_curvature = d_x_turned_d_curvature*u40 + d_y_turned_d_curvature*u41
    d_z_turned_d_curvature = cos_theta*d_shape_d_curvature
    u46 = u20**(-1.0)
    d_gap_d_curvature = -curvature*u43*(curvature*u42*under_r_2 + curvature*u46*under_a_2) + d_under_r_2_d_curvature*u45 + d_z_turned_d_curvature - u19*u23
    u26 = along*u25
    d_under_a_2_d_x_apex = u26
    d_a_2_d_x_apex = u26
    d_r_2_d_x_apex = -along*u27
    u37 = u13 + u34*u36
    d_shape_d_x_apex = d_a_2_d_x_apex*u37 + d_r_2_d_x_apex*u35
    d_along_neck_d_x_apex = d_shape_d_x_apex*sin_theta
    d_x_turned_d_x_apex = cos_psi*d_along_neck_d_x_apex
    d_y_turned_d_x_apex = d_along_neck_d_x_apex*sin_psi
    d_under_r_2_d_x_apex = along*u39 + d_x_turned_d_x_apex*u40 + d_y_turned_d_x_apex*u41
    d_z_turned_d_x_apex = cos_theta*d_shape_d_x_apex
    u47 = -u24 - u44*u46
    d_gap_d_x_apex = d_under_a_2_d_x_apex*u47 + d_under_r_2_d_x_apex*u45 + d_z_turned_d_x_apex
    d_under_a_2_d_along = u0
    d_a_2_d_along = u0
    d_r_2_d_along = u3
    d_shape_d_along = d_a_2_d_along*u37 + d_r_2_d_along*u35
    d_along_neck_d_along = d_shape_d_along*sin_theta
    d_x_turned_d_along = cos_psi*d_along_neck_d_along
    d_y_turned_d_along = d_along_neck_d_along*sin_psi
    d_under_r_2_d_along = d_x_turned_d_along*u40 + d_y_turned_d_along*u41 + u18
    d_z_turned_d_along = cos_theta*d_shape_d_along
    d_gap_d_along = d_under_a_2_d_along*u47 + d_under_r_2_d_along*u45 + d_z_turned_d_along
    d_r_2_d_across = u2
    d_shape_d_across = d_r_2_d_across*u35
    d_along_neck_d_across = d_shape_d_across*sin_theta
    d_x_turned_d_across = cos_psi*d_along_neck_d_across
    d_y_turned_d_across = d_along_neck_d_across*sin_psi
    d_under_r_2_d_across = d_x_turned_d_across*u40 + d_y_turned_d_across*u41 + u17
    d_z_turned_d_across = cos_theta*d_shape_d_across
    d_gap_d_across = d_under_r_2_d_across*u45 + d_z_turned_d_across
    d_under_r_2_d_cos_psi = along_neck*u40 + u29*y_turned
    d_gap_d_cos_psi = d_under_r_2_d_cos_psi*u45
    d_x_turned_d_sin_psi = -y
    d_under_r_2_d_sin_psi = along_neck*u41 + d_x_turned_d_sin_psi*u40
    d_gap_d_sin_psi = d_under_r_2_d_sin_psi*u45
    d_along_neck_d_cos_theta = u15
    d_x_turned_d_cos_theta = cos_psi*d_along_neck_d_cos_theta
    d_y_turned_d_cos_theta = d_along_neck_d_cos_theta*sin_psi
    d_under_r_2_d_cos_theta = d_x_turned_d_cos_theta*u40 + d_y_turned_d_cos_theta*u41
    d_z_turned_d_cos_theta = u16
    d_gap_d_cos_theta = d_under_r_2_d_cos_theta*u45 + d_z_turned_d_cos_theta
    d_along_neck_d_sin_theta = u16
    d_x_turned_d_sin_theta = cos_psi*d_along_neck_d_sin_theta
    d_y_turned_d_sin_theta = d_along_neck_d_sin_theta*sin_psi
    d_under_r_2_d_sin_theta = d_x_turned_d_sin_theta*u40 + d_y_turned_d_sin_theta*u41
    d_z_turned_d_sin_theta = -u15
    d_gap_d_sin_theta = d_under_r_2_d_sin_theta*u45 + d_z_turned_d_sin_theta
    d_under_r_2_d_advance = -u40
    d_gap_d_advance = d_under_r_2_d_advance*u45
    d_along_neck_d_x_p = -cos_theta
    d_x_turned_d_x_p = cos_psi*d_along_neck_d_x_p + 1
    d_y_turned_d_x_p = d_along_neck_d_x_p*sin_psi
    d_under_r_2_d_x_p = d_x_turned_d_x_p*u40 + d_y_turned_d_x_p*u41
    d_gap_d_x_p = d_under_r_2_d_x_p*u45 + sin_theta
    d_along_neck_d_z_p = u38
    d_x_turned_d_z_p = cos_psi*d_along_neck_d_z_p
    d_y_turned_d_z_p = d_along_neck_d_z_p*sin_psi
    d_under_r_2_d_z_p = d_x_turned_d_z_p*u40 + d_y_turned_d_z_p*u41
    d_z_turned_d_z_p = 1 - cos_theta
    d_gap_d_z_p = d_under_r_2_d_z_p*u45 + d_z_turned_d_z_p
    return (d_gap_d_x, d_gap_d_y, d_gap_d_gap_joint, d_gap_d_hollowed, d_gap_d_taper, d_gap_d_curvature, d_gap_d_x_apex, d_gap_d_along, d_gap_d_across, d_gap_d_cos_psi, d_gap_d_sin_psi, d_gap_d_cos_theta, d_gap_d_sin_theta, d_gap_d_advance, d_gap_d_x_p, d_gap_d_z_p,)


def planed_slope(dome_moment, tongue_length):
    """Slope of the plane that fits the dome best under the tongue: the taper of a planed underside."""
    return (12*dome_moment/tongue_length,)


def planed_slope_slopes(dome_moment, tongue_length):
    """Exact derivatives of planed_slope, output by output, input by input."""
    return (12/tongue_length, -12*dome_moment/tongue_length**2,)
