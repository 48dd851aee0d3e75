"""Written by ``python -m lutherie_geom.theory.write`` from the derivations in ``scale.py``; not to be edited."""

from numpy import log, sqrt

def fret_distance(scale, fret):
    """Distance from the nut to a fret, twelve equal semitones to the octave."""
    return (scale*(1 - 2**(-1/12*fret)),)


def fret_distance_slopes(scale, fret):
    """Exact derivatives of fret_distance, output by output, input by input."""
    u0 = 2**(-1/12*fret)
    return (1 - u0, (1/12)*scale*u0*log(2),)


def sounding_length(x_nut, y_nut, z_nut, xn_saddle, yn_saddle, zn_saddle):
    """Sounding length: straight distance from nut to saddle in space."""
    return (sqrt((-x_nut + xn_saddle)**2 + (-y_nut + yn_saddle)**2 + (-z_nut + zn_saddle)**2),)


def sounding_length_slopes(x_nut, y_nut, z_nut, xn_saddle, yn_saddle, zn_saddle):
    """Exact derivatives of sounding_length, output by output, input by input."""
    u0 = x_nut - xn_saddle
    u1 = -u0
    u2 = y_nut - yn_saddle
    u3 = -u2
    u4 = z_nut - zn_saddle
    u5 = -u4
    u6 = 1/sqrt(u1**2 + u3**2 + u5**2)
    return (u0*u6, u2*u6, u4*u6, u1*u6, u3*u6, u5*u6,)


def edge_margin(x_fret, x_nut, x_last, width_nut, width_last, y_out):
    """String edge margin: from an outer string to the board's edge at a fret."""
    u0 = -x_nut
    part = (u0 + x_fret)/(u0 + x_last)
    return ((1/2)*part*(width_last - width_nut) + (1/2)*width_nut - y_out,)


def edge_margin_slopes(x_fret, x_nut, x_last, width_nut, width_last, y_out):
    """Exact derivatives of edge_margin, output by output, input by input."""
    u0 = -x_nut
    u1 = u0 + x_last
    u2 = u1**(-1.0)
    d_part_d_x_fret = u2
    u5 = (1/2)*width_last - 1/2*width_nut
    u3 = u0 + x_fret
    u4 = u3/u1**2
    d_part_d_x_nut = -u2 + u4
    d_part_d_x_last = -u4
    part = u2*u3
    u6 = (1/2)*part
    return (d_part_d_x_fret*u5, d_part_d_x_nut*u5, d_part_d_x_last*u5, 1/2 - u6, u6, -1,)
