"""Prose fields: the few sentences that may carry emphasis, code, lists and links, and nothing else.

A field becomes a balanced fragment of ``p ul ol li em strong code a``; the only attribute is ``href``. What
is not understood (raw HTML, headings, tables) stays on the page as it was typed. Links, which could do harm,
are checked here, before and apart from nh3, which stands behind as a second wall: if it would change
anything, the field is refused.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import lru_cache
from typing import TYPE_CHECKING

import nh3

from .guards import visible

if TYPE_CHECKING:
    from markdown_it import MarkdownIt
    from markdown_it.token import Token

TAGS = frozenset({"p", "ul", "ol", "li", "em", "strong", "code", "a"})

# CommonMark 0.31's constructs by the names markdown-it gives them; `newline` is left out, so that two blanks
# at the end of a line do nothing.
_RULES = ("list", "backticks", "emphasis", "link", "escape")

_RECIPE = re.compile(r"recipe:([a-z0-9]+(?:-[a-z0-9]+)*)\Z")
# RFC 3986 with less: https, a dotted host of letters, digits and hyphens, no user, printable ASCII.
_LABEL = r"[A-Za-z0-9](?:[A-Za-z0-9-]{0,61}[A-Za-z0-9])?"
_HTTPS = re.compile(
    rf"https://(?:{_LABEL}\.)+[A-Za-z]{{2,63}}(?::[0-9]{{1,5}})?"
    r"(?:[/?#](?:[A-Za-z0-9._~!$'()*+,;=:@/?#&-]|%[0-9A-Fa-f]{2})*)?\Z"
)
_LONGEST_URL = 500


class ProseProblem(ValueError):
    """A prose field that cannot be shown: ``reason`` and ``repair``, one line each."""

    def __init__(self, reason: str, repair: str) -> None:
        super().__init__(f"{reason} {repair}")
        self.reason = reason
        self.repair = repair


def _nothing_to_normalise(url: str) -> str:
    return url


@lru_cache(maxsize=1)
def _reader() -> MarkdownIt:
    from markdown_it import MarkdownIt  # a seventh of what a check loads, and most changes have plain words

    reader = MarkdownIt("zero", {"html": False}).enable(list(_RULES))
    # Every address goes to our own check: one that markdown-it dislikes would stay as text, unreported.
    reader.validateLink = lambda url: True  # type: ignore[method-assign]
    reader.normalizeLink = _nothing_to_normalise  # type: ignore[method-assign]
    return reader


def _text(text: str) -> str:
    """Text as an HTML serialiser writes it (HTML Living Standard 13.3): nothing for nh3 to rewrite."""
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;").replace("\u00a0", "&nbsp;")


def address(url: str) -> tuple[str, str]:
    """("recipe", its id) or ("web", the address); ProseProblem for everything else."""
    if match := _RECIPE.match(url):
        return "recipe", match[1]
    if len(url) <= _LONGEST_URL and _HTTPS.match(url):
        return "web", url
    shown = url if len(url) <= 60 else url[:57] + "…"
    raise ProseProblem(
        f"A link leads to {shown!r}.",
        "Write a whole address that begins with https://, or recipe: and the id of a recipe.",
    )


def _inline(tokens: list[Token], recipe: Callable[[str], str], out: list[str]) -> None:
    for at, token in enumerate(tokens):
        match token.type:
            case "text":
                if (
                    token.content.endswith("!")
                    and at + 1 < len(tokens)
                    and tokens[at + 1].type == "link_open"
                ):
                    raise ProseProblem(
                        "A picture stands in the text.",
                        "Declare it under pictures and name it in a step.",
                    )
                out.append(_text(token.content))
            case "code_inline":
                out.append(f"<code>{_text(token.content)}</code>")
            case "em_open" | "em_close" | "strong_open" | "strong_close":
                name, _, end = token.type.partition("_")
                out.append(f"</{name}>" if end == "close" else f"<{name}>")
            case "link_open":
                if token.attrs.get("title"):
                    raise ProseProblem("A link has a title in quotes.", "Leave the title out.")
                close = next(n for n in range(at, len(tokens)) if tokens[n].type == "link_close")
                if not visible("".join(inside.content for inside in tokens[at:close])):
                    raise ProseProblem("A link has no words.", "Write what it leads to between the brackets.")
                kind, where = address(str(token.attrs["href"]))
                out.append(f'<a href="{_text(recipe(where) if kind == "recipe" else where)}">')
            case "link_close":
                out.append("</a>")
            case "hardbreak" | "softbreak":
                out.append("\n")
            case other:  # a rule that markdown-it might add to those enabled
                raise ProseProblem(f"The text holds a {other}.", "Use plain sentences.")


def _block(tokens: list[Token], recipe: Callable[[str], str], out: list[str]) -> None:
    for token in tokens:
        match token.type:
            case "inline":
                _inline(token.children or [], recipe, out)
            case "paragraph_open" | "paragraph_close" if token.hidden:
                pass  # the paragraph of a tight list's item
            case "ordered_list_open" if token.attrs.get("start", 1) != 1:
                number = token.attrs["start"]
                raise ProseProblem(
                    f"A numbered list begins with {number}.",
                    f"Begin with 1, or write {number}\\. where no list is meant.",
                )
            case _ if token.tag in TAGS:
                out.append(f"</{token.tag}>" if token.nesting < 0 else f"<{token.tag}>")
            case other:
                raise ProseProblem(f"The text holds a {other}.", "Use plain sentences.")


def second_wall(html: str) -> str:
    """``html`` unchanged; ProseProblem when nh3 would change it."""
    cleaned = nh3.clean(
        html, tags=set(TAGS), attributes={"a": {"href"}}, url_schemes={"https"}, link_rel=None
    )
    if cleaned != html:
        raise ProseProblem("The text holds something that a browser could run.", "Use plain sentences.")
    return html


# One paragraph of plain words: nothing that any rule above reads as a mark or as the beginning of a list.
# Most fields are so, and reading them costs half the time of a page.
_PLAIN = re.compile(r"[^\W\d_][^*_`\[\]\\\r\n\t\0]*\Z")


def render(text: str, recipe: Callable[[str], str]) -> str:
    """The field as a balanced HTML fragment; ``recipe`` gives the href of a recipe's page.

    Raises ProseProblem for a link that leads anywhere but to https or a recipe, a picture, a numbered list
    that does not begin with 1, or anything the second wall would change.
    """
    if _PLAIN.match(text):
        return f"<p>{_text(text.strip())}</p>"
    out: list[str] = []
    _block(_reader().parse(text), recipe, out)
    return second_wall("".join(out))


def mentioned(text: str) -> tuple[str, ...]:
    """The ids of the recipes a field links to, in order; ProseProblem as ``render``."""
    seen: list[str] = []

    def note(recipe: str) -> str:
        seen.append(recipe)
        return "#"

    render(text, note)
    return tuple(seen)


def plain(text: str) -> str:
    """The field's words on one line, without marks: for descriptions and search."""
    return " ".join(text.split()) if _PLAIN.match(text) else _without_marks(text)


@lru_cache(maxsize=1 << 14)  # a preview asks for the same fields at each change
def _without_marks(text: str) -> str:
    words: list[str] = []
    for token in _reader().parse(text):
        for child in token.children or ():
            words.append(child.content)
        words.append(" ")
    return " ".join("".join(words).split())
