//! The names of the columns of a register.

/// The columns of a register.
pub(crate) const COLUMNS: [&str; 14] = [
    "winding",
    "site",
    "area",
    "description",
    "rated_volts",
    "rated_kw",
    "construction",
    "insulation",
    "thermal_class",
    "year_made",
    "interval_days",
    "minimum_mohm",
    "group",
    "criticality",
];
