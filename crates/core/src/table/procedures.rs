//! The record of each test by columns: a word of bits for its few words, codes for texts, days and numbers.

use super::column::PackedColumn;
use super::packed::{self, Packing};
use super::strings::Strings;
use super::{TableFull, day_code, day_of_code};
use crate::record::{Battery, Check, EquipmentState, OtherPhases, Procedure, SourceCheck, UnreadCell};
use crate::units::{DielectricDischarge, DischargeTime, StandingTime, Voltage};

/// Numbers of one record at the most.
pub(super) const NUMBERS: usize = 4;

const OTHER_PHASES: [OtherPhases; 4] =
    [OtherPhases::Earthed, OtherPhases::Guarded, OtherPhases::Open, OtherPhases::Joined];
const CHECKS: [Check; 2] = [Check::Ok, Check::Failed];
const BATTERIES: [Battery; 2] = [Battery::Ok, Battery::Low];
const ANSWERS: [bool; 2] = [true, false];
const STATES: [EquipmentState; 3] = [EquipmentState::InService, EquipmentState::Standby, EquipmentState::Store];

/// Records of tests; a row without one takes no space.
#[derive(Clone, Debug, Default)]
pub(super) struct Procedures {
    texts: Strings,
    words: PackedColumn,
    serial: PackedColumn,
    tested_by: PackedColumn,
    work_order: PackedColumn,
    calibration_due: PackedColumn,
    source_volts: PackedColumn,
    discharged: PackedColumn,
    dielectric_discharge: PackedColumn,
    standing: PackedColumn,
    unread: PackedColumn,
}

/// Bits of words, put in and taken out in the same order.
struct Bits(u32, u32);

impl Bits {
    fn put<T: PartialEq>(&mut self, values: &[T], value: Option<T>) {
        let place = value.and_then(|value| values.iter().position(|other| *other == value));
        self.0 |= place.map_or(0, |place| place as u32 + 1) << self.1;
        self.1 += 3;
    }

    fn take<T: Copy>(&mut self, values: &[T]) -> Option<T> {
        let place = (self.0 & 7) as usize;
        self.0 >>= 3;
        values.get(place.checked_sub(1)?).copied()
    }
}

impl Procedures {
    pub(super) fn put(&mut self, row: usize, one: &Procedure, packing: &mut Packing) -> Result<(), TableFull> {
        let (checked, measured) = match one.source_check {
            Some(SourceCheck::Checked(check)) => (Some(check), None),
            Some(SourceCheck::Measured(volts)) => (None, Some(volts.as_volts())),
            None => (None, None),
        };
        let mut bits = Bits(0, 0);
        bits.put(&OTHER_PHASES, one.other_phases);
        bits.put(&BATTERIES, one.battery);
        bits.put(&CHECKS, one.zero_check);
        bits.put(&CHECKS, one.open_check);
        bits.put(&CHECKS, checked);
        bits.put(&ANSWERS, one.proved_dead);
        bits.put(&STATES, one.equipment_state);
        if bits.0 > 0 {
            self.words.put(row, bits.0);
        }
        for (column, text) in [
            (&mut self.serial, &one.serial),
            (&mut self.tested_by, &one.tested_by),
            (&mut self.work_order, &one.work_order),
        ] {
            if let Some(text) = text {
                column.put(row, self.texts.number(text));
            }
        }
        if !one.unread.is_empty() {
            self.unread.put(row, self.texts.number(&UnreadCell::as_one_text(&one.unread)));
        }
        if let Some(due) = one.calibration_due {
            self.calibration_due.put(row, day_code(due));
        }
        let numbers: [_; NUMBERS] = [
            (&mut self.source_volts, measured),
            (&mut self.discharged, one.discharged.map(DischargeTime::as_minutes)),
            (&mut self.dielectric_discharge, one.dielectric_discharge.map(DielectricDischarge::as_ratio)),
            (&mut self.standing, one.standing.map(StandingTime::as_hours)),
        ];
        for (column, number) in numbers {
            if let Some(number) = number {
                column.put(row, packing.pack(number, 0).ok_or(TableFull)?);
            }
        }
        Ok(())
    }

    pub(super) fn get(&self, row: usize, packing: &Packing) -> Option<Box<Procedure>> {
        let number = |column: &PackedColumn| column.get(row).map(|code| packing.value(code));
        let text = |column: &PackedColumn| column.get(row).map(|code| self.texts.text(code).to_owned());
        let mut bits = Bits(self.words.get(row).unwrap_or(0), 0);
        let (other_phases, battery) = (bits.take(&OTHER_PHASES), bits.take(&BATTERIES));
        let (zero_check, open_check, checked) = (bits.take(&CHECKS), bits.take(&CHECKS), bits.take(&CHECKS));
        let measured = number(&self.source_volts).and_then(|volts| Voltage::from_volts(volts).ok());
        let one = Procedure {
            other_phases,
            serial: text(&self.serial),
            calibration_due: self.calibration_due.get(row).map(day_of_code),
            battery,
            zero_check,
            open_check,
            source_check: checked.map(SourceCheck::Checked).or(measured.map(SourceCheck::Measured)),
            proved_dead: bits.take(&ANSWERS),
            discharged: number(&self.discharged).and_then(|minutes| DischargeTime::from_minutes(minutes).ok()),
            dielectric_discharge: number(&self.dielectric_discharge)
                .and_then(|ratio| DielectricDischarge::from_ratio(ratio).ok()),
            tested_by: text(&self.tested_by),
            work_order: text(&self.work_order),
            equipment_state: bits.take(&STATES),
            standing: number(&self.standing).and_then(|hours| StandingTime::from_hours(hours).ok()),
            unread: self.unread.get(row).map_or_else(Vec::new, |code| UnreadCell::from_one_text(self.texts.text(code))),
        };
        (one != Procedure::default()).then(|| Box::new(one))
    }

    /// Appends the records of another table, whose long numbers were moved by so many places.
    pub(super) fn append(&mut self, rows: usize, other: &Self, by: u32) {
        let texts = self.texts.merge(&other.texts);
        for (column, others) in [
            (&mut self.serial, &other.serial),
            (&mut self.tested_by, &other.tested_by),
            (&mut self.work_order, &other.work_order),
            (&mut self.unread, &other.unread),
        ] {
            column.append(rows, others, |code| texts.get(code as usize).copied().unwrap_or(code));
        }
        self.words.append(rows, &other.words, |code| code);
        self.calibration_due.append(rows, &other.calibration_due, |code| code);
        for (column, others) in [
            (&mut self.source_volts, &other.source_volts),
            (&mut self.discharged, &other.discharged),
            (&mut self.dielectric_discharge, &other.dielectric_discharge),
            (&mut self.standing, &other.standing),
        ] {
            column.append(rows, others, |code| packed::moved(code, by));
        }
    }

    pub(super) fn shrink(&mut self) {
        for column in [
            &mut self.words,
            &mut self.serial,
            &mut self.tested_by,
            &mut self.work_order,
            &mut self.calibration_due,
            &mut self.source_volts,
            &mut self.discharged,
            &mut self.dielectric_discharge,
            &mut self.standing,
            &mut self.unread,
        ] {
            column.shrink();
        }
    }
}
