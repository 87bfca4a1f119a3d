//! The questions that a block leaves open, in the order in which they are asked.

use super::blocks::Block;
use super::cells::{is_number, is_summary, is_total, share};
use super::grid::GridRow;
use super::label::{Field, Label};
use super::plan::{Plan, filled, is_whole_date};
use super::sheet::Sheet;
use super::unnamed::number;
use super::{open, phases, years};
use crate::error::{Failure, shown};
use crate::ingest::date_forms;
use crate::ingest::dates::{Period, is_day_alone};
use crate::ingest::header_words;
use crate::ingest::kinds::{self, is_reading, reads};
use groundwall::record::Item;
use groundwall::record::columns::Column;
use std::collections::{BTreeMap, BTreeSet};

/// The first question that must be settled before the block can be read.
pub(super) fn about(sheet: &Sheet<'_>, block: &Block<'_>, plan: &Plan) -> Option<Failure> {
    let is_read = plan.values.iter().any(|(_, label)| label.column().is_some_and(is_reading));
    let until = open::until_as_of(block.rows, plan.date, &sheet.forms);
    let rows = until.as_deref().unwrap_or(block.rows);
    let block = &Block { titles: block.titles, headers: block.headers, rows };
    let asked = Asked { sheet, block, plan, is_read };
    asked
        .no_name()
        .or_else(|| asked.other_quantities())
        .or_else(|| asked.phases())
        .or_else(|| asked.several_names())
        .or_else(|| asked.numbers_as_names())
        .or_else(|| asked.row_numbers())
        .or_else(|| asked.tests_of_a_day())
        .or_else(|| asked.two_machines())
        .or_else(|| asked.factor_in_a_title())
        .or_else(|| asked.unit_written_once())
        .or_else(|| asked.names_above_dates())
        .or_else(|| asked.texts_beside_motors())
        .or_else(|| asked.dates_beside_dates())
        .or_else(|| asked.days_unread())
        .or_else(|| asked.remarks_as_names())
        .or_else(|| asked.year_or_day())
        .or_else(|| asked.exchanged_days())
        .or_else(|| asked.two_days())
        .or_else(|| asked.undated_reading())
        .or_else(|| asked.parts_of_two_years())
        .or_else(|| asked.note_of_several())
        .or_else(|| asked.trouble())
        .or_else(|| asked.tests_of_a_year())
        .or_else(|| asked.low_total())
        .or_else(|| asked.scale())
}

/// A month so many years from all other dates of a header may be a day.
const FAR_YEARS: i32 = 4;

/// A block with its plan.
struct Asked<'q, 's> {
    sheet: &'q Sheet<'s>,
    block: &'q Block<'q>,
    plan: &'q Plan,
    /// Whether it has readings.
    is_read: bool,
}

impl<'q> Asked<'q, '_> {
    fn header(&self, place: usize) -> String {
        self.plan.headers.get(&place).cloned().unwrap_or_default()
    }

    /// Whether a column has the name, the point or the time of its tests.
    fn is_taken(&self, at: usize) -> bool {
        let plan = self.plan;
        [plan.winding, plan.point, plan.date, plan.clock].contains(&Some(at)) || plan.components.contains(&at)
    }

    fn is_value(&self, at: usize) -> bool {
        self.plan.values.iter().any(|(own, _)| *own == at)
    }

    fn has_name(&self) -> bool {
        self.plan.winding.is_some() || self.plan.context.winding().is_some()
    }

    /// Columns whose headers say nothing.
    fn unknown(&self) -> impl Iterator<Item = usize> {
        self.plan.labels.iter().filter(|(at, label)| !label.is_known() && !self.is_taken(*at)).map(|(at, _)| *at)
    }

    fn no_name(&self) -> Option<Failure> {
        let nameless = !self.has_name() && !self.plan.windings_across && self.is_read;
        let first = || self.block.rows.iter().find(|row| self.plan.has_values(row));
        // The motor of the last rows of the block above may go on here.
        let goes_on = || {
            let place = self.plan.winding.filter(|_| self.is_read && self.sheet.seen.filled)?;
            first().filter(|row| row.cells[place].is_empty() && row.filled().count() > 1)
        };
        let row = if nameless { self.block.rows.first() } else { goes_on() }.filter(|_| self.sheet.has_blocks)?;
        let message =
            format!("{}: no motor is named for the tests in row {} and below", self.sheet.name.place, row.line);
        let hint = if nameless {
            "write its name above their header, such as Motor: P-101"
        } else {
            "write its name into that row"
        };
        Some(Failure::usage(message).hint(hint))
    }

    fn other_quantities(&self) -> Option<Failure> {
        if !self.is_read {
            return None;
        }
        let (line, quantity) = self.plan.of_other_quantities(self.block.rows, self.sheet.reader)?;
        let message = format!(
            "{}: row {line} says that it measures {}, and its numbers would be read as resistances",
            self.sheet.name.place,
            shown(quantity)
        );
        let hint = "write one row per test, with the motor, the date and the readings in columns, or call the column that says \
                    what each row measures Quantity";
        Some(Failure::usage(message).hint(hint))
    }

    /// A column of letters or numbers that may be phases.
    fn phases(&self) -> Option<Failure> {
        if !self.is_read {
            return None;
        }
        let plan = self.plan;
        let connection = plan.of_field(Field::Column(Column::Connection));
        let said = [plan.point, connection].into_iter().flatten();
        let same: Vec<usize> = plan.components.iter().copied().chain(said).collect();
        // Of dates across, each row holds all days.
        let day = if plan.dates_across { plan.winding } else { plan.date };
        let taken = [plan.winding, plan.date, plan.clock, plan.elapsed.map(|(at, _)| at)];
        let is_taken = |at: usize| same.contains(&at) || taken.contains(&Some(at));
        let is_free = |label: &Label| !label.left_out && (!label.is_known() || label.field == Some(Field::Ignored));
        let free = plan.labels.iter().filter(|(at, label)| is_free(label) && !is_taken(*at) && !self.is_value(*at));
        free.map(|(at, _)| *at).find_map(|at| {
            let header = plan.headers.get(&at).map_or("", String::as_str);
            let keys = (plan.winding, same.as_slice(), day);
            phases::may_be_phases(self.block.rows, keys, at, self.sheet.name, header, self.sheet.reader)
        })
    }

    fn several_names(&self) -> Option<Failure> {
        if !self.is_read {
            return None;
        }
        let may_name: Vec<(usize, String)> = self.plan.may_name.iter().map(|at| (*at, self.header(*at))).collect();
        open::of_several_names(self.sheet.of_header(self.block), &may_name, self.sheet.name)
    }

    fn tests_of_a_day(&self) -> Option<Failure> {
        let plan = self.plan;
        if plan.date.is_none() || plan.point.is_some() || !self.has_name() {
            return None;
        }
        let is_key = |label: &Label| label.is_key() || label.column().is_some_and(kinds::is_key);
        let keys: Vec<usize> = plan.labels.iter().filter(|(_, label)| is_key(label)).map(|(at, _)| *at).collect();
        let apart = |at| open::tells_tests_apart(self.block.rows, &keys, at, self.sheet.name, &self.header(at));
        self.unknown().find_map(apart)
    }

    fn two_machines(&self) -> Option<Failure> {
        let (plan, sheet) = (self.plan, self.sheet);
        if plan.windings_across {
            return None;
        }
        // A number of the row, or of a position, unless the site leaves it out.
        let is_ignored = |(at, label): &&(usize, Label)| {
            label.field == Some(Field::Ignored) && sheet.reader.mapping().get(&self.header(*at)).is_none()
        };
        let ignored = plan.labels.iter().filter(is_ignored).map(|(at, _)| *at);
        let is_read = |label: &Label| label.column().is_some_and(is_reading);
        let reading = plan.values.iter().find(|(_, label)| is_read(label)).map(|(at, _)| *at);
        let title = plan.context.winding().or(plan.context.name.as_deref()).or(sheet.name.sheet).unwrap_or_default();
        let named = match plan.winding {
            Some(at) => {
                let names = (at, &*self.header(at));
                open::Named::of(sheet.of_header(self.block), names, plan.date, reading, &sheet.forms)
            }
            None => open::Named::by_title(self.block.rows, title, plan.date, reading, &sheet.forms),
        }
        .wide(plan.dates_across && plan.point.is_none());
        let headers: Vec<(usize, String)> =
            self.unknown().chain(ignored).map(|place| (place, self.header(place))).collect();
        let columns = headers.iter().map(|(place, header)| (*place, header.as_str()));
        open::of_two_machines(&named, columns, sheet.name)
    }

    /// A column of names that only counts the rows.
    fn row_numbers(&self) -> Option<Failure> {
        let at = self.plan.winding.filter(|_| self.is_read && !self.plan.windings_across)?;
        let is_own =
            Column::read(&self.header(at)).is_some() || self.sheet.reader.mapping().get(&self.header(at)).is_some();
        if is_own || !self.plan.components.is_empty() {
            return None;
        }
        let others: Vec<(usize, String)> = self.unknown().map(|place| (place, self.header(place))).collect();
        open::of_row_numbers(self.block.rows, (at, &self.header(at)), &others, self.sheet.name)
    }

    fn factor_in_a_title(&self) -> Option<Failure> {
        open::of_a_factor_in_a_title(self.block.titles, self.sheet.name)
            .or_else(|| open::of_a_factor_in_a_title(self.block.headers, self.sheet.name))
    }

    fn unit_written_once(&self) -> Option<Failure> {
        let plan = self.plan;
        if !plan.units.is_empty() || plan.context.unit.is_some() {
            return None;
        }
        let readings =
            plan.values.iter().filter(|(_, label)| label.is_dated() || label.column().is_some_and(is_reading));
        let headers: Vec<(usize, String, Option<_>)> =
            readings.map(|(at, label)| (*at, self.header(*at), label.ohms)).collect();
        let readings: Vec<_> = headers.iter().map(|(at, header, unit)| (*at, header.as_str(), *unit)).collect();
        open::of_a_unit_written_once(self.block.rows, &readings, self.sheet.name)
    }

    /// Texts in the row above dates may name a motor each, where the title names one for all.
    fn names_above_dates(&self) -> Option<Failure> {
        let plan = self.plan;
        if !plan.dates_across || plan.winding.is_some() || !self.is_read {
            return None;
        }
        let reader = self.sheet.reader;
        let header = self.block.headers.first()?;
        let title = self.block.titles.last().filter(|row| row.line + 1 == header.line);
        let has_date = |row: &GridRow| row.filled().any(|(_, cell)| reader.read(cell).is_dated());
        let is_open = |cell: &str| !cell.is_empty() && !reader.read(cell).is_known() && !is_number(cell);
        let dated = || plan.labels.iter().filter(|(_, label)| label.is_dated()).map(|(at, _)| *at);
        let texts = |row: &'q GridRow| {
            let texts: BTreeSet<&str> = dated().map(|at| row.cells[at].as_str()).filter(|cell| is_open(cell)).collect();
            (texts.len() > 1).then_some((row, texts))
        };
        let mut rows = title.into_iter().chain(self.block.headers).filter(|row| !has_date(row));
        let (above, texts) = rows.find_map(texts)?;
        let texts: Vec<String> = texts.into_iter().take(3).map(shown).collect();
        let message = format!(
            "{}: row {} has {} above dates, and it is not understood what they name",
            self.sheet.name.place,
            above.line,
            texts.join(", ")
        );
        Some(Failure::usage(message).hint("write Motor before them if they are motors, or take that row out"))
    }

    /// Texts beside motors in columns may name the machines that the motors belong to.
    fn texts_beside_motors(&self) -> Option<Failure> {
        let plan = self.plan;
        if !plan.windings_across && !plan.context.group {
            return None;
        }
        let first = plan.values.iter().map(|(at, _)| *at).min()?;
        let names = |at: usize| {
            let is_text = |cell: &str| !reads(cell) && !is_number(cell) && !crate::ingest::dates::is_date(cell);
            let texts: BTreeSet<&str> = filled(self.block.rows, at).filter(|cell| is_text(cell)).collect();
            texts.len() > 1 && share(filled(self.block.rows, at), &is_text) > 0.7
        };
        let at = self
            .unknown()
            .find(|at| *at < first && !header_words::says_circumstances(&self.header(*at)) && names(*at))?;
        let (header, cell) = (shown(&self.header(at)), filled(self.block.rows, at).next().map(shown)?);
        let place = self.sheet.name.place;
        if header.is_empty() {
            let message = format!(
                "{place}: column {} (no name) has {cell} beside motors in columns, and it is not understood what it says",
                at + 1
            );
            return Some(Failure::usage(message).hint("give the column a header, such as Tested by, or take it out"));
        }
        let message = format!(
            "{place}: column {header} has {cell} beside motors in columns: do its texts name machines whose motors have the same names?"
        );
        Some(Failure::usage(message).hint(format!(
            "if they are, write one row per test with the whole name of the motor; if not, leave the column out under [columns] in \
             groundwall.toml or the policy file: \"{header}\" = \"-\""
        )))
    }

    fn dates_beside_dates(&self) -> Option<Failure> {
        let plan = self.plan;
        if !plan.dates_across || !self.is_read {
            return None;
        }
        plan.labels
            .iter()
            .filter(|(at, label)| !label.left_out && !label.is_dated() && !self.is_taken(*at) || Some(*at) == plan.date)
            .filter(|(_, label)| {
                label.unknown || !label.is_known() || label.field == Some(Field::Column(Column::TestedOn))
            })
            .find_map(|(at, _)| open::of_dates_beside_dates(self.block.rows, *at, self.sheet.name, &self.header(*at)))
    }

    /// A row named by a remark is a test of the motor above it, or of none.
    fn remarks_as_names(&self) -> Option<Failure> {
        let winding = self.plan.winding.filter(|_| self.plan.components.is_empty() && self.plan.point.is_none())?;
        let readings = self.plan.values.iter().filter(|(_, label)| label.column().is_some_and(is_reading));
        let readings: Vec<usize> = readings.map(|(at, _)| *at).collect();
        open::of_remarks_as_names(self.block.rows, winding, &readings, self.sheet.name)
    }

    /// `Oct 13` beside days of 2025 and 2026 may be a day of October, and not the year 2013.
    fn year_or_day(&self) -> Option<Failure> {
        let dated = || self.plan.labels.iter().filter_map(|(at, label)| Some((*at, label.date.as_deref()?)));
        let year = |text: &str| match Period::read(text) {
            Some(Period::Month(year, _)) => Some(year),
            _ => text
                .split(|c: char| !c.is_ascii_digit())
                .filter(|word| word.len() == 4)
                .find_map(|word| word.parse().ok()),
        };
        let may_be_a_day = |text: &str| {
            let number = text.rsplit([' ', '-', '.', '\'']).next().unwrap_or_default();
            matches!(Period::read(text), Some(Period::Month(..)))
                && number.len() < 3
                && number.parse().is_ok_and(|day: u32| (1..=31).contains(&day))
        };
        let is_far = |(at, text): &(usize, &str)| {
            let own = year(text);
            let mut others = dated().filter(|(other, _)| other != at).filter_map(|(_, other)| year(other)).peekable();
            others.peek().is_some() && own.is_some_and(|own| others.all(|other| (own - other).abs() >= FAR_YEARS))
        };
        let (_, text) = dated().filter(|(_, text)| may_be_a_day(text)).find(is_far)?;
        let message = format!("{}: the header {} may be a day or a year", self.sheet.name.place, shown(text));
        Some(Failure::usage(message).hint("write the date with its year, such as 2026-10-13"))
    }

    /// Dates of which a spreadsheet seems to have exchanged day and month.
    fn exchanged_days(&self) -> Option<Failure> {
        let date = self.plan.date.filter(|_| self.is_read);
        match date {
            Some(at) => {
                let cells = filled(self.block.rows, at);
                date_forms::question_of_exchanged(self.sheet.name.place, &self.header(at), cells)
            }
            None => {
                let headers = self.plan.labels.iter().filter_map(|(_, label)| label.date.as_deref());
                date_forms::question_of_exchanged(self.sheet.name.place, "", headers)
            }
        }
    }

    /// A reading without a date beside those of dates would be dated by the title.
    fn undated_reading(&self) -> Option<Failure> {
        let plan = self.plan;
        let is_read = |label: &Label| label.column().is_some_and(is_reading);
        let dated = plan.values.iter().filter(|(_, label)| is_read(label) && label.is_dated()).count();
        if dated < 2 || plan.date.is_some() || plan.of_field(Field::Year).is_some() {
            return None;
        }
        let (at, _) = plan.values.iter().find(|(_, label)| is_read(label) && !label.is_dated())?;
        let column = shown(&self.header(*at));
        let place = self.sheet.name.place;
        let message = format!(
            "{place}: column {column} holds readings without a date, beside columns of dates: on which day were they made?"
        );
        Some(Failure::usage(message).hint(format!(
            "write the date into its header; what are no readings of these windings is left out under [columns] in groundwall.toml or the policy \
             file: \"{column}\" = \"-\""
        )))
    }

    /// Two columns of days, of which one would be taken for that of the tests.
    fn two_days(&self) -> Option<Failure> {
        let first = self.plan.date.filter(|_| self.is_read)?;
        let is_other = |(at, label): &&(usize, Label)| {
            let is_day = |cell: &str| is_day_alone(cell) || is_whole_date(cell);
            *at != first
                && label.field == Some(Field::Column(Column::TestedOn))
                && !label.left_out
                && !self.is_value(*at)
                && share(filled(self.block.rows, *at), &is_day) > 0.3
        };
        let (other, _) = self.plan.labels.iter().find(is_other)?;
        let (one, other) = (shown(&self.header(first)), shown(&self.header(*other)));
        let message = format!(
            "{}: columns {one} and {other} both hold days: on which were the tests made?",
            self.sheet.name.place
        );
        let hint = if one == other {
            "give the column that is not the day of the tests another header, such as Approved on".to_owned()
        } else {
            format!(
                "under [columns] in groundwall.toml or the policy file, leave out the other: \"{other}\" = \"-\" or \"{one}\" = \"-\""
            )
        };
        Some(Failure::usage(message).hint(hint))
    }

    /// A title dates no test whose day stands in a column that is not read.
    fn days_unread(&self) -> Option<Failure> {
        let plan = self.plan;
        if plan.date.is_some() || (plan.context.date.is_none() && plan.year().is_none()) || !self.is_read {
            return None;
        }
        let is_day = |cell: &str| is_day_alone(cell) || is_whole_date(cell);
        let of_days = |at: &usize| share(filled(self.block.rows, *at), &is_day) > 0.3;
        // `Last test` is understood beside others, and alone it is not read.
        let occasions = plan.labels.iter().filter(|(at, label)| {
            label.occasion.is_some() && label.column().is_none() && !label.left_out && !self.is_taken(*at)
        });
        self.unknown().chain(occasions.map(|(at, _)| *at)).find(of_days).map(|at| {
            let (name, column) = (self.sheet.name, shown(&self.header(at)));
            let message =
                format!("{}: column {column} holds days, and it is not understood whether of the tests", name.place);
            Failure::usage(message).hint(format!(
                "under [columns] in groundwall.toml or the policy file, say \"{column}\" = \"tested_on\" if they are, and \"{column}\" = \"-\" if not"
            ))
        })
    }

    /// A note in a row of several motors says not of which it is.
    fn note_of_several(&self) -> Option<Failure> {
        if !self.plan.windings_across {
            return None;
        }
        let is_note = |(at, label): &&(usize, Label)| {
            label.field == Some(Field::Column(Column::Note))
                || !label.left_out && !label.is_known() && !self.is_value(*at) && !self.is_taken(*at)
        };
        let mut notes = self.plan.labels.iter().filter(is_note).map(|(at, _)| *at);
        notes.find_map(|at| open::note_of_several(self.block.rows, at, self.sheet.name, &self.header(at)))
    }

    /// Columns that are not read and may tell of trouble, or by which readings are multiplied.
    fn trouble(&self) -> Option<Failure> {
        let (plan, rows, name) = (self.plan, self.block.rows, self.sheet.name);
        // Where each row holds all tests of a winding, a note and a state are of none of them and are not read either.
        let mut of_none = plan.labels.iter().filter(|(_, label)| {
            plan.dates_across
                && matches!(label.field, Some(Field::Column(Column::Event | Column::Procedure(Item::EquipmentState))))
                && !label.is_dated()
                && !label.left_out
        });
        let noted = of_none.find_map(|(at, _)| open::tells_of_trouble(rows, None, *at, name, &self.header(*at)));
        noted.or_else(|| {
            let is_free = |label: &Label| !label.is_known() || label.unknown;
            let free = plan.labels.iter().filter(|(at, label)| is_free(label) && !self.is_taken(*at));
            let mut others = free.map(|(at, _)| *at).filter(|at| !self.is_value(*at));
            // What describes motors differs from motor to motor, as a state of each does.
            let of =
                |header: &str| plan.winding.filter(|_| !plan.dates_across || header_words::describes_machines(header));
            others.find_map(|place| {
                let header = self.header(place);
                let trouble = open::tells_of_trouble(rows, of(&header), place, name, &header);
                trouble.or_else(|| open::of_factors(rows, place, name, &header))
            })
        })
    }

    /// `Oct`, `Dec`, `Feb` below the title of a year.
    fn parts_of_two_years(&self) -> Option<Failure> {
        let year = self.plan.year()?;
        let parts = self.plan.labels.iter().filter(|(_, label)| label.date.is_none() && label.part.is_some());
        let day = |label: &Label| self.sheet.forms.read(&self.plan.dated(label, "")?).map(|dated| dated.iso);
        let (texts, days): (Vec<&str>, Vec<String>) =
            parts.filter_map(|(_, label)| Some((label.part.as_deref()?, day(label)?))).unzip();
        let (Some(first), Some(last)) = (texts.first(), texts.last()) else { return None };
        let place = self.sheet.name.place;
        let days: Vec<&str> = days.iter().map(String::as_str).collect();
        (!years::are_in_order(&days)).then(|| years::of_two_years(place, "the columns", [first, last], &year))
    }

    /// A total or a mean is no lower than all that it sums up, in rows or in columns; a number that is may be a reading.
    fn low_total(&self) -> Option<Failure> {
        let (plan, rows) = (self.plan, self.block.rows);
        let readings = plan.values.iter().filter(|(_, label)| label.column().is_some_and(is_reading));
        let readings: Vec<usize> = readings.map(|(at, _)| *at).collect();
        let name_of = |row: &'q GridRow| row.filled().next().map_or("", |(_, cell)| cell);
        let (totals, tests): (Vec<&GridRow>, Vec<&GridRow>) = rows.iter().partition(|row| is_total(name_of(row)));
        if totals.is_empty() && !plan.headers.values().any(|header| is_total(header) || is_summary(header)) {
            return None;
        }
        // How many there are is a total too.
        let is_count = |total: f64| total.fract() == 0.0 && total <= rows.len() as f64;
        let least = |numbers: &mut dyn Iterator<Item = f64>| {
            let (lowest, count) =
                numbers.fold((f64::INFINITY, 0), |(lowest, count), number| (lowest.min(number), count + 1));
            Some(lowest).filter(|_| count > 1)
        };
        let least_of: BTreeMap<usize, f64> = readings
            .iter()
            .filter_map(|at| Some((*at, least(&mut tests.iter().filter_map(|test| number(&test.cells[*at])))?)))
            .collect();
        let mut in_rows = totals.iter().flat_map(|row| least_of.iter().map(move |(at, least)| (*row, *at, *least)));
        let is_low = |row: &GridRow, at: usize, least: f64| {
            number(&row.cells[at]).is_some_and(|own| own < least && !is_count(own))
        };
        let low_row = in_rows.find(|(row, at, least)| is_low(row, *at, *least));
        let least_in = |row: &GridRow| least(&mut readings.iter().filter_map(|at| number(&row.cells[*at])));
        // A minimum that is allowed is lower in all rows, the lowest reading in none.
        let sums_up = |at: usize, least: &[(&'q GridRow, f64)]| {
            least.iter().any(|(row, least)| number(&row.cells[at]).is_some_and(|own| own >= *least))
        };
        let low_cell = || {
            let least: Vec<(&GridRow, f64)> = tests.iter().filter_map(|row| Some((*row, least_in(row)?))).collect();
            let is_open = |(at, header): &(&usize, &String)| {
                !readings.contains(at) && (is_total(header) || (is_summary(header) && sums_up(**at, &least)))
            };
            let (at, header, row) = plan.headers.iter().filter(is_open).find_map(|(at, header)| {
                let low = least.iter().find(|(row, least)| is_low(row, *at, *least));
                low.map(|(row, _)| (*at, header.as_str(), *row))
            })?;
            Some((header, row, at))
        };
        let (called, row, at) = low_row.map(|(row, at, _)| (name_of(row), row, at)).or_else(low_cell)?;
        let message = format!(
            "{}: row {} has {} under {}, and it is lower than all the readings that it may be made of",
            self.sheet.name.place,
            row.line,
            shown(&row.cells[at]),
            shown(called)
        );
        Some(
            Failure::usage(message)
                .hint("if it is a reading, give it the name of its motor and its date; if it is none, take it out"),
        )
    }

    /// Numbers beside columns headed by motors are names or the readings of another motor, where none of them comes again.
    fn numbers_as_names(&self) -> Option<Failure> {
        let (plan, rows) = (self.plan, self.block.rows);
        let (winding, date) = plan.winding.filter(|_| plan.windings_across).zip(plan.date)?;
        let are_once = |at: usize| {
            let cells: Vec<&str> = filled(rows, at).collect();
            cells.len() > 1 && cells.iter().collect::<BTreeSet<_>>().len() == cells.len()
        };
        let numbers: Option<Vec<f64>> = filled(rows, winding).map(|cell| cell.parse().ok()).collect();
        // Names in order: `401`, `402`.
        let may_be_readings = numbers.is_some_and(|numbers| !numbers.windows(2).all(|two| two[0] < two[1]));
        (may_be_readings && are_once(winding) && are_once(date)).then(|| {
            let (name, column) = (self.sheet.name, shown(&self.header(winding)));
            let message = format!(
                "{}: column {column} holds numbers beside columns headed by motors: are they names of motors, or readings?",
                name.place
            );
            Failure::usage(message).hint(
                "if they are names, write them with a letter, such as M-101; if they are readings, head the column with the name of its motor, such as Motor 1",
            )
        })
    }

    /// Periods that nobody understands put all tests of a year on one day.
    fn tests_of_a_year(&self) -> Option<Failure> {
        let plan = self.plan;
        let year = plan.of_field(Field::Year)?;
        let is_part_known =
            [Field::Quarter, Field::Month, Field::Week].into_iter().any(|field| plan.of_field(field).is_some());
        if plan.date.is_some() || is_part_known {
            return None;
        }
        // `Sett.` may be September and a week.
        let is_only_part = plan.labels.iter().filter(|(_, label)| label.part.is_some()).count() == 1;
        let open = plan.labels.iter().filter(|(at, label)| {
            let is_free = label.unknown
                || !label.is_known()
                || label.field == Some(Field::Ignored)
                || (is_only_part && label.part.is_some());
            is_free && !label.left_out && !self.is_taken(*at)
        });
        let is_part = |cell: &str| cell.parse::<u32>().map_or(cell.len() < 8, |number| (1..=53).contains(&number));
        let may_be_a_part = |at: &usize| {
            let mut cells = filled(self.block.rows, *at).peekable();
            header_words::may_name_a_part_of_a_year(&self.header(*at))
                && cells.peek().is_some()
                && cells.all(|cell| {
                    cell.contains(|c: char| c.is_ascii_digit()) && is_part(cell) && !cell.contains(['.', ','])
                })
        };
        if let Some(at) = open.map(|(at, _)| *at).find(may_be_a_part).filter(|_| is_only_part || !plan.dates_across) {
            let column = shown(&self.header(at));
            let message = format!(
                "{}: the tests have a year, and column {column} may say in which part of it",
                self.sheet.name.place
            );
            return Some(Failure::usage(message).hint(format!(
                "name that column Quarter, Month or Week, or give each test its date; if it says something else, leave the column out under [columns] in groundwall.toml or the policy file: \"{column}\" = \"-\""
            )));
        }
        let winding = plan.winding.filter(|_| !plan.dates_across)?;
        let mut seen = BTreeSet::new();
        let is_named = |row: &&GridRow| !row.cells[winding].is_empty() && !row.cells[year].is_empty();
        let key = |row: &GridRow| {
            let connection = plan.of_field(Field::Column(Column::Connection)).or(plan.point);
            (row.cells[winding].clone(), row.cells[year].clone(), connection.map(|at| row.cells[at].clone()))
        };
        let row = self.block.rows.iter().filter(is_named).find(|row| !seen.insert(key(row)))?;
        let message = format!(
            "{}: {} has several tests in {}, and no column says in which quarter or month",
            self.sheet.name.place,
            shown(&row.cells[winding]),
            shown(&row.cells[year])
        );
        let hint = "name the column of periods Quarter, Month or Week, or give each test its date";
        Some(Failure::usage(message).hint(hint))
    }

    /// Temperatures that may be of either scale.
    fn scale(&self) -> Option<Failure> {
        let (plan, rows, name, mapping) = (self.plan, self.block.rows, self.sheet.name, self.sheet.reader.mapping());
        let scaled = |label: &Label| label.scale.is_none() && label.column().is_some_and(kinds::is_celsius);
        let mut celsius = plan.values.iter().filter(|(_, label)| scaled(label)).map(|(at, _)| *at);
        let unscaled = celsius.clone().next().map(|at| self.header(at));
        celsius
            .find_map(|place| open::of_either_scale(rows, place, name, &self.header(place), mapping))
            .or_else(|| open::of_other_scale(self.block.titles.iter().chain(rows), name, &unscaled?, mapping))
    }
}
