"""What the page shows of the coming sits and of his ground."""

from __future__ import annotations

from deerlog.report.page_data import LeftOut, PlanView, SitAdvice, StayOut
from deerlog.report.plan_words import closed_words, no_sit_words, outlook_words, stay_outs, why
from deerlog.study.plan import ComingPlan


def plan_view(made: ComingPlan) -> PlanView:
    """The plan as the first screen has it."""
    return PlanView(
        first=made.first,
        last=made.last,
        sits=tuple(
            SitAdvice(
                day=sit.day,
                half="AM" if sit.half == "AM" else "PM",
                stand=sit.place,
                why=why(sit),
                buck=sit.buck,
                chance=sit.chance,
                low=sit.low,
                high=sit.high,
            )
            for sit in made.sits
            if sit.advice == "sit"
        ),
        stay_outs=tuple(
            StayOut(where=where, why=reason)
            for where, reason in stay_outs(made.sits, made.sit_at_least)
        ),
        none=no_sit_words(made.sits),
        closed=None if made.opens_next is None else closed_words(*made.opens_next),
        ahead=tuple(outlook_words(outlook) for outlook in made.outlook),
    )


def plan_left_out(made: ComingPlan) -> tuple[LeftOut, ...]:
    """What the plan could not consider."""
    return tuple(LeftOut(what=item.what, missing=item.missing) for item in made.not_considered)
