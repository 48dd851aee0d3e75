"""Readings of the strings at a pose: action, buzz clearance, saddle, sounding length, pitch.

Arrays come out as (strings, frets, *batch).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from lutherie_geom.joint.dimensions import Array, Dimensions
from lutherie_geom.joint.pose import AnyPose
from lutherie_geom.theory.action import action_over_fret, nut_height
from lutherie_geom.theory.dome import dome_height
from lutherie_geom.theory.lever import string_lever
from lutherie_geom.theory.scale import edge_margin as margin_at_edge
from lutherie_geom.theory.scale import sounding_length

__all__ = ["StringLine", "action", "buzz", "lever", "string_lines"]


def column(values: Array, batch: int) -> Array:
    """Give a per-part array (parts, *batch) room for ``batch`` trailing axes."""
    a = np.asarray(values, dtype=float)
    return a.reshape(a.shape + (1,) * (batch + 1 - a.ndim)) if a.ndim else a


@dataclass(frozen=True)
class StringLine:
    """Both ends of every string in the neck frame [mm], shape (strings, *batch)."""

    x_nut: Array
    y_nut: Array
    z_nut: Array
    xn_saddle: Array
    yn_saddle: Array
    zn_saddle: Array

    @property
    def ends(self) -> dict[str, Array]:
        """As arguments of the relations."""
        return dict(x_nut=self.x_nut, y_nut=self.y_nut, z_nut=self.z_nut, xn_saddle=self.xn_saddle,
                    yn_saddle=self.yn_saddle, zn_saddle=self.zn_saddle)


def string_lines(p: AnyPose) -> StringLine:
    """The strings at a pose, in the neck frame."""
    d, n = p.of, p.batch
    y_nut = column(d.y_nut, n)
    z_nut = nut_height(h_nut=column(d.h_nut, n), y_nut=y_nut, radius_nut=d.radius_nut)
    saddle = p.to_neck(*saddle_tops(p))
    return StringLine(d.x_nut, y_nut, column(z_nut, n), *(column(v, n) for v in saddle))


def saddle_tops(p: AnyPose) -> tuple[Array, Array, Array]:
    """Top of the saddle at each string, x, y, z [mm] in the body frame, each (strings, *batch)."""
    d, n = p.of, p.batch
    x, y = column(d.x_saddle, n), column(d.y_saddle, n)
    z = dome_height(x=x, y=y, curvature=d.curvature, x_apex=d.x_apex, along=d.along, across=d.across)
    return x, y, z + column(d.h_saddle, n)


def _over(lines: StringLine, d: Dimensions, frets: Array) -> tuple[Array, Array, Array]:
    """Action, string's place, and x' for (strings, frets, *batch)."""
    ends = {k: np.expand_dims(v, 1) if np.ndim(v) else v for k, v in lines.ends.items() if k != "x_nut"}
    extra = np.ndim(lines.zn_saddle) - 1
    f = column(np.atleast_1d(np.asarray(frets, dtype=float)), extra)
    x = d.x_fret(f)
    found = action_over_fret(x_fret=x, x_nut=lines.x_nut, radius_fret=d.board_radius(x), dip=d.dip(f), **ends)
    return found.action, found.y_string, x


def action(p: AnyPose, frets: Array) -> Array:
    """Action [mm] of every string at the frets given, (strings, frets, *batch): crown to underside, along z'."""
    return _over(string_lines(p), p.of, frets)[0]


def string_places(p: AnyPose, frets: Array) -> Array:
    """Where the strings run across the board at the frets given [mm], to treble, (strings, frets, *batch)."""
    return _over(string_lines(p), p.of, frets)[1]


def crown(d: Dimensions, fret: Array, y: Array) -> Array:
    """Height of a fret's crown at y' over the fret plane [mm] (a string of no height over the plane, taken off)."""
    x = d.x_fret(fret)
    none = np.zeros(())
    zero = action_over_fret(x_fret=x, x_nut=x - 1.0, y_nut=y, z_nut=none, xn_saddle=x + 1.0, yn_saddle=y, zn_saddle=none,
                            radius_fret=d.board_radius(x), dip=d.dip(fret))
    return -zero.action


@dataclass(frozen=True)
class Buzz:
    """Buzz clearance [mm], (strings, frets stopped 0..last-1, *batch): least height over a later crown, and its fret."""

    clearance: Array
    over_fret: Array


def buzz(p: AnyPose) -> Buzz:
    """Least height of each string, stopped at fret n (0 is open), over any later crown, and over which fret that is."""
    d, lines = p.of, string_lines(p)
    last = d.last_fret
    heights, places, _ = _over(lines, d, np.arange(1, last + 1))
    best, where = [heights.min(axis=1)], [heights.argmin(axis=1) + 1]
    ends = {k: np.expand_dims(v, 1) if np.ndim(v) else v for k, v in lines.ends.items()}
    extra = heights.ndim - 2
    for n in range(1, last):  # frets, not samples
        y_n = places[:, n - 1 : n]
        z_n = crown(d, float(n), y_n)
        later = column(np.arange(n + 1, last + 1, dtype=float), extra)
        x_later = d.x_fret(later)
        over = action_over_fret(x_fret=x_later, x_nut=d.x_fret(float(n)), y_nut=y_n, z_nut=z_n, xn_saddle=ends["xn_saddle"],
                                yn_saddle=ends["yn_saddle"], zn_saddle=ends["zn_saddle"],
                                radius_fret=d.board_radius(x_later), dip=d.dip(later)).action
        best.append(over.min(axis=1))
        where.append(over.argmin(axis=1) + n + 1)
    return Buzz(np.stack(best, axis=1), np.stack(where, axis=1))


def open_length(p: AnyPose) -> Array:
    """Sounding length of each open string [mm], (strings, *batch): straight from nut to saddle."""
    return sounding_length(**string_lines(p).ends)


def lever(p: AnyPose) -> Array:
    """Lever arm of each string's line about the pivot axis [mm], (strings, *batch), seen from the side."""
    d, lines = p.of, string_lines(p)
    nut = p.to_body(lines.x_nut, lines.y_nut, lines.z_nut)
    x, _, z = saddle_tops(p)
    return string_lever(x_nut_body=nut.x, z_nut_body=nut.z, x_saddle=x, z_saddle=z, x_p=d.x_p - p.advance, z_p=d.z_p)


def edge_margin(p: AnyPose, frets: Array) -> Any:
    """Distance of the outer strings from the board's edges at frets [mm]: (bass, treble), each (frets, *batch)."""
    d = p.of
    places, x = string_places(p, frets), d.x_fret(column(np.atleast_1d(np.asarray(frets, dtype=float)), p.batch))
    board = dict(x_fret=x, x_nut=d.x_nut, x_last=d.x_fret(d.last_fret), width_nut=d.width_nut, width_last=d.width_last)
    return margin_at_edge(y_out=-places[0], **board), margin_at_edge(y_out=places[-1], **board)
