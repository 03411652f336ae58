"""One scrap or some: look at them, put them right, add one by ruler."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Optional

import typer
from typer.core import TyperGroup

from stash.cli.messages import print_json, print_table, say
from stash.cli.options import Home, Json, Unit
from stash.errors import MeasureError, UnitError
from stash.usecases.scrap_numbers import scrap_numbers
from stash.usecases.user_files import read_file
from stash.wiring import open_store

if TYPE_CHECKING:
    from stash.shape.plane.outline import Outline
    from stash.usecases.scraps.correct_scraps import Correction

__all__ = ["register"]


class _NumberOrWord(TyperGroup):
    """Lets ``stash scrap 12`` stand for ``stash scrap look 12``, and so with 1,3,7-9."""

    def resolve_command(self, ctx: Any, args: list[str]) -> Any:
        if args and args[0][:1] in "#0123456789":
            args = ["look", *args]
        return super().resolve_command(ctx, args)


def register(app: typer.Typer) -> None:
    """Add these commands to the app."""
    group = typer.Typer(
        cls=_NumberOrWord,
        no_args_is_help=True,
        help="Look at one scrap, or put some right. `stash scrap 12` shows it, its options put it "
        "right, `stash scrap 1,3,7-9` does so with several; `add` measures one with a ruler.",
    )
    group.command("look")(look_at_scrap)
    group.command("add")(add_scrap)
    app.add_typer(group, name="scrap")


def look_at_scrap(
    numbers: Annotated[
        str, typer.Argument(help="The scrap's number; or several: 1,3,7-9.", metavar="NUMBERS")
    ],
    name: Annotated[Optional[str], typer.Option(help="Name its fabric.")] = None,
    one_way: Annotated[
        Optional[bool],
        typer.Option("--one-way/--both-ways", help="Whether the print has an up and a down."),
    ] = None,
    place: Annotated[Optional[str], typer.Option("--bin", help="Where it lies.")] = None,
    washed: Annotated[
        Optional[bool],
        typer.Option("--washed/--unwashed", help="Whether the cloth has been washed."),
    ] = None,
    fibre: Annotated[Optional[str], typer.Option(help="Cotton, linen ...")] = None,
    notes: Annotated[Optional[str], typer.Option(help="Anything to remember.")] = None,
    grain: Annotated[
        Optional[str],
        typer.Option(
            help="Direction of the grain, degrees counter-clockwise from the scrap picture's lower "
            "edge, or 'unknown'."
        ),
    ] = None,
    same_as: Annotated[
        Optional[int],
        typer.Option(
            "--same-as",
            help="It is of this fabric, and so is all that is counted to one cloth with it; with "
            "--own-fabric it alone.",
        ),
    ] = None,
    own_fabric: Annotated[
        bool, typer.Option("--own-fabric", help="It is of a fabric of its own.")
    ] = False,
    corners: Annotated[
        str, typer.Option(help="The outline anew: 'x,y x,y x,y ...', once round.")
    ] = "",
    size: Annotated[str, typer.Option(help="The outline anew, by ruler: '5 1/4 x 9'.")] = "",
    mask: Annotated[
        Optional[Path],
        typer.Option(help="The outline anew: its picture or its photo, painted white on it."),
    ] = None,
    error: Annotated[
        Optional[str],
        typer.Option(help="How far the new outline may be off; as before if not given."),
    ] = None,
    stain: Annotated[
        Optional[list[str]],
        typer.Option(help="Corners of a part to leave out; may be repeated."),
    ] = None,
    delete: Annotated[bool, typer.Option("--delete", help="Take it out of sight.")] = False,
    unit: Unit = "in",
    home: Home = None,
    as_json: Json = False,
) -> None:
    """Show a scrap, or some; with options, put them right first. `stash undo` takes a change back.

    Bin, washed, fibre, notes, grain and fabric may be set for several scraps in one change.
    """
    from stash.usecases.scraps.correct_scraps import Correction, corners_from_words

    store = open_store(home, must_exist=True)
    chosen = scrap_numbers(numbers)
    if delete:
        _delete(store, chosen, as_json=as_json)
        return
    several = len(chosen) > 1
    if several and (corners or size or mask or error):
        raise MeasureError("An outline is put right one scrap at a time; name one scrap.")
    number = chosen[0]
    outline = (
        None if several else _new_outline(store.scrap(number).outline, corners, size, error, unit)
    )
    if mask is not None:
        outline = _painted(store, number, mask, outline)
    correction = Correction(
        name=name,
        one_way=one_way,
        place=place,
        washed=washed,
        fibre=fibre,
        notes=notes,
        grain_deg=None if grain in (None, "unknown") else _degrees(str(grain)),
        forget_grain=grain == "unknown",
        outline=outline,
        stains=tuple(corners_from_words(words, unit=unit) for words in stain or ()),
        same_as=same_as,
        own_fabric=own_fabric,
    )
    if several:
        _correct_and_list(store, chosen, correction, unit=unit, as_json=as_json)
    else:
        _correct_and_show(store, number, correction, unit=unit, as_json=as_json)


def _delete(store: Any, numbers: tuple[int, ...], *, as_json: bool) -> None:
    for number in numbers:
        store.scrap(number)  # all are there, or none is deleted
    done = []
    for number in numbers:
        done.append(f"deleted scrap {number}")
        store.delete_scrap(number, why=done[-1])
    if as_json:
        print_json({"deleted": numbers[0] if len(numbers) == 1 else list(numbers)})
    else:
        _tell_changes(tuple(done))


def _correct_and_list(
    store: Any, numbers: tuple[int, ...], correction: Correction, *, unit: str, as_json: bool
) -> None:
    from stash.cli import scrap_answers
    from stash.usecases.scraps.correct_scraps import correct_scraps
    from stash.usecases.scraps.review_scraps import view_scraps

    done = correct_scraps(store, numbers, correction)
    views = view_scraps(store, numbers)
    if as_json:
        scraps = [scrap_answers.scrap_as_json(view) for view in views]
        print_json({"scraps": scraps, "changed": list(done)})
        return
    _tell_changes(done)
    print_table(scrap_answers.SCRAP_HEADS, scrap_answers.scrap_rows(views, unit=unit))


def _correct_and_show(
    store: Any, number: int, correction: Correction, *, unit: str, as_json: bool
) -> None:
    from stash.cli import scrap_answers
    from stash.usecases.scraps.correct_scraps import correct_scrap
    from stash.usecases.scraps.review_scraps import view_scrap

    done = correct_scrap(store, number, correction)
    view = view_scrap(store, number)
    if as_json:
        print_json({**scrap_answers.scrap_as_json(view), "changed": list(done)})
        return
    _tell_changes(done)
    for line in scrap_answers.scrap_lines(view, unit=unit):
        say(_as_one(line))


def _as_one(line: str) -> str:
    """Indent what a name or a note of several lines goes on with; no line of it reads as ours."""
    return line.replace("\n", "\n    ")


def _tell_changes(done: tuple[str, ...]) -> None:
    if not done:
        return
    for line in done:
        say(f"Changed: {_as_one(line)}.")
    steps = "" if len(done) == 1 else f" {len(done)}"
    say(f"Taken back with: stash undo{steps}")


def _degrees(text: str) -> float:
    try:
        degrees = float(text.rstrip("°"))
    except ValueError:
        degrees = float("nan")
    if not -360 <= degrees <= 360:
        raise UnitError(f"“{text}” is no direction; give degrees from 0 to 180, or unknown.")
    return degrees % 180.0


def _new_outline(
    before: Outline, corners: str, size: str, error: str | None, unit: str
) -> Outline | None:
    from stash.shape.plane.outline import outline_of
    from stash.units import parse_length
    from stash.usecases.ruler_sizes import rectangle_of, size_from_words
    from stash.usecases.scraps.correct_scraps import corners_from_words

    if corners and size:
        raise MeasureError("Give the outline by --corners or by --size, not both.")
    error_in = before.error_in if error is None else parse_length(error, unit=unit)
    if corners:
        return outline_of(corners_from_words(corners, unit=unit), error_in=error_in)
    if size:
        # Where the scrap lay, so that its picture still shows it.
        middle = before.polygon.envelope.centroid
        taken = size_from_words(size, unit=unit)
        return rectangle_of(taken, error_in=error_in, middle=(middle.x, middle.y))
    if error is None:
        return None
    return outline_of(before.points, before.holes, error_in=error_in)


def _painted(store: Any, number: int, mask: Path, other: Outline | None) -> Outline:
    from stash.usecases.photos.outline_by_mask import outline_by_mask  # OpenCV

    if other is not None:
        raise MeasureError("Give the outline by --mask, or by --corners, --size and --error.")
    return outline_by_mask(store, store.scrap(number), read_file(mask), name=mask.name)


def add_scrap(
    size: Annotated[
        str,
        typer.Argument(
            help="'5 1/4 x 9', '13 x 23 cm', '1/4 yd', 'fat quarter', 'fat eighth', "
            "'five-inch square', '2 1/2 in strip'. Measure the usable cloth and round down."
        ),
    ],
    colour: Annotated[
        Optional[list[str]],
        typer.Option("--colour", help="Its colour as hex, e.g. '#1f3f7a'; once for each."),
    ] = None,
    picture: Annotated[
        Optional[Path],
        typer.Option(
            help="A picture of the cloth alone, a close-up or a shop's; colours are taken as it "
            "says.",
            show_default=False,
        ),
    ] = None,
    px_per_in: Annotated[
        Optional[float],
        typer.Option(
            help="How many of the picture's pixels make an inch of cloth; without it no repeat "
            "is known.",
            show_default=False,
        ),
    ] = None,
    kind: Annotated[
        Optional[str],
        typer.Option(
            help="plain, tone-on-tone, print, stripe or plaid (default: as the picture shows, "
            "else plain).",
            show_default=False,
        ),
    ] = None,
    same_as: Annotated[
        Optional[int],
        typer.Option("--same-as", help="It is of this fabric, already in the stash."),
    ] = None,
    name: Annotated[str, typer.Option(help="Name its fabric.")] = "",
    place: Annotated[str, typer.Option("--bin", help="Where it lies.")] = "",
    washed: Annotated[bool, typer.Option("--washed", help="It will shrink no more.")] = False,
    error: Annotated[str, typer.Option(help="How far the size may be off.")] = "0",
    cloth_width: Annotated[
        str, typer.Option(help="Usable width of the cloth, for cuts across it.")
    ] = "40 in",
    count: Annotated[int, typer.Option(min=1, max=200, help="So many alike.")] = 1,
    unit: Unit = "in",
    home: Home = None,
    as_json: Json = False,
) -> None:
    """Add a scrap measured with a ruler, its looks by words or by a picture of the cloth."""
    from stash.cli import scrap_answers
    from stash.units import parse_length
    from stash.usecases.photos.picture_of_cloth import cloth_in_picture
    from stash.usecases.ruler_sizes import rectangle_of, size_from_words
    from stash.usecases.scraps.correct_scraps import (
        RuledScrap,
        add_ruled_scrap,
        print_kind,
    )
    from stash.usecases.scraps.review_scraps import view_scrap

    taken = size_from_words(size, unit=unit, cloth_width_in=parse_length(cloth_width, unit=unit))
    if px_per_in is not None and picture is None:
        raise typer.BadParameter("--px-per-in is of a picture; name it with --picture FILE")
    cloth, warnings = (
        (None, ()) if picture is None else cloth_in_picture(picture, taken, px_per_in=px_per_in)
    )
    ruled = RuledScrap(
        outline=rectangle_of(taken, error_in=parse_length(error, unit=unit)),
        colours=tuple(colour or ()),
        kind=None if kind is None else print_kind(kind),
        fabric=same_as,
        cloth=cloth,
        name=name.strip(),
        place=place,
        washed=washed,
    )
    store = open_store(home)
    scraps = add_ruled_scrap(store, ruled, words=size, count=count)
    views = [view_scrap(store, scrap.number) for scrap in scraps]
    if as_json:
        print_json(
            {
                "scraps": [scrap_answers.scrap_as_json(view) for view in views],
                "warnings": list(warnings),
            }
        )
        return
    for view in views:
        say(scrap_answers.one_line(view, unit=unit, taken_as=taken.taken_as))
    for text in warnings:
        say(f"  note: {text}")
