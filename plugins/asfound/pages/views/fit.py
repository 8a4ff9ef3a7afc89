"""Which cars a recipe fits: the matrices of models and phases, and what their marked cells depend on."""

from __future__ import annotations

from dataclasses import dataclass

from ...car.conditions import All
from ...car.fitting import Answer
from ...car.words import look, say, why_not
from ...speech import gettext
from ...trust.vetting import Standing
from ...work.recipes import Recipe
from ..speech import if_words
from ..words import sentence
from .common import Cell, Footnote, Matrix, Ref, Row
from .desk import Desk


@dataclass(frozen=True, slots=True)
class Fit:
    """The section "Does it fit your car?"."""

    says: str
    matrices: tuple[Matrix, ...]
    notes: tuple[Footnote, ...]


class _Notes:
    """Footnotes, each text once, marked in the order of their first use."""

    def __init__(self) -> None:
        self.by_words: dict[str, Footnote] = {}

    def add(self, words: str, how: tuple[str, ...] = ()) -> Footnote:
        if words not in self.by_words:
            mark = str(len(self.by_words) + 1)
            self.by_words[words] = Footnote(mark, f"note-{mark}", words, how)
        return self.by_words[words]


def fit(desk: Desk, recipe: Recipe) -> Fit:
    """The matrices of every line on which the recipe fits some car, or all lines when it fits none.

    A withdrawn recipe fits nothing any more, so it has no matrix.
    """
    if recipe.status == "withdrawn":
        return Fit(sentence(gettext("It was for: {cars}", cars=say(recipe.fits, desk.names))), (), ())
    cells = desk.cells(recipe.id)
    fitting = {line for (line, _, _), answer in cells.items() if answer.kind != "no"}
    notes = _Notes()
    matrices = tuple(
        _matrix(desk, recipe, line_id, notes)
        for line_id in desk.book.lines
        if line_id in fitting or not fitting
    )
    says = sentence(gettext("It is for: {cars}", cars=say(recipe.fits, desk.names)))
    return Fit(says, matrices, tuple(notes.by_words.values()))


def _matrix(desk: Desk, recipe: Recipe, line_id: str, notes: _Notes) -> Matrix:
    line = desk.book.lines[line_id]
    cells, standings = desk.cells(recipe.id), desk.standings(recipe.id)
    rows = []
    for model in line.models:
        row = []
        for phase in line.phases:
            key = (line_id, model.id, phase.id)
            row.append(_cell(desk, cells.get(key), standings.get(key), line_id, notes))
        rows.append(Row(Ref(model.name, ""), tuple(row)))
    return Matrix(line.name, gettext("Model"), tuple(phase.name for phase in line.phases), tuple(rows))


def _cell(desk: Desk, answer: Answer | None, standing: Standing | None, line: str, notes: _Notes) -> Cell:
    if answer is None:
        return Cell("not-made", gettext("not made"))
    detail = gettext(standing.label) if standing is not None and answer.kind != "no" else ""
    if answer.kind == "fits":
        return Cell("fits", gettext("fits"), detail=detail)
    if answer.kind == "no":
        note = notes.add(
            sentence(gettext("Does not fit: {why}", why=why_not(answer.because, desk.names, line)))
        )
        return Cell("no", gettext("does not fit"), note.mark, f"#{note.id}")
    residual = answer.residual if answer.residual is not None else All(())
    note = notes.add(
        sentence(gettext("Fits {condition}", condition=if_words(residual, desk.names, line))),
        look(residual, desk.names),
    )
    return Cell("if", gettext("fits if"), note.mark, f"#{note.id}", detail)
