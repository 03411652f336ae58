"""Touches and pictures of a page in a real browser, for tests."""

from __future__ import annotations

import io

import numpy as np
from PIL import Image


class Finger:
    """Real touches: what the browser makes of them, cancelling included, is its own affair."""

    def __init__(self, tab) -> None:
        self._line = tab.context.new_cdp_session(tab)

    def at(self, kind: str, *points: tuple[float, float]) -> None:
        """Send one event of one or two fingers."""
        told = [{"x": x, "y": y, "id": number} for number, (x, y) in enumerate(points)]
        self._line.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": told})

    def drag(
        self, start: tuple[float, float], end: tuple[float, float], *, lift: bool = True
    ) -> None:
        """Go from one place of the screen to another in ten steps."""
        self.at("touchStart", start)
        for step in range(1, 11):
            share = step / 10
            x, y = (a + share * (b - a) for a, b in zip(start, end, strict=True))
            self.at("touchMove", (x, y))
        if lift:
            self.at("touchEnd")


def pixels(part) -> np.ndarray:
    """Give what a part of a page looks like, float, shape (height, width, 3)."""
    return np.asarray(Image.open(io.BytesIO(part.screenshot())).convert("RGB"), float)


def covered(before: np.ndarray, after: np.ndarray) -> float:
    """Give the share of a picture that a mark changed."""
    return float((np.abs(after - before).max(axis=2) > 24).mean())


def hidden(tab, drawing: str) -> float:
    """Give the share of a drawing's place on the screen that something else lies over.

    Counted at 30 x 30 points of what is within the window; marks that let fingers through are
    seen by `covered` instead.
    """
    return tab.evaluate(
        """(selector) => {
          const drawing = document.querySelector(selector);
          const box = drawing.getBoundingClientRect();
          let over = 0;
          for (let i = 0; i < 900; i++) {
            const x = box.left + box.width * ((i % 30) + 0.5) / 30;
            const y = box.top + box.height * (Math.floor(i / 30) + 0.5) / 30;
            const top = document.elementFromPoint(x, y);
            if (top && !drawing.contains(top) && !top.contains(drawing)) over++;
          }
          return over / 900;
        }""",
        drawing,
    )
