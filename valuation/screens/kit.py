"""The few widgets that pages are made of: a field, a choice, an action, files. They alone know the session.

Each is told where its entry is caught up: `Draft.catching`, or `session_catching()` on a page without a visit. So what
was entered or pressed is done even where the next tap breaks the run off. What takes an entry over gets its content.
Words are plain text: what somebody wrote comes to nothing in them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any, TypeVar

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from valuation.language import say, say_many
from valuation.screens import marks
from valuation.screens.catching_up import CatchingUp, fill, held
from valuation.screens.safe import md
from valuation.waiting import Heard

_MOST_LETTERS = 10_000

K = TypeVar("K")


def field(
    at: CatchingUp, key: str, label: str, content: str, take: Callable[..., object], *args: object, hint: str = "",
    long: bool = False, live: bool = False,
) -> None:  # fmt: skip
    """Draw a field that is typed.

    Parameters
    ----------
    at : CatchingUp
        Where it is caught up.
    label : str
        What stands above it.
    content : str
        What stands in it at first.
    take : callable
        Takes over what was typed; called with it and `args`, perhaps twice with the same.
    hint : str
        What stands in it while it is empty.
    long, live : bool
        Several lines; taken over while it is typed, not only when it is left.
    """
    at.watch(key, content, _hand_over, take, key, *args)
    if long:
        st.text_area(md(label), key=key, placeholder=hint or None, max_chars=_MOST_LETTERS)
    else:
        st.text_input(
            md(label), key=key, placeholder=hint or None, max_chars=_MOST_LETTERS, live="0.5s" if live else False
        )  # fmt: skip


def choice(
    at: CatchingUp, key: str, label: str, options: Mapping[K, str], content: object, take: Callable[..., object],
    *args: object, required: bool = False, several: bool = False, bare: bool = False,
) -> None:  # fmt: skip
    """Draw a choice of one, or of several, that is stored; it follows what comes to be stored otherwise.

    Parameters
    ----------
    options : mapping
        What is chosen, and its words.
    content : object
        What is chosen now: one of them, a list of them, or None.
    required : bool
        One cannot be taken back by a second tap.
    bare : bool
        The label is for those alone who don't see the page.
    """
    at.follow(key, content, _hand_over, take, key, *args)
    _pills(key, label, options, required=required, several=several, bare=bare)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reach:
    """How far a figure can be turned by its slider, and in which steps; more can be typed."""

    low: float
    high: float
    step: float

    def nearest(self, figure: float) -> float:
        """Return the place on the slider that is nearest to a figure."""
        return min(max(self.low + round((figure - self.low) / self.step) * self.step, self.low), self.high)


def figure(
    at: CatchingUp, key: str, label: str, today: float, reach: Reach, read: Callable[[str], float],
    write: Callable[[float], str],
) -> float:  # fmt: skip
    """Draw a figure that can be turned by a slider or typed beside it, for this page alone, and return it.

    Parameters
    ----------
    today : float
        Where it stands untouched; exactly, however the slider is stepped.
    read, write : callable
        What was typed into a figure, or a ValueError that says what is wrong; a figure into what stands in the field.
    """
    turned, typed, kept, fault = (f"{key}_{part}" for part in ("slider", "typed", "kept", "fault"))
    now = today if held(kept) is None else float(held(kept))

    def turn(place: float) -> None:
        if place != reach.nearest(now):
            fill(kept, place)
            fill(fault, "")

    def take(text: str) -> None:
        try:
            fill(kept, today if not text.strip() else read(text))
            fill(fault, "")
        except ValueError as error:
            fill(fault, str(error))

    with st.container(key=f"figure_{key}", gap="xsmall"):
        wide, narrow = st.columns([3, 1], vertical_alignment="bottom")
        at.follow(turned, reach.nearest(now), _hand_over, turn, turned)
        wide.slider(md(label), reach.low, reach.high, step=reach.step, key=turned, format="localized")
        at.follow(typed, held(typed) if held(fault) else write(now), _hand_over, take, typed)
        narrow.text_input(md(label), key=typed, label_visibility="collapsed")
        if held(fault):
            with st.container(key=f"fault_{key}"):
                st.text(held(fault))
    return now


def put_back(key: str) -> None:
    """Let a figure stand where it stood untouched."""
    fill(f"{key}_kept", None)
    fill(f"{key}_fault", "")


def view(key: str, label: str, options: Mapping[K, str], first: K, *, bare: bool = True) -> K:
    """Draw a choice of what the page shows, which is stored nowhere, and return what is chosen."""
    if held(key) not in options:
        fill(key, first)
    chosen: K = _pills(key, label, options, required=True, several=False, bare=bare)
    return chosen


def peek(key: str, label: str, options: Mapping[K, str], *, bare: bool = False) -> K | None:
    """Draw a choice of what the page shows beside all else, nothing at first, and return what is chosen."""
    chosen: K | None = _pills(key, label, options, required=False, several=False, bare=bare)
    return chosen


def _pills(
    key: str, label: str, options: Mapping[K, str], *, required: bool, several: bool, bare: bool
) -> Any:  # fmt: skip
    drawn: Callable[..., Any] = st.pills  # it is told apart by literal words, which are worked out here
    return drawn(
        md(label), list(options), format_func=lambda one: md(options[one]), key=key, required=required,
        selection_mode="multi" if several else "single", label_visibility="collapsed" if bare else "visible",
    )  # fmt: skip


def action(
    at: CatchingUp, key: str, label: str, act: Callable[..., object], *args: object, primary: bool = False,
    disabled: bool = False, about: str = "",
) -> None:  # fmt: skip
    """Draw a button that does something, once for each press.

    Parameters
    ----------
    act : callable
        Called with `args` at the start of the next run.
    about : str
        What it concerns, where several buttons have the same words.
    """
    st.button(
        md(label), key=key, type="primary" if primary else "secondary", disabled=disabled, help=md(about) or None,
        on_click=at.press, args=(act, *args),
    )  # fmt: skip


def ask(
    at: CatchingUp, key: str, label: str, question: str, yes: str, act: Callable[..., object], *args: object
) -> None:  # fmt: skip
    """Draw a button that asks before it does something.

    Parameters
    ----------
    label, question, yes : str
        What stands on it; what is asked then; the answer that does it.
    """
    asked = f"{key}_asked"

    def do() -> None:
        fill(asked, False)
        act(*args)

    if not held(asked):
        action(at, key, label, fill, asked, True)
        return
    with st.container(border=True, key=f"asked_{key}", gap="small"):
        st.markdown(f"**{md(question)}**")
        with st.container(horizontal=True):
            action(at, f"{key}_yes", yes, do)
            action(at, f"{key}_no", say("No, leave it"), fill, asked, False, primary=True)


def files(
    at: CatchingUp, key: str, label: str, take: Callable[..., object], *args: object, endings: Sequence[str],
    limit: int,
) -> None:  # fmt: skip
    """Draw where files are put in; `take` gets the list of them.

    Parameters
    ----------
    endings : sequence of str
        Of the names of files that may come.
    limit : int
        Size of each [MB].
    """
    at.watch_files(key, [], _hand_over, take, key, *args)
    st.file_uploader(md(label), type=list(endings), key=key, accept_multiple_files=True, max_upload_size=limit)


def folded(key: str, label: str) -> DeltaGenerator | None:
    """Draw a box that opens at a tap; return it where it is open, so that nothing in it is made before."""
    box = st.expander(md(label), key=key, on_change="rerun")
    return box if box.open else None


def long_table(key: str, caption: str, headers: Sequence[str], rows: Sequence[Sequence[str]], *, most: int) -> None:
    """Draw a table, of a long one the first rows; the others open at a tap."""
    st.html(marks.table(caption, headers, rows[:most], dense=True))
    rest = rows[most:]
    if rest and (box := folded(key, say_many("{count} more", "{count} more", len(rest)))):
        box.html(marks.table(caption, headers, rest, dense=True))


@contextmanager
def working() -> Iterator[Heard]:
    """Draw a bar of how far something long has come, and give what is to be told of it."""
    words = say("Working it out ...")
    bar = st.progress(0.0, text=words)
    try:
        yield lambda share: bar.progress(min(max(share, 0.0), 1.0), text=words)
    finally:
        bar.empty()


def _hand_over(take: Callable[..., object], key: str, *args: object) -> None:
    take(held(key), *args)
