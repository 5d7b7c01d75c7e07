"""Where the files lie that come with the program: the checklists and the demo shop."""

from __future__ import annotations

from functools import cache
from pathlib import Path


@cache
def shipped() -> Path:
    """The folder that holds `checklists/` and `demo/`: in the package once installed, else the checkout."""
    from importlib.resources import files

    package = Path(str(files("readiness")))
    inside = package / "shipped"
    return inside if inside.is_dir() else package.parent


def checklists() -> Path:
    """The shipped checklists."""
    return shipped() / "checklists"


def demo() -> Path:
    """The shipped demo shop; always to be copied before use."""
    return shipped() / "demo"
