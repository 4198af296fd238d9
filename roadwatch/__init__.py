"""Turtle road crossings and nests, seen by many people with differing certainty, turned into decisions."""

__version__ = "0.1.0"
