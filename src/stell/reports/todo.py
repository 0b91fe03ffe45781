"""What the owner has to do by when: the verdicts' actions and the timetable's days as one list.

One line holds one kind of action on one day, for all rams it concerns, each with a few words. What
the words mean, in whole sentences, is said by `plain_words`.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date

from stell.core.leads import when_text
from stell.core.protocol.ready import ReadyProtocol
from stell.core.records import written_date
from stell.core.standing import standing_actions
from stell.core.timetable import Milestone, Timetable
from stell.core.verdict import ACTION_KINDS, Action, Decision, Outcome
from stell.press.wording import counted, day_month, listed, sentence, weekday_date
from stell.reports.briefly import brief_borderline, brief_missing, briefs
from stell.reports.owner_values import Day, Todo, Whom
from stell.reports.wording import HOW, OWN_VERDICT

MANY_RAMS = 9
_NAMED = 6
_PRESSING = ("report", "isolate", "withdraw")
_ORDER = {kind: i for i, kind in enumerate(("report", "isolate", "withdraw", "treat", "restrict"))}
_UNDATED = {"restrict": "this season", "reexamine": "ask the vet"}
# Days of the timetable on which the owner does something; the others are only shown on the line.
_OWNER_DAYS = {
    "condition_lead": "thin rams are fed up from this day at the latest",
    "shearing_lead": "rams that are to be shorn",
    "last_purchase": "if rams are short",
    "stress_free": "no transport, dipping or mixing that can wait",
    "rams_in": "only those who are ready",
}


def todo_list(
    rams: Sequence[tuple[str, Decision, ReadyProtocol]],
    table: Timetable,
    *,
    today: date,
    short_of_rams: bool,
    unseen: Sequence[str] = (),
) -> tuple[Todo, ...]:
    """Return what to do: what brooks no delay, then the visit to book, then by day.

    Parameters
    ----------
    rams : sequence of (label, Decision, ReadyProtocol)
        In the order in which their labels are to be listed; the protocol is the one that judged.
    table : Timetable
    today : date
    short_of_rams : bool
        Whether a ram might have to be bought: then the last day for it is listed.
    unseen : sequence of str
        Labels of the rams that are not examined yet.
    """
    items = [*_of_rams(rams, today), *_of_days(table, today, short_of_rams)]
    items += [_visit(unseen, table, today)] if unseen else []

    def place(item: Todo) -> tuple[bool, bool, date, int]:
        by_day = (item.due_on or date.max, _ORDER.get(item.kind, 9))
        return (not item.pressing, item.kind != "examine", *by_day)

    return tuple(sorted(items, key=place))


# ---------------------------------------------------------------- what rams need


@dataclass(slots=True)
class _Line:
    """One line in the making: labels by their words, and the days on which it was due."""

    whom: dict[str, list[str]] = field(default_factory=dict)
    due: list[date] = field(default_factory=list)


def _of_rams(rams: Sequence[tuple[str, Decision, ReadyProtocol]], today: date) -> Iterable[Todo]:
    lines: dict[tuple[str, date | None], _Line] = {}
    for label, decision, protocol in rams:
        for kind, due_on, actions in _by_line(decision, today):
            line = lines.setdefault((kind, due_on), _Line())
            words = _words(kind, actions, decision, protocol)
            line.whom.setdefault(words, []).append(label)
            line.due += [a.due_on for a in actions]
    for (kind, due_on), line in lines.items():
        yield _todo(kind, due_on, line, today)


def _by_line(decision: Decision, today: date) -> Iterable[tuple[str, date | None, list[Action]]]:
    """Yield kind, day and actions of each line on which a ram stands."""
    lines: dict[tuple[str, date | None], list[Action]] = {}
    for action in sorted(standing_actions(decision), key=lambda a: _ORDER.get(a.kind, 9)):
        # no day by which a limit on use is done
        due_on = None if action.kind == "restrict" else max(action.due_on, today)
        lines.setdefault((action.kind, due_on), []).append(action)
    if day_is_open(decision):
        lines["reexamine", None] = []
    for (kind, due_on), actions in lines.items():
        yield kind, due_on, actions


def day_is_open(decision: Decision) -> bool:
    """Whether the vet put him off without a day that the protocol could name."""
    actions = standing_actions(decision)
    return decision.outcome is Outcome.DEFERRED and all(a.kind != "reexamine" for a in actions)


def _words(
    kind: str, actions: Sequence[Action], decision: Decision, protocol: ReadyProtocol
) -> str:
    """Return the few words said of one ram on one line."""
    verdict = decision.proposed
    if kind == "complete":
        return brief_missing(verdict.missing, protocol)
    if kind == "measure_again":
        return brief_borderline(verdict.borderline)
    if kind == "restrict":
        limits = (protocol.restrictions[r].title.partition(":")[0] for r in verdict.restrictions)
        return ", ".join(dict.fromkeys(limits))
    rules = {rule for a in actions for rule in a.rules}
    found = briefs(r for r in verdict.reasons if r.rule.rule_id in rules)
    return found or OWN_VERDICT


def _todo(kind: str, due_on: date | None, line: _Line, today: date) -> Todo:
    labels = [label for some in line.whom.values() for label in some]
    due, away = due_words(due_on, () if kind in _PRESSING else line.due, today)
    return Todo(
        kind=kind,
        due_on=due_on,
        due=due or _UNDATED[kind],
        away=away,
        what=sentence(ACTION_KINDS[kind])[:-1],
        how=HOW.get(kind, "") if due_on else "",
        whom=tuple(Whom(tuple(some), words) for words, some in line.whom.items()),
        shortly=named(labels),
        pressing=kind in _PRESSING,
    )


def due_words(due_on: date | None, was_due: Sequence[date], today: date) -> tuple[str, str]:
    """Return a day as printed and how far away it is; what is overdue is due now.

    Parameters
    ----------
    due_on : date or None
        No earlier than `today`.
    was_due : sequence of date
        The days on which its parts were due; empty for what simply holds from now on.
    today : date

    Examples
    --------
    >>> due_words(date(2026, 9, 14), [date(2026, 8, 28)], date(2026, 9, 14))
    ('now', 'was due 28 Aug 2026')
    """
    if due_on is None:
        return "", ""
    if due_on > today:
        return weekday_date(due_on), when_text(due_on, today)
    first, last = min(was_due, default=today), max(was_due, default=today)
    if first >= today:
        return "now", ""
    if first == last:
        return "now", f"was due {written_date(first)}"
    return "now", f"was due from {written_date(first)} on"


# ---------------------------------------------------------------- the visit, and other days


def _visit(unseen: Sequence[str], table: Timetable, today: date) -> Todo:
    """Return the visit to be booked: by the best day while it is ahead, else by the last one."""
    days = [(words, m.on) for words, m in _visit_days(table) if m is not None]
    due_on = min((on for _, on in days if on >= today), default=today)
    due, away = due_words(due_on, (), today)
    how = ", ".join(f"{w}{' was' if on < today else ''} {written_date(on)}" for w, on in days)
    whom = (Whom(tuple(unseen), ""),)
    return Todo("examine", due_on, due, away, "Book the visit", how, whom, named(unseen))


def _visit_days(table: Timetable) -> tuple[tuple[str, Milestone | None], ...]:
    return (
        ("best day", table.milestone("ideal_examination")),
        ("last sensible day", table.milestone("last_sensible_examination")),
    )


def _of_days(table: Timetable, today: date, short_of_rams: bool) -> Iterable[Todo]:
    for m in table.milestones:
        if m.code not in _OWNER_DAYS or m.on < today:
            continue
        if m.code == "last_purchase" and not short_of_rams:
            continue
        due, away = due_words(m.on, (), today)
        yield Todo(m.code, m.on, due, away, m.title, _OWNER_DAYS[m.code], (), "")


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


# ---------------------------------------------------------------- one ram


def next_step(decision: Decision, today: date) -> str:
    """Return a ram's next steps in a few words, for example ``treat now; examine again on …``."""
    first: dict[str, Action] = {}
    for action in sorted(standing_actions(decision), key=lambda a: _ORDER.get(a.kind, 9)):
        if action.kind not in first or action.due_on < first[action.kind].due_on:
            first[action.kind] = action
    steps = [_step(action, today) for action in first.values()]
    if day_is_open(decision):
        steps.append("examine again: ask the vet for the day")
    return "; ".join(steps)


def _step(action: Action, today: date) -> str:
    words = ACTION_KINDS[action.kind]
    if action.kind in ("withdraw", "restrict", "isolate"):
        return words
    if action.due_on <= today:
        return f"{words} now"
    on = "on" if action.kind == "reexamine" else "by"
    return f"{words} {on} {day_month(action.due_on)}"


def named(rams: Sequence[str]) -> str:
    """Return labels for a narrow place; a long list is cut, with the number left out.

    Examples
    --------
    >>> named(["11", "12"])
    '11 and 12'
    """
    if len(rams) <= MANY_RAMS:
        return listed(rams)
    return f"{', '.join(rams[:_NAMED])} and {counted(len(rams) - _NAMED, 'more ram')}"
