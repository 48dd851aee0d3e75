"""Written by ``python -m lutherie_geom.theory.write`` from the derivations in ``swivel.py``; not to be edited."""

from numpy import arcsin, arctan2, cos, sign, sin, sqrt, tan

def swivel_dowel(psi, theta, advance, x_p, z_p, x_head, z_head, x_receiver, z_receiver):
    """Swing at both ends of the tilt screw, receiver a cross dowel."""
    u0 = -x_receiver
    u3 = -z_receiver
    phi_0 = arctan2(u3 + z_head, u0 + x_head)
    u1 = -u0 - x_p
    u2 = cos(theta)
    u4 = -u3 - z_p
    u5 = sin(theta)
    B_z = -u1*u5 + u2*u4 + z_p
    u7 = -B_z + z_head
    along = u1*u2 + u4*u5
    u6 = cos(psi)
    B_x = -advance + along*u6 + x_p
    u8 = -B_x + x_head
    phi_1 = arctan2(u7, u8)
    B_y = along*sin(psi)
    phi_y = arctan2(-B_y, sqrt(u7**2 + u8**2))
    reach = -along + u6*(advance + x_head - x_p)
    phi_2 = arctan2(u7, reach)
    return (-phi_0 + phi_1, phi_y, -phi_0 + phi_2 + theta,)


def swivel_dowel_slopes(psi, theta, advance, x_p, z_p, x_head, z_head, x_receiver, z_receiver):
    """Exact derivatives of swivel_dowel, output by output, input by input."""
    u0 = -x_receiver
    u1 = -u0 - x_p
    u2 = cos(theta)
    u3 = -z_receiver
    u4 = -u3 - z_p
    u5 = sin(theta)
    u6 = u1*u2 + u4*u5
    along = u6
    u9 = sin(psi)
    u10 = along*u9
    d_B_x_d_psi = -u10
    u11 = u1*u5
    B_z = -u11 + u2*u4 + z_p
    u14 = B_z - z_head
    u7 = cos(psi)
    u8 = along*u7
    B_x = -advance + u8 + x_p
    u16 = B_x - x_head
    u17 = -u16
    u15 = -u14
    u18 = u15**2
    u19 = u17**2 + u18
    u26 = u19**(-1.0)
    u27 = u14*u26
    d_phi_1_d_psi = -d_B_x_d_psi*u27
    d_along_d_theta = -u11 + u2*u4
    d_B_x_d_theta = d_along_d_theta*u7
    d_B_z_d_theta = -u6
    u28 = u17*u26
    d_phi_1_d_theta = -d_B_x_d_theta*u27 - d_B_z_d_theta*u28
    d_phi_1_d_advance = u27
    d_along_d_x_p = -u2
    d_B_x_d_x_p = d_along_d_x_p*u7 + 1
    d_B_z_d_x_p = u5
    d_phi_1_d_x_p = -d_B_x_d_x_p*u27 - d_B_z_d_x_p*u28
    u22 = -u5
    d_along_d_z_p = u22
    d_B_x_d_z_p = d_along_d_z_p*u7
    d_B_z_d_z_p = 1 - u2
    d_phi_1_d_z_p = -d_B_x_d_z_p*u27 - d_B_z_d_z_p*u28
    u12 = u3 + z_head
    u13 = u0 + x_head
    u23 = (u12**2 + u13**2)**(-1.0)
    u24 = -u12*u23
    d_phi_0_d_x_head = u24
    d_phi_1_d_x_head = u27
    u25 = u13*u23
    d_phi_0_d_z_head = u25
    d_phi_1_d_z_head = u28
    d_phi_0_d_x_receiver = -u24
    d_along_d_x_receiver = u2
    d_B_x_d_x_receiver = d_along_d_x_receiver*u7
    d_B_z_d_x_receiver = u22
    d_phi_1_d_x_receiver = -d_B_x_d_x_receiver*u27 - d_B_z_d_x_receiver*u28
    d_phi_0_d_z_receiver = -u25
    d_along_d_z_receiver = u5
    d_B_x_d_z_receiver = d_along_d_z_receiver*u7
    d_B_z_d_z_receiver = u2
    d_phi_1_d_z_receiver = -d_B_x_d_z_receiver*u27 - d_B_z_d_z_receiver*u28
    d_B_y_d_psi = u8
    u20 = sqrt(u19)
    B_y = u10
    u29 = (B_y**2 + u19)**(-1.0)
    u31 = u20*u29
    u30 = B_y*u29/u20
    u32 = u16*u30
    d_phi_y_d_psi = d_B_x_d_psi*u32 - d_B_y_d_psi*u31
    d_B_y_d_theta = d_along_d_theta*u9
    u33 = u14*u30
    d_phi_y_d_theta = d_B_x_d_theta*u32 - d_B_y_d_theta*u31 + d_B_z_d_theta*u33
    d_phi_y_d_advance = -u32
    d_B_y_d_x_p = d_along_d_x_p*u9
    d_phi_y_d_x_p = d_B_x_d_x_p*u32 - d_B_y_d_x_p*u31 + d_B_z_d_x_p*u33
    d_B_y_d_z_p = d_along_d_z_p*u9
    d_phi_y_d_z_p = d_B_x_d_z_p*u32 - d_B_y_d_z_p*u31 + d_B_z_d_z_p*u33
    d_phi_y_d_x_head = u17*u30
    d_phi_y_d_z_head = u15*u30
    d_B_y_d_x_receiver = d_along_d_x_receiver*u9
    d_phi_y_d_x_receiver = d_B_x_d_x_receiver*u32 - d_B_y_d_x_receiver*u31 + d_B_z_d_x_receiver*u33
    d_B_y_d_z_receiver = d_along_d_z_receiver*u9
    d_phi_y_d_z_receiver = d_B_x_d_z_receiver*u32 - d_B_y_d_z_receiver*u31 + d_B_z_d_z_receiver*u33
    u21 = advance + x_head - x_p
    d_reach_d_psi = -u21*u9
    reach = -along + u21*u7
    u34 = (reach**2 + u18)**(-1.0)
    u36 = u14*u34
    d_phi_2_d_psi = d_reach_d_psi*u36
    d_reach_d_theta = -d_along_d_theta
    u35 = reach*u34
    d_phi_2_d_theta = -d_B_z_d_theta*u35 + d_reach_d_theta*u14*u34
    d_reach_d_advance = u7
    d_phi_2_d_advance = d_reach_d_advance*u36
    d_reach_d_x_p = -d_along_d_x_p - u7
    d_phi_2_d_x_p = -d_B_z_d_x_p*u35 + d_reach_d_x_p*u14*u34
    d_reach_d_z_p = -d_along_d_z_p
    d_phi_2_d_z_p = -d_B_z_d_z_p*u35 + d_reach_d_z_p*u14*u34
    d_reach_d_x_head = u7
    d_phi_2_d_x_head = d_reach_d_x_head*u36
    d_phi_2_d_z_head = u35
    d_reach_d_x_receiver = -d_along_d_x_receiver
    d_phi_2_d_x_receiver = -d_B_z_d_x_receiver*u35 + d_reach_d_x_receiver*u14*u34
    d_reach_d_z_receiver = -d_along_d_z_receiver
    d_phi_2_d_z_receiver = -d_B_z_d_z_receiver*u35 + d_reach_d_z_receiver*u14*u34
    return (d_phi_1_d_psi, d_phi_1_d_theta, d_phi_1_d_advance, d_phi_1_d_x_p, d_phi_1_d_z_p, -d_phi_0_d_x_head + d_phi_1_d_x_head, -d_phi_0_d_z_head + d_phi_1_d_z_head, -d_phi_0_d_x_receiver + d_phi_1_d_x_receiver, -d_phi_0_d_z_receiver + d_phi_1_d_z_receiver, d_phi_y_d_psi, d_phi_y_d_theta, d_phi_y_d_advance, d_phi_y_d_x_p, d_phi_y_d_z_p, d_phi_y_d_x_head, d_phi_y_d_z_head, d_phi_y_d_x_receiver, d_phi_y_d_z_receiver, d_phi_2_d_psi, d_phi_2_d_theta + 1, d_phi_2_d_advance, d_phi_2_d_x_p, d_phi_2_d_z_p, -d_phi_0_d_x_head + d_phi_2_d_x_head, -d_phi_0_d_z_head + d_phi_2_d_z_head, -d_phi_0_d_x_receiver + d_phi_2_d_x_receiver, -d_phi_0_d_z_receiver + d_phi_2_d_z_receiver,)


def swivel_rod(psi, theta, advance, x_p, z_p, x_head, z_head, x_receiver, z_receiver):
    """Swing and slide of the captive head, receiver a rod along the heel."""
    u0 = -x_receiver
    u8 = u0 + x_head
    u3 = -z_receiver
    u9 = u3 + z_head
    s_0 = sqrt(u8**2 + u9**2)
    u10 = s_0**(-1.0)
    u11 = u10*u8
    u12 = u10*u9
    u2 = cos(theta)
    u5 = sin(theta)
    U = u11*u2 + u12*u5
    U_z = u10*u2*u9 - u11*u5
    u6 = cos(psi)
    swing = arctan2(U_z, U*u6) - arctan2(u12, u11)
    u7 = sin(psi)
    u13 = U*u7
    side = arcsin(u13)
    u1 = -u0 - x_p
    u4 = -u3 - z_p
    B_z = -u1*u5 + u2*u4 + z_p
    along = u1*u2 + u4*u5
    B_x = -advance + along*u6 + x_p
    s = (-B_x + x_head)/(U*u6)
    B_y = along*u7
    return (swing, side, B_z + U_z*s - z_head, B_y + s*u13,)


def swivel_rod_slopes(psi, theta, advance, x_p, z_p, x_head, z_head, x_receiver, z_receiver):
    """Exact derivatives of swivel_rod, output by output, input by input."""
    u0 = -x_receiver
    u12 = u0 + x_head
    u13 = u12**2
    u3 = -z_receiver
    u14 = u3 + z_head
    u15 = u14**2
    u16 = sqrt(u13 + u15)
    s_0 = u16
    u17 = s_0**(-1.0)
    u18 = u12*u17
    u19 = u14*u17
    u2 = cos(theta)
    u5 = sin(theta)
    u20 = u18*u2 + u19*u5
    U = u20
    u9 = sin(psi)
    u27 = U*u9
    u21 = u14*u17*u2 - u18*u5
    U_z = u21
    u7 = cos(psi)
    u39 = u7**2
    u40 = U**2
    u42 = (U_z**2 + u39*u40)**(-1.0)
    u43 = U_z*u42
    d_swing_d_psi = u27*u43
    d_U_d_theta = u21
    d_U_z_d_theta = -u20
    u26 = U*u7
    u46 = u26*u42
    u47 = u43*u7
    d_swing_d_theta = -d_U_d_theta*u47 + d_U_z_d_theta*u46
    u29 = u16**(-1.0)
    d_s_0_d_x_head = u12*u29
    u30 = s_0**(-2.0)
    u31 = u12*u30
    u32 = u14*u30
    u33 = -u2*u31 - u32*u5
    u34 = u17*u2
    d_U_d_x_head = d_s_0_d_x_head*u33 + u34
    u35 = u17*u5
    u37 = -u35
    u38 = -u2*u32 + u31*u5
    d_U_z_d_x_head = d_s_0_d_x_head*u38 + u37
    u44 = (u13*u30 + u15*u30)**(-1.0)
    u45 = u32*u44
    d_swing_d_x_head = -d_U_d_x_head*u47 + d_U_z_d_x_head*u46 + u45
    d_s_0_d_z_head = u14*u29
    d_U_d_z_head = d_s_0_d_z_head*u33 + u35
    d_U_z_d_z_head = d_s_0_d_z_head*u38 + u34
    u48 = u31*u44
    d_swing_d_z_head = U*d_U_z_d_z_head*u42*u7 - d_U_d_z_head*u47 - u48
    d_s_0_d_x_receiver = -u12*u29
    u36 = -u34
    d_U_d_x_receiver = d_s_0_d_x_receiver*u33 + u36
    d_U_z_d_x_receiver = d_s_0_d_x_receiver*u38 + u35
    d_swing_d_x_receiver = U*d_U_z_d_x_receiver*u42*u7 - d_U_d_x_receiver*u47 - u45
    d_s_0_d_z_receiver = -u14*u29
    d_U_d_z_receiver = d_s_0_d_z_receiver*u33 + u37
    d_U_z_d_z_receiver = d_s_0_d_z_receiver*u38 + u36
    d_swing_d_z_receiver = -d_U_d_z_receiver*u47 + d_U_z_d_z_receiver*u46 + u48
    u49 = 1/sqrt(-u40*u9**2 + 1)
    d_side_d_psi = u26*u49
    u50 = u49*u9
    d_side_d_theta = d_U_d_theta*u50
    d_side_d_x_head = d_U_d_x_head*u50
    d_side_d_z_head = d_U_d_z_head*u50
    d_side_d_x_receiver = d_U_d_x_receiver*u50
    d_side_d_z_receiver = d_U_d_z_receiver*u50
    u1 = -u0 - x_p
    u4 = -u3 - z_p
    u6 = u1*u2 + u4*u5
    along = u6
    u10 = along*u9
    d_B_x_d_psi = -u10
    u8 = along*u7
    B_x = -advance + u8 + x_p
    u22 = -B_x + x_head
    u23 = U**(-1.0)
    u24 = u7**(-1.0)
    u25 = u23*u24
    d_s_d_psi = -d_B_x_d_psi*u25 + u22*u23*u9/u39
    d_B_z_d_theta = -u6
    u11 = u1*u5
    d_along_d_theta = -u11 + u2*u4
    d_B_x_d_theta = d_along_d_theta*u7
    u41 = u22*u24/u40
    d_s_d_theta = -d_B_x_d_theta*u25 - d_U_d_theta*u41
    s = u22*u25
    d_s_d_advance = u25
    d_B_z_d_x_p = u5
    d_along_d_x_p = -u2
    d_B_x_d_x_p = d_along_d_x_p*u7 + 1
    d_s_d_x_p = -d_B_x_d_x_p*u25
    d_B_z_d_z_p = 1 - u2
    u28 = -u5
    d_along_d_z_p = u28
    d_B_x_d_z_p = d_along_d_z_p*u7
    d_s_d_z_p = -d_B_x_d_z_p*u25
    d_s_d_x_head = -d_U_d_x_head*u41 + u25
    d_s_d_z_head = -d_U_d_z_head*u41
    d_B_z_d_x_receiver = u28
    d_along_d_x_receiver = u2
    d_B_x_d_x_receiver = d_along_d_x_receiver*u7
    d_s_d_x_receiver = -d_B_x_d_x_receiver*u25 - d_U_d_x_receiver*u41
    d_B_z_d_z_receiver = u2
    d_along_d_z_receiver = u5
    d_B_x_d_z_receiver = d_along_d_z_receiver*u7
    d_s_d_z_receiver = -d_B_x_d_z_receiver*u25 - d_U_d_z_receiver*u41
    d_B_y_d_psi = u8
    d_B_y_d_theta = d_along_d_theta*u9
    u51 = s*u9
    d_B_y_d_x_p = d_along_d_x_p*u9
    d_B_y_d_z_p = d_along_d_z_p*u9
    d_B_y_d_x_receiver = d_along_d_x_receiver*u9
    d_B_y_d_z_receiver = d_along_d_z_receiver*u9
    return (d_swing_d_psi, d_swing_d_theta, 0, 0, 0, d_swing_d_x_head, d_swing_d_z_head, d_swing_d_x_receiver, d_swing_d_z_receiver, d_side_d_psi, d_side_d_theta, 0, 0, 0, d_side_d_x_head, d_side_d_z_head, d_side_d_x_receiver, d_side_d_z_receiver, U_z*d_s_d_psi, U_z*d_s_d_theta + d_B_z_d_theta + d_U_z_d_theta*s, U_z*d_s_d_advance, U_z*d_s_d_x_p + d_B_z_d_x_p, U_z*d_s_d_z_p + d_B_z_d_z_p, U_z*d_s_d_x_head + d_U_z_d_x_head*s, U_z*d_s_d_z_head + d_U_z_d_z_head*s - 1, U_z*d_s_d_x_receiver + d_B_z_d_x_receiver + d_U_z_d_x_receiver*s, U_z*d_s_d_z_receiver + d_B_z_d_z_receiver + d_U_z_d_z_receiver*s, d_B_y_d_psi + d_s_d_psi*u27 + s*u26, d_B_y_d_theta + d_U_d_theta*u51 + d_s_d_theta*u27, d_s_d_advance*u27, d_B_y_d_x_p + d_s_d_x_p*u27, d_B_y_d_z_p + d_s_d_z_p*u27, d_U_d_x_head*u51 + d_s_d_x_head*u27, d_U_d_z_head*u51 + d_s_d_z_head*u27, d_B_y_d_x_receiver + d_U_d_x_receiver*u51 + d_s_d_x_receiver*u27, d_B_y_d_z_receiver + d_U_d_z_receiver*u51 + d_s_d_z_receiver*u27,)


def head_rock(head_diameter, swing):
    """A flat head rocks on its rim: how far the bearing point moves along the screw."""
    return ((1/2)*head_diameter*tan(swing),)


def head_rock_slopes(head_diameter, swing):
    """Exact derivatives of head_rock, output by output, input by input."""
    u0 = tan(swing)
    return ((1/2)*u0, (1/2)*head_diameter*(u0**2 + 1),)


def clamp_stretch(eccentricity, theta):
    """Stretch of the clamp screw while the neck tilts, when it lies off the pivot axis."""
    return (eccentricity*theta,)


def clamp_stretch_slopes(eccentricity, theta):
    """Exact derivatives of clamp_stretch, output by output, input by input."""
    return (theta, eccentricity,)


def clearance_hole(shank, depth, swing, side_shift):
    """Clearance hole for a shank that swings about one end of the hole and shifts."""
    return (2*depth*tan(swing) + shank/cos(swing) + 2*abs(side_shift),)


def clearance_hole_slopes(shank, depth, swing, side_shift):
    """Exact derivatives of clearance_hole, output by output, input by input."""
    u0 = cos(swing)
    u1 = tan(swing)
    return (u0**(-1.0), 2*u1, 2*depth*(u1**2 + 1) + shank*sin(swing)/u0**2, 2*sign(side_shift),)


def clamp_offset(reach, bass, treble, pitch_pivot, spacing):
    """How far steering moves a point of the heel on the clamp screw's line sideways."""
    psi = arctan2(pitch_pivot*(-bass + treble), spacing)
    return (-reach*sin(psi),)


def clamp_offset_slopes(reach, bass, treble, pitch_pivot, spacing):
    """Exact derivatives of clamp_offset, output by output, input by input."""
    u0 = -bass + treble
    u1 = pitch_pivot*u0
    psi = arctan2(u1, spacing)
    u3 = (pitch_pivot**2*u0**2 + spacing**2)**(-1.0)
    u4 = spacing*u3
    u5 = pitch_pivot*u4
    d_psi_d_bass = -u5
    u6 = reach*cos(psi)
    d_psi_d_treble = u5
    d_psi_d_pitch_pivot = u0*u4
    d_psi_d_spacing = -u1*u3
    return (-sin(psi), -d_psi_d_bass*u6, -d_psi_d_treble*u6, -d_psi_d_pitch_pivot*u6, -d_psi_d_spacing*u6,)
