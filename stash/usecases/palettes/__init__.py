"""Palettes: made of words, cloth, colours and photos."""
