"""What goes to the printer: labels for bins, templates, cutting and sewing sheets."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from stash.drawing.paper import A4, LETTER
from stash.drawing.template_sheet import template_pdf
from stash.errors import PlanError
from stash.usecases.papers.print_sheets import (
    bin_labels,
    cut_list,
    cut_sheets,
    label_sheet,
    sewing_sheet,
    top_of_quilt,
)
from stash.usecases.quilts.plan_quilt import quilt_named, quilts
from stash.web.page_tools import Page, PageTools
from stash.web.views.match_pages import shapes_of, template_named
from stash.web.views.papers import asked_paper, paper_of, pdf_response

__all__ = ["PAGES"]

_LAYERS = 6  # what a rotary cutter goes through cleanly; the command's own default
_MOST_BINS = 400


def _choose(tools: PageTools, request: Request) -> Response:
    store = tools.store
    held = any(scrap.place for scrap in store.scraps())
    values = {
        "labels": bin_labels(store, unit=tools.settings.unit)[:_MOST_BINS] if held else (),
        "quilts": quilts(store),
        "shapes": shapes_of(store),
        "papers": sorted((A4, LETTER), key=lambda one: one.name != paper_of(request, tools)),
    }
    return tools.page(request, "print.html", values)


def _labels(tools: PageTools, request: Request) -> Response:
    bins = request.query_params.getlist("bin")[:_MOST_BINS]
    labels = bin_labels(tools.store, bins, unit=tools.settings.unit)
    if not labels:
        raise PlanError("No scrap lies in a bin yet. Note the bins first, then print labels.")
    return pdf_response(request, label_sheet(labels, asked_paper(request, tools)), "bin labels")


def _template(tools: PageTools, request: Request) -> Response:
    shape = request.query_params.get("shape", "")
    size = tools.meant(request.query_params.get("size", ""))
    template = template_named(tools.store, shape, size)
    return pdf_response(
        request, template_pdf([template], asked_paper(request, tools)), f"{shape} {size}"
    )


def _cutting(tools: PageTools, request: Request) -> Response:
    name = request.query_params.get("quilt", "")
    cuts = cut_list(tools.store, quilt_named(tools.store, name).name, layers=_LAYERS)
    return pdf_response(request, cut_sheets(cuts, asked_paper(request, tools)), f"{name} cutting")


def _sewing(tools: PageTools, request: Request) -> Response:
    name = request.query_params.get("quilt", "")
    return pdf_response(
        request,
        sewing_sheet(top_of_quilt(tools.store, name), asked_paper(request, tools)),
        f"{name} sewing",
    )


def _papers(tools: PageTools, request: Request) -> Response:
    """Send all papers of a quilt as one document."""
    from stash.usecases.papers.quilt_papers import PapersWish, quilt_papers  # PDF library

    name = request.query_params.get("quilt", "")
    wish = PapersWish(asked_paper(request, tools), tools.settings.unit)
    return pdf_response(request, quilt_papers(tools.store, name, wish).pdf, f"{name} papers")


PAGES = (
    Page("/print/papers.pdf", look=_papers),
    Page("/print", look=_choose),
    Page("/print/labels.pdf", look=_labels),
    Page("/print/template.pdf", look=_template),
    Page("/print/cutting.pdf", look=_cutting),
    Page("/print/sewing.pdf", look=_sewing),
)
