"""Which pairs are asked about as one cloth: recall, and pairs asked for each real pair.

``python -m tests.benchmarks.cloth_twins`` cuts pieces out of pictures of cloth (``judged_cloth`` of
the shared data), each as another photo would show it: another part, turned, another scale of the
camera, lit and calibrated a little off (median 2, p95 6 CIEDE2000 between two), shaded, blurred,
noisy, twice a JPEG. Look-alikes are added: every second cloth in another colourway, every second at
1.6 times its scale or less than two thirds, solids one shade (5 to 8 Lab units) apart.

Cloths whose name has an even sha256 are for fitting (``--fit FILE`` fits the trees and writes
``stash/colour/imprint/same_cloth.npz``); what is reported is the other half, kept back. Beside it
runs a strong simple baseline: sliced Wasserstein distance of Lab in 48 directions, log energies of
five octaves in L, a, b, and uniform local binary patterns at radii of 2, 5 and 10 pixels, with
weights fitted by logistic regression on the same half, and a limit that asks for the same share of
true pairs there.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import os
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import combinations
from pathlib import Path

import cv2
import numpy as np
from sklearn.linear_model import LogisticRegression

from stash.colour.cloth_sample import ClothSample, cropped
from stash.colour.figuring import figuring_of, kind_of
from stash.colour.imprint.comparing import apart
from stash.colour.imprint.taking import imprint_of
from stash.colour.spaces import lab_of_srgb, linear_of_srgb, srgb_of_linear
from stash.quilt.twin_groups import beside_rivals, groups_of
from tests.benchmarks.fitting_twins import fitted_trees

SHARED = Path(os.environ.get("STASH_SHARED", Path(__file__).resolve().parents[3] / "shared"))
NEARLY = 1.4


@dataclass(frozen=True)
class Cloth:
    """A picture of cloth in linear light, and its scale; recoloured only when it is looked at.

    A thousand recoloured pictures at once would fill the memory.
    """

    picture: np.ndarray
    px_per_in: float
    recolour: Callable[[np.ndarray], np.ndarray] = lambda linear: linear

    @property
    def linear(self) -> np.ndarray:
        return self.recolour(self.picture)


@dataclass(frozen=True)
class Shot:
    """One photographed piece."""

    cloth: str
    pixels: np.ndarray
    mask: np.ndarray
    px_per_in: float


def for_fitting(name: str) -> bool:
    """The written rule: an even checksum of the cloth's name."""
    return int(hashlib.sha256(name.encode()).hexdigest(), 16) % 2 == 0


def real_cloths(*, fitting: bool) -> dict[str, Cloth]:
    """Read one half of the cloths."""
    folder = SHARED / "data" / "judged_cloth"
    known = json.loads((folder / "judged.json").read_text())["pictures"]
    return {
        name: Cloth(_linear(folder / one["file"]), float(one["px_per_in"]))
        for name, one in known.items()
        if for_fitting(name) is fitting
    }


def _linear(path) -> np.ndarray:
    return linear_of_srgb(cv2.imread(str(path))[..., ::-1] / 255.0).astype(np.float32)


def _lab(linear: np.ndarray) -> np.ndarray:
    return cv2.cvtColor(srgb_of_linear(linear.clip(0, 1)).astype(np.float32), cv2.COLOR_RGB2Lab)


def _of_lab(lab: np.ndarray) -> np.ndarray:
    rgb = cv2.cvtColor(lab.astype(np.float32), cv2.COLOR_Lab2RGB)
    return linear_of_srgb(rgb.clip(0, 1)).astype(np.float32)


def colourway(cloth: Cloth, rng: np.random.Generator) -> Cloth:
    """The same design in other colours: hues turned by 50 degrees or more, lightness moved."""
    angle = np.radians(rng.uniform(50, 310))
    tint, lighter = 18 * np.exp(1j * rng.uniform(0, 2 * np.pi)), rng.uniform(-12, 12)

    def recoloured(linear: np.ndarray) -> np.ndarray:
        lab = _lab(linear)
        turned = (lab[..., 1] + 1j * lab[..., 2]) * np.exp(1j * angle)
        if np.hypot(*lab[..., 1:].reshape(-1, 2).mean(axis=0)) < 12:  # grey stays grey when turned
            turned += tint
        light = (lab[..., 0] + lighter).clip(2, 98)
        return _of_lab(np.dstack([light, turned.real, turned.imag]))

    return Cloth(cloth.picture, cloth.px_per_in, recoloured)


def solid(lab: np.ndarray, rng: np.random.Generator) -> Cloth:
    """Plain weave of one colour."""
    noise = [rng.standard_normal((400, 400)).astype(np.float32) for _ in range(2)]
    threads = cv2.blur(noise[0], (1, 7)) + cv2.blur(noise[1], (7, 1))
    plain = np.broadcast_to(lab, (400, 400, 3)).astype(np.float32).copy()
    plain[..., 0] += threads / threads.std() * rng.uniform(0.8, 2.0)
    return Cloth(_of_lab(plain), 100.0)


def with_look_alikes(
    cloths: dict[str, Cloth], rng: np.random.Generator, *, each: int, solids: int
) -> dict[str, Cloth]:
    """Add other colourways and other scales of each cloth in turn, and pairs of solids."""
    found = dict(cloths)
    for name, cloth in cloths.items():
        for one in range(each):
            scale = float(rng.choice([0.62, 1.6])) if one % 2 else 1.0
            # The same colours in another scale once; after that other colours at both scales.
            other = cloth if one == 1 else colourway(cloth, rng)
            word = "scale" if one == 1 else "colourway"
            found[f"{name} {word} {one}"] = replace(other, px_per_in=cloth.px_per_in * scale)
    for one in range(solids):
        hue, chroma = rng.uniform(0, 2 * np.pi), rng.uniform(3, 50)
        lab = np.array([rng.uniform(25, 90), chroma * np.cos(hue), chroma * np.sin(hue)])
        step = rng.normal(size=3)
        found[f"solid {one}"] = solid(lab, rng)
        shade = lab + step / np.linalg.norm(step) * rng.uniform(5, 8)
        found[f"solid {one} shade"] = solid(shade, rng)
    return found


def photograph(name: str, cloth: Cloth, rng: np.random.Generator) -> Shot:
    """Take one piece as another photo shows it."""
    linear = cloth.linear
    height, width = linear.shape[:2]
    tiled = height <= 130
    w_in, h_in = rng.uniform(2.0, 6.0, 2) if tiled else rng.uniform(1.8, 3.2, 2)
    camera = min(rng.uniform(60, 200), 512 / (max(w_in, h_in) + 0.24))
    size = np.array([int(w_in * camera), int(h_in * camera)])
    per = cloth.px_per_in / camera * rng.uniform(0.99, 1.01)
    angle = rng.uniform(0, 2 * np.pi)
    turn = per * np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    reach = np.abs(turn) @ size / 2
    sides = np.array([width, height])
    low, high = np.minimum(reach, sides / 2), np.maximum(sides - reach, sides / 2)
    middle = rng.uniform(0, sides) if tiled else rng.uniform(low, high)
    y, x = np.mgrid[0 : size[1], 0 : size[0]].astype(np.float32)
    x, y = x - size[0] / 2, y - size[1] / 2
    across = (middle[0] + turn[0, 0] * x + turn[0, 1] * y).astype(np.float32)
    down = (middle[1] + turn[1, 0] * x + turn[1, 1] * y).astype(np.float32)
    source = linear
    if per > 1.3:
        source = cv2.GaussianBlur(np.pad(source, ((8, 8), (8, 8), (0, 0)), mode="wrap"), (0, 0), 0.45 * per)[8:-8, 8:-8]  # fmt: skip # noqa: E501
    if tiled:
        across, down = across % width, down % height
        source = np.pad(source, ((0, 2), (0, 2), (0, 0)), mode="wrap")
    seen = cv2.remap(source, across, down, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT_101)
    seen = cv2.GaussianBlur(seen, (0, 0), max(0.2, rng.uniform(0.3, 1.4) * camera / 110))
    level = rng.uniform(0.4, 1.2)
    slope = rng.uniform(-0.03, 0.03, 2) * level * 2 / size
    seen *= (1 + slope[0] * x + slope[1] * y)[..., None]
    mixed = seen @ (np.eye(3) + rng.normal(0, 0.022 * level, (3, 3))).T
    seen = np.exp(rng.normal(0, 0.022 * level)) * mixed.clip(0) ** np.exp(
        rng.normal(0, 0.02 * level)
    )
    light = srgb_of_linear(seen.clip(0, 1)) * 255 + rng.normal(0, rng.uniform(0.5, 2.0), seen.shape)
    pixels = light.round().clip(0, 255).astype(np.uint8)
    for quality in (int(rng.integers(70, 92)), 88):
        _, jpeg = cv2.imencode(".jpg", pixels, [cv2.IMWRITE_JPEG_QUALITY, quality])
        pixels = cv2.imdecode(jpeg, cv2.IMREAD_COLOR)  # channels stay in their places
    return Shot(name, pixels, _shape(size, rng), camera)


def _shape(size: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    corners = int(rng.integers(4, 8))
    angles = rng.uniform(0, 1.5, corners) * 0.25 + np.arange(corners) * 2 * np.pi / corners
    reach = rng.uniform(0.8, 1.0, corners) * 0.52
    ring = np.column_stack([np.cos(angles), np.sin(angles)]) * reach[:, None] * size + size / 2
    mask = np.zeros(size[::-1], np.uint8)
    cv2.fillPoly(mask, [ring.round().astype(np.int32)], 1)
    return mask.astype(bool)


# The baseline

_DIRECTIONS, _SHARES = 48, np.linspace(0.01, 0.99, 33)


def baseline_of(shot: Shot) -> np.ndarray:
    """Give the baseline's numbers: quantiles, energies, patterns, one after the other."""
    scale = 50 / shot.px_per_in
    size = tuple(max(8, round(side * scale)) for side in shot.mask.shape[::-1])
    way = cv2.INTER_AREA if scale < 1 else cv2.INTER_LINEAR
    small = cv2.resize(shot.pixels, size, interpolation=way)
    whole = cv2.resize(shot.mask.astype(np.uint8), size, interpolation=cv2.INTER_NEAREST)
    kernel = np.ones((7, 7), np.uint8)
    on = cv2.erode(whole, kernel, borderType=cv2.BORDER_CONSTANT, borderValue=(0,)) > 0
    lab = cv2.cvtColor(small.astype(np.float32) / 255, cv2.COLOR_RGB2Lab)
    place = np.arange(_DIRECTIONS) + 0.5
    up = 1 - place / _DIRECTIONS
    round_ = place * np.pi * (1 + 5**0.5)
    flat = np.sqrt(1 - up**2)
    ways = np.column_stack([up, flat * np.cos(round_), flat * np.sin(round_)])
    some = lab[on][:: max(1, int(on.sum()) // 4000)]  # of every part; quantiles want no more
    quantiles = np.quantile(some @ ways.T, _SHARES, axis=0).ravel()
    before = np.where(on[..., None], lab, lab[on].mean(axis=0)).astype(np.float32)
    energies = []
    for octave in range(5):
        smooth = cv2.GaussianBlur(before, (0, 0), 2.0**octave)
        energies.append(np.log((before - smooth)[on].std(axis=0) + 0.1))
        before = smooth
    rings = [_patterns(lab[..., 0], on, radius) for radius in (2, 5, 10)]
    return np.concatenate([quantiles, *energies, *rings])


def _patterns(light: np.ndarray, on: np.ndarray, radius: int) -> np.ndarray:
    reach = radius + 1
    if min(light.shape) <= 2 * reach + 4:
        return np.full(10, 0.1)
    middle = light[reach:-reach, reach:-reach]
    lighter = []
    for angle in np.arange(8) * np.pi / 4:
        centre = (np.array(light.shape[::-1]) - 1) / 2 + radius * np.array([np.cos(angle), np.sin(angle)])  # noqa: E501 # fmt: skip
        lighter.append(cv2.getRectSubPix(light, middle.shape[::-1], tuple(centre)) > middle + 0.15)
    codes = np.array(lighter)
    pattern = np.where((codes != np.roll(codes, 1, 0)).sum(0) <= 2, codes.sum(0), 9)
    counted = np.bincount(pattern[on[reach:-reach, reach:-reach]], minlength=10)
    return counted / max(1, counted.sum())


def baseline_parts(one: np.ndarray, others: np.ndarray) -> np.ndarray:
    """Give the three distances of the baseline, each by its square root, shape (n, 3)."""
    apart = np.abs(others - one)
    first, second = _DIRECTIONS * len(_SHARES), _DIRECTIONS * len(_SHARES) + 15
    return np.sqrt(
        np.column_stack([
            apart[:, :first].mean(axis=1),
            np.sqrt((apart[:, first:second] ** 2).mean(axis=1)),
            np.sqrt((apart[:, second:] ** 2).mean(axis=1)),
        ])
    )  # fmt: skip


@dataclass(frozen=True)
class Rule:
    """A way to tell twins: numbers of a shot, and how far apart two are, 1 being the limit."""

    name: str
    numbers: Callable[[Shot], np.ndarray]
    apart: Callable[[np.ndarray, np.ndarray], np.ndarray]


def ours() -> Rule:
    """What the product does."""
    return Rule("imprint", lambda shot: imprint_of(shot.pixels, shot.mask, shot.px_per_in), apart)


def baseline(shots: list[Shot], recall: float) -> Rule:
    """Fit weights by logistic regression, and the limit that asks for this share of true pairs."""
    rows = np.array([baseline_of(shot) for shot in shots])
    names = np.array([shot.cloth for shot in shots])
    far = np.concatenate([baseline_parts(rows[at], rows[at + 1 :]) for at in range(len(rows) - 1)])
    same = np.concatenate([names[at] == names[at + 1 :] for at in range(len(rows) - 1)])
    weights = -LogisticRegression(C=0.3, max_iter=3000).fit(far, same).coef_[0]
    limit = float(np.quantile((far @ weights)[same], recall))
    return Rule(
        "baseline", baseline_of, lambda one, others: baseline_parts(one, others) @ weights / limit
    )


@dataclass(frozen=True)
class Asked:
    """What a rule asks of some shots: pairs and the questions they come in, against the truth."""

    true: set[tuple[int, int]]
    pairs: set[tuple[int, int]]
    questions: int
    nearest: set[tuple[int, int]]

    @property
    def recall(self) -> float:
        return len(self.pairs & self.true) / max(1, len(self.true))

    @property
    def each(self) -> float:
        return len(self.pairs) / max(1, len(self.true))

    def of(self, kinds: list[str], kind: str) -> Asked:
        """Give what concerns pieces of one kind of cloth."""
        here = [
            {pair for pair in pairs if kinds[pair[0]] == kind}
            for pairs in (self.true, self.pairs, self.nearest)
        ]
        return Asked(here[0], here[1], 0, here[2])


def distances(rule: Rule, shots: list[Shot]) -> dict[tuple[int, int], float]:
    """Give how far apart the shots lie by a rule, where that is not out of the question."""
    rows = np.array([rule.numbers(shot) for shot in shots])
    apart: dict[tuple[int, int], float] = {}
    for at in range(len(rows) - 1):
        far = rule.apart(rows[at], rows[at + 1 :])
        for other in np.flatnonzero(far <= 1.6 * NEARLY).tolist():
            apart[at, at + 1 + other] = float(far[other])
    return apart


def at_limit(whole: dict[tuple[int, int], float], limit: float, shots: list[Shot]) -> Asked:
    """Group the shots and count against the truth, as the product asks; 1 is its limit.

    A group on the page is one question; a pair that no group holds is one by itself.
    """
    scaled = {pair: far / limit for pair, far in whole.items() if far / limit <= NEARLY}
    apart = beside_rivals(scaled)
    groups = groups_of(apart)
    grouped = {pair for group in groups for pair in combinations(group, 2)}
    alone = {pair for pair, far in apart.items() if far <= 1} - grouped
    true = {
        (one, other)
        for one, other in combinations(range(len(shots)), 2)
        if shots[one].cloth == shots[other].cloth
    }
    order = sorted(apart, key=lambda pair: apart[pair])
    nearest = true.intersection(order[: round(1.5 * len(true))])
    return Asked(true, grouped | alone, len(groups) + len(alone), nearest)


def asking_for(whole: dict[tuple[int, int], float], pairs: int, shots: list[Shot]) -> Asked:
    """Judge a rule at the limit at which it asks for as many pairs as another does."""
    low, high = 0.3, 1.6
    for _ in range(12):
        middle = (low + high) / 2
        if len(at_limit(whole, middle, shots).pairs) < pairs:
            low = middle
        else:
            high = middle
    return at_limit(whole, high, shots)


def photographs(cloths: dict[str, Cloth], rng: np.random.Generator, *, scraps: int) -> list[Shot]:
    """Photograph every cloth once, and cloths drawn at random again until there are enough."""
    names = sorted(cloths)
    again = rng.choice(names, scraps - len(names)).tolist()
    return [photograph(name, cloths[name], rng) for name in [*names, *again]]


def chosen(cloths: dict[str, Cloth], rng: np.random.Generator, count: int) -> dict[str, Cloth]:
    """Choose so many cloths at random."""
    return {name: cloths[name] for name in rng.choice(sorted(cloths), count, replace=False)}


def worlds(
    kept: dict[str, Cloth], rng: np.random.Generator, *, sets: int, fabrics: int
) -> Iterator[tuple[str, list[Shot]]]:
    """Give sets of 144 scraps of 79 cloths, then one of so many fabrics with a fifth seen again."""
    for number in range(sets):
        cloths = chosen(with_look_alikes(kept, rng, each=2, solids=8), rng, 79)
        yield f"kept back, set {number + 1}", photographs(cloths, rng, scraps=144)
    if fabrics:
        cloths = chosen(with_look_alikes(kept, rng, each=22, solids=fabrics // 12), rng, fabrics)
        shots = photographs(cloths, rng, scraps=fabrics + fabrics // 5)
        yield f"kept back, {fabrics} fabrics", shots


def fitting_shots(seed: int = 11) -> list[Shot]:
    """Three photos of each cloth of the half for fitting, with look-alikes."""
    rng = np.random.default_rng(seed)
    cloths = with_look_alikes(real_cloths(fitting=True), rng, each=2, solids=8)
    return [photograph(name, cloth, rng) for name, cloth in cloths.items() for _ in range(3)]


def fitting_worlds() -> Iterator[tuple[list[str], np.ndarray]]:
    """Give names and imprints of two photos each of many cloths of the half for fitting."""
    for seed, fabrics in ((101, 1000),):
        rng = np.random.default_rng(seed)
        cloths = with_look_alikes(real_cloths(fitting=True), rng, each=22, solids=84)
        names, rows = [], []
        for name, cloth in chosen(cloths, rng, fabrics).items():
            for _ in range(2):
                shot = photograph(name, cloth, rng)
                names.append(name)
                rows.append(imprint_of(shot.pixels, shot.mask, shot.px_per_in))
        yield names, np.array(rows)


def kinds_of(shots: list[Shot]) -> list[str]:
    """Say of each shot what the product calls its cloth: plain, print, stripe ..."""
    kinds = {}
    for shot in shots:
        if shot.cloth not in kinds:
            cloth = cropped(ClothSample(shot.pixels, shot.mask, lab_of_srgb, shot.px_per_in))
            kinds[shot.cloth] = str(kind_of(figuring_of(cloth), 2))
    return [kinds[shot.cloth] for shot in shots]


def main() -> None:
    """Print the tables."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--fit", type=Path, help="fit the trees on the first half, into this .npz")
    ask.add_argument("--sets", type=int, default=3, help="sets of 144 scraps of 79 cloths")
    ask.add_argument("--fabrics", type=int, default=1000, help="0 leaves the large set out")
    ask.add_argument("--alone", action="store_true", help="leave the baseline and its fit out")
    ask.add_argument("--seed", type=int, default=2)
    told = ask.parse_args()
    if told.fit:
        told.fit.write_bytes(fitted_trees(list(fitting_worlds())))
        return
    rules = [ours()] if told.alone else [ours(), baseline(fitting_shots(), 0.975)]
    rng = np.random.default_rng(told.seed)
    print(
        "| pieces | true pairs | rule | asked of them | pairs asked a real pair | questions a real "
        "pair | of the nearest 1.5 a real pair |"
    )
    kept = real_cloths(fitting=False)
    for title, shots in worlds(kept, rng, sets=told.sets, fabrics=told.fabrics):
        kinds = kinds_of(shots)
        whole = [distances(rule, shots) for rule in rules]
        asked = [at_limit(one, 1.0, shots) for one in whole]
        for rule, one in zip(rules, asked, strict=True):
            _say(title, rule.name, one, kinds)
        if len(rules) == 2:  # each once more at the limit at which it asks what the other does
            for rule, one, other in zip(rules, whole, asked[::-1], strict=True):
                same = asking_for(one, len(other.pairs), shots)
                _say(title, f"{rule.name}, as many pairs", same, kinds)


def _say(title: str, rule: str, one: Asked, kinds: list[str]) -> None:
    true = len(one.true)
    print(
        f"| {title} ({len(kinds)}) | {true} | {rule} | {one.recall:.1%} | {one.each:.2f} | "
        f"{one.questions / true:.2f} | {len(one.nearest) / true:.1%} |"
    )
    for kind in sorted(set(kinds)):
        part = one.of(kinds, kind)
        print(
            f"|   {kind} | {len(part.true)} | {rule} | {part.recall:.1%} | {part.each:.2f} "
            f"| | {len(part.nearest) / max(1, len(part.true)):.1%} |",
            flush=True,
        )


if __name__ == "__main__":
    main()
