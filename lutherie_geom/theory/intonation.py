"""Intonation: what the pose does to lengths and so to pitch, fretted and open.

The fretted string is two straight pieces, nut to crown and crown to saddle; pressing it lengthens it, and its tension
rises by Hooke's law. The frequency follows from Mersenne's law. Left out: bending stiffness, the string's own dip
between frets, and the finger's push behind the fret.
"""

from __future__ import annotations

from typing import Any

from lutherie_geom.theory.relation import Builder, Quantity, Relation

_EA = Quantity("stiffness", "EA", "N", "axial stiffness of the string's core", 1e3, 1e6)
_T = Quantity("tension", "T", "N", "tension of the open string", 20, 250)
_FREE = Quantity("free_length", r"\ell_f", "mm", "string beyond nut and saddle that stretches too", 0, 400)
_CENTS = Quantity("cents", "c", "cent", "pitch against equal temperament on the open string", -100, 100)
_SEMI = Quantity("semitones", "n", "1", "fret number, semitones above the open string", 0, 24)
_VIB = Quantity("vibrating", r"\ell_n", "mm", "length from the fret's crown to the saddle", 100, 800)
_BEHIND = Quantity("behind", r"\ell_b", "mm", "length from the nut to the fret's crown", 0, 700)
_L0 = Quantity("open_length", r"\ell_0", "mm", "length of the open string, nut to saddle", 400, 800)
_L1 = Quantity("new_length", r"\ell_1", "mm", "length of the open string after the screw was turned", 400, 800)


def _fretted(b: Builder) -> Any:
    sp = b.sympy
    stretch = b.step("stretch", b.vibrating + b.behind - b.open_length, r"\Delta\ell", "fretting lengthens the string")
    strain = b.step("strain", stretch / (b.open_length + b.free_length), r"\varepsilon",
                    "shared by the whole length that can slide at nut and saddle")
    rise = b.step("rise", b.stiffness * strain / b.tension, r"\Delta T / T", "Hooke")
    # Tension up, mass per length down to 1 / (1 + strain): both raise the pitch. A plain log is good to 1e-12 cent here.
    octave = sp.log(b.open_length / b.vibrating * sp.sqrt((1 + rise) * (1 + strain))) / sp.log(2)
    return 1200 * octave - 100 * b.semitones


fretted_cents = Relation(
    "fretted_cents", "Error of a fretted note against equal temperament on its own open string",
    (_SEMI, _L0, _VIB, _BEHIND, _FREE, _EA, _T), (_CENTS,), _fretted, "intonation",
    source="Mersenne's law f = sqrt(T / mu) / (2 l), Hooke's law; derived here",
    note="The linear density falls by the strain, to mu / (1 + strain), which raises the pitch a little more.",
)


def _drift(b: Builder) -> Any:
    sp = b.sympy
    strain = b.step("strain", (b.new_length - b.open_length) / (b.open_length + b.free_length), r"\varepsilon",
                    "the tuner is left alone")
    rise = b.step("rise", b.stiffness * strain / b.tension, r"\Delta T / T", "Hooke")
    octave = sp.log(b.open_length / b.new_length * sp.sqrt((1 + rise) * (1 + strain))) / sp.log(2)
    return 1200 * octave


pitch_drift = Relation(
    "pitch_drift", "Drift of an untouched open string while a screw is turned",
    (_L0, _L1, _FREE, _EA, _T), (_CENTS,), _drift, "intonation",
    source="Mersenne's law f = sqrt(T / mu) / (2 l), Hooke's law; derived here",
)

_MU = Quantity("mass", r"\mu", "kg/m", "mass of the string per metre", 1e-4, 2e-2)
_FREQ = Quantity("frequency", "f", "Hz", "frequency of the open string", 20, 2000)
_LM = Quantity("length", r"\ell", "mm", "sounding length", 400, 800)
_TT = Quantity("pull", "T", "N", "tension of the string", 20, 250)


def _tension(b: Builder) -> Any:
    return b.mass * (2 * b.length / 1000 * b.frequency) ** 2


string_tension = Relation("string_tension", "Tension of a string from its mass, length and pitch", (_MU, _LM, _FREQ), (_TT,),
                          _tension, "intonation", source="Mersenne's law, T = mu (2 l f)^2")

_UP = Quantity("half_tones", "n", "1", "half tones up, below zero: down", -36, 24)
_TIMES = Quantity("ratio", r"f' / f", "1", "new frequency over the old one")


def _up(b: Builder) -> Any:
    return 2 ** (b.half_tones / 12)


pitch_ratio = Relation("pitch_ratio", "Frequency over the old one, so many half tones up", (_UP,), (_TIMES,), _up, "intonation",
                       source="equal temperament")

_DS = Quantity("diameter", "D", "mm", "diameter of the whole string", 0.5, 1.6)
_DK = Quantity("core_diameter", "d", "mm", "diameter of the core; of a plain string its own", 0.2, 0.5)
_RK = Quantity("core_density", r"\rho_c", "kg/m^3", "density of the core", 1000, 9000)
_RW = Quantity("wrap_density", r"\rho_w", "kg/m^3", "density of the wrap", 1000, 9000)


def _mass(b: Builder) -> Any:
    sp = b.sympy
    wire = b.step("wire", (b.diameter - b.core_diameter) / 2, "w", "the wrap's wire, one layer")
    turn = b.step("turn", sp.sqrt((sp.pi * (b.core_diameter + wire)) ** 2 + wire**2), r"\ell_w",
                  "length of one turn of the helix, which advances by one wire")
    wrap = b.step("wrap", sp.pi / 4 * wire * turn, "A_w", "wire in one turn, over that advance: area that the wrap comes to")
    return (b.core_density * sp.pi / 4 * b.core_diameter**2 + b.wrap_density * wrap) * sp.Rational(1, 10**6)


string_mass = Relation("string_mass", "Mass of a plain or wound string from its sizes", (_DS, _DK, _RK, _RW), (_MU,), _mass,
                       "intonation", source="round wire in touching turns round a round core; derived here",
                       note="A wrap that is polished flat, stretched in the winding or sunk into the corners of a six-sided core "
                            "weighs a little else: weigh a metre.")
