"""Every kind of change: whether a person must look at it, and what to ask then.

Kinds and their names are a public interface of the JSON format. The order of the questions is that of the
reviewer's guide: who can be hurt comes before which bytes.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal, NamedTuple

Need = Literal["look", "note"]

OWNERS, FINDINGS = "owners", "findings"

ASKS: Mapping[str, str] = {
    OWNERS: "Only owners may change these files. Is an owner asking for it, and is it meant?",
    FINDINGS: "New findings. They must be repaired first; asfound check says how.",
    "whole": "Read it whole, as if nobody had.",
    "hurt": "Who can be hurt, and how? Is what softens a hazard true, and is none missing?",
    "acts": "What it acts on has changed. Does a precheck prove each safety function?",
    "cars": "Which cars? Can the author know of each one gained, and should each one lost be lost?",
    "source": "Where does it come from? Has somebody read this record on such a car?",
    "found": "Is this what cars really hold before?",
    "does": "Is this what should be written?",
    "job": "Go through the job as if you stood in the garage. Is it still right, and in this order?",
    "back": "The way back: would you trust it at night, far from home?",
    "checks": "Does each check still fail if the change did not work?",
    "shared": "They meet in one record. May both be done on one car?",
    "words": "Read each translation beside the original: does it say the same, and as strongly?",
    "pictures": "Look at the pictures: do they show what the step says, and nothing private?",
    "names": "Another name is another address. Is it meant, and may links to the old one break?",
    "reports": "Read what members report. Nobody removes or rewrites another member's account.",
    "signed": "Whose signature counts has changed. Ask them to look again, and ask who added what.",
    "label": "What the club vouches for has changed. Is that meant?",
}


class Kind(NamedTuple):
    """The question a kind of change raises (a key of ``ASKS``); empty: it is only noted."""

    ask: str = ""

    @property
    def need(self) -> Need:
        """Whether a person must look at such a change, unless it says otherwise itself."""
        return "look" if self.ask else "note"


def _kinds(ask: str, names: str) -> dict[str, Kind]:
    return {name: Kind(ask) for name in names.split()}


def _list(ask: str, stem: str, order: bool = False) -> dict[str, Kind]:
    endings = ("added", "removed", "changed", *(("order",) if order else ()))
    return {f"{stem}-{ending}": Kind(ask) for ending in endings}


KINDS: Mapping[str, Kind] = {
    **_kinds("names", "recipe-renamed module-renamed setting-renamed layout-renamed change-renamed"),
    # the club
    **_kinds(
        "label", "reviewer-added reviewer-removed reviewer-changed thresholds-lowered thresholds-raised"
    ),
    **_kinds("label", "policy-changed"),
    **_kinds("", "times-changed club-words"),
    # vehicle lines
    **_kinds(
        "cars",
        "line-added line-removed phase-changed model-changed market-changed",
    ),
    **_kinds("cars", "equipment-changed fitted-changed looks-changed vin-changed"),
    **_kinds("job", "power-changed"),
    **_kinds("", "line-words"),
    # modules
    **_kinds(
        "source",
        "module-added module-removed record-added record-removed",
    ),
    **_kinds("source", "record-changed setting-added setting-removed setting-moved values-changed"),
    **_kinds("source", "layout-added layout-removed layout-cars layout-changed"),
    **_kinds("source", "place-added place-removed place-moved meaning-changed"),
    **_kinds("acts", "setting-functions"),
    **_kinds("job", "access-changed restart-changed"),
    **_kinds("", "layout-cars-same module-words setting-words"),
    # recipes
    **_kinds("whole", "recipe-added recipe-removed recipe-revived recipe-offered recipe-withdrawn"),
    **_kinds(
        "whole", "recipe-unreadable line-unreadable module-unreadable withdrawal-changed author-changed"
    ),
    **_kinds("", "recipe-redrafted"),
    **_kinds("cars", "cars-changed cars-by-vehicle change-cars edit-layout-cars"),
    **_kinds("", "cars-same change-cars-same"),
    **_kinds("found", "from-changed"),
    **_kinds("does", "change-added change-removed change-elsewhere to-changed question-changed"),
    **_kinds("does", "file-changed edit-stored"),
    **_list("does", "alternative"),
    **_kinds(
        "source", "edit-moved edit-length edit-checksum edit-layout-gained edit-layout-lost edit-broken"
    ),
    **_kinds("acts", "functions-gained functions-lost"),
    **_kinds("hurt", "hazard-added hazard-removed hazard-softened hazard-hardened hazard-reworded"),
    **_kinds("hurt", "banner-lowered banner-raised"),
    **_list("job", "ready"),
    **_list("job", "precheck", True),
    **_list("job", "step", True),
    **_list("job", "fault"),
    **_list("job", "message"),
    **_kinds("job", "job-changed order-changed"),
    **_kinds("", "minutes-changed"),
    **_kinds("back", "way-back-changed"),
    **_list("checks", "check", True),
    **_list("source", "example"),
    **_list("pictures", "picture"),
    **_kinds("pictures", "picture-words"),
    **_kinds("shared", "clash-new relation-changed"),
    **_kinds("", "clash-gone agreement-new relation-renamed"),
    **_kinds("reports", "report-removed report-changed report-no-longer-counts codes-changed report-added"),
    **_kinds("", "report-counts-again"),
    **_kinds(
        "signed", "signature-added signature-removed signature-changed signature-void signature-counts-again"
    ),
    **_kinds("words", "translation-changed"),
    **_kinds("label", "label-changed"),
    **_kinds("", "sheet-changed recipe-words history-changed says-the-same"),
}
