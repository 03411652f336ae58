"""Errors nobody foresaw: a page in plain words, no inner workings shown."""

from __future__ import annotations

import asyncio

import httpx

from stash.web.app import make_app
from stash.web.door.addresses import Door
from stash.web.door.settings import WebSettings

ADDRESS = "http://127.0.0.1:8765"


class BrokenStore:
    """An empty store that fails, in a way no code expects, when asked for named records."""

    def scraps(self) -> tuple[()]:
        return ()

    def fabrics(self) -> tuple[()]:
        return ()

    def documents(self, kind: str) -> tuple[()]:
        raise RuntimeError(f"secret inner detail of {kind}")


async def ask(accept: str) -> httpx.Response:
    gate = make_app(BrokenStore, Door(WebSettings(8765)))
    pages = gate._app
    way = httpx.ASGITransport(app=gate, raise_app_exceptions=False, client=("127.0.0.1", 50_000))
    async with (
        pages.router.lifespan_context(pages),
        httpx.AsyncClient(transport=way, base_url=ADDRESS) as browser,
    ):
        return await browser.get("/photograph", headers={"Accept": accept})


def test_an_unforeseen_error_shows_words_and_no_inner_workings() -> None:
    page = asyncio.run(ask("text/html"))
    assert page.status_code == 500
    assert "Something went wrong in the page itself" in page.text
    assert "secret" not in page.text and "Traceback" not in page.text
    assert page.headers["content-security-policy"].startswith("default-src 'self'")


def test_a_script_is_told_of_an_unforeseen_error_too() -> None:
    answer = asyncio.run(ask("application/json"))
    assert answer.status_code == 500
    assert "Something went wrong" in answer.json()["problem"]
