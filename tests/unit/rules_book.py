"""A small sound book for the tests of rules, and what the check says when something in it is changed.

Invented: a boat-shaped trailer called Dory. ``{code:recipe}`` stands for the present sheet code of a recipe.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from textwrap import dedent

from asfound.book import Book
from asfound.rules.run import run
from asfound.source.findings import Finding, arrange
from asfound.source.guards import Unreadable
from asfound.source.limits import FILE_BYTES
from asfound.source.loader import Loaded, load
from asfound.source.names import modeline, sort_out
from asfound.source.tree import Entry

FILES = {
    "club.yml": """
        club: dory-owners
        name: Dory Owners
        about: We own Dories.
        contact: Ask at the slip.
        reviewers:
          - {handle: ann, since: 2020-01-01}
          - {handle: ben, since: 2020-01-01, until: 2024-12-31}
        vetting: {signatures: 1, reports: 1, most_bad: 0}
        policy: {access_codes: ask, publish_unvetted: true, refuse_functions: [braking]}
        times: {faults: 3, module: 2, record: 3, check: 2}
        long_key_on: 60
        """,
    "vehicles/dory.yml": """
        line: dory
        name: Dory
        about: A trailer with lamps.
        phases:
          - {phase: "1", name: Phase 1, built: 2015-01/2018-12, look: Round lamps.}
          - {phase: "2", name: Phase 2, built: 2019-01/.., look: Square lamps.}
        models:
          - {model: open, name: Open, look: No roof.}
          - {model: cabin, name: Cabin, phases: ["2"], look: A roof.}
        markets:
          - {market: north, name: North, look: Grey.}
          - {market: south, name: South, look: White.}
        equipment:
          - {item: stove, name: a stove, look: A pipe., models: [cabin]}
          - {item: screen, name: a screen, look: A pane of glass., standard: [{model: cabin}]}
          - {item: hatch, name: hatches, look: Two lids.}
        fitted:
          - module: deck
          - {module: screen, for: {equipped: screen}}
          - module: hatch
            for: {equipped: hatch}
            places:
              - {place: bow, name: bow hatch, address: "0x51"}
              - {place: stern, name: stern hatch, address: "0x52"}
        vin:
          begins: ["0DY"]
          check_digit: false
          positions:
            - at: [4, 4]
              codes: [{code: "A", models: [open]}, {code: "B", models: [cabin]}]
          serials:
            - {at: [13, 17], from: "00001", to: "99999", built: 2015-01/..}
        """,
    "modules/deck.yml": """
        module: deck
        name: Deck controller
        duty: Lights the deck.
        address: "0x10"
        restart: {how: Pull the plug., minutes: 1}
        records:
          - record: lights
            name: Lights
            identifier: "0x1000"
            shown_as: bytes
            settings:
              - setting: glow
                name: Glow of the deck
                choices:
                  - {raw: 0, means: dark}
                  - {raw: 1, means: dim}
                  - {raw: 2, means: bright}
                functions: [comfort]
                known_from: club
              - setting: delay
                name: Delay
                number:
                  factor: "0.5"
                  offset: "0"
                  unit: s
                  min: "0.5"
                  max: "20"
                  signed: false
                  special:
                    - {raw: 0, means: never}
                functions: [comfort]
                known_from: maker
            layouts:
              - layout: old
                for: {line: dory, phases: ["1"]}
                length: 3
                places:
                  glow: {byte: 0, bits: [2, 3]}
                  delay: {byte: 1}
              - layout: new
                for: {line: dory, phases: ["2"]}
                length: 4
                checksum: {kind: crc8-j1850, over: [0, 2], at: 3, by: tool}
                places:
                  glow: {byte: 2, bits: [0, 1]}
                  delay: {byte: 1}
          - record: pump
            name: Pump
            identifier: "0x1001"
            shown_as: {number: 1, order: big}
            access: {code: ask the club}
            settings:
              - setting: strength
                name: Strength of the pump
                choices: [{raw: 0, means: weak}, {raw: 1, means: strong}]
                functions: [comfort]
                known_from: club
            layouts:
              - layout: only
                length: 1
                places:
                  strength: {byte: 0, bit: 7}
        """,
    "modules/screen.yml": """
        module: screen
        name: Screen
        duty: Shows charts.
        address: "0x11"
        restart: {how: Pull the plug., minutes: 1}
        records:
          - record: greeting
            name: Greeting
            names_only: true
            settings:
              - setting: mode
                name: Greeting
                choices: [{means: silent}, {means: loud}]
                functions: [sound]
                known_from: guess
        """,
    "modules/hatch.yml": """
        module: hatch
        name: Hatch motor
        duty: Moves a lid.
        restart: {how: Pull the plug., minutes: 1}
        records:
          - record: motion
            name: Motion
            identifier: "0x2000"
            shown_as: bytes
            settings:
              - setting: wait
                name: Wait before it shuts
                choices: [{raw: 0, means: short}, {raw: 1, means: long}]
                functions: [entry]
                known_from: club
            layouts:
              - layout: only
                length: 2
                places:
                  wait: {byte: 1, bit: 4}
        """,
    "changes/brighter/recipe.yml": """
        recipe: brighter
        title: A brighter deck
        by: cay
        purpose: Light.
        annoyance: Dim
        changes:
          - {setting: deck/lights/glow, from: dim, to: bright}
        alternatives:
          - {setting: deck/lights/glow, to: dark, does: Saves the battery.}
        fits: {line: dory}
        hazards:
          - hazard: Glare
            consequence: Others are dazzled
            avoid: Dip it
            harm: minor
            certainty: could
            likelihood: remote
        steps:
          - step: Pull the plug twice.
            at: restarted
            module: deck
            picture: plug.png
        checks:
          - {check: Look, expect: Bright, power: key-on}
        way_back: automatic
        worked_examples:
          - {record: deck/lights, layout: old, found: "04 05 00", write: "08 05 00", read_on: cay-2021-05}
          - {record: deck/lights, layout: new, found: "00 05 01 8D", write: "00 05 02 AA", read_on: made-up}
        pictures:
          - {file: plug.png, alt: A plug.}
        replaces: [old-glow]
        status: offered
        history:
          - {date: 2021-06-01, what: Better words.}
          - {date: 2021-03-01, what: First offered.}
        """,
    "changes/brighter/reports/cay-2021-05.yml": """
        report: cay-2021-05
        recipe: brighter
        sheet_code: "{code:brighter}"
        by: cay
        date: 2021-05-02
        car:
          line: dory
          model: open
          phase: "1"
          market: north
          built: "2016-07"
          equipment: [hatch]
          without: [screen]
          modules:
            deck: {software: "0100"}
        found:
          deck/lights: "04 05 00"
        left:
          deck/lights: "08 05 00"
        outcome: worked
        in_use: P3M
        """,
    "changes/brighter/vetted/ann.yml": """
        recipe: brighter
        by: ann
        sheet_code: "{code:brighter}"
        date: 2021-06-02
        """,
    "changes/brighter/codes.yml": """
        recipe: brighter
        codes:
          - sheet_code: "SABR24PY"
            date: 2021-03-01
            work:
              deck/lights/old: "7RHYG5G4"
          - sheet_code: "{code:brighter}"
            date: 2021-06-01
            work:
              deck/lights/old: "{work:brighter:deck/lights/old}"
              deck/lights/new: "{work:brighter:deck/lights/new}"
        """,
    "changes/slower/recipe.yml": """
        recipe: slower
        title: Lights wait
        by: dee
        purpose: Time.
        annoyance: Hurry
        changes:
          - setting: deck/lights/delay
            from: any
            to: {ask: How long, suggest: "5"}
            for: {line: dory, phases: ["2"]}
        fits:
          all: [{line: dory}, {equipped: hatch}]
        checks:
          - {check: Look, expect: Late, power: key-on}
        way_back: automatic
        worked_examples:
          - record: deck/lights
            layout: new
            choose: {deck/lights/delay: "7.5"}
            found: "00 05 01 8D"
            write: "00 0F 01 4F"
            read_on: made-up
        needs: [brighter]
        status: offered
        history:
          - {date: 2021-04-01, what: First offered.}
        """,
    "languages/nl/changes/stronger.yml": """
        language: nl
        texts:
          - {text: A stronger pump, says: Een sterkere pomp}
          - {text: Look at the tyres, says: Bekijk de banden}
        """,
    "changes/stronger/recipe.yml": """
        recipe: stronger
        title: A stronger pump
        by: dee
        purpose: Water.
        annoyance: Trickle
        functions: [tyres]
        changes:
          - {setting: deck/pump/strength, from: weak, to: strong}
        fits: {line: dory}
        before:
          - {precheck: Look at the tyres, expect: Round, else: Stop, power: key-off, proves: tyres}
        checks:
          - {check: Pump, expect: Much, power: key-on}
        way_back: automatic
        worked_examples:
          - {record: deck/pump, layout: only, found: "3", write: "131", read_on: made-up}
        clashes:
          - {recipe: hatch-waits, because: One fuse.}
        status: offered
        history:
          - {date: 2021-04-01, what: First offered.}
        """,
    "changes/hatch-waits/recipe.yml": """
        recipe: hatch-waits
        title: The hatch waits
        by: dee
        purpose: Fingers.
        annoyance: Ouch
        changes:
          - {setting: hatch/motion/wait, from: short, to: long}
        fits:
          all: [{line: dory}, {equipped: hatch}]
        before:
          - {precheck: Put a stick in, expect: It stops, else: Repair it, power: key-on, proves: entry}
        checks:
          - {check: Shut it, expect: It waits, power: key-on}
        way_back: automatic
        worked_examples:
          - {record: hatch/motion, layout: only, found: "AA 00", write: "AA 10", read_on: made-up}
        clashes:
          - {recipe: stronger, because: One fuse.}
        status: offered
        history:
          - {date: 2021-04-01, what: First offered.}
        """,
    "changes/hatch-waits/reports/eel-2021-07.yml": """
        report: eel-2021-07
        recipe: hatch-waits
        sheet_code: "{code:hatch-waits}"
        by: eel
        date: 2021-07-01
        car: {line: dory, model: cabin, phase: "2", equipment: [hatch, stove]}
        found:
          hatch@bow/motion: "AB 00"
          hatch@stern/motion: "AC 01"
        left:
          hatch@bow/motion: "AB 10"
          hatch@stern/motion: "AC 11"
        outcome: worked
        """,
    "changes/hello/recipe.yml": """
        recipe: hello
        title: A loud greeting
        by: cay
        purpose: Joy.
        annoyance: Silence
        changes:
          - {setting: screen/greeting/mode, from: silent, to: loud}
        fits: {equipped: screen}
        checks:
          - {check: Listen, expect: Noise, power: key-on}
        way_back: automatic
        worked_examples:
          - {record: screen/greeting, found: silent, write: loud, read_on: made-up}
        status: draft
        history:
          - {date: 2021-04-01, what: First written.}
        """,
    "changes/hello/reports/fay-2022-01.yml": """
        report: fay-2022-01
        recipe: hello
        sheet_code: "{code:hello}"
        by: fay
        date: 2022-01-09
        car: {line: dory, model: cabin, phase: "2"}
        found: {screen/greeting: silent}
        left: {screen/greeting: loud}
        outcome: worked
        """,
    "changes/charts/recipe.yml": """
        recipe: charts
        title: New charts
        by: cay
        purpose: Rocks.
        annoyance: Aground
        media:
          module: screen
          name: CHART.BIN
          version: "2.0"
          size: 3000000000
          sha256: "5b1f0e7c9a3d46288f02c7d1e6ab94350d7e3c518ba69f024417d8c3506e2f9a"
          origin: {from: maker, how: Bought.}
          card: {file_system: FAT32, smallest_gb: 4, largest_gb: 32}
          menu: [Load]
          minutes: 20
          reading: {where: About, before: ["1.0"], after: "2.0"}
        fits: {equipped: screen}
        checks:
          - {check: Look, expect: Rocks, power: key-on}
        way_back: none
        status: offered
        history:
          - {date: 2021-04-01, what: First offered.}
        """,
    "changes/old-glow/recipe.yml": """
        recipe: old-glow
        title: A glow that was too much
        by: cay
        purpose: Light.
        annoyance: Dim
        changes:
          - {setting: deck/lights/glow, from: dark, to: dim}
        fits: {line: dory, phases: ["1"]}
        checks:
          - {check: Look, expect: Dim, power: key-on}
        way_back: automatic
        worked_examples:
          - {record: deck/lights, layout: old, found: "00 05 00", write: "04 05 00", read_on: made-up}
        status: withdrawn
        withdrawn: {date: 2021-03-01, because: Too dim., if_done: keep, instead: brighter}
        history:
          - {date: 2021-03-01, what: Withdrawn.}
          - {date: 2021-01-01, what: First offered.}
        """,
}
PICTURE = "changes/brighter/plug.png"
PNG = bytes.fromhex(  # one black pixel
    "89504E470D0A1A0A 0000000D 49484452 00000001 00000001 0800000000 3A7E9B55"
    "0000000A 49444154 789C6360000000020001 48AFA471 00000000 49454E44 AE426082"
)


@dataclass(frozen=True)
class TextTree:
    """A tree of texts; the first line of each, the modeline, is added. Bytes are kept as they are."""

    texts: Mapping[str, str | bytes]

    def entries(self) -> Iterator[Entry]:
        """Every file and the folders around it."""
        folders = {
            "/".join(path.split("/")[:n]) for path in self.texts for n in range(1, path.count("/") + 1)
        }
        for path in sorted({*self.texts, *folders}):
            yield Entry(path, "file" if path in self.texts else "folder")

    def read(self, path: str, limit: int = FILE_BYTES) -> bytes:
        """A file's bytes."""
        if path not in self.texts:
            raise Unreadable("file-unreadable", "there is no such file", "add it")
        text = self.texts[path]
        if isinstance(text, bytes):
            return text
        kind = next(file.kind for file in sort_out(self.entries())[0] if file.path == path)
        return f"{modeline(kind, path)}\n{dedent(text).strip()}\n".encode()


@cache
def _codes() -> Mapping[str, str]:
    """What the placeholders stand for in the sound book."""
    recipes = {path: text for path, text in FILES.items() if path.count("/") != 3 and "codes.yml" not in path}
    book = Book(load(TextTree(recipes)))
    out = {}
    for recipe in book.recipes:
        codes = book.codes(recipe)
        out[f"{{code:{recipe}}}"] = codes.sheet
        out |= {f"{{work:{recipe}:{key}}}": code for key, code in codes.work.items()}
    return out


def _filled(text: str) -> str:
    return re.sub(r"\{(?:code|work):[a-z][^}]*\}", lambda match: _codes()[match[0]], text)


def book_of(*changes: tuple[str, str, str], extra: Mapping[str, str | bytes] | None = None) -> Loaded:
    """The book with, in each file named, the first text found replaced by the second; "" adds a file."""
    texts: dict[str, str | bytes] = {PICTURE: PNG}
    for path, text in FILES.items():
        texts[path] = _filled(text)
    texts |= extra or {}
    for path, *pair in changes:
        old, new = map(_filled, pair)
        text = texts[path] if old else texts.setdefault(path, "")
        assert isinstance(text, str) and old in text, f"{path} does not hold {old}"
        texts[path] = text.replace(old, new, 1)
    return load(TextTree(texts))


def check(
    *changes: tuple[str, str, str], extra: Mapping[str, str | bytes] | None = None
) -> tuple[Finding, ...]:
    """Every finding in such a book, in the order of printing."""
    loaded = book_of(*changes, extra=extra)
    return arrange((*loaded.findings, *run(Book(loaded))))
