"""Open the records for a command, and name what was not found in its words."""

from __future__ import annotations

from stell.cli.session import Session
from stell.core.errors import StoreError


def opened(session: Session, *, create: bool = True) -> None:
    """Open the store that ``--data``, ``STELL_DATA`` or the user's home points to.

    Raises
    ------
    StoreError
        When it cannot be opened, or is not there and `create` is off.
    """
    from stell.services.opening import data_folder, open_store

    open_store(data_folder(session.folder), create=create)


def opened_or_none(session: Session) -> bool:
    """Open the store if there is one; tell whether there was."""
    from stell.services.opening import data_folder

    folder = data_folder(session.folder)
    if not folder.exists():
        return False
    try:
        opened(session, create=False)
    except StoreError as error:
        session.notice(f"the records in {folder} could not be opened: {error.problem}")
        return False
    return True
