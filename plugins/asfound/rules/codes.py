"""What must hold for codes: they are well formed, and reports and signatures name one that was published."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence

from ..book import Book
from ..car.phrases import counted
from ..trust.codes import check_code
from ..trust.reports import Report, Signature
from ..work.recipes import Recipe
from .base import Problem, Rule, Stage


def past_codes_are_sound(book: Book, recipe: Recipe) -> Iterator[Problem]:
    """The file of past codes holds codes, oldest first; that each stands once is asked in ``twice``."""
    past = book.past_codes(recipe.id)
    for index, one in enumerate(past):
        at = book.codes_origin(recipe.id).at("codes", index).at
        for keys, code in (
            (("sheet_code",), one.sheet_code),
            *((("work", name), code) for name, code in one.work.items()),
            *((("fits", name), code) for name, code in one.fits.items()),
        ):
            if check_code(code) != "ok":
                yield Problem(
                    at(*keys),
                    f"{code} is no code: its check letter does not match",
                    "restore it from the repository's history; codes are written by the program alone",
                )
        if index and one.on < past[index - 1].on:
            yield Problem(
                at("date"),
                f"{one.on} is earlier than {past[index - 1].on} above it",
                "put the oldest first",
                also=(book.codes_origin(recipe.id).at("codes", index - 1, "date"),),
            )


def codes_are_known(book: Book, recipes: Sequence[Recipe]) -> Iterator[Problem]:
    """Reports and signatures name a code that the recipe has or had.

    A code on which several agree is no misprint: then it is the recipe that has changed since.
    """
    whose: dict[str, str] = {}
    for recipe in recipes:
        named: tuple[Report | Signature, ...] = (*book.reports(recipe.id), *book.signatures(recipe.id))
        if not named:
            continue
        present = book.codes(recipe.id).sheet
        known = {present} | {past.sheet_code for past in book.past_codes(recipe.id)}
        unknown: dict[str, list[Report | Signature]] = defaultdict(list)
        for each in named:
            if each.sheet_code not in known:
                unknown[each.sheet_code].append(each)
        if unknown and not whose:  # all codes of all recipes, only for what is wrong
            whose = {past.sheet_code: other for other in book.recipes for past in book.past_codes(other)}
            whose |= {book.codes(other.id).sheet: other.id for other in recipes}
        for code, named_by in unknown.items():
            origins = tuple(each.origin.at("sheet_code") for each in named_by)
            if check_code(code) == "ok" and code not in whose:
                yield Problem(
                    recipe.origin.at("recipe"),
                    f"the sheet code is {present} now; {_count(named_by)} {code}, which is not known here",
                    f"undo the change; if it is meant, let asfound publish note {code} on the main branch"
                    " before this is merged, and bring that in here",
                    also=origins,
                )
                continue
            for origin in origins:
                yield Problem(origin, *_not_of(recipe.id, code, whose.get(code), known))


def _not_of(recipe: str, code: str, other: str | None, known: Iterable[str]) -> tuple[str, str]:
    """What is wrong with a code that is mistyped, or another recipe's, and what to write."""
    if other is not None:
        return (
            f"{code} is the sheet code of {other}, not of {recipe}",
            f"write the code of the sheet that was followed, or move this to {other}",
        )
    near = next((each for each in sorted(known) if _differ(code, each) <= 2), None)
    return (
        f"{code} is mistyped: its check letter does not match",
        "compare it with the sheet that was followed" + (f"; it may be {near}" if near else ""),
    )


def _differ(one: str, other: str) -> int:
    return sum(a != b for a, b in zip(one, other, strict=False)) + abs(len(one) - len(other))


def _count(named_by: list[Report | Signature]) -> str:
    reports = sum(isinstance(each, Report) for each in named_by)
    parts = [
        counted(number, noun)
        for number, noun in ((reports, "report"), (len(named_by) - reports, "signature"))
        if number
    ]
    return f"{' and '.join(parts)} {'name' if len(named_by) > 1 else 'names'}"


def present_code_is_kept_rightly(book: Book, recipe: Recipe) -> Iterator[Problem]:
    """Where the present sheet code is among those that were published, it stands for the present work."""
    past_codes = book.past_codes(recipe.id)
    present = book.codes(recipe.id) if past_codes else None
    for index, past in enumerate(past_codes):
        if present is None or past.sheet_code != present.sheet:
            continue
        origin = book.codes_origin(recipe.id).at("codes", index)
        for key, kept, now in (("work", past.work, present.work), ("fits", past.fits, present.fits)):
            for name in sorted(set(kept) | set(now) if kept else ()):
                if kept.get(name) != now.get(name):
                    yield Problem(
                        origin.at(key, name) if name in kept else origin.at(key),
                        f"{name} has the code {now[name]} now, and the sheet code is still that of this entry"
                        if name in now
                        else f"sheet {past.sheet_code} says nothing of {name}",
                        "restore it from the repository's history; codes are written by the program alone",
                    )


RULES = (
    Rule(
        "code-out-of-order",
        "Each past code has its right check letter, and the oldest stands first.",
        "Evidence for one set of instructions would count for another.",
        "Restore the file from the repository's history; only asfound publish writes it.",
        "recipe",
        past_codes_are_sound,
        Stage.NAMES,
    ),
    Rule(
        "unknown-code",
        "Reports and signatures name a sheet code that the recipe has or had.",
        "Evidence for one set of instructions would count for another.",
        "Compare the code with the sheet that was followed; asfound publish notes earlier ones, nobody else.",
        "recipes",
        codes_are_known,
        Stage.CODES,
    ),
    Rule(
        "code-kept-wrongly",
        "Where the file of past codes names the present sheet, it has the present work codes.",
        "Evidence for earlier work would count for the present.",
        "Restore the file from the repository's history; only asfound publish writes it.",
        "recipe",
        present_code_is_kept_rightly,
        Stage.CODES,
    ),
)
