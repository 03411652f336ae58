"""Scraps stacked so that one cut round the template serves every layer.

Each layer is turned and moved until the place of its own next piece lies under the template, so
that any scraps can be stacked, whatever their shape. No pass cuts one scrap twice, so a scrap of
five pieces comes into five passes, and no plan needs fewer than the larger of two counts: the most
pieces of one scrap, and all pieces over the layers of a full stack. Wrapping the list of pieces
round the passes reaches it (McNaughton 1959, Management Science 6, from memory).
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from dataclasses import dataclass

from shapely import affinity
from shapely.geometry import MultiPolygon, Polygon

from stash.errors import PlanError
from stash.shape.plane.outline import Outline, Ring

__all__ = [
    "Layer",
    "Stack",
    "StackPlan",
    "ToStack",
    "moved_ring",
    "pass_words",
    "stack_words",
    "stacks_of",
]

_SAME_IN = 1 / 64  # so close the cuts of two scraps lie in the same place: a blade's breadth
_TOUCH_IN = 1e-6


@dataclass(frozen=True, slots=True)
class ToStack:
    """A scrap and the outlines of the pieces to cut from it, all congruent, corner by corner."""

    number: int
    outline: Outline
    pieces: tuple[Ring, ...]


@dataclass(frozen=True, slots=True)
class Layer:
    """One scrap of a stack, right side up.

    Attributes
    ----------
    scrap : int
        Its number.
    turn_deg : float
        Turned about its own 0, 0 first, counter-clockwise.
    move_in : (float, float)
        Then moved, inches.
    pieces : tuple of int
        Which of its pieces the cuts of the stack are.
    outline : Ring
        Its border as it lies in the stack.
    """

    scrap: int
    turn_deg: float
    move_in: tuple[float, float]
    pieces: tuple[int, ...]
    outline: Ring


@dataclass(frozen=True, slots=True)
class Stack:
    """Layers from the bottom up, and the cuts that go through all of them.

    Attributes
    ----------
    layers : tuple of Layer
        Two or more.
    cuts : tuple of Ring
        Outlines of the template in the stack.
    smallest_on_top : bool
        Whether the top layer lies inside all others, so that its edge shows where to cut.
    """

    layers: tuple[Layer, ...]
    cuts: tuple[Ring, ...]
    smallest_on_top: bool

    @property
    def pieces(self) -> int:
        """Pieces they give together."""
        return len(self.layers) * len(self.cuts)


@dataclass(frozen=True, slots=True)
class StackPlan:
    """All stacks of a cutting list.

    Attributes
    ----------
    stacks : tuple of Stack
        In the order they are cut.
    alone : tuple of (int, int)
        Scrap and piece of every cut that is made through one layer.
    pieces : int
        Cuts it would take without stacking.
    """

    stacks: tuple[Stack, ...]
    alone: tuple[tuple[int, int], ...]
    pieces: int

    @property
    def passes(self) -> int:
        """Times the blade goes round the template."""
        return sum(len(stack.cuts) for stack in self.stacks) + len(self.alone)


@dataclass(frozen=True, slots=True)
class _Slot:
    """A piece of a scrap with the motion that brings it under the template."""

    scrap: ToStack
    piece: int


def stacks_of(scraps: Sequence[ToStack], cut: Ring, *, layers: int) -> StackPlan:
    """Stack scraps for the fewest passes of the blade.

    Parameters
    ----------
    scraps : sequence of ToStack
        Every piece lies on sure cloth of its scrap.
    cut : Ring
        The template, whose corners are those of every piece in their order; pieces of unwashed
        cloth may be larger in the same proportion.
    layers : int
        Most layers the blade goes through cleanly.

    Raises
    ------
    PlanError
        If a stack is to have no layer.
    """
    if layers < 1:
        raise PlanError("A stack has one layer or more.")
    alike, rest = _alike_groups(scraps, layers)
    stacks = [_stack_alike(group, cut) for group in alike]
    alone: list[tuple[int, int]] = []
    for slots in _passes(rest, layers):
        if len(slots) == 1:
            alone.append((slots[0].scrap.number, slots[0].piece))
        else:
            stacks.append(_stack(slots, cut))
    return StackPlan(tuple(stacks), tuple(alone), sum(len(one.pieces) for one in scraps))


def _fewest(counts: Sequence[int], layers: int) -> int:
    return max(max(counts, default=0), math.ceil(sum(counts) / layers))


def _passes(scraps: Sequence[ToStack], layers: int) -> list[list[_Slot]]:
    """Deal the pieces out over the fewest passes, each scrap at most once in a pass."""
    counts = [len(one.pieces) for one in scraps]
    passes: list[list[_Slot]] = [[] for _ in range(_fewest(counts, layers))]
    order = sorted(scraps, key=lambda one: (-len(one.pieces), one.number))
    slots = [_Slot(one, piece) for one in order for piece in range(len(one.pieces))]
    for number, slot in enumerate(slots):
        passes[number % len(passes)].append(slot)
    return passes


def _alike_groups(
    scraps: Sequence[ToStack], layers: int
) -> tuple[list[list[ToStack]], list[ToStack]]:
    """Take out full stacks of scraps whose several pieces lie alike: no restacking between cuts."""
    rest = list(scraps)
    groups: list[list[ToStack]] = []
    for first in sorted(scraps, key=lambda one: -len(one.pieces)):
        if len(first.pieces) < 2 or not any(one is first for one in rest):
            continue
        group = [one for one in rest if one is first or _lies_alike(one, first)][:layers]
        left = [one for one in rest if not any(one is other for other in group)]
        counts = [len(one.pieces) for one in rest]
        after = len(first.pieces) + _fewest([len(one.pieces) for one in left], layers)
        if len(group) > 1 and first in group and after <= _fewest(counts, layers):
            groups.append(group)
            rest = left
    return groups, rest


def _motion(scrap: ToStack, like: ToStack) -> tuple[float, complex, tuple[int, ...]] | None:
    """Find the turn and move that bring all pieces of a scrap onto those of another, if any."""
    if len(scrap.pieces) != len(like.pieces):
        return None
    for ring in scrap.pieces:
        turn, move = _onto(ring, like.pieces[0])
        places = [moved_ring(one, turn, (move.real, move.imag)) for one in scrap.pieces]
        order = []
        for wanted in like.pieces:
            near = [k for k, place in enumerate(places) if _apart(place, wanted) <= _SAME_IN]
            order += near[:1]
        if sorted(order) == list(range(len(like.pieces))):
            return turn, move, tuple(order)
    return None


def _lies_alike(scrap: ToStack, like: ToStack) -> bool:
    """Whether a scrap, so moved, holds the very cuts of another on its sure cloth."""
    motion = _motion(scrap, like)
    if motion is None:
        return False
    layer = _layer(scrap, *motion)
    cloth = _placed(scrap.outline.sure(), layer).buffer(_TOUCH_IN)
    return all(bool(cloth.covers(Polygon(ring))) for ring in like.pieces)


def _apart(one: Ring, other: Ring) -> float:
    return max(math.dist(p, q) for p, q in zip(one, other, strict=True))


def _stack_alike(group: Sequence[ToStack], cut: Ring) -> Stack:
    """Stack scraps of alike pieces under the cuts of the first."""
    first = group[0]
    cuts = tuple(_laid(cut, ring) for ring in first.pieces)
    layers = []
    for scrap in group:
        motion = _motion(scrap, first)
        if motion is None:
            raise PlanError(f"Scrap {scrap.number} does not lie like scrap {first.number}.")
        layers.append(_layer(scrap, *motion))
    return _in_order(layers, cuts, {one.number: one.outline for one in group})


def _stack(slots: Sequence[_Slot], cut: Ring) -> Stack:
    layers = []
    for slot in slots:
        turn, move = _onto(slot.scrap.pieces[slot.piece], cut)
        layers.append(_layer(slot.scrap, turn, move, (slot.piece,)))
    return _in_order(layers, (cut,), {one.scrap.number: one.scrap.outline for one in slots})


def _layer(scrap: ToStack, turn: float, move: complex, pieces: tuple[int, ...]) -> Layer:
    at = (move.real, move.imag)
    return Layer(scrap.number, turn, at, pieces, moved_ring(scrap.outline.points, turn, at))


def _in_order(layers: list[Layer], cuts: tuple[Ring, ...], outlines: dict[int, Outline]) -> Stack:
    """Put the largest at the bottom, and check that every layer holds every cut."""
    ordered = sorted(layers, key=lambda one: (-outlines[one.scrap].area_sq_in, one.scrap))
    for layer in ordered:
        cloth = _placed(outlines[layer.scrap].polygon, layer).buffer(_TOUCH_IN)
        if not all(cloth.covers(Polygon(ring)) for ring in cuts):
            raise PlanError(
                f"Scrap {layer.scrap} does not hold its piece any more. Allot the quilt again."
            )
    top = Polygon(ordered[-1].outline)
    inside = all(Polygon(one.outline).buffer(_TOUCH_IN).covers(top) for one in ordered[:-1])
    return Stack(tuple(ordered), cuts, inside)


def _placed(shape: Polygon | MultiPolygon, layer: Layer) -> Polygon | MultiPolygon:
    turned = affinity.rotate(shape, layer.turn_deg, origin=(0, 0))
    return affinity.translate(turned, *layer.move_in)


def _onto(ring: Ring, other: Ring) -> tuple[float, complex]:
    """Give the turn in degrees and the move that bring a ring onto another, middle on middle."""
    a, b = [complex(*p) for p in ring], [complex(*p) for p in other]
    ca, cb = sum(a) / len(a), sum(b) / len(b)
    turn = cmath.phase(sum((p - ca).conjugate() * (q - cb) for p, q in zip(a, b, strict=True)))
    return math.degrees(turn), cb - ca * cmath.exp(1j * turn)


def _laid(cut: Ring, ring: Ring) -> Ring:
    """Lay the template, at its own size, in the middle of a piece."""
    turn, move = _onto(cut, ring)
    return moved_ring(cut, turn, (move.real, move.imag))


def moved_ring(ring: Ring, turn_deg: float, move_in: tuple[float, float]) -> Ring:
    """Turn a ring about 0, 0 counter-clockwise and move it."""
    turn = cmath.exp(1j * math.radians(turn_deg))
    moved = (complex(*point) * turn + complex(*move_in) for point in ring)
    return tuple((point.real, point.imag) for point in moved)


def stack_words(stack: Stack) -> str:
    """Say what lies on what, and how often the blade goes round."""
    layers = ", ".join(_layer_words(layer) for layer in stack.layers)
    times = "cut once" if len(stack.cuts) == 1 else f"cut {len(stack.cuts)} times"
    top = "; the top one lies inside all others" if stack.smallest_on_top else ""
    return f"from the bottom up: scraps {layers}: {times}, {stack.pieces} pieces{top}"


def _layer_words(layer: Layer) -> str:
    if len(layer.pieces) > 1:
        return str(layer.scrap)
    return f"{layer.scrap} (piece {layer.pieces[0] + 1})"


def pass_words(plan: StackPlan) -> str:
    """Say what stacking saves, and what is cut through one layer."""
    passes = "Once" if plan.passes == 1 else f"{plan.passes} times"
    words = f"{passes} round the template; one by one it would be {plan.pieces}."
    if plan.alone:
        alone = ", ".join(f"{scrap} (piece {piece + 1})" for scrap, piece in plan.alone)
        words += f" Cut alone: scraps {alone}."
    return words
