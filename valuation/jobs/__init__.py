"""From evaluation to finished job: what is written down, where each one stands, what is due, and the last check.

May import `valuation.core` and the names of keys from `valuation.measure`. Pure: knows no screen, storage, file or
clock; the day comes in as an argument. Must never change or drop an event.
"""

from __future__ import annotations
