"""The demo's page: a short read with the pictures large."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from itertools import groupby

__all__ = ["DemoFigure", "draw_demo_page"]

_STYLE = """
:root { color-scheme: light dark; }
body { font: 18px/1.6 Georgia, "Iowan Old Style", serif; margin: 0 auto; max-width: 68rem;
       padding: 3rem 1.25rem 6rem; background: Canvas; color: CanvasText; }
h1 { font-size: 2.3rem; line-height: 1.15; font-weight: 500; margin: 0 0 .6rem; }
h2 { font-size: 1.45rem; font-weight: 500; margin: 4rem 0 1rem; }
figure { margin: 0 0 2.2rem; }
figure img { width: 100%; height: auto; display: block; border-radius: 3px; }
figcaption { margin-top: .6rem; opacity: .8; }
.lead { font-size: 1.2rem; max-width: 44rem; }
code { font-size: .9em; }
"""


@dataclass(frozen=True, slots=True)
class DemoFigure:
    """A picture file beside the page, the question it answers, and a line under it."""

    file: str
    question: str
    words: str


def draw_demo_page(figures: Sequence[DemoFigure], *, summary: str) -> str:
    """Write the page, HTML; it needs nothing but the pictures beside it."""
    sections = "".join(
        f"<h2>{escape(question)}</h2>{''.join(_figure(one) for one in group)}"
        for question, group in groupby(figures, key=lambda one: one.question)
    )
    return (
        '<!doctype html><html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>The Tidewater stash</title><style>{_STYLE}</style></head><body>"
        "<h1>The Tidewater charm quilt</h1>"
        '<p class="lead">An invented stash for a lap quilt of tumblers, each of another fabric: '
        "deep blues, teals, sand, a touch of coral; nothing pink, nothing purple. The photos are "
        "rendered, with the truth beside them; everything else went the way any photo goes.</p>"
        f"<p>{escape(summary)}</p>{sections}</body></html>\n"
    )


def _figure(figure: DemoFigure) -> str:
    return (
        f'<figure><img src="{escape(figure.file)}" alt="{escape(figure.words)}">'
        f"<figcaption>{escape(figure.words)}</figcaption></figure>"
    )
