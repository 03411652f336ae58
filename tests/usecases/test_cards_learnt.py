"""Cards measured from photos are kept with what was measured, and found again, the newest first."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image

from stash.colour.difference import paired_difference
from stash.colour.spaces import lab_of_linear
from stash.errors import CardNotFoundError, MeasureError, NotFoundError
from stash.photo.light.learning import learn_alone
from stash.storage.sqlite_store import FolderStore
from stash.usecases.photos.manage_cards import (
    add_chart,
    add_printed,
    add_sheet,
    cards,
    cards_for_photo,
    learn_chart,
)
from tests.photo.made_chart import PITCH_IN, photo_of
from tests.photo.test_learning import INKS, SMALL, lamp


def png(pixels: np.ndarray) -> bytes:
    out = io.BytesIO()
    Image.fromarray(pixels).save(out, "PNG")
    return out.getvalue()


@pytest.fixture(scope="module")
def photos() -> list[tuple[str, bytes]]:
    chart = photo_of(SMALL, patches=INKS)
    return [("a.png", png(chart)), ("b.png", png(lamp(chart, (0.9, 0.85, 0.8))))]


def test_a_chart_alone_becomes_the_stashs_own_reference_by_the_mean_of_its_photos(
    store: FolderStore, photos: list[tuple[str, bytes]]
) -> None:
    add_chart(store, "usual", PITCH_IN)
    card, error = learn_chart(store, "mine", photos, pitch_in=PITCH_IN, beside="")
    assert (card.name, card.values, card.absolute) == ("mine", "own", False)
    kept = cards(store)[-1]
    assert kept.name == "mine" and not kept.absolute
    assert kept.patch_linear == pytest.approx(np.asarray(card.patch_linear), abs=1e-6)
    shape = cards_for_photo(store, "usual")[0]
    alone = [learn_alone(np.asarray(Image.open(io.BytesIO(data))), shape) for _, data in photos]
    found = lab_of_linear(np.asarray(card.patch_linear))
    assert paired_difference(found, np.mean([one.lab for one in alone], axis=0)).max() < 0.01
    assert error == pytest.approx(np.mean([one.error_de00 for one in alone]))


def test_a_chart_beside_a_card_that_is_not_registered_is_not_measured(
    store: FolderStore, photos: list[tuple[str, bytes]]
) -> None:
    with pytest.raises(NotFoundError):
        learn_chart(store, "mine", photos, pitch_in=PITCH_IN, beside="usual")
    assert cards(store) == []


def test_a_chart_is_as_true_as_the_card_it_was_measured_beside(
    store: FolderStore, photos: list[tuple[str, bytes]], monkeypatch: pytest.MonkeyPatch
) -> None:
    from stash.photo.light.learning import Learnt
    from stash.usecases.photos import manage_cards

    asked = []

    def beside(pixels: np.ndarray, shape: object, known: object) -> Learnt:
        asked.append((pixels.shape, shape.name, known.name))  # type: ignore[attr-defined]
        return Learnt(lab_of_linear(INKS), 1.0 + len(asked))

    monkeypatch.setattr(manage_cards, "learn_beside", beside)
    add_chart(store, "usual", PITCH_IN)
    add_printed(store, "sheet")
    for known, true in (("usual", True), ("sheet", False)):
        asked.clear()
        card, error = learn_chart(store, "mine", photos, pitch_in=0.4, beside=known)
        assert asked == [((560, 700, 3), "mine", known)] * 2
        assert (card.values, card.absolute, card.pitch_in) == ("learnt", true, 0.4)
        assert error == 2.5  # the mean of 2 and 3
        assert np.asarray(card.patch_linear) == pytest.approx(INKS, abs=1e-6)


def test_cards_are_looked_for_the_newest_first_or_by_their_name(store: FolderStore) -> None:
    with pytest.raises(CardNotFoundError):
        cards_for_photo(store)
    add_chart(store, "usual", 0.55)
    add_printed(store, "sheet")
    add_sheet(store, "paper", "a4")
    assert [card.name for card in cards(store)] == ["usual", "sheet", "paper"]
    assert [card.name for card in cards_for_photo(store)] == ["paper", "sheet", "usual"]
    assert [card.name for card in cards_for_photo(store, "sheet")] == ["sheet"]
    with pytest.raises(NotFoundError):
        cards_for_photo(store, "lost")
    add_chart(store, "usual", 0.6)  # registered again it is the newest
    assert [card.name for card in cards_for_photo(store)] == ["usual", "paper", "sheet"]
    assert cards_for_photo(store)[0].pitch_in == 0.6


@pytest.mark.parametrize(
    ("pitch_in", "fits"), [(0.1, True), (6.0, True), (0.09, False), (6.1, False)]
)
def test_charts_have_squares_from_a_tenth_of_an_inch_to_six_apart(
    store: FolderStore, pitch_in: float, fits: bool
) -> None:
    if fits:
        assert add_chart(store, "c", pitch_in).pitch_in == pitch_in
    else:
        with pytest.raises(MeasureError, match="fits no chart"):
            add_chart(store, "c", pitch_in)


@pytest.mark.parametrize(
    ("line_in", "fits"), [(4.85, True), (7.15, True), (4.75, False), (7.25, False)]
)
def test_a_print_is_taken_up_to_a_fifth_off_its_size(
    store: FolderStore, line_in: float, fits: bool
) -> None:
    if not fits:
        with pytest.raises(MeasureError, match="far from 6 in"):
            add_printed(store, "p", check_line_in=line_in)
        return
    card, usual = add_printed(store, "p", check_line_in=line_in), add_printed(store, "q")
    assert card.pitch_in / usual.pitch_in == pytest.approx(line_in / 6)
