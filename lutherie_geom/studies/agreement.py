"""Whether root-sum-square agrees with the interval that was counted.

Judged as JCGM 101 clause 8 does (from memory): both ends must agree within half a unit of the standard uncertainty's last
significant digit. One digit is taken, and never less than 0.005 mm: hundredths at the bench. Where the sample does not tell an
end of the interval, it does not tell whether they agree.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from lutherie_geom.studies.digits import NOT_KNOWN, stable_pair

__all__ = ["AGREE", "agreement", "numerical_tolerance", "tolerance_of"]

AGREE = {True: "yes", False: "no", None: "unknown"}
FINEST = 0.005
"""Half of the last digit that is printed [mm]: what differs by less is the same at the bench."""


def tolerance_of(standard: float) -> float:
    """What may lie between two ends that agree [mm], from a standard uncertainty [mm]."""
    return max(numerical_tolerance(standard), FINEST)


def agreement(counted: Any, error: Any, straight: Any, tolerance: float) -> bool | None:
    """Whether two intervals agree at both ends within the ``tolerance``, all [mm]; None where the count's ``error`` leaves no
    digit of an end, or there is no straight one."""
    if NOT_KNOWN in stable_pair(counted, error) or np.isnan(straight).any():
        return None
    return bool(np.all(np.abs(np.subtract(counted, straight)) <= tolerance + 1e-9))


def numerical_tolerance(standard: float, digits: int = 1) -> float:
    """Half a unit of the last of so many significant ``digits`` of a standard uncertainty [its unit] (JCGM 101, from memory)."""
    if not standard >= 0 or math.isinf(standard):
        raise ValueError(f"standard uncertainty is {standard!r}: give a finite number of 0 or more")
    return 0.0 if standard == 0 else 0.5 * 10.0 ** (math.floor(math.log10(standard)) - digits + 1)
