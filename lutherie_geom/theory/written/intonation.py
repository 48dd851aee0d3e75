"""Written by ``python -m lutherie_geom.theory.write`` from the derivations in ``intonation.py``; not to be edited."""

from numpy import log, pi, sqrt

def fretted_cents(semitones, open_length, vibrating, behind, free_length, stiffness, tension):
    """Error of a fretted note against equal temperament on its own open string."""
    stretch = behind - open_length + vibrating
    strain = stretch/(free_length + open_length)
    rise = stiffness*strain/tension
    return (-100*semitones + 1200*log(open_length*sqrt((rise + 1)*(strain + 1))/vibrating)/log(2),)


def fretted_cents_slopes(semitones, open_length, vibrating, behind, free_length, stiffness, tension):
    """Exact derivatives of fretted_cents, output by output, input by input."""
    u0 = free_length + open_length
    u1 = u0**(-1.0)
    stretch = behind - open_length + vibrating
    u4 = stretch/u0**2
    d_strain_d_open_length = -u1 - u4
    u2 = tension**(-1.0)
    u5 = stiffness*u2
    d_rise_d_open_length = d_strain_d_open_length*u5
    u6 = 1200/log(2)
    strain = stretch*u1
    u3 = strain*u2
    rise = stiffness*u3
    u7 = u6/((rise + 1)*(strain + 1))
    u8 = u7*((1/2)*strain + 1/2)
    u9 = u7*((1/2)*rise + 1/2)
    d_strain_d_vibrating = u1
    d_rise_d_vibrating = d_strain_d_vibrating*u5
    d_strain_d_behind = u1
    d_rise_d_behind = d_strain_d_behind*u5
    d_strain_d_free_length = -u4
    d_rise_d_free_length = d_strain_d_free_length*u5
    d_rise_d_stiffness = u3
    d_rise_d_tension = -stiffness*strain/tension**2
    return (-100, d_rise_d_open_length*u8 + d_strain_d_open_length*u9 + u6/open_length, d_rise_d_vibrating*u8 + d_strain_d_vibrating*u9 - u6/vibrating, d_rise_d_behind*u8 + d_strain_d_behind*u9, d_rise_d_free_length*u8 + d_strain_d_free_length*u9, d_rise_d_stiffness*u8, d_rise_d_tension*u8,)


def pitch_drift(open_length, new_length, free_length, stiffness, tension):
    """Drift of an untouched open string while a screw is turned."""
    strain = (new_length - open_length)/(free_length + open_length)
    rise = stiffness*strain/tension
    return (1200*log(open_length*sqrt((rise + 1)*(strain + 1))/new_length)/log(2),)


def pitch_drift_slopes(open_length, new_length, free_length, stiffness, tension):
    """Exact derivatives of pitch_drift, output by output, input by input."""
    u0 = free_length + open_length
    u1 = u0**(-1.0)
    u2 = new_length - open_length
    u5 = u2/u0**2
    d_strain_d_open_length = -u1 - u5
    u3 = tension**(-1.0)
    u6 = stiffness*u3
    d_rise_d_open_length = d_strain_d_open_length*u6
    strain = u1*u2
    u4 = strain*u3
    rise = stiffness*u4
    u7 = 1200/log(2)
    u8 = u7/((rise + 1)*(strain + 1))
    u10 = u8*((1/2)*rise + 1/2)
    u9 = u8*((1/2)*strain + 1/2)
    d_strain_d_new_length = u1
    d_rise_d_new_length = d_strain_d_new_length*u6
    d_strain_d_free_length = -u5
    d_rise_d_free_length = d_strain_d_free_length*u6
    d_rise_d_stiffness = u4
    d_rise_d_tension = -stiffness*strain/tension**2
    return (d_rise_d_open_length*u9 + d_strain_d_open_length*u10 + u7/open_length, d_rise_d_new_length*u9 + d_strain_d_new_length*u10 - u7/new_length, d_rise_d_free_length*u9 + d_strain_d_free_length*u10, d_rise_d_stiffness*u9, d_rise_d_tension*u9,)


def string_tension(mass, length, frequency):
    """Tension of a string from its mass, length and pitch."""
    return ((1/250000)*frequency**2*length**2*mass,)


def string_tension_slopes(mass, length, frequency):
    """Exact derivatives of string_tension, output by output, input by input."""
    u0 = frequency**2
    u1 = length**2
    u2 = (1/125000)*mass
    return ((1/250000)*u0*u1, length*u0*u2, frequency*u1*u2,)


def pitch_ratio(half_tones):
    """Frequency over the old one, so many half tones up."""
    return (2**((1/12)*half_tones),)


def pitch_ratio_slopes(half_tones):
    """Exact derivatives of pitch_ratio, output by output, input by input."""
    return ((1/12)*2**((1/12)*half_tones)*log(2),)


def string_mass(diameter, core_diameter, core_density, wrap_density):
    """Mass of a plain or wound string from its sizes."""
    wire = -1/2*core_diameter + (1/2)*diameter
    turn = sqrt(wire**2 + pi**2*(core_diameter + wire)**2)
    wrap = (1/4)*pi*turn*wire
    return ((1/4000000)*pi*core_density*core_diameter**2 + (1/1000000)*wrap*wrap_density,)


def string_mass_slopes(diameter, core_diameter, core_density, wrap_density):
    """Exact derivatives of string_mass, output by output, input by input."""
    u0 = pi**2
    wire = -1/2*core_diameter + (1/2)*diameter
    u1 = sqrt(u0*(core_diameter + wire)**2 + wire**2)
    u4 = u1**(-1.0)
    u5 = (1/2)*u0*(2*core_diameter + 2*wire)
    u6 = (1/2)*u4*(u5 + wire)
    d_turn_d_diameter = u6
    turn = u1
    u2 = pi*turn
    u7 = (1/8)*u2
    u3 = (1/4)*wire
    u8 = pi*u3
    d_wrap_d_diameter = d_turn_d_diameter*u8 + u7
    u9 = (1/1000000)*wrap_density
    d_turn_d_core_diameter = u4*u5 - u6
    d_wrap_d_core_diameter = d_turn_d_core_diameter*u8 - u7
    wrap = u2*u3
    return (d_wrap_d_diameter*u9, (1/2000000)*pi*core_density*core_diameter + d_wrap_d_core_diameter*u9, (1/4000000)*pi*core_diameter**2, (1/1000000)*wrap,)
