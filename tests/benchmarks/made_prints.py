"""Prints made with known colours and shares, photographed as badly as a phone does."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from stash.colour.difference import difference_table
from stash.colour.spaces import lab_of_srgb, linear_of_srgb, srgb_of_linear

LEAST_APART_DE00 = 9.0


@dataclass(frozen=True)
class MadePrint:
    """A picture, and the colours (CIELAB) and shares it was made of."""

    pixels_srgb: np.ndarray
    labs: np.ndarray
    shares: np.ndarray


def made_print(rng: np.random.Generator, *, size=1000, fine=True) -> MadePrint:
    """Make a print of 2 to 6 colours; ``fine`` figures are 5 to 25 px wide, else 20 to 90."""
    inks = _inks(rng, int(rng.integers(2, 7)))
    labels = _figure(rng, len(inks), size, (5, 25) if fine else (20, 90))
    shares = np.bincount(labels.ravel(), minlength=len(inks)) / labels.size
    kept = shares >= 0.04  # below, an ink is a stray thread to a quilter
    linear = linear_of_srgb(inks)[labels]
    linear = cv2.GaussianBlur(linear, (0, 0), 0.8)  # lens and sensor
    linear *= _shading(rng, size)[..., None]
    srgb = srgb_of_linear(linear) * 255 + rng.normal(0, 2.5, linear.shape)
    pixels = np.clip(np.round(srgb), 0, 255).astype(np.uint8)
    _, data = cv2.imencode(".jpg", pixels[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, 80])
    pixels = cv2.imdecode(data, cv2.IMREAD_COLOR)[..., ::-1].copy()
    return MadePrint(pixels, lab_of_srgb(inks)[kept], shares[kept] / shares[kept].sum())


def _inks(rng, count):
    """Random printable colours, all at least 9 CIEDE2000 apart."""
    inks: list[np.ndarray] = []
    while len(inks) < count:
        ink = np.clip(rng.beta(1.3, 1.3, 3) * 0.94 + 0.03, 0, 1)
        labs = lab_of_srgb(np.array([*inks, ink]))
        if len(inks) == 0 or difference_table(labs[-1:], labs[:-1]).min() >= LEAST_APART_DE00:
            inks.append(ink)
    return np.array(inks)


def _figure(rng, count, size, width_px):
    """Lay figures of each further ink over the ground: dots, sprigs, stripes, blots."""
    labels = np.zeros((size, size), np.uint8)
    for ink in range(1, count):
        kind = rng.integers(0, 4)
        width = float(rng.uniform(*width_px))
        share = rng.uniform(0.12, 0.4)
        if kind == 0:
            _scatter(rng, labels, ink, width, share)
        elif kind == 1:
            _sprigs(rng, labels, ink, width, share)
        elif kind == 2:
            _stripes(rng, labels, ink, width, share)
        else:
            noise = cv2.GaussianBlur(rng.normal(size=(size, size)), (0, 0), width / 2)
            labels[noise > np.quantile(noise, 1 - share)] = ink
    return labels


def _scatter(rng, labels, ink, width, share):
    size = labels.shape[0]
    count = int(share * size * size / (0.785 * width * width))
    for x, y in rng.uniform(0, size, (count, 2)):
        cv2.circle(labels, (int(x), int(y)), max(1, int(width / 2)), int(ink), -1)


def _sprigs(rng, labels, ink, width, share):
    size = labels.shape[0]
    count = int(share * size * size / (2.4 * width * width))
    for x, y, turn in rng.uniform(0, 1, (count, 3)):
        axes = (int(1.5 * width), max(1, int(0.5 * width)))
        centre = (int(x * size), int(y * size))
        cv2.ellipse(labels, centre, axes, turn * 360, 0, 360, int(ink), -1)


def _stripes(rng, labels, ink, width, share):
    size = labels.shape[0]
    y, x = np.mgrid[:size, :size]
    turn = rng.uniform(0, np.pi)
    phase = (x * np.cos(turn) + y * np.sin(turn)) / (width / share)
    labels[phase % 1 < share] = ink


def _shading(rng, size):
    """Uneven light of up to 18 % each way, one on average."""
    rough = rng.uniform(0.82, 1.18, (4, 4))
    smooth = cv2.resize(rough, (size, size), interpolation=cv2.INTER_CUBIC)
    return smooth / smooth.mean()
