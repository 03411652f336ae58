"""A real browser for tests: the system's Chromium, at phone size."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager

import pytest

FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
PHONE = {"width": 390, "height": 844}
DESK = {"width": 1280, "height": 900}


def chromium() -> str:
    """Give the path of the browser, or skip the test."""
    path = shutil.which("chromium") or shutil.which("chromium-browser")
    if path is None:
        pytest.skip("Chromium is not installed (Debian package chromium)")
    return path


@contextmanager
def browser() -> Iterator:
    """Run Chromium."""
    api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    path = chromium()
    with api.sync_playwright() as tool:
        opened = tool.chromium.launch(executable_path=path, args=FLAGS)
        try:
            yield opened
        finally:
            opened.close()


def watched(context, complaints: list[str]):
    """Open a tab whose errors are collected; blocked scripts and styles are told there too."""
    tab = context.new_page()
    tab.set_default_timeout(60_000)
    tab.on("pageerror", lambda error: complaints.append(str(error)))
    tab.on(
        "console",
        lambda said: (
            complaints.append(f"{said.text} {said.location['url']}")
            if said.type in ("error", "warning")
            else None
        ),
    )
    return tab
