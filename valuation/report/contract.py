"""The public JSON of an appraisal. A field of `Appraisal`, or of what it holds, is a key of that name.

Options, parts and components are mappings by their id, and so are the odds of states and severities.
As long as `ready` is false, `verdict` is that of today's odds only and no price may be told from it.
Money is in the shop's currency, lengths in mm, torque in N.m, chances are shares from 0 to 1, scores go from 0 to 100.
"""

from __future__ import annotations

import json
from dataclasses import fields, is_dataclass
from datetime import date
from typing import Any

from valuation.engine.appraisal import Appraisal
from valuation.engine.rows import SEVERITIES, STATES

FORMAT = 2
"""Version of the contract; it rises when a key changes its meaning or goes."""

_BY_ID = {"options": "option", "parts": "part", "components": "component"}


def to_json(appraisal: Appraisal) -> str:
    """Return the appraisal as JSON text, the same bytes for the same appraisal."""
    return json.dumps(to_plain(appraisal), ensure_ascii=False, indent=1, allow_nan=False) + "\n"


def to_plain(appraisal: Appraisal) -> dict[str, Any]:
    """Return the appraisal as plain dicts, lists, numbers and texts."""
    whole = {"format": FORMAT} | _plain(appraisal)
    for key, id_ in _BY_ID.items():
        whole[key] = {entry[id_]: entry for entry in whole[key]}
    for part in whole["parts"].values():
        part["states"] = dict(zip(STATES, part["states"], strict=False))  # how it has lived has none
        for fault in part["faults"]:
            fault["severities"] = dict(zip(SEVERITIES, fault["severities"], strict=True))
        for finding in part["findings"]:
            finding["grades"] = dict(zip(SEVERITIES, finding["grades"], strict=True))
    return whole


def _plain(value: Any) -> Any:
    if is_dataclass(value):
        return {f.name: _plain(getattr(value, f.name)) for f in fields(value)}
    if isinstance(value, dict):
        return {key: _plain(item) for key, item in value.items()}
    if isinstance(value, (tuple, list)):
        return [_plain(item) for item in value]
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, float):
        # Twelve digits hold every figure and drop what differs between machines in the last bits.
        return float(f"{float(value):.12g}")
    return value
