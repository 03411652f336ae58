"""What every scrap gives of one piece: the one count that all questions read.

Whether a piece fits is known at once; how many fit, and how large a piece could be, takes a
hundred times as long. So a question begins with yes or no for every scrap, and the rest is worked
out for the scraps it needs, in portions that are kept as they come.
"""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from stash.colour.spaces import FloatArray
from stash.scrap import Scrap
from stash.shape.templates.template import Template
from stash.shape.templates.turning import Turning
from stash.usecases.pieces.piece_counts import (
    CutRule,
    count_key,
    fit_key,
    has_stored_sizes,
    keep_sizes,
    kept_sizes,
    largest_sizes,
    one_way_scraps,
    piece_counts,
    usable_outline,
    washed_outline,
)
from stash.usecases.pieces.usable_fabrics import UsableFabrics, usable_fabrics
from stash.usecases.ports import AskedStore, ScrapOutline, SizeKey

__all__ = [
    "AT_ONCE",
    "Given",
    "count_scraps",
    "gives_one",
    "known_sizes",
    "largest_of_all",
    "size_scraps",
    "what_scraps_give",
]

AT_ONCE = 40  # so few are counted within a question; more are left for when they are wanted
_PORTION = 768  # scraps asked at a time, then kept
_MANY = 200  # from so many on answers are kept as a whole, which is quicker than one by one
# A stored largest size is proved, but may be this share short of the true one, with a margin.
_SIZE_IS_SHORT = 0.005


@dataclass(frozen=True, eq=False)
class Given:
    """What the scraps give, in their order; n scraps that are not cut up.

    Attributes
    ----------
    numbers : int64, shape (n,)
        The scraps.
    fits : bool, shape (n,)
        Whether a piece can be cut: sure and never short of the truth by more than the search.
    pieces : float64, shape (n,)
        Pieces that can be cut; at least so many where they are not counted.
    counted : bool, shape (n,)
        Whether the pieces were counted; what gives none, or has room for one alone, is.
    most : float64, shape (n,)
        Pieces beyond which there is no cloth.
    sizes : float64, shape (n,)
        The largest finished size, inches; at least so large where it is not worked out.
    sized : bool, shape (n,)
        Whether the largest size was worked out.
    """

    numbers: NDArray[np.int64]
    fits: NDArray[np.bool_]
    pieces: FloatArray
    counted: NDArray[np.bool_]
    most: FloatArray
    sizes: FloatArray
    sized: NDArray[np.bool_]

    @property
    def uncounted(self) -> list[int]:
        """The scraps whose pieces are not counted yet, the roomiest first."""
        places = np.flatnonzero(~self.counted)
        order = np.argsort(-self.most[places], kind="stable")
        return [int(number) for number in self.numbers[places[order]]]

    @property
    def unsized(self) -> list[int]:
        """The scraps whose largest size is not worked out yet, those that fit first."""
        places = np.flatnonzero(~self.sized)
        order = np.argsort(~self.fits[places], kind="stable")
        return [int(number) for number in self.numbers[places[order]]]


def what_scraps_give(
    store: AskedStore, template: Template, rule: CutRule, *, at_once: int = AT_ONCE
) -> Given:
    """Say of every scrap whether a piece fits, and what is known beyond that.

    Parameters
    ----------
    store : AskedStore
    template : Template
        The piece.
    rule : CutRule
        How it may be cut.
    at_once : int
        Counts and sizes are worked out here where no more than so many are missing.
    """
    usable = usable_fabrics(store)
    given = _given(store, usable, template, rule)
    if 0 < len(given.uncounted) <= at_once:
        count_scraps(store, template, rule, given.uncounted)
        given = _given(store, usable, template, rule)
    if 0 < len(given.unsized) <= at_once:
        size_scraps(store, template, rule, given.unsized)
        given = _given(store, usable, template, rule)
    return given


def gives_one(store: AskedStore, template: Template, rule: CutRule, scrap: Scrap) -> bool:
    """Say whether one scrap gives a piece: by what is kept of it, else it alone is asked."""
    counts = store.derived(
        count_key(template, rule), lambda: kept_sizes(store, count_key(template, rule), rule)
    )
    if scrap.number in counts:
        return counts[scrap.number] > 0
    key = fit_key(template, rule)
    known = store.derived(key, lambda: kept_sizes(store, key, rule))
    if scrap.number not in known:
        known.update(_asked(store, [scrap], template, rule))
    return known[scrap.number] > 0


def count_scraps(
    store: AskedStore, template: Template, rule: CutRule, numbers: Collection[int]
) -> None:
    """Count the pieces of some scraps and keep them."""
    piece_counts(store, _records(store, numbers), template=template, rule=rule)


def size_scraps(
    store: AskedStore, template: Template, rule: CutRule, numbers: Collection[int]
) -> None:
    """Work out the largest sizes of some scraps and keep them."""
    largest_sizes(store, _records(store, numbers), family=template.family, rule=rule)


def largest_of_all(store: AskedStore, template: Template, rule: CutRule) -> FloatArray:
    """Give the largest finished size of every scrap, inches, worked out where it is not kept."""
    usable = usable_fabrics(store)
    key = SizeKey(template.family, rule.word())
    column = _column(store, usable, key, rule)
    missing = usable.numbers[np.isnan(column)].tolist()
    if missing:
        size_scraps(store, template, rule, missing)
        column = _column(store, usable, key, rule)
    return np.nan_to_num(column)


def known_sizes(store: AskedStore, template: Template, rule: CutRule) -> dict[int, float]:
    """Give the largest finished sizes that are kept, inches, by scrap number."""
    key = SizeKey(template.family, rule.word())
    return store.derived(key, lambda: kept_sizes(store, key, rule))


def _given(store: AskedStore, usable: UsableFabrics, template: Template, rule: CutRule) -> Given:
    counts = _column(store, usable, count_key(template, rule), rule)
    stored = has_stored_sizes(template)
    unknown = np.full(len(usable.numbers), np.nan)
    family = SizeKey(template.family, rule.word())
    sizes = _column(store, usable, family, rule) if stored else unknown
    fits = _fits(store, usable, template, rule, counts, sizes)
    room = _room(usable, template)
    most = np.where(fits, np.maximum(room, np.nan_to_num(counts, nan=1.0)), 0.0)
    counted = ~fits | ~np.isnan(counts) | (most < 2)
    pieces = np.where(fits, np.maximum(np.nan_to_num(counts), 1.0), 0.0)
    least = np.where(fits, template.size_in, 0.0)
    return Given(
        usable.numbers,
        fits,
        pieces,
        counted,
        np.where(counted, pieces, most),
        np.fmax(sizes, least) if stored else least,
        ~np.isnan(sizes) if stored else np.ones(len(fits), dtype=bool),
    )


def _room(usable: UsableFabrics, template: Template) -> FloatArray:
    """Give how many pieces there is cloth for on each scrap, by area alone."""
    return np.floor(usable.areas / float(template.cut_polygon().area) + 1e-9)


def _fits(
    store: AskedStore,
    usable: UsableFabrics,
    template: Template,
    rule: CutRule,
    counts: FloatArray,
    sizes: FloatArray,
) -> NDArray[np.bool_]:
    """Say where a piece fits: by what is kept, else by looking for one place."""
    sure_no = sizes < template.size_in * (1 - _SIZE_IS_SHORT)
    fits = np.where(np.isnan(counts), sizes >= template.size_in, counts > 0)
    open_places = np.flatnonzero(np.isnan(counts) & ~sure_no & ~fits)
    if not len(open_places):
        return fits
    key = fit_key(template, rule)
    known = store.derived(key, lambda: kept_sizes(store, key, rule))
    missing = [number for number in usable.numbers[open_places].tolist() if number not in known]
    if len(missing) > _MANY and rule.grain_tolerance_deg is None:
        known = {
            **known,
            **store.derived((key, "of all"), lambda: _all_asked(store, template, rule)),
        }
        missing = [number for number in missing if number not in known]
    for start in range(0, len(missing), _PORTION):
        scraps = _records(store, missing[start : start + _PORTION])
        known.update(_asked(store, scraps, template, rule))
    asked = usable.numbers[open_places].tolist()
    fits[open_places] = [known.get(number, 0.0) > 0 for number in asked]
    return fits


def _all_asked(store: AskedStore, template: Template, rule: CutRule) -> dict[int, float]:
    """Ask all scraps for one piece, in portions that are kept as files of their own: 1 or 0.

    A portion is found again by the outlines in it, so that a scrap that changed has its own asked
    anew, and a stop loses the portion it was at.
    """
    outlines = store.outlines()
    portions: dict[int, list[int]] = {}
    for number in outlines:
        portions.setdefault(number // _PORTION, []).append(number)
    word = f"{fit_key(template, rule).family}:{template.cut}:{rule.word()}"
    name = hashlib.sha256(word.encode()).hexdigest()[:16]
    found: dict[int, float] = {}
    for portion, numbers in portions.items():
        said = hashlib.sha256(word.encode())
        for number in numbers:
            said.update(number.to_bytes(8, "little") + outlines[number].digest)
        some = [outlines[number] for number in numbers]
        kept = store.kept_answer(
            f"fits-{name}-{portion}", said.hexdigest(), partial(_placed, some, template, rule)
        )
        found.update(zip(numbers, map(float, kept), strict=True))
    return found


def _placed(scraps: Sequence[ScrapOutline], template: Template, rule: CutRule) -> bytes:
    """Say for each scrap whether one piece fits, turned freely: a byte of 1 or 0."""
    from stash.shape.containment.piece_fit import find_placements  # loads shapely

    outlines = [washed_outline(one.outline, rule, washed=one.washed) for one in scraps]
    free = [Turning.free()] * len(outlines)
    answers = find_placements(outlines, template, turnings=free)
    return bytes(one.placement is not None for one in answers)


def _asked(
    store: AskedStore, scraps: Sequence[Scrap], template: Template, rule: CutRule
) -> dict[int, float]:
    """Ask some scraps for one piece, and keep the answers: 1 where it fits."""
    from stash.shape.containment.piece_fit import find_placements  # loads shapely

    one_way = one_way_scraps(store)
    answers = find_placements(
        [usable_outline(scrap, rule) for scrap in scraps],
        template,
        turnings=[rule.turning(scrap, one_way=scrap.number in one_way) for scrap in scraps],
    )
    found = {
        scrap.number: float(one.placement is not None)
        for scrap, one in zip(scraps, answers, strict=True)
    }
    keep_sizes(store, fit_key(template, rule), rule, found)
    return found


def _column(store: AskedStore, usable: UsableFabrics, key: SizeKey, rule: CutRule) -> FloatArray:
    """Give what is kept for a key, in their order; nan where nothing is."""
    known = store.derived(key, lambda: kept_sizes(store, key, rule))
    # What is worked out later is added to it: more of it makes another column.
    return store.derived((key, len(known)), lambda: usable.column(known))


def _records(store: AskedStore, numbers: Collection[int]) -> list[Scrap]:
    """Give the records of these scraps; read only if there are any."""
    asked = set(numbers)
    return [scrap for scrap in store.scraps() if scrap.number in asked] if asked else []
