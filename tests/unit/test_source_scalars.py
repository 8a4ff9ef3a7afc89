"""Plain scalars against other readers of YAML.

Outside checks: PyYAML 6 (a YAML 1.1 reader) as it runs; the regular expressions of the YAML 1.1 type
repository (yaml.org/type/bool, int, float, null, timestamp, merge, value) and of the YAML 1.2.2 core schema
(section 10.3.2), copied out here from memory.
"""

from __future__ import annotations

import re
from decimal import Decimal

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from asfound.source.reader import read
from asfound.source.scalars import Refused, resolve

YAML_1_1 = [
    r"y|Y|yes|Yes|YES|n|N|no|No|NO|true|True|TRUE|false|False|FALSE|on|On|ON|off|Off|OFF",
    r"[-+]?0b[0-1_]+|[-+]?0[0-7_]+|[-+]?(0|[1-9][0-9_]*)|[-+]?0x[0-9a-fA-F_]+|[-+]?[1-9][0-9_]*(:[0-5]?[0-9])+",
    r"[-+]?([0-9][0-9_]*)?\.[0-9.]*([eE][-+][0-9]+)?|[-+]?[0-9][0-9_]*(:[0-5]?[0-9])+\.[0-9_]*",
    r"[-+]?\.(inf|Inf|INF)|\.(nan|NaN|NAN)",
    r"~|null|Null|NULL|",
    r"[0-9]{4}-[0-9]{2}-[0-9]{2}|[0-9]{4}-[0-9]{1,2}-[0-9]{1,2}([Tt]|[ \t]+)[0-9]{1,2}:[0-9]{2}:[0-9]{2}"
    r"(\.[0-9]*)?(([ \t]*)Z|[-+][0-9]{1,2}(:[0-9]{2})?)?",
    r"<<|=",
]
YAML_1_2 = [
    r"null|Null|NULL|~|",
    r"true|True|TRUE|false|False|FALSE",
    r"[-+]?[0-9]+|0o[0-7]+|0x[0-9a-fA-F]+",
    r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?|[-+]?\.(inf|Inf|INF)|\.(nan|NaN|NAN)",
]
ANYTHING_BUT_TEXT = re.compile("|".join(f"(?:{pattern})" for pattern in YAML_1_1 + YAML_1_2))


def pyyaml(text: str):
    return yaml.load(text, yaml.CSafeLoader)


def check(text: str) -> None:
    """What we accept, others read alike; what others might read otherwise, we refuse."""
    value = resolve(text)
    if isinstance(value, Refused):
        assert value.repair.startswith("write ")
        return
    if isinstance(value, str):
        if re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text, re.ASCII):
            return  # a day: kept as text, the one agreed exception
        assert not ANYTHING_BUT_TEXT.fullmatch(text), text
        assert value == text
    elif isinstance(value, Decimal):
        assert float(value) == pyyaml(text)
    else:
        assert type(value) is type(pyyaml(text)) and value == pyyaml(text)


@pytest.mark.parametrize("digits", [2, 4])
def test_every_hexadecimal_value_of_so_many_digits(digits):
    """PyYAML turns 98 of the 256 bytes into something else than text (measured); none slips through here."""
    mangled = 0
    for number in range(16**digits):
        text = f"{number:0{digits}X}"
        check(text)
        try:
            mangled += not isinstance(pyyaml(text), str) if digits == 2 else 0
        except ValueError:
            mangled += 1
        value = resolve(text)
        if digits == 2:
            # refused, or a number, which no schema of ours takes for bytes: never silently another text
            assert isinstance(value, Refused | int)
            if isinstance(value, Refused):
                assert f'"{text}"' in value.repair
    if digits == 2:
        assert mangled == 98


def test_every_byte_written_in_bits():
    """All 256 unquoted eight-bit strings lose their value in PyYAML, those with a leading zero as octal."""
    for number in range(256):
        text = f"{number:08b}"
        value = resolve(text)
        assert isinstance(value, Refused) or value == int(text) >= 10**7


@pytest.mark.parametrize("hour", range(24))
def test_every_time_of_day(hour):
    for minute in range(60):
        for text in (f"{hour}:{minute:02}", f"{hour:02}:{minute:02}", f"{hour}:{minute:02}:07"):
            assert isinstance(resolve(text), Refused), text


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("true", True),
        ("false", False),
        ("null", None),
        ("0", 0),
        ("-7", -7),
        ("42", 42),
        ("999999999999999999", 999999999999999999),
        ("0x3B", 59),
        ("0xff", 255),
        ("1.5", Decimal("1.5")),
        ("-0.050", Decimal("-0.050")),
        ("2026-02-30", "2026-02-30"),
        ("stays off", "stays off"),
        ("12 V", "12 V"),
        ("2019-03/..", "2019-03/.."),
        ("../2020-01", "../2020-01"),
        ("7Z0K2Q4M", "7Z0K2Q4M"),
        ("P0133", "P0133"),
        ("none", "none"),
        ("Nan", "Nan"),
        ("inf", "inf"),
        ("Oslo", "Oslo"),
        ("a:b", "a:b"),
    ],
)
def test_accepted(text, value):
    assert resolve(text) == value
    assert type(resolve(text)) is type(value)


@pytest.mark.parametrize(
    ("text", "id", "repair"),
    [
        ("off", "yaml-plain-word", 'write "off" for the word, or false'),
        ("Yes", "yaml-plain-word", 'write "Yes" for the word, or true'),
        ("~", "yaml-plain-word", 'write "~" for the text, or leave the key out'),
        ("=", "yaml-plain-word", 'write "="'),
        ("0210", "yaml-plain-number", 'write "0210", or 210 if a number is meant'),
        ("0405", "yaml-plain-number", 'write "0405", or 405 if a number is meant'),
        ("1:30", "yaml-plain-number", 'write "1:30"'),
        ("1E2", "yaml-plain-number", 'write "1E2"'),
        ("-0", "yaml-plain-number", 'write "-0"'),
        ("00", "yaml-plain-number", 'write "00"'),
        ("0o17", "yaml-plain-number", 'write "0o17"'),
        ("2024-1-5", "yaml-plain-number", 'write "2024-1-5"'),
        ("2024-01-05 10:00:00", "yaml-plain-number", 'write "2024-01-05 10:00:00"'),
        (".inf", "yaml-plain-number", 'write ".inf"'),
        ("3C", "yaml-plain-bytes", 'write "3C"'),
        ("01 40 00 7F", "yaml-plain-bytes", 'write "01 40 00 7F"'),
        ("1" * 19, "yaml-long-number", "write a shorter number, or quotes around it if it is text"),
        ("1" * 5000, "yaml-long-number", "write a shorter number, or quotes around it if it is text"),
    ],
)
def test_refused(text, id, repair):
    value = resolve(text)
    assert isinstance(value, Refused)
    assert (value.id, value.repair) == (id, repair)


def test_digits_of_other_scripts_are_text():
    """``int()`` would take them; YAML and we do not."""
    for text in ("１２", "٣", "१२३"):
        assert resolve(text) == text


@settings(deadline=None)
@given(st.text("0123456789abcdefxoXEe+-._:,TZ~<>= nulyoftrsNLUYOFTRS", min_size=1, max_size=14))
def test_no_text_means_anything_else_elsewhere(text):
    check(text.strip() or "x")


@settings(deadline=None)
@given(st.integers(-(10**17), 10**17))
def test_integers_are_exact(number):
    assert resolve(str(number)) == number or number == 0


@settings(deadline=None)
@given(st.text(max_size=40))
def test_quoting_the_repair_gives_the_text_back(text):
    """What a repair tells to write, read again, is the text."""
    from asfound.source.findings import quoted

    found = read(f"a: {quoted(text)}\n".encode(), "x.yml")
    assert found.data == {"a": text} or [f.id for f in found.findings] == ["file-hidden-character"]
