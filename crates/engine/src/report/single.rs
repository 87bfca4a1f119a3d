//! Everything of a report as one page: the list, the page of every series, the pictures and the results inside it.

use super::plant_page::{self, File};
use super::{Entry, series_page};
use crate::compare::Comparison;
use crate::digest::base64;
use crate::error::Failure;
use crate::output::Assessment;
use crate::page::{Pages, Template};
use serde::Serialize;

/// The template.
pub const TEMPLATE: Template = Template {
    name: "single.html",
    source: include_str!("single.html"),
    script: plant_page::TEMPLATE.script,
    fonts: true,
};

#[derive(Serialize)]
struct Content<'a> {
    #[serde(flatten)]
    plant: plant_page::Content<'a>,
    orders: Vec<&'a series_page::Content>,
}

/// A file of the results: its name, what it is, and its bytes.
pub type Result<'r> = (&'static str, &'static str, &'r [u8]);

/// The page of a report whose entries keep their orders and images.
///
/// # Errors
///
/// A [`Failure`] when the page cannot be made.
pub fn text(
    pages: &Pages,
    assessment: &Assessment<'_>,
    entries: &mut [Entry],
    changes: Option<&Comparison>,
    results: &[Result<'_>],
) -> std::result::Result<String, Failure> {
    for order in entries.iter_mut().filter_map(|entry| entry.order.as_mut()) {
        for image in order.content.images_mut() {
            image.drawn = order.images.iter().find(|(name, _)| *name == image.source).map(|(_, drawn)| drawn.clone());
        }
    }
    let files =
        results.iter().map(|(name, kind, bytes)| File { name, source: inside(kind, bytes), download: true }).collect();
    let entries: &[Entry] = entries;
    let link = |entry: &Entry| entry.order.as_ref().map(|order| format!("#{}", order.content.id));
    let orders = entries.iter().filter_map(|entry| entry.order.as_ref()).map(|order| &order.content);
    let plant = plant_page::Content::of(assessment, entries, changes, files, &link);
    pages.render(&TEMPLATE, &Content { plant, orders: orders.collect() })
}

/// Bytes as an address that needs no file.
fn inside(kind: &str, bytes: &[u8]) -> String {
    format!("data:{kind};base64,{}", base64(bytes))
}
