"""How things look on the terminal: verdicts as word and shape, dates, counts, tables."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from typing import TYPE_CHECKING, Any

from stell.cli.alike_problems import grouped
from stell.cli.failing import laid_out
from stell.cli.session import Session
from stell.core.errors import StellError
from stell.core.records import written_date

if TYPE_CHECKING:
    from rich.table import Table
    from rich.text import Text

# A word, a shape and a colour each, as in press/look.json: disc, triangle, open square, cross. Each
# shape has a stand-in for terminals that know ASCII only.
SHAPES = {
    "satisfactory": ("●", "o", "green"),
    "deferred": ("▲", "^", "yellow"),
    "incomplete": ("□", "?", "bright_blue"),
    "unsatisfactory": ("✖", "x", "red"),
}
MOST_PROBLEMS = 20


def verdict_text(session: Session, outcome: str, *, overridden: bool = False) -> Text:
    """Return an outcome as shape and word, coloured where colour is on."""
    from rich.text import Text

    drawn, plain_shape, colour = SHAPES[outcome]
    shape = drawn if session.can_draw else plain_shape
    word = f"{shape} {outcome}"
    text = Text(word, style=f"bold {colour}")
    if overridden:
        text.append("\n  by the vet", style="italic")
    return text


def table(session: Session, *columns: str | tuple[str, dict[str, Any]], title: str = "") -> Table:
    """Return an empty table in the house style: one line under the headings, no box."""
    from rich import box
    from rich.table import Table

    made = Table(
        box=box.SIMPLE_HEAD if session.can_draw else box.ASCII2,
        title=title or None,
        title_justify="left",
        title_style="bold",
        show_edge=False,
        pad_edge=False,
        padding=(0, 1, 0, 0),
        header_style="bold",
    )
    if not session.can_draw:
        made.box = _plain_box()
    for column in columns:
        name, settings = (column, {}) if isinstance(column, str) else column
        made.add_column(name, overflow="fold", **settings)
    return made


def _plain_box() -> Any:
    from rich.box import Box

    return Box("    \n    \n -- \n    \n    \n    \n    \n    \n", ascii=True)


def day_text(day: date | None) -> str:
    """Return a day that nobody can misread, or a dash."""
    return written_date(day) if day else "-"


def distance_text(day: date, today: date) -> str:
    """Return how far off a day is: ``today``, ``in 3 days``, ``2 weeks overdue``.

    Examples
    --------
    >>> distance_text(date(2026, 9, 1), date(2026, 9, 4))
    '3 days overdue'
    """
    days = (day - today).days
    if days == 0:
        return "today"
    amount = counted(abs(days), "day") if abs(days) < 21 else counted(round(abs(days) / 7), "week")
    return f"in {amount}" if days > 0 else f"{amount} overdue"


def counted(number: int, thing: str, things: str = "") -> str:
    """Return a number with its noun.

    Examples
    --------
    >>> counted(1, "ram"), counted(1200, "ram")
    ('1 ram', '1,200 rams')
    """
    return f"{number:,} {thing if number == 1 else things or thing + 's'}"


def tally(counts: dict[str, int]) -> str:
    """Return counts by verdict as one line, in the order of `SHAPES`.

    Examples
    --------
    >>> tally({"deferred": 2, "satisfactory": 31})
    '31 satisfactory, 2 deferred'
    """
    parts = [f"{counts[word]:,} {word}" for word in SHAPES if counts.get(word)]
    return ", ".join(parts) or "none"


def tally_of(outcomes: Iterable[Any]) -> dict[str, int]:
    """Return how often each outcome occurs, every outcome named, in the order of `SHAPES`."""
    words = [outcome.value for outcome in outcomes]
    return {word: words.count(word) for word in SHAPES}


def sentence(text: str) -> str:
    """Return a text that ends as a sentence does."""
    return text if text.endswith((".", "!", "?")) else f"{text}."


def paragraph(session: Session, text: str, *, style: str = "", indent: int = 0) -> None:
    """Print a text wrapped to the terminal's width."""
    from rich.padding import Padding
    from rich.text import Text

    session.out.print(Padding(Text(text, style=style), (0, 0, 0, indent)))


def show_problems(session: Session, problems: Sequence[StellError]) -> None:
    """Print refused rows to stderr, those alike together, the first ones in full."""
    told = grouped(problems)
    for problem in told[:MOST_PROBLEMS]:
        session.aside.print(laid_out(problem, lead="", width=session.aside.width), style="")
    if len(told) > MOST_PROBLEMS:
        more = len(told) - MOST_PROBLEMS
        session.aside.print(f"... and {counted(more, 'more problem')}; --json lists all of them")


def show_notices(session: Session, notices: Iterable[str]) -> None:
    """Print remarks to stderr, unless ``--quiet``."""
    if session.quiet or session.as_json:
        return
    for notice in notices:
        session.aside.print(f"note: {sentence(notice)}")


def show_unmatched(session: Session, unmatched: Iterable[str]) -> None:
    """Print, ahead of everything, which columns found no meaning; not once more at the end."""
    unmatched = list(unmatched)
    show_notices(session, unmatched)
    if unmatched and not session.quiet and not session.as_json:
        session.aside.print()
        session.notices = [n for n in session.notices if n not in unmatched]
