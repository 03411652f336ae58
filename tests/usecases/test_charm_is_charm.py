"""Twenty-five photos of 144 scraps of 79 cloths: a charm quilt of 49 holds 49 cloths.

The photos are given by what is measured on them, each scrap by a picture of invented cloth as
another photo shows it: another part, turned, its light read a little off, blurred, noisy.
"""

from __future__ import annotations

import hashlib
import io
from dataclasses import replace

import cv2
import numpy as np
import pytest
from PIL import Image

from stash.colour.spaces import lab_of_linear, srgb_of_linear
from stash.demo.fabrics import FABRICS, TILE_PX_PER_IN, InventedFabric, weave
from stash.scrap import CardReport
from stash.shape.plane.outline import outline_of
from stash.storage.sqlite_store import FolderStore
from stash.usecases.ports import PhotoToLog, ScrapToLog
from stash.usecases.quilts.plan_quilt import QuiltRequest, make_quilt, quilt_named
from stash.usecases.quilts.quilt_allot import allot_quilt
from stash.usecases.quilts.quilt_enough import enough_for
from stash.usecases.twins.answer_twins import Answers, answer_twins
from stash.usecases.twins.imprints import take_imprints
from stash.usecases.twins.one_cloth_questions import review
from stash.wiring import open_store
from tests.usecases.twin_cloth import looks

SIDE_IN, PX_PER_IN = 3.0, 60
SQUARE = outline_of([(0, 0), (SIDE_IN, 0), (SIDE_IN, SIDE_IN), (0, SIDE_IN)])
CLOTHS, SCRAPS, PHOTOS, PIECES = 79, 144, 25, 49


def cloths() -> list[InventedFabric]:
    """Invented cloths and other colourways of them, 12 Lab units apart in the mean or more."""
    found: list[InventedFabric] = []
    means: list[np.ndarray] = []
    for turn in range(3):
        for fabric in FABRICS.values():
            inks = tuple("#" + (ink[1:] * 2)[2 * turn : 2 * turn + 6] for ink in fabric.inks)
            one = replace(fabric, inks=inks)
            mean = lab_of_linear(weave(one).reshape(-1, 3)[::97].mean(axis=0))
            of_design = [at for at, other in enumerate(found) if other.name == fabric.name]
            if all(np.linalg.norm(mean - means[at]) >= 12 for at in of_design):
                found.append(one)
                means.append(mean)
    return found[:CLOTHS]


def photographed(tile: np.ndarray, rng: np.random.Generator) -> bytes:
    side, per = round(SIDE_IN * PX_PER_IN), TILE_PX_PER_IN / PX_PER_IN
    angle = rng.uniform(0, 2 * np.pi)
    y, x = np.mgrid[0:side, 0:side].astype(np.float64) * per
    across = np.cos(angle) * x - np.sin(angle) * y + rng.uniform(0, 999)
    down = np.sin(angle) * x + np.cos(angle) * y + rng.uniform(0, 999)
    soft = cv2.blur(tile, (round(per),) * 2, borderType=cv2.BORDER_REFLECT)
    seen = soft[down.astype(int) % len(tile), across.astype(int) % len(tile)]
    mixed = seen @ (np.eye(3) + rng.normal(0, 0.012, (3, 3))).T * rng.uniform(0.97, 1.03)
    light = srgb_of_linear(mixed.clip(0, 1)) * 255
    light = cv2.GaussianBlur(light, (0, 0), rng.uniform(0.4, 1.0)) + rng.normal(0, 1.5, light.shape)
    out = io.BytesIO()
    Image.fromarray(light.clip(0, 255).astype(np.uint8)).save(out, "JPEG", quality=85)
    return out.getvalue()


@pytest.fixture(scope="module")
def logged(tmp_path_factory: pytest.TempPathFactory) -> tuple[FolderStore, dict[int, int]]:
    """The stash, and the true cloth of each scrap."""
    rng = np.random.default_rng(18)
    tiles = [weave(fabric) for fabric in cloths()]
    assert len(tiles) == CLOTHS
    order = rng.permutation([*range(CLOTHS), *rng.integers(0, CLOTHS, SCRAPS - CLOTHS)])
    store = open_store(tmp_path_factory.mktemp("stash"))
    truth: dict[int, int] = {}
    for photo, part in enumerate(np.array_split(order, PHOTOS)):
        data = b"photo %d" % photo
        pictures = [photographed(tiles[cloth], rng) for cloth in part]
        scraps = tuple(
            ScrapToLog(SQUARE, looks(), jpeg, PX_PER_IN, top_in=SIDE_IN) for jpeg in pictures
        )
        report = CardReport("chart24", 1.2, 3.0)
        sha256 = hashlib.sha256(data).hexdigest()
        kept = store.log_photo(PhotoToLog(sha256, f"{photo}.jpg", data, ".jpg", report, (), scraps))
        take_imprints(store, kept)
        truth.update(zip((one.number for one in kept), part.tolist(), strict=True))
    request = QuiltRequest("raffle", "square", "2", rows=7, across=7, charm=True)
    make_quilt(store, request)
    return store, truth


def pieces(store: FolderStore, truth: dict[int, int]) -> list[int]:
    return [truth[piece.scrap] for piece in quilt_named(store, "raffle").pieces]


def test_before_the_review_no_more_is_promised_than_there_are_cloths(logged) -> None:
    store, _ = logged
    found = enough_for(store, "raffle").enough
    assert found.fabric_count.least <= CLOTHS < found.fabric_count.most == SCRAPS
    assert f"{found.fabric_count.least} to {SCRAPS} fabrics" in str(found.fabric_count)
    assert found.fabric_count.least >= 0.85 * CLOTHS


def test_the_review_asks_for_nearly_all_twins_and_little_else(logged) -> None:
    store, truth = logged
    asked = {
        (one, other)
        for group in review(store).waiting
        for one in group.scraps
        for other in group.scraps
        if one < other
    }
    true = {(a, b) for a in truth for b in truth if a < b and truth[a] == truth[b]}
    assert len(asked & true) >= 0.95 * len(true)
    assert len(asked) <= 1.5 * len(true)


def test_after_the_review_a_charm_quilt_of_49_holds_49_cloths(logged) -> None:
    store, truth = logged
    for _ in range(4):  # groups of which only some are one cloth come up again
        waiting = review(store).waiting
        if not waiting:
            break
        same = []
        for group in waiting:
            of_cloth: dict[int, list[int]] = {}
            for scrap in group.scraps:
                of_cloth.setdefault(truth[scrap], []).append(scrap)
            same += [tuple(one) for one in of_cloth.values() if len(one) > 1]
        answer_twins(store, Answers(same=tuple(same)))
        left = [tuple(group.scraps) for group in review(store).waiting]
        one_of_each = [tuple({truth[n]: n for n in scraps}.values()) for scraps in left]
        answer_twins(store, Answers(different=tuple(one_of_each)))
    assert not review(store).waiting
    answer = allot_quilt(store, "raffle")
    assert answer.possible
    assert len(set(pieces(store, truth))) == PIECES
