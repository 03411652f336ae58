"""Describe a scrap's looks from its pixels: the one step from picture to ``Appearance``."""

from __future__ import annotations

import numpy as np

from stash.colour.appearance import Appearance, PrintKind
from stash.colour.cloth_sample import ClothSample, cropped
from stash.colour.dominant import cells_of, dominant_colours, reads_as
from stash.colour.figuring import figuring_of, kind_of
from stash.colour.spaces import chroma_of

__all__ = ["ClothSample", "describe"]


def describe(
    sample: ClothSample, *, error_de00: float = 0.0, absolute: bool = True, seed: int = 0
) -> Appearance:
    """Say what a scrap looks like.

    Parameters
    ----------
    sample : ClothSample
        Its pixels, mask, calibration and scale.
    error_de00 : float
        Expected error of the calibration, CIEDE2000; passed on.
    absolute : bool
        False if the card's own colours are not known; passed on.
    seed : int
        Start of the random numbers; the same seed gives the same answer.

    Notes
    -----
    Only means of small cells of colour are calibrated, never single pixels; the mean in linear
    light of the calibrated pixels is met to within 0.3 CIEDE2000 (docs/measurements.md).
    """
    cloth = cropped(sample)
    cells = cells_of(cloth, sample.calibrate, seed=seed)
    colours = dominant_colours(cells, seed=seed)
    figuring = figuring_of(cloth)
    kind = kind_of(figuring, len(colours))
    mean = reads_as(cells)
    direction = None
    if kind in (PrintKind.STRIPE, PrintKind.PLAID):
        at_px = cloth.in_sample(figuring.at_px)
        direction = sample.direction_in_frame(figuring.lines_deg, at_px)
    repeat_in = None
    if figuring.repeat_px is not None and kind not in (PrintKind.PLAIN,):
        repeat_in = figuring.repeat_px / cloth.px_per_in
    chroma = chroma_of(np.array([c.lab for c in colours]))
    return Appearance(
        reads_as=(float(mean[0]), float(mean[1]), float(mean[2])),
        colours=colours,
        kind=kind,
        value_contrast=figuring.value_contrast,
        mean_chroma=float(chroma @ np.array([c.share for c in colours])),
        direction_deg=direction,
        repeat_in=repeat_in,
        repeat_sure=figuring.repeat_sure and repeat_in is not None,
        error_de00=error_de00,
        absolute=absolute,
    )
