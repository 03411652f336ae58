"""Plane geometry in inches: outlines, templates, fit, layouts of pieces."""
