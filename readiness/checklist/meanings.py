"""What each field of a structure means: the text that stands below it in the source."""

from __future__ import annotations

import ast
import inspect
from collections.abc import Iterable, Iterator
from itertools import pairwise
from textwrap import dedent
from typing import Any

import msgspec.inspect as mi
from msgspec.structs import fields


def field_meanings(types: Iterable[Any]) -> dict[tuple[str, str], str]:
    """(name of a structure, field as it is written) -> its text, for these structures and all that they hold.

    Empty where the source is not there to be read.
    """
    found: dict[tuple[str, str], str] = {}
    for cls in dict.fromkeys(_structures([mi.type_info(t) for t in types], set())):
        written = {f.name: f.encode_name for f in fields(cls)}
        for base in reversed(cls.__mro__):
            found |= {(cls.__name__, written.get(name, name)): text for name, text in _texts_below(base)}
    return found


def _structures(infos: Iterable[Any], seen: set[type]) -> Iterator[type]:
    for info in infos:
        if isinstance(info, mi.StructType):
            if info.cls not in seen:
                seen.add(info.cls)
                yield info.cls
                yield from _structures([f.type for f in info.fields], seen)
            continue
        parts = [getattr(info, name, None) for name in ("type", "item_type", "key_type", "value_type")]
        parts += [*getattr(info, "types", ()), *getattr(info, "item_types", ())]
        yield from _structures([part for part in parts if part is not None], seen)


def _texts_below(cls: type) -> Iterator[tuple[str, str]]:
    try:
        body = ast.parse(dedent(inspect.getsource(cls))).body[0]
    except (OSError, TypeError, SyntaxError, IndexError):
        return
    lines = getattr(body, "body", [])
    for line, below in pairwise(lines):
        if isinstance(line, ast.AnnAssign) and isinstance(line.target, ast.Name):
            text = below.value if isinstance(below, ast.Expr) else None
            if isinstance(text, ast.Constant) and isinstance(text.value, str):
                yield line.target.id, " ".join(text.value.split())
