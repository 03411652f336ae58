"""What may be one cloth: look at it, answer it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Optional

import typer

from stash.cli.messages import print_json, print_table, say
from stash.cli.options import Home, Json, PaperName, PictureFile
from stash.cli.progress import counted_work
from stash.cli.sheet_files import paper_of
from stash.errors import TwinsError
from stash.usecases.scrap_numbers import scrap_numbers
from stash.usecases.user_files import write_beside

if TYPE_CHECKING:
    from stash.usecases.twins.one_cloth_questions import Review, TwinGroup

__all__ = ["register"]


def register(app: typer.Typer) -> None:
    """Add the command to the app."""
    app.command("twins")(twins)


_SETS = Optional[list[str]]


def twins(
    same: Annotated[
        _SETS,
        typer.Option(
            "--same",
            help="These scraps are of one cloth, with all that is counted to them: 1,2,5-9. One "
            "number alone stands for the whole group it waits in. May be repeated.",
        ),
    ] = None,
    different: Annotated[
        _SETS, typer.Option("--different", help="No two of these are of one cloth.")
    ] = None,
    not_sure: Annotated[
        _SETS, typer.Option("--not-sure", help="It cannot be told; not asked again.")
    ] = None,
    part: Annotated[
        _SETS, typer.Option("--part", help="Each of these is of a cloth of its own.")
    ] = None,
    rest: Annotated[
        Optional[str],
        typer.Option("--rest", help="Answer all other groups: same, different or 'not sure'."),
    ] = None,
    show: Annotated[
        str, typer.Option("--show", help="Draw these scraps instead of those that wait.")
    ] = "",
    picture: PictureFile = None,
    sheet: Annotated[
        Optional[Path],
        typer.Option("--sheet", help="Draw a sheet to print, with boxes to tick, into this PDF."),
    ] = None,
    paper: PaperName = "letter",
    home: Home = None,
    as_json: Json = False,
) -> None:
    """What may be one cloth. Shows the groups that wait, takes any number of answers at once."""
    from stash.usecases.twins.answer_twins import Answers, answer_twins
    from stash.usecases.twins.imprints import take_imprints  # loads OpenCV
    from stash.usecases.twins.one_cloth_questions import review
    from stash.wiring import open_store

    store = open_store(home, must_exist=True)
    answers = Answers(
        _sets(same), _sets(different), _sets(not_sure),
        tuple(number for one in _sets(part) for number in one), _word(rest),
    )  # fmt: skip
    with counted_work("Looking at cloth") as tell:
        take_imprints(store, told=lambda done, total: tell(done, total, ""))
    told = answer_twins(store, answers) if answers != Answers() else ()
    found = review(store)
    if picture is not None or sheet is not None:
        groups = [scrap_numbers(show)] if show else [one.scraps for one in found.waiting]
        _draw(store, groups, picture, sheet, paper)
    if as_json:
        print_json(_record(found, told))
        return
    _say(found, told, answered=answers != Answers())


def _draw(
    store: Any,
    groups: list[tuple[int, ...]],
    picture: Path | None,
    sheet: Path | None,
    paper: str,
) -> None:
    from stash.usecases.twins.twin_pictures import twins_picture, twins_sheet  # Pillow

    if picture is not None:
        svg = picture.suffix.lower() == ".svg"
        write_beside(picture, twins_picture(store, groups, svg=svg))
    if sheet is not None:
        write_beside(sheet, twins_sheet(store, groups, paper_of(paper)))


def _sets(words: list[str] | None) -> tuple[tuple[int, ...], ...]:
    return tuple(scrap_numbers(one) for one in words or ())


def _word(rest: str | None) -> Any:
    from stash.scrap import TwinWord

    if rest is None:
        return None
    try:
        return TwinWord(rest.strip().lower().replace("-", " "))
    except ValueError:
        raise TwinsError(f"“{rest}” is no answer; say same, different or 'not sure'.") from None


def _record(found: Review, told: tuple[str, ...]) -> dict[str, Any]:
    return {
        "groups": [
            {"fabrics": list(one.fabrics), "scraps": list(one.scraps), "state": one.state}
            for one in (*found.waiting, *found.answered)
        ],
        "fabrics": found.count.as_json(),
        "changed": list(told),
    }


def _say(found: Review, told: tuple[str, ...], *, answered: bool) -> None:
    for line in told:
        say(f"{line[:1].upper()}{line[1:]}.")
    if told:
        say("All taken back with: stash undo")
    elif answered:
        say("Nothing to change: it was answered so before.")
    say(f"The stash holds {found.count}.")
    if not found.waiting:
        say("Nothing waits for a look.")
        return
    say("These may be one cloth:")
    print_table(
        ["group", "scraps", "fabrics"], [_row(place, one) for place, one in _numbered(found)]
    )
    first = found.waiting[0].scraps[0]
    say(
        "Look at them: --picture FILE, or --sheet FILE to print. Answer: stash twins "
        f"--same {first} --different ... --rest different"
    )


def _numbered(found: Review) -> list[tuple[int, TwinGroup]]:
    return list(enumerate(found.waiting, start=1))


def _row(place: int, group: TwinGroup) -> list[str]:
    return [
        str(place), ", ".join(f"#{number}" for number in group.scraps),
        ", ".join(map(str, group.fabrics)),
    ]  # fmt: skip
