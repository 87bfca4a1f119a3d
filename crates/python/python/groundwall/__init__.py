"""groundwall judges motor-winding insulation from histories of direct-voltage tests.

What the command line says, as Python objects: the same rules, the same numbers and the same sentences, because both call the
same engine. Tables come in and go out by the Arrow C interface, so pandas (2.2 or later), polars, pyarrow and DuckDB all do.
There is no clock in here: whoever asks says for which day.

>>> import groundwall
>>> history = b'''winding,tested_on,r_60s,winding_temp_c
... P-7,2025-04-11,412,22
... P-7,2025-10-09,388,20
... P-7,2026-04-14,>1000,21
... P-7,2026-10-12,371,19
... '''
>>> judged = groundwall.assess(history, as_of="2026-11-25")
>>> judged.series.rows()[0]["winding"], judged.counts["accepted"]
('P-7', 4)

An answer is no better than the readings, the register and the policy behind it, and no substitute for the judgement of a
competent person at the machine.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any, Optional, Protocol, Union

from . import _engine
from ._errors import InputError, InternalError
from ._values import Day, Number, listed, optional, text, texts

if TYPE_CHECKING:
    import pandas
    import polars
    import pyarrow

__all__ = [
    "Assessment",
    "Chart",
    "Choice",
    "InputError",
    "InternalError",
    "Survey",
    "Table",
    "assess",
    "choose",
    "correct",
    "learn",
    "ratios",
    "replay",
    "spot",
    "survey",
]


class ArrowStream(Protocol):
    """A table with the Arrow stream interface: of pandas, polars, pyarrow, DuckDB, or a result of this package."""

    def __arrow_c_stream__(self, requested_schema: object = None) -> object: ...


Source = Union[str, os.PathLike[str], bytes, ArrowStream]
"""A path, the bytes of a file, or a table."""

Histories = Union[Source, Sequence[Source]]
"""One history, or several in a list or a tuple."""


class Table:
    """A table of results. Any program with the Arrow interface takes it: ``polars.DataFrame(table)``, ``pyarrow.table(table)``.

    Texts, 64-bit numbers, 64-bit counts and dates; unknown is null.
    """

    def __init__(self, held: _engine.Table) -> None:
        self._held = held

    def __arrow_c_stream__(self, requested_schema: object = None) -> object:
        """The table as an Arrow stream."""
        return self._held.__arrow_c_stream__(requested_schema)

    def __arrow_c_schema__(self) -> object:
        """The types of the columns as an Arrow schema."""
        return self._held.__arrow_c_schema__()

    def __len__(self) -> int:
        """How many rows there are."""
        return len(self._held)

    def __getitem__(self, column: str) -> list[Any]:
        """The values of a column, unknown as None.

        Units are in the name of the column: ``_mohm`` MΩ, ``_c`` °C, ``_years`` years, ``log10_per_year`` decades a year.

        >>> history = b"winding,tested_on,r_60s" + chr(10).encode() + b"P-7,2026-10-12,371"
        >>> assess(history, as_of="2026-11-25").series["latest_r60_mohm"]
        [371.0]
        """
        return self._held.column(column)

    @property
    def columns(self) -> list[str]:
        """The names of the columns, with their units."""
        return self._held.columns()

    def rows(self) -> list[dict[str, Any]]:
        """The rows as dictionaries; needs no other package."""
        columns = self.columns
        return [dict(zip(columns, row)) for row in zip(*(self[name] for name in columns))]

    def __iter__(self) -> Iterator[dict[str, Any]]:
        return iter(self.rows())

    def __repr__(self) -> str:
        return f"<groundwall.Table of {len(self)} rows: {', '.join(self.columns)}>"

    def to_polars(self) -> polars.DataFrame:
        """The table as a polars frame."""
        import polars

        return polars.DataFrame(self)

    def to_pyarrow(self) -> pyarrow.Table:
        """The table as one of pyarrow."""
        import pyarrow

        return pyarrow.table(self)

    def to_pandas(self) -> pandas.DataFrame:
        """The table as a pandas frame; counts are ``Int64`` and may be ``<NA>``. Needs pyarrow."""
        import pandas

        counts = {_int64(): pandas.Int64Dtype()}
        frame: pandas.DataFrame = self.to_pyarrow().to_pandas(types_mapper=counts.get)
        return frame


def _int64() -> Any:
    import pyarrow

    return pyarrow.int64()


class Chart:
    """The trend chart of a series; a notebook shows it."""

    def __init__(self, held: _engine.Chart) -> None:
        self._held = held

    @property
    def series(self) -> str:
        """The name of the series."""
        return self._held.series

    @property
    def description(self) -> str:
        """One line for those who cannot see the picture."""
        return self._held.description

    def svg(self, width: int = 1200, height: int = 800) -> str:
        """The chart as SVG with its fonts; `width` and `height` in pixels, 200 to 10000."""
        return self._held.svg(width, height)

    def png(self, width: int = 1200, height: int = 800, dpi: int = 150) -> bytes:
        """The chart as the bytes of a PNG file; `width` and `height` in pixels, `dpi` in dots per inch, 50 to 1200."""
        return self._held.png(width, height, dpi)

    def _repr_svg_(self) -> str:
        return self.svg()

    def __repr__(self) -> str:
        return f"<groundwall.Chart of {self.series}>"


class _Read:
    """Histories that were read: what became of their rows."""

    def __init__(self, held: Union[_engine.Judged, _engine.Survey]) -> None:
        self._read = held
        self._tables: dict[str, Table] = {}

    def _table(self, name: str) -> Table:
        if name not in self._tables:
            self._tables[name] = Table(getattr(self._read, name)())
        return self._tables[name]

    @property
    def series(self) -> Table:
        """One row per series."""
        return self._table("series")

    @property
    def rejected(self) -> Table:
        """One row for each thing wrong with a row that was not accepted: ``input``, ``line`` (of a file; of a table the header is line
        1), ``row`` (of a table, from 0), ``column``, ``value``, ``rule``, ``hint``, and ``message``, the whole sentence.

        >>> history = b"winding,tested_on,r_60s" + chr(10).encode() + b"P-7,2026-10-12,371" + chr(10).encode() + b"P-7,soon,370"
        >>> print(assess(history, as_of="2026-11-25").rejected["message"][0])
        history:3: tested_on is soon; a date is written year-month-day, such as 2026-04-03; day and month are never guessed
        """
        return self._table("rejected")

    @property
    def counts(self) -> dict[str, int]:
        """What became of the rows of all inputs: ``rows`` is ``accepted`` + ``repeated`` + ``rejected``."""
        names = ("rows", "accepted", "repeated", "rejected")
        return {name: sum(one[name] for one in self.inputs) for name in names}

    @property
    def inputs(self) -> list[dict[str, Any]]:
        """The same for each input: ``input``, ``rows``, ``accepted``, ``repeated``, ``rejected``."""
        names = ("input", "rows", "accepted", "repeated", "rejected")
        return [dict(zip(names, counts)) for counts in self._read.counts()]

    @property
    def remarks(self) -> list[str]:
        """Sentences about how everything was read, which the command line writes beside its result. Read them: they say what was
        assumed and what was left out."""
        return self._read.remarks()

class Survey(_Read):
    """A fleet, or a part of it, before any winding is judged: the result of :func:`survey`."""

    def __init__(self, held: _engine.Survey) -> None:
        super().__init__(held)

    @property
    def series(self) -> Table:
        """One row per series, in the order of their names: ``winding``, ``connection``, ``scope``, ``group`` (of similar windings), ``tests``
        until the as-of date, and of the latest test that counts ``latest_on`` and ``latest_mohm``, null where its value tells nothing.

        >>> history = b"winding,tested_on,r_60s" + chr(10).encode() + b"P-7,2026-10-12,371"
        >>> survey(history, as_of="2026-11-25").series.rows()[0]["latest_mohm"]
        371.0
        """
        return self._table("series")

    def __repr__(self) -> str:
        return f"<groundwall.Survey of {len(self.series)} series>"


class Choice:
    """Which windings a fleet is learnt from: the result of :func:`choose`."""

    def __init__(self, held: _engine.Choice) -> None:
        self._held = held

    @property
    def windings(self) -> list[str]:
        """The windings whose histories :func:`learn` needs, all rows of each."""
        return self._held.windings()

    def __repr__(self) -> str:
        return f"<groundwall.Choice of {len(self.windings)} windings>"


class Assessment(_Read):
    """Histories judged: the result of :func:`assess`. As a table it is its series, so ``polars.DataFrame(judged)`` is a frame."""

    def __init__(self, held: _engine.Judged) -> None:
        super().__init__(held)
        self._held = held

    def __arrow_c_stream__(self, requested_schema: object = None) -> object:
        """The series as an Arrow stream."""
        return self.series.__arrow_c_stream__(requested_schema)

    @property
    def series(self) -> Table:
        """One row per series, most urgent first: the columns of the command line's CSV, units in their names."""
        return self._table("series")

    @property
    def findings(self) -> Table:
        """One row per series in the order of :attr:`series`: ``winding``, ``connection``, ``scope``, and ``findings``, a list of structs
        with ``code``, ``message``, ``source`` and ``evidence`` (a list of ``name``, ``number``, ``text``).

        >>> history = b"winding,tested_on,r_60s" + chr(10).encode() + b"P-7,2026-10-12,0.4"
        >>> [one["code"] for one in assess(history, as_of="2026-11-25").findings["findings"][0]][0]
        'below-minimum'
        """
        return self._table("findings")

    def to_json(self) -> str:
        """The result file of the command line, schema ``groundwall/assessment/1``."""
        return self._held.json()

    def chart(self, winding: str, connection: Optional[str] = None, scope: Optional[str] = None) -> Chart:
        """The trend chart of a winding: of the series that fits, of several the most urgent.

        All series are judged once more for it, because similar windings share what is known of them.

        >>> history = b"winding,tested_on,r_60s" + chr(10).encode() + b"P-7,2026-10-12,371"
        >>> assess(history, as_of="2026-11-25").chart("P-7")
        <groundwall.Chart of P-7>
        """
        return Chart(self._held.chart(text(winding), optional(connection), optional(scope)))

    def __len__(self) -> int:
        """How many series there are."""
        return len(self.series)

    def __repr__(self) -> str:
        counts = self.counts
        return f"<groundwall.Assessment: {len(self)} series; {counts['accepted']} of {counts['rows']} rows accepted>"


def assess(
    history: Histories,
    register: Optional[Source] = None,
    policy: Union[None, str, os.PathLike[str], bytes] = None,
    *,
    as_of: Day,
    confidence: float = 0.9,
    columns: Optional[Mapping[str, str]] = None,
    date_format: Union[None, str, Iterable[str]] = None,
    decimal: Optional[str] = None,
    delimiter: Optional[str] = None,
    encoding: Optional[str] = None,
    full_scale: Optional[Number] = None,
    sheet: Union[None, str, Iterable[str]] = None,
    skip_sheet: Union[None, str, Iterable[str]] = None,
    priors: Union[None, str, os.PathLike[str], bytes] = None,
) -> Assessment:
    """Judges histories of insulation tests, as ``groundwall assess`` does.

    Units are in the names of the columns: ``r_60s`` MΩ, ``r_60s_gohm`` GΩ, ``winding_temp_c`` °C, ``test_volts`` V, ``rh_percent`` %.

    A column of a table holds numbers, texts (with the grammar of a cell: ``>5000``, ``OL``, ``1.2 GΩ``) or dates. A column of numbers
    has its bounds in a column beside it, ``r_60s_bound``: ``exact``, ``above`` or ``below``. Null and not-a-number are missing.

    :param history: a path (CSV or workbook), the bytes of a file, a table with the Arrow stream interface, or a list of these
    :param register: the same of the register; without it the minimum of every winding is assumed
    :param policy: the path or the bytes of a policy file
    :param as_of: the day of the judgement; later tests are left out
    :param confidence: of every interval, 0.5 to 0.999
    :param columns: headers of the site and the columns that they stand for, such as ``{"Wert 1": "r_60s"}``; ``"-"`` leaves one out
    :param date_format: how dates in texts are written, such as ``"%d/%m/%Y"``, or several forms
    :param decimal: the decimal mark of numbers in files, ``"."`` or ``","``
    :param delimiter: what parts the cells of files: ``","``, ``";"`` or ``"tab"``
    :param encoding: the encoding of text files, such as ``"windows-1252"``
    :param full_scale: the largest value that the testers can show, MΩ, or with a unit
    :param sheet: names or patterns of the sheets of workbooks to be read
    :param skip_sheet: names or patterns of sheets to be left out
    :param priors: what :func:`learn` gave, or a file of ``assess --save-priors``: the windings are then judged as a part of that fleet, with
        the answers that they have among all others
    :raises InputError: with every problem as a sentence, when something given cannot be read, or does not fit to the priors
    :raises InternalError: when groundwall itself fails

    >>> history = b'''winding,tested_on,r_60s,winding_temp_c
    ... P-7,2026-04-14,412,21
    ... P-7,2026-10-12,3.1,19
    ... '''
    >>> register = b'''winding,rated_volts,construction
    ... P-7,400,random-wound
    ... '''
    >>> judged = assess(history, register, as_of="2026-11-25")
    >>> judged
    <groundwall.Assessment: 1 series; 2 of 2 rows accepted>
    >>> judged.series["action"], judged.series["minimum_mohm"]
    (['hold'], [5.0])
    """
    arguments, lists = _reading(as_of, confidence, date_format, decimal, delimiter, encoding, full_scale, sheet, skip_sheet)
    return Assessment(_engine.assess(history, register, policy, _pairs(columns), arguments, lists, priors))


def survey(
    history: Histories,
    register: Optional[Source] = None,
    policy: Union[None, str, os.PathLike[str], bytes] = None,
    *,
    as_of: Day,
    confidence: float = 0.9,
    columns: Optional[Mapping[str, str]] = None,
    date_format: Union[None, str, Iterable[str]] = None,
    decimal: Optional[str] = None,
    delimiter: Optional[str] = None,
    encoding: Optional[str] = None,
    full_scale: Optional[Number] = None,
    sheet: Union[None, str, Iterable[str]] = None,
    skip_sheet: Union[None, str, Iterable[str]] = None,
) -> Survey:
    """Surveys a fleet, or a part of it with whole windings: what has to be known of every series before one is judged.

    A fleet that does not fit into one process is surveyed part by part; then :func:`choose` says which windings to learn from,
    :func:`learn` learns from them, and :func:`assess` judges each part with ``priors``. The answers are those of the whole fleet in
    one process. All parameters are those of :func:`assess`, and must be the same in every step. A part may be empty.

    >>> rows = {name: f"winding,tested_on,r_60s\\n{name},2026-10-12,371\\n".encode() for name in ("P-7", "P-8")}
    >>> parts = [survey(part, as_of="2026-11-25") for part in rows.values()]
    >>> choice = choose([part.series for part in parts], as_of="2026-11-25")
    >>> choice.windings
    ['P-7', 'P-8']
    >>> priors = learn(choice, list(rows.values()), as_of="2026-11-25")
    >>> assess(rows["P-8"], as_of="2026-11-25", priors=priors).series["winding"]
    ['P-8']
    """
    arguments, lists = _reading(as_of, confidence, date_format, decimal, delimiter, encoding, full_scale, sheet, skip_sheet)
    return Survey(_engine.survey(history, register, policy, _pairs(columns), arguments, lists))


def choose(parts: Iterable[Any], *, as_of: Day) -> Choice:
    """Chooses the windings to learn from, which are some hundred of each group of similar ones, and those that may be copies of others.

    :param parts: ``series`` of the surveys of all parts of a fleet, as tables of this package or of pyarrow, in any order
    :param as_of: the day of the judgement, as it was in :func:`survey`
    :raises InputError: where a winding is in two parts, because its series are judged together

    >>> history = b"winding,tested_on,r_60s" + chr(10).encode() + b"P-7,2026-10-12,371"
    >>> choose([survey(history, as_of="2026-11-25").series], as_of="2026-11-25")
    <groundwall.Choice of 1 windings>
    """
    names = ("winding", "connection", "scope", "group", "tests", "latest_on", "latest_mohm")
    return Choice(_engine.choose([list(zip(*(_values(part, name) for name in names))) for part in parts], text(as_of)))


def learn(
    choice: Choice,
    history: Histories,
    register: Optional[Source] = None,
    policy: Union[None, str, os.PathLike[str], bytes] = None,
    *,
    as_of: Day,
    confidence: float = 0.9,
    columns: Optional[Mapping[str, str]] = None,
    date_format: Union[None, str, Iterable[str]] = None,
    decimal: Optional[str] = None,
    delimiter: Optional[str] = None,
    encoding: Optional[str] = None,
    full_scale: Optional[Number] = None,
    sheet: Union[None, str, Iterable[str]] = None,
    skip_sheet: Union[None, str, Iterable[str]] = None,
) -> bytes:
    """Learns from the chosen windings what their groups have in common, and which of their latest tests are copies.

    The result is what ``assess --save-priors`` writes into a file: it holds for this fleet, day, policy and confidence alone, and :func:`assess`
    refuses anything else.

    :param choice: the result of :func:`choose`
    :param history: all rows of its windings; other windings may be there too
    :raises InputError: where a chosen winding has other tests than in the survey
    """
    arguments, lists = _reading(as_of, confidence, date_format, decimal, delimiter, encoding, full_scale, sheet, skip_sheet)
    return _engine.learn(choice._held, history, register, policy, _pairs(columns), arguments, lists)


def _values(table: Any, column: str) -> list[Any]:
    values = table[column]
    return list(values.to_pylist() if hasattr(values, "to_pylist") else values)


def replay(
    history: Histories,
    register: Optional[Source] = None,
    policy: Union[None, str, os.PathLike[str], bytes] = None,
    *,
    as_of: Day,
    every: int = 91,
    confidence: float = 0.9,
    columns: Optional[Mapping[str, str]] = None,
    date_format: Union[None, str, Iterable[str]] = None,
    decimal: Optional[str] = None,
    delimiter: Optional[str] = None,
    encoding: Optional[str] = None,
    full_scale: Optional[Number] = None,
    sheet: Union[None, str, Iterable[str]] = None,
    skip_sheet: Union[None, str, Iterable[str]] = None,
) -> dict[str, Any]:
    """How well past forecasts came true, as ``groundwall replay --format json`` says it: schema ``groundwall/replay/1``.

    :param every: days between the past dates at which the plant is judged, 7 to 3650
    :raises InputError: as :func:`assess`, and where no series is long enough

    >>> rows = "".join(f"P-7,{year}-{month}-10,4{month}0,20\\n" for year in range(2020, 2027) for month in ("03", "09"))
    >>> found = replay(("winding,tested_on,r_60s,winding_temp_c\\n" + rows).encode(), as_of="2026-11-25")
    >>> found["schema"], found["overall"]["next_readings"]["inside"]["cases"] > 0
    ('groundwall/replay/1', True)
    """
    arguments, lists = _reading(as_of, confidence, date_format, decimal, delimiter, encoding, full_scale, sheet, skip_sheet)
    return _answer(_engine.replay(history, register, policy, _pairs(columns), arguments, lists, int(every)))


def spot(
    r60: Number,
    *,
    as_of: Day,
    at: Optional[Number] = None,
    rated_volts: Optional[Number] = None,
    construction: Optional[str] = None,
    insulation: str = "unknown",
    minimum: Optional[Number] = None,
    minimum_basis: Optional[str] = None,
    year: Optional[int] = None,
    test_volts: Optional[Number] = None,
    air: Optional[Number] = None,
    rh: Optional[Number] = None,
    other_phases: Optional[str] = None,
    serial: Optional[str] = None,
    calibration_due: Optional[Day] = None,
    battery: Optional[str] = None,
    zero_check: Optional[str] = None,
    open_check: Optional[str] = None,
    source_check: Optional[Number] = None,
    proved_dead: Optional[str] = None,
    discharged_min: Optional[Number] = None,
    dielectric_discharge: Optional[Number] = None,
    tested_by: Optional[str] = None,
    work_order: Optional[str] = None,
    equipment_state: Optional[str] = None,
    standing_h: Optional[Number] = None,
    policy: Union[None, str, os.PathLike[str], bytes] = None,
    priors: Union[None, str, os.PathLike[str], bytes] = None,
    group: Optional[str] = None,
) -> dict[str, Any]:
    """One reading judged at the machine, as ``groundwall spot --format json`` says it.

    :param r60: resistance after one minute, MΩ, or with a unit; ``">1000"``, ``"OL"`` and ``0`` are bounds
    :param as_of: the day of the test
    :param at: temperature of the winding, °C, or with °F after it
    :param rated_volts: rated voltage of the winding, V
    :param construction: ``"form-wound"``, ``"random-wound"``, ``"dc-armature"``, ``"field"`` and others
    :param insulation: ``"thermosetting"``, ``"thermoplastic"`` or ``"unknown"``
    :param minimum: the site's own minimum, MΩ; goes before the rule
    :param minimum_basis: what it is held against: ``"as-read"`` or ``"reference"``
    :param year: year of make
    :param test_volts: direct voltage applied, V
    :param air: temperature of the air, °C
    :param rh: relative humidity of the air, %
    :param priors: what a fleet taught, from :func:`learn` with the same policy up to this day; makes no answer milder
    :param group: the group of similar windings, as the register names it; else by construction and rated voltage
    :raises InputError: with every argument that cannot be read

    The other arguments are the record of the test; they are words as in its columns, with minutes in ``discharged_min`` and hours in
    ``standing_h``.

    >>> found = spot(3.1, at=20, rated_volts=400, construction="random-wound", as_of="2026-11-25")
    >>> found["action"], found["minimum"]["mohm"]
    ('hold', 5.0)
    """
    given = {name: value for name, value in locals().items() if name not in ("policy", "priors")}
    return _answer(_engine.spot(texts(given), policy, priors))


def correct(
    r: Number,
    *,
    at: Number,
    to: Number = 40,
    insulation: Optional[str] = None,
    halving: Optional[Number] = None,
    activation_kelvin: Optional[Number] = None,
) -> dict[str, Any]:
    """One resistance brought to another temperature by one law, as ``groundwall correct --format json`` says it.

    :param r: the resistance, MΩ, or with a unit; a bound such as ``">1000"`` stays one
    :param at: temperature of the winding at the test, °C, or with °F after it
    :param to: temperature to correct to, °C
    :param insulation: the standard's law for ``"thermosetting"``, ``"thermoplastic"`` or ``"unknown"`` insulation
    :param halving: a law that halves the resistance with every rise by so many K, 4 to 100
    :param activation_kelvin: a law with this activation temperature, K, 500 to 20000
    :raises InputError: with every argument that cannot be read

    >>> round(correct(400, at=30, halving=10)["r_ref_mohm"], 6)
    200.0
    """
    return _answer(_engine.correct(texts(dict(locals()))))


def ratios(
    readings: Union[Mapping[str, Number], Iterable[str]] = (),
    *,
    discharge_na: Optional[Number] = None,
    test_volts: Optional[Number] = None,
    capacitance_uf: Optional[Number] = None,
) -> dict[str, Any]:
    """What the timed readings of one test say, or its steps at several voltages, as ``groundwall ratios --format json`` says it.

    :param readings: resistances in MΩ by time or by voltage, such as ``{"60s": 420, "10min": 980}`` or ``{"500V": 900, "1000V": 850}``,
        or texts such as ``"60s=420"``
    :param discharge_na: current one minute after a long test was discharged, nA
    :param test_volts: voltage of that test, V
    :param capacitance_uf: capacitance of the winding to earth, µF
    :raises InputError: with every reading that cannot be read

    >>> round(ratios({"60s": 420, "10min": 980})["pi"], 3)
    2.333
    """
    if isinstance(readings, Mapping):
        given = [f"{time}={text(value)}" for time, value in readings.items()]
    else:
        given = listed(readings)
    discharge = texts({"discharge_na": discharge_na, "test_volts": test_volts, "capacitance_uf": capacitance_uf})
    return _answer(_engine.ratios(given, discharge))


def _reading(
    as_of: Day,
    confidence: float,
    date_format: Union[None, str, Iterable[str]],
    decimal: Optional[str],
    delimiter: Optional[str],
    encoding: Optional[str],
    full_scale: Optional[Number],
    sheet: Union[None, str, Iterable[str]],
    skip_sheet: Union[None, str, Iterable[str]],
) -> tuple[dict[str, str], dict[str, list[str]]]:
    arguments = {
        "as_of": as_of,
        "confidence": confidence,
        "decimal": decimal,
        "delimiter": delimiter,
        "encoding": encoding,
        "full_scale": full_scale,
    }
    lists = {"date_format": listed(date_format), "sheet": listed(sheet), "skip_sheet": listed(skip_sheet)}
    return texts(arguments), lists


def _pairs(columns: Optional[Mapping[str, str]]) -> list[tuple[str, str]]:
    return [(text(header), text(name)) for header, name in (columns or {}).items()]


def _answer(answer: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(answer)
    return found
