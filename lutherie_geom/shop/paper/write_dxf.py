"""A drawing as DXF with ezdxf: true lines, arcs and circles on named layers, in millimetres."""

from __future__ import annotations

import io
from typing import Any

from lutherie_geom.shop.paper.drawing import Drawing
from lutherie_geom.shop.paper.entities import LAYERS, Arc, Circle, Line, Path, Primitive

__all__ = ["dxf_document", "dxf_text"]


def _one(space: Any, e: Primitive) -> None:
    from ezdxf.enums import TextEntityAlignment as Where

    on = {"layer": e.layer}
    if isinstance(e, Line):
        space.add_line((e.x1, e.y1), (e.x2, e.y2), dxfattribs=on)
    elif isinstance(e, Circle):
        space.add_circle((e.x, e.y), e.radius, dxfattribs=on)
    elif isinstance(e, Arc):
        space.add_arc((e.x, e.y), e.radius, e.start, e.end, dxfattribs=on)
    elif isinstance(e, Path) and e.filled and len(e.points) == 3:
        space.add_solid([*e.points, e.points[-1]], dxfattribs=on)
    elif isinstance(e, Path):
        space.add_lwpolyline(e.points, close=e.closed, dxfattribs=on)
    else:
        where = {"start": Where.LEFT, "middle": Where.CENTER, "end": Where.RIGHT}[e.anchor]
        space.add_text(e.words, height=e.height, rotation=e.turn, dxfattribs={**on, "style": "words"}).set_placement((e.x, e.y),
                                                                                                                     align=where)


def dxf_document(drawing: Drawing) -> Any:
    """The sheet as an ezdxf document: $INSUNITS 4 (mm), metric, layers with colour, line type and width."""
    import ezdxf
    from ezdxf import units

    doc = ezdxf.new("R2010")
    doc.units = units.MM
    doc.header["$MEASUREMENT"] = 1
    doc.styles.add("words", font="DejaVuSans.ttf")
    for name, layer in LAYERS.items():
        kind = "Continuous"
        if layer.dashes:
            kind = f"line_{name}"
            pieces = [v if k % 2 == 0 else -v for k, v in enumerate(layer.dashes)]
            doc.linetypes.add(kind, [sum(layer.dashes), *pieces], description=layer.words)
        made = doc.layers.add(name, color=layer.index, linetype=kind, lineweight=round(100 * layer.width))
        made.description = layer.words
    space = doc.modelspace()
    for e in drawing.primitives():
        _one(space, e)
    doc.header["$EXTMIN"], doc.header["$EXTMAX"] = (0.0, 0.0, 0.0), (drawing.width, drawing.height, 0.0)
    return doc


def dxf_text(drawing: Drawing) -> str:
    """The sheet as DXF text, one drawing unit being one millimetre."""
    out = io.StringIO()
    dxf_document(drawing).write(out)
    return out.getvalue()
