"""Readers who confuse colours: words, groups and marks carry everything, and stay legible.

Dichromats are simulated by the matrices of Machado, Oliveira, Fernandes 2009 (severity 1, from the
paper's table; they apply to linear sRGB).
"""

import re
from pathlib import Path

import numpy as np
import pytest

from stash.colour.palette_words import palette_of_words
from stash.colour.spaces import lab_of_hex, linear_of_srgb
from stash.drawing.contact_sheet import Group, SheetSwatch, draw_contact_sheet
from stash.drawing.palette_picture import draw_palette

SEEN_BY = {
    "anybody": np.eye(3),
    "protanopes": np.array([
        [0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216],
        [-0.003882, -0.048116, 1.051998]]),
    "deuteranopes": np.array([
        [0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413],
        [-0.011820, 0.042940, 0.968881]]),
    "tritanopes": np.array([
        [1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602],
        [0.004733, 0.691367, 0.303900]]),
}  # fmt: skip
LEGIBLE = 4.5  # contrast of text, WCAG 2.1, 1.4.3
STYLE = Path(__file__).parents[2] / "stash" / "web" / "static" / "style.css"


def seen(code, by):
    channels = np.array([int(code[i : i + 2], 16) for i in (1, 3, 5)]) / 255
    return np.clip(SEEN_BY[by] @ linear_of_srgb(channels), 0, 1)


def contrast(one, other, by):
    light, dark = sorted(
        (float(np.array([0.2126, 0.7152, 0.0722]) @ seen(code, by)) for code in (one, other)),
        reverse=True,
    )
    return (light + 0.05) / (dark + 0.05)


def sheets():
    pink = SheetSwatch(
        "3", ("hot pink",), b"", ((lab_of_hex("#e0218a"), 1.0),), note="pink is ruled out"
    )
    navy = SheetSwatch("1", ("navy",), b"", ((lab_of_hex("#22305c"), 1.0),), note="")
    groups = [Group("Can go in", (navy,)), Group("Cannot", (pink,))]
    palette = palette_of_words("Tidewater", "blues mostly, a touch of coral; no pinks")
    return {
        "verdicts": draw_contact_sheet(groups, title="Tidewater", svg=True).decode(),
        "palette": draw_palette(palette, svg=True).decode(),
    }


def test_the_matrices_are_those_published():
    colour = pytest.importorskip("colour")
    names = {
        "protanopes": "Protanomaly",
        "deuteranopes": "Deuteranomaly",
        "tritanopes": "Tritanomaly",
    }
    for by, name in names.items():
        assert np.allclose(SEEN_BY[by], colour.CVD_MATRICES_MACHADO2010[name][1.0], atol=1e-6)


@pytest.mark.parametrize("by", SEEN_BY)
def test_every_word_of_a_sheet_stays_legible(by):
    for name, svg in sheets().items():
        (paper,) = re.findall(r'<rect width="100%" height="100%" fill="(#\w{6})"', svg)
        inks = set(re.findall(r'<text[^>]*? fill="(#\w{6})"', svg))
        assert inks, name
        for ink in inks:
            assert contrast(ink, paper, by) >= LEGIBLE, (name, ink)


def test_what_a_sheet_says_is_there_in_words():
    svg = sheets()["verdicts"]
    words = re.findall(r"<text[^>]*>([^<]+)</text>", svg)
    assert {"Can go in", "Cannot", "hot pink", "navy", "pink is ruled out"} <= set(words)
    assert any("pink" in word for word in re.findall(r">([^<]+)</text>", sheets()["palette"]))


@pytest.mark.parametrize("by", SEEN_BY)
@pytest.mark.parametrize("theme", [0, 1])
def test_verdicts_of_a_page_are_legible_words_with_marks_of_their_own(by, theme):
    style = STYLE.read_text(encoding="utf-8")
    inks = {
        name: re.findall(rf"--{name}: (#\w{{6}})", style)[theme]
        for name in ("paper", "good", "warn", "bad")
    }
    for name in ("good", "warn", "bad"):
        assert contrast(inks[name], inks["paper"], by) >= LEGIBLE
    marks = [re.search(rf"\.verdict\.{one}::before {{([^}}]*)}}", style).group(1)
             for one in ("belongs", "borderline", "clashes")]  # fmt: skip
    assert len({mark.strip() for mark in marks}) == 3


@pytest.mark.parametrize("by", ["protanopes", "deuteranopes", "tritanopes"])
def test_the_simulation_does_confuse_what_such_readers_confuse(by):
    # Red and green, or blue and green: without words the check above would say nothing.
    pair = ("#9e6b3c", "#7f7a3a") if by != "tritanopes" else ("#2f8fb0", "#2f9a8a")
    straight = np.abs(seen(pair[0], "anybody") - seen(pair[1], "anybody")).max()
    assert np.abs(seen(pair[0], by) - seen(pair[1], by)).max() < straight
