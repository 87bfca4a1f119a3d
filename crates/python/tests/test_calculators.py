"""Calculators say what the command line says."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from typing import Any

import groundwall
import pytest

Answer = Callable[..., dict[str, Any]]


@pytest.mark.parametrize(
    ("r60", "options"),
    [
        (3.1, {"at": 20, "rated_volts": 400, "construction": "random-wound"}),
        (">1000", {"at": "82 °F", "rated_volts": "6.6 kV", "construction": "form-wound", "insulation": "thermosetting"}),
        ("OL", {"rated_volts": 400}),
        (0, {}),
        (1.5e3, {"at": -3, "air": -2.5, "rh": 80, "minimum": 20, "minimum_basis": "as-read", "year": 1968, "test_volts": 500}),
        (412, {"at": 22, "other_phases": "earthed", "battery": "low", "zero_check": "failed", "proved_dead": "yes", "standing_h": 30}),
    ],
)
def test_spot(answer: Answer, r60: float | str, options: dict[str, Any]) -> None:
    args = [f"--{name.replace('_', '-')}={value}" for name, value in options.items()]
    # The program takes today for the day of the test; around midnight that is one of two days.
    expected = answer("spot", f"--r60={r60}", *args)
    today = datetime.date.today()
    assert expected in [groundwall.spot(r60, as_of=day, **options) for day in (today, today - datetime.timedelta(days=1))]


@pytest.mark.parametrize(
    ("r", "options"),
    [
        (400, {"at": 20, "insulation": "thermosetting"}),
        (">1000", {"at": 5, "to": 25, "insulation": "unknown"}),
        ("1.2 GΩ", {"at": "95 °F", "halving": 8}),
        (0.00001, {"at": 60, "activation_kelvin": 4230}),
    ],
)
def test_correct(answer: Answer, r: float | str, options: dict[str, Any]) -> None:
    args = [f"--{name.replace('_', '-')}={value}" for name, value in options.items()]
    digits = "0.00001" if r == 0.00001 else r
    assert groundwall.correct(r, **options) == answer("correct", digits, *args)


def test_ratios(answer: Answer) -> None:
    expected = answer("ratios", "15s=300", "30s=350", "60s=420", "2min=500", "10min=>2000")
    assert groundwall.ratios({"15s": 300, "30s": 350, "60s": 420, "2min": 500, "10min": ">2000"}) == expected
    assert groundwall.ratios(["10min=>2000", "60s=420", "15s=300", "2min=500", "30s=350"]) == expected
    steps = groundwall.ratios({"500V": 900, "1kV": 850, "2500V": 400})
    assert steps == answer("ratios", "500V=900", "1kV=850", "2500V=400")
    discharge = groundwall.ratios(discharge_na=120, test_volts=1000, capacitance_uf=0.03)
    assert discharge == answer("ratios", "--discharge-na=120", "--test-volts=1000", "--capacitance-uf=0.03")
