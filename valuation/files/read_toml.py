"""A file of settings: single figures, each a table with value, unit, source and note."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, get_type_hints

from valuation.engine.rows import Settings
from valuation.errors import Problem, quoted
from valuation.facts.columns import Column, columns_of
from valuation.files.cells import CellError, require_within
from valuation.files.faults import did_you_mean
from valuation.files.toml_text import line_of, lines_of_keys, parse_toml

_PARTS_OF_A_SETTING = ("value", "unit", "source", "note")
_NUMBER_MOST = 1e12


@dataclass(slots=True)
class SettingsRead:
    """What was found in a file of settings; `settings` is None where there are problems."""

    settings: Any = None
    sources: dict[str, str] = field(default_factory=dict)
    lines: dict[str, int] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)


def read_settings(text: str, file: str, row_class: type = Settings) -> SettingsRead:
    """Read the settings; each field of their class must be there as a key, and no other.

    Parameters
    ----------
    text : str
        The file's text.
    file : str
        Name of the file, for the problems.
    row_class : type
        Class of the settings, with a `column` for each; the shop's settings if left out.

    Returns
    -------
    SettingsRead
        The settings, the source of each, the line of each, and every fault.
    """
    found, problems = parse_toml(text, file)
    read = SettingsRead(problems=problems, lines=lines_of_keys(text))
    if problems:
        return read
    columns, hints = columns_of(row_class), get_type_hints(row_class)

    def tell(path: str, message: str) -> None:
        read.problems.append(Problem(file, line_of(path, read.lines), path, message))

    for name in found:
        if name not in columns:
            tell(name, f"{quoted(name)} is not a setting{did_you_mean(name, columns)}")
    values = {}
    for name, (_, column) in columns.items():
        if name not in found:
            tell(name, f"the setting is missing; add [{name}] with value, unit, source and note: {column.says}")
            continue
        for path, message in _check_setting(name, found[name], column):
            tell(path, message)
        if isinstance(found[name], dict) and "value" in found[name]:
            try:
                values[name] = _read_value(found[name]["value"], hints[name], column)
            except CellError as fault:
                tell(f"{name}.value", str(fault))
            read.sources[name] = str(found[name].get("source", ""))
    if not read.problems:
        read.settings = row_class(**values)
    return read


def _check_setting(name: str, setting: Any, column: Column) -> list[tuple[str, str]]:
    if not isinstance(setting, dict):
        return [(name, f"write it as a table: [{name}] with value, unit, source and note")]
    faults = []
    for key, content in setting.items():
        if key not in _PARTS_OF_A_SETTING:
            faults.append(
                (f"{name}.{key}", f"{quoted(key)} does not belong here{did_you_mean(key, _PARTS_OF_A_SETTING)}")
            )
        elif key != "value" and not isinstance(content, str):
            faults.append((f"{name}.{key}", "write it as text, in quotation marks"))
    if "value" not in setting:
        faults.append((f"{name}.value", "the value is missing; add it"))
    if setting.get("source", "") == "":
        faults.append((f"{name}.source", "the source is missing; add it"))
    unit = setting.get("unit", "")
    if isinstance(unit, str) and unit != column.unit:
        faults.append((f"{name}.unit", f"{quoted(unit)} is not the unit of this setting; write '{column.unit}'"))
    return faults


def _read_value(value: Any, hint: Any, column: Column) -> Any:
    if hint in (int, float):
        value = _read_figure(value, hint)
    elif hint is str:
        if not isinstance(value, str) or not value:
            raise CellError(f"{quoted(value)} is not text; write it in quotation marks")
    elif not isinstance(value, list) or not all(isinstance(item, str) for item in value):
        raise CellError(f"{quoted(value)} is not a list of names; write it like ['tune', 'safety_check']")
    elif len(set(value)) < len(value):
        raise CellError("a name stands twice; write it once")
    else:
        value = tuple(value)
    require_within(value, column)
    return value


def _read_figure(value: Any, hint: type) -> float | int:
    allowed = int if hint is int else (int, float)
    if isinstance(value, bool) or not isinstance(value, allowed) or not abs(value) <= _NUMBER_MOST:
        wanted = "whole number; write it like 90" if hint is int else "number; write it like 4 or 4.5"
        raise CellError(f"{quoted(value)} is not a {wanted}")
    return hint(value)
