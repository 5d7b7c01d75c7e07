"""Values from outside the project, as pytest parameters that print their source and how far it was verified.

`reference/check-values.yaml` is the table; `given` makes the same kind of parameter from a value that
stands in a test.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import lru_cache
from pathlib import Path
from typing import Any

import pytest
import yaml

TABLE = Path(__file__).parent / "reference" / "check-values.yaml"
SOURCE_LENGTH = 48


@lru_cache
def table() -> dict[str, Any]:
    return yaml.safe_load(TABLE.read_text(encoding="utf-8"))


def rows(section: str, name: Callable[[dict[str, Any]], str] | None = None) -> list[Any]:
    """One parameter for each row of a section; `name` serves rows that carry no id."""
    return [
        given(row["id"] if name is None else name(row), row["source"], row["verified"], row)
        for row in table()[section]
    ]


def entries(section: str, values: str = "values", prefix: str = "") -> list[Any]:
    """One parameter (key, value) for each entry of a mapping in a section with one source for all."""
    whole = table()[section]
    return [
        given(f"{prefix}{key}", whole["source"], whole["verified"], key, value)
        for key, value in whole[values].items()
    ]


def given(name: str, source: str, verified: str, *values: Any) -> Any:
    """A parameter whose id reads NAME | SOURCE | HOW VERIFIED."""
    return pytest.param(*values, id=f"{name} | {_short(source)} | {level(verified)}")


def level(verified: str) -> str:
    """'text seen', 'library', 'hand' and 'from memory', as far as the words say so.

    What stands in brackets is a remark and lifts no level, except that a secondary text is called so.
    """
    said = re.sub(r"\([^)]*\)", "", verified)
    found = [k for k in ("text seen", "library", "hand", "from memory") if k in said]
    assert found, f"no level of verification in {verified!r}"
    if "secondary" in verified and "text seen" in found:
        found[0] = "text seen (secondary)"
    return "+".join(found)


def _short(source: str) -> str:
    plain = re.sub(r"[^\w .,:;/()+=-]", "", source)
    return plain if len(plain) <= SOURCE_LENGTH else plain[:SOURCE_LENGTH].rsplit(" ", 1)[0]
