"""How true colours come out, by light and exposure: lights and reflectances measured, held out.

Run ``python -m tests.benchmarks.calibration_figures``. Sources, all shipped in colour-science: the
sensitivities of two cameras measured at NPL, CIE illuminants, averaged 24-patch chart spectra, and
the 99 reflectances of CIE 224:2017, none of which is on the chart. A third camera is made of
Gaussian filters and stands for no real one.
"""

from __future__ import annotations

import warnings
from dataclasses import dataclass

import numpy as np

from stash.colour.difference import paired_difference
from stash.colour.spaces import lab_of_linear, linear_of_srgb, srgb_of_linear
from stash.errors import PhotoError
from stash.photo.cards.card import FoundCard, chart24
from stash.photo.cards.quality import check_light
from stash.photo.light.calibration import Calibration, calibrate

_LIGHTS = ("D65", "D50", "A", "FL2", "FL11", "LED-B1", "LED-B3", "LED-V1")
_BAYER, _LAYERED, _GAUSSIAN = "mosaic sensor", "layered sensor", "Gaussian filters (made up)"
_MEASURED = {_BAYER: "Nikon 5100 (NPL)", _LAYERED: "Sigma SDMerill (NPL)"}
_PEAKS_NM, _WIDTHS_NM = (600.0, 540.0, 460.0), (38.0, 40.0, 28.0)
_SEEDS = range(3)
_NOISE = 0.002  # of encoded values, after the median over a patch or a scrap
_WHITE = 0.9  # light of the white square in a photo exposed as it should be
_EXPOSURES_EV = (-2.5, -1.5, -0.5, 0.0, 0.15, 0.3, 0.5, 1.0)
_TOP = 251 / 255  # where a patch counts as burnt out


@dataclass(frozen=True)
class Spectra:
    """What is measured: reflectances, lights, sensitivities; and the true colours of the cloth."""

    patches: np.ndarray
    cloth: np.ndarray
    lights: dict[str, np.ndarray]
    cameras: dict[str, np.ndarray]
    true_lab: np.ndarray


def spectra() -> Spectra:
    """Gather everything from 400 to 700 nm in steps of 5."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour
        from colour.quality.cfi2017 import load_TCS_CIE2017
    waves = colour.SpectralShape(400, 700, 5)
    cmfs = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"].copy().align(waves).values
    cameras = {}
    for name, key in _MEASURED.items():
        cameras[name] = colour.MSDS_CAMERA_SENSITIVITIES[key].copy().align(waves).values
    off = (waves.wavelengths[:, None] - np.array(_PEAKS_NM)) / np.array(_WIDTHS_NM)
    cameras[_GAUSSIAN] = np.exp(-(off**2) / 2)
    chart = colour.SDS_COLOURCHECKERS["BabelColor Average"].values()
    patches = np.array([patch.copy().align(waves).values for patch in chart])
    whole = colour.SpectralShape(380, 780, 5)
    cloth = load_TCS_CIE2017(whole).values[np.isin(whole.wavelengths, waves.wavelengths)].T
    lights = {n: colour.SDS_ILLUMINANTS[n].copy().align(waves).values for n in _LIGHTS}
    seen = cmfs * lights["D65"][:, None]
    to_rgb = colour.RGB_COLOURSPACES["sRGB"].matrix_XYZ_to_RGB
    true = lab_of_linear(cloth @ seen / seen.sum(axis=0)[1] @ to_rgb.T)
    return Spectra(patches, cloth, lights, cameras, true)


def photographed(
    given: Spectra, camera: str, light: str, *, seed: int, ev: float = 0.0
) -> tuple[FoundCard, np.ndarray]:
    """Photograph chart and cloth: the card as found, the cloth's encoded colours (n, 3)."""
    rng = np.random.default_rng(seed)
    response = given.cameras[camera] * given.lights[light][:, None]
    balance = 2.0**ev * _WHITE / (given.patches[18] @ response)
    balance = balance * rng.uniform(0.93, 1.0, 3)  # never perfect
    chart, cloth = (
        _encoded(part @ response * balance, rng) for part in (given.patches, given.cloth)
    )
    clipped = (chart >= _TOP).any(axis=1)
    found = FoundCard(
        chart24("made", 0.55), np.eye(3), np.zeros((4, 2)), chart, ~clipped, np.zeros(24), clipped
    )
    return found, cloth


def _encoded(linear, rng) -> np.ndarray:
    """Write as a phone does: its own tone curve, noise, 8 bits."""
    bent = np.clip(linear, 0, 1) ** 0.9
    noisy = srgb_of_linear(bent) + rng.normal(0, _NOISE, linear.shape)
    return np.rint(255 * np.clip(noisy, 0, 1)) / 255


def main() -> None:
    """Print the tables: by light and camera, one scrap in two lights, by exposure."""
    given = spectra()
    for camera in given.cameras:
        by_light(given, camera)
    by_exposure(given, _BAYER)


def by_light(given: Spectra, camera: str) -> None:
    """Print a row of figures for each light, all lights, and the same scrap in two of them."""
    print(f"\n{camera}\n")
    print("| light | calibrated | white balance only | stated on the card | refused |")
    print("|---|---|---|---|---|")
    everything, first, sure = [], [], []
    for light in given.lights:
        ours, plain, stated = [], [], []
        for seed in _SEEDS:
            found, seen = photographed(given, camera, light, seed=seed)
            plain.append(paired_difference(given.true_lab, _white_balanced(found, seen)))
            calibration = _calibrated(found)
            if calibration is None:
                continue
            labs = calibration.lab_of(seen)
            ours.append(paired_difference(given.true_lab, labs))
            sure += [calibration.sure_to(lab, np.zeros(2)) for lab in labs]
            stated.append(calibration.error_de00)
            first += [labs] if len(stated) == 1 else []
        everything += ours
        mean = f"{np.mean(stated):.2f}" if stated else "-"
        figures = f"{_row(ours)} | {_row(plain)} | {mean}"
        print(f"| {light} | {figures} | {len(_SEEDS) - len(ours)} of {len(_SEEDS)} |")
    pairs = [
        paired_difference(first[one], first[other])
        for one in range(len(first))
        for other in range(one + 1, len(first))
    ]
    print(f"| all | {_row(everything)} | | | |")
    held = 100 * np.mean(np.concatenate(everything) <= np.array(sure))
    print(f"\nSure to: {held:.1f} % held, stated {np.median(sure):.1f} (median)")
    print(f"\nThe same scrap under two of these lights: {_row(pairs)}")


def by_exposure(given: Spectra, camera: str) -> None:
    """Print how the error grows with exposure, over all lights, or that the photo is refused."""
    print(f"\n{camera}, all lights\n\n| exposure | squares burnt out | refused | calibrated |")
    print("|---|---|---|---|")
    for ev in _EXPOSURES_EV:
        off, burnt, refused = [], [], 0
        for light in given.lights:
            found, seen = photographed(given, camera, light, seed=1, ev=ev)
            burnt.append(int(found.clipped.sum()))
            calibration = _calibrated(found)
            refused += calibration is None
            if calibration is not None:
                kept = (seen < _TOP).all(axis=1)  # what is burnt out itself has no colour to find
                off.append(paired_difference(given.true_lab[kept], calibration.lab_of(seen[kept])))
        span = f"{min(burnt)} to {max(burnt)}"
        print(f"| {ev:+.2g} EV | {span} | {refused} of {len(given.lights)} | {_row(off)} |")


def _calibrated(found: FoundCard) -> Calibration | None:
    try:
        check_light(found)
        return calibrate(found)
    except PhotoError:
        return None


def _white_balanced(found: FoundCard, seen) -> np.ndarray:
    grey = linear_of_srgb(found.patch_srgb[20])
    return lab_of_linear(linear_of_srgb(seen) * found.card.patch_linear[20] / grey)


def _row(values) -> str:
    if not values:
        return "-"
    every = np.concatenate(values)
    return f"{np.median(every):.2f} / {np.percentile(every, 95):.2f}"


if __name__ == "__main__":
    main()
