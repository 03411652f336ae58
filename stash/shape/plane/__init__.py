"""Outlines and borders in the plane: distances, contacts, strips along a line."""
