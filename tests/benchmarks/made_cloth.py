"""Cloth of every kind, made in many scales, with threads and light as a close-up shows them."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from stash.colour.difference import difference_table
from stash.colour.spaces import linear_of_srgb, srgb_of_lab, srgb_of_linear

KINDS = ("plain", "tone", "print", "stripe", "plaid")
_FINE = 3  # samples a pixel each way, averaged afterwards


@dataclass(frozen=True)
class MadeCloth:
    """A picture (uint8 sRGB), its kind, and the figure it was made with."""

    kind: str
    figure: str
    pixels_srgb: np.ndarray


def made_cloth(seed: int) -> MadeCloth:
    """Make a cloth of the kind ``seed`` modulo five: 2 to 16 repeats in view, 120 to 520 pixels."""
    rng = np.random.default_rng(seed)
    kind = KINDS[seed % len(KINDS)]
    side = int(rng.choice([120, 128, 200, 320, 520]))
    repeat = max(5.0, side / np.exp(rng.uniform(np.log(1.7), np.log(16)))) * _FINE
    figure, linear = _FIGURES[kind](rng, side * _FINE, repeat)
    linear = cv2.resize(linear.astype(np.float32), (side, side), interpolation=cv2.INTER_AREA)
    threads = rng.uniform(0, 0.22 if kind == "plain" else 0.1)
    return MadeCloth(kind, figure, _photographed(rng, linear, threads))


def _photographed(rng, linear, threads):
    """Threads of uneven light both ways, uneven light, a lens and noise."""
    side, thick = len(linear), rng.uniform(0.4, 1.6)
    weave = np.zeros((side, side))
    for way in (0, 1):
        long = thick * rng.uniform(0.6, 3)
        sigmas = (long, thick) if way else (thick, long)
        noise = cv2.GaussianBlur(rng.normal(size=(side, side)), (0, 0), *sigmas)
        weave += noise / noise.std() / 2**0.5
    light = cv2.resize(rng.uniform(0.93, 1.07, (3, 3)), (side, side), interpolation=cv2.INTER_CUBIC)
    lit = linear * (np.clip(1 + threads * weave, 0.2, 2) * light)[..., None]
    lit = cv2.GaussianBlur(lit, (0, 0), rng.uniform(0.3, 0.9))
    levels = srgb_of_linear(lit) * 255 + rng.normal(0, 1.5, lit.shape)
    return np.clip(levels, 0, 255).astype(np.uint8)


def _inks(rng, count):
    """Linear sRGB of colours that lie 11 CIEDE2000 apart or more."""
    while True:
        lab = np.array([_ink(rng) for _ in range(count)])
        table = difference_table(lab, lab) + 99 * np.eye(count)
        if table.min() > 11:
            return linear_of_srgb(srgb_of_lab(lab))


def _tones(rng):
    """Linear sRGB of two tones of one colour, 3 to 8 CIEDE2000 apart."""
    while True:
        first = _ink(rng)
        other = first * [1, *rng.uniform(0.92, 1.08, 2)] + [rng.choice([-1, 1]) * 7.5, 0, 0]
        lab = np.array([first, other])
        inside = lab[:, 0].min() > 12 and lab[:, 0].max() < 97
        if inside and 3 < difference_table(lab[:1], lab[1:])[0, 0] < 8:
            return linear_of_srgb(srgb_of_lab(lab))


def _ink(rng):
    lightness, hue = rng.uniform(21, 94), rng.uniform(0, 2 * np.pi)
    chroma = rng.uniform(0, 58) * (1 - abs(lightness - 55) / 60)
    return np.array([lightness, chroma * np.cos(hue), chroma * np.sin(hue)])


def _plain(rng, side, _repeat):
    return "plain", np.ones((side, side, 1)) * _tones(rng)[0]


def _tone(rng, side, repeat):
    figure = str(rng.choice(["cloud", "dots", "leaf", "flower"]))
    if figure == "cloud":
        coarse = rng.normal(size=(side // _FINE,) * 2)
        cloud = cv2.GaussianBlur(coarse, (0, 0), repeat / _FINE / 4)
        share = 0.5 + 0.5 * np.tanh(cv2.resize(cloud / cloud.std(), (side, side)))
    else:
        share = (_strewn(rng, side, repeat, figure, 2) > 0).astype(float)
    one, other = _tones(rng)
    return figure, one + share[..., None] * (other - one)


def _print(rng, side, repeat):
    inks = _inks(rng, int(rng.integers(2, 5)))
    figure = str(rng.choice(["dots", "flower", "leaf", "text", "blot"]))
    if figure != "blot":
        return figure, inks[_strewn(rng, side, repeat, figure, len(inks))]
    labels = np.zeros((side // _FINE,) * 2, np.uint8)
    for ink in range(1, len(inks)):
        noise = cv2.GaussianBlur(rng.normal(size=labels.shape), (0, 0), repeat / _FINE / 5)
        labels[noise > np.quantile(noise, 1 - rng.uniform(0.1, 0.35))] = ink
    return figure, inks[cv2.resize(labels, (side, side), interpolation=cv2.INTER_NEAREST)]


def _stripe(rng, side, repeat):
    inks = _inks(rng, int(rng.integers(2, 5)))
    return "stripe", _lines(rng, _across(rng, side, repeat)[0], len(inks))(inks)


def _plaid(rng, side, repeat):
    inks = _inks(rng, int(rng.integers(2, 5)))
    across, down = _across(rng, side, repeat)
    figure = str(rng.choice(["gingham", "windowpane", "tartan", "uneven tartan"]))
    if figure == "gingham":
        share = ((across % 1 < 0.5) + (down % 1 < 0.5).astype(float)) / 2
        return figure, inks[0] + share[..., None] * (inks[1] - inks[0])
    if figure == "windowpane":
        line = rng.uniform(0.08, 0.22)
        on_line = (across % 1 < line) | (down % rng.uniform(0.8, 1.3) < line)
        return figure, inks[on_line.astype(int)]
    sett = _lines(rng, across, len(inks))(inks)
    state = rng if figure != "tartan" else np.random.default_rng(1)
    other = _lines(state, down, len(inks))(inks)
    return figure, (sett + other) / 2


_FIGURES = {"plain": _plain, "tone": _tone, "print": _print, "stripe": _stripe, "plaid": _plaid}


def _across(rng, side, repeat):
    """Places across and along lines, in repeats; turned anyhow, or nearly straight."""
    turn = rng.uniform(0, np.pi)
    if rng.random() < 0.5:
        turn = rng.choice([0, np.pi / 2]) + rng.normal(0, 0.03)
    y, x = np.mgrid[:side, :side] / repeat
    return x * np.cos(turn) + y * np.sin(turn), y * np.cos(turn) - x * np.sin(turn)


def _lines(rng, place, count):
    """Two to five stripes of unlike width to the repeat, no two neighbours alike."""
    widths = np.maximum(rng.dirichlet(np.full(int(rng.integers(2, 6)), 2.0)), 0.06)
    ends = np.cumsum(widths / widths.sum())
    order = [0]
    while len(order) < len(ends):
        ink = int(rng.integers(count))
        if ink != order[-1]:
            order.append(ink)
    if order[-1] == order[0]:
        order[-1] = (order[0] + 1) % count
    at = np.minimum(np.searchsorted(ends, place % 1), len(order) - 1)
    return lambda inks: inks[np.array(order)[at]]


def _strewn(rng, side, repeat, figure, count):
    """Numbers of inks: dots in rows, or motifs strewn anyhow over the ground."""
    if figure == "dots":
        across, down = _across(rng, side, repeat)
        across = across + (0.5 * (np.floor(down) % 2) if rng.random() < 0.5 else 0)
        dot = np.hypot(across % 1 - 0.5, down % 1 - 0.5) < rng.uniform(0.12, 0.33)
        return dot * (1 + (np.floor(across) + np.floor(down)).astype(int) % (count - 1))
    labels = np.zeros((side, side), np.uint8)
    for _ in range(int((side / repeat) ** 2 * rng.uniform(0.6, 1.3)) + 2):
        middle = tuple(int(value) for value in rng.uniform(0, side, 2))
        size, turn = repeat * rng.uniform(0.2, 0.42), rng.uniform(0, 360)
        _motif(labels, figure, middle, size, turn, int(rng.integers(1, count)))
    return labels


def _motif(labels, figure, middle, size, turn, ink):
    if figure == "flower":
        for angle in np.radians(np.arange(5) * 72 + turn):
            petal = np.add(middle, 0.6 * size * np.array([np.cos(angle), np.sin(angle)]))
            cv2.circle(labels, petal.astype(int).tolist(), max(1, int(0.42 * size)), ink, -1)
        cv2.circle(labels, middle, max(1, int(0.2 * size)), 0, -1)
    elif figure == "leaf":
        axes = (max(1, int(size)), max(1, int(0.35 * size)))
        cv2.ellipse(labels, middle, axes, turn, 0, 360, ink, -1)
    else:
        letter, thick = chr(65 + int(turn) % 26), max(1, int(size / 8))
        cv2.putText(
            labels, letter, middle, cv2.FONT_HERSHEY_SIMPLEX, max(0.3, size / 14), ink, thick
        )
