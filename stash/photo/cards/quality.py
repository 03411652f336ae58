"""Whether a photo is good enough to measure, and if not, why."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stash.errors import (
    AnotherCardError,
    BlurredPhotoError,
    CardCoveredError,
    CardCutOffError,
    CardGlareError,
    CardNotFoundError,
    OverexposedError,
    PhotoError,
    UnderexposedError,
)
from stash.photo.cards.card import FoundCard
from stash.photo.cards.patch_candidates import smaller_copy
from stash.photo.cards.patch_edges import project
from stash.photo.cards.sharpness import sharpness
from stash.photo.files.reading import PixelsU8

__all__ = [
    "another_card",
    "burnt_out",
    "check_found",
    "check_light",
    "covered",
    "cut_off",
    "in_glare",
    "why_no_card",
]

_BLUR_IN, _BLUR_PX = 0.04, 4.0  # an outline is wanted to 0.08 in; few pixels are no blur
_MOST_COVERED = 2  # one glare spot or thread may be forgiven, a covering scrap may not
_LEAST_LEFT = 16  # of 24 squares; a strong colour ends in one channel long before a grey does
_DARKEST_WHITE = 0.40  # encoded, 0..1: the white patch 2.7 stops below its place
_DARK, _BRIGHT = 64, 250  # of 255
_BURNT_SHARE = 0.35
_BLURRED = 0.55  # sharp photos of charts and cloth show 0.8 and more, blurred ones 0.1 to 0.5


def check_found(
    found: FoundCard, *, outside: int = 0, cut: NDArray[np.bool_] | None = None
) -> None:
    """Refuse a photo whose card shows that it cannot be measured.

    Parameters
    ----------
    found : FoundCard
        A card with its patches read.
    outside : int
        Patches that lie outside the photo.
    cut : bool, shape (n,), optional
        Patches of which a part lies outside it.

    Raises
    ------
    BlurredPhotoError
        If a border of the card takes more than 0.04 in (and more than 4 pixels) from a fifth
        to four fifths of its step.
    LightError
        If too much of the card is burnt out or lost in the dark.
    CardCoveredError, CardGlareError, CardCutOffError
        If something lies on the card, a lamp is mirrored in it, or a part of it is not there.
    """
    if outside:
        raise cut_off(len(found.usable) - outside, len(found.usable))
    _check_sharpness(found)
    hidden = int(found.hidden.sum())
    if cut is not None and hidden > _MOST_COVERED and 2 * (cut & found.hidden).sum() >= hidden:
        raise cut_off(int((~cut).sum()), len(found.usable))
    check_light(found)
    _check_free(found)


def _check_free(found: FoundCard) -> None:
    """Refuse a card that cannot be read for what lies on it, or for what is mirrored in it."""
    hidden, glaring = int(found.hidden.sum()), int(found.glaring.sum())
    seen = len(found.usable) - hidden - glaring
    if glaring > _MOST_COVERED and glaring > hidden:
        raise in_glare(seen, len(found.usable))
    if hidden > _MOST_COVERED:
        raise covered(seen, len(found.usable))


def in_glare(seen: int, total: int = 24) -> CardGlareError:
    """Word the error for a card in which a lamp is mirrored."""
    return CardGlareError(
        f"A lamp or a window is mirrored in the reference card: {seen} of its {total} squares can "
        "be read. Turn the card or move away from the light, and take the photo again.",
        squares_seen=seen,
        squares_needed=total,
    )


def covered(seen: int, total: int = 24) -> CardCoveredError:
    """Word the error for a card of which only some squares are free."""
    return CardCoveredError(
        f"Something lies on the reference card: {seen} of its {total} squares can be read. Lay the "
        "whole card free and take the photo again.",
        squares_seen=seen,
        squares_needed=total,
    )


def cut_off(seen: int, total: int = 24) -> CardCutOffError:
    """Word the error for a card of which a part lies outside the photo."""
    return CardCutOffError(
        f"The reference card is cut off by the edge of the photo: {seen} of its {total} squares "
        "are in it. Take the photo again with the whole card in it.",
        squares_seen=seen,
        squares_needed=total,
    )


def another_card(seen: int) -> AnotherCardError:
    """Word the error for squares that are no chart in its usual order."""
    return AnotherCardError(
        f"I see a card of {seen} coloured squares, but it is another kind: their order is not that "
        "of the usual 24-patch chart. Lay a chart of the usual kind or a printed card beside the "
        "scraps and take the photo again.",
        squares_seen=seen,
    )


def burnt_out(lost: int) -> OverexposedError:
    """Word the error for an overexposed card."""
    return OverexposedError(
        f"The photo is overexposed: {lost} squares of the card are burnt out. Take it again with "
        "less light, or tap on the white square before the shot.",
        patches_lost=lost,
    )


def _check_sharpness(found: FoundCard) -> None:
    rise_pitch = float(found.edges.rise_pitch)
    rise_in = rise_pitch * found.card.pitch_in
    ends = project(found.image_from_card, np.array([[0.0, 0.0], [found.card.pitch_in, 0.0]]))
    rise_px = rise_pitch * float(np.hypot(*(ends[1] - ends[0])))
    if rise_in > _BLUR_IN and rise_px > _BLUR_PX:
        raise _blurred(rise_in)


def check_light(found: FoundCard) -> None:
    """Refuse a photo of which the card shows too much or too little light.

    Raises
    ------
    LightError
        If squares of the card are burnt out beyond use, or the card is lost in the dark.
    """
    neutrals = list(found.card.neutrals)
    lost = int(found.clipped.sum())
    if found.clipped[neutrals[:2]].all() or len(found.usable) - lost < _LEAST_LEFT:
        raise burnt_out(lost)
    if float(found.patch_srgb.max()) < _DARKEST_WHITE:
        raise UnderexposedError(
            "The photo is underexposed: the card is too dark to tell its squares apart. Use more "
            "light, or tap on a dark scrap before the shot."
        )


def why_no_card(pixels: PixelsU8, *, squares_seen: int = 0) -> PhotoError:
    """Give the likeliest reason why no card was recognised, as an error to raise."""
    small, _ = smaller_copy(pixels, 500)
    brightest = small.max(axis=2)
    if np.percentile(brightest, 98) < _DARK:
        return UnderexposedError(
            "The photo is underexposed: it is too dark to find a card. Use more light and take it "
            "again."
        )
    if (small.min(axis=2) >= _BRIGHT).mean() > _BURNT_SHARE:
        return OverexposedError(
            "No card found: much of the photo is pure white, so it is overexposed or shows an "
            "empty page. Take it again with less light and the whole card beside the scraps."
        )
    if sharpness(pixels) < _BLURRED:
        return _blurred(float("nan"))
    if squares_seen:
        return CardNotFoundError(
            f"I can see {squares_seen} of the 24 squares of a reference card, too few to be sure. "
            "Lay the whole card flat, free and away from shadow, and take the photo again.",
            squares_seen=squares_seen,
        )
    return CardNotFoundError(
        "No card found: I see no reference card in this photo. Lay the whole card flat beside the "
        "scraps and take the photo again."
    )


def _blurred(blur_in: float) -> BlurredPhotoError:
    return BlurredPhotoError(
        "The photo is blurred: edges are smeared out. Hold the phone still, tap on the card to "
        "focus, and take it again.",
        blur_in=blur_in,
    )
