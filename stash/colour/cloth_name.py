"""What to call a cloth that has no name yet."""

from __future__ import annotations

from functools import lru_cache

from stash.colour.appearance import Appearance, PrintKind
from stash.colour.naming import colour_name, family_of

__all__ = ["cloth_name"]

_LEAST_SHARE = 0.12  # a colour that covers less is not what one calls the cloth by; judgement


@lru_cache(maxsize=20_000)  # a stash asks for the same fabrics again and again
def cloth_name(look: Appearance) -> str:
    """Name a plain cloth by its colour, a figured one by its two foremost colour families.

    Examples
    --------
    >>> from stash.colour.appearance import ColourShare
    >>> stripe = (ColourShare((95.0, 0.0, 2.0), 0.55), ColourShare((28.0, 6.0, -36.0), 0.45))
    >>> cloth_name(Appearance((66.0, 2.0, -15.0), stripe, PrintKind.STRIPE))
    'white and blue stripe'
    """
    if look.kind in (PrintKind.PLAIN, PrintKind.TONE):
        return colour_name(look.reads_as)
    shown = [one for one in look.colours if one.share >= _LEAST_SHARE]
    families = dict.fromkeys(family_of(one.lab).family for one in shown)
    words = " and ".join(list(families)[:2]) or family_of(look.reads_as).family
    return f"{words} {look.kind}"
