"""Answers drawn: pictures, SVG, PDF."""
