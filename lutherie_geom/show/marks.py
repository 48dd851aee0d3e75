"""Names beside a drawing, each joined by a thin line to what it names, in two columns so that no two names meet."""

from __future__ import annotations

from dataclasses import dataclass, field

from matplotlib.axes import Axes

from lutherie_geom.show.style import COLOURS

__all__ = ["Marks"]


@dataclass
class Marks:
    """Names in columns left and right of the axes; places in data units (whatever the axes show), ``step`` in parts of the axes'
    height: the least distance of two names."""

    axes: Axes
    step: float = 0.075
    names: dict[str, tuple[float, float]] = field(default_factory=dict)
    _side: dict[str, str] = field(default_factory=dict)

    def name(self, word: str, x: float, y: float, side: str) -> None:
        """Name what is at (x, y), in the column at the ``left`` or ``right``."""
        if word in self.names:
            raise ValueError(f"{word!r} is named twice in one drawing")
        self.names[word], self._side[word] = (float(x), float(y)), side

    def between(self, word: str, a: tuple[float, float], b: tuple[float, float], side: str) -> None:
        """Name the distance from a to b, drawn as a line with an arrow at both ends."""
        self.axes.annotate("", a, b, arrowprops={"arrowstyle": "<->", "color": COLOURS["stop"], "lw": 1.3, "shrinkA": 0,
                                                 "shrinkB": 0, "mutation_scale": 8}, zorder=7)
        self.name(word, (a[0] + b[0]) / 2, (a[1] + b[1]) / 2, side)

    def write(self) -> None:
        """Write all names, once limits are set: each as near to the height of its thing as its neighbours allow.

        Names at the left take the place of the scale there.
        """
        if "left" in self._side.values():
            self.axes.set(yticks=[], ylabel="")
            self.axes.spines["left"].set_visible(False)
        low, high = self.axes.get_ylim()
        for side, x in (("left", -0.02), ("right", 1.02)):
            words = sorted((w for w in self.names if self._side[w] == side), key=lambda w: self.names[w][1])
            wanted = [(self.names[w][1] - low) / (high - low) for w in words]
            for word, y in zip(words, _apart(wanted, self.step), strict=True):
                self.axes.annotate(word, self.names[word], (x, y), textcoords="axes fraction", fontsize=9, va="center",
                                   ha="right" if side == "left" else "left", annotation_clip=False, zorder=9,
                                   arrowprops={"arrowstyle": "-", "lw": 0.7, "color": COLOURS["guide"], "shrinkA": 1,
                                               "shrinkB": 0, "relpos": (1.0 if side == "left" else 0.0, 0.5)})
                self.axes.plot(*self.names[word], ".", ms=4, color=COLOURS["text"], zorder=9)


def _apart(wanted: list[float], step: float) -> list[float]:
    """Heights at least ``step`` apart, in the same order, near to those wanted and within the axes (parts of its height)."""
    if not wanted:
        return []
    top = 1.0 - step * (len(wanted) - 1)
    found = [min(max(wanted[0], 0.0), max(top, 0.0))]
    for k, y in enumerate(wanted[1:], 1):
        found.append(max(min(y, max(top, 0.0) + step * k), found[-1] + step))
    return found
