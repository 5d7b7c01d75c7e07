"""Practice of a whole shop: everybody at a glance, as data for programs and spreadsheets, and all that is kept."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final

from readiness.measure.proportion import Share
from readiness.practice.finished import Finished, KeptCall, KeptGo, first_time
from readiness.practice.score import (
    ALARM_ON_SOUND,
    GO_ON_BAD,
    MASTERED,
    NO_GO_ON_SOUND,
    PASS_ON_BAD,
    Score,
    Tally,
)
from readiness.report.columns import columns
from readiness.report.csv import Cell, safe
from readiness.report.text import WIDTH, clean, wrapped

HEAD: Final = (
    ("", "cars", "sides", "", "checks", "", "points", "checks", "next"),
    ("who", "met", "caught", "right", "caught", "right", "kept", "mastered", "level"),
)
SCORE_COLUMNS: Final = (
    "person", "of", "check", "title", "caught", "bad", "caught_low", "caught_high", "right", "sound", "right_low",
    "right_high", "mastered",
)  # fmt: skip
MARK_COLUMNS: Final = (
    "person", "seed", "level", "sheet", "at", "catalogue", "counts", "of", "check", "title", "side", "said", "worth", "bad",
    "near", "fault", "engine", "unseen", "for_nothing",
)  # fmt: skip


def table(scores: Sequence[Score], width: int = WIDTH) -> list[str]:
    """A line for each person."""
    if not scores:
        return ["Nobody has practised in this shop yet: 'readiness practise' begins."]
    told = wrapped(
        "Caught: of the bad ones. Right: of the sound ones. Only the first time with a car counts. "
        "'readiness practise --scores --as NAME' says how sure each is, and what to practise next."
    )
    return [*columns([*HEAD, *map(_row, scores)], width, {0: 8}), "", *told]


def _row(score: Score) -> tuple[str, ...]:
    share = score.points.share
    asked = [t for t in score.topics if t.to_practise]
    return (
        clean(score.person), str(score.exercises), *map(_short, (score.goes.bad, score.goes.sound)),
        *map(_short, (score.checks.bad, score.checks.sound)), "" if share is None else f"{math.floor(100 * share)} %",
        f"{sum(t.tally.mastered for t in asked)}/{len(asked)}", str(score.level),
    )  # fmt: skip


def _short(share: Share) -> str:
    return f"{share.hits}/{share.of}" if share.of else "-"


def scores_as_dict(scores: Iterable[Score], notes: Sequence[str] = ()) -> dict[str, Any]:
    """The same for programs, with every interval."""
    return {
        "mastered_from": MASTERED,
        "weights": {
            "go_on_bad_car": GO_ON_BAD,
            "bad_check_passed": PASS_ON_BAD,
            "no_go_on_sound_car": NO_GO_ON_SOUND,
            "sound_check_not_passed": ALARM_ON_SOUND,
        },
        "people": [_score_as_dict(score) for score in scores],
        "notes": list(notes),
    }


def _score_as_dict(score: Score) -> dict[str, Any]:
    return {
        "person": score.person,
        "cars": score.exercises,
        "met_again": score.repeated,
        "points": {"kept": score.points.kept, "at_stake": score.points.at_stake},
        "sides": _tally_as_dict(score.goes),
        "checks": _tally_as_dict(score.checks),
        "topics": [{"check": t.check, "title": t.title, **_tally_as_dict(t.tally)} for t in score.topics],
        "measured_for_nothing": score.for_nothing,
        "passed_without_a_look": score.unlooked,
        "got_past": [{"fault": fault, "times": times} for fault, times in score.got_past],
        "practise_next": score.practise.check if score.practise else None,
        "next_level": score.level,
    }


def _tally_as_dict(tally: Tally) -> dict[str, Any]:
    return {
        "caught": _share_as_dict(tally.bad),
        "right": _share_as_dict(tally.sound),
        "mastered": tally.mastered,
    }


def _share_as_dict(share: Share) -> dict[str, Any]:
    low, high = share.interval
    return {"count": share.hits, "of": share.of, "low": round(low, 4), "high": round(high, 4)}


def scores_as_csv(scores: Iterable[Score]) -> str:
    """One row for each person's sides, all checks together, and each check."""
    rows: list[tuple[Cell, ...]] = []
    for score in scores:
        rows.append((score.person, "side", "", "", *_tally_cells(score.goes)))
        rows.append((score.person, "checks", "", "", *_tally_cells(score.checks)))
        rows += [(score.person, "check", t.check, t.title, *_tally_cells(t.tally)) for t in score.topics]
    return _csv(SCORE_COLUMNS, rows)


def _tally_cells(tally: Tally) -> tuple[Cell, ...]:
    (bad_low, bad_high), (low, high) = tally.bad.interval, tally.sound.interval
    return (
        tally.bad.hits, tally.bad.of, round(bad_low, 4), round(bad_high, 4), tally.sound.hits, tally.sound.of,
        round(low, 4), round(high, 4), _yes(tally.mastered),
    )  # fmt: skip


def marks_as_csv(people: Mapping[str, Sequence[Finished]]) -> str:
    """All that is kept, one row for each mark; `counts` says whether the car was met for the first time."""
    rows: list[tuple[Cell, ...]] = []
    for results in people.values():
        firsts = {id(result) for result in first_time(results)}
        for result in results:
            head = (
                result.by, result.seed, result.level, result.sheet, result.at.isoformat(), result.catalogue,
                _yes(id(result) in firsts),
            )  # fmt: skip
            rows += [(*head, *_call_cells(call)) for call in result.calls]
            rows += [(*head, *_go_cells(go)) for go in result.goes]
    return _csv(MARK_COLUMNS, rows)


def _call_cells(call: KeptCall) -> tuple[Cell, ...]:
    return (
        "check", call.check, call.title, call.side, call.said, call.worth, _yes(call.bad), _yes(call.near), call.fault,
        call.engine, "; ".join(call.unseen), "; ".join(call.for_nothing),
    )  # fmt: skip


def _go_cells(go: KeptGo) -> tuple[Cell, ...]:
    said = "go" if go.said else "no-go"
    return ("side", "", "", go.side, said, go.worth, _yes(go.bad), "", "", "", "", "")


def _csv(head: Sequence[str], rows: Iterable[Sequence[Cell]]) -> str:
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(head)
    writer.writerows([safe(cell) for cell in row] for row in rows)
    return out.getvalue()


def _yes(so: bool) -> str:
    return "yes" if so else "no"
