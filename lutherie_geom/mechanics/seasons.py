"""A year of the joint: action month by month, the turns that undo it, and the humidity in which no turn is needed.

    >>> import lutherie_geom as lg
    >>> from lutherie_geom.mechanics.seasons import year
    >>> print(year(lg.load("slack_water"), "net_loft_logger"))     # doctest: +SKIP

What is not known (how fast each part follows the air, how much of its free rise the box lets the top have, how far one board
swells more than its species) is sampled over ranges, and the range is part of every answer.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np

from lutherie_geom.design.lines import folded
from lutherie_geom.design.units import format_band, format_short
from lutherie_geom.joint.coupling import action_slopes, turns_for
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.strings import action
from lutherie_geom.joint.turning import way
from lutherie_geom.mechanics.climate import PLACES, Air, ClimateError, constant, moisture, seasonal, typical_year
from lutherie_geom.mechanics.logger import from_logger
from lutherie_geom.mechanics.movement import (
    BOARD_MORE,
    PARTS,
    SPREAD,
    Swelling,
    TopStrip,
    action_change,
    null_captive_face,
    swelling_of,
    swollen,
)

__all__ = ["LAGS", "LEFT_OUT", "MONTHS", "Seasons", "Setting", "ends", "seasons", "year"]

Array = Any  # a float or a numpy array of floats

LAGS = {"top": (7.0, 45.0), "block": (20.0, 90.0), "neck": (30.0, 120.0)}
"""Time constants [day] of the thin top, the block inside the box, the finished neck: ranges, no source; measure yours."""
LEFT_OUT = ("the truss rod's hold on the neck", "creep", "wetting and drying that differ", "wood damp outside and dry within",
            "the box's own change of shape", "strings' tension", "the change of the gap under the tongue")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
WHOLE_YEAR = 330.0
"""Air of so many days or more [day] is taken to come round again and again."""


def ends(v: Array, axis: int | None = None) -> Any:
    """5 and 95 in 100 of the samples, (2, ...), no minus before a zero; nan where there is nothing."""
    with np.errstate(invalid="ignore"):
        return np.quantile(v, (0.05, 0.95), axis=axis) + 0.0


@dataclass(frozen=True)
class Setting:
    """One place of the tilt screw: ``months`` (0 to 11) in which it serves, ``turns`` [turn] from the set-up place; how far the
    middle of the samples then lies ``off`` [mm]."""

    months: tuple[int, ...]
    turns: float
    off: float

    def __str__(self) -> str:
        first, last = MONTHS[self.months[0]], MONTHS[self.months[-1]]
        when = first if len(self.months) == 1 else f"{first} to {last}"
        turned = Fraction(self.turns).limit_denominator(256)
        said = "as set up" if not turned else f"{abs(turned)} turn {'up' if turned > 0 else 'down'}"
        return f"{when} {said}"


@dataclass(frozen=True)
class Seasons:
    """A year of the joint. Monthly means, (12, samples), nan for a month without air: ``moisture`` [%] of top, block and neck;
    ``rise`` of the bridge [mm]; ``change`` of the mean action at the fret [mm], and ``parts`` of it by what moves; ``turns`` of
    the tilt screw that undo it. ``window``: least and greatest steady humidity [%] at which no turn is needed, (2, samples); nan
    where none from 10 to 90 % is too much. ``lags`` [day] of the samples; ``rate`` [mm/turn]. Printed, the finding comes first.
    """

    name: str
    air: Air
    fret: int
    set_at: float
    tolerance: float
    moisture: dict[str, Array]
    rise: Array
    change: Array
    parts: dict[str, Array]
    turns: Array
    window: Array
    null_face: float
    head_x: float
    rate: float
    up: str
    down: str
    lags: dict[str, Array] = field(repr=False)
    swelling: Swelling = field(repr=False)
    units: Any = "mm"

    @property
    def swing(self) -> Array:
        """From the lowest to the highest month [mm], (samples,)."""
        return np.nanmax(self.change, axis=0) - np.nanmin(self.change, axis=0)

    @property
    def known(self) -> np.ndarray:
        """Months that have air, 0 to 11."""
        return np.flatnonzero(~np.isnan(self.change).all(axis=-1))

    def settings(self, step: float = 1 / 16) -> tuple[Setting, ...]:
        """The fewest places of the screw, in steps [turn], that keep the middle of the samples within the tolerance all year.

        A month that no step serves has its nearest one.
        """
        if not 0 < step <= 1:
            raise ClimateError(f"step: {step:g} turn is outside 0 to 1 turn")
        months, wanted = self.known, np.median(self.turns[self.known], axis=-1)
        best: tuple[Setting, ...] = ()
        for start in range(len(months) if len(months) == 12 else 1):  # a whole year comes round: any month may begin
            found = _settings(np.roll(months, -start), np.roll(wanted, -start), step, self.tolerance / self.rate, self.rate)
            if not best or (len(found), _worst(found)) < (len(best), _worst(best)):
                best = found
        return best

    def __str__(self) -> str:
        mid = np.median(self.change[self.known], axis=-1)
        low, high = (MONTHS[self.known[k]] for k in (mid.argmin(), mid.argmax()))
        (a, b), (t0, t1) = ends(self.swing), ends(np.nanmax(self.turns, axis=0) - np.nanmin(self.turns, axis=0))
        sides = [f"{said} {'{:.0f}..{:.0f}'.format(*ends(v[np.isfinite(v)]))} %" for said, v in
                 zip(("from", "to"), self.window, strict=True) if np.isfinite(v).any()]
        unit = "in" if self.units == "inch" else "mm"
        swing = format_band((a, b), self.units).replace("..", " to ")
        first = (f"over the year the action at fret {self.fret} moves by {swing} (lowest in {low}, highest in {high}); "
                 f"{t0:.2f} to {t1:.2f} turns of the tilt screw undo it.")
        if b < 0.005:  # steady air
            off = format_band(ends(self.change[self.known[0]]), system=self.units, signed=True).replace("..", " to ")
            first = ("all year the action at fret {} lies {} off; {:+.2f} to {:+.2f} turns of the tilt screw "
                     "undo it.").format(self.fret, off, *ends(self.turns[self.known[0]]))
        lines = [f"{self.name}: {first}",
                 f"  no turn needed (within {format_short(self.tolerance, self.units)}) while the room's humidity stays "
                 f"{' '.join(sides) or 'from 10 to 90 %'}, at 20 degC",
                 f"  fewest turns, for the middle of the samples: {'; '.join(map(str, self.settings()))}",
                 f"  the captive face stands at {format_short(self.head_x, self.units)}; "
                 + (f"at {format_short(self.null_face, self.units)} the block's swelling would not turn the neck"
                    if np.isfinite(self.null_face) else "the block does not swell along the screws"),
                 f"  to raise: {self.up}; to lower: {self.down}", *(f"  {line}" for line in str(self.air).splitlines()),
                 f"  {'month':<6}{'top %':>13}{'block %':>13}{f'bridge rises {unit}':>17}{f'action {unit}':>15}"
                 f"{'turns to undo':>16}"]

        def band(v: Array, m: int) -> str:
            return format_band(ends(v[m]), system=self.units, signed=True).split(" ")[0]

        for m in self.known:
            wood = ("{:.1f}..{:.1f}".format(*ends(self.moisture[k][m])) for k in ("top", "block"))
            cells = (*wood, band(self.rise, m), band(self.change, m), "{:+.2f}..{:+.2f}".format(*ends(self.turns[m])))
            lines.append(f"  {MONTHS[m]:<6}" + "".join(c.rjust(w) for c, w in zip(cells, (13, 13, 17, 15, 16), strict=True)))
        lines.append(f"  what moves the action, {low} and {high} [{unit}]:")
        for words, v in self.parts.items():
            both = [band(v, self.known[k]) for k in (mid.argmin(), mid.argmax())]
            lines.append(f"    {words:<26}{both[0]:>15}{both[1]:>15}")
        return folded(*lines, f"  set at {self.set_at:g} % moisture; 5 to 95 in 100 of the samples",
                      "  left out: " + ", ".join(LEFT_OUT))

    __repr__ = __str__


def _worst(found: tuple[Setting, ...]) -> float:
    return max(s.off for s in found)


def _settings(months: np.ndarray, wanted: np.ndarray, step: float, room: float, rate: float) -> tuple[Setting, ...]:
    """Months taken in turn, each setting kept as long as one step serves them all; ``room`` [turn]."""
    def best(k: int, j: int) -> tuple[float, float]:
        t = wanted[k:j]
        place = float(np.round((t.min() + t.max()) / 2 / step) * step)
        return place + 0.0, float(np.abs(t - place).max())

    found, k = [], 0
    while k < len(months):
        j = k + 1
        while j < len(months) and best(k, j + 1)[1] <= room:
            j += 1
        place, off = best(k, j)
        found.append(Setting(tuple(int(m) for m in months[k:j]), place, off * rate))
        k = j
    return tuple(found)


def _window(design: Any, swelling: Swelling, set_at: float, tolerance: float, fret: int) -> Array:
    """Steady humidity [%] at 20 degC on either side at which the action has moved by the tolerance, (2, samples)."""
    grid = np.linspace(10.0, 90.0, 161)
    settled = moisture(constant(temperature=20.0, humidity=grid, days=1.0), lag=1e-3)[-1]
    over = np.abs(action_change(design, (settled - set_at)[:, None], swelling, fret)) - tolerance
    here = int(np.argmin(np.abs(settled - set_at)))
    index = np.arange(len(grid))[:, None]
    out = np.full((2, over.shape[1]), np.nan)
    for side, (mask, pick, step) in enumerate((((index < here), np.max, 1), ((index > here), np.min, -1))):
        wrong = mask & (over > 0)
        k = pick(np.where(wrong, index, -1 if side == 0 else len(grid)), axis=0)
        some = np.any(wrong, axis=0)
        i, j = k[some], k[some] + step
        a, b = over[i, some], over[j, some]
        out[side, some] = grid[i] + (grid[j] - grid[i]) * a / (a - b)
    return out


def _ranges(lags: dict[str, tuple[float, float]] | None, share: tuple[float, float]) -> dict[str, tuple[float, float]]:
    found = LAGS | (lags or {})
    if set(found) != set(LAGS):
        raise ClimateError(f"lags: {', '.join(sorted(set(found) - set(LAGS)))} is not known; {', '.join(LAGS)}")
    for name, (low, high), most, unit in (*((f"lag of the {k}", v, 1000.0, " day") for k, v in found.items()),
                                          ("share", share, 1.0, "")):
        if not 0 < low <= high <= most:
            raise ClimateError(f"{name}: {low:g} to {high:g}{unit} is not a range above 0 and up to {most:g}{unit}")
    return found


def seasons(design: Any, air: Air, *, set_at: float | None = None, tolerance: float = 0.15, fret: int = 12, samples: int = 64,
            seed: int = 1, lags: dict[str, tuple[float, float]] | None = None, share: tuple[float, float] = (0.1, 0.6),
            swelling: Swelling | None = None) -> Seasons:
    """A year of the joint in an air (one air: no batch), over samples of what is not known.

    ``set_at`` [%]: moisture when the action was set (by default the design's); ``tolerance`` [mm] of action that a player does
    not mind (no source); ``lags`` [day] of "top", "block", "neck" in place of ``LAGS``, and ``share`` [1] of the top's free rise:
    ranges, taken evenly (no source). A ``swelling`` measured on the instrument takes the place of the woods' and the share's. Air
    shorter than eleven months begins with wood at ``set_at``. Raises ClimateError for what makes no sense.
    """
    from scipy.stats import qmc

    if np.ndim(air.humidity) != 1 or np.ndim(air.temperature) != 1:
        raise ClimateError("air: one air over time, without samples")
    if not tolerance > 0:
        raise ClimateError(f"tolerance: {tolerance:g} mm must be above 0 mm")
    if samples < 2:
        raise ClimateError(f"samples: {samples} is too few; 2 or more")
    start = float(design.woods.moisture) if set_at is None else float(set_at)
    if not 2 <= start <= 25:
        raise ClimateError(f"set_at: {start:g} % moisture is outside 2 to 25 %")
    ranges = _ranges(lags, share)
    u = qmc.Sobol(6, rng=np.random.default_rng(seed)).random(samples).T
    slow = {k: low + (high - low) * row for (k, (low, high)), row in zip(ranges.items(), u, strict=False)}
    mine = swelling or swelling_of(design, strip=TopStrip(share=share[0] + (share[1] - share[0]) * u[3]),
                                   board_more=BOARD_MORE * (2 * u[5] - 1)).times(1 + SPREAD * (2 * u[4] - 1))
    many = replace(air, temperature=air.temperature[:, None, None], humidity=air.humidity[:, None, None])
    whole = len(air.days) * air.step >= WHOLE_YEAR
    content = air.by_month(moisture(many, lag=np.stack(list(slow.values())), start=None if whole else start))
    wood = dict(zip(slow, np.moveaxis(content, 1, 0), strict=True))
    change, block, neck = (wood[k] - start for k in ("top", "block", "neck"))
    d = design.dimensions()
    moved, still = swollen(design, change, mine, d, block=block, neck=neck), pose(d)
    off = action(moved, fret).mean(axis=(0, 1)) - action(still, fret).mean()
    turns = turns_for(moved.of, action_change=-off, sideways=0.0, fret=fret, start=moved).tilt - moved.tilt
    parts = {words: action_change(design, change, mine.only(*names), fret, block=block, neck=neck)
             for words, names in PARTS.items()}
    screw = design.tilt_screw
    up, down = (way(screw.hand, screw.key_from, positive, "tilt") for positive in (True, False))
    return Seasons(design.name, air, fret, start, tolerance, wood, mine.top_rise * change, off, parts, turns,
                   _window(design, mine, start, tolerance, fret), float(np.median(null_captive_face(design, mine))),
                   float(screw.head_x), abs(float(action_slopes(still, fret)["tilt"].mean())), up, down, slow, mine, design.units)


def year(design: Any, air: Air | str | Path | float = "workshop", *, room: float | None = 20.0, **how: Any) -> Seasons:
    """A year of the design in the air given, in one call.

    ``air``: "workshop" (a sine), "mild" or "subarctic" (outdoor air of a typical year let into a room heated to ``room``
    [degC]; None: the instrument hangs outdoors), a steady humidity [%], a logger's CSV file or the name of one in
    ``data/climate``, or any :class:`Air`. The rest goes to :func:`seasons`. Raises ClimateError for what makes no sense.
    """
    if isinstance(air, int | float):
        found = constant(humidity=float(air))
    elif isinstance(air, Air):
        found = air
    elif air == "workshop":
        found = seasonal()
    elif air in PLACES:
        found = typical_year(str(air))
        found = found if room is None else found.heated(room)
    else:
        found = from_logger(air)
    return seasons(design, found, **how)
