"""Written by ``python -m lutherie_geom.theory.write`` from the derivations in ``steer.py``; not to be edited."""

from numpy import arctan2, sqrt

def steer(bass, treble, pitch_pivot, spacing):
    """Yaw and advance from the turns of the two pivot screws."""
    psi = arctan2(pitch_pivot*(-bass + treble), spacing)
    advance = (1/2)*pitch_pivot*(bass + treble)
    return (psi, advance,)


def steer_slopes(bass, treble, pitch_pivot, spacing):
    """Exact derivatives of steer, output by output, input by input."""
    u0 = -bass + treble
    u3 = (pitch_pivot**2*u0**2 + spacing**2)**(-1.0)
    u4 = spacing*u3
    u5 = pitch_pivot*u4
    d_psi_d_bass = -u5
    d_psi_d_treble = u5
    d_psi_d_pitch_pivot = u0*u4
    u1 = pitch_pivot*u0
    d_psi_d_spacing = -u1*u3
    u2 = (1/2)*pitch_pivot
    d_advance_d_bass = u2
    d_advance_d_treble = u2
    d_advance_d_pitch_pivot = (1/2)*bass + (1/2)*treble
    return (d_psi_d_bass, d_psi_d_treble, d_psi_d_pitch_pivot, d_psi_d_spacing, d_advance_d_bass, d_advance_d_treble, d_advance_d_pitch_pivot, 0,)


def seat_growth(bass, treble, pitch_pivot, spacing):
    """How much further apart the seats come when they are steered."""
    difference = pitch_pivot*(-bass + treble)
    u0 = difference**2
    return (u0/(spacing + sqrt(spacing**2 + u0)),)


def seat_growth_slopes(bass, treble, pitch_pivot, spacing):
    """Exact derivatives of seat_growth, output by output, input by input."""
    d_difference_d_bass = -pitch_pivot
    u0 = -bass + treble
    difference = pitch_pivot*u0
    u1 = difference**2
    u2 = sqrt(spacing**2 + u1)
    u3 = spacing + u2
    u4 = u3**(-2.0)
    u5 = u2**(-1.0)
    u6 = -difference**3*u4*u5 + 2*difference/u3
    d_difference_d_pitch_pivot = u0
    return (d_difference_d_bass*u6, pitch_pivot*u6, d_difference_d_pitch_pivot*u6, u1*u4*(-spacing*u5 - 1),)


def ball_rise(ball_radius, rim_radius, offset):
    """Rise of a ball that is pushed sideways against the rim of its seat."""
    u0 = ball_radius**2
    return (-sqrt(-rim_radius**2 + u0) + sqrt(u0 - (-offset + rim_radius)**2),)


def ball_rise_slopes(ball_radius, rim_radius, offset):
    """Exact derivatives of ball_rise, output by output, input by input."""
    u0 = ball_radius**2
    u1 = offset - rim_radius
    u2 = -u1
    u3 = 1/sqrt(u0 - u2**2)
    u4 = 1/sqrt(-rim_radius**2 + u0)
    return (ball_radius*u3 - ball_radius*u4, rim_radius*u4 + u1*u3, u2*u3,)


def cap_radius(head_diameter, head_height):
    """Radius of the spherical cap that is a button head."""
    return ((1/2)*((1/4)*head_diameter**2 + head_height**2)/head_height,)


def cap_radius_slopes(head_diameter, head_height):
    """Exact derivatives of cap_radius, output by output, input by input."""
    u0 = head_height**2
    return ((1/4)*head_diameter/head_height, 1 - 1/2*((1/4)*head_diameter**2 + u0)/u0,)


def pivot_from_rim(x_rim, ball_radius, rim_radius):
    """Where the pivot axis lies behind the rims of the seats."""
    return (x_rim - sqrt(ball_radius**2 - rim_radius**2),)


def pivot_from_rim_slopes(x_rim, ball_radius, rim_radius):
    """Exact derivatives of pivot_from_rim, output by output, input by input."""
    u0 = 1/sqrt(ball_radius**2 - rim_radius**2)
    return (1, -ball_radius*u0, rim_radius*u0,)
