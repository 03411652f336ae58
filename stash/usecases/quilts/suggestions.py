"""What a page offers so that nobody has to think of a name: palettes, names, counts."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import replace
from math import sqrt

from stash.colour.naming import NEUTRALS
from stash.colour.palette import Palette
from stash.errors import SettingError
from stash.quilt.plan import Quilt
from stash.quilt.setting import setting_named
from stash.usecases.palettes.manage_palettes import PaletteRequest
from stash.usecases.ports import Store
from stash.usecases.quilts.change_quilt import change_quilt
from stash.usecases.quilts.plan_quilt import QuiltRequest, make_quilt
from stash.usecases.quilts.quilt_enough import enough_for

__all__ = ["free_name", "largest_quilt", "name_of_palette", "suggested_palettes"]

_ASPECT = 0.8  # a quilt a little longer than wide: common practice, no source


def suggested_palettes(families: Iterable[str]) -> list[PaletteRequest]:
    """Propose palettes from the colour families of the fabrics there are, the widest first.

    Examples
    --------
    >>> [one.name for one in suggested_palettes(["blue", "blue", "teal", "white"])]
    ['All my colours', 'Blue and teal', 'Blue']
    """
    counts = Counter(families)
    common = [family for family, _ in counts.most_common() if family not in NEUTRALS]
    if not counts:
        return []
    asked = [("All my colours", ", ".join(sorted(counts)))]
    for some in (common[:3], common[:2], common[:1]):
        if some and (name := _listed(some)) not in [one for one, _ in asked]:
            asked.append((name, ", ".join(some)))
    return [PaletteRequest(name, words=words) for name, words in asked]


def name_of_palette(palette: Palette) -> str:
    """Call a palette by the first colours it asks for.

    Examples
    --------
    >>> from stash.colour.palette import WantedFamily
    >>> name_of_palette(Palette("", families=(WantedFamily("teal"), WantedFamily("blue"))))
    'Teal and blue'
    """
    named = [wanted.family for wanted in palette.families] or [
        target.label for target in palette.targets if target.label and target.label[0] != "#"
    ]
    if not named:
        return (
            f"Without {_listed(palette.without[:2]).lower()}" if palette.without else "My colours"
        )
    return _listed(list(dict.fromkeys(named))[:3])


def free_name(store: Store, kind: str, wanted: str) -> str:
    """Give a name that nothing of this kind has: the wanted one, or that with a number."""
    taken = {document.name for document in store.documents(kind)}
    names = (wanted, *(f"{wanted} {number}" for number in range(2, len(taken) + 3)))
    return next(name for name in names if name not in taken)


def largest_quilt(store: Store, request: QuiltRequest, *, fabrics: int) -> Quilt:
    """Plan the largest quilt of one piece of each fabric that the stash gives, and keep it.

    Parameters
    ----------
    request : QuiltRequest
        All but the counts.
    fabrics : int
        How many fabrics can go in, or fewer if fewer are wanted.

    Raises
    ------
    TemplateError, SettingError, NotFoundError
        As ``make_quilt`` does.
    """
    group = setting_named(request.template, request.setting or None).group
    across = max(1, round(sqrt(fabrics * _ASPECT) / group)) * group
    rows = max(1, fabrics // across)
    quilt = _made(store, request, rows, across)
    most = max(1, enough_for(store, quilt.name).rows.most)
    return quilt if most >= quilt.plan.rows else _with_rows(store, quilt.name, most)


def _with_rows(store: Store, name: str, rows: int) -> Quilt:
    """Give a quilt of which nothing is chosen yet so many rows."""
    return change_quilt(store, name, {"rows": rows}).quilt


def _made(store: Store, request: QuiltRequest, rows: int, across: int) -> Quilt:
    """Plan it; where the setting does not have these counts, with the nearest that it has."""
    for more in (0, 1, -1, 2):
        try:
            counted = replace(request, rows=rows, across=max(1, across + more))
            return make_quilt(store, counted)
        except SettingError:
            continue
    return make_quilt(store, replace(request, rows=rows, across=across))


def _listed(names: Iterable[str]) -> str:
    """Write names as a person lists them."""
    known = list(names)
    words = f"{', '.join(known[:-1])} and {known[-1]}" if len(known) > 1 else known[0]
    return words[:1].upper() + words[1:]
