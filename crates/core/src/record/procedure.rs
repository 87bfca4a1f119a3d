//! How a test was made, as far as it was written down: what the other phases were joined to, the checks of the tester, the state of
//! the machine, and who made it.
//!
//! Each item is a column of its own, in the order of [`Item::WORDS`]. A table of words says how each is written; the first word of a
//! meaning is the one that is printed.

use super::TestRecord;
use super::item::Item;
use super::take;
use super::typed::Typed;
use super::unread::UnreadCell;
use crate::units::{DielectricDischarge, DischargeTime, Resistance, StandingTime, Voltage};
use chrono::NaiveDate;
use std::fmt;
use std::hash::{Hash as _, Hasher};

/// What the phases that are not under test were connected to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum OtherPhases {
    /// Separated and connected to the frame: a phase reads about twice the whole winding.
    Earthed,
    /// Separated and connected to the guard: about three times.
    Guarded,
    /// Separated and connected to nothing.
    Open,
    /// Not separated: every lead reads the whole winding.
    Joined,
}

impl OtherPhases {
    /// The words for each, the printed one first.
    pub const WORDS: [(OtherPhases, &'static str); 41] = [
        (OtherPhases::Earthed, "earthed"),
        (OtherPhases::Earthed, "earth"),
        (OtherPhases::Earthed, "grounded"),
        (OtherPhases::Earthed, "ground"),
        (OtherPhases::Earthed, "to earth"),
        (OtherPhases::Earthed, "both earthed"),
        (OtherPhases::Earthed, "geerdet"),
        (OtherPhases::Earthed, "to ground"),
        (OtherPhases::Earthed, "to frame"),
        (OtherPhases::Earthed, "frame"),
        (OtherPhases::Earthed, "gnd"),
        (OtherPhases::Earthed, "to gnd"),
        (OtherPhases::Earthed, "pe"),
        (OtherPhases::Earthed, "to pe"),
        (OtherPhases::Earthed, "bonded to earth"),
        (OtherPhases::Earthed, "bonded to frame"),
        (OtherPhases::Guarded, "guarded"),
        (OtherPhases::Guarded, "guard"),
        (OtherPhases::Guarded, "to guard"),
        (OtherPhases::Open, "open"),
        (OtherPhases::Open, "floating"),
        (OtherPhases::Open, "free"),
        (OtherPhases::Open, "isolated"),
        (OtherPhases::Open, "separated"),
        (OtherPhases::Joined, "joined"),
        (OtherPhases::Joined, "connected"),
        (OtherPhases::Joined, "together"),
        (OtherPhases::Joined, "linked"),
        (OtherPhases::Joined, "not separated"),
        (OtherPhases::Joined, "star"),
        (OtherPhases::Joined, "delta"),
        (OtherPhases::Joined, "star connected"),
        (OtherPhases::Joined, "delta connected"),
        (OtherPhases::Joined, "in star"),
        (OtherPhases::Joined, "in delta"),
        (OtherPhases::Joined, "wye"),
        (OtherPhases::Joined, "connected together"),
        (OtherPhases::Joined, "joined together"),
        (OtherPhases::Joined, "tied together"),
        (OtherPhases::Joined, "shorted together"),
        (OtherPhases::Joined, "common"),
    ];

    /// What a reading of one phase to earth is divided by to compare it with a whole winding; 1 where that is not known to be more.
    ///
    /// # References
    ///
    /// IEEE Std 43 cl. 12.3 note, from memory.
    #[must_use]
    pub const fn divisor(self) -> f64 {
        match self {
            Self::Earthed | Self::Open => 2.0,
            Self::Guarded => 3.0,
            Self::Joined => 1.0,
        }
    }

    /// Whole-winding value of one phase's reading.
    ///
    /// # Formula
    ///
    /// R(whole) = R(phase)/2 with the other phases earthed, /3 with them guarded; R(phase) where they are joined. Open phases carry
    /// some of the current to earth, so that the phase reads at most as much as with them guarded; they are taken as earthed.
    ///
    /// # Examples
    ///
    /// ```
    /// use groundwall::{record::OtherPhases, units::Resistance};
    /// let phase = Resistance::from_megohms(300.0)?;
    /// assert_eq!(OtherPhases::Earthed.whole_winding(phase).as_megohms(), 150.0);
    /// assert_eq!(OtherPhases::Joined.whole_winding(phase).as_megohms(), 300.0);
    /// # Ok::<(), groundwall::units::OutOfRange>(())
    /// ```
    ///
    /// # References
    ///
    /// IEEE Std 43 cl. 12.3 note, from memory.
    #[must_use]
    pub fn whole_winding(self, one_phase: Resistance) -> Resistance {
        one_phase.scaled(1.0 / self.divisor())
    }
}

/// The state of the tester's battery before the test.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Battery {
    /// It carries the test.
    Ok,
    /// The tester says that it is low: the test voltage may collapse.
    Low,
}

impl Battery {
    /// The words for each, the printed one first.
    pub const WORDS: [(Battery, &'static str); 38] = [
        (Battery::Ok, "ok"),
        (Battery::Ok, "good"),
        (Battery::Ok, "full"),
        (Battery::Ok, "charged"),
        (Battery::Ok, "pass"),
        (Battery::Ok, "passed"),
        (Battery::Ok, "fine"),
        (Battery::Ok, "yes"),
        (Battery::Ok, "y"),
        (Battery::Ok, "green"),
        (Battery::Ok, "new"),
        (Battery::Ok, "fresh"),
        (Battery::Ok, "high"),
        (Battery::Ok, "mains"),
        (Battery::Ok, "fully charged"),
        (Battery::Ok, "new batteries"),
        (Battery::Ok, "voll"),
        (Battery::Ok, "ja"),
        (Battery::Ok, "oui"),
        (Battery::Ok, "✓"),
        (Battery::Ok, "✔"),
        (Battery::Low, "low"),
        (Battery::Low, "weak"),
        (Battery::Low, "flat"),
        (Battery::Low, "bad"),
        (Battery::Low, "failed"),
        (Battery::Low, "fail"),
        (Battery::Low, "no"),
        (Battery::Low, "n"),
        (Battery::Low, "nok"),
        (Battery::Low, "not ok"),
        (Battery::Low, "poor"),
        (Battery::Low, "dead"),
        (Battery::Low, "empty"),
        (Battery::Low, "red"),
        (Battery::Low, "replace"),
        (Battery::Low, "✗"),
        (Battery::Low, "✘"),
    ];
}

/// The outcome of a check before the test.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Check {
    /// It was made and passed.
    Ok,
    /// It was made and failed.
    Failed,
}

impl Check {
    /// The words for each, the printed one first.
    pub const WORDS: [(Check, &'static str); 46] = [
        (Check::Ok, "ok"),
        (Check::Ok, "okay"),
        (Check::Ok, "pass"),
        (Check::Ok, "passed"),
        (Check::Ok, "good"),
        (Check::Ok, "yes"),
        (Check::Ok, "done"),
        (Check::Ok, "y"),
        (Check::Ok, "p"),
        (Check::Ok, "fine"),
        (Check::Ok, "true"),
        (Check::Ok, "checked"),
        (Check::Ok, "ok/ok"),
        (Check::Ok, "ja"),
        (Check::Ok, "oui"),
        (Check::Ok, "si"),
        (Check::Ok, "sí"),
        (Check::Ok, "sim"),
        (Check::Ok, "i.o"),
        (Check::Ok, "o.k"),
        (Check::Ok, "bon"),
        (Check::Ok, "gut"),
        (Check::Ok, "√"),
        (Check::Ok, "✓"),
        (Check::Ok, "✔"),
        (Check::Failed, "failed"),
        (Check::Failed, "fail"),
        (Check::Failed, "bad"),
        (Check::Failed, "nok"),
        (Check::Failed, "not ok"),
        (Check::Failed, "not okay"),
        (Check::Failed, "not good"),
        (Check::Failed, "fails"),
        (Check::Failed, "failure"),
        (Check::Failed, "fault"),
        (Check::Failed, "defective"),
        (Check::Failed, "out"),
        (Check::Failed, "no"),
        (Check::Failed, "n"),
        (Check::Failed, "f"),
        (Check::Failed, "not passed"),
        (Check::Failed, "faulty"),
        (Check::Failed, "broken"),
        (Check::Failed, "false"),
        (Check::Failed, "✗"),
        (Check::Failed, "✘"),
    ];

    /// Reads a word as people type it; one with a question mark passes no check.
    #[must_use]
    pub fn read(text: &str) -> Option<Self> {
        Typed::of(text).meaning(&Self::WORDS, |check| check == Self::Failed)
    }
}

/// The output of the tester as seen on a second meter before the test.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum SourceCheck {
    /// It was looked at and found right or wrong; no number was written.
    Checked(Check),
    /// The voltage that the meter showed.
    Measured(Voltage),
}

/// Where the machine was at the time of the test.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum EquipmentState {
    /// In service, stopped for the test.
    InService,
    /// Installed and not running.
    Standby,
    /// A spare in store.
    Store,
}

impl EquipmentState {
    /// The words for each, the printed one first.
    pub const WORDS: [(EquipmentState, &'static str); 28] = [
        (EquipmentState::InService, "in service"),
        (EquipmentState::InService, "in use"),
        (EquipmentState::InService, "service"),
        (EquipmentState::InService, "duty"),
        (EquipmentState::InService, "running"),
        (EquipmentState::InService, "operating"),
        (EquipmentState::InService, "in operation"),
        (EquipmentState::InService, "on line"),
        (EquipmentState::InService, "online"),
        (EquipmentState::Standby, "standby"),
        (EquipmentState::Standby, "stand by"),
        (EquipmentState::Standby, "reserve"),
        (EquipmentState::Standby, "hot standby"),
        (EquipmentState::Standby, "idle"),
        (EquipmentState::Standby, "stopped"),
        (EquipmentState::Standby, "shut down"),
        (EquipmentState::Standby, "out of service"),
        (EquipmentState::Standby, "off line"),
        (EquipmentState::Standby, "offline"),
        (EquipmentState::Store, "store"),
        (EquipmentState::Store, "stores"),
        (EquipmentState::Store, "in store"),
        (EquipmentState::Store, "storage"),
        (EquipmentState::Store, "stored"),
        (EquipmentState::Store, "spare"),
        (EquipmentState::Store, "warehouse"),
        (EquipmentState::Store, "in storage"),
        (EquipmentState::Store, "on shelf"),
    ];
}

/// Words for whether the circuit was proved dead, the printed one first.
pub(super) const PROVED_DEAD: [(bool, &str); 34] = [
    (true, "yes"),
    (true, "y"),
    (true, "ok"),
    (true, "done"),
    (true, "proved"),
    (true, "dead"),
    (true, "true"),
    (true, "confirmed"),
    (true, "0 v"),
    (true, "0v"),
    (true, "sí"),
    (true, "proven"),
    (true, "proved dead"),
    (true, "tested dead"),
    (true, "isolated and dead"),
    (true, "ja"),
    (true, "oui"),
    (true, "si"),
    (true, "sim"),
    (true, "✓"),
    (true, "✔"),
    (false, "no"),
    (false, "n"),
    (false, "not proved"),
    (false, "not done"),
    (false, "failed"),
    (false, "live"),
    (false, "false"),
    (false, "fail"),
    (false, "not"),
    (false, "not dead"),
    (false, "not confirmed"),
    (false, "✗"),
    (false, "✘"),
];

impl Item {
    /// Words that its cells may hold, as they are printed; none where it holds a text, a day or a number.
    #[must_use]
    pub fn choices(self) -> Vec<&'static str> {
        fn printed<T: PartialEq>(words: &[(T, &'static str)]) -> Vec<&'static str> {
            let first = |i: usize| !words[..i].iter().any(|(meaning, _)| *meaning == words[i].0);
            (0..words.len()).filter(|i| first(*i)).map(|i| words[i].1).collect()
        }
        match self {
            Self::OtherPhases => printed(&OtherPhases::WORDS),
            Self::Battery => printed(&Battery::WORDS),
            Self::ZeroCheck | Self::OpenCheck => printed(&Check::WORDS),
            Self::ProvedDead => printed(&PROVED_DEAD),
            Self::EquipmentState => printed(&EquipmentState::WORDS),
            _ => Vec::new(),
        }
    }
}

fn printed<T: PartialEq>(words: &[(T, &'static str)], meaning: &T) -> &'static str {
    words.iter().find(|(other, _)| other == meaning).map_or("", |(_, word)| word)
}

macro_rules! printed_by_its_words {
    ($($name:ident)*) => {$(
        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(printed(&Self::WORDS, self))
            }
        }
    )*};
}

printed_by_its_words! { OtherPhases Battery Check EquipmentState }

/// How a test was made. Everything may be missing.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Procedure {
    /// What the phases not under test were connected to.
    pub other_phases: Option<OtherPhases>,
    /// Serial number of the tester.
    pub serial: Option<String>,
    /// The last day on which its calibration holds.
    pub calibration_due: Option<NaiveDate>,
    /// Its battery.
    pub battery: Option<Battery>,
    /// Leads shorted: it read zero.
    pub zero_check: Option<Check>,
    /// Leads open: it read over range.
    pub open_check: Option<Check>,
    /// Its output on a second meter.
    pub source_check: Option<SourceCheck>,
    /// Whether the circuit was proved dead first.
    pub proved_dead: Option<bool>,
    /// How long the winding was discharged to earth afterwards.
    pub discharged: Option<DischargeTime>,
    /// The dielectric discharge, as the tester gave it.
    pub dielectric_discharge: Option<DielectricDischarge>,
    /// Who made the test.
    pub tested_by: Option<String>,
    /// The work order it belongs to.
    pub work_order: Option<String>,
    /// Where the machine was.
    pub equipment_state: Option<EquipmentState>,
    /// How long it had stood still.
    pub standing: Option<StandingTime>,
    /// Cells of the row that cannot be read.
    pub unread: Vec<UnreadCell>,
}

/// What an item says, as a cell takes it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ItemValue<'p> {
    /// One of a few words.
    Word(&'static str),
    /// Any text.
    Text(&'p str),
    /// A day.
    Day(NaiveDate),
    /// A number, in the unit of its column.
    Number(f64),
}

impl fmt::Display for ItemValue<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Word(text) => f.write_str(text),
            Self::Text(text) => f.write_str(text),
            Self::Day(day) => write!(f, "{day}"),
            Self::Number(number) => write!(f, "{number}"),
        }
    }
}

impl Procedure {
    /// Nothing known.
    pub(super) const UNKNOWN: Self = Self {
        other_phases: None,
        serial: None,
        calibration_due: None,
        battery: None,
        zero_check: None,
        open_check: None,
        source_check: None,
        proved_dead: None,
        discharged: None,
        dielectric_discharge: None,
        tested_by: None,
        work_order: None,
        equipment_state: None,
        standing: None,
        unread: Vec::new(),
    };

    /// Adds what another row of the same test says; false where the two contradict each other.
    pub(super) fn join(&mut self, row: &Self) -> bool {
        for cell in &row.unread {
            if !self.unread.contains(cell) {
                self.unread.push(cell.clone());
            }
        }
        take(&mut self.other_phases, &row.other_phases)
            && take(&mut self.serial, &row.serial)
            && take(&mut self.calibration_due, &row.calibration_due)
            && take(&mut self.battery, &row.battery)
            && take(&mut self.zero_check, &row.zero_check)
            && take(&mut self.open_check, &row.open_check)
            && take(&mut self.source_check, &row.source_check)
            && take(&mut self.proved_dead, &row.proved_dead)
            && take(&mut self.discharged, &row.discharged)
            && take(&mut self.dielectric_discharge, &row.dielectric_discharge)
            && take(&mut self.tested_by, &row.tested_by)
            && take(&mut self.work_order, &row.work_order)
            && take(&mut self.equipment_state, &row.equipment_state)
            && take(&mut self.standing, &row.standing)
    }

    /// Everything that [`Self::same_content`] compares.
    pub(super) fn hash_content(&self, hasher: &mut impl Hasher) {
        for (item, value) in self.items().filter(|(item, _)| !matches!(item, Item::TestedBy | Item::WorkOrder)) {
            (item, value.to_string()).hash(hasher);
        }
        for cell in &self.unread {
            (cell.column.to_string(), &cell.text).hash(hasher);
        }
    }

    /// Whether two records say the same of a test, whoever made it on whatever order.
    pub(super) fn same_content(&self, other: &Self) -> bool {
        let bare = |one: &Self| Self { tested_by: None, work_order: None, ..one.clone() };
        bare(self) == bare(other)
    }

    /// What it says under an item.
    #[must_use]
    pub fn get(&self, item: Item) -> Option<ItemValue<'_>> {
        use ItemValue::{Day, Number, Text, Word};
        match item {
            Item::OtherPhases => self.other_phases.map(|other| Word(printed(&OtherPhases::WORDS, &other))),
            Item::Serial => self.serial.as_deref().map(Text),
            Item::CalibrationDue => self.calibration_due.map(Day),
            Item::Battery => self.battery.map(|battery| Word(printed(&Battery::WORDS, &battery))),
            Item::ZeroCheck => self.zero_check.map(|check| Word(printed(&Check::WORDS, &check))),
            Item::OpenCheck => self.open_check.map(|check| Word(printed(&Check::WORDS, &check))),
            Item::SourceCheck => self.source_check.map(|source| match source {
                SourceCheck::Checked(check) => Word(printed(&Check::WORDS, &check)),
                SourceCheck::Measured(volts) => Number(volts.as_volts()),
            }),
            Item::ProvedDead => self.proved_dead.map(|proved| Word(printed(&PROVED_DEAD, &proved))),
            Item::Discharged => self.discharged.map(|time| Number(time.as_minutes())),
            Item::DielectricDischarge => self.dielectric_discharge.map(|found| Number(found.as_ratio())),
            Item::TestedBy => self.tested_by.as_deref().map(Text),
            Item::WorkOrder => self.work_order.as_deref().map(Text),
            Item::EquipmentState => self.equipment_state.map(|state| Word(printed(&EquipmentState::WORDS, &state))),
            Item::Standing => self.standing.map(|time| Number(time.as_hours())),
        }
    }

    /// All that it says, in the order of the columns.
    pub fn items(&self) -> impl Iterator<Item = (Item, ItemValue<'_>)> {
        Item::WORDS.iter().filter_map(|(item, _)| Some((*item, self.get(*item)?)))
    }

    /// Whether a check of the leads or of the tester's two ends of the scale failed.
    #[must_use]
    pub fn scale_check_failed(&self) -> bool {
        [self.zero_check, self.open_check].contains(&Some(Check::Failed))
    }

    /// Whether the machine had the time to take the temperature of the air, if that takes so many hours.
    #[must_use]
    pub fn stood_for(&self, hours: StandingTime) -> bool {
        self.equipment_state == Some(EquipmentState::Store) || self.standing.is_some_and(|stood| stood >= hours)
    }
}

#[cfg(feature = "serde")]
impl serde::Serialize for Procedure {
    /// Every item under the name of its column; unknown is null.
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_map(Item::WORDS.iter().map(|(item, name)| (name, self.get(*item))))
    }
}

#[cfg(feature = "serde")]
impl serde::Serialize for ItemValue<'_> {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self {
            Self::Word(text) => serializer.serialize_str(text),
            Self::Text(text) => serializer.serialize_str(text),
            Self::Day(day) => serializer.collect_str(day),
            Self::Number(number) => serializer.serialize_f64(*number),
        }
    }
}

impl TestRecord {
    /// How the test was made, as far as it was written down.
    #[must_use]
    pub fn procedure(&self) -> &Procedure {
        const UNKNOWN: &Procedure = &Procedure::UNKNOWN;
        self.procedure.as_deref().unwrap_or(UNKNOWN)
    }
}
