//! The cells that say how a test was made, read: words, days, voltages, and what a tester showed at an end of its scale.

use super::columns::Column;
use super::fault::Fault;
use super::item::Item;
use super::procedure::{Battery, Check, EquipmentState, OtherPhases, PROVED_DEAD, Procedure, SourceCheck};
use super::rules::TestRules;
use super::typed::Typed;
use super::words::is_missing;
use crate::resistance::{CellRules, Measured};
use crate::units::{DielectricDischarge, DischargeTime, StandingTime, Voltage};

impl TestRules {
    /// Whether a cell of the record of a test can be read.
    #[must_use]
    pub fn reads(&self, item: Item, text: &str) -> bool {
        self.procedure_cell(&mut None, item, text).is_ok()
    }

    /// Reads a cell of the record of a test into it, where it says anything.
    pub(super) fn procedure_cell(
        &self,
        procedure: &mut Option<Box<Procedure>>,
        item: Item,
        text: &str,
    ) -> Result<(), Fault> {
        if is_missing(text) { Ok(()) } else { self.read_item(procedure.get_or_insert_default(), item, text) }
    }

    /// Reads a cell of the record of a test into it.
    ///
    /// # Errors
    ///
    /// The [`Fault`] of a cell that the column cannot hold.
    pub fn read_item(&self, known: &mut Procedure, item: Item, text: &str) -> Result<(), Fault> {
        let (column, text) = (Column::Procedure(item), text.trim());
        match item {
            Item::OtherPhases => known.other_phases = Some(word(column, text, &OtherPhases::WORDS, None)?),
            Item::Battery => known.battery = Some(battery(column, text)?),
            Item::ZeroCheck => known.zero_check = Some(self.scale_check(column, text, Check::Ok, Check::Failed)?),
            Item::OpenCheck => known.open_check = Some(self.scale_check(column, text, Check::Failed, Check::Ok)?),
            Item::ProvedDead => known.proved_dead = Some(word(column, text, &PROVED_DEAD, Some(false))?),
            Item::EquipmentState => known.equipment_state = Some(word(column, text, &EquipmentState::WORDS, None)?),
            Item::Serial => known.serial = Some(text.to_owned()),
            Item::TestedBy => known.tested_by = Some(text.to_owned()),
            Item::WorkOrder => known.work_order = Some(text.to_owned()),
            // That it is in date asks for nothing, and says of no day.
            Item::CalibrationDue if IN_DATE.contains(&Typed::of(text).word.as_str()) => {}
            Item::CalibrationDue => known.calibration_due = Some(self.day(column, text)?),
            Item::SourceCheck => {
                let shown = without_ok(text);
                let in_volts =
                    |number: f64| Voltage::from_volts(number * if is_in_kilovolts(shown) { 1000.0 } else { 1.0 });
                known.source_check = match Check::read(text) {
                    Some(checked) => Some(SourceCheck::Checked(checked)),
                    None if is_no_voltage(shown) => Some(SourceCheck::Checked(Check::Failed)),
                    None => self
                        .quantity(
                            column,
                            shown,
                            &["v", "volt", "volts", "vdc", "v dc", "kv", "kvdc", "kv dc"],
                            in_volts,
                        )
                        .map_err(|fault| Fault {
                            rule: "a source check is ok, failed or the voltage that the second meter showed".to_owned(),
                            ..fault
                        })?
                        .map(SourceCheck::Measured),
                };
            }
            Item::Discharged => {
                known.discharged = self.quantity(column, text, &["min", "minutes"], DischargeTime::from_minutes)?;
            }
            Item::DielectricDischarge => {
                known.dielectric_discharge = self.quantity(column, text, &[], DielectricDischarge::from_ratio)?;
            }
            Item::Standing => {
                known.standing = self.quantity(column, text, &["h", "hours"], StandingTime::from_hours)?;
            }
        }
        Ok(())
    }

    /// The outcome of a check of one end of the scale: a word, or what the tester showed there. A reading other than zero and over range may
    /// be that of the leads: it is not understood.
    fn scale_check(&self, column: Column, text: &str, zero: Check, over_range: Check) -> Result<Check, Fault> {
        let cell = CellRules { decimal_comma: self.decimal_comma, ..CellRules::default() };
        let bare = without_ok(text);
        let shown = match (cell.read(bare), bare.to_lowercase().as_str()) {
            (Ok(Some(Measured::Below(_))), _) if !bare.bytes().all(|byte| byte.is_ascii_digit()) => Some(zero),
            (Ok(Some(Measured::OffScale | Measured::Above(_))), _) => Some(over_range),
            (_, "0" | "zero" | "short" | "shorted") => Some(zero),
            (
                _,
                "infinite" | "infinity" | "over range" | "overrange" | "over-range" | "open" | "o.l." | "o/l" | "o/r"
                | "full scale",
            ) => Some(over_range),
            _ => None,
        };
        shown.map_or_else(|| word(column, text, &Check::WORDS, Some(Check::Failed)), Ok)
    }
}

/// From this charge on a battery carries a test, per cent; common practice.
const CHARGED_FROM_PERCENT: f64 = 50.0;

/// The state of a battery: a word, or its charge in per cent or as a fraction where that is enough. A number below that may be volts.
fn battery(column: Column, text: &str) -> Result<Battery, Fault> {
    let number = |text: &str| text.trim().parse::<f64>().ok();
    let percent = match text.split_once('/') {
        Some((part, whole)) => number(part).zip(number(whole)).map(|(part, whole)| 100.0 * part / whole),
        None => number(text.trim_end_matches('%')),
    };
    match percent {
        Some(percent) if (CHARGED_FROM_PERCENT..=100.0).contains(&percent) => Ok(Battery::Ok),
        _ => word(column, text, &Battery::WORDS, Some(Battery::Low)),
    }
}

/// Words that say that the calibration of a tester is in date, and no day.
const IN_DATE: [&str; 10] =
    ["valid", "in date", "in cal", "in calibration", "current", "ok", "yes", "good", "gültig", "valide"];

/// What a check showed, without an "ok" before or after it: `ok 512 V`, `OL ok`.
fn without_ok(text: &str) -> &str {
    let is_ok = |part: &str| Check::read(part) == Some(Check::Ok);
    let after = text.split_once([' ', ':', ',']).filter(|(ok, rest)| is_ok(ok) && !rest.trim().is_empty());
    let before = text.rsplit_once([' ', ',']).filter(|(rest, ok)| is_ok(ok) && !rest.trim().is_empty());
    after.map(|(_, rest)| rest).or(before.map(|(rest, _)| rest)).map_or(text, str::trim)
}

fn is_in_kilovolts(text: &str) -> bool {
    let lower = text.to_lowercase();
    ["kv", "kvdc", "kv dc"].iter().any(|unit| lower.ends_with(unit))
}

/// Whether a second meter showed nothing: `0`, `0.0 V`.
fn is_no_voltage(text: &str) -> bool {
    let number = text.trim_end_matches(|c: char| c.is_alphabetic() || c == ' ');
    number.contains('0') && number.chars().all(|c| matches!(c, '0' | '.' | ','))
}

/// The meaning of a word. In doubt, with a question mark, only the meaning is taken that never makes an answer less urgent.
fn word<T: Copy + PartialEq>(
    column: Column,
    text: &str,
    words: &[(T, &'static str)],
    strict: Option<T>,
) -> Result<T, Fault> {
    Typed::of(text).meaning(words, |meaning| Some(meaning) == strict).ok_or_else(|| {
        let first = |i: usize| !words[..i].iter().any(|(meaning, _)| *meaning == words[i].0);
        let own: Vec<&str> = (0..words.len()).filter(|i| first(*i)).map(|i| words[i].1).collect();
        Fault::new(
            column,
            text,
            format!("this column holds {}", own.join(" or ")),
            "leave the cell empty if it was not written down, and put anything else into the note",
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::{ItemValue, Origin, TestRecord};

    fn read(item: &str, text: &str) -> Result<TestRecord, String> {
        let cells = [("winding", "P-1"), ("tested_on", "2026-04-02"), ("r_60s", "200"), (item, text)];
        let cells = cells.map(|(header, text)| (Column::read(header).unwrap_or(Column::Note), text));
        TestRules::default().validate(cells, Origin::default()).map_err(|faults| faults[0].to_string())
    }

    #[test]
    fn every_word_is_read_and_comes_back_as_the_printed_one() {
        for (item, name) in Item::WORDS {
            for choice in item.choices() {
                let test = read(name, &choice.to_uppercase());
                assert_eq!(test.as_ref().map(|test| test.procedure().get(item)), Ok(Some(ItemValue::Word(choice))));
            }
        }
        for (item, written, value) in [
            ("other_phases", "grounded", "earthed"),
            ("battery", "flat", "low"),
            ("battery", "NO", "low"),
            ("battery", "replace", "low"),
            ("zero_check", "n", "failed"),
            ("zero_check", "✗", "failed"),
            ("zero_check", "0.00", "ok"),
            ("zero_check", "0", "ok"),
            ("zero_check", "ja", "ok"),
            ("zero_check", "OL", "failed"),
            ("open_check", "∞", "ok"),
            ("open_check", "0", "failed"),
            ("source_check", "no", "failed"),
            ("proved_dead", "false", "no"),
            ("equipment_state", "warehouse", "store"),
            ("equipment_state", "running", "in service"),
            ("other_phases", "tied together", "joined"),
            ("proved_dead", "OK", "yes"),
            ("equipment_state", "spare", "store"),
            ("source_check", "487 V", "487"),
            ("source_check", "ok 512 V", "512"),
            ("source_check", "0.5 kV", "500"),
            ("source_check", "1.02 kVdc ok", "1020"),
            ("source_check", "ok 0 V", "failed"),
            ("open_check", "OL ok", "ok"),
            ("open_check", "ok, OL", "ok"),
            ("zero_check", "0.00 ok", "ok"),
            ("zero_check", "OL ok", "failed"),
            ("battery", "75", "ok"),
            ("battery", "3/4", "ok"),
            ("source_check", "fail", "failed"),
            ("discharged_min", "4 min", "4"),
            ("standing_h", "36", "36"),
            ("calibration_due", "2027-03-31", "2027-03-31"),
            ("dielectric_discharge", "1.8", "1.8"),
            ("serial", "00417", "00417"),
        ] {
            let found = read(item, written).map(|test| {
                test.procedure().items().map(|(item, value)| (item.name(), value.to_string())).collect::<Vec<_>>()
            });
            assert_eq!(found, Ok(vec![(item, value.to_owned())]), "{written}");
        }
        assert_eq!(read("battery", "n/a").map(|test| test.procedure().clone()), Ok(Procedure::UNKNOWN));
    }

    #[test]
    fn a_word_that_is_not_known_is_a_fault_that_names_those_that_are() {
        let faults = [("other_phases", "shorted"), ("source_check", "maybe"), ("calibration_due", "May 2027")];
        assert_eq!(
            faults.map(|(item, text)| read(item, text).err().unwrap_or_default()),
            [
                "other_phases is shorted; this column holds earthed or guarded or open or joined (hint: leave the cell empty if it \
                 was not written down, and put anything else into the note)",
                "source_check is maybe; a source check is ok, failed or the voltage that the second meter showed (hint: write a \
                 number in the unit that the header names)",
                "calibration_due is May 2027; a date is written year-month-day, such as 2026-04-03; day and month are never \
                 guessed (hint: specify the date format: --date-format \"%b %d %y\")",
            ]
        );
    }
}
