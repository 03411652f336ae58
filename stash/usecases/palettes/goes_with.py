"""What goes with these? Chosen scraps, a focus cloth or a photo against the whole stash."""

from __future__ import annotations

import numpy as np

from stash.colour.going_with import Companions, going_with
from stash.errors import PaletteError
from stash.usecases.palettes.manage_palettes import PaletteRequest, looks_asked
from stash.usecases.pieces.usable_fabrics import usable_fabrics
from stash.usecases.ports import Store

__all__ = ["Companions", "chosen_fabrics", "goes_with"]


def chosen_fabrics(store: Store, request: PaletteRequest) -> tuple[int, ...]:
    """Give the fabrics of this stash that are asked about, in the order they were named."""
    named = [store.scrap(number).fabric for number in request.scraps]
    named += [] if request.fabric is None else [request.fabric]
    return tuple(dict.fromkeys(named))


def goes_with(store: Store, request: PaletteRequest) -> Companions:
    """Rank the stash by what echoes the cloth asked about, itself left out.

    Raises
    ------
    PaletteError
        If neither scraps, a fabric nor a photo are asked about.
    NotFoundError
        If a scrap or fabric is not in the stash.
    """
    looks = looks_asked(store, request)
    if not looks:
        raise PaletteError("Say what it shall go with: scraps, a fabric or a photo.")
    chosen = chosen_fabrics(store, request)
    table = usable_fabrics(store).table
    rest = [row for row, fabric in enumerate(table.fabric.tolist()) if fabric not in chosen]
    return going_with(looks, table.taken(np.array(rest, dtype=np.intp)))
