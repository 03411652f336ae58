"""Answers about quilts, as sentences and as JSON."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from stash.cli.messages import print_table, say
from stash.units import area_words

if TYPE_CHECKING:
    from stash.quilt.allocation import Change
    from stash.quilt.layout import Arrangement
    from stash.quilt.plan import Quilt
    from stash.usecases.quilt_allot import AllotAnswer
    from stash.usecases.quilt_cut import CutAnswer, Progress
    from stash.usecases.quilt_enough import EnoughAnswer

__all__ = [
    "allot_record", "counted", "cut_record", "enough_record", "layout_record", "progress_record",
    "say_allot", "say_cut", "say_enough", "say_layout", "say_plan", "say_progress",
]  # fmt: skip


def counted(number: int, one: str, many: str = "") -> str:
    """Write a number with its noun: 1 piece, 2 pieces."""
    return f"{number} {one if number == 1 else many or one + 's'}"


def say_plan(plan: Mapping[str, Any], *, unit: str) -> None:
    """Say what a quilt is to be."""
    from stash.quilt.plan_words import plan_words  # noqa: PLC0415 - loads shapely

    for words in plan_words(plan, unit=unit):
        say(words)


def change_text(change: Change) -> str:
    """Say one kind of change in a sentence."""
    amounts = change.amounts
    if change.kind == "buy":
        total = sum(amounts.values())
        parts = [f"{count} {name}" for name, count in amounts.items() if name != "any"]
        detail = f" ({', '.join(parts)})" if parts else ""
        return f"Add {counted(total, 'more fabric')} of which a piece can be cut{detail}."
    if change.kind == "release":
        parts = [f"{counted(count, 'scrap')} from “{name}”" for name, count in amounts.items()]
        return f"Take {' and '.join(parts)}: {', '.join(map(str, change.scraps))}."
    if change.kind == "decide":
        scraps = ", ".join(map(str, change.scraps[:24])) + (" ..." if change.scraps[24:] else "")
        gain = counted(amounts["pieces"], "more piece")
        helps = f"give {gain}" if amounts["pieces"] else "help"
        return (
            f"Look at what may be one cloth (stash twins): answers about scraps {scraps} {helps} "
            "if they are different."
        )
    if change.kind == "limit":
        return f"Allow {amounts['limit']} pieces of one fabric."
    if change.kind == "shares":
        parts = [
            f"{abs(count)} {'fewer' if count < 0 else 'more'} {name}"
            for name, count in amounts.items()
        ]
        return f"Let the palette bend: {', '.join(parts)} than it allows."
    return f"Make it smaller: at most {counted(amounts['pieces'], 'piece')}."


def changes_record(changes: Sequence[Change]) -> list[dict[str, Any]]:
    """Give changes for JSON."""
    return [
        {
            "kind": change.kind,
            "amounts": dict(change.amounts),
            "scraps": list(change.scraps),
            "enough": change.enough,
            "text": change_text(change),
        }
        for change in changes
    ]


def _say_changes(changes: Sequence[Change]) -> None:
    if any(change.enough for change in changes):
        say("Any one of these makes it possible:")
    for change in changes:
        if change.enough:
            say(f"  - {change_text(change)}")
    for change in changes:
        if not change.enough:
            say(f"Not enough by itself: {change_text(change)}")


def enough_record(answer: EnoughAnswer) -> dict[str, Any]:
    """Give the answer of ``enough`` for JSON."""
    one = answer.enough
    return {
        "quilt": answer.quilt.name,
        "possible": one.possible,
        "pieces": {"needed": one.pieces_needed, "available": one.pieces, "short": one.short},
        "fabrics": {
            "needed": one.fabrics_needed,
            "available": one.fabrics,
            "count": one.fabric_count.as_json(),
            "short": max(0, one.fabrics_needed - one.fabrics),
        },
        "parts": [
            {
                "by": part.by,
                "name": part.name,
                "fabrics": part.fabrics,
                "pieces": part.pieces,
                "least": part.least,
                "most": part.most,
                "short": part.short,
            }
            for part in one.parts
        ],
        "one_row_more": {
            "possible": answer.one_row_more,
            "pieces": answer.pieces_one_row_more,
        },
        "largest": {"rows": answer.most_rows, "pieces": answer.most_pieces},
        "changes": changes_record(one.changes),
        "substitutes": [
            {
                "part": sub.part,
                "scrap": sub.scrap,
                "fabric": sub.fabric,
                "distance_de00": round(sub.distance_de00, 1),
                "family": sub.family,
                "value": sub.value,
                "why_not": sub.why_not,
            }
            for sub in answer.substitutes
        ],
        "buy": [
            {
                "part": buy.part,
                "fabrics": buy.fabrics,
                "cut": buy.cut or None,
                "pieces_each": buy.pieces_each,
            }
            for buy in answer.to_buy
        ],
    }


def say_enough(answer: EnoughAnswer, *, unit: str = "in") -> None:
    """Say whether there is enough, and what to do when there is not."""
    from stash.quilt.standard_cuts import cut_words  # noqa: PLC0415 - light, but only here

    one = answer.enough
    verdict = "Yes, there is enough" if one.possible else "No, it cannot be made as planned"
    say(f"{verdict} for “{answer.quilt.name}”.")
    say(
        f"It needs {counted(one.pieces_needed, 'piece')} of at least "
        f"{counted(one.fabrics_needed, 'fabric')}; the stash gives "
        f"{counted(one.pieces, 'piece')} of {one.fabric_count}."
    )
    rows = [
        [
            part.name, part.by, str(part.fabrics), str(part.pieces),
            "" if part.least is None else f"{part.least} to {part.most}",
            str(part.short) if part.short else "",
        ]
        for part in one.parts
    ]  # fmt: skip
    if rows:
        print_table(["part", "by", "fabrics", "pieces", "wanted", "short"], rows)
    if answer.one_row_more:
        say(f"One row more ({answer.pieces_one_row_more} pieces) is possible too.")
    elif one.possible:
        say("One row more is not possible.")
    if answer.most_rows:
        say(f"The longest quilt so wide has {counted(answer.most_rows, 'row')}.")
    _say_changes(one.changes)
    for buy in answer.to_buy:
        part = "" if buy.part == "any" else f"{buy.part} "
        how = (
            f"a {cut_words(buy.cut, unit=unit)} of each gives {counted(buy.pieces_each, 'piece')}"
            if buy.cut
            else "no usual cut is large enough for this piece"
        )
        say(f"To buy: {counted(buy.fabrics, f'{part}fabric')}; {how}.")
    for sub in answer.substitutes:
        say(
            f"Near {sub.part}: scrap {sub.scrap} ({sub.value} {sub.family}, "
            f"{sub.distance_de00:.0f} away); left out because {sub.why_not}."
        )


def allot_record(answer: AllotAnswer) -> dict[str, Any]:
    """Give the answer of ``allot`` for JSON."""
    takes: dict[int, dict[str, Any]] = {}
    for number, piece in enumerate(answer.quilt.pieces if answer.possible else ()):
        line = takes.setdefault(
            piece.scrap, {"scrap": piece.scrap, "fabric": piece.fabric, "pieces": 0, "numbers": []}
        )
        line["pieces"] += 1
        line["numbers"].append(number)
    return {
        "quilt": answer.quilt.name,
        "possible": answer.possible,
        "pieces": sum(line["pieces"] for line in takes.values()),
        "limit_per_fabric": answer.limit,
        "scraps": list(takes.values()),
        "opened_sq_in": round(answer.opened_sq_in, 1),
        "gap": answer.gap,
        "optimal": answer.possible and answer.gap <= 1e-4,
        "borderline_pieces": answer.reluctant,
        "shares": dict(answer.quilt.count_by("amount")) if answer.possible else {},
        "changes": changes_record(answer.changes),
    }


def say_allot(answer: AllotAnswer, *, unit: str = "in") -> None:
    """Say which scraps give the pieces, or what would make it possible."""
    name = answer.quilt.name
    if not answer.possible:
        say(f"“{name}” cannot be made as planned.")
        _say_changes(answer.changes)
        return
    pieces = answer.quilt.pieces
    scraps = len({piece.scrap for piece in pieces})
    fabrics = len({piece.fabric for piece in pieces})
    say(
        f"{counted(len(pieces), 'piece')} of “{name}” come from {counted(scraps, 'scrap')} of "
        f"{counted(fabrics, 'fabric')}; they are held for it now."
    )
    sure = (
        "no choice opens less"
        if answer.gap <= 1e-4
        else f"at most {100 * answer.gap:.1f} % above the least there is"
    )
    opened = area_words(answer.opened_sq_in, unit=unit)
    say(f"The scraps cut into measure {opened} in all: {sure}.")
    shares = {part: count for part, count in answer.quilt.count_by("amount").items() if part}
    if shares:
        parts = [f"{part} {100 * count / len(pieces):.0f} %" for part, count in shares.items()]
        say(f"Colours: {', '.join(parts)}.")
    if answer.reluctant:
        say(f"{counted(answer.reluctant, 'piece')} come of fabrics to look at twice.")


def layout_record(quilt: Quilt, laid: Arrangement, names: Sequence[str]) -> dict[str, Any]:
    """Give a layout for JSON."""
    return {
        "quilt": quilt.name,
        "seed": quilt.seed,
        "pinned": list(quilt.pinned),
        "evenness": round(laid.evenness.score, 4),
        "discrepancy": round(laid.evenness.discrepancy, 4),
        "lower_bound": round(laid.evenness.bound, 4),
        "evenness_by_class": {
            f"{by}: {name}": round(score, 4)
            for (by, name), score in laid.evenness.by_class.items()
            if by != "fabric"
        },
        "same_fabric_touching": laid.same_fabric_pairs,
        "undecided_touching": laid.undecided_pairs,
        "neighbour_likeness": round(laid.likeness, 4),
        "places": [
            {
                "place": name,
                "piece": piece,
                "scrap": quilt.pieces[piece].scrap,
                "fabric": quilt.pieces[piece].fabric,
            }
            for name, piece in zip(names, laid.piece_at, strict=True)
        ],
    }


def say_layout(quilt: Quilt, laid: Arrangement) -> None:
    """Say how even a layout is."""
    say(
        f"“{quilt.name}” is laid out: evenness {100 * laid.evenness.score:.0f} of 100, where "
        "0 is what chance gives and 100 a bound no layout may reach."
    )
    if laid.same_fabric_pairs:
        say(f"{counted(laid.same_fabric_pairs, 'pair')} of one fabric still touch.")
    else:
        say("No fabric touches itself.")
    if laid.undecided_pairs:
        pairs = counted(laid.undecided_pairs, "pair")
        say(f"{pairs} that may be of one cloth touch; look at them: stash twins")
    if quilt.pinned:
        say(f"Pinned: {', '.join(quilt.pinned)}.")


def cut_record(answer: CutAnswer) -> dict[str, Any]:
    """Give what was cut for JSON."""
    return {
        "quilt": answer.quilt.name,
        "cut": [
            {
                "scrap": one.scrap,
                "fabric": one.fabric,
                "pieces": one.pieces,
                "left": list(one.left),
                "left_sq_in": round(one.left_sq_in, 2),
                "dropped_sq_in": round(one.dropped_sq_in, 2),
            }
            for one in answer.cut
        ],
        "pieces_cut": answer.quilt.cut_count,
        "pieces_to_cut": len(answer.quilt.pieces) - answer.quilt.cut_count,
    }


def say_cut(answer: CutAnswer, *, unit: str = "in") -> None:
    """Say what was recorded."""
    for one in answer.cut:
        left = (
            f"left over: {', '.join(f'scrap {number}' for number in one.left)}, "
            f"{area_words(one.left_sq_in, unit=unit)}"
            if one.left
            else "nothing worth keeping is left"
        )
        say(f"Scrap {one.scrap}: {counted(one.pieces, 'piece')} cut; {left}.")
    rest = len(answer.quilt.pieces) - answer.quilt.cut_count
    say(f"{counted(answer.quilt.cut_count, 'piece')} cut, {rest} to cut.")


def progress_record(progress: Progress) -> dict[str, Any]:
    """Give progress for JSON."""
    return {
        "needed": progress.needed,
        "cut": progress.cut,
        "to_cut": progress.to_cut,
        "missing": progress.missing,
        "scraps_gone": list(progress.gone),
    }


def say_progress(progress: Progress) -> None:
    """Say how far a quilt is."""
    say(
        f"{progress.cut} of {counted(progress.needed, 'piece')} cut, {progress.to_cut} to cut, "
        f"{progress.missing} missing."
    )
    if progress.gone:
        gone = ", ".join(map(str, progress.gone[:8]))
        say(f"Gone since they were allotted: scraps {gone}. Allot the quilt again.")
