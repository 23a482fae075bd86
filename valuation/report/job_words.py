"""What stands in the fields of a job, in words: for the quiet line after each entry, for clashes, for the history."""

from __future__ import annotations

from valuation.engine.rows import Tables
from valuation.facts.kinds import day_of
from valuation.language import later, say, say_many
from valuation.report.format import cents, number
from valuation.report.labels import day_words, listed, option_name

_NAMES = {
    "job.next": later("Next step"),
    "job.source": later("Where the client comes from"),
    "job.referred": later("Sent by someone they trust"),
    "job.original": later("What stays original"),
    "job.absent": later("Keys with nothing to measure"),
    "job.stage": later("Stage"),
    "job.agreement": later("What is agreed on"),
    "job.promised": later("Promised day"),
    "job.person": later("Who works on it"),
    "job.fee": later("Charged for the evaluation visit"),
}
_SECTIONS = {
    "change": later("Change of the agreement"),
    "money": later("Money"),
    "return": later("Came back"),
}
MONEY_WORDS = {
    "deposit": later("deposit paid"),
    "invoice": later("invoice"),
    "payment": later("payment"),
    "bought_in": later("bought-in work, paid to others"),
}
CAUSES = {
    "work": later("our work"),
    "material": later("a material"),
    "climate": later("the climate where it stands"),
    "wear": later("use"),
    "else": later("something else"),
}
_ANSWERS = {"yes": later("needed: done"), "no": later("needed: not wanted"), "not_needed": later("not needed")}
_TAKEN_AWAY = ("event", "done", "followed", "finished", "change", "money", "return", "agreement")
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
    if section == "finished":
        return say("Finished: {operation}", operation=_name(name, book.operations))
    if section == "found":
        operation = name.partition("__")[0]
        return say("If found: {operation}", operation=_name(operation, book.operations))
    if section in _SECTIONS:
        return say(_SECTIONS[section])
    if section == "truth":
        return say("Teardown: {part}", part=_name(name, book.parts))
    if section in ("before", "after", "year"):
        what = _name(name, book.handover)
        if section == "year":
            return say("{what}, a year later", what=what)
        return say("{what}, before the work", what=what) if section == "before" else say("{what}, finished", what=what)
    return say(_NAMES[field]) if field in _NAMES else field


def job_value_words(field: str, value: object, book: Tables) -> str:
    """Return what was entered, in words."""
    section = field.removeprefix("job.").partition(".")[0]
    if value is None or value == "":
        return say("taken away") if section in _TAKEN_AWAY else say("not known")
    if isinstance(value, bool):
        return say("yes") if value else say("no")
    if isinstance(value, dict):
        return _told(section, value, book)
    if section in ("before", "after", "year") and isinstance(value, list):
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
    elif section in ("followed", "finished"):
        said = [say("done")]
    elif section == "agreement":
        said = [option_name(value["option"])] if value.get("option") in _OPTIONS else []
        said.append(_sum(value.get("price"), book))
    elif section == "found":
        said = [say(_ANSWERS.get(str(value.get("answer")), str(value.get("answer", ""))))]
    elif section == "change":
        said = [str(value.get("what", "")), _sum(value.get("price"), book)]
    elif section == "money":
        said = [say(MONEY_WORDS.get(str(value.get("what")), "")), _sum(value.get("amount"), book)]
    elif section == "return":
        said = [say(CAUSES.get(str(value.get("cause")), "")), _name(str(value.get("part", "")), book.parts)]
        hours = value.get("hours")
        said += [say("{count} h", count=number(hours))] if isinstance(hours, int | float) else []
        said.append(_sum(value.get("cost"), book))
    elif section == "promised":
        said = []
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


def _sum(amount: object, book: Tables) -> str:
    return cents(amount) + " " + book.settings.currency if isinstance(amount, int | float) else ""


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
