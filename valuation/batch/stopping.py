"""How a batch is stopped in good order: by Ctrl-C, by a request to end, or with the process that started it."""

from __future__ import annotations

import os
import signal
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from multiprocessing import parent_process

ENDED = 128 + signal.SIGTERM
"""Exit code after a request to end."""

_STOPS = (signal.SIGINT, signal.SIGTERM)


def end_in_good_order() -> None:
    """Let a request to end unwind this process, so that nothing half-done is left behind."""
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(ENDED))


@contextmanager
def stops_held_back() -> Iterator[None]:
    """Put off Ctrl-C and requests to end until a process has been started.

    Between the start of a process and the note of it in the pool nothing may break in, or the pool would wait for it
    forever. The new process inherits that Ctrl-C is blocked: it is for this one to answer.
    """
    if threading.current_thread() is not threading.main_thread():  # where no signal comes
        yield
        return
    came: list[int] = []
    handlers = {stop: signal.signal(stop, lambda number, _: came.append(number)) for stop in _STOPS}
    mask = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT}) if hasattr(signal, "pthread_sigmask") else None
    try:
        yield
    finally:
        if mask is not None:
            signal.pthread_sigmask(signal.SIG_SETMASK, mask)
        for stop, handler in handlers.items():
            signal.signal(stop, handler)
    for number in came:
        signal.raise_signal(number)


def leave_with_parent() -> None:
    """In a process of the pool: leave Ctrl-C to the parent, and end when it was ended and could not say so."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # for Windows, where nothing was blocked
    threading.Thread(target=_wait_for_parent, daemon=True).start()


def _wait_for_parent() -> None:
    if parent := parent_process():
        parent.join()
    os._exit(1)
