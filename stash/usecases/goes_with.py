"""What goes with these? Chosen scraps, a focus cloth or a photo against the whole stash."""

from __future__ import annotations

import numpy as np

from stash.colour.going_with import Companions, going_with
from stash.errors import PaletteError
from stash.usecases.ground import ground_of
from stash.usecases.manage_palettes import PaletteRequest, looks_asked
from stash.usecases.ports import Store

__all__ = ["Companions", "goes_with"]


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
    chosen = {store.scrap(number).fabric for number in request.scraps} | {request.fabric}
    table = ground_of(store).table
    rest = [row for row, fabric in enumerate(table.fabric.tolist()) if fabric not in chosen]
    return going_with(looks, table.taken(np.array(rest, dtype=np.intp)))
