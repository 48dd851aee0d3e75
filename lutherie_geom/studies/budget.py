"""The travel budget: what build tolerance, seasons, years and taste each take of the tilt screw's travel, and what is left.

    >>> import lutherie_geom as lg
    >>> from lutherie_geom.studies.budget import budget
    >>> print(budget(lg.load("slack_water")))     # doctest: +SKIP

Every instrument of a sample is built with the tolerances; its screw is set so that the mean action is as designed, and its stops
lie where its own sizes put them. A player's taste, a year's seasons and the years come on top. Turns as everywhere: positive
raises the action.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from lutherie_geom.design.lines import folded
from lutherie_geom.joint.coupling import action_slopes, turns_for
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.reading import Verdict, at_least
from lutherie_geom.joint.strings import action
from lutherie_geom.joint.travel import Travel, travel
from lutherie_geom.mechanics.climate import ClimateError
from lutherie_geom.mechanics.seasons import Seasons, year
from lutherie_geom.mechanics.years import Ageing, ageing, first_passing
from lutherie_geom.studies.counting import interval
from lutherie_geom.studies.gradients import Exact, floor_least, gap_least, reveal_least
from lutherie_geom.studies.second_order import AsBuilt
from lutherie_geom.studies.spreads import Spreads
from lutherie_geom.studies.usual import usual

__all__ = ["LEFT_OUT", "Share", "TravelBudget", "budget", "build_share", "travel_budget"]

Array = Any  # a float or a numpy array of floats

ROOM = 0.25
"""Turns in hand from which nothing need be said: common practice, no source."""
TASTE = 0.3
"""How far a player may want the action lower or higher [mm], evenly spread: a guess, no source."""
STOPS: dict[str, Exact] = {"tongue": gap_least, "floor at the foot": floor_least, "floor above the pivot": floor_least,
                           "pocket": reveal_least}
"""Stops whose place varies with the build; any other stop is taken where the drawing has it."""
LEFT_OUT = ("a new saddle or a refret, which begin the budget anew", "another stop that comes first in a badly built joint",
            "parts that come loose")


@dataclass(frozen=True)
class Share:
    """What one thing asks for: the lowest and the highest turn to which it takes the screw [turn], each (samples,)."""

    words: str
    low: Array = field(repr=False)
    high: Array = field(repr=False)

    @property
    def down(self) -> float:
        """Turns down that serve 95 in 100 instruments [turn], 0 or more."""
        return max(0.0, float(np.quantile(-self.low, 0.95)))

    @property
    def up(self) -> float:
        """The same up."""
        return max(0.0, float(np.quantile(self.high, 0.95)))


@dataclass(frozen=True)
class TravelBudget:
    """Shares of the travel, in the order in which they are taken; ``down`` and ``up`` [turn]: the travel of the drawing, and what
    ends it; ``year`` looked at; ``runs_out``: the year in which a stop is met, nan when later than looked at, (samples,);
    ``usual``: built with the usual tolerances, for the design states none.
    """

    name: str
    shares: tuple[Share, ...]
    down: float
    up: float
    down_stop: str
    up_stop: str
    year: float
    runs_out: Array = field(repr=False)
    usual: bool = False

    def after(self, count: int) -> tuple[Array, Array]:
        """Turns left down and up [turn] when the first ``count`` shares are taken, each (samples,); negative: missing."""
        taken = self.shares[:count]
        nothing = np.zeros(np.shape(self.shares[0].low))
        return (self.down + sum((s.low for s in taken), nothing), self.up - sum((s.high for s in taken), nothing))

    @property
    def left(self) -> tuple[float, float]:
        """Turns left down and up [turn] to 95 in 100 instruments when all shares are taken; negative: missing."""
        low, high = (float(np.quantile(v, 0.05)) for v in self.after(len(self.shares)))
        return low, high

    @property
    def at_worst(self) -> tuple[float, float]:
        """The same if every share fell due at once, each at its own 95 in 100 [turn]."""
        return self.down - sum(s.down for s in self.shares), self.up - sum(s.up for s in self.shares)

    @property
    def lasting(self) -> Array:
        """Instruments that meet no stop until the year looked at, (samples,) of True and False."""
        down, up = self.after(len(self.shares))
        return (down >= 0) & (up >= 0)

    @property
    def verdicts(self) -> tuple[Verdict, Verdict]:
        """Down and up: the travel that there is against what 95 in 100 instruments ask for [turn]."""
        cures = (f"more travel down is wanted: what ends it is that {self.down_stop}",
                 f"more travel up is wanted: what ends it is that {self.up_stop}")
        return tuple(at_least(have, have - left, ROOM, cure)  # type: ignore[return-value]
                     for have, left, cure in zip((self.down, self.up), self.left, cures, strict=True))

    def __str__(self) -> str:
        good, n = int(self.lasting.sum()), self.lasting.size
        low, high = interval(good, n, method="wilson")
        sides = [f"{abs(left):.2f} turns {way} are {'left' if left >= 0 else 'missing'} (of {have:.2f})"
                 for left, way, have in zip(self.left, ("down", "up"), (self.down, self.up), strict=True)]
        worst = [f"{left:+.2f}" for left in self.at_worst]
        lines = [f"{self.name}: of 100 instruments {100 * good / n:.0f} ({100 * low:.0f} to {100 * high:.0f}) meet no stop in "
                 f"{self.year:g} years; to serve 95 of 100, {sides[0]} and {sides[1]}.",
                 f"  {'taken, in 95 of 100':<26}{'down':>7}{'up':>7} turns"]
        lines += [f"  {s.words:<26}{s.down:>7.2f}{s.up:>7.2f}" for s in self.shares]
        lines.append(f"  {'left, all at its worst':<26}{worst[0]:>7}{worst[1]:>7}")
        gone = self.runs_out[np.isfinite(self.runs_out)]
        if gone.size:
            first = float(np.quantile(gone, 0.05))
            lines.append(f"  runs out in {100 * gone.size / n:.0f} of 100 within the years looked at, "
                         f"{'some of them in the first year' if first < 1 else f'from year {first:.0f} on'}")
        lines += [f"  {v.cure}" for v in self.verdicts if v.state != "good"]
        if self.usual:
            lines.append("  built as hand tools and a drill press leave it (common practice, no source): the design states no "
                         "tolerances of its own")
        return folded(*lines, "  left out: " + ", ".join(LEFT_OUT))

    __repr__ = __str__


def build_share(design: Any, spreads: Spreads, *, looser: float = 1.0, samples: int = 1024, seed: int = 1, fret: int = 12,
                room: Travel | None = None) -> Share:
    """What the build takes: the turn from the mark that brings the mean action back to the drawing's, less what the stops move
    with the same errors (a bed drilled too deep lowers the action and gives the way to raise it again).

    ``looser``: every error times that. The turn is found on the full model; a stop's place with one step along its exact slope
    from the place on the drawing. Pivot screws are turned against each other only. (``studies.yields`` reports wider turns: there
    pivots and tilt are also traded against each other to trim the last hundredths.)
    """
    from scipy.stats import qmc

    if not 0 <= looser <= 10:
        raise ClimateError(f"looser: {looser:g} is outside 0 to 10")
    d, room = design.dimensions(), room or travel(design)
    u = qmc.Sobol(len(spreads.variables(d)), rng=np.random.default_rng(seed)).random(samples).T
    errors = looser * spreads.draw(d, np.clip(u, 1e-12, 1 - 1e-12))
    built, off = spreads.built(d, errors)
    start = pose(built, **off)
    wrong = action(start, fret).mean(axis=(0, 1)) - action(pose(d), fret).mean()
    need = turns_for(built, action_change=-wrong, sideways=0.0, fret=fret, start=start).tilt - off.get("tilt", 0.0)
    moved: list[Array] = []
    for direction, end in ((-1, room.low), (1, room.high)):
        stop = room.first(direction)
        reading = STOPS.get(stop.name) if stop else None
        if reading is None:
            moved.append(0.0)
            continue
        p = pose(d, tilt=end)
        margin = AsBuilt.of(p, spreads, errors).value(reading) - float(reading.value(p))
        moved.append(-margin / float(np.asarray(reading.slopes(p)["tilt"])))
    return Share("build", need - moved[0], need - moved[1])


def travel_budget(design: Any, *, build: Share, seasons: Seasons, ageing: Ageing, taste: float = TASTE, year: float = 20.0,
                  seed: int = 2, room: Travel | None = None) -> TravelBudget:
    """Put the shares together, each sample of the build with a player, a year and an ageing drawn for it.

    ``taste`` [mm]: how far a player may want the action lower or higher, evenly; ``year``: the age looked at. Raises ClimateError
    for a negative taste or a year that the ageing does not reach.
    """
    from scipy.stats import qmc

    if not taste >= 0:
        raise ClimateError(f"taste: {taste:g} mm must be 0 mm or more")
    if not 0 <= year <= ageing.years[-1]:
        raise ClimateError(f"year: {year:g} is outside 0 to {ageing.years[-1]:g}, the years that the ageing looks at")
    n = np.size(build.low)
    rng = np.random.default_rng(seed)
    u = rng.permutation(qmc.Sobol(3, rng=rng).random(n)).T  # shuffled: two Sobol sequences side by side are not independent
    rate = abs(float(action_slopes(pose(design.dimensions()), ageing.fret)["tilt"].mean()))
    wish = taste / rate * (2 * u[0] - 1)
    known = seasons.turns[seasons.known][:, (u[1] * seasons.turns.shape[-1]).astype(int)]
    old = ageing.turns[:, (u[2] * ageing.turns.shape[-1]).astype(int)]
    lowest, highest = np.minimum.accumulate(old), np.maximum.accumulate(old)
    at = int(np.argmin(np.abs(ageing.years - year)))
    shares = (build, Share("taste", wish, wish), Share("seasons", known.min(axis=0), known.max(axis=0)),
              Share(f"{ageing.years[at]:g} years", lowest[at], highest[at]))
    room = room or travel(design)
    stops = [s.words if (s := room.first(k)) else "nothing within reach" for k in (-1, 1)]
    down, up = (sum(getattr(s, side) for s in shares[:3]) for side in ("low", "high"))
    over = np.maximum(room.low - (down + lowest), up + highest - room.high)
    return TravelBudget(design.name, shares, -room.low, room.high, stops[0], stops[1], float(ageing.years[at]),
                        first_passing(ageing.years, over))


def budget(design: Any, air: Any = "workshop", *, spreads: Spreads | None = None, looser: float = 1.0, taste: float = TASTE,
           year_looked_at: float = 20.0, samples: int = 1024, seed: int = 1, **years: Any) -> TravelBudget:
    """The travel budget of a design in one call.

    ``air``: as in :func:`lutherie_geom.mechanics.seasons.year`; ``spreads``: the design's own tolerances unless given, or the
    usual ones where it states none, times ``looser``; the rest (``lift``, ``rotation``, ``after``, ``exponent``) goes to
    :func:`lutherie_geom.mechanics.years.ageing`.
    Raises ClimateError for what makes no sense.
    """
    room = travel(design)
    none = spreads is None and not design.tolerances
    spreads = spreads or (usual(design) if none else Spreads.of_design(design))
    build = build_share(design, spreads, looser=looser, samples=samples, seed=seed, room=room)
    return replace(travel_budget(design, build=build, seasons=year(design, air), ageing=ageing(design, **years), taste=taste,
                                 year=year_looked_at, room=room), usual=none)
