"""What the owner has to do by when: the verdicts' actions and the timetable's days as one list."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

from stell.core.leads import when_text
from stell.core.records import written_date
from stell.core.timetable import Milestone, Timetable
from stell.core.verdict import ACTION_KINDS, Action, Decision, Outcome, Reason
from stell.press.wording import counted, listed, sentence, weekday_date
from stell.reports.values import Day, Todo
from stell.reports.wording import WHO

MANY_RAMS = 9
_NAMED = 6
_PRESSING = ("report", "isolate", "withdraw")
_ORDER = {kind: i for i, kind in enumerate(("report", "isolate", "withdraw", "treat", "restrict"))}
_UNDATED = {"restrict": "this season", "reexamine": "ask the vet"}
_DAY_OPEN = "The vet put him off; the day is still to be named."
_TOO_CLOSE = "A reading lay so close to the limit that a second could fall on the other side."
# Days of the timetable on which the owner does something; the others are only shown on the line.
_OWNER_DAYS = ("condition_lead", "shearing_lead", "last_purchase", "stress_free", "rams_in")
_WHOM = {"rams_in": "only those who are ready", "last_purchase": "if rams are short"}
# A proposal's actions that fall away when the vet decides otherwise.
_FALLS_AWAY = {
    Outcome.SATISFACTORY: ("withdraw", "reexamine", "complete", "measure_again"),
    Outcome.DEFERRED: ("withdraw", "complete"),
    Outcome.INCOMPLETE: ("withdraw",),
    Outcome.UNSATISFACTORY: ("reexamine", "complete", "measure_again", "restrict"),
}


def standing_actions(decision: Decision) -> tuple[Action, ...]:
    """Return the actions that stand once the vet has decided.

    Where the vet's verdict differs from the proposal, what belongs to the proposed outcome alone
    falls away; treatment, isolation and reporting stay.
    """
    actions = decision.proposed.actions
    own = decision.override
    if own is None or own.outcome is decision.proposed.outcome:
        return actions
    kept = tuple(a for a in actions if a.kind not in _FALLS_AWAY[own.outcome])
    if own.outcome is Outcome.UNSATISFACTORY and not any(a.kind == "withdraw" for a in kept):
        return (*kept, Action("withdraw", own.on, own.reason, (), own.reason))
    return kept


def todo_list(
    rams: Sequence[tuple[str, Decision]],
    table: Timetable,
    *,
    today: date,
    short_of_rams: bool,
) -> tuple[Todo, ...]:
    """Return what to do, pressing things first, then by day.

    Parameters
    ----------
    rams : sequence of (label, Decision)
        In the order in which their labels are to be listed.
    table : Timetable
    today : date
    short_of_rams : bool
        Whether a ram might have to be bought: then the last day for it is listed.
    """
    items = [*_of_rams(rams, today), *_of_days(table, today, short_of_rams)]

    def place(item: Todo) -> tuple[bool, date, int]:
        return (not item.pressing, item.due_on or date.max, _ORDER.get(item.kind, 9))

    return tuple(sorted(items, key=place))


def _of_rams(rams: Sequence[tuple[str, Decision]], today: date) -> Iterable[Todo]:
    groups: dict[tuple[str, date | None, str], list[str]] = {}
    for label, decision in rams:
        for kind, due_on, why in _with_words(decision, today):
            groups.setdefault((kind, due_on, why), []).append(label)
    for (kind, due_on, why), labels in groups.items():
        yield Todo(
            kind=kind,
            due_on=due_on,
            due=weekday_date(due_on) if due_on else _UNDATED[kind],
            away=when_text(due_on, today) if due_on and due_on > today else "now" if due_on else "",
            what=sentence(ACTION_KINDS[kind])[:-1],
            why=why,
            who=WHO[kind],
            rams=tuple(labels),
            whom=named(labels),
            pressing=kind in _PRESSING,
        )


def _with_words(decision: Decision, today: date) -> Iterable[tuple[str, date | None, str]]:
    """Yield kind, day and words of each thing to do for one ram, telling nothing twice."""
    reasons = {r.rule.rule_id: r for r in decision.proposed.reasons}
    told: set[str] = set()
    by_day: dict[tuple[str, date], list[Action]] = {}
    for action in sorted(standing_actions(decision), key=lambda a: _ORDER.get(a.kind, 9)):
        by_day.setdefault((action.kind, max(action.due_on, today)), []).append(action)
    for (kind, due_on), actions in by_day.items():
        rules = list(dict.fromkeys(rule for a in actions for rule in a.rules))
        if kind == "measure_again":
            words = [_TOO_CLOSE]
        elif kind == "restrict" or not rules:
            words = [sentence(a.owner or a.sentence) for a in actions]
        else:
            words = [sentence(reasons[r].rule.owner) for r in rules if r not in told]
            words = words or [sentence("; ".join(finding(reasons[r]) for r in rules))]
            told.update(rules)
        standing = kind == "restrict"  # no day by which a limit on use is done
        yield kind, None if standing else due_on, " ".join(dict.fromkeys(words))
    if _day_is_open(decision):
        yield "reexamine", None, _DAY_OPEN


def _day_is_open(decision: Decision) -> bool:
    """Whether the vet put him off without a day that the protocol could name."""
    actions = standing_actions(decision)
    return decision.outcome is Outcome.DEFERRED and all(a.kind != "reexamine" for a in actions)


def finding(reason: Reason) -> str:
    """Return what was found in a few words, for example ``Gait: lame, but bears weight``."""
    if reason.band is None:
        return f"{reason.check.title}: {reason.rule.label}"
    return f"{reason.check.title}: {reason.rule.classed.replace('_', ' ')}"


def _of_days(table: Timetable, today: date, short_of_rams: bool) -> Iterable[Todo]:
    for m in table.milestones:
        if m.code not in _OWNER_DAYS or m.on < today:
            continue
        if m.code == "last_purchase" and not short_of_rams:
            continue
        yield Todo(
            kind=m.code,
            due_on=m.on,
            due=weekday_date(m.on),
            away=when_text(m.on, today),
            what=m.title,
            why=meaning(m),
            who="you",
            rams=(),
            whom=_WHOM.get(m.code, "all"),
        )


def meaning(milestone: Milestone) -> str:
    """Return what a milestone means, without its title and lead."""
    return sentence(milestone.sentence.partition(": ")[2] or milestone.sentence)


def timetable_days(table: Timetable) -> tuple[Day, ...]:
    """Return the milestones as they stand on the timetable."""
    return tuple(
        Day(
            code=m.code,
            on=m.on,
            due=weekday_date(m.on),
            away=when_text(m.on, table.today),
            title=m.title,
            sentence=meaning(m),
            past=m.on < table.today,
            acts=m.code in _OWNER_DAYS,
        )
        for m in table.milestones
    )


def next_step(decision: Decision, today: date) -> str:
    """Return a ram's next steps in a few words, for example ``treat now; examine again on …``."""
    first: dict[str, Action] = {}
    for action in sorted(standing_actions(decision), key=lambda a: _ORDER.get(a.kind, 9)):
        if action.kind not in first or action.due_on < first[action.kind].due_on:
            first[action.kind] = action
    steps = [_step(action, today) for action in first.values()]
    if _day_is_open(decision):
        steps.append("examine again: ask the vet for the day")
    return "; ".join(steps)


def _step(action: Action, today: date) -> str:
    words = ACTION_KINDS[action.kind]
    if action.kind in ("withdraw", "restrict", "isolate"):
        return words
    if action.due_on <= today:
        return f"{words} now"
    on = "on" if action.kind == "reexamine" else "by"
    return f"{words} {on} {written_date(action.due_on)}"


def named(rams: Sequence[str]) -> str:
    """Return labels for a narrow column; a long list is cut, with the number left out.

    Examples
    --------
    >>> named(["11", "12"])
    '11 and 12'
    """
    if len(rams) <= MANY_RAMS:
        return listed(rams)
    return f"{', '.join(rams[:_NAMED])} and {counted(len(rams) - _NAMED, 'more ram')}"
