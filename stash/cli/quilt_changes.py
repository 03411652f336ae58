"""Quilts as they change: settings and wishes, copies, what is sewn, what was spoilt."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Optional

import typer

from stash.cli.messages import print_json, say
from stash.cli.options import GrainTolerance, Home, Json, QuiltName, Unit
from stash.cli.progress import watched_work
from stash.units import parse_length, with_unit
from stash.usecases.quilts.quilt_words import amount_range, names_in, three_shares
from stash.usecases.scrap_numbers import scrap_numbers

if TYPE_CHECKING:
    from stash.usecases.ports import Store

__all__ = ["register"]

Words = Optional[str]
Number = Optional[int]
YesNo = Optional[bool]
Many = Optional[list[str]]


def register(quilt: typer.Typer) -> None:
    """Add these commands to the quilt commands."""
    for name, command in (
        ("change", change), ("copy", copy), ("delete", delete), ("sew", sew), ("spoil", spoil),
    ):  # fmt: skip
        quilt.command(name)(command)


def change(
    name: QuiltName,
    home: Home = None,
    rows: Annotated[Number, typer.Option(help="Rows.")] = None,
    across: Annotated[Number, typer.Option(help="Pieces in a row.")] = None,
    template: Annotated[Words, typer.Option(help="Another shape.")] = None,
    size: Annotated[Words, typer.Option(help="Another finished size.")] = None,
    setting: Annotated[Words, typer.Option(help="How the shape is set.")] = None,
    straight: Annotated[YesNo, typer.Option("--straight/--as-pieced", help="The edge.")] = None,
    palette: Annotated[Words, typer.Option(help="A palette; any for none.")] = None,
    limit: Annotated[
        Number,
        typer.Option("--limit-per-fabric", help="Most pieces of one fabric; 0 for no limit."),
    ] = None,
    seam: Annotated[Words, typer.Option(help="Seam allowance.")] = None,
    grain_tolerance: GrainTolerance = None,
    shrink: Annotated[
        Optional[float],
        typer.Option(help="Per cent that unwashed cloth will shrink."),
    ] = None,
    values: Annotated[
        Words, typer.Option(help="Shares of light, medium, dark: 30,40,30; any for none.")
    ] = None,
    borderline: Annotated[
        YesNo, typer.Option("--borderline/--no-borderline", help="Take fabrics to look at twice.")
    ] = None,
    surely: Annotated[Many, typer.Option(help="Scraps whose fabric must be in it: 4,7.")] = None,
    never: Annotated[Many, typer.Option(help="Scraps whose fabric must not be in it.")] = None,
    freely: Annotated[Many, typer.Option(help="Take “surely” and “never” back for these.")] = None,
    kinds: Annotated[Words, typer.Option(help="Only these: plaid,stripe; any for all.")] = None,
    bins: Annotated[Words, typer.Option(help="Only from these bins; any for all.")] = None,
    only_values: Annotated[
        Words, typer.Option(help="Only light, medium or dark ones; any for all.")
    ] = None,
    amount: Annotated[
        Many, typer.Option(help="How much of a part, per cent: 'teal 20-30'. Give it again.")
    ] = None,
    many: Annotated[
        YesNo, typer.Option("--many/--few", help="As many fabrics as there are, or few scraps.")
    ] = None,
    scraps_first: Annotated[
        YesNo, typer.Option("--scraps-first/--any-cloth", help="Yardage only when scraps run out.")
    ] = None,
    reserve: Annotated[
        Number, typer.Option(help="Hold back fabrics for so many more rows.")
    ] = None,
    frame: Annotated[
        Words, typer.Option(help="What lies along the edge: a colour or value; any for none.")
    ] = None,
    unit: Unit = "in",
    as_json: Json = False,
) -> None:
    """Change a quilt in place: its settings, and what you wish of it. What is cut stays."""
    from stash.cli.quilt_answers import say_plan  # light, but only here
    from stash.usecases.quilts.change_quilt import Wishes, change_quilt  # loads scipy
    from stash.usecases.quilts.plan_quilt import pattern_of, plan_record

    settings: dict[str, Any] = {
        "rows": rows, "across": across, "template": template,
        "size": None if size is None else with_unit(size, unit), "setting": setting,
        "straight": straight, "borderline": borderline, "reserve_rows": reserve,
        "grain_tolerance_deg": grain_tolerance,
        "seam_allowance_in": None if seam is None else parse_length(seam, unit=unit),
        "shrink_share": None if shrink is None else shrink / 100,
    }  # fmt: skip
    settings = {field: value for field, value in settings.items() if value is not None}
    if template is not None and setting is None:
        settings["setting"] = ""
    if palette is not None:
        settings["palette"] = "" if palette == "any" else palette
    if frame is not None:
        settings["frame"] = "" if frame == "any" else frame.strip()
    if limit is not None:
        settings["limit"] = limit or None
    if values is not None:
        settings["values"] = None if values == "any" else three_shares(values)
    wishes = Wishes(
        surely=_scraps(surely),
        never=_scraps(never),
        free=_scraps(freely),
        kinds=names_in(kinds),
        bins=names_in(bins),
        tones=names_in(only_values),
        amounts=dict(amount_range(text) for text in amount or ()),
        many_fabrics=many,
        scraps_first=scraps_first,
    )
    changed = change_quilt(_store(home), name, settings, wishes)
    record = plan_record(changed.quilt, pattern_of(changed.quilt.plan))
    if as_json:
        print_json({**record, "effects": list(changed.effects)})
        return
    say_plan(record, unit=unit)
    for effect in changed.effects:
        say(effect)


def copy(
    name: QuiltName,
    other: Annotated[str, typer.Argument(help="What the copy is called.", show_default=False)],
    home: Home = None,
    as_json: Json = False,
) -> None:
    """Begin another quilt by the same plan. No piece is chosen for it yet."""
    from stash.usecases.quilts.change_quilt import copy_quilt  # loads scipy

    copied = copy_quilt(_store(home), name, other)
    if as_json:
        print_json({"quilt": copied.name, "copied_from": name})
    else:
        say(f"“{copied.name}” is planned as “{name}” is.")


def delete(name: QuiltName, home: Home = None, as_json: Json = False) -> None:
    """Take a quilt away. What it holds is free; stash undo brings it back."""
    from stash.usecases.quilts.change_quilt import delete_quilt  # loads scipy

    gone = delete_quilt(_store(home), name)
    if as_json:
        print_json({"quilt": gone.name, "deleted": True, "cut": gone.cut_count})
        return
    say(f"“{gone.name}” is taken away; stash undo brings it back.")
    if gone.cut_count:
        say(f"{gone.cut_count} pieces are cut for it; no quilt counts them now.")


def sew(
    name: QuiltName,
    rows: Annotated[list[str], typer.Option("--rows", help="Rows that are sewn: 1-3,5.")],
    home: Home = None,
    back: Annotated[bool, typer.Option("--back", help="They are unpicked again.")] = False,
    as_json: Json = False,
) -> None:
    """Record rows that are sewn. Their pieces keep their places whatever is planned anew."""
    from stash.usecases.quilts.change_quilt import record_sewn  # loads scipy

    quilt = record_sewn(_store(home), name, scrap_numbers(rows), back=back)
    if as_json:
        print_json({"quilt": quilt.name, "sewn": list(quilt.sewn)})
    else:
        say(f"{len(quilt.sewn)} of {len(quilt.pieces)} pieces of “{quilt.name}” are sewn.")


def spoil(
    name: QuiltName,
    place: Annotated[
        list[str],
        typer.Option("--place", help="Where the spoilt piece belongs: 3.12, or #7 for scrap 7."),
    ],
    home: Home = None,
    unit: Unit = "in",
    as_json: Json = False,
) -> None:
    """Record a cut piece that was spoilt, and find another. All else stays as it is."""
    from stash.cli.quilt_answers import allot_record, say_allot
    from stash.usecases.quilts.change_quilt import record_spoilt  # loads scipy

    with watched_work("Finding another piece"):
        answer = record_spoilt(_store(home), name, place)
    if as_json:
        print_json({**allot_record(answer), "spoilt": len(answer.quilt.spoilt)})
    else:
        say_allot(answer, unit=unit)


def _scraps(texts: list[str] | None) -> tuple[int, ...]:
    return tuple(scrap_numbers(texts)) if texts else ()


def _store(home: Path | None) -> Store:
    from stash.wiring import open_store  # opens nothing before it is asked

    return open_store(home, must_exist=True)
