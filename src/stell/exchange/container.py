"""Workbook files before they are opened: what kind, and how large they unpack.

A workbook is a zip, and a small one can unpack to anything; so its parts are measured first.
"""

from __future__ import annotations

import io
import zipfile
import zlib
from dataclasses import dataclass, field
from xml.etree import ElementTree as ET

from stell.core.errors import SheetError
from stell.exchange.limits import (
    MAX_COLUMNS,
    MAX_PARTS,
    MAX_ROWS,
    MAX_UNPACKED_BYTES,
    too_large,
)

OLE_MARK = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
ZIP_MARK = b"PK"
# A password-protected XLSX is an OLE file with a stream of this name, in UTF-16.
_ENCRYPTED = "EncryptedPackage".encode("utf-16-le")
_KINDS = {
    b"%PDF": "a PDF",
    b"\x89PNG": "a picture",
    b"\xff\xd8\xff": "a picture",
    b"GIF8": "a picture",
    b"\x1f\x8b": "a compressed file",
    b"SQLite format": "a database",
    b"7z\xbc\xaf": "a compressed file",
    b"Rar!": "a compressed file",
    b"{\\rtf": "a text document",
}
_PAGES = (b"<html", b"<!doctype", b"<table", b"<?xml")
_LEGAL = "CSV, or a workbook saved as XLSX or ODS without a password"
_EXAMPLE = "in the spreadsheet: Save as, type 'Excel workbook (.xlsx)' or 'CSV UTF-8'"


@dataclass(slots=True)
class Worksheet:
    """What was seen in one worksheet before reading it.

    Attributes
    ----------
    filled : bool
        Whether any cell holds something.
    lost : mapping of (row, column) to str
        Cells that would be read as empty though they are not, and why. Counted from 0.
    merged : list of ((row, column), (row, column))
        Known here for ODS only.
    """

    filled: bool = False
    lost: dict[tuple[int, int], str] = field(default_factory=dict)
    merged: list[tuple[tuple[int, int], tuple[int, int]]] = field(default_factory=list)


def refuse_other_kinds(raw: bytes, name: str) -> None:
    """Refuse files that are known to be something else than a sheet.

    Raises
    ------
    SheetError
        `sheet.unreadable`, naming what it is.
    """
    for mark, kind in _KINDS.items():
        if raw.startswith(mark):
            raise unreadable(f"this is {kind}, not a sheet", name)
    if raw[:200].lstrip(b"\xef\xbb\xbf \t\r\n").lower().startswith(_PAGES):
        raise unreadable("this is a web page or XML, whatever its name says", name)
    if raw.startswith(OLE_MARK):
        if _ENCRYPTED in raw:
            raise unreadable("the workbook is protected by a password", name)
        raise unreadable("this is a workbook of an old kind (.xls) or another document", name)


def open_workbook(raw: bytes, name: str) -> zipfile.ZipFile:
    """Return the zip of an XLSX or ODS file whose parts are known not to unpack too large.

    Raises
    ------
    SheetError
        `sheet.unreadable` or `sheet.too_large`.
    """
    try:
        archive = zipfile.ZipFile(io.BytesIO(raw))
    except (zipfile.BadZipFile, ValueError, NotImplementedError, EOFError, OSError) as error:
        raise unreadable(f"the workbook is damaged or cut short ({error})", name) from None
    parts = archive.infolist()
    if any(p.flag_bits & 0x1 for p in parts):
        raise unreadable("the workbook is protected by a password", name)
    if len(parts) > MAX_PARTS:
        raise too_large(
            "the workbook has too many parts", f"{len(parts):,}", f"up to {MAX_PARTS:,}", name
        )
    stated = sum(p.file_size for p in parts)
    if stated > MAX_UNPACKED_BYTES:
        raise _unpacks_too_large(f"{stated / 2**20:,.0f} MB", name)
    _refuse_false_sizes(raw, parts, name)
    return archive


def _refuse_false_sizes(raw: bytes, parts: list[zipfile.ZipInfo], name: str) -> None:
    """Unpack each part piecewise and refuse one that grows beyond the size the zip states."""
    for part in parts:
        if part.compress_type == zipfile.ZIP_STORED:
            continue
        if part.compress_type != zipfile.ZIP_DEFLATED:
            raise unreadable("the workbook is packed in a way no spreadsheet uses", name)
        head = part.header_offset
        start = head + 30 + int.from_bytes(raw[head + 26 : head + 28], "little")
        start += int.from_bytes(raw[head + 28 : head + 30], "little")
        unpacker = zlib.decompressobj(-15)
        size, data = 0, raw[start : start + part.compress_size]
        try:
            while data and size <= part.file_size:
                size += len(unpacker.decompress(data, 2**22))
                data = unpacker.unconsumed_tail
        except zlib.error as error:
            raise unreadable(f"the workbook is damaged ({error})", name) from None
        if size > part.file_size:
            raise _unpacks_too_large("more than it states", name)


def kind_of(archive: zipfile.ZipFile, name: str) -> str:
    """Return ``xlsx`` or ``ods``.

    Raises
    ------
    SheetError
        `sheet.unreadable` for any other zip.
    """
    names = set(archive.namelist())
    if "content.xml" in names:
        manifest = part_of(archive, "META-INF/manifest.xml", name) if _MANIFEST & names else b""
        if b"encryption-data" in manifest:
            raise unreadable("the workbook is protected by a password", name)
        body = part_of(archive, "content.xml", name)
        if b"spreadsheet" not in body:
            raise unreadable("this is a text document or drawing, not a sheet", name)
        return "ods"
    if any(n.endswith(".bin") and "worksheets/" in n for n in names):
        raise unreadable("this is a binary workbook (.xlsb)", name)
    if "[Content_Types].xml" in names and any("worksheets/" in n for n in names):
        return "xlsx"
    raise unreadable("this is a zip file, but not a workbook", name)


_MANIFEST = {"META-INF/manifest.xml"}


def tree(archive: zipfile.ZipFile, part: str, name: str) -> ET.Element:
    """Return a small XML part of a workbook, parsed."""
    raw = part_of(archive, part, name)
    if b"<!DOCTYPE" in raw or b"<!ENTITY" in raw:
        raise unreadable("the workbook holds XML declarations that no spreadsheet writes", name)
    try:
        return ET.fromstring(raw)  # noqa: S314  entities were refused above
    except (ET.ParseError, ValueError, LookupError) as error:
        raise unreadable(f"the workbook is damaged ({error})", name) from None


def part_of(archive: zipfile.ZipFile, part: str, name: str) -> bytes:
    """Return the bytes of one part of a workbook."""
    try:
        return archive.read(part)
    except (zipfile.BadZipFile, KeyError, NotImplementedError, EOFError, OSError, zlib.error,
            RuntimeError, ValueError) as error:  # fmt: skip
        raise unreadable(f"the workbook is damaged ({error})", name) from None


def _unpacks_too_large(got: str, name: str) -> SheetError:
    return too_large(
        "the workbook unpacks to more than stell takes",
        got,
        f"up to {MAX_UNPACKED_BYTES // 2**20} MB unpacked, "
        f"{MAX_ROWS:,} rows by {MAX_COLUMNS:,} columns",
        name,
    )


def unreadable(problem: str, name: str) -> SheetError:
    """Return the refusal of a file that is no readable workbook."""
    return SheetError("sheet.unreadable", problem, legal=_LEGAL, example=_EXAMPLE, where=name)
