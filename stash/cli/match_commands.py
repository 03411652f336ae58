"""What can go in a quilt, and what clashes."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Optional

import typer

from stash.cli.messages import print_json, print_table, say
from stash.cli.options import (
    GrainTolerance,
    GreyValues,
    Home,
    Json,
    PictureFile,
    Seam,
    Shrink,
    Unit,
    ask_for_picture,
)
from stash.cli.progress import counted_work
from stash.units import down_words, length_words, parse_length, with_unit
from stash.usecases.scrap_numbers import scrap_numbers
from stash.usecases.user_files import write_beside

if TYPE_CHECKING:
    from stash.colour.verdict import FabricVerdict, Reason
    from stash.usecases.matching.match_palette import FabricMatch, MatchAnswer, MatchRequest
    from stash.usecases.ports import AskedStore, Store

__all__ = ["register"]

PaletteName = Annotated[str, typer.Option("--palette", help="A palette of this stash.")]
Explain = Annotated[
    bool, typer.Option("--explain", help="Every reason with the numbers behind it.")
]


def register(app: typer.Typer) -> None:
    """Add these commands to the app."""
    app.command("match")(match)
    app.command("clash")(clash)


def match(
    palette: PaletteName,
    template: Annotated[str, typer.Option(help="A shape of the library, or a file of your own.")],
    home: Home = None,
    size: Annotated[
        Optional[str],
        typer.Option(help="Finished size of a piece, e.g. 4, 4 1/2 or 2x4 (inches)."),
    ] = None,
    seam: Seam = "1/4 in",
    grain_tolerance: GrainTolerance = None,
    shrink: Shrink = 3.0,
    turn_over: Annotated[
        bool,
        typer.Option(
            "--turn-over",
            help="Pieces may lie face down too: for cloth that looks the same on both sides.",
        ),
    ] = False,
    needed: Annotated[
        Optional[int],
        typer.Option(help="How many different fabrics the quilt wants."),
    ] = None,
    sizes: Annotated[bool, typer.Option("--sizes", help="How many fabrics join at each size.")] = (
        False
    ),
    count: Annotated[
        bool,
        typer.Option(
            "--count",
            help="Count every piece and find every largest size first; stopped, it goes on later.",
        ),
    ] = False,
    explain: Explain = False,
    picture: PictureFile = None,
    values: GreyValues = False,
    unit: Unit = "in",
    as_json: Json = False,
) -> None:
    """Which scraps can go in this quilt. Colour against the palette, size against the piece."""
    from stash.usecases.matching.match_palette import MatchRequest, side_words
    from stash.usecases.matching.match_palette import match as ask
    from stash.usecases.palettes.manage_palettes import palette_named  # loads NumPy
    from stash.usecases.pieces.manage_templates import template_of
    from stash.usecases.pieces.piece_counts import CutRule
    from stash.wiring import open_to_ask

    ask_for_picture(picture, values=values)
    if sizes and values:
        raise typer.BadParameter("--values shows cloth; the picture of --sizes is a curve")
    store = open_to_ask(home)
    seam_in = parse_length(seam, unit=unit)
    size = with_unit(size, unit) if size else size
    shape = template_of(store, template, size=size, seam_allowance_in=seam_in)
    request = MatchRequest(
        palette=palette_named(store, palette),
        template=replace(shape, may_turn_over=turn_over and not shape.mirror_symmetric),
        rule=CutRule(seam_in, grain_tolerance, shrink / 100),
        needed=needed,
        unit=unit,
    )
    if count:
        from stash.usecases.pieces.sizes_ahead import in_portions

        with counted_work("Counting pieces") as tell:
            for done, total in in_portions(store, request.template, request.rule):
                tell(done, total, "")
    if sizes:
        _answer_sizes(store, request, picture, as_json=as_json)
        return
    answer = ask(store, request)
    if picture is not None:
        from stash.usecases.scraps.draw_answers import match_sheet

        title, svg = _title(palette, template, size), _is_svg(picture)
        sheet = match_sheet(_whole(home), answer, title=title, values=values, svg=svg, unit=unit)
        write_beside(picture, sheet)
    if as_json:
        print_json(match_body(answer))
        return
    _say_match(answer, explain=explain, unit=unit)
    _say_uncounted(answer)
    if answer.count.undecided:
        say(f"Some of those that can go in may be one cloth: {answer.count}. Look: stash twins")
    if side := side_words(request.template):
        say(side)


def clash(
    palette: Annotated[
        Optional[str],
        typer.Option("--palette", help="A palette of this stash."),
    ] = None,
    scraps: Annotated[
        Optional[str],
        typer.Option(help="Without a palette: these scraps among themselves, e.g. 1,3,7-9."),
    ] = None,
    home: Home = None,
    explain: Explain = False,
    picture: PictureFile = None,
    values: GreyValues = False,
    as_json: Json = False,
) -> None:
    """Which fabrics clash with this palette, and why. Or which of some is the wild one."""
    if (palette is None) == (scraps is None):
        raise typer.BadParameter("give either --palette NAME or --scraps NUMBERS")
    ask_for_picture(picture, values=values)
    if palette is None:
        _answer_company(home, scraps or "", picture, values=values, as_json=as_json)
        return
    from stash.usecases.matching.match_palette import clashes
    from stash.usecases.palettes.manage_palettes import palette_named  # loads NumPy
    from stash.wiring import open_to_ask

    store = open_to_ask(home)
    found = clashes(store, palette_named(store, palette))
    if picture is not None:
        from stash.usecases.scraps.draw_answers import clash_sheet

        title, svg = f"Against the palette {palette}", _is_svg(picture)
        write_beside(picture, clash_sheet(_whole(home), found, title=title, values=values, svg=svg))
    if as_json:
        print_json({"fabrics": [verdict_body(one) for one in found]})
        return
    if not found:
        say("There is no fabric in this stash yet. Log some with: stash log PHOTO")
        return
    print_table(
        ["fabric", "verdict", "why"],
        [
            [str(one.fabric), _said(one.verdict), _why(one.reasons, explain=explain)]
            for one in found
        ],
    )


def _is_svg(picture: Path) -> bool:
    return picture.suffix.lower() == ".svg"


def _answer_company(
    home: Path | None, scraps: str, picture: Path | None, *, values: bool, as_json: bool
) -> None:
    from stash.usecases.matching.match_palette import odd_ones  # loads NumPy
    from stash.wiring import open_store

    numbers = scrap_numbers(scraps)
    store = open_store(home, must_exist=True)
    found = odd_ones(store, numbers)
    if picture is not None:
        from stash.usecases.scraps.draw_answers import company_sheet

        svg = _is_svg(picture)
        write_beside(picture, company_sheet(store, numbers, found, values=values, svg=svg))
    if as_json:
        print_json(
            {
                "wild": [
                    {
                        "fabric": one.fabric,
                        "wildness": round(one.wildness, 2),
                        "text": one.text,
                        "without_it": one.without_it,
                    }
                    for one in found
                ]
            }
        )
        return
    if len(set(numbers)) < 3:
        say("Which is the wild one shows from three scraps on; name at least three.")
    elif not found:
        say("They keep company: none changes the mood of the rest.")
    for one in found:
        say(f"fabric {one.fabric}: {one.text}; {one.without_it}.")


def match_body(answer: MatchAnswer) -> dict[str, Any]:
    """Give the answer of ``match`` as JSON-able data."""
    return {
        "needed": answer.needed,
        "fabrics": answer.count.as_json(),
        "side_up": answer.side_up,
        "can_go_in": [_line_body(one) for one in answer.can_go_in],
        "look_twice": [_line_body(one) for one in answer.look_twice],
        "cannot": [
            {
                "fabric": one.fabric,
                "verdict": one.verdict,
                "reasons": [reason_body(reason) for reason in one.reasons],
                "largest_size_in": round(one.largest_size_in, 4) if one.sized else None,
                "near_miss": one.near_miss,
            }
            for one in answer.cannot
        ],
        "uncounted": answer.uncounted,
        "unsized": answer.unsized,
    }


def _line_body(one: FabricMatch) -> dict[str, Any]:
    return {
        "fabric": one.fabric,
        "scraps": [
            {
                "scrap": scrap.scrap,
                "pieces": scrap.pieces,
                "largest_size_in": round(scrap.largest_size_in, 4),
                "counted": scrap.counted,
                "sized": scrap.sized,
                "bin": scrap.place,
            }
            for scrap in one.scraps
        ],
        "verdict": one.verdict,
        "reasons": [reason_body(reason) for reason in one.reasons],
    }


def verdict_body(one: FabricVerdict) -> dict[str, Any]:
    """Give a verdict as JSON-able data."""
    return {
        "fabric": one.fabric,
        "verdict": str(one.verdict),
        "reasons": [reason_body(reason) for reason in one.reasons],
    }


def reason_body(reason: Reason) -> dict[str, Any]:
    """Give a reason as JSON-able data."""
    return {
        "what": reason.what,
        "text": reason.text,
        "value": reason.value,
        "limit": reason.limit,
        "detail": reason.detail,
    }


def _answer_sizes(
    store: AskedStore, request: MatchRequest, picture: Path | None, *, as_json: bool
) -> None:
    from stash.usecases.matching.size_curve import draw_steps, size_curve  # loads Pillow

    steps = size_curve(store, request)
    if picture is not None:
        write_beside(picture, draw_steps(steps, request))
    if as_json:
        print_json(
            {
                "sizes": [
                    {
                        "size_in": one.size_in,
                        "belong": one.belong,
                        "borderline": one.borderline,
                        "fabrics": one.count.as_json(),
                    }
                    for one in steps
                ]
            }
        )
        return
    rows = [
        [
            _number(length_words(one.size_in, unit=request.unit), request.unit),
            str(one.belong),
            str(one.belong + one.borderline),
        ]
        for one in steps
    ]
    print_table([f"finished ({request.unit})", "fabrics that belong", "with look-twice"], rows)
    if steps and steps[0].count.undecided:
        say(f"What may be one cloth counts once: {steps[0].count} in all. Look: stash twins")


def _say_uncounted(answer: MatchAnswer) -> None:
    if answer.uncounted or answer.unsized:
        say()
        say(
            "“At least” and “?” stand where it is not counted yet how many pieces a scrap gives, "
            f"or how large ({answer.uncounted} and {answer.unsized} scraps). To count: --count"
        )


def _say_match(answer: MatchAnswer, *, explain: bool, unit: str) -> None:
    can = len(answer.can_go_in)
    say(f"{_fabrics(can)} can go in" + (f" of {answer.needed} needed" if answer.needed else ""))
    if can:
        rows = [_match_row(one, explain=explain, unit=unit)[:4] for one in answer.can_go_in]
        print_table(["fabric", "pieces", f"up to ({unit})", "scraps"], rows)
    if len(answer.look_twice):
        say()
        say(f"Look twice at {_fabrics(len(answer.look_twice))}, the best first")
        rows = [_match_row(one, explain=explain, unit=unit) for one in answer.look_twice]
        print_table(["fabric", "pieces", f"up to ({unit})", "scraps", "why"], rows)
    near = [one for one in answer.cannot if one.near_miss]
    rest = [one for one in answer.cannot if not one.near_miss]
    for heading, found in (("Near misses", near), ("Cannot go in", rest)):
        if found:
            say()
            say(heading)
            print_table(
                ["fabric", "verdict", f"largest ({unit})", "why"],
                [_miss_row(one, explain=explain, unit=unit) for one in found],
            )


def _fabrics(count: int) -> str:
    return "1 fabric" if count == 1 else f"{count} fabrics"


def _match_row(one: FabricMatch, *, explain: bool, unit: str) -> list[str]:
    least = "" if all(scrap.counted for scrap in one.scraps) else "at least "
    return [
        str(one.fabric),
        least + str(sum(scrap.pieces for scrap in one.scraps)),
        _number(down_words(one.largest_size_in, unit=unit), unit) if one.sized else "?",
        ", ".join(f"#{scrap.scrap}" for scrap in one.scraps),
        _why(one.reasons, explain=explain),
    ]


def _miss_row(one: FabricMatch, *, explain: bool, unit: str) -> list[str]:
    return [
        str(one.fabric),
        _said(one.verdict),
        _number(down_words(one.largest_size_in, unit=unit), unit) if one.sized else "?",
        _why(one.reasons, explain=explain),
    ]


def _number(words: str, unit: str) -> str:
    """Leave the unit to the column's head."""
    return words.removesuffix(f" {unit}")


def _said(verdict: str) -> str:
    return "look twice" if verdict == "borderline" else str(verdict)


def _why(reasons: tuple[Reason, ...], *, explain: bool = False) -> str:
    if explain:
        return "; ".join(one.detail or one.text for one in reasons) or "within the palette"
    sizes = [one for one in reasons if one.what == "size"]
    told = [*[one for one in reasons if one.what != "size"][:1], *sizes]
    return "; ".join(one.text for one in told) or "within the palette"


def _title(palette: str, template: str, size: str | None) -> str:
    piece = f"{Path(template).stem} {size}" if size else Path(template).stem
    return f"Palette {palette}, {piece}"


def _whole(home: Path | None) -> Store:
    from stash.wiring import open_store  # only to draw

    return open_store(home, must_exist=True)
