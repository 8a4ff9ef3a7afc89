"""What the site's own configuration and hand-written pages say, in the language of a build."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Set
from typing import Any

from mkdocs.config.defaults import MkDocsConfig
from mkdocs.structure.files import Files

from ..pages import languages
from ..speech import N_, gettext

# Titles a site may give its own pages and switches, where its configuration is in English.
TITLES = (
    *(N_("Home"), N_("Find"), N_("Modules"), N_("Vehicles"), N_("Planner"), N_("Board"), N_("Cautions")),
    *(N_("Contribute"), N_("Review"), N_("Promises"), N_("About"), N_("Dark"), N_("Light")),
)


def speak_in(config: MkDocsConfig, tag: str) -> None:
    """Sets the theme's language, and says what the configuration says in the words of the catalogue."""
    config.theme["language"] = tag
    for scheme in config.theme.get("palette") or ():
        if isinstance(scheme, dict) and isinstance(toggle := scheme.get("toggle"), dict):
            toggle["name"] = gettext(toggle.get("name", ""))

    def said(entry: Any) -> Any:
        if isinstance(entry, dict):
            return {gettext(title): said(below) for title, below in entry.items()}
        return [said(each) for each in entry] if isinstance(entry, list) else entry

    config.nav = said(config.nav)


def titles_in(nav: Any) -> Iterator[tuple[str, str]]:
    """File and title of each entry of a navigation that has one."""
    for each in nav if isinstance(nav, list) else [nav]:
        for title, below in each.items() if isinstance(each, dict) else ():
            if isinstance(below, str):
                yield below, title
            else:
                yield from titles_in(below)


def translate(files: Files, tag: str) -> Mapping[str, Set[str]]:
    """A hand-written ``page.nl.md`` is what ``page.md`` says in that language, and no page of its own.

    Into which languages each was translated, by its file.
    """
    found: dict[str, set[str]] = {}
    for file in tuple(files.documentation_pages()):
        name, _, language = file.src_uri.removesuffix(".md").rpartition(".")
        if name and language in languages.languages():
            original = files.get_file_from_path(f"{name}.md")
            found.setdefault(f"{name}.md", set()).add(language)
            if original and language == tag and file.abs_src_path:
                original.abs_src_path = file.abs_src_path
                original.translated = True  # type: ignore[attr-defined]
            files.remove(file)
    return found
