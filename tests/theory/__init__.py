"""Checks of the relations: each against a second route that does not use the relation itself."""
