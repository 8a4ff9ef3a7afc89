"""The one Jinja environment: autoescape on, undefined names an error, templates overridable by a site.

A site's own folder of templates comes first. There, ``recipe/hazards.html`` replaces ours, or extends
``asfound/recipe/hazards.html`` and overrides one of its blocks.

Templates say their sentences by ``_("…")`` and ``{% trans %}``; these are HTML, of the language spoken when
the template is compiled, so that they cost a page nothing. ``| said`` says one of a table, which is text.
"""

from __future__ import annotations

import traceback
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from jinja2 import ChoiceLoader, Environment, FileSystemLoader, PrefixLoader, StrictUndefined, nodes
from jinja2.compiler import CodeGenerator
from jinja2.visitor import NodeTransformer
from markupsafe import Markup, escape

from ..speech import Original, gettext, ngettext
from .words import capital

FOLDER = Path(__file__).parent
ASSETS = FOLDER / "assets"
TOOLS = "assets/asfound/tools.js"


def tools() -> bytes:
    """All tools of the reader's as one script, in the order of their names.

    A telephone works on each script it loads, so that one is there in two thirds of the time of forty.
    """
    return b"".join(path.read_bytes() for path in sorted(ASSETS.glob("*.js")))


def environment(overrides: Path | None = None, marks: bool = False) -> Environment:
    """A new environment; templates are compiled at their first use and kept.

    ``marks``: texts in another language than the page's are marked so; ``| plain`` for attributes.
    """
    own = FileSystemLoader(FOLDER / "templates")
    first = [FileSystemLoader(overrides)] if overrides else []
    made = _Environment(
        loader=ChoiceLoader([*first, own, PrefixLoader({"asfound": own})]),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
        cache_size=-1,
        extensions=["jinja2.ext.i18n"],
        finalize=_marked if marks else None,
    )
    made.install_gettext_callables(gettext, ngettext, newstyle=True)  # type: ignore[attr-defined]
    made.code_generator_class = _Generator
    made.filters |= {"said": gettext, "plain": str, "capital": capital}
    return made


def _marked(value: object) -> object:
    """A text with its language, where that is not the page's."""
    return (
        Markup('<span lang="{}">{}</span>').format(value.tag, str(value))
        if isinstance(value, Original)
        else value
    )


class _Environment(Environment):
    @staticmethod
    def escaped(value: Any) -> Any:
        """As ``markupsafe.escape``, for what is put out at once and needs not be known as markup any more."""
        kind = type(value)
        if kind is Markup:
            return value
        if kind is str and not (
            "&" in value or "<" in value or ">" in value or '"' in value or "'" in value
        ):  # written out, which takes a third of a loop's time
            return value
        return str(value) if kind is int else escape(value)


class _Said(NodeTransformer):
    """Sentences without placeholders become constants."""

    def visit_Call(self, node: nodes.Call) -> nodes.Node:
        """``_("…")``, in the language of the moment."""
        match node:
            case nodes.Call(
                node=nodes.Name(name="_" | "gettext"), args=[nodes.Const(value=str(text))], kwargs=[]
            ):
                return nodes.MarkSafe(nodes.Const(gettext(text) % {}), lineno=node.lineno)
        self.generic_visit(node)
        return node


class _Generator(CodeGenerator):
    """Jinja's own, after the sentences are said; texts without signs to escape go out as they are."""

    def visit_Template(self, node: nodes.Template, frame: object = None) -> None:
        """The whole template."""
        super().visit_Template(_Said().visit(node), None)

    def _output_child_pre(self, node: nodes.Expr, frame: Any, finalize: Any) -> None:
        if frame.eval_ctx.volatile or not frame.eval_ctx.autoescape:
            super()._output_child_pre(node, frame, finalize)
        else:
            self.write(f"environment.escaped({finalize.src or ''}")


class TemplateFault(Exception):
    """A site's own template cannot be rendered; where and why, in one line."""


@contextmanager
def own_faults_named(overrides: Path | None) -> Iterator[None]:
    """Whatever goes wrong in a template of the site's own folder becomes a TemplateFault."""
    try:
        yield
    except Exception as error:
        frames = traceback.extract_tb(error.__traceback__)  # Jinja gives templates frames with file and line
        own = [f for f in frames if overrides and Path(f.filename).is_relative_to(overrides)]
        if not own:
            raise
        why = " ".join(str(error).split()) or type(error).__name__
        raise TemplateFault(f"{own[-1].filename}:{own[-1].lineno}: {why}") from error
