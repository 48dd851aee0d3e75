"""What readings cannot tell, which further one would, and which of them contradict each other."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from lutherie_geom.joint.dimensions import Array, Dimensions
from lutherie_geom.shop.learning.unknowns import UNKNOWNS
from lutherie_geom.shop.log.entry import turn_text
from lutherie_geom.shop.setup.hands import Hands
from lutherie_geom.shop.setup.measured import GAUGES, Measured, words_of
from lutherie_geom.shop.words import length
from lutherie_geom.studies.measuring import gauge

if TYPE_CHECKING:
    from lutherie_geom.shop.learning.learn import Entry, Rows

__all__ = ["apart_and_further", "chosen", "miscounted", "suspects"]

TOLD = 0.7
"""An unknown is told when the readings leave less than this part of its plausible size as its standard uncertainty."""
BEYOND = 3.0
"""Plausible sizes past which an unknown is not believed."""
TIE = 4.0  # difference of chi-square below which two explanations are as good as each other
ALIKE = 0.3  # part of a plausible size by which another unknown must answer to be named beside it


def chosen(jac: Array, error: Array, asked: Sequence[str]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Unknowns that the readings tell, in the order of :data:`UNKNOWNS`, and those that they do not."""
    names = list(UNKNOWNS)
    sizes = np.array([u.size for u in UNKNOWNS.values()])
    white = np.linalg.solve(np.linalg.cholesky(error), jac) * sizes
    use: list[str] = []
    for name in (n for n in names if n in asked):
        columns = [names.index(u) for u in (*use, name)]
        j = white[:, columns]
        if len(j) < len(columns) or np.linalg.cond(j) > 1e6:
            continue
        if np.sqrt(np.diag(np.linalg.inv(j.T @ j))).max() < TOLD:
            use.append(name)
    return tuple(use), tuple(n for n in names if n in asked and n not in use)


def suspects(rows: Rows, norm: Array, model: Array, error: Array, chance: float, name: Callable[[int], str], system: Any,
             d: Dimensions, values: Mapping[str, float], h: Hands) -> tuple[str, ...]:
    """Turns that look miscounted; readings that contradict each other at the same turns (relief and nut read along are allowed
    for), that stand apart from all the rest, or that together fit too badly; and what was learned that is hardly possible."""
    found = _readings(rows, norm, model, error, chance, name, system)
    beyond = [u for u, v in values.items() if abs(v) > BEYOND * UNKNOWNS[u].size]
    if not (found or beyond):
        return ()
    turns, alone = miscounted(rows, d, h)
    if turns:
        looks = [f"{name(i)}: {_nearest(t, rows.entries[i].tilt)}, where {turn_text(rows.entries[i].tilt)} was written"
                 for i, t in turns]
        said = f"the turns of the tilt screw look miscounted; they look like, in {', or in '.join(looks)}"
        return (said,) if alone else (said, *found)
    return (*found, *(f"{UNKNOWNS[u].words}: {_size(u, values[u], system)} from the design, where "
                      f"{_size(u, UNKNOWNS[u].size, system)} is plausible; a turn or a reading is wrong, or else measure the "
                      "part and write it into the design file" for u in beyond))


def _nearest(turn: float, written: float) -> str:
    """The turn in eighths, or as fine as it takes to tell it from what was written."""
    return turn_text(next((t for n in (8, 16, 32) if (t := round(n * turn) / n) != written), round(turn, 3)))


def _size(unknown: str, value: float, system: Any) -> str:
    return f"{np.degrees(value):.2f} deg" if UNKNOWNS[unknown].unit == "rad" else length(value, system)


def miscounted(rows: Rows, d: Dimensions, h: Hands) -> tuple[list[tuple[int, float]], bool]:
    """Entries whose turn of the tilt screw looks wrong, each by itself, and the turn that it looks like [turn], likeliest first;
    and whether that alone takes up the misfit.

    Weighted least squares about the design, with the plausible size of each unknown as one more reading (or the arm would take up
    what a turn does). One turn set free, or one reading, takes its part of chi-square off; named are the turns that take off
    most, if no single reading does so as well.
    """
    from scipy.stats import chi2

    from lutherie_geom.shop.learning.learn import ODD

    entries = rows.entries
    model, jac, error = rows.model(d, {}, h)
    lowered = replace(rows, entries=tuple(replace(e, last="lowering") for e in entries))
    by_turn = lowered.model(d, {}, h)[1][:, list(UNKNOWNS).index("play")] * 2 * d.pitch_tilt  # half a band ahead of the key
    sizes = np.array([u.size for u in UNKNOWNS.values()])
    white = np.linalg.inv(np.linalg.cholesky(error))
    a = np.vstack([white @ jac * sizes, np.eye(len(sizes))])
    q, _ = np.linalg.qr(a)

    def beside(v: Array) -> Array:
        """What the unknowns cannot take up of it."""
        v = np.concatenate([white @ v, np.zeros((len(sizes), *np.shape(v)[1:]))])
        return v - q @ (q.T @ v)

    own = np.array([[i == k for k in range(len(entries))] for i, _ in rows.at])
    left = beside(rows.value - model)

    def taken_off(columns: Array) -> tuple[Array, Array]:
        """Chi-square that each column takes off when it is free, and its size then."""
        c = beside(columns)
        square, across = (c**2).sum(axis=0), c.T @ left
        size = np.divide(across, square, out=np.zeros_like(across), where=square > 1e-9)
        return size * across, size

    off, size = taken_off(by_turn[:, None] * own)
    one_reading = float(taken_off(np.eye(len(rows.at)))[0].max())
    best, whole = float(off.max()), float(left @ left)
    if best < ODD**2 or best < one_reading + TIE:
        return [], False
    order = [int(i) for i in np.argsort(-off) if off[i] > best - TIE]
    return [(i, entries[i].tilt + float(size[i])) for i in order], bool(chi2.sf(whole - best, max(len(rows.at) - 1, 1)) > 1e-3)


def _readings(rows: Rows, norm: Array, model: Array, error: Array, chance: float, name: Callable[[int], str], system: Any
              ) -> tuple[str, ...]:
    from lutherie_geom.shop.learning.learn import ODD

    found: list[str] = []
    paired: set[int] = set()
    for a, (i, k) in enumerate(rows.at):
        for b in range(a + 1, len(rows.at)):
            j, other = rows.at[b]
            e, f = rows.entries[i], rows.entries[j]
            if k != other or (e.tilt, e.bass, e.treble, e.last) != (f.tilt, f.bass, f.treble, f.last):
                continue
            sd = float(np.sqrt(error[a, a] + error[b, b] - 2 * error[a, b]))
            apart = abs((rows.value[a] - model[a]) - (rows.value[b] - model[b])) / sd
            if apart <= ODD:
                continue
            paired |= {a, b}
            found.append(f"{words_of(k)} at the same turns: {name(i)} {length(rows.value[a], system)}, {name(j)} "
                         f"{length(rows.value[b], system)}; they differ by {apart:.1f} standard deviations")
    order = np.argsort(-np.nan_to_num(np.abs(norm)))
    odd = [r for r in order.tolist() if abs(np.nan_to_num(norm[r])) > ODD and r not in paired]
    if odd and not found:  # one bad reading pulls the fit and makes others look odd: the worst is named, and then the rest
        odd = [r for r in odd if abs(norm[r]) > abs(norm[odd[0]]) * 0.9]
    for r in odd:
        i, k = rows.at[r]
        found.append(f"{words_of(k)}, {name(i)}: {length(rows.value[r], system)}, where all the others make it "
                     f"{length(model[r], system)} ({abs(norm[r]):.1f} standard deviations); read it again")
    if chance < 1e-3 and not found:
        found.append(f"the readings fit together worse than their errors allow (chance {chance:.0e}), none of them worst: errors "
                     "taken too small, or more than one slip")
    return tuple(found)


def apart_and_further(rows: Rows, d: Dimensions, best: dict[str, float], h: Hands, use: Sequence[str], left: Sequence[str]
                      ) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """For every unknown that the readings do not tell: what it looks like, and the first further reading that would tell."""
    names = list(UNKNOWNS)
    sizes = np.array([u.size for u in UNKNOWNS.values()])
    _, jac, error = rows.model(d, best, h)
    white = np.linalg.solve(np.linalg.cholesky(error), jac) * sizes
    base = white[:, [names.index(u) for u in use]]
    apart, further = [], []
    for n in left:
        column = white[:, names.index(n)]
        size = float(np.linalg.norm(column))
        answer = np.linalg.lstsq(base, column, rcond=None)[0] if use else np.zeros(0)
        like = [UNKNOWNS[u].words for u, v in zip(use, answer, strict=True) if abs(v) > ALIKE]
        if size < 1 or not like:
            apart.append(f"{UNKNOWNS[n].words}: these readings say nothing of it that is larger than their errors")
        else:
            apart.append(f"{UNKNOWNS[n].words} looks like {' and '.join(like)}")
        told = next((w for w, extra in _candidates(rows) if n in _with(rows, extra, d, best, h, (*use, n))), None)
        further.append(f"{UNKNOWNS[n].words}: " + (told or "no gauge here tells; measure it on the parts, neck off"))
    return tuple(apart), tuple(dict.fromkeys(further))


def _with(rows: Rows, extra: Sequence[Entry], d: Dimensions, best: dict[str, float], h: Hands, asked: Sequence[str]
          ) -> tuple[str, ...]:
    from lutherie_geom.shop.learning.learn import Rows as Rows_

    _, jac, error = Rows_.of([*rows.entries, *extra]).model(d, best, h)
    return chosen(jac, error, asked)[0]


def _candidates(rows: Rows) -> Iterator[tuple[str, list[Entry]]]:
    """Further readings that a builder could take, the easiest first."""
    e = rows.entries[-1]

    def extra(keys: Sequence[str]) -> Measured:
        sd = {k: float(gauge(GAUGES[k.partition(".")[0]]).uncertainty(1)) for k in keys}
        values = dict.fromkeys(keys, 3.0)
        return Measured(values, sd, e.measured.handed)

    other = "raising" if e.last == "lowering" else "lowering"
    again = replace(e, last=other)
    yield f"read the same once more, the last turn {other} the action", [again]
    yield "read the same three times, each time after turning away and back, the last turn " + other, [again] * 3
    for by in (0.5, -0.5):
        for times in (1, 3):
            often = "" if times == 1 else f", {times} times, turned away between"
            way = "higher" if by > 0 else "lower"
            yield (f"read the same with the tilt screw half a turn {way}, if the travel allows it{often}",
                   [replace(e, tilt=e.tilt + by)] * times)
    for words, keys in (("the margins at the last fret, left and right", ("margin.left", "margin.right")),
                        ("the gap under the tongue's end", ("gap.end",)),
                        ("the strings over the soundboard at the saddle, bass and treble", ("saddle.bass", "saddle.treble"))):
        yield f"measure {words}", [replace(e, measured=extra(keys))]
