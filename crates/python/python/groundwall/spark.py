"""A fleet judged on Spark, to the same answers as in one process: for histories that are in a lake, or do not fit into one machine.

The steps are those of :func:`groundwall.survey`, :func:`groundwall.choose`, :func:`groundwall.learn` and :func:`groundwall.assess` with
``priors``: every executor surveys the windings that it has, the driver learns from some hundred of each group, and every executor judges
its windings under what was learnt. Needs pyspark 4.0 or later, and this package on every executor.

::

    history = spark.read.parquet("lake/insulation/tests")
    register = spark.read.parquet("lake/insulation/windings")
    judged = groundwall.spark.assess(history, register, as_of="2026-11-25")
    judged.series.write.parquet("lake/insulation/assessment")
    judged.rejected.write.parquet("lake/insulation/rejected")

An executor sees some windings and not the fleet. What one process finds out from a whole file, such as the order of day and month, the
units of a column or the decimal mark, must therefore be settled beforehand: days are dates and numbers are numbers, each winding has one spelling, and
rows of one day have an order. Anything else is refused, because it could make an answer milder.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any, Optional, Union

from . import assess as _assess
from . import choose, learn, survey
from ._errors import InputError
from ._values import Day

if TYPE_CHECKING:
    import pyarrow
    from pyspark.sql import Column, DataFrame
    from pyspark.sql.types import DataType, StructType

__all__ = ["Judged", "assess"]

_WORDS = {
    "winding", "connection", "scope", "instrument", "lead_check", "event", "note", "other_phases", "serial", "battery", "zero_check",
    "open_check", "source_check", "proved_dead", "tested_by", "work_order", "equipment_state",
}  # fmt: skip
"""Columns that hold words."""

_SURVEYED = (
    "part int, winding string, connection string, scope string, `group` string, tests bigint, latest_on date, latest_mohm double, "
    "counts array<bigint>"
)


@dataclass(frozen=True)
class Judged:
    """A fleet judged: the result of :func:`assess`."""

    series: DataFrame
    """One row per series, with the columns of :attr:`groundwall.Assessment.series`, and ``messages``, the sentences of its findings."""
    rejected: DataFrame
    """The rows of the history that were not accepted, with all their columns, and ``problems``, a sentence for each thing wrong."""
    counts: dict[str, int]
    """What became of the rows: ``rows`` is ``accepted`` + ``repeated`` + ``rejected``."""
    priors: bytes
    """What the fleet taught: :func:`groundwall.assess` judges single windings of it under these, with a chart."""


def assess(
    history: DataFrame,
    register: Union[None, str, os.PathLike[str], bytes, DataFrame] = None,
    policy: Union[None, str, os.PathLike[str], bytes] = None,
    *,
    as_of: Day,
    confidence: float = 0.9,
    columns: Optional[Mapping[str, str]] = None,
    row: Optional[str] = None,
    partitions: Optional[int] = None,
) -> Judged:
    """Judges histories on Spark, each series as :func:`groundwall.assess` judges it among all others.

    The history is read three times, twice with a shuffle by winding: cache it where reading is dear. The series and the rejected rows are worked out
    when they are asked for.

    :param history: tests in columns under the names of this package, or under others that ``columns`` explains
    :param register: what is known of the windings: a frame, a path on the driver, or the bytes of a file; every executor gets all of it
    :param policy: the path of a policy file on the driver, or its bytes
    :param as_of: the day of the judgement; later tests are left out
    :param confidence: of every interval, 0.5 to 0.999
    :param columns: headers of the history and the columns that they stand for; ``"-"`` leaves one out
    :param row: a column that gives the order in which rows were written, which is the order of tests of one day without times; it is not read
        otherwise
    :param partitions: parts into which the windings are divided; as the session does it if it is not said
    :raises InputError: where a column has another type than its values, where a winding has two spellings, where the order of two tests is
        not known, and as :func:`groundwall.assess`
    """
    meant = dict(columns or {})
    if row is not None:
        meant[row] = "-"
    winding = _must_be_typed(history.schema, meant)
    given = _Given(
        register=_carried(register),
        policy=_carried(policy),
        row=row,
        winding=winding,
        rules={"as_of": as_of, "confidence": confidence, "columns": columns},
    )
    by_winding: list[Column] = [history[winding]]
    rows = history.repartition(partitions, *by_winding) if partitions else history.repartition(*by_winding)
    parts, counts = _parts(_of_executors(lambda: rows.mapInArrow(partial(_survey_part, given=given), _SURVEYED).toArrow()))
    choice = choose(parts, as_of=as_of)
    names = history.sparkSession.createDataFrame([(name,) for name in choice.windings], f"`{winding}` string")
    chosen: Any = _table(history.join(names.hint("broadcast"), winding, "left_semi").toArrow().to_batches(), row)
    priors = learn(choice, chosen, given.register, given.policy, **given.rules)
    series = rows.mapInArrow(partial(_judge_part, given=given, priors=priors), _series_schema())
    return Judged(series, rows.mapInArrow(partial(_rejected_of_part, given=given), _rejected_schema(history.schema)), counts, priors)


@dataclass(frozen=True)
class _Given:
    """What every executor needs beside its rows."""

    register: Any
    policy: Any
    row: Optional[str]
    winding: str
    rules: dict[str, Any]


def _carried(given: Any) -> Any:
    """A file by its bytes, a frame as a table: executors do not see the disk of the driver."""
    if isinstance(given, (str, os.PathLike)):
        try:
            with open(given, "rb") as file:
                return file.read()
        except OSError as error:
            raise InputError([f"{os.fspath(given)}: it cannot be read: {error.strerror}\nhint: name a file on the driver, or give its bytes"]) from None
    return given.toArrow() if hasattr(given, "toArrow") else given


def _must_be_typed(schema: StructType, columns: Mapping[str, str]) -> str:
    """Refuses columns whose values each executor would have to guess; gives the column of the windings."""
    from pyspark.sql import types

    problems = []
    places: dict[str, str] = {}
    for field in schema.fields:
        name = columns.get(field.name, field.name)
        places.setdefault(name, field.name)
        kind: DataType = field.dataType
        is_text = isinstance(kind, types.StringType)
        if name == "-":
            continue
        if name in ("tested_on", "calibration_due"):
            if not isinstance(kind, (types.DateType, types.TimestampNTZType)):
                problems.append(_typed(field.name, kind, "days are of type date, or timestamp_ntz with the time", "to_date with the form of your dates"))
        elif name in _WORDS or name.endswith("_bound"):
            if not (is_text or isinstance(kind, types.BooleanType)):
                problems.append(_typed(field.name, kind, "words and names are of type string", 'cast("string")'))
        elif not isinstance(kind, (types.NumericType, types.BooleanType, types.NullType)):
            what = "numbers are of a type of numbers, and their bounds are in a column such as r_60s_bound: above, below or exact"
            problems.append(_typed(field.name, kind, what, 'cast("double"), or drop a column that is not needed'))
    problems += [
        f"history: there is no column {name}\nhint: rename the column that holds it, or say it in columns"
        for name in ("winding", "tested_on")
        if name not in places
    ]
    if problems:
        raise InputError(problems)
    return places["winding"]


def _typed(column: str, kind: DataType, rule: str, hint: str) -> str:
    return f"history: column {column} is of type {kind.simpleString()}; {rule}\nhint: convert it first: {hint}"


def _table(batches: Iterable[pyarrow.RecordBatch], row: Optional[str]) -> Optional[pyarrow.Table]:
    """All rows of a part, in the order in which they were written; none where it has no row."""
    import pyarrow

    found = [batch for batch in batches if batch.num_rows > 0]
    if not found:
        return None
    table = pyarrow.Table.from_batches(found)
    return table if row is None else table.sort_by(row)


def _read(table: pyarrow.Table, given: _Given) -> pyarrow.Table:
    """The rows without the column that orders them."""
    return table if given.row is None else table.drop_columns([given.row])


def _survey_part(batches: Iterator[pyarrow.RecordBatch], given: _Given) -> Iterator[pyarrow.RecordBatch]:
    import pyarrow
    from pyspark import TaskContext

    table = _table(batches, given.row)
    if table is None:
        return
    _must_have_one_spelling(table, given)
    _must_be_in_order(table, given)
    surveyed = survey(_read(table, given), given.register, given.policy, **given.rules)
    context = TaskContext.get()
    part = context.partitionId() if context else 0
    series = surveyed.series.to_pyarrow()
    counts = [list(surveyed.counts.values())] + [None] * len(series)
    types = [pyarrow.int32(), *series.schema.types, pyarrow.list_(pyarrow.int64())]
    values = [[part] * len(counts), *([None, *series[name].to_pylist()] for name in series.column_names), counts]
    arrays = [pyarrow.array(column, kind) for column, kind in zip(values, types)]
    yield pyarrow.RecordBatch.from_arrays(arrays, ["part", *series.column_names, "counts"])


def _must_have_one_spelling(table: pyarrow.Table, given: _Given) -> None:
    """Refuses names that are read in another way than they are written: the rows of one winding would be in two parts."""
    import pyarrow

    names = [name for name in table[given.winding].unique().to_pylist() if name and not name.isspace()]
    if not names:
        return
    day = pyarrow.array([given.rules["as_of"]] * len(names)).cast(pyarrow.date32())
    probe = pyarrow.table({"winding": names, "tested_on": day, "r_60s": pyarrow.array([1.0] * len(names))})
    read = survey(probe, given.register, given.policy, as_of=given.rules["as_of"])
    known = {*read.series["winding"], *(names[line] for line in read.rejected["row"] if line is not None)}
    problems = [
        f'history: {given.winding} is "{name}", and it is read as another name; each winding has one spelling\n'
        "hint: trim the names, and replace other names of a winding by the one in the register"
        for name in names
        if name not in known
    ]
    if problems:
        raise InputError(problems[:10])


def _must_be_in_order(table: pyarrow.Table, given: _Given) -> None:
    """Refuses different rows of one moment whose order nobody knows: the later test decides."""
    if given.row is not None:
        return
    meant = given.rules["columns"] or {}
    keys = [name for name in table.column_names if meant.get(name, name) in ("winding", "tested_on", "connection", "scope")]
    distinct = table.group_by(table.column_names).aggregate([])
    several = distinct.group_by(keys).aggregate([([], "count_all")])
    for one in several.to_pylist():
        if one["count_all"] > 1 and all(one[name] is not None for name in (given.winding, *(k for k in keys if meant.get(k, k) == "tested_on"))):
            day = next(one[name] for name in keys if meant.get(name, name) == "tested_on")
            raise InputError(
                [
                    f"history: winding {one[given.winding]} has {one['count_all']} different rows of {day}, and nothing tells which was first\n"
                    "hint: name a column that orders the rows as row, or give tested_on with its time"
                ]
            )


def _parts(surveyed: pyarrow.Table) -> tuple[list[pyarrow.Table], dict[str, int]]:
    """The surveys of the parts, and what became of all rows."""
    import pyarrow.compute as compute

    of_parts = surveyed.filter(compute.is_valid(surveyed["counts"]))["counts"].to_pylist()
    sums = [sum(column) for column in zip(*of_parts)] if of_parts else [0, 0, 0, 0]
    series = surveyed.filter(compute.is_null(surveyed["counts"]))
    parts = [series.filter(compute.equal(series["part"], part)) for part in series["part"].unique()]
    return parts or [series], dict(zip(("rows", "accepted", "repeated", "rejected"), sums))


def _judge_part(batches: Iterator[pyarrow.RecordBatch], given: _Given, priors: bytes) -> Iterator[pyarrow.RecordBatch]:
    import pyarrow

    table = _table(batches, given.row)
    if table is None:
        return
    judged = _assess(_read(table, given), given.register, given.policy, **given.rules, priors=priors)
    if not len(judged):
        return
    messages = [[finding["message"] for finding in findings] for findings in judged.findings["findings"]]
    series = judged.series.to_pyarrow().append_column("messages", pyarrow.array(messages, pyarrow.list_(pyarrow.string())))
    yield from series.to_batches()


def _rejected_of_part(batches: Iterator[pyarrow.RecordBatch], given: _Given) -> Iterator[pyarrow.RecordBatch]:
    import pyarrow

    table = _table(batches, given.row)
    if table is None:
        return
    problems: dict[int, list[str]] = {}
    for one in survey(_read(table, given), given.register, given.policy, **given.rules).rejected:
        problems.setdefault(one["row"], []).append(one["message"].removeprefix(f"history:{one['line']}: "))
    rejected = table.take(list(problems)) if problems else table.slice(0, 0)
    yield from rejected.append_column("problems", pyarrow.array(list(problems.values()), pyarrow.list_(pyarrow.string()))).to_batches()


def _series_schema() -> StructType:
    """The columns of judged series, from those of one."""
    import pyarrow
    from pyspark.sql import types

    kinds = {pyarrow.string(): types.StringType(), pyarrow.int64(): types.LongType(), pyarrow.float64(): types.DoubleType(), pyarrow.date32(): types.DateType()}
    one = _assess(b"winding,tested_on,r_60s\nA,2026-01-01,1\n", as_of="2026-01-01").series.to_pyarrow().schema
    fields = [types.StructField(field.name, kinds[field.type]) for field in one]
    return types.StructType([*fields, types.StructField("messages", types.ArrayType(types.StringType()))])


def _rejected_schema(history: StructType) -> StructType:
    from pyspark.sql import types

    return types.StructType([*history.fields, types.StructField("problems", types.ArrayType(types.StringType()))])


def _of_executors(work: Any) -> Any:
    """Raises what an executor refused as it was said there."""
    from pyspark.errors import PythonException

    try:
        return work()
    except PythonException as error:
        problems = _refusals(str(error))
        if not problems:
            raise
        raise InputError(problems) from None


def _refusals(trace: str) -> list[str]:
    """The sentences of an :class:`InputError` in the trace of an executor, with the hints below them."""
    mark = f"{InputError.__module__}.{InputError.__qualname__}: "
    if mark not in trace:
        return []
    said = trace.split(mark, 1)[1].split("\n\n", 1)[0]
    problems: list[str] = []
    for line in said.splitlines():
        if line.startswith("hint: ") and problems:
            problems[-1] += f"\n{line}"
        elif line.strip() and not line.startswith(("\t", "JVM")):
            problems.append(line)
    return problems
