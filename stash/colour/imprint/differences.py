"""How two imprints differ, part by part: what it is decided by whether they are one cloth."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from stash.colour.imprint.inks import colour_apart, colour_steps, ink_differences
from stash.colour.imprint.layout import BANDS, OCTAVES, PART, RINGS, TURNS, Floats
from stash.colour.spaces import FloatArray

__all__ = ["SETTINGS", "differences", "rough_difference"]

# Not differences: how strong and how light both cloths are, and how much of them is in view.
SETTINGS = ("both contrast", "both chroma", "both lightness", "least area")
_MIDDLE = slice(1, 8)  # bands that neither the camera's blur nor the scrap's size decides
_BAND_NOISE, _CHROMA_NOISE, _NOISE = 0.25, 0.35, 0.5


def rough_difference(imprint: Floats, others: Floats) -> FloatArray:
    """Say quickly how unlike others (n, LENGTH) look; only those that are near are compared.

    A sum of the difference in mean colour (CIE94 steps) and in the contrast of the bands.
    """
    means = colour_apart(
        imprint[PART["mean"]].astype(np.float64), others[:, PART["mean"]].astype(np.float64)
    )
    light = _root_mean_square((others[:, PART["light"]] - imprint[PART["light"]])[:, _MIDDLE])
    whole = _root_mean_square(others[:, PART["whole"]] - imprint[PART["whole"]])
    return np.asarray(means / 10 + light + whole, dtype=np.float64)


def differences(imprint: Floats, others: Floats) -> dict[str, FloatArray]:
    """Give every difference between one imprint (LENGTH,) and others (n, LENGTH), each (n,).

    More is less alike in all of them but ``SETTINGS``, which come last.
    """
    apart = {name: others[:, part] - imprint[part] for name, part in PART.items()}
    one = imprint[PART["mean"]].astype(np.float64)
    many = others[:, PART["mean"]].astype(np.float64)
    steps = colour_steps(one, many)
    contrast, contrasts = _contrast(imprint[None])[0], _contrast(others)
    strength = np.sqrt(contrast * contrasts)
    spread = np.abs(apart["spread"]).mean(axis=1)
    chroma = _chroma_bands(others) - _chroma_bands(imprint[None])
    found = {
        "mean lightness": steps[:, 0],
        "mean chroma": steps[:, 1],
        "mean hue": steps[:, 2],
        "mean": np.sqrt(np.square(steps).sum(axis=1)),
        **_each("light", np.abs(apart["light"])),
        **_each("chroma", np.abs(chroma)),
        "light": _root_mean_square(apart["light"][:, _MIDDLE]),
        "chroma": _root_mean_square(chroma[:, _MIDDLE]),
        "red-green": _root_mean_square(apart["red-green"][:, _MIDDLE]),
        "yellow-blue": _root_mean_square(apart["yellow-blue"][:, _MIDDLE]),
        "links": np.sqrt(_root_mean_square(apart["links"])),
        "fine links": np.sqrt(_root_mean_square(apart["links"][:, : 4 * (OCTAVES // 2)])),
        "coarse links": np.sqrt(_root_mean_square(apart["links"][:, 4 * (OCTAVES // 2) :])),
        "whole": _root_mean_square(apart["whole"]),
        "lean": _root_mean_square(apart["lean"]),
        "spread": np.sqrt(spread),
        "spread for its strength": spread / strength,
        "peaks": _root_mean_square(apart["peaks"]),
        **_each("turns", _turns(apart["turns"])),
        "light rings": _root_mean_square(apart["light rings"]),
        "colour rings": _root_mean_square(apart["colour rings"]),
        "fine rings": _root_mean_square(apart["fine rings"]),
        "rings moved": np.abs(np.cumsum(apart["fine rings"], axis=1)).mean(axis=1),
        "contrast": np.abs(np.log(contrasts / contrast)),
        **ink_differences(imprint[PART["inks"]], others[:, PART["inks"]]).columns,
        "both contrast": np.log(strength),
        "both chroma": np.sqrt(np.hypot(one[1], one[2]) * np.hypot(many[:, 1], many[:, 2])),
        "both lightness": (one[0] + many[:, 0]) / 2,
        "least area": np.minimum(imprint[PART["area"]], others[:, PART["area"]])[:, 0],
    }
    return {name: np.asarray(column, dtype=np.float64) for name, column in found.items()}


def _each(name: str, table: NDArray[np.floating[Any]]) -> dict[str, NDArray[np.floating[Any]]]:
    return {f"{name} {place}": column for place, column in enumerate(table.T)}


def _root_mean_square(table: NDArray[np.floating[Any]]) -> FloatArray:
    return np.asarray(np.sqrt(np.square(table).mean(axis=1)))


def _turns(table: NDArray[np.floating[Any]]) -> FloatArray:
    """Give one number for each wave round the rings, shape (n, TURNS)."""
    waves = np.square(table.reshape(len(table), TURNS, RINGS)).mean(axis=2)
    return np.asarray(np.sqrt(np.sqrt(waves)))


def _chroma_bands(imprints: Floats) -> FloatArray:
    """Contrast of colour in each band, natural log, shape (n, BANDS)."""
    one, other = (np.exp(imprints[:, PART[name]]) - _BAND_NOISE for name in ("red-green", "yellow-blue"))  # noqa: E501 # fmt: skip
    bands = np.log(np.hypot(one, other) + _CHROMA_NOISE)
    return np.asarray(bands.reshape(len(imprints), BANDS))


def _contrast(imprints: Floats) -> FloatArray:
    """Contrast of the whole, the three channels' together, Lab units, shape (n,)."""
    return np.asarray((np.exp(imprints[:, PART["whole"]]) - _NOISE).sum(axis=1) + _NOISE)
