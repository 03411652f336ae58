"""The table levelled by shapes of known size, as far as they agree with the card and each other."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from stash.photo.inches.known_shapes import KnownShape, KnownShapes
from stash.photo.inches.plane import Plane, fit_to_shapes

__all__ = ["Levelled", "level"]

_ANY_SIZE = 0.03  # while shapes are compared with each other, none is held to its size
_QUIET = 2.0  # squared error for each free number; below it nothing needs to be looked for
_ASTRAY = 6.0  # times more than the others leave, for each of its own free numbers
_MISPRINTED = 16.0  # four standard errors between stated and seen size, squared


@dataclass(frozen=True, eq=False)
class Levelled:
    """A plane and what became of the shapes.

    Attributes
    ----------
    plane : Plane
    used, astray : tuple of KnownShape
        Those it rests on; those that fit neither the card nor the others.
    misprinted : tuple of (KnownShape, float)
        Those whose print has another size than stated, and how many times it.
    """

    plane: Plane
    used: tuple[KnownShape, ...] = ()
    astray: tuple[KnownShape, ...] = ()
    misprinted: tuple[tuple[KnownShape, float], ...] = ()


def level(plane: Plane, shapes: tuple[KnownShape, ...]) -> Levelled:
    """Fit the plane to the card and to all shapes that can be trusted.

    Parameters
    ----------
    plane : Plane
        Fitted to the card.
    shapes : tuple of KnownShape
        What else of known size lies on the table.
    """
    if not shapes:
        return Levelled(plane)
    known, astray = _without_astray(plane, KnownShapes(shapes))
    known, misprinted = _without_misprinted(plane, known)
    if not len(known):
        return Levelled(plane, (), astray, misprinted)
    return Levelled(fit_to_shapes(plane, known), known.shapes, astray, misprinted)


def _without_astray(plane: Plane, known: KnownShapes) -> tuple[KnownShapes, tuple[KnownShape, ...]]:
    """Leave out, one by one, what the others speak against; judge the noise of those left."""
    astray = list[KnownShape]()
    while len(known):
        loose = known.of_any_size(_ANY_SIZE)
        fitted = fit_to_shapes(plane, loose)
        noise = _noise(fitted, loose)
        if noise < _QUIET:
            break
        worst, ratio = _worst(plane, loose, fitted.misfit)
        if ratio < _ASTRAY:
            break
        astray.append(known.shapes[worst])
        known = known.without(worst)
    if len(known):
        known = replace(known, doubt=max(1.0, float(np.sqrt(noise))))
    return known, tuple(astray)


def _noise(plane: Plane, shapes: KnownShapes) -> float:
    """Squared error that the shapes leave, for each free number; 1 is what they state."""
    errors = shapes.errors(plane.to_inches(shapes.px))
    return float(errors @ errors) / max(shapes.free, 1)


def _worst(plane: Plane, shapes: KnownShapes, misfit: float) -> tuple[int, float]:
    """Find the shape without which most falls into place."""
    ratios = []
    for index, shape in enumerate(shapes.shapes):
        others = shapes.without(index)
        fitted = fit_to_shapes(plane, others)
        usual = max(1.0, _noise(fitted, others))
        ratios.append((misfit - fitted.misfit) / (2 * len(shape.px) - 3) / usual)
    worst = int(np.argmax(ratios))
    return worst, ratios[worst]


def _without_misprinted(
    plane: Plane, known: KnownShapes
) -> tuple[KnownShapes, tuple[tuple[KnownShape, float], ...]]:
    """Leave out prints that are not as large as stated, by the card."""
    misprinted = list[tuple[KnownShape, float]]()
    for name in dict.fromkeys(shape.print_name for shape in known.shapes):
        held = fit_to_shapes(plane, known)
        loose = known.of_any_size(_ANY_SIZE, of_print=name)
        freed = fit_to_shapes(plane, loose)
        if held.misfit - freed.misfit < _MISPRINTED:
            continue
        times = known.scale(freed.to_inches(known.px), name)
        misprinted += [(shape, times) for shape in known.shapes if shape.print_name == name]
        known = replace(
            known, shapes=tuple(shape for shape in known.shapes if shape.print_name != name)
        )
        if not len(known):
            break
    return known, tuple(misprinted)
