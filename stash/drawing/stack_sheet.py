"""The stacks, drawn once each: every layer's border where it lies under the template."""

from __future__ import annotations

import itertools
import math
import string
from collections.abc import Callable, Mapping
from typing import TypeAlias

from shapely.geometry import LineString, Polygon

from stash.drawing.page_flow import Flow
from stash.drawing.paper import MARGIN_IN
from stash.drawing.pdf_lettering import wrap
from stash.drawing.pdf_page import Pdf, Pen, Point
from stash.quilt.cutting import ScrapToCut
from stash.quilt.stacks import Layer, Stack, StackPlan
from stash.shape.plane.outline import Ring

__all__ = ["draw_stacks"]

_Put: TypeAlias = Callable[[Point], Point]
_WORDS_IN = 2.6
_PT = 9.5
_INTRO = "Right sides up, number 1 at the bottom."
_ON_TOP = "The top one lies inside all others: its edge shows where the template goes."
_SMALLEST = 0.6  # a drawing is made so much smaller at most to end a page
_LONGEST_EDGE = " Its edge of 123.4 cm marked 6 lies 123.4 cm from the template."  # room for it
_DASHES = ((), (6, 2), (2, 2), (8, 2, 2, 2), (4, 4), (1, 2))
_STRAIGHT_IN = 0.05  # how far a border may bend and still be told as one edge to align by


def draw_stacks(pdf: Pdf, flow: Flow, plan: StackPlan, scraps: Mapping[int, ScrapToCut]) -> None:
    """Draw the stacks one under another.

    Parameters
    ----------
    pdf, flow : Pdf, Flow
        The document, and where the next stack goes.
    plan : StackPlan
        The stacks in the order they are cut.
    scraps : mapping
        The scraps by number.
    """
    for number, stack in enumerate(plan.stacks, start=1):
        words_in, drawing_in = _room_of(pdf, stack, scraps)
        block_in = max(words_in, drawing_in)
        if flow.left_in < block_in and flow.left_in >= max(words_in, _SMALLEST * drawing_in):
            block_in = flow.left_in  # a little smaller, rather than white paper below it
        block_in = min(block_in, flow.full_in)
        _draw_stack(pdf, stack, number, flow.take(block_in, ruled=True), scraps)


def _room_of(pdf: Pdf, stack: Stack, scraps: Mapping[int, ScrapToCut]) -> tuple[float, float]:
    """Give how high a stack's words come out with its heading, and how high its drawing."""
    words = [
        _INTRO,
        *(_layer_name(one, k, scraps) + _LONGEST_EDGE for k, one in enumerate(stack.layers, 1)),
        *([_ON_TOP] if stack.smallest_on_top else ()),
        "Drawn at 50 %.",
    ]
    lines = sum(len(wrap(one, _WORDS_IN, size_pt=_PT)) for one in words)
    words_in = 1.32 * _PT / 72 * lines + 0.04 * len(words)
    return 0.6 + words_in, 0.6 + _drawing_in(pdf, stack)[1]


def _drawing_in(pdf: Pdf, stack: Stack) -> tuple[float, float]:
    wide_in = pdf.width_in - 2 * MARGIN_IN - _WORDS_IN - 0.2
    xs = [x for layer in stack.layers for x, _ in layer.outline]
    ys = [y for layer in stack.layers for _, y in layer.outline]
    most_in = (pdf.height_in - 2 * MARGIN_IN) / 2 - 0.95
    width, height = max(xs) - min(xs), max(ys) - min(ys)
    return wide_in, height * min(wide_in / width, most_in / height, 1.0)


def _draw_stack(
    pdf: Pdf,
    stack: Stack,
    number: int,
    band: tuple[float, float],
    scraps: Mapping[int, ScrapToCut],
) -> None:
    bottom, top = band
    times = "cut once" if len(stack.cuts) == 1 else f"cut {len(stack.cuts)} times"
    pdf.text((MARGIN_IN, top - 0.34), f"Stack {number}", size_pt=22, bold=True)
    pdf.text((MARGIN_IN + 1.6, top - 0.34), f"{times}, {stack.pieces} pieces", size_pt=15)
    wide_in, high_in = _drawing_in(pdf, stack)
    frame = (MARGIN_IN, max(bottom + 0.1, top - 0.5 - high_in), MARGIN_IN + wide_in, top - 0.5)
    put, scale = _fit([layer.outline for layer in stack.layers], frame)
    for ring in stack.cuts:
        pdf.polygon([put(point) for point in ring], None, fill_grey=0.9)
    for index, layer in enumerate(stack.layers):
        points = [put(point) for point in layer.outline]
        pdf.polygon(points, Pen(0.9, 0.25, _DASHES[index % len(_DASHES)]))
    for letter, ring in zip(string.ascii_uppercase, stack.cuts, strict=False):
        points = [put(point) for point in ring]
        pdf.polygon(points, Pen(2.2))
        if len(stack.cuts) > 1:
            spot = Polygon(points).representative_point()
            at = (float(spot.x), float(spot.y) - 0.07)
            pdf.text(at, letter, size_pt=14, bold=True, align="middle")
    words = [_INTRO]
    for index, layer in enumerate(stack.layers, start=1):
        edge = _layer_words(pdf, stack, layer, index, put)
        words.append(f"{_layer_name(layer, index, scraps)} {edge}")
    if stack.smallest_on_top:
        words.append(_ON_TOP)
    if scale < 1:
        words.append(f"Drawn at {100 * scale:.0f} %.")
    x, y = pdf.width_in - MARGIN_IN - _WORDS_IN, top - 0.6
    for one in words:
        y = pdf.paragraph((x, y), one, width_in=_WORDS_IN, size_pt=_PT) - 0.04


def _layer_name(layer: Layer, index: int, scraps: Mapping[int, ScrapToCut]) -> str:
    """Say which scrap a layer is, and where in the quilt what is cut from it goes."""
    scrap = scraps[layer.scrap]
    name = f"scrap {layer.scrap}" + (f", {scrap.name}" if scrap.name else "")
    if not scrap.places:
        return f"{index}: {name}."
    places = [scrap.places[piece] for piece in layer.pieces]
    if len(places) == 1:
        return f"{index}: {name}, for place {places[0]}."
    named = zip(string.ascii_uppercase, places, strict=False)
    told = ", ".join(f"{letter} {place}" for letter, place in named)
    return f"{index}: {name}, for places {told}."


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
        f"Its edge of {pdf.long(length)} marked {index} lies {pdf.long(apart, step=16)} from the "
        "template."
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
