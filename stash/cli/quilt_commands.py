"""Quilts: the plan from enough to finishing."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Optional

import typer

from stash.cli import quilt_changes, sheet_commands
from stash.cli.messages import print_json, print_table, say
from stash.cli.options import (
    GrainTolerance,
    Home,
    Json,
    PaperName,
    PictureFile,
    QuiltName,
    Seam,
    Shrink,
    Unit,
)
from stash.cli.progress import counted_work
from stash.errors import PlanError
from stash.units import parse_length, parse_pair, said_size, with_unit
from stash.usecases.quilts.quilt_words import three_shares
from stash.usecases.scrap_numbers import scrap_numbers
from stash.usecases.user_files import write_beside

if TYPE_CHECKING:
    from stash.quilt.pattern import Pattern
    from stash.quilt.plan import Quilt
    from stash.usecases.ports import Store

__all__ = ["register"]

_quilt = typer.Typer(
    name="quilt",
    help="Quilts. Plan, have I enough, allot scraps, lay out, cut, finish.",
    no_args_is_help=True,
)

Places = Annotated[
    Optional[list[str]],
    typer.Option(help="A place, row.piece such as 3.12. Give it again for more."),
]
ChartFile = Annotated[
    Optional[Path],
    typer.Option("--chart", help="Write the chart for the sewing machine into this PDF."),
]


def register(app: typer.Typer) -> None:
    """Add these commands to the app."""
    sheet_commands.register_quilt(_quilt)
    quilt_changes.register(_quilt)
    app.add_typer(_quilt)


@_quilt.command("make")
def make(
    name: QuiltName,
    template: Annotated[str, typer.Option(help="The shape, e.g. tumbler.", show_default=False)],
    size: Annotated[str, typer.Option(help="Finished size of a piece, e.g. 4 or 4 1/2.")],
    home: Home = None,
    rows: Annotated[Optional[int], typer.Option(help="Rows.")] = None,
    across: Annotated[Optional[int], typer.Option(help="Pieces in a row.")] = None,
    finished: Annotated[str, typer.Option(help="Instead: finished size, e.g. 60x72.")] = "",
    bed: Annotated[
        str, typer.Option(help="Instead: a quilt size: crib, lap, twin, queen, king.")
    ] = "",
    setting: Annotated[str, typer.Option(help="How the shape is set, e.g. staggered.")] = "",
    straight: Annotated[
        bool, typer.Option("--straight", help="Straight edges instead of those the pieces make.")
    ] = False,
    palette: Annotated[str, typer.Option(help="A palette of this stash.")] = "",
    charm: Annotated[bool, typer.Option("--charm", help="Each fabric once.")] = False,
    limit: Annotated[
        Optional[int],
        typer.Option("--limit-per-fabric", help="Most pieces of one fabric."),
    ] = None,
    seam: Seam = "1/4 in",
    grain_tolerance: GrainTolerance = None,
    shrink: Shrink = 3.0,
    values: Annotated[
        str, typer.Option(help="Shares of light, medium, dark in per cent, e.g. 30,40,30.")
    ] = "",
    borderline: Annotated[
        bool, typer.Option(help="Take fabrics to look at twice where those that belong run out.")
    ] = False,
    again: Annotated[
        bool, typer.Option("--replace", help="Plan a quilt of that name anew; what is cut stays.")
    ] = False,
    unit: Unit = "in",
    as_json: Json = False,
) -> None:
    """Plan a quilt: shape, size, rows, palette and rules."""
    from stash.cli.quilt_answers import say_plan  # light, but only here
    from stash.usecases.quilts.plan_quilt import (  # loads shapely
        QuiltRequest,
        make_quilt,
        pattern_of,
        plan_record,
    )
    from stash.wiring import open_store

    request = QuiltRequest(
        name=name,
        template=template,
        size=with_unit(size, unit),
        setting=setting,
        rows=rows,
        across=across,
        finished_in=parse_pair(finished, unit=unit) if finished else None,
        bed=bed,
        straight=straight,
        charm=charm,
        limit=limit,
        palette=palette,
        seam_allowance_in=parse_length(seam, unit=unit),
        grain_tolerance_deg=grain_tolerance,
        shrink_share=shrink / 100,
        borderline=borderline,
        values=three_shares(values),
    )
    if again:
        from stash.usecases.quilts.change_quilt import replan_quilt

        changed = replan_quilt(open_store(home), request)
        quilt, effects = changed.quilt, changed.effects
    else:
        quilt, effects = make_quilt(open_store(home), request), ()
    record = {**plan_record(quilt, pattern_of(quilt.plan)), "effects": list(effects)}
    if as_json:
        print_json(record)
    else:
        say_plan(record, unit=unit)
        for effect in effects:
            say(effect)


@_quilt.command("enough")
def enough(
    name: QuiltName,
    home: Home = None,
    count: Annotated[
        bool, typer.Option("--count", help="Count all pieces first, not only as many as it takes.")
    ] = False,
    unit: Unit = "in",
    as_json: Json = False,
) -> None:
    """Have I enough? Said before sewing starts and at every stage, with what would help."""
    from stash.cli.quilt_answers import enough_record, say_enough
    from stash.usecases.quilts.quilt_enough import enough_for  # loads scipy

    with counted_work("Counting pieces") as tell:
        answer = enough_for(
            _store(home), name, count=count, tell=lambda done, of: tell(done, of, "")
        )
    if as_json:
        print_json(enough_record(answer))
    else:
        say_enough(answer, unit=unit)


@_quilt.command("allot")
def allot(
    name: QuiltName,
    home: Home = None,
    fill: Annotated[
        bool, typer.Option("--fill", help="Keep all that is chosen; find only what is missing.")
    ] = False,
    unit: Unit = "in",
    as_json: Json = False,
) -> None:
    """Choose which scrap gives which pieces, and hold them. What is cut stays."""
    from stash.cli.bent_answers import bent_record, say_bent
    from stash.cli.quilt_answers import allot_record, say_allot
    from stash.usecases.quilts.look_twice_pieces import bent_fabrics
    from stash.usecases.quilts.quilt_allot import allot_quilt  # loads scipy

    store = _store(home)
    with counted_work("Choosing scraps") as tell:
        answer = allot_quilt(store, name, fill=fill, tell=lambda done, of: tell(done, of, ""))
    bent = bent_fabrics(store, answer.quilt) if answer.possible else ()
    if as_json:
        print_json({**allot_record(answer), "look_twice": bent_record(bent)})
    else:
        say_allot(answer, unit=unit)
        say_bent(bent)


@_quilt.command("layout")
def layout(
    name: QuiltName,
    home: Home = None,
    seed: Annotated[int, typer.Option(help="The same seed gives the same layout.")] = 0,
    pin: Places = None,
    unpin: Places = None,
    only: Places = None,
    swap: Annotated[
        Optional[list[str]],
        typer.Option(help="Two places that change pieces, e.g. 3.12,5.1."),
    ] = None,
    keep: Annotated[
        bool, typer.Option("--keep", help="Shuffle nothing; only pins, swaps and pictures.")
    ] = False,
    picture: PictureFile = None,
    chart: ChartFile = None,
    paper: PaperName = "letter",
    unit: Unit = "in",
    as_json: Json = False,
) -> None:
    """Lay the pieces out evenly. Pin, swap or shuffle a part; draw the quilt and its chart."""
    from stash.cli.bent_answers import bent_record, say_bent
    from stash.cli.quilt_answers import layout_record, say_layout
    from stash.quilt.framing import framed  # loads shapely
    from stash.usecases.quilts.look_twice_pieces import bent_fabrics
    from stash.usecases.quilts.plan_quilt import pattern_of  # loads shapely
    from stash.usecases.quilts.quilt_layout import LayoutRequest, lay_out

    store = _store(home)
    swaps = tuple(_pair(text) for text in swap or ())
    request = LayoutRequest(
        seed, tuple(pin or ()), tuple(unpin or ()), swaps, tuple(only or ()), keep
    )
    quilt, laid = lay_out(store, name, request)
    pattern = pattern_of(quilt.plan)
    bent, edge = bent_fabrics(store, quilt), framed(quilt, pattern)
    if as_json:
        names = [place.name for place in pattern.places]
        record = {**layout_record(quilt, laid, names), "look_twice": bent_record(bent)}
        print_json({**record, "edge": edge and {"places": edge.places, "filled": edge.filled}})
    else:
        say_layout(quilt, laid)
        if edge:
            say(f"Along the edge: {quilt.plan.frame} in {edge.filled} of {edge.places} places.")
        say_bent(bent)
    _draw(
        store, quilt, pattern, picture=picture, chart=chart, paper=paper, unit=unit, quiet=as_json
    )


@_quilt.command("cut")
def cut(
    name: QuiltName,
    home: Home = None,
    scrap: Annotated[
        Optional[list[str]],
        typer.Option("--scrap", help="Scraps that have been cut: 12 or 1,3,7-9."),
    ] = None,
    everything: Annotated[
        bool, typer.Option("--all", help="All scraps allotted to the quilt.")
    ] = False,
    least: Annotated[
        str, typer.Option("--keep-from", help="Drop leftovers narrower than this.")
    ] = "1 in",
    unit: Unit = "in",
    as_json: Json = False,
) -> None:
    """Record cutting. Pieces leave the scraps, what is left stays in the stash."""
    from stash.cli.quilt_answers import cut_record, say_cut
    from stash.usecases.quilts.quilt_cut import cut_scraps  # loads shapely
    from stash.usecases.scraps.review_scraps import words_for_fabrics

    if bool(scrap) == everything:
        raise PlanError("Say which scraps have been cut: --scrap 1,3,7-9, or --all.")
    scraps = scrap_numbers(scrap) if scrap else ()
    store, least_in = _store(home), parse_length(least, unit=unit)
    called = words_for_fabrics(store)
    answer = cut_scraps(store, name, scraps, least_in=least_in, called=called)
    if as_json:
        print_json(cut_record(answer))
    else:
        say_cut(answer, unit=unit)


@_quilt.command("show")
def show(
    name: QuiltName,
    home: Home = None,
    picture: PictureFile = None,
    chart: ChartFile = None,
    paper: PaperName = "letter",
    unit: Unit = "in",
    as_json: Json = False,
) -> None:
    """Show the plan and how far it is. Cut, to cut, missing; and one picture of it."""
    from stash.cli.bent_answers import bent_record, say_bent
    from stash.cli.quilt_answers import (
        progress_record,
        say_plan,
        say_progress,
    )
    from stash.usecases.quilts.look_twice_pieces import bent_fabrics
    from stash.usecases.quilts.plan_quilt import (  # loads shapely
        pattern_of,
        plan_record,
        quilt_named,
    )
    from stash.usecases.quilts.quilt_cut import progress_of

    store = _store(home)
    quilt = quilt_named(store, name)
    pattern = pattern_of(quilt.plan)
    plan = plan_record(quilt, pattern)
    progress = progress_of(store, quilt, len(pattern.places))
    bent = bent_fabrics(store, quilt)
    if as_json:
        print_json({**plan, "progress": progress_record(progress), "look_twice": bent_record(bent)})
    else:
        say_plan(plan, unit=unit)
        say_progress(progress)
        say_bent(bent)
        if quilt.set_aside:
            say("It is set aside and holds no scraps.")
    _draw(
        store, quilt, pattern, picture=picture, chart=chart, paper=paper, unit=unit, quiet=as_json
    )


@_quilt.command("list")
def list_quilts(home: Home = None, unit: Unit = "in", as_json: Json = False) -> None:
    """List the quilts of this stash."""
    from stash.usecases.quilts.plan_quilt import pattern_of, plan_record, quilts

    found = [(quilt, plan_record(quilt, pattern_of(quilt.plan))) for quilt in quilts(_store(home))]
    if as_json:
        print_json({"quilts": [{**plan, "cut": quilt.cut_count} for quilt, plan in found]})
        return
    if not found:
        say("No quilt is planned yet; begin with stash quilt make.")
        return
    rows = [
        [
            quilt.name, f"{plan['template']} {_piece_size(plan['size'], unit)}",
            f"{plan['pieces']}",
            f"{quilt.cut_count}", "set aside" if quilt.set_aside else "",
        ]
        for quilt, plan in found
    ]  # fmt: skip
    print_table(["quilt", "piece", "pieces", "cut", "state"], rows)


@_quilt.command("set-aside")
def put_aside(
    name: QuiltName,
    home: Home = None,
    back: Annotated[bool, typer.Option("--back", help="Take it up again.")] = False,
    as_json: Json = False,
) -> None:
    """Let a quilt rest. Its scraps are free for others until you take it up again."""
    from stash.usecases.quilts.plan_quilt import set_aside  # loads shapely

    quilt = set_aside(_store(home), name, back=back)
    if as_json:
        print_json({"quilt": quilt.name, "set_aside": quilt.set_aside})
    elif back:
        say(f"“{name}” is taken up again; its scraps are held for it.")
    else:
        say(f"“{name}” is set aside; its scraps are free.")


def _piece_size(size: str, unit: str) -> str:
    return said_size(size, unit=unit) if unit == "cm" else size


def _store(home: Path | None) -> Store:
    from stash.wiring import open_store  # opens nothing before it is asked

    return open_store(home)


def _draw(
    store: Store,
    quilt: Quilt,
    pattern: Pattern,
    *,
    picture: Path | None,
    chart: Path | None,
    paper: str,
    unit: str,
    quiet: bool,
) -> None:
    if picture is None and chart is None:
        return
    from stash.usecases.papers.draw_quilt import chart_of, picture_of_quilt  # Pillow

    if picture is not None:
        write_beside(picture, picture_of_quilt(store, quilt, pattern, suffix=picture.suffix))
    if chart is not None:
        write_beside(chart, chart_of(store, quilt, pattern, paper=paper, unit=unit))
    for file in (picture, chart):
        if file is not None and not quiet:
            say(f"Written: {file}")


def _pair(text: str) -> tuple[str, str]:
    one, _, other = text.partition(",")
    if not one.strip() or not other.strip():
        raise PlanError(f"“{text}” are not two places; write them as 3.12,5.1.")
    return one.strip(), other.strip()
