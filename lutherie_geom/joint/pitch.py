"""Pitch: how true the fretted notes are at the nominal pose, how far the strings drift while a screw is turned, the pull."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from lutherie_geom.design.catalogue import CatalogueError
from lutherie_geom.design.tuning import strung
from lutherie_geom.joint.dimensions import Array, Dimensions
from lutherie_geom.joint.pose import AnyPose, arm, pose
from lutherie_geom.joint.reading import Reading, Verdict
from lutherie_geom.joint.strings import column, crown, lever, open_length, string_lines, string_places
from lutherie_geom.theory.intonation import fretted_cents, pitch_drift, string_tension
from lutherie_geom.theory.lever import screw_force

__all__ = ["FREE_BEYOND_NUT", "FRETS", "Strings", "drift", "fretted", "fretted_errors", "fretted_readings",
           "pitch_readings", "strings_of"]

FREE_BEYOND_NUT = 60.0
"""String from nut to tuner post that stretches too, in mm (common practice, no source; the posts lie 40 to 130 mm away)."""
FRETS = np.array([1.0, 5.0, 7.0, 12.0])
"""Frets at which the notes are checked."""


@dataclass(frozen=True)
class Strings:
    """The strings at a pose, each at the place of its ``course`` (0 is the bass course).

    (strings,): mass [kg/m], pitch [Hz], axial stiffness of the core [N] (middle, low, high modulus). (strings, *batch): free
    length beyond nut and saddle [mm], open length [mm], tension [N].
    """

    names: tuple[str, ...]
    course: tuple[int, ...]
    mass: Array
    pitch: Array
    stiffness: Array
    stiffness_low: Array
    stiffness_high: Array
    free: Array
    length: Array
    tension: Array

    @property
    def course_tension(self) -> Array:
        """Tension of all strings of each course together [N], (courses, *batch)."""
        found = np.zeros((self.course[-1] + 1, *self.tension.shape[1:]))
        np.add.at(found, list(self.course), self.tension)
        return found


def strings_of(design: Any, p: AnyPose) -> Strings:
    """The design's string set at its tuning, tuned to pitch at a pose or a batch of poses.

    Raises CatalogueError when there is no such set or tuning, or the set has another number of courses.
    """
    here = strung(design)
    found, course = here.strings, list(here.course)
    mass, tone, middle = (np.array([getattr(s, k) for s in found]) for k in ("mass", "pitch", "stiffness"))
    low, high = (np.array([getattr(s, k) / s.modulus for s in found]) for k in ("modulus_low", "modulus_high"))
    # From the saddle's top down to the bridge pin; the nut's side is a habit of the trade.
    over_pin = column(p.of.h_saddle, p.batch) - design.strings.pin_height
    length = open_length(p)[course]
    free = np.broadcast_to((FREE_BEYOND_NUT + np.hypot(design.strings.pin_distance, over_pin))[course], length.shape)
    return Strings(tuple(s.name for s in found), here.course, mass, tone, middle, middle * low, middle * high, free, length,
                   string_tension(mass=column(mass, p.batch), length=length, frequency=column(tone, p.batch)))


def fretted(p: AnyPose, frets: Array) -> tuple[Array, Array]:
    """Lengths [mm] of every course stopped at the frets, (courses, frets): crown to saddle, and nut to crown."""
    d: Dimensions = p.of
    line, f = string_lines(p), np.atleast_1d(np.asarray(frets, dtype=float))
    x, y = d.x_fret(f), string_places(p, f)
    z = crown(d, f, y)
    ends = [column(v, 1) for v in (line.xn_saddle, line.yn_saddle, line.zn_saddle)]
    nut = [line.x_nut, column(line.y_nut, 1), column(line.z_nut, 1)]

    def apart(a: list[Array]) -> Array:
        return np.sqrt((a[0] - x) ** 2 + (a[1] - y) ** 2 + (a[2] - z) ** 2)

    return apart(ends), apart(nut)


def drift(s: Strings, turned: Array) -> Array:
    """Drift [cent] of the untouched strings, (strings, *batch), when the courses' open lengths become ``turned`` [mm]
    (courses, *batch)."""
    n = np.ndim(turned) - 1
    return pitch_drift(open_length=column(s.length, n), new_length=turned[list(s.course)], free_length=column(s.free, n),
                       stiffness=column(s.stiffness, n), tension=column(s.tension, n))


def fretted_errors(s: Strings, p: AnyPose, frets: Array = FRETS) -> tuple[Array, Array]:
    """Error of fretted notes against equal temperament on their own open string [cent], (strings, frets): with the core's likely
    stiffness, and its largest change over the stiffness's spread. ``s``: the strings tuned to pitch at that pose, no batch."""
    course = list(s.course)
    vibrating, behind = (lengths[course] for lengths in fretted(p, frets))

    def cents(stiffness: Array) -> Array:
        return fretted_cents(semitones=np.atleast_1d(frets), open_length=s.length[:, None], vibrating=vibrating, behind=behind,
                             free_length=s.free[:, None], stiffness=stiffness[:, None], tension=s.tension[:, None])

    error = cents(s.stiffness)
    return error, np.abs(np.stack([cents(s.stiffness_low), cents(s.stiffness_high)]) - error).max(axis=0)


def fretted_readings(s: Strings, p: AnyPose) -> list[Reading]:
    """The table of fretted notes at a pose [cent], and by how much the core's stiffness makes it uncertain."""
    error, spread = fretted_errors(s, p)
    return [
        Reading("pitch.fretted", "fretted notes against equal temperament",
                [[name, *row] for name, row in zip(s.names, error.tolist(), strict=True)], "cent",
                "sharp is positive, against the string's own open note; pressing lengthens and tightens the string. Left out: "
                "bending stiffness, the finger's push behind the fret", None,
                (("string", ""), *((f"fret {int(f)}", "cent") for f in FRETS))),
        Reading("pitch.fretted_spread", "fretted notes uncertain by", float(spread.max()), "cent",
                "largest change of the table above over the spread of the core's stiffness"),
    ]


def pitch_readings(design: Any, travel: Any = None) -> list[Reading]:
    """Lengths [mm], pull [N], cents of fretted notes, drift [cent] per eighth turn, force in the tilt screw [N].

    ``travel`` is not needed and taken only so that all readings are called alike.
    """
    d = design.dimensions()
    p = pose(d)
    try:
        s = strings_of(design, p)
    except CatalogueError as missing:
        return [Reading("pitch.set", "string set", design.strings.called, "", "strings as the catalogue knows them",
                        Verdict(0.0, 1.0, -1.0, 0.0, f"strings.gauges or strings.tuning: {missing}"))]
    # Tilt, bass and treble screw, an eighth of a turn each, one at a time.
    turned = pose(d, tilt=np.array([0.125, 0, 0]), bass=np.array([0, 0.125, 0]), treble=np.array([0, 0, 0.125]))
    cent, h = drift(s, open_length(turned)), lever(p)
    miss = (open_length(turned) - open_length(p)[:, None])[:, 0] + h * turned.theta[0]
    pull = float(s.tension.sum())
    force = float(screw_force(pull=s.course_tension, string_lever=h, arm=arm(d)).sum())
    return [
        Reading("pitch.set", "string set", design.strings.called, "",
                f"strings as the catalogue knows them, bass to treble; tuning: {design.strings.tuned}"),
        Reading("pitch.length", "open strings, nut to saddle", s.length.tolist(), "mm",
                "straight from nut to saddle in space, bass to treble, screws at rest; strings of one course alike"),
        Reading("pitch.tension", "tension of the strings", s.tension.tolist(), "N",
                "from mass, open length and pitch, bass to treble"),
        Reading("pitch.pull", "total string pull", pull, "N", "sum of the strings' tensions at pitch"),
        *fretted_readings(s, p),
        Reading("pitch.drift", "pitch drift for an eighth turn",
                [[name, *row] for name, row in zip(s.names, cent.tolist(), strict=True)], "cent",
                "each screw turned alone by +1/8 (tilt: action up; pivot screws: seat toward the neck), tuners untouched; "
                f"the string slides at nut and saddle, {FREE_BEYOND_NUT:g} mm beyond the nut stretch with it", None,
                (("string", ""), ("tilt", "cent"), ("bass", "cent"), ("treble", "cent"))),
        Reading("pitch.lever", "string line over the pivot axis", h.tolist(), "mm",
                "lever arm of each course's line about the pivot axis; the string shortens by it for each radian of tilt"),
        Reading("pitch.lever_miss", "lever rule is off by", float(np.abs(miss).max()), "mm",
                "exact change of open length for an eighth turn of the tilt screw, less the rule's -lever times tilt"),
        Reading("pitch.screw_force", "force in the tilt screw", force, "N",
                "pull that balances the strings about the pivot axis, tension. Left out: friction at balls, threads and "
                "receiver, the neck's weight, handling loads"),
    ]
