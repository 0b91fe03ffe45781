"""Find the protocol that a command names."""

from __future__ import annotations

from typing import TYPE_CHECKING

from stell.cli.session import Session
from stell.core.errors import ProtocolError, StoreError

if TYPE_CHECKING:
    from stell.core.protocol.ready import ReadyProtocol


def protocol_named(session: Session, name: str) -> ReadyProtocol:
    """Return a protocol by shipped name, by file, or by a registered id (and version).

    Raises
    ------
    ProtocolError
        `protocol.unknown` and whatever may be wrong with a file.
    """
    from stell.core.protocol.load import load, shipped

    try:
        return load(name)
    except ProtocolError as error:
        if error.code != "protocol.unknown":
            raise
    from stell.cli.records import opened
    from stell.services.protocols import all_protocols, load_registered

    on_record: dict[str, None] = {}
    try:
        opened(session, create=False)
        on_record = dict.fromkeys(r.named for r in all_protocols())
        return load_registered(name)
    except (ProtocolError, StoreError):  # nothing on record is no reason to say no more
        raise ProtocolError(
            "protocol.unknown",
            "no protocol of that name comes with stell, is on record, or is a file",
            got=name,
            legal=", ".join((*shipped(), *on_record)) + ", or the path of a .toml file",
            example="--protocol house",
        ) from None
