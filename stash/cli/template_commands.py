"""Templates and the fit of a piece."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Optional

import typer

from stash.cli import sheet_commands
from stash.cli.messages import print_json, print_table, say, warn
from stash.cli.options import Home, Json, PictureFile, Unit
from stash.errors import MeasureError, TemplateError
from stash.units import area_words, exact_words, length_words, parse_length, with_unit
from stash.usecases.user_files import read_file, write_beside

if TYPE_CHECKING:
    from collections.abc import Sequence

    from stash.shape.nesting.filling import Effort
    from stash.shape.templates.template import Template
    from stash.usecases.pieces.fit_pieces import ScrapFit
    from stash.usecases.ports import Document, Store

__all__ = ["chosen_template", "register"]

TemplateName = Annotated[
    str, typer.Option("--template", help="A shape of `stash template list`, or a file.")
]
Size = Annotated[
    Optional[str],
    typer.Option("--size", help="Finished size in inches, such as 4, 2½ or 2x4."),
]
Seam = Annotated[
    str,
    typer.Option(
        "--seam-allowance",
        help="Added on every edge; or one for each, such as 1/4,1/4,0,1/4 counter-clockwise.",
    ),
]


def register(app: typer.Typer) -> None:
    """Add these commands to the app."""
    app.command("fit")(fit)
    templates = typer.Typer(help="Shapes to cut: the library and your own.", no_args_is_help=True)
    templates.command("list")(list_templates)
    templates.command("add")(add_template)
    templates.command("show")(show_template)
    sheet_commands.register_template(templates)
    app.add_typer(templates, name="template")


def fit(
    template: TemplateName,
    outlines: Annotated[
        Path, typer.Option("--outlines", help="JSON file of measured outlines; - reads input.")
    ],
    size: Size = None,
    grain_tolerance: Annotated[
        Optional[float],
        typer.Option("--grain-tolerance", help="Keep within so many degrees of the grain line."),
    ] = None,
    grain_steps: Annotated[
        str, typer.Option("--grain-steps", help="Turns off the grain the print allows, degrees.")
    ] = "0,90,180,270",
    effort: Annotated[
        int, typer.Option("--effort", min=0, help="Steps spent looking for one more piece.")
    ] = 36,
    seam_allowance: Seam = "1/4 in",
    straight_cuts: Annotated[
        bool, typer.Option("--straight-cuts", help="Say also what straight strips give.")
    ] = False,
    turn_over: Annotated[
        bool, typer.Option("--turn-over", help="Pieces may lie face down on every scrap.")
    ] = False,
    picture: PictureFile = None,
    unit: Unit = "in",
    home: Home = None,
    json: Json = False,
) -> None:
    """Say which outlines hold a piece of a template. Also how many, and where to lay them.

    The file holds [{"id", "outline": [[x, y], ...], "holes", "error_in", "grain_deg", "one_way",
    "may_turn_over"}, ...] in inches. Each placement keeps the outline's error away from its border.
    Within a grain tolerance, a scrap with "one_way": true takes only the first of the grain steps.
    A scrap with "may_turn_over": true looks the same on both sides, so a shape without a mirror
    line may lie face down on it; the answer says which pieces do.
    """
    from stash.usecases.pieces.fit_pieces import (  # loads the geometry
        FitRequest,
        fit_pieces,
        read_outlines,
    )

    request = FitRequest(
        chosen_template(template, *_meant(size, seam_allowance, unit), home=home),
        grain_tolerance,
        _steps(grain_steps),
        _effort(effort),
        straight_cuts,
        turn_over,
    )
    answers = list(fit_pieces(read_outlines(_bytes_of(outlines)), request))
    if json:
        print_json([answer.body(request.template) for answer in answers])
    else:
        _print_fits(answers, request.template, unit)
    if picture is not None:
        _draw(answers, request.template, picture)
    for answer in answers:
        if answer.problem:
            warn(f"stash: scrap {answer.scrap.name}: {answer.problem}")
    if any(answer.problem for answer in answers):
        raise typer.Exit(1)


def chosen_template(
    name: str,
    size: str | None,
    seam_allowance_in: float | Sequence[float] = 0.25,
    *,
    home: Path | None = None,
) -> Template:
    """Give a library template of a size, a shape kept in the stash, or the shape of a file."""
    from stash.shape.templates.template import (  # loads shapely
        families,
        make_template,
        shape_called,
        template_of_file,
    )

    path = Path(name)
    if path.suffix.lower() in (".json", ".svg"):
        _no_size(size)
        return template_of_file(
            _bytes_of(path), path.suffix, name=path.stem, seam_allowance_in=_one(seam_allowance_in)
        )
    own = None if name in families() else _kept(name, home)
    if own is not None:
        _no_size(size)
        return template_of_file(
            str(own.body["text"]).encode(),
            str(own.body["suffix"]),
            name=name,
            seam_allowance_in=_one(seam_allowance_in),
        )
    name = shape_called(name)
    if size is None:
        make_template(name, 3.0)  # an unknown shape is told first
        raise TemplateError(f"Which size of {name}? Add --size with its finished size in inches.")
    return make_template(name, size, seam_allowance_in=seam_allowance_in)


def _meant(size: str | None, seam: str, unit: str) -> tuple[str | None, float | tuple[float, ...]]:
    """Give a size with its unit, and seam allowances in inches."""
    named = with_unit(size, unit) if size else size
    each = tuple(parse_length(part, unit=unit) for part in seam.split(","))
    return named, each[0] if len(each) == 1 else each


def _one(seam_allowance_in: float | Sequence[float]) -> float:
    if isinstance(seam_allowance_in, (int, float)):
        return seam_allowance_in
    raise TemplateError(
        "A shape of your own is drawn as it is cut, every edge with its own seam allowance; leave "
        "out the list."
    )


def _no_size(size: str | None) -> None:
    if size is not None:
        raise TemplateError("A shape of your own has its own size; leave out --size.")


def _kept(name: str, home: Path | None) -> Document | None:
    from stash.wiring import open_store  # only for names out of the library

    kept = open_store(home).documents("template")
    return next((one for one in kept if one.name == name), None)


def _bytes_of(path: Path) -> bytes:
    if str(path) == "-":
        return typer.get_binary_stream("stdin").read()
    return read_file(path)


def _steps(text: str) -> tuple[float, ...]:
    try:
        return tuple(float(part) for part in text.split(","))
    except ValueError:
        raise MeasureError(f"“{text}” are no turns; write degrees such as 0,180.") from None


def _effort(steps: int) -> Effort:
    from stash.shape.nesting.filling import Effort  # loads the geometry

    return Effort(steps)


def _print_fits(answers: list[ScrapFit], template: Template, unit: str) -> None:
    rows = []
    for answer in answers:
        size_in = answer.largest_size_in
        largest = "" if size_in is None else exact_words(size_in, unit=unit)
        most = answer.layout.upper_bound if answer.layout else 0
        rows.append((str(answer.scrap.name), _word(answer), str(answer.pieces), str(most), largest))
    say(f"{template.said(unit)}, cut with seams of {template.seam_words(unit)}")
    print_table(("scrap", "fits", "pieces", "at most", "largest size"), rows)
    for answer in answers:
        if answer.face_down:
            of_all = f"{answer.face_down} of {answer.pieces} pieces"
            say(f"scrap {answer.scrap.name}: {of_all} to cut face down, the template turned over")
        for strip in answer.strips.strips if answer.strips else ():
            say(
                f"scrap {answer.scrap.name}: strip "
                f"{length_words(strip.width_in, step=16, unit=unit)} wide at "
                f"{strip.direction_deg:.1f} degrees, {strip.pieces} pieces"
            )
    total, useful = sum(one.pieces for one in answers), sum(one.pieces > 0 for one in answers)
    say(f"{total} pieces from {useful} of {len(answers)} scraps.")


def _word(answer: ScrapFit) -> str:
    if answer.problem:
        return "no shape"
    if answer.pieces:
        return "yes"
    return "maybe" if answer.answer and answer.answer.fits == "maybe" else "no"


def _draw(answers: list[ScrapFit], template: Template, picture: Path) -> None:
    from stash.drawing.placement_picture import PlacedScrap, draw_placements

    shown = [
        PlacedScrap(
            str(answer.scrap.name),
            answer.scrap.outline,
            answer.layout.placements if answer.layout else (),
            answer.scrap.grain_deg,
        )
        for answer in answers
        if answer.scrap.outline is not None
    ]
    write_beside(picture, draw_placements(shown, template, picture.suffix))


def list_templates(home: Home = None, json: Json = False) -> None:
    """List the shapes and say what the size of each measures."""
    from stash.shape.templates.template import families, meaning_of_size  # shapely
    from stash.wiring import open_store  # for shapes of one's own

    shapes = [(name, meaning_of_size(name)) for name in families()]
    shapes += [(one.name, "your own shape, in its own size") for one in _own(open_store(home))]
    if json:
        print_json([{"name": name, "size": meaning} for name, meaning in shapes])
        return
    print_table(("shape", "its finished size is"), shapes)
    say('Or a file: .json with {"cut": [[x, y], ...]} in inches, or .svg with one closed path.')


def _own(store: Store) -> Sequence[Document]:
    return store.documents("template")


def add_template(
    name: Annotated[str, typer.Argument(help="What to call the shape.")],
    file: Annotated[Path, typer.Argument(help="Its cut shape: a .json or .svg file.")],
    unit: Unit = "in",
    home: Home = None,
    json: Json = False,
) -> None:
    """Keep a shape of your own under a name."""
    from stash.shape.templates.template import families, template_of_file  # shapely
    from stash.usecases.ports import Document  # with the store
    from stash.wiring import open_store  # opens the stash

    if name in families() or not name.strip() or Path(name).suffix in (".json", ".svg"):
        raise TemplateError(f"A shape of your own cannot be called “{name}”; choose another name.")
    data = _bytes_of(file)
    shape = template_of_file(data, file.suffix, name=name)
    body = {"suffix": file.suffix.lower(), "text": data.decode()}
    open_store(home).keep_document(Document("template", name, body), why=f"kept template {name}")
    west, south, east, north = shape.cut_polygon().bounds
    if json:
        print_json({"name": name, "cut_width_in": east - west, "cut_height_in": north - south})
    else:
        size = f"{exact_words(east - west, unit=unit)} x {exact_words(north - south, unit=unit)}"
        say(f"Kept {name}: cut {size}.")


def show_template(
    template: Annotated[str, typer.Argument(help="A shape of the list, or a file.")],
    size: Size = None,
    seam_allowance: Seam = "1/4 in",
    unit: Unit = "in",
    home: Home = None,
    json: Json = False,
) -> None:
    """Say how large the finished and the cut shape are."""
    from stash.shape.templates.curve import path_length  # loads the geometry

    chosen = chosen_template(template, *_meant(size, seam_allowance, unit), home=home)
    west, south, east, north = chosen.cut_polygon().bounds
    facts = {
        "name": chosen.name,
        "cut_width_in": east - west,
        "cut_height_in": north - south,
        "cut_area_sq_in": float(chosen.cut_polygon().area),
        "finished_edge_in": path_length(chosen.finished),
        "seam_allowance_in": chosen.allowances_in,
        "edges_begin_at": [list(segment.start) for segment in chosen.finished],
        "repeats_after_deg": chosen.rotation_period_deg,
        "flattening_error_in": chosen.flattening_error_in,
        "cut": [list(point) for point in chosen.cut],
    }
    if json:
        print_json(facts)
        return
    say(chosen.said(unit))

    def long(inches: float) -> str:
        return exact_words(inches, unit=unit)

    say(f"cut {long(east - west)} x {long(north - south)}")
    say(f"cut area {area_words(float(chosen.cut_polygon().area), unit=unit, digits=2)}")
    say(f"finished edge {long(path_length(chosen.finished))}, measured along the curves")
    where = "on edges 1, 2, ..." if chosen.edge_allowances_in else "on every edge"
    say(f"seam allowance {chosen.seam_words(unit)} {where}")
    start, end = (
        ", ".join(long(side) for side in point)
        for point in (chosen.finished[0].start, chosen.finished[0].end)
    )
    say(
        f"edge 1 of {len(chosen.finished)} runs from {start} to {end}; the others follow "
        "counter-clockwise"
    )
