"""The checksum list that travels with a delivery or a backup: RFC 8493's manifest."""

import re
from collections.abc import Mapping

FILE_NAME = "manifest-sha256.txt"
DECLARATION = "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"
"""What ``bagit.txt`` holds beside the manifest (RFC 8493 2.1.1)."""

LINE = re.compile(r"([0-9A-Fa-f]{64})[ \t]+\*?(\S.*)")
ENCODED = {"%": "%25", "\n": "%0A", "\r": "%0D"}  # RFC 8493 2.1.3: these three, no others
DECODED = re.compile("%(25|0[AaDd])")


class ManifestRefused(ValueError):
    """A manifest that cannot be written or read; the message is a sentence for a person."""


def write_manifest(digests: Mapping[str, str]) -> str:
    """The text of the manifest for ``digests``: path with ``/`` to SHA-256 in hex."""
    return "".join(manifest_line(path, digest) for path, digest in sorted(digests.items()))


def manifest_line(path: str, digest: str) -> str:
    """One line of a manifest, its line end included."""
    if fault := fault_of_path(path):
        raise ManifestRefused(fault)
    if not re.fullmatch(r"[0-9A-Fa-f]{64}", digest):
        raise ManifestRefused(f"{path!r} has no SHA-256 of 64 hex digits; got {digest!r}.")
    safe = "".join(ENCODED.get(letter, letter) for letter in path)
    return f"{digest.lower()}  {safe}\n"


def read_manifest(text: str) -> dict[str, str]:
    """Path to SHA-256 (lower case) of every line. Raises ManifestRefused on anything odd."""
    digests: dict[str, str] = {}
    for number, line in enumerate(re.split(r"\r\n|\n|\r", text), start=1):
        if not line:
            continue
        match = LINE.fullmatch(line)
        if not match:
            raise ManifestRefused(f"Line {number} is not a checksum and a path: {line[:80]!r}.")
        path = DECODED.sub(lambda code: chr(int(code[1], 16)), match[2])
        if fault := fault_of_path(path):
            raise ManifestRefused(f"Line {number}: {fault}")
        if path in digests:
            raise ManifestRefused(f"Line {number} lists {path!r} a second time.")
        digests[path] = match[1].lower()
    return digests


def fault_of_path(path: str) -> str:
    """Why ``path`` may not stand in a manifest (it must stay inside its folder); else empty."""
    if not path or path.startswith(("/", "~")) or re.match(r"[A-Za-z]:", path) or "\\" in path:
        return f"{path!r} is not a path inside its folder; write it relative, with slashes."
    if any(part in ("", ".", "..") for part in path.split("/")):
        return f"{path!r} leaves its folder or has an empty part."
    return ""
