"""The Tidewater charm quilt: the invented stash of the demo, as scenes to photograph.

A sewing circle by an estuary sews a lap quilt of tumblers for the lighthouse museum's winter
raffle: deep blues, teals, sand, a touch of coral; nothing pink, nothing purple.
"""

from __future__ import annotations

from dataclasses import dataclass

from stash.demo.laying import Leftover
from stash.demo.scene import SceneSpec

__all__ = ["PALETTE_NAME", "PALETTE_WORDS", "PIECE", "PIECE_SIZE", "DemoPhoto", "demo_photos"]

PALETTE_NAME = "tidewater"
PALETTE_WORDS = "blues and teals mostly, sand, a touch of coral; no pinks, no purples"
PIECE = "tumbler"
PIECE_SIZE = "3 1/2"

_SIZE_PX = (2080, 1560)
_PITCH_IN = 0.95  # a chart about as large as a hand: its far corners measure the table better


@dataclass(frozen=True, slots=True)
class DemoPhoto:
    """One photo of the invented stash: its file name, the bin, what is on it and its seed."""

    name: str
    place: str
    spec: SceneSpec
    seed: int


def demo_photos() -> tuple[DemoPhoto, ...]:
    """Give the photos of the Tidewater stash, the same every time."""
    return (
        DemoPhoto("blue-tin.jpg", "blue tin", _blues(), 11),
        DemoPhoto("teal-drawer.jpg", "teal drawer", _teals(), 12),
        DemoPhoto("sand-basket.jpg", "sand basket", _sands(), 13),
        DemoPhoto("odd-box.jpg", "odd box", _strangers(), 14),
        DemoPhoto("window-sill.jpg", "window sill", _others(), 15),
    )


def _blues() -> SceneSpec:
    return _scene(
        Leftover("deep water", "square", 6.0),
        Leftover("night watch", "chopped", 6.5),
        Leftover("storm cloud", "ell", 7.0),
        Leftover("pilot stripe", "rectangle", 6.0),
        Leftover("ferry stripe", "crumb", 6.0),
        Leftover("boathouse gingham", "bite", 6.5),
        Leftover("forget-me-buoy", "strip", 8.0, frayed=True),
        Leftover("harbour chambray", "crumb", 3.6),
        backing="white flannel",
        light="daylight",
    )


def _teals() -> SceneSpec:
    return _scene(
        Leftover("slack tide", "chopped", 6.0),
        Leftover("channel teal", "triangle", 7.0),
        Leftover("eelgrass", "square", 5.5),
        Leftover("keeper plaid", "rectangle", 7.0),
        Leftover("bay window check", "crumb", 6.0, creased=True),
        Leftover("sea lettuce", "ell", 6.5),
        Leftover("pale shoal", "square", 5.0),
        Leftover("deep water", "crumb", 4.5),
        backing="grey flannel",
        light="shade",
    )


def _sands() -> SceneSpec:
    return _scene(
        Leftover("dry sand", "rectangle", 6.5),
        Leftover("driftwood", "crumb", 6.0),
        Leftover("dune grass", "chopped", 6.0),
        Leftover("oatmeal check", "square", 5.0),
        Leftover("foam", "square", 5.5),
        Leftover("salt on salt", "bite", 6.0),
        Leftover("coral", "crumb", 5.5),
        Leftover("coral sprig", "rectangle", 6.0),
        Leftover("lifeboat check", "triangle", 6.0),
        backing="dark board",
        light="daylight",
    )


def _strangers() -> SceneSpec:
    return _scene(
        Leftover("raspberry ice", "square", 6.0),
        Leftover("sugared rose", "rectangle", 6.5),
        Leftover("plum stripe", "chopped", 6.0),
        Leftover("violet fog", "crumb", 6.0),
        Leftover("limeade", "triangle", 7.0),
        Leftover("marigold plaid", "bite", 6.5),
        Leftover("brick", "strip", 7.0),
        backing="grey flannel",
        light="evening lamp",
    )


def _others() -> SceneSpec:
    return _scene(
        Leftover("slate flannel", "square", 5.5),
        Leftover("coal", "crumb", 5.0),
        Leftover("moss", "rectangle", 6.0),
        Leftover("pepper shirting", "strip", 8.0),
        Leftover("ink spots", "chopped", 5.5),
        Leftover("shell shirting", "crumb", 5.5),
        Leftover("mooring ticking", "square", 5.0),
        Leftover("pilot stripe", "crumb", 3.4),
        backing="wood table",
        light="daylight",
    )


def _scene(*leftovers: Leftover, backing: str, light: str) -> SceneSpec:
    return SceneSpec(
        leftovers,
        backing=backing,
        light=light,
        size_px=_SIZE_PX,
        board_in=(21.0, 15.0),
        pitch_in=_PITCH_IN,
    )
