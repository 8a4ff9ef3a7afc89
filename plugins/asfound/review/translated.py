"""What changed in translations: readers act on them, and nobody's signature is for them."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import islice

from ..book import Book
from ..source.names import original_of
from ..source.translations import Translation
from .both import Both, change
from .review import Area, Change, Fact, Subject

_SHOWN = 12  # texts of a file
_AREAS: dict[str, Area] = {"vehicles": "line", "modules": "module", "changes": "recipe"}


def translation_changes(both: Both) -> Iterator[Change]:
    """Every text that is said otherwise in some language, file by file."""
    for path in sorted(both.files):
        original = original_of(path)
        if original is None:
            continue
        tag, of = path.split("/")[1], original.removesuffix(".yml").removesuffix("/recipe")
        was, now = (book.loaded.translations.get(tag, {}).get(of) for book in (both.before, both.after))
        before, after = _texts(was), _texts(now)
        moved = [text for text in dict.fromkeys((*before, *after)) if before.get(text) != after.get(text)]
        if not moved:
            continue
        facts = []
        for text in islice(moved, _SHOWN):
            facts.append(Fact("original", text))
            facts += [Fact("before", before[text])] if text in before else []
            facts += [Fact("after", after[text])] if text in after else []
        more = f" The first {_SHOWN} are shown." if len(moved) > _SHOWN else ""
        many = "1 text is" if len(moved) == 1 else f"{len(moved)} texts are"
        says = f"In the language {tag}, {many} said otherwise.{more}"
        yield change(_subject(both, of, original), "translation-changed", says, tuple(facts))


def _texts(translation: Translation | None) -> dict[str, str]:
    return dict(translation.memory) if translation else {}


def _subject(both: Both, of: str, original: str) -> Subject:
    folder, _, name = of.rpartition("/")
    area = _AREAS.get(folder, "club")

    def thing(book: Book) -> tuple[object, str] | None:
        match area:
            case "line":
                return (found, found.name) if (found := book.lines.get(name)) else None
            case "module":
                return (module, module.name) if (module := book.modules.get(name)) else None
            case "recipe":
                return (recipe, recipe.title) if (recipe := book.recipes.get(name)) else None
            case _:
                return book.club, book.club.name

    was, now = thing(both.before), thing(both.after)
    title = (now or was or (None, name))[1]
    id = both.after.club.id if area == "club" else name
    return Subject(area, id, title, both.state(original, was and was[0], now and now[0]))
