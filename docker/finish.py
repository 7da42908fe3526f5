"""Last step of the build: strip what never runs, compile the rest, write down what is in the image."""

from __future__ import annotations

import compileall
import importlib.metadata
import json
import py_compile
import shutil
import sys
import sysconfig
from pathlib import Path

APP, SBOM = Path("/opt/app"), Path("/usr/share/litrewise/sbom.json")
# These only install packages, and nothing is installed into a finished image.
INSTALLERS = ("pip", "setuptools", "pkg_resources", "_distutils_hack", "distutils-precedence.pth")


def finish() -> None:
    """Strip, compile and list."""
    packages = Path(sysconfig.get_paths()["purelib"])
    strip(packages)
    sys.path.insert(0, str(APP))
    from service import __version__

    SBOM.parent.mkdir(parents=True, exist_ok=True)
    SBOM.write_text(json.dumps(bill(__version__, packages), indent=1) + "\n")
    for folder in (packages, APP):
        # The hash is not looked at again: nobody can write there.
        compileall.compile_dir(
            folder, quiet=1, invalidation_mode=py_compile.PycInvalidationMode.UNCHECKED_HASH
        )


def strip(packages: Path) -> None:
    """Remove installers and the tests of the packages."""
    for pattern in (*INSTALLERS, "pip-*.dist-info", "setuptools-*.dist-info"):
        for found in packages.glob(pattern):
            shutil.rmtree(found) if found.is_dir() else found.unlink()
    for found in [*packages.rglob("tests"), *packages.rglob("__pycache__")]:
        shutil.rmtree(found, ignore_errors=True)
    for script in Path(sys.prefix, "bin").glob("pip*"):
        script.unlink()


def bill(version: str, packages: Path) -> dict[str, object]:
    """What is installed, as a CycloneDX document."""
    parts = sorted(
        (one.metadata["Name"].lower().replace("_", "-"), one.version)
        for one in importlib.metadata.distributions(path=[str(packages)])
    )
    return {
        "bomFormat": "CycloneDX",
        "specVersion": "1.5",
        "version": 1,
        "metadata": {"component": {"type": "application", "name": "litrewise", "version": version}},
        "components": [
            {"type": "library", "name": name, "version": of, "purl": f"pkg:pypi/{name}@{of}"}
            for name, of in parts
        ],
    }


if __name__ == "__main__":
    finish()
