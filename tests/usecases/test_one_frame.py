"""Whichever way a lopsided scrap is asked or shown, it is the scrap that was seen."""

from pathlib import Path

from tests.usecases.seen_scraps import disagreements


def test_match_fit_page_photo_and_sheet_agree_on_lopsided_scraps(tmp_path: Path) -> None:
    # A thousand of them: python -m tests.benchmarks.lopsided_scraps
    assert disagreements(tmp_path, 36, seed=1) == []
