"""Say which pieces of a quilt are of fabrics to look at twice."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from stash.cli.messages import say
from stash.wording import counted, numbered

if TYPE_CHECKING:
    from stash.usecases.quilts.look_twice_pieces import BentFabric

__all__ = ["bent_record", "say_bent"]


def bent_record(bent: Sequence[BentFabric]) -> list[dict[str, Any]]:
    """Give them for JSON; pieces by the numbers that ``allot`` gives, places by row and piece."""
    return [
        {
            "fabric": one.fabric,
            "scraps": list(one.scraps),
            "pieces": list(one.pieces),
            "places": list(one.places),
            "why": one.text,
        }
        for one in bent
    ]


def say_bent(bent: Sequence[BentFabric]) -> None:
    """Say each fabric, the scraps its pieces come from, where they lie, and what is against it."""
    if not bent:
        return
    say("To look at twice, because the palette was let bend:")
    for one in bent:
        count = len(one.pieces)
        pieces = counted(count, "piece")
        scraps = numbered("scrap", one.scraps)
        where = f", at {', '.join(one.places)}" if one.places else ""
        why = f": {one.text}" if one.text else ""
        say(f"  fabric {one.fabric}, {pieces} of {scraps}{where}{why}.")
