"""What a quilt is to be, in sentences for the screen and for paper."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from stash.units import said_size, size_words

__all__ = ["plan_words"]


def plan_words(plan: Mapping[str, Any], *, unit: str = "in") -> tuple[str, ...]:
    """Say a plan's counts, size and rules; ``plan`` is what ``plan_record`` gives."""
    size = size_words(plan["width_in"], plan["length_in"], unit=unit)
    edge = "straight edges" if plan["edge"] == "straight" else "the edge the pieces make"
    piece = said_size(plan["size"], unit=unit) if unit == "cm" else plan["size"]
    part = _counted(plan["part_pieces"], "of them is cut by", "of them are cut by")
    trimmed = f" ({part} the straight edge)" if plan["part_pieces"] else ""
    rule = {None: "As many fabrics as there are", 1: "Charm: each fabric once"}.get(
        plan["limit_per_fabric"], f"At most {plan['limit_per_fabric']} pieces of one fabric"
    )
    palette = f"; palette {plan['palette']}" if plan["palette"] else ""
    return (
        f"{plan['quilt']}: {_counted(plan['rows'], 'row')} of "
        f"{_counted(plan['across'], plan['template'] + ' piece')}, "
        f"size {piece}, {plan['setting']}, with {edge}.",
        f"{_counted(plan['pieces'], 'piece')}{trimmed}; finished {size}.",
        f"{rule}{palette}.",
    )


def _counted(number: int, one: str, many: str = "") -> str:
    return f"{number} {one if number == 1 else many or one + 's'}"
