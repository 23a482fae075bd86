"""The way of one evaluation: where it stands, each step with its day and reason, and what is to be done next."""

from __future__ import annotations

from datetime import date

import streamlit as st

from valuation.engine.rows import Tables
from valuation.errors import UserError
from valuation.jobs.bench_plan import SURE
from valuation.jobs.stages import OPEN
from valuation.language import later, say
from valuation.record.job_card import AGREEMENT, EVENT, NEXT, REFERRED, SOURCE, EventEntered
from valuation.report.format import cents, low_to_high, money
from valuation.report.job_words import reason_words
from valuation.report.labels import day_words, option_name
from valuation.report.typed import read_money
from valuation.screens import clashes, frame, shop
from valuation.screens.day_field import day_field
from valuation.screens.job.moves import stage_name, version_or_none
from valuation.screens.safe import md
from valuation.screens.state import Draft, fill, held
from valuation.service import NotInForce
from valuation.service import jobs as service_jobs
from valuation.service.bench import earliest_date
from valuation.service.jobs import RecordedJob

_OTHER = "other"
_REFERRED = {"yes": later("yes"), "no": later("no"), "": later("nobody asked")}


def way(draft: Draft, job: RecordedJob, book: Tables) -> None:
    """Draw where it stands, what comes next, and every step so far."""
    _standing(job, book)
    _told(job, book)
    _when(draft, job, book)
    _next(draft, job, book)
    _begin(draft, job, book)
    _steps(draft, job, book)
    _who_asked(draft, job)


def _standing(job: RecordedJob, book: Tables) -> None:
    if job.course is None:
        st.markdown(say("No step of its way has been entered yet."))
        return
    words = say("{stage}, since {day}", stage=say(job.course.stage.name), day=day_words(job.course.since))
    reason = reason_words(job.course.reason, book)
    st.markdown(f"**{md(words)}**{f' · {md(reason)}' if reason else ''}")


def _told(job: RecordedJob, book: Tables) -> None:
    """Draw what the client was told, as it was kept that day."""
    told, currency = job.told, book.settings.currency
    lines = []
    if told.get("verdict"):
        said = say("Told on {day}: {verdict}.", day=day_words(date.fromisoformat(told["on"])), verdict=_option(told))
        low, high = told.get("price_low"), told.get("price_high")
        if low is not None and high is not None:
            prices = low_to_high(money(low), money(high))
            said += " " + say("Price {prices} {currency}.", prices=prices, currency=currency)
        lines.append(said)
    for line in lines:
        st.markdown(md(line))


def _when(draft: Draft, job: RecordedJob, book: Tables) -> None:
    """Draw by when an open one can be done, if it is agreed on today."""
    if not job.told.get("verdict") or (job.course is not None and job.course.outcome != OPEN):
        return
    found = frame.appraisal_or_none(draft, book)
    option = next(iter(service_jobs.options_to_agree(found)), "") if found is not None else ""
    if found is None or not option:
        return
    dates = earliest_date(draft.store, book, found, option, draft.visit, on=shop.today())
    if dates is not None and not dates.beyond:
        words = say("Agreed on today it can be done by {day}, in 9 of 10: {option}.", day=day_words(dates.by(SURE)),
                    option=option_name(option))  # fmt: skip
        st.markdown(md(words))


def _option(told: dict) -> str:
    try:
        return option_name(told["verdict"])
    except KeyError:
        return str(told.get("verdict", ""))


def _next(draft: Draft, job: RecordedJob, book: Tables) -> None:
    st.header(say("What is next"), anchor=False)
    clashes.settle(draft, NEXT, book)
    due = [] if job.next_on else _from_the_table(job, book)
    if job.next_on:
        st.markdown(f"**{md(job.next_what)}**, {md(day_words(job.next_on))}{_late(job.next_on)}")
        st.button(say("Done"), key=draft.key("next_done"), on_click=draft.press, args=(draft.keep, NEXT, None))
    elif due:
        for row, day in due[:3]:
            with st.container(horizontal=True, vertical_alignment="center"):
                st.markdown(f"{md(say(row.what))}, {md(day_words(day))}{_late(day)}")
                field = service_jobs.followed_field(job, row.id)
                value = {"day": shop.today().isoformat()}
                label = say("Done")
                st.button(label, key=draft.key(f"followed_{row.id}"), help=say(row.what), on_click=draft.press,
                          args=(draft.keep, field, value))  # fmt: skip
    else:
        st.markdown(say("Nothing is set."))
    with st.expander(say("Set the next step"), key=draft.key("set_next"), expanded=not (job.next_on or due)):
        what = st.text_input(say("What"), key=draft.key("next_what"), live="0.5s", max_chars=200)
        day = day_field(say("On which day"), draft.key("next_day"), shop.today())
        st.button(
            say("Set it"), key=draft.key("next_set"), disabled=not what.strip() or day is None,
            on_click=draft.press, args=(_set_next, draft, what, day),
        )  # fmt: skip


def _from_the_table(job: RecordedJob, book: Tables) -> list:
    if job.course is None:
        return []
    rows = [row for row in book.follow_ups if row.stage == job.course.stage.id and row.id not in job.followed]
    days = [(row, date.fromordinal(job.course.since.toordinal() + row.after_days)) for row in rows]
    return sorted(days, key=lambda pair: pair[1])


def _late(day: date) -> str:
    return f" · **{md(say('due'))}**" if day <= shop.today() else ""


def _set_next(draft: Draft, what: str, day: date) -> None:
    draft.keep(NEXT, {"what": " ".join(what.split()), "day": day.isoformat()})
    draft.catching.empty(draft.key("next_what"))


def _begin(draft: Draft, job: RecordedJob, book: Tables) -> None:
    """Draw the way into another stage, with its day, reason and note."""
    st.header(say("Begin another stage"), anchor=False)
    names = {row.id: say(row.name) for row in book.stages}
    key = draft.key("stage")
    ahead = service_jobs.stage_ahead(job.course.stage.id if job.course else "", book)
    if held(key) is None and ahead is not None:
        fill(key, ahead.id)
    stage = st.pills(
        say("Stage"), list(names), format_func=lambda one: names.get(one, ""), key=key, label_visibility="collapsed"
    )
    if stage is None:
        return
    row = next(row for row in book.stages if row.id == stage)
    day = day_field(say("When it began"), draft.key("stage_day"), shop.today())
    reason = _reason(draft, stage, book)
    note = st.text_input(say("Remark"), key=draft.key("stage_note"), live="0.5s", placeholder=say("may stay empty"))
    option, price = "", ""
    if row.outcome == "yes" and not job.agreed and draft.visit.findings:
        option, price = _agreed_option(draft, book)
    ever = sum(name.startswith(EVENT) for name in draft.recorded.heads)
    event = service_jobs.event_id(draft.visit_id, ever)  # one button is one step, however often it is done
    st.button(
        say("Enter: {stage}", stage=names[stage]), key=draft.key("stage_enter"), type="primary", disabled=day is None,
        on_click=draft.press, args=(_enter, draft, job, event, stage, day, reason, note, option, price, book),
    )  # fmt: skip
    for fault in draft.faults.get("job.stage", ()):
        with st.container(key=draft.key("fault_stage")):
            st.text(fault)


def _reason(draft: Draft, stage: str, book: Tables) -> str:
    offered = {row.id: say(row.name) for row in book.reasons if stage in row.stages}
    if not offered:
        return ""
    names = {**offered, _OTHER: say("another reason")}
    chosen = st.pills(
        say("Why"), list(names), format_func=lambda one: names.get(one, ""), key=draft.key(f"reason_{stage}")
    )
    if chosen == _OTHER:
        return st.text_input(say("In the client's words"), key=draft.key("reason_words"), live="0.5s", max_chars=200)
    return chosen or ""


def _agreed_option(draft: Draft, book: Tables) -> tuple[str, str]:
    """Let it be said what is agreed on, and at which price; the price as it was typed."""
    found = frame.appraised(draft, book)
    options = service_jobs.options_to_agree(found)
    if not options:
        return "", ""
    st.markdown(
        say("What is agreed on is kept with its plan, price and hours as they stand now: later it shows how far off "
            "the estimate was.")
    )  # fmt: skip
    chosen = st.pills(
        say("What is agreed on"), list(options), format_func=option_name, key=draft.key("agreed"), default=options[0],
        required=True,
    )  # fmt: skip
    chosen = chosen or options[0]
    version = version_or_none(draft, book, chosen)
    result = found.option(chosen)
    fixed = cents(float(version.quote.total)) if version else cents(result.fixed_price) if result else ""
    price = st.text_input(
        say("Price really agreed on for the fixed lines, with tax, in {currency}", currency=book.settings.currency),
        key=draft.key("agreed_price"), live="0.5s", placeholder=say("as in the lines: {price}", price=fixed),
    )  # fmt: skip
    return chosen, price


def _enter(
    draft: Draft, job: RecordedJob, event: str, stage: str, day: date, reason: str, note: str, option: str, price: str,
    book: Tables,
) -> None:  # fmt: skip
    draft.faults.pop("job.stage", None)
    agreed, fault = read_money(price)
    if fault:
        draft.faults["job.stage"] = (fault,)
        return
    try:
        found = frame.appraisal_or_none(draft, book)
        value = service_jobs.event_for(
            job, stage, day, book=book, today=shop.today(), visit=draft.visit, found=found, reason=reason, note=note,
        )  # fmt: skip
        agreement = service_jobs.agreement_for(
            job, stage, day, book=book, visit=draft.visit, found=found, option=option, price=agreed,
            version=version_or_none(draft, book, option),
        )  # fmt: skip
    except (UserError, NotInForce) as error:
        draft.faults["job.stage"] = tuple(problem.message for problem in getattr(error, "problems", ())) or (
            str(error),
        )
        return
    if agreement is not None:
        draft.keep(AGREEMENT, agreement)
    draft.keep(f"{EVENT}{event}", value)
    for name in ("stage_note", "reason_words", "agreed_price"):
        draft.catching.empty(draft.key(name))
    draft.catching.empty(draft.key("stage"), None)


def _steps(draft: Draft, job: RecordedJob, book: Tables) -> None:
    """Draw every step, the latest first, each to be corrected or taken back; the history keeps all."""
    st.header(say("Every step so far"), anchor=False)
    st.markdown(say("Open one to correct it.") if job.events else say("There is none."))
    for event in reversed(job.events):
        clashes.settle(draft, f"{EVENT}{event.id}", book)
        said = [day_words(event.day), stage_name(event.stage, book), reason_words(event.reason, book), event.note]
        said += [event.who]
        with st.expander(md(" · ".join(filter(None, said))), key=draft.key(f"correct_{event.id}")):
            _correct(draft, job, event, book)


def _correct(draft: Draft, job: RecordedJob, event: EventEntered, book: Tables) -> None:
    names = {row.id: say(row.name) for row in book.stages}
    stage = st.selectbox(
        say("Stage"), list(names), index=list(names).index(event.stage), format_func=lambda one: names.get(one, ""),
        key=draft.key(f"correct_stage_{event.id}"),
    )  # fmt: skip
    day = day_field(say("When it began"), draft.key(f"correct_day_{event.id}"), event.day)
    note = st.text_input(say("Remark"), value=event.note, key=draft.key(f"correct_note_{event.id}"), live="0.5s")
    field = f"{EVENT}{event.id}"
    with st.container(horizontal=True):
        st.button(
            say("Enter the correction"), key=draft.key(f"correct_enter_{event.id}"), disabled=day is None,
            on_click=draft.press, args=(_enter_correction, draft, job, field, stage, day, note, book),
        )  # fmt: skip
        st.button(
            say("It never happened"), key=draft.key(f"correct_gone_{event.id}"), on_click=draft.press,
            args=(_take_out, draft, job, event, book),
        )  # fmt: skip


def _take_out(draft: Draft, job: RecordedJob, event: EventEntered, book: Tables) -> None:
    """Take a step out, and with the last yes what was agreed on by it."""
    draft.keep(f"{EVENT}{event.id}", None)
    yes = {row.id for row in book.stages if row.outcome == "yes"}
    if event.stage in yes and not any(other.stage in yes for other in job.events if other.id != event.id):
        draft.keep(AGREEMENT, None)


def _enter_correction(
    draft: Draft, job: RecordedJob, field: str, stage: str, day: date, note: str, book: Tables
) -> None:
    draft.faults.pop("job.stage", None)
    try:
        value = service_jobs.corrected(draft.stored(field), stage, day, note, today=shop.today())
        found = frame.appraisal_or_none(draft, book)
        version = version_or_none(draft, book, next(iter(service_jobs.options_to_agree(found)), "") if found else "")
        agreement = service_jobs.agreement_for(
            job, stage, day, book=book, visit=draft.visit, found=found, version=version
        )
    except UserError as error:
        draft.faults["job.stage"] = tuple(problem.message for problem in error.problems)
        return
    if agreement is not None:
        draft.keep(AGREEMENT, agreement)
    draft.keep(field, value)


def _who_asked(draft: Draft, job: RecordedJob) -> None:
    with st.expander(say("How they came to us"), key=draft.key("came_to_us")):
        _came(draft, job)


def _came(draft: Draft, job: RecordedJob) -> None:
    key = draft.field_key("source", SOURCE)
    draft.watch(key, job.source, _take_source, draft, key)
    st.text_input(
        say("Where the client comes from"), key=key, live="0.5s", max_chars=100,
        placeholder=say("such as: a teacher, another client, found us"),
    )  # fmt: skip
    referred = draft.field_key("referred", REFERRED)
    draft.watch(referred, {True: "yes", False: "no", None: ""}[job.referred], _take_referred, draft, referred)
    st.pills(
        say("Sent by someone they trust"), list(_REFERRED), format_func=lambda one: say(_REFERRED[one]), key=referred,
        required=True,
    )  # fmt: skip


def _take_source(draft: Draft, key: str) -> None:
    draft.keep(SOURCE, " ".join(str(held(key) or "").split()) or None)


def _take_referred(draft: Draft, key: str) -> None:
    draft.keep(REFERRED, {"yes": True, "no": False, "": None}[held(key) or ""])
