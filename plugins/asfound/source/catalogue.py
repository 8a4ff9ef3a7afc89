"""Every id a finding about a file can have: what it says, why it matters, and what helps.

The rules across files describe themselves in ``rules``; together they are the page of all findings.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple


class Entry(NamedTuple):
    """One kind of finding, in whole sentences."""

    says: str
    matters: str
    helps: str


_MANGLED = "YAML's versions disagree here, so one program would read another value than the next."
_ELSEWHERE = "What is written in one place would act in another, where a reviewer does not see it."
_NAMES = "Names become addresses of pages and must be the same on every computer."
_SHAPE = "Pages, sheets and computations rely on the shape the schema describes."

CATALOGUE: Mapping[str, Entry] = {
    # the file as such
    "file-missing": Entry(
        "A file that must be there is not.",
        "Without club.yml there is no policy, without recipe.yml the rest of its folder belongs to nothing.",
        "Add the file.",
    ),
    "file-unexpected": Entry(
        "A file lies where no file of its name belongs.",
        "It would be left out without a word.",
        "Rename it, move it out of recipes/, or remove it.",
    ),
    "folder-unexpected": Entry(
        "A folder lies where no folder of its name belongs.",
        "All it holds would be left out without a word.",
        "Rename it, move it out of recipes/, or remove it.",
    ),
    "file-bad-name": Entry(
        "The name of a file or folder is not made of small letters, digits and single hyphens, or is taken.",
        _NAMES,
        "Rename it.",
    ),
    "file-twin-names": Entry(
        "Two names differ only in capitals or in how an accent is stored.",
        "On some computers they are one file, and one of the two is lost.",
        "Rename or remove one.",
    ),
    "file-name-mismatch": Entry(
        "The name written inside the file is another than that of the file or its folder.",
        _NAMES,
        "Make both the same.",
    ),
    "duplicate-id": Entry(
        "Two files give themselves the same name.", "One would hide the other.", "Rename one."
    ),
    "file-link": Entry(
        "A link stands in place of a file or folder.",
        "Links can lead out of the repository, to files that must not be published.",
        "Put the file itself there.",
    ),
    "file-not-regular": Entry(
        "A folder, pipe or device stands in place of a file.",
        "Reading it could wait for ever.",
        "Put an ordinary file there.",
    ),
    "file-unreadable": Entry(
        "The file cannot be read.", "Nothing in it can be checked.", "Make it readable."
    ),
    "file-too-large": Entry(
        "The file is longer than any written by hand.",
        "Reading it could take all memory.",
        "Shorten or split it.",
    ),
    "file-not-utf-8": Entry(
        "The file is not UTF-8, or starts with a byte-order mark.",
        "Programs would disagree about its letters.",
        "Save it as UTF-8 without byte-order mark.",
    ),
    "file-hidden-character": Entry(
        "A character that cannot be seen: control, tab, line separator, direction or tag character.",
        "What a reviewer sees would differ from what programs read.",
        "Remove it, or write spaces and line feeds.",
    ),
    "file-empty": Entry(
        "The file holds nothing.",
        "Nobody can tell whether something was forgotten or lost.",
        "Write its content, or delete it.",
    ),
    "file-too-many-values": Entry(
        "The file holds more keys and values than any written by hand.",
        "Reading it could take all memory.",
        "Split it.",
    ),
    "file-too-many-findings": Entry(
        "The file has so many findings that the rest is not listed.",
        "The first ones usually explain the others.",
        "Put those right first.",
    ),
    "file-modeline": Entry(
        "The first line does not name the schema.",
        "Editors then neither complete keys nor check values.",
        "Write the line the finding shows.",
    ),
    "file-not-a-picture": Entry(
        "The content is not the picture its name says, or breaks off.",
        "Other content can run programs when it is opened.",
        "Save it again as PNG, JPEG or WebP.",
    ),
    "picture-too-large": Entry(
        "The picture has more pixels than any screen.",
        "Decoding it could take all memory.",
        "Scale it down.",
    ),
    # YAML, read strictly
    "yaml-syntax": Entry(
        "From here on the file cannot be read as YAML.",
        "What follows would be left out, or taken for something else.",
        "Do what the finding shows. Often a quote, bracket or colon is missing, or an indent is wrong.",
    ),
    "json-syntax": Entry(
        "A file that should be JSON is not.",
        "Nothing in it can be relied on.",
        "Take the file as it was exported, or do what the finding shows.",
    ),
    "yaml-plain-word": Entry(
        "A word without quotes that some programs read as true, false or nothing.",
        _MANGLED,
        "Put it in quotes.",
    ),
    "yaml-plain-number": Entry(
        "Digits without quotes that some programs read as a number, others as another or as text.",
        _MANGLED,
        "Put it in quotes, or write a plain decimal number.",
    ),
    "yaml-plain-bytes": Entry(
        "Bytes without quotes.",
        "More than one pair in three would turn into a number.",
        "Put them in quotes.",
    ),
    "yaml-long-number": Entry(
        "A number longer than any that occurs.",
        "Programs round numbers of so many digits, each in its own way.",
        "Write a shorter one, or quotes around it if it is text.",
    ),
    "yaml-empty-value": Entry(
        "A key without a value, or a list item without content.",
        "Programs read it as nothing, as empty text or as an error.",
        "Write the value, or leave the key out.",
    ),
    "yaml-remark": Entry(
        "A comment behind words without quotes.",
        "What follows a # is left out without a word, and it may have been meant as text.",
        "Put the whole text in double quotes, or write the comment in a line of its own.",
    ),
    "yaml-duplicate-key": Entry(
        "A key stands twice in one map.", "Most programs silently keep the last.", "Keep one."
    ),
    "yaml-key-not-text": Entry(
        "A key that reads as something else than text.",
        _MANGLED,
        "Write the key that is meant, or put it in quotes.",
    ),
    "yaml-anchor": Entry("An anchor: & and a name.", _ELSEWHERE, "Remove it and write out what is meant."),
    "yaml-alias": Entry("An alias: * and a name.", _ELSEWHERE, "Write out what is meant."),
    "yaml-merge-key": Entry("A merge key: <<.", _ELSEWHERE, "Write out the keys that are meant."),
    "yaml-tag": Entry(
        "A tag: ! and a type.", "Programs may build other things than text from it.", "Remove it."
    ),
    "yaml-directive": Entry(
        "A directive: % at the start of a line.", "It changes how the rest is read.", "Remove it."
    ),
    "yaml-several-documents": Entry(
        "A second document in one file.", "Most programs read only one of them.", "Keep one document a file."
    ),
    "yaml-too-deep": Entry(
        "Lists and maps lie deeper inside each other than any of ours.",
        "Programs that follow them run out of stack.",
        "Write it flatter.",
    ),
    # what the schema demands
    "wrong-type": Entry(
        "A value of another type than the key takes.",
        _SHAPE,
        "Write what the finding names, such as text, a list or a map.",
    ),
    "missing-key": Entry("A key that must be there is not.", _SHAPE, "Add it."),
    "unknown-key": Entry(
        "A key nobody reads.",
        "What it says would be left out without a word.",
        "Write the key that is meant.",
    ),
    "key-out-of-place": Entry(
        "A key that does not go together with another one.",
        "They contradict each other.",
        "Remove one of them.",
    ),
    "not-allowed-value": Entry("A value that is not on the list.", _SHAPE, "Write one from the list."),
    "wrong-form": Entry("A text that is not written as it must be.", _SHAPE, "Write it as in the example."),
    "means-nothing": Entry(
        "A text of the right form that stands for nothing: a day no calendar has, a range no version "
        "satisfies.",
        "It would never be true.",
        "Write one that exists.",
    ),
    "too-short": Entry(
        "A text, list or map with too little in it.", _SHAPE, "Write more, or leave the key out."
    ),
    "too-long": Entry("A text, list or map with too much in it.", _SHAPE, "Shorten it."),
    "out-of-range": Entry("A number outside its limits.", _SHAPE, "Write a number within them."),
    "duplicate-entry": Entry("The same entry stands twice in a list.", _SHAPE, "Remove one."),
    "wrong-order": Entry("Two values in the wrong order.", "Nothing lies between them.", "Exchange them."),
    "contradiction": Entry("Two values that cannot both be right.", _SHAPE, "Put one of them right."),
}
