"""Written by ``python -m lutherie_geom.theory.write`` from the derivations in ``tolerances.py``; not to be edited."""

from numpy import sqrt

def tolerance_unit(size_low, size_high):
    """Standard tolerance unit i of a step of sizes (up to 500 mm)."""
    D = sqrt(size_high*size_low)
    return ((9/20000)*D**(1/3) + (1/1000000)*D,)


def tolerance_unit_slopes(size_low, size_high):
    """Exact derivatives of tolerance_unit, output by output, input by input."""
    u0 = sqrt(size_high*size_low)
    u1 = (1/2)*u0
    d_D_d_size_low = u1/size_low
    D = u0
    u2 = 1/1000000 + (3/20000)/D**(2/3)
    d_D_d_size_high = u1/size_high
    return (d_D_d_size_low*u2, d_D_d_size_high*u2,)


def grade_tolerance(size_low, size_high, multiple):
    """Width of a tolerance grade."""
    D = sqrt(size_high*size_low)
    return (multiple*((9/20000)*D**(1/3) + (1/1000000)*D),)


def grade_tolerance_slopes(size_low, size_high, multiple):
    """Exact derivatives of grade_tolerance, output by output, input by input."""
    u0 = sqrt(size_high*size_low)
    u1 = (1/2)*u0
    d_D_d_size_low = u1/size_low
    D = u0
    u2 = multiple*(1/1000000 + (3/20000)/D**(2/3))
    d_D_d_size_high = u1/size_high
    return (d_D_d_size_low*u2, d_D_d_size_high*u2, (9/20000)*D**(1/3) + (1/1000000)*D,)


def mean_reading(systematic, scatter, resolution, readings):
    """Standard uncertainty of the mean of repeated readings."""
    return (sqrt((1/12)*resolution**2 + systematic**2 + scatter**2/readings),)


def mean_reading_slopes(systematic, scatter, resolution, readings):
    """Exact derivatives of mean_reading, output by output, input by input."""
    u0 = readings**(-1.0)
    u1 = scatter**2
    u2 = 1/sqrt((1/12)*resolution**2 + systematic**2 + u0*u1)
    return (systematic*u2, scatter*u0*u2, (1/12)*resolution*u2, -1/2*u1*u2/readings**2,)


def true_value(prior_mean, prior_sd, measured, measured_sd):
    """What is known of a true value from readings and from how instruments usually come out."""
    u0 = measured_sd**2
    u1 = prior_sd**2
    S = u0 + u1
    return ((measured*u1 + prior_mean*u0)/S, measured_sd*prior_sd/sqrt(S),)


def true_value_slopes(prior_mean, prior_sd, measured, measured_sd):
    """Exact derivatives of true_value, output by output, input by input."""
    u0 = measured_sd**2
    u1 = prior_sd**2
    S = u0 + u1
    u4 = S**(-1.0)
    u2 = 2*prior_sd
    d_S_d_prior_sd = u2
    u5 = (measured*u1 + prior_mean*u0)/S**2
    u3 = 2*measured_sd
    d_S_d_measured_sd = u3
    u6 = 1/sqrt(S)
    u7 = (1/2)*measured_sd*prior_sd/S**(3/2)
    return (u0*u4, -d_S_d_prior_sd*u5 + measured*u2*u4, u1*u4, -d_S_d_measured_sd*u5 + prior_mean*u3*u4, 0, -d_S_d_prior_sd*u7 + measured_sd*u6, 0, -d_S_d_measured_sd*u7 + prior_sd*u6,)
