"""Imprints of scraps: taken once from each picture, and compared with those there are."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import numpy as np

from stash.colour.imprint.comparing import apart
from stash.colour.imprint.layout import LENGTH, RECIPE, Floats
from stash.colour.imprint.taking import imprint_of
from stash.drawing.cloth_cut import cloth_of
from stash.errors import StorageError
from stash.scrap import Scrap
from stash.usecases.ports import Store

__all__ = ["NEARLY", "not_compared", "take_imprints"]

NEARLY = 1.4  # pairs up to so far apart are kept too; groups are made of whole distances
_AT_ONCE = 200  # imprints kept in one go


def take_imprints(
    store: Store,
    scraps: Sequence[Scrap] | None = None,
    *,
    told: Callable[[int, int], None] | None = None,
) -> int:
    """Take the imprints that are missing, and note which scraps look like one cloth.

    Parameters
    ----------
    scraps : sequence of Scrap or None
        Those to look at; all of the stash if None.
    told : callable or None
        Called with how many are done of how many.

    Returns
    -------
    int
        How many were taken. A scrap without a picture, or whose picture is lost, has none.
    """
    kept = store.imprints(RECIPE)
    wanted = [
        scrap
        for scrap in (store.scraps() if scraps is None else scraps)
        if scrap.picture is not None and scrap.number not in kept
    ]
    if not wanted:
        return 0
    table = _Table(kept)
    for start in range(0, len(wanted), _AT_ONCE):
        fresh: dict[int, bytes] = {}
        pairs: list[tuple[int, int, float]] = []
        for scrap in wanted[start : start + _AT_ONCE]:
            imprint = _imprint(store, scrap)
            if imprint is None:
                continue
            pairs += table.near(scrap.number, imprint)
            table.add(scrap.number, imprint)
            fresh[scrap.number] = imprint.astype("<f4").tobytes()
            if told is not None:
                told(start + len(fresh), len(wanted))
        store.keep_imprints(RECIPE, fresh, pairs)
    return len(wanted)


def not_compared(store: Store) -> int:
    """Count the fabrics with a picture of which no scrap was compared with the others yet."""
    kept = store.imprints(RECIPE)
    scraps = store.scraps()
    known = {scrap.fabric for scrap in scraps if scrap.number in kept}
    return len({one.fabric for one in scraps if one.picture is not None} - known)


def _imprint(store: Store, scrap: Scrap) -> Floats | None:
    if scrap.picture is None:
        return None
    try:
        jpeg = store.picture(scrap.picture.sha256)
    except StorageError:
        return None
    try:
        image, cloth = cloth_of(jpeg, scrap.picture, scrap.outline)
    except OSError:  # an imported file that is no picture
        return None
    mask = np.asarray(cloth) > 0
    if not mask.any():
        return None
    return imprint_of(np.asarray(image), mask, scrap.picture.px_per_in)


class _Table:
    """All imprints in one array, room for more at its end."""

    def __init__(self, kept: Mapping[int, bytes]) -> None:
        self._numbers = list(kept)
        joined = b"".join(kept.values())
        self._rows = np.frombuffer(joined, dtype="<f4").reshape(-1, LENGTH).astype(np.float32)
        self._count = len(self._numbers)

    def near(self, number: int, imprint: Floats) -> list[tuple[int, int, float]]:
        """Give the scraps that look nearly like one cloth with this one."""
        if not self._count:
            return []
        found = apart(imprint, self._rows[: self._count])
        return [
            (self._numbers[at], number, float(found[at])) for at in np.flatnonzero(found <= NEARLY)
        ]

    def add(self, number: int, imprint: Floats) -> None:
        """Let later ones be compared with this one too."""
        if self._count == len(self._rows):
            room = np.zeros((max(64, len(self._rows)), LENGTH), dtype=np.float32)
            self._rows = np.concatenate([self._rows, room])
        self._rows[self._count] = imprint
        self._numbers.append(number)
        self._count += 1
