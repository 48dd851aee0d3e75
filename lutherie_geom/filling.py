"""Filling in the pages that lie as templates beside the rooms that make them."""

from __future__ import annotations

from typing import Any

__all__ = ["filled"]


def filled(room: str, folder: str, template: str, **values: Any) -> str:
    """A template of a room (``lutherie_geom.shop``), in its ``folder``, filled in; a value that is missing is an error.

    Texts are made safe for HTML unless they are marked as such.
    """
    import jinja2

    house = jinja2.Environment(loader=jinja2.PackageLoader(room, folder), autoescape=True, trim_blocks=True, lstrip_blocks=True,
                               undefined=jinja2.StrictUndefined)
    return house.get_template(template).render(**values)
