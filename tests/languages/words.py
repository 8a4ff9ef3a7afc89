"""Everything the interface says, found in its Python, templates and scripts.

Run, it brings the catalogues up to date: new sentences are added without a translation, those no longer said
are taken out.
"""

from __future__ import annotations

import ast
import re
import sys
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.pofile import write_po

from asfound.pages.environment import environment
from asfound.pages.glossary import english
from asfound.pages.languages import FOLDER, catalogue, languages

PACKAGE = FOLDER.parent
SINGLE = ("gettext", "N_", "_")
# Of ``count_words`` the second and third argument are one thing and several.
COUNTED = {"ngettext": (0, 1), "count_words": (1, 2)}
Found = tuple[str | tuple[str, str], str]  # the message, and the file it is said in
_DATES = re.compile(rb'^"(?:POT-Creation-Date|PO-Revision-Date|Generated-By|Last-Translator|Language-Team'
                    rb'|Project-Id-Version|Report-Msgid-Bugs-To)[^\n]*\n', re.MULTILINE)  # fmt: skip


def in_python(path: Path) -> Iterator[str | tuple[str, str]]:
    """By the language's own parser: calls inside calls are found too."""
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if not isinstance(node, ast.Call) or not isinstance(node.func, ast.Name):
            continue
        texts = [arg.value if isinstance(arg, ast.Constant) else None for arg in node.args]
        if node.func.id in SINGLE and isinstance(texts[0], str):
            yield texts[0]
        elif node.func.id in COUNTED:
            one, many = COUNTED[node.func.id]
            if len(texts) > many and isinstance(texts[one], str) and isinstance(texts[many], str):
                yield texts[one], texts[many]


def in_template(path: Path) -> Iterator[str | tuple[str, str]]:
    """By Jinja, with the settings of our environment."""
    source = path.read_text("utf-8")
    for _, function, message in environment().extract_translations(source):
        if function == "ngettext" and isinstance(message, tuple):
            yield str(message[0]), str(message[1])
        elif function in SINGLE:
            yield str(message[0] if isinstance(message, tuple) else message)


_CALL = re.compile(r"\b(n?gettext)\(\s*")
_LITERAL = re.compile(r'"((?:[^"\\]|\\.)*)"(?:\s*\+\s*(?="))?')


def in_script(path: Path) -> Iterator[str | tuple[str, str]]:
    """By our own hand: the sentence is the first argument, in double quotes, in pieces joined by ``+``."""
    source = path.read_text("utf-8")
    for call in _CALL.finditer(source):
        texts, at = [], call.end()
        for _ in range(2 if call[1] == "ngettext" else 1):
            text = ""
            while piece := _LITERAL.match(source, at):
                text, at = text + ast.literal_eval(f'"{piece[1]}"'), piece.end()
                if not piece[0].rstrip().endswith("+"):
                    break
            texts.append(text)
            at += len(source[at:]) - len(source[at:].lstrip(", \n"))
        if all(texts):
            yield (texts[0], texts[1]) if call[1] == "ngettext" else texts[0]


def in_glossary() -> Iterator[str]:
    """Its words, what they mean and where they are from."""
    for term in english():
        yield from (term.word, term.means, *filter(None, [term.source]))


def found() -> Iterator[Found]:
    """Every message and where it is said."""
    for message in in_glossary():
        yield message, "pages/glossary.toml"
    for folder, pattern, read in (
        (PACKAGE, "*.py", in_python),
        (PACKAGE / "pages" / "templates", "*.html", in_template),
        (PACKAGE / "pages" / "assets", "*.js", in_script),
        (PACKAGE / "pages" / "paper", "*.js", in_script),
    ):
        for path in sorted(folder.rglob(pattern)):
            for message in read(path):
                yield message, path.relative_to(PACKAGE).as_posix()


def template() -> Catalog:
    """All messages without translations."""
    out = Catalog(fuzzy=False)
    for message, where in found():
        out.add(message, locations=[(where, None)])
    return out


def written(messages: Catalog) -> bytes:
    """As it is kept: in the order of the files, without dates or numbers of lines: changes are small."""
    out = BytesIO()
    write_po(out, messages, width=110, include_lineno=False, ignore_obsolete=True)
    return _DATES.sub(b"", out.getvalue())


def main() -> None:
    """Brings every catalogue up to date and says what is left to translate."""
    for tag in languages()[1:]:
        messages = catalogue(tag)
        messages.update(template(), no_fuzzy_matching=True)
        (FOLDER / f"{tag}.po").write_bytes(written(messages))
        missing = sum(
            not all(m.string if isinstance(m.string, tuple) else [m.string]) for m in messages if m.id
        )
        print(f"{tag}: {missing} to translate")


if __name__ == "__main__":
    sys.exit(main())
