"""The command about practice: simulated cars on the screen, what they came to, how far two people agree."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from readiness.cli_files import EXISTING, SHOP, default_shop
from readiness.faults import Exit, OutputGone, need_terminal, put, say
from readiness.practice.model import LEVELS

if TYPE_CHECKING:
    from collections.abc import Mapping
    from typing import Any

    from readiness.practice.finished import Finished
    from readiness.practice.kept import Everybody
    from readiness.practice.score import Score

TOP = max(LEVELS)
"""The highest level."""
MOST = 999_999_999
"""Of a car's number."""


@click.command()
@click.option("--seed", type=click.IntRange(0, MOST), help="This car: the same to everybody.", metavar="N")
@click.option(
    "--level",
    type=click.IntRange(1, TOP),
    help=f"1 one check, to {TOP} a whole car. Without: asked.",
    metavar="N",
)
@click.option("--sheet", help="With this sheet of the practice shop. Without: any.", metavar="SHEET")
@click.option(
    "--as", "person", help="Who practises; with --scores and --export: this person only.", metavar="NAME"
)
@click.option("--scores", is_flag=True, help="Print how everybody stands, or one person in full.")
@click.option(
    "--agree", nargs=2, help="Print how far two people agree on the cars both met.", metavar="NAME NAME"
)
@click.option("--export", type=EXISTING, help="Write all that is kept as CSV; - prints it.", metavar="FILE")
@click.option("--json", "as_json", is_flag=True, help="With --scores and --agree: print one JSON object.")
@click.option("--csv", "as_csv", is_flag=True, help="With --scores: print a table for a spreadsheet.")
@SHOP
@click.pass_obj
def practise(
    shop: Path | None, /, seed: int | None, level: int | None, sheet: str | None, person: str | None, scores: bool,
    agree: tuple[str, str] | None, export: Path | None, as_json: bool, as_csv: bool, named: Path | None,
) -> int:  # fmt: skip
    """Practise on simulated cars with hidden faults, full screen. Nothing of it goes into the shop's jobs.

    What a person calls is kept under the name in the shop's folder 'practice'. With the same --seed, --level and --sheet
    everybody gets the same car; only the first time that a person meets a car counts.

    Exit code: 0 practised or printed, 2 input wrong, 3 something failed on this machine.
    """
    _fits(
        {"--scores": scores, "--agree": agree is not None, "--export": export is not None},
        {"--seed": seed is not None, "--level": level is not None, "--sheet": sheet is not None},
        as_json=as_json, as_csv=as_csv, person=person is not None,
    )  # fmt: skip
    name, where = None if person is None else _name(person), named or shop or default_shop()
    if export is not None:
        return _export(_one(_everybody(where), name), export)
    if agree is not None:
        return _agree(_everybody(where), _name(agree[0]), _name(agree[1]), as_json)
    if scores:
        return _scores(_everybody(where), name, as_json, as_csv)
    return _practise(where, seed, level, sheet, name)


def _fits(
    deeds: Mapping[str, bool], cars: Mapping[str, bool], *, as_json: bool, as_csv: bool, person: bool
) -> None:
    """Raises UsageError for options that do not go together."""
    asked = [name for name, given in deeds.items() if given]
    car = [name for name, given in cars.items() if given]
    if len(asked) > 1:
        raise click.UsageError(f"One at a time: {' or '.join(asked)}.")
    if asked and car:
        raise click.UsageError(f"{car[0]} picks a car to practise on; it does not go with {asked[0]}.")
    if person and deeds["--agree"]:
        raise click.UsageError("--agree names both people; --as does not go with it.")
    if as_json and as_csv:
        raise click.UsageError("One format at a time: --json or --csv.")
    if as_json and not (deeds["--scores"] or deeds["--agree"]):
        raise click.UsageError("--json goes with --scores or --agree.")
    if as_csv and not deeds["--scores"]:
        raise click.UsageError("--csv goes with --scores; --export FILE writes all that is kept.")


def _name(person: str) -> str:
    from readiness.practice.kept import plain_name

    try:
        return plain_name(person)
    except ValueError as fault:
        raise click.UsageError(f"'{person}' is no name of a person: {fault}.") from None


def _practise(shop: Path, seed: int | None, level: int | None, sheet: str | None, person: str | None) -> int:
    need_terminal("'readiness practise --scores' prints how everybody stands.")
    from readiness.wizard.app import run_practice

    code = int(run_practice(shop, seed, level, sheet, person) or 0)
    return Exit.MACHINE_TROUBLE if code == Exit.NO_GO else code  # an app that failed says 1 as well


# --- what is kept --------------------------------------------------------------------------------


def _everybody(shop: Path) -> Everybody:
    """All that is kept; what could not be read is told. Raises ShopError where there is no shop."""
    from readiness.practice.kept import everybody
    from readiness.records.shop import ShopFolder

    ShopFolder(shop).shop  # noqa: B018  # that there is no shop is a better message than nobody
    found = everybody(shop)
    for note in found.notes:
        say(f"Note: {note}")
    return found


def _one(found: Everybody, person: str | None) -> Mapping[str, tuple[Finished, ...]]:
    """Everybody's, or that of one person. Raises ClickException for one who never practised."""
    if person is None:
        return found.people
    if person not in found.people:
        there = ", ".join(found.people)
        known = f"there are results of {there}" if there else "there are no results yet"
        raise click.ClickException(f"Nobody called '{person}' has practised in this shop; {known}.")
    return {person: found.people[person]}


def _scores(found: Everybody, person: str | None, as_json: bool, as_csv: bool) -> int:
    from readiness.practice import to_practise
    from readiness.practice.score import score
    from readiness.report import practice as report

    mine = _one(found, person)
    stand = [score(name, results, to_practise.checks()) for name, results in mine.items()]
    if as_json:
        _put_json(report.scores_as_dict(stand, found.notes))
    elif as_csv:
        put(report.scores_as_csv(stand).replace("\r\n", "\n"))
    elif person is not None:
        put("".join(f"{line}\n" for line in _in_full(stand[0], mine[person])))
    else:
        put("".join(f"{line}\n" for line in report.table(stand)))
    return Exit.GO


def _in_full(stands: Score, results: tuple[Finished, ...]) -> list[str]:
    from readiness.practice import to_practise
    from readiness.report.practice_words import score_lines

    advised = stands.practise
    car = to_practise.next_car(advised.check, stands.level, results) if advised else None
    return score_lines(stands, faults=to_practise.faults(), car=car)


def _agree(found: Everybody, one: str, other: str, as_json: bool) -> int:
    from readiness.practice.agreement import agreement
    from readiness.report import practice_agreement as report

    if one == other:
        raise click.UsageError("--agree takes two people.")
    mine, theirs = _one(found, one)[one], _one(found, other)[other]
    told = agreement(one, mine, other, theirs)
    if as_json:
        _put_json(report.agreement_as_dict(told))
    else:
        put("".join(f"{line}\n" for line in report.agreement_lines(told)))
    return Exit.GO


def _export(people: Mapping[str, tuple[Finished, ...]], to: Path) -> int:
    from readiness.report.files import Refused, write_report
    from readiness.report.practice import marks_as_csv

    text = marks_as_csv(people)
    if str(to) == "-":
        put(text.replace("\r\n", "\n"))
        return Exit.GO
    try:
        where = write_report(to, text.encode("utf-8-sig"))
    except Refused as fault:
        raise click.ClickException(str(fault)) from None
    except OSError as fault:
        raise OutputGone(f"{to}: {(fault.strerror or type(fault).__name__).lower()}") from fault
    put(f"Written: {where}\n")
    return Exit.GO


def _put_json(told: Mapping[str, Any]) -> None:
    import json

    put(json.dumps(told, ensure_ascii=False, indent=2, allow_nan=False) + "\n")
