"""Logging photo after photo, without measuring any: what a photo shows is put in by hand."""

from __future__ import annotations

import io
import pickle
import subprocess
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from PIL import Image, ImageDraw

from stash.errors import MeasureError, NotFoundError, PhotoError
from stash.photo.cards.card import chart24
from stash.scrap import SCAN, CardReport, PhotoView
from stash.storage.sqlite_store import FolderStore
from stash.usecases.photos.add_photo import (
    LogOptions,
    PhotoOutcome,
    log_photo,
    measure,
    measure_to_keep,
)
from stash.usecases.photos.draw_photo import photo_with_outlines, refused_photo
from stash.usecases.photos.log_batch import Batch, log_batch, looks_on
from stash.usecases.photos.manage_cards import add_chart
from stash.usecases.photos.mark_scrap import mark_scrap
from stash.usecases.photos.measuring_crew import Lost
from stash.usecases.photos.outline_by_mask import outline_by_mask
from stash.usecases.photos.own_cloth import own_cloth
from stash.usecases.ports import PhotoToLog, ScrapToLog
from tests.usecases.cloth import NAVY, RED, TEAL, look, put, rectangle

# A camera straight above: 20 pixels an inch, the card's middle at pixel 100, 80, y up.
VIEW = np.array([[20.0, 0.0, 100.0], [0.0, -20.0, 80.0], [0.0, 0.0, 1.0]])


def jpeg(colour: str = "#dddddd", size: tuple[int, int] = (200, 160)) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", size, colour).save(out, "JPEG")
    return out.getvalue()


def measured(*colours: str) -> Any:
    """What a photo of one 2 x 1-in scrap of each colour tells."""
    scraps = tuple(
        SimpleNamespace(
            outline=rectangle(2, 1, at=(0, 3 * k)), appearance=look(colour), picture_jpeg=b"",
            px_per_in=0.0, left_in=0.0, top_in=0.0, notes=f"note {k}",
        )
        for k, colour in enumerate(colours)
    )  # fmt: skip
    plane = SimpleNamespace(
        image_from_inches=VIEW, middle_px=np.array([99.5, 79.5]), radius_px=100.0, radial=0.0,
        px_per_in=lambda at: 20.0,
    )  # fmt: skip
    return SimpleNamespace(
        scraps=scraps, card=CardReport("chart24", 1.0, 2.0), warnings=("dim",), notes=("thread",),
        cut_off=1, plane=plane,
    )  # fmt: skip


class Photos:
    """What a photo shows, by its bytes; what is measured is counted."""

    def __init__(self) -> None:
        self.shows: dict[bytes, Any] = {}
        self.asked: list[bytes] = []
        self.cards: list[Any] = []
        self.scans: list[bool] = []

    def measure(self, data: bytes, *, file_name: str, cards: Any, options: LogOptions) -> Any:
        self.asked.append(data)
        self.cards.append(list(cards))
        self.scans.append(options.scan)
        return self.shows.get(data, PhotoOutcome(file_name, "refused", reason="no card"))


def in_turn(jobs: Iterable[Any], *, workers: int) -> Iterator[Any]:
    """Do the jobs here, one after another."""
    for job in jobs:
        yield None if job is None else job[0](*job[1])


@pytest.fixture
def photos(monkeypatch: pytest.MonkeyPatch) -> Photos:
    made = Photos()
    for module in ("log_batch", "add_photo", "own_cloth", "mark_scrap"):
        monkeypatch.setattr(f"stash.usecases.photos.{module}.measure", made.measure)

    def crew(jobs: Iterable[Any], *, workers: int) -> Any:
        yield from in_turn(jobs, workers=workers)

    monkeypatch.setattr("stash.usecases.photos.log_batch.crew_results", crew)
    return made


def photo(photos: Photos, path: Path, *colours: str) -> Path:
    """A file that shows cloth of these colours; of none, one that is refused."""
    path.parent.mkdir(parents=True, exist_ok=True)
    data = jpeg() + path.name.encode()
    path.write_bytes(data)
    if colours:
        photos.shows[data] = measured(*colours)
    return path


def logged(store: FolderStore, *paths: Path, **more: Any) -> list[tuple[int, int, PhotoOutcome]]:
    options = more.pop("options", LogOptions())
    return list(log_batch(store, Batch(paths, more.pop("card", None), options, **more)))


def test_who_keeps_a_photo_does_not_load_what_measured_it(photos: Photos) -> None:
    """Loading the libraries a second time took as long as measuring."""
    photos.shows[b"photo"] = measured(NAVY, TEAL)
    told = measure_to_keep(b"photo", "a" * 64, "a.jpg", (), LogOptions())
    look = "import pickle, sys; print(pickle.load(sys.stdin.buffer).cut_off, *sys.modules)"
    command = [sys.executable, "-c", look]
    said = subprocess.run(command, input=pickle.dumps(told), capture_output=True, check=True)
    cut_off, *loaded = said.stdout.decode().split()
    assert cut_off == "1"
    assert {"sklearn", "scipy", "stash.photo.measuring"}.isdisjoint(loaded)


def test_each_photo_is_told_in_its_turn_and_a_bad_one_stops_nothing(
    store: FolderStore, photos: Photos, tmp_path: Path
) -> None:
    add_chart(store, "pocket", 0.55)
    one = photo(photos, tmp_path / "a.jpg", NAVY, RED)
    bad = photo(photos, tmp_path / "b.jpg")
    two = photo(photos, tmp_path / "c.jpg", TEAL)
    told = logged(store, one, bad, tmp_path / "gone.jpg", two)
    assert [(done, of) for done, of, _ in told] == [(1, 4), (2, 4), (3, 4), (4, 4)]
    assert [outcome.status for _, _, outcome in told] == ["logged", "refused", "refused", "logged"]
    assert "gone.jpg cannot be opened" in told[2][2].reason
    assert told[2][2].cause == "not a photo"
    assert [scrap.number for scrap in store.scraps()] == [1, 2, 3]
    first = told[0][2]
    assert (first.warnings, first.cut_off, len(first.scraps)) == (("dim", "thread"), 1, 2)
    assert [scrap.notes for scrap in first.scraps] == ["note 0", "note 1"]
    assert first.card == CardReport("chart24", 1.0, 2.0)
    kept = store.photo(first.sha256)
    assert kept is not None
    assert kept.file_name == "a.jpg"
    assert kept.view is not None
    assert kept.view.image_from_inches[:3] == (20.0, 0.0, 100.0)


def test_what_the_quilter_says_is_noted_on_every_scrap(
    store: FolderStore, photos: Photos, tmp_path: Path
) -> None:
    add_chart(store, "pocket", 0.55)
    options = LogOptions(place="tin", washed=True)
    logged(store, photo(photos, tmp_path / "a.jpg", NAVY, RED), options=options)
    assert [(scrap.place, scrap.washed) for scrap in store.scraps()] == [("tin", True)] * 2


def test_a_photo_logged_before_is_not_measured_again(
    store: FolderStore, photos: Photos, tmp_path: Path
) -> None:
    add_chart(store, "pocket", 0.55)
    path = photo(photos, tmp_path / "a.jpg", NAVY)
    logged(store, path)
    again = logged(store, path, photo(photos, tmp_path / "b.jpg", RED))
    assert [outcome.status for _, _, outcome in again] == ["already logged", "logged"]
    assert [scrap.number for scrap in again[0][2].scraps] == [1]
    assert len(photos.asked) == 2
    # Its file is lost: the same photo brings it back.
    (kept,) = store.home.rglob(f"{again[0][2].sha256}*")
    kept.unlink()
    healed = logged(store, path)[0][2]
    assert any("whole again" in warning for warning in healed.warnings)
    assert store.picture(again[0][2].sha256) == path.read_bytes()


def test_a_folder_gives_its_photos_by_name_and_nothing_else(
    store: FolderStore, photos: Photos, tmp_path: Path
) -> None:
    add_chart(store, "pocket", 0.55)
    folder = tmp_path / "in"
    for name in ("b.JPG", "a.heic", "notes.txt", "._b.jpg", "c.jpeg"):
        photo(photos, folder / name, NAVY)
    told = logged(store, folder, folder / "c.jpeg")
    assert [Path(outcome.file).name for _, _, outcome in told] == ["a.heic", "b.JPG", "c.jpeg"]


def test_the_newest_card_is_looked_for_unless_one_is_named_or_it_is_a_scan(
    store: FolderStore, photos: Photos, tmp_path: Path
) -> None:
    path = photo(photos, tmp_path / "a.jpg", NAVY)
    with pytest.raises(NotFoundError):
        logged(store, path)
    add_chart(store, "old", 0.55)
    add_chart(store, "new", 0.75)
    logged(store, path)
    logged(store, photo(photos, tmp_path / "b.jpg", NAVY), card="old")
    logged(store, photo(photos, tmp_path / "c.jpg", NAVY), options=LogOptions(scan=True))
    assert [[card.name for card in cards] for cards in photos.cards] == [["new"], ["old"], []]
    assert photos.scans == [False, False, True]


def test_a_photo_whose_worker_was_lost_is_told_in_words(
    store: FolderStore, photos: Photos, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    add_chart(store, "pocket", 0.55)
    lost = (Lost("died"), Lost("too long"), Lost("too large"), Lost("failed", "odd\nthing"))

    def crew(jobs: Iterable[Any], *, workers: int) -> Any:
        yield from (one for _, one in zip(jobs, lost, strict=True))

    monkeypatch.setattr("stash.usecases.photos.log_batch.crew_results", crew)
    paths = [photo(photos, tmp_path / f"{k}.jpg", NAVY) for k in range(4)]
    told = [outcome for _, _, outcome in logged(store, *paths)]
    assert [one.status for one in told] == ["refused"] * 4
    for one, words in zip(told, ("twice", "five minutes", "memory", "odd�thing"), strict=True):
        assert words in one.reason
        assert one.reason.startswith(Path(one.file).name)
    assert store.scraps() == ()


def test_each_photo_is_drawn_with_what_was_found_or_why_it_was_refused(
    store: FolderStore, photos: Photos, tmp_path: Path
) -> None:
    add_chart(store, "pocket", 0.55)
    one, bad = photo(photos, tmp_path / "a.jpg", NAVY), photo(photos, tmp_path / "b.jpg")
    none = tmp_path / "c.jpg"
    none.write_bytes(b"no picture")
    drawn = tmp_path / "drawn"
    logged(store, one, bad, none, tmp_path / "gone.jpg", pictures=drawn)
    assert sorted(path.name for path in drawn.iterdir()) == ["a.jpg", "b.jpg"]
    # A line of cloth's outline or a line of words: the one is on the cloth, at pixels 100, 60 to
    # 140, 80, the other is not.
    with Image.open(drawn / "a.jpg") as found, Image.open(drawn / "b.jpg") as refused:
        box = [side * found.width // 200 for side in (98, 57, 142, 83)]
        on_cloth = [one.convert("L").crop(box).getextrema() for one in (found, refused)]
    assert on_cloth[0][0] < on_cloth[1][0] - 30 or on_cloth[0][1] > on_cloth[1][1] + 20
    for path in drawn.iterdir():
        assert path.read_bytes() != jpeg()
        with Image.open(path) as picture:
            assert picture.width >= 200
    with pytest.raises(NotFoundError):
        photo_with_outlines(store, "0" * 64)
    with pytest.raises(PhotoError):
        refused_photo(b"no picture", name="c.jpg", reason="no card")


def test_one_photo_alone_is_logged_known_or_refused(store: FolderStore, photos: Photos) -> None:
    data = jpeg(RED)
    card = chart24("pocket", 0.55)

    def once() -> PhotoOutcome:
        options = LogOptions()
        return log_photo(store, data, file_name="x/y.jpg", cards=[card], options=options)

    assert once().status == "refused"
    photos.shows[data] = measured(NAVY)
    assert once().status == "logged"
    assert once().status == "already logged"
    (kept,) = store.photos()
    assert kept.file_name == "y.jpg"


def test_what_is_no_photo_or_shows_no_card_is_refused_with_a_cause() -> None:
    card = chart24("pocket", 0.55)
    for data, cause in ((b"no picture", "not a photo"), (jpeg(size=(640, 480)), "no card")):
        told = measure(data, file_name="a.jpg", cards=[card], options=LogOptions())
        assert isinstance(told, PhotoOutcome)
        assert (told.status, told.cause) == ("refused", cause)
        assert told.reason


def test_looks_of_a_photo_are_given_and_nothing_is_kept(
    store: FolderStore, photos: Photos, tmp_path: Path
) -> None:
    put(store, NAVY)
    path = photo(photos, tmp_path / "a.jpg", NAVY, RED)
    card = chart24("pocket", 0.55)
    assert [one.reads_as for one in looks_on(path, [card])] == [
        look(NAVY).reads_as, look(RED).reads_as,
    ]  # fmt: skip
    first, second = own_cloth(store, path.read_bytes(), file_name="a.jpg", cards=[card])
    assert (first.answer.owned, second.answer.owned) == (True, False)
    assert [one.fabric for one in first.answer.worth_a_look] == [1]
    for wrong in (tmp_path / "gone.jpg", photo(photos, tmp_path / "b.jpg")):
        with pytest.raises(PhotoError):
            looks_on(wrong, [card])
    with pytest.raises(PhotoError, match="no card"):
        own_cloth(store, b"other", file_name="b.jpg", cards=[card])
    assert len(store.scraps()) == 1


# A scrap marked by hand on a photo that was logged without it.


def kept_photo(store: FolderStore, data: bytes, *scraps: ScrapToLog, kind: str = "chart24") -> str:
    view = PhotoView(tuple(VIEW.ravel().tolist()), (99.5, 79.5), 100.0, 0.0)
    report = CardReport(kind, 1.0, 2.0)
    store.log_photo(PhotoToLog("a" * 64, "a.jpg", data, ".jpg", report, (), scraps, view=view))
    return "a" * 64


CORNERS = [(100.0, 60.0), (140.0, 60.0), (140.0, 80.0), (100.0, 80.0)]


def test_a_marked_scrap_takes_bin_and_washing_from_its_sisters(
    store: FolderStore, photos: Photos
) -> None:
    data = jpeg()
    photos.shows[data] = measured(NAVY)
    add_chart(store, "pocket", 0.55)
    far = [ScrapToLog(rectangle(1, 1, at=(9, at)), look(RED), place="tin", washed=True)
           for at in (0, 5)]  # fmt: skip
    sha256 = kept_photo(store, data, *far)
    marked = mark_scrap(store, sha256, CORNERS)
    assert (marked.place, marked.washed, marked.photo) == ("tin", True, sha256)
    assert marked.outline.area_sq_in == pytest.approx(2)
    assert [card.name for card in photos.cards[0]] == ["pocket"]
    with pytest.raises(MeasureError, match=f"Scrap {marked.number} lies there already"):
        mark_scrap(store, sha256, CORNERS)
    # Ten pixels beside what was meant are half an inch at 20 pixels an inch.
    store.delete_scrap(marked.number, why="t")
    unsure = mark_scrap(store, sha256, CORNERS, hit_px=10)
    assert unsure.outline.error_in == pytest.approx(0.5)


def test_a_scrap_is_marked_only_with_the_card_the_photo_was_logged_with(
    store: FolderStore, photos: Photos
) -> None:
    data = jpeg()
    sha256 = kept_photo(store, data)
    with pytest.raises(NotFoundError, match="card"):
        mark_scrap(store, sha256, CORNERS)
    add_chart(store, "pocket", 0.55)
    with pytest.raises(MeasureError, match="no card"):
        mark_scrap(store, sha256, CORNERS)
    # A card of another size puts everything elsewhere: that is not the card of this photo.
    other = measured(NAVY)
    other.plane.image_from_inches = VIEW * [[1.5], [1.5], [1.0]]
    photos.shows[data] = other
    with pytest.raises(NotFoundError):
        mark_scrap(store, sha256, CORNERS)
    with pytest.raises(NotFoundError):
        mark_scrap(store, "b" * 64, CORNERS)
    with pytest.raises(MeasureError):
        mark_scrap(store, sha256, CORNERS[:2])
    assert store.scraps() == ()


def test_a_scan_is_marked_without_a_card(store: FolderStore, photos: Photos) -> None:
    data = jpeg()
    photos.shows[data] = measured(NAVY)
    mark_scrap(store, kept_photo(store, data, kind=SCAN), CORNERS)
    assert (photos.cards, photos.scans) == ([[]], [True])


# An outline painted on the photo or on the scrap's own picture.


def painted(size: tuple[int, int], box: tuple[int, int, int, int]) -> bytes:
    picture = Image.new("L", size, 0)
    ImageDraw.Draw(picture).rectangle(box, fill=255)
    out = io.BytesIO()
    picture.save(out, "PNG")
    return out.getvalue()


def test_a_painted_outline_lies_where_it_was_painted_on_photo_or_picture(
    store: FolderStore,
) -> None:
    # On the photo pixel x lies at (x - 100) / 20 in, y at (80 - y) / 20; 40 x 20 pixels are 2 x 1.
    sha256 = kept_photo(store, jpeg(), ScrapToLog(rectangle(3, 3, error_in=0.02), look(NAVY)))
    scrap = store.scrap(1)
    assert scrap.photo == sha256
    outline = outline_by_mask(store, scrap, painted((200, 160), (120, 40, 159, 59)), name="p.png")
    assert outline.bounds == pytest.approx((1, 1, 3, 2), abs=0.08)
    assert outline.error_in == pytest.approx(1 / 20, rel=0.1)  # a pixel, for it is more
    # On its own picture of 40 pixels an inch, whose upper left corner lies at 0, 3.
    own = put(store, RED, rectangle(3, 3, error_in=0.2), picture=jpeg(size=(120, 120)))
    outline = outline_by_mask(store, own, painted((120, 120), (20, 20, 59, 99)), name="p.png")
    assert outline.bounds == pytest.approx((0.5, 0.5, 1.5, 2.5), abs=0.04)
    assert outline.error_in == 0.2
    with pytest.raises(MeasureError, match="77 x 160"):
        outline_by_mask(store, own, painted((77, 160), (20, 20, 59, 99)), name="p.png")
    with pytest.raises(MeasureError):
        outline_by_mask(store, own, painted((120, 120), (200, 200, 210, 210)), name="p.png")
