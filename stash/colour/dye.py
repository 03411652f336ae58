"""Which cloth may bleed in its first wash, told by its colours."""

from __future__ import annotations

from stash.colour.appearance import Appearance
from stash.colour.naming import FAMILIES, families_of

__all__ = ["may_bleed"]

# Reds, blues, blacks and purples are tested before they are sewn: Esther Aliu, Getting Ready with
# Reds, 2011; how deep a blue or purple must be is a judgement, as is the share of the cloth.
_ALWAYS = ("red", "black")
_WHERE_DEEP = ("blue", "purple", "teal")
_DEEP_BELOW = 45.0  # L*
_SHARE_FROM = 0.1


def may_bleed(look: Appearance) -> bool:
    """Say whether a tenth or more of a cloth is of a colour that often runs.

    Examples
    --------
    >>> from stash.colour.appearance import ColourShare, PrintKind
    >>> def plain(lab): return Appearance(lab, (ColourShare(lab, 1.0),), PrintKind.PLAIN)
    >>> may_bleed(plain((40.0, 60.0, 35.0))), may_bleed(plain((90.0, 0.0, 6.0)))
    (True, False)
    """
    shown = [one.lab for one in look.colours if one.share >= _SHARE_FROM]
    if not shown:
        return False
    named = (FAMILIES[first] for first in families_of(shown).first)
    return any(
        family in _ALWAYS or (family in _WHERE_DEEP and lab[0] < _DEEP_BELOW)
        for family, lab in zip(named, shown, strict=True)
    )
