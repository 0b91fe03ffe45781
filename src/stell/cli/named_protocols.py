"""Find the protocol that a command names."""

from __future__ import annotations

from typing import TYPE_CHECKING

from stell.cli.session import Session
from stell.core.errors import ProtocolError

if TYPE_CHECKING:
    from stell.core.protocol.ready import ReadyProtocol


def protocol_named(session: Session, name: str) -> ReadyProtocol:
    """Return a protocol by shipped name, by file, or by registered ``id version``.

    Raises
    ------
    ProtocolError
        `protocol.unknown` and whatever may be wrong with a file.
    """
    from stell.core.protocol.load import load

    try:
        return load(name)
    except ProtocolError as error:
        if error.code != "protocol.unknown" or " " not in name:
            raise
    from stell.cli.records import opened
    from stell.services.protocols import load_registered

    opened(session, create=False)
    return load_registered(name)
