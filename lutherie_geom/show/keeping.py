"""The sliders' values written into a design file, its comments kept; all of them or none."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from lutherie_geom.design.files import data_folder
from lutherie_geom.design.load import load, names, save_values

__all__ = ["file_of", "keep", "stem_of"]


def stem_of(design_name: str) -> str:
    """A design's name as the name of a file, without its ending: ``Slack Water`` gives ``slack_water``."""
    return re.sub(r"\W+", "_", Path(design_name).name.removesuffix(".toml").strip().lower()) or "design"


def file_of(design_name: str) -> Path | None:
    """The file of the demo design with this name, or the design file at this path; None when there is none."""
    demo = stem_of(design_name)
    path = data_folder() / "designs" / f"{demo}.toml" if demo in names() else Path(design_name)
    return path if path.suffix == ".toml" and path.is_file() else None


def keep(file: str, changes: Mapping[str, Any], first: Mapping[str, Any], design_name: str, design: Any = None) -> str:
    """Write ``changes`` (field to text with its unit) into a file; says what was written.

    file         name of the design file; made from the design's own file when it is not there yet
    first        the same fields as they were when the sheet began: a fresh copy gets only what differs, the rest stays as
                 the builder wrote it
    design_name  demo design or path of the design file to copy
    design       the design that the sheet shows, if known: a file that holds another one is not copied

    Raises ValueError (DesignError for a value that the design refuses) or OSError; then nothing has been written.
    """
    if not file.strip():
        raise ValueError("write the name of a design file first")
    path = Path(file.strip())
    path = path if path.suffix == ".toml" else path.with_name(path.name + ".toml")
    if path.is_file():
        save_values(path, dict(changes))
        return f"Kept in {path}: {_list(changes)}."
    source = file_of(design_name)
    if source is None or (design is not None and load(source) != design):
        raise ValueError(f"there is no file {path} yet, and no design file of {design_name or 'this sheet'} to copy: "
                         "write the name of your design's own file")
    fresh = {field: text for field, text in changes.items() if text != first.get(field)}
    with path.open("x", encoding="utf-8") as page:
        page.write(source.read_text("utf-8"))
    try:
        save_values(path, fresh)
    except BaseException:
        path.unlink()
        raise
    return f"Kept in {path}, a copy of {source.name}: {_list(fresh) or 'nothing changed yet'}."


def _list(changes: Mapping[str, Any]) -> str:
    return ", ".join(f"{field} = {', '.join(text) if isinstance(text, list) else text}" for field, text in changes.items())
