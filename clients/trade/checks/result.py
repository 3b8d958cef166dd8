"""One line of a check, and the report they make together."""

from dataclasses import asdict, dataclass


@dataclass(frozen=True)
class Result:
    """Wanted and found are plain JSON values; ``advice`` is one sentence, empty when it fits."""

    check: str
    wanted: object
    found: object
    fits: bool
    advice: str


@dataclass(frozen=True)
class FileReport:
    """The check of one file against one specification."""

    file: str
    sha256: str
    results: tuple[Result, ...]

    @property
    def fits(self) -> bool:
        return all(result.fits for result in self.results)

    def to_json(self) -> dict:
        return {
            "file": self.file,
            "sha256": self.sha256,
            "fits": self.fits,
            "checks": [asdict(result) for result in self.results],
        }
