"""What a colour does to a cloth seen from across the room: not its area alone."""

from __future__ import annotations

import numpy as np

from stash.colour.spaces import FloatArray, chroma_of

__all__ = ["eye_weights", "loudness", "voices"]

# Seen area grows with the 0.7th power of area (Stevens 1957, from memory); that strong colours
# count up to twice or so is a judgement.
_AREA_POWER = 0.7
_STRONG_FROM, _STRONGER_BY = 25.0, 0.02  # C*ab; part more for each step of it


def eye_weights(lab: FloatArray, share: FloatArray) -> FloatArray:
    """Give what each colour of each cloth counts to the eye.

    Parameters
    ----------
    lab : float64, shape (..., k, 3)
        CIELAB, white D65.
    share : float64, shape (..., k)
        Shares of the area; 0 where there is no colour.

    Returns
    -------
    float64, shape (..., k)
        Weights that add up to 1 for a cloth; a twentieth of red on cream counts a fifth.

    Examples
    --------
    >>> red_on_cream = np.array([[95.0, 0.0, 8.0], [45.0, 60.0, 35.0]])
    >>> eye_weights(red_on_cream, np.array([0.95, 0.05])).round(2).tolist()
    [0.81, 0.19]
    """
    strength = 1 + _STRONGER_BY * np.maximum(chroma_of(lab) - _STRONG_FROM, 0.0)
    weights = share**_AREA_POWER * strength
    total = weights.sum(axis=-1, keepdims=True)
    return np.asarray(np.divide(weights, total, out=np.zeros_like(weights), where=total > 0))


def voices(lab: FloatArray, share: FloatArray) -> FloatArray:
    """Give how loud each cloth is, (...): the largest of root of share times C*ab (judgement)."""
    return np.asarray((np.sqrt(share) * chroma_of(lab)).max(axis=-1))


def loudness(lab: FloatArray, share: FloatArray) -> FloatArray:
    """Give how loud all colours of each cloth are together, (...): C*ab, root mean square.

    Many small accents speak together, as dots of every colour on white do (judgement).
    """
    return np.asarray(np.sqrt((share * chroma_of(lab) ** 2).sum(axis=-1)))
