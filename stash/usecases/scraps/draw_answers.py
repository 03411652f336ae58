"""Answers as pictures: contact sheets of the real cloth."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from stash.colour.verdict import FabricVerdict
from stash.colour.wild_one import OddOneOut
from stash.drawing.contact_sheet import Group, SheetSwatch, draw_contact_sheet
from stash.units import down_words
from stash.usecases.matching.match_palette import FabricMatch, MatchAnswer
from stash.usecases.palettes.goes_with import Companions
from stash.usecases.ports import Store
from stash.usecases.scraps.review_scraps import ScrapFilter, find_fabrics, view_scrap
from stash.usecases.scraps.swatches import swatch_of
from stash.wording import counted

__all__ = ["clash_sheet", "companions_sheet", "company_sheet", "match_sheet"]

_TITLES = {
    "belongs": "Belongs",
    "borderline": "Look twice",
    "clashes": "Clashes",
}


def match_sheet(
    store: Store,
    answer: MatchAnswer,
    *,
    title: str,
    values: bool = False,
    svg: bool = False,
    unit: str = "in",
) -> bytes:
    """Draw the answer of a match: what can go in, what to look at twice, near misses, the rest.

    ``values`` and ``svg`` as in ``draw_contact_sheet``; lengths in the unit ``in`` or ``cm``.
    """
    shown = _Shown(store)
    groups = [
        Group("Can go in", _swatches(shown, answer.can_go_in, unit)),
        Group("Look twice", _swatches(shown, answer.look_twice, unit)),
        Group(
            "Near misses", _swatches(shown, (one for one in answer.cannot if one.near_miss), unit)
        ),
        Group(
            "Cannot", _swatches(shown, (one for one in answer.cannot if not one.near_miss), unit)
        ),
    ]
    return draw_contact_sheet(
        [group for group in groups if group.items], title=title, values=values, svg=svg
    )


def clash_sheet(
    store: Store,
    found: Sequence[FabricVerdict],
    *,
    title: str,
    values: bool = False,
    svg: bool = False,
) -> bytes:
    """Draw fabrics grouped by verdict; ``values`` and ``svg`` as in ``draw_contact_sheet``."""
    shown = _Shown(store)
    groups = [
        Group(
            heading,
            tuple(
                shown.swatch(one.fabric, (), note=_first(one))
                for one in found
                if one.verdict == verdict
            ),
        )
        for verdict, heading in _TITLES.items()
    ]
    return draw_contact_sheet(
        [group for group in groups if group.items], title=title, values=values, svg=svg
    )


def company_sheet(
    store: Store,
    scraps: Sequence[int],
    found: Sequence[OddOneOut],
    *,
    values: bool = False,
    svg: bool = False,
) -> bytes:
    """Draw chosen scraps: the wild ones first, then those that keep company."""
    notes = {one.fabric: one.text for one in found}
    views = [view_scrap(store, number) for number in dict.fromkeys(scraps)]
    groups = [
        Group(
            heading,
            tuple(
                swatch_of(store, view, number=view.scrap.number, lines=(), note=note)
                for view in views
                if bool(note := notes.get(view.fabric.number, "")) is wild
            ),
            counted_as="scrap",
        )
        for wild, heading in ((True, "Wild beside the rest"), (False, "Keep company"))
    ]
    return draw_contact_sheet(groups, title="Laid together", values=values, svg=svg)


def companions_sheet(
    store: Store,
    chosen: Sequence[int],
    found: Companions,
    *,
    values: bool = False,
    svg: bool = False,
) -> bytes:
    """Draw chosen fabrics, what echoes them, the most first, and what would still be wanted."""
    shown = _Shown(store)
    groups = [
        Group("Chosen", tuple(shown.swatch(fabric, ()) for fabric in chosen)),
        Group(
            "Echo their colours",
            tuple(shown.swatch(fabric, (f"{part:.0%} of it",)) for fabric, part in found.echoing()),
        ),
        *(
            Group(f"It would want {one.what}", tuple(shown.swatch(n, ()) for n in one.fabrics))
            for one in found.wanting
        ),
    ]
    drawn = [group for group in groups if group.items]
    return draw_contact_sheet(drawn, title="What goes with these", values=values, svg=svg)


class _Shown:
    """The fabrics of a stash as swatches, each by its largest scrap."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._views = {
            one.fabric.number: one.scraps[0] for one in find_fabrics(store, ScrapFilter())
        }

    def swatch(self, fabric: int, lines: Sequence[str], *, note: str = "") -> SheetSwatch:
        """Give the swatch of a fabric with these lines under it."""
        view = self._views[fabric]
        return swatch_of(self._store, view, number=fabric, lines=lines, note=note)


def _swatches(shown: _Shown, lines: Iterable[FabricMatch], unit: str) -> tuple[SheetSwatch, ...]:
    return tuple(
        shown.swatch(
            one.fabric,
            (_size_line(one, unit),),
            note="; ".join(reason.text for reason in one.reasons if reason.moves),
        )
        for one in lines
    )


def _size_line(one: FabricMatch, unit: str) -> str:
    largest = f"up to {down_words(one.largest_size_in, unit=unit)}"
    pieces = sum(scrap.pieces for scrap in one.scraps)
    if not pieces:
        return largest
    return f"{counted(pieces, 'piece')}, {largest}"


def _first(one: FabricVerdict) -> str:
    return one.reasons[0].text if one.reasons else ""
