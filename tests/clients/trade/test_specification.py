"""Specifications: read, written, refused with a sentence."""

from fractions import Fraction

import pytest

from clients.trade.checks.judge import JUDGES
from clients.trade.specification import (
    BUILT_IN,
    CHECKS,
    CadenceWanted,
    FrameCount,
    Loudness,
    Specification,
    SpecificationRefused,
    from_json,
    to_json,
)


def test_every_check_has_a_judge():
    assert set(JUDGES) == set(CHECKS)
    assert len(CHECKS) == 29


def test_the_published_forms_are_read():
    specification = from_json(
        {
            "frame_rate": "24000/1001",
            "loudness": {"target": -23.0, "tolerance": 0.5},
            "cadence": {"exposure": 2},
            "length": {"frames": 720, "tolerance": 0},
        }
    )
    assert specification == Specification(
        frame_rate=Fraction(24000, 1001),
        loudness=Loudness(-23.0, 0.5),
        cadence=CadenceWanted(2),
        frame_count=FrameCount(720, 0),
    )


@pytest.mark.parametrize("key", BUILT_IN)
def test_what_comes_with_it_survives_writing_and_reading(key):
    assert BUILT_IN[key].title
    assert from_json(to_json(BUILT_IN[key])) == BUILT_IN[key]


# ITU-T H.273 tables 2 to 4 (the same numbers in H.264 tables E-3 to E-5, verified there).
@pytest.mark.parametrize(
    ("item", "word", "code"),
    [
        ("colour_primaries", "bt709", 1),
        ("colour_primaries", "bt2020", 9),
        ("colour_primaries", "P3-D65", 12),
        ("colour_transfer", "linear", 8),
        ("colour_transfer", "sRGB", 13),
        ("colour_transfer", "pq", 16),
        ("colour_transfer", "hlg", 18),
        ("colour_matrix", "rgb", 0),
        ("colour_matrix", "bt601", 6),
        ("colour_matrix", "bt2020", 9),
    ],
)
def test_colour_words_are_their_code_numbers(item, word, code):
    assert getattr(from_json({item: word}), item) == code
    assert getattr(from_json({item: code}), item) == code


@pytest.mark.parametrize(
    ("items", "word"),
    [
        ({"widht": 1}, "no item 'widht'"),
        ({"width": 0}, "width must be"),
        ({"width": "1920"}, "width must be"),
        ({"width": True}, "width must be"),
        ({"height": 1e9}, "height must be"),
        ({"frame_rate": 23.976}, '"24000/1001"'),
        ({"frame_rate": "29.97"}, '"30000/1001"'),
        ({"frame_rate": "24/0"}, "frame_rate must be"),
        ({"frame_rate": "-24"}, "frame_rate must be"),
        ({"frame_rate": 10_000}, "between"),
        ({"loudness": {"target": 5}}, "loudness target"),
        ({"loudness": {"tolerance": 1}}, "needs 'target'"),
        ({"loudness": float("nan")}, "loudness must be"),
        ({"cadence": {"exposure": 0}}, "cadence exposure"),
        ({"cadence": {"exposures": 2}}, "no part 'exposures'"),
        ({"length": 5, "frame_count": 5}, "mean the same"),
        ({"container": "exe"}, "container must be one of"),
        ({"container": ["mp4"]}, "container must be one of"),
        ({"name": "../{x}.mp4"}, "safe name"),
        ({"captions": "/etc/x.srt"}, "without folders"),
        ({"captions": {"file": ".."}}, "without folders"),
        ({"constant_rate": False}, "true, or left out"),
        ({"bit_depth": 7}, "bit_depth must be"),
        ({"audio": 2}, '"present" or "none"'),
        ({"flash": {"general": -1}}, "flash general"),
        ({"size": {}}, "size must be"),
        ([], "object in braces"),
        (None, "object in braces"),
        ({"width": True}, "got true"),
    ],
)
def test_impossible_values_are_refused_with_a_sentence(items, word):
    with pytest.raises(SpecificationRefused) as refused:
        from_json(items)
    assert word in str(refused.value)
    assert str(refused.value).endswith(".")
