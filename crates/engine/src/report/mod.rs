//! A report: pages for work orders, a page of the whole works, and the results as files, in one folder.
//!
//! [`manifest`] says what it was made from, [`works_page`] is the page to
//! begin with, [`series_page`] one page for each series that needs something done, [`steps`] what that is.

pub mod manifest;
pub mod series_page;
pub mod steps;
pub mod works_page;

use crate::chart::{self, ChartContext, DEFAULT_DPI, Size, place_of, trend::TrendPicture};
use crate::error::Failure;
use crate::file_name::FileNames;
use crate::page::Pages;
use groundwall::assess::{Action, Judgement, SeriesAssessment};
use groundwall::series::SeriesKey;
use groundwall::table::SeriesTable;
use manifest::Written;
use std::collections::HashMap;

/// The folder of the pages of single series.
pub const PAGES: &str = "series";

/// The least urgent action that gets a page of its own.
pub const LEAST_URGENT: Action = Action::Shorten;

/// Names of the pages without their ending, given out before any is made, so that they do not depend on which is made first.
#[derive(Debug, Default)]
pub struct PageNames {
    stems: HashMap<[String; 3], (String, usize)>,
}

impl PageNames {
    /// Names for series in the order of their keys.
    pub fn of(keys: impl IntoIterator<Item = SeriesKey>) -> Self {
        let mut names = FileNames::default();
        let stems = keys.into_iter().enumerate().map(|(place, key)| {
            let name = names.name(&key.name(), "html");
            let stem = name.strip_suffix(".html").unwrap_or(&name).to_owned();
            ([key.winding, key.connection.to_string(), key.scope.to_string()], (stem, place))
        });
        Self { stems: stems.collect() }
    }

    /// The name of a series' page without its ending, and the place of the series among the keys.
    fn of_series(&self, series: &SeriesAssessment) -> Option<(&str, usize)> {
        let key = [&series.winding, &series.connection, &series.scope].map(String::clone);
        self.stems.get(&key).map(|(stem, place)| (stem.as_str(), *place))
    }
}

/// What is kept of a series once its page is written.
#[derive(Debug)]
pub struct Entry {
    /// The judgement.
    pub series: SeriesAssessment,
    /// Where the machine is and what it is, as far as the register tells.
    pub place: Vec<String>,
    /// The files of its page; none where it needs nothing done.
    pub files: Vec<Written>,
    /// The page, as the page of the works links to it.
    pub page: Option<String>,
}

/// What all pages of single series have in common.
pub struct PageMaker<'a> {
    /// Writes a file of the report: its path inside it and its bytes.
    pub write: &'a (dyn Fn(&str, &[u8]) -> Result<Written, Failure> + Sync),
    /// The templates.
    pub pages: &'a Pages,
    /// Their names.
    pub names: &'a PageNames,
    /// The series that are judged, in the order of their keys: a page tells the notes of their rows.
    pub series: &'a SeriesTable,
    /// The files that were read.
    pub sources: &'a [String],
}

impl PageMaker<'_> {
    /// Writes the page and the chart of a series that needs something done.
    ///
    /// # Errors
    ///
    /// A [`Failure`] when they cannot be made or written.
    pub fn make(&self, judgement: Judgement) -> Result<Entry, Failure> {
        let place = place_of(&judgement.background.nameplate);
        if judgement.assessment.action > LEAST_URGENT {
            return Ok(Entry { series: judgement.assessment, place, files: Vec::new(), page: None });
        }
        let named = self.names.of_series(&judgement.assessment);
        let stem = named.map_or("series", |(stem, _)| stem);
        let rows = named.map_or_else(Vec::new, |(_, place)| self.series.series(place).into_tests());
        let context = ChartContext { sources: self.sources.to_vec(), place: place.clone() };
        let picture = TrendPicture::new(&judgement, &context);
        let bytes = chart::render_png(&picture, Size::default(), DEFAULT_DPI)
            .map_err(|error| Failure::ours(error.to_string()))?;
        let image = format!("{stem}.png");
        let chart = (self.write)(&format!("{PAGES}/{image}"), &bytes)?;
        let content = series_page::Content::of(&judgement, &rows, &image, chart::Chart::description(&picture), &place);
        let page = format!("{PAGES}/{stem}.html");
        let text = self.pages.render(&series_page::TEMPLATE, &content)?;
        let written = (self.write)(&page, text.as_bytes())?;
        Ok(Entry { series: judgement.assessment, place, files: vec![written, chart], page: Some(page) })
    }
}
