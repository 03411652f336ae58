"""How true colours come out, by light: measured camera, lights and reflectances, held out.

Run ``python -m tests.benchmarks.calibration_figures``. Sources, all shipped in colour-science:
camera sensitivities measured at NPL, CIE illuminants, averaged 24-patch chart spectra, and the
99 reflectances of CIE 224:2017, none of which is on the chart.
"""

from __future__ import annotations

import warnings

import numpy as np

from stash.colour.difference import colour_difference
from stash.colour.spaces import lab_of_linear, srgb_of_linear
from stash.photo.calibration import Calibration, calibrate
from stash.photo.card import FoundCard, chart24

_LIGHTS = ("D65", "D50", "A", "FL2", "FL11", "LED-B1", "LED-B3", "LED-V1")
_SEEDS = range(3)
_NOISE = 0.002  # of encoded values, after the median over a patch or a scrap


def main() -> None:
    """Print a row of figures for each light, then the same scrap under two lights."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour
        from colour.quality.cfi2017 import load_TCS_CIE2017
    waves = colour.SpectralShape(400, 700, 5)
    cmfs = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"].copy().align(waves).values
    camera = colour.MSDS_CAMERA_SENSITIVITIES["Nikon 5100 (NPL)"].copy().align(waves).values
    chart = colour.SDS_COLOURCHECKERS["BabelColor Average"].values()
    patches = np.array([patch.copy().align(waves).values for patch in chart])
    whole = colour.SpectralShape(380, 780, 5)
    cloth = load_TCS_CIE2017(whole).values[np.isin(whole.wavelengths, waves.wavelengths)].T
    lights = {n: colour.SDS_ILLUMINANTS[n].copy().align(waves).values for n in _LIGHTS}
    d65 = colour.SDS_ILLUMINANTS["D65"].copy().align(waves).values
    white = (cmfs * d65[:, None]).sum(axis=0)
    to_rgb = colour.RGB_COLOURSPACES["sRGB"].matrix_XYZ_to_RGB
    true = lab_of_linear(cloth @ (cmfs * d65[:, None]) / white[1] @ to_rgb.T)
    print("| light | calibrated, median / p95 | white balance only | stated on the card |")
    print("|---|---|---|---|")
    read = {}
    for name, light in lights.items():
        ours, plain, stated = [], [], []
        for seed in _SEEDS:
            calibration, seen = _photographed(patches, cloth, camera * light[:, None], seed)
            lab = calibration.lab_of(seen)
            ours += _off(true, lab)
            plain += _off(true, lab_of_linear(_decoded(seen)))
            stated.append(calibration.error_de00)
            read.setdefault(name, lab)
        print(f"| {name} | {_row(ours)} | {_row(plain)} | {np.mean(stated):.2f} |")
    pairs = [
        _off(read[one], read[other])
        for index, one in enumerate(_LIGHTS)
        for other in _LIGHTS[index + 1 :]
    ]
    print(f"\nThe same scrap under two lights: {_row(np.concatenate(pairs))}")


def _photographed(patches, cloth, response, seed: int) -> tuple[Calibration, np.ndarray]:
    rng = np.random.default_rng(seed)
    balance = 0.9 / (patches[18] @ response) * rng.uniform(0.93, 1.0, 3)  # never perfect
    seen = [_encoded(part @ response * balance, rng) for part in (patches, cloth)]
    found = FoundCard(
        chart24("made", 0.55), np.eye(3), np.zeros((4, 2)), seen[0], np.ones(24, bool),
        np.zeros(24), np.zeros(24, bool),
    )  # fmt: skip
    return calibrate(found), seen[1]


def _encoded(linear, rng) -> np.ndarray:
    """Write as a phone does: its own tone curve, noise, 8 bits."""
    bent = np.clip(linear, 0, 1) ** 0.9
    return (
        np.rint(255 * np.clip(srgb_of_linear(bent) + rng.normal(0, _NOISE, linear.shape), 0, 1))
        / 255
    )


def _decoded(seen) -> np.ndarray:
    return ((seen + 0.055) / 1.055) ** 2.4


def _off(true, lab) -> list[float]:
    return [float(colour_difference(t, [m])[0]) for t, m in zip(true, lab, strict=True)]


def _row(values) -> str:
    return f"{np.median(values):.2f} / {np.percentile(values, 95):.2f}"


if __name__ == "__main__":
    main()
