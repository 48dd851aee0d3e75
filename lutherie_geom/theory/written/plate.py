"""Written by ``python -m lutherie_geom.theory.write`` from the derivations in ``plate.py``; not to be edited."""

from numpy import cos, log, pi, sin, sqrt

def sheet_stiffness(modulus_x, modulus_y, poisson_xy, shear_modulus):
    """Plane-stress stiffness of a sheet of wood with its grain along x or y."""
    poisson_yx = modulus_y*poisson_xy/modulus_x
    rest = -poisson_xy*poisson_yx + 1
    u0 = rest**(-1.0)
    u1 = modulus_y*u0
    return (modulus_x*u0, poisson_xy*u1, u1, shear_modulus,)


def sheet_stiffness_slopes(modulus_x, modulus_y, poisson_xy, shear_modulus):
    """Exact derivatives of sheet_stiffness, output by output, input by input."""
    u2 = modulus_y*poisson_xy
    d_poisson_yx_d_modulus_x = -u2/modulus_x**2
    d_rest_d_modulus_x = -d_poisson_yx_d_modulus_x*poisson_xy
    u0 = modulus_x**(-1.0)
    u1 = poisson_xy*u0
    poisson_yx = modulus_y*u1
    rest = -poisson_xy*poisson_yx + 1
    u3 = rest**(-1.0)
    u4 = -u3
    u5 = rest**(-2.0)
    u6 = modulus_x*u5
    d_poisson_yx_d_modulus_y = u1
    d_rest_d_modulus_y = -d_poisson_yx_d_modulus_y*poisson_xy
    d_poisson_yx_d_poisson_xy = modulus_y*u0
    d_rest_d_poisson_xy = -d_poisson_yx_d_poisson_xy*poisson_xy - poisson_yx
    u7 = u2*u5
    u8 = modulus_y*u5
    return (-d_rest_d_modulus_x*u6 - u4, -d_rest_d_modulus_y*u6, -d_rest_d_poisson_xy*u6, 0, -d_rest_d_modulus_x*u7, -d_rest_d_modulus_y*u7 + poisson_xy*u3, -d_rest_d_poisson_xy*u7 + modulus_y*u3, 0, -d_rest_d_modulus_x*u8, -d_rest_d_modulus_y*u8 - u4, -d_rest_d_poisson_xy*u8, 0, 0, 0, 0, 1,)


def layer_shares(stiffness, thickness, middle):
    """What one layer brings to a plate, in one stiffness."""
    u0 = stiffness*thickness
    return (u0, middle*u0, middle**2*u0 + (1/12)*stiffness*thickness**3,)


def layer_shares_slopes(stiffness, thickness, middle):
    """Exact derivatives of layer_shares, output by output, input by input."""
    u0 = middle*thickness
    u1 = middle**2
    return (thickness, stiffness, 0, u0, middle*stiffness, stiffness*thickness, (1/12)*thickness**3 + thickness*u1, (1/4)*stiffness*thickness**2 + stiffness*u1, 2*stiffness*u0,)


def free_rigidity(a11, a12, a22, a66, b11, b12, b22, b66, d11, d12, d22, d66):
    """Bending stiffness of glued layers when the plate may stretch as it likes."""
    det = a11*a22 - a12**2
    u0 = det**(-1.0)
    u1 = a12*b12
    u2 = a22*b11 - u1
    u3 = a11*b12 - a12*b11
    return (d11 - u0*(b11*u2 + b12*u3), d12 - u0*(b12*u2 + b22*u3), d22 - u0*(b12*(-a12*b22 + a22*b12) + b22*(a11*b22 - u1)), d66 - b66**2/a66,)


def free_rigidity_slopes(a11, a12, a22, a66, b11, b12, b22, b66, d11, d12, d22, d66):
    """Exact derivatives of free_rigidity, output by output, input by input."""
    u1 = b12**2
    det = a11*a22 - a12**2
    u2 = det**(-1.0)
    u3 = -u1*u2
    u4 = det**(-2.0)
    u5 = a12*b12
    u6 = a22*b11 - u5
    u7 = a11*b12
    u8 = -a12*b11 + u7
    u9 = u4*(b11*u6 + b12*u8)
    u0 = 2*a12
    d_det_d_a12 = -u0
    u10 = b12*u2
    u11 = b11*u10
    u12 = b12*u0
    u13 = u4*(b12*u6 + b22*u8)
    u14 = b22*u10
    u15 = -a12*b22 + a22*b12
    u16 = a11*b22
    u17 = -u12
    u18 = u4*(b12*u15 + b22*(u16 - u5))
    return (a22*u9 + u3, d_det_d_a12*u9 + 2*u11, a11*u9 - b11**2*u2, 0, -u2*(2*a22*b11 - u12), -u2*(-b11*u0 + 2*u7), 0, 0, 1, 0, 0, 0, a22*u13 - u14, d_det_d_a12*u13 - u2*(-b11*b22 - u1), a11*u13 - u11, 0, -u15*u2, -u2*(a22*b11 + u16 + u17), -u2*u8, 0, 0, 1, 0, 0, a22*u18 - b22**2*u2, d_det_d_a12*u18 + 2*u14, a11*u18 + u3, 0, 0, -u2*(2*a22*b12 - b22*u0), -u2*(2*u16 + u17), 0, 0, 0, 1, 0, 0, 0, 0, b66**2/a66**2, 0, 0, 0, -2*b66/a66, 0, 0, 0, 1,)


def plate_frequency(d11, d12, d22, d66, density, thickness, length, width, waves_x, waves_y):
    """Natural frequencies of a rectangle of wood with simply supported edges."""
    squares = (1/4)*length*width
    strain = (1/4)*pi**4*(d11*waves_x**4*width**4 + d22*length**4*waves_y**4 + 2*length**2*waves_x**2*waves_y**2*width**2*(d12 + 2*d66))/(length**3*width**3)
    return (500000*sqrt(strain/(density*squares*thickness))/pi,)


def plate_frequency_slopes(d11, d12, d22, d66, density, thickness, length, width, waves_x, waves_y):
    """Exact derivatives of plate_frequency, output by output, input by input."""
    u17 = pi**4
    u18 = length**3
    u19 = u17/u18
    u21 = (1/4)*width
    u3 = waves_x**4
    d_strain_d_d11 = u19*u21*u3
    u0 = width**3
    u1 = u0**(-1.0)
    u10 = d12 + 2*d66
    u11 = waves_x**2
    u12 = waves_y**2
    u13 = u11*u12
    u9 = width**2
    u14 = u10*u13*u9
    u2 = width**4
    u4 = d11*u3
    u5 = length**4
    u6 = waves_y**4
    u7 = d22*u6
    u8 = length**2
    u15 = 2*u14*u8 + u2*u4 + u5*u7
    u16 = u1*u15
    u20 = (1/4)*u19
    strain = u16*u20
    u27 = strain**(-1.0)
    u28 = pi**(-1.0)
    u29 = density**(-1.0)
    squares = length*u21
    u30 = squares**(-1.0)
    u31 = thickness**(-1.0)
    u32 = sqrt(strain*u29*u30*u31)
    u33 = 250000*u28*u32
    u34 = u27*u33
    u22 = u13*u17/(length*width)
    d_strain_d_d12 = (1/2)*u22
    u23 = (1/4)*length
    d_strain_d_d22 = u1*u17*u23*u6
    d_strain_d_d66 = u22
    d_squares_d_length = u21
    u24 = u1*u20
    d_strain_d_length = -3/4*u16*u17/u5 + u24*(4*length*u14 + 4*u18*u7)
    u35 = u30*u33
    d_squares_d_width = u23
    u25 = 4*u10*u8
    d_strain_d_width = -3/4*u15*u19/u2 + u24*(4*u0*u4 + u13*u25*width)
    u26 = u25*u9
    d_strain_d_waves_x = u24*(4*d11*u2*waves_x**3 + u12*u26*waves_x)
    d_strain_d_waves_y = u24*(4*d22*u5*waves_y**3 + u11*u26*waves_y)
    return (d_strain_d_d11*u34, d_strain_d_d12*u34, d_strain_d_d22*u34, d_strain_d_d66*u34, -u29*u33, -u31*u33, -d_squares_d_length*u35 + 250000*d_strain_d_length*u27*u28*u32, -d_squares_d_width*u35 + 250000*d_strain_d_width*u27*u28*u32, d_strain_d_waves_x*u34, d_strain_d_waves_y*u34,)


def thin_patch_shift(d11, d12, d22, d66, added_d11, added_d12, added_d22, added_d66, mass_ratio, length, width, patch_length, patch_width):
    """What a thin patch at the edge does to the lowest frequency (one wave, Rayleigh)."""
    u0 = width**4
    u1 = length**4
    u9 = pi*patch_length
    u10 = 2*u9
    u8 = length**(-1.0)
    u11 = length*sin(u10*u8)
    u12 = -u10 + u11
    u13 = added_d12*u12
    u14 = 2*added_d66*(u10 + u11)
    u4 = pi*patch_width
    u5 = width**(-1.0)
    u6 = width*sin(u4*u5)
    u7 = u4 + u6
    u15 = u12*u7
    u16 = u5*u8/pi**2
    u2 = length**2
    u3 = width**2
    u = (1/2)*u16*(-added_d11*u0*u15 - added_d22*u1*u15 + u2*u3*(u13*(-u7 + pi*width) - u13*(u7 + pi*width) + u14*(-u6 + pi*(patch_width - width)) + u14*(-u6 + pi*(patch_width + width))))/(d11*u0 + d22*u1 + 2*u2*u3*(d12 + 2*d66))
    v = -mass_ratio*u16*u7*((1/2)*u11 - u9)
    return (u, v, sqrt((u + 1)/(v + 1)),)


def thin_patch_shift_slopes(d11, d12, d22, d66, added_d11, added_d12, added_d22, added_d66, mass_ratio, length, width, patch_length, patch_width):
    """Exact derivatives of thin_patch_shift, output by output, input by input."""
    u1 = length**(-1.0)
    u6 = pi*patch_length
    u7 = 2*u6
    u8 = u1*u7
    u9 = sin(u8)
    u10 = length*u9
    u11 = u10 - u7
    u12 = pi*patch_width
    u0 = width**(-1.0)
    u13 = u0*u12
    u14 = sin(u13)
    u15 = u14*width
    u16 = u12 + u15
    u17 = -u16 + pi*width
    u18 = u11*u17
    u19 = u16 + pi*width
    u20 = u11*u19
    u21 = -u15 + pi*(patch_width + width)
    u22 = u10 + u7
    u23 = 2*u22
    u24 = u21*u23
    u25 = -u15 + pi*(patch_width - width)
    u26 = u23*u25
    u27 = added_d12*u18 - added_d12*u20 + added_d66*u24 + added_d66*u26
    u28 = u11*u16
    u3 = pi**(-2.0)
    u29 = width**4
    u30 = added_d11*u29
    u31 = length**4
    u32 = added_d22*u31
    u4 = length**2
    u5 = width**2
    u33 = u3*(u27*u4*u5 - u28*u30 - u28*u32)
    u34 = d12 + 2*d66
    u35 = d11*u29 + d22*u31 + 2*u34*u4*u5
    u41 = u33/u35**2
    u42 = (1/2)*u41
    u43 = width**3
    u44 = u1*u43
    d_u_d_d11 = -u42*u44
    u45 = length*width
    u46 = u41*u45
    d_u_d_d12 = -u46
    u47 = length**3
    u48 = u0*u47
    d_u_d_d22 = -u42*u48
    d_u_d_d66 = -2*u46
    u36 = (1/2)/u35
    u49 = u3*u36
    u50 = u28*u49
    d_u_d_added_d11 = -u44*u50
    u51 = u45*u49
    d_u_d_added_d12 = u51*(u18 - u20)
    d_u_d_added_d22 = -u48*u50
    d_u_d_added_d66 = u51*(u24 + u26)
    u37 = u33*u36
    u52 = cos(u8)
    u53 = -u52*u8 + u9
    u54 = added_d12*u53
    u55 = 2*added_d66
    u56 = u53*u55
    u57 = u16*u53
    u58 = 4*u47
    u2 = u0*u1
    u38 = u2*u3
    u59 = u36*u38
    u60 = u4**(-1.0)
    u61 = 4*u34
    u62 = u2*u42
    d_u_d_length = -u0*u37*u60 + u59*(-added_d22*u28*u58 + 2*length*u27*u5 - u30*u57 - u32*u57 + u4*u5*(u17*u54 - u19*u54 + u21*u56 + u25*u56)) + u62*(-d22*u58 - length*u5*u61)
    u63 = cos(u13)
    u64 = u13*u63
    u65 = -u14 + u64
    u66 = u65 + pi
    u67 = added_d12*u11
    u68 = u14 - u64 + pi
    u69 = added_d66*u23
    u70 = -u65
    u71 = u11*u70
    u72 = 4*u43
    u73 = u5**(-1.0)
    d_u_d_width = -u1*u37*u73 + u59*(-added_d11*u28*u72 + 2*u27*u4*width - u30*u71 - u32*u71 + u4*u5*(u66*u67 + u66*u69 - u67*u68 - u68*u69)) + u62*(-d11*u72 - u4*u61*width)
    u74 = 2*pi
    u75 = u52*u74
    u76 = -u74 + u75
    u77 = added_d12*u76
    u78 = u55*(u74 + u75)
    u79 = u16*u76
    d_u_d_patch_length = u59*(-u30*u79 - u32*u79 + u4*u5*(u17*u77 - u19*u77 + u21*u78 + u25*u78))
    u80 = pi*u63
    u81 = u80 + pi
    u82 = -pi
    u83 = u11*u81
    d_u_d_patch_width = u59*(-u30*u83 - u32*u83 + u4*u5*(4*added_d66*u22*(-u80 - u82) - 2*u67*u81))
    u39 = (1/2)*u10 - u6
    u40 = u16*u38*u39
    d_v_d_mass_ratio = -u40
    u84 = mass_ratio*u38
    u85 = u16*u84
    d_v_d_length = mass_ratio*u0*u16*u3*u39*u60 - u85*(-u1*u52*u6 + (1/2)*u9)
    u86 = u39*u84
    d_v_d_width = mass_ratio*u1*u16*u3*u39*u73 - u70*u86
    d_v_d_patch_length = -u85*(pi*u52 + u82)
    d_v_d_patch_width = -u81*u86
    u = u2*u37
    u87 = u + 1
    v = -mass_ratio*u40
    u88 = (v + 1)**(-1.0)
    u89 = (1/2)*sqrt(u87*u88)
    u90 = u89/u87
    u91 = u88*u89
    return (d_u_d_d11, d_u_d_d12, d_u_d_d22, d_u_d_d66, d_u_d_added_d11, d_u_d_added_d12, d_u_d_added_d22, d_u_d_added_d66, 0, d_u_d_length, d_u_d_width, d_u_d_patch_length, d_u_d_patch_width, 0, 0, 0, 0, 0, 0, 0, 0, d_v_d_mass_ratio, d_v_d_length, d_v_d_width, d_v_d_patch_length, d_v_d_patch_width, d_u_d_d11*u90, d_u_d_d12*u90, d_u_d_d22*u90, d_u_d_d66*u90, d_u_d_added_d11*u90, d_u_d_added_d12*u90, d_u_d_added_d22*u90, d_u_d_added_d66*u90, -d_v_d_mass_ratio*u91, d_u_d_length*u90 - d_v_d_length*u91, d_u_d_width*u90 - d_v_d_width*u91, d_u_d_patch_length*u90 - d_v_d_patch_length*u91, d_u_d_patch_width*u90 - d_v_d_patch_width*u91,)


def frequency_change(before, after):
    """Change of a frequency, in percent and in cents."""
    ratio = after/before
    return (100*ratio - 100, 1200*log(ratio)/log(2),)


def frequency_change_slopes(before, after):
    """Exact derivatives of frequency_change, output by output, input by input."""
    d_ratio_d_before = -after/before**2
    u0 = before**(-1.0)
    d_ratio_d_after = u0
    ratio = after*u0
    u1 = 1200/(ratio*log(2))
    return (100*d_ratio_d_before, 100*d_ratio_d_after, d_ratio_d_before*u1, d_ratio_d_after*u1,)
