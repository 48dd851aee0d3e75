"""Fasteners: the geometry of a thread, its lead angle and its play, and the torque that turns a loaded screw.

Metric (ISO) and unified threads share the 60-degree profile, whose fundamental triangle is H = sqrt(3)/2 P high. The
standards themselves were not at hand: the formulas were read in second-hand reproductions, or are from memory and checked
against tabulated values (see ``tests/published/test_published_fasteners.py``, each value beside its source).
"""

from __future__ import annotations

import math
from typing import Any

from lutherie_geom.theory.relation import Builder, Quantity, Relation

_D = Quantity("diameter", "d", "mm", "nominal (major) diameter of the thread", 1, 20)
_P = Quantity("pitch", "P", "mm", "pitch of the thread", 0.2, 3)
_TPI = Quantity("tpi", "n", "1/in", "threads to the inch", 8, 80)
_D2 = Quantity("pitch_diameter", "d_2", "mm", "pitch diameter", 0.8, 20)
_D3 = Quantity("root_diameter", "d_3", "mm", "minor diameter of the screw, at the root", 0.5, 20)
_D1 = Quantity("bore_diameter", "D_1", "mm", "minor diameter of the nut thread: the bore before tapping", 0.5, 20)
_AS = Quantity("stress_area", "A_s", "mm^2", "tensile stress area", 0.3, 300)


def _metric(b: Builder) -> Any:
    height = b.step("height", b.sympy.sqrt(3) / 2 * b.pitch, "H", "height of the fundamental triangle")
    d2 = b.step("d_2", b.diameter - 3 * height / 4, "d_2", "pitch diameter")
    d3 = b.step("d_3", b.diameter - 17 * height / 12, "d_3", "root of the screw")
    d1 = b.step("D_1", b.diameter - 5 * height / 4, "D_1", "bore of the nut thread")
    return d2, d3, d1, b.sympy.pi / 4 * ((d2 + d3) / 2) ** 2


metric_thread = Relation(
    "metric_thread", "ISO metric thread from nominal diameter and pitch",
    (_D, _P), (_D2, _D3, _D1, _AS), _metric, "fasteners",
    source="ISO 724 and ISO 898-1 formulas, as reproduced second-hand; the standards were not read",
)


def _unified(b: Builder) -> Any:
    sp = b.sympy
    pitch = b.step("P", sp.Rational(127, 5) / b.tpi, "P", "an inch is 25.4 mm")
    d2 = b.step("d_2", b.diameter - 3 * sp.sqrt(3) / 8 * pitch, "d_2", "three quarters of the triangle's height less")
    return pitch, d2, sp.pi / 4 * (b.diameter - sp.Rational(9743, 10000) * pitch) ** 2


unified_thread = Relation(
    "unified_thread", "Unified (inch) thread from nominal diameter and threads to the inch",
    (_D, _TPI), (_P, _D2, _AS), _unified, "fasteners",
    source="ASME B1.1 formula At = pi/4 (d - 0.9743/n)^2, as reproduced second-hand; the standard was not read",
)

_STARTS = Quantity("starts", "i", "1", "number of starts: 1 for every ordinary screw", 1, 4)
_TAN = Quantity("tan_lead", r"\tan\lambda", "1", "tangent of the lead angle", 0, 0.3)


def _lead(b: Builder) -> Any:
    return b.starts * b.pitch / (b.sympy.pi * b.pitch_diameter)


lead_slope = Relation("lead_slope", "Tangent of the lead angle: rise of the thread over its way round",
                      (_P, _D2, _STARTS), (_TAN,), _lead, "fasteners", source="the thread unrolled is a wedge; derived here")

_NUT2 = Quantity("nut_pitch_diameter", "D_2", "mm", "pitch diameter of the nut thread", 0.8, 20)
_PLAY = Quantity("play", "j", "mm", "axial play of a screw that stands centred in its thread", 0, 0.5)


def _play(b: Builder) -> Any:
    return (b.nut_pitch_diameter - b.pitch_diameter) / b.sympy.sqrt(3)


axial_play = Relation("axial_play", "Axial play between screw and nut thread, flanks at 30 degrees",
                      (_NUT2, _D2), (_PLAY,), _play, "fasteners", source="geometry of the 60-degree profile; derived here",
                      note="Felt only while the load changes its sign: the strings keep the tilt screw on one flank.")

_F = Quantity("force", "F", "N", "force along the screw", 0, 50000)
_FLANK = Quantity("flank", r"\beta", "rad", "flank angle: 30 degrees for a metric or unified thread, 0 for a square one", 0,
                  math.pi / 5)
_MU = Quantity("friction", r"\mu", "1", "friction in the thread", 0, 0.5)
_MUH = Quantity("head_friction", r"\mu_h", "1", "friction under the head or collar", 0, 0.5)
_DH = Quantity("head_mean_diameter", "d_h", "mm", "mean diameter on which the head rubs", 0, 60)
_T = Quantity("torque", "T", "N mm", "torque at the key", -1e5, 1e5)
_TORQUE = (_F, _D2, _TAN, _FLANK, _MU, _DH, _MUH)


def _turning(sense: int) -> Any:
    def derive(b: Builder) -> Any:
        grip = b.step("grip", b.friction / b.sympy.cos(b.flank), r"\mu'", "the flanks wedge, so friction grips harder")
        thread = b.step("thread", b.force * b.pitch_diameter / 2 * (grip + sense * b.tan_lead) / (1 - sense * grip * b.tan_lead),
                        "T_t", "the wedge, unrolled")
        return thread + b.head_friction * b.force * b.head_mean_diameter / 2

    return derive


torque_against = Relation("torque_against", "Torque that turns a screw against its load (tightens, lifts)",
                          _TORQUE, (_T,), _turning(1), "fasteners",
                          source="wedge with friction, thread unrolled; textbook form, from memory")
torque_with = Relation("torque_with", "Torque that turns a screw with its load (slackens, lowers)",
                       _TORQUE, (_T,), _turning(-1), "fasteners",
                       source="wedge with friction, thread unrolled; textbook form, from memory",
                       note="Above zero the screw is self-locking; below zero the load turns it by itself.")

_K = Quantity("nut_factor", "K", "1", "nut factor: 0.15 oiled to 0.20 dry, with a scatter of a quarter either way", 0.1, 0.35)


def _rule(b: Builder) -> Any:
    return b.nut_factor * b.diameter * b.force


torque_rule = Relation("torque_rule", "Short rule for the tightening torque", (_K, _D, _F), (_T,), _rule, "fasteners",
                       source="T = K d F, read in a torque table of a web engineering page",
                       note="A rule of thumb: the scatter of friction is far larger than the rule's own error. "
                            "Scatter: common practice, no source.")

_SIGMA = Quantity("strength", r"\sigma", "MPa", "proof or tensile strength of the screw's class", 100, 1500)
_CAP = Quantity("load", "F_p", "N", "force along the screw at that strength", 0, 1e5)


def _load(b: Builder) -> Any:
    return b.stress_area * b.strength


screw_load = Relation("screw_load", "Load that a screw bears at a given strength", (_AS, _SIGMA), (_CAP,), _load, "fasteners",
                      source="definition of the stress area, as in the ISO 898-1 load tables (read in reproduction)")
