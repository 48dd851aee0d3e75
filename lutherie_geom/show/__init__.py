"""Pictures and hand sheets: what a reader looks at. Nothing else in the library imports this room.

Every figure is pure: data in, a matplotlib Figure out. Import what you need from its own module, for example
``from lutherie_geom.show.sheet import Control, HandSheet``.
"""
