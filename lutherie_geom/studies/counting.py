"""How many must be built before a claim about a share of them is justified.

Of n joints built, k were in the window. What share of all joints that would ever be built so is in the window? Two answers
are in use: the exact interval of Clopper and Pearson, which holds at least as often as it says, and that of Wilson, shorter,
which holds so often on average and may fall short by a few in a hundred. For a promise to a customer take the exact one.
"""

from __future__ import annotations

from numbers import Real
from typing import Any, Literal

from scipy.stats import binom, binomtest

from lutherie_geom.studies.sampling import whole

__all__ = ["METHODS", "chance", "interval", "justified", "least_share", "prototypes"]

METHODS = ("exact", "wilson")
MOST = 10**7  # joints


def _between(name: str, value: Any, example: str) -> float:
    if isinstance(value, bool) or not isinstance(value, Real) or not 0 < float(value) < 1:
        raise ValueError(f"{name} is {value!r}: give a number between 0 and 1, both left out; {example}")
    return float(value)


def _method(method: Any) -> Literal["exact", "wilson"]:
    if method not in METHODS:
        raise ValueError(f"method is {method!r}: give 'exact' (Clopper-Pearson) or 'wilson'")
    return "exact" if method == "exact" else "wilson"


def _confidence(confidence: Any) -> float:
    return _between("confidence", confidence, "0.95 to be right 95 times in 100")


def interval(inside: int, built: int, confidence: float = 0.95, method: str = "exact") -> tuple[float, float]:
    """Share [-] of all joints, from and to, when ``inside`` of ``built`` [joints] were in the window. Two-sided."""
    built = whole("built", built, 1, MOST)
    inside = whole("inside", inside, 0, built)
    found = binomtest(inside, built).proportion_ci(_confidence(confidence), _method(method))
    return float(found.low), float(found.high)


def least_share(inside: int, built: int, confidence: float = 0.95, method: str = "exact") -> float:
    """The share [-] of all joints that is at least in the window, when ``inside`` of ``built`` were. One-sided."""
    built = whole("built", built, 1, MOST)
    inside = whole("inside", inside, 0, built)
    return float(binomtest(inside, built, alternative="greater").proportion_ci(_confidence(confidence), _method(method)).low)


def justified(inside: int, built: int, share: float, confidence: float = 0.95, method: str = "exact") -> bool:
    """Whether "at least the ``share`` [-] is in the window" is justified when ``inside`` of ``built`` were."""
    return least_share(inside, built, confidence, method) >= _between("share", share, "0.95 for 19 in 20")


def prototypes(share: float, confidence: float = 0.95, outside: int = 0, method: str = "exact") -> int:
    """The smallest number of joints to build for the claim "at least the ``share`` [-] is in the window".

    It is justified if no more than ``outside`` of them are out of it. Say beforehand how many may be: to build on until the
    claim comes true is to throw the dice until they fall well. ``prototypes(19 / 20)`` is 59.
    """
    share = _between("share", share, "0.95 for 19 in 20")
    outside = whole("outside", outside, 0, MOST)

    def enough(built: int) -> bool:
        return justified(built - outside, built, share, confidence, method)

    low, high = outside, outside + 1
    while not enough(high):  # more built with as many outside is never worse: double, then halve
        low, high = high, 2 * high
        if high > MOST:
            raise ValueError(f"share is {share!r} at confidence {confidence!r}: more than {MOST} joints would have to be built")
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if enough(middle) else (middle, high)
    return high


def chance(share: float, built: int, outside: int = 0) -> float:
    """Chance [-] that no more than ``outside`` of ``built`` joints are out of the window, when the ``share`` [-] truly is in it.

    What a series of prototypes risks: of joints that are right 99 times in 100, 59 built without a miss come about 55
    times in 100.
    """
    built = whole("built", built, 1, MOST)
    return float(binom.cdf(whole("outside", outside, 0, built), built, 1 - _between("share", share, "0.95 for 19 in 20")))
