"""A photo kept without what its file tells of place, time and device."""

from __future__ import annotations

import hashlib
import io
import zipfile
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import ExifTags, Image

from stash.errors import TooLongError
from stash.wiring import open_store
from tests.running import REPO, answer_of, run_stash
from tests.storage.made_records import made_photo

PHOTO = REPO / "fixtures" / "scenes" / "four_scraps.jpg"
SECRETS = (b"Camera of ours", b"Grandmother", b"GPSPLACE")


def _telling_photo() -> bytes:
    """Give the rendered photo with details in its head, as a phone writes them."""
    exif = Image.Exif()
    exif[ExifTags.Base.Make] = "Camera of ours"
    exif[ExifTags.Base.Artist] = "Grandmother"
    exif.get_ifd(ExifTags.IFD.GPSInfo)[ExifTags.GPS.GPSAreaInformation] = b"GPSPLACE"
    block = exif.tobytes()
    plain = PHOTO.read_bytes()
    return plain[:2] + b"\xff\xe1" + (len(block) + 2).to_bytes(2, "big") + block + plain[2:]


def _pixels(data: bytes) -> np.ndarray:
    return np.asarray(Image.open(io.BytesIO(data)))


def test_a_photo_logged_without_its_details_is_known_and_healed_without_them(
    tmp_path: Path,
) -> None:
    home, photo, copy = tmp_path / "stash", tmp_path / "telling.jpg", tmp_path / "copy.zip"
    told = _telling_photo()
    photo.write_bytes(told)
    assert all(secret in told for secret in SECRETS)
    run_stash("card", "add", "practice", "--kind", "chart24", "--pitch", "0.55", home=home)
    (outcome,) = answer_of("log", photo, "--no-details", home=home)["photos"]
    assert outcome["status"] == "logged"
    kept = home / "photos" / f"{hashlib.sha256(told).hexdigest()}.jpg"
    assert not any(secret in kept.read_bytes() for secret in SECRETS)
    np.testing.assert_array_equal(_pixels(kept.read_bytes()), _pixels(told))

    answer_of("backup", copy, home=home)
    with zipfile.ZipFile(copy) as archive:
        inside = b"".join(archive.read(name) for name in archive.namelist())
    assert not any(secret in inside for secret in SECRETS)

    plain = kept.read_bytes()
    kept.unlink()
    (again,) = answer_of("log", photo, home=home)["photos"]
    assert (again["status"], kept.read_bytes()) == ("already logged", plain)
    assert run_stash("verify", home=home).returncode == 0


def test_details_of_photos_kept_already_are_listed_and_taken_off_for_good(tmp_path: Path) -> None:
    home, store = tmp_path / "stash", open_store(tmp_path / "stash")
    told, made = _telling_photo(), made_photo(5)
    sha256 = hashlib.sha256(told).hexdigest()
    store.log_photo(replace(made, data=told, sha256=sha256))
    store.log_photo(made_photo(6, size=900))  # no picture at all: nothing can be taken off it
    store.join_fabrics(1, 2, why="joined")
    store.backup(str(tmp_path / "kept.zip"))
    store.database.close()
    listed = answer_of("details", home=home)
    assert (listed["telling"], listed["taken_off"]) == ([made.file_name], 0)
    assert listed["kept_whole"] == [made_photo(6).file_name]
    done = run_stash("details", "--take-off", home=home)
    assert (done.returncode, done.stdout.splitlines()[0]) == (0, "Taken off: 1 photo.")
    assert str(tmp_path / "kept.zip") in done.stdout
    kept = home / "photos" / f"{sha256}.jpg"
    assert not any(secret in kept.read_bytes() for secret in SECRETS)
    np.testing.assert_array_equal(_pixels(kept.read_bytes()), _pixels(told))
    assert answer_of("details", home=home)["telling"] == []
    assert run_stash("verify", home=home).returncode == 0
    # Taking back what was done before goes on, and the photo stays plain.
    store = open_store(home)
    undone = [store.undo() for _ in range(3)]
    assert undone[0] == "joined"
    for _ in range(3):
        store.redo()
    assert [one.text for one in store.check()] == []
    store.backup(str(tmp_path / "plain.zip"))
    with zipfile.ZipFile(tmp_path / "plain.zip") as archive:
        assert not any(secret in archive.read(f"photos/{sha256}.jpg") for secret in SECRETS)


def test_what_photos_tell_is_said_at_the_first_logging_and_with_every_backup(
    tmp_path: Path,
) -> None:
    home, folder = tmp_path / "stash", tmp_path / "new"
    folder.mkdir()
    (folder / "telling.jpg").write_bytes(_telling_photo())
    (folder / "plain.jpg").write_bytes(PHOTO.read_bytes())
    run_stash("card", "add", "practice", "--kind", "chart24", "--pitch", "0.55", home=home)
    first = run_stash("log", folder, home=home)
    assert "1 photo kept with what the file tells of place, time and device." in first.stdout
    assert "kept with" not in run_stash("log", folder, home=home).stdout
    kept = run_stash("backup", tmp_path / "kept.zip", home=home).stdout
    assert "tell where, when or with what they were taken: 1." in kept
    run_stash("details", "--take-off", home=home)
    assert answer_of("backup", tmp_path / "again.zip", home=home)["photos_with_details"] == 0


def test_a_photo_is_kept_as_it_was_taken_unless_its_details_are_not_wanted(tmp_path: Path) -> None:
    store = open_store(tmp_path)
    photo = made_photo(7)
    store.log_photo(photo)
    assert store.picture(photo.sha256) == photo.data


@pytest.mark.parametrize(
    ("words", "most"),
    [(("--name", "x"), 120), (("--bin", "x"), 200), (("--notes", "x"), 10_000)],
)
def test_what_a_person_writes_has_a_length(
    tmp_path: Path, words: tuple[str, str], most: int
) -> None:
    open_store(tmp_path).log_photo(made_photo(7))
    option, letter = words
    assert run_stash("scrap", "1", option, letter * most, home=tmp_path).returncode == 0
    done = run_stash("scrap", "1", option, "y" * (most + 1), home=tmp_path)
    assert (done.returncode, len(done.stderr.splitlines())) == (1, 1)
    assert f"at most {most:,} are kept" in done.stderr
    shown = answer_of("scrap", "1", home=tmp_path)
    assert letter * most in str(shown)


def test_a_record_of_too_long_a_name_is_refused_before_anything_is_written(tmp_path: Path) -> None:
    from stash.usecases.ports import Document

    store = open_store(tmp_path)
    with pytest.raises(TooLongError) as caught:
        store.keep_document(Document("palette", "n" * 121, {}), why="too long")
    assert (caught.value.what, caught.value.most) == ("name", 120)
    assert store.documents("palette") == ()
