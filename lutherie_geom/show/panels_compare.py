"""Joints side by side: the whole table as one picture, a sheet on which the reader weighs what counts, one to draw a joint."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from matplotlib import rc_context
from matplotlib.collections import PolyCollection
from matplotlib.colors import LinearSegmentedColormap
from matplotlib.figure import Figure
from matplotlib.text import Text

from lutherie_geom.design.joint_files import load_joint
from lutherie_geom.design.joints import JointFile, Link
from lutherie_geom.joint.layout import lay_out, varied
from lutherie_geom.joint.layout_readings import SIXTEENTH, any_coupling, coupling_of_screws, own_adjuster
from lutherie_geom.joint.strings import open_length
from lutherie_geom.show import panels as stagehand
from lutherie_geom.show.sheet import HandSheet
from lutherie_geom.show.style import COLOURS, LOOK, MM_PER_INCH, SCREEN_DPI, SERIES
from lutherie_geom.studies.comparing import GROUPS, Comparison

__all__ = ["own_sheet", "table_picture", "weights_sheet"]

_SHADE = LinearSegmentedColormap.from_list("score", ["#FFFFFF", "#A9CDE3"])  # light enough for black figures at both ends
_TALL = np.array([-0.33, -0.33, 0.33, 0.33])
_HATCHES = ("", "///", "", "...", "")  # hatching is slow to draw: every other group


def _words(value: float) -> str:
    if math.isnan(value):
        return "–"
    return "always" if value == math.inf else f"{value:.0f}" if abs(value) >= 100 else f"{round(value, 6) + 0.0:.3g}"


def _labels(comparison: Comparison) -> list[str]:
    """Joints as a picture names them: short, and the guitar's own joint as such."""
    return ["The guitar's own joint" if n == comparison.guitar else n.replace("Upper pivot, lower adjuster", "Upper pivot")
            for n in comparison.names]


def table_picture(comparison: Comparison) -> Figure:
    """Every reading of every joint, shaded by its score (white 0, blue 1), the best joint on top."""
    order, criteria = comparison.order, comparison.criteria
    scores, values = comparison.scores[order], comparison.values[order]
    labels = _labels(comparison)
    names = [labels[k] for k in order]
    n, m = scores.shape
    with rc_context(LOOK):
        drawing = Figure(figsize=(232.0 / MM_PER_INCH, (38.0 + 8.2 * n) / MM_PER_INCH), dpi=SCREEN_DPI, layout="constrained")
        axes = drawing.add_subplot()
        axes.imshow(np.column_stack([scores, comparison.totals[order] / 100]), cmap=_SHADE, vmin=0, vmax=1, aspect="auto")
        heads = [f"{c.short} [{c.unit}]" if c.unit else c.short for c in criteria] + ["out of 100"]
        axes.set_xticks(range(m + 1), heads, rotation=38, ha="left", rotation_mode="anchor")
        axes.set_yticks(range(n), names)
        axes.tick_params(top=True, labeltop=True, bottom=False, labelbottom=False, length=0)
        axes.set_xticks(np.arange(m + 2) - 0.5, minor=True)
        axes.set_yticks(np.arange(n + 1) - 0.5, minor=True)
        axes.grid(False)
        axes.grid(which="minor", color="white", lw=1.5)
        axes.tick_params(which="minor", length=0, top=False)
        axes.spines[:].set_visible(False)
        for i in range(n):
            for j in range(m):
                axes.text(j, i, _words(values[i, j]), ha="center", va="center", fontsize=8.5)
            axes.text(m, i, f"{comparison.totals[order[i]]:.0f}", ha="center", va="center", fontsize=9.5, fontweight="bold")
        axes.set_title(f"{comparison.guitar}: {names[0][0].lower() + names[0][1:]} comes first\n"
                       f"with {comparison.totals.max():.0f} of 100 under these weights; the darker, the better", loc="left",
                       fontsize=10, color=COLOURS["text"])
    return drawing


def weights_sheet(comparison: Comparison) -> HandSheet:
    """Weigh five groups of criteria [0 to 5]: what each joint then scores, out of 100, group by group."""
    groups = list(dict.fromkeys(c.group for c in comparison.criteria))
    member = np.array([[c.group == g for c in comparison.criteria] for g in groups], dtype=float)
    means = comparison.scores @ (member / member.sum(axis=1, keepdims=True)).T  # (joints, groups)
    names = _labels(comparison)
    drawing, (axes,) = stagehand.stage((1.0,), 195.0, 34.0 + 7.5 * len(names))
    stagehand.axes_of(axes, "out of 100", "", (0, 109), (len(names) - 0.4, -0.6))
    y = np.arange(len(names))
    axes.set_yticks(y, names)
    bars = [PolyCollection(list(np.zeros((len(names), 4, 2))), facecolor=SERIES[k], hatch=_HATCHES[k], edgecolor="white", lw=0.6,
                           label=GROUPS.get(g, g)) for k, g in enumerate(groups)]
    for bar in bars:
        axes.add_collection(bar, autolim=False)
    with rc_context(LOOK):
        drawing.legend(handles=bars, loc="outside lower center", ncols=len(groups), fontsize=8.5)
    told = [axes.text(0, float(k), "", va="center", fontsize=9) for k in y]
    finding = stagehand.headline(axes)

    def update(v: dict[str, float]) -> str:
        w = np.array([v[g] for g in groups])
        share = w / w.sum() if w.sum() else np.zeros(len(w))
        parts = 100 * means * share
        left, total = np.zeros(len(names)), parts.sum(axis=1)
        for bar, part in zip(bars, parts.T, strict=True):
            across = np.stack([left, left + part, left + part, left], axis=1)
            bar.set_verts(list(np.stack([across, y[:, None] + _TALL], axis=2)))
            left = left + part
        first = int(np.argmax(np.round(total, 9)))
        for k, text in enumerate(told):
            text.set(text=f"{total[k]:.0f}", x=float(total[k]) + 1.0, fontweight="bold" if k == first else "normal")
        if not w.sum():
            finding.set_text("Nothing counts: give something a weight")
            return "All weights are 0: nothing counts."
        finding.set_text(f"{names[first]} comes first")
        second = int(np.argsort(-np.round(total, 9), kind="stable")[1]) if len(total) > 1 else first
        return (f"{names[first]} comes first with {total[first]:.1f} of 100; then {names[second]} with "
                f"{total[second]:.1f}.")

    controls = [stagehand.slider(g, GROUPS.get(g, g), 1.0, 0.0, 5.0, 0.5, "weight") for g in groups]
    return HandSheet(drawing, controls, [*bars, *told, finding], update)


def own_sheet(joint: str | JointFile, design: Any) -> HandSheet:
    """Move the two balls apart, the pivot up or down and the lower screw [mm], change the pitches [mm/turn]: what 1/16 turn of
    each screw does. For joints with two balls and a lower screw between two swivels.

    Raises ValueError for a joint that has no ball or link of its own.
    """
    file = joint if isinstance(joint, JointFile) else load_joint(joint)
    balls = [c for c in file.contacts if "ball" in getattr(c, "kind", "") and any(a.contact == c.name for a in file.adjusters)]
    links = [c for c in file.contacts if isinstance(c, Link) and c.preload is None]
    if len(balls) != 2 or len(links) != 1:
        raise ValueError(f"{file.name!r} has {len(balls)} balls on adjusters and {len(links)} links; allowed is 2 and 1")
    screw = links[0]
    by_contact = {a.contact: a for a in file.adjusters}
    start = lay_out(file, design)
    drawing, columns = stagehand.stage((1.0, 1.0, 1.0), 225.0, 76.0)
    y = np.arange(len(start.adjusters))
    alone = np.vstack([0.0 * y, SIXTEENTH * np.eye(len(y))])  # nothing turned, then each screw by itself
    bars: list[Any] = []
    told: list[list[Text]] = []
    seen_as, reaches = ("action at fret 12 [mm]", "nut end, to treble [mm]", "strings' length [mm]"), (0.4, 1.6, 0.16)
    for axes, words, reach in zip(columns, seen_as, reaches, strict=True):
        stagehand.axes_of(axes, f"1/16 turn: {words}", "", (-reach, reach), (len(y) - 0.4, -0.6))
        axes.axvline(0, color=COLOURS["guide"], lw=0.8)
        axes.set_yticks(y, start.adjusters if not bars else [""] * len(y))
        bars.append(axes.barh(y, np.ones(len(y)), 0.55, color=[SERIES[k % len(SERIES)] for k in y], edgecolor="white").patches)
        told.append([axes.text(0, float(k), "", va="center", fontsize=9) for k in y])
    finding, held, paid = (stagehand.headline(axes) for axes in columns)

    def update(v: dict[str, float]) -> str:
        changes = {f"contacts.{b.name}.at.y": float(np.sign(b.at[1])) * v["apart"] / 2 for b in balls}
        changes |= {f"contacts.{b.name}.at.z": v["height"] for b in balls}
        changes |= {f"contacts.{screw.name}.{end}.z": v["height"] - v["arm"] for end in ("at", "head")}
        changes |= {f"adjusters.{by_contact[screw.name].name}.pitch": v["pitch"]}
        changes |= {f"adjusters.{by_contact[b.name].name}.pitch": v["seats"] for b in balls}
        layout = lay_out(varied(file, **changes), start.dimensions)
        poses = layout.pose({a: alone[:, k] for k, a in enumerate(layout.adjusters)})
        seen = any_coupling(layout, poses).seen[..., 0] * SIXTEENTH
        lengths = open_length(poses).mean(axis=0)
        length = lengths[1:] - lengths[0]
        shown = (seen[:2].mean(axis=0), seen[2], length)
        for values, patches, texts, reach, digits in zip(shown, bars, told, reaches, (2, 2, 3), strict=True):
            for value, patch, text in zip(values, patches, texts, strict=True):
                patch.set_width(value)
                text.set(text=f"{stagehand.plain(value, digits):+.{digits}f}", ha="left" if value >= 0 else "right",
                         x=float(np.clip(value, -0.72 * reach, 0.72 * reach)) + (0.02 if value >= 0 else -0.02) * reach)
        own = own_adjuster(seen)
        ratio, f = float(coupling_of_screws(seen, own).ratio), layout.freedom()
        step = abs(float(seen[:2, own].mean()))
        finding.set_text(f"{layout.adjusters[own].capitalize()}: {step:.3f} mm for 1/16 turn")
        held.set_text(f"Coupling {ratio:.2f}; {int(f.free)} free, {int(f.self_stress)} fights")
        paid.set_text(f"It {'lengthens' if length[own] > 0 else 'shortens'} them by {abs(length[own]):.3f} mm")
        return (f"1/16 turn of the {layout.adjusters[own]} is {step:.3f} mm of action and "
                f"{stagehand.plain(length[own], 3):+.3f} mm of string length; another screw's pull on a string's action is "
                f"{ratio:.2f} of that; the nut end moves {float(np.abs(seen[2]).max()):.2f} mm for 1/16 turn of a pivot screw.")

    apart, height = abs(balls[0].at[1] - balls[1].at[1]), balls[0].at[2]
    controls = [stagehand.slider("apart", "balls apart", apart, 16.0, 50.0, 1.0),
                stagehand.slider("height", "balls' height", height, -40.0, -8.0, 0.5),
                stagehand.slider("arm", "lower screw under the balls", height - screw.at[2], 30.0, 80.0, 1.0),
                stagehand.slider("pitch", "lower screw's pitch", by_contact[screw.name].pitch, 0.5, 1.25, 0.05, "mm/turn"),
                stagehand.slider("seats", "pivot screws' pitch", by_contact[balls[0].name].pitch, 0.5, 1.5, 0.05, "mm/turn")]
    moving = [p for patches in bars for p in patches] + [t for texts in told for t in texts]
    return HandSheet(drawing, controls, [*moving, finding, held, paid], update)
