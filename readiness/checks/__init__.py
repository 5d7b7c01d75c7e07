"""The kinds of check: one module or package each, found by looking in this folder.

`kinds()` maps the name in YAML to its module; a new kind needs one new module or package here and no edit elsewhere.
"""

from __future__ import annotations

import pkgutil
from functools import cache
from importlib import import_module
from typing import Any, cast

from readiness.checks.kind import Kind


@cache
def kinds() -> dict[str, Kind]:
    """Every kind by its name in YAML: the modules and packages here that say `KIND`; the others serve them."""
    modules = [import_module(f"{__name__}.{m.name}") for m in pkgutil.iter_modules(__path__)]
    return {m.KIND: cast(Kind, m) for m in modules if hasattr(m, "KIND")}


@cache
def limit_types() -> dict[str, type[Any]]:
    """Kind -> the structure of its limits, for the reader of checklists."""
    return {name: kind.Limits for name, kind in kinds().items()}
