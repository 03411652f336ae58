"""Bad photos, and the reason each is refused with: one line per fault.

usage: python -m tests.benchmarks.refusal_reasons [--scenes N] [--first SEED]

Scenes come from stash.demo.scene (backing, light, tilt and scraps drawn by the seed) and are spoilt
in one way each. Of a photo that is measured in spite of its fault the line says how well: scraps
found, median colour error, outlines held.
"""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import cv2
import numpy as np

from stash.colour.difference import colour_difference
from stash.demo.backing import BACKINGS
from stash.demo.light import LIGHTS
from stash.demo.scene import RenderedScene, SceneSpec, render_scene
from stash.errors import (
    BlurredPhotoError,
    CardCoveredError,
    CardNotFoundError,
    CardReversedError,
    OverexposedError,
    PhotoError,
    UnderexposedError,
    UnevenLightError,
)
from stash.photo.cards.card import chart24
from stash.photo.cards.patch_edges import project
from stash.photo.files.reading import Photo, read_photo
from stash.photo.measuring import measure_photo
from tests.benchmarks.scraps_by_kind import some
from tests.photo.scoring import match_scraps

PITCH_IN = 0.55
HALF_IN = np.array([3.25, 2.25]) * PITCH_IN


@dataclass(frozen=True)
class Fault:
    """How a scene is spoilt, and the reasons a quilter would give."""

    spoilt: Callable[[SceneSpec, int, np.random.Generator], RenderedScene]
    reasons: tuple[type[PhotoError], ...]


def spec_of(rng: np.random.Generator) -> SceneSpec:
    """Draw a scene."""
    return SceneSpec(
        some(rng, 5),
        str(rng.choice(sorted(BACKINGS))),
        str(rng.choice(sorted(LIGHTS))),
        tilt_deg=float(rng.uniform(0, 14)),
    )


def of_spec(**changes: float) -> Callable[[SceneSpec, int, np.random.Generator], RenderedScene]:
    """Photograph the same scene otherwise."""
    return lambda spec, seed, _: render_scene(replace(spec, **changes), seed=seed)


def of_pixels(
    change: Callable[[np.ndarray, RenderedScene, np.random.Generator], np.ndarray],
) -> Callable[[SceneSpec, int, np.random.Generator], RenderedScene]:
    """Change the photo itself."""

    def spoil(spec: SceneSpec, seed: int, rng: np.random.Generator) -> RenderedScene:
        scene = render_scene(spec, seed=seed)
        pixels = np.ascontiguousarray(change(scene.pixels_srgb, scene, rng))
        return replace(scene, pixels_srgb=pixels)

    return spoil


def hidden(share: float) -> Callable[[np.ndarray, RenderedScene, np.random.Generator], np.ndarray]:
    """Lay cloth of one colour over a share of the card, from one of its sides."""

    def lay(pixels: np.ndarray, scene: RenderedScene, rng: np.random.Generator) -> np.ndarray:
        low, high = -1.1 * HALF_IN, 1.1 * HALF_IN
        axis, from_low = int(rng.integers(2)), bool(rng.integers(2))
        edge = (2 * share - 1) * HALF_IN[axis]
        if from_low:
            high[axis] = edge
        else:
            low[axis] = -edge
        corners = [low, (high[0], low[1]), high, (low[0], high[1])]
        place = project(scene.truth.image_from_card, np.array(corners))
        cloth = rng.integers(40, 220, 3)
        grain = rng.normal(0, 5, pixels.shape[:2])[..., None]
        mask = cv2.fillPoly(np.zeros(pixels.shape[:2], np.uint8), [np.rint(place).astype(int)], 1)
        laid = np.clip(cloth + grain, 0, 255).astype(np.uint8)
        return np.where(mask[..., None] == 1, laid, pixels)

    return lay


def cut_off(pixels: np.ndarray, scene: RenderedScene, rng: np.random.Generator) -> np.ndarray:
    """Crop the photo through the middle of the card."""
    x, y = project(scene.truth.image_from_card, rng.uniform(-0.4, 0.4, (1, 2)) * HALF_IN)[0]
    height, width = pixels.shape[:2]
    cuts = {x: np.s_[:, int(x) :], width - x: np.s_[:, : int(x)],
            y: np.s_[int(y) :], height - y: np.s_[: int(y)]}  # fmt: skip
    return pixels[cuts[min(cuts)]]


def blurred(sigma_in: float) -> Callable[..., np.ndarray]:
    """Put the photo out of focus."""

    def blur(pixels: np.ndarray, scene: RenderedScene, _: np.random.Generator) -> np.ndarray:
        ends = project(scene.truth.image_from_card, np.array([[0.0, 0.0], [1.0, 0.0]]))
        return cv2.GaussianBlur(pixels, (0, 0), sigma_in * float(np.hypot(*(ends[1] - ends[0]))))

    return blur


def shaken(pixels: np.ndarray, scene: RenderedScene, rng: np.random.Generator) -> np.ndarray:
    """Move the phone by an eighth of an inch while the photo was taken."""
    ends = project(scene.truth.image_from_card, np.array([[0.0, 0.0], [1.0, 0.0]]))
    length = round(0.125 * float(np.hypot(*(ends[1] - ends[0]))))
    path = np.zeros((2 * length + 1, 2 * length + 1), np.float32)
    turn = rng.uniform(0, np.pi)
    reach = np.array([np.cos(turn), np.sin(turn)]) * length / 2
    start, end = (tuple(int(v) for v in np.rint(length + s * reach)) for s in (-1, 1))
    cv2.line(path, start, end, 1.0)
    return cv2.filter2D(pixels, -1, path / path.sum())


COVERED = (CardCoveredError,)
FAULTS: Mapping[str, Fault] = {
    "none": Fault(of_spec(), ()),
    "no card": Fault(of_pixels(hidden(1.05)), (CardNotFoundError,)),
    "card hidden to a quarter": Fault(of_pixels(hidden(0.25)), COVERED),
    "card half hidden": Fault(of_pixels(hidden(0.5)), COVERED),
    "card hidden to two thirds": Fault(of_pixels(hidden(0.67)), COVERED),
    "card cut off by the border": Fault(of_pixels(cut_off), COVERED),
    "mirrored": Fault(of_pixels(lambda pixels, *_: pixels[:, ::-1]), (CardReversedError,)),
    "1.5 stops too much light": Fault(of_spec(exposure=0.85 * 2**1.5), (OverexposedError,)),
    "2.5 stops too much light": Fault(of_spec(exposure=0.85 * 2**2.5), (OverexposedError,)),
    "4 stops too little light": Fault(of_spec(exposure=0.85 / 2**4), (UnderexposedError,)),
    "6 stops too little light": Fault(of_spec(exposure=0.85 / 2**6), (UnderexposedError,)),
    "out of focus by 0.05 in": Fault(of_pixels(blurred(0.05)), (BlurredPhotoError,)),
    "out of focus by 0.15 in": Fault(of_pixels(blurred(0.15)), (BlurredPhotoError,)),
    "shaken by 1/8 in": Fault(of_pixels(shaken), (BlurredPhotoError,)),
    "light falls off by 85 %": Fault(of_spec(unevenness=0.85), (UnevenLightError,)),
}


def outcome(scene: RenderedScene, fault: Fault) -> str:
    """Say what became of a photo."""
    photo: Photo = read_photo(scene.jpeg(), name="scene")
    try:
        measured = measure_photo(photo, [chart24("chart", PITCH_IN)])
    except PhotoError as problem:
        right = isinstance(problem, fault.reasons) if fault.reasons else False
        # A covered card is a card not found too: the exact reason is asked for.
        if right and fault.reasons == (CardNotFoundError,):
            right = type(problem) is CardNotFoundError
        return "right reason" if right else f"as {type(problem).__name__}"
    matches, _ = match_scraps(scene.truth, [scrap.outline for scrap in measured.scraps])
    found = [match for match in matches if match.index is not None]
    colours = [
        colour_difference(measured.scraps[one.index].appearance.reads_as, [one.truth.reads_as])[0]
        for one in found
    ]
    colour = float(np.median(colours)) if colours else float("nan")
    held = np.mean([one.edge_in <= one.stated_in for one in found]) if found else float("nan")
    said = ", warned" if measured.warnings else ""
    return f"measured{said} ({len(found)}/{len(matches)}, dE {colour:.1f}, held {held:.0%})"


def main() -> None:
    """Render, spoil, count."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--scenes", type=int, default=20)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("faults", nargs="*", default=list(FAULTS))
    asked = parser.parse_args()
    print("| fault | refused with its reason | else |\n|---|---|---|")
    for name in asked.faults:
        counts: Counter[str] = Counter()
        for seed in range(asked.first, asked.first + asked.scenes):
            rng = np.random.default_rng([seed, 77])
            scene = FAULTS[name].spoilt(spec_of(rng), seed, rng)
            counts[outcome(scene, FAULTS[name])] += 1
        right = counts.pop("right reason", 0)
        rest = "; ".join(f"{count} {what}" for what, count in sorted(counts.items()))
        print(f"| {name} | {right} of {asked.scenes} | {rest} |", flush=True)


if __name__ == "__main__":
    main()
