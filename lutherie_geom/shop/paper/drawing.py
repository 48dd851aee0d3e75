"""A drawing: one sheet of plain geometry, true in mm, before any format.

x runs to the right and y up on the sheet, from its lower left corner.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from lutherie_geom.design.units import System
from lutherie_geom.shop.paper.drawn import primitives
from lutherie_geom.shop.paper.entities import LAYERS, Dimension, Entity, Point

__all__ = ["Drawing"]


@dataclass(frozen=True)
class Drawing:
    """One finished sheet: ``key`` (short, for file names), ``title``, size [mm], entities, and what is measured on it.

    ``origin``: where the view's own origin has come to lie on the sheet [mm].
    """

    key: str
    title: str
    name: str
    width: float
    height: float
    entities: tuple[Entity, ...]
    origin: Point = (0.0, 0.0)
    left_handed: bool = False
    units: System = "mm"

    def primitives(self) -> tuple[Any, ...]:
        """Lines, paths, circles, arcs and texts only, in the order in which they are drawn."""
        return tuple(primitives(self.entities))

    def on(self, layer: str, kind: type | None = None) -> tuple[Any, ...]:
        """Primitives of a layer, of one kind if asked. Raises KeyError for no such layer."""
        if layer not in LAYERS:
            raise KeyError(f"no layer {layer!r}; there are {', '.join(LAYERS)}")
        return tuple(e for e in self.primitives() if e.layer == layer and (kind is None or isinstance(e, kind)))

    @property
    def dimensions(self) -> tuple[Dimension, ...]:
        """Its dimensions, in the order drawn."""
        return tuple(e for e in self.entities if isinstance(e, Dimension))
