"""Written by ``python -m lutherie_geom.theory.write`` from the derivations in ``heel.py``; not to be edited."""

from numpy import cos, sin

def heel_point(x_face, y_face, z_face, cos_psi, sin_psi, cos_theta, sin_theta, advance, x_p, z_p):
    """Where a point of the heel comes to lie in the body frame."""
    u0 = -x_p
    u1 = u0 + x_face
    u2 = z_face - z_p
    along_neck = cos_theta*u1 + sin_theta*u2
    x_turned = -advance + along_neck*cos_psi - sin_psi*y_face - u0
    y_turned = along_neck*sin_psi + cos_psi*y_face
    z_turned = cos_theta*u2 - sin_theta*u1 + z_p
    return (x_turned, y_turned, z_turned,)


def heel_point_slopes(x_face, y_face, z_face, cos_psi, sin_psi, cos_theta, sin_theta, advance, x_p, z_p):
    """Exact derivatives of heel_point, output by output, input by input."""
    d_x_turned_d_x_face = cos_psi*cos_theta
    d_x_turned_d_y_face = -sin_psi
    d_x_turned_d_z_face = cos_psi*sin_theta
    u0 = -x_p
    u1 = u0 + x_face
    u2 = z_face - z_p
    along_neck = cos_theta*u1 + sin_theta*u2
    d_x_turned_d_sin_psi = -y_face
    d_along_neck_d_cos_theta = u1
    d_x_turned_d_cos_theta = cos_psi*d_along_neck_d_cos_theta
    d_along_neck_d_sin_theta = u2
    d_x_turned_d_sin_theta = cos_psi*d_along_neck_d_sin_theta
    d_along_neck_d_x_p = -cos_theta
    d_x_turned_d_x_p = cos_psi*d_along_neck_d_x_p + 1
    u3 = -sin_theta
    d_along_neck_d_z_p = u3
    d_x_turned_d_z_p = cos_psi*d_along_neck_d_z_p
    d_y_turned_d_x_face = cos_theta*sin_psi
    d_y_turned_d_z_face = sin_psi*sin_theta
    d_y_turned_d_cos_theta = d_along_neck_d_cos_theta*sin_psi
    d_y_turned_d_sin_theta = d_along_neck_d_sin_theta*sin_psi
    d_y_turned_d_x_p = d_along_neck_d_x_p*sin_psi
    d_y_turned_d_z_p = d_along_neck_d_z_p*sin_psi
    d_z_turned_d_x_face = u3
    d_z_turned_d_cos_theta = u2
    d_z_turned_d_sin_theta = -u1
    d_z_turned_d_z_p = 1 - cos_theta
    return (d_x_turned_d_x_face, d_x_turned_d_y_face, d_x_turned_d_z_face, along_neck, d_x_turned_d_sin_psi, d_x_turned_d_cos_theta, d_x_turned_d_sin_theta, -1, d_x_turned_d_x_p, d_x_turned_d_z_p, d_y_turned_d_x_face, cos_psi, d_y_turned_d_z_face, y_face, along_neck, d_y_turned_d_cos_theta, d_y_turned_d_sin_theta, 0, d_y_turned_d_x_p, d_y_turned_d_z_p, d_z_turned_d_x_face, 0, cos_theta, 0, 0, d_z_turned_d_cos_theta, d_z_turned_d_sin_theta, 0, sin_theta, d_z_turned_d_z_p,)


def heel_x(x_face, y_face, z_face, cos_psi, sin_psi, cos_theta, sin_theta, advance, x_p, z_p):
    """Where a point of the heel comes to lie along the body: all that floor and rim ask for."""
    u0 = -x_p
    u1 = u0 + x_face
    u2 = z_face - z_p
    along_neck = cos_theta*u1 + sin_theta*u2
    x_turned = -advance + along_neck*cos_psi - sin_psi*y_face - u0
    return (x_turned,)


def heel_x_slopes(x_face, y_face, z_face, cos_psi, sin_psi, cos_theta, sin_theta, advance, x_p, z_p):
    """Exact derivatives of heel_x, output by output, input by input."""
    d_x_turned_d_x_face = cos_psi*cos_theta
    d_x_turned_d_y_face = -sin_psi
    d_x_turned_d_z_face = cos_psi*sin_theta
    u0 = -x_p
    u1 = u0 + x_face
    u2 = z_face - z_p
    along_neck = cos_theta*u1 + sin_theta*u2
    d_x_turned_d_sin_psi = -y_face
    d_along_neck_d_cos_theta = u1
    d_x_turned_d_cos_theta = cos_psi*d_along_neck_d_cos_theta
    d_along_neck_d_sin_theta = u2
    d_x_turned_d_sin_theta = cos_psi*d_along_neck_d_sin_theta
    d_along_neck_d_x_p = -cos_theta
    d_x_turned_d_x_p = cos_psi*d_along_neck_d_x_p + 1
    u3 = -sin_theta
    d_along_neck_d_z_p = u3
    d_x_turned_d_z_p = cos_psi*d_along_neck_d_z_p
    return (d_x_turned_d_x_face, d_x_turned_d_y_face, d_x_turned_d_z_face, along_neck, d_x_turned_d_sin_psi, d_x_turned_d_cos_theta, d_x_turned_d_sin_theta, -1, d_x_turned_d_x_p, d_x_turned_d_z_p,)


def foot_in(below_pivot, behind_pivot, angle):
    """Floor clearance that the foot needs while the neck is lowered by an angle, exact."""
    return (-2*behind_pivot*sin((1/2)*angle)**2 + below_pivot*sin(angle),)


def foot_in_slopes(below_pivot, behind_pivot, angle):
    """Exact derivatives of foot_in, output by output, input by input."""
    u0 = (1/2)*angle
    u1 = sin(u0)
    return (sin(angle), -2*u1**2, -2*behind_pivot*u1*cos(u0) + below_pivot*cos(angle),)


def foot_out(below_pivot, behind_pivot, angle):
    """How far the foot comes out of the pocket while the neck is raised by an angle, exact."""
    return (2*behind_pivot*sin((1/2)*angle)**2 + below_pivot*sin(angle),)


def foot_out_slopes(below_pivot, behind_pivot, angle):
    """Exact derivatives of foot_out, output by output, input by input."""
    u0 = (1/2)*angle
    u1 = sin(u0)
    return (sin(angle), 2*u1**2, 2*behind_pivot*u1*cos(u0) + below_pivot*cos(angle),)


def foot_rule(below_pivot, angle):
    """Small-angle rule for the travel of the heel's foot."""
    return (angle*below_pivot,)


def foot_rule_slopes(below_pivot, angle):
    """Exact derivatives of foot_rule, output by output, input by input."""
    return (angle, below_pivot,)
