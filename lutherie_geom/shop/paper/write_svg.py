"""A drawing as SVG: one user unit is one millimetre, a group a layer, words as words."""

from __future__ import annotations

from xml.etree import ElementTree as tree

from lutherie_geom.shop.paper.drawing import Drawing
from lutherie_geom.shop.paper.entities import LAYERS, Arc, Circle, Line, Path, Primitive, Text
from lutherie_geom.shop.paper.write_pdf import CAPITAL

__all__ = ["svg_text"]


def _n(value: float) -> str:
    """A length [mm] to a ten-thousandth, without idle zeros."""
    text = f"{value:.4f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _one(parent: tree.Element, e: Primitive, high: float) -> None:
    if isinstance(e, Line):
        tree.SubElement(parent, "line", x1=_n(e.x1), y1=_n(high - e.y1), x2=_n(e.x2), y2=_n(high - e.y2))
    elif isinstance(e, Circle):
        tree.SubElement(parent, "circle", cx=_n(e.x), cy=_n(high - e.y), r=_n(e.radius))
    elif isinstance(e, Path):
        points = " ".join(f"{_n(x)},{_n(high - y)}" for x, y in e.points)
        fill = {"fill": LAYERS[e.layer].colour, "stroke": "none"} if e.filled else {}
        tree.SubElement(parent, "polygon" if e.closed else "polyline", {"points": points, **fill})
    elif isinstance(e, Arc):
        (x0, y0), (x1, y1) = e.ends
        large = int(e.end - e.start > 180)
        tree.SubElement(parent, "path", d=f"M {_n(x0)} {_n(high - y0)} A {_n(e.radius)} {_n(e.radius)} 0 {large} 0 {_n(x1)} "
                                          f"{_n(high - y1)}")
    elif isinstance(e, Text):
        word = tree.SubElement(parent, "text", {"x": _n(e.x), "y": _n(high - e.y), "font-size": _n(e.height / CAPITAL),
                                                "text-anchor": e.anchor, "fill": LAYERS[e.layer].colour, "stroke": "none"})
        if e.turn:
            word.set("transform", f"rotate({_n(-e.turn)} {_n(e.x)} {_n(high - e.y)})")
        word.text = e.words


def svg_text(drawing: Drawing) -> str:
    """The sheet as SVG text, width and height in mm, y turned over; the same drawing gives the same text."""
    w, h = _n(drawing.width), _n(drawing.height)
    root = tree.Element("svg", {"xmlns": "http://www.w3.org/2000/svg", "width": f"{w}mm", "height": f"{h}mm",
                                "viewBox": f"0 0 {w} {h}", "font-family": "DejaVu Sans, Verdana, sans-serif"})
    tree.SubElement(root, "title").text = f"{drawing.name}: {drawing.title}"
    found = drawing.primitives()
    for name, layer in LAYERS.items():
        here = [e for e in found if e.layer == name]
        if here:
            style = {"id": name, "fill": "none", "stroke": layer.colour, "stroke-width": _n(layer.width),
                     "stroke-linejoin": "round"}
            if layer.dashes:
                style["stroke-dasharray"] = " ".join(_n(v) for v in layer.dashes)
            group = tree.SubElement(root, "g", style)
            tree.SubElement(group, "desc").text = layer.words
            for e in here:
                _one(group, e, drawing.height)
    tree.indent(root, " ")
    return tree.tostring(root, encoding="unicode") + "\n"
