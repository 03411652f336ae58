"""Papers from the page: which size is asked for and remembered, and how a PDF is sent."""

from __future__ import annotations

import re

from starlette.requests import Request
from starlette.responses import Response

from stash.drawing.paper import A4, LETTER, Paper, paper_named
from stash.web.page_tools import PageTools

__all__ = ["asked_paper", "file_name", "paper_of", "pdf_response"]

_REMEMBERED = "stash-paper"
_A_YEAR_S = 365 * 24 * 3600


def file_name(words: str) -> str:
    """Make a plain name for a download; only letters, digits and hyphens are kept.

    Examples
    --------
    >>> file_name("Lighthouse “raffle”/../x cutting")
    'lighthouse-raffle-x-cutting.pdf'
    """
    plain = re.sub(r"[^a-z0-9]+", "-", words.lower()).strip("-")
    return f"{plain[:80] or 'sheet'}.pdf"


def paper_of(request: Request, tools: PageTools) -> str:
    """Give the paper this browser printed on last; at first the one that goes with the unit."""
    remembered = request.cookies.get(_REMEMBERED, "")
    usual = A4 if tools.settings.unit == "cm" else LETTER
    return remembered if remembered in (A4.name, LETTER.name) else usual.name


def asked_paper(request: Request, tools: PageTools) -> Paper:
    """Give the paper asked for, or the one remembered; raises PlanError for an unknown one."""
    return paper_named(request.query_params.get("paper") or paper_of(request, tools))


def pdf_response(request: Request, data: bytes, words: str) -> Response:
    """Send a PDF to be kept, and remember the paper it is for."""
    answer = Response(data, media_type="application/pdf")
    answer.headers["Content-Disposition"] = f'attachment; filename="{file_name(words)}"'
    answer.headers["Cache-Control"] = "private, no-store"
    asked = request.query_params.get("paper", "")
    if asked in (A4.name, LETTER.name):
        answer.set_cookie(_REMEMBERED, asked, max_age=_A_YEAR_S, httponly=True, samesite="strict")
    return answer
