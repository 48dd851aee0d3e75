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
