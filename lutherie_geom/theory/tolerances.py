"""Tolerances and readings of a gauge: the standard tolerance unit, its grades, and how well repeated readings are known.

A tolerance here is a width, from limit to limit: a grade of 0.16 mm is ± 0.08 mm about the middle.
"""

from __future__ import annotations

from typing import Any

from lutherie_geom.theory.relation import Builder, Quantity, Relation

_LOW = Quantity("size_low", "D_1", "mm", "lower end of the step of sizes", 1, 400)
_HIGH = Quantity("size_high", "D_2", "mm", "upper end of the step of sizes", 3, 500)
_MULTIPLE = Quantity("multiple", "m", "1", "tolerance units wide: 10 for grade 6, 16 for 7, then as preferred numbers", 7, 2500)
_I = Quantity("unit", "i", "mm", "standard tolerance unit", 1e-4, 0.005)
_WIDTH = Quantity("tolerance", "T", "mm", "width of the tolerance, from limit to limit", 0, 10)


def _unit(b: Builder) -> Any:
    size = b.step("D", b.sympy.sqrt(b.size_low * b.size_high), "D", "geometric mean of the step of sizes, in mm")
    return (b.sympy.Rational(45, 100) * b.sympy.cbrt(size) + size / 1000) / 1000


tolerance_unit = Relation(
    "tolerance_unit", "Standard tolerance unit i of a step of sizes (up to 500 mm)", (_LOW, _HIGH), (_I,), _unit, "tolerances",
    source="formula i [um] = 0.45 D^(1/3) + 0.001 D of ISO 286-1, read in a second-hand reproduction; the standard was not read",
    note="The root stands for the work's growing error, the straight part for that of measuring. The standard's table rounds.")


def _grade(b: Builder) -> Any:
    return b.multiple * b.use(tolerance_unit)


grade_tolerance = Relation(
    "grade_tolerance", "Width of a tolerance grade", (_LOW, _HIGH, _MULTIPLE), (_WIDTH,), _grade, "tolerances",
    source="multiples of the tolerance unit, ISO 286-1, read in a second-hand reproduction; the standard was not read")

_SYS = Quantity("systematic", "u_b", "mm", "standard uncertainty of what the gauge has wrong every time", 0, 1)
_SCATTER = Quantity("scatter", "s", "mm", "standard deviation of one reading about the next", 0, 1)
_STEP = Quantity("resolution", "q", "mm", "step of the gauge: what it can show", 0, 1)
_N = Quantity("readings", "n", "1", "how many times it is read", 1, 1000)
_U = Quantity("uncertainty", "u", "mm", "standard uncertainty of the mean of the readings", 0, 2)


def _mean(b: Builder) -> Any:
    return b.sympy.sqrt(b.systematic**2 + b.scatter**2 / b.readings + b.resolution**2 / 12)


mean_reading = Relation(
    "mean_reading", "Standard uncertainty of the mean of repeated readings", (_SYS, _SCATTER, _STEP, _N), (_U,), _mean,
    "tolerances", source="law of propagation; a step is rectangular; derived here",
    note="Only the scatter shrinks with more readings. The step is counted in full: a gauge that shows the same every time "
         "cannot average it away; where scatter carries readings over several steps this errs on the safe side.")

_PRIOR = Quantity("prior_mean", "y_0", "mm", "mean of the instruments as made", -5, 20)
_PRIOR_SD = Quantity("prior_sd", "u_0", "mm", "standard deviation of the instruments as made", 0.001, 5)
_READ = Quantity("measured", r"\eta", "mm", "mean of the readings", -5, 20)
_READ_SD = Quantity("measured_sd", "u", "mm", "standard uncertainty of that mean", 0.0005, 2)
_POST = Quantity("value", "y", "mm", "best guess of the true value", -5, 20)
_POST_SD = Quantity("value_sd", "u_y", "mm", "its standard uncertainty", 0, 2)


def _known(b: Builder) -> Any:
    total = b.step("S", b.prior_sd**2 + b.measured_sd**2, "S", "variance of what is read")
    return ((b.prior_mean * b.measured_sd**2 + b.measured * b.prior_sd**2) / total,
            b.prior_sd * b.measured_sd / b.sympy.sqrt(total))


true_value = Relation(
    "true_value", "What is known of a true value from readings and from how instruments usually come out",
    (_PRIOR, _PRIOR_SD, _READ, _READ_SD), (_POST, _POST_SD), _known, "tolerances",
    source="Bayes' rule for two normal distributions, derived here; JCGM 106 uses the same form, from memory")
