"""Written by ``python -m lutherie_geom.theory.write`` from the derivations in ``climate.py``; not to be edited."""

from numpy import arctan, cos, exp, log, pi, sign, sin, sqrt

def emc_simpson(temperature, humidity):
    """Equilibrium moisture content, Simpson's equation."""
    u0 = temperature**2
    W = (129/100)*temperature + (27/2000)*u0 + 349
    K_1 = -469/50000*temperature - 303/1000000*u0 + 627/100
    K = (23/31250)*temperature - 273/100000000*u0 + 161/200
    h = (1/100)*humidity
    u1 = K*h
    one = K_1*u1
    K_2 = (407/10000)*temperature - 293/1000000*u0 + 191/100
    two = K**2*K_1*K_2*h**2
    return (1800*(u1/(1 - u1) + (one + 2*two)/(one + two + 1))/W,)


def emc_simpson_slopes(temperature, humidity):
    """Exact derivatives of emc_simpson, output by output, input by input."""
    u0 = temperature**2
    K = (23/31250)*temperature - 273/100000000*u0 + 161/200
    W = (129/100)*temperature + (27/2000)*u0 + 349
    d_K_d_temperature = 23/31250 - 273/50000000*temperature
    d_W_d_temperature = (27/1000)*temperature + 129/100
    d_K_1_d_temperature = -303/500000*temperature - 469/50000
    h = (1/100)*humidity
    u1 = K*h
    K_1 = -469/50000*temperature - 303/1000000*u0 + 627/100
    u6 = K_1*h
    d_one_d_temperature = d_K_1_d_temperature*u1 + d_K_d_temperature*u6
    K_2 = (407/10000)*temperature - 293/1000000*u0 + 191/100
    d_K_2_d_temperature = 407/10000 - 293/500000*temperature
    u2 = K**2
    u3 = K_2*u2
    u4 = h**2
    u5 = K_1*u4
    u7 = K*K_1
    d_two_d_temperature = 2*K_2*d_K_d_temperature*u4*u7 + d_K_1_d_temperature*u3*u4 + d_K_2_d_temperature*u2*u5
    one = K_1*u1
    two = u3*u5
    u10 = one + 2*two
    u11 = 1 - u1
    u12 = u11**(-1.0)
    u13 = u11**(-2.0)
    u14 = W**(-1.0)
    u15 = 1800*u14
    u8 = one + two + 1
    u16 = u10/u8**2
    u9 = u8**(-1.0)
    u17 = u15*(-u16 + u9)
    u18 = u15*(-u16 + 2*u9)
    d_one_d_humidity = (1/100)*u7
    d_two_d_humidity = (1/50)*u3*u6
    return (d_K_d_temperature*u15*(K*u13*u4 + h*u12) + d_one_d_temperature*u17 + d_two_d_temperature*u18 - 1800*d_W_d_temperature*(u1*u12 + u10*u9)/W**2, d_one_d_humidity*u17 + d_two_d_humidity*u18 + 18*u14*(K*u12 + h*u13*u2),)


def emc_glass(temperature, humidity):
    """Equilibrium moisture content, equation of Glass and others (2014)."""
    T_K = temperature + 5463/20
    dry = -log(1 - 1/100*humidity)
    base = (153/250000)*T_K*dry*(1 - 10/6471*T_K)**(243/100)
    power = (577/10000)*T_K**(43/100)
    return (100*base**power,)


def emc_glass_slopes(temperature, humidity):
    """Exact derivatives of emc_glass, output by output, input by input."""
    T_K = temperature + 5463/20
    u0 = 1 - 1/100*humidity
    dry = -log(u0)
    u1 = 1 - 10/6471*T_K
    u2 = u1**(243/100)
    u3 = (153/250000)*u2
    base = T_K*dry*u3
    d_base_d_temperature = -4131/1797500000*T_K*dry*u1**(143/100) + (153/250000)*dry*u2
    d_power_d_temperature = (24811/1000000)/T_K**(57/100)
    power = (577/10000)*T_K**(43/100)
    u4 = 100*base**power
    u5 = power*u4/base
    d_dry_d_humidity = (1/100)/u0
    d_base_d_humidity = T_K*d_dry_d_humidity*u3
    return (d_base_d_temperature*u5 + d_power_d_temperature*u4*log(base), d_base_d_humidity*u5,)


def swelling_coefficient(shrinkage, moisture_from):
    """Swelling for one percent of moisture, from the whole shrinkage."""
    return ((moisture_from - 30 + 3000/shrinkage)**(-1.0),)


def swelling_coefficient_slopes(shrinkage, moisture_from):
    """Exact derivatives of swelling_coefficient, output by output, input by input."""
    u0 = (moisture_from - 30 + 3000/shrinkage)**(-2.0)
    return (3000*u0/shrinkage**2, -u0,)


def size_change(size, shrinkage, moisture_from, moisture_to):
    """Change of a size across the grain between two moisture contents."""
    return (size*(-moisture_from + moisture_to)/(moisture_from - 30 + 3000/shrinkage),)


def size_change_slopes(size, shrinkage, moisture_from, moisture_to):
    """Exact derivatives of size_change, output by output, input by input."""
    u0 = moisture_from - 30 + 3000/shrinkage
    u1 = u0**(-1.0)
    u2 = -moisture_from + moisture_to
    u3 = size*u2/u0**2
    u4 = size*u1
    return (u1*u2, 3000*u3/shrinkage**2, -u3 - u4, u4,)


def size_change_rule(size, swelling, moisture_change):
    """The same with a tabulated coefficient."""
    return (moisture_change*size*swelling,)


def size_change_rule_slopes(size, swelling, moisture_change):
    """Exact derivatives of size_change_rule, output by output, input by input."""
    return (moisture_change*swelling, moisture_change*size, size*swelling,)


def swelling_off_grain(along_swelling, across_swelling, grain_angle):
    """Swelling in a direction at an angle to the grain."""
    return (across_swelling*sin(grain_angle)**2 + along_swelling*cos(grain_angle)**2,)


def swelling_off_grain_slopes(along_swelling, across_swelling, grain_angle):
    """Exact derivatives of swelling_off_grain, output by output, input by input."""
    u0 = cos(grain_angle)
    u1 = sin(grain_angle)
    u2 = 2*u0*u1
    return (u0**2, u1**2, across_swelling*u2 - along_swelling*u2,)


def shrinkage_at(shrinkage, moisture_from):
    """Shrinkage from green down to a moisture content."""
    return (shrinkage*(1 - 1/30*moisture_from),)


def shrinkage_at_slopes(shrinkage, moisture_from):
    """Exact derivatives of shrinkage_at, output by output, input by input."""
    return (1 - 1/30*moisture_from, -1/30*shrinkage,)


def strip_curvature(thickness_1, modulus_1, strain_1, thickness_2, modulus_2, strain_2):
    """Curvature of a strip of two layers that swell differently."""
    depth = thickness_1 + thickness_2
    m = thickness_1/thickness_2
    n = modulus_1/modulus_2
    u0 = (m + 1)**2
    rest = 3*u0 + (m**2 + 1/(m*n))*(m*n + 1)
    return (u0*(-6*strain_1 + 6*strain_2)/(depth*rest),)


def strip_curvature_slopes(thickness_1, modulus_1, strain_1, thickness_2, modulus_2, strain_2):
    """Exact derivatives of strip_curvature, output by output, input by input."""
    u0 = thickness_2**(-1.0)
    d_m_d_thickness_1 = u0
    m = thickness_1*u0
    u1 = modulus_2**(-1.0)
    n = modulus_1*u1
    u3 = m*n + 1
    u4 = m**2
    u6 = n**(-1.0)
    u5 = m**(-1.0)
    u7 = u4 + u5*u6
    u8 = 2*m
    u9 = 6*m + n*u7 + u3*(u8 - u6/u4) + 6
    d_rest_d_thickness_1 = d_m_d_thickness_1*u9
    u11 = -6*strain_1 + 6*strain_2
    u2 = (m + 1)**2
    rest = 3*u2 + u3*u7
    u12 = rest**(-1.0)
    depth = thickness_1 + thickness_2
    u13 = u12*u2
    u14 = u11*u13/depth**2
    u15 = depth**(-1.0)
    u16 = u11*u15*u2/rest**2
    u17 = u8 + 2
    d_n_d_modulus_1 = u1
    u10 = m*u7 - u3*u5/n**2
    d_rest_d_modulus_1 = d_n_d_modulus_1*u10
    u18 = 6*u13*u15
    d_m_d_thickness_2 = -thickness_1/thickness_2**2
    d_rest_d_thickness_2 = d_m_d_thickness_2*u9
    d_n_d_modulus_2 = -modulus_1/modulus_2**2
    d_rest_d_modulus_2 = d_n_d_modulus_2*u10
    return (d_m_d_thickness_1*u11*u12*u15*u17 - d_rest_d_thickness_1*u16 - u14, -d_rest_d_modulus_1*u16, -u18, d_m_d_thickness_2*u11*u12*u15*u17 - d_rest_d_thickness_2*u16 - u14, -d_rest_d_modulus_2*u16, u18,)


def strip_rise(bow, span):
    """Rise of a bent strip."""
    return ((1/8)*bow*span**2,)


def strip_rise_slopes(bow, span):
    """Exact derivatives of strip_rise, output by output, input by input."""
    return ((1/8)*span**2, (1/4)*bow*span,)


def moisture_lag(moisture_start, moisture_end, time, lag):
    """Moisture content some time after the air has changed."""
    return (moisture_end + (-moisture_end + moisture_start)*exp(-time/lag),)


def moisture_lag_slopes(moisture_start, moisture_end, time, lag):
    """Exact derivatives of moisture_lag, output by output, input by input."""
    u0 = lag**(-1.0)
    u1 = exp(-time*u0)
    u2 = u1*(-moisture_end + moisture_start)
    return (u1, 1 - u1, -u0*u2, time*u2/lag**2,)


def season_lag(period, lag):
    """What a lag leaves of a seasonal swing, and how late."""
    omega = 2*pi/period
    return (1/sqrt(lag**2*omega**2 + 1), arctan(lag*omega)/omega,)


def season_lag_slopes(period, lag):
    """Exact derivatives of season_lag, output by output, input by input."""
    u0 = 2*pi
    d_omega_d_period = -u0/period**2
    omega = u0/period
    u1 = lag**2
    u2 = omega**2
    u3 = u1*u2 + 1
    u4 = u3**(-3/2)
    u5 = u3**(-1.0)
    return (-d_omega_d_period*omega*u1*u4, -lag*u2*u4, d_omega_d_period*(lag*u5/omega - arctan(lag*omega)/u2), u5,)


def block_tilt(swelling, moisture_change, x_head, x_anchor, x_p, z_p, z_head, x_receiver, z_receiver):
    """Tilt that the swelling of the neck block brings, exactly (receiver a cross dowel)."""
    u = moisture_change*swelling*(-x_anchor + x_head)
    u6 = u + x_head - x_p
    q_x = u6
    q_z = z_head - z_p
    u0 = -x_receiver
    v_x = -u0 - x_p
    u2 = -z_receiver
    v_z = -u2 - z_p
    a = q_x*v_x + q_z*v_z
    u7 = q_z*v_x
    b_ = q_x*v_z - u7
    moved = 0
    q_y = 0
    u3 = (u2 + z_head)**2
    u1 = u0 + x_head
    u4 = u + u1
    d_0 = sqrt(q_y**2 + u3 + (moved + u4)**2)
    u5 = sqrt(u3 + u4**2)
    now = u5
    s_0 = u5
    was = sqrt(u1**2 + u3)
    s = -now + s_0 + was
    ea = (1/2)*(d_0 - s)*(d_0 + s)
    e = a + ea
    sigma = sign(u6*v_z - u7)
    half = ea/(b_ + sigma*sqrt(a**2 + b_**2 - e**2))
    return (2*arctan(half),)


def block_tilt_slopes(swelling, moisture_change, x_head, x_anchor, x_p, z_p, z_head, x_receiver, z_receiver):
    """Exact derivatives of block_tilt, output by output, input by input."""
    u0 = -x_anchor + x_head
    u1 = moisture_change*u0
    d_u_d_swelling = u1
    u2 = -x_receiver
    v_x = -u2 - x_p
    d_a_d_swelling = d_u_d_swelling*v_x
    u4 = -z_receiver
    v_z = -u4 - z_p
    d_b__d_swelling = d_u_d_swelling*v_z
    q_y = 0
    moved = 0
    u = swelling*u1
    u3 = u2 + x_head
    u8 = u + u3
    u12 = moved + u8
    u5 = u4 + z_head
    u6 = u5**2
    u13 = sqrt(q_y**2 + u12**2 + u6)
    d_0 = u13
    u30 = u13**(-1.0)
    u31 = u12*u30
    d_d_0_d_swelling = d_u_d_swelling*u31
    u9 = sqrt(u6 + u8**2)
    u20 = u9**(-1.0)
    u21 = u20*u8
    u26 = d_u_d_swelling*u21
    d_now_d_swelling = u26
    d_s_0_d_swelling = u26
    d_s_d_swelling = -d_now_d_swelling + d_s_0_d_swelling
    now = u9
    s_0 = u9
    u7 = sqrt(u3**2 + u6)
    was = u7
    s = -now + s_0 + was
    d_ea_d_swelling = d_0*d_d_0_d_swelling - d_s_d_swelling*s
    d_e_d_swelling = d_a_d_swelling + d_ea_d_swelling
    u10 = u + x_head - x_p
    q_x = u10
    q_z = z_head - z_p
    u11 = q_z*v_x
    b_ = q_x*v_z - u11
    sigma = sign(u10*v_z - u11)
    a = q_x*v_x + q_z*v_z
    ea = (1/2)*(d_0 - s)*(d_0 + s)
    e = a + ea
    u14 = sqrt(a**2 + b_**2 - e**2)
    u15 = b_ + sigma*u14
    u16 = u15**(-1.0)
    u32 = sigma/u14
    u33 = ea/u15**2
    u34 = u33*(-b_*u32 - 1)
    u35 = u32*u33
    u36 = e*u35
    u37 = a*u35
    d_half_d_swelling = -d_a_d_swelling*u37 + d_b__d_swelling*u34 + d_e_d_swelling*u36 + d_ea_d_swelling*u16
    half = ea*u16
    u38 = 2/(half**2 + 1)
    d_u_d_moisture_change = swelling*u0
    d_a_d_moisture_change = d_u_d_moisture_change*v_x
    d_b__d_moisture_change = d_u_d_moisture_change*v_z
    d_d_0_d_moisture_change = d_u_d_moisture_change*u31
    u27 = d_u_d_moisture_change*u21
    d_now_d_moisture_change = u27
    d_s_0_d_moisture_change = u27
    d_s_d_moisture_change = -d_now_d_moisture_change + d_s_0_d_moisture_change
    d_ea_d_moisture_change = d_0*d_d_0_d_moisture_change - d_s_d_moisture_change*s
    d_e_d_moisture_change = d_a_d_moisture_change + d_ea_d_moisture_change
    d_half_d_moisture_change = -d_a_d_moisture_change*u37 + d_b__d_moisture_change*u34 + d_e_d_moisture_change*u36 + d_ea_d_moisture_change*u16
    u17 = moisture_change*swelling
    d_u_d_x_head = u17
    d_q_x_d_x_head = d_u_d_x_head + 1
    d_a_d_x_head = d_q_x_d_x_head*v_x
    d_b__d_x_head = d_q_x_d_x_head*v_z
    d_d_0_d_x_head = d_u_d_x_head*u31 + u31
    u22 = d_u_d_x_head*u21 + u21
    d_now_d_x_head = u22
    d_s_0_d_x_head = u22
    u18 = u7**(-1.0)
    d_was_d_x_head = u18*u3
    d_s_d_x_head = -d_now_d_x_head + d_s_0_d_x_head + d_was_d_x_head
    d_ea_d_x_head = d_0*d_d_0_d_x_head - d_s_d_x_head*s
    d_e_d_x_head = d_a_d_x_head + d_ea_d_x_head
    d_half_d_x_head = -d_a_d_x_head*u37 + d_b__d_x_head*u34 + d_e_d_x_head*u36 + d_ea_d_x_head*u16
    d_u_d_x_anchor = -u17
    d_a_d_x_anchor = d_u_d_x_anchor*v_x
    d_b__d_x_anchor = d_u_d_x_anchor*v_z
    d_d_0_d_x_anchor = d_u_d_x_anchor*u31
    u28 = d_u_d_x_anchor*u21
    d_now_d_x_anchor = u28
    d_s_0_d_x_anchor = u28
    d_s_d_x_anchor = -d_now_d_x_anchor + d_s_0_d_x_anchor
    d_ea_d_x_anchor = d_0*d_d_0_d_x_anchor - d_s_d_x_anchor*s
    d_e_d_x_anchor = d_a_d_x_anchor + d_ea_d_x_anchor
    d_half_d_x_anchor = -d_a_d_x_anchor*u37 + d_b__d_x_anchor*u34 + d_e_d_x_anchor*u36 + d_ea_d_x_anchor*u16
    d_a_d_x_p = -q_x - v_x
    d_b__d_x_p = q_z - v_z
    d_half_d_x_p = d_a_d_x_p*u36 - d_a_d_x_p*u37 + d_b__d_x_p*u34
    d_a_d_z_p = -q_z - v_z
    u29 = -v_x
    d_b__d_z_p = -q_x - u29
    d_half_d_z_p = d_a_d_z_p*u36 - d_a_d_z_p*u37 + d_b__d_z_p*u34
    d_b__d_z_head = u29
    d_d_0_d_z_head = u30*u5
    u23 = u20*u5
    d_now_d_z_head = u23
    d_s_0_d_z_head = u23
    d_was_d_z_head = u18*u5
    d_s_d_z_head = -d_now_d_z_head + d_s_0_d_z_head + d_was_d_z_head
    d_ea_d_z_head = d_0*d_d_0_d_z_head - d_s_d_z_head*s
    d_e_d_z_head = d_ea_d_z_head + v_z
    d_half_d_z_head = d_b__d_z_head*u34 + d_e_d_z_head*u36 + d_ea_d_z_head*u16 - u37*v_z
    d_b__d_x_receiver = -q_z
    d_d_0_d_x_receiver = -u12*u30
    u24 = -u20*u8
    d_now_d_x_receiver = u24
    d_s_0_d_x_receiver = u24
    d_was_d_x_receiver = -u18*u3
    d_s_d_x_receiver = -d_now_d_x_receiver + d_s_0_d_x_receiver + d_was_d_x_receiver
    d_ea_d_x_receiver = d_0*d_d_0_d_x_receiver - d_s_d_x_receiver*s
    d_e_d_x_receiver = d_ea_d_x_receiver + q_x
    d_half_d_x_receiver = d_b__d_x_receiver*u34 + d_e_d_x_receiver*u36 + d_ea_d_x_receiver*u16 - q_x*u37
    u19 = -u5
    d_d_0_d_z_receiver = u19*u30
    u25 = u19*u20
    d_now_d_z_receiver = u25
    d_s_0_d_z_receiver = u25
    d_was_d_z_receiver = u18*u19
    d_s_d_z_receiver = -d_now_d_z_receiver + d_s_0_d_z_receiver + d_was_d_z_receiver
    d_ea_d_z_receiver = d_0*d_d_0_d_z_receiver - d_s_d_z_receiver*s
    d_e_d_z_receiver = d_ea_d_z_receiver + q_z
    d_half_d_z_receiver = d_e_d_z_receiver*u36 + d_ea_d_z_receiver*u16 + q_x*u34 - q_z*u37
    return (d_half_d_swelling*u38, d_half_d_moisture_change*u38, d_half_d_x_head*u38, d_half_d_x_anchor*u38, d_half_d_x_p*u38, d_half_d_z_p*u38, d_half_d_z_head*u38, d_half_d_x_receiver*u38, d_half_d_z_receiver*u38,)


def block_tilt_rule(swelling, moisture_change, x_head, x_anchor, arm):
    """Small-angle rule: tilt that the swelling of the neck block brings."""
    u = moisture_change*swelling*(-x_anchor + x_head)
    return (-u/arm,)


def block_tilt_rule_slopes(swelling, moisture_change, x_head, x_anchor, arm):
    """Exact derivatives of block_tilt_rule, output by output, input by input."""
    u0 = -x_anchor + x_head
    u1 = moisture_change*u0
    d_u_d_swelling = u1
    u3 = arm**(-1.0)
    d_u_d_moisture_change = swelling*u0
    u2 = moisture_change*swelling
    d_u_d_x_head = u2
    d_u_d_x_anchor = -u2
    u = swelling*u1
    return (-d_u_d_swelling*u3, -d_u_d_moisture_change*u3, -d_u_d_x_head*u3, -d_u_d_x_anchor*u3, u/arm**2,)


def swelling_tilt_rule(swelling, moisture_change, x_head, x_anchor, heel_swelling, x_receiver, x_ball, arm):
    """Small-angle rule: tilt from the swelling of block and heel together."""
    u = moisture_change*swelling*(-x_anchor + x_head)
    u_h = heel_swelling*moisture_change*(-x_ball + x_receiver)
    return ((-u + u_h)/arm,)


def swelling_tilt_rule_slopes(swelling, moisture_change, x_head, x_anchor, heel_swelling, x_receiver, x_ball, arm):
    """Exact derivatives of swelling_tilt_rule, output by output, input by input."""
    u2 = -x_anchor + x_head
    u3 = moisture_change*u2
    d_u_d_swelling = u3
    u6 = arm**(-1.0)
    d_u_d_moisture_change = swelling*u2
    u0 = -x_ball + x_receiver
    u1 = heel_swelling*u0
    d_u_h_d_moisture_change = u1
    u5 = moisture_change*swelling
    d_u_d_x_head = u5
    d_u_d_x_anchor = -u5
    d_u_h_d_heel_swelling = moisture_change*u0
    u4 = heel_swelling*moisture_change
    d_u_h_d_x_receiver = u4
    d_u_h_d_x_ball = -u4
    u = swelling*u3
    u_h = moisture_change*u1
    return (-d_u_d_swelling*u6, -d_u_d_moisture_change*u6 + d_u_h_d_moisture_change*u6, -d_u_d_x_head*u6, -d_u_d_x_anchor*u6, d_u_h_d_heel_swelling*u6, d_u_h_d_x_receiver*u6, d_u_h_d_x_ball*u6, -(-u + u_h)/arm**2,)


def null_head(swelling, x_anchor, heel_swelling, x_receiver, x_ball):
    """Place of the captive face at which swelling does not turn the neck."""
    return (heel_swelling*(-x_ball + x_receiver)/swelling + x_anchor,)


def null_head_slopes(swelling, x_anchor, heel_swelling, x_receiver, x_ball):
    """Exact derivatives of null_head, output by output, input by input."""
    u0 = -x_ball + x_receiver
    u1 = swelling**(-1.0)
    u2 = heel_swelling*u1
    return (-heel_swelling*u0/swelling**2, 1, u0*u1, u2, -u2,)
