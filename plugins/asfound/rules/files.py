"""What must hold for files beside a recipe: one to load into the car, and pictures."""

from __future__ import annotations

from collections.abc import Iterator

from ..book import Book
from ..work.recipes import Recipe
from .base import Problem, Rule, Stage
from .names import write_near

FAT32_LARGEST = 2**32 - 1  # bytes in one file; SD Association, as transcribed in its public overviews


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
    if media.reading_after in media.reading_before:
        yield Problem(
            at("reading", "after"),
            f"{media.reading_after} is also a version it may show before",
            "write what shows that the file was loaded",
            also=(at("reading", "before", media.reading_before.index(media.reading_after)),),
        )
    elif media.version not in media.reading_after:
        yield Problem(
            at("reading", "after"),
            f"the screen shows {media.reading_after} afterwards, and the file holds version {media.version}",
            "write in both what the screen shows, so that a reader knows that this file was loaded",
            also=(at("version"),),
        )
    if recipe.way_back == "automatic":
        yield Problem(
            recipe.origin.at("way_back"),
            "a loaded file does not go back by itself",
            "write the steps back, or none",
            also=(media.origin,),
        )


def pictures_are_used(book: Book, recipe: Recipe) -> Iterator[Problem]:
    """Declared pictures exist and are used; pictures that exist are declared."""
    found = book.pictures(recipe.id)
    used = {step.picture for step in recipe.steps}
    declared = {picture.file for picture in recipe.pictures}
    for step in recipe.steps:
        if step.picture is not None and step.picture not in declared:
            yield Problem(
                step.origin.at("picture"),
                f"there is no picture {step.picture} under pictures",
                write_near("picture", step.picture, declared),
                also=tuple(p.origin.at("file") for p in recipe.pictures if p.file not in used),
            )
    for picture in recipe.pictures:
        if picture.file not in found:
            yield Problem(
                picture.origin.at("file"),
                f"there is no picture {picture.file} in the recipe's folder",
                "add the file, or remove the picture",
                because=book.broken("picture", f"{recipe.id}/{picture.file}"),
            )
        if picture.file not in used:
            yield Problem(
                picture.origin.at("file"),
                f"no step shows {picture.file}",
                "name it in a step, or remove it",
                also=tuple(s.origin for s in recipe.steps if s.picture is None or s.picture not in declared),
            )
    for name in sorted(set(found) - declared):
        yield Problem(
            recipe.origin.at("pictures") if recipe.pictures else recipe.origin,
            f"picture {name} lies in the folder and is not declared",
            "declare it under pictures, or remove the file",
        )


RULES = (
    Rule(
        "file-cannot-be-loaded",
        "The card can hold the file and the version on the screen proves the loading.",
        "Loading would stop half-way or nobody could tell whether it worked.",
        "Compare the size, the card and what the screen shows with the file itself.",
        "recipe",
        file_can_be_loaded,
        Stage.CARS,
    ),
    Rule(
        "picture-unused-or-undeclared",
        "Pictures are declared, exist and are shown.",
        "A step would refer to a picture that is not there.",
        "Declare the picture under pictures and name it in a step, or remove it.",
        "recipe",
        pictures_are_used,
        Stage.CARS,
    ),
)
