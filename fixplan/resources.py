"""Where the data folders are: inside the installed package, or beside it in a checkout."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path


def resource_dir(name: str) -> Path:
    """The folder `name` ("implant_specs", "demo_cases").

    Raises FileNotFoundError when the installation holds no such folder.
    """
    package = Path(str(files("fixplan")))
    for folder in (package / name, package.parent / name):
        if folder.is_dir():
            return folder
    raise FileNotFoundError(f"folder '{name}' is missing from this installation; install fixplan again")
