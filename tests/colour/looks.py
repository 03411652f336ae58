"""Fabrics made up for tests: colours said in hex, with shares."""

from stash.colour.appearance import Appearance, ColourShare, PrintKind
from stash.colour.fabric_table import FabricColours
from stash.colour.spaces import chroma_of, lab_of_hex, lab_of_linear, linear_of_lab


def look(*colours, kind=PrintKind.PRINT, **rest):
    """An appearance of (hex, share) pairs or single hex colours."""
    pairs = [(c, 1 / len(colours)) if isinstance(c, str) else c for c in colours]
    shares = tuple(ColourShare(lab_of_hex(code), share) for code, share in pairs)
    return look_of(shares, kind=kind, **rest)


def look_of(shares, *, kind=PrintKind.PRINT, **rest):
    """An appearance of colour shares; reads-as and chroma follow from them."""
    mean = lab_of_linear(sum(linear_of_lab(c.lab) * c.share for c in shares))
    chroma = float(sum(chroma_of(c.lab) * c.share for c in shares))
    return Appearance(tuple(map(float, mean)), shares, kind, mean_chroma=chroma, **rest)


def fabric(number, *colours, **rest):
    """A numbered fabric of such colours."""
    return FabricColours(number, look(*colours, **rest))
