"""Written by ``python -m lutherie_geom.theory.write`` from the derivations in ``beam.py``; not to be edited."""

from numpy import log, pi, sqrt

def round_rod(rod_diameter):
    """Area and second moment of a round rod."""
    return ((1/4)*pi*rod_diameter**2, (1/64)*pi*rod_diameter**4,)


def round_rod_slopes(rod_diameter):
    """Exact derivatives of round_rod, output by output, input by input."""
    return ((1/2)*pi*rod_diameter, (1/16)*pi*rod_diameter**3,)


def layer(breadth, thickness, modulus, bottom):
    """A layer as a part of a section."""
    u0 = breadth*modulus
    return (thickness*u0, bottom + (1/2)*thickness, (1/12)*thickness**3*u0,)


def layer_slopes(breadth, thickness, modulus, bottom):
    """Exact derivatives of layer, output by output, input by input."""
    u0 = breadth*modulus
    u1 = (1/12)*thickness**3
    return (modulus*thickness, u0, breadth*thickness, 0, 0, 1/2, 0, 1, modulus*u1, (1/4)*thickness**2*u0, breadth*u1, 0,)


def joined(axial_1, centroid_1, rigidity_1, axial_2, centroid_2, rigidity_2):
    """Two parts of a section, glued into one."""
    EA = axial_1 + axial_2
    u0 = EA**(-1.0)
    ybar = u0*(axial_1*centroid_1 + axial_2*centroid_2)
    return (EA, ybar, axial_1*axial_2*u0*(centroid_1 - centroid_2)**2 + rigidity_1 + rigidity_2,)


def joined_slopes(axial_1, centroid_1, rigidity_1, axial_2, centroid_2, rigidity_2):
    """Exact derivatives of joined, output by output, input by input."""
    EA = axial_1 + axial_2
    u0 = EA**(-1.0)
    u1 = axial_1*centroid_1 + axial_2*centroid_2
    u2 = EA**(-2.0)
    u3 = -u1*u2
    d_ybar_d_axial_1 = centroid_1*u0 + u3
    u4 = axial_1*u0
    d_ybar_d_centroid_1 = u4
    d_ybar_d_axial_2 = centroid_2*u0 + u3
    u5 = axial_2*u0
    d_ybar_d_centroid_2 = u5
    u6 = (centroid_1 - centroid_2)**2
    u7 = -axial_1*axial_2*u2*u6
    u8 = 2*centroid_1 - 2*centroid_2
    u9 = axial_2*u4
    return (1, 0, 0, 1, 0, 0, d_ybar_d_axial_1, d_ybar_d_centroid_1, 0, d_ybar_d_axial_2, d_ybar_d_centroid_2, 0, u5*u6 + u7, u8*u9, 1, u4*u6 + u7, -u8*u9, 1,)


def two_layers(breadth_1, thickness_1, modulus_1, breadth_2, thickness_2, modulus_2):
    """Section of two layers, say neck wood and board."""
    A_1 = breadth_1*modulus_1*thickness_1
    A_2 = breadth_2*modulus_2*thickness_2
    EA = A_1 + A_2
    y_1 = (1/2)*thickness_1
    y_2 = thickness_1 + (1/2)*thickness_2
    ybar = (A_1*y_1 + A_2*y_2)/EA
    u0 = -ybar
    return (EA, ybar, A_1*((1/12)*thickness_1**2 + (u0 + y_1)**2) + A_2*((1/12)*thickness_2**2 + (u0 + y_2)**2),)


def two_layers_slopes(breadth_1, thickness_1, modulus_1, breadth_2, thickness_2, modulus_2):
    """Exact derivatives of two_layers, output by output, input by input."""
    u0 = modulus_1*thickness_1
    d_A_1_d_breadth_1 = u0
    d_A_1_d_thickness_1 = breadth_1*modulus_1
    d_A_1_d_modulus_1 = breadth_1*thickness_1
    u1 = modulus_2*thickness_2
    d_A_2_d_breadth_2 = u1
    d_A_2_d_thickness_2 = breadth_2*modulus_2
    d_A_2_d_modulus_2 = breadth_2*thickness_2
    A_1 = breadth_1*u0
    A_2 = breadth_2*u1
    EA = A_1 + A_2
    u2 = EA**(-1.0)
    y_1 = (1/2)*thickness_1
    u4 = u2*y_1
    y_2 = thickness_1 + (1/2)*thickness_2
    u3 = A_1*y_1 + A_2*y_2
    u5 = u3/EA**2
    d_ybar_d_breadth_1 = d_A_1_d_breadth_1*u4 - d_A_1_d_breadth_1*u5
    u6 = A_2*u2
    u7 = (1/2)*A_1
    d_ybar_d_thickness_1 = d_A_1_d_thickness_1*u4 - d_A_1_d_thickness_1*u5 + u2*u7 + u6
    d_ybar_d_modulus_1 = d_A_1_d_modulus_1*u4 - d_A_1_d_modulus_1*u5
    u8 = u2*y_2
    d_ybar_d_breadth_2 = -d_A_2_d_breadth_2*u5 + d_A_2_d_breadth_2*u8
    d_ybar_d_thickness_2 = -d_A_2_d_thickness_2*u5 + d_A_2_d_thickness_2*u8 + (1/2)*u6
    d_ybar_d_modulus_2 = -d_A_2_d_modulus_2*u5 + d_A_2_d_modulus_2*u8
    ybar = u2*u3
    u9 = -ybar
    u10 = (1/12)*thickness_1**2 + (u9 + y_1)**2
    u11 = -2*ybar
    u12 = u11 + 2*y_1
    u13 = u11 + 2*y_2
    u14 = -A_1*u12 - A_2*u13
    u15 = A_2*u13
    u16 = (1/12)*thickness_2**2 + (u9 + y_2)**2
    return (d_A_1_d_breadth_1, d_A_1_d_thickness_1, d_A_1_d_modulus_1, d_A_2_d_breadth_2, d_A_2_d_thickness_2, d_A_2_d_modulus_2, d_ybar_d_breadth_1, d_ybar_d_thickness_1, d_ybar_d_modulus_1, d_ybar_d_breadth_2, d_ybar_d_thickness_2, d_ybar_d_modulus_2, d_A_1_d_breadth_1*u10 + d_ybar_d_breadth_1*u14, (1/6)*A_1*thickness_1 + d_A_1_d_thickness_1*u10 + d_ybar_d_thickness_1*u14 + u12*u7 + u15, d_A_1_d_modulus_1*u10 + d_ybar_d_modulus_1*u14, d_A_2_d_breadth_2*u16 + d_ybar_d_breadth_2*u14, (1/6)*A_2*thickness_2 + d_A_2_d_thickness_2*u16 + d_ybar_d_thickness_2*u14 + (1/2)*u15, d_A_2_d_modulus_2*u16 + d_ybar_d_modulus_2*u14,)


def three_layers(breadth_1, thickness_1, modulus_1, breadth_2, thickness_2, modulus_2, breadth_3, thickness_3, modulus_3):
    """Section of three layers."""
    A_1 = breadth_1*modulus_1*thickness_1
    A_2 = breadth_2*modulus_2*thickness_2
    A_3 = breadth_3*modulus_3*thickness_3
    EA = A_1 + A_2 + A_3
    y_1 = (1/2)*thickness_1
    y_2 = thickness_1 + (1/2)*thickness_2
    y_3 = thickness_1 + thickness_2 + (1/2)*thickness_3
    ybar = (A_1*y_1 + A_2*y_2 + A_3*y_3)/EA
    u0 = -ybar
    return (EA, ybar, A_1*((1/12)*thickness_1**2 + (u0 + y_1)**2) + A_2*((1/12)*thickness_2**2 + (u0 + y_2)**2) + A_3*((1/12)*thickness_3**2 + (u0 + y_3)**2),)


def three_layers_slopes(breadth_1, thickness_1, modulus_1, breadth_2, thickness_2, modulus_2, breadth_3, thickness_3, modulus_3):
    """Exact derivatives of three_layers, output by output, input by input."""
    u0 = modulus_1*thickness_1
    d_A_1_d_breadth_1 = u0
    d_A_1_d_thickness_1 = breadth_1*modulus_1
    d_A_1_d_modulus_1 = breadth_1*thickness_1
    u1 = modulus_2*thickness_2
    d_A_2_d_breadth_2 = u1
    d_A_2_d_thickness_2 = breadth_2*modulus_2
    d_A_2_d_modulus_2 = breadth_2*thickness_2
    u2 = modulus_3*thickness_3
    d_A_3_d_breadth_3 = u2
    d_A_3_d_thickness_3 = breadth_3*modulus_3
    d_A_3_d_modulus_3 = breadth_3*thickness_3
    A_1 = breadth_1*u0
    A_2 = breadth_2*u1
    A_3 = breadth_3*u2
    EA = A_1 + A_2 + A_3
    u3 = EA**(-1.0)
    y_1 = (1/2)*thickness_1
    u5 = u3*y_1
    y_2 = thickness_1 + (1/2)*thickness_2
    y_3 = thickness_1 + thickness_2 + (1/2)*thickness_3
    u4 = A_1*y_1 + A_2*y_2 + A_3*y_3
    u6 = u4/EA**2
    d_ybar_d_breadth_1 = d_A_1_d_breadth_1*u5 - d_A_1_d_breadth_1*u6
    u7 = A_2*u3
    u8 = A_3*u3
    u9 = (1/2)*A_1
    d_ybar_d_thickness_1 = d_A_1_d_thickness_1*u5 - d_A_1_d_thickness_1*u6 + u3*u9 + u7 + u8
    d_ybar_d_modulus_1 = d_A_1_d_modulus_1*u5 - d_A_1_d_modulus_1*u6
    u10 = u3*y_2
    d_ybar_d_breadth_2 = d_A_2_d_breadth_2*u10 - d_A_2_d_breadth_2*u6
    d_ybar_d_thickness_2 = d_A_2_d_thickness_2*u10 - d_A_2_d_thickness_2*u6 + (1/2)*u7 + u8
    d_ybar_d_modulus_2 = d_A_2_d_modulus_2*u10 - d_A_2_d_modulus_2*u6
    u11 = u3*y_3
    d_ybar_d_breadth_3 = d_A_3_d_breadth_3*u11 - d_A_3_d_breadth_3*u6
    d_ybar_d_thickness_3 = d_A_3_d_thickness_3*u11 - d_A_3_d_thickness_3*u6 + (1/2)*u8
    d_ybar_d_modulus_3 = d_A_3_d_modulus_3*u11 - d_A_3_d_modulus_3*u6
    ybar = u3*u4
    u12 = -ybar
    u13 = (1/12)*thickness_1**2 + (u12 + y_1)**2
    u14 = -2*ybar
    u15 = u14 + 2*y_1
    u16 = u14 + 2*y_2
    u17 = u14 + 2*y_3
    u18 = -A_1*u15 - A_2*u16 - A_3*u17
    u19 = A_2*u16
    u20 = A_3*u17
    u21 = (1/12)*thickness_2**2 + (u12 + y_2)**2
    u22 = (1/12)*thickness_3**2 + (u12 + y_3)**2
    return (d_A_1_d_breadth_1, d_A_1_d_thickness_1, d_A_1_d_modulus_1, d_A_2_d_breadth_2, d_A_2_d_thickness_2, d_A_2_d_modulus_2, d_A_3_d_breadth_3, d_A_3_d_thickness_3, d_A_3_d_modulus_3, d_ybar_d_breadth_1, d_ybar_d_thickness_1, d_ybar_d_modulus_1, d_ybar_d_breadth_2, d_ybar_d_thickness_2, d_ybar_d_modulus_2, d_ybar_d_breadth_3, d_ybar_d_thickness_3, d_ybar_d_modulus_3, d_A_1_d_breadth_1*u13 + d_ybar_d_breadth_1*u18, (1/6)*A_1*thickness_1 + d_A_1_d_thickness_1*u13 + d_ybar_d_thickness_1*u18 + u15*u9 + u19 + u20, d_A_1_d_modulus_1*u13 + d_ybar_d_modulus_1*u18, d_A_2_d_breadth_2*u21 + d_ybar_d_breadth_2*u18, (1/6)*A_2*thickness_2 + d_A_2_d_thickness_2*u21 + d_ybar_d_thickness_2*u18 + (1/2)*u19 + u20, d_A_2_d_modulus_2*u21 + d_ybar_d_modulus_2*u18, d_A_3_d_breadth_3*u22 + d_ybar_d_breadth_3*u18, (1/6)*A_3*thickness_3 + d_A_3_d_thickness_3*u22 + d_ybar_d_thickness_3*u18 + (1/2)*u20, d_A_3_d_modulus_3*u22 + d_ybar_d_modulus_3*u18,)


def rod_share(rigidity_with, rigidity_without):
    """The rods' own share of a section's bending stiffness."""
    return (1 - rigidity_without/rigidity_with,)


def rod_share_slopes(rigidity_with, rigidity_without):
    """Exact derivatives of rod_share, output by output, input by input."""
    return (rigidity_without/rigidity_with**2, -1/rigidity_with,)


def fibre_stress(moment, modulus, height, centroid, rigidity):
    """Stress in a fibre of a layered section."""
    return (modulus*moment*(centroid - height)/rigidity,)


def fibre_stress_slopes(moment, modulus, height, centroid, rigidity):
    """Exact derivatives of fibre_stress, output by output, input by input."""
    u0 = rigidity**(-1.0)
    u1 = centroid - height
    u2 = u0*u1
    u3 = modulus*moment
    u4 = u0*u3
    return (modulus*u2, moment*u2, -u4, u4, -u1*u3/rigidity**2,)


def cantilever_tip(force, span, rigidity):
    """Tip of a uniform cantilever: deflection and slope."""
    u0 = force/rigidity
    return ((1/3)*span**3*u0, (1/2)*span**2*u0,)


def cantilever_tip_slopes(force, span, rigidity):
    """Exact derivatives of cantilever_tip, output by output, input by input."""
    u0 = rigidity**(-1.0)
    u1 = (1/3)*span**3
    u2 = span**2
    u3 = u0*u2
    u4 = force/rigidity**2
    return (u0*u1, force*u3, -u1*u4, (1/2)*u3, force*span*u0, -1/2*u2*u4,)


def cantilever_shear(force, span, rigidity, shear_factor, shear_modulus, area):
    """Tip of a uniform cantilever with Timoshenko's shear correction."""
    delta_b = (1/3)*force*span**3/rigidity
    delta_s = force*span/(area*shear_factor*shear_modulus)
    return (delta_b + delta_s, delta_s/delta_b,)


def cantilever_shear_slopes(force, span, rigidity, shear_factor, shear_modulus, area):
    """Exact derivatives of cantilever_shear, output by output, input by input."""
    u0 = rigidity**(-1.0)
    u1 = (1/3)*span**3
    u2 = u0*u1
    d_delta_b_d_force = u2
    u3 = area**(-1.0)
    u4 = shear_factor**(-1.0)
    u5 = shear_modulus**(-1.0)
    u6 = u3*u4*u5
    u7 = span*u6
    d_delta_s_d_force = u7
    d_delta_b_d_span = force*span**2*u0
    d_delta_s_d_span = force*u6
    d_delta_b_d_rigidity = -force*u1/rigidity**2
    u8 = force*span*u3
    d_delta_s_d_shear_factor = -u5*u8/shear_factor**2
    d_delta_s_d_shear_modulus = -u4*u8/shear_modulus**2
    d_delta_s_d_area = -force*span*u4*u5/area**2
    delta_b = force*u2
    delta_s = force*u7
    u10 = delta_s/delta_b**2
    u9 = delta_b**(-1.0)
    return (d_delta_b_d_force + d_delta_s_d_force, d_delta_b_d_span + d_delta_s_d_span, d_delta_b_d_rigidity, d_delta_s_d_shear_factor, d_delta_s_d_shear_modulus, d_delta_s_d_area, -d_delta_b_d_force*u10 + d_delta_s_d_force*u9, -d_delta_b_d_span*u10 + d_delta_s_d_span*u9, -d_delta_b_d_rigidity*u10, d_delta_s_d_shear_factor*u9, d_delta_s_d_shear_modulus*u9, d_delta_s_d_area*u9,)


def tapered_tip(force, span, modulus, breadth, tip_depth, depth_ratio):
    """Tip deflection of a cantilever that tapers in depth toward its tip."""
    shape = (log(depth_ratio) - 3/2 + 2/depth_ratio - (1/2)/depth_ratio**2)/(depth_ratio - 1)**3
    return (12*force*shape*span**3/(breadth*modulus*tip_depth**3),)


def tapered_tip_slopes(force, span, modulus, breadth, tip_depth, depth_ratio):
    """Exact derivatives of tapered_tip, output by output, input by input."""
    u9 = span**3
    u10 = 12*u9
    u0 = depth_ratio - 1
    u1 = u0**(-3.0)
    u2 = depth_ratio**(-1.0)
    u3 = depth_ratio**(-2.0)
    u4 = 2*u2 - 1/2*u3 + log(depth_ratio) - 3/2
    shape = u1*u4
    u5 = breadth**(-1.0)
    u6 = modulus**(-1.0)
    u7 = tip_depth**(-3.0)
    u8 = shape*u5*u6*u7
    u11 = 36*force
    u12 = shape*u5
    u13 = force*u10*u7
    u14 = u13*u6
    d_shape_d_depth_ratio = u1*(u2 - 2*u3 + depth_ratio**(-3.0)) - 3*u4/u0**4
    return (u10*u8, span**2*u11*u8, -u12*u13/modulus**2, -shape*u14/breadth**2, -u11*u12*u6*u9/tip_depth**4, d_shape_d_depth_ratio*u14*u5,)


def cantilever_frequency(span, rigidity, line_mass):
    """First natural frequency of a uniform cantilever."""
    return (1758.00763425007*sqrt(rigidity/line_mass)/(pi*span**2),)


def cantilever_frequency_slopes(span, rigidity, line_mass):
    """Exact derivatives of cantilever_frequency, output by output, input by input."""
    u0 = line_mass**(-1.0)
    u1 = sqrt(rigidity*u0)/pi
    u2 = 879.003817125037*u1/span**2
    return (-3516.01526850015*u1/span**3, u2/rigidity, -u0*u2,)
