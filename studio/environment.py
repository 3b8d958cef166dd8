"""The project's own Python environment: made on the first run, from the locked versions.

Plain Python, imported before anything is installed.
"""

import hashlib
import importlib.util
import os
import subprocess
import sys
import venv
from pathlib import Path

PROJECT = Path(__file__).resolve().parent.parent
FOLDER = PROJECT / ".venv"
OLDEST_PYTHON = (3, 11)


def enter(lock: str, needs: str) -> None:
    """Go on inside an environment that has what `lock` pins; returns only once inside.

    An environment somebody entered by hand is left alone as long as it has the package `needs`.
    """
    if sys.version_info < OLDEST_PYTHON:
        sys.exit("Stillcount needs Python 3.11 or newer; this is " + sys.version.split()[0] + ".")
    if sys.prefix != sys.base_prefix and importlib.util.find_spec(needs):
        return
    python = FOLDER / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
    if not python.exists():
        sys.stderr.write(f"Making a Python environment in {FOLDER} (once) …\n")
        venv.create(FOLDER, with_pip=True)
    _install(python, PROJECT / lock)
    if os.name == "posix":
        os.execv(python, [python, *sys.argv])  # signals then reach the server itself
    sys.exit(subprocess.run([python, *sys.argv], check=False).returncode)


def _install(python: Path, lock: Path) -> None:
    """Install the pinned versions, unless this very lock was installed before."""
    stamp = FOLDER / f"{lock.name}.installed"
    digest = hashlib.sha256(lock.read_bytes()).hexdigest()
    if stamp.exists() and stamp.read_text() == digest:
        return
    sys.stderr.write(f"Installing the packages of {lock.name} (a minute or two, once) …\n")
    command = [python, "-m", "pip", "install", "--quiet", "--disable-pip-version-check"]
    if subprocess.run([*command, "-r", lock], check=False).returncode:
        sys.exit("The packages could not be installed. Read the lines above, mend, run again.")
    stamp.write_text(digest)
