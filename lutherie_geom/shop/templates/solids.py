"""Block, heel and tongue as STEP and STL, made with build123d: the optional extra ``solids`` (about 1 GB)."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from lutherie_geom.design.load import Problem
from lutherie_geom.shop.templates.refusals import ShopError
from lutherie_geom.shop.templates.solid_parts import Ball, Prism, Solid, solid_parts

__all__ = ["modelled", "solid_files"]


def _shape(s: Any) -> Any:
    import build123d as b

    if isinstance(s, Ball):
        return b.Pos(*s.middle) * b.Sphere(s.radius)
    if isinstance(s, Prism):
        # The plane's own axes are those of the outline; what it looks along decides the sense in which it is carried.
        plane = b.Plane(origin=(s.low, 0, 0), x_dir=(0, 1, 0), z_dir=(1, 0, 0)) if s.plane == "yz" else (
            b.Plane(origin=(0, s.high, 0), x_dir=(1, 0, 0), z_dir=(0, -1, 0)))
        face = b.make_face(b.Polyline(*s.outline, close=True))
        return b.extrude(plane * face, amount=s.high - s.low, dir=plane.z_dir)
    axis = b.Vector(*s.end) - b.Vector(*s.start)
    plane = b.Plane(origin=s.start, z_dir=axis.normalized())
    return plane * b.Cylinder(s.radius, axis.length, align=(b.Align.CENTER, b.Align.CENTER, b.Align.MIN))


def modelled(solid: Solid) -> Any:
    """The part as a build123d solid [mm]. Raises :class:`ShopError` when the extra is not installed."""
    try:
        import build123d as b
    except ImportError:
        said = "need build123d: install the extra with pip install lutherie_geom[solids] (about 1 GB)"
        raise ShopError([Problem("solids", said)], "pack") from None
    shapes = [_shape(s) for s in solid.whole]
    made = shapes[0]
    for other in shapes[1:]:
        made = made & other
    for cut in solid.cuts:
        made = made - _shape(cut)
    found = made.solids()
    if len(found) != 1 or not found[0].is_valid:
        said = f"falls into {len(found)} pieces: the design's cuts go right through"
        raise ShopError([Problem(f"solids.{solid.name}", said)], "pack")
    part = b.Solid(found[0].wrapped)
    part.label = solid.name
    return part


def solid_files(design: Any) -> Mapping[str, bytes]:
    """STEP and STL of each part by file name. Raises :class:`ShopError` without the extra, or for what cannot be cut."""
    parts = {s.name: modelled(s) for s in solid_parts(design)}
    import build123d as b

    files: dict[str, bytes] = {}
    with tempfile.TemporaryDirectory() as folder:
        for name, part in parts.items():
            step, stl = Path(folder) / f"{name}.step", Path(folder) / f"{name}.stl"
            b.export_step(part, str(step), unit=b.Unit.MM)
            # A dome of 8 m turns a hundredth of a radian over the tongue: only a finer angle keeps its facets close.
            b.export_stl(part, str(stl), tolerance=0.01, angular_tolerance=0.001 if name == "tongue" else 0.1)
            files[step.name], files[stl.name] = step.read_bytes(), stl.read_bytes()
    return files
