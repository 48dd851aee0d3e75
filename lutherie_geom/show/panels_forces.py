"""Forces in the joint: the neck as a free body, what handling asks of the clamp, and the push that lifts a seat.

Reached directly: ``from lutherie_geom.show import panels_forces``. Forces in N, lengths in mm, turns in turns.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.figure import Figure

from lutherie_geom.design.carried import Load
from lutherie_geom.joint.pose import Pose, pose
from lutherie_geom.mechanics.forces import forces, over_travel
from lutherie_geom.mechanics.letting_go import CAUTION, letting_go
from lutherie_geom.mechanics.loads import load_wrench
from lutherie_geom.mechanics.no_lift import least_clamp, side_push
from lutherie_geom.mechanics.pull import string_pull
from lutherie_geom.mechanics.statics import balance, joint_of
from lutherie_geom.show import book_forces as drawn
from lutherie_geom.show import panels as stagehand
from lutherie_geom.show.sheet import HandSheet
from lutherie_geom.show.style import COLOURS, legend, line_style

__all__ = ["forces_sheet", "free_body_picture", "lets_go", "loads_picture", "reversal_picture", "screw_over_travel_picture"]

MOST = 150.0
"""Push at the headstock's end to which the sheet's curves run [N]."""
ARROW = 0.042
"""Length of the sheet's arrows [mm of the drawing to the newton]."""


def free_body_picture(design: Any) -> Figure:
    """The neck as a free body, strings at pitch and clamp at its preload: arrows to one scale of force [N]."""
    return drawn.free_body(design, forces(design))


def loads_picture(design: Any) -> Figure:
    """Least clamp force of every load of handling beside the preload [N]."""
    return drawn.least_clamps(forces(design))


def reversal_picture(design: Any) -> Figure:
    """The tilt screw's force against a push on the headstock's end [N], with friction's dead band and the cover's share."""
    return drawn.reversing(design, forces(design))


def screw_over_travel_picture(design: Any) -> Figure:
    """The tilt screw's force over the travel [N over turns]."""
    return drawn.over_the_travel(design, over_travel(design, steps=25))


def lets_go(design: Any) -> Any:
    """What each single part's failure does, as a table with its caution (Markdown; mm, deg, J)."""
    from IPython.display import Markdown

    found = letting_go(design)
    rows = ["| what fails | until | nut moves | action at fret 12 | strings give up |", "|---|---|---|---|---|"]
    for f in found.failures:
        if np.isfinite(f.nut_way):
            rows.append(f"| {f.part} | {f.caught_by} | {f.nut_way:.1f} mm | {f.action:+.1f} mm | "
                        f"{stagehand.plain(f.released / 1000):.2f} J |")
        else:
            rows.append(f"| {f.part} | nothing moves at once | - | - | - |")
    said = "\n".join(f"- *{f.part}*: {f.words}" for f in found.failures)
    stored = found.pull.energy.sum() / 1000
    left_out = "Left out: what breaks next, friction that holds for a while and then lets go at once, the give of the wood."
    return Markdown("\n".join([*rows, "", said, "", f"The strings store {stored:.2f} J. {left_out}", "",
                               f"> **Caution.** {CAUTION}"]))


def _hand(direction: str) -> Load:
    return Load.model_validate(dict(name="hand", push="1 N", direction=direction))


def forces_sheet(design: Any) -> HandSheet:
    """Pivot height and arm [mm], string pull and preload [N], pushes at the headstock's end [N], to either side and back: screw,
    seats, least clamp."""
    base, free = design.dimensions(), _hand("back").model_copy(update={"push": 0.0})
    drawing, (side, curve) = stagehand.stage((1.0, 1.05), 195.0, 96.0)
    view = stagehand.SideView(side, design, times=1.0)
    for part in (*view.words, view.string, view.head, view.screw, view.clamp):
        part.set_visible(False)
    side.set_xlim(-95, 104)
    stagehand.headline(side, "What acts on the neck, to one scale of force")
    arrows = {name: drawn.arrow(side, colour, (0, 0), (1, 0)) for name, colour in drawn.ARROWS.items()}
    texts = {name: side.text(0, 0, "", fontsize=8.5, fontweight="bold", va="center", zorder=8) for name in arrows}
    stagehand.axes_of(curve, "push to the bass (minus) or the treble (plus) [N]", "force [N]",
                      (-MOST, MOST), (-700, 3600))
    curve.axhspan(-700, 0, color=COLOURS["stop"], alpha=0.12, lw=0)
    curve.text(0, -660, "a seat would have to pull: it lifts", ha="center", fontsize=8.5, color=COLOURS["stop"])
    (bass,) = curve.plot([], [], **line_style(0), label="bass seat pushes")
    (treble,) = curve.plot([], [], **line_style(1), label="treble seat pushes")
    (need,) = curve.plot([], [], **line_style(2), label="least clamp force")
    (now,) = curve.plot([], [], color=COLOURS["string"], lw=1)
    (dots,) = curve.plot([], [], "o", color=COLOURS["string"], ms=6, zorder=6)
    legend(curve, "upper center")
    finding = stagehand.headline(curve)
    pull_here = float(string_pull(design).total)
    pushes = np.linspace(-MOST, MOST, 61)

    def wrenches(p: Pose, strings: Any, back: float) -> tuple[Any, Any]:
        """Strings, weight and the push back together, and one newton to the treble, on the neck: (6,) each."""
        weight = load_wrench(design, p, free)
        each = [load_wrench(design, p, _HANDS[k]) - weight for k in ("back", "to the treble")]
        return strings + weight + back * each[0], each[1]

    def update(v: dict[str, float]) -> str:
        low = -v["depth"] - v["arm"]
        p = pose(base.replaced(z_p=-v["depth"], z_head=low, z_receiver=low))
        view.draw(p)
        joint, strings = joint_of(design, p), string_pull(design, p)
        rest, aside = wrenches(p, strings.wrench * (v["pull"] / pull_here), v["back"])
        # The last push is the slider's own.
        wrench = rest + np.append(pushes, v["side"])[:, None] * aside
        r, least = balance(joint, wrench, v["preload"]), least_clamp(joint, wrench)
        for line, force in zip((bass, treble, need), (*r.seat_push, least), strict=True):
            line.set_data(pushes, force[:-1])
        at = [float(y[-1]) for y in (*r.seat_push, least)]
        now.set_data([v["side"]] * 2, [-700, 2500])
        dots.set_data([v["side"]] * 3, at)
        tilt, z_s = float(r.tilt[0]), float(strings.point[2])
        start = {"strings": (20.0, z_s + 3, v["pull"]), "tilt screw": (float(base.x_receiver), low, tilt),
                 "clamp screw": (float(design.clamp.receiver_x), -v["depth"] - design.clamp.below_axis, v["preload"]),
                 "seats": (float(base.x_p), -v["depth"] - 7, -at[0] - at[1])}
        for name, (x, z, force) in start.items():
            end = float(np.clip(x + ARROW * force, -92, 100))
            arrows[name].set_position((x, z))
            arrows[name].xy = (end, z)
            texts[name].set_text(f"{name} {stagehand.plain(abs(force) if name == 'seats' else force, 0):.0f} N")
            texts[name].set_position({"seats": (-92.0, z - 7), "clamp screw": (8.0, z - 7)}.get(name, (8.0, z + 8)))
        lifts = [side_ for side_, n in (("bass", at[0]), ("treble", at[1])) if n < 0]
        state = f", the {lifts[0]} seat has lifted" if lifts else ", a ball climbs" if at[2] > v["preload"] else ""
        climbs = side_push(joint, rest + v["preload"] * joint.clamp_pull)
        ends = [f"{n:.0f} N" if n <= MOST else f"over {MOST:.0f} N" for n in climbs]
        finding.set_text(f"A ball climbs: {ends[0]} to the bass, {ends[1]} to the treble")
        asked = f"{at[2]:.0f} N" if np.isfinite(at[2]) else "none holds this"
        push = f"tension {tilt:.0f} N" if tilt >= 0 else f"pushed with {-tilt:.0f} N: spring and cover carry it"
        return (f"Tilt screw: {push}. Seats push {at[0]:.0f} N (bass) and {at[1]:.0f} N (treble)"
                f"{state}. Least clamp force with which no ball climbs: {asked}.")

    # It opens on the worse side: the seat that the strings load less lifts first.
    worse = (-50.0, 50.0)[side_push(joint_of(design), string_pull(design).wrench).argmin()]
    controls = [stagehand.slider("depth", "pivot below the top", -float(base.z_p), 8.0, 45.0, 1.0,
                                 field=("pivot.z", lambda v: stagehand.mm(-v["depth"]))),
                stagehand.slider("arm", "tilt screw below the pivot", float(base.z_p - base.z_head), 25.0, 75.0, 1.0,
                                 field=tuple((f"tilt_screw.{end}_z", lambda v: stagehand.mm(-v["depth"] - v["arm"]))
                                             for end in ("head", "receiver"))),
                stagehand.slider("pull", "pull of the strings", round(pull_here), 0.0, 1100.0, 1.0, "N"),
                stagehand.slider("side", "push to bass (-) or treble (+)", worse, -MOST, MOST, 1.0, "N"),
                stagehand.slider("back", "push back", 0.0, -60.0, 100.0, 1.0, "N"),
                stagehand.slider("preload", "clamp screw", float(design.clamp.preload), 0.0, 1500.0, 10.0, "N", "clamp.preload")]
    curves = [bass, treble, need, now, dots, finding]
    return HandSheet(drawing, controls, [*view.artists, *arrows.values(), *texts.values(), *curves], update, design=design)


_HANDS = {k: _hand(k) for k in ("back", "to the treble")}
