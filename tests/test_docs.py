"""The pages say what the program does."""

import re
from difflib import get_close_matches

import pytest

from tests.docs_pages import REPO, run, shown_commands
from tests.make_commands_page import PAGE, commands

_ELSEWHERE = {"--home", "--json", "--help"}  # told once at the head of the page


def _sections() -> dict[str, str]:
    """Give the commands page by the heads of its sections, arguments left out."""
    parts = re.split(r"^## ", PAGE.read_text(encoding="utf-8"), flags=re.MULTILINE)[1:]
    heads = [re.split(r" (?=[A-Z\[])", part.partition("\n")[0])[0] for part in parts]
    return dict(zip(heads, parts, strict=True))


def test_the_commands_page_has_each_command_once_and_no_other():
    assert list(_sections()) == [name for name, _ in commands()]


@pytest.mark.parametrize(("name", "command"), list(commands()))
def test_the_commands_page_tells_a_commands_help_and_all_its_options(name, command):
    section = _sections()[name]
    assert command.help, f"{name} has no help"
    assert " ".join(command.help.split()) in section, "python -m tests.make_commands_page"
    told: dict[str, str] = dict(re.findall(r"^- `(.+?)`: (.*)$", section, flags=re.MULTILINE))
    options = [one for one in command.params if one.param_type_name == "option" and not one.hidden]
    known = {", ".join((*one.opts, *one.secondary_opts)): one.help or "" for one in options}
    for everywhere in _ELSEWHERE:
        told.pop(everywhere, None)
        known.pop(everywhere, None)
    assert told == {words: " ".join(text.split()) for words, text in known.items()}


def _plain(line: str) -> str:
    """Leave numbers, dates and colours out: they may differ by a rounding on another machine."""
    return re.sub(
        r"\s+", " ", re.sub(r"#[0-9a-f]{6}\b|[\d.,]*[\d¼½¾⅛⅜⅝⅞]+(?:/\d+)?", "0", line)
    ).strip()


@pytest.mark.slow
def test_the_commands_of_the_pages_run_and_answer_as_shown(tmp_path):
    stale = []
    for shown in shown_commands():
        done = run(shown.line, tmp_path)
        assert done.returncode == 0, f"{shown.page}: {shown.line}\n{done.stderr}"
        answered = [_plain(line) for line in done.stdout.splitlines()]
        for line in shown.answer:
            if _plain(line) not in answered:
                near = get_close_matches(_plain(line), answered, 1)
                stale.append(f"{shown.page}: {shown.line}\n  shows {line!r}\n  now {near}")
    assert not stale, "python -m tests.docs_pages puts this right:\n" + "\n".join(stale)


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
