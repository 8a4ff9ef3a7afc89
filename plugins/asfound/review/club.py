"""What changed in the club's own file: who may vet, what the club demands, what it refuses."""

from __future__ import annotations

from collections.abc import Iterator

from ..trust.reports import Club, Reviewer
from .both import Both, change, either
from .review import Change, Subject, from_to


def club_changes(both: Both) -> Iterator[Change]:
    """Every change to club.yml."""
    was, now = both.before.club, both.after.club
    if was == now and "club.yml" not in both.files:
        return
    subject = Subject("club", now.id, now.name, both.state("club.yml", was, now))
    yield from either(subject, tuple(_club(subject, was, now)))


def _club(subject: Subject, was: Club, now: Club) -> Iterator[Change]:
    old, new = ({r.handle: r for r in club.reviewers} for club in (was, now))
    for handle in dict.fromkeys((*old, *new)):
        if handle not in old:
            says = f"{handle} becomes a reviewer, {_days(new[handle])}."
            yield change(subject, "reviewer-added", says)
        elif handle not in new:
            yield change(
                subject, "reviewer-removed", f"{handle} is no longer named as a reviewer, nor for the past."
            )
        elif old[handle] != new[handle]:
            says = f"{handle} is a reviewer on other days."
            yield change(subject, "reviewer-changed", says, from_to(_days(old[handle]), _days(new[handle])))
    for what, one, other, lower_is_less in (
        ("signatures", was.vetting.signatures, now.vetting.signatures, True),
        ("reports of success on a variant", was.vetting.reports, now.vetting.reports, True),
        ("bad reports allowed on a variant", was.vetting.most_bad, now.vetting.most_bad, False),
    ):
        if one != other:
            lowered = (other < one) == lower_is_less
            kind = "thresholds-lowered" if lowered else "thresholds-raised"
            says = f"The club demands {'less' if lowered else 'more'} before it vouches: {what}."
            yield change(subject, kind, says, from_to(one, other))
    for what, before, after in (
        ("access codes are published", was.access_codes, now.access_codes),
        ("unvetted recipes are published", _yes(was.publish_unvetted), _yes(now.publish_unvetted)),
        ("functions are refused", ", ".join(was.refuse_functions), ", ".join(now.refuse_functions)),
        ("minutes with the key on call for a supply", was.long_key_on, now.long_key_on),
    ):
        if before != after:
            yield change(
                subject, "policy-changed", f"The policy is another: which {what}.", from_to(before, after)
            )
    if was.times != now.times:
        yield change(subject, "times-changed", "The club's estimates of time are others.", from_to(
            *(f"faults {t.faults}, module {t.module}, record {t.record}, check {t.check} min"
              for t in (was.times, now.times))
        ))  # fmt: skip
    for words in ("id", "name", "about", "contact", "site", "language"):
        if getattr(was, words) != getattr(now, words):
            yield change(
                subject,
                "club-words",
                f"Its {words} reads otherwise.",
                from_to(getattr(was, words), getattr(now, words)),
            )


def _days(reviewer: Reviewer) -> str:
    return f"from {reviewer.since} to {reviewer.until or 'now'}"


def _yes(value: bool) -> str:
    return "yes" if value else "no"
