"""Written by ``python -m lutherie_geom.theory.write`` from the derivations in ``tilt.py``; not to be edited."""

from numpy import arctan, cos, sign, sin, sqrt

def screw_length(tilt, pitch_tilt, x_head, z_head, x_receiver, z_receiver):
    """Length of the tilt screw between captive head and receiver."""
    s_0 = sqrt((x_head - x_receiver)**2 + (z_head - z_receiver)**2)
    return (pitch_tilt*tilt + s_0,)


def screw_length_slopes(tilt, pitch_tilt, x_head, z_head, x_receiver, z_receiver):
    """Exact derivatives of screw_length, output by output, input by input."""
    u0 = x_head - x_receiver
    u1 = z_head - z_receiver
    u2 = sqrt(u0**2 + u1**2)
    u3 = u2**(-1.0)
    d_s_0_d_x_head = u0*u3
    d_s_0_d_z_head = u1*u3
    d_s_0_d_x_receiver = -u0*u3
    d_s_0_d_z_receiver = -u1*u3
    return (pitch_tilt, tilt, d_s_0_d_x_head, d_s_0_d_z_head, d_s_0_d_x_receiver, d_s_0_d_z_receiver,)


def tilt_dowel(tilt, psi, advance, pitch_tilt, x_p, z_p, x_head, z_head, x_receiver, z_receiver):
    """Tilt from the turns of the tilt screw, receiver a cross dowel that is free to turn."""
    u2 = x_head - x_p
    u3 = advance + u2
    u4 = cos(psi)
    q_x = u3*u4
    q_z = z_head - z_p
    u0 = -x_receiver
    v_x = -u0 - x_p
    u1 = -z_receiver
    v_z = -u1 - z_p
    a = q_x*v_x + q_z*v_z
    u8 = q_z*v_x
    b_ = q_x*v_z - u8
    u5 = sin(psi)
    moved = advance*u4 - u2*u5**2/(u4 + 1)
    q_y = -u3*u5
    u6 = u0 + x_head
    u7 = (u1 + z_head)**2
    d_0 = sqrt(q_y**2 + u7 + (moved + u6)**2)
    s_0 = sqrt(u6**2 + u7)
    s = pitch_tilt*tilt + s_0
    ea = (1/2)*(d_0 - s)*(d_0 + s)
    e = a + ea
    sigma = sign(u2*v_z - u8)
    half = ea/(b_ + sigma*sqrt(a**2 + b_**2 - e**2))
    return (2*arctan(half),)


def tilt_dowel_slopes(tilt, psi, advance, pitch_tilt, x_p, z_p, x_head, z_head, x_receiver, z_receiver):
    """Exact derivatives of tilt_dowel, output by output, input by input."""
    u1 = -z_receiver
    u9 = u1 + z_head
    u10 = u9**2
    u0 = -x_receiver
    u8 = u0 + x_head
    u11 = sqrt(u10 + u8**2)
    s_0 = u11
    s = pitch_tilt*tilt + s_0
    d_ea_d_tilt = -pitch_tilt*s
    u2 = x_head - x_p
    u3 = advance + u2
    u4 = cos(psi)
    u5 = u3*u4
    q_x = u5
    q_z = z_head - z_p
    v_x = -u0 - x_p
    u12 = q_z*v_x
    v_z = -u1 - z_p
    b_ = q_x*v_z - u12
    sigma = sign(-u12 + u2*v_z)
    a = q_x*v_x + q_z*v_z
    u6 = sin(psi)
    u7 = -u3*u6
    q_y = u7
    u13 = u4 + 1
    u14 = u13**(-1.0)
    u15 = u14*u6**2
    moved = advance*u4 - u15*u2
    u16 = moved + u8
    u17 = sqrt(q_y**2 + u10 + u16**2)
    d_0 = u17
    ea = (1/2)*(d_0 - s)*(d_0 + s)
    e = a + ea
    u18 = sqrt(a**2 + b_**2 - e**2)
    u19 = b_ + sigma*u18
    u20 = u19**(-1.0)
    u28 = sigma/u18
    u29 = ea/u19**2
    u31 = u28*u29
    u32 = e*u31
    d_half_d_tilt = d_ea_d_tilt*u20 + d_ea_d_tilt*u32
    half = ea*u20
    u34 = 2/(half**2 + 1)
    d_q_x_d_psi = u7
    d_a_d_psi = d_q_x_d_psi*v_x
    d_b__d_psi = d_q_x_d_psi*v_z
    d_moved_d_psi = -advance*u6 - 2*u14*u2*u4*u6 - u2*u6**3/u13**2
    d_q_y_d_psi = -u5
    u25 = u17**(-1.0)
    u26 = u16*u25
    u27 = q_y*u25
    d_d_0_d_psi = d_moved_d_psi*u26 + d_q_y_d_psi*u27
    d_ea_d_psi = d_0*d_d_0_d_psi
    d_e_d_psi = d_a_d_psi + d_ea_d_psi
    u30 = u29*(-b_*u28 - 1)
    u33 = a*u31
    d_half_d_psi = -d_a_d_psi*u33 + d_b__d_psi*u30 + d_e_d_psi*u32 + d_ea_d_psi*u20
    d_q_x_d_advance = u4
    d_a_d_advance = d_q_x_d_advance*v_x
    d_b__d_advance = d_q_x_d_advance*v_z
    d_moved_d_advance = u4
    u21 = -u6
    d_q_y_d_advance = u21
    d_d_0_d_advance = d_moved_d_advance*u26 + d_q_y_d_advance*u27
    d_ea_d_advance = d_0*d_d_0_d_advance
    d_e_d_advance = d_a_d_advance + d_ea_d_advance
    d_half_d_advance = -d_a_d_advance*u33 + d_b__d_advance*u30 + d_e_d_advance*u32 + d_ea_d_advance*u20
    d_ea_d_pitch_tilt = -s*tilt
    d_half_d_pitch_tilt = d_ea_d_pitch_tilt*u20 + d_ea_d_pitch_tilt*u32
    d_q_x_d_x_p = -u4
    d_a_d_x_p = d_q_x_d_x_p*v_x - q_x
    d_b__d_x_p = d_q_x_d_x_p*v_z + q_z
    d_moved_d_x_p = u15
    d_q_y_d_x_p = u6
    d_d_0_d_x_p = d_moved_d_x_p*u26 + d_q_y_d_x_p*u27
    d_ea_d_x_p = d_0*d_d_0_d_x_p
    d_e_d_x_p = d_a_d_x_p + d_ea_d_x_p
    d_half_d_x_p = -d_a_d_x_p*u33 + d_b__d_x_p*u30 + d_e_d_x_p*u32 + d_ea_d_x_p*u20
    d_a_d_z_p = -q_z - v_z
    u24 = -v_x
    d_b__d_z_p = -q_x - u24
    d_half_d_z_p = d_a_d_z_p*u32 - d_a_d_z_p*u33 + d_b__d_z_p*u30
    d_q_x_d_x_head = u4
    d_a_d_x_head = d_q_x_d_x_head*v_x
    d_b__d_x_head = d_q_x_d_x_head*v_z
    d_moved_d_x_head = -u15
    d_q_y_d_x_head = u21
    d_d_0_d_x_head = d_moved_d_x_head*u26 + d_q_y_d_x_head*u27 + u26
    u22 = u11**(-1.0)
    d_s_0_d_x_head = u22*u8
    d_ea_d_x_head = d_0*d_d_0_d_x_head - d_s_0_d_x_head*s
    d_e_d_x_head = d_a_d_x_head + d_ea_d_x_head
    d_half_d_x_head = -d_a_d_x_head*u33 + d_b__d_x_head*u30 + d_e_d_x_head*u32 + d_ea_d_x_head*u20
    d_b__d_z_head = u24
    d_d_0_d_z_head = u25*u9
    d_s_0_d_z_head = u22*u9
    d_ea_d_z_head = d_0*d_d_0_d_z_head - d_s_0_d_z_head*s
    d_e_d_z_head = d_ea_d_z_head + v_z
    d_half_d_z_head = d_b__d_z_head*u30 + d_e_d_z_head*u32 + d_ea_d_z_head*u20 - u33*v_z
    d_b__d_x_receiver = -q_z
    d_d_0_d_x_receiver = -u16*u25
    d_s_0_d_x_receiver = -u22*u8
    d_ea_d_x_receiver = d_0*d_d_0_d_x_receiver - d_s_0_d_x_receiver*s
    d_e_d_x_receiver = d_ea_d_x_receiver + q_x
    d_half_d_x_receiver = d_b__d_x_receiver*u30 + d_e_d_x_receiver*u32 + d_ea_d_x_receiver*u20 - q_x*u33
    u23 = -u9
    d_d_0_d_z_receiver = u23*u25
    d_s_0_d_z_receiver = u22*u23
    d_ea_d_z_receiver = d_0*d_d_0_d_z_receiver - d_s_0_d_z_receiver*s
    d_e_d_z_receiver = d_ea_d_z_receiver + q_z
    d_half_d_z_receiver = d_e_d_z_receiver*u32 + d_ea_d_z_receiver*u20 + q_x*u30 - q_z*u33
    return (d_half_d_tilt*u34, d_half_d_psi*u34, d_half_d_advance*u34, d_half_d_pitch_tilt*u34, d_half_d_x_p*u34, d_half_d_z_p*u34, d_half_d_x_head*u34, d_half_d_z_head*u34, d_half_d_x_receiver*u34, d_half_d_z_receiver*u34,)


def tilt_rod(tilt, psi, advance, pitch_tilt, x_p, z_p, x_head, z_head, x_receiver, z_receiver):
    """Tilt from the turns of the tilt screw, receiver a rod along the heel (thread fixed in the heel)."""
    u0 = -x_receiver
    u5 = u0 + x_head
    u1 = -z_receiver
    u6 = u1 + z_head
    s_0 = sqrt(u5**2 + u6**2)
    u8 = pitch_tilt*tilt
    s = s_0 + u8
    u7 = s_0**(-1.0)
    u_x = u5*u7
    v_x = -u0 - x_p
    a = s*u_x + v_x
    u_z = u6*u7
    v_z = -u1 - z_p
    b_ = s*u_z + v_z
    u2 = advance + x_head - x_p
    u3 = cos(psi)
    q_x = u2*u3
    e = q_x/u3**2
    u4 = sin(psi)
    ea = advance + u2*u4**2/(u3*(u3 + 1)) - u8*u_x
    q_z = z_head - z_p
    sigma = sign(q_z)
    half = ea/(b_ + sigma*sqrt(a**2 + b_**2 - e**2))
    return (2*arctan(half),)


def tilt_rod_slopes(tilt, psi, advance, pitch_tilt, x_p, z_p, x_head, z_head, x_receiver, z_receiver):
    """Exact derivatives of tilt_rod, output by output, input by input."""
    u0 = -x_receiver
    u8 = u0 + x_head
    u1 = -z_receiver
    u9 = u1 + z_head
    u10 = sqrt(u8**2 + u9**2)
    s_0 = u10
    u11 = s_0**(-1.0)
    u_x = u11*u8
    u27 = pitch_tilt*u_x
    d_a_d_tilt = u27
    u_z = u11*u9
    d_b__d_tilt = pitch_tilt*u_z
    d_ea_d_tilt = -u27
    u12 = pitch_tilt*tilt
    s = s_0 + u12
    v_z = -u1 - z_p
    b_ = s*u_z + v_z
    q_z = z_head - z_p
    sigma = sign(q_z)
    v_x = -u0 - x_p
    a = s*u_x + v_x
    u2 = advance + x_head - x_p
    u3 = cos(psi)
    u4 = u2*u3
    q_x = u4
    u13 = u3**(-2.0)
    e = q_x*u13
    u18 = sqrt(a**2 + b_**2 - e**2)
    u19 = b_ + sigma*u18
    u20 = u19**(-1.0)
    u31 = sigma/u18
    u14 = u3 + 1
    u15 = u14**(-1.0)
    u16 = u3**(-1.0)
    u5 = sin(psi)
    u17 = u15*u16*u5**2
    ea = advance - u12*u_x + u17*u2
    u32 = ea/u19**2
    u33 = u32*(-b_*u31 - 1)
    u34 = u31*u32
    u35 = a*u34
    d_half_d_tilt = -d_a_d_tilt*u35 + d_b__d_tilt*u33 + d_ea_d_tilt*u20
    half = ea*u20
    u37 = 2/(half**2 + 1)
    u6 = u2*u5
    u7 = -u6
    d_q_x_d_psi = u7
    d_e_d_psi = d_q_x_d_psi*u13 + 2*q_x*u5/u3**3
    u29 = u2*u5**3
    d_ea_d_psi = u13*u15*u29 + 2*u15*u6 + u16*u29/u14**2
    u36 = e*u34
    d_half_d_psi = d_e_d_psi*u36 + d_ea_d_psi*u20
    d_q_x_d_advance = u3
    d_e_d_advance = d_q_x_d_advance*u13
    d_ea_d_advance = u17 + 1
    d_half_d_advance = d_e_d_advance*u36 + d_ea_d_advance*u20
    u28 = tilt*u_x
    d_a_d_pitch_tilt = u28
    d_b__d_pitch_tilt = tilt*u_z
    d_ea_d_pitch_tilt = -u28
    d_half_d_pitch_tilt = -d_a_d_pitch_tilt*u35 + d_b__d_pitch_tilt*u33 + d_ea_d_pitch_tilt*u20
    d_q_x_d_x_p = -u3
    d_e_d_x_p = d_q_x_d_x_p*u13
    u30 = -u17
    d_ea_d_x_p = u30
    d_half_d_x_p = d_e_d_x_p*u36 + d_ea_d_x_p*u20 + u35
    d_half_d_z_p = -u33
    u22 = u10**(-1.0)
    d_s_0_d_x_head = u22*u8
    u23 = -u11
    u24 = s_0**(-2.0)
    u25 = u24*u8
    d_u_x_d_x_head = -d_s_0_d_x_head*u25 - u23
    d_a_d_x_head = d_s_0_d_x_head*u_x + d_u_x_d_x_head*s
    u26 = u24*u9
    d_u_z_d_x_head = -d_s_0_d_x_head*u26
    d_b__d_x_head = d_s_0_d_x_head*u_z + d_u_z_d_x_head*s
    d_q_x_d_x_head = u3
    d_e_d_x_head = d_q_x_d_x_head*u13
    d_ea_d_x_head = -d_u_x_d_x_head*u12 - u30
    d_half_d_x_head = -d_a_d_x_head*u35 + d_b__d_x_head*u33 + d_e_d_x_head*u36 + d_ea_d_x_head*u20
    d_s_0_d_z_head = u22*u9
    d_u_x_d_z_head = -d_s_0_d_z_head*u25
    d_a_d_z_head = d_s_0_d_z_head*u_x + d_u_x_d_z_head*s
    d_u_z_d_z_head = -d_s_0_d_z_head*u26 - u23
    d_b__d_z_head = d_s_0_d_z_head*u_z + d_u_z_d_z_head*s
    d_ea_d_z_head = -d_u_x_d_z_head*u12
    d_half_d_z_head = -d_a_d_z_head*u35 + d_b__d_z_head*u33 + d_ea_d_z_head*u20
    d_s_0_d_x_receiver = -u22*u8
    d_u_x_d_x_receiver = -d_s_0_d_x_receiver*u25 - u11
    d_a_d_x_receiver = d_s_0_d_x_receiver*u_x + d_u_x_d_x_receiver*s + 1
    d_u_z_d_x_receiver = -d_s_0_d_x_receiver*u26
    d_b__d_x_receiver = d_s_0_d_x_receiver*u_z + d_u_z_d_x_receiver*s
    d_ea_d_x_receiver = -d_u_x_d_x_receiver*u12
    d_half_d_x_receiver = -d_a_d_x_receiver*u35 + d_b__d_x_receiver*u33 + d_ea_d_x_receiver*u20
    d_s_0_d_z_receiver = -u22*u9
    d_u_x_d_z_receiver = -d_s_0_d_z_receiver*u25
    d_a_d_z_receiver = d_s_0_d_z_receiver*u_x + d_u_x_d_z_receiver*s
    d_u_z_d_z_receiver = -d_s_0_d_z_receiver*u26 - u11
    d_b__d_z_receiver = d_s_0_d_z_receiver*u_z + d_u_z_d_z_receiver*s + 1
    d_ea_d_z_receiver = -d_u_x_d_z_receiver*u12
    d_half_d_z_receiver = -d_a_d_z_receiver*u35 + d_b__d_z_receiver*u33 + d_ea_d_z_receiver*u20
    return (d_half_d_tilt*u37, d_half_d_psi*u37, d_half_d_advance*u37, d_half_d_pitch_tilt*u37, d_half_d_x_p*u37, d_half_d_z_p*u37, d_half_d_x_head*u37, d_half_d_z_head*u37, d_half_d_x_receiver*u37, d_half_d_z_receiver*u37,)


def turns_dowel(theta, psi, advance, pitch_tilt, x_p, z_p, x_head, z_head, x_receiver, z_receiver):
    """Turns of the tilt screw that give a tilt, receiver a cross dowel."""
    u3 = cos(theta)
    u4 = sin(theta)
    u0 = -x_receiver
    v_x = -u0 - x_p
    u1 = -z_receiver
    v_z = -u1 - z_p
    B_x = u3*v_x + u4*v_z
    B_z = u3*v_z - u4*v_x
    u2 = advance + x_head - x_p
    q_x = u2*cos(psi)
    q_y = -u2*sin(psi)
    q_z = z_head - z_p
    s = sqrt(q_y**2 + (-B_x + q_x)**2 + (-B_z + q_z)**2)
    s_0 = sqrt((u0 + x_head)**2 + (u1 + z_head)**2)
    return ((s - s_0)/pitch_tilt,)


def turns_dowel_slopes(theta, psi, advance, pitch_tilt, x_p, z_p, x_head, z_head, x_receiver, z_receiver):
    """Exact derivatives of turns_dowel, output by output, input by input."""
    u10 = cos(theta)
    u11 = sin(theta)
    u0 = -x_receiver
    v_x = -u0 - x_p
    u1 = -z_receiver
    v_z = -u1 - z_p
    u13 = u10*v_z - u11*v_x
    d_B_x_d_theta = u13
    u12 = u10*v_x + u11*v_z
    d_B_z_d_theta = -u12
    B_x = u12
    u2 = advance + x_head - x_p
    u3 = cos(psi)
    u4 = u2*u3
    q_x = u4
    u14 = B_x - q_x
    u5 = sin(psi)
    u6 = -u2*u5
    q_y = u6
    u15 = -u14
    B_z = u13
    q_z = z_head - z_p
    u16 = B_z - q_z
    u17 = -u16
    u18 = sqrt(q_y**2 + u15**2 + u17**2)
    u23 = u18**(-1.0)
    u24 = u14*u23
    u25 = u16*u23
    d_s_d_theta = d_B_x_d_theta*u24 + d_B_z_d_theta*u25
    u29 = pitch_tilt**(-1.0)
    d_q_x_d_psi = u6
    d_q_y_d_psi = -u4
    u26 = u15*u23
    u27 = q_y*u23
    d_s_d_psi = d_q_x_d_psi*u26 + d_q_y_d_psi*u27
    d_q_x_d_advance = u3
    u19 = -u5
    d_q_y_d_advance = u19
    d_s_d_advance = d_q_x_d_advance*u26 + d_q_y_d_advance*u27
    s = u18
    u7 = u0 + x_head
    u8 = u1 + z_head
    u9 = sqrt(u7**2 + u8**2)
    s_0 = u9
    u21 = -u10
    d_B_x_d_x_p = u21
    d_B_z_d_x_p = u11
    d_q_x_d_x_p = -u3
    d_q_y_d_x_p = u5
    d_s_d_x_p = d_B_x_d_x_p*u24 + d_B_z_d_x_p*u25 + d_q_x_d_x_p*u26 + d_q_y_d_x_p*u27
    u22 = -u11
    d_B_x_d_z_p = u22
    d_B_z_d_z_p = u21
    u28 = u17*u23
    d_s_d_z_p = d_B_x_d_z_p*u24 + d_B_z_d_z_p*u25 - u28
    u20 = u9**(-1.0)
    d_s_0_d_x_head = u20*u7
    d_q_x_d_x_head = u3
    d_q_y_d_x_head = u19
    d_s_d_x_head = d_q_x_d_x_head*u26 + d_q_y_d_x_head*u27
    d_s_0_d_z_head = u20*u8
    d_s_d_z_head = u28
    d_s_0_d_x_receiver = -u20*u7
    d_B_x_d_x_receiver = u10
    d_B_z_d_x_receiver = u22
    d_s_d_x_receiver = d_B_x_d_x_receiver*u24 + d_B_z_d_x_receiver*u25
    d_s_0_d_z_receiver = -u20*u8
    d_B_x_d_z_receiver = u11
    d_B_z_d_z_receiver = u10
    d_s_d_z_receiver = d_B_x_d_z_receiver*u24 + d_B_z_d_z_receiver*u25
    return (d_s_d_theta*u29, d_s_d_psi*u29, d_s_d_advance*u29, -(s - s_0)/pitch_tilt**2, d_s_d_x_p*u29, d_s_d_z_p*u29, -d_s_0_d_x_head*u29 + d_s_d_x_head*u29, -d_s_0_d_z_head*u29 + d_s_d_z_head*u29, -d_s_0_d_x_receiver*u29 + d_s_d_x_receiver*u29, -d_s_0_d_z_receiver*u29 + d_s_d_z_receiver*u29,)


def turns_rod(theta, psi, advance, pitch_tilt, x_p, z_p, x_head, z_head, x_receiver, z_receiver):
    """Turns of the tilt screw that give a tilt, receiver a rod along the heel."""
    u7 = cos(theta)
    u8 = sin(theta)
    u0 = -x_receiver
    v_x = -u0 - x_p
    u1 = -z_receiver
    v_z = -u1 - z_p
    B_x = u7*v_x + u8*v_z
    u4 = u0 + x_head
    u5 = u1 + z_head
    s_0 = sqrt(u4**2 + u5**2)
    u6 = s_0**(-1.0)
    u_x = u4*u6
    u_z = u5*u6
    U_x = u7*u_x + u8*u_z
    u2 = advance + x_head - x_p
    u3 = cos(psi)
    q_x = u2*u3
    s = (-B_x + q_x/u3**2)/U_x
    return ((s - s_0)/pitch_tilt,)


def turns_rod_slopes(theta, psi, advance, pitch_tilt, x_p, z_p, x_head, z_head, x_receiver, z_receiver):
    """Exact derivatives of turns_rod, output by output, input by input."""
    u11 = cos(theta)
    u12 = sin(theta)
    u0 = -x_receiver
    v_x = -u0 - x_p
    u1 = -z_receiver
    v_z = -u1 - z_p
    d_B_x_d_theta = u11*v_z - u12*v_x
    u7 = u0 + x_head
    u8 = u1 + z_head
    u9 = sqrt(u7**2 + u8**2)
    s_0 = u9
    u10 = s_0**(-1.0)
    u_x = u10*u7
    u_z = u10*u8
    d_U_x_d_theta = u11*u_z - u12*u_x
    U_x = u11*u_x + u12*u_z
    u13 = U_x**(-1.0)
    B_x = u11*v_x + u12*v_z
    u2 = advance + x_head - x_p
    u3 = cos(psi)
    u4 = u2*u3
    q_x = u4
    u14 = u3**(-2.0)
    u15 = -B_x + q_x*u14
    u23 = u15/U_x**2
    d_s_d_theta = -d_B_x_d_theta*u13 - d_U_x_d_theta*u23
    u24 = pitch_tilt**(-1.0)
    u5 = sin(psi)
    u6 = -u2*u5
    d_q_x_d_psi = u6
    u22 = u13*u14
    d_s_d_psi = d_q_x_d_psi*u22 + 2*q_x*u13*u5/u3**3
    d_q_x_d_advance = u3
    d_s_d_advance = d_q_x_d_advance*u22
    s = u13*u15
    d_B_x_d_x_p = -u11
    d_q_x_d_x_p = -u3
    d_s_d_x_p = -d_B_x_d_x_p*u13 + d_q_x_d_x_p*u13*u14
    d_B_x_d_z_p = -u12
    d_s_d_z_p = -d_B_x_d_z_p*u13
    u17 = u9**(-1.0)
    d_s_0_d_x_head = u17*u7
    u18 = -u10
    u19 = s_0**(-2.0)
    u20 = u19*u7
    d_u_x_d_x_head = -d_s_0_d_x_head*u20 - u18
    u21 = u19*u8
    d_u_z_d_x_head = -d_s_0_d_x_head*u21
    d_U_x_d_x_head = d_u_x_d_x_head*u11 + d_u_z_d_x_head*u12
    d_q_x_d_x_head = u3
    d_s_d_x_head = -d_U_x_d_x_head*u23 + d_q_x_d_x_head*u22
    d_s_0_d_z_head = u17*u8
    d_u_x_d_z_head = -d_s_0_d_z_head*u20
    d_u_z_d_z_head = -d_s_0_d_z_head*u21 - u18
    d_U_x_d_z_head = d_u_x_d_z_head*u11 + d_u_z_d_z_head*u12
    d_s_d_z_head = -d_U_x_d_z_head*u23
    d_s_0_d_x_receiver = -u17*u7
    d_B_x_d_x_receiver = u11
    d_u_x_d_x_receiver = -d_s_0_d_x_receiver*u20 - u10
    d_u_z_d_x_receiver = -d_s_0_d_x_receiver*u21
    d_U_x_d_x_receiver = d_u_x_d_x_receiver*u11 + d_u_z_d_x_receiver*u12
    d_s_d_x_receiver = -d_B_x_d_x_receiver*u13 - d_U_x_d_x_receiver*u23
    d_s_0_d_z_receiver = -u17*u8
    d_B_x_d_z_receiver = u12
    d_u_x_d_z_receiver = -d_s_0_d_z_receiver*u20
    d_u_z_d_z_receiver = -d_s_0_d_z_receiver*u21 - u10
    d_U_x_d_z_receiver = d_u_x_d_z_receiver*u11 + d_u_z_d_z_receiver*u12
    d_s_d_z_receiver = -d_B_x_d_z_receiver*u13 - d_U_x_d_z_receiver*u23
    return (d_s_d_theta*u24, d_s_d_psi*u24, d_s_d_advance*u24, -(s - s_0)/pitch_tilt**2, d_s_d_x_p*u24, d_s_d_z_p*u24, -d_s_0_d_x_head*u24 + d_s_d_x_head*u24, -d_s_0_d_z_head*u24 + d_s_d_z_head*u24, -d_s_0_d_x_receiver*u24 + d_s_d_x_receiver*u24, -d_s_0_d_z_receiver*u24 + d_s_d_z_receiver*u24,)


def tilt_arm(x_p, z_p, x_head, z_head, x_receiver, z_receiver):
    """Arm of the tilt screw: distance of its line from the pivot axis."""
    u0 = -x_receiver
    u1 = u0 + x_head
    u2 = -z_receiver
    u3 = u2 + z_head
    return (abs(-u1*(-u2 - z_p) + u3*(-u0 - x_p))/sqrt(u1**2 + u3**2),)


def tilt_arm_slopes(x_p, z_p, x_head, z_head, x_receiver, z_receiver):
    """Exact derivatives of tilt_arm, output by output, input by input."""
    u0 = -z_receiver
    u1 = u0 + z_head
    u2 = -u1
    u3 = -x_receiver
    u4 = u3 + x_head
    u5 = u1**2 + u4**2
    u6 = u0 + z_p
    u7 = -u3 - x_p
    u8 = u1*u7 + u4*u6
    u9 = sign(u8)/sqrt(u5)
    u10 = abs(u8)/u5**(3/2)
    return (u2*u9, u4*u9, -u10*u4 + u6*u9, u10*u2 + u7*u9, u10*u4 + u9*(z_head - z_p), u1*u10 + u9*(-x_head + x_p),)


def tilt_arm_rod(z_p, x_head, z_head, x_receiver, z_receiver):
    """Arm of the tilt screw when its thread is fixed in the heel and its head slides."""
    u0 = x_head - x_receiver
    u1 = z_head - z_receiver
    s_0 = sqrt(u0**2 + u1**2)
    u2 = s_0**(-1.0)
    u_x = u0*u2
    return (abs(z_head - z_p)/abs(u_x),)


def tilt_arm_rod_slopes(z_p, x_head, z_head, x_receiver, z_receiver):
    """Exact derivatives of tilt_arm_rod, output by output, input by input."""
    u9 = z_head - z_p
    u0 = x_head - x_receiver
    u1 = z_head - z_receiver
    u2 = sqrt(u0**2 + u1**2)
    s_0 = u2
    u3 = s_0**(-1.0)
    u_x = u0*u3
    u10 = -sign(u9)/abs(u_x)
    u4 = u2**(-1.0)
    d_s_0_d_x_head = u0*u4
    u5 = -u3
    u6 = s_0**(-2.0)
    u7 = u0*u6
    d_u_x_d_x_head = -d_s_0_d_x_head*u7 - u5
    u11 = abs(u9)*sign(u_x)/u_x**2
    d_s_0_d_z_head = u1*u4
    d_u_x_d_z_head = -d_s_0_d_z_head*u7
    d_s_0_d_x_receiver = -u0*u4
    d_u_x_d_x_receiver = -d_s_0_d_x_receiver*u7 - u3
    d_s_0_d_z_receiver = -u1*u4
    d_u_x_d_z_receiver = -d_s_0_d_z_receiver*u7
    return (u10, -d_u_x_d_x_head*u11, -d_u_x_d_z_head*u11 - u10, -d_u_x_d_x_receiver*u11, -d_u_x_d_z_receiver*u11,)


def tilt_rule(tilt, pitch_tilt, arm):
    """Small-angle rule: tilt is pitch times turns over the arm."""
    return (pitch_tilt*tilt/arm,)


def tilt_rule_slopes(tilt, pitch_tilt, arm):
    """Exact derivatives of tilt_rule, output by output, input by input."""
    u0 = arm**(-1.0)
    return (pitch_tilt*u0, tilt*u0, -pitch_tilt*tilt/arm**2,)
