"""What stands in the fields of a job, in words: for the quiet line after each entry, for clashes, for the history."""

from __future__ import annotations

from valuation.engine.rows import Tables
from valuation.language import later, say, say_many
from valuation.record.job_card import day_of
from valuation.report.format import number
from valuation.report.labels import day_words, listed, option_name

_NAMES = {
    "job.next": later("Next step"),
    "job.source": later("Where the client comes from"),
    "job.referred": later("Sent by someone they trust"),
    "job.original": later("What stays original"),
    "job.absent": later("Keys with nothing to measure"),
    "job.stage": later("Stage"),
}
_OPTIONS = ("rebuild", "partial_repair", "keep", "retire")


def job_field_words(field: str, book: Tables) -> str:
    """Return what a field of a job is called."""
    section, _, name = field.removeprefix("job.").partition(".")
    if section == "event":
        return say("Stage")
    if section == "followed":
        name = name.partition("-")[0]
        return next((say(row.what) for row in book.follow_ups if row.id == name), name)
    if section == "done":
        operation = name.rpartition(".")[0]
        return say("Work done: {operation}", operation=_name(operation, book.operations))
    if section == "truth":
        return say("Teardown: {part}", part=_name(name, book.parts))
    if section in ("before", "after"):
        what = _name(name, book.handover)
        return say("{what}, before the work", what=what) if section == "before" else say("{what}, finished", what=what)
    return say(_NAMES[field]) if field in _NAMES else field


def job_value_words(field: str, value: object, book: Tables) -> str:
    """Return what was entered, in words."""
    section = field.removeprefix("job.").partition(".")[0]
    if value is None or value == "":
        return say("taken away") if section in ("event", "done", "followed") else say("not known")
    if isinstance(value, bool):
        return say("yes") if value else say("no")
    if isinstance(value, dict):
        return _told(section, value, book)
    if section in ("before", "after") and isinstance(value, list):
        return say_many("{count} reading", "{count} readings", len(value))
    if section == "original" and isinstance(value, list):
        return listed(_name(str(part), book.parts) for part in value) or say("none")
    return str(value)


def _told(section: str, value: dict, book: Tables) -> str:
    day = day_of(value.get("day"))
    said = []
    if section == "event":
        said = [_name(str(value.get("stage", "")), book.stages), reason_words(str(value.get("reason", "")), book)]
        if isinstance(told := value.get("told"), dict) and told.get("verdict") in _OPTIONS:
            said.append(say("told: {verdict}", verdict=option_name(told["verdict"])))
        if isinstance(agreed := value.get("agreed"), dict) and agreed.get("option") in _OPTIONS:
            said.append(say("agreed: {option}", option=option_name(agreed["option"])))
    elif section == "next":
        said = [str(value.get("what", ""))]
    elif section == "followed":
        said = [say("done")]
    elif section == "done":
        hours = value.get("hours")
        said = [say("{count} h", count=number(hours))] if isinstance(hours, int | float) else []
        materials = value.get("materials")
        said += [_material(item, book) for item in materials if isinstance(item, dict)] if materials else []
    elif section == "truth":
        said = [say(str(value.get("state", "")))]
    else:
        said = [say_many("{count} entry", "{count} entries", len(value))]
    said += [day_words(day) if day else "", str(value.get("note", ""))]
    return ", ".join(filter(None, said))


def reason_words(reason: str, book: Tables) -> str:
    """Return a reason: that of the table by its name, any other in the words in which it was given."""
    return _name(reason, book.reasons)


def _material(item: dict, book: Tables) -> str:
    row = next((row for row in book.materials if row.id == item.get("material")), None)
    amount = item.get("amount")
    shown = number(amount) if isinstance(amount, int | float) else ""
    if row is None:
        return f"{shown} {item.get('material', '')}".strip()
    return say("{amount} {unit} {material}", amount=shown, unit=say(row.unit), material=say(row.name))


def _name(id_: str, rows) -> str:
    return next((say(row.name) for row in rows if row.id == id_), id_)
