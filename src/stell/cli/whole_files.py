"""Files that are there as a whole or not at all, also when the disk is full."""

from __future__ import annotations

from pathlib import Path


def write_whole(path: Path, content: bytes) -> None:
    """Write a file; what stood there before stays until the new one is whole.

    Raises
    ------
    OSError
        With the file's name, whatever step failed.
    """
    part = path.resolve().with_name(f"{path.name}.part")
    try:
        if path.exists() and not path.is_file():  # a pipe or a device is written to, not replaced
            path.write_bytes(content)
            return
        part.write_bytes(content)
        part.replace(path.resolve())
    except BaseException as error:
        if isinstance(error, OSError):
            error.filename, error.filename2 = str(path), None
        part.unlink(missing_ok=True)
        raise
