"""File names that are safe everywhere."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clients.trade.filename import (
    NameRefused,
    build_name,
    fault_of_name,
    matches,
    next_version,
    portable,
)

FIELDS = {"production": "Łódź: fox & hen", "deliverable": "square"}


def test_name_is_built_from_fields_and_version():
    name = build_name("{production}_{deliverable}_v{version}.mp4", FIELDS, 3)
    assert name == "Lodz-fox-hen_square_v03.mp4"


@pytest.mark.parametrize(
    ("text", "plain"),
    [
        ("Ża Straße", "Za-Strasse"),
        ("../../etc/passwd", "etc-passwd"),
        ("a\x00b\nc", "a-b-c"),
        ("--x", "x"),
        (".hidden", "hidden"),
        ("狐", ""),
    ],
)
def test_text_becomes_portable(text, plain):
    assert portable(text) == plain


@given(st.text())
def test_portable_text_uses_only_the_posix_set(text):
    """POSIX portable file name character set: 65 characters, no hyphen first."""
    allowed = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789._-"
    assert len(allowed) == 65
    assert set(portable(text)) <= set(allowed)
    assert not portable(text).startswith(("-", "."))


@pytest.mark.parametrize(
    ("pattern", "fields", "version", "word"),
    [
        ("{production}/{version}.mp4", FIELDS, 1, "not safe"),
        ("{nothing}.mp4", FIELDS, 1, "asks for 'nothing'"),
        ("{production}.mp4", {"production": "狐"}, 1, "plain Latin"),
        ("{production}.mp4", FIELDS, 0, "from 1"),
        ("{production.mp4", FIELDS, 1, "brace"),
        ("*.mp4", FIELDS, 1, "star"),
        ("{production}", {"production": "con"}, 1, "reserved"),
        ("{production}.mp4", {"production": "x" * 300}, 1, "characters long"),
    ],
)
def test_names_that_cannot_be_are_refused(pattern, fields, version, word):
    with pytest.raises(NameRefused, match=word):
        build_name(pattern, fields, version)


@pytest.mark.parametrize(
    ("pattern", "name", "fits"),
    [
        ("{production}_v{version}.mp4", "FOX_v12.mp4", True),
        ("{production}_v{version}.mp4", "FOX_vA.mp4", False),
        ("{production}_v{version}.mp4", "FOX_v1.mov", False),
        ("*.mp4", "a.mp4", True),
        ("a.mp4", "axmp4", False),
        ("*.mp4", "a b.mp4", False),
        ("*.mp4", "../a.mp4", False),
    ],
)
def test_pattern_matches(pattern, name, fits):
    assert matches(pattern, name) is fits


def test_control_characters_are_named_without_printing_them():
    assert "\\x1b" in fault_of_name("a\x1b.mp4")


def test_versions_never_go_back():
    assert next_version([]) == 1
    assert next_version([1, 5, 2]) == 6
