"""Written by ``python -m lutherie_geom.theory.write`` from the derivations in ``templates.py``; not to be edited."""

from numpy import sign, sqrt, tan

def template_offset(bush_diameter, bit_diameter):
    """How far a template's edge stands off the edge that the bit cuts."""
    return (-1/2*bit_diameter + (1/2)*bush_diameter,)


def template_offset_slopes(bush_diameter, bit_diameter):
    """Exact derivatives of template_offset, output by output, input by input."""
    return (1/2, -1/2,)


def heel_corner(half_width_top, half_width_foot, foot_z, side_gap, bit_diameter):
    """Least radius of the heel's foot corners that go into corners left round by the bit."""
    lean = -(-half_width_foot + half_width_top)/foot_z
    sin_half = sqrt((1/2)*lean/sqrt(lean**2 + 1) + 1/2)
    need = (1/2)*bit_diameter - side_gap/(1 - sin_half)
    return ((1/2)*need + (1/2)*abs(need),)


def heel_corner_slopes(half_width_top, half_width_foot, foot_z, side_gap, bit_diameter):
    """Exact derivatives of heel_corner, output by output, input by input."""
    u0 = foot_z**(-1.0)
    d_lean_d_half_width_top = -u0
    u1 = -half_width_foot + half_width_top
    lean = -u0*u1
    u2 = lean**2
    u3 = u2 + 1
    u4 = 1/sqrt(u3)
    u5 = sqrt((1/2)*lean*u4 + 1/2)
    u8 = (-1/4*u2/u3**(3/2) + (1/4)*u4)/u5
    d_sin_half_d_half_width_top = d_lean_d_half_width_top*u8
    sin_half = u5
    u6 = 1 - sin_half
    u9 = side_gap/u6**2
    d_need_d_half_width_top = -d_sin_half_d_half_width_top*u9
    u7 = u6**(-1.0)
    need = (1/2)*bit_diameter - side_gap*u7
    u10 = sign(need)
    u11 = (1/2)*u10 + 1/2
    d_lean_d_half_width_foot = u0
    d_sin_half_d_half_width_foot = d_lean_d_half_width_foot*u8
    d_need_d_half_width_foot = -d_sin_half_d_half_width_foot*u9
    d_lean_d_foot_z = u1/foot_z**2
    d_sin_half_d_foot_z = d_lean_d_foot_z*u8
    d_need_d_foot_z = -d_sin_half_d_foot_z*u9
    d_need_d_side_gap = -u7
    return (d_need_d_half_width_top*u11, d_need_d_half_width_foot*u11, d_need_d_foot_z*u11, d_need_d_side_gap*u11, (1/4)*u10 + 1/4,)


def check_rise(run, alpha):
    """Rise of a check block for an angle over a length."""
    return (run*tan(alpha),)


def check_rise_slopes(run, alpha):
    """Exact derivatives of check_rise, output by output, input by input."""
    u0 = tan(alpha)
    return (u0, run*(u0**2 + 1),)
