"""The tongue as a tapered cantilever: how far a finger presses it, whether it meets the top, its note, creep over years.

The root at the joint is taken as clamped in a stiff neck; ``root`` gives it a spring instead. Left out, besides what each
answer says: the strings' own push, the fretting hand's damping, glue lines that slip, wood that differs from its species.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from lutherie_geom.design.lines import folded
from lutherie_geom.design.woods import creep_factor, wood
from lutherie_geom.joint.body import gap
from lutherie_geom.joint.dimensions import Array, Dimensions
from lutherie_geom.joint.pitch import strings_of
from lutherie_geom.joint.pose import Pose, pose
from lutherie_geom.joint.strings import string_places
from lutherie_geom.mechanics.along import column, gauss, running
from lutherie_geom.mechanics.loads import GRAVITY
from lutherie_geom.mechanics.tongue_sections import SHEAR_FACTOR, Sections, sections, shear_modulus
from lutherie_geom.theory import tongue_beam

__all__ = ["FINGER", "Note", "Pressed", "Tongue", "beam_note", "frets_past_joint", "note_name", "pressed", "ring",
           "tip_stiffness", "tongue"]

FINGER = 15.0
"""A finger that presses hard, in N (common practice, no source)."""
_NAMES = ("C", "C sharp", "D", "E flat", "E", "F", "F sharp", "G", "A flat", "A", "B flat", "B")


MOST = 1000.0
"""Largest force that a report takes, in N: more than any hand gives."""


def _asked(force: float, root: float) -> None:
    """Raises ValueError for a force or a spring at the root that makes no sense."""
    if not 0 < force <= MOST:
        raise ValueError(f"force: {force:g} N is not in the range; allowed is above 0 to {MOST:g} N, pressing down")
    if not root > 0:
        raise ValueError(f"root: {root:g} N mm/rad is no spring; allowed is above 0, infinite for a clamped root")


def frets_past_joint(design: Any, d: Dimensions) -> np.ndarray:
    """Frets on the tongue, (frets,)."""
    frets = np.arange(design.board.joint_fret + 1, design.board.last_fret + 1)
    return frets[np.min(np.atleast_1d(d.x_fret(column(frets, d.batch))), axis=tuple(range(1, d.batch + 1))) > 0]


def _axes(d: Dimensions, changes: dict[str, Array]) -> int:
    """Number of batch axes; ``wood`` alone may be given station by station, its first axis is no batch."""
    return max([d.batch, *(np.ndim(v) - (k == "wood") for k, v in changes.items())])


def tip_stiffness(design: Any, d: Dimensions | None = None, *, slots: str = "likely", **changes: Array) -> Array:
    """Force at the tongue's tip for each mm that it gives there [N/mm], (*batch): bending alone, root clamped.

    ``changes``: see :func:`lutherie_geom.mechanics.tongue_sections.sections`.
    """
    d = d or design.dimensions()
    u, w = (column(a, _axes(d, changes)) for a in gauss())
    s = sections(design, u * d.tongue_length, d, slots=slots, **changes)
    return 1 / (np.asarray(d.tongue_length) ** 3 * (w * (1 - u) ** 2 / s.rigidity).sum(axis=0))


@dataclass(frozen=True)
class Pressed:
    """The tongue pressed down at frets, arrays (frets, *batch).

    x: the frets [mm past the joint]; give: deflection under the finger [mm], shear included; tip: at the tongue's end [mm];
    slope: of the tongue there [rad]; shear: what shear adds to the bending under the finger, as a part [1]; twist: what an
    outer string's fret gives more than the middle [mm]; touch: force at which the tongue meets the top [N]; touch_x: where
    [mm past the joint].
    """

    frets: np.ndarray
    force: float
    x: Array
    give: Array
    tip: Array
    slope: Array
    shear: Array
    twist: Array
    touch: Array
    touch_x: Array


def pressed(design: Any, d: Dimensions | None = None, *, frets: Any = None, force: float = FINGER, at: Pose | None = None,
            root: float = np.inf, slots: str = "likely", **changes: Array) -> Pressed:
    """The tongue under a finger of ``force`` [N] at each of ``frets`` past the joint, pressing straight down.

    ``at``: pose of the neck, for the gap to the top; ``root``: spring at the joint [N mm/rad]. ``changes``: see ``sections``.
    Raises ValueError when a fret does not lie on the tongue, and for a force or a spring that is not above 0.
    """
    _asked(force, root)
    d = d or (at.of if at else design.dimensions())
    frets = frets_past_joint(design, d) if frets is None else np.atleast_1d(frets)
    p = at or pose(d)
    n = max(_axes(d, changes), p.batch)
    length = np.asarray(d.tongue_length, dtype=float)
    x_fret = np.asarray(d.x_fret(column(frets, n)))
    for f, x in zip(frets, x_fret, strict=True):
        if np.any(x <= 0) or np.any(x > length + 3):
            raise ValueError(f"frets: fret {f:g} lies {float(np.min(x)):.1f} mm past the joint; the tongue reaches from 0 to "
                             f"{float(np.min(length)):.1f} mm")
    a = np.minimum(x_fret, length)  # a board cut off at the last fret ends in its crown
    u, w = (column(v, n + 1) for v in gauss())
    s = sections(design, u * a, d, slots=slots, **changes)
    bent = (1 - u) * a / s.rigidity  # curvature for each newton
    slid = 1 / s.shear_stiffness
    slope = a * running(bent) + a / root
    curve = a * (running(slope) + running(np.broadcast_to(slid, slope.shape)))
    end = a * (w * bent).sum(axis=0) + a / root
    bending = a**2 * (w * (1 - u) * bent).sum(axis=0) + a**2 / root
    sliding = a * (w * slid).sum(axis=0)
    give = bending + sliding
    tip = give + end * (length - a)
    outer = np.max(np.abs(string_places(p, frets.astype(float))), axis=0)
    outer = outer.reshape(outer.shape + (1,) * (n + 1 - outer.ndim))
    twist = force * outer**2 * a * (w / s.torsion_stiffness).sum(axis=0)
    # Where it could touch: the stations, and the tip, in the middle and at both edges.
    x = np.concatenate([u * a, np.broadcast_to(length, (1, *a.shape))])
    flex = np.concatenate([curve, np.broadcast_to(tip, (1, *curve.shape[1:]))])
    edge = np.asarray(d.tongue_width) / 2
    room = np.min([gap(p, x, side * edge) for side in (-1.0, 0.0, 1.0)], axis=0)
    needed = np.maximum(room, 0.0) / flex
    k = needed.argmin(axis=0)[None]
    where = np.take_along_axis(np.broadcast_to(x, needed.shape), k, 0)[0]
    return Pressed(frets, force, x_fret, force * give, force * tip, force * end, sliding / bending, twist,
                   needed.min(axis=0), where)


def note_name(frequency: float) -> str:
    """The note nearest to a frequency [Hz] with the cents it is off: ``F sharp 5 +12 cents``."""
    number = float(tongue_beam.note_number(frequency=frequency))
    whole = round(number)
    return f"{_NAMES[whole % 12]} {whole // 12 - 1} {100 * (number - whole):+.0f} cents"


def beam_note(s: Sections, span: Array, root: float = np.inf) -> tuple[Array, Array]:
    """First natural frequency [Hz] and sag of the tip under the own weight [mm] of a cantilever of ``span`` [mm], (*batch).

    ``s`` are its sections at the Gauss stations. The shape is that of its own inertia, found in four rounds; shear counts,
    rotary inertia does not. Root clamped, or on a spring ``root`` [N mm/rad].
    """
    n = np.ndim(s.rigidity) - 1
    w = column(gauss()[1], n)
    mass = np.broadcast_to(s.line_mass, np.shape(s.rigidity))

    def under(load: Array) -> tuple[Array, Array]:
        beyond = span * ((w * load).sum(axis=0) - running(load))
        moment = span * ((w * beyond).sum(axis=0) - running(beyond))
        turn = moment / s.rigidity
        start = span * (w * beyond).sum(axis=0) / root
        slope = span * running(turn) + start
        slid = beyond / s.shear_stiffness
        return span * (running(slope) + running(slid)), span * (w * (slope + slid)).sum(axis=0)

    sag = under(mass * GRAVITY * 1e-3)[1]
    shape, _ = under(mass)
    for _ in range(4):
        load = mass * shape
        answer, tip = under(load)
        k = span * (w * load * answer).sum(axis=0) / tip**2
        line = (w * mass * answer**2).sum(axis=0) / tip**2
        shape = answer / tip
    return tongue_beam.rayleigh_frequency(stiffness=k, line_mass=line, span=span), sag


def ring(design: Any, d: Dimensions | None = None, *, root: float = np.inf, slots: str = "likely", **changes: Array
         ) -> tuple[Array, Array]:
    """First natural frequency of the tongue [Hz] and the sag of its tip under its own weight [mm], (*batch).

    Raises ValueError for a spring ``root`` [N mm/rad] that is not above 0.
    """
    _asked(FINGER, root)
    d = d or design.dimensions()
    x = column(gauss()[0], _axes(d, changes)) * d.tongue_length
    return beam_note(sections(design, x, d, slots=slots, **changes), np.asarray(d.tongue_length, dtype=float), root)


@dataclass(frozen=True)
class Note:
    """First natural frequency [Hz] with slots counted most and not at all, and in words."""

    low: float
    likely: float
    high: float

    def __str__(self) -> str:
        return f"{self.likely:.0f} Hz, near {note_name(self.likely)} ({self.low:.0f} to {self.high:.0f} Hz as the slots count)"


@dataclass(frozen=True)
class Tongue:
    """Report on a tongue. ``give``, ``tip`` [mm], ``touch`` [N] as (least, likely, most) by the way in which slots count."""

    name: str
    force: float
    fret: int
    length: float
    wood: tuple[float, float]
    rigidity: tuple[float, float]
    neutral: tuple[float, float]
    give: tuple[float, float, float]
    tip: tuple[float, float, float]
    slope: float
    shear: float
    shear_span: float
    twist: float
    touch: tuple[float, float, float]
    touch_x: float
    note: Note
    highest_fretted: float
    sag: float
    creep: float
    creep_source: str

    def __str__(self) -> str:
        played = "within" if self.note.likely <= self.highest_fretted else "above"
        return folded(
            f"{self.name}: {self.force:g} N at fret {self.fret} press the tongue down by {self.give[1]:.2f} mm there and "
            f"{self.tip[1]:.2f} mm at its tip; it meets the top at {self.touch[1]:.0f} N",
            f"  slots: {self.give[0]:.2f} mm if none counted, {self.give[2]:.2f} mm if cut all along, meeting the top at "
            f"{self.touch[0]:.0f} N and {self.touch[2]:.0f} N. A finger stretches the board's top, so slots count as open",
            f"  where it meets first: {self.touch_x:.0f} mm past the joint; slope at the finger {np.degrees(self.slope):.2f} deg",
            f"  under an outer string twist adds {self.twist:.2f} mm",
            f"  neck wood {self.wood[0]:.2f} mm at the joint, {self.wood[1]:.2f} mm at the tip; EI {self.rigidity[0] / 1e6:.1f} "
            f"to {self.rigidity[1] / 1e6:.1f} N m^2; neutral axis {self.neutral[0]:+.1f} to {self.neutral[1]:+.1f} mm from the "
            "glue line, up is plus",
            f"  shear adds {100 * self.shear:.0f} % to the bending (counted); more than a twentieth for spans under "
            f"{self.shear_span:.0f} depths",
            f"  rings at {self.note}, {played} the fretted notes (highest {self.highest_fretted:.0f} Hz)",
            f"  sags {1000 * self.sag:.1f} um under its own weight, {1000 * self.sag * self.creep:.1f} um after years (factor "
            f"{self.creep:g}, {self.creep_source}). A finger is gone before the wood creeps; a clip left on adds its own "
            f"give {self.creep:g} times over",
            "  left out: what gives in joint and neck (the root is clamped; give root= for a spring), so true give is more and "
            "the note lower; glue lines that slip; one board against its species, a fifth either way (from memory); a species' "
            "modulus comes from bending tests and is a tenth low for the shear in them (from memory)")

    __repr__ = __str__


def tongue(design: Any, *, force: float = FINGER, fret: int | None = None, at: Pose | None = None, root: float = np.inf
           ) -> Tongue:
    """Report on the tongue of a design: give and tip under ``force`` [N] at ``fret`` (the last, if not said), its note, creep.

    ``at``: pose of the neck; ``root``: spring at the joint [N mm/rad]. Raises ValueError as :func:`pressed`.
    """
    d = at.of if at else design.dimensions()
    last = int(frets_past_joint(design, d)[-1]) if fret is None else fret
    by = [pressed(design, d, frets=last, force=force, at=at, root=root, slots=s) for s in ("none", "likely", "most")]
    rings = [float(ring(design, d, root=root, slots=s)[0]) for s in ("most", "likely", "none")]
    sag = float(ring(design, d, root=root)[1])
    ends = sections(design, np.array([0.0, float(d.tongue_length)]), d)
    neck, years = wood(design.woods.neck), creep_factor()

    def three(name: str) -> tuple[float, float, float]:
        a, b, c = (float(getattr(p, name)[0]) for p in by)
        return a, b, c

    def two(values: Array) -> tuple[float, float]:
        a, b = np.broadcast_to(values, 2).tolist()
        return a, b

    top = float(np.max(strings_of(design, at or pose(d)).pitch)) * 2 ** (design.board.last_fret / 12)
    return Tongue(design.name, force, last, float(d.tongue_length), two(ends.wood), two(ends.rigidity), two(ends.whole.centroid),
                  three("give"), three("tip"), float(by[1].slope[0]), float(by[1].shear[0]),
                  float(tongue_beam.span_for_shear(modulus=neck.modulus, shear_modulus=shear_modulus(neck),
                                                   shear_factor=SHEAR_FACTOR, added=0.05)),
                  float(by[1].twist[0]), three("touch"), float(by[1].touch_x[0]), Note(*rings), top, sag, years.value,
                  f"{years.source}, {years.mark}")
