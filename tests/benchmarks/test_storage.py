"""How long a stash of ten thousand scraps takes to read, beside the bare rows.

Opt in: ``python -m pytest tests/benchmarks/test_storage.py --benchmark-only``. The peer is the
sqlite3 module fetching the same columns as tuples; what we add to it is making the records.
"""

from __future__ import annotations

import random
import sqlite3
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from stash.storage.sqlite_file import DATABASE
from stash.storage.sqlite_store import FolderStore
from stash.wiring import open_store
from tests.storage.made_records import made_photo, made_scrap

SCRAPS = 10_000


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A stash of ten thousand scraps of forty corners and six colours, in one photo."""
    home = tmp_path_factory.mktemp("many") / "stash"
    rng = random.Random(1)
    few = [replace(made_scrap(rng), picture_jpeg=b"") for _ in range(500)]
    store = open_store(home)
    store.log_photo(replace(made_photo(1), scraps=tuple(few[i % 500] for i in range(SCRAPS))))
    store.database.close()
    return home


@pytest.fixture
def store(home: Path) -> Iterator[FolderStore]:
    store = open_store(home)
    yield store
    store.database.close()


@pytest.mark.benchmark(group="ten thousand scraps")
def test_the_bare_rows(benchmark: BenchmarkFixture, home: Path) -> None:
    raw = sqlite3.connect(home / DATABASE)
    rows = benchmark(lambda: raw.execute("SELECT * FROM scraps ORDER BY number").fetchall())
    raw.close()
    assert len(rows) == SCRAPS


@pytest.mark.benchmark(group="ten thousand scraps")
def test_records_read_for_the_first_time(benchmark: BenchmarkFixture, store: FolderStore) -> None:
    def read() -> int:
        store.forget()
        return len(store.scraps())

    assert benchmark(read) == SCRAPS


@pytest.mark.benchmark(group="ten thousand scraps")
def test_records_read_again(benchmark: BenchmarkFixture, store: FolderStore) -> None:
    store.scraps()
    assert len(benchmark(store.scraps)) == SCRAPS


@pytest.mark.benchmark(group="one photo")
def test_a_photo_of_a_dozen_scraps_is_logged(benchmark: BenchmarkFixture, tmp_path: Path) -> None:
    store = open_store(tmp_path)
    photos = iter([made_photo(seed, scraps=12, size=3_000_000) for seed in range(12)])
    logged = benchmark.pedantic(lambda: store.log_photo(next(photos)), rounds=10, iterations=1)
    assert len(logged) == 12
    store.database.close()
