"""Names of refusals against ISO 14229-1, negative response codes."""

from __future__ import annotations

import pytest

from asfound.work.refusals import ANSWERS, MISHAPS, ONE_OF_SEVERAL, PANEL, REFUSALS, SILENT, panel

# ISO 14229-1, negative response codes; names as two public implementations of the standard spell them.
NAMES = {
    0x13: "incorrectMessageLengthOrInvalidFormat",
    0x22: "conditionsNotCorrect",
    0x31: "requestOutOfRange",
    0x33: "securityAccessDenied",
    0x35: "invalidKey",
    0x36: "exceedNumberOfAttempts",
    0x37: "requiredTimeDelayNotExpired",
    0x72: "generalProgrammingFailure",
    0x78: "requestCorrectlyReceived-ResponsePending",
    0x92: "voltageTooHigh",
    0x93: "voltageTooLow",
}


BY_CODE = {one.code: one for one in REFUSALS}


def letters(name: str) -> str:
    return "".join(c for c in name.lower() if c.isalpha())


def test_every_code_of_the_list_and_no_other():
    assert set(BY_CODE) == set(NAMES)
    assert [r.code for r in REFUSALS] == sorted(NAMES)
    assert len(BY_CODE) == len(REFUSALS)


@pytest.mark.parametrize("one", REFUSALS, ids=lambda r: r.hex)
def test_the_name_is_that_of_the_standard(one):
    # The standard spells 0x36 "exceed…" where English wants "exceeded".
    assert letters(one.name).replace("exceeded", "exceed") == letters(NAMES[one.code])
    assert one.hex == f"0x{one.code:02X}"


def test_the_advice_the_design_insists_on():
    assert "ignition" in BY_CODE[0x22].do or "key" in BY_CODE[0x22].do
    assert "voltage" in BY_CODE[0x22].do and "engine" in BY_CODE[0x22].do
    assert BY_CODE[0x31].after == "stop" and "wrong layout" in BY_CODE[0x31].do
    for code in (0x33, 0x35):
        assert "never guess a code" in BY_CODE[code].do.lower()
    for code in (0x36, 0x37):
        assert BY_CODE[code].after == "wait"
    assert BY_CODE[0x78].after == "wait" and "no refusal" in BY_CODE[0x78].means
    assert all(r.means.endswith(".") and r.do.endswith(".") for r in REFUSALS)


def test_what_else_can_happen():
    assert ONE_OF_SEVERAL in MISHAPS and SILENT in MISHAPS
    assert "last one first" in " ".join(ONE_OF_SEVERAL.steps)
    assert all(m.title and m.steps and all(s.endswith(".") for s in m.steps) for m in MISHAPS)


def test_the_panel_on_paper_says_the_same_in_few_words():
    assert sorted(code for brief in PANEL for code in brief.codes) == sorted(BY_CODE)
    for brief in PANEL:
        for code in brief.codes:
            after, do = BY_CODE[code].after, brief.do.lower()
            words = {
                "stop": ("stop",),
                "wait": ("ten minutes", "until it answers"),
                "try again": ("once", "repeat"),
            }
            assert any(word in do for word in words[after]), brief
    for code in (0x33, 0x35):
        assert any("never guess" in brief.do.lower() for brief in PANEL if code in brief.codes)
    assert all(m.brief.endswith(".") for m in MISHAPS)


# ISO 14229-1, supported negative response codes in the tables of the services; of the codes from 0x81 on it
# says that any service may answer with them. Those of ours, by the operation behind which the service is.
SUPPORTED = {
    "open": (0x13, 0x22),  # 0x10 DiagnosticSessionControl
    "unlock": (0x13, 0x22, 0x31, 0x35, 0x36, 0x37),  # 0x27 SecurityAccess
    "write": (0x13, 0x22, 0x31, 0x33, 0x72),  # 0x2E WriteDataByIdentifier
    "read-back": (0x13, 0x22, 0x31, 0x33),  # 0x22 ReadDataByIdentifier
}
OF_ANY_SERVICE = (0x78, 0x92, 0x93)


def test_which_service_can_answer_so():
    assert {kind: sorted(codes) for kind, codes in ANSWERS.items()} == {
        kind: sorted((*codes, *OF_ANY_SERVICE)) for kind, codes in SUPPORTED.items()
    }


@pytest.mark.parametrize(
    ("kinds", "codes"),
    [
        (("identify", "read-faults", "load-file", "read-version", "check"), []),
        (("open", "write", "read-back"), [0x13, 0x31, 0x22, 0x33, 0x72, 0x78, 0x92, 0x93]),
        (("open", "unlock", "write"), [code for brief in PANEL for code in brief.codes]),
    ],
)
def test_the_panel_has_what_can_come_up_in_the_job(kinds, codes):
    assert [code for brief in panel(kinds) for code in brief.codes] == codes
