"""Read protocol files: shipped ones by name, a practice's own by path. Errors name the line."""

from __future__ import annotations

import hashlib
import tomllib
from dataclasses import replace
from functools import lru_cache
from importlib import resources
from pathlib import Path

from pydantic import ValidationError

from stell.core.errors import ProtocolError
from stell.core.protocol import schema
from stell.core.protocol.compiled import ReadyProtocol, compile_protocol
from stell.core.protocol.refusal import from_validation, placed

DEFAULT = "house"
MAX_BYTES = 2_000_000


def shipped() -> tuple[str, ...]:
    """Return the names of the protocols that come with stell."""
    folder = resources.files("stell.core.protocol") / "data"
    names = (f.name for f in folder.iterdir() if f.name.endswith(".toml"))
    return tuple(sorted(n.removesuffix(".toml") for n in names if n != "sources.toml"))


@lru_cache(maxsize=1)
def shared_sources() -> dict[str, schema.Source]:
    """Return the shipped bibliography by key."""
    text = (resources.files("stell.core.protocol") / "data" / "sources.toml").read_text("utf-8")
    return {k: schema.Source(**v) for k, v in tomllib.loads(text)["sources"].items()}


def shipped_text(name: str) -> str:
    """Return the TOML text of a shipped protocol.

    Raises
    ------
    ProtocolError
        `protocol.unknown`, naming what there is.
    """
    if name not in shipped():
        raise ProtocolError(
            "protocol.unknown",
            "no protocol of that name comes with stell, and no file is there",
            got=name,
            legal=", ".join(shipped()) + ", or the path of a .toml file",
            example="--protocol house",
        )
    return (resources.files("stell.core.protocol") / "data" / f"{name}.toml").read_text("utf-8")


@lru_cache(maxsize=32)
def load_shipped(name: str = DEFAULT) -> ReadyProtocol:
    """Return a shipped protocol, ready for judging."""
    return load_text(shipped_text(name), where=f"{name}.toml")


def load_file(path: Path) -> ReadyProtocol:
    """Return the protocol in a file, ready for judging.

    Raises
    ------
    ProtocolError
        Naming file, line and key.
    """
    return load_text(read_text(path), where=str(path))


def load(name_or_path: str) -> ReadyProtocol:
    """Return a protocol by shipped name or by path."""
    if name_or_path in shipped():
        return load_shipped(name_or_path)
    path = Path(name_or_path)
    if path.suffix == ".toml" or path.exists():
        return load_file(path)
    shipped_text(name_or_path)
    raise AssertionError("unreachable: shipped_text raises for an unknown name")


def read_text(path: Path) -> str:
    """Return a protocol file's text, refusing what cannot be one."""
    try:
        with path.open("rb") as file:  # a device has no end, so no more is read than is taken
            raw = file.read(MAX_BYTES + 1)
    except OSError as error:
        raise _unreadable(error.strerror or "cannot be read", str(path)) from error
    if len(raw) > MAX_BYTES:
        raise _unreadable(f"it has more than {MAX_BYTES:,} bytes", str(path))
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise _unreadable(f"it is not UTF-8 text (byte {error.start})", str(path)) from error


def load_text(text: str, *, where: str = "protocol") -> ReadyProtocol:
    """Return the protocol written in `text`, ready for judging.

    Raises
    ------
    ProtocolError
        The first problem; the others, if any, are in its `others`.
    """
    spec = parse(text, where=where)
    digest = hashlib.sha256(text.encode()).hexdigest()
    try:
        ready = compile_protocol(spec, digest=digest, shared=shared_sources())
    except ProtocolError as error:
        raise placed(error, text, where, tomllib.loads(text)) from None
    except RecursionError:
        raise _unreadable("its checks wait for each other in too long a chain", where) from None
    return replace(ready, text=text)


def parse(text: str, *, where: str = "protocol") -> schema.Protocol:
    """Return the file's contents checked against the schema, not yet across the file."""
    try:
        raw = tomllib.loads(text)
    except ValueError as error:  # as TOML, or a number of thousands of digits
        raise _unreadable(f"it is not valid TOML: {error}", where) from None
    except RecursionError:
        raise _unreadable("it is nested too deeply", where) from None
    try:
        return schema.Protocol.model_validate(raw)
    except ValidationError as error:
        problems = [from_validation(e, text, where, raw) for e in error.errors()]
        first = problems[0]
        first.others = problems[1:]  # type: ignore[attr-defined]
        raise first from None


def problems_of(text: str, *, where: str = "protocol") -> list[ProtocolError]:
    """Return everything that is wrong with a file; empty when it can be used."""
    try:
        load_text(text, where=where)
    except ProtocolError as error:
        return [error, *getattr(error, "others", [])]
    return []


def _unreadable(why: str, where: str) -> ProtocolError:
    return ProtocolError(
        "protocol.unreadable",
        why,
        legal="a UTF-8 text file in TOML",
        example="stell protocol new mine.toml --from house",
        where=where,
    )
