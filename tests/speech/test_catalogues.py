"""The catalogues: whole, the same as their compiled files, and nothing in the source that they lack."""

from __future__ import annotations

import re

import pytest

from littoral.speech import gather
from littoral.speech.manner import LANGUAGES, Manner, speaking
from littoral.speech.say import say, translated

OTHERS = [language for language in LANGUAGES if language != "en"]
_PLACEHOLDER = re.compile(r"%\(\w+\)s|%%|\{[^{}]*\}")
_TAG = re.compile(r"</?\w+")


@pytest.fixture(scope="module")
def template() -> list[object]:
    return [one.id for one in gather.gathered() if one.id]


def _texts(language: str) -> list[tuple[str, str]]:
    return [
        (source, text)
        for one in gather.translations(language)
        if one.id
        for source, text in zip(gather.texts_of(one.id), gather.texts_of(one.string), strict=True)
    ]


@pytest.mark.parametrize("language", OTHERS)
def test_every_message_of_the_source_is_in_the_catalogue_and_no_other(language: str, template: list[object]) -> None:
    known = {one.id for one in gather.translations(language) if one.id}
    lacking, left = set(template) - known, known - set(template)
    assert not lacking, f"run `make words` and translate: {sorted(map(str, lacking))[:5]}"
    assert not left, f"run `make words`: {sorted(map(str, left))[:5]}"


@pytest.mark.parametrize("language", OTHERS)
def test_every_message_is_translated_and_none_is_a_guess(language: str) -> None:
    assert [source for source, text in _texts(language) if not text.strip()] == []
    assert [one.id for one in gather.translations(language) if one.id and one.fuzzy] == []


@pytest.mark.parametrize("language", OTHERS)
def test_placeholders_and_tags_are_those_of_the_source(language: str) -> None:
    for source, text in _texts(language):
        assert sorted(_PLACEHOLDER.findall(source)) == sorted(_PLACEHOLDER.findall(text)), source
        assert sorted(_TAG.findall(source)) == sorted(_TAG.findall(text)), source


@pytest.mark.parametrize("language", OTHERS)
def test_the_compiled_catalogue_says_what_the_written_one_says(language: str) -> None:
    compiled = (gather.CATALOGUES / f"{language}.mo").read_bytes()
    assert compiled == gather.compiled(gather.translations(language))
    with speaking(Manner(language=language)):
        for one in gather.translations(language):
            if one.id and isinstance(one.id, str):
                assert translated(one.id) == one.string


def test_a_sentence_in_german() -> None:
    with speaking(Manner(language="de")):
        assert say("Today") == "Heute"
