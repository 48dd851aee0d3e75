"""Drawings at true scale: what they are made of, the sheet around them, and the formats they are written in."""
