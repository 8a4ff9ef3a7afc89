"""The whole book as one document for other programs, described by ``schema/book.schema.json``.

What the files say stands in the form of the files; beside it stands what follows from them: edits, codes,
hazards by rule, which variants a recipe fits, what the club says of each, what the reports come to. Within a
version keys are added, never changed or removed.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator
from functools import partial

from .. import __version__
from ..book import Book
from ..car.fitting import Answer
from ..car.words import say
from ..trust import risk
from ..trust.evidence import Count
from ..trust.vetting import Standing
from ..work.compiled import Edit, NamesEdit
from ..work.forms import variants
from ..work.recipes import Recipe
from . import fileform, links
from .compiled import condition
from .document import Document, Part
from .fileform import Object, lean
from .links import Link
from .views.desk import Desk, VariantKey

VERSION = 1


def document(desk: Desk, url: Link) -> Document:
    """The document as UTF-8, a line for each vehicle line, module and recipe; the same book, the same bytes.

    ``url`` gives where a page lies, as seen from the document.
    """
    book = desk.book
    publish = book.club.access_codes == "publish"
    lists: dict[str, tuple[Iterable[str], Callable[[str], object]]] = {
        "vehicles": (book.lines, lambda id: fileform.line(book.lines[id])),
        "modules": (book.modules, lambda id: fileform.module(book.modules[id], publish)),
        "recipes": (book.recipes, lambda id: recipe(desk, book.recipes[id], url)),
    }
    head = {"asfound_book": VERSION, "made_by": f"asfound {__version__}", "club": fileform.club(book.club)}
    before = "{" + ",\n".join(f'"{key}":{_spell(value)}' for key, value in head.items())
    parts: list[Part] = []
    for key, (ids, one) in lists.items():
        before += f',\n"{key}":['
        for id in sorted(ids):
            parts.append((id, partial(_row, f"{before}\n", one, id)))
            before = ","
        before = "\n]" if before == "," else f"{before}]"
    return Document(links.BOOK, (*parts, ("", (before + "}\n").encode)))


def _row(before: str, one: Callable[[str], object], id: str) -> bytes:
    return (before + _spell(one(id))).encode()


def _spell(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"), allow_nan=False)


def recipe(desk: Desk, one: Recipe, url: Link) -> Object:
    """A recipe: its file, and what follows from it and from all others."""
    book = desk.book
    codes = book.codes(one.id)
    evidence = book.evidence(one.id)
    total, key_on = book.minutes(one.id)
    hazards = book.hazards(one.id)
    return lean(
        file=fileform.recipe(one),
        page=url(links.recipe(one.id)),
        standing=desk.kind(one),
        codes={"sheet": codes.sheet, "work": dict(codes.work)} | lean(fits=dict(codes.fits)),
        past_codes=[fileform.past_code(past) for past in book.past_codes(one.id)],
        functions=list(book.functions(one.id)),
        signal_word=risk.banner(hazards),
        hazards=_hazards(book, one),
        minutes={"all": total, "key_on": key_on},
        fits_words=say(one.fits, book.names),
        variants=[_variant(desk, one, key, answer) for key, answer in desk.cells(one.id).items()],
        layouts=[
            {"layout": key, "evidence": _evidence(evidence.count(layout=key))} for key in sorted(codes.work)
        ],
        edits=list(_edits(book, one)),
        meetings=[
            {"recipe": m.other, "record": str(m.record), "kind": m.kind, "clashes": m.clashes}
            for m in sorted(book.meetings(one.id), key=lambda m: (m.other, str(m.record), m.kind))
        ],
        signatures=[
            fileform.signature(each.signature) | {"validity": each.validity} for each in book.examined(one.id)
        ],
        reports=[
            fileform.report(each.report) | {"weight": each.weight} | lean(layouts=list(each.sure))
            for each in evidence.weighed
        ],
    )


def _hazards(book: Book, one: Recipe) -> list[Object]:
    authored = len(one.hazards)
    by_rule = authored + len(book.standing_hazards(one.id))
    return [
        lean(
            hazard=hazard.hazard,
            consequence=hazard.consequence,
            avoid=hazard.avoid,
            harm=hazard.harm,
            loss=hazard.loss,
            certainty=hazard.certainty,
            likelihood=hazard.likelihood,
            signal_word=risk.signal_word(hazard),
            level=risk.risk(hazard),
            source="author" if at < authored else "rule" if at < by_rule else "reports",
        )
        for at, hazard in enumerate(book.hazards(one.id))
    ]


def _variant(desk: Desk, one: Recipe, key: VariantKey, answer: Answer) -> Object:
    line, model, phase = key
    out: Object = {"line": line, "model": model, "phase": phase, "answer": answer.kind}
    if answer.kind == "if" and answer.residual is not None:
        out |= {"if": condition(answer.residual), "if_words": say(answer.residual, desk.names, line)}
    standing = desk.standings(one.id).get(key)
    if standing is not None:
        out |= _standing(standing) | {"evidence": _evidence(desk.book.evidence(one.id).count(key))}
    return out


def _standing(one: Standing) -> Object:
    return lean(standing=one.label, reasons=list(one.reasons), signed_by=list(one.signed_by))


def _evidence(count: Count) -> Object:
    """Wilson's interval in per cent, to a tenth; left out where there is nothing to count."""
    out = {"worked": count.worked, "reports": count.total, "members": count.members, "failed": count.bad}
    if not count.total:
        return out
    low, high = (round(share * 100, 1) for share in count.interval)
    return out | {"interval": [low, high]} | lean(longest_in_use=count.longest_in_use)


def _edits(book: Book, one: Recipe) -> Iterator[Object]:
    """The compiled edits, each with the places in the list of changes of those it carries out."""
    ways = book.forms(one.id)
    sets = [
        changes
        for path, layout in book.reached(one.id)
        for changes in variants(ways, path, layout.id if layout else None)
    ]
    for changes, edit in zip(sets, book.edits(one.id), strict=True):
        yield {"changes": [one.changes.index(change) for change in changes], **_edit(edit)}


def _edit(one: Edit | NamesEdit) -> Object:
    """Raw values as decimal text, since they may be longer than other programs' numbers."""
    if isinstance(one, NamesEdit):
        fields = [
            lean(
                setting=f.setting.setting,
                before_words=f.before_words,
                to_words=f.to_words,
                asked=f.asked or None,
            )
            for f in one.fields
        ]
        return {"record": str(one.record), "fields": fields}
    return {
        "record": str(one.record),
        "layout": one.layout,
        "length": one.length,
        "mask": one.mask.hex(" ").upper(),
        "bits": one.bits.hex(" ").upper(),
        "fields": [
            lean(
                setting=f.setting.setting,
                before=None if f.before_raw is None else str(f.before_raw),
                before_words=f.before_words,
                to=str(f.to_raw),
                to_words=f.to_words,
                rounded=None if f.exact else True,
                asked=f.asked or None,
            )
            for f in one.fields
        ],
    }
