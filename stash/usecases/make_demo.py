"""The demo: an invented stash, photographed, logged and asked, with pictures to look at."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from stash.colour.palette import Palette
from stash.colour.palette_words import palette_of_words
from stash.demo.scene import RenderedScene, render_scene
from stash.demo.tidewater import (
    PALETTE_NAME,
    PALETTE_WORDS,
    PIECE,
    PIECE_SIZE,
    DemoPhoto,
    demo_photos,
)
from stash.drawing.demo_page import DemoFigure, draw_demo_page
from stash.drawing.palette_picture import draw_palette
from stash.errors import PhotoError
from stash.photo.cards.card import Card, chart24
from stash.shape.templates.template import make_template
from stash.usecases.matching.match_palette import MatchAnswer, MatchRequest, clashes, match
from stash.usecases.matching.size_curve import draw_steps, size_curve
from stash.usecases.photos.add_photo import LogOptions, PhotoOutcome, log_photo
from stash.usecases.photos.draw_photo import photo_with_outlines
from stash.usecases.pieces.piece_counts import CutRule
from stash.usecases.ports import Document, Store
from stash.usecases.scraps.draw_answers import clash_sheet, match_sheet
from stash.usecases.user_files import write_beside

__all__ = ["DemoResult", "make_demo"]

CARD_NAME = "practice chart"
Tell = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class DemoResult:
    """What the demo found: photos as logged, who can go in, verdicts, and the page to open."""

    photos: tuple[PhotoOutcome, ...]
    answer: MatchAnswer
    clashing: int
    page: Path


def make_demo(store: Store, folder: Path, *, tell: Tell) -> DemoResult:
    """Photograph the Tidewater stash, log it through the same code as any photo, and ask it.

    Parameters
    ----------
    store : Store
        An empty stash.
    folder : Path
        Where photos, truth, pictures and ``index.html`` go.
    tell : callable
        Told what is being done, for progress.

    Raises
    ------
    StorageError
        If the folder cannot be written.
    """
    card = chart24(CARD_NAME, pitch_in=demo_photos()[0].spec.pitch_in)
    store.keep_document(Document("card", card.name, card.to_body()), why="the demo's card")
    outcomes = [_photograph(store, folder, photo, card, tell=tell) for photo in demo_photos()]
    palette = palette_of_words(PALETTE_NAME, PALETTE_WORDS)
    store.keep_document(
        Document("palette", palette.name, palette.to_dict()), why="the demo's palette"
    )
    tell("asking which scraps can go in, and which clash")
    request = MatchRequest(palette, make_template(PIECE, PIECE_SIZE), CutRule())
    answer = match(store, request)
    found = clashes(store, palette)
    figures = [
        *_photo_figures(store, folder, outcomes),
        *_answer_figures(store, folder, palette, request, answer),
    ]
    write_beside(
        folder / "clash.jpg", clash_sheet(store, found, title="Against the Tidewater palette")
    )
    figures.append(
        DemoFigure(
            "clash.jpg",
            "Which fabrics clash with this palette?",
            "Each with its reason; a raspberry or a lime changes the mood of all the rest.",
        )
    )
    page = folder / "index.html"
    write_beside(page, draw_demo_page(figures, summary=_summary(outcomes, answer)).encode())
    return DemoResult(tuple(outcomes), answer, sum(one.verdict == "clashes" for one in found), page)


def _photograph(
    store: Store, folder: Path, photo: DemoPhoto, card: Card, *, tell: Tell
) -> PhotoOutcome:
    tell(f"photographing {photo.name}")
    scene = render_scene(photo.spec, seed=photo.seed)
    data = scene.jpeg()
    write_beside(folder / "photos" / photo.name, data)
    _write_truth(folder / "photos" / photo.name, scene)
    tell(f"logging {photo.name}")
    outcome = log_photo(
        store,
        data,
        file_name=photo.name,
        cards=(card,),
        options=LogOptions(place=photo.place, washed=True),
    )
    if outcome.status == "refused":  # not with our own photos; if so, its reason is the answer
        raise PhotoError(f"{photo.name}: {outcome.reason}")
    return outcome


def _write_truth(photo: Path, scene: RenderedScene) -> None:
    write_beside(
        photo.with_suffix(".truth.json"), json.dumps(scene.truth.as_json(), indent=1).encode()
    )


def _photo_figures(
    store: Store, folder: Path, outcomes: Sequence[PhotoOutcome]
) -> list[DemoFigure]:
    figures = []
    for outcome in outcomes:
        name = f"logged-{Path(outcome.file).stem}.jpg"
        write_beside(folder / name, photo_with_outlines(store, outcome.sha256))
        words = f"{outcome.file}: {len(outcome.scraps)} scraps outlined, measured and numbered."
        figures.append(DemoFigure(name, "Photograph and log scraps", words))
    return figures


def _answer_figures(
    store: Store, folder: Path, palette: Palette, request: MatchRequest, answer: MatchAnswer
) -> list[DemoFigure]:
    write_beside(folder / "palette.png", draw_palette(palette))
    title = f"Tidewater, {PIECE} {PIECE_SIZE} in"
    write_beside(folder / "match.jpg", match_sheet(store, answer, title=title))
    write_beside(folder / "sizes.png", draw_steps(size_curve(store, request), request))
    return [
        DemoFigure("palette.png", "The palette, said in words", f"“{PALETTE_WORDS}”"),
        DemoFigure(
            "match.jpg",
            "Which scraps can go in this charm quilt?",
            "Real cloth, cut from the photos in true colour, grouped by the answer.",
        ),
        DemoFigure(
            "sizes.png",
            "And at another size?",
            "The smaller the piece, the more fabrics can join: the curve to look at first.",
        ),
    ]


def _summary(outcomes: Sequence[PhotoOutcome], answer: MatchAnswer) -> str:
    scraps = sum(len(one.scraps) for one in outcomes)
    return (
        f"{len(outcomes)} photos, {scraps} scraps logged; {len(answer.can_go_in)} fabrics can go "
        f"into a quilt of {PIECE}s {PIECE_SIZE} in high, {len(answer.look_twice)} want a second "
        f"look, {len(answer.cannot)} cannot."
    )
