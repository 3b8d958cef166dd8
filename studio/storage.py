"""Where kept files lie on this machine."""

from pathlib import Path

from django.core.files.storage import FileSystemStorage


class WholeFiles(FileSystemStorage):
    """Keeps a file whole or not at all: what a full disk cut short is taken away again."""

    def _save(self, name: str, content) -> str:
        try:
            return super()._save(name, content)
        except OSError:
            Path(self.path(name)).unlink(missing_ok=True)
            raise
