"""The chances of a season as text for the terminal."""

from __future__ import annotations

from collections.abc import Callable

from harvestplan.foresight.answers import LimitCount, Risk, Spread, WeekRisk
from harvestplan.inputs.season import Measures
from harvestplan.outputs.text_page import wrapped
from harvestplan.words import about, day, food_name, joined, one_line, plural

MOST_WEEKS = 6
LEAST_SHARE = 0.1
"""A limit is named where it stands for at least this share of what a week loses."""
UNTIMED = (
    "Sessions are not timed to the minute here: hands, machines and freezing hold by their work "
    "alone, so that a full evening may be a little fuller than a real one."
)


def risk_text(risk: Risk, measures: Measures) -> str:
    """Chances of the wants, spread of the season's figures, and the weeks most at risk."""
    done = len(risk.years)
    lines = [f"The season from {day(risk.as_of, year=True)} on, tried in {_years(risk)}:", ""]
    if done < risk.asked:
        lines.insert(1, f"stopped after {done} of {risk.asked} years.")
    lines += _wants(risk)
    lines += ["", f"Every want is met in {risk.all_met:.0%} of the years.", ""]
    lines += _figures(risk, measures)
    lines += ["", *_weeks(risk, measures), ""]
    lines += wrapped(UNTIMED, hang=0)
    lines += wrapped(
        f"Yields are drawn from their spread (seed {risk.seed}); the plan is made anew each Monday "
        f"({plural(risk.replans, 'time')} in all, {risk.cpu_seconds:.0f} s of computing).",
        hang=0,
    )
    return "\n".join(lines)


def _years(risk: Risk) -> str:
    if not risk.years:
        return "no year"
    first, last = min(risk.years), max(risk.years)
    if len(risk.years) == 1:
        return f"the weather of {first}"
    return f"the weather of {len(risk.years)} years ({first} to {last})"


def _wants(risk: Risk) -> list[str]:
    names = [food_name(want.product, 34) for want in risk.wants]
    width = max([len(name) for name in names], default=0)
    lines = [f"{'':{width}}  wanted  met in  short: mean  one year in ten"]
    for name, want in zip(names, risk.wants, strict=True):
        worst = f"{want.short_p90:.0f} or more" if want.short_p90 >= 0.5 else "–"
        lines.append(
            f"{name:{width}}  {want.wanted:6d}  {want.met:6.0%}  {want.short_mean:11.1f}  {worst}"
        )
    return lines


def _figures(risk: Risk, measures: Measures) -> list[str]:
    lines = [f"{'':24}{'one in ten':>18}{'middling':>18}{'one in ten':>18}"]
    lines.append(_row("portions short", risk.short, lambda value: f"{value:.0f}"))
    lines.append(_row("given away", risk.given_kg, lambda value: about(1000 * value, measures)))
    lines.append(_row("evenings", risk.evenings, lambda value: f"{value:.0f}"))
    if risk.fullest_share is not None and risk.fullest_day is not None:
        name = one_line(f"{risk.freezer} at its fullest", 24)
        lines.append(_row(name, risk.fullest_share, lambda value: f"{value:.0%}"))
        dates = "".join(f"{day(date):>18}" for date in risk.fullest_day)
        lines.append(f"{'  on':24}{dates}")
    return lines


def _row(name: str, of: Spread, shown: Callable[[float], str]) -> str:
    return f"{name:24}" + "".join(f"{shown(value):>18}" for value in (of.p10, of.p50, of.p90))


def _weeks(risk: Risk, measures: Measures) -> list[str]:
    if not risk.weeks:
        return ["No wanted food is lost in any of the years."]
    lines = ["Weeks in which most wanted food goes past its time:"]
    for week in risk.weeks[:MOST_WEEKS]:
        lines += wrapped(_week(week, measures))
    return lines


def _week(week: WeekRisk, measures: Measures) -> str:
    why = joined([_limit(each) for each in week.limits if each.kg >= LEAST_SHARE * week.kg])
    crops = joined([one_line(crop) for crop in week.crops[:3]])
    return (
        f"  {day(week.week)}: {about(1000 * week.kg, measures)} a year on average, in "
        f"{week.share:.0%} of the years; {crops}. In the way: {why}."
    )


def _limit(each: LimitCount) -> str:
    return one_line(each.limit)
