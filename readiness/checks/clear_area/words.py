"""Names of things as they stand in a sentence."""

from __future__ import annotations


def the(name: str) -> str:
    """'the tool trolley', and a name of its own as it is."""
    return f"the {name}" if name[:1].islower() else name


def capital(text: str) -> str:
    return text[:1].upper() + text[1:]
