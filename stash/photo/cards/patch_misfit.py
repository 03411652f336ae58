"""How far the colours of a card's patches are from their reference, camera and light aside.

An affine map of encoded colours takes camera and light off as far as a first look needs; it is
fitted to the patches that fit best, because others may be covered, in glare or burnt out.
"""

from __future__ import annotations

import numpy as np

from stash.colour.spaces import FloatArray

__all__ = ["KEPT", "affine_errors", "affine_misfit", "colour_misfit", "misfits"]

KEPT = 17  # patches the fit may choose of 24


def colour_misfit(seen: FloatArray, reference: FloatArray) -> tuple[float, FloatArray]:
    """Fit encoded colours by an affine map, most patches first.

    Returns
    -------
    misfit : float
        Root mean square left on the patches kept.
    left : float64, shape (n,)
        Largest channel error of every patch.
    """
    misfit, left = misfits(seen[None], reference[None], np.ones((1, len(seen))))
    return float(misfit[0]), left[0]


def affine_misfit(seen: FloatArray, aim: FloatArray) -> FloatArray:
    """Give aim minus the affine fit of seen, shape (n, 3), fitted to the half that fits best."""
    kept = np.ones((1, len(seen)))
    errors = np.zeros((1, *seen.shape))
    for _ in range(4):
        errors = affine_errors(seen[None], aim[None], kept)
        rank = np.argsort(np.argsort(np.abs(errors).max(axis=2), axis=1), axis=1)
        kept = (rank < len(seen) // 2).astype(np.float64)
    return np.asarray(-errors[0], dtype=np.float64)


def misfits(
    seen: FloatArray, reference: FloatArray, allowed: FloatArray, most: int = KEPT
) -> tuple[FloatArray, FloatArray]:
    """Do as `colour_misfit` for many readings (m, n, 3) at once, of the patches allowed (m, n)."""
    kept = allowed
    errors = left = np.zeros_like(seen)
    for _ in range(4):
        errors = affine_errors(seen, reference, kept)
        left = np.abs(errors).max(axis=2)
        rank = np.argsort(np.argsort(left + 1e3 * (allowed == 0), axis=1), axis=1)
        kept = ((rank < most) & (allowed > 0)).astype(np.float64)
    power = np.einsum("mn,mnc->m", kept, errors**2) / (3 * np.maximum(kept.sum(axis=1), 1))
    return np.sqrt(power), left


def affine_errors(seen: FloatArray, reference: FloatArray, weight: FloatArray) -> FloatArray:
    """Give what the weighted affine fit of each reading leaves, shape (m, n, 3)."""
    features = np.concatenate([seen, np.ones((*seen.shape[:2], 1))], axis=2)
    weighted = (features * weight[..., None]).swapaxes(1, 2)
    square = weighted @ features + 1e-9 * np.eye(4)
    return np.asarray(features @ np.linalg.solve(square, weighted @ reference) - reference)
