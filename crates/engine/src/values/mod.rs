//! Single values as people write them, on a command line or in a call. Each reader gives the value, or a sentence with what was
//! found, the rule and what to write.

mod calendar;
mod quantity;
mod word;

pub use crate::ingest::date_forms::is_month_form;
pub use calendar::{date, date_format, year};
pub use quantity::{
    Reading, activation, confidence, halving, humidity, plain_resistance, positive, reading, resistance, temperature,
    voltage,
};
pub use word::{ItemText, action, basis, construction, delimiter, encoding, insulation, item, scope};
