"""Names and words as they stand in a sentence."""

from __future__ import annotations


def the(name: str) -> str:
    """'the tool trolley', and a name of its own as it is."""
    return f"the {name}" if name[:1].islower() else name


def capital(words: str) -> str:
    """With a capital letter in front, for the beginning of a sentence."""
    return words[:1].upper() + words[1:]
