"""The search and the find page's filter, by keyboard, over HTTP and from the folder."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import expect

WAYS = ("http", "file")


def ask(page: Any, words: str) -> Any:
    """Opens the search, types, waits for the last answer; the options."""
    page.get_by_role("button", name="Search").click()
    box = page.get_by_role("combobox", name="Search")
    expect(box).to_be_focused()
    box.fill(words)
    expect(page.locator(".asf-search__said")).to_contain_text("ound")
    return page.get_by_role("option")


@pytest.mark.parametrize("way", WAYS)
def test_a_recipe_is_found_from_any_page_by_keyboard_and_as_a_screen_reader_hears_it(
    opener: Any, way: str
) -> None:
    with opener(way) as reader:
        page = reader.open("modules/side-doors.html")  # below the top folder, where addresses differ
        page.get_by_role("button", name="Search").focus()
        page.keyboard.press("Space")
        box = page.get_by_role("combobox", name="Search")
        assert box.get_attribute("aria-expanded") == "false"
        page.keyboard.type("KEYHO")
        options = page.get_by_role("option")
        expect(options).to_have_count(1)
        assert box.get_attribute("aria-expanded") == "true"
        assert box.get_attribute("aria-controls") == page.get_by_role("listbox").get_attribute("id")
        page.keyboard.press("ArrowDown")
        assert options.first.get_attribute("aria-selected") == "true"
        assert box.get_attribute("aria-activedescendant") == options.first.get_attribute("id")
        assert "Sill lamp waits half a minute" in options.first.inner_text()
        assert page.locator(".asf-search__said").get_attribute("role") == "status"
        page.keyboard.press("Enter")
        page.wait_for_url("**/recipes/step-light-waits.html")
        page.get_by_role("button", name="Search").press("Enter")
        expect(page.get_by_role("dialog")).to_be_visible()
        page.keyboard.press("Escape")
        expect(page.get_by_role("dialog")).to_be_hidden()
        expect(page.get_by_role("button", name="Search")).to_be_focused()


def test_a_press_beside_the_search_closes_it_and_words_marked_beyond_its_edge_do_not(opener: Any) -> None:
    with opener("file") as reader:
        page = reader.open("find.html")
        assert ask(page, "lamp").count()
        dialog, box = page.get_by_role("dialog"), page.get_by_role("combobox", name="Search")
        inside, edge = box.bounding_box(), dialog.bounding_box()
        middle = inside["y"] + inside["height"] / 2
        assert edge["x"] > 10
        page.mouse.move(inside["x"] + inside["width"] - 5, middle)
        page.mouse.down()
        page.mouse.move(edge["x"] - 8, middle, steps=5)
        page.mouse.up()
        assert box.evaluate("box => box.value.slice(box.selectionStart, box.selectionEnd)") == "lamp"
        expect(dialog).to_be_visible()
        page.mouse.click(edge["x"] - 8, middle)
        expect(dialog).to_be_hidden()


@pytest.mark.parametrize("way", WAYS)
def test_titles_come_first_then_what_a_page_is_about_then_names(opener: Any, way: str) -> None:
    with opener(way, width=360) as reader:
        page = reader.open("cautions.html")  # a page written by hand, without the tools
        titles = [one.inner_text() for one in ask(page, "lámp").locator(".asf-search__title").all()]
        with_it = ["lamp" in title.casefold() for title in titles]
        assert with_it == sorted(with_it, reverse=True)
        assert set(with_it) == {True, False}, "answers of both kinds are needed to see their order"
        kinds = {
            "Door controller": "module",
            "Tarnwell Skerry": "vehicle line",
            "Planner": "page",
            "What can hurt": "guide “Cautions”",
        }
        for title, kind in kinds.items():
            page.keyboard.press("Escape")
            assert ask(page, title).first.inner_text().split("\n") == [title, kind]
        page.keyboard.press("Escape")
        stamped = ask(page, "kerb step waits").first
        assert "NOT VETTED" in stamped.inner_text()
        page.get_by_role("combobox", name="Search").fill("step xylophone")
        expect(page.locator(".asf-search__said")).to_contain_text("Nothing has every word")
        page.get_by_role("combobox", name="Search").fill("xylophone")
        expect(page.locator(".asf-search__said")).to_have_text("Nothing found.")
        assert page.get_by_role("option").count() == 0
        wide = page.evaluate("[document.documentElement.scrollWidth, document.documentElement.clientWidth]")
        assert wide[0] <= wide[1]


@pytest.mark.parametrize("way", WAYS)
def test_the_filter_narrows_the_list_by_keyboard_alone(opener: Any, way: str) -> None:
    with opener(way) as reader:
        page = reader.open("find.html")
        everything = page.locator("[data-asf-items] > [data-recipe]:visible").count()
        shown = page.locator("[data-asf-found] li")
        count = page.locator("#asf-filter-count")
        box = page.get_by_label("Filter")
        page.locator("h1").click()  # the Tab key goes on from here
        page.keyboard.press("Tab")
        assert box.evaluate("box => box === document.activeElement"), "the Tab key leads past the filter"
        page.keyboard.type("Sill LAMP waits")
        expect(count).to_have_text(f"1 of {everything} recipes")
        assert "Sill lamp waits half a minute" in shown.first.inner_text()
        assert "On a tool" in shown.first.inner_text()  # as in the whole list
        assert page.locator("#functions").is_hidden()
        page.keyboard.press("Enter")  # must not send the form away
        assert reader.path == "find.html"
        for _ in range(5):
            page.keyboard.press("Tab")
        assert page.evaluate(
            "document.activeElement.closest('[data-asf-found] [data-recipe]')?.dataset.recipe"
        )
        box.focus()
        page.keyboard.press("Escape")
        expect(count).to_have_text(f"{everything} recipes")
        assert page.locator("[data-asf-items] > [data-recipe]:visible").count() == everything
        page.keyboard.type("no such annoyance")
        expect(count).to_have_text(f"0 of {everything} recipes")
        assert shown.count() == 0


def test_withdrawn_recipes_stand_last_in_the_list(opener: Any) -> None:
    with opener("file") as reader:
        items = reader.open("find.html").locator("[data-asf-items] > [data-recipe]").all_inner_texts()
    gone = ["WITHDRAWN" in one for one in items]
    assert any(gone) and gone == sorted(gone)


def test_the_filter_knows_functions_labels_order_and_the_car(opener: Any) -> None:
    with opener("file") as reader:
        page = reader.open("find.html")
        everything = page.locator("[data-asf-items] > [data-recipe]").count()
        count, titles = page.locator("#asf-filter-count"), page.locator("[data-asf-found] .asf-list__title")
        page.get_by_label("Sorted by").select_option("title")
        expect(titles).to_have_count(everything)
        said = titles.all_inner_texts()
        assert said == sorted(said, key=str.casefold)
        page.get_by_label("Label", exact=True).select_option("withdrawn")
        assert 0 < titles.count() < everything
        assert all("WITHDRAWN" in one for one in page.locator("[data-asf-found] li").all_inner_texts())
        page.get_by_label("Label", exact=True).select_option("")
        page.get_by_label("Acts on", exact=True).select_option(label="Towing")
        some = titles.count()
        assert 0 < some < everything
        assert count.inner_text() == f"{some} of {everything} recipes"
        listed = page.evaluate(
            "document.querySelectorAll('#function-towing ~ ul li, section:has(#function-towing) li').length"
        )
        assert some >= listed > 0
        page.get_by_role("button", name="Say what car you have").click()
        page.get_by_label("Phase", exact=True).select_option("1")
        page.get_by_role("button", name="Save car").click()
        answers = page.locator("[data-asf-found] .asf-answer")
        expect(answers).to_have_count(some)
        kinds = [one.split(" ")[0] for one in answers.all_inner_texts()]
        page.get_by_label("Your car").select_option("may")
        expect(answers).to_have_count(sum(kind == "fits" for kind in kinds))  # "fits", "fits if"
        page.get_by_role("button", name="Change").click()
        page.get_by_role("button", name="Forget everything").click()
        expect(count).to_have_text("Say under “My car”, above, what car you have.")
