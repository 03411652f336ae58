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
    open_rule = "As many fabrics as there are" if plan["wishes"]["many_fabrics"] else "Few scraps"
    rule = {None: open_rule, 1: "Charm: each fabric once"}.get(
        plan["limit_per_fabric"], f"At most {plan['limit_per_fabric']} pieces of one fabric"
    )
    palette = f"; palette {plan['palette']}" if plan["palette"] else ""
    return (
        f"{plan['quilt']}: {_counted(plan['rows'], 'row')} of "
        f"{_counted(plan['across'], plan['template'] + ' piece')}, "
        f"size {piece}, {plan['setting']}, with {edge}.",
        f"{_counted(plan['pieces'], 'piece')}{trimmed}; finished {size}.",
        f"{rule}{palette}.",
        *_wish_words(plan),
    )


def _wish_words(plan: Mapping[str, Any]) -> list[str]:
    wishes = plan["wishes"]
    shares = {name: (share, share) for name, share in (wishes["value_shares"] or {}).items()}
    amounts = [_amount(name, *share) for name, share in (shares | wishes["amounts"]).items()]
    lists = (
        ("Surely in it: fabric", wishes["surely"]),
        ("Never in it: fabric", wishes["never"]),
        ("Only these kinds:", wishes["kinds"]),
        ("Only from the bins:", wishes["bins"]),
        ("Only these values:", wishes["values"]),
        ("Amounts:", amounts),
    )
    rows = plan["reserve_rows"]
    limited = plan["limit_per_fabric"] not in (None, 1)
    said = (
        ("As many fabrics as there are.", wishes["many_fabrics"] and limited),
        (
            "Fabrics to look at twice are taken where those that belong run out.",
            wishes["borderline"],
        ),
        ("Scraps first; yardage only where they run out.", wishes["scraps_first"]),
        (f"{wishes['frame']} along the edge.".capitalize(), wishes["frame"]),
        (f"Fabrics are held back for {_counted(rows, 'row')} more.", rows),
    )
    return [
        *(f"{words} {', '.join(map(str, found))}." for words, found in lists if found),
        *(words for words, holds in said if holds),
    ]


def _amount(name: str, low: float, high: float) -> str:
    share = f"{100 * low:.0f}" if low == high else f"{100 * low:.0f} to {100 * high:.0f}"
    return f"{name} {share} %"


def _counted(number: int, one: str, many: str = "") -> str:
    return f"{number} {one if number == 1 else many or one + 's'}"
