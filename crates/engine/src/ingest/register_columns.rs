//! The names of the columns of a register.

/// The columns of a register.
pub(crate) const COLUMNS: [&str; 20] = [
    "winding",
    "site",
    "area",
    "description",
    "rated_volts",
    "rated_kw",
    "construction",
    "drive_fed",
    "insulation",
    "thermal_class",
    "year_made",
    "year_rewound",
    "interval_days",
    "minimum_mohm",
    "minimum_basis",
    "group",
    "criticality",
    "work_order",
    "maker",
    "aliases",
];
