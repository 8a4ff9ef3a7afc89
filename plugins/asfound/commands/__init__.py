"""The commands, one file each, imported only when asked for, so that ``asfound --help`` answers at once.

To add one: a file here with a click command, and a row in ``COMMANDS``.
"""

from __future__ import annotations

import errno
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from importlib import import_module
from typing import Any, NamedTuple

import click

CLEAN, FINDINGS, COULD_NOT_RUN = 0, 1, 2  # exit status of every command
PIPE_CLOSED = 141  # what a shell says of programs whose reader has gone: 128 and the number of SIGPIPE, 13


class Entry(NamedTuple):
    """Where a command is found (``file:name`` below this room), and its line in the list of commands."""

    where: str
    says: str


COMMANDS: dict[str, Entry] = {
    "drift": Entry("drift:drift", "Compare a later reading with a car's log."),
    "explain": Entry("explain:explain", "Say more about findings: meaning, reason, repair, example."),
    "handover": Entry("handover:handover", "Say what stands in a car, for a workshop or its next owner."),
    "init": Entry("init:init", "Make a club's repository that builds at once."),
    "new": Entry("new:new", "Begin a file: a recipe, a report, a module, a vehicle line."),
    "plan": Entry("plan:plan", "Merge recipes into one job."),
    "publish": Entry("publish:publish", "Note the sheet code of every recipe that changed."),
    "review": Entry(
        "review:review", "Say what changed in the car between two commits, and what to look at by hand."
    ),
    "serve": Entry("serve:serve", "Show the site at an address of this computer, and every change at once."),
    "sheet": Entry("sheet:sheet", "Print garage sheets as PDF."),
    "site": Entry("site:site", "Build the whole site; the old one stays until the new one is complete."),
    "translations": Entry(
        "translations:translations", "Say how far each file of a book is translated into a language."
    ),
    "vet": Entry("vet:vet", "Sign the present sheet of a recipe."),
    "work": Entry("work:work", "Work out what to write for a recipe, from what was found."),
}


class LazyGroup(click.Group):
    """A group whose commands are named in ``COMMANDS`` besides those registered with it."""

    def make_context(self, *args: Any, **extra: Any) -> click.Context:
        """Reads the words before the command's name, such as ``--help``, which is printed here."""
        with _heard():
            return super().make_context(*args, **extra)

    def invoke(self, ctx: click.Context) -> Any:
        """Runs a command; what the system refuses it, such as room on the disk, is one line."""
        try:
            with _heard():
                return super().invoke(ctx)
        except OSError as error:
            where = f" ({error.filename})" if error.filename else ""
            click.echo(f"asfound: {error.strerror or error}{where}", err=True)
            ctx.exit(COULD_NOT_RUN)

    def list_commands(self, ctx: click.Context) -> list[str]:
        """The names of all commands, sorted."""
        return sorted({*super().list_commands(ctx), *COMMANDS})

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of that name; imports its file."""
        if cmd_name not in COMMANDS:
            return super().get_command(ctx, cmd_name)
        file, name = COMMANDS[cmd_name].where.split(":")
        command = getattr(import_module(f"{__name__}.{file}"), name)
        assert isinstance(command, click.Command)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The list of commands, without importing any."""
        rows = []
        for name in self.list_commands(ctx):
            own = self.commands.get(name)
            rows.append((name, own.get_short_help_str(80) if own else COMMANDS[name].says))
        with formatter.section("Commands"):
            formatter.write_dl(rows)


@contextmanager
def _heard() -> Iterator[None]:
    """Ends quietly when whoever read along has gone; click would end with the status of findings."""
    try:
        yield
    except OSError as error:
        if error.errno != errno.EPIPE:
            raise
        nowhere = os.open(os.devnull, os.O_WRONLY)
        for stream in (sys.stdout, sys.stderr):  # what they still hold is written when the program ends
            os.dup2(nowhere, stream.fileno())
        raise click.exceptions.Exit(PIPE_CLOSED) from error
