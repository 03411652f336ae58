"""Outlines in inches: where cloth ends, to a fraction of a pixel."""
