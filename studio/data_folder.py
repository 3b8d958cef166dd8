"""The data folder: database, pictures, secret key, backups. Plain Python, before the settings."""

import os
import secrets
from collections.abc import MutableMapping
from pathlib import Path

PROJECT = Path(__file__).resolve().parent.parent
SECRET_KEY_FILE = "secret.key"
FIRST_RUN_FILE = "first-run-code"
# Settings that put a part of the studio elsewhere than into its data folder.
KEPT_ELSEWHERE = ("DATABASE_URL", "STILLCOUNT_BACKUPS", "STILLCOUNT_S3_BUCKET")

# Letters and digits that cannot be taken for one another when read off a terminal.
CODE_ALPHABET = "ABCDEFGHJKMNPQRSTUVWXYZ23456789"
CODE_LENGTH = 12


def location() -> Path:
    """The data folder: STILLCOUNT_DATA, or `data/` beside manage.py."""
    return Path(os.environ.get("STILLCOUNT_DATA") or PROJECT / "data").expanduser().resolve()


def keep_apart(environment: MutableMapping[str, str], folder: Path) -> None:
    """Let an environment name this data folder and nothing that belongs to another studio.

    A demo that shared a real studio's backups would also let go of them.
    """
    environment["STILLCOUNT_DATA"] = str(folder)
    for elsewhere in KEPT_ELSEWHERE:
        environment.pop(elsewhere, None)


def prepare(folder: Path) -> None:
    """Make the folder and its secret key, readable by their owner only. Safe to run again."""
    folder.mkdir(parents=True, exist_ok=True)
    folder.chmod(0o700)
    _write_once(folder / SECRET_KEY_FILE, secrets.token_urlsafe(50))


def secret_key(folder: Path) -> str | None:
    """The folder's secret key, or None before `prepare` made one."""
    return _read(folder / SECRET_KEY_FILE)


def first_run_code(folder: Path) -> str:
    """The one-time code that lets the first person in, made when first asked for."""
    path = folder / FIRST_RUN_FILE
    _write_once(path, "".join(secrets.choice(CODE_ALPHABET) for _ in range(CODE_LENGTH)))
    return path.read_text()


def first_run_code_matches(folder: Path, typed: str) -> bool:
    """Whether `typed` is the folder's one-time code; never true where no code was made."""
    code = _read(folder / FIRST_RUN_FILE)
    cleaned = typed.strip().replace("-", "").replace(" ", "").upper()
    return code is not None and secrets.compare_digest(code.encode(), cleaned.encode())


def forget_first_run_code(folder: Path) -> None:
    """Use the one-time code up."""
    (folder / FIRST_RUN_FILE).unlink(missing_ok=True)


def _read(path: Path) -> str | None:
    return path.read_text().strip() if path.exists() else None


def _write_once(path: Path, text: str) -> None:
    """Write a new owner-only file whole, or leave the one that is there alone."""
    if path.exists():
        return
    draft = path.with_name(f"{path.name}.{os.getpid()}")
    handle = os.open(draft, os.O_CREAT | os.O_WRONLY | os.O_TRUNC, 0o600)
    with os.fdopen(handle, "w") as file:
        file.write(text)
    try:
        os.link(draft, path)  # fails where another process was first: its key stands
    except FileExistsError:
        pass
    finally:
        draft.unlink()
