"""What a column of a table may hold, and what becomes of it."""

from __future__ import annotations

import datetime
from decimal import Decimal
from typing import Any

import groundwall
import numpy
import pandas
import polars
import pyarrow
import pytest

AS_OF = "2026-11-25"
DAYS = [datetime.date(2026, 1, 5), datetime.date(2026, 4, 7), datetime.date(2026, 7, 6), datetime.date(2026, 10, 5)]


def table(**columns: Any) -> pyarrow.Table:
    """Four tests of one winding."""
    return pyarrow.table({"winding": ["A"] * 4, "tested_on": DAYS, "r_60s": [410.0, 395.0, 402.0, 371.0], **columns})


def latest(history: Any, **options: Any) -> dict[str, Any]:
    """The one series."""
    judged = groundwall.assess(history, as_of=AS_OF, **options)
    assert judged.counts["rejected"] == 0, judged.rejected["message"]
    (row,) = judged.series.rows()
    return row


def messages(history: Any, **options: Any) -> list[str]:
    return groundwall.assess(history, as_of=AS_OF, **options).rejected["message"]


@pytest.mark.parametrize(
    "readings",
    [
        [410, 395, 402, 371],
        pyarrow.array([410, 395, 402, 371], pyarrow.int16()),
        pyarrow.array([410, 395, 402, 371], pyarrow.uint64()),
        pyarrow.array([410, 395, 402, 371], pyarrow.float32()),
        numpy.array([410, 395, 402, 371], numpy.float16),
        [Decimal("410.0"), Decimal("395.0"), Decimal("402.0"), Decimal("371.0")],
        ["410", "395 MΩ", "0.402 GΩ", " 371 "],
        pyarrow.array(["410", "395", "402", "371"], pyarrow.large_string()),
        pyarrow.array(["410", "395", "402", "371"], pyarrow.string_view()),
        pyarrow.array(["410", "395", "402", "371"]).dictionary_encode(),
        pyarrow.chunked_array([[410.0], [395.0, 402.0], [], [371.0]]),
    ],
)
def test_a_resistance_is_the_same_in_every_type(readings: Any) -> None:
    found = latest(table(r_60s=readings))
    assert found == latest(table())
    assert (found["latest_r60_mohm"], found["latest_bound"], found["latest_tested_on"]) == (371.0, "exact", DAYS[-1])


@pytest.mark.parametrize(
    "days",
    [
        [str(day) for day in DAYS],
        pandas.to_datetime([str(day) for day in DAYS]),
        pyarrow.array(DAYS).cast(pyarrow.date64()),
        pyarrow.array(DAYS).cast(pyarrow.timestamp("s")),
        pyarrow.array(DAYS).cast(pyarrow.timestamp("ns")),
    ],
)
def test_a_day_is_the_same_in_every_type(days: Any) -> None:
    assert latest(table(tested_on=days)) == latest(table())


def test_null_and_not_a_number_are_missing() -> None:
    temperatures = pyarrow.array([20.0, None, float("nan"), 21.0])
    texts = pyarrow.array(["20", None, "", "21"])
    assert latest(table(winding_temp_c=temperatures)) == latest(table(winding_temp_c=texts))
    # A row without any value is a blank line; one without a reading and a day beside it lacks the reading.
    blank = pyarrow.table({"winding": ["A", None, "A"], "tested_on": [DAYS[0], None, DAYS[2]], "r_60s": [410.0, None, None]})
    judged = groundwall.assess(blank, as_of=AS_OF)
    assert judged.counts == {"rows": 2, "accepted": 1, "repeated": 0, "rejected": 1}
    assert [(row["line"], row["row"], row["column"]) for row in judged.rejected] == [(4, 2, "r_60s")]


def test_bounds_beside_numbers_are_bounds_in_texts() -> None:
    texts = table(r_60s=["410", ">1000", "<0.1", "OL"])
    numbers = table(r_60s=[410.0, 1000.0, 0.1, None], r_60s_bound=["exact", "above", "below", "above"])
    blanks = table(r_60s=[410.0, 1000.0, 0.1, float("inf")], r_60s_bound=[None, "Above", "<", ""])
    first = groundwall.assess(texts, as_of=AS_OF)
    assert first.series["latest_bound"] == ["above"] and first.series["latest_r60_mohm"] == [None]
    for history in (numbers, blanks, pandas.DataFrame(numbers.to_pydict()), polars.DataFrame(numbers)):
        judged = groundwall.assess(history, as_of=AS_OF)
        assert judged.series.rows() == first.series.rows() and judged.findings.rows() == first.findings.rows()
        assert not any("r_60s_bound" in remark for remark in judged.remarks)
    # The same columns in a file.
    text = b"winding,tested_on,r_60s,r_60s_bound\nA,2026-01-05,410,exact\nA,2026-04-07,1000,above\nA,2026-07-06,0.1,below\nA,2026-10-05,,above\n"
    assert groundwall.assess(text, as_of=AS_OF).series.rows() == first.series.rows()


def test_a_bound_that_is_none_costs_the_row_and_not_the_answer() -> None:
    history = table(r_60s=[410.0, 1000.0, 0.1, 371.0], r_60s_bound=["exact", "over", "above", "below"])
    assert messages(history) == [
        "history:3: r_60s_bound is over; this column says of each reading whether it is exact, above or below",
    ]
    contradicting = table(r_60s=["410", ">1000", "402", "371"], r_60s_bound=[None, "below", None, None])
    assert messages(contradicting) == ["history:3: r_60s_bound is below; the reading beside it says something else"]


def test_a_rejected_row_makes_no_answer_milder() -> None:
    sound: dict[str, list[Any]] = {"winding": ["A"] * 12, "tested_on": [f"{2024 + at // 4}-{1 + 3 * (at % 4):02}-05" for at in range(12)],
             "r_60s": [str(4000 + 90 * (at * 5 % 7)) for at in range(12)], "winding_temp_c": [20.0 + at % 4 for at in range(12)]}
    register = pyarrow.table({"winding": ["A"], "rated_volts": [400], "construction": ["random-wound"]})
    kept = groundwall.assess(pyarrow.table(sound), register, as_of=AS_OF)
    assert kept.series["action"] == ["keep"]
    low = {name: [*cells, cells[-1]] for name, cells in sound.items()}
    low["tested_on"][-1], low["r_60s"][-1] = "2026-11-31", "0.3"
    for history in (pyarrow.table(low), pandas.DataFrame(low), polars.DataFrame(low)):
        judged = groundwall.assess(history, register, as_of=AS_OF)
        assert judged.counts["rejected"] == 1 and judged.series["action"] != ["keep"]


def test_units_and_names_are_those_of_files() -> None:
    named = pyarrow.table({"Motor": ["A"] * 4, "Test date": DAYS, "IR 1 min (GΩ)": [0.41, 0.395, 0.402, 0.371], "Winding temp °F": [68.0] * 4})
    plain = table(winding_temp_c=[20.0] * 4)
    found, expected = latest(named), latest(plain)
    assert found["latest_r60_mohm"] == pytest.approx(371.0) and found["latest_winding_temp_c"] == pytest.approx(20.0)
    assert found["action"] == expected["action"]
    mapped = table().rename_columns(["winding", "tested_on", "Wert 1"])
    assert latest(mapped, columns={"Wert 1": "r_60s"}) == latest(table())
    policy = b'[columns]\n"Wert 1" = "r_60s"\n'
    assert latest(mapped, policy=policy) == latest(table())
    units = table(r_60s=[410000.0, 395000.0, 402000.0, 371000.0], unit=["kΩ"] * 4)
    assert latest(units) == latest(table())


def test_rows_with_line_breaks_keep_their_numbers() -> None:
    notes = ["one\ntwo", 'a "quote", too', "cr\r\nlf\n\n", ""]
    history = table(note=notes, r_60s=["410", "-1", "402", "-2"])
    judged = groundwall.assess(history, as_of=AS_OF)
    assert [(row["line"], row["row"], row["value"]) for row in judged.rejected] == [(3, 1, "-1"), (5, 3, "-2")]
    long = table(note=["x\n" * 40_000, "", "", ""])
    with pytest.raises(groundwall.InputError) as refused:
        groundwall.assess(long, as_of=AS_OF)
    assert refused.value.problems == [
        "history:2: this row has line breaks in its texts and more than 64 KiB\nhint: shorten its texts, or take the line breaks out of them"
    ]
    # Without line breaks a text may be as long as it likes.
    assert latest(table(note=["x" * 100_000, "", "", ""]))["action"] == latest(table())["action"]


def test_a_wide_table_is_arranged_as_a_sheet_is() -> None:
    wide = pyarrow.table({"Motor": ["A", "B"], **{str(day): [410.0, 820.0] for day in DAYS}})
    text = b"Motor," + ",".join(map(str, DAYS)).encode() + b"\nA,410,410,410,410\nB,820,820,820,820\n"
    from_table, from_file = groundwall.assess(wide, as_of=AS_OF), groundwall.assess(text, as_of=AS_OF)
    assert from_table.series.rows() == from_file.series.rows()
    assert from_table.counts["accepted"] == 8 and from_table.remarks == from_file.remarks


def test_decimal_commas_in_texts_leave_numbers_alone() -> None:
    texts = table(r_60s=["410,5", "395,0", "402", "371,25"], winding_temp_c=[20.5, 20.25, 21.0, 21.5])
    assert latest(texts, decimal=",") == latest(table(r_60s=[410.5, 395.0, 402.0, 371.25], winding_temp_c=[20.5, 20.25, 21.0, 21.5]))


def test_hostile_tables_are_rows_and_sentences() -> None:
    keys = pyarrow.array([0, 1, 7, 0], pyarrow.int8())
    wild = pyarrow.DictionaryArray.from_arrays(keys, ["A", "B"], safe=False)
    judged = groundwall.assess(table(winding=wild), as_of=AS_OF)
    assert judged.counts["rows"] == 4 and "?" in judged.series["winding"]
    far = pyarrow.array([2**62, -(2**62), 0, 10**18], pyarrow.int64()).cast(pyarrow.timestamp("s"))
    judged = groundwall.assess(table(tested_on=far), as_of=AS_OF)
    assert judged.counts == {"rows": 4, "accepted": 1, "repeated": 0, "rejected": 3}
    huge = table(r_60s=[1e300, 1e-300, 2.0**-1074, 371.0])
    assert groundwall.assess(huge, as_of=AS_OF).counts == {"rows": 4, "accepted": 1, "repeated": 0, "rejected": 3}
    for text in ("=1+1", "\ufeffA", "\x1b[2J", "a" * 3000):
        judged = groundwall.assess(table(winding=["A", text, "A", "A"]), as_of=AS_OF)
        assert judged.counts["rows"] == 4
