"""Whether a tree that was read from a draft's file could be one: mappings, lists and texts where a sheet has them."""

from __future__ import annotations

from functools import cache
from typing import Any

import msgspec.inspect as mi

from readiness.job import Sheet
from readiness.sheetmaking.draft import FOREIGN, PAGES

DEEPEST = 12
LONGEST = 4_000
"""Characters of an answer."""
MOST = 500
"""Entries of a list."""


def well_formed(tree: Any) -> bool:
    return _fits(tree, _sheet())


@cache
def _sheet() -> mi.Type:
    return mi.type_info(Sheet)


def _fits(tree: Any, info: Any) -> bool:
    if isinstance(info, mi.Metadata):
        return _fits(tree, info.type)
    if isinstance(info, mi.UnionType):
        return any(_fits(tree, t) for t in info.types if not isinstance(t, mi.NoneType))
    if isinstance(info, mi.StructType):
        fields = {f.encode_name: f.type for f in info.fields}
        return isinstance(tree, dict) and all(
            _foreign(key, value) if key.startswith(FOREIGN) else key in fields and _fits(value, fields[key])
            for key, value in tree.items()
        )
    if isinstance(info, mi.VarTupleType):
        return isinstance(tree, list) and len(tree) <= MOST and all(_fits(v, info.item_type) for v in tree)
    if isinstance(info, mi.AnyType):
        return isinstance(tree, dict) and _texts(tree)
    return _text(tree)


def _foreign(key: str, value: Any) -> bool:
    if key == PAGES:
        return isinstance(value, dict) and all(map(_text, value.values()))
    return _text(value)


def _texts(tree: Any, deep: int = 0) -> bool:
    if isinstance(tree, dict | list):
        below = tree.values() if isinstance(tree, dict) else tree
        return deep < DEEPEST and len(tree) <= MOST and all(_texts(v, deep + 1) for v in below)
    return _text(tree)


def _text(value: Any) -> bool:
    return isinstance(value, str) and len(value) <= LONGEST
