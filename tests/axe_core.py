"""axe-core, an accessibility checker (MPL-2.0, npm): fetched at test time, pinned, never copied here.

Offline a test that needs it skips and says so; under ``CI=true`` it fails instead.
"""

import hashlib
import os
import shutil
import subprocess
import tarfile

import pytest

from tests.open_data import CACHE

_VERSION = "4.14.1"
_SHA256 = "e6b0ce02b84d892e2e33e403485e7f3d6c29e2be6df65daf44d89ba564139745"


def axe_script() -> str:
    """Return the checker as a script for a page."""
    path = CACHE / f"axe-core-{_VERSION}.tgz"
    if not path.exists():
        _fetch()
    found = hashlib.sha256(path.read_bytes()).hexdigest()
    assert found == _SHA256, f"{path} is not the pinned file: SHA-256 {found}"
    with tarfile.open(path) as archive:
        file = archive.extractfile("package/axe.min.js")
        assert file is not None
        return file.read().decode()


def _fetch() -> None:
    CACHE.mkdir(parents=True, exist_ok=True)
    folder = CACHE / f"npm-{os.getpid()}"
    folder.mkdir(exist_ok=True)
    npm, told = shutil.which("npm"), "npm is not installed"
    if npm is not None:
        command = [npm, "pack", f"axe-core@{_VERSION}", "--silent", "--pack-destination", str(folder)]
        done = subprocess.run(command, capture_output=True, text=True, check=False, cwd=folder)
        told = (done.stderr.strip().splitlines() or ["no reason given"])[-1]
    fetched = folder / f"axe-core-{_VERSION}.tgz"
    if not fetched.exists():
        folder.rmdir()
        if os.environ.get("CI") == "true":
            pytest.fail(f"axe-core {_VERSION} could not be fetched: {told}")
        pytest.skip(f"offline: axe-core {_VERSION} could not be fetched: {told}")
    fetched.replace(CACHE / fetched.name)
    folder.rmdir()
