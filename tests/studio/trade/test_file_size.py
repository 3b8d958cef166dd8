"""Sizes are said in decimal units: kilo is 1000 (SI; IEC 80000-13 names the binary ones)."""

import pytest

from studio.trade.file_size import file_size


@pytest.mark.parametrize(
    ("size", "words"),
    [
        (0, "0 bytes"),
        (1, "1 byte"),
        (999, "999 bytes"),
        (1000, "1.0 kB"),
        (950_000_000, "950.0 MB"),
        (1_234_500_000_000, "1,234.5 GB"),
    ],
)
def test_a_size_is_said_in_units_of_a_thousand(size, words):
    assert file_size(size) == words
