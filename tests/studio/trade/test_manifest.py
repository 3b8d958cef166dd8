"""The manifest by RFC 8493."""

import hashlib

import pytest

from studio.trade.manifest import ManifestRefused, read_manifest, write_manifest

# FIPS 180-4 example: SHA-256 of "abc".
ABC = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"


def test_lines_are_checksum_and_path():
    assert hashlib.sha256(b"abc").hexdigest() == ABC
    text = write_manifest({"data/film.mp4": ABC, "data/a.srt": ABC.upper()})
    assert text == f"{ABC}  data/a.srt\n{ABC}  data/film.mp4\n"


def test_line_breaks_and_percent_signs_are_encoded_and_nothing_else():
    """RFC 8493 2.1.3: only LF, CR and % are percent-encoded."""
    text = write_manifest({"data/50% of\n é.mp4": ABC})
    assert text == f"{ABC}  data/50%25 of%0A é.mp4\n"
    assert read_manifest(text) == {"data/50% of\n é.mp4": ABC}


@pytest.mark.parametrize("line", [f"{ABC} data/x", f"{ABC}\tdata/x", f"{ABC} *data/x"])
def test_other_writers_lines_are_read(line):
    """RFC 8493 2.1.3 allows any white space and both hex cases, section 6 the star."""
    assert read_manifest(line.replace(ABC, ABC.upper()) + "\r\n") == {"data/x": ABC}


@pytest.mark.parametrize("path", ["../x", "/x", "a//b", "a/../../b", "C:/x", "", "a\\b", "~/x"])
def test_paths_out_of_the_delivery_are_refused(path):
    with pytest.raises(ManifestRefused):
        write_manifest({path: ABC})
    with pytest.raises(ManifestRefused):
        read_manifest(f"{ABC}  {path}\n")


def test_a_path_listed_twice_and_a_bad_line_are_refused():
    with pytest.raises(ManifestRefused, match="second time"):
        read_manifest(f"{ABC}  a\n{ABC}  a\n")
    with pytest.raises(ManifestRefused, match="Line 2"):
        read_manifest(f"{ABC}  a\nnonsense\n")
    with pytest.raises(ManifestRefused, match="64 hex"):
        write_manifest({"a": "12"})
