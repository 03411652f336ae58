"""Real photos of charts, bent in known ways: what is refused, why, and whether that is so.

usage: python -m tests.benchmarks.bent_photos {looked,kept} [--photos N] [--seed N] [--full]

Reads the photos and right answers that lie beside the checkout (shared/data/real_photos). They are
parted by the sha256 of their bare names: even is the half to look at, odd the half kept back. Of a
half, N photos are drawn by the seed and bent in every way of `BENDS`. What must follow is known by
how each was bent: a photo that is only turned, cropped around the card or rendered otherwise has to
be measured where the photo itself has to be, and its card found at the place the bend moved it to;
one whose card is cut through, covered or mirrored has to be refused, for that reason.

Without --full a photo is looked at as far as its card, light and inches, a scrap marked by hand;
with it to the end, so that the things on the table are counted too.
"""

from __future__ import annotations

import argparse
import hashlib
import io
import json
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image

from stash.colour.spaces import linear_of_srgb, srgb_of_linear
from stash.demo.phone_look import PHONE_LOOKS, rendered
from stash.errors import PhotoError
from stash.photo.cards.card import FoundCard, chart24
from stash.photo.cards.card_finding import find_cards
from stash.photo.cards.patch_edges import project
from stash.photo.files.reading import read_photo
from stash.photo.measuring import MeasureOptions, measure_photo
from stash.shape.plane.outline import Ring
from tests.shared_data import shared

CARD = chart24("chart", 0.55)
LARGEST_PX = 1300
NEAR_PITCH = 0.25  # a card is at its place where no square lies further off than this
SMALLEST_PX = 14.0  # of a square: below, a refusal is no fault
LIGHT = ("overexposed",)

Pixels = NDArray[np.uint8]
Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Seen:
    """A photo before it is bent, and the card in it."""

    pixels: Pixels
    card: FoundCard
    rng: np.random.Generator

    @property
    def centres_px(self) -> Floats:
        """Where the squares lie."""
        return project(self.card.image_from_card, self.card.card.patch_centres_in)

    @property
    def pitch_px(self) -> float:
        """How far apart they lie."""
        first, second = self.centres_px[:2]
        return float(np.hypot(*(second - first)))

    @property
    def box(self) -> tuple[Floats, Floats]:
        """Lowest and highest corner of the card, within the photo."""
        height, width = self.pixels.shape[:2]
        corners = self.card.corners_px
        return np.maximum(corners.min(0), 0), np.minimum(corners.max(0), [width - 1, height - 1])

    @property
    def xy(self) -> tuple[Floats, Floats]:
        """Columns and rows of every pixel."""
        rows, columns = np.mgrid[0 : self.pixels.shape[0], 0 : self.pixels.shape[1]]
        return columns.astype(np.float64), rows.astype(np.float64)


@dataclass(frozen=True)
class Bent:
    """A bent photo and what must follow.

    ``moved`` maps the old pixels to the new ones, None where nothing is said of the place. ``must``
    is whether it has to be measured: as the photo itself, never, or either. ``causes`` may be given
    for a refusal.
    """

    coded: bytes
    moved: Floats | None = field(default_factory=lambda: np.eye(3))
    must: str = "as before"
    causes: tuple[str, ...] = ()


def coded(pixels: Pixels, quality: int = 92) -> bytes:
    """Code as JPEG."""
    out = io.BytesIO()
    Image.fromarray(pixels).save(out, "JPEG", quality=quality)
    return out.getvalue()


def lit(pixels: Pixels, gain: tuple[float, float, float]) -> Pixels:
    """Take the photo in other light: gains of the linear channels."""
    table = linear_of_srgb(np.arange(256) / 255)[:, None] * np.array(gain)
    levels = np.rint(255 * srgb_of_linear(np.clip(table, 0, 1))).astype(np.uint8)
    return np.stack([levels[pixels[..., band], band] for band in range(3)], axis=2)


def warped(pixels: Pixels, moved: Floats, size: tuple[int, int]) -> Pixels:
    """Move the pixels; what lies outside continues the border."""
    return np.asarray(
        cv2.warpPerspective(
            pixels, moved, size, flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE
        ),
        dtype=np.uint8,
    )


def whole(pixels: Pixels, moved: Floats) -> tuple[Pixels, Floats]:
    """Move so that all of the photo stays in it."""
    height, width = pixels.shape[:2]
    frame = np.array([[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]])
    corners = project(moved, frame)
    low = corners.min(0)
    back = np.array([[1.0, 0.0, -low[0]], [0.0, 1.0, -low[1]], [0.0, 0.0, 1.0]]) @ moved
    across, down = (int(v) for v in np.ptp(corners, axis=0))
    return warped(pixels, back, (across, down)), back


def turned(degrees: float) -> Callable[[Seen], Bent]:
    """Turn by any angle."""

    def bend(seen: Seen) -> Bent:
        flat = cv2.getRotationMatrix2D((0.0, 0.0), degrees, 1.0)
        pixels, moved = whole(seen.pixels, np.vstack([flat, [0.0, 0.0, 1.0]]))
        return Bent(coded(pixels), moved)

    return bend


def tilted(across: float, down: float) -> Callable[[Seen], Bent]:
    """See it from aside."""

    def bend(seen: Seen) -> Bent:
        height, width = seen.pixels.shape[:2]
        long = max(height, width)
        middle = np.array([[1.0, 0.0, -width / 2], [0.0, 1.0, -height / 2], [0.0, 0.0, 1.0]])
        aside = np.array([[1.0, 0, 0], [0, 1.0, 0], [across / long, down / long, 1.0]])
        pixels, moved = whole(seen.pixels, aside @ middle)
        return Bent(coded(pixels), moved)

    return bend


def sized(share: float) -> Callable[[Seen], Bent]:
    """Make it smaller."""

    def bend(seen: Seen) -> Bent:
        height, width = seen.pixels.shape[:2]
        size = (round(width * share), round(height * share))
        small = cv2.resize(seen.pixels, size, interpolation=cv2.INTER_AREA)
        moved = np.diag([size[0] / width, size[1] / height, 1.0])
        enough = seen.pitch_px * share >= SMALLEST_PX
        few = () if enough else ("no card", "blurred", "another card", "card covered")
        return Bent(coded(np.asarray(small)), moved, "as before" if enough else "either", few)

    return bend


def cropped(seen: Seen, box: tuple[float, float, float, float]) -> tuple[Pixels, Floats]:
    """Cut the photo to left, top, right, bottom."""
    height, width = seen.pixels.shape[:2]
    left, top = max(0, int(box[0])), max(0, int(box[1]))
    right, bottom = min(width, int(box[2])), min(height, int(box[3]))
    moved = np.array([[1.0, 0.0, -left], [0.0, 1.0, -top], [0.0, 0.0, 1.0]])
    return np.ascontiguousarray(seen.pixels[top:bottom, left:right]), moved


def around(share: float) -> Callable[[Seen], Bent]:
    """Leave the card and a margin about it, a share of its size."""

    def bend(seen: Seen) -> Bent:
        low, high = seen.box
        margin = share * (high - low)
        return Bent(*_bytes_of(cropped(seen, (*(low - margin), *(high + margin)))))

    return bend


def _bytes_of(moved: tuple[Pixels, Floats]) -> tuple[bytes, Floats]:
    return coded(moved[0]), moved[1]


def cut_through(axis: int, from_low: bool, half: bool = False) -> Callable[[Seen], Bent]:
    """Cut the photo through the card: the outermost row or column is lost, or half of it."""

    def bend(seen: Seen) -> Bent:
        height, width = seen.pixels.shape[:2]
        along = seen.centres_px[:, axis]
        least = along.min() + seen.pitch_px if from_low else along.max() - seen.pitch_px
        box = [0.0, 0.0, float(width), float(height)]
        box[axis if from_low else axis + 2] = np.median(along) if half else least
        pixels, _ = cropped(seen, (box[0], box[1], box[2], box[3]))
        return Bent(coded(pixels), None, "never", ("card cut off", "no card"))

    return bend


def in_light(*gain: float) -> Callable[[Seen], Bent]:
    """Take it in light of another strength or colour."""
    red, green, blue = gain if len(gain) == 3 else (gain[0],) * 3
    more = max(gain) > 1
    return lambda seen: Bent(
        coded(lit(seen.pixels, (red, green, blue))),
        must="either" if more else "as before",
        causes=LIGHT if more else (),
    )


def darker_noisy(seen: Seen) -> Bent:
    """A stop and a half too little light, with noise."""
    dark = lit(seen.pixels, (0.35, 0.35, 0.35)) + seen.rng.normal(0, 5, seen.pixels.shape)
    return Bent(coded(np.clip(dark, 0, 255).astype(np.uint8)))


def phoned(name: str) -> Callable[[Seen], Bent]:
    """Render it once more, as a phone would."""
    return lambda seen: Bent(
        coded(rendered(seen.pixels, PHONE_LOOKS[name])), causes=LIGHT if name == "strong" else ()
    )


def half_shaded(seen: Seen) -> Bent:
    """A soft shadow over a third of the photo, a tenth of its width from light to dark."""
    across, _ = seen.xy
    width = seen.pixels.shape[1]
    light = 0.55 + 0.45 / (1 + np.exp(-(across / width - 0.35) * 40))
    linear = linear_of_srgb(seen.pixels / 255) * light[..., None]
    return Bent(coded(np.rint(255 * srgb_of_linear(linear)).astype(np.uint8)), must="soft")


def falling(seen: Seen) -> Bent:
    """Light that falls off by 40 % across the photo."""
    across, _ = seen.xy
    light = 1 - 0.4 * across / seen.pixels.shape[1]
    linear = linear_of_srgb(seen.pixels / 255) * light[..., None]
    return Bent(coded(np.rint(255 * srgb_of_linear(linear)).astype(np.uint8)), must="soft")


def covered(rows: int, columns: int, striped: bool) -> Callable[[Seen], Bent]:
    """Lay cloth over some squares of the card, drawn by the seed."""

    def bend(seen: Seen) -> Bent:
        pitch = seen.card.card.pitch_in
        down, across = seen.rng.integers(5 - rows), seen.rng.integers(7 - columns)
        low = (np.array([across, down]) - [3, 2] + 0.02) * pitch
        high = low + (np.array([columns, rows]) - 0.04) * pitch
        corners = np.array([low, (high[0], low[1]), high, (low[0], high[1])])
        place = project(seen.card.image_from_card, corners)
        mask = cv2.fillPoly(
            np.zeros(seen.pixels.shape[:2], np.uint8), [np.rint(place).astype(int)], 1
        )
        inks = seen.rng.integers(30, 225, (2, 3))
        x, y = seen.xy
        stripe = ((x + y) / max(4.0, seen.pitch_px / 5)).astype(int) % 2 if striped else 0 * x
        cloth = inks[stripe.astype(int)] + seen.rng.normal(0, 5, x.shape)[..., None]
        laid = np.where(mask[..., None] == 1, np.clip(cloth, 0, 255), seen.pixels)
        few = rows * columns <= 2  # two squares may be forgiven
        return Bent(
            coded(laid.astype(np.uint8)),
            must="either" if few else "never",
            causes=("card covered",),
        )

    return bend


def glare(size_pitch: float) -> Callable[[Seen], Bent]:
    """A lamp mirrored in the card: light of no colour added over a soft spot."""

    def bend(seen: Seen) -> Bent:
        x, y = seen.xy
        middle = seen.centres_px[seen.rng.integers(6, 18)]
        away = ((x - middle[0]) ** 2 + (y - middle[1]) ** 2) / (
            2 * (size_pitch * seen.pitch_px) ** 2
        )
        linear = linear_of_srgb(seen.pixels / 255) + 1.5 * np.exp(-away)[..., None]
        spot = np.rint(255 * srgb_of_linear(np.clip(linear, 0, 1))).astype(np.uint8)
        return Bent(coded(spot), must="either", causes=("glare", "overexposed"))

    return bend


def blurred(share: float, must: str) -> Callable[[Seen], Bent]:
    """Out of focus by a share of the squares' distance."""

    def bend(seen: Seen) -> Bent:
        soft = cv2.GaussianBlur(seen.pixels, (0, 0), max(0.5, share * seen.pitch_px))
        causes = ("blurred", "no card") if must == "never" else ()
        return Bent(coded(np.asarray(soft)), must=must, causes=causes)

    return bend


def beside_itself(share: float) -> Callable[[Seen], Bent]:
    """The photo, and beside it a left part of it: two charts, or one and a cut one."""

    def bend(seen: Seen) -> Bent:
        width = seen.pixels.shape[1]
        right = width if share == 1 else int(np.quantile(seen.centres_px[:, 0], share))
        return Bent(coded(np.hstack([seen.pixels, seen.pixels[:, :right]])), moved=None)

    return bend


def mirrored(seen: Seen) -> Bent:
    """A picture taken by a camera that mirrors."""
    return Bent(coded(seen.pixels[:, ::-1]), None, "never", ("another card",))


def without_colour(seen: Seen) -> Bent:
    """Black and white."""
    grey = cv2.cvtColor(seen.pixels, cv2.COLOR_RGB2GRAY)
    return Bent(coded(np.repeat(grey[..., None], 3, 2)), None, "never", ("card colours", "no card"))


def negative(seen: Seen) -> Bent:
    """Turned round."""
    causes = ("card colours", "no card", "another card")
    return Bent(coded(255 - seen.pixels), None, "never", causes)


def sixteen_bits(seen: Seen) -> Bent:
    """As a PNG of 16 bits."""
    deep = cv2.cvtColor(seen.pixels, cv2.COLOR_RGB2BGR).astype(np.uint16) * 257
    return Bent(cv2.imencode(".png", deep)[1].tobytes())


BENDS: Mapping[str, Callable[[Seen], Bent]] = {
    "as it is": lambda seen: Bent(coded(seen.pixels)),
    "turned 90": turned(90),
    "turned 180": turned(180),
    "turned 270": turned(270),
    "turned 7": turned(7),
    "turned -38": turned(-38),
    "seen from aside": tilted(0.25, 0.0),
    "seen from below": tilted(0.0, 0.25),
    "half the size": sized(0.5),
    "a quarter of the size": sized(0.25),
    "JPEG 60": lambda seen: Bent(coded(seen.pixels, 60)),
    "JPEG 30": lambda seen: Bent(coded(seen.pixels, 30)),
    "PNG of 16 bits": sixteen_bits,
    "card alone": around(0.03),
    "card and its size about it": around(1.0),
    "a stop less light": in_light(0.5),
    "1.5 stops less, noise": darker_noisy,
    "a third of a stop more": in_light(1.26),
    "a stop more": in_light(2.0),
    "warm light": in_light(1.0, 0.8, 0.5),
    "cool light": in_light(0.65, 0.8, 1.0),
    "greenish light": in_light(0.8, 1.0, 0.75),
    "light falls off by 40 %": falling,
    "soft shadow over a third": half_shaded,
    "a phone, mild": phoned("mild"),
    "a phone, strong": phoned("strong"),
    "slightly soft": blurred(0.04, "as before"),
    "out of focus": blurred(0.45, "never"),
    "twice beside itself": beside_itself(1),
    "a cut one beside it": beside_itself(0.5),
    "cut through at the left": cut_through(0, True),
    "cut through at the right": cut_through(0, False),
    "cut through at the top": cut_through(1, True),
    "cut in half": cut_through(1, False, half=True),
    "plain cloth over 4 squares": covered(2, 2, False),
    "plain cloth over 6 squares": covered(2, 3, False),
    "striped cloth over 4 squares": covered(2, 2, True),
    "striped cloth over a row": covered(1, 6, True),
    "a lamp in one square": glare(0.35),
    "a lamp in several squares": glare(1.0),
    "mirrored": mirrored,
    "black and white": without_colour,
    "negative": negative,
}


@dataclass(frozen=True)
class Verdict:
    """What became of a bent photo: ``fault`` is empty where it was right."""

    said: str
    fault: str
    things: int | None = None


def judged(bent: Bent, right: Mapping[str, object], seen: Seen, full: bool) -> Verdict:
    """Look at a bent photo and judge the answer."""
    owed = right["accept"] is True and bent.must == "as before"
    allowed = (*bent.causes, *_strings(right["causes"]))
    if bent.must == "soft":  # uneven light may be refused where it spoils what lies there
        allowed = (*allowed, "uneven light")
    try:
        photo = read_photo(bent.coded, name="bent")
        mark = (_middle_of(photo.pixels),) if not full else ()
        measured = measure_photo(photo, [CARD], options=MeasureOptions(corners_px=mark))
    except PhotoError as problem:
        if problem.cause in allowed:
            return Verdict(problem.cause, "")
        return Verdict(problem.cause, "refused" if owed else "untrue reason")
    if bent.must == "never":
        return Verdict("measured", "measured, must not be")
    things = len(measured.scraps) if full else None
    if bent.moved is not None:
        want = project(bent.moved, seen.centres_px)
        place = measured.plane.to_pixels(CARD.patch_centres_in)
        pitch = float(np.hypot(*(want[1] - want[0])))
        if np.linalg.norm(place - want, axis=1).max() > NEAR_PITCH * pitch:
            return Verdict("measured", "card misplaced", things)
    return Verdict("measured", "", things)


def _middle_of(pixels: Pixels) -> Ring:
    """Mark a small square in the photo's middle by hand, so that nothing is looked for."""
    height, width = pixels.shape[:2]
    side = min(height, width) / 20
    return tuple(
        (width / 2 + across * side, height / 2 + down * side)
        for across, down in ((0, 0), (1, 0), (1, 1), (0, 1))
    )


def _strings(value: object) -> tuple[str, ...]:
    return tuple(str(item) for item in value) if isinstance(value, list) else ()


def photos(half: str, count: int, seed: int) -> Iterator[tuple[str, Mapping[str, object], Path]]:
    """Draw photos of a half that show a chart which may be measured."""
    folder = shared("data")
    answers = json.loads((folder / "real_photos" / "MANIFEST.json").read_text())
    parity = {"looked": 0, "kept": 1}[half]
    names = [
        name for name, right in sorted(answers.items())
        if right["accept"] is not False
        and int(hashlib.sha256(Path(name).name.encode()).hexdigest(), 16) % 2 == parity
    ]  # fmt: skip
    drawn = np.random.default_rng(seed).permutation(len(names))[:count]
    for index in sorted(drawn):
        yield names[index], answers[names[index]], folder / names[index]


def opened(path: Path, seed: int) -> Seen:
    """Read a photo, at most 1300 pixels long, and find its card."""
    with Image.open(path) as image:
        image.thumbnail((LARGEST_PX, LARGEST_PX), Image.Resampling.BOX)
        pixels = np.ascontiguousarray(np.asarray(image.convert("RGB")))
    return Seen(
        pixels, find_cards(pixels, [CARD])[0], np.random.default_rng([seed, len(path.name)])
    )


def main() -> None:
    """Bend, look, judge, count."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("half", choices=("looked", "kept"))
    parser.add_argument("--photos", type=int, default=10)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--full", action="store_true")
    parser.add_argument("--bends", nargs="*", default=list(BENDS))
    asked = parser.parse_args()
    tried: Counter[str] = Counter()
    faults: dict[str, list[str]] = {name: [] for name in asked.bends}
    for name, right, path in photos(asked.half, asked.photos, asked.seed):
        seen = opened(path, asked.seed)
        for bend in asked.bends:
            verdict = judged(BENDS[bend](seen), right, seen, asked.full)
            tried[bend] += 1
            if verdict.fault:
                faults[bend].append(f"{Path(name).stem}: {verdict.fault} ({verdict.said})")
                print(f"{bend}: {faults[bend][-1]}", flush=True)
    print("\n| bend | right | else |\n|---|---|---|")
    for bend in asked.bends:
        wrong = faults[bend]
        print(f"| {bend} | {tried[bend] - len(wrong)} of {tried[bend]} | {'; '.join(wrong)} |")
    wrong_in_all = sum(len(one) for one in faults.values())
    print(f"| all | {sum(tried.values()) - wrong_in_all} of {sum(tried.values())} | |")


if __name__ == "__main__":
    main()
