"""The process that answers: the WSGI application, and when to end.

A terminal's Ctrl-C reaches this process as well as the one that started it, and that one then tells
this one to end: two signals at once have been seen to hang the server. So Ctrl-C is left to the
parent. Should the parent be gone without a word, this process goes too.
"""

from __future__ import annotations

import os
import signal
import threading
import time

from stell.web.wsgi import application

__all__ = ["application"]

_LOOK_EVERY = 1.0  # [s]


def _go_with(parent: int) -> None:
    """End this process when `parent` has ended. Nothing is lost: every write is a transaction."""
    while os.getppid() == parent:
        time.sleep(_LOOK_EVERY)
    os._exit(0)


if hasattr(signal, "pthread_sigmask"):  # there are neither masks nor orphans on Windows
    signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    threading.Thread(target=_go_with, args=(os.getppid(),), daemon=True).start()
