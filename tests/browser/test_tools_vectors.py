"""Python and the browser agree: on every shared vector, and on ten thousand random questions more."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from random import Random
from typing import Any

import pytest

ROOT = Path(__file__).parents[2]
VECTORS = ROOT / "tests" / "vectors"
ASSETS = ROOT / "plugins" / "asfound" / "pages" / "assets"
RUNNER = Path(__file__).with_name("vectors.js")
FILES = sorted(VECTORS.glob("*.json"))
RANDOM = 10_000


def in_node(node: str) -> list[Any]:
    """The files of which Node answers a vector differently, with how many."""
    scripts = [str(path) for path in sorted(ASSETS.glob("tools-[0123]*.js"))]
    program = """
    const [runner, scripts, files] = JSON.parse(process.argv[1]);
    const fs = require("fs");
    const vm = require("vm");
    global.window = global;
    for (const path of [...scripts, runner]) { vm.runInThisContext(fs.readFileSync(path, "utf8"), path); }
    const read = (path) => JSON.parse(fs.readFileSync(path, "utf8"));
    const wrong = files.map((path) => [path, asfoundVectors(read(path)).length]).filter((one) => one[1]);
    console.log(JSON.stringify(wrong));
    """
    told = json.dumps([str(RUNNER), scripts, [str(file) for file in FILES]])
    done = subprocess.run([node, "-e", program, told], capture_output=True, text=True, check=True)
    found: list[Any] = json.loads(done.stdout)
    return found


@pytest.fixture(scope="module")
def page(browser: Any, bases: dict[str, str]) -> Iterator[Any]:
    """A page of the site with the runner in it."""
    context = browser.new_context(bypass_csp=True)  # the runner is no part of the site
    opened = context.new_page()
    opened.goto(bases["file"] + "find.html")
    opened.add_script_tag(path=str(RUNNER))
    yield opened
    context.close()


def disagreements(page: Any, file: Any) -> Any:
    """As text, since the driver takes long over large objects."""
    return page.evaluate("text => asfoundVectors(JSON.parse(text))", json.dumps(file))


@pytest.fixture(scope="module")
def makers() -> Iterator[Any]:
    """The modules that make vectors."""
    sys.path.insert(0, str(VECTORS))
    import make
    import run

    yield make, run
    sys.path.remove(str(VECTORS))


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_the_browser_answers_every_vector_as_python_does(page: Any, file: Path) -> None:
    data = json.loads(file.read_text("utf-8"))
    assert data["vectors"]
    assert disagreements(page, data) == []


def test_node_answers_alike() -> None:
    """The browser's answers are those of the tests above; Node is another build of the same language."""
    node = shutil.which("node")
    assert node, "The vectors also run in Node. As root: apt-get install nodejs"
    assert in_node(node) == []


@pytest.mark.parametrize(
    "wrong", [{"crc": "0"}, {}, {"crc": "4B", "more": 1}], ids=["other", "fewer", "more"]
)
def test_a_wrong_expectation_is_noticed(page: Any, wrong: Any) -> None:
    given = {"kind": "crc8-j1850", "bytes": "31 32 33 34 35 36 37 38 39"}
    for do in ("crc", "unheard-of"):
        file = {"shared": {}, "vectors": [{"do": do, "given": given, "expect": wrong}]}
        assert len(disagreements(page, file)) == 1


def test_they_agree_on_ten_thousand_random_questions(page: Any, makers: Any) -> None:
    make, run = makers
    draw = Random("questions of the browser")
    named = (
        "values",
        "checksums",
        "held",
        "edits",
        "merging",
        "names",
        "versions",
        "vins",
        "codes",
        "faults",
        "search",
    )
    count = 0
    while count < RANDOM:
        for name in named:
            questions, shared = make.FILES[name]
            asked = json.loads(json.dumps(list(questions(draw))))
            vectors = [one | {"expect": run.run(one, shared)} for one in asked]
            count += len(vectors)
            wrong = disagreements(page, {"shared": shared, "vectors": vectors})
            assert wrong == [], f"{name}: {vectors[wrong[0][0]]}" if wrong else ""


def test_they_agree_on_conditions_and_their_words(page: Any, makers: Any) -> None:
    """The words a reader sees for a residual, a reason and how to look: the same, letter for letter."""
    import generate_cars
    import objects

    from asfound.car.fitting import answer
    from asfound.car.words import Names, look, say, why_not
    from asfound.car.world import World

    draw = Random("conditions of the browser")
    lines = {name: objects.line(data) for name, data in generate_cars.LINES.items()}
    world, names = World(lines), Names.of(lines, {})
    vectors = []
    for _ in range(400):
        test, known = generate_cars._test(draw, 3), generate_cars._known(draw)
        found = answer(objects.condition(test), objects.known(known), world)
        left = objects.condition(test) if found.residual is None else found.residual
        said = {
            "say": say(left, names),
            "why": why_not(found.because, names),
            "look": list(look(left, names)),
        }
        vectors.append({"do": "words", "given": {"condition": test, "known": known}, "expect": said})
    shared = {"lines": list(generate_cars.LINES.values()), "modules": []}
    assert disagreements(page, {"shared": shared, "vectors": vectors}) == []
