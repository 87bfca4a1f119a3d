//! The columns that say how a test was made.

/// One item of the record of a test: a column of a history.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Item {
    /// `other_phases`
    OtherPhases,
    /// `serial`
    Serial,
    /// `calibration_due`
    CalibrationDue,
    /// `battery`
    Battery,
    /// `zero_check`
    ZeroCheck,
    /// `open_check`
    OpenCheck,
    /// `source_check`
    SourceCheck,
    /// `proved_dead`
    ProvedDead,
    /// `discharged_min`
    Discharged,
    /// `dielectric_discharge`
    DielectricDischarge,
    /// `tested_by`
    TestedBy,
    /// `work_order`
    WorkOrder,
    /// `equipment_state`
    EquipmentState,
    /// `standing_h`
    Standing,
}

impl Item {
    /// All items with the names of their columns, in the order of our histories.
    pub const WORDS: [(Item, &'static str); 14] = [
        (Item::OtherPhases, "other_phases"),
        (Item::Serial, "serial"),
        (Item::CalibrationDue, "calibration_due"),
        (Item::Battery, "battery"),
        (Item::ZeroCheck, "zero_check"),
        (Item::OpenCheck, "open_check"),
        (Item::SourceCheck, "source_check"),
        (Item::ProvedDead, "proved_dead"),
        (Item::Discharged, "discharged_min"),
        (Item::DielectricDischarge, "dielectric_discharge"),
        (Item::TestedBy, "tested_by"),
        (Item::WorkOrder, "work_order"),
        (Item::EquipmentState, "equipment_state"),
        (Item::Standing, "standing_h"),
    ];

    /// The name of its column.
    #[must_use]
    pub fn name(self) -> &'static str {
        Self::WORDS.iter().find(|(item, _)| *item == self).map_or("", |(_, name)| name)
    }
}
