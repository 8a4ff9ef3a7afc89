"""JUnit XML: well-formed whatever was found, a case for each file. There is no standard: common practice."""

from __future__ import annotations

from pathlib import Path
from xml.etree import ElementTree

from click.testing import CliRunner

from asfound.cli import main
from asfound.source.findings import Finding
from asfound.source.junit import as_junit
from asfound.source.loader import load

DEMO = Path(__file__).parents[2] / "recipes"
FOUND = (
    Finding("one-id", "club.yml", 2, 3, "a.b", 'less < more & "quotes" ]]>', "write <it>"),
    Finding("two-id", "club.yml", 9, 1, "", "second", "how"),
    Finding("one-id", "modules/\udcff\x1b\0\ufffe.yml", 1, 1, "", "odd \x07 name", "rename it"),
)


def cases(text: str) -> dict[str, ElementTree.Element]:
    root = ElementTree.fromstring(text.encode("utf-8"))
    (suite,) = root
    assert (root.tag, suite.tag) == ("testsuites", "testsuite")
    found = {case.attrib["name"]: case for case in suite}
    assert len(found) == len(suite) == int(root.attrib["tests"]) == int(suite.attrib["tests"])
    failures = sum(case.find("failure") is not None for case in suite)
    assert failures == int(root.attrib["failures"]) == int(suite.attrib["failures"])
    return found


def test_one_case_for_each_file_and_one_failure_where_something_was_found() -> None:
    found = cases(as_junit(FOUND, ["club.yml", "vehicles/a.yml"], "recipes"))
    assert sorted(found) == ["club.yml", "modules/\ufffd\ufffd\ufffd\ufffd.yml", "vehicles/a.yml"]
    assert len(found["vehicles/a.yml"]) == 0
    failure = found["club.yml"].find("failure")
    assert failure is not None and failure.text is not None
    assert failure.attrib["type"] == "one-id"
    assert failure.attrib["message"] == 'less < more & "quotes" ]]> (and 1 more)'
    for said in ("recipes/club.yml:2:3 a.b [one-id]", "write <it>", "recipes/club.yml:9:1", "second"):
        assert said in failure.text


def test_nothing_found_is_a_suite_that_passes() -> None:
    assert cases(as_junit((), (), "recipes")) == {}


def test_check_writes_every_file_of_the_demo() -> None:
    done = CliRunner().invoke(main, ["check", "--format", "junit", str(DEMO)])
    assert done.exit_code == 0
    assert sorted(cases(done.stdout)) == sorted(load(DEMO).files)
