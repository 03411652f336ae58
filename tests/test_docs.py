"""The pages say what the program does."""

import re

import pytest

from tests.docs_pages import REPO, run, shown_commands
from tests.make_commands_page import PAGE, commands, page


def test_every_command_has_help_and_stands_in_the_commands_page():
    text = PAGE.read_text(encoding="utf-8")
    for name, command in commands():
        assert command.help, f"{name} has no help"
        assert f"## {name}" in text, f"{name} is missing: python -m tests.make_commands_page"


def test_the_commands_page_is_up_to_date():
    assert PAGE.read_text(encoding="utf-8") == page()


@pytest.mark.slow
def test_the_commands_of_the_pages_run_as_shown(tmp_path):
    for shown in shown_commands():
        done = run(shown.line, tmp_path)
        assert done.returncode == 0, f"{shown.page}: {shown.line}\n{done.stderr}"


def test_the_pages_link_only_to_what_is_there():
    for name in ("README.md", "DEVELOPERS.md", "docs/tour.md"):
        text = (REPO / name).read_text(encoding="utf-8")
        for target in re.findall(r"\]\(([^)#]+)\)", text):
            if not target.startswith("http"):
                assert ((REPO / name).parent / target).exists(), f"{name} links to {target}"


def test_the_measurements_name_their_commands():
    # A section with a table of figures says which command made it.
    text = (REPO / "docs" / "measurements.md").read_text(encoding="utf-8")
    for section in re.split(r"\n## ", text)[1:]:
        if "|---" in section or "| ---" in section:
            assert "`python" in section or "`stash" in section or "`tests/" in section, (
                f"no command in section {section.splitlines()[0]!r}"
            )
