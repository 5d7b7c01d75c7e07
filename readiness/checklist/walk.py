"""Tree of a file -> the wanted structure, collecting every mistake on the way.

    value = decode(node, Bay, path, mistakes)

walks the type (msgspec structures, tuples, dicts, unions with None, ...) and the nodes together.
Fields typed `Annotated[float, Meta(extra={"unit": "kPa"})]` are texts with a unit; fields with
`Meta(extra={"later": True})` stay nodes unless `later` can say what they are. A value that cannot be
made is INVALID, and so is everything around it; rules run for each structure that could be made, so
one run finds mistakes of form in one place and of sense in another.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any, Final

import msgspec.inspect as mi

from readiness.checklist import scalars
from readiness.checklist.mistakes import Mistake, listed, near, shown
from readiness.checklist.nodes import Entries, Items, Node, Text
from readiness.checklist.spot import Spot

MOST_ITEMS = 500
"""Entries of a list for which its type allows no more; nothing in a shop is measured so often by hand."""


class _Invalid:
    def __repr__(self) -> str:
        return "INVALID"


INVALID: Final = _Invalid()
"""Stands where a value would be that has a mistake."""

Rule = Callable[[Any, Spot], None]
Rules = Mapping[type, Rule]
Texts = Mapping[type, Callable[[Spot], None]]
Later = Callable[[Spot, Spot], Any]
"""(the mapping that holds the field, the field's value) -> its typed value or INVALID."""


def decode(
    node: Node,
    type_: Any,
    file: Path | str,
    mistakes: list[Mistake],
    *,
    rules: Rules | None = None,
    later: Later | None = None,
) -> Any:
    """The value of `type_` that the node says; INVALID, with mistakes added, if there are any."""
    before = len(mistakes)
    value = Walker(rules or {}, later).decode(Spot(node, "", file, mistakes), type_)
    return value if len(mistakes) == before else INVALID


@dataclass(frozen=True)
class Walker:
    """Decodes spots; rules judge sense, by the type of structure.

    `rules` look at values that are whole; `texts` look at any mapping that should become the type,
    so that a mistake in one field does not hide those in names and references beside it.
    """

    rules: Rules = field(default_factory=dict)
    later: Later | None = None
    texts: Texts = field(default_factory=dict)

    def decode(self, spot: Spot, type_: Any) -> Any:
        return self._value(spot, _inspected(type_))

    def some_fields(self, spot: Spot, type_: Any) -> dict[str, Any]:
        """Those fields of a structure that a mapping gives, none of them required."""
        if not isinstance(spot.node, Entries):
            self._mismatch(spot, "keys and values")
            return {}
        return self._fields(spot, _inspected(type_), required=False)

    def _value(self, spot: Spot, info: mi.Type) -> Any:
        if isinstance(info, mi.Metadata):
            return self._annotated(spot, info)
        if isinstance(info, mi.UnionType):
            return self._union(spot, info)
        if isinstance(info, mi.StructType):
            return self._struct(spot, info)
        if isinstance(info, mi.DictType):
            return self._dict(spot, info)
        if isinstance(info, (mi.VarTupleType, mi.ListType, mi.TupleType)):
            return self._list(spot, info)
        if isinstance(info, mi.AnyType):
            return spot.node
        if isinstance(info, mi.NoneType):
            return self._none(spot)
        return self._scalar(spot, info)

    def _annotated(self, spot: Spot, info: mi.Metadata) -> Any:
        extra = info.extra or {}
        unit = extra.get("unit")
        if unit is None and "meant" not in extra:
            return self._value(spot, info.type)
        if not isinstance(spot.node, Text):
            return self._mismatch(spot, scalars.example(unit) if unit is not None else "a single value")
        try:
            if unit is None:
                return scalars.choice(spot.node, info.type, extra)
            return scalars.quantity(spot.node, unit, info.type)
        except scalars.NotThat as error:
            return _refused(spot, error)

    def _scalar(self, spot: Spot, info: mi.Type) -> Any:
        if not isinstance(spot.node, Text):
            return self._mismatch(spot, "a single value")
        try:
            return scalars.scalar(spot.node, info)
        except scalars.NotThat as error:
            return _refused(spot, error)

    def _none(self, spot: Spot) -> Any:
        return None if nothing(spot.node) else self._mismatch(spot, "nothing")

    def _union(self, spot: Spot, info: mi.UnionType) -> Any:
        """The first type that fits, text last, since every scalar is text."""
        others = [t for t in info.types if not isinstance(t, mi.NoneType)]
        if len(others) < len(info.types) and nothing(spot.node):
            return None
        others.sort(key=lambda t: isinstance(t, mi.StrType))
        for choice in others[:-1]:
            attempt = Spot(spot.node, spot.where, spot.file, [])
            value = self._value(attempt, choice)
            if not attempt.mistakes:
                return value
        return self._value(spot, others[-1])

    def _list(self, spot: Spot, info: Any) -> Any:
        pair = isinstance(info, mi.TupleType)
        if not isinstance(spot.node, Items):
            how = "Write it as [first, second]." if pair else "Begin each entry with '- '."
            return self._mismatch(spot, "a list", "" if nothing(spot.node) else how)
        if pair:
            types = info.item_types
            if len(types) != len(spot.node.items):
                return self._mismatch(spot, f"a list of {len(types)}")
        else:
            most = info.max_length or MOST_ITEMS
            if len(spot.node.items) > most:
                return self._mismatch(spot, f"at most {most} entries")
            types = (info.item_type,) * len(spot.node.items)
        values = [self._value(s, t) for s, t in zip(spot.items(), types, strict=True)]
        if any(v is INVALID for v in values):
            return INVALID
        return values if isinstance(info, mi.ListType) else tuple(values)

    def _dict(self, spot: Spot, info: mi.DictType) -> Any:
        if not isinstance(spot.node, Entries):
            return self._mismatch(spot, "keys and values")
        result = {}
        for key, value in spot.once():
            result[self._value(spot.on(key), info.key_type)] = self._value(value, info.value_type)
        whole = all(k is not INVALID and v is not INVALID for k, v in result.items())
        return result if whole else INVALID

    def _struct(self, spot: Spot, info: mi.StructType) -> Any:
        if not isinstance(spot.node, Entries):
            return self._mismatch(spot, f"keys and values ({listed(f.encode_name for f in info.fields)})")
        look = self.texts.get(info.cls)
        if look is not None:
            look(spot)
        values = self._fields(spot, info, required=True)
        if any(v is INVALID for v in values.values()):
            return INVALID
        try:
            value = info.cls(**values)
        except ValueError as error:
            spot.wrong("values that do not agree", "values that do", str(error))
            return INVALID
        rule = self.rules.get(info.cls)
        if rule is not None:
            rule(value, spot)
        return value

    def _fields(self, spot: Spot, info: mi.StructType, required: bool) -> dict[str, Any]:
        fields = {f.encode_name: f for f in info.fields}
        values: dict[str, Any] = {}
        for key, value in spot.once():
            known = fields.get(key.text)
            if known is None:
                expected = f"one of {listed(fields)}"
                spot.on(key).wrong(f"the unknown key {shown(key.text)}", expected, near(key.text, fields))
            else:
                values[known.name] = self._field(spot, value, known)
        for name, wanted in fields.items():
            if required and wanted.name not in values:
                if _is_later(wanted) and self.later is not None:
                    values[wanted.name] = self._later(spot, spot.named(name))
                elif wanted.required:
                    spot.named(name).wrong("nothing", _described(wanted.type))
                    values[wanted.name] = INVALID
        return values

    def _field(self, owner: Spot, spot: Spot, info: mi.Field) -> Any:
        if _is_later(info) and self.later is not None:
            return self._later(owner, spot)
        return self._value(spot, info.type)

    def _later(self, owner: Spot, spot: Spot) -> Any:
        assert self.later is not None
        return self.later(owner, spot)

    def _mismatch(self, spot: Spot, expected: str, hint: str = "") -> Any:
        spot.wrong(_kind_of_node(spot.node), expected, hint)
        return INVALID


@lru_cache(maxsize=256)
def _inspected(type_: Any) -> Any:
    return mi.type_info(type_)


def _refused(spot: Spot, error: scalars.NotThat) -> Any:
    spot.wrong(error.found, error.expected, error.hint)
    return INVALID


def nothing(node: Node) -> bool:
    """Whether a value is left empty."""
    return isinstance(node, Text) and node.plain and node.text in ("", "~", "null")


def _is_later(info: mi.Field) -> bool:
    return isinstance(info.type, mi.Metadata) and bool((info.type.extra or {}).get("later"))


def _kind_of_node(node: Node) -> str:
    if isinstance(node, Text):
        return "nothing" if nothing(node) else shown(node.text)
    if isinstance(node, Items):
        return f"a list of {len(node.items)}"
    return "keys and values"


def _described(info: mi.Type) -> str:
    """What a missing key should hold, in a few words."""
    if isinstance(info, mi.Metadata):
        unit = (info.extra or {}).get("unit")
        return scalars.example(unit) if unit is not None else _described(info.type)
    if isinstance(info, mi.LiteralType):
        return f"one of {listed(str(v) for v in info.values)}"
    if isinstance(info, mi.StructType):
        return f"keys and values ({listed(f.encode_name for f in info.fields)})"
    return _WORDS.get(type(info), "a value")


_WORDS: dict[type, str] = {
    mi.VarTupleType: "a list",
    mi.ListType: "a list",
    mi.TupleType: "a list",
    mi.StrType: "text",
    mi.DictType: "keys and values",
    mi.DateType: "a date such as 2026-03-31",
    mi.DateTimeType: "a date and time such as 2026-03-31 14:05",
    mi.BoolType: "yes or no",
    mi.IntType: "a whole number",
    mi.FloatType: "a number",
}
