"""The search's data: words, shards, guides, the link in the header; and what it weighs."""

from __future__ import annotations

import json
from collections import Counter
from random import Random

from asfound.pages.header import with_search
from asfound.pages.search import SHARD, Entry, documents, guide, plain, words


def test_words_are_plain() -> None:
    assert words("Möwe's STRAßE – Åland_½, élan\u0301 2,5 V") == [
        "mowe", "s", "strasse", "aland", "½", "elan", "2", "5", "v",
    ]  # fmt: skip
    assert plain("Łódź") == "lodz"
    assert words("") == []


def postings(shard: dict[str, object], word: str) -> list[list[int]]:
    """The numbers of a word's pages, said in the body and as names."""
    value = shard[word]
    assert isinstance(value, list)
    out = []
    for steps in value:
        total, numbers = 0, []
        for step in steps:
            total += step
            numbers.append(total)
        out.append(numbers)
    return out


def test_each_word_leads_to_its_pages_and_names_count_where_the_body_is_silent() -> None:
    recipes = [("The lamp stays on.", "Door lamp"), ("", "Lamp"), ("No word of it", "")]
    made = dict(documents(recipes, [Entry("m.html", "Lamps", "module", "Feeds a lamp", "Horn")]))
    assert made["search"] == {"kinds": ["module"], "pages": [["m.html", "Lamps", 0]], "starts": ["a"]}
    assert postings(made["words/0"], "lamp") == [[0, 3], [1]]
    assert postings(made["words/0"], "door") == [[], [0]]
    assert postings(made["words/0"], "of") == [[2]]
    assert "lamps" not in made["words/0"]  # titles are found without


def test_shards_are_small_in_the_order_of_words_and_complete() -> None:
    draw = Random("shards")
    letters = "abcdefghijklmnopqrstuvwxyzé𝛼"
    vocabulary = ["".join(draw.choices(letters, k=draw.randint(2, 9))) for _ in range(9000)]
    bodies = [" ".join(draw.choices(vocabulary, k=60)) for _ in range(400)]
    made = dict(documents([(body, "") for body in bodies], []))
    starts = made["search"]["starts"]
    shards = [made[f"words/{n}"] for n in range(len(starts))]
    assert len(made) == 1 + len(shards) > 5
    in_order = [word for shard in shards for word in shard]
    assert in_order == sorted(set(in_order), key=lambda word: word.encode("utf-16-be"))
    assert [next(iter(shard)) for shard in shards] == starts
    assert all(len(json.dumps(shard, separators=(",", ":"))) < 1.2 * SHARD for shard in shards)
    said = Counter(word for body in bodies for word in set(words(body)))
    assert {w: len(postings(shard, w)[0]) for shard in shards for w in shard} == said


def test_guides_are_cut_at_headings_with_an_id() -> None:
    html = '<h1 id="a">A &amp; b</h1><p>Intro <b>x</b></p><h2 id="two">Two</h2><p>t</p>'
    html += '<h3 id="three">3</h3><p>u</p>'
    assert list(guide("g.html", "A & b", html)) == [
        Entry("g.html", "A & b", "guide", "A & b Intro x"),
        Entry("g.html#two", "Two", "guide", "t", of="A & b"),
        Entry("g.html#three", "3", "guide", "u", of="A & b"),
    ]


def test_the_link_goes_into_the_header_whatever_the_host_s_frame() -> None:
    framed = "<body><header class=x><nav>a</nav>b</header><article><header>c</header></article></body>"
    assert with_search(framed, "L") == framed.replace("a</nav>", "aL</nav>")
    assert with_search("<header>b</header>", "L") == "<header>bL</header>"
    assert (
        with_search("<body><main><header>c</header></main>", "L") == "<body>L<main><header>c</header></main>"
    )
    assert with_search("<p>bare</p>", "L") == "<p>bare</p>"
