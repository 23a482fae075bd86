"""The job of one visit: its way, the work, what teardown showed, photos, the last check and the page for the client."""

from __future__ import annotations

import streamlit as st

from valuation.engine.rows import Tables
from valuation.language import later, say
from valuation.screens import frame, page_list, shop
from valuation.screens.job import agreement as job_agreement
from valuation.screens.job import check as job_check
from valuation.screens.job import opened as job_opened
from valuation.screens.job import way as job_way
from valuation.screens.job import work as job_work
from valuation.screens.safe import md
from valuation.screens.saved import saved_line
from valuation.screens.state import Draft
from valuation.service import jobs as service_jobs

_PARTS = {
    "way": later("Its way"),
    "agreement": later("Agreement and money"),
    "work": later("Work done"),
    "opened": later("What teardown showed"),
    "photos": later("Photos"),
    "check": later("Last check"),
}


def page() -> None:
    """Draw the page."""
    draft, book = frame.begin(page_list.JOB)
    st.title(say("This job"), anchor=False)
    job = service_jobs.open_job(draft.store, draft.visit_id, book, on=shop.today())
    saved_line(draft, book)
    chosen = st.pills(
        say("Show"), list(_PARTS), format_func=lambda part: say(_PARTS[part]), key=draft.key("job_part"),
        default=_first_part(job), required=True, label_visibility="collapsed",
    )  # fmt: skip
    _aside(draft, job)
    _draw(chosen or "way", draft, job, book)
    frame.end(book)


def _first_part(job: service_jobs.RecordedJob) -> str:
    """Return what is mostly wanted of a job that stands where it does: hours, as long as somebody works on it."""
    return "work" if job.course is not None and job.course.stage.id == service_jobs.IN_WORKSHOP else "way"


def _draw(part: str, draft: Draft, job: service_jobs.RecordedJob, book: Tables) -> None:
    if part == "way":
        job_way.way(draft, job, book)
    elif part == "agreement":
        job_agreement.agreement(draft, job, book)
    elif part == "work":
        job_work.work(draft, job, book)
    elif part == "opened":
        job_opened.opened(draft, job, book)
    elif part == "photos":
        job_opened.photos(draft)
    else:
        job_check.check(draft, job, book)


def _aside(draft: Draft, job: service_jobs.RecordedJob) -> None:
    """Say what of the job counts for nothing and why, as far as the head of the page doesn't."""
    more = {field: why for field, why in job.set_aside.items() if field not in draft.recorded.why_set_aside}
    if more:
        with st.container(key="mark_aside_job"):
            reasons = "; ".join(dict.fromkeys(more.values()))
            st.markdown(md(say("Kept, but not counted: {why}.", why=reasons)))


if __name__ == "__main__":
    page()
