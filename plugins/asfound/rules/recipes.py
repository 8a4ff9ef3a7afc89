"""What must hold for each recipe: its cars, its changes, its file, its relations."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from ..book import Book
from ..car.conditions import All, Not
from ..car.functions import category, words
from ..work.compiled import EditProblem
from ..work.recipes import Ask, Change, Recipe
from .ask import a_car, both, can_be, follows, same_value, value_problem
from .base import Problem, Rule

FAT32_LARGEST = 2**32 - 1  # bytes in one file; SD Association, as transcribed in its public overviews


def fits_some_car(book: Book, recipe: Recipe) -> Iterator[Problem]:
    """`fits` and each change's `for` are true for at least one car that was made."""
    if not can_be(book, recipe.fits):
        yield Problem(
            recipe.origin.at("fits"),
            "no car that was made fits",
            "widen the condition, or look for a misprint",
        )
        return
    for change in recipe.changes:
        if change.fits is not None:
            if not can_be(book, both(recipe.fits, change.fits)):
                yield Problem(
                    change.origin.at("for"),
                    "none of the cars that fit the recipe satisfies this",
                    "widen the condition or remove the change",
                    also=(recipe.origin.at("fits"),),
                )
            elif follows(book, recipe.fits, change.fits):
                yield Problem(
                    change.origin.at("for"),
                    "every car that fits the recipe satisfies this, so it says nothing",
                    "remove it, or narrow it to the cars you mean",
                    also=(recipe.origin.at("fits"),),
                )


def fitted_and_laid_out(book: Book, recipe: Recipe) -> Iterator[Problem]:
    """Every car that fits has the modules, and every record changed has a layout with the setting in it."""
    for change in recipe.changes:
        record = book.record(change.setting.record_path)
        if record is None:
            continue
        wanted = both(recipe.fits, change.fits)
        fitted = book.fitted(change.setting.module)
        car = a_car(book, wanted, Not(fitted))
        if car is not None:
            yield Problem(
                change.origin.at("setting"),
                f"a car that fits has no {book.names.modules[change.setting.module]}: {car}",
                "narrow fits, or say under for which cars this change is for",
                also=(recipe.origin.at("fits"),),
            )
            continue
        for layout in record.layouts:
            if change.setting.setting in layout.places:
                continue
            if can_be(book, both(wanted, layout.fits)):
                yield Problem(
                    change.origin.at("setting"),
                    f"layout {layout.id} of {change.setting.record_path}, which some fitting cars have, "
                    f"has no place for {change.setting.setting}",
                    "narrow fits or for, or add the place to the layout",
                    also=(layout.origin.at("places"), recipe.origin.at("fits")),
                )
        if record.layouts and all(layout.fits is not None for layout in record.layouts):
            none = All(tuple(Not(layout.fits) for layout in record.layouts if layout.fits is not None))
            car = a_car(book, wanted, none)
            if car is not None:
                yield Problem(
                    change.origin.at("setting"),
                    f"for a car that fits, no layout of {change.setting.record_path} is known: {car}",
                    "narrow fits to the cars whose layout is known, or add a layout",
                    also=(
                        recipe.origin.at("fits"),
                        *(layout.origin.at("for") for layout in record.layouts),
                    ),
                )
    if recipe.media and recipe.media.module in book.modules:
        car = a_car(book, recipe.fits, Not(book.fitted(recipe.media.module)))
        if car is not None:
            yield Problem(
                recipe.media.origin.at("module"),
                f"a car that fits has no {book.names.modules[recipe.media.module]}: {car}",
                "narrow fits to the cars that have it",
                also=(recipe.origin.at("fits"),),
            )


def changes_make_sense(book: Book, recipe: Recipe) -> Iterator[Problem]:
    """Each value exists and can be stored; nothing is changed into itself; no two changes fight."""
    seen: set[tuple[object, ...]] = set()
    try:
        book.edits(recipe.id)
    except EditProblem as error:
        for origin, reason, repair in error.problems:
            if (origin, reason) not in seen:
                seen.add((origin, reason))
                yield Problem(origin, reason, repair)
    for index, change in enumerate(recipe.changes):
        setting = book.setting(change.setting)
        if setting is None:
            continue
        if isinstance(change.to, str) and change.before is not None:
            if same_value(setting, change.before, change.to):
                yield Problem(
                    change.origin.at("to"),
                    f"{change.to} is what the setting is changed from",
                    "write the new value, or remove the change",
                    also=(change.origin.at("from"),),
                )
        yield from _suggestion(book, change)
        for other in recipe.changes[:index]:
            if other.setting == change.setting and (
                None in (other.place, change.place) or other.place == change.place
            ):
                if can_be(book, both(recipe.fits, other.fits, change.fits)):
                    yield Problem(
                        change.origin.at("setting"),
                        f"{change.setting} is changed twice on the same car",
                        "keep one of the changes, or let their for exclude each other",
                        also=(other.origin.at("setting"),),
                    )
    by_setting = {change.setting: change for change in recipe.changes}
    offered: set[tuple[object, str]] = set()
    for alternative in recipe.alternatives:
        setting, changed = book.setting(alternative.setting), by_setting.get(alternative.setting)
        if setting is None or changed is None:
            continue
        yield from value_problem(setting, alternative.to, alternative.origin.at("to"))
        value = changed.to.suggest if isinstance(changed.to, Ask) else changed.to
        if same_value(setting, alternative.to, value):
            yield Problem(
                alternative.origin.at("to"),
                f"{alternative.to} is what the recipe writes anyway",
                "write another value, or remove the alternative",
                also=(changed.origin.at("to"),),
            )
        if (alternative.setting, alternative.to) in offered:
            yield Problem(
                alternative.origin.at("to"), f"{alternative.to} is offered twice", "remove one of them"
            )
        offered.add((alternative.setting, alternative.to))


def _suggestion(book: Book, change: Change) -> Iterator[Problem]:
    """A suggestion that equals what the setting is changed from helps nobody."""
    setting = book.setting(change.setting)
    if setting and isinstance(change.to, Ask) and change.before is not None:
        if same_value(setting, change.before, change.to.suggest):
            yield Problem(
                change.origin.at("to", "suggest"),
                f"{change.to.suggest} is what the setting is changed from",
                "suggest the value most readers choose, or write from: any",
                also=(change.origin.at("from"),),
            )


def safety_is_proved(book: Book, recipe: Recipe) -> Iterator[Problem]:
    """A safety function has a precheck that proves it, and no precheck proves what is not touched."""
    touched = book.functions(recipe.id)
    proved = {p.proves for p in recipe.before}
    for function in touched:
        if category(function) == "safety" and function not in proved:
            where = next(
                (
                    change.origin.at("setting")
                    for change in recipe.changes
                    if (s := book.setting(change.setting)) and function in s.functions
                ),
                recipe.origin.at("functions"),
            )
            yield Problem(
                where,
                f"the recipe touches a safety function ({words(function)}) and no precheck proves it",
                f"add a precheck with proves: {function}",
            )
    for precheck in recipe.before:
        if precheck.proves is not None and precheck.proves not in touched:
            yield Problem(
                precheck.origin.at("proves"),
                f"the recipe does not touch {words(precheck.proves)}",
                f"write one of: {', '.join(touched)}; or remove proves",
            )
    inherited = {
        function
        for change in recipe.changes
        if (setting := book.setting(change.setting))
        for function in setting.functions
    }
    for index, function in enumerate(recipe.functions):
        if function in inherited:
            yield Problem(
                recipe.origin.at("functions", index),
                f"{function} comes with the settings already",
                "remove it; a recipe only adds functions",
            )


def policy_is_kept(book: Book, recipe: Recipe) -> Iterator[Problem]:
    """The club's policy does not refuse what the recipe touches."""
    refused = book.club.refuse_functions
    for change in recipe.changes:
        setting = book.setting(change.setting)
        for function in setting.functions if setting else ():
            if function in refused:
                yield Problem(
                    change.origin.at("setting"),
                    f"the club's policy refuses recipes that touch {words(function)}",
                    "leave this change out; ask the club's owners if you think the policy is wrong",
                    also=(book.club.origin.at("policy", "refuse_functions"),),
                )
    for index, function in enumerate(recipe.functions):
        if function in refused:
            yield Problem(
                recipe.origin.at("functions", index),
                f"the club's policy refuses recipes that touch {words(function)}",
                "such a recipe cannot be published here",
                also=(book.club.origin.at("policy", "refuse_functions"),),
            )


def file_can_be_loaded(book: Book, recipe: Recipe) -> Iterator[Problem]:
    """The card can hold the file, and the version shown tells before from after."""
    media = recipe.media
    if media is None:
        return
    at = media.origin.at
    if media.file_system == "FAT32" and media.size > FAT32_LARGEST:
        yield Problem(
            at("size"),
            f"a file of {media.size} bytes is larger than FAT32 can hold ({FAT32_LARGEST})",
            "check the size, or write file_system: exFAT if the module reads it",
            also=(at("card", "file_system"),),
        )
    if media.size > media.smallest_gb * 10**9:
        yield Problem(
            at("card", "smallest_gb"),
            f"a card of {media.smallest_gb} GB cannot hold {media.size} bytes",
            f"write at least {-(-media.size // 10**9)}",
            also=(at("size"),),
        )
    if media.largest_gb is not None and media.largest_gb < media.smallest_gb:
        yield Problem(
            at("card", "largest_gb"),
            "the largest card is smaller than the smallest",
            f"write at least {media.smallest_gb}",
            also=(at("card", "smallest_gb"),),
        )
    if media.reading_after in media.reading_before:
        yield Problem(
            at("reading", "after"),
            f"{media.reading_after} is also a version it may show before",
            "write what shows that the file was loaded",
        )
    if recipe.way_back == "automatic":
        yield Problem(
            recipe.origin.at("way_back"),
            "a loaded file does not go back by itself",
            "write the steps back, or none",
        )


def relations_are_sound(book: Book, recipe: Recipe) -> Iterator[Problem]:
    """needs, clashes, replaces and instead make sense on both sides."""
    at = recipe.origin.at
    for key, others in (
        ("needs", recipe.needs),
        ("replaces", recipe.replaces),
        ("clashes", tuple(clash.recipe for clash in recipe.clashes)),
    ):
        for index, other in enumerate(others):
            origin = at(key, index, "recipe") if key == "clashes" else at(key, index)
            if other == recipe.id:
                yield Problem(origin, f"a recipe cannot stand in its own {key}", "name another recipe")
            elif other in others[:index]:
                yield Problem(origin, f"{other} stands here twice", "remove one of them")
    clashing = {clash.recipe for clash in recipe.clashes}
    for index, clash in enumerate(recipe.clashes):
        other = book.recipes.get(clash.recipe)
        if other and other.id != recipe.id and recipe.id not in {c.recipe for c in other.clashes}:
            yield Problem(
                at("clashes", index, "recipe"),
                f"{other.id} does not state the clash with {recipe.id}",
                f"add the clash to {other.origin.file} too",
            )
    for index, name in enumerate(recipe.needs):
        needed = book.recipes.get(name)
        if needed is None:
            continue
        if name in clashing:
            yield Problem(at("needs", index), f"{name} is needed and clashes", "remove one of the two")
        if needed.status == "withdrawn" and recipe.status != "withdrawn":
            yield Problem(
                at("needs", index), f"{name} is withdrawn", "withdraw this recipe too, or need another one"
            )
        if recipe.alone or needed.alone:
            which = recipe.id if recipe.alone else name
            yield Problem(
                at("needs", index),
                f"{which} must be done alone, so it cannot be done together with what it needs",
                "remove alone, or say in a precheck that the other comes first",
                also=(at("alone"),) if recipe.alone else (),
            )
    if recipe.withdrawn and recipe.withdrawn.instead:
        other = book.recipes.get(recipe.withdrawn.instead)
        if other and (other.status != "offered" or other.id == recipe.id):
            yield Problem(
                at("withdrawn", "instead"),
                f"{other.id} is not offered either",
                "name a recipe that is offered, or leave instead out",
            )
    days = [entry.on for entry in recipe.history]
    for index, (newer, older) in enumerate(pairwise(days)):
        if older > newer:
            yield Problem(
                at("history", index + 1, "on"),
                f"{older} is later than {newer} above it",
                "put the newest entry first",
                also=(at("history", index, "on"),),
            )


def needs_no_circle(book: Book) -> Iterator[Problem]:
    """No recipe needs itself through others."""
    done: set[str] = set()
    for start in sorted(book.recipes):
        path: list[str] = []
        stack = [(start, iter(book.recipes[start].needs))]
        path.append(start)
        while stack:
            name, rest = stack[-1]
            for needed in rest:
                if needed in path and len(path) - path.index(needed) > 1:
                    circle = [*path[path.index(needed) :], needed]
                    recipe = book.recipes[name]
                    yield Problem(
                        recipe.origin.at("needs", recipe.needs.index(needed)),
                        f"these recipes need each other in a circle: {' → '.join(circle)}",
                        "remove one of the needs",
                    )
                elif needed in book.recipes and needed not in done and needed not in path:
                    stack.append((needed, iter(book.recipes[needed].needs)))
                    path.append(needed)
                    break
            else:
                stack.pop()
                done.add(path.pop())


def pictures_are_used(book: Book, recipe: Recipe) -> Iterator[Problem]:
    """Declared pictures exist and are used; pictures that exist are declared."""
    found = book.pictures(recipe.id)
    used = {step.picture for step in recipe.steps}
    for index, picture in enumerate(recipe.pictures):
        if picture.file in {other.file for other in recipe.pictures[:index]}:
            yield Problem(
                picture.origin.at("file"), f"{picture.file} is declared twice", "remove one of them"
            )
        if picture.file not in found:
            yield Problem(
                picture.origin.at("file"),
                f"there is no picture {picture.file} in the recipe's folder",
                "add the file, or remove the picture",
            )
        if picture.file not in used:
            yield Problem(
                picture.origin.at("file"),
                f"no step shows {picture.file}",
                "name it in a step, or remove it",
            )
    declared = {picture.file for picture in recipe.pictures}
    for name in sorted(set(found) - declared):
        yield Problem(
            recipe.origin.at("pictures") if recipe.pictures else recipe.origin,
            f"picture {name} lies in the folder and is not declared",
            "declare it under pictures, or remove the file",
        )


RULES = (
    Rule(
        "fits-no-car",
        "A recipe fits at least one car, and each condition on a change tells cars apart.",
        "A condition that is never true is a misprint.",
        "recipe",
        fits_some_car,
    ),
    Rule(
        "no-module-or-layout",
        "Every car that fits has the modules and a known layout for every setting changed.",
        "A reader would be sent to a module that is not there, or guess where the bits lie.",
        "recipe",
        fitted_and_laid_out,
    ),
    Rule(
        "change-makes-no-sense",
        "Every value exists and can be stored, and every change changes something.",
        "The module would store something else, or nothing would happen.",
        "recipe",
        changes_make_sense,
    ),
    Rule(
        "safety-not-proved",
        "Before a safety function is changed, a precheck proves that it works.",
        "A function that was broken before would be blamed on the change, or never noticed.",
        "recipe",
        safety_is_proved,
    ),
    Rule(
        "against-policy",
        "No recipe touches a function that the club refuses.",
        "The club has decided not to carry that risk.",
        "recipe",
        policy_is_kept,
    ),
    Rule(
        "file-cannot-be-loaded",
        "The card can hold the file and the version on the screen proves the loading.",
        "Loading would stop half-way or nobody could tell whether it worked.",
        "recipe",
        file_can_be_loaded,
    ),
    Rule(
        "relations-unsound",
        "Relations between recipes are stated on both sides and can be followed.",
        "One page would warn and the other would not.",
        "recipe",
        relations_are_sound,
    ),
    Rule("needs-circle", "No recipe needs itself.", "Nobody could start.", "book", needs_no_circle),
    Rule(
        "picture-unused-or-undeclared",
        "Pictures are declared, exist and are shown.",
        "A step would refer to a picture that is not there.",
        "recipe",
        pictures_are_used,
    ),
)
