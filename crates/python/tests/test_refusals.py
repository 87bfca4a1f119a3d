"""What cannot be judged is refused with whole sentences, the same as on the command line."""

from __future__ import annotations

import copy
import pickle
from pathlib import Path
from typing import Any

import groundwall
import pandas
import pyarrow
import pytest
from conftest import DEMO, Run

AS_OF = "2026-11-25"
SOUND = b"winding,tested_on,r_60s\nA,2026-10-05,371\n"


def problems(call: Any, *args: Any, **options: Any) -> list[str]:
    with pytest.raises(groundwall.InputError) as refused:
        call(*args, **options)
    assert str(refused.value) == "\n".join(refused.value.problems)
    return refused.value.problems


def test_a_missing_column_is_named() -> None:
    history = pyarrow.table({"winding": ["A"], "tested_on": ["2026-10-05"], "colour": ["blue"]})
    text = b"winding,tested_on,colour\nA,2026-10-05,blue\n"
    assert problems(groundwall.assess, history, as_of=AS_OF) == problems(groundwall.assess, text, as_of=AS_OF)
    assert problems(groundwall.assess, history, as_of=AS_OF)[0].startswith(
        "history:1: the column r_60s is missing; the header has winding, tested_on, colour\nhint: "
    )
    register = pyarrow.table({"motor size": [3], "rated_volts": [400]})
    assert problems(groundwall.assess, SOUND, register, as_of=AS_OF)[0].startswith(
        "register:1: the column winding is missing; the header has motor size, rated_volts\nhint: "
    )


def test_columns_that_hold_no_cells_are_named_with_their_type() -> None:
    moment = pandas.Timestamp("2026-10-05", tz="Europe/Oslo")
    for name, values, kind in [
        ("tested_on", [moment], 'Timestamp(ns, "Europe/Oslo")'),
        ("r_60s", pyarrow.array([[1.0]]), "List(Float64)"),
        ("note", [b"bytes"], "Binary"),
    ]:
        columns = {"winding": ["A"], "tested_on": ["2026-10-05"], "r_60s": [1.0]}
        history = pyarrow.table({**columns, name: values})
        (problem,) = problems(groundwall.assess, history, as_of=AS_OF)
        first, hint = problem.splitlines()
        assert first.startswith(f"history: column {name} is of type {kind.split('(')[0]}")
        assert first.endswith("; a column holds texts, numbers or dates")
        assert hint == "hint: cast it, or leave the column out"


def test_a_pandas_column_of_many_types_is_refused_and_not_guessed() -> None:
    mixed = pandas.DataFrame({"winding": ["A", "A"], "tested_on": ["2026-10-05", "2026-10-06"], "r_60s": [371.0, ">1000"]}, dtype=object)
    (problem,) = problems(groundwall.assess, mixed, as_of=AS_OF)
    first, hint = problem.splitlines()
    assert first.startswith("history: the table does not come over as Arrow: ")
    assert hint == "hint: a column holds texts, numbers or dates, not several of these: make the column one of texts"


def test_what_is_no_history_is_told_what_it_is(tmp_path: Path) -> None:
    assert problems(groundwall.assess, 7, as_of=AS_OF) == [
        "history: this is of type int; it is a path, bytes, or a table with the Arrow stream interface\n"
        "hint: tables of pandas 2.2, polars, pyarrow and DuckDB have it; make a list of rows a table first"
    ]
    assert problems(groundwall.assess, [], as_of=AS_OF) == ["history: the list is empty\nhint: give at least one history"]
    assert problems(groundwall.assess, b"", as_of=AS_OF) == [
        "history: the file is empty\n"
        "hint: the first line names the columns, such as winding,tested_on,r_60s; one row per test follows"
    ]
    assert problems(groundwall.assess, pyarrow.table({"winding": ["A"], "tested_on": ["x"], "r_60s": [1]})[:0], as_of=AS_OF) == [
        "history: there is a header but no row below it\nhint: one row per test follows the header"
    ]
    (tmp_path / "history.csv").write_bytes(SOUND)
    assert problems(groundwall.assess, tmp_path / "hstory.csv", as_of=AS_OF) == [
        f"{tmp_path}/hstory.csv: there is no such file\nhint: the most similar name in that folder is history.csv"
    ]


def test_files_are_refused_as_on_the_command_line(command: Run, tmp_path: Path) -> None:
    bad = {
        "register.csv": (DEMO / "register.csv").read_bytes(),
        "picture.png": b"\x89PNG\r\n\x1a\n0000",
        "rejected.csv": b"winding,tested_on,r_60s\nA,soon,1\nA,later,1\n",
        "quote.csv": b'"winding,tested_on,r_60s\nA,2026-05-04,1\n',
    }
    for name, content in bad.items():
        (tmp_path / name).write_bytes(content)
        said = command("assess", tmp_path / name, "--as-of", AS_OF, "--no-config", status=2).decode()
        found = "\n".join(problems(groundwall.assess, tmp_path / name, as_of=AS_OF))
        assert said.endswith(f"{found}\n"), name


def test_every_wrong_argument_is_named_at_once() -> None:
    options: dict[str, Any] = {"as_of": "tomorrow", "confidence": 90, "columns": {"Wert": "r60"}, "decimal": "·", "full_scale": "OL"}
    found = problems(groundwall.assess, SOUND, **options)
    assert found[:4] == [
        "as_of is tomorrow; a day is written year-month-day and is in the calendar, 1900 to 2199, such as 2026-11-25",
        "confidence is 90; 90 is outside what a confidence can be: 0.5 to 0.999",
        "full_scale is OL; this must be a plain resistance greater than 0, such as 2000 or 2 GΩ",
        "decimal is ·; the decimal mark is , or .",
    ]
    assert found[4].startswith('columns["Wert"] is r60; it must be the name of a column, or - to leave it alone: winding, ')
    assert problems(groundwall.assess, SOUND, as_of=None) == [
        "as_of is missing\nhint: say the day of the judgement, such as 2026-11-25"
    ]
    with pytest.raises(TypeError, match="as_of"):
        groundwall.assess(SOUND)  # type: ignore[call-arg]


def test_a_wrong_policy_and_register_are_told_together(command: Run, tmp_path: Path) -> None:
    policy = tmp_path / "policy.toml"
    policy.write_text('[minimum]\nrule = "generous"\n[trend]\nhorizon = "long"\n')
    register = tmp_path / "register.csv"
    register.write_text("winding,rated_volts\nA,400\nA,6600\n")
    history = tmp_path / "history.csv"
    history.write_bytes(SOUND)
    found = problems(groundwall.assess, history, register, policy, as_of=AS_OF)
    said = command("assess", history, "--register", register, "--policy", policy, "--as-of", AS_OF, "--no-config", status=2)
    assert said.decode() == "\n".join(found) + "\n"
    assert len(found) > 1 and found[-1].startswith(f"{register}:3: winding is A, as on line 2, with other data")
    table = pyarrow.table({"minimum": [5]})
    assert problems(groundwall.assess, SOUND, policy=table, as_of=AS_OF)[0].startswith("policy: a policy is not a table\nhint: ")


def test_calculators_name_every_wrong_argument() -> None:
    assert problems(groundwall.spot, "wet", as_of=AS_OF, at="warm", battery="maybe") == [
        "r60 is wet; a resistance is a number, with `>` or `<` before it and a unit after it if needed, or OL; write the megohms "
        "the tester showed, `>1000` where its scale ended at 1000 MΩ, or leave the cell empty",
        "at is warm; this is not a number in °C",
        "battery is maybe; this column holds ok or low",
    ]
    assert problems(groundwall.correct, 400, at=20) == [
        "of insulation, halving, activation_kelvin one is given, and here it is none\nhint: a resistance is corrected by one law"
    ]
    assert problems(groundwall.ratios, {"60s": 420, "1min": 430}) == [
        "60 s is given twice, as 420 MΩ and as 430 MΩ; each time has one reading\nhint: leave out the one that does not belong to this test"
    ]
    assert problems(groundwall.ratios, ["60=420"]) == [
        "a reading is 60=420; a time is seconds or minutes with the unit, such as 30s or 10min"
    ]
    assert problems(groundwall.ratios, discharge_na=12) == [
        "discharge_na, test_volts and capacitance_uf go together, and one is missing\nhint: give all three, or none"
    ]
    assert problems(groundwall.replay, SOUND, as_of=AS_OF) == [
        "no series has five tests and one more, so there is nothing to replay\n"
        "hint: replay needs a history of some years; assess judges a short one"
    ]


def test_a_winding_that_is_not_there_is_told_the_nearest() -> None:
    judged = groundwall.assess(SOUND, as_of=AS_OF)
    assert problems(judged.chart, "B") == ["history: no series of winding B fits\nhint: the nearest are A"]
    assert problems(judged.chart, "A", scope="all") == ["scope is all; a scope is winding, winding+cable, cable or circuit"]
    assert problems(judged.chart("A").svg, 10, 10) == [
        "a chart of 10 × 10 pixels cannot be drawn; each side must be 200 to 10000 pixels"
    ]
    assert problems(judged.series.__getitem__, "colour")[0].startswith("there is no column colour\nhint: the columns are winding, ")


def test_refusals_travel_between_processes() -> None:
    error = groundwall.InputError(["one", "two\nhint: three"])
    for again in (pickle.loads(pickle.dumps(error)), copy.copy(error)):
        assert again.problems == error.problems and isinstance(again, ValueError)
    assert issubclass(groundwall.InternalError, RuntimeError)
