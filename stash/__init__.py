"""Know your fabric scraps by true colour and size, and plan quilts from them."""

from __future__ import annotations

import sys

__all__ = ["__version__"]

__version__ = "0.1.0"


class _BeforeOpenCv:
    """Stands first among Python's finders until OpenCV is asked for, and lends what it misses."""

    def find_spec(self, name: str, *_: object) -> None:
        """Find nothing itself: Python goes on to the next finder."""
        if name == "cv2":
            sys.meta_path.remove(self)
            from stash.window_libraries import lend_missing  # for OpenCV alone

            lend_missing()


if sys.platform == "linux":
    sys.meta_path.insert(0, _BeforeOpenCv())
