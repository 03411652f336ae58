"""The inks of a cloth: its few colours and how much there is of each, whatever part is in view.

Two pieces of a large print show more or less of its figures, so their means differ; the colours of
ground and figures do not.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from stash.colour.imprint.layout import INKS, Floats
from stash.colour.spaces import FloatArray

__all__ = ["InkDifferences", "colour_apart", "ink_differences", "inks_of"]

_CALM = 0.7  # of the pixels, those with the least slope; edges mix what lies on either side
_LEAST_SLOPE = 1.0  # square of Lab units; less is no edge
_LOOKED_AT = 2500
_ONE_INK = 6.0  # Lab units; closer ones are one ink
_FAR = 60.0  # Lab units; further apart is no more unlike
_OUT_OF_SIGHT = 1e3
_GROUND_REACH, _MATCH_REACH, _ECHO = 14.0, 16.0, 8.0  # Lab units
_LEAST_SHARE = 0.04  # of an ink that is looked for in the other cloth by itself
_SMALL_COUNT = 0.4  # power of the share where small inks count nearly as much as large ones


def inks_of(about_mean: Floats, on: NDArray[np.bool_], mean: Floats) -> FloatArray:
    """Give colours and shares, largest first, absent ones all zeros; shape (4 * INKS,)."""
    slope = np.zeros(on.shape, np.float32)
    for channel in range(3):
        plane = np.ascontiguousarray(about_mean[..., channel])
        slope += cv2.Sobel(plane, cv2.CV_32F, 1, 0) ** 2 + cv2.Sobel(plane, cv2.CV_32F, 0, 1) ** 2
    steep = slope[on]
    calm = about_mean[on][steep <= max(_LEAST_SLOPE, float(np.quantile(steep, _CALM)))]
    some = np.ascontiguousarray(calm[:: max(1, len(calm) // _LOOKED_AT)], dtype=np.float32)
    cv2.setRNGSeed(1)
    count = min(INKS, len(some))
    ends = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 12, 0.3)
    _, label, centres = cv2.kmeans(  # type: ignore[call-overload]
        some, count, None, ends, 1, cv2.KMEANS_PP_CENTERS
    )
    shares = np.bincount(label.ravel(), minlength=count) / len(some)
    labs, shares = _merged(centres.astype(np.float64), shares)
    found = np.zeros((INKS, 4))
    order = np.argsort(-shares, kind="stable")
    found[: len(labs), :3], found[: len(labs), 3] = labs[order] + mean, shares[order]
    return found.ravel()


def _merged(labs: FloatArray, shares: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Make one of the two closest until all are apart."""
    while len(labs) > 1:
        far = np.linalg.norm(labs[:, None] - labs, axis=2) + np.diag(np.full(len(labs), np.inf))
        one, other = np.unravel_index(int(far.argmin()), far.shape)
        if far[one, other] >= _ONE_INK:
            break
        both = shares[one] + shares[other]
        labs[one] = (shares[one] * labs[one] + shares[other] * labs[other]) / both
        shares[one] = both
        labs, shares = np.delete(labs, other, axis=0), np.delete(shares, other)
    return labs, shares


def colour_apart(one: FloatArray, other: FloatArray) -> FloatArray:
    """Give the difference in lightness, chroma and hue with the chroma weights of CIE94."""
    return np.asarray(np.sqrt(np.square(colour_steps(one, other)).sum(axis=-1)))


def colour_steps(one: FloatArray, other: FloatArray) -> FloatArray:
    """Give how far apart colours are in lightness, chroma and hue, shape (..., 3), CIE94."""
    apart = other - one
    chroma = np.hypot(one[..., 1], one[..., 2])
    chromas = np.hypot(other[..., 1], other[..., 2])
    both, more = np.sqrt(chroma * chromas), chromas - chroma
    hue = np.maximum(0.0, np.square(apart[..., 1:]).sum(axis=-1) - np.square(more))
    return np.stack(
        [
            np.abs(apart[..., 0]),
            np.abs(more) / (1 + 0.045 * both),
            np.sqrt(hue) / (1 + 0.015 * both),
        ],
        axis=-1,
    )


@dataclass(frozen=True, slots=True)
class InkDifferences:
    """How the inks of one cloth differ from those of n others; by name, each of shape (n,).

    What is alike in the two has a negative sign, so that more always means less alike.
    """

    columns: dict[str, FloatArray]


def ink_differences(one: Floats, others: Floats) -> InkDifferences:
    """Compare the inks of one (4 * INKS,) with those of others (n, 4 * INKS).

    Each ink looks for its like in the other cloth, as they are and once more with the grounds laid
    upon each other: an error of the light moves all inks of a photo alike.
    """
    mine = one.reshape(1, INKS, 1, 4).astype(np.float64)
    theirs = others.reshape(-1, 1, INKS, 4).astype(np.float64)
    share, shares = mine[..., 3], theirs[..., 3]
    there = (share > 0) & (shares > 0)
    far = np.where(there, colour_apart(mine[..., :3], theirs[..., :3]), _OUT_OF_SIGHT)
    step = theirs[..., :3] - mine[..., :3]
    weight = np.sqrt(share * shares)

    ground = weight * np.exp(-np.square(np.minimum(far, _FAR) / _GROUND_REACH))
    best = ground.reshape(len(theirs), -1).argmax(axis=1)
    rows, (at, to) = np.arange(len(theirs)), np.divmod(best, INKS)
    moved = step[rows, at, to]
    shifted = np.linalg.norm(step - moved[:, None, None], axis=3)
    columns = {
        "ground": np.minimum(far[rows, at, to], _FAR),
        "ground light": np.abs(moved[:, 0]),
        "ground colour": np.hypot(moved[:, 1], moved[:, 2]),
        "ground share": -weight[rows, at, to],
        **_common_shift(far, step, weight),
        **_unlike(far, share, shares, "inks"),
        **_unlike(np.where(there, shifted, _OUT_OF_SIGHT), share, shares, "inks laid over"),
    }
    return InkDifferences(columns)


def _common_shift(far: FloatArray, step: FloatArray, weight: FloatArray) -> dict[str, FloatArray]:
    """By how much the inks that are each other's nearest have moved in the mean."""
    nearest = (far == far.min(axis=2, keepdims=True)) & (far == far.min(axis=1, keepdims=True))
    matched = weight * (nearest & (far < _MATCH_REACH))
    total = matched.sum(axis=(1, 2))
    shift = (step * matched[..., None]).sum(axis=(1, 2)) / np.maximum(total, 1e-9)[:, None]
    return {
        "shift": np.where(total > 0, np.linalg.norm(shift, axis=1), _FAR),
        "matched": -total,
    }


def _unlike(
    far: FloatArray, share: FloatArray, shares: FloatArray, name: str
) -> dict[str, FloatArray]:
    """How far each ink is from its like in the other cloth, summed up in several ways."""
    mine, theirs = np.broadcast_to(share[:, :, 0], far.shape[:2]), shares[:, 0]
    of_mine = np.where(mine > 0, np.minimum(far.min(axis=2), _FAR), 0.0)
    of_theirs = np.where(theirs > 0, np.minimum(far.min(axis=1), _FAR), 0.0)

    def both(power: float) -> FloatArray:
        """Give the mean distance by shares to a power from either cloth, the lesser first."""
        weights = [np.where(one > 0, one, 0.0) ** power * (one > 0) for one in (mine, theirs)]
        sums = [
            (apart * weight).sum(axis=1) / weight.sum(axis=1)
            for apart, weight in zip((of_mine, of_theirs), weights, strict=True)
        ]
        return np.sort(np.stack(sums), axis=0)

    by_share, by_ink = both(1.0), both(_SMALL_COUNT)
    return {
        f"{name}, lesser": by_share[0],
        f"{name}, greater": by_share[1],
        f"{name} small ones too, lesser": by_ink[0],
        f"{name} small ones too, greater": by_ink[1],
        f"{name} without echo": np.maximum(
            (mine * (of_mine > _ECHO)).sum(axis=1), (theirs * (of_theirs > _ECHO)).sum(axis=1)
        ),
        f"{name}, the worst": np.minimum(
            (of_mine * (mine > _LEAST_SHARE)).max(axis=1),
            (of_theirs * (theirs > _LEAST_SHARE)).max(axis=1),
        ),
    }
