"""Sheets for the cutting table and the sewing machine."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Optional

import typer

from stash.cli.cloth_commands import cloth
from stash.cli.finishing_commands import finishing
from stash.cli.messages import print_json, say
from stash.cli.options import Home, Json, MaybeQuilt, OutFile, PaperName, QuiltName, Seam, Unit
from stash.cli.sheet_files import paper_of, write_sheet
from stash.errors import PlanError, TemplateError
from stash.units import parse_length, with_unit
from stash.usecases.user_files import write_beside

if TYPE_CHECKING:
    from stash.quilt.quilting_lines import LineWish
    from stash.usecases.papers.print_sheets import Top

__all__ = ["register_quilt", "register_template"]

ShapeName = Annotated[str, typer.Option("--template", help="Instead of a quilt: a shape.")]
ShapeSize = Annotated[
    Optional[str],
    typer.Option("--size", help="Its finished size, e.g. 4, 4 1/2 or 2x4."),
]
ShapeAsked = tuple[str, str | None, float]  # name, size, seam allowance in inches
LineStyleName = Annotated[
    str,
    typer.Option(
        "--style",
        help="arcs (along the seams, crossing to crossing), peel (petals about the straight line "
        "between crossings), echo (on both sides of every seam), seams, straight, crosshatch or "
        "vine (along the edge or in the border). Usual: arcs; peel where seams meet in cusps.",
    ),
]
LineDepth = Annotated[
    str,
    typer.Option(
        "--depth", help="How far inside the seam a line lies, or a vine from the border's edges."
    ),
]
LinesApart = Annotated[
    str, typer.Option("--apart", help="From line to line: straight lines and crosshatch.")
]
Layers = Annotated[int, typer.Option(help="Most layers of cloth in a stack.")]
SettingName = Annotated[str, typer.Option("--setting", help="How the shape is set.")]


def register_template(templates: typer.Typer) -> None:
    """Add the sheets of a shape to its commands."""
    templates.command("print")(print_template)


def register_quilt(quilt: typer.Typer) -> None:
    """Add the sheets of one quilt to its commands."""
    quilt.command("papers")(papers)
    quilt.command("cutsheets")(cutsheets)
    quilt.command("sewing")(sewing)
    quilt.command("guide")(guide)
    quilt.command("finishing")(finishing)
    quilt.command("cloth")(cloth)


def print_template(
    shape: Annotated[
        str, typer.Argument(help="A shape of the library, or a file.", show_default=False)
    ] = "",
    template: Annotated[str, typer.Option("--template", help="The same, as an option.")] = "",
    size: Annotated[
        Optional[list[str]],
        typer.Option("--size", help="Finished size. Give it again for more sizes."),
    ] = None,
    seam: Seam = "1/4 in",
    paper: PaperName = "letter",
    out: OutFile = None,
    unit: Unit = "in",
    home: Home = None,
    as_json: Json = False,
) -> None:
    """Print a template at true size. With cut line, seam line, grain, notches, check squares."""
    from stash.cli.sheet_answers import template_record
    from stash.drawing.template_sheet import template_pdf  # loads the PDF library
    from stash.usecases.pieces.manage_templates import template_of
    from stash.wiring import open_store

    if bool(shape) == bool(template):
        raise TemplateError("Name one shape to print, e.g. stash template print tumbler --size 4.")
    template = shape or template
    store, seam_in = open_store(home), parse_length(seam, unit=unit)
    sizes: list[str | None] = [with_unit(one, unit) for one in size] if size else [None]
    chosen = [template_of(store, template, size=one, seam_allowance_in=seam_in) for one in sizes]
    name = "-".join([Path(template).stem, *(size or [])])
    file = write_sheet(out, name, paper, template_pdf(chosen, paper_of(paper), unit=unit))
    if as_json:
        print_json({"file": str(file), "templates": [template_record(one) for one in chosen]})
        return
    say(f"{file}: print it at 100 % and measure both squares before you cut.")


def papers(
    name: QuiltName,
    layers: Layers = 6,
    style: LineStyleName = "",
    depth: LineDepth = "1/4 in",
    apart: LinesApart = "2 in",
    paper: PaperName = "letter",
    out: OutFile = None,
    unit: Unit = "in",
    home: Home = None,
    as_json: Json = False,
) -> None:
    """All papers of a quilt in one PDF.

    Plan, template at true size, cutting, chart, sewing, pressing, quilting and finishing.
    """
    from stash.usecases.papers.quilt_papers import PapersWish, quilt_papers  # PDF library
    from stash.wiring import open_store
    from stash.wording import counted

    wish = PapersWish(
        paper_of(paper),
        unit=unit,
        layers=layers,
        lines=_lines(style, depth, apart, unit),
    )
    made = quilt_papers(open_store(home, must_exist=True), name, wish)
    file = write_sheet(out, f"{name}-papers", paper, made.pdf)
    if as_json:
        sections = [{"title": title, "page": page} for title, page in made.sections]
        print_json(
            {
                "file": str(file),
                "pages": made.pages,
                "sections": sections,
                "left_out": list(made.left_out),
            }
        )
        return
    for words in made.left_out:
        say(words)
    say(f"{file}: {counted(made.pages, 'page')}; print it at 100 %.")


def cutsheets(
    name: QuiltName,
    layers: Layers = 6,
    paper: PaperName = "letter",
    out: OutFile = None,
    unit: Unit = "in",
    home: Home = None,
    as_json: Json = False,
) -> None:
    """Where to lay the template on every scrap.

    Also which scraps to stack and how wide to cut strips.
    """
    from stash.cli.sheet_answers import cut_record, say_cuts
    from stash.usecases.papers.print_sheets import cut_list, cut_sheets
    from stash.wiring import open_store

    cuts = cut_list(open_store(home, must_exist=True), name, layers=layers, unit=unit)
    file = write_sheet(out, f"{name}-cutting", paper, cut_sheets(cuts, paper_of(paper), unit=unit))
    if as_json:
        print_json({"file": str(file), **cut_record(cuts, unit=unit)})
        return
    say_cuts(cuts, unit=unit)
    say(f"Sheets: {file}")


def sewing(
    name: MaybeQuilt = "",
    template: ShapeName = "",
    size: ShapeSize = None,
    setting: SettingName = "",
    seam: Seam = "1/4 in",
    paper: PaperName = "letter",
    out: OutFile = None,
    unit: Unit = "in",
    home: Home = None,
    as_json: Json = False,
) -> None:
    """In which order to sew. Also which piece lies on top and where every seam is pressed."""
    from stash.cli.sheet_answers import say_sewing, sewing_record
    from stash.usecases.papers.print_sheets import sewing_of, sewing_sheet

    top = _top(home, name, _shape(template, size, seam, unit), setting)
    plan = sewing_of(top)
    file = write_sheet(
        out,
        f"{name or top.template.name}-sewing",
        paper,
        sewing_sheet(top, paper_of(paper), unit=unit),
    )
    if as_json:
        print_json({"file": str(file), **sewing_record(plan, top.template, unit=unit)})
        return
    say_sewing(plan, top.template, unit=unit)
    say(f"Sheet: {file}")


def guide(
    name: MaybeQuilt = "",
    template: ShapeName = "",
    size: ShapeSize = None,
    setting: SettingName = "",
    style: LineStyleName = "",
    depth: LineDepth = "1/4 in",
    apart: LinesApart = "2 in",
    seam: Seam = "1/4 in",
    svg: Annotated[
        Optional[Path],
        typer.Option("--svg", help="Draw the whole top into this SVG as well."),
    ] = None,
    paper: PaperName = "letter",
    out: OutFile = None,
    unit: Unit = "in",
    home: Home = None,
    as_json: Json = False,
) -> None:
    """Quilting lines without lifting the needle. How long, how many passes, a stencil."""
    from stash.cli.sheet_answers import guide_record, guide_sentence
    from stash.usecases.papers.print_sheets import guide_of, stencil_sheet

    top = _top(home, name, _shape(template, size, seam, unit), setting)
    lines = guide_of(top, _lines(style, depth, apart, unit))
    file = write_sheet(
        out,
        f"{name or top.template.name}-quilting",
        paper,
        stencil_sheet(top, lines, paper_of(paper), unit=unit),
    )
    if svg is not None:
        write_beside(svg, stencil_sheet(top, lines, None, unit=unit))
    if as_json:
        print_json({"file": str(file), "svg": str(svg) if svg else None, **guide_record(lines)})
        return
    say(guide_sentence(lines, unit=unit))
    say(f"Stencil: {file}")


def _shape(template: str, size: str | None, seam: str, unit: str) -> ShapeAsked:
    bare = with_unit(size, unit) if size else size
    return (template, bare, parse_length(seam, unit=unit))


def _top(home: Path | None, name: str, shape: ShapeAsked, setting: str) -> Top:
    from stash.usecases.papers.print_sheets import top_of_quilt, top_of_shape
    from stash.usecases.pieces.manage_templates import template_of  # loads shapely
    from stash.wiring import open_store

    template, size, seam_in = shape
    if bool(name) == bool(template):
        raise PlanError("Name a quilt, or a shape with --template and --size.")
    store = open_store(home)
    if name:
        return top_of_quilt(store, name)
    chosen = template_of(store, template, size=size, seam_allowance_in=seam_in)
    return top_of_shape(chosen, setting, rows=4)


def _lines(style: str, depth: str, apart: str, unit: str) -> LineWish:
    from stash.quilt.quilting_lines import LineStyle, LineWish  # loads networkx

    try:
        wanted = LineStyle(style.strip().lower()) if style.strip() else None
    except ValueError:
        known = ", ".join(LineStyle)
        raise PlanError(f"I know no quilting lines “{style}”. There are: {known}.") from None
    return LineWish(wanted, parse_length(depth, unit=unit), parse_length(apart, unit=unit))
