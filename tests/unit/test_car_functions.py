"""The list of functions and its repetition in the schema."""

import json
from pathlib import Path

from asfound.car.functions import FUNCTIONS, category, words

SCHEMA = Path(__file__).parents[2] / "schema" / "common.schema.json"


def test_schema_and_code_list_the_same_functions_in_the_same_order() -> None:
    function = json.loads(SCHEMA.read_text("utf-8"))["$defs"]["function"]
    assert function["enum"] == list(FUNCTIONS)
    safety = [name for name in FUNCTIONS if category(name) == "safety"]
    security = [name for name in FUNCTIONS if category(name) == "security"]
    assert f"safety functions are {', '.join(safety)};" in function["description"]
    assert f"security functions are {', '.join(security)};" in function["description"]


def test_every_function_reads_as_words_of_its_own() -> None:
    assert len({words(name) for name in FUNCTIONS}) == len(FUNCTIONS)
    assert {category(name) for name in FUNCTIONS} == {"ordinary", "safety", "security", "environment"}
