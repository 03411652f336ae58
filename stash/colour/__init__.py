"""Colours as numbers: spaces, differences, dominant colours, names, palettes, verdicts."""
