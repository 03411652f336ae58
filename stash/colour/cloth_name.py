"""What to call cloths that have no name yet."""

from __future__ import annotations

from collections.abc import Sequence

from stash.colour.appearance import Appearance, PrintKind
from stash.colour.colour_name import colour_names
from stash.colour.naming import FAMILIES, families_of

__all__ = ["cloth_name", "cloth_names"]

_LEAST_SHARE = 0.12  # a colour that covers less is not what one calls the cloth by; judgement


def cloth_name(look: Appearance) -> str:
    """Name a plain cloth by its colour, a figured one by its two foremost colour families.

    Examples
    --------
    >>> from stash.colour.appearance import ColourShare
    >>> stripe = (ColourShare((95.0, 0.0, 2.0), 0.55), ColourShare((28.0, 6.0, -36.0), 0.45))
    >>> cloth_name(Appearance((66.0, 2.0, -15.0), stripe, PrintKind.STRIPE))
    'white and blue stripe'
    """
    return cloth_names([look])[0]


def cloth_names(looks: Sequence[Appearance]) -> list[str]:
    """Name many cloths at once, each as ``cloth_name`` does; a thousand take a few milliseconds."""
    plain = [look for look in looks if _is_plain(look)]
    by_colour = iter(colour_names([look.reads_as for look in plain]))
    shown = [[] if _is_plain(look) else _shown(look) for look in looks]
    labs = [lab for colours in shown for lab in colours]
    families = iter(families_of(labs).first.tolist() if labs else ())
    names = []
    for look, colours in zip(looks, shown, strict=True):
        if _is_plain(look):
            names.append(next(by_colour))
            continue
        words = dict.fromkeys(FAMILIES[next(families)] for _ in colours)
        names.append(f"{' and '.join(list(words)[:2])} {look.kind}")
    return names


def _is_plain(look: Appearance) -> bool:
    return look.kind in (PrintKind.PLAIN, PrintKind.TONE)


def _shown(look: Appearance) -> list[tuple[float, float, float]]:
    """Give the colours a figured cloth is called by; one so scattered is called by its mean."""
    return [one.lab for one in look.colours if one.share >= _LEAST_SHARE] or [look.reads_as]
