"""Written by ``python -m lutherie_geom.theory.write`` from the derivations in ``tongue_beam.py``; not to be edited."""

from numpy import arccos, arcsin, cos, log, pi, sin, sqrt, tanh

def crowned_board(breadth, board, sagitta, board_modulus):
    """A board with a crowned top as a part of a section."""
    u0 = board_modulus*breadth
    u1 = board**2
    u2 = sagitta**2
    return (u0*(board - 1/3*sagitta), (1/2)*u0*(-2/3*board*sagitta + u1 + (1/5)*u2), (1/3)*u0*(board**3 + (3/5)*board*u2 - 1/7*sagitta**3 - sagitta*u1),)


def crowned_board_slopes(breadth, board, sagitta, board_modulus):
    """Exact derivatives of crowned_board, output by output, input by input."""
    u0 = board - 1/3*sagitta
    u1 = board_modulus*breadth
    u2 = (1/3)*u1
    u3 = board**2
    u4 = sagitta**2
    u5 = (2/3)*sagitta
    u6 = -1/2*board*u5 + (1/2)*u3 + (1/10)*u4
    u7 = 2*board
    u8 = (1/2)*u1
    u9 = (3/5)*u4
    u10 = (1/3)*board**3 + (1/3)*board*u9 - 1/21*sagitta**3 - 1/3*sagitta*u3
    return (board_modulus*u0, u1, -u2, breadth*u0, board_modulus*u6, u8*(-u5 + u7), u8*(-2/3*board + (2/5)*sagitta), breadth*u6, board_modulus*u10, u2*(-sagitta*u7 + 3*u3 + u9), u2*((6/5)*board*sagitta - u3 - 3/7*u4), breadth*u10,)


def round_above(rod_diameter, glue_line):
    """The part of a round rod that lies in the board."""
    r = (1/2)*rod_diameter
    u1 = r**2
    u0 = glue_line**2
    u2 = -u1
    half = sqrt(-u0 - u2)
    u3 = glue_line*half
    u4 = glue_line/r
    u5 = r**4
    return (u1*arccos(u4) - u3, (2/3)*half**3, -1/4*u3*(2*u0 + u2) - 1/4*u5*arcsin(u4) + (1/8)*pi*u5,)


def round_above_slopes(rod_diameter, glue_line):
    """Exact derivatives of round_above, output by output, input by input."""
    r = (1/2)*rod_diameter
    u5 = glue_line/r
    u0 = glue_line**2
    u1 = r**2
    u6 = 1/sqrt(-u0/u1 + 1)
    u7 = glue_line*u6
    u2 = -u1
    u3 = sqrt(-u0 - u2)
    u4 = u3**(-1.0)
    d_half_d_rod_diameter = (1/2)*r*u4
    u8 = d_half_d_rod_diameter*glue_line
    half = u3
    d_half_d_glue_line = -glue_line*u4
    u9 = d_half_d_glue_line*glue_line
    u10 = 2*half**2
    u11 = r**3
    u12 = (1/4)*u11
    u13 = (1/2)*u0 + (1/4)*u2
    return (r*arccos(u5) + (1/2)*u7 - u8, -half - r*u6 - u9, d_half_d_rod_diameter*u10, d_half_d_glue_line*u10, (1/4)*glue_line*half*r + (1/8)*u1*u7 - 1/2*u11*arcsin(u5) + pi*u12 - u13*u8, -half*u0 - half*u13 - u12*u6 - u13*u9,)


def flat_rod(rod_width, rod_height):
    """Area and second moment of a flat rod."""
    return (rod_height*rod_width, (1/12)*rod_height**3*rod_width,)


def flat_rod_slopes(rod_width, rod_height):
    """Exact derivatives of flat_rod, output by output, input by input."""
    return (rod_height, rod_width, (1/12)*rod_height**3, (1/4)*rod_height**2*rod_width,)


def flat_above(rod_width, rod_height, glue_line):
    """The part of a flat rod that lies in the board."""
    return (rod_width*(-glue_line + (1/2)*rod_height), (1/2)*rod_width*(-glue_line**2 + (1/4)*rod_height**2), (1/3)*rod_width*(-glue_line**3 + (1/8)*rod_height**3),)


def flat_above_slopes(rod_width, rod_height, glue_line):
    """Exact derivatives of flat_above, output by output, input by input."""
    u0 = glue_line**2
    u1 = rod_height**2
    return (-glue_line + (1/2)*rod_height, (1/2)*rod_width, -rod_width, -1/2*u0 + (1/8)*u1, (1/4)*rod_height*rod_width, -glue_line*rod_width, -1/3*glue_line**3 + (1/24)*rod_height**3, (1/8)*rod_width*u1, -rod_width*u0,)


def rodded_section(breadth, board, sagitta, board_modulus, wood, neck_modulus, rods, rod_modulus, rod_middle, rod_area, rod_second, above_area, above_first, above_second):
    """Section of a tongue: crowned board, neck wood, rods across the glue line or beside it."""
    rods_axial = rods*(-above_area*board_modulus - neck_modulus*(-above_area + rod_area) + rod_area*rod_modulus)
    u0 = board_modulus*breadth
    wood_axial = breadth*neck_modulus*wood
    EA = rods_axial + u0*(board - 1/3*sagitta) + wood_axial
    off = above_first*rods*(-board_modulus + neck_modulus)
    u1 = board**2
    u2 = sagitta**2
    ES = off + rod_middle*rods_axial + (1/2)*u0*(-2/3*board*sagitta + u1 + (1/5)*u2) - 1/2*wood*wood_axial
    ybar = ES/EA
    own = rods*(-above_second*board_modulus - neck_modulus*(-above_second + rod_second) + rod_modulus*rod_second)
    return (EA, ybar, -EA*ybar**2 + 2*off*rod_middle + own + rod_middle**2*rods_axial + (1/3)*u0*(board**3 + (3/5)*board*u2 - 1/7*sagitta**3 - sagitta*u1) + (1/3)*wood**2*wood_axial,)


def rodded_section_slopes(breadth, board, sagitta, board_modulus, wood, neck_modulus, rods, rod_modulus, rod_middle, rod_area, rod_second, above_area, above_first, above_second):
    """Exact derivatives of rodded_section, output by output, input by input."""
    u6 = neck_modulus*wood
    d_wood_axial_d_breadth = u6
    u7 = board - 1/3*sagitta
    u8 = board_modulus*u7
    d_EA_d_breadth = d_wood_axial_d_breadth + u8
    u11 = board_modulus*breadth
    d_EA_d_board = u11
    d_EA_d_sagitta = -1/3*u11
    d_rods_axial_d_board_modulus = -above_area*rods
    d_EA_d_board_modulus = breadth*u7 + d_rods_axial_d_board_modulus
    d_wood_axial_d_wood = breadth*neck_modulus
    u0 = above_area - rod_area
    d_rods_axial_d_neck_modulus = rods*u0
    d_wood_axial_d_neck_modulus = breadth*wood
    d_EA_d_neck_modulus = d_rods_axial_d_neck_modulus + d_wood_axial_d_neck_modulus
    u1 = -above_area*board_modulus + neck_modulus*u0 + rod_area*rod_modulus
    d_rods_axial_d_rods = u1
    d_rods_axial_d_rod_modulus = rod_area*rods
    u17 = rods*(-neck_modulus + rod_modulus)
    d_rods_axial_d_rod_area = u17
    u2 = -board_modulus + neck_modulus
    u3 = rods*u2
    d_rods_axial_d_above_area = u3
    u12 = board**2
    u13 = sagitta**2
    u14 = (2/3)*sagitta
    u15 = -1/2*board*u14 + (1/2)*u12 + (1/10)*u13
    u19 = (1/2)*wood
    d_ES_d_breadth = board_modulus*u15 - d_wood_axial_d_breadth*u19
    rods_axial = rods*u1
    wood_axial = breadth*u6
    EA = breadth*u8 + rods_axial + wood_axial
    u16 = EA**(-1.0)
    off = above_first*u3
    u10 = (1/2)*wood_axial
    u9 = rod_middle*rods_axial
    ES = off - u10*wood + u11*u15 + u9
    u22 = ES/EA**2
    d_ybar_d_breadth = -d_EA_d_breadth*u22 + d_ES_d_breadth*u16
    u20 = 2*board
    u21 = (1/2)*u11
    d_ES_d_board = u21*(-u14 + u20)
    d_ybar_d_board = -d_EA_d_board*u22 + d_ES_d_board*u16
    d_ES_d_sagitta = u21*(-2/3*board + (2/5)*sagitta)
    d_ybar_d_sagitta = -d_EA_d_sagitta*u22 + d_ES_d_sagitta*u16
    u18 = above_first*rods
    d_off_d_board_modulus = -u18
    d_ES_d_board_modulus = breadth*u15 + d_off_d_board_modulus + d_rods_axial_d_board_modulus*rod_middle
    d_ybar_d_board_modulus = -d_EA_d_board_modulus*u22 + d_ES_d_board_modulus*u16
    d_ES_d_wood = -d_wood_axial_d_wood*u19 - u10
    d_ybar_d_wood = d_ES_d_wood*u16 - d_wood_axial_d_wood*u22
    d_off_d_neck_modulus = u18
    d_ES_d_neck_modulus = d_off_d_neck_modulus + d_rods_axial_d_neck_modulus*rod_middle - d_wood_axial_d_neck_modulus*u19
    d_ybar_d_neck_modulus = -d_EA_d_neck_modulus*u22 + d_ES_d_neck_modulus*u16
    d_off_d_rods = above_first*u2
    d_ES_d_rods = d_off_d_rods + d_rods_axial_d_rods*rod_middle
    d_ybar_d_rods = d_ES_d_rods*u16 - d_rods_axial_d_rods*u22
    d_ES_d_rod_modulus = d_rods_axial_d_rod_modulus*rod_middle
    d_ybar_d_rod_modulus = d_ES_d_rod_modulus*u16 - d_rods_axial_d_rod_modulus*u22
    d_ybar_d_rod_middle = rods_axial*u16
    d_ES_d_rod_area = d_rods_axial_d_rod_area*rod_middle
    d_ybar_d_rod_area = d_ES_d_rod_area*u16 - d_rods_axial_d_rod_area*u22
    d_ES_d_above_area = d_rods_axial_d_above_area*rod_middle
    d_ybar_d_above_area = d_ES_d_above_area*u16 - d_rods_axial_d_above_area*u22
    d_off_d_above_first = u3
    d_ybar_d_above_first = d_off_d_above_first*u16
    ybar = ES*u16
    u23 = ybar**2
    u24 = (3/5)*u13
    u25 = board**3 + board*u24 - 1/7*sagitta**3 - sagitta*u12
    u26 = wood**2
    u27 = 2*EA*ybar
    d_own_d_board_modulus = -above_second*rods
    u28 = rod_middle**2
    u29 = 2*rod_middle
    u4 = above_second - rod_second
    d_own_d_neck_modulus = rods*u4
    u5 = -above_second*board_modulus + neck_modulus*u4 + rod_modulus*rod_second
    d_own_d_rods = u5
    d_own_d_rod_modulus = rod_second*rods
    d_own_d_rod_second = u17
    d_own_d_above_second = u3
    return (d_EA_d_breadth, d_EA_d_board, d_EA_d_sagitta, d_EA_d_board_modulus, d_wood_axial_d_wood, d_EA_d_neck_modulus, d_rods_axial_d_rods, d_rods_axial_d_rod_modulus, 0, d_rods_axial_d_rod_area, 0, d_rods_axial_d_above_area, 0, 0, d_ybar_d_breadth, d_ybar_d_board, d_ybar_d_sagitta, d_ybar_d_board_modulus, d_ybar_d_wood, d_ybar_d_neck_modulus, d_ybar_d_rods, d_ybar_d_rod_modulus, d_ybar_d_rod_middle, d_ybar_d_rod_area, 0, d_ybar_d_above_area, d_ybar_d_above_first, 0, (1/3)*board_modulus*u25 - d_EA_d_breadth*u23 + (1/3)*d_wood_axial_d_breadth*u26 - d_ybar_d_breadth*u27, (1/3)*board_modulus*breadth*(-sagitta*u20 + 3*u12 + u24) - d_EA_d_board*u23 - d_ybar_d_board*u27, (1/3)*board_modulus*breadth*((6/5)*board*sagitta - u12 - 3/7*u13) - d_EA_d_sagitta*u23 - d_ybar_d_sagitta*u27, (1/3)*breadth*u25 - d_EA_d_board_modulus*u23 + d_off_d_board_modulus*u29 + d_own_d_board_modulus + d_rods_axial_d_board_modulus*u28 - d_ybar_d_board_modulus*u27, -d_wood_axial_d_wood*u23 + (1/3)*d_wood_axial_d_wood*u26 - d_ybar_d_wood*u27 + (2/3)*wood*wood_axial, -d_EA_d_neck_modulus*u23 + d_off_d_neck_modulus*u29 + d_own_d_neck_modulus + d_rods_axial_d_neck_modulus*u28 + (1/3)*d_wood_axial_d_neck_modulus*u26 - d_ybar_d_neck_modulus*u27, d_off_d_rods*u29 + d_own_d_rods - d_rods_axial_d_rods*u23 + d_rods_axial_d_rods*u28 - d_ybar_d_rods*u27, d_own_d_rod_modulus - d_rods_axial_d_rod_modulus*u23 + d_rods_axial_d_rod_modulus*u28 - d_ybar_d_rod_modulus*u27, -d_ybar_d_rod_middle*u27 + 2*off + 2*u9, -d_rods_axial_d_rod_area*u23 + d_rods_axial_d_rod_area*u28 - d_ybar_d_rod_area*u27, d_own_d_rod_second, -d_rods_axial_d_above_area*u23 + d_rods_axial_d_above_area*u28 - d_ybar_d_above_area*u27, 2*d_off_d_above_first*rod_middle - d_ybar_d_above_first*u27, d_own_d_above_second,)


def slot_dead_zone(slot_depth, slot_width, depth, modulus, across_modulus, shear_modulus, poisson):
    """How far a saw cut across a beam deadens the wood beside it, both sides together."""
    part = slot_depth/depth
    u0 = across_modulus/modulus
    release = (1/2)*sqrt(2)*sqrt(modulus/across_modulus)*sqrt((1/2)*across_modulus/shear_modulus - poisson*u0 + sqrt(u0))
    summed = part**2*(part*(part*(part*(part*(part*(part*(part*((98/5)*part - 3052/75) + 58801/1250) - 288691/8750) + 1217689/60000) - 155861/15625) + 460213/100000) - 1309/1250) + 314721/500000)
    return (6*pi*depth*release*summed/(-1 + (1 - part)**(-3.0)) + slot_width,)


def slot_dead_zone_slopes(slot_depth, slot_width, depth, modulus, across_modulus, shear_modulus, poisson):
    """Exact derivatives of slot_dead_zone, output by output, input by input."""
    u9 = depth**(-1.0)
    d_part_d_slot_depth = u9
    part = slot_depth*u9
    u10 = part**2
    u11 = part*((98/5)*part - 3052/75) + 58801/1250
    u12 = part*u11 - 288691/8750
    u13 = part*u12 + 1217689/60000
    u14 = part*u13 - 155861/15625
    u15 = part*u14 + 460213/100000
    u16 = part*u15 - 1309/1250
    u17 = part*u16 + 314721/500000
    u23 = 2*part*u17 + u10*(part*(part*(part*(part*(part*(part*((196/5)*part - 3052/75) + u11) + u12) + u13) + u14) + u15) + u16)
    d_summed_d_slot_depth = d_part_d_slot_depth*u23
    u0 = modulus**(-1.0)
    u1 = across_modulus*u0
    u2 = sqrt(u1)
    u3 = shear_modulus**(-1.0)
    u4 = (1/2)*across_modulus
    u5 = sqrt(-poisson*u1 + u2 + u3*u4)
    u6 = across_modulus**(-1.0)
    u7 = sqrt(2)*sqrt(modulus*u6)
    u8 = (1/2)*u7
    release = u5*u8
    u24 = 1 - part
    u25 = -1 + u24**(-3.0)
    u26 = u25**(-1.0)
    summed = u10*u17
    u27 = pi*release*summed
    u28 = 18*depth*u27/(u24**4*u25**2)
    d_part_d_depth = -slot_depth/depth**2
    d_summed_d_depth = d_part_d_depth*u23
    u29 = 6*u26
    u30 = pi*depth*u29
    u18 = (1/4)*u2
    u19 = u5**(-1.0)
    u20 = u19*u8
    u21 = (1/4)*u7
    u22 = u21*u5
    d_release_d_modulus = u0*u22 + u20*(-u0*u18 + poisson*u4/modulus**2)
    u31 = summed*u30
    d_release_d_across_modulus = u20*(-1/2*poisson*u0 + u18*u6 + (1/4)*u3) - u22*u6
    d_release_d_shear_modulus = -1/8*across_modulus*u19*u7/shear_modulus**2
    d_release_d_poisson = -u1*u19*u21
    return (-d_part_d_slot_depth*u28 + 6*pi*d_summed_d_slot_depth*depth*release*u26, 1, -d_part_d_depth*u28 + d_summed_d_depth*release*u30 + u27*u29, d_release_d_modulus*u31, d_release_d_across_modulus*u31, d_release_d_shear_modulus*u31, d_release_d_poisson*u31,)


def cut_part(dead_zone, spacing):
    """Part of a slotted beam that counts as cut."""
    return (tanh(dead_zone/spacing),)


def cut_part_slopes(dead_zone, spacing):
    """Exact derivatives of cut_part, output by output, input by input."""
    u0 = spacing**(-1.0)
    u1 = 1 - tanh(dead_zone*u0)**2
    return (u0*u1, -dead_zone*u1/spacing**2,)


def slotted_rigidity(whole, cut, cut_part):
    """Bending stiffness of a beam that is cut over a part of its length."""
    return (((1 - cut_part)/whole + cut_part/cut)**(-1.0),)


def slotted_rigidity_slopes(whole, cut, cut_part):
    """Exact derivatives of slotted_rigidity, output by output, input by input."""
    u2 = 1 - cut_part
    u0 = cut**(-1.0)
    u1 = whole**(-1.0)
    u3 = (cut_part*u0 + u1*u2)**(-2.0)
    return (u2*u3/whole**2, cut_part*u3/cut**2, u3*(-u0 + u1),)


def span_for_shear(modulus, shear_modulus, shear_factor, added):
    """Span, in depths, below which shear adds more than a given part."""
    return ((1/2)*sqrt(modulus/(added*shear_factor*shear_modulus)),)


def span_for_shear_slopes(modulus, shear_modulus, shear_factor, added):
    """Exact derivatives of span_for_shear, output by output, input by input."""
    u0 = added**(-1.0)
    u1 = shear_factor**(-1.0)
    u2 = shear_modulus**(-1.0)
    u3 = (1/4)*sqrt(modulus*u0*u1*u2)
    return (u3/modulus, -u2*u3, -u1*u3, -u0*u3,)


def rectangle_torsion(long_side, short_side):
    """Torsion constant of a rectangle."""
    ratio = short_side/long_side
    u0 = pi/ratio
    return (long_side*short_side**3*(-64*ratio*(tanh((1/2)*u0) + (1/243)*tanh((3/2)*u0) + (1/3125)*tanh((5/2)*u0))/pi**5 + 1/3),)


def rectangle_torsion_slopes(long_side, short_side):
    """Exact derivatives of rectangle_torsion, output by output, input by input."""
    d_ratio_d_long_side = -short_side/long_side**2
    u1 = short_side**3
    u0 = long_side**(-1.0)
    ratio = short_side*u0
    u2 = pi/ratio
    u3 = tanh((3/2)*u2)
    u4 = tanh((5/2)*u2)
    u5 = tanh((1/2)*u2)
    u6 = 64/pi**5
    u7 = u6*((1/243)*u3 + (1/3125)*u4 + u5)
    u9 = pi/ratio**2
    u10 = long_side*u1*(-ratio*u6*(-1/162*u9*(1 - u3**2) - 1/1250*u9*(1 - u4**2) - 1/2*u9*(1 - u5**2)) - u7)
    u8 = -ratio*u7 + 1/3
    d_ratio_d_short_side = u0
    return (d_ratio_d_long_side*u10 + u1*u8, d_ratio_d_short_side*u10 + 3*long_side*short_side**2*u8,)


def stiffness_gain(stiffness_with, stiffness_without):
    """What an addition brings to a stiffness."""
    return (stiffness_with/stiffness_without - 1,)


def stiffness_gain_slopes(stiffness_with, stiffness_without):
    """Exact derivatives of stiffness_gain, output by output, input by input."""
    return (stiffness_without**(-1.0), -stiffness_with/stiffness_without**2,)


def rayleigh_frequency(stiffness, line_mass, span):
    """First natural frequency from a shape of bending."""
    return (500*sqrt(stiffness/(line_mass*span))/pi,)


def rayleigh_frequency_slopes(stiffness, line_mass, span):
    """Exact derivatives of rayleigh_frequency, output by output, input by input."""
    u0 = line_mass**(-1.0)
    u1 = span**(-1.0)
    u2 = 250*sqrt(stiffness*u0*u1)/pi
    return (u2/stiffness, -u0*u2, -u1*u2,)


def note_number(frequency):
    """A frequency as a note, in semitones."""
    return (12*log((1/440)*frequency)/log(2) + 69,)


def note_number_slopes(frequency):
    """Exact derivatives of note_number, output by output, input by input."""
    return (12/(frequency*log(2)),)


def half_ellipse(half_breadth, depth):
    """Section of a rounded neck: half an ellipse under a flat face."""
    u0 = pi**(-1.0)
    return ((1/2)*pi*depth*half_breadth, (4/3)*depth*u0, depth**3*half_breadth*(-8/9*u0 + (1/8)*pi),)


def half_ellipse_slopes(half_breadth, depth):
    """Exact derivatives of half_ellipse, output by output, input by input."""
    u0 = (1/2)*pi
    u1 = pi**(-1.0)
    u2 = -8/9*u1 + (1/8)*pi
    return (depth*u0, half_breadth*u0, 0, (4/3)*u1, depth**3*u2, 3*depth**2*half_breadth*u2,)


def neck_section(breadth, board, sagitta, board_modulus, depth, neck_modulus, truss_width, truss_depth):
    """Section of a neck: rounded wood under a crowned board, the truss rod's slot empty."""
    u0 = board_modulus*breadth
    EA = neck_modulus*((1/4)*pi*breadth*depth - truss_depth*truss_width) + u0*(board - 1/3*sagitta)
    u1 = board**2
    u2 = sagitta**2
    ybar = (-neck_modulus*((1/3)*breadth*depth**2 - 1/2*truss_depth**2*truss_width) + (1/2)*u0*(-2/3*board*sagitta + u1 + (1/5)*u2))/EA
    u3 = pi**(-1.0)
    u4 = breadth*depth**3
    return (EA, ybar, -EA*ybar**2 + neck_modulus*(-1/3*truss_depth**3*truss_width + (4/9)*u3*u4 + (1/2)*u4*(-8/9*u3 + (1/8)*pi)) + (1/3)*u0*(board**3 + (3/5)*board*u2 - 1/7*sagitta**3 - sagitta*u1),)


def neck_section_slopes(breadth, board, sagitta, board_modulus, depth, neck_modulus, truss_width, truss_depth):
    """Exact derivatives of neck_section, output by output, input by input."""
    u2 = (1/4)*pi
    u18 = neck_modulus*u2
    u4 = board - 1/3*sagitta
    u5 = board_modulus*u4
    d_EA_d_breadth = depth*u18 + u5
    u12 = board_modulus*breadth
    d_EA_d_board = u12
    d_EA_d_sagitta = -1/3*u12
    d_EA_d_board_modulus = breadth*u4
    d_EA_d_depth = breadth*u18
    u0 = truss_depth*truss_width
    u1 = breadth*depth
    u3 = -u0 + u1*u2
    d_EA_d_neck_modulus = u3
    d_EA_d_truss_width = -neck_modulus*truss_depth
    u19 = neck_modulus*truss_width
    d_EA_d_truss_depth = -u19
    u9 = depth**2
    u10 = (1/3)*u9
    u13 = board**2
    u14 = sagitta**2
    u15 = (2/3)*sagitta
    u16 = -1/2*board*u15 + (1/2)*u13 + (1/10)*u14
    EA = breadth*u5 + neck_modulus*u3
    u7 = truss_depth**2
    u8 = (1/2)*u7
    u11 = breadth*u10 - truss_width*u8
    u17 = -neck_modulus*u11 + u12*u16
    u20 = u17/EA**2
    u6 = EA**(-1.0)
    d_ybar_d_breadth = -d_EA_d_breadth*u20 + u6*(board_modulus*u16 - neck_modulus*u10)
    u21 = 2*board
    u22 = (1/2)*u12*u6
    d_ybar_d_board = -d_EA_d_board*u20 + u22*(-u15 + u21)
    d_ybar_d_sagitta = -d_EA_d_sagitta*u20 + u22*(-2/3*board + (2/5)*sagitta)
    d_ybar_d_board_modulus = breadth*u16*u6 - d_EA_d_board_modulus*u20
    u23 = neck_modulus*u6
    d_ybar_d_depth = -d_EA_d_depth*u20 - 2/3*u1*u23
    d_ybar_d_neck_modulus = -d_EA_d_neck_modulus*u20 - u11*u6
    d_ybar_d_truss_width = -d_EA_d_truss_width*u20 + u23*u8
    d_ybar_d_truss_depth = -d_EA_d_truss_depth*u20 + u0*u23
    ybar = u17*u6
    u24 = ybar**2
    u25 = depth**3
    u26 = pi**(-1.0)
    u27 = -8/9*u26 + (1/8)*pi
    u28 = (3/5)*u14
    u29 = board**3 + board*u28 - 1/7*sagitta**3 - sagitta*u13
    u30 = 2*EA*ybar
    u31 = breadth*u9
    u32 = (1/3)*truss_depth**3
    return (d_EA_d_breadth, d_EA_d_board, d_EA_d_sagitta, d_EA_d_board_modulus, d_EA_d_depth, d_EA_d_neck_modulus, d_EA_d_truss_width, d_EA_d_truss_depth, d_ybar_d_breadth, d_ybar_d_board, d_ybar_d_sagitta, d_ybar_d_board_modulus, d_ybar_d_depth, d_ybar_d_neck_modulus, d_ybar_d_truss_width, d_ybar_d_truss_depth, (1/3)*board_modulus*u29 - d_EA_d_breadth*u24 - d_ybar_d_breadth*u30 + neck_modulus*((4/9)*u25*u26 + (1/2)*u25*u27), (1/3)*board_modulus*breadth*(-sagitta*u21 + 3*u13 + u28) - d_EA_d_board*u24 - d_ybar_d_board*u30, (1/3)*board_modulus*breadth*((6/5)*board*sagitta - u13 - 3/7*u14) - d_EA_d_sagitta*u24 - d_ybar_d_sagitta*u30, (1/3)*breadth*u29 - d_EA_d_board_modulus*u24 - d_ybar_d_board_modulus*u30, -d_EA_d_depth*u24 - d_ybar_d_depth*u30 + neck_modulus*((4/3)*u26*u31 + (3/2)*u27*u31), (4/9)*breadth*u25*u26 + (1/2)*breadth*u25*u27 - d_EA_d_neck_modulus*u24 - d_ybar_d_neck_modulus*u30 - truss_width*u32, -d_EA_d_truss_width*u24 - d_ybar_d_truss_width*u30 - neck_modulus*u32, -d_EA_d_truss_depth*u24 - d_ybar_d_truss_depth*u30 - u19*u7,)


def eccentric_bow(pull, offset, span, rigidity):
    """Relief of a uniform neck under a pull beside its axis."""
    k = sqrt(pull/rigidity)
    return (offset*(-1 + cos((1/2)*k*span)**(-1.0)),)


def eccentric_bow_slopes(pull, offset, span, rigidity):
    """Exact derivatives of eccentric_bow, output by output, input by input."""
    u0 = rigidity**(-1.0)
    u1 = sqrt(pull*u0)
    u2 = (1/2)*u1
    d_k_d_pull = u2/pull
    k = u1
    u3 = (1/2)*k
    u4 = span*u3
    u5 = cos(u4)
    u6 = offset*sin(u4)/u5**2
    u7 = (1/2)*span*u6
    d_k_d_rigidity = -u0*u2
    return (d_k_d_pull*u7, -1 + u5**(-1.0), u3*u6, d_k_d_rigidity*u7,)
