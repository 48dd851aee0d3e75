"""Written by ``python -m lutherie_geom.theory.write`` from the derivations in ``contact.py``; not to be edited."""

from numpy import arctan2, sqrt

def ball_in_cone(p_x, p_y, p_z, a_x, a_y, a_z):
    """Ball in a cone: its centre stays at the seat's point, three rows."""
    return (-a_x + p_x, -a_y + p_y, -a_z + p_z,)


def ball_in_cone_slopes(p_x, p_y, p_z, a_x, a_y, a_z):
    """Exact derivatives of ball_in_cone, output by output, input by input."""
    return (1, 0, 0, -1, 0, 0, 0, 1, 0, 0, -1, 0, 0, 0, 1, 0, 0, -1,)


def ball_in_vee(p_x, p_y, p_z, a_x, a_y, a_z, d_x, d_y, d_z, o_x, o_y, o_z):
    """Ball in a vee: its centre stays on a line, two rows."""
    c_x = d_y*o_z - d_z*o_y
    c_y = -d_x*o_z + d_z*o_x
    c_z = d_x*o_y - d_y*o_x
    r_x = -a_x + p_x
    r_y = -a_y + p_y
    r_z = -a_z + p_z
    size = sqrt(c_x**2 + c_y**2 + c_z**2)
    u0 = size**(-1.0)
    f_x = -c_y*d_z + c_z*d_y
    f_y = c_x*d_z - c_z*d_x
    f_z = -c_x*d_y + c_y*d_x
    return (u0*(c_x*r_x + c_y*r_y + c_z*r_z), u0*(f_x*r_x + f_y*r_y + f_z*r_z)/sqrt(d_x**2 + d_y**2 + d_z**2),)


def ball_in_vee_slopes(p_x, p_y, p_z, a_x, a_y, a_z, d_x, d_y, d_z, o_x, o_y, o_z):
    """Exact derivatives of ball_in_vee, output by output, input by input."""
    u0 = d_y*o_z
    c_x = -d_z*o_y + u0
    u1 = d_z*o_x
    c_y = -d_x*o_z + u1
    u2 = d_x*o_y
    c_z = -d_y*o_x + u2
    u3 = sqrt(c_x**2 + c_y**2 + c_z**2)
    size = u3
    u14 = size**(-1.0)
    u15 = c_x*u14
    u16 = c_y*u14
    u17 = c_z*u14
    d_c_y_d_d_x = -o_z
    u7 = u3**(-1.0)
    u10 = c_y*u7
    u9 = c_z*u7
    d_size_d_d_x = d_c_y_d_d_x*u10 + o_y*u9
    r_y = -a_y + p_y
    u18 = r_y*u14
    r_z = -a_z + p_z
    u19 = r_z*u14
    r_x = -a_x + p_x
    u20 = size**(-2.0)
    u21 = u20*(c_x*r_x + c_y*r_y + c_z*r_z)
    d_c_z_d_d_y = -o_x
    u8 = c_x*u7
    d_size_d_d_y = d_c_z_d_d_y*u9 + o_z*u8
    u22 = r_x*u14
    d_c_x_d_d_z = -o_y
    d_size_d_d_z = d_c_x_d_d_z*u8 + o_x*u10
    d_c_z_d_o_x = -d_y
    u4 = c_y*d_z
    d_size_d_o_x = d_c_z_d_o_x*u9 + u4*u7
    d_c_x_d_o_y = -d_z
    u5 = c_z*d_x
    d_size_d_o_y = d_c_x_d_o_y*u8 + u5*u7
    d_c_y_d_o_z = -d_x
    u6 = c_x*d_y
    d_size_d_o_z = d_c_y_d_o_z*u10 + u6*u7
    f_x = c_z*d_y - u4
    u11 = d_z**2
    u12 = d_x**2
    u13 = d_y**2
    u23 = u11 + u12 + u13
    u24 = 1/sqrt(u23)
    u25 = u14*u24
    u26 = f_x*u25
    f_y = c_x*d_z - u5
    u27 = f_y*u25
    f_z = c_y*d_x - u6
    u28 = f_z*u25
    d_f_x_d_d_x = -d_c_y_d_d_x*d_z + d_y*o_y
    d_f_y_d_d_x = -c_z - u2
    d_f_z_d_d_x = c_y + d_c_y_d_d_x*d_x
    u29 = u22*u24
    u30 = u18*u24
    u31 = u19*u24
    u32 = f_x*r_x + f_y*r_y + f_z*r_z
    u33 = u20*u24*u32
    u34 = u14*u32/u23**(3/2)
    d_f_x_d_d_y = c_z + d_c_z_d_d_y*d_y
    d_f_y_d_d_y = -d_c_z_d_d_y*d_x + d_z*o_z
    d_f_z_d_d_y = -c_x - u0
    d_f_x_d_d_z = -c_y - u1
    d_f_y_d_d_z = c_x + d_c_x_d_d_z*d_z
    d_f_z_d_d_z = -d_c_x_d_d_z*d_y + d_x*o_x
    d_f_x_d_o_x = d_c_z_d_o_x*d_y - u11
    d_f_y_d_o_x = -d_c_z_d_o_x*d_x
    d_f_z_d_o_x = d_x*d_z
    d_f_x_d_o_y = d_x*d_y
    d_f_y_d_o_y = d_c_x_d_o_y*d_z - u12
    d_f_z_d_o_y = -d_c_x_d_o_y*d_y
    d_f_x_d_o_z = -d_c_y_d_o_z*d_z
    d_f_y_d_o_z = d_y*d_z
    d_f_z_d_o_z = d_c_y_d_o_z*d_x - u13
    return (u15, u16, u17, -u15, -u16, -u17, d_c_y_d_d_x*u18 - d_size_d_d_x*u21 + o_y*u19, d_c_z_d_d_y*u19 - d_size_d_d_y*u21 + o_z*u22, d_c_x_d_d_z*u22 - d_size_d_d_z*u21 + o_x*u18, d_c_z_d_o_x*u19 - d_size_d_o_x*u21 + d_z*u18, d_c_x_d_o_y*u22 - d_size_d_o_y*u21 + d_x*u19, d_c_y_d_o_z*u18 - d_size_d_o_z*u21 + d_y*u22, u26, u27, u28, -u26, -u27, -u28, d_f_x_d_d_x*u29 + d_f_y_d_d_x*u30 + d_f_z_d_d_x*u31 - d_size_d_d_x*u33 - d_x*u34, d_f_x_d_d_y*u29 + d_f_y_d_d_y*u30 + d_f_z_d_d_y*u31 - d_size_d_d_y*u33 - d_y*u34, d_f_x_d_d_z*u29 + d_f_y_d_d_z*u30 + d_f_z_d_d_z*u31 - d_size_d_d_z*u33 - d_z*u34, d_f_x_d_o_x*u29 + d_f_y_d_o_x*u30 + d_f_z_d_o_x*u31 - d_size_d_o_x*u33, d_f_x_d_o_y*u29 + d_f_y_d_o_y*u30 + d_f_z_d_o_y*u31 - d_size_d_o_y*u33, d_f_x_d_o_z*u29 + d_f_y_d_o_z*u30 + d_f_z_d_o_z*u31 - d_size_d_o_z*u33,)


def ball_on_flat(p_x, p_y, p_z, a_x, a_y, a_z, n_x, n_y, n_z):
    """Ball on a flat: its centre stays in a plane, one row."""
    return ((n_x*(-a_x + p_x) + n_y*(-a_y + p_y) + n_z*(-a_z + p_z))/sqrt(n_x**2 + n_y**2 + n_z**2),)


def ball_on_flat_slopes(p_x, p_y, p_z, a_x, a_y, a_z, n_x, n_y, n_z):
    """Exact derivatives of ball_on_flat, output by output, input by input."""
    u0 = n_x**2 + n_y**2 + n_z**2
    u1 = 1/sqrt(u0)
    u2 = n_x*u1
    u3 = n_y*u1
    u4 = n_z*u1
    u5 = -a_x + p_x
    u6 = -a_y + p_y
    u7 = -a_z + p_z
    u8 = (n_x*u5 + n_y*u6 + n_z*u7)/u0**(3/2)
    return (u2, u3, u4, -u2, -u3, -u4, -n_x*u8 + u1*u5, -n_y*u8 + u1*u6, -n_z*u8 + u1*u7,)


def link(p_x, p_y, p_z, a_x, a_y, a_z, length):
    """Link: two points keep their distance, one row (a screw between two swivels)."""
    return (-length + sqrt((-a_x + p_x)**2 + (-a_y + p_y)**2 + (-a_z + p_z)**2),)


def link_slopes(p_x, p_y, p_z, a_x, a_y, a_z, length):
    """Exact derivatives of link, output by output, input by input."""
    u0 = a_x - p_x
    u1 = -u0
    u2 = a_y - p_y
    u3 = -u2
    u4 = a_z - p_z
    u5 = -u4
    u6 = 1/sqrt(u1**2 + u3**2 + u5**2)
    return (u1*u6, u3*u6, u5*u6, u0*u6, u2*u6, u4*u6, -1,)


def spring_tension(preload, rate, longer):
    """Force of a clamp or spring once the neck has moved."""
    return (longer*rate + preload,)


def spring_tension_slopes(preload, rate, longer):
    """Exact derivatives of spring_tension, output by output, input by input."""
    return (1, longer, rate,)


def screw_to_plane(p_x, p_y, p_z, u_x, u_y, u_z, a_x, a_y, a_z, n_x, n_y, n_z, length):
    """Screw whose direction is fixed in the neck, its head sliding on a plane, one row."""
    reach = length/sqrt(u_x**2 + u_y**2 + u_z**2)
    return ((n_x*(-a_x + p_x + reach*u_x) + n_y*(-a_y + p_y + reach*u_y) + n_z*(-a_z + p_z + reach*u_z))/sqrt(n_x**2 + n_y**2 + n_z**2),)


def screw_to_plane_slopes(p_x, p_y, p_z, u_x, u_y, u_z, a_x, a_y, a_z, n_x, n_y, n_z, length):
    """Exact derivatives of screw_to_plane, output by output, input by input."""
    u3 = n_x**2 + n_y**2 + n_z**2
    u4 = 1/sqrt(u3)
    u5 = n_x*u4
    u6 = n_y*u4
    u7 = n_z*u4
    u0 = u_x**2 + u_y**2 + u_z**2
    u2 = length/u0**(3/2)
    d_reach_d_u_x = -u2*u_x
    u1 = 1/sqrt(u0)
    reach = length*u1
    u8 = u4*(n_x*u_x + n_y*u_y + n_z*u_z)
    d_reach_d_u_y = -u2*u_y
    d_reach_d_u_z = -u2*u_z
    u10 = -a_y + p_y + reach*u_y
    u11 = -a_z + p_z + reach*u_z
    u9 = -a_x + p_x + reach*u_x
    u12 = (n_x*u9 + n_y*u10 + n_z*u11)/u3**(3/2)
    d_reach_d_length = u1
    return (u5, u6, u7, d_reach_d_u_x*u8 + reach*u5, d_reach_d_u_y*u8 + reach*u6, d_reach_d_u_z*u8 + reach*u7, -u5, -u6, -u7, -n_x*u12 + u4*u9, -n_y*u12 + u10*u4, -n_z*u12 + u11*u4, d_reach_d_length*u8,)


def ball_on_rim(p_x, p_y, p_z, a_x, a_y, a_z, n_x, n_y, n_z, ball_radius, rim_radius):
    """Ball on a rim: its centre stays where the two radii put it, three rows."""
    rise = sqrt(ball_radius**2 - rim_radius**2)
    u0 = rise/sqrt(n_x**2 + n_y**2 + n_z**2)
    return (-a_x - n_x*u0 + p_x, -a_y - n_y*u0 + p_y, -a_z - n_z*u0 + p_z,)


def ball_on_rim_slopes(p_x, p_y, p_z, a_x, a_y, a_z, n_x, n_y, n_z, ball_radius, rim_radius):
    """Exact derivatives of ball_on_rim, output by output, input by input."""
    u2 = n_x**2
    u0 = sqrt(ball_radius**2 - rim_radius**2)
    rise = u0
    u3 = n_y**2
    u4 = n_z**2
    u5 = u2 + u3 + u4
    u6 = 1/sqrt(u5)
    u7 = -rise*u6
    u8 = rise/u5**(3/2)
    u9 = n_x*u8
    u10 = n_y*u9
    u11 = n_z*u9
    u1 = u0**(-1.0)
    d_rise_d_ball_radius = ball_radius*u1
    u12 = n_x*u6
    d_rise_d_rim_radius = -rim_radius*u1
    u13 = n_y*n_z*u8
    u14 = n_y*u6
    u15 = n_z*u6
    return (1, 0, 0, -1, 0, 0, u2*u8 + u7, u10, u11, -d_rise_d_ball_radius*u12, -d_rise_d_rim_radius*u12, 0, 1, 0, 0, -1, 0, u10, u3*u8 + u7, u13, -d_rise_d_ball_radius*u14, -d_rise_d_rim_radius*u14, 0, 0, 1, 0, 0, -1, u11, u13, u4*u8 + u7, -d_rise_d_ball_radius*u15, -d_rise_d_rim_radius*u15,)


def screw_on_face(p_x, p_y, p_z, u_x, u_y, u_z, a_x, a_y, a_z, d_x, d_y, d_z, length):
    """Screw whose direction is fixed in the body, its tip on a face of the neck, one row."""
    tip = length/sqrt(d_x**2 + d_y**2 + d_z**2)
    return ((u_x*(a_x + d_x*tip - p_x) + u_y*(a_y + d_y*tip - p_y) + u_z*(a_z + d_z*tip - p_z))/sqrt(u_x**2 + u_y**2 + u_z**2),)


def screw_on_face_slopes(p_x, p_y, p_z, u_x, u_y, u_z, a_x, a_y, a_z, d_x, d_y, d_z, length):
    """Exact derivatives of screw_on_face, output by output, input by input."""
    u3 = u_x**2 + u_y**2 + u_z**2
    u4 = 1/sqrt(u3)
    u5 = u4*u_x
    u6 = u4*u_y
    u7 = u4*u_z
    u0 = d_x**2 + d_y**2 + d_z**2
    u1 = 1/sqrt(u0)
    tip = length*u1
    u10 = a_z + d_z*tip - p_z
    u8 = a_x + d_x*tip - p_x
    u9 = a_y + d_y*tip - p_y
    u11 = (u10*u_z + u8*u_x + u9*u_y)/u3**(3/2)
    u2 = length/u0**(3/2)
    d_tip_d_d_x = -d_x*u2
    u12 = u4*(d_x*u_x + d_y*u_y + d_z*u_z)
    d_tip_d_d_y = -d_y*u2
    d_tip_d_d_z = -d_z*u2
    d_tip_d_length = u1
    return (-u5, -u6, -u7, -u11*u_x + u4*u8, -u11*u_y + u4*u9, u10*u4 - u11*u_z, u5, u6, u7, d_tip_d_d_x*u12 + tip*u5, d_tip_d_d_y*u12 + tip*u6, d_tip_d_d_z*u12 + tip*u7, d_tip_d_length*u12,)


def face_on_face(p_x, p_y, p_z, u_x, u_y, u_z, a_x, a_y, a_z, n_x, n_y, n_z, d_x, d_y, d_z, half_along, half_across, thickness, slope_along, slope_across):
    """Flat face on a flat face, with or without a shim or wedge between: three rows."""
    up = sqrt(n_x**2 + n_y**2 + n_z**2)
    u0 = up**(-1.0)
    e_x = n_x*u0
    e_y = n_y*u0
    e_z = n_z*u0
    o_y = d_x*n_z - d_z*n_x
    o_z = -d_x*n_y + d_y*n_x
    o_x = -d_y*n_z + d_z*n_y
    size = sqrt(o_x**2 + o_y**2 + o_z**2)
    u1 = size**(-1.0)
    u2 = u0*u1
    f_x = u2*(-n_y*o_z + n_z*o_y)
    u3 = o_x*u1
    m_x = e_x - f_x*slope_along - slope_across*u3
    f_y = u2*(n_x*o_z - n_z*o_x)
    u4 = o_y*u1
    m_y = e_y - f_y*slope_along - slope_across*u4
    f_z = u2*(-n_x*o_y + n_y*o_x)
    u5 = o_z*u1
    m_z = e_z - f_z*slope_along - slope_across*u5
    face = sqrt(u_x**2 + u_y**2 + u_z**2)
    u6 = face**(-1.0)
    return ((m_x*(-a_x - e_x*thickness + p_x) + m_y*(-a_y - e_y*thickness + p_y) + m_z*(-a_z - e_z*thickness + p_z))/sqrt(m_x**2 + m_y**2 + m_z**2), half_along*u6*(u_x*(e_x*slope_along + f_x) + u_y*(e_y*slope_along + f_y) + u_z*(e_z*slope_along + f_z))/sqrt(slope_along**2 + 1), half_across*u6*(u_x*(e_x*slope_across + u3) + u_y*(e_y*slope_across + u4) + u_z*(e_z*slope_across + u5))/sqrt(slope_across**2 + 1),)


def face_on_face_slopes(p_x, p_y, p_z, u_x, u_y, u_z, a_x, a_y, a_z, n_x, n_y, n_z, d_x, d_y, d_z, half_along, half_across, thickness, slope_along, slope_across):
    """Exact derivatives of face_on_face, output by output, input by input."""
    u1 = n_x**2
    u2 = n_y**2
    u3 = n_z**2
    u4 = sqrt(u1 + u2 + u3)
    up = u4
    u6 = up**(-1.0)
    u12 = n_x*u6
    e_x = u12
    o_y = d_x*n_z - d_z*n_x
    o_z = -d_x*n_y + d_y*n_x
    u5 = -n_y*o_z + n_z*o_y
    o_x = -d_y*n_z + d_z*n_y
    u0 = sqrt(o_x**2 + o_y**2 + o_z**2)
    size = u0
    u7 = size**(-1.0)
    u8 = u6*u7
    f_x = u5*u8
    u15 = o_x*u7
    m_x = e_x - f_x*slope_along - slope_across*u15
    u13 = n_y*u6
    e_y = u13
    u9 = n_x*o_z
    u10 = -n_z*o_x + u9
    f_y = u10*u8
    u16 = o_y*u7
    m_y = e_y - f_y*slope_along - slope_across*u16
    u14 = n_z*u6
    e_z = u14
    u11 = -n_x*o_y + n_y*o_x
    f_z = u11*u8
    u17 = o_z*u7
    m_z = e_z - f_z*slope_along - slope_across*u17
    u52 = m_x**2 + m_y**2 + m_z**2
    u53 = 1/sqrt(u52)
    u54 = m_x*u53
    u55 = m_y*u53
    u56 = m_z*u53
    u23 = u4**(-1.0)
    d_up_d_n_x = n_x*u23
    u40 = -u6
    u29 = up**(-2.0)
    u41 = n_x*u29
    d_e_x_d_n_x = -d_up_d_n_x*u41 - u40
    u42 = n_y*u29
    d_e_y_d_n_x = -d_up_d_n_x*u42
    u43 = n_z*u29
    d_e_z_d_n_x = -d_up_d_n_x*u43
    d_o_y_d_n_x = -d_z
    u19 = u0**(-1.0)
    u20 = o_z*u19
    u22 = o_y*u19
    d_size_d_n_x = d_o_y_d_n_x*u22 + d_y*u20
    u25 = u13*u7
    u26 = size**(-2.0)
    u27 = u26*u6
    u28 = u27*u5
    u30 = u29*u7
    u31 = u30*u5
    d_f_x_d_n_x = d_o_y_d_n_x*n_z*u6*u7 - d_size_d_n_x*u28 - d_up_d_n_x*u31 - d_y*u25
    u44 = o_x*u26
    u45 = slope_across*u44
    d_m_x_d_n_x = d_e_x_d_n_x - d_f_x_d_n_x*slope_along + d_size_d_n_x*u45
    u24 = u17*u6
    u35 = u10*u27
    u36 = u10*u30
    d_f_y_d_n_x = -d_size_d_n_x*u35 - d_up_d_n_x*u36 + d_y*n_x*u6*u7 + u24
    u46 = slope_across*u7
    u47 = o_y*u26
    u48 = slope_across*u47
    d_m_y_d_n_x = d_e_y_d_n_x - d_f_y_d_n_x*slope_along - d_o_y_d_n_x*u46 + d_size_d_n_x*u48
    u32 = u16*u6
    u34 = u12*u7
    u38 = u11*u27
    u39 = u11*u30
    d_f_z_d_n_x = -d_o_y_d_n_x*u34 - d_size_d_n_x*u38 - d_up_d_n_x*u39 - u32
    u49 = o_z*u26
    u50 = slope_across*u49
    d_m_z_d_n_x = d_e_z_d_n_x - d_f_z_d_n_x*slope_along + d_size_d_n_x*u50 - d_y*u46
    u57 = -a_x - e_x*thickness + p_x
    u58 = -a_y - e_y*thickness + p_y
    u59 = -a_z - e_z*thickness + p_z
    u60 = (m_x*u57 + m_y*u58 + m_z*u59)/u52**(3/2)
    u61 = -m_x*u60 + u53*u57
    u62 = -m_y*u60 + u53*u58
    u63 = -m_z*u60 + u53*u59
    u64 = thickness*u54
    u65 = thickness*u55
    u66 = thickness*u56
    d_up_d_n_y = n_y*u23
    d_e_x_d_n_y = -d_up_d_n_y*u41
    d_e_y_d_n_y = -d_up_d_n_y*u42 - u40
    d_e_z_d_n_y = -d_up_d_n_y*u43
    d_o_z_d_n_y = -d_x
    u21 = o_x*u19
    d_size_d_n_y = d_o_z_d_n_y*u20 + d_z*u21
    d_f_x_d_n_y = -d_o_z_d_n_y*u25 - d_size_d_n_y*u28 - d_up_d_n_y*u31 - u24
    d_m_x_d_n_y = d_e_x_d_n_y - d_f_x_d_n_y*slope_along + d_size_d_n_y*u45 - d_z*u46
    u33 = u14*u7
    d_f_y_d_n_y = d_o_z_d_n_y*n_x*u6*u7 - d_size_d_n_y*u35 - d_up_d_n_y*u36 - d_z*u33
    d_m_y_d_n_y = d_e_y_d_n_y - d_f_y_d_n_y*slope_along + d_size_d_n_y*u48
    u37 = u15*u6
    d_f_z_d_n_y = -d_size_d_n_y*u38 - d_up_d_n_y*u39 + d_z*n_y*u6*u7 + u37
    d_m_z_d_n_y = d_e_z_d_n_y - d_f_z_d_n_y*slope_along - d_o_z_d_n_y*u46 + d_size_d_n_y*u50
    d_up_d_n_z = n_z*u23
    d_e_x_d_n_z = -d_up_d_n_z*u41
    d_e_y_d_n_z = -d_up_d_n_z*u42
    d_e_z_d_n_z = -d_up_d_n_z*u43 - u40
    d_o_x_d_n_z = -d_y
    d_size_d_n_z = d_o_x_d_n_z*u21 + d_x*u22
    d_f_x_d_n_z = -d_size_d_n_z*u28 - d_up_d_n_z*u31 + d_x*n_z*u6*u7 + u32
    d_m_x_d_n_z = d_e_x_d_n_z - d_f_x_d_n_z*slope_along - d_o_x_d_n_z*u46 + d_size_d_n_z*u45
    d_f_y_d_n_z = -d_o_x_d_n_z*u33 - d_size_d_n_z*u35 - d_up_d_n_z*u36 - u37
    d_m_y_d_n_z = d_e_y_d_n_z - d_f_y_d_n_z*slope_along + d_size_d_n_z*u48 - d_x*u46
    d_f_z_d_n_z = d_o_x_d_n_z*n_y*u6*u7 - d_size_d_n_z*u38 - d_up_d_n_z*u39 - d_x*u34
    d_m_z_d_n_z = d_e_z_d_n_z - d_f_z_d_n_z*slope_along + d_size_d_n_z*u50
    d_o_z_d_d_x = -n_y
    d_size_d_d_x = d_o_z_d_d_x*u20 + n_z*o_y*u19
    d_f_x_d_d_x = -d_o_z_d_d_x*u25 - d_size_d_d_x*u28 + u3*u6*u7
    d_m_x_d_d_x = -d_f_x_d_d_x*slope_along + d_size_d_d_x*o_x*slope_across*u26
    d_f_y_d_d_x = d_o_z_d_d_x*u34 - d_size_d_d_x*u35
    d_m_y_d_d_x = -d_f_y_d_d_x*slope_along + d_size_d_d_x*o_y*slope_across*u26 - n_z*u46
    d_f_z_d_d_x = -d_size_d_d_x*u38 - n_z*u34
    d_m_z_d_d_x = -d_f_z_d_d_x*slope_along - d_o_z_d_d_x*u46 + d_size_d_d_x*o_z*slope_across*u26
    d_o_x_d_d_y = -n_z
    d_size_d_d_y = d_o_x_d_d_y*u21 + u19*u9
    d_f_x_d_d_y = -d_size_d_d_y*u28 - n_y*u34
    d_m_x_d_d_y = -d_f_x_d_d_y*slope_along - d_o_x_d_d_y*u46 + d_size_d_d_y*o_x*slope_across*u26
    d_f_y_d_d_y = -d_o_x_d_d_y*u33 - d_size_d_d_y*u35 + u1*u6*u7
    d_m_y_d_d_y = -d_f_y_d_d_y*slope_along + d_size_d_d_y*o_y*slope_across*u26
    d_f_z_d_d_y = d_o_x_d_d_y*u25 - d_size_d_d_y*u38
    d_m_z_d_d_y = -d_f_z_d_d_y*slope_along + d_size_d_d_y*o_z*slope_across*u26 - n_x*u46
    d_o_y_d_d_z = -n_x
    d_size_d_d_z = d_o_y_d_d_z*u22 + n_y*o_x*u19
    d_f_x_d_d_z = d_o_y_d_d_z*u33 - d_size_d_d_z*u28
    d_m_x_d_d_z = -d_f_x_d_d_z*slope_along + d_size_d_d_z*o_x*slope_across*u26 - n_y*u46
    d_f_y_d_d_z = -d_size_d_d_z*u35 - n_z*u25
    d_m_y_d_d_z = -d_f_y_d_d_z*slope_along - d_o_y_d_d_z*u46 + d_size_d_d_z*o_y*slope_across*u26
    d_f_z_d_d_z = -d_o_y_d_d_z*u34 - d_size_d_d_z*u38 + u2*u6*u7
    d_m_z_d_d_z = -d_f_z_d_d_z*slope_along + d_size_d_d_z*o_z*slope_across*u26
    d_m_x_d_slope_along = -f_x
    d_m_y_d_slope_along = -f_y
    d_m_z_d_slope_along = -f_z
    d_m_x_d_slope_across = -u15
    d_m_y_d_slope_across = -u16
    d_m_z_d_slope_across = -u17
    u18 = sqrt(u_x**2 + u_y**2 + u_z**2)
    face = u18
    u67 = face**(-1.0)
    u68 = slope_along**2 + 1
    u69 = 1/sqrt(u68)
    u70 = e_x*slope_along + f_x
    u51 = u18**(-1.0)
    d_face_d_u_x = u51*u_x
    u71 = face**(-2.0)
    u72 = d_face_d_u_x*u71
    u73 = e_y*slope_along + f_y
    u74 = e_z*slope_along + f_z
    u75 = u70*u_x + u73*u_y + u74*u_z
    u76 = half_along*u75
    u77 = u69*u76
    d_face_d_u_y = u51*u_y
    u78 = u71*u77
    d_face_d_u_z = u51*u_z
    u79 = u67*u69
    u80 = half_along*u79
    u81 = u80*u_x
    u82 = u80*u_y
    u83 = u80*u_z
    u84 = slope_along*u81
    u85 = slope_along*u82
    u86 = slope_along*u83
    u87 = e_x*u_x + e_y*u_y + e_z*u_z
    u88 = slope_across**2 + 1
    u89 = 1/sqrt(u88)
    u90 = e_x*slope_across + u15
    u91 = e_y*slope_across + u16
    u92 = e_z*slope_across + u17
    u93 = u90*u_x + u91*u_y + u92*u_z
    u94 = half_across*u93
    u95 = u89*u94
    u96 = u71*u95
    u97 = u67*u89
    u98 = half_across*u97
    u100 = slope_across*u98
    u101 = u100*u_x
    u102 = u100*u_y
    u103 = u100*u_z
    u104 = u7*u98
    u105 = u104*u_y
    u106 = u104*u_z
    u99 = u98*(-u44*u_x - u47*u_y - u49*u_z)
    u107 = u104*u_x
    return (u54, u55, u56, 0, 0, 0, -u54, -u55, -u56, -d_e_x_d_n_x*u64 - d_e_y_d_n_x*u65 - d_e_z_d_n_x*u66 + d_m_x_d_n_x*u61 + d_m_y_d_n_x*u62 + d_m_z_d_n_x*u63, -d_e_x_d_n_y*u64 - d_e_y_d_n_y*u65 - d_e_z_d_n_y*u66 + d_m_x_d_n_y*u61 + d_m_y_d_n_y*u62 + d_m_z_d_n_y*u63, -d_e_x_d_n_z*u64 - d_e_y_d_n_z*u65 - d_e_z_d_n_z*u66 + d_m_x_d_n_z*u61 + d_m_y_d_n_z*u62 + d_m_z_d_n_z*u63, d_m_x_d_d_x*u61 + d_m_y_d_d_x*u62 + d_m_z_d_d_x*u63, d_m_x_d_d_y*u61 + d_m_y_d_d_y*u62 + d_m_z_d_d_y*u63, d_m_x_d_d_z*u61 + d_m_y_d_d_z*u62 + d_m_z_d_d_z*u63, 0, 0, u53*(-e_x*m_x - e_y*m_y - e_z*m_z), d_m_x_d_slope_along*u61 + d_m_y_d_slope_along*u62 + d_m_z_d_slope_along*u63, d_m_x_d_slope_across*u61 + d_m_y_d_slope_across*u62 + d_m_z_d_slope_across*u63, 0, 0, 0, half_along*u67*u69*u70 - u72*u77, -d_face_d_u_y*u78 + half_along*u67*u69*u73, -d_face_d_u_z*u78 + half_along*u67*u69*u74, 0, 0, 0, d_e_x_d_n_x*u84 + d_e_y_d_n_x*u85 + d_e_z_d_n_x*u86 + d_f_x_d_n_x*u81 + d_f_y_d_n_x*u82 + d_f_z_d_n_x*u83, d_e_x_d_n_y*u84 + d_e_y_d_n_y*u85 + d_e_z_d_n_y*u86 + d_f_x_d_n_y*u81 + d_f_y_d_n_y*u82 + d_f_z_d_n_y*u83, d_e_x_d_n_z*u84 + d_e_y_d_n_z*u85 + d_e_z_d_n_z*u86 + d_f_x_d_n_z*u81 + d_f_y_d_n_z*u82 + d_f_z_d_n_z*u83, d_f_x_d_d_x*u81 + d_f_y_d_d_x*u82 + d_f_z_d_d_x*u83, d_f_x_d_d_y*u81 + d_f_y_d_d_y*u82 + d_f_z_d_d_y*u83, d_f_x_d_d_z*u81 + d_f_y_d_d_z*u82 + d_f_z_d_d_z*u83, u75*u79, 0, 0, half_along*u67*u69*u87 - slope_along*u67*u76/u68**(3/2), 0, 0, 0, 0, half_across*u67*u89*u90 - u72*u95, -d_face_d_u_y*u96 + half_across*u67*u89*u91, -d_face_d_u_z*u96 + half_across*u67*u89*u92, 0, 0, 0, d_e_x_d_n_x*u101 + d_e_y_d_n_x*u102 + d_e_z_d_n_x*u103 + d_o_y_d_n_x*u105 + d_size_d_n_x*u99 + d_y*u106, d_e_x_d_n_y*u101 + d_e_y_d_n_y*u102 + d_e_z_d_n_y*u103 + d_o_z_d_n_y*u106 + d_size_d_n_y*u99 + d_z*u107, d_e_x_d_n_z*u101 + d_e_y_d_n_z*u102 + d_e_z_d_n_z*u103 + d_o_x_d_n_z*u107 + d_size_d_n_z*u99 + d_x*u105, d_o_z_d_d_x*u106 + d_size_d_d_x*u99 + n_z*u105, d_o_x_d_d_y*u107 + d_size_d_d_y*u99 + n_x*u106, d_o_y_d_d_z*u105 + d_size_d_d_z*u99 + n_y*u107, 0, u93*u97, 0, 0, half_across*u67*u87*u89 - slope_across*u67*u94/u88**(3/2),)


def small_turn(c_x, c_y, c_z):
    """Rotation matrix of a turn given by half its rotation vector."""
    u0 = c_x**2
    u1 = c_y**2
    u2 = c_z**2
    u3 = u1 + u2
    k = 2/(u0 + u3 + 1)
    u4 = c_x*c_y
    u5 = c_x*c_z
    return (-k*u3 + 1, k*(-c_z + u4), k*(c_y + u5), k*(c_z + u4), k*(-u0 - u2) + 1, k*(-c_x + c_y*c_z), k*(-c_y + u5), k*(c_x + c_y*c_z), k*(-u0 - u1) + 1,)


def small_turn_slopes(c_x, c_y, c_z):
    """Exact derivatives of small_turn, output by output, input by input."""
    u0 = c_x**2
    u1 = c_y**2
    u2 = c_z**2
    u3 = u1 + u2
    u4 = u0 + u3 + 1
    u5 = 4/u4**2
    d_k_d_c_x = -c_x*u5
    u6 = -u3
    d_k_d_c_y = -c_y*u5
    k = 2/u4
    u7 = c_y*k
    u8 = 2*u7
    d_k_d_c_z = -c_z*u5
    u9 = c_z*k
    u10 = 2*u9
    u11 = c_x*c_y
    u12 = -c_z + u11
    u13 = c_x*k
    u14 = -k
    u15 = c_x*c_z
    u16 = c_y + u15
    u17 = c_z + u11
    u18 = -u0 - u2
    u19 = 2*u13
    u20 = -c_x + c_y*c_z
    u21 = -c_y + u15
    u22 = c_x + c_y*c_z
    u23 = -u0 - u1
    return (d_k_d_c_x*u6, d_k_d_c_y*u6 - u8, d_k_d_c_z*u6 - u10, d_k_d_c_x*u12 + u7, d_k_d_c_y*u12 + u13, d_k_d_c_z*u12 + u14, d_k_d_c_x*u16 + u9, d_k_d_c_y*u16 + k, d_k_d_c_z*u16 + u13, d_k_d_c_x*u17 + u7, d_k_d_c_y*u17 + u13, d_k_d_c_z*u17 + k, d_k_d_c_x*u18 - u19, d_k_d_c_y*u18, d_k_d_c_z*u18 - u10, d_k_d_c_x*u20 + u14, d_k_d_c_y*u20 + u9, d_k_d_c_z*u20 + u7, d_k_d_c_x*u21 + u9, d_k_d_c_y*u21 + u14, d_k_d_c_z*u21 + u13, d_k_d_c_x*u22 + k, d_k_d_c_y*u22 + u9, d_k_d_c_z*u22 + u7, d_k_d_c_x*u23 - u19, d_k_d_c_y*u23 - u8, d_k_d_c_z*u23,)


def turn_angles(r_xx, r_yx, r_zx, r_zy, r_zz):
    """Yaw, tilt and roll of a rotation R = Rz(yaw) Ry(tilt) Rx(roll)."""
    return (arctan2(r_yx, r_xx), arctan2(-r_zx, sqrt(r_xx**2 + r_yx**2)), arctan2(r_zy, r_zz),)


def turn_angles_slopes(r_xx, r_yx, r_zx, r_zy, r_zz):
    """Exact derivatives of turn_angles, output by output, input by input."""
    u0 = r_xx**2 + r_yx**2
    u1 = u0**(-1.0)
    u2 = (r_zx**2 + u0)**(-1.0)
    u3 = sqrt(u0)
    u4 = r_zx*u2/u3
    u5 = (r_zy**2 + r_zz**2)**(-1.0)
    return (-r_yx*u1, r_xx*u1, 0, 0, 0, r_xx*u4, r_yx*u4, -u2*u3, 0, 0, 0, 0, 0, r_zz*u5, -r_zy*u5,)


def carried(nominal_x, nominal_y, nominal_z, r_xx, r_xy, r_xz, r_yx, r_yy, r_yz, r_zx, r_zy, r_zz, ref_x, ref_y, ref_z, pos_x, pos_y, pos_z):
    """A point of the neck, given at the nominal pose, after any rigid motion."""
    arm_x = nominal_x - ref_x
    arm_y = nominal_y - ref_y
    arm_z = nominal_z - ref_z
    x_carried = arm_x*r_xx + arm_y*r_xy + arm_z*r_xz + pos_x
    y_carried = arm_x*r_yx + arm_y*r_yy + arm_z*r_yz + pos_y
    z_carried = arm_x*r_zx + arm_y*r_zy + arm_z*r_zz + pos_z
    return (x_carried, y_carried, z_carried,)


def carried_slopes(nominal_x, nominal_y, nominal_z, r_xx, r_xy, r_xz, r_yx, r_yy, r_yz, r_zx, r_zy, r_zz, ref_x, ref_y, ref_z, pos_x, pos_y, pos_z):
    """Exact derivatives of carried, output by output, input by input."""
    arm_x = nominal_x - ref_x
    arm_y = nominal_y - ref_y
    arm_z = nominal_z - ref_z
    d_x_carried_d_ref_x = -r_xx
    d_x_carried_d_ref_y = -r_xy
    d_x_carried_d_ref_z = -r_xz
    d_y_carried_d_ref_x = -r_yx
    d_y_carried_d_ref_y = -r_yy
    d_y_carried_d_ref_z = -r_yz
    d_z_carried_d_ref_x = -r_zx
    d_z_carried_d_ref_y = -r_zy
    d_z_carried_d_ref_z = -r_zz
    return (r_xx, r_xy, r_xz, arm_x, arm_y, arm_z, 0, 0, 0, 0, 0, 0, d_x_carried_d_ref_x, d_x_carried_d_ref_y, d_x_carried_d_ref_z, 1, 0, 0, r_yx, r_yy, r_yz, 0, 0, 0, arm_x, arm_y, arm_z, 0, 0, 0, d_y_carried_d_ref_x, d_y_carried_d_ref_y, d_y_carried_d_ref_z, 0, 1, 0, r_zx, r_zy, r_zz, 0, 0, 0, 0, 0, 0, arm_x, arm_y, arm_z, d_z_carried_d_ref_x, d_z_carried_d_ref_y, d_z_carried_d_ref_z, 0, 0, 1,)


def rigid_to_body(xn, yn, zn, cos_alpha, sin_alpha, z_joint, r_xx, r_xy, r_xz, r_yx, r_yy, r_yz, r_zx, r_zy, r_zz, ref_x, ref_y, ref_z, pos_x, pos_y, pos_z):
    """A point of the neck frame in the body frame, after any rigid motion."""
    x_0 = cos_alpha*xn - sin_alpha*zn
    arm_x = -ref_x + x_0
    arm_y = -ref_y + yn
    z_0 = cos_alpha*zn + sin_alpha*xn + z_joint
    arm_z = -ref_z + z_0
    x_carried = arm_x*r_xx + arm_y*r_xy + arm_z*r_xz + pos_x
    y_carried = arm_x*r_yx + arm_y*r_yy + arm_z*r_yz + pos_y
    z_carried = arm_x*r_zx + arm_y*r_zy + arm_z*r_zz + pos_z
    return (x_carried, y_carried, z_carried,)


def rigid_to_body_slopes(xn, yn, zn, cos_alpha, sin_alpha, z_joint, r_xx, r_xy, r_xz, r_yx, r_yy, r_yz, r_zx, r_zy, r_zz, ref_x, ref_y, ref_z, pos_x, pos_y, pos_z):
    """Exact derivatives of rigid_to_body, output by output, input by input."""
    d_x_carried_d_xn = cos_alpha*r_xx + r_xz*sin_alpha
    d_x_0_d_zn = -sin_alpha
    d_x_carried_d_zn = cos_alpha*r_xz + d_x_0_d_zn*r_xx
    d_x_carried_d_cos_alpha = r_xx*xn + r_xz*zn
    d_x_0_d_sin_alpha = -zn
    d_x_carried_d_sin_alpha = d_x_0_d_sin_alpha*r_xx + r_xz*xn
    x_0 = cos_alpha*xn - sin_alpha*zn
    arm_x = -ref_x + x_0
    arm_y = -ref_y + yn
    z_0 = cos_alpha*zn + sin_alpha*xn + z_joint
    arm_z = -ref_z + z_0
    d_x_carried_d_ref_x = -r_xx
    d_x_carried_d_ref_y = -r_xy
    d_x_carried_d_ref_z = -r_xz
    d_y_carried_d_xn = cos_alpha*r_yx + r_yz*sin_alpha
    d_y_carried_d_zn = cos_alpha*r_yz + d_x_0_d_zn*r_yx
    d_y_carried_d_cos_alpha = r_yx*xn + r_yz*zn
    d_y_carried_d_sin_alpha = d_x_0_d_sin_alpha*r_yx + r_yz*xn
    d_y_carried_d_ref_x = -r_yx
    d_y_carried_d_ref_y = -r_yy
    d_y_carried_d_ref_z = -r_yz
    d_z_carried_d_xn = cos_alpha*r_zx + r_zz*sin_alpha
    d_z_carried_d_zn = cos_alpha*r_zz + d_x_0_d_zn*r_zx
    d_z_carried_d_cos_alpha = r_zx*xn + r_zz*zn
    d_z_carried_d_sin_alpha = d_x_0_d_sin_alpha*r_zx + r_zz*xn
    d_z_carried_d_ref_x = -r_zx
    d_z_carried_d_ref_y = -r_zy
    d_z_carried_d_ref_z = -r_zz
    return (d_x_carried_d_xn, r_xy, d_x_carried_d_zn, d_x_carried_d_cos_alpha, d_x_carried_d_sin_alpha, r_xz, arm_x, arm_y, arm_z, 0, 0, 0, 0, 0, 0, d_x_carried_d_ref_x, d_x_carried_d_ref_y, d_x_carried_d_ref_z, 1, 0, 0, d_y_carried_d_xn, r_yy, d_y_carried_d_zn, d_y_carried_d_cos_alpha, d_y_carried_d_sin_alpha, r_yz, 0, 0, 0, arm_x, arm_y, arm_z, 0, 0, 0, d_y_carried_d_ref_x, d_y_carried_d_ref_y, d_y_carried_d_ref_z, 0, 1, 0, d_z_carried_d_xn, r_zy, d_z_carried_d_zn, d_z_carried_d_cos_alpha, d_z_carried_d_sin_alpha, r_zz, 0, 0, 0, 0, 0, 0, arm_x, arm_y, arm_z, d_z_carried_d_ref_x, d_z_carried_d_ref_y, d_z_carried_d_ref_z, 0, 0, 1,)


def rigid_to_neck(x, y, z, cos_alpha, sin_alpha, z_joint, r_xx, r_xy, r_xz, r_yx, r_yy, r_yz, r_zx, r_zy, r_zz, ref_x, ref_y, ref_z, pos_x, pos_y, pos_z):
    """A point of the body in the neck frame, after any rigid motion."""
    d_x = -pos_x + x
    d_y = -pos_y + y
    d_z = -pos_z + z
    z_0 = d_x*r_xz + d_y*r_yz + d_z*r_zz + ref_z
    up = z_0 - z_joint
    x_0 = d_x*r_xx + d_y*r_yx + d_z*r_zx + ref_x
    x_neck = cos_alpha*x_0 + sin_alpha*up
    y_0 = d_x*r_xy + d_y*r_yy + d_z*r_zy + ref_y
    z_neck = cos_alpha*up - sin_alpha*x_0
    return (x_neck, y_0, z_neck,)


def rigid_to_neck_slopes(x, y, z, cos_alpha, sin_alpha, z_joint, r_xx, r_xy, r_xz, r_yx, r_yy, r_yz, r_zx, r_zy, r_zz, ref_x, ref_y, ref_z, pos_x, pos_y, pos_z):
    """Exact derivatives of rigid_to_neck, output by output, input by input."""
    d_x_neck_d_x = cos_alpha*r_xx + r_xz*sin_alpha
    d_x_neck_d_y = cos_alpha*r_yx + r_yz*sin_alpha
    d_x_neck_d_z = cos_alpha*r_zx + r_zz*sin_alpha
    d_x = -pos_x + x
    d_y = -pos_y + y
    d_z = -pos_z + z
    x_0 = d_x*r_xx + d_y*r_yx + d_z*r_zx + ref_x
    z_0 = d_x*r_xz + d_y*r_yz + d_z*r_zz + ref_z
    up = z_0 - z_joint
    u0 = -sin_alpha
    d_x_neck_d_z_joint = u0
    u4 = cos_alpha*d_x
    d_x_neck_d_r_xx = u4
    u1 = d_x*sin_alpha
    d_x_neck_d_r_xz = u1
    u5 = cos_alpha*d_y
    d_x_neck_d_r_yx = u5
    u2 = d_y*sin_alpha
    d_x_neck_d_r_yz = u2
    u6 = cos_alpha*d_z
    d_x_neck_d_r_zx = u6
    u3 = d_z*sin_alpha
    d_x_neck_d_r_zz = u3
    d_x_0_d_pos_x = -r_xx
    d_z_0_d_pos_x = -r_xz
    d_x_neck_d_pos_x = cos_alpha*d_x_0_d_pos_x + d_z_0_d_pos_x*sin_alpha
    d_x_0_d_pos_y = -r_yx
    d_z_0_d_pos_y = -r_yz
    d_x_neck_d_pos_y = cos_alpha*d_x_0_d_pos_y + d_z_0_d_pos_y*sin_alpha
    d_x_0_d_pos_z = -r_zx
    d_z_0_d_pos_z = -r_zz
    d_x_neck_d_pos_z = cos_alpha*d_x_0_d_pos_z + d_z_0_d_pos_z*sin_alpha
    d_y_0_d_pos_x = -r_xy
    d_y_0_d_pos_y = -r_yy
    d_y_0_d_pos_z = -r_zy
    d_z_neck_d_x = cos_alpha*r_xz - r_xx*sin_alpha
    d_z_neck_d_y = cos_alpha*r_yz - r_yx*sin_alpha
    d_z_neck_d_z = cos_alpha*r_zz - r_zx*sin_alpha
    d_z_neck_d_sin_alpha = -x_0
    d_z_neck_d_z_joint = -cos_alpha
    d_z_neck_d_r_xx = -u1
    d_z_neck_d_r_xz = u4
    d_z_neck_d_r_yx = -u2
    d_z_neck_d_r_yz = u5
    d_z_neck_d_r_zx = -u3
    d_z_neck_d_r_zz = u6
    d_z_neck_d_ref_x = u0
    d_z_neck_d_pos_x = cos_alpha*d_z_0_d_pos_x - d_x_0_d_pos_x*sin_alpha
    d_z_neck_d_pos_y = cos_alpha*d_z_0_d_pos_y - d_x_0_d_pos_y*sin_alpha
    d_z_neck_d_pos_z = cos_alpha*d_z_0_d_pos_z - d_x_0_d_pos_z*sin_alpha
    return (d_x_neck_d_x, d_x_neck_d_y, d_x_neck_d_z, x_0, up, d_x_neck_d_z_joint, d_x_neck_d_r_xx, 0, d_x_neck_d_r_xz, d_x_neck_d_r_yx, 0, d_x_neck_d_r_yz, d_x_neck_d_r_zx, 0, d_x_neck_d_r_zz, cos_alpha, 0, sin_alpha, d_x_neck_d_pos_x, d_x_neck_d_pos_y, d_x_neck_d_pos_z, r_xy, r_yy, r_zy, 0, 0, 0, 0, d_x, 0, 0, d_y, 0, 0, d_z, 0, 0, 1, 0, d_y_0_d_pos_x, d_y_0_d_pos_y, d_y_0_d_pos_z, d_z_neck_d_x, d_z_neck_d_y, d_z_neck_d_z, up, d_z_neck_d_sin_alpha, d_z_neck_d_z_joint, d_z_neck_d_r_xx, 0, d_z_neck_d_r_xz, d_z_neck_d_r_yx, 0, d_z_neck_d_r_yz, d_z_neck_d_r_zx, 0, d_z_neck_d_r_zz, d_z_neck_d_ref_x, 0, cos_alpha, d_z_neck_d_pos_x, d_z_neck_d_pos_y, d_z_neck_d_pos_z,)


def screw_axis(move_x, move_y, move_z, turn_x, turn_y, turn_z, ref_x, ref_y, ref_z):
    """Screw axis of a small motion: a turn about a line and a move along it."""
    size = turn_x**2 + turn_y**2 + turn_z**2
    u0 = size**(-1.0)
    return (ref_x + u0*(-move_y*turn_z + move_z*turn_y), ref_y + u0*(move_x*turn_z - move_z*turn_x), ref_z + u0*(-move_x*turn_y + move_y*turn_x), u0*(move_x*turn_x + move_y*turn_y + move_z*turn_z),)


def screw_axis_slopes(move_x, move_y, move_z, turn_x, turn_y, turn_z, ref_x, ref_y, ref_z):
    """Exact derivatives of screw_axis, output by output, input by input."""
    size = turn_x**2 + turn_y**2 + turn_z**2
    u0 = size**(-1.0)
    u1 = turn_z*u0
    u2 = turn_y*u0
    d_size_d_turn_x = 2*turn_x
    u3 = size**(-2.0)
    u4 = u3*(-move_y*turn_z + move_z*turn_y)
    d_size_d_turn_y = 2*turn_y
    u5 = move_z*u0
    u6 = -u5
    d_size_d_turn_z = 2*turn_z
    u7 = move_y*u0
    u8 = turn_x*u0
    u9 = u3*(move_x*turn_z - move_z*turn_x)
    u10 = move_x*u0
    u11 = -u10
    u12 = -u7
    u13 = u3*(-move_x*turn_y + move_y*turn_x)
    u14 = u3*(move_x*turn_x + move_y*turn_y + move_z*turn_z)
    return (0, -u1, u2, -d_size_d_turn_x*u4, -d_size_d_turn_y*u4 - u6, -d_size_d_turn_z*u4 - u7, 1, 0, 0, u1, 0, -u8, -d_size_d_turn_x*u9 - u5, -d_size_d_turn_y*u9, -d_size_d_turn_z*u9 - u11, 0, 1, 0, -u2, u8, 0, -d_size_d_turn_x*u13 - u12, -d_size_d_turn_y*u13 - u10, -d_size_d_turn_z*u13, 0, 0, 1, u8, u2, u1, -d_size_d_turn_x*u14 - u11, -d_size_d_turn_y*u14 - u12, -d_size_d_turn_z*u14 - u6, 0, 0, 0,)
