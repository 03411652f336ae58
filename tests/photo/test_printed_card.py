"""The printed card, rasterised from its PDF, printed with other inks and photographed."""

import cv2
import numpy as np
import pypdfium2
import pytest

from stash.colour.difference import colour_difference
from stash.colour.spaces import lab_of_linear, linear_of_srgb, srgb_of_linear
from stash.drawing.card_sheet import PAPERS, card_sheet_pdf
from stash.errors import CardCoveredError
from stash.photo.cards.card import card_of, chart24
from stash.photo.cards.card_finding import find_card
from stash.photo.cards.patch_edges import project
from stash.photo.cards.printed_card import printed_card
from stash.photo.inches.plane import fit_plane
from stash.photo.light.calibration import calibrate
from tests.photo.made_chart import PITCH_IN, Camera, photo_of

_DPI = 220
# Inks that are not what the screen says: each channel is lowered and dyes the others.
INKS = np.array([[0.90, 0.06, 0.02], [0.05, 0.82, 0.05], [0.03, 0.09, 0.76]])
# Straight from above, turned by 6 degrees, 145 pixels an inch.
_COS, _SIN = 145 * np.cos(np.radians(6)), 145 * np.sin(np.radians(6))
IMAGE_FROM_CARD = np.array([[_COS, _SIN, 900], [_SIN, -_COS, 700], [0, 0, 1]])


def page(paper: str = "letter") -> np.ndarray:
    """Rasterise the card's page."""
    document = pypdfium2.PdfDocument(card_sheet_pdf(paper))
    return np.asarray(document[0].render(scale=_DPI / 72).to_pil().convert("RGB"))


def printed_light(paper: str = "letter") -> np.ndarray:
    """Give the page as printed: linear light after the inks."""
    return linear_of_srgb(page(paper) / 255) @ INKS.T


def photographed(paper: str = "letter") -> np.ndarray:
    """Photograph the printed page lying on a grey table, 1800 x 1400."""
    width, height = (value / 72 for value in PAPERS[paper])
    page_from_card = np.array(
        [[_DPI, 0, _DPI * width / 2 - 0.5], [0, -_DPI, _DPI * (height / 2 - 0.35) - 0.5], [0, 0, 1]]
    )
    light = cv2.warpPerspective(
        printed_light(paper).astype(np.float32),
        IMAGE_FROM_CARD @ np.linalg.inv(page_from_card),
        (1800, 1400),
        borderValue=(0.3, 0.3, 0.28),
    )
    return np.rint(255 * srgb_of_linear(light * 0.9)).astype(np.uint8)


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_the_check_line_is_six_inches_on_the_page(paper):
    dark = (page(paper) < 200).all(axis=2)
    longest = max(
        len(run)
        for row in dark
        for run in np.split(
            np.flatnonzero(row), np.flatnonzero(np.diff(np.flatnonzero(row)) > 1) + 1
        )
    )
    # Tolerance: the ticks at either end are 0.6 points wide, and a pixel of the raster.
    assert longest == pytest.approx(6 * _DPI, abs=3)


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_the_page_measures_inches_from_edge_to_edge(paper):
    found = find_card(photographed(paper), [printed_card("mine")])
    plane = fit_plane(found, (1400, 1800))
    there = np.array([[-5.0, -3.5], [5.0, 3.5], [0, 0], [5.0, -3.5]])
    off = np.hypot(*(plane.to_inches(project(IMAGE_FROM_CARD, there)) - there).T)
    # Tolerance: the page is rasterised at 220 dots an inch.
    assert off.max() < 0.015
    assert (off <= plane.error_in(there)).all()


def test_a_print_that_is_not_measured_is_consistent_not_absolute():
    found = find_card(photographed(), [printed_card("mine")])
    calibration = calibrate(found)
    assert not calibration.absolute
    assert any("never measured" in text for text in calibration.warnings)


def test_a_measured_print_gives_true_colours_whatever_its_inks():
    true_inks = (
        linear_of_srgb(
            np.array([[int(h[i : i + 2], 16) for i in (1, 3, 5)] for h in printed_hex()]) / 255
        )
        @ INKS.T
    )
    card = printed_card("mine", patch_linear=true_inks)
    calibration = calibrate(find_card(photographed(), [card]))
    assert calibration.absolute
    cloth = np.array([[0.3, 0.2, 0.1], [0.1, 0.2, 0.3], [0.4, 0.4, 0.4]])
    lab = calibration.lab_of(srgb_of_linear(cloth * 0.9))
    moved = [colour_difference(t, [m])[0] for t, m in zip(lab_of_linear(cloth), lab, strict=True)]
    assert max(moved) < 1.5  # the figure wanted in good light


def printed_hex() -> tuple[str, ...]:
    """Give the colours sent to the printer."""
    from stash.photo.cards.printed_card import PATCH_HEX

    return PATCH_HEX


def test_a_hidden_corner_mark_is_told():
    photo = photographed()
    there = np.rint(project(IMAGE_FROM_CARD, np.array([[4.1, 2.7]])))[0].astype(int)
    cv2.circle(photo, (int(there[0]), int(there[1])), 90, (90, 120, 60), -1)
    with pytest.raises(CardCoveredError, match="3 of the 4 corner marks"):
        find_card(photo, [printed_card("mine")])


def test_a_print_of_another_size_is_scaled_by_its_check_line():
    card = printed_card("mine", check_line_in=5.9)
    assert card.pitch_in == pytest.approx(0.9 * 5.9 / 6)
    again = card_of("mine", card.to_body())
    assert np.allclose(again.patch_centres_in, card.patch_centres_in)
    assert not again.absolute


def beside_a_chart() -> np.ndarray:
    """Photograph the page and a 24-patch chart in one light."""
    chart = photo_of(
        Camera(turn_deg=5, tilt_deg=0, at_in=(0.0, 0.0), width=700, height=520, px_per_in=110)
    )
    photo = np.full((1400, 2500, 3), 150, np.uint8)
    photo[:, :1800] = photographed()
    photo[500:1020, 1800:] = chart
    return photo


def test_learning_beside_a_chart_makes_the_print_absolute(tmp_path):
    from io import BytesIO

    from PIL import Image

    from stash.usecases.photos.manage_cards import cards, learn_printed
    from stash.wiring import open_store

    out = BytesIO()
    Image.fromarray(beside_a_chart()).save(out, "PNG")
    store = open_store(tmp_path)
    card, error = learn_printed(store, "mine", out.getvalue(), file_name="both.png")
    sent = np.array([[int(h[i : i + 2], 16) for i in (1, 3, 5)] for h in printed_hex()]) / 255
    true = lab_of_linear(linear_of_srgb(sent) @ INKS.T)
    learnt = lab_of_linear(cards(store)[-1].patch_linear)
    moved = [colour_difference(t, [m])[0] for t, m in zip(true, learnt, strict=True)]
    assert card.absolute and error < 2
    assert np.mean(moved) < 1.5  # the figure wanted in good light
    assert chart24("x", PITCH_IN).absolute
