"""Values of calls as the text that the engine reads, with the rules of the command line."""

from __future__ import annotations

import datetime
import math
import numbers
from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Optional, Union

Number = Union[int, float, str]
"""A quantity: a number in the unit that the argument names, or text with a unit of its own (``"1.2 GΩ"``, ``"82 °F"``)."""

Day = Union[str, datetime.date]
"""A day: a date, or text such as ``"2026-11-25"``."""


def text(value: object) -> str:
    """The digits of a number without an exponent, the ISO form of a day, and any text as it is."""
    if isinstance(value, datetime.datetime):
        value = value.date()
    if isinstance(value, datetime.date):
        return value.isoformat()
    if isinstance(value, numbers.Real) and not isinstance(value, bool):
        if isinstance(value, numbers.Integral):
            return str(int(value))
        number = float(value)
        return format(Decimal(repr(number)), "f") if math.isfinite(number) else repr(number)
    return str(value)


def texts(values: Mapping[str, object]) -> dict[str, str]:
    """Those of the values that are given."""
    return {name: text(value) for name, value in values.items() if value is not None}


def listed(value: Union[None, str, Iterable[str]]) -> list[str]:
    """One text or several, as a list."""
    if value is None:
        return []
    return [value] if isinstance(value, str) else [text(one) for one in value]


def optional(value: Optional[object]) -> Optional[str]:
    """Text, if it is given."""
    return None if value is None else text(value)
