"""Templates in a notebook: the drawings as pictures, tiles on the paper, and what bush and bit make of the pocket."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np
from matplotlib import rc_context
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Circle as Disc
from matplotlib.patches import Polygon, Rectangle

from lutherie_geom.shop.order.access import Cutter
from lutherie_geom.shop.paper.drawing import Drawing
from lutherie_geom.shop.paper.drawn import extents, primitives
from lutherie_geom.shop.paper.entities import LAYERS, Arc, Circle, Entity, Line, Path, Text, polar
from lutherie_geom.shop.paper.tiles import OVERLAP, registration, tiles
from lutherie_geom.shop.paper.title_block import Finish, Job
from lutherie_geom.shop.paper.write_pdf import CAPITAL
from lutherie_geom.shop.templates.block import pocket_shape
from lutherie_geom.shop.templates.ground import Ground
from lutherie_geom.shop.templates.templates import templates, views
from lutherie_geom.shop.templates.tongue import frets_on_tongue
from lutherie_geom.show import panels as stagehand
from lutherie_geom.show.sheet import HandSheet
from lutherie_geom.show.style import COLOURS, LOOK, MM_PER_INCH, SCREEN_DPI, legend, line_style
from lutherie_geom.theory.templates import heel_corner, template_offset

__all__ = ["preview", "router_sheet", "template_picture", "tiles_picture"]

_POINT = 72 / MM_PER_INCH  # points in a millimetre


def _draw(axes: Axes, entities: Iterable[Entity], scale: float, *, words: bool = True) -> None:
    """Every entity in its layer's line, as large as the figure's scale makes it [1]; without ``words`` if they were too small."""
    for e in primitives(entities):
        layer = LAYERS[e.layer]
        width = max(layer.width * _POINT * scale, 0.4)
        dashes: Any = (0, tuple(d * scale * _POINT / width for d in layer.dashes)) if layer.dashes else "-"
        look: dict[str, Any] = {"color": layer.colour, "lw": width, "ls": dashes}
        if isinstance(e, Line):
            axes.plot([e.x1, e.x2], [e.y1, e.y2], **look)
        elif isinstance(e, Path):
            axes.add_patch(Polygon(e.points, closed=e.closed, fill=e.filled, facecolor=layer.colour, edgecolor=layer.colour,
                                   lw=0 if e.filled else width, ls=dashes))
        elif isinstance(e, Circle):
            axes.add_patch(Disc((e.x, e.y), e.radius, fill=False, edgecolor=layer.colour, lw=width, ls=dashes))
        elif isinstance(e, Arc):
            at = np.array([polar(e.x, e.y, e.radius, a) for a in np.linspace(e.start, e.end, 41)])
            axes.plot(at[:, 0], at[:, 1], **look)
        elif isinstance(e, Text) and words:
            size = max(e.height / CAPITAL * _POINT * scale, 5.5)
            axes.text(e.x, e.y, e.words, fontsize=size, color=layer.colour, ha={"start": "left", "middle": "center",
                                                                                "end": "right"}[
                e.anchor], va="baseline", rotation=e.turn, rotation_mode="anchor")


def _bare(box: tuple[float, float, float, float], widest: float, highest: float) -> tuple[Figure, Axes, float]:
    """A figure without axes that shows a box [mm] no larger than so many mm; its scale [1]."""
    x0, y0, x1, y1 = box
    scale = min(widest / (x1 - x0), highest / (y1 - y0), 1.0)
    wide, high = max((x1 - x0) * scale, 175.0) / MM_PER_INCH, (y1 - y0) * scale / MM_PER_INCH + 0.3  # room for the words over it
    with rc_context(LOOK):
        drawing = Figure(figsize=(wide, high), dpi=SCREEN_DPI)
        axes = drawing.add_axes((0.0, 0.0, 1.0, 1 - 0.3 / high))
    middle, half = (x0 + x1) / 2, wide * MM_PER_INCH / scale / 2
    axes.set(xlim=(middle - half, middle + half), ylim=(y0, y1))
    axes.axis("off")
    return drawing, axes, scale


def preview(drawing: Drawing, words: str = "") -> Figure:
    """A whole sheet as it will be printed, smaller; ``words`` over it (default: its title)."""
    figure, axes, scale = _bare((-1.0, -1.0, drawing.width + 1, drawing.height + 1), 195.0, 230.0)
    _draw(axes, drawing.entities, scale)
    stagehand.headline(axes, words or drawing.title)
    return figure


def template_picture(design: Any, key: str, job: Job | None = None) -> Figure:
    """One template without its frame, lengths in the design's unit; over it what it settles. ValueError for an unknown key."""
    (view,) = views(design, job, only=(key,))
    x0, y0, x1, y1 = extents(view.entities)
    figure, axes, scale = _bare((x0 - 3, y0 - 3, x1 + 3, y1 + 3), 195.0, 135.0)
    _draw(axes, view.entities, scale)
    stagehand.headline(axes, _finding(Ground(design, job), view.key, view.title))
    return figure


def _finding(g: Ground, key: str, title: str) -> str:
    if key == "pocket-routing":
        cut = g.job.cutter
        offset = float(template_offset(bush_diameter=cut.bush, bit_diameter=cut.bit))
        deep = g.design.pocket.depth + g.job.finish.floor
        return (f"A {cut.bush:g} mm bush, a {cut.bit:g} mm bit: the template stands {offset:.2f} mm off a pocket "
                f"{deep:.2f} mm deep")
    if key == "tongue-rails":
        found = frets_on_tongue(g)
        (first, _, thick), (last, _, thin) = found[0], found[-1]
        return f"Neck wood under the board: {thick:.2f} mm at fret {first}, {thin:.2f} mm at fret {last}"
    return title


def tiles_picture(design: Any, paper: str = "A4", key: str = "story-stick") -> Figure:
    """A sheet larger than the paper, cut into tiles: where each lies, and the rings that meet (mm)."""
    (sheet,) = templates(design, only=(key,))
    grid = tiles(sheet, paper)
    low = min(0.0, *(t.y for t in grid))
    far = max(sheet.width, *(t.x + t.width for t in grid))
    figure, axes, scale = _bare((-4.0, low - 4, far + 4, sheet.height + 4), 205.0, 130.0)
    _draw(axes, (*sheet.entities, *registration(sheet, grid)), scale, words=False)
    for k, t in enumerate(grid):
        axes.add_patch(Rectangle((t.x, t.y), t.width, t.height, facecolor=COLOURS["gap" if k % 2 else "highlight"], alpha=0.22,
                                 lw=0))
        axes.text(t.x + t.width / 2, t.y + 6, f"sheet {k + 1}", fontsize=9, ha="center", va="bottom")
    stagehand.headline(axes, f"{sheet.width:.0f} mm on {paper}: {len(grid)} sheets that overlap by {OVERLAP:g} mm, ring on ring")
    return figure


def _points(entities: Iterable[Entity]) -> np.ndarray:
    """Lines and arcs of a pocket's outline as one run of points [mm], from the treble cheek's top round the foot."""
    left: list[tuple[float, float]] = []
    right: list[tuple[float, float]] = []
    foot: list[tuple[float, float]] = []
    for e in entities:
        if isinstance(e, Arc):
            at = [polar(e.x, e.y, e.radius, a) for a in np.linspace(e.start, e.end, 16)]
            (right if e.x > 0 else left).extend(at)
        elif isinstance(e, Line):
            (foot if e.y1 == e.y2 else right if e.x1 > 0 else left).extend([(e.x1, e.y1), (e.x2, e.y2)])
    run = sorted(left, key=lambda p: -p[1]) + sorted(foot) + sorted(right, key=lambda p: p[1])
    return np.array(run)


def router_sheet(design: Any) -> HandSheet:
    """Bit, guide bush, side gap and film [mm]: the template's edge, the corner that the bit leaves, the corner the heel needs."""
    drawing, (corner, curve) = stagehand.stage((1.15, 1.0), 195.0, 95.0)
    low, h = float(design.heel.foot_z), design.heel
    corner.set_aspect("equal", adjustable="box")
    stagehand.axes_of(corner, "across the body [mm]", "height [mm]", (-34, 34), (low - 34, low + 34))
    (heel,) = corner.plot([], [], color=COLOURS["neck"], lw=2, label="heel, its corners rounded")
    (pocket,) = corner.plot([], [], color=COLOURS["body"], lw=1.6, ls=(0, (6, 2)), label="raw pocket")
    (edge,) = corner.plot([], [], color=COLOURS["string"], lw=2.4, label="template's edge")
    bit, bush = (Disc((0, 0), 1.0, fill=False, edgecolor=COLOURS[c], lw=w, ls=s) for c, w, s in (("screw", 2, "-"), ("guide",
                                                                                                                     1.5, "--")))
    for disc in (bit, bush):
        corner.add_patch(disc)
    names = [corner.text(0, 0, words, fontsize=8.5, color=COLOURS[c], ha="center") for words, c in (("bit", "screw"), ("bush",
                                                                                                                       "text"))]
    stagehand.headline(corner, "The foot of the pocket, seen from the neck")
    legend(corner, "lower center")
    sizes = np.linspace(4.0, 20.0, 65)
    outline = {"half_width_top": h.half_width_top, "half_width_foot": h.half_width_foot, "foot_z": low}
    stagehand.axes_of(curve, "bit [mm]", "radius [mm]", (4, 20), (0, 11))
    curve.plot(sizes, sizes / 2, **line_style(2), label="pocket's corner")
    (need,) = curve.plot([], [], **line_style(1), label="heel's corner, at least")
    (here,) = curve.plot([], [], "o", color=COLOURS["string"], ms=7)
    finding = stagehand.headline(curve)
    legend(curve, "upper left")

    def update(v: dict[str, float]) -> str:
        finish = Finish(0.0, v["film"], 0.0)
        as_if = design.model_copy(update={"pocket": design.pocket.model_copy(update={"side_gap": v["gap"]})})
        g = Ground(as_if, Job(cutter=Cutter(bit=v["bit"], bush=v["bit"] + v["wider"]), finish=finish))
        offset = float(template_offset(bush_diameter=v["bit"] + v["wider"], bit_diameter=v["bit"]))
        pocket.set_data(*_points(pocket_shape(g, 0.0, corner=v["bit"] / 2, layer="part")).T)
        edge.set_data(*_points(pocket_shape(g, offset, corner=v["bit"] / 2 + offset, layer="cut")).T)
        least = heel_corner(**outline, side_gap=v["gap"], bit_diameter=np.append(sizes, v["bit"]))
        need.set_data(sizes, least[:-1])
        r = float(least[-1])
        here.set_data([v["bit"]], [r])
        heel.set_data(*_heel(g, r).T)
        path = _points(pocket_shape(g, -v["bit"] / 2, corner=0.0, layer="centre"))  # of the bit's middle
        legs = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(path, axis=0), axis=1))])
        at = v["along"] / 100 * legs[-1]
        middle = np.array([np.interp(at, legs, path[:, k]) for k in (0, 1)])
        for disc, radius, name, up in ((bit, v["bit"] / 2, names[0], -1.0), (bush, v["bit"] / 2 + offset, names[1], 1.0)):
            disc.set_center(tuple(middle))
            disc.set_radius(radius)
            name.set_position((middle[0], middle[1] + (radius + 1.2 if up > 0 else -1.0)))
        finding.set_text(f"Heel's corners: {r:.2f} mm or more" if r > 0 else "A sharp heel corner goes in")
        heel_words = f"round the heel's by {r:.2f} mm or more" if r > 0 else "the side gap lets a sharp heel corner in"
        return (f"Bit {v['bit']:.2f} mm, bush {v['bit'] + v['wider']:.2f} mm: the template's edge stands {offset:.2f} mm off the "
                f"raw pocket. The bit leaves corners of {v['bit'] / 2:.2f} mm; {heel_words}.")

    controls = [stagehand.slider("bit", "bit", 12.0, 4.0, 18.0, 0.25), stagehand.slider("wider", "bush wider than the bit by",
                                                                                        5.0, 1.0, 16.0, 0.5),
                stagehand.slider("gap", "side gap", float(design.pocket.side_gap), 0.1, 1.2, 0.05, field="pocket.side_gap"),
                stagehand.slider("film", "film on the cheeks", 0.1, 0.0, 0.4, 0.05),
                stagehand.slider("along", "place along the path", 60.0, 35.0, 65.0, 1.0, "%")]
    return HandSheet(drawing, controls, [heel, pocket, edge, bit, bush, *names, need, here, finding], update, design=design)


def _heel(g: Ground, r: float) -> np.ndarray:
    """The heel's outline with its foot corners round by ``r`` [mm], as points."""
    low, turn = float(g.design.heel.foot_z), float(g.design.heel.foot_z) + r
    y, slope = g.half(turn, beyond=-r), np.degrees(np.arctan(g.lean))
    right = [polar(y, turn, r, a) for a in np.linspace(270.0, 360.0 - slope, 16)] if r > 0 else [(y, low)]
    half = [*right, (g.half(0.0), 0.0)]
    return np.array([(-a, b) for a, b in reversed(half)] + half)
