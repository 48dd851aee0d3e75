"""The cut list: parts with grain and raw sizes, screws and metal to buy, the raw pocket, what stays bare, how dry the wood is."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from lutherie_geom.design.units import System, format_length
from lutherie_geom.joint.bores import COVER, has_insert, one_rod
from lutherie_geom.shop.hardware import STACK, Chosen, ball_head, chosen_screws, said
from lutherie_geom.shop.paper.entities import measure
from lutherie_geom.shop.paper.title_block import Job
from lutherie_geom.shop.templates.block import CARD
from lutherie_geom.shop.templates.ground import Ground
from lutherie_geom.shop.templates.tongue import STOP
from lutherie_geom.theory.climate import emc_glass

__all__ = ["BARE", "CAUTIONS", "CutList", "CutRow", "cut_list", "room_for"]

BARE = (
    "the pocket's floor where the ball heads, the clamp screw and the tilt screw pass: a run of finish there is a shim",
    "the seats of the pivot screws, the captive head's bed, threads and receivers",
    "the heel's end face, the neck's glue face and the board's underside",
    "the soundboard under the bridge, and where the cover is glued over the captive head",
)
"""Where no finish goes: common practice, no source."""
CAUTIONS = (
    "Saw, planer and router: guards on, eye, ear and dust protection, push sticks; follow your machines' and your local rules.",
    "Dust of rosewoods, of carbon and of finish harms lungs and skin: mask, extraction, gloves.",
    "Screws carry the strings' pull: no unmarked hardware. What this list says of strength leaves out knots, short grain and "
    "bad glue.",
)
SAW, PLANE = 10.0, 2.0
"""What is left on in length, and in width and thickness, when a part is sawn out [mm]: common practice, no source."""
_GRAIN = {"up": "grain upright, from back to soundboard", "across": "grain across the body, from side to side",
          "along": "grain along the body"}


@dataclass(frozen=True)
class CutRow:
    """A part: finished length, width and thickness [mm], how many, of what, which way the grain runs."""

    part: str
    count: int
    wood: str
    size: tuple[float, float, float]
    grain: str
    note: str = ""

    @property
    def sawn(self) -> tuple[float, float, float]:
        """Size to saw out [mm]; metal and rods at their own size."""
        if not self.grain:
            return self.size
        return self.size[0] + SAW, self.size[1] + PLANE, self.size[2] + PLANE


@dataclass(frozen=True)
class CutList:
    """What to buy and cut for one joint. ``pocket``: (words, mm) of the raw pocket; ``moisture`` [%] at which it is glued, and
    the humidity of the air [%] at 21 °C in which wood comes to rest there."""

    name: str
    units: System
    parts: tuple[CutRow, ...]
    screws: tuple[Chosen, ...]
    metal: tuple[tuple[str, int, str], ...]
    pocket: tuple[tuple[str, float], ...]
    bare: tuple[str, ...]
    moisture: float
    humidity: float

    def say(self, mm: float) -> str:
        """A length in the list's units."""
        return said(mm, self.units)

    def fine(self, mm: float) -> str:
        """A length to 0.01 mm or 0.001 in, for what is routed."""
        return f"{measure(mm, self.units)} {'mm' if self.units == 'mm' else 'in'}"

    def sizes(self, size: tuple[float, float, float]) -> str:
        """Three lengths in a row."""
        return " × ".join(self.say(v) for v in size)

    def engaged(self, c: Chosen) -> str:
        """How a screw stands over the travel, in words."""
        return (f"holds {self.say(c.held)} at least ({self.say(c.needed)} needed), {self.say(c.room)} clear at its end"
                f"{'' if c.ok else ': NOT ENOUGH'}")

    def bought(self, c: Chosen) -> str:
        """What to ask for in the shop."""
        own: System = "inch" if c.named.inch else "mm"  # a metric screw is sold in millimetres whatever the drawing says
        long, cut = (format_length(v, own, 1) if v is not None else "" for v in (c.length, c.cut_to))
        return f"{c.named.name} × {long}{f', cut to {cut}' if cut else ''}, {c.what}, class {c.strength}, key {c.key}"

    @property
    def air(self) -> str:
        """How dry the wood must be, and in which air it gets there."""
        return (f"Glue at {self.moisture:g} % moisture: wood comes to rest there in air of about {self.humidity:.0f} % at 21 "
                "°C. Leave block, neck and board in that air until they stop losing or gaining weight.")

    def __str__(self) -> str:
        lines = [f"Cut list: {self.name}", "", "Wood (finished; sawn out)"]
        lines += [f"  {r.count} × {r.part}, {r.wood}: {self.sizes(r.size)}; "
                  f"{self.sizes(r.sawn)}{f'; {r.grain}' if r.grain else ''}"
                  f"{f'; {r.note}' if r.note else ''}" for r in self.parts]
        lines += ["", "Screws"]
        for c in self.screws:
            lines += [f"  {c.count} × {c.where}: {self.bought(c)}", f"      {self.engaged(c)}{f'; {c.note}' if c.note else ''}"]
        lines += ["", "Metal", *(f"  {n} × {what}: {words}" for what, n, words in self.metal), "", "Raw pocket, before finish"]
        lines += [f"  {words}: {self.fine(mm)}" for words, mm in self.pocket]
        lines += ["", "Leave bare", *(f"  {b}" for b in self.bare), "", self.air, "", *(f"Take care: {c}" for c in CAUTIONS)]
        return "\n".join(lines)


def room_for(moisture: float, temperature: float = 21.0) -> float:
    """Relative humidity [%] in which wood comes to rest at a moisture content [%], at a temperature [degC]."""
    air = np.linspace(1.0, 99.0, 981)
    return float(np.interp(moisture, np.asarray(emc_glass(temperature=temperature, humidity=air), dtype=float), air))


def _parts(g: Ground) -> Iterator[CutRow]:
    design, d = g.design, g.d
    w, h, t, block, board = design.woods, design.heel, design.tongue, design.block, design.board
    glue = float(g.glue_face(0.0))
    from_nut = -float(d.x_nut)
    yield CutRow("neck block", 1, w.block, (-block.foot_z - design.body.top_thickness, 2 * (h.half_width_top + CARD),
                                            block.depth),
                 _GRAIN[w.block_grain] + (f", {math.degrees(w.block_runout):g} deg out of it" if w.block_runout else ""),
                 "height, width, along the body; the width is the least that the drilling card covers")
    yield CutRow("neck with tongue", 1, w.neck, (design.headstock.length + from_nut + t.length, max(board.width_last, t.width),
                                                  max(design.neck.depth_joint - board.thickness, glue)), "grain along the neck",
                 "thickness without board and heel; quarter-sawn, or nearly")
    yield CutRow("heel", 1, w.neck, (h.length, 2 * h.half_width_top, glue - h.foot_z), "grain along the neck, as the neck's",
                 "from the end face; one piece with the neck, or stacked with its grain the same way")
    yield CutRow("fingerboard", 1, w.board, (from_nut + t.length, max(board.width_last, t.width), board.thickness),
                 "grain along the neck")
    s = design.tilt_screw
    yield CutRow("cover over the captive head", 1, w.block, (s.cover_height, s.cover_width, COVER), "grain as the block's",
                 f"hole for the key Ø {g.say(s.cover_hole)}; glued on only when the bench proof is passed")
    if t.rods and t.rod_diameter:
        yield CutRow("tongue rod", t.rods, "carbon rod", (g.job.into_neck + t.length - STOP,
                                                         t.rod_width if t.rod_shape == "flat" and t.rod_width else t.rod_diameter,
                                                         t.rod_diameter), "", "wet cutting, mask and gloves")


def _metal(g: Ground) -> Iterator[tuple[str, int, str]]:
    design, v, t, c = g.design, g.design.pivot, g.design.tilt_screw, g.design.clamp
    ball = ball_head(design)
    words = f"radius {g.say(v.ball_radius)}"
    yield ("ball head in the heel", 2, f"{words}: a {ball.near} button head (its cap has {g.say(ball.cap)})" if ball.fits else
           f"{words}: a true ball Ø {g.say(2 * v.ball_radius)} on a stud; no button head has that cap (nearest {ball.near}, "
           f"{g.say(ball.cap)})")
    if has_insert(design):
        yield ("insert for a pivot screw", 2,
               f"Ø {g.say(v.insert_diameter)}, {g.say(v.insert_length)} long, tapped for the pivot screw")
    word = "cross dowel" if t.receiver == "dowel across" else "rod along the heel"
    if one_rod(design):
        yield (f"receiver of both screws, {word}", 1,
               f"{t.receiver_metal}, Ø {g.say(t.receiver_diameter)}, {g.say(t.receiver_length)} long, tapped across twice")
    else:
        for name, part in (("tilt", t), ("clamp", c)):
            yield (f"receiver of the {name} screw, {word}", 1, f"{t.receiver_metal}, Ø {g.say(part.receiver_diameter)}, "
                   f"{g.say(part.receiver_length)} long, tapped across its middle")
    yield "washer under the captive head", 1, f"Ø {g.say(t.washer_diameter)} ({t.head} head)"
    yield ("washer spring behind the captive head", 1,
           f"{t.spring_rate:g} N/mm, {t.spring_push:g} N pressed in, {g.say(t.spring_room)} of room")
    yield ("washer with springs under the clamp's head", 1,
           f"Ø {g.say(c.washer_diameter)}, {c.spring_rate:g} N/mm together")


def _pocket(g: Ground) -> Iterator[tuple[str, float]]:
    p, h, f = g.design.pocket, g.design.heel, g.job.finish
    off = f.side
    yield "depth from the sides' outside", p.depth + f.floor
    yield "width at the soundboard", 2 * g.half(0.0, side_gap=p.side_gap, beyond=off)
    yield "width at the heel's foot (height of the foot)", 2 * g.half(h.foot_z, side_gap=p.side_gap, beyond=off)
    yield "from the soundboard to the pocket's foot", -h.foot_z + p.side_gap + off
    yield "film on the floor", f.floor
    yield "film on each cheek of the pocket", f.cheeks
    yield "film on each cheek of the heel", f.heel
    yield "corners left by the bit, radius", g.job.cutter.bit / 2


def cut_list(design: Any, job: Job | None = None, *, stack: float = STACK) -> CutList:
    """The cut list of a design. ``stack``: washer and springs under the clamp's head [mm]; films and bit stand in ``job``."""
    g = Ground(design, job)
    return CutList(design.name, g.units, tuple(_parts(g)), tuple(chosen_screws(design, stack=stack, units=g.units)),
                   tuple(_metal(g)), tuple(_pocket(g)), BARE, float(design.woods.moisture),
                   room_for(float(design.woods.moisture)))
