//! Values of cells as a planner would write them into a CSV file.

use calamine::Data;

/// A cell as a planner would write it into a CSV file.
pub(super) fn written(value: &Data, decimal_comma: bool) -> String {
    match value {
        Data::Int(value) => value.to_string(),
        Data::Float(value) => number(*value, decimal_comma),
        Data::String(text) => text.clone(),
        Data::Bool(value) => if *value { "TRUE" } else { "FALSE" }.to_owned(),
        Data::DateTime(day) => match day.as_datetime().filter(|_| day.is_datetime()) {
            // Times are stored as fractions of a day and come out a few milliseconds beside the second.
            Some(at) => iso(&(at + chrono::Duration::milliseconds(500)).format("%Y-%m-%dT%H:%M:%S").to_string()),
            None => number(day.as_f64(), decimal_comma),
        },
        Data::DateTimeIso(text) => iso(text),
        Data::DurationIso(text) => text.clone(),
        Data::Error(error) => error.to_string(),
        Data::Empty => String::new(),
    }
}

/// A number with all its digits.
pub(super) fn number(value: f64, decimal_comma: bool) -> String {
    let text = value.to_string();
    if decimal_comma { text.replace('.', ",") } else { text }
}

/// Midnight is a date without an hour; seconds of nought are not written.
pub(super) fn iso(text: &str) -> String {
    let text = text.split('.').next().unwrap_or(text);
    let text = text.strip_suffix("T00:00:00").unwrap_or(text);
    let minutes = text.strip_suffix(":00").filter(|rest| rest.len() == "0000-00-00T00:00".len());
    minutes.unwrap_or(text).to_owned()
}
