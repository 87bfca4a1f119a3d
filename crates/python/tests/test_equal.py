"""Both doors say the same: every column of every series, for the demo and for a random plant, whatever the table comes from."""

from __future__ import annotations

import csv
import datetime
import io
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import duckdb
import groundwall
import pandas
import plant
import polars
import pyarrow
import pyarrow.csv
import pytest
from conftest import DEMO, Run

Judged = tuple[groundwall.Assessment, bytes]

DEMO_FILES = (DEMO / "history.csv", DEMO / "register.csv", DEMO / "policy.toml")


def as_in_csv(value: object) -> str | float:
    """A value as the cell of the command line's CSV: texts that a spreadsheet would run have an apostrophe there."""
    if value is None:
        return ""
    if isinstance(value, datetime.date):
        return value.isoformat()
    if isinstance(value, str):
        return f"'{value}" if value.startswith(("=", "+", "-", "@", "\t", "\r")) else value
    assert isinstance(value, (int, float))
    return float(value)


def must_be(series: groundwall.Table, text: bytes) -> None:
    """The table has the columns, rows and cells of the CSV."""
    header, *rows = csv.reader(io.StringIO(text.decode()))
    assert series.columns == header
    assert len(series) == len(rows)
    for at, name in enumerate(header):
        found = [as_in_csv(value) for value in series[name]]
        expected = [float(row[at]) if isinstance(cell, float) else row[at] for cell, row in zip(found, rows)]
        assert found == expected, name


def of_command(command: Run, history: object, register: object, *more: object) -> bytes:
    return command("assess", history, "--register", register, "--as-of", plant.AS_OF, "--no-config", "--format", "csv", *more)


def test_the_demo_by_its_paths(command: Run) -> None:
    history, register, policy = DEMO_FILES
    judged = groundwall.assess(history, register, policy, as_of=plant.AS_OF)
    must_be(judged.series, of_command(command, history, register, "--policy", policy))
    args = ("--register", register, "--policy", policy, "--as-of", plant.AS_OF, "--no-config")
    assert judged.to_json().encode() == command("assess", history, *args, "--format", "json")
    assert judged.counts == {"rows": 1239, "accepted": 1239, "repeated": 0, "rejected": 0}


def test_a_random_plant_by_its_paths_in_every_column_and_finding(command: Run, random_plant: tuple[Path, Path], random_plant_judged: Judged) -> None:
    history, register = random_plant
    judged, text = random_plant_judged
    assert 2400 < len(judged.series) < 2700
    assert judged.counts["rejected"] > 100 and judged.counts["repeated"] > 100
    must_be(judged.series, text)
    written = command("assess", history, "--register", register, "--as-of", plant.AS_OF, "--no-config", "--format", "json")
    assert judged.to_json().encode() == written
    found = [[as_in_json(one) for one in findings] for findings in judged.findings["findings"]]
    assert found == [series["findings"] for series in json.loads(written)["series"]]


def as_in_json(finding: dict[str, Any]) -> dict[str, Any]:
    evidence = {one["name"]: one["text"] if one["number"] is None else one["number"] for one in finding["evidence"]}
    return {"code": finding["code"], "message": finding["message"], "evidence": evidence, "source": finding["source"]}


def in_categories(path: Path) -> pandas.DataFrame:
    frame = pandas.read_csv(path)
    frame["winding"] = frame["winding"].astype("category")
    return frame


def in_parts(path: Path) -> pyarrow.Table:
    table = pyarrow.csv.read_csv(path)
    return pyarrow.concat_tables([table.slice(at, 997) for at in range(0, len(table), 997)])


# The same file as the tables of other packages: all texts, and with the types that each finds.
TABLES: dict[str, Callable[[Path], Any]] = {
    "pandas, texts": lambda path: pandas.read_csv(path, dtype=str),
    "pandas, its types": pandas.read_csv,
    "pandas, categories": in_categories,
    "polars, texts": lambda path: polars.read_csv(path, infer_schema=False),
    "polars, its types": lambda path: polars.read_csv(path, try_parse_dates=True, infer_schema_length=None),
    "pyarrow, its types": pyarrow.csv.read_csv,
    "pyarrow, in parts": in_parts,
    "DuckDB, its types": lambda path: duckdb.sql(f"select * from read_csv('{path}', header = true, sample_size = -1)"),
}


@pytest.mark.parametrize("made_by", TABLES)
def test_tables_of_the_demo(command: Run, made_by: str) -> None:
    history, register, policy = DEMO_FILES
    table = TABLES[made_by]
    judged = groundwall.assess(table(history), table(register), policy, as_of=plant.AS_OF)
    must_be(judged.series, of_command(command, history, register, "--policy", policy))
    assert judged.counts == {"rows": 1239, "accepted": 1239, "repeated": 0, "rejected": 0}


@pytest.mark.parametrize("made_by", TABLES)
def test_tables_of_a_random_plant(random_plant: tuple[Path, Path], random_plant_judged: Judged, made_by: str) -> None:
    history, register = random_plant
    table = TABLES[made_by]
    judged = groundwall.assess(table(history), table(register), as_of=plant.AS_OF)
    from_file, text = random_plant_judged
    assert judged.counts == from_file.counts
    must_be(judged.series, text)
    rejected = lambda one: [(row["line"], row["column"], row["rule"]) for row in one.rejected]  # noqa: E731
    assert rejected(judged) == rejected(from_file)
    assert [row["row"] for row in judged.rejected] == [row["line"] - 2 for row in judged.rejected]


def test_results_go_out_as_tables() -> None:
    history, register, policy = DEMO_FILES
    judged = groundwall.assess(history, register, policy, as_of=plant.AS_OF)
    by_polars, by_pyarrow, by_pandas = polars.DataFrame(judged), pyarrow.table(judged.series), judged.series.to_pandas()
    assert by_polars.equals(judged.series.to_polars()) and by_polars.shape == (50, len(judged.series.columns))
    assert by_polars.schema["trend_tests"] == polars.Int64 and by_polars.schema["next_test_by"] == polars.Date
    assert by_pyarrow.schema.field("overdue_days").type == pyarrow.int64()
    assert str(by_pandas["trend_tests"].dtype) == "Int64" and by_pandas["overdue_days"].isna().any()
    assert by_polars["winding"].to_list() == by_pandas["winding"].tolist() == judged.series["winding"]
    findings = polars.DataFrame(judged.findings)
    assert findings["findings"].dtype.base_type() == polars.List
    assert findings.explode("findings").unnest("findings")["code"][0] == "below-minimum"
    # A result as the table of another run: it has no readings, and that is said.
    with pytest.raises(groundwall.InputError, match="history:1: the columns tested_on, r_60s are missing"):
        groundwall.assess(judged, as_of=plant.AS_OF)


def test_several_histories_are_judged_together(command: Run, tmp_path: Path) -> None:
    history, register = plant.make(60, 7)
    lines = history.splitlines(keepends=True)
    parts = [b"".join(lines[:200]), b"".join([lines[0], *lines[200:]])]
    paths = [tmp_path / "history-1.csv", tmp_path / "history-2.csv"]
    for path, part in zip(paths, parts):
        path.write_bytes(part)
    (tmp_path / "register.csv").write_bytes(register)
    args = ("--register", tmp_path / "register.csv", "--as-of", plant.AS_OF, "--no-config", "--format", "csv")
    text = command("assess", *paths, *args)
    several: list[groundwall.Histories] = [paths, tmp_path / "history-*.csv", [polars.read_csv(parts[0], infer_schema=False), parts[1]]]
    for given in several:
        must_be(groundwall.assess(given, register, as_of=plant.AS_OF).series, text)
    apart = groundwall.assess((parts[0], paths[1]), register, as_of=plant.AS_OF)
    assert [one["input"] for one in apart.inputs] == ["history 1", str(paths[1])]


def test_the_chart_is_that_of_the_command_line(command: Run, tmp_path: Path) -> None:
    history, register, policy = DEMO_FILES
    judged = groundwall.assess(history, register, policy, as_of=plant.AS_OF)
    for winding in ("A-212 stator", "K-431 stator", "R-203 stator"):
        args = ("--register", register, "--policy", policy, "--as-of", plant.AS_OF, "--no-config")
        for ending in ("svg", "png"):
            command("chart", history, "--winding", winding, *args, "--out", tmp_path / f"chart.{ending}")
        chart = judged.chart(winding)
        assert chart._repr_svg_().encode() == (tmp_path / "chart.svg").read_bytes()
        assert chart.png() == (tmp_path / "chart.png").read_bytes()


def test_a_replay_is_that_of_the_command_line(command: Run) -> None:
    history, register, policy = DEMO_FILES
    found = groundwall.replay(history, register, policy, as_of=plant.AS_OF, every=365)
    args = ("--register", register, "--policy", policy, "--as-of", plant.AS_OF, "--no-config", "--every", 365, "--format", "json")
    assert found == json.loads(command("replay", history, *args))
