"""``asfound explain``: what a finding means, why it matters, what helps, and an example."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence

import click

from ..rules.kinds import every_example, every_kind, groups, near
from . import COULD_NOT_RUN


@click.command()
@click.argument("ids", nargs=-1, metavar="[ID…]")
def explain(ids: Sequence[str]) -> None:
    """Say more about findings: meaning, reason, repair, example.

    ID is what stands in brackets behind a finding's place, such as does-not-come-out. Without ID, all are
    listed.

    Exit status: 0 done, 2 could not run.
    """
    kinds, ids = every_kind(), [id.strip("[]") for id in ids]
    unknown = [id for id in ids if id not in kinds]
    for id in unknown:
        alike = near(id, kinds)
        hint = f"Near it: {', '.join(alike)}." if alike else "asfound explain lists all."
        click.echo(f"asfound explain: no finding is called {id}. {hint}", err=True)
    if unknown:
        sys.exit(COULD_NOT_RUN)
    click.echo("\n".join(_one(ids) if ids else _all()))


def _all() -> Iterator[str]:
    kinds = every_kind()
    width = max(map(len, kinds)) + 2
    for number, group in enumerate(groups()):
        if number:
            yield ""
        yield group.title
        yield from (f"  {id:{width}}{kinds[id].says}" for id in group.kinds)


def _one(ids: Sequence[str]) -> Iterator[str]:
    for number, id in enumerate(dict.fromkeys(ids)):
        entry, example = every_kind()[id], every_example()[id]
        if number:
            yield ""
        yield id
        yield f"  {entry.says}"
        yield f"  Why: {entry.matters}"
        yield f"  What helps: {entry.helps}"
        yield f"  An example, in {example.file}" + (f" ({example.note.rstrip('.')})" if example.note else "")
        yield "    Wrong:"
        yield from (f"      {line}" for line in example.bad.split("\n"))
        yield "    Right:"
        yield from (f"      {line}" for line in example.good.split("\n"))
