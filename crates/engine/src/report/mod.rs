//! A report: pages for work orders, a page of the whole works, and the results as files, in one folder.
//!
//! [`manifest`] says what it was made from, [`works_page`] is the page to
//! begin with, [`series_page`] one page for each series that needs something done, [`steps`] what that is.

pub mod manifest;
pub mod paper;
pub mod series_page;
pub mod steps;
pub mod works_page;

use crate::chart::absorption::AbsorptionPicture;
use crate::chart::page::Sheet;
use crate::chart::{self, Chart, ChartContext, ChartError, DEFAULT_DPI, Size, place_of, trend::TrendPicture};
use crate::error::Failure;
use crate::file_name::FileNames;
use crate::page::Pages;
use groundwall::assess::{Action, Code, Judgement, SeriesAssessment};
use groundwall::series::SeriesKey;
use groundwall::table::SeriesTable;
use manifest::Written;
use paper::Order;
use std::collections::HashMap;

/// The folder of the pages of single series.
pub const PAGES: &str = "series";

/// The least urgent action that gets a page of its own.
pub const LEAST_URGENT: Action = Action::Shorten;

/// Size of a chart for a screen 390 points wide with two pixels to the point.
const NARROW: Size = Size { width: 780, height: 1160 };

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
    /// What of it is printed, where that was asked for.
    pub order: Option<Order>,
}

/// Writes a file of the report: its path inside it and its bytes.
pub type Writer<'a> = dyn Fn(&str, &[u8]) -> Result<Written, Failure> + Sync + 'a;

/// What all pages of single series have in common.
pub struct PageMaker<'a> {
    /// Writes a file of the report: its path inside it and its bytes.
    pub write: &'a Writer<'a>,
    /// The templates.
    pub pages: &'a Pages,
    /// Their names.
    pub names: &'a PageNames,
    /// The series that are judged, in the order of their keys: a page tells the notes of their rows.
    pub series: &'a SeriesTable,
    /// The files that were read.
    pub sources: &'a [String],
    /// The least urgent action that gets a page.
    pub least_urgent: Action,
    /// Whether what is printed is kept.
    pub keep_orders: bool,
}

impl PageMaker<'_> {
    /// Writes the page and the chart of a series that needs something done.
    ///
    /// # Errors
    ///
    /// A [`Failure`] when they cannot be made or written.
    pub fn make(&self, judgement: Judgement) -> Result<Entry, Failure> {
        let place = place_of(&judgement.background.nameplate);
        if judgement.assessment.action > self.least_urgent {
            return Ok(Entry { series: judgement.assessment, place, files: Vec::new(), page: None, order: None });
        }
        let named = self.names.of_series(&judgement.assessment);
        let stem = named.map_or("series", |(stem, _)| stem);
        let rows = named.map_or_else(Vec::new, |(_, place)| self.series.series(place).into_tests());
        let context = ChartContext { sources: self.sources.to_vec(), place: place.clone() };
        let trend = TrendPicture::new(&judgement, &context);
        let cause = judgement.assessment.noticed().next().map(|finding| finding.code);
        let absorption =
            (cause == Some(Code::LowAbsorption)).then(|| AbsorptionPicture::new(&judgement, &rows, &context)).flatten();
        let mut files = Vec::new();
        let mut charts = vec![self.draw(&trend, stem, &mut files)?];
        if let Some(picture) = &absorption {
            charts.push(self.draw(picture, &format!("{stem}-absorption"), &mut files)?);
        }
        let content = series_page::Content::of(&judgement, &rows, charts, &place);
        let page = format!("{PAGES}/{stem}.html");
        let text = self.pages.render(&series_page::TEMPLATE, &content)?;
        files.push((self.write)(&page, text.as_bytes())?);
        let order = self.keep_orders.then_some(Order { content, picture: trend });
        Ok(Entry { series: judgement.assessment, place, files, page: Some(page), order })
    }

    /// Draws a picture in two sizes: for paper and wide screens, and for a telephone.
    fn draw(
        &self,
        picture: &impl Chart,
        stem: &str,
        files: &mut Vec<Written>,
    ) -> Result<series_page::Picture, Failure> {
        let mut drawn = |name: &str, sheet: Result<Sheet, ChartError>| -> Result<(), Failure> {
            let bytes = sheet.and_then(|sheet| chart::render_png_on(picture, &sheet, DEFAULT_DPI));
            let bytes = bytes.map_err(|error| Failure::ours(error.to_string()))?;
            files.push((self.write)(&format!("{PAGES}/{name}"), &bytes)?);
            Ok(())
        };
        let (image, narrow) = (format!("{stem}.png"), format!("{stem}-narrow.png"));
        drawn(&image, Sheet::new(Size::default(), DEFAULT_DPI))?;
        drawn(&narrow, Sheet::narrow(NARROW))?;
        Ok(series_page::Picture { image, narrow, description: picture.description() })
    }
}
