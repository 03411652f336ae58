"""Short cautions for blades, irons, pins and dyes, printed where they are needed."""

from __future__ import annotations

from types import MappingProxyType
from typing import Literal

__all__ = ["TOOLS_FIRST", "Task", "cautions_for"]

Task = Literal["cut", "narrow", "press", "sew", "wash"]

TOOLS_FIRST = "The instructions that came with your tools come first."

_CAUTIONS = MappingProxyType(
    {
        "cut": (
            "Rotary cutter: push it away from you, fingers behind the ruler's edge, guard shut "
            f"after every cut. {TOOLS_FIRST}",
            "Change a dull blade and wrap the old one. No pins on the mat; stop when you are "
            "tired; keep blades from children.",
        ),
        "narrow": (
            "A strip this narrow slips from under a ruler: hold the ruler flat with a wide one "
            "beside it, fingers away from the blade's edge, or cut round the template.",
        ),
        "press": (
            f"Iron and steam burn: hands and face clear, stand it on its heel, unplug it when "
            f"you leave. {TOOLS_FIRST}",
        ),
        "sew": (
            "Pins out before the needle reaches them, never between the lips; count them back "
            "into the cushion.",
        ),
        "wash": (
            "Reds, deep blues, blacks and old cloth may bleed: wet a snip, press it on white "
            "cloth, and leave out what stains.",
        ),
    }
)


def cautions_for(task: Task) -> tuple[str, ...]:
    """Give the cautions a sheet prints where it tells someone to cut, press, sew or wash.

    Examples
    --------
    >>> cautions_for("sew")[0].split(":")[0][:4]
    'Pins'
    """
    return _CAUTIONS[task]
