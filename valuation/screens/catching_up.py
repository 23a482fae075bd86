"""What was entered or pressed and is still to be done: noted where no break-off can take it away, done in the run.

When the next tap comes, Streamlit breaks a run off at the next look into its session, also within a callback, and never
calls that callback again. So nothing is stored by a callback. What widgets hold is compared, at the start of every run,
with what was taken over; what a button is for is put on a list, without a look into the session, and done there too.
Nothing leaves a list before it is done.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from threading import RLock
from typing import Any

import streamlit as st


class CatchingUp:
    """What the widgets of one visit, or of the pages without one, have to be asked for."""

    def __init__(self) -> None:
        self._watched: dict[str, tuple[object, Callable[..., None], tuple]] = {}
        self._pressed: list[tuple[Callable[..., object], tuple]] = []
        self._to_empty: dict[str, object] = {}
        self._one_at_a_time = RLock()

    def watch(self, key: str, content: object, take: Callable[..., None], *args: object) -> None:
        """Fill a widget before it is first drawn, and have its content taken over whenever that has changed.

        Parameters
        ----------
        key : str
            Key of the widget.
        content : object
            What stands in it at first.
        take : callable
            Takes its content over; called with `args`, perhaps twice for the same content. What it stores comes after
            its last look into the session.
        """
        if not is_held(key):
            fill(key, content)
            seen = content
        else:
            seen = self._watched[key][0] if key in self._watched else held(key)
        self._watched[key] = (seen, take, args)

    def follow(self, key: str, content: object, take: Callable[..., None], *args: object) -> None:
        """Watch a widget, and put into it what has come to stand in the store otherwise.

        For content that is asked for in two places at once. Only what differs is put in: the browser sends back what it
        is given, and that may cross a tap.
        """
        self.watch(key, content, take, *args)
        if held(key) != content:
            fill(key, content)
            self._note(key, content)

    def watch_files(self, key: str, nothing: object, take: Callable[..., None], *args: object) -> None:
        """Have what is put into a widget for files taken over; it can't be filled, so tell what it holds when empty."""
        seen = self._watched[key][0] if key in self._watched else nothing
        self._watched[key] = (seen, take, args)

    def press(self, act: Callable[..., object], *args: object) -> None:
        """Note what a button was pressed for: to be called by the button itself, with no look into the session."""
        self._pressed.append((act, args))

    def empty(self, key: str, nothing: object = "") -> None:
        """Have a widget emptied once its content has been taken over; tell what it holds when empty."""
        self._to_empty[key] = nothing

    def forget(self, key: str) -> None:
        """Ask a widget no more."""
        self._watched.pop(key, None)

    def catch_up(self) -> None:
        """Take over every content that has changed, then do what buttons were pressed for, in their order.

        A fault in one of them is raised once, and is not met again in every run to come.
        """
        with self._one_at_a_time:
            self._empty_fields()
            for key, (seen, take, args) in list(self._watched.items()):
                if is_held(key) and (now := held(key)) != seen:
                    with _unless_broken_off(self._note, key, now):
                        take(*args)
            while self._pressed:
                act, args = self._pressed[0]
                with _unless_broken_off(self._pressed.pop, 0):
                    act(*args)
            self._empty_fields()

    def _note(self, key: str, content: object) -> None:
        if key in self._watched:  # it may have been given up meanwhile
            self._watched[key] = (content, *self._watched[key][1:])

    def _empty_fields(self) -> None:
        for key, nothing in list(self._to_empty.items()):
            fill(key, nothing)
            self._note(key, nothing)
            self._to_empty.pop(key)


@contextmanager
def _unless_broken_off(done: Callable[..., object], *args: object) -> Iterator[None]:
    """Call `done` afterwards, with or without a fault, but not where the run is broken off: then all is still to do.

    What breaks a run off, a newer tap or the end of the process, is no `Exception`; every fault is one.
    """
    try:
        yield
    except Exception:  # whatever it is, it is raised on; one that isn't noted as met would come again in every run
        done(*args)
        raise
    done(*args)


def is_held(key: str) -> bool:
    """Tell whether a widget has been drawn, or filled to be drawn."""
    return key in st.session_state


def held(key: str) -> Any:
    """Return what a widget holds now; None where it has not been drawn."""
    return st.session_state.get(key)


def fill(key: str, value: object) -> None:
    """Give a widget its content before it is drawn."""
    st.session_state[key] = value
