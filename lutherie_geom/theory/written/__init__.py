"""Numpy functions written from the derivations; see ``theory.write``."""
