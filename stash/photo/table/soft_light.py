"""Light that changes softly over the backing: shadows of what is thick, folds, a lamp's gloss.

Cloth ends within a few hundredths of an inch; a shadow or a fold goes over into bare backing over
a tenth and more. So what is reached from bare backing in its own hue, without a steep change of
light on the way, is backing still, however dark.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from stash.photo.table.backing_model import BackingModel, Float32Array, Mask
from stash.photo.table.mask_sizes import disc, numbered, opened

__all__ = ["SoftLight", "soft_light"]

# Judgement, on our own scenes with shadows, folds and white cloth on white flannel.
_SMOOTH_IN = 0.03  # over so much the backing's own texture is smoothed
_HUE_OFF, _LAMP_OFF = 4.0, 0.2  # CIELAB a* and b*; more by so much of what a lamp pales
_PALEST = 0.3  # share of its chroma that is left where a lamp is mirrored in it
_HELD = 0.95  # phones hold the lights: from so much light on a mirrored lamp only pales
_PALE = 3.0  # C* lost to it; its slope an inch is soft up to what texture has, as with light below
_PALE_FLAT, _PALE_STEEPEST = 25.0, 80.0
_LEAST_LIGHT, _MOST_LIGHT = 0.5, 1.3  # of the backing's, cube root as in CIELAB
# Slope of light's cube root that is soft, an inch: what texture has; so many times the light that
# is missing there (a blurred edge of cloth has 25 at its middle, a shadow 10); and at most.
_FLAT, _STEEP, _STEEPEST = 0.17, 16.0, 2.0
_LEAK_IN = 0.02  # half the width of a way through the noise that is none
_BARE_SQ_IN = 0.5  # so much bare backing is surely none that shows between two threads
_DARK = 0.035  # light missing where it is a shadow's and not the nap's
_BRIGHT = 0.02  # light beyond the table's that a lamp mirrored in it adds; a field leaves less
_FADES_IN = 0.3  # past where it is plain, a mirrored lamp still fades
_FOLD = 0.9  # share of what was taken for a thing that shows it is none
_WIDE_IN, _THREAD_IN = 0.2, 0.06  # half of what is no stripe of a print; half of what is too thin


@dataclass(frozen=True, eq=False)
class SoftLight:
    """Where the backing is seen in whatever soft light.

    Attributes
    ----------
    reached : bool, shape (height, width)
        What goes over into bare backing softly.
    shadow, gloss : bool, shape (height, width)
        The parts of it that are dark, and bright.
    step : float
        Pixels an inch.
    """

    reached: Mask
    shadow: Mask
    gloss: Mask
    step: float

    def without_folds(self, cloth: Mask) -> Mask:
        """Take out what is backing: folds, bare table between things that were taken for one."""
        wide = opened(cloth & self.reached, _WIDE_IN * self.step)
        labels, areas = numbered(cloth)
        joined = np.bincount(labels[wide], minlength=len(areas)) > 0
        joined[0] = False
        rest = opened(cloth & ~wide, _THREAD_IN * self.step)
        cloth = np.where(joined[labels], rest, cloth)
        labels, areas = numbered(cloth)
        bare = np.bincount(labels[self.reached], minlength=len(areas))
        fold = bare > _FOLD * areas
        fold[0] = False
        return np.asarray(cloth & ~fold[labels], dtype=bool)


def soft_light(backing: BackingModel, bare: Mask, step: float) -> SoftLight:
    """Follow soft light from the bare backing.

    Parameters
    ----------
    backing : BackingModel
        A plain one; a patterned one does not show its light.
    bare : bool, shape (height, width)
        What looks like the backing.
    step : float
        Pixels an inch.
    """
    left, paled, off_hue = _smooth_light(backing, _SMOOTH_IN * step)
    soft = _slope(left, step) < np.clip(_STEEP * np.abs(1 - left), _FLAT, _STEEPEST)
    soft &= _slope(paled, step) < np.clip(_STEEP * paled, _PALE_FLAT, _PALE_STEEPEST)
    soft &= (off_hue < _HUE_OFF + _LAMP_OFF * paled) & (left > _LEAST_LIGHT) & (left < _MOST_LIGHT)
    wide = cv2.erode(soft.astype(np.uint8), disc(_LEAK_IN * step)) > 0
    labels, areas = numbered(wide)
    seen = np.bincount(labels[bare & wide], minlength=len(areas)) > _BARE_SQ_IN * step**2
    seen[0] = False
    reached = soft & (cv2.dilate(seen[labels].astype(np.uint8), disc(_LEAK_IN * step)) > 0)
    gloss = reached & ((left > 1 + _BRIGHT) | (paled > _PALE))
    core = opened(gloss, _LEAK_IN * step).astype(np.uint8)
    gloss |= reached & (cv2.dilate(core, disc(_FADES_IN * step)) > 0)
    return SoftLight(reached, reached & (left < 1 - _DARK), gloss, step)


def _slope(light: Float32Array, step: float) -> Float32Array:
    """How steeply something changes, an inch."""
    ways = (1, 0), (0, 1)
    across, down = (cv2.Sobel(light, cv2.CV_32F, *way, scale=step / 8) for way in ways)
    return np.asarray(cv2.magnitude(across, down), np.float32)


def _smooth_light(backing: BackingModel, sigma: float) -> tuple[Float32Array, ...]:
    """Light left (cube root, 1 is the backing's own), chroma lost to a lamp, hue off; smoothed."""
    planes = [np.asarray(cv2.GaussianBlur(one, (0, 0), sigma)) for one in backing.residual]
    left = planes[0] / (backing.expected[0] + np.float32(16)) + np.float32(1)
    hue = backing.expected[1:]
    seen = [there + away for there, away in zip(hue, planes[1:], strict=True)]
    along = sum(now * there for now, there in zip(seen, hue, strict=True))
    kept = along / np.maximum(sum(there * there for there in hue), np.float32(1))
    # Less light takes lightness and chroma alike; a mirrored lamp adds light of no hue.
    kept = np.where(left > _HELD, np.clip(kept, np.float32(_PALEST), left), left)
    off = [np.abs(now - kept * there) for now, there in zip(seen, hue, strict=True)]
    paled = (left - kept) * cv2.magnitude(*hue)
    return tuple(np.asarray(one, np.float32) for one in (left, paled, np.maximum(*off)))
