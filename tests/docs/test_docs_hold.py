"""The documentation against the program: every command in it exists, every link leads somewhere, every page is short.

Nothing here needs Sphinx; `make docs` builds the site, with its warnings as errors.
"""

from __future__ import annotations

import posixpath
from pathlib import Path

import pytest
from docs.building.commands_page import GROUPS, commands
from docs.building.made_pages import DOCS, made_pages, written_pages
from docs.building.reading import Typed, anchors, faults_of, links, steps, typed

ROOT = DOCS.parent
LONGEST = 380
KNOWN_LONGER = {"reference/trial-file.md"}
"""One page for one file's every key; the rest stay short."""


@pytest.fixture(scope="module")
def made() -> dict[str, str]:
    return made_pages()


def texts() -> dict[str, str]:
    beside = {f"../{path.name}": path for path in (ROOT / "README.md", ROOT / "CONTRIBUTING.md")}
    return {name: path.read_text("utf-8") for name, path in {**written_pages(), **beside}.items()}


def test_every_command_in_the_pages_is_one():
    told = [(name, one) for name, text in texts().items() for one in typed(text) if one.words[:1] == ("littoral",)]
    assert len(told) > 60
    wrong = [f"{name}, line {one.line}: {' '.join(one.words)}: {said}" for name, one in told for said in faults_of(one)]
    assert wrong == []


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("littoral wash LOGBOOK", "there is no command wash"),
        ("littoral record doze LOGBOOK", "there is no command doze"),
        ("littoral answer LOGBOOK --louder", "there is no option --louder"),
        ("littoral film LOGBOOK --seconds", "--seconds has no value"),
        ("littoral verify", "it takes 1 to 1 arguments, here are 0"),
        ("littoral answer LOGBOOK second", "it takes 1 to 1 arguments, here are 2"),
    ],
)
def test_a_wrong_command_is_found(line, said):
    assert faults_of(Typed(1, tuple(line.split()))) == [said]


def test_every_command_of_the_program_has_its_group_and_its_heading(made):
    names = {words[0] for words, _ in commands()}
    grouped = [name for group in GROUPS.values() for name in group]
    assert sorted(grouped) == sorted(names)
    headings = anchors(made["reference/commands.md"])
    for words, command in commands():
        assert "-".join(("littoral", *words)) in headings
        for one in command.params:
            assert all(f"`{name}" in made["reference/commands.md"] or f", {name}" in made["reference/commands.md"]
                       for name in one.opts if name.startswith("--"))  # fmt: skip


def test_every_link_leads_somewhere(made):
    pages = {**made, **texts()}
    wrong = []
    for name, text in pages.items():
        if not name.endswith(".md"):
            continue
        for line, target in links(text):
            if target.startswith(("http:", "https:", "mailto:")):
                continue
            path, _, anchor = target.partition("#")
            to = posixpath.normpath(posixpath.join(posixpath.dirname(name), path)) if path else name
            if to not in pages and not (DOCS / to).is_file():
                wrong.append(f"{name}, line {line}: there is no {target}")
            elif anchor and to in pages and anchor not in anchors(pages[to]):
                wrong.append(f"{name}, line {line}: {to} has no heading #{anchor}")
    assert wrong == []


def test_every_page_stands_in_a_list_of_its_kind():
    for kind in ("how-to", "explanation"):
        index = (DOCS / kind / "index.md").read_text("utf-8")
        named = {target for _, target in links(index)}
        assert {path.name for path in (DOCS / kind).glob("*.md")} - {"index.md"} <= named


def test_every_how_to_says_its_goal_and_what_can_go_wrong():
    for path in (DOCS / "how-to").glob("*.md"):
        if path.name != "index.md":
            text = path.read_text("utf-8")
            assert text.splitlines()[2].startswith("*"), path.name
            assert "\n## What can go wrong\n" in text, path.name


def test_the_steps_of_the_tutorial_can_be_read():
    read = list(steps((DOCS / "tutorial" / "first-trial.md").read_text("utf-8")))
    assert sum(map(len, read)) >= 15
    assert all(step.names for some in read for step in some)


def test_pages_are_short():
    files = [path for path in DOCS.rglob("*") if path.suffix in (".md", ".py", ".css")]
    long = {path.relative_to(DOCS).as_posix() for path in files if len(path.read_text("utf-8").splitlines()) > LONGEST}
    assert long <= KNOWN_LONGER


def test_pictures_that_pages_show_are_made_or_there():
    from docs.building.picture_names import NAMES

    for name, path in written_pages().items():
        for line in path.read_text("utf-8").splitlines():
            if line.startswith("```{drawn}"):
                assert line.split()[1] in NAMES, name


def test_no_page_asks_the_network_for_anything():
    for path in (*DOCS.rglob("*.css"), *DOCS.rglob("*.html")):
        assert "://" not in path.read_text("utf-8"), path
    assert not list(Path(DOCS / "style").rglob("*.js"))
