"""Written by ``python -m lutherie_geom.theory.write`` from the derivations in ``dome.py``; not to be edited."""

from numpy import sqrt

def dome_height(x, y, curvature, x_apex, along, across):
    """Height of the soundboard above its level at the joint."""
    a_2 = along*x_apex**2
    r_2 = across*y**2 + along*(x - x_apex)**2
    u0 = curvature**2
    return (curvature*(a_2 - r_2)/(sqrt(-a_2*u0 + 1) + sqrt(-r_2*u0 + 1)),)


def dome_height_slopes(x, y, curvature, x_apex, along, across):
    """Exact derivatives of dome_height, output by output, input by input."""
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
    return (d_r_2_d_x*u15, d_r_2_d_y*u15, curvature*u13*(a_2*curvature*u16 + curvature*r_2*u11) + u12*u9, d_a_2_d_x_apex*u17 + d_r_2_d_x_apex*u15, d_a_2_d_along*u17 + d_r_2_d_along*u15, d_r_2_d_across*u15,)


def sagitta(radius, chord):
    """Height of an arc over its chord."""
    u0 = (1/4)*chord**2
    return (u0/(radius + sqrt(radius**2 - u0)),)


def sagitta_slopes(radius, chord):
    """Exact derivatives of sagitta, output by output, input by input."""
    u0 = (1/4)*chord**2
    u1 = sqrt(radius**2 - u0)
    u2 = radius + u1
    u3 = u2**(-2.0)
    u4 = u1**(-1.0)
    return (u0*u3*(-radius*u4 - 1), (1/16)*chord**3*u3*u4 + (1/2)*chord/u2,)


def radius_from_sagitta(rise, chord):
    """Radius of an arc from its height over a chord."""
    return ((1/8)*chord**2/rise + (1/2)*rise,)


def radius_from_sagitta_slopes(rise, chord):
    """Exact derivatives of radius_from_sagitta, output by output, input by input."""
    return (-1/8*chord**2/rise**2 + 1/2, (1/4)*chord/rise,)
