"""One look at the table: what its backing is like, and what lies on it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import cv2
import numpy as np

from stash.errors import BackingError
from stash.photo.table.backing_model import (
    FINE_LIMIT,
    BackingModel,
    Float32Array,
    Mask,
    halved,
    model_backing,
)
from stash.photo.table.cloth_mask import COARSE_LIMIT, cloth_of, free_of, seen_of
from stash.photo.table.mask_sizes import disc, hem_of
from stash.photo.table.soft_light import soft_light
from stash.photo.table.true_shape import Look

__all__ = ["TableLook", "look_at"]

_BORDER = 0.025  # share of the long side where the backing is learnt first
_MOST_SPREAD = 12.0  # CIELAB; backings that can be used scatter by 2 to 5 about each colour
_MOST_BORDER = 0.5  # share of the table's border that may look like cloth
_BOLD = 2.2 * FINE_LIMIT  # further off the backing no part of a print passes for it


@dataclass(frozen=True, eq=False)
class TableLook:
    """What was seen.

    Attributes
    ----------
    lab : float32, shape (height, width, 3)
        CIELAB of the work image.
    ground : bool, shape (height, width)
        The table: all of the photo, or the sheet that the card lies on.
    blocked : bool, shape (height, width)
        Where no scrap is: the card, and all beside the ground.
    backing : BackingModel
        What bare ground looks like.
    seen, cloth : bool, shape (height, width)
        See ``stash.photo.table.cloth_mask``.
    step : float
        Pixels an inch.
    """

    lab: Float32Array
    ground: Mask
    blocked: Mask
    backing: BackingModel
    seen: Mask
    cloth: Mask
    step: float

    @cached_property
    def colours(self) -> Look:
        """What tells the true shape of scraps; lines of a pattern look like cuts."""
        exactly = self.seen if self.backing.plain else np.zeros_like(self.seen)
        return Look(exactly, self.backing.fine > _BOLD, self.lab)

    @property
    def edge(self) -> Mask:
        """Where the ground ends; what reaches there is cut off."""
        return hem_of(self.ground, 2)

    @cached_property
    def _border_share(self) -> float:
        """How much of the ground's border looks like cloth."""
        return float(self.cloth[hem_of(self.ground, 1)].mean())

    @property
    def readable(self) -> bool:
        """Whether the backing can be told from the scraps."""
        return self._border_share <= _MOST_BORDER and self.backing.spread <= _MOST_SPREAD

    def check(self) -> None:
        """Raise a ``BackingError`` if the backing cannot be told from the scraps."""
        if not self.readable:
            raise BackingError(
                "I cannot tell the scraps from what they lie on: it has many colours, or scraps "
                "run all along the edge of the photo. Lay them on one plain cloth that shows all "
                "round, and take the photo again.",
                border_share=self._border_share,
            )


def look_at(
    lab: Float32Array, card: Mask, ground: Mask, step: float, *, bare: Mask | None = None
) -> TableLook:
    """Learn the backing and tell what is unlike it.

    Parameters
    ----------
    lab : float32, shape (height, width, 3)
        CIELAB of the work image.
    card, ground : bool, shape (height, width)
        Where cards lie; what is the table.
    step : float
        Pixels an inch.
    bare : bool, shape (height, width), optional
        Where the ground is surely bare; else it is learnt from its border.
    """
    blocked = card | ~ground
    if bare is None:
        backing = _backing_in_two_looks(lab, ground, blocked, step)
    else:
        backing = model_backing(_planes(lab), bare & ~blocked, px_per_in=step)
    free = free_of(backing, blocked, step)
    light = None
    if backing.plain:  # a patterned one does not show its light
        plain = (backing.fine < FINE_LIMIT) & (backing.coarse < COARSE_LIMIT) & ~blocked
        light = soft_light(backing, plain, step)
        free &= ~(light.shadow | light.gloss)
    seen = seen_of(backing, free, step)
    cloth = cloth_of(seen, backing, free, blocked, step)
    if light is not None:
        cloth = light.without_folds(cloth)
    return TableLook(lab, ground, blocked, backing, seen, cloth, step)


def _backing_in_two_looks(
    lab: Float32Array, ground: Mask, blocked: Mask, step: float
) -> BackingModel:
    """Learn the backing at the border, then again from all that looked like it."""
    height, width = ground.shape
    border = hem_of(ground, max(3, round(_BORDER * max(height, width)))) & ~blocked
    planes = _planes(lab)
    half = tuple(halved(plane) for plane in planes)
    learn = cv2.resize(border.astype(np.uint8), (width // 2, height // 2)) > 0
    first = model_backing(half, learn, px_per_in=step / 2)
    alike = (first.fine < FINE_LIMIT) & (first.coarse < COARSE_LIMIT)
    near = cv2.resize(alike.astype(np.uint8), (width, height)) > 0
    sure = cv2.erode((near & ~blocked).astype(np.uint8), disc(0.1 * step)).astype(bool)
    if sure.sum() < 0.02 * sure.size:
        return model_backing(planes, border, px_per_in=step)
    return model_backing(planes, sure | (border & near), px_per_in=step)


def _planes(lab: Float32Array) -> tuple[Float32Array, ...]:
    return tuple(np.asarray(plane, dtype=np.float32) for plane in cv2.split(lab))
