//! Values as they are written on the command line: those of the engine, and pictures with their files.

mod picture;

pub use groundwall_engine::values::{
    ItemText, Reading, action, activation, basis, confidence, construction, date, date_format, delimiter, encoding,
    halving, humidity, insulation, is_month_form, item, plain_resistance, positive, reading, resistance, scope,
    temperature, voltage, year,
};
pub use picture::{PictureFile, PicturePlace, picture_file, picture_place, picture_size};
