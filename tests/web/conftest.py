"""One running page for the tests that only ask."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from stash.usecases.photos.manage_cards import add_chart
from stash.wiring import open_store
from tests.web.little_stash import fill_stash
from tests.web.serving import Served, serving


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A page on a stash of twelve invented scraps and a card, shared by the tests of a module."""
    home: Path = tmp_path_factory.mktemp("stash")
    store = open_store(home)
    fill_stash(store, 12)
    add_chart(store, "practice chart", 0.55)
    with serving(home) as served:
        yield served
