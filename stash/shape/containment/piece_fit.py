"""Does one piece fit on a scrap: yes with a proof, no with a bound, or maybe."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

import numpy as np
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.polygon import orient

from stash.shape.containment.field import field_of
from stash.shape.containment.pose_room import clearance_of
from stash.shape.containment.pose_search import search
from stash.shape.containment.probe import probe_of
from stash.shape.plane.outline import Outline, Ring
from stash.shape.templates.template import Template
from stash.shape.templates.turning import Turning

__all__ = [
    "FitAnswer",
    "Placement",
    "exact_clearance",
    "find_placement",
    "find_placements",
    "flush_placement",
    "placement_of_pose",
    "turned_over",
]

_QUICK = 5000  # ranges of poses looked at first, then for those still open
_LONG = 20_000
_LAST = 100_000  # for the few that are still open: long pieces where many strips of cloth cross
_BATCH = 768
_LONG_BATCH = 16
_FIRST_AT_ONCE = 32
# Ranges, scraps side by side, and whether what crosses a piece is looked at, one after another.
_LOOKS = ((_QUICK, _BATCH, False), (_LONG, _LONG_BATCH, True), (_LAST, 4, True))
_SNAP_IN = 1e-9  # how far rounding may carry a piece over an edge it lies flush with
_NEARLY_IN = 5e-5  # a place this much short in single precision is still tried exactly
_TIGHT_IN = 0.004
_FLUSH_WITHIN_IN = 0.005  # pushing comes this close to a place that fits without any room
_MOST_FLUSH = 4000
_MOST_SIDES = 12


@dataclass(frozen=True, slots=True)
class Placement:
    """Where a piece lies: turned over first (y mirrored), then turned, then moved.

    Attributes
    ----------
    x, y : float
        Where the template's origin comes to lie, inches.
    angle_deg : float
        Turn about the template's origin, counter-clockwise.
    turned_over : bool
        Whether the piece is cut face down.
    """

    x: float
    y: float
    angle_deg: float
    turned_over: bool = False

    def ring(self, template: Template) -> Ring:
        """Give the cut outline as placed."""
        return self.moved(template.cut)

    def moved(self, ring: Ring) -> Ring:
        """Give any ring of the template's frame as placed, counter-clockwise."""
        turn = math.radians(self.angle_deg)
        cos, sin = _exact_turn(self.angle_deg) or (math.cos(turn), math.sin(turn))
        if self.turned_over:
            ring = tuple((x, -y) for x, y in reversed(ring))
        return tuple((x * cos - y * sin + self.x, x * sin + y * cos + self.y) for x, y in ring)


@dataclass(frozen=True, slots=True)
class FitAnswer:
    """Whether a piece fits.

    Attributes
    ----------
    fits : "yes", "maybe" or "no"
        Yes only with a placement that was checked exactly; maybe when neither was proved.
    placement : Placement or None
        Where it fits.
    clearance_in : (low, high)
        The most room a placement can keep all round lies between them, inches; it fits when
        that is at least the outline's error. Low is -inf where nothing useful is known.
    """

    fits: Literal["yes", "maybe", "no"]
    placement: Placement | None
    clearance_in: tuple[float, float]


def find_placement(outline: Outline, template: Template, *, turning: Turning) -> FitAnswer:
    """Look for one place where the piece fits on the scrap.

    Every point of the piece keeps the outline's error away from the measured border.
    """
    return find_placements([outline], template, turnings=[turning])[0]


def find_placements(
    outlines: Sequence[Outline], template: Template, *, turnings: Sequence[Turning]
) -> list[FitAnswer]:
    """Answer for many scraps at once, each with its own turning; much faster than one by one."""
    answers = _one_sided(outlines, template, turnings)
    if not template.may_turn_over or template.mirror_symmetric:
        return answers
    other = turned_over(template)
    unsure = [k for k, answer in enumerate(answers) if answer.fits != "yes"]
    flipped = _one_sided([outlines[k] for k in unsure], other, [turnings[k] for k in unsure])
    for k, answer in zip(unsure, flipped, strict=True):
        answers[k] = _either(answers[k], answer)
    return answers


def turned_over(template: Template) -> Template:
    """Give the template face down: its cut mirrored in the x axis."""
    cut = Placement(0, 0, 0, turned_over=True).ring(template)
    return replace(template, cut=cut, may_turn_over=False)


def _either(face_up: FitAnswer, face_down: FitAnswer) -> FitAnswer:
    low = max(face_up.clearance_in[0], face_down.clearance_in[0])
    high = max(face_up.clearance_in[1], face_down.clearance_in[1])
    if face_down.placement is not None:
        return FitAnswer("yes", replace(face_down.placement, turned_over=True), (low, high))
    undecided = "maybe" in (face_up.fits, face_down.fits)
    return FitAnswer("maybe" if undecided else "no", None, (low, high))


def _one_sided(
    outlines: Sequence[Outline], template: Template, turnings: Sequence[Turning]
) -> list[FitAnswer]:
    answers: dict[int, FitAnswer] = {}
    order = sorted(range(len(outlines)), key=lambda k: len(outlines[k].points))
    for evaluations, size, careful in _LOOKS:
        for start in range(0, len(order), size):
            batch = order[start : start + size]
            found = _searched(batch, outlines, template, turnings, evaluations, careful=careful)
            for k, answer in zip(batch, found, strict=True):
                answers[k] = answer
        order = [k for k in order if answers[k].fits == "maybe"]
    return [answers[k] for k in range(len(outlines))]


def _searched(
    batch: Sequence[int],
    outlines: Sequence[Outline],
    template: Template,
    turnings: Sequence[Turning],
    evaluations: int,
    *,
    careful: bool,
) -> list[FitAnswer]:
    chosen = [outlines[k] for k in batch]
    windows = [turnings[k].within(template.rotation_period_deg) for k in batch]
    probe = probe_of(template.cut)
    area = field_of(chosen, windows)
    # The same ranges whoever is asked beside: answers do not hang on the batch.
    found = search(area, probe, evaluations=evaluations, at_once=_FIRST_AT_ONCE, careful=careful)
    return [
        _answer(
            _Case(chosen[k], template, turnings[batch[k]]),
            placement_of_pose(found.pose[k], area.middle[k], probe.centre)
            if found.value[k] >= area.need[k] - _NEARLY_IN
            else None,
            (float(found.value[k]), float(found.bound[k])),
        )
        for k in range(len(batch))
    ]


@dataclass(frozen=True, slots=True)
class _Case:
    outline: Outline
    template: Template
    turning: Turning

    def allows(self, angle_deg: float) -> bool:
        """Say whether the piece, or one of the turns that look like it, may lie so."""
        period_deg = self.template.rotation_period_deg
        return any(
            self.turning.allows(angle_deg + k * period_deg) for k in range(round(360 / period_deg))
        )


def _answer(case: _Case, placement: Placement | None, room: tuple[float, float]) -> FitAnswer:
    """Prove a found placement exactly, or turn what the search knows into an answer."""
    low, high = room
    need_in = case.outline.error_in
    if placement is not None:
        kept = exact_clearance(case.outline, placement.ring(case.template))
        if kept >= need_in and case.allows(placement.angle_deg):
            return FitAnswer("yes", placement, (kept, max(kept, high)))
        if low >= need_in:
            high = max(high, need_in + _TIGHT_IN)
    if high < need_in - 1e-4:
        return FitAnswer("no", None, (low, high))
    flush = None
    if low >= need_in - _FLUSH_WITHIN_IN:
        flush = flush_placement(case.outline, case.template, case.turning)
    if flush is not None:
        return FitAnswer("yes", flush, (need_in, max(need_in, high)))
    return FitAnswer("maybe" if high >= need_in + _TIGHT_IN else "no", None, (low, high))


def placement_of_pose(
    pose: np.ndarray[tuple[int], np.dtype[np.float64]],
    middle: np.ndarray[tuple[int], np.dtype[np.float64]],
    centre: tuple[float, float],
) -> Placement:
    """Turn a pose of the inscribed circle's centre into one of the template's origin."""
    turn = float(pose[2])
    cos, sin = math.cos(turn), math.sin(turn)
    x = float(pose[0] + middle[0]) - (centre[0] * cos - centre[1] * sin)
    y = float(pose[1] + middle[1]) - (centre[0] * sin + centre[1] * cos)
    return Placement(x, y, math.degrees(turn))


def exact_clearance(outline: Outline, ring: Ring) -> float:
    """Give how far a piece stays inside the border; -inf if any of it lies outside."""
    piece = Polygon(np.array(ring))
    if not outline.polygon.covers(piece):
        return -math.inf
    return float(outline.polygon.boundary.distance(piece))


def flush_placement(outline: Outline, template: Template, turning: Turning) -> Placement | None:
    """Lay every edge of the template flush with every edge of the sure cloth, ends meeting.

    Finds the piece that fits exactly, such as a 5-inch square on a 5-inch charm square.
    """
    case = _Case(outline, template, turning)
    sure = outline.sure()
    parts = sure.geoms if isinstance(sure, MultiPolygon) else [sure]
    edges = [edge for part in parts if not part.is_empty for edge in _edges_of(part)]
    shapes = _edges_of(Polygon(template.cut))
    if not edges or len(shapes) > _MOST_SIDES or len(edges) * len(shapes) > _MOST_FLUSH:
        return None
    tolerant = sure.buffer(_SNAP_IN, join_style="mitre")
    for placement in _nearly_inside(outline, template, _flush_offers(edges, shapes)):
        ring = placement.ring(template)
        inside = tolerant.covers(Polygon(ring)) and _keeps_off(outline, ring)
        if inside and case.allows(placement.angle_deg):
            return placement
    return None


def _keeps_off(outline: Outline, ring: Ring) -> bool:
    """Whether a piece on sure cloth keeps the outline's error off the border by measure too.

    Sure cloth is worked out by shapely and may be a few billionths of an inch too wide.
    """
    return outline.error_in == 0 or exact_clearance(outline, ring) >= outline.error_in - _SNAP_IN


_Edge: TypeAlias = tuple[tuple[float, float], tuple[float, float]]


def _flush_offers(edges: Sequence[_Edge], shapes: Sequence[_Edge]) -> list[Placement]:
    offers = []
    for (ax, ay), (bx, by) in edges:
        along = math.atan2(by - ay, bx - ax)
        for shape in shapes:
            (px, py), (qx, qy) = shape
            angle = round(math.degrees(along - math.atan2(qy - py, qx - px)), 9)
            (sx, sy), (tx, ty) = Placement(0, 0, angle).moved(shape)
            offers.append(Placement(ax - sx, ay - sy, angle))
            offers.append(Placement(bx - tx, by - ty, angle))
    return offers


def _nearly_inside(
    outline: Outline, template: Template, offers: Sequence[Placement]
) -> list[Placement]:
    """Sort out, in single precision, the offers that certainly stick out."""
    area = field_of([outline], [((0.0, 360.0),)])
    probe = probe_of(template.cut)
    turn = np.radians([one.angle_deg for one in offers])
    x, y = probe.centre
    spots = np.array([(one.x, one.y) for one in offers]) - area.middle[0]
    spots[:, 0] += x * np.cos(turn) - y * np.sin(turn)
    spots[:, 1] += x * np.sin(turn) + y * np.cos(turn)
    zero = np.zeros(len(offers), dtype=np.intp)
    room = clearance_of(area, probe, zero, np.column_stack([spots, turn]), coarse=True)
    kept = np.flatnonzero(room >= outline.error_in - 1e-3)
    return [offers[int(k)] for k in kept]


def _edges_of(shape: Polygon) -> list[_Edge]:
    facing = orient(shape)
    rings = [facing.exterior, *facing.interiors]
    return [
        ((a[0], a[1]), (b[0], b[1]))
        for ring in rings
        for a, b in zip(ring.coords, ring.coords[1:], strict=False)
    ]


def _exact_turn(angle_deg: float) -> tuple[float, float] | None:
    """Cosine and sine of quarter turns without rounding."""
    return {0.0: (1.0, 0.0), 90.0: (0.0, 1.0), 180.0: (-1.0, 0.0), 270.0: (0.0, -1.0)}.get(
        angle_deg % 360
    )
