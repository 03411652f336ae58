"""Ask of outlines measured anywhere: does a piece fit, how many, how large could it be."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from stash.errors import MeasureError, StashError
from stash.shape.containment.largest import largest_alike
from stash.shape.containment.piece_fit import FitAnswer, find_placements, turned_over
from stash.shape.nesting.filling import Effort, fill
from stash.shape.nesting.layout import Layout
from stash.shape.nesting.straight_cuts import StripCuts, strip_cuts
from stash.shape.plane.outline import Outline, outline_of
from stash.shape.templates.template import OWN_SHAPE, Template
from stash.shape.templates.turning import Turning

__all__ = ["FitRequest", "GivenScrap", "ScrapFit", "fit_pieces", "read_outlines"]

_AT_ONCE = 96
_MOST_PIECES = 20_000  # more is a wrong unit; a yard gives 1,512 one-inch squares
_NO_GRAIN = "Its grain line is not given; add grain_deg, or ask without a grain tolerance."


@dataclass(frozen=True, slots=True)
class GivenScrap:
    """A scrap measured elsewhere, or the reason why its outline is no shape."""

    name: str | int
    outline: Outline | None
    grain_deg: float | None = None
    problem: str = ""
    one_way: bool = False
    may_turn_over: bool = False


@dataclass(frozen=True, slots=True)
class FitRequest:
    """What to cut, how it may lie, and how hard to look.

    Attributes
    ----------
    template : Template
        What to cut.
    grain_tolerance_deg : float or None
        None: any turn. Else the template's x axis lies this close to the grain line.
    grain_steps_deg : tuple of float
        Turns off the grain line that the print allows; the first alone on a one-way print.
    effort : Effort
        How long to look for one more piece.
    straight_cuts : bool
        Whether to say also what straight strips give.
    may_turn_over : bool
        Whether pieces may lie face down on every scrap, not only where the scrap says so.
    """

    template: Template
    grain_tolerance_deg: float | None = None
    grain_steps_deg: tuple[float, ...] = (0, 90, 180, 270)
    effort: Effort = field(default_factory=Effort)
    straight_cuts: bool = False
    may_turn_over: bool = False

    def template_on(self, scrap: GivenScrap) -> Template:
        """Give the template with the scrap's own rule about lying face down."""
        allowed = self.may_turn_over or scrap.may_turn_over
        return replace(self.template, may_turn_over=allowed and not self.template.mirror_symmetric)


@dataclass(frozen=True, slots=True)
class ScrapFit:
    """The answer for one scrap; a problem instead where its outline is no shape."""

    scrap: GivenScrap
    answer: FitAnswer | None = None
    layout: Layout | None = None
    largest_size_in: float | None = None
    strips: StripCuts | None = None
    problem: str = ""

    @property
    def pieces(self) -> int:
        """How many pieces the scrap gives, proved by the layout."""
        return self.layout.pieces if self.layout else 0

    @property
    def face_down(self) -> int:
        """How many of the pieces lie face down."""
        placements = self.layout.placements if self.layout else ()
        return sum(one.turned_over for one in placements)

    def body(self, template: Template) -> dict[str, Any]:
        """Give the answer for programs."""
        placements = self.layout.placements if self.layout else ()
        body: dict[str, Any] = {
            "id": self.scrap.name,
            "fits": self.pieces > 0,
            "pieces": self.pieces,
            "largest_size_in": self.largest_size_in,
            "placements": [
                {
                    "x": one.x,
                    "y": one.y,
                    "angle_deg": one.angle_deg,
                    "turned_over": one.turned_over,
                    "outline": [list(point) for point in one.ring(template)],
                }
                for one in placements
            ],
        }
        if self.problem:
            return {**body, "problem": self.problem}
        if self.answer is not None and self.layout is not None:
            body["sure"] = self.answer.fits
            body["clearance_in"] = [
                one if math.isfinite(one) else None for one in self.answer.clearance_in
            ]
            body["upper_bound"] = self.layout.upper_bound
        if self.strips is not None:
            body["strips"] = [
                {"width_in": one.width_in, "direction_deg": one.direction_deg, "pieces": one.pieces}
                for one in self.strips.strips
            ]
        return body


def read_outlines(data: bytes) -> list[GivenScrap]:
    """Read measured scraps, inches, from JSON.

    ``[{"id", "outline", "holes", "error_in", "grain_deg", "one_way", "may_turn_over"}, ...]``;
    all but the outline may be left out. An outline that is no shape becomes a scrap with a
    problem; the others can still be asked.

    Raises
    ------
    MeasureError
        If the whole is not a list of such records.
    """
    try:
        records = json.loads(data)
    except (ValueError, RecursionError):
        raise MeasureError(
            "The outlines are not JSON.", at_terminal="See: stash fit --help"
        ) from None
    if not isinstance(records, list) or not all(isinstance(one, dict) for one in records):
        raise MeasureError(
            'The outlines should be a list such as [{"id": 1, "outline": [[x, y], ...]}].'
        )
    return [_scrap(number, record) for number, record in enumerate(records, start=1)]


def _scrap(number: int, record: Mapping[str, Any]) -> GivenScrap:
    name = record.get("id", number)
    if not isinstance(name, (str, int)):
        name = number
    try:
        outline = outline_of(
            record["outline"],
            record.get("holes") or (),
            error_in=float(record.get("error_in") or 0.0),
        )
        grain = record.get("grain_deg")
        grain_deg = None if grain is None else float(grain)
        if grain_deg is not None and not math.isfinite(grain_deg):
            raise MeasureError(f"A grain line at {grain_deg} degrees makes no sense.")
        one_way, may_turn_over = _yes_or_no(record, "one_way"), _yes_or_no(record, "may_turn_over")
    except StashError as problem:
        return GivenScrap(name, None, problem=str(problem))
    except (KeyError, TypeError, ValueError, OverflowError):
        text = "Its outline is not of the form [[x, y], [x, y], ...] in inches."
        return GivenScrap(name, None, problem=text)
    return GivenScrap(name, outline, grain_deg, "", one_way, may_turn_over)


def _yes_or_no(record: Mapping[str, Any], key: str) -> bool:
    value = record.get(key, False)
    if not isinstance(value, bool):
        raise MeasureError(f"Its {key} should be true or false.")
    return value


def fit_pieces(scraps: Sequence[GivenScrap], request: FitRequest) -> Iterator[ScrapFit]:
    """Answer in the order given, some scraps at a time."""
    for start in range(0, len(scraps), _AT_ONCE):
        yield from _fit_some(scraps[start : start + _AT_ONCE], request)


def _fit_some(scraps: Sequence[GivenScrap], request: FitRequest) -> Iterator[ScrapFit]:
    """Search one place and the largest size for all together, then lay out each."""
    template = request.template
    problems = [scrap.problem or _problem(scrap, request) for scrap in scraps]
    sound = [
        _Asked(scrap.outline, _turning(scrap, request), request.template_on(scrap))
        for scrap, problem in zip(scraps, problems, strict=True)
        if scrap.outline and not problem
    ]
    found = zip(sound, _places(sound), _largest(sound, template), strict=True)
    for scrap, problem in zip(scraps, problems, strict=True):
        if problem:
            yield ScrapFit(scrap, problem=problem)
            continue
        one, answer, largest_in = next(found)
        layout = fill(
            one.outline, one.template, turning=one.turning, effort=request.effort, known=answer
        )
        strips = _strips(one) if request.straight_cuts else None
        yield ScrapFit(scrap, answer, layout, largest_in, strips)


def _problem(scrap: GivenScrap, request: FitRequest) -> str:
    """Say why a scrap cannot be asked; nothing where it can."""
    if request.grain_tolerance_deg is not None and scrap.grain_deg is None:
        return _NO_GRAIN
    if scrap.outline is None:
        return "It has no outline."
    pieces = math.prod(scrap.outline.least_box_in()) / request.template.cut_polygon().area
    if pieces > _MOST_PIECES:
        return (
            f"It would give some {pieces:,.0f} pieces, more than the {_MOST_PIECES:,} a scrap is"
            " asked for. Are its numbers inches?"
        )
    return ""


@dataclass(frozen=True, slots=True)
class _Asked:
    """One sound outline, how pieces may be turned on it, and the template with its rule."""

    outline: Outline
    turning: Turning
    template: Template


def _places(sound: Sequence[_Asked]) -> list[FitAnswer]:
    """Search one place on every scrap, those with the same rule about lying face down together."""
    answers: dict[int, FitAnswer] = {}
    for rule in (False, True):
        alike = [k for k, one in enumerate(sound) if one.template.may_turn_over is rule]
        if alike:
            found = find_placements(
                [sound[k].outline for k in alike],
                sound[alike[0]].template,
                turnings=[sound[k].turning for k in alike],
            )
            answers.update(zip(alike, found, strict=True))
    return [answers[k] for k in range(len(sound))]


def _largest(sound: Sequence[_Asked], template: Template) -> Sequence[float | None]:
    if template.family == OWN_SHAPE:
        return [None] * len(sound)
    turnings = [one.turning for one in sound]
    return largest_alike([one.outline for one in sound], template, turnings=turnings)


def _strips(one: _Asked) -> StripCuts | None:
    """Give the strips that yield most, from the side of the cloth that yields more."""
    sides = [one.template]
    if one.template.may_turn_over:
        sides.append(turned_over(one.template))
    cuts = [strip_cuts(one.outline, side, turning=one.turning) for side in sides]
    return max((cut for cut in cuts if cut), key=lambda cut: len(cut.placements), default=None)


def _turning(scrap: GivenScrap, request: FitRequest) -> Turning:
    """Give the turns allowed on a scrap, whose grain line is known where it is needed."""
    if request.grain_tolerance_deg is None or scrap.grain_deg is None:
        return Turning.free()
    steps = request.grain_steps_deg[:1] if scrap.one_way else request.grain_steps_deg
    return Turning.grain(scrap.grain_deg, request.grain_tolerance_deg, steps)
