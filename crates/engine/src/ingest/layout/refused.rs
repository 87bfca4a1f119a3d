//! Why a sheet is not read.

use super::grid::Limits;
use super::sheet_name::SheetName;
use super::titles::Values;
use crate::error::{Failure, shown};
use crate::ingest::aliases;

/// Why a sheet is not read, neither arranged nor as it is.
#[derive(Clone, Debug, PartialEq)]
pub struct Refused {
    /// The reason.
    pub failure: Failure,
    /// Whether it surely holds no tests, so that one of several sheets may be passed over.
    pub holds_no_tests: bool,
}

impl From<Failure> for Refused {
    fn from(failure: Failure) -> Self {
        Self { failure, holds_no_tests: false }
    }
}

impl Refused {
    pub(super) fn by_size(name: SheetName<'_>, limits: &Limits) -> Self {
        let message = format!(
            "{}: this is no plain table of one row per test, and it has more than {} cells, its file has more than {} readings, it has readings at \
             too many different times, too much text where names stand, or values that belong to too many of them; larger ones are read only as plain tables",
            name.place, limits.cells, limits.of_file
        );
        Failure::usage(message).hint("save it in parts, such as one file a year").into()
    }

    pub(super) fn by_title(name: SheetName<'_>, values: Values, title: &str) -> Self {
        let (place, title) = (name.place, shown(title));
        if values == Values::Corrected {
            let message = format!(
                "{place}: {title} says that the resistances are brought to another temperature; such are not read"
            );
            return Failure::usage(message)
                .hint("write the readings as they were taken, and the temperature of the winding beside them")
                .into();
        }
        let message =
            format!("{place}: {title} says that the values below it are no resistances, and there are no others");
        let failure = Failure::usage(message)
            .hint("if they are resistances, name their unit in the header or in that title, such as MΩ");
        Self { failure, holds_no_tests: true }
    }

    pub(super) fn by_names(name: SheetName<'_>, sheet: &str, title: &str) -> Self {
        let (place, sheet, title) = (name.place, shown(sheet), shown(title));
        let message =
            format!("{place}: the sheet is called {sheet} and its title names {title}: which motor was tested?");
        Failure::usage(message).hint("correct the one that is wrong, in the title or in the name of the sheet").into()
    }

    pub(super) fn by_turned(name: SheetName<'_>) -> Self {
        let message = format!(
            "{}: the motors are in columns and what was measured is in rows, and no test has a motor, a date and a resistance",
            name.place
        );
        Failure::usage(message)
            .hint("give each column its date in a row that begins with Date, and each resistance a row such as IR 1 min (MΩ)")
            .into()
    }

    pub(super) fn by_columns(name: SheetName<'_>, headers: &[String]) -> Self {
        let place = name.place;
        let which = match headers {
            [only] if only.ends_with("(no name)") => {
                format!("{only} seems to hold readings, and it is not understood which")
            }
            [only] => format!("column {only} seems to hold readings, and it is not understood which"),
            several => {
                format!("columns {} seem to hold readings, and it is not understood which", several.join(", "))
            }
        };
        let message = format!("{place}: {which}");
        // Of a cable with its motor the scope must be said: they are not the winding alone.
        if let Some(first) = headers.iter().find(|header| aliases::names_a_cable(header)) {
            return Failure::usage(message)
                .hint(format!(
                    "readings of a winding with its cable need rows of their own with winding+cable in a column scope; what holds no \
                     readings of the insulation is left out under [columns] in groundwall.toml or the policy file: \"{first}\" = \"-\""
                ))
                .into();
        }
        // What may be a limit is never proposed as a reading.
        let Some(first) = headers.iter().find(|header| !aliases::says_limit(header)) else {
            let first = headers.first().map_or("", String::as_str);
            return Failure::usage(message)
                .hint(format!(
                    "a limit is left out by \"{first}\" = \"-\" under [columns] in groundwall.toml or the policy file; of the lowest of \
                     several readings, write all of them, each with its connection"
                ))
                .into();
        };
        let left: Vec<String> = headers.iter().map(|header| format!("\"{header}\" = \"-\"")).collect();
        Failure::usage(message)
            .hint(format!(
                "say what they hold under [columns] in groundwall.toml or the policy file, such as \"{first}\" = \"r_60s\"; a date or a \
                 connection in the header still counts, and readings of another winding need rows of their own; what holds no readings of \
                 the insulation is left out: {}",
                left.join(", ")
            ))
            .into()
    }
}
