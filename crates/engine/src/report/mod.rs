//! A report: pages for work orders, a page of the whole plant, and the results as files, in one folder.
//!
//! [`manifest`] says what it was made from, [`plant_page`] is the page to begin with, [`series_page`] one page for each series that needs
//! something done, [`steps`] what that is, [`pictures`] its charts. [`single`] is all pages as one file, [`paper`] the same as a PDF.

pub mod lines;
pub mod manifest;
pub mod paper;
pub mod pictures;
pub mod plant_page;
pub mod series_page;
pub mod single;
pub mod steps;

use crate::chart::page::Sheet;
use crate::chart::phases::PhasesPicture;
use crate::chart::{self, Chart, ChartContext, ChartError, DEFAULT_DPI, Size, place_of};
use crate::error::Failure;
use crate::file_name::FileNames;
use crate::fleet::Wanted;
use crate::page::Pages;
use groundwall::assess::{Action, Judgement, SeriesAssessment};
use groundwall::series::SeriesKey;
use groundwall::table::SeriesTable;
use lines::Lines;
use manifest::Written;
use paper::Order;
use pictures::Picture;
use series_page::{Charted, Image};
use std::collections::HashMap;

/// The folder of the pages of single series.
pub const PAGES: &str = "series";

/// The least urgent action that gets a page of its own.
pub const LEAST_URGENT: Action = Action::Shorten;

/// A chart for a screen 390 points wide with two pixels to the point, and page units across it.
const NARROW: (Size, f64) = (Size { width: 780, height: 1320 }, 560.0);

/// A chart for the width of a printed page, without the words that the page has around it, and page units across it.
const PRINTED: (Size, f64) = (Size { width: 1770, height: 720 }, pictures::PRINTED_UNITS);

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
    /// The page, as the page of the plant links to it.
    pub page: Option<String>,
    /// What of it is printed, where that was asked for.
    pub order: Option<Order>,
}

impl Entry {
    /// A series without a page.
    #[must_use]
    pub fn without_page(series: SeriesAssessment) -> Self {
        let place = [&series.site, &series.area, &series.description].into_iter().flatten().cloned().collect();
        Self { series, place, files: Vec::new(), page: None, order: None }
    }
}

/// Writes a file of the report: its path inside it and its bytes.
pub type Writer<'a> = dyn Fn(&str, &[u8]) -> Result<Written, Failure> + Sync + 'a;

/// What is kept of a page once it is written.
#[derive(Clone, Copy, Debug, Default)]
pub struct Kept {
    /// What is printed.
    pub orders: bool,
    /// Its pictures as parts of a page.
    pub images: bool,
}

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
    /// The greatest ratio of phases that is let pass.
    pub phase_ratio_limit: f64,
    /// The least urgent action that gets a page.
    pub least_urgent: Action,
    /// The one winding that gets pages, where one is named.
    pub only: Option<&'a Wanted>,
    /// What is kept of a page.
    pub kept: Kept,
}

impl PageMaker<'_> {
    /// Writes the pages and charts of those series of one winding that need something done.
    ///
    /// # Errors
    ///
    /// A [`Failure`] for each series whose page cannot be made or written.
    pub fn make(&self, winding: Vec<Judgement>) -> Vec<Result<Entry, Failure>> {
        let has_page = |judgement: &Judgement| {
            let series = &judgement.assessment;
            series.action <= self.least_urgent && self.only.is_none_or(|wanted| wanted.is(series))
        };
        let (phases, lines) = if winding.iter().any(has_page) {
            (self.phases(&winding), by_scope(&winding, Lines::of))
        } else {
            (Vec::new(), Vec::new())
        };
        winding
            .into_iter()
            .map(|judgement| {
                if has_page(&judgement) {
                    let place = place_of(&judgement.background.nameplate);
                    let phases = of_scope(&phases, &judgement.assessment);
                    let lines = of_scope(&lines, &judgement.assessment);
                    let lines = lines.map(|lines| lines.on_page_of(&judgement.assessment));
                    return self.page(judgement, place, phases, lines);
                }
                Ok(Entry::without_page(judgement.assessment))
            })
            .collect()
    }

    /// The picture of the phases for every scope of a winding in which two or more were tested.
    fn phases(&self, winding: &[Judgement]) -> Vec<(String, PhasesPicture)> {
        by_scope(winding, |of_scope| {
            let context = self.context(place_of(&of_scope.first()?.background.nameplate));
            PhasesPicture::new(of_scope, self.phase_ratio_limit, &context)
        })
    }

    fn context(&self, place: Vec<String>) -> ChartContext {
        ChartContext { sources: self.sources.to_vec(), place }
    }

    fn page(
        &self,
        judgement: Judgement,
        place: Vec<String>,
        phases: Option<&PhasesPicture>,
        lines: Option<Lines>,
    ) -> Result<Entry, Failure> {
        let named = self.names.of_series(&judgement.assessment);
        let (stem, number) = named.unwrap_or(("series", 0));
        let rows = named.map_or_else(Vec::new, |(_, place)| self.series.series(place).into_tests());
        let pictures = pictures::of(&judgement, &rows, phases, &self.context(place.clone()));
        let mut drawing = Drawing { maker: self, files: Vec::new(), images: Vec::new() };
        let mut charts = Vec::with_capacity(pictures.len());
        for picture in &pictures {
            let stem = format!("{stem}{}", picture.suffix());
            charts.push(Charted {
                wide: drawing.draw(picture, format!("{stem}.png"), Sheet::new(Size::default(), DEFAULT_DPI))?,
                narrow: drawing.draw(picture, format!("{stem}-narrow.png"), Sheet::across(NARROW.0, NARROW.1))?,
                description: picture.description(),
            });
        }
        let deciding = pictures.into_iter().next().map(Picture::bare);
        let printed = match &deciding {
            Some(bare) => {
                let sheet = Sheet::across(PRINTED.0, PRINTED.1);
                Some(drawing.draw(bare, format!("{stem}-print.png"), sheet)?)
            }
            None => None,
        };
        let Drawing { mut files, images, .. } = drawing;
        let around = series_page::Around { place: &place, lines };
        let content = series_page::Content::of(&judgement, &rows, charts, printed, around, number);
        let page = format!("{PAGES}/{stem}.html");
        let text = self.pages.render(&series_page::TEMPLATE, &series_page::Alone { page: &content })?;
        files.push((self.write)(&page, text.as_bytes())?);
        let order = self.kept.orders.then_some(Order { content, deciding, images });
        Ok(Entry { series: judgement.assessment, place, files, page: Some(page), order })
    }
}

/// Something for every scope of a winding, made from the judgements of that scope; scopes without it are left out.
fn by_scope<T>(winding: &[Judgement], make: impl Fn(&[&Judgement]) -> Option<T>) -> Vec<(String, T)> {
    let mut scopes: Vec<&str> = winding.iter().map(|judgement| judgement.assessment.scope.as_str()).collect();
    scopes.sort_unstable();
    scopes.dedup();
    let made = |scope: &str| {
        let of_scope: Vec<&Judgement> = winding.iter().filter(|j| j.assessment.scope == scope).collect();
        Some((scope.to_owned(), make(&of_scope)?))
    };
    scopes.into_iter().filter_map(made).collect()
}

/// What was made for the scope of a series.
fn of_scope<'t, T>(made: &'t [(String, T)], series: &SeriesAssessment) -> Option<&'t T> {
    made.iter().find(|(scope, _)| *scope == series.scope).map(|(_, made)| made)
}

/// The pictures of one page on their way to their files.
struct Drawing<'m> {
    maker: &'m PageMaker<'m>,
    files: Vec<Written>,
    /// The same as parts of a page by their names beside it, where they are kept.
    images: Vec<(String, String)>,
}

impl Drawing<'_> {
    fn draw(&mut self, picture: &impl Chart, name: String, sheet: Result<Sheet, ChartError>) -> Result<Image, Failure> {
        let ours = |error: ChartError| Failure::internal(error.to_string());
        let sheet = sheet.map_err(ours)?;
        let (size, bytes) = (sheet.size, chart::render_png_on(picture, &sheet, DEFAULT_DPI).map_err(ours)?);
        self.files.push((self.maker.write)(&format!("{PAGES}/{name}"), &bytes)?);
        if self.maker.kept.images {
            self.images.push((name.clone(), chart::svg::part(picture, &sheet).map_err(ours)?));
        }
        Ok(Image { source: name, drawn: None, width: size.width, height: size.height })
    }
}
