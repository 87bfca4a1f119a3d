"""A fleet on Spark, in several partitions, has the answers of one process; what could make an answer milder is refused."""

from __future__ import annotations

import datetime
import os
import random
import shutil
import sys
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import groundwall
import groundwall.spark
import plant
import pyarrow
import pyarrow.csv
import pytest

if TYPE_CHECKING:
    from pyspark.sql import SparkSession

pytest.importorskip("pyspark")
AS_OF = plant.AS_OF


@pytest.fixture(scope="session")
def spark() -> Iterator[SparkSession]:
    """Two executors on this machine."""
    if shutil.which("java") is None:
        pytest.skip("Java is missing, so nothing was tried on Spark")
    from pyspark.sql import SparkSession

    # Executors take the Python that runs the tests.
    os.environ["PYSPARK_PYTHON"] = sys.executable
    builder: Any = SparkSession.builder
    settings = {
        "spark.ui.enabled": "false",
        "spark.sql.shuffle.partitions": "6",
        "spark.sql.session.timeZone": "UTC",
        # Needs no native library.
        "spark.sql.parquet.compression.codec": "gzip",
    }
    for name, value in settings.items():
        builder = builder.config(name, value)
    session = builder.master("local[2]").appName("groundwall").getOrCreate()
    yield session
    session.stop()


@pytest.fixture(scope="module")
def fleet() -> tuple[pyarrow.Table, pyarrow.Table]:
    """A random fleet with groups, phases, bounds, repeats, rejected rows and copies, as a lake has it: typed, in no order."""
    history, register = plant.make(160, 20261129)
    table = pyarrow.csv.read_csv(pyarrow.py_buffer(history), convert_options=pyarrow.csv.ConvertOptions(column_types={
        name: pyarrow.string() for name in plant.HEADER
    }, strings_can_be_null=True))
    rows = table.to_pylist()
    copied = [dict(row) for row in rows if row["winding"] == "M-0007"]
    rows = [row for row in rows if row["winding"] not in ("M-0008", "M-0009")]
    rows += [{**row, "winding": name} for row in copied for name in ("M-0008", "M-0009")]
    random.Random(7).shuffle(rows)
    return typed(rows), pyarrow.csv.read_csv(pyarrow.py_buffer(register))


def typed(rows: list[dict[str, Any]]) -> pyarrow.Table:
    """Days as dates, numbers as numbers with their bounds beside them."""
    numbers = ("test_volts", "r_30s", "r_60s", "r_10min", "winding_temp_c", "air_temp_c", "rh_percent", "full_scale")
    columns: dict[str, list[Any]] = {name: [] for name in (*plant.HEADER, "r_30s_bound", "r_60s_bound", "r_10min_bound", "row")}
    for at, row in enumerate(rows):
        for name in plant.HEADER:
            text = row[name]
            if name == "tested_on":
                try:
                    columns[name].append(datetime.date.fromisoformat(text or ""))
                except ValueError:
                    columns[name].append(None)
            elif name in numbers:
                bound = "above" if (text or "").startswith(">") else None
                number = (text or "").removeprefix(">")
                columns[name].append(float(number) if number.replace(".", "").replace("-", "").replace("e+", "").isdigit() else None)
                if name.startswith("r_"):
                    columns[f"{name}_bound"].append(bound)
            else:
                columns[name].append(text)
        columns["row"].append(at)
    return pyarrow.table(columns)


def same(found: list[dict[str, Any]], expected: list[dict[str, Any]]) -> None:
    key = lambda row: (row["winding"], row["connection"], row["scope"])  # noqa: E731
    found, expected = sorted(found, key=key), sorted(expected, key=key)
    assert [key(row) for row in found] == [key(row) for row in expected]
    for one, other in zip(found, expected):
        assert one == other


def test_every_column_is_that_of_one_process(spark: SparkSession, fleet: tuple[pyarrow.Table, pyarrow.Table], tmp_path: Any) -> None:
    history, register = fleet
    whole = groundwall.assess(history.drop_columns(["row"]), register, as_of=AS_OF)
    assert len(whole.series) > 180 and whole.counts["rejected"] > 5 and whole.counts["repeated"] > 5
    codes = "; ".join(whole.series["findings"])
    assert "copied-rows" in codes and "row-kept-out" in codes

    spark.createDataFrame(history).write.parquet(str(tmp_path / "tests"))
    lake = spark.read.parquet(str(tmp_path / "tests"))
    judged = groundwall.spark.assess(lake, spark.createDataFrame(register), as_of=AS_OF, row="row", partitions=5)
    assert judged.series.rdd.getNumPartitions() == 5
    judged.series.write.parquet(str(tmp_path / "assessment"))
    found = spark.read.parquet(str(tmp_path / "assessment")).toArrow().to_pylist()
    messages = {(one["winding"], one["connection"], one["scope"]): [finding["message"] for finding in one["findings"]] for one in whole.findings}
    for row in found:
        assert row.pop("messages") == messages[row["winding"], row["connection"], row["scope"]]
    same(found, whole.series.rows())
    assert judged.counts == whole.counts

    rejected = {row["row"]: row for row in judged.rejected.toArrow().to_pylist()}
    expected: dict[int, list[str]] = {}
    for one in whole.rejected:
        expected.setdefault(one["row"], []).append(one["message"].removeprefix(f"history:{one['line']}: "))
    # Of rows that contradict each other the sentence names the line of the other one, which is another line in a part.
    plain = {at: problems for at, problems in expected.items() if not any("history:" in problem for problem in problems)}
    assert plain and rejected.keys() == expected.keys()
    assert {at: rejected[at]["problems"] for at in plain} == plain
    written = history.to_pylist()
    assert all({**row, "problems": None} == {**written[at], "problems": None} for at, row in rejected.items())

    one = found[0]["winding"]
    mask = pyarrow.compute.equal(history["winding"], one)
    alone = groundwall.assess(history.filter(mask).drop_columns(["row"]), register, as_of=AS_OF, priors=judged.priors)
    same(alone.series.rows(), [row for row in found if row["winding"] == one])


def refused(spark: SparkSession, history: pyarrow.Table, **options: Any) -> list[str]:
    with pytest.raises(groundwall.InputError) as error:
        groundwall.spark.assess(spark.createDataFrame(history), as_of=AS_OF, **options)
    return error.value.problems


def sound() -> dict[str, list[Any]]:
    days = [datetime.date(2026, month, 5) for month in (1, 4, 7, 10)]
    return {"winding": ["P-7"] * 4, "tested_on": days, "r_60s": [410.0, 395.0, 402.0, 371.0]}


def test_columns_must_have_the_types_of_their_values(spark: SparkSession) -> None:
    texts = {**sound(), "tested_on": [str(day) for day in sound()["tested_on"]], "r_60s": ["410", "395", "402", "371"], "unit": ["MΩ"] * 4}
    numbers = "numbers are of a type of numbers, and their bounds are in a column such as r_60s_bound: above, below or exact"
    assert refused(spark, pyarrow.table(texts)) == [
        "history: column tested_on is of type string; days are of type date, or timestamp_ntz with the time\n"
        "hint: convert it first: to_date with the form of your dates",
        f'history: column r_60s is of type string; {numbers}\nhint: convert it first: cast("double"), or drop a column that is not needed',
        f'history: column unit is of type string; {numbers}\nhint: convert it first: cast("double"), or drop a column that is not needed',
    ]
    assert refused(spark, pyarrow.table({**sound(), "winding": [7] * 4}).drop_columns(["tested_on"])) == [
        'history: column winding is of type bigint; words and names are of type string\nhint: convert it first: cast("string")',
        "history: there is no column tested_on\nhint: rename the column that holds it, or say it in columns",
    ]


def test_a_winding_has_one_spelling(spark: SparkSession) -> None:
    spelling = 'history: winding is "{}", and it is read as another name; each winding has one spelling'
    hint = "hint: trim the names, and replace other names of a winding by the one in the register"
    trailing = pyarrow.table({**sound(), "winding": ["P-7", "P-7 ", "P-7", "P-7"]})
    assert refused(spark, trailing) == [f"{spelling.format('P-7 ')}\n{hint}"]
    register = b"winding,rated_volts,also known as\nP-7,400,Pump 7\n"
    other = pyarrow.table({**sound(), "winding": ["P-7", "Pump 7", "P-7", "P-7"]})
    assert refused(spark, other, register=register) == [f"{spelling.format('Pump 7')}\n{hint}"]


def test_the_order_of_tests_of_one_day_must_be_known(spark: SparkSession) -> None:
    days = sound()["tested_on"]
    low_last = pyarrow.table({"winding": ["P-7"] * 4, "tested_on": [*days[:3], days[2]], "r_60s": [410.0, 395.0, 402.0, 0.4]})
    assert refused(spark, low_last) == [
        "history: winding P-7 has 2 different rows of 2026-07-05, and nothing tells which was first\n"
        "hint: name a column that orders the rows as row, or give tested_on with its time"
    ]
    for order in ([0, 1, 2, 3], [0, 1, 3, 2]):
        history = low_last.append_column("written", [order])
        judged = groundwall.spark.assess(spark.createDataFrame(history), as_of=AS_OF, row="written")
        expected = groundwall.assess(history.sort_by("written").drop_columns(["written"]), as_of=AS_OF)
        assert [row["action"] for row in judged.series.select("action").collect()] == expected.series["action"]


def test_without_any_sound_row_nothing_is_judged(spark: SparkSession) -> None:
    history = pyarrow.table({**sound(), "r_60s": [-1.0] * 4})
    assert refused(spark, history) == [
        "survey: the parts have no series, so there is nothing to learn from and to judge\nhint: see why the rows of the history were rejected"
    ]


def test_priors_of_other_terms_are_refused(tmp_path: Any) -> None:
    history = pyarrow.table(sound())
    choice = groundwall.choose([groundwall.survey(history, as_of=AS_OF).series], as_of=AS_OF)
    priors = groundwall.learn(choice, history, as_of=AS_OF)
    (tmp_path / "priors.json").write_bytes(priors)
    by_path = groundwall.assess(history, as_of=AS_OF, priors=tmp_path / "priors.json")
    assert by_path.series.rows() == groundwall.assess(history, as_of=AS_OF).series.rows()
    anew = "hint: learn from the fleet again, or judge with the same settings"
    with pytest.raises(groundwall.InputError) as error:
        groundwall.assess(history, as_of="2026-11-26", priors=priors)
    assert error.value.problems == [
        f"priors: the as-of date was 2026-11-25 when the fleet was surveyed and is 2026-11-26; both must be the same\n{anew}"
    ]
    with pytest.raises(groundwall.InputError) as error:
        groundwall.assess(history.slice(1), as_of=AS_OF, priors=priors)
    assert error.value.problems[0].startswith("priors: winding P-7 had 4 tests when the fleet was surveyed and has 3;")
    with pytest.raises(groundwall.InputError) as error:
        groundwall.choose([groundwall.survey(history, as_of=AS_OF).series] * 2, as_of=AS_OF)
    assert error.value.problems[0].startswith("survey: winding P-7 is in two parts of the fleet;")
    found = groundwall.spot(3.1, at=20, rated_volts=400, construction="random-wound", as_of=AS_OF, priors=priors)
    assert found["priors"] is None and found["action"] == "hold"
