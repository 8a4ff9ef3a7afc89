"""The planner's page: complete words without its script, a place to work in with it."""

from __future__ import annotations

from dataclasses import dataclass

from .. import links
from ..links import Link


@dataclass(frozen=True, slots=True)
class PlannerPage:
    """``find`` is the address of the list of recipes, ``sheets`` that of the list of sheets."""

    find: str
    sheets: str


def planner_page(link: Link) -> PlannerPage:
    """The page of the planner."""
    return PlannerPage(link(links.FIND), link(links.PLAN_SHEET))
