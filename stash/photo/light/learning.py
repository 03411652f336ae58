"""Measuring a 24-patch chart whose values are not known, beside a known card or alone."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stash.colour.spaces import FloatArray
from stash.errors import CardNotFoundError
from stash.photo.cards.card import Card, FoundCard
from stash.photo.cards.card_finding import find_card, find_cards
from stash.photo.files.reading import PixelsU8
from stash.photo.light.calibration import calibrate

__all__ = ["Learnt", "learn_alone", "learn_beside"]

_OTHER_SIZE = 1.05  # charts of sizes so far apart are told by them, else by their colours


@dataclass(frozen=True, eq=False)
class Learnt:
    """A chart's squares, CIELAB, white D65 (24, 3), and how true the colours are, CIEDE2000."""

    lab: FloatArray
    error_de00: float


def learn_beside(pixels_srgb: PixelsU8, chart: Card, known: Card) -> Learnt:
    """Read a chart by the colours of a known card in the same photo.

    Raises
    ------
    CardNotFoundError
        If the photo does not show both.
    PhotoError
        If they cannot be measured.
    """
    if known.kind == "printed":
        reference, other = find_card(pixels_srgb, [known]), find_card(pixels_srgb, [chart])
    else:
        reference, other = _told_apart(find_cards(pixels_srgb, [known]), chart, known)
    calibration = calibrate(reference)
    return Learnt(calibration.lab_of(other.patch_srgb), calibration.error_de00)


def learn_alone(pixels_srgb: PixelsU8, chart: Card) -> Learnt:
    """Read a chart by itself: each square as the others, taken for the usual chart, tell it.

    Colours are then no truer than the chart is like the usual one, but the same in every photo.
    """
    found = find_card(pixels_srgb, [chart])
    calibration = calibrate(found)
    return Learnt(calibration.lab_of(found.patch_srgb), calibration.error_de00)


def _told_apart(
    found: tuple[FoundCard, ...], chart: Card, known: Card
) -> tuple[FoundCard, FoundCard]:
    if len(found) < 2:
        raise CardNotFoundError(
            f"I see only one chart in this photo. Lay the one to be measured beside "
            f"“{known.name}”, both whole, in the same light, and take the photo again.",
            squares_seen=24 * len(found),
            squares_needed=48,
        )
    first, second = found[:2]
    larger = max(known.pitch_in, chart.pitch_in) / min(known.pitch_in, chart.pitch_in)
    if larger > _OTHER_SIZE:
        big, small = sorted((first, second), key=_size_px, reverse=True)
        return (big, small) if known.pitch_in > chart.pitch_in else (small, big)
    reference, other = sorted((first, second), key=lambda one: calibrate(one).error_de00)
    return reference, other


def _size_px(found: FoundCard) -> float:
    centres = found.edges.centres_px
    return float(np.hypot(*(centres[5] - centres[0])) + np.hypot(*(centres[23] - centres[18])))
