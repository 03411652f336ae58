"""The stacks, drawn once each: every layer's border where it lies under the template."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Mapping
from typing import TypeAlias

from shapely.geometry import LineString, Polygon

from stash.drawing.paper import MARGIN_IN
from stash.drawing.pdf_page import Pdf, Pen, Point
from stash.quilt.stacks import Layer, Stack, StackPlan
from stash.shape.outline import Ring
from stash.units import format_inches

__all__ = ["draw_stacks"]

_Put: TypeAlias = Callable[[Point], Point]
_WORDS_IN = 2.6
_DASHES = ((), (6, 2), (2, 2), (8, 2, 2, 2), (4, 4), (1, 2))
_STRAIGHT_IN = 0.05  # how far a border may bend and still be told as one edge to align by


def draw_stacks(pdf: Pdf, plan: StackPlan, names: Mapping[int, str]) -> None:
    """Draw two stacks to a page.

    Parameters
    ----------
    pdf : Pdf
        The pages they are added to.
    plan : StackPlan
        The stacks in the order they are cut.
    names : mapping
        What each scrap is called, by number.
    """
    for at in range(0, len(plan.stacks), 2):
        pdf.new_page()
        half = (pdf.height_in - 2 * MARGIN_IN) / 2
        for k, stack in enumerate(plan.stacks[at : at + 2]):
            top = pdf.height_in - MARGIN_IN - k * half
            if k:
                pdf.line([(MARGIN_IN, top), (pdf.width_in - MARGIN_IN, top)], Pen(0.6, 0.6))
                top -= 0.2
            _draw_stack(pdf, stack, at + k + 1, (top - half + 0.2, top), names)


def _draw_stack(
    pdf: Pdf, stack: Stack, number: int, band: tuple[float, float], names: Mapping[int, str]
) -> None:
    bottom, top = band
    times = "cut once" if len(stack.cuts) == 1 else f"cut {len(stack.cuts)} times"
    pdf.text((MARGIN_IN, top - 0.3), f"Stack {number}", size_pt=22, bold=True)
    pdf.text((MARGIN_IN + 1.6, top - 0.3), f"{times}, {stack.pieces} pieces", size_pt=15)
    frame = (MARGIN_IN, bottom + 0.1, pdf.width_in - MARGIN_IN - _WORDS_IN - 0.2, top - 0.5)
    rings = [layer.outline for layer in stack.layers]
    put, scale = _fit(rings, frame)
    for ring in stack.cuts:
        pdf.polygon([put(point) for point in ring], None, fill_grey=0.9)
    for index, layer in enumerate(stack.layers):
        points = [put(point) for point in layer.outline]
        pdf.polygon(points, Pen(0.9, 0.25, _DASHES[index % len(_DASHES)]))
    for ring in stack.cuts:
        pdf.polygon([put(point) for point in ring], Pen(2.2))
    y = top - 0.6
    x = pdf.width_in - MARGIN_IN - _WORDS_IN
    y = pdf.paragraph(
        (x, y), "Right sides up, number 1 at the bottom.", width_in=_WORDS_IN, size_pt=11
    )
    for index, layer in enumerate(stack.layers, start=1):
        words = _layer_words(pdf, stack, layer, index, put)
        name = names.get(layer.scrap, "")
        y = pdf.paragraph(
            (x, y - 0.05),
            f"{index}: scrap {layer.scrap} {name}. {words}",
            width_in=_WORDS_IN,
            size_pt=9.5,
        )
    if stack.smallest_on_top:
        y = pdf.paragraph(
            (x, y - 0.05),
            "The top one lies inside all others: its edge shows where the template goes.",
            width_in=_WORDS_IN,
            size_pt=9.5,
        )
    if scale < 1:
        pdf.paragraph(
            (x, y - 0.05), f"Drawn at {100 * scale:.0f} %.", width_in=_WORDS_IN, size_pt=9.5
        )


def _layer_words(pdf: Pdf, stack: Stack, layer: Layer, index: int, put: _Put) -> str:
    """Mark the longest straight edge of a layer and say how far the template lies from it."""
    start, end = _longest_edge(layer.outline)
    pdf.line([put(start), put(end)], Pen(2.0, 0.2))
    share = 0.2 + 0.12 * (index - 1)
    x, y = put((start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1])))
    pdf.circle((x, y), 0.1, Pen(0.8), fill_grey=1.0)
    pdf.text((x, y - 0.045), str(index), size_pt=9, bold=True, align="middle")
    edge = LineString([start, end])
    apart = min(Polygon(ring).distance(edge) for ring in stack.cuts)
    length = math.dist(start, end)
    return (
        f"Its edge of {format_inches(length)} in marked {index} lies "
        f"{format_inches(apart, step=16)} in from the template."
    )


def _longest_edge(ring: Ring) -> tuple[Point, Point]:
    simple = Polygon(ring).exterior.simplify(_STRAIGHT_IN).coords
    pairs = [((a[0], a[1]), (b[0], b[1])) for a, b in itertools.pairwise(simple)]
    return max(pairs, key=lambda pair: math.dist(*pair))


def _fit(rings: list[Ring], frame: tuple[float, float, float, float]) -> tuple[_Put, float]:
    xs = [x for ring in rings for x, _ in ring]
    ys = [y for ring in rings for _, y in ring]
    wide, high = max(xs) - min(xs), max(ys) - min(ys)
    scale = min((frame[2] - frame[0]) / wide, (frame[3] - frame[1]) / high, 1.0)
    x0 = frame[0] - scale * min(xs)
    y0 = (frame[1] + frame[3] - scale * (min(ys) + max(ys))) / 2
    return (lambda point: (x0 + scale * point[0], y0 + scale * point[1])), scale
