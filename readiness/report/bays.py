"""Which bay can take a car, as plain lines and as one JSON object. The answer first, bay by bay after it."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any

from readiness.bayfit.found import BayFit, Fit
from readiness.bayfit.rank import best, best_first, takes_all, whole
from readiness.checks.words import capital
from readiness.job import Bay, Sheet, Standing, System
from readiness.report import bay_words as words
from readiness.report.text import wrapped

_IN = "    "
_DEEP = "      "


def page(sheet: Sheet, bays: Mapping[str, Bay], found: Sequence[BayFit], system: System) -> str:
    """The whole answer as text, 78 columns wide; `bays` by id, `found` in any order."""
    ranked = best_first(found)
    blocks = [
        [
            *wrapped(f"{sheet.title} ({sheet.sheet}): which bay"),
            *wrapped(f"Procedure: {sheet.document.reference}"),
        ],
        [line for b in ranked for line in wrapped(f"{b.title}: {words.answer(b, system)}", "", _IN)],
        wrapped(words.PARKED) if any(f.fits for b in ranked for f in b.fits) else [],
        *(_bay(b, bays[b.bay], system) for b in ranked),
        _details(ranked, system),
        wrapped(words.MAKER_FIRST),
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def _bay(found: BayFit, bay: Bay, system: System) -> list[str]:
    """A bay with every mode, what fits and serves most first; modes of which the same is said stand together."""
    told: dict[tuple[str, ...], list[str]] = {}
    for fit in sorted(found.fits, key=lambda f: (not f.fits, f not in whole(found))):
        more = _place(fit, bay, system) if fit.fits else [words.needed(fit, system)]
        key = (words.verdict(fit, system, alone=False), *filter(None, more))
        told.setdefault(key, []).append("" if fit.mode == "single" else words.TITLES[fit.mode])
    lines = wrapped(found.title)
    for (verdict, *sentences), titles in told.items():
        said = f"{words.EITHER if len(titles) > 1 else titles[0]}: {verdict}".removeprefix(": ")
        lines += wrapped(capital(said), "  ", _IN)
        lines += [line for text in sentences for line in wrapped(text, _IN, _DEEP)]
    return lines


def _place(fit: Fit, bay: Bay, system: System) -> list[str]:
    return [
        *words.park(fit, system),
        words.way_round(fit, bay.standing, system),
        words.closest(fit, system),
        words.on_marks(fit, system),
    ]


def _details(found: Sequence[BayFit], system: System) -> list[str]:
    """How far the search can be trusted, for who asks."""
    lines = ["How it was worked out"]
    for bay in found:
        lines += wrapped(f"{bay.title}: {' '.join(_proofs(bay, system))}", "  ", _IN)
    return lines


def _proofs(found: BayFit, system: System) -> list[str]:
    """One sentence a mode; without its name where there is one only."""
    if len(found.fits) == 1:
        return [words.proof(found.fits[0], system)]
    return [f"{words.TITLES[f.mode]}: {words.proof(f, system)}" for f in found.fits]


def as_dict(sheet: Sheet, bays: Mapping[str, Bay], found: Sequence[BayFit], system: System) -> dict[str, Any]:
    """The answer as JSON-ready data, the best bay first; lengths in m, headings in degrees."""
    return {
        "sheet": sheet.sheet,
        "document": sheet.document.reference,
        "caution": words.MAKER_FIRST,
        "how_to_tape": words.PARKED,
        "bays": [
            {
                "bay": b.bay,
                "title": b.title,
                "takes_all": takes_all(b),
                "best": best(b).mode,
                "said": words.answer(b, system),
                "modes": [_fit(f, bays[b.bay].standing, system) for f in b.fits],
            }
            for b in best_first(found)
        ],
    }


def plans(sheet: Sheet, found: Sequence[BayFit], system: System) -> dict[str, str]:
    """A plan of each bay as SVG with the place that is told first, by file name."""
    from readiness.report.svg import svg

    files: dict[str, str] = {}
    for bay in found:
        fit = best(bay)
        stem = re.sub(r"[^A-Za-z0-9_-]+", "-", bay.bay).strip("-") or "bay"
        name = next(
            n for k in range(1, len(found) + 1) if (n := f"{stem}{f'-{k}' * (k > 1)}.svg") not in files
        )
        title = f"{bay.title}: {words.verdict(fit, system)} ({sheet.title})"
        files[name] = svg(fit.picture, title=title, system=system)
    return files


def _fit(fit: Fit, usual: Standing, system: System) -> dict[str, Any]:
    place, need = fit.standing, fit.need
    return {
        "mode": fit.mode,
        "fits": fit.fits,
        "move_first": list(fit.moved),
        "said": words.verdict(fit, system),
        "standing": {"x": place.x, "y": place.y, "heading": place.heading},
        "other_way_round": fit.turned,
        "turned_by": words.turned_by(fit, usual),
        "tapes": [asdict(t) for t in fit.chalk.tapes],
        "wheels_to_the": fit.chalk.side,
        "spare": fit.spare,
        "most": fit.most,
        "bound": fit.bound,
        "binding": [asdict(b) for b in fit.binding],
        "need": None if need is None else asdict(need),
        "on_marks": fit.on_marks,
        "other_way": fit.other_way,
        "between_sides": fit.between_sides,
        "details": [words.proof(fit, system)],
    }
