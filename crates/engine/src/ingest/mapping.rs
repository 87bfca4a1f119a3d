//! `[columns]` of the policy file: which of our columns a header of the site's stands for. It goes before every other rule.

use super::aliases;
use super::register_columns::COLUMNS;
use super::said_unit::symbol;
use crate::error::shown;
use groundwall::record::columns::{Column, TemperatureScale};
use groundwall::resistance::ResistanceUnit;
use std::collections::BTreeMap;

/// Headers as the site writes them, and what they hold.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Mapping(BTreeMap<String, Meant>);

#[derive(Clone, Copy, Debug, PartialEq)]
enum Meant {
    LeftAlone,
    /// A column of a history; that of the windings is also one of a register.
    History(Column),
    /// Which of [`COLUMNS`].
    Register(usize),
}

impl Mapping {
    /// Adds a header. Its case and the blanks in it do not matter.
    ///
    /// # Errors
    ///
    /// The rule that the name breaks.
    pub fn add(&mut self, header: &str, name: &str) -> Result<(), String> {
        let in_register = || COLUMNS.iter().position(|column| *column == name).map(Meant::Register);
        let meant = if name == "-" {
            Meant::LeftAlone
        } else {
            Column::read(name).map(Meant::History).or_else(in_register).ok_or_else(|| {
                format!(
                    "it must be the name of a column, or - to leave it alone: {}; of a register {}",
                    Column::names().join(", "),
                    COLUMNS[1..].join(", ")
                )
            })?
        };
        if let Meant::History(column) = meant {
            must_agree(header, column)?;
        }
        match self.0.insert(plain(header), meant) {
            Some(earlier) if earlier != meant => Err(format!("{} is mapped twice, to different names", shown(header))),
            _ => Ok(()),
        }
    }

    /// These headers and those of another mapping, which goes first.
    #[must_use]
    pub fn under(mut self, first: Self) -> Self {
        self.0.extend(first.0);
        self
    }

    /// Whether it says nothing.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// What a header of a history stands for, if the site says so; `Some(None)` where it is to be left alone.
    #[must_use]
    pub fn get(&self, header: &str) -> Option<Option<Column>> {
        Some(match self.meant(header)? {
            Meant::LeftAlone | Meant::Register(_) => None,
            Meant::History(column) => Some(column),
        })
    }

    /// What a header of a register stands for, if the site says so: a place in the columns of a register, or `Some(None)` where it is
    /// to be left alone. One that is said to be another column of a history is read by its own name.
    #[must_use]
    pub fn in_register(&self, header: &str) -> Option<Option<usize>> {
        match self.meant(header)? {
            Meant::LeftAlone => Some(None),
            Meant::Register(place) => Some(Some(place)),
            Meant::History(Column::Winding) => Some(Some(0)),
            Meant::History(_) => None,
        }
    }

    fn meant(&self, header: &str) -> Option<Meant> {
        if self.0.is_empty() { None } else { self.0.get(&plain(header)).copied() }
    }
}

/// A header that names a unit stands for a column of that unit.
fn must_agree(header: &str, column: Column) -> Result<(), String> {
    let Some(units) = aliases::units(header) else { return Ok(()) };
    let ohms = |own: ResistanceUnit, with: &dyn Fn(ResistanceUnit) -> Column| {
        let named = units.ohms.filter(|named| *named != own)?;
        Some((symbol(Some(named)), symbol(Some(own)), with(named)))
    };
    let degrees = |own: TemperatureScale, with: &dyn Fn(TemperatureScale) -> Column| {
        let named = units.scale.filter(|named| *named != own)?;
        let symbol = |scale| if scale == TemperatureScale::Celsius { "°C" } else { "°F" };
        Some((symbol(named), symbol(own), with(named)))
    };
    let differs = match column {
        Column::Reading(at, own) => ohms(own, &|unit| Column::Reading(at, unit)),
        Column::Resistance(own) => ohms(own, &Column::Resistance),
        Column::FullScale(own) => ohms(own, &Column::FullScale),
        Column::WindingTemp(own) => degrees(own, &Column::WindingTemp),
        Column::AirTemp(own) => degrees(own, &Column::AirTemp),
        _ => None,
    };
    match differs {
        None => Ok(()),
        Some((named, own, right)) => {
            Err(format!("the header names {named}, and {column} is in {own}; write \"{right}\""))
        }
    }
}

fn plain(header: &str) -> String {
    let header = header.trim_start_matches('\u{feff}').replace('\u{2126}', "\u{3a9}").to_lowercase();
    header.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn headers_are_found_whatever_their_case_and_blanks() {
        let mut mapping = Mapping::default();
        assert_eq!(mapping.add("Wert  nach 1 Min", "r_60s_gohm"), Ok(()));
        assert_eq!(mapping.add("Temp", "-"), Ok(()));
        assert_eq!(
            mapping.get(" wert nach 1 min ").flatten().map(|column| column.to_string()).as_deref(),
            Some("r_60s_gohm")
        );
        assert_eq!((mapping.get("TEMP"), mapping.get("other")), (Some(None), None));
        assert_eq!((mapping.add("KKS", "winding"), mapping.add("U n", "rated_volts")), (Ok(()), Ok(())));
        assert_eq!((mapping.in_register("kks"), mapping.in_register("u n")), (Some(Some(0)), Some(Some(4))));
        assert_eq!((mapping.get("KKS"), mapping.get("U n")), (Some(Some(Column::Winding)), Some(None)));
        assert_eq!((mapping.in_register("temp"), mapping.in_register("wert nach 1 min")), (Some(None), None));
        assert!(mapping.add("a", "r_60").is_err_and(|rule| rule.starts_with("it must be the name of a column")));
        let other = |header: &str, name: &str| Mapping::default().add(header, name).err();
        let rule = |text: &str| Some(text.to_owned());
        assert_eq!(other("IR kΩ", "r_60s"), rule("the header names kΩ, and r_60s is in MΩ; write \"r_60s_kohm\""));
        assert_eq!(
            other("Wdg temp °F", "winding_temp_c"),
            rule("the header names °F, and winding_temp_c is in °C; write \"winding_temp_f\"")
        );
        // What a header leaves open, the site may say.
        assert_eq!(
            (other("IR kΩ", "r_60s_kohm"), other("IR mΩ", "r_60s"), other("R60 MΩ GΩ", "r_60s_gohm")),
            (None, None, None)
        );
        assert_eq!(mapping.add("temp", "note"), Err("temp is mapped twice, to different names".to_owned()));
    }
}
