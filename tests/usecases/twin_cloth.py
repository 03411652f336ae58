"""Cloth for tests of what may be one cloth: checks as pictures, and plain looks."""

from __future__ import annotations

import io

import numpy as np
from PIL import Image

from stash.colour.appearance import Appearance, ColourShare, PrintKind


def checks(lab_like: tuple[int, int, int], *, seed: int, pitch_px: int = 16) -> bytes:
    """A checked cloth as a picture of 4 in at 60 px an inch, shifted and noisy by the seed."""
    rng = np.random.default_rng(seed)
    rows, columns = np.mgrid[0:240, 0:240] + rng.integers(0, pitch_px, size=(2, 1, 1))
    dark = ((rows // pitch_px + columns // pitch_px) % 2)[..., None]
    cloth = np.where(dark, np.array(lab_like), 235) + rng.normal(0, 3, (240, 240, 3))
    out = io.BytesIO()
    Image.fromarray(cloth.clip(0, 255).astype(np.uint8)).save(out, "JPEG", quality=90)
    return out.getvalue()


def looks(lightness: float = 50.0) -> Appearance:
    lab = (lightness, 0.0, 0.0)
    return Appearance(
        reads_as=lab, colours=(ColourShare(lab, 1.0),), kind=PrintKind.PLAIN,
        value_contrast=0.0, mean_chroma=0.0, error_de00=1.0, absolute=True,
    )  # fmt: skip
