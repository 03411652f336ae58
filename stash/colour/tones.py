"""Tones: how light and how strong a colour is, whatever its hue, as people say it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stash.colour.spaces import FloatArray, chroma_of

__all__ = ["EXTREMES", "TONES", "Tone", "tone_member", "within_extremes"]

_LIGHTNESS_SLOPE, _CHROMA_SLOPE = 10.0, 10.0  # over which a tone fades out; judgement


@dataclass(frozen=True, slots=True)
class Tone:
    """Limits of L* and C*ab, and what it is shown by: light, medium or dark."""

    lightness: tuple[float, float]
    chroma: tuple[float, float]
    shown_as: str


_ANY = (-200.0, 400.0)
# Judgement: no standard fixes what a pastel or a jewel tone is.
TONES = {
    "light": Tone((60.0, 400.0), _ANY, "light"),
    "medium": Tone((35.0, 75.0), _ANY, "medium"),
    "dark": Tone((-200.0, 45.0), _ANY, "dark"),
    "pastel": Tone((70.0, 400.0), (-1.0, 42.0), "light"),
    "muted": Tone(_ANY, (-1.0, 32.0), "medium"),
    "bright": Tone((35.0, 400.0), (42.0, 400.0), "medium"),
    "jewel": Tone((10.0, 52.0), (22.0, 400.0), "dark"),
    "earth": Tone((20.0, 72.0), (5.0, 52.0), "medium"),
}
# What "not too" forbids: beyond these a colour fades out of the palette. Judgement.
EXTREMES = {
    "light": Tone((-200.0, 80.0), _ANY, ""),
    "dark": Tone((30.0, 400.0), _ANY, ""),
    "bright": Tone(_ANY, (-1.0, 55.0), ""),
}


def tone_member(lab: FloatArray, tone: str, slack: FloatArray | float = 0.0) -> FloatArray:
    """Say how far colours (..., 3), CIELAB, are of a tone, 0..1; ``slack`` is their error."""
    return _within(lab, TONES[tone], slack)


def within_extremes(lab: FloatArray, not_too: tuple[str, ...]) -> FloatArray:
    """Say how far colours (..., 3) are not too light, dark or bright, 0..1."""
    within = np.ones(lab.shape[:-1])
    for extreme in not_too:
        np.minimum(within, _within(lab, EXTREMES[extreme], 0.0), out=within)
    return within


def _within(lab: FloatArray, limits: Tone, slack: FloatArray | float) -> FloatArray:
    beyond = np.maximum(
        _beyond(lab[..., 0], limits.lightness) / _LIGHTNESS_SLOPE,
        _beyond(chroma_of(lab), limits.chroma) / _CHROMA_SLOPE,
    )
    return np.clip(1 - beyond + slack / _LIGHTNESS_SLOPE, 0.0, 1.0)


def _beyond(values: FloatArray, limits: tuple[float, float]) -> FloatArray:
    return np.maximum(limits[0] - values, values - limits[1])
