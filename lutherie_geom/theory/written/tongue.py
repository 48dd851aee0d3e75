"""Written by ``python -m lutherie_geom.theory.write`` from the derivations in ``tongue.py``; not to be edited."""

from numpy import sqrt, tan

def hollow_underside(x, y, gap_joint, curvature, x_apex, along, across):
    """Underside of a tongue hollowed to the dome, nominal pose."""
    a_2 = along*x_apex**2
    r_2 = across*y**2 + along*(x - x_apex)**2
    u0 = curvature**2
    return (curvature*(a_2 - r_2)/(sqrt(-a_2*u0 + 1) + sqrt(-r_2*u0 + 1)) + gap_joint,)


def hollow_underside_slopes(x, y, gap_joint, curvature, x_apex, along, across):
    """Exact derivatives of hollow_underside, output by output, input by input."""
    u3 = 2*x_apex
    u4 = -u3 + 2*x
    d_r_2_d_x = along*u4
    u0 = x_apex**2
    a_2 = along*u0
    u5 = curvature**2
    u6 = sqrt(-a_2*u5 + 1)
    u1 = y**2
    u2 = (x - x_apex)**2
    r_2 = across*u1 + along*u2
    u7 = sqrt(-r_2*u5 + 1)
    u8 = u6 + u7
    u9 = u8**(-1.0)
    u10 = curvature*u9
    u11 = u7**(-1.0)
    u12 = a_2 - r_2
    u13 = u12/u8**2
    u14 = (1/2)*curvature**3*u13
    u15 = -u10 + u11*u14
    d_r_2_d_y = 2*across*y
    u16 = u6**(-1.0)
    d_a_2_d_x_apex = along*u3
    d_r_2_d_x_apex = -along*u4
    u17 = u10 + u14*u16
    d_a_2_d_along = u0
    d_r_2_d_along = u2
    d_r_2_d_across = u1
    return (d_r_2_d_x*u15, d_r_2_d_y*u15, 1, curvature*u13*(a_2*curvature*u16 + curvature*r_2*u11) + u12*u9, d_a_2_d_x_apex*u17 + d_r_2_d_x_apex*u15, d_a_2_d_along*u17 + d_r_2_d_along*u15, d_r_2_d_across*u15,)


def planed_underside(x, gap_joint, taper):
    """Underside of a tongue planed to one slope, nominal pose."""
    return (gap_joint + taper*x,)


def planed_underside_slopes(x, gap_joint, taper):
    """Exact derivatives of planed_underside, output by output, input by input."""
    return (taper, 1, x,)


def gap_below(x, y, z_under, curvature, x_apex, along, across, cos_psi, sin_psi, cos_theta, sin_theta, advance, x_p, z_p):
    """Gap below a given point of the tongue's underside, the neck posed."""
    u3 = curvature**2
    under_a_2 = along*x_apex**2
    u0 = -x_p
    u1 = u0 + x
    u2 = -z_p + z_under
    along_neck = cos_theta*u1 + sin_theta*u2
    x_turned = -advance + along_neck*cos_psi - sin_psi*y - u0
    y_turned = along_neck*sin_psi + cos_psi*y
    under_r_2 = across*y_turned**2 + along*(-x_apex + x_turned)**2
    z_turned = cos_theta*u2 - sin_theta*u1 + z_p
    gap = -curvature*(under_a_2 - under_r_2)/(sqrt(-u3*under_a_2 + 1) + sqrt(-u3*under_r_2 + 1)) + z_turned
    return (gap,)


def gap_below_slopes(x, y, z_under, curvature, x_apex, along, across, cos_psi, sin_psi, cos_theta, sin_theta, advance, x_p, z_p):
    """Exact derivatives of gap_below, output by output, input by input."""
    d_x_turned_d_x = cos_psi*cos_theta
    d_y_turned_d_x = cos_theta*sin_psi
    u14 = 2*x_apex
    u0 = -x_p
    u1 = u0 + x
    u2 = -z_p + z_under
    along_neck = cos_theta*u1 + sin_theta*u2
    x_turned = -advance + along_neck*cos_psi - sin_psi*y - u0
    u15 = u14 - 2*x_turned
    u16 = -along*u15
    y_turned = along_neck*sin_psi + cos_psi*y
    u17 = 2*across*y_turned
    d_under_r_2_d_x = d_x_turned_d_x*u16 + d_y_turned_d_x*u17
    u13 = -sin_theta
    d_z_turned_d_x = u13
    u6 = curvature**2
    u4 = y_turned**2
    u5 = (-x_apex + x_turned)**2
    under_r_2 = across*u4 + along*u5
    u8 = sqrt(-u6*under_r_2 + 1)
    u19 = u8**(-1.0)
    u3 = x_apex**2
    under_a_2 = along*u3
    u7 = sqrt(-u6*under_a_2 + 1)
    u9 = u7 + u8
    u10 = u9**(-1.0)
    u21 = curvature*u10
    u11 = under_a_2 - under_r_2
    u20 = u11/u9**2
    u22 = (1/2)*curvature**3*u20
    u24 = -u19*u22 + u21
    d_gap_d_x = d_under_r_2_d_x*u24 + d_z_turned_d_x
    d_x_turned_d_y = -sin_psi
    d_under_r_2_d_y = cos_psi*u17 + d_x_turned_d_y*u16
    d_gap_d_y = d_under_r_2_d_y*u24
    d_x_turned_d_z_under = cos_psi*sin_theta
    d_y_turned_d_z_under = sin_psi*sin_theta
    d_under_r_2_d_z_under = d_x_turned_d_z_under*u16 + d_y_turned_d_z_under*u17
    d_gap_d_z_under = cos_theta + d_under_r_2_d_z_under*u24
    u12 = u10*u11
    u18 = u7**(-1.0)
    d_gap_d_curvature = -curvature*u20*(curvature*u18*under_a_2 + curvature*u19*under_r_2) - u12
    d_under_a_2_d_x_apex = along*u14
    d_under_r_2_d_x_apex = along*u15
    u23 = -u18*u22 - u21
    d_gap_d_x_apex = d_under_a_2_d_x_apex*u23 + d_under_r_2_d_x_apex*u24
    d_under_a_2_d_along = u3
    d_under_r_2_d_along = u5
    d_gap_d_along = d_under_a_2_d_along*u23 + d_under_r_2_d_along*u24
    d_under_r_2_d_across = u4
    d_gap_d_across = d_under_r_2_d_across*u24
    d_under_r_2_d_cos_psi = along_neck*u16 + u17*y
    d_gap_d_cos_psi = d_under_r_2_d_cos_psi*u24
    d_x_turned_d_sin_psi = -y
    d_under_r_2_d_sin_psi = along_neck*u17 + d_x_turned_d_sin_psi*u16
    d_gap_d_sin_psi = d_under_r_2_d_sin_psi*u24
    d_along_neck_d_cos_theta = u1
    d_x_turned_d_cos_theta = cos_psi*d_along_neck_d_cos_theta
    d_y_turned_d_cos_theta = d_along_neck_d_cos_theta*sin_psi
    d_under_r_2_d_cos_theta = d_x_turned_d_cos_theta*u16 + d_y_turned_d_cos_theta*u17
    d_z_turned_d_cos_theta = u2
    d_gap_d_cos_theta = d_under_r_2_d_cos_theta*u24 + d_z_turned_d_cos_theta
    d_along_neck_d_sin_theta = u2
    d_x_turned_d_sin_theta = cos_psi*d_along_neck_d_sin_theta
    d_y_turned_d_sin_theta = d_along_neck_d_sin_theta*sin_psi
    d_under_r_2_d_sin_theta = d_x_turned_d_sin_theta*u16 + d_y_turned_d_sin_theta*u17
    d_z_turned_d_sin_theta = -u1
    d_gap_d_sin_theta = d_under_r_2_d_sin_theta*u24 + d_z_turned_d_sin_theta
    d_under_r_2_d_advance = -u16
    d_gap_d_advance = d_under_r_2_d_advance*u24
    d_along_neck_d_x_p = -cos_theta
    d_x_turned_d_x_p = cos_psi*d_along_neck_d_x_p + 1
    d_y_turned_d_x_p = d_along_neck_d_x_p*sin_psi
    d_under_r_2_d_x_p = d_x_turned_d_x_p*u16 + d_y_turned_d_x_p*u17
    d_gap_d_x_p = d_under_r_2_d_x_p*u24 + sin_theta
    d_along_neck_d_z_p = u13
    d_x_turned_d_z_p = cos_psi*d_along_neck_d_z_p
    d_y_turned_d_z_p = d_along_neck_d_z_p*sin_psi
    d_under_r_2_d_z_p = d_x_turned_d_z_p*u16 + d_y_turned_d_z_p*u17
    d_z_turned_d_z_p = 1 - cos_theta
    d_gap_d_z_p = d_under_r_2_d_z_p*u24 + d_z_turned_d_z_p
    return (d_gap_d_x, d_gap_d_y, d_gap_d_z_under, d_gap_d_curvature, d_gap_d_x_apex, d_gap_d_along, d_gap_d_across, d_gap_d_cos_psi, d_gap_d_sin_psi, d_gap_d_cos_theta, d_gap_d_sin_theta, d_gap_d_advance, d_gap_d_x_p, d_gap_d_z_p,)


def tongue_underside(x, y, gap_joint, hollowed, taper, curvature, x_apex, along, across):
    """A point of the tongue's underside, nominal pose."""
    a_2 = along*x_apex**2
    r_2 = across*y**2 + along*(x - x_apex)**2
    u0 = curvature**2
    z_under = hollowed*(curvature*(a_2 - r_2)/(sqrt(-a_2*u0 + 1) + sqrt(-r_2*u0 + 1)) + gap_joint) + (1 - hollowed)*(gap_joint + taper*x)
    return (z_under,)


def tongue_underside_slopes(x, y, gap_joint, hollowed, taper, curvature, x_apex, along, across):
    """Exact derivatives of tongue_underside, output by output, input by input."""
    u13 = 2*x_apex
    u14 = -u13 + 2*x
    d_r_2_d_x = along*u14
    u11 = 1 - hollowed
    u1 = y**2
    u2 = (x - x_apex)**2
    r_2 = across*u1 + along*u2
    u4 = curvature**2
    u6 = sqrt(-r_2*u4 + 1)
    u15 = u6**(-1.0)
    u0 = x_apex**2
    a_2 = along*u0
    u3 = a_2 - r_2
    u5 = sqrt(-a_2*u4 + 1)
    u7 = u5 + u6
    u16 = u3/u7**2
    u17 = (1/2)*curvature**3*u16
    u8 = u7**(-1.0)
    u9 = curvature*u8
    u18 = hollowed*(u15*u17 - u9)
    d_z_under_d_x = d_r_2_d_x*u18 + taper*u11
    d_r_2_d_y = 2*across*y
    d_z_under_d_y = d_r_2_d_y*u18
    u10 = u3*u9
    u12 = taper*x
    d_z_under_d_hollowed = u10 - u12
    d_z_under_d_taper = u11*x
    u19 = u5**(-1.0)
    d_z_under_d_curvature = hollowed*(curvature*u16*(a_2*curvature*u19 + curvature*r_2*u15) + u3*u8)
    d_a_2_d_x_apex = along*u13
    d_r_2_d_x_apex = -along*u14
    u20 = hollowed*(u17*u19 + u9)
    d_z_under_d_x_apex = d_a_2_d_x_apex*u20 + d_r_2_d_x_apex*u18
    d_a_2_d_along = u0
    d_r_2_d_along = u2
    d_z_under_d_along = d_a_2_d_along*u20 + d_r_2_d_along*u18
    d_r_2_d_across = u1
    d_z_under_d_across = d_r_2_d_across*u18
    return (d_z_under_d_x, d_z_under_d_y, 1, d_z_under_d_hollowed, d_z_under_d_taper, d_z_under_d_curvature, d_z_under_d_x_apex, d_z_under_d_along, d_z_under_d_across,)


def gap_under_tongue(x, y, gap_joint, hollowed, taper, curvature, x_apex, along, across, cos_psi, sin_psi, cos_theta, sin_theta, advance, x_p, z_p):
    """Gap under a point of the tongue, the neck posed."""
    u0 = along*x_apex**2
    posed_under_a_2 = u0
    u3 = -x_p
    u4 = u3 + x
    a_2 = u0
    u1 = -x_apex
    r_2 = across*y**2 + along*(u1 + x)**2
    u2 = curvature**2
    z_under = hollowed*(curvature*(a_2 - r_2)/(sqrt(-a_2*u2 + 1) + sqrt(-r_2*u2 + 1)) + gap_joint) + (1 - hollowed)*(gap_joint + taper*x)
    u5 = -z_p + z_under
    posed_along_neck = cos_theta*u4 + sin_theta*u5
    posed_x_turned = -advance + cos_psi*posed_along_neck - sin_psi*y - u3
    posed_y_turned = cos_psi*y + posed_along_neck*sin_psi
    posed_under_r_2 = across*posed_y_turned**2 + along*(posed_x_turned + u1)**2
    posed_z_turned = cos_theta*u5 - sin_theta*u4 + z_p
    posed_gap = -curvature*(posed_under_a_2 - posed_under_r_2)/(sqrt(-posed_under_a_2*u2 + 1) + sqrt(-posed_under_r_2*u2 + 1)) + posed_z_turned
    return (posed_gap,)


def gap_under_tongue_slopes(x, y, gap_joint, hollowed, taper, curvature, x_apex, along, across, cos_psi, sin_psi, cos_theta, sin_theta, advance, x_p, z_p):
    """Exact derivatives of gap_under_tongue, output by output, input by input."""
    u26 = 2*x_apex
    u28 = -u26
    u29 = u28 + 2*x
    d_r_2_d_x = along*u29
    u13 = 1 - hollowed
    u0 = x_apex**2
    u1 = along*u0
    a_2 = u1
    u6 = curvature**2
    u7 = sqrt(-a_2*u6 + 1)
    u2 = y**2
    u3 = -x_apex
    u4 = (u3 + x)**2
    r_2 = across*u2 + along*u4
    u8 = sqrt(-r_2*u6 + 1)
    u9 = u7 + u8
    u10 = u9**(-1.0)
    u11 = curvature*u10
    u32 = u8**(-1.0)
    u5 = a_2 - r_2
    u33 = u5/u9**2
    u34 = (1/2)*curvature**3
    u35 = u33*u34
    u36 = hollowed*(-u11 + u32*u35)
    d_z_under_d_x = d_r_2_d_x*u36 + taper*u13
    d_posed_along_neck_d_x = cos_theta + d_z_under_d_x*sin_theta
    d_posed_x_turned_d_x = cos_psi*d_posed_along_neck_d_x
    d_posed_y_turned_d_x = d_posed_along_neck_d_x*sin_psi
    u15 = -x_p
    u16 = u15 + x
    u12 = u11*u5
    u14 = taper*x
    z_under = hollowed*(gap_joint + u12) + u13*(gap_joint + u14)
    u17 = -z_p + z_under
    posed_along_neck = cos_theta*u16 + sin_theta*u17
    posed_x_turned = -advance + cos_psi*posed_along_neck - sin_psi*y - u15
    u40 = 2*posed_x_turned + u28
    u41 = along*u40
    posed_y_turned = cos_psi*y + posed_along_neck*sin_psi
    u30 = 2*across
    u42 = posed_y_turned*u30
    d_posed_under_r_2_d_x = d_posed_x_turned_d_x*u41 + d_posed_y_turned_d_x*u42
    u39 = -sin_theta
    d_posed_z_turned_d_x = cos_theta*d_z_under_d_x + u39
    posed_under_a_2 = u1
    u21 = sqrt(-posed_under_a_2*u6 + 1)
    u18 = posed_y_turned**2
    u19 = (posed_x_turned + u3)**2
    posed_under_r_2 = across*u18 + along*u19
    u22 = sqrt(-posed_under_r_2*u6 + 1)
    u23 = u21 + u22
    u24 = u23**(-1.0)
    u25 = curvature*u24
    u43 = u22**(-1.0)
    u20 = posed_under_a_2 - posed_under_r_2
    u44 = u20/u23**2
    u45 = u34*u44
    u46 = u25 - u43*u45
    d_posed_gap_d_x = d_posed_under_r_2_d_x*u46 + d_posed_z_turned_d_x
    u31 = u30*y
    d_r_2_d_y = u31
    d_z_under_d_y = d_r_2_d_y*u36
    d_posed_along_neck_d_y = d_z_under_d_y*sin_theta
    d_posed_x_turned_d_y = cos_psi*d_posed_along_neck_d_y - sin_psi
    d_posed_y_turned_d_y = cos_psi + d_posed_along_neck_d_y*sin_psi
    d_posed_under_r_2_d_y = d_posed_x_turned_d_y*u41 + d_posed_y_turned_d_y*u42
    d_posed_z_turned_d_y = cos_theta*d_z_under_d_y
    d_posed_gap_d_y = d_posed_under_r_2_d_y*u46 + d_posed_z_turned_d_y
    d_posed_x_turned_d_gap_joint = cos_psi*sin_theta
    d_posed_y_turned_d_gap_joint = sin_psi*sin_theta
    d_posed_under_r_2_d_gap_joint = d_posed_x_turned_d_gap_joint*u41 + d_posed_y_turned_d_gap_joint*u42
    d_posed_gap_d_gap_joint = cos_theta + d_posed_under_r_2_d_gap_joint*u46
    d_z_under_d_hollowed = u12 - u14
    d_posed_along_neck_d_hollowed = d_z_under_d_hollowed*sin_theta
    d_posed_x_turned_d_hollowed = cos_psi*d_posed_along_neck_d_hollowed
    d_posed_y_turned_d_hollowed = d_posed_along_neck_d_hollowed*sin_psi
    d_posed_under_r_2_d_hollowed = d_posed_x_turned_d_hollowed*u41 + d_posed_y_turned_d_hollowed*u42
    d_posed_z_turned_d_hollowed = cos_theta*d_z_under_d_hollowed
    d_posed_gap_d_hollowed = d_posed_under_r_2_d_hollowed*u46 + d_posed_z_turned_d_hollowed
    d_z_under_d_taper = u13*x
    d_posed_along_neck_d_taper = d_z_under_d_taper*sin_theta
    d_posed_x_turned_d_taper = cos_psi*d_posed_along_neck_d_taper
    d_posed_y_turned_d_taper = d_posed_along_neck_d_taper*sin_psi
    d_posed_under_r_2_d_taper = d_posed_x_turned_d_taper*u41 + d_posed_y_turned_d_taper*u42
    d_posed_z_turned_d_taper = cos_theta*d_z_under_d_taper
    d_posed_gap_d_taper = d_posed_under_r_2_d_taper*u46 + d_posed_z_turned_d_taper
    u37 = u7**(-1.0)
    d_z_under_d_curvature = hollowed*(curvature*u33*(a_2*curvature*u37 + curvature*r_2*u32) + u10*u5)
    d_posed_along_neck_d_curvature = d_z_under_d_curvature*sin_theta
    d_posed_x_turned_d_curvature = cos_psi*d_posed_along_neck_d_curvature
    d_posed_y_turned_d_curvature = d_posed_along_neck_d_curvature*sin_psi
    d_posed_under_r_2_d_curvature = d_posed_x_turned_d_curvature*u41 + d_posed_y_turned_d_curvature*u42
    d_posed_z_turned_d_curvature = cos_theta*d_z_under_d_curvature
    u47 = u21**(-1.0)
    d_posed_gap_d_curvature = -curvature*u44*(curvature*posed_under_a_2*u47 + curvature*posed_under_r_2*u43) + d_posed_under_r_2_d_curvature*u46 + d_posed_z_turned_d_curvature - u20*u24
    u27 = along*u26
    d_posed_under_a_2_d_x_apex = u27
    d_a_2_d_x_apex = u27
    d_r_2_d_x_apex = -along*u29
    u38 = hollowed*(u11 + u35*u37)
    d_z_under_d_x_apex = d_a_2_d_x_apex*u38 + d_r_2_d_x_apex*u36
    d_posed_along_neck_d_x_apex = d_z_under_d_x_apex*sin_theta
    d_posed_x_turned_d_x_apex = cos_psi*d_posed_along_neck_d_x_apex
    d_posed_y_turned_d_x_apex = d_posed_along_neck_d_x_apex*sin_psi
    d_posed_under_r_2_d_x_apex = -along*u40 + d_posed_x_turned_d_x_apex*u41 + d_posed_y_turned_d_x_apex*u42
    d_posed_z_turned_d_x_apex = cos_theta*d_z_under_d_x_apex
    u48 = -u25 - u45*u47
    d_posed_gap_d_x_apex = d_posed_under_a_2_d_x_apex*u48 + d_posed_under_r_2_d_x_apex*u46 + d_posed_z_turned_d_x_apex
    d_posed_under_a_2_d_along = u0
    d_a_2_d_along = u0
    d_r_2_d_along = u4
    d_z_under_d_along = d_a_2_d_along*u38 + d_r_2_d_along*u36
    d_posed_along_neck_d_along = d_z_under_d_along*sin_theta
    d_posed_x_turned_d_along = cos_psi*d_posed_along_neck_d_along
    d_posed_y_turned_d_along = d_posed_along_neck_d_along*sin_psi
    d_posed_under_r_2_d_along = d_posed_x_turned_d_along*u41 + d_posed_y_turned_d_along*u42 + u19
    d_posed_z_turned_d_along = cos_theta*d_z_under_d_along
    d_posed_gap_d_along = d_posed_under_a_2_d_along*u48 + d_posed_under_r_2_d_along*u46 + d_posed_z_turned_d_along
    d_r_2_d_across = u2
    d_z_under_d_across = d_r_2_d_across*u36
    d_posed_along_neck_d_across = d_z_under_d_across*sin_theta
    d_posed_x_turned_d_across = cos_psi*d_posed_along_neck_d_across
    d_posed_y_turned_d_across = d_posed_along_neck_d_across*sin_psi
    d_posed_under_r_2_d_across = d_posed_x_turned_d_across*u41 + d_posed_y_turned_d_across*u42 + u18
    d_posed_z_turned_d_across = cos_theta*d_z_under_d_across
    d_posed_gap_d_across = d_posed_under_r_2_d_across*u46 + d_posed_z_turned_d_across
    d_posed_under_r_2_d_cos_psi = posed_along_neck*u41 + posed_y_turned*u31
    d_posed_gap_d_cos_psi = d_posed_under_r_2_d_cos_psi*u46
    d_posed_x_turned_d_sin_psi = -y
    d_posed_under_r_2_d_sin_psi = d_posed_x_turned_d_sin_psi*u41 + posed_along_neck*u42
    d_posed_gap_d_sin_psi = d_posed_under_r_2_d_sin_psi*u46
    d_posed_along_neck_d_cos_theta = u16
    d_posed_x_turned_d_cos_theta = cos_psi*d_posed_along_neck_d_cos_theta
    d_posed_y_turned_d_cos_theta = d_posed_along_neck_d_cos_theta*sin_psi
    d_posed_under_r_2_d_cos_theta = d_posed_x_turned_d_cos_theta*u41 + d_posed_y_turned_d_cos_theta*u42
    d_posed_z_turned_d_cos_theta = u17
    d_posed_gap_d_cos_theta = d_posed_under_r_2_d_cos_theta*u46 + d_posed_z_turned_d_cos_theta
    d_posed_along_neck_d_sin_theta = u17
    d_posed_x_turned_d_sin_theta = cos_psi*d_posed_along_neck_d_sin_theta
    d_posed_y_turned_d_sin_theta = d_posed_along_neck_d_sin_theta*sin_psi
    d_posed_under_r_2_d_sin_theta = d_posed_x_turned_d_sin_theta*u41 + d_posed_y_turned_d_sin_theta*u42
    d_posed_z_turned_d_sin_theta = -u16
    d_posed_gap_d_sin_theta = d_posed_under_r_2_d_sin_theta*u46 + d_posed_z_turned_d_sin_theta
    d_posed_under_r_2_d_advance = -u41
    d_posed_gap_d_advance = d_posed_under_r_2_d_advance*u46
    d_posed_along_neck_d_x_p = -cos_theta
    d_posed_x_turned_d_x_p = cos_psi*d_posed_along_neck_d_x_p + 1
    d_posed_y_turned_d_x_p = d_posed_along_neck_d_x_p*sin_psi
    d_posed_under_r_2_d_x_p = d_posed_x_turned_d_x_p*u41 + d_posed_y_turned_d_x_p*u42
    d_posed_gap_d_x_p = d_posed_under_r_2_d_x_p*u46 + sin_theta
    d_posed_along_neck_d_z_p = u39
    d_posed_x_turned_d_z_p = cos_psi*d_posed_along_neck_d_z_p
    d_posed_y_turned_d_z_p = d_posed_along_neck_d_z_p*sin_psi
    d_posed_under_r_2_d_z_p = d_posed_x_turned_d_z_p*u41 + d_posed_y_turned_d_z_p*u42
    d_posed_z_turned_d_z_p = 1 - cos_theta
    d_posed_gap_d_z_p = d_posed_under_r_2_d_z_p*u46 + d_posed_z_turned_d_z_p
    return (d_posed_gap_d_x, d_posed_gap_d_y, d_posed_gap_d_gap_joint, d_posed_gap_d_hollowed, d_posed_gap_d_taper, d_posed_gap_d_curvature, d_posed_gap_d_x_apex, d_posed_gap_d_along, d_posed_gap_d_across, d_posed_gap_d_cos_psi, d_posed_gap_d_sin_psi, d_posed_gap_d_cos_theta, d_posed_gap_d_sin_theta, d_posed_gap_d_advance, d_posed_gap_d_x_p, d_posed_gap_d_z_p,)


def planed_slope(dome_moment, tongue_length):
    """Slope of the plane that fits the dome best under the tongue: the taper of a planed underside."""
    return (12*dome_moment/tongue_length,)


def planed_slope_slopes(dome_moment, tongue_length):
    """Exact derivatives of planed_slope, output by output, input by input."""
    return (12/tongue_length, -12*dome_moment/tongue_length**2,)


def tongue_thickness(x, alpha, z_joint, cover, underside, gap_joint):
    """Neck wood left under the board of the tongue, on the centreline."""
    return (-cover - gap_joint - underside + x*tan(alpha) + z_joint,)


def tongue_thickness_slopes(x, alpha, z_joint, cover, underside, gap_joint):
    """Exact derivatives of tongue_thickness, output by output, input by input."""
    u0 = tan(alpha)
    return (u0, x*(u0**2 + 1), 1, -1, -1, -1,)
