"""Find the data folder and open the store in it."""

from __future__ import annotations

from pathlib import Path


def data_folder(given: Path | None = None) -> Path:
    """Return where the records lie: `given`, else ``STELL_DATA``, else the user's data home."""
    raise NotImplementedError


def open_store(folder: Path, *, create: bool = True) -> None:
    """Open the store in `folder`, bringing its tables up to date; call it before other services.

    Parameters
    ----------
    folder : Path
        From `data_folder`.
    create : bool, default True
        Whether to make folder and store when there are none.

    Raises
    ------
    StoreError
        `store.unreadable`: nothing there (and not `create`), not a store, or made by a newer
        stell. `store.busy`, `store.full`.
    """
    raise NotImplementedError
