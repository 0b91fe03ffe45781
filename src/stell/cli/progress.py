"""A progress bar on long work: to stderr, and only where a person looks on."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager

from stell.cli.session import Session


@contextmanager
def progress_bar(session: Session, what: str) -> Iterator[Callable[[int, int], None] | None]:
    """Yield a function to call with (done, total), or None where nothing should be shown.

    The bar appears with the first call, so that short work shows none.
    """
    if session.quiet or session.as_json or not session.aside.is_terminal:
        yield None
        return
    from rich.progress import (
        BarColumn,
        MofNCompleteColumn,
        Progress,
        TextColumn,
        TimeRemainingColumn,
    )

    bar = Progress(
        TextColumn(what),
        BarColumn(bar_width=30),
        MofNCompleteColumn(),
        TimeRemainingColumn(),
        console=session.aside,
        transient=True,
    )
    task = bar.add_task(what, total=None)
    started = False

    def step(done: int, total: int) -> None:
        nonlocal started
        if not started:
            started = True
            bar.start()
        bar.update(task, completed=done, total=total or None)

    try:
        yield step
    finally:
        if started:
            bar.stop()
