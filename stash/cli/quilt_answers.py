"""Answers about quilts, as sentences and as JSON."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict
from shlex import quote
from typing import TYPE_CHECKING, Any

from stash.cli.messages import print_table, say
from stash.quilt.standard_cuts import cut_words
from stash.units import area_words, said_size
from stash.wording import counted, numbered

if TYPE_CHECKING:
    from stash.quilt.feasibility import Enough
    from stash.quilt.layout import Arrangement
    from stash.quilt.plan import Quilt
    from stash.quilt.smallest_changes import Remedy
    from stash.usecases.quilts.quilt_allot import AllotAnswer
    from stash.usecases.quilts.quilt_cut import CutAnswer, Progress
    from stash.usecases.quilts.quilt_enough import EnoughAnswer, Growth

__all__ = [
    "allot_record", "cut_record", "enough_record", "layout_record", "progress_record",
    "say_allot", "say_cut", "say_enough", "say_layout", "say_plan", "say_progress",
]  # fmt: skip


def _verb(number: int, many: str) -> str:
    """Write a verb for so many: 1 comes, 2 come."""
    ending = "es" if many.endswith("ch") else "s"
    return many + ending if number == 1 else many


def say_plan(plan: Mapping[str, Any], *, unit: str) -> None:
    """Say what a quilt is to be."""
    from stash.quilt.plan_words import plan_words  # loads shapely

    for words in plan_words(plan, unit=unit):
        say(words)


def change_text(change: Remedy, quilt: str, *, unit: str = "in") -> str:
    """Say one kind of change in a sentence, with the command that makes it."""
    words = _CHANGES[change.kind](change, unit)
    option = _OPTIONS.get(change.kind)
    return f"{words} {option(change).format(quilt=quote(quilt))}" if option else words


def _fewer_text(change: Remedy, _unit: str) -> str:
    pieces = counted(change.amounts["pieces"], "piece")
    rows = change.amounts.get("rows")
    return f"Make it {counted(rows, 'row')}: {pieces}." if rows else f"Make it smaller: {pieces}."


def _decide_text(change: Remedy, _unit: str) -> str:
    scraps = ", ".join(map(str, change.scraps[:24])) + (" ..." if change.scraps[24:] else "")
    more = change.amounts["pieces"]
    helps = f"give {counted(more, 'more piece')}" if more else "help"
    return (
        f"Look at what may be one cloth (stash twins): answers about scraps {scraps} {helps} "
        "if they are different."
    )


def _look_twice_text(change: Remedy, _unit: str) -> str:
    scraps = ", ".join(map(str, change.scraps))
    pieces = counted(change.amounts["pieces"], "piece")
    return f"Look twice at scraps {scraps} and take them: {pieces}."


def _shares_text(change: Remedy, _unit: str) -> str:
    parts = [
        f"{abs(count)} {'fewer' if count < 0 else 'more'} {name}"
        for name, count in change.amounts.items()
    ]
    return f"Let the amounts bend: {', '.join(parts)} than they allow."


def _release_text(change: Remedy, _unit: str) -> str:
    parts = [f"{counted(count, 'scrap')} from “{name}”" for name, count in change.amounts.items()]
    return f"Take {' and '.join(parts)}: {', '.join(map(str, change.scraps))}."


def _buy_text(change: Remedy, unit: str) -> str:
    if not any(one.cut.name for one in change.purchases):
        total = sum(change.amounts.values())
        named = [f"{count} {name}" for name, count in change.amounts.items() if name != "any"]
        detail = f" ({', '.join(named)})" if named else ""
        return f"Buy {counted(total, 'more fabric')}{detail}, larger than the cuts that are sold."
    parts = []
    for one in change.purchases:
        cut, pieces = cut_words(one.cut.name, unit=unit), counted(one.pieces_each, "piece")
        fabrics = counted(one.fabrics, f"{_part(one.part)}fabric")
        parts.append(f"{fabrics}, a {cut} of each ({pieces})")
    return f"Buy {'; '.join(parts)}."


def _part(part: str) -> str:
    return "" if part == "any" else f"{part} "


_CHANGES: Mapping[str, Callable[[Remedy, str], str]] = {
    "fewer": _fewer_text,
    "size": lambda change, unit: (
        f"Make the piece smaller: {said_size(change.size, unit=unit)} finished."
    ),
    "decide": _decide_text,
    "borderline": _look_twice_text,
    "shares": _shares_text,
    "limit": lambda change, _: f"Allow {change.amounts['limit']} pieces of one fabric.",
    "release": _release_text,
    "buy": _buy_text,
}
_OPTIONS: Mapping[str, Callable[[Remedy], str]] = {
    "fewer": lambda change: (
        f"(stash quilt change {{quilt}} --rows {change.amounts['rows']})"
        if "rows" in change.amounts
        else ""
    ),
    "size": lambda change: f"(stash quilt change {{quilt}} --size '{change.size} in')",
    "borderline": lambda _: "(stash quilt change {quilt} --borderline)",
    "shares": lambda _: "(stash quilt change {quilt} --amount 'NAME LEAST-MOST')",
    "limit": lambda change: (
        f"(stash quilt change {{quilt}} --limit-per-fabric {change.amounts['limit']})"
    ),
}


def changes_record(changes: Sequence[Remedy], quilt: str) -> list[dict[str, Any]]:
    """Give changes for JSON."""
    return [
        {
            "kind": change.kind,
            "amounts": dict(change.amounts),
            "scraps": list(change.scraps),
            "enough": change.enough,
            "size": change.size or None,
            "text": change_text(change, quilt),
        }
        for change in changes
    ]


def _say_changes(changes: Sequence[Remedy], quilt: str, *, unit: str) -> None:
    if any(change.enough for change in changes):
        say("Any one of these makes it possible:")
    for change in changes:
        if change.enough:
            say(f"  - {change_text(change, quilt, unit=unit)}")
    for change in changes:
        if not change.enough:
            say(f"Not enough by itself: {change_text(change, quilt, unit=unit)}")


def enough_record(answer: EnoughAnswer) -> dict[str, Any]:
    """Give the answer of ``enough`` for JSON."""
    one = answer.enough
    return {
        "quilt": answer.quilt.name,
        "possible": one.possible,
        "pieces": {
            "needed": one.pieces_needed,
            "available": one.pieces,
            "short": one.short,
        },
        "pieces_cut": one.pieces_cut,
        "uncounted": answer.uncounted,
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
                "cut": part.cut,
                "short": part.short,
            }
            for part in one.parts
        ],
        "one_row_more": _growth_record(answer.rows),
        "one_piece_wider": _growth_record(answer.across),
        "largest": {"rows": answer.rows.most, "pieces": answer.most_pieces},
        "widest": {"across": answer.across.most},
        "changes": changes_record(one.changes, answer.quilt.name),
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
                "cut": buy.cut.name or None,
                "pieces_each": buy.pieces_each,
            }
            for buy in answer.to_buy
        ],
    }


def _growth_record(growth: Growth) -> dict[str, Any]:
    return {"possible": growth.possible, "pieces": growth.pieces}


def say_enough(answer: EnoughAnswer, *, unit: str = "in") -> None:
    """Say whether there is enough, and what to do when there is not."""
    one = answer.enough
    verdict = "Yes, there is enough" if one.possible else "No, it cannot be made as planned"
    say(f"{verdict} for “{answer.quilt.name}”.")
    say(
        f"It needs {counted(one.pieces_needed, 'piece')} of at least "
        f"{counted(one.fabrics_needed, 'fabric')}; {_cut_already(one)}the stash gives "
        f"{'at least ' if answer.uncounted else ''}{counted(one.pieces, 'piece')}"
        f"{' more' if one.pieces_cut else ''} of {one.fabric_count}."
    )
    if answer.uncounted:
        are = "is" if answer.uncounted == 1 else "are"
        say(f"{counted(answer.uncounted, 'scrap')} {are} not counted out yet. To count: --count")
    rows = [
        [
            part.name, part.by, str(part.fabrics), str(part.pieces),
            *([str(part.cut)] if one.pieces_cut else []),
            "" if part.least is None else f"{part.least} to {part.most}",
            str(part.short) if part.short else "",
        ]
        for part in one.parts
    ]  # fmt: skip
    if rows:
        cut = ["cut"] if one.pieces_cut else []
        print_table(["part", "by", "fabrics", "pieces", *cut, "wanted", "short"], rows)
    _say_growth(answer)
    _say_changes(one.changes, answer.quilt.name, unit=unit)
    for sub in answer.substitutes:
        say(
            f"Near {sub.part}: scrap {sub.scrap} ({sub.value} {sub.family}, "
            f"{sub.distance_de00:.0f} away); left out because {sub.why_not}."
        )


def _cut_already(one: Enough) -> str:
    if not one.pieces_cut:
        return ""
    return f"{one.pieces_cut} {'is' if one.pieces_cut == 1 else 'are'} cut, "


def _say_growth(answer: EnoughAnswer) -> None:
    least = "at least " if answer.uncounted else ""
    if answer.rows.possible:
        say(f"One row more ({answer.rows.pieces} pieces) is possible too.")
    elif answer.enough.possible:
        say("One row more is not possible.")
    if answer.rows.most:
        say(f"The longest quilt so wide has {least}{counted(answer.rows.most, 'row')}.")
    if answer.across.possible:
        say(f"Rows of {answer.across.count} ({answer.across.pieces} pieces) are possible too.")
    if answer.across.most:
        say(f"The widest quilt so long has rows of {least}{answer.across.most}.")


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
        "reserve": {"rows": answer.reserve_rows, "pieces": len(answer.quilt.reserve)},
        "changes": changes_record(answer.changes, answer.quilt.name),
    }


def say_allot(answer: AllotAnswer, *, unit: str = "in") -> None:
    """Say which scraps give the pieces, or what would make it possible."""
    name = answer.quilt.name
    if not answer.possible:
        say(f"“{name}” cannot be made as planned.")
        _say_changes(answer.changes, name, unit=unit)
        return
    pieces = answer.quilt.pieces
    scraps = len({piece.scrap for piece in pieces})
    fabrics = len({piece.fabric for piece in pieces})
    say(
        f"{counted(len(pieces), 'piece')} of “{name}” {_verb(len(pieces), 'come')} from "
        f"{counted(scraps, 'scrap')} of {counted(fabrics, 'fabric')}; "
        f"{'it is' if len(pieces) == 1 else 'they are'} held for it now."
    )
    if answer.quilt.reserve:
        held = counted(len(answer.quilt.reserve), "piece")
        say(f"Held back besides: {held}, enough for {counted(answer.reserve_rows, 'row')} more.")
    sure = (
        f"no choice{' of as much of each colour' if answer.quilt.plan.palette else ''} opens less"
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
        come = _verb(answer.reluctant, "come")
        say(f"{counted(answer.reluctant, 'piece')} {come} of fabrics to look at twice.")


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
        touch = _verb(laid.same_fabric_pairs, "touch")
        say(f"{counted(laid.same_fabric_pairs, 'pair')} of one fabric still {touch}.")
    else:
        say("No fabric touches itself.")
    if laid.undecided_pairs:
        pairs = counted(laid.undecided_pairs, "pair")
        touch = _verb(laid.undecided_pairs, "touch")
        say(f"{pairs} that may be of one cloth {touch}; look at them: stash twins")
    to_find = sum(piece.to_find for piece in quilt.pieces)
    if to_find:
        say(f"{counted(to_find, 'piece')} {'is' if to_find == 1 else 'are'} to be found yet: "
            "allot again.")  # fmt: skip
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
        "regrets": [asdict(one) for one in answer.regrets],
        "pieces_cut": answer.quilt.cut_count,
        "pieces_to_cut": len(answer.quilt.pieces) - answer.quilt.cut_count,
    }


def say_cut(answer: CutAnswer, *, unit: str = "in") -> None:
    """Say what was recorded."""
    from stash.quilt.regret import regret_words  # loads shapely

    for one in answer.cut:
        left = (
            f"left over: {', '.join(f'scrap {number}' for number in one.left)}, "
            f"{area_words(one.left_sq_in, unit=unit)}"
            if one.left
            else "nothing worth keeping is left"
        )
        say(f"Scrap {one.scrap}: {counted(one.pieces, 'piece')} cut; {left}.")
    for words in regret_words(answer.regrets, unit=unit, cut=True):
        say(words)
    rest = len(answer.quilt.pieces) - answer.quilt.cut_count
    say(f"{counted(answer.quilt.cut_count, 'piece')} cut, {rest} to cut.")


def progress_record(progress: Progress) -> dict[str, Any]:
    """Give progress for JSON."""
    return {
        "needed": progress.needed,
        "cut": progress.cut,
        "to_cut": progress.to_cut,
        "missing": progress.missing,
        "spare": progress.spare,
        "spoilt": progress.spoilt,
        "sewn": progress.sewn,
        "reserve": progress.reserve,
        "scraps_gone": list(progress.gone),
    }


def say_progress(progress: Progress) -> None:
    """Say how far a quilt is."""
    say(
        f"{progress.cut} of {counted(progress.needed, 'piece')} cut, {progress.to_cut} to cut, "
        f"{progress.missing} missing."
    )
    beside = [
        (progress.sewn, "sewn"), (progress.spare, "cut and without a place"),
        (progress.spoilt, "spoilt"), (progress.reserve, "held back for more rows"),
    ]  # fmt: skip
    told = [f"{count} {words}" for count, words in beside if count]
    if told:
        say(f"Besides: {', '.join(told)}.")
    if progress.gone:
        gone = numbered("scrap", progress.gone[:8])
        say(f"Gone since the quilt was allotted: {gone}. Allot it again.")
