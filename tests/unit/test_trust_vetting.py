"""Whether the club vouches, and the reasons it gives."""

from __future__ import annotations

from dataclasses import replace

import pytest

from asfound.car.conditions import TRUE
from asfound.trust.codes import check_letter
from asfound.trust.evidence import Count
from asfound.trust.reports import Club, Report, ReportedCar, Reviewer, Signature, Times, Vetting
from asfound.trust.vetting import examine, vetted
from asfound.work.recipes import Media, Recipe, Withdrawal

SHEET, OTHER = ("ABCDEFG" + check_letter("ABCDEFG"), "HJKMNPQ" + check_letter("HJKMNPQ"))
CLUB = Club(
    "circle", "Circle", "", "", (
        Reviewer("ann", "2025-01-01"), Reviewer("bea", "2025-01-01", "2025-12-31"),
        Reviewer("bea", "2026-06-01"), Reviewer("author", "2025-01-01"), Reviewer("cid", "2025-01-01"),
    ), Vetting(2, 2, 0), "ask", True, (), Times(1, 1, 1, 1), 20,
)  # fmt: skip
RECIPE = Recipe("r", "R", "author", "p", "a", TRUE, (), "automatic", "offered", ())
MEDIA = Media(
    "m", "A.BIN", "1", 1, "00" * 32, "maker", "", "FAT32", 1, None, ("Load",), 5, "About", ("0",), "1"
)  # fmt: skip
CAR = ReportedCar("skerry", "short", "1")


def sign(by, on="2025-05-01", code=SHEET):
    return Signature("r", by, code, on)


def evidence(*outcomes):
    """One report each, by different members."""
    return Count(
        tuple(Report(f"x{i}", "r", SHEET, f"m{i}", "2025-05-01", CAR, o) for i, o in enumerate(outcomes))
    )


BOTH = (sign("ann"), sign("cid"))
GOOD = evidence("worked", "worked")


def standing(signatures=BOTH, reports=GOOD, recipe=RECIPE, club=CLUB, code=SHEET):
    return vetted(recipe, club, code, signatures, reports)


def test_vetted():
    got = standing()
    assert got.vetted and got.label == "vetted" and got.signed_by == ("ann", "cid")
    assert got.reasons == ("signed by ann and cid", "two members say that it worked on this variant")


@pytest.mark.parametrize(
    ("signature", "validity"),
    [
        (sign("ann"), "counts"),
        (sign("ann", "2025-01-01"), "counts"),
        (sign("ann", "2024-12-31"), "no reviewer that day"),
        (sign("bea", "2025-12-31"), "counts"),
        (sign("bea", "2026-01-01"), "no reviewer that day"),
        (sign("bea", "2026-06-01"), "counts"),
        (sign("nobody"), "no reviewer that day"),
        (sign("author"), "by the author"),
        (sign("ann", code=OTHER), "earlier sheet"),
        (sign("ann", code=SHEET[:-1] + ("0" if SHEET[-1] != "0" else "1")), "mistyped"),
    ],
)
def test_each_signature_is_examined(signature, validity):
    assert [one.validity for one in examine([signature], RECIPE, CLUB, SHEET)] == [validity]
    got = standing([signature, sign("cid")])
    assert got.vetted is (validity == "counts")


def test_one_reviewer_signs_once():
    twice = [sign("ann", "2025-06-01"), sign("ann")]
    assert [(e.signature.on, e.validity) for e in examine(twice, RECIPE, CLUB, SHEET)] == [
        ("2025-05-01", "counts"), ("2025-06-01", "twice"),
    ]  # fmt: skip
    assert standing(twice).reasons == ("one signature of two",)


@pytest.mark.parametrize(
    ("signatures", "reports", "reasons"),
    [
        (BOTH[:1], GOOD, ("one signature of two",)),
        ((), GOOD, ("no signature of two",)),
        (BOTH, evidence(), ("nobody has reported on this variant",)),
        (BOTH, evidence("worked"), ("one member says that it worked on this variant, two are asked for",)),
        (BOTH, evidence("partly"), ("nobody says that it worked on this variant, two are asked for",)),
        (
            BOTH, evidence("worked", "worked", "refused"),
            ("one report says that it failed on this variant; the club allows none",),
        ),
        (BOTH[:1], evidence(), ("one signature of two", "nobody has reported on this variant")),
    ],
)  # fmt: skip
def test_what_is_missing(signatures, reports, reasons):
    got = standing(signatures, reports)
    assert got.label == "not vetted" and got.reasons == reasons


@pytest.mark.parametrize(("asked", "said"), [(3, "two signatures of three"), (11, "two signatures of 11")])
def test_several_signatures_are_too_few(asked, said):
    assert standing(club=replace(CLUB, vetting=Vetting(asked, 2, 0))).reasons == (said,)


def test_partly_and_put_back_do_not_count_as_failures_nor_as_successes():
    assert standing(reports=evidence("worked", "worked", "partly", "put-back")).vetted
    assert not standing(reports=evidence("worked", "partly", "put-back")).vetted


def test_two_cars_of_one_member_are_one_member():
    one = GOOD.reports[0]
    assert not standing(reports=Count((one, replace(one, id="y", car=replace(CAR, built="2019-01"))))).vetted


def test_the_clubs_thresholds_decide():
    lax = replace(CLUB, vetting=Vetting(1, 0, 2))
    assert standing((sign("ann"),), evidence("refused", "no-effect"), club=lax).reasons == (
        "signed by ann", "the club asks for no report on this variant, and nobody says that it worked",
    )  # fmt: skip
    got = standing(BOTH, evidence("refused", "no-effect", "could-not-put-back"), club=lax)
    assert got.reasons == ("three reports say that it failed on this variant; the club allows two",)


@pytest.mark.parametrize(
    ("origin", "ok"), [("maker", True), ("club", True), ("member", False), ("unknown", False)]
)
def test_a_file_recipe_is_never_more_trusted_than_its_file(origin, ok):
    got = standing(recipe=replace(RECIPE, media=replace(MEDIA, origin_from=origin)))
    assert got.vetted is ok and (ok or "file" in got.reasons[0])


def test_without_a_code_nothing_counts():
    assert standing(code=None).reasons[0] == "its changes cannot be computed"
    assert not standing(code=None).vetted


def test_drafts_withdrawn_and_own_notes():
    assert standing(recipe=replace(RECIPE, status="draft")).label == "draft"
    gone = replace(RECIPE, status="withdrawn", withdrawn=Withdrawal("2026-01-01", "It fails.", "put-back"))
    assert standing(recipe=gone).label == "withdrawn"
    assert standing(recipe=gone).reasons == ("withdrawn: It fails.",)
    own = replace(CLUB, reviewers=())
    assert standing(club=own).label == "own notes"
    assert standing(club=own, recipe=gone).label == "withdrawn"
