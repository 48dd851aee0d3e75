"""Written by ``python -m lutherie_geom.theory.write`` from the derivations in ``lever.py``; not to be edited."""

from numpy import sqrt

def string_lever(x_nut_body, z_nut_body, x_saddle, z_saddle, x_p, z_p):
    """Lever arm of the string line about the pivot axis, seen from the side."""
    u0 = -x_nut_body + x_saddle
    u1 = -z_nut_body + z_saddle
    l = sqrt(u0**2 + u1**2)
    return ((u0*(z_nut_body - z_p) - u1*(x_nut_body - x_p))/l,)


def string_lever_slopes(x_nut_body, z_nut_body, x_saddle, z_saddle, x_p, z_p):
    """Exact derivatives of string_lever, output by output, input by input."""
    u0 = -x_saddle
    u1 = u0 + x_nut_body
    u2 = -u1
    u3 = -z_saddle
    u4 = u3 + z_nut_body
    u5 = -u4
    u6 = sqrt(u2**2 + u5**2)
    u7 = u6**(-1.0)
    d_l_d_x_nut_body = u1*u7
    l = u6
    u10 = x_nut_body - x_p
    u9 = z_nut_body - z_p
    u11 = (-u10*u5 + u2*u9)/l**2
    u8 = l**(-1.0)
    d_l_d_z_nut_body = u4*u7
    d_l_d_x_saddle = u2*u7
    d_l_d_z_saddle = u5*u7
    return (-d_l_d_x_nut_body*u11 + u8*(u3 + z_p), -d_l_d_z_nut_body*u11 + u8*(-u0 - x_p), -d_l_d_x_saddle*u11 + u8*u9, -d_l_d_z_saddle*u11 - u10*u8, u5*u8, u1*u8,)


def screw_force(pull, string_lever, arm):
    """Force in the tilt screw that balances the strings, by virtual work."""
    return (pull*string_lever/arm,)


def screw_force_slopes(pull, string_lever, arm):
    """Exact derivatives of screw_force, output by output, input by input."""
    u0 = arm**(-1.0)
    return (string_lever*u0, pull*u0, -pull*string_lever/arm**2,)
