//! The words around a plot: what to do above it; legend, method and caution below it. Every kind of chart has them in the
//! same places.

use super::font::Face;
use super::legend::{Entry, Strip};
use super::page::{Align, At, Drawn, Frame, Pen};
use super::theme;
use super::words::CAUTION;
use plotters::style::RGBColor;
use plotters_backend::DrawingBackend;

const TAG: Face = Face::strong(15.5);
/// Lines of the sentence below the title: a finding with the note of its test, and why there is no date.
const MOST_SUBTITLE: usize = 4;
/// A page narrower than this is one for a telephone, page units.
const NARROW: f64 = 640.0;

const TITLE: Face = Face::strong(theme::TITLE);
const SUBTITLE: Face = Face::regular(theme::SUBTITLE);
const SMALL: Face = Face::regular(theme::SMALL);

/// What stands around a plot.
#[derive(Clone, Debug, PartialEq)]
pub struct Surround {
    /// The word in the corner: the action, in capitals.
    pub tag: String,
    /// The small line beside it: what is shown, and where it is.
    pub heading: String,
    /// What to do, with the figures that matter.
    pub title: String,
    /// The sentence below.
    pub subtitle: String,
    /// What the upright axis shows; may be empty.
    pub axis: String,
    /// Entries of the legend.
    pub legend: Vec<Entry>,
    /// How the figures were made, paragraph by paragraph.
    pub footer: Vec<String>,
}

/// A piece of text in its place.
#[derive(Clone, Debug)]
struct Text {
    words: String,
    at: At,
    face: Face,
    color: RGBColor,
}

/// The words in their places, and the room they leave.
#[derive(Clone, Debug)]
pub struct Placed {
    texts: Vec<Text>,
    tag: Frame,
    strip: Strip,
    rule: f64,
    /// The room for the plot with its axes and labels.
    pub room: Frame,
}

impl Surround {
    /// One line for those who cannot see the picture.
    #[must_use]
    pub fn description(&self) -> String {
        // Without the marks that keep the direction of a name: where this goes, each text is by itself.
        format!("{}. {}", self.title, self.subtitle).replace(['\u{2068}', '\u{2069}'], "")
    }

    /// The same without what a page says around the picture: action, headline, how the figures were made.
    #[must_use]
    pub fn bare(&self) -> Self {
        let empty = String::new;
        Self { tag: empty(), heading: empty(), title: empty(), subtitle: empty(), footer: Vec::new(), ..self.clone() }
    }

    /// Whether a page says around the picture what it does not say itself.
    fn is_bare(&self) -> bool {
        self.tag.is_empty()
    }

    /// The same with more entries at the end of the legend: what drawing alone can tell.
    #[must_use]
    pub fn with_entries(&self, more: impl IntoIterator<Item = Entry>) -> Self {
        let mut words = self.clone();
        words.legend.extend(more);
        words
    }

    /// Places the words on a page. The footer loses paragraphs before the room for the plot gets lower than `least`.
    #[must_use]
    pub fn place(&self, page: Frame, least: f64) -> Placed {
        let (left, right) = (theme::MARGIN, page.right - theme::MARGIN);
        let (mut texts, tag, top) = self.head(left, right);
        let strip = Strip::new(&self.legend, right - left);
        let (foot, rule) = self.foot((left, right), page.bottom, strip.height, top + least);
        texts.extend(foot);
        let room = Frame { left, top, right, bottom: rule - 12.0 - strip.height };
        Placed { texts, tag, strip, rule, room }
    }

    /// The words above the plot, and the height at which it may begin.
    fn head(&self, left: f64, right: f64) -> (Vec<Text>, Frame, f64) {
        let top = theme::MARGIN - 6.0;
        if self.is_bare() {
            let baseline = SMALL.line_height();
            let axis = Text {
                words: SMALL.fit(&self.axis, right - left),
                at: (left, baseline),
                face: SMALL,
                color: theme::INK,
            };
            return (vec![axis], Frame { left, top, right: left, bottom: top }, baseline + 12.0);
        }
        let tag = Frame { left, top, right: left + TAG.width(&self.tag) + 22.0, bottom: top + 27.0 };
        let start = tag.right + 12.0;
        let text = |words: String, at: At, face: Face, color: RGBColor| Text { words, at, face, color };
        let mut texts = vec![
            text(self.tag.clone(), (left + 11.0, top + 19.0), TAG, theme::PAPER),
            text(SMALL.fit(&self.heading, right - start), (start, top + 19.0), SMALL, theme::SOFT),
        ];
        let mut baseline = tag.bottom + 4.0;
        // A narrow page has more lines, so that no word is lost.
        let most = if right - left < NARROW { 6 } else { 2 };
        for line in TITLE.wrap_even(&self.title, right - left, most) {
            baseline += TITLE.line_height();
            texts.push(text(line, (left, baseline), TITLE, theme::INK));
        }
        baseline += 7.0;
        for line in SUBTITLE.wrap(&self.subtitle, right - left, most.max(MOST_SUBTITLE)) {
            baseline += SUBTITLE.line_height();
            texts.push(text(line, (left, baseline), SUBTITLE, theme::SOFT));
        }
        if self.axis.is_empty() {
            return (texts, tag, baseline + 12.0);
        }
        baseline += 34.0 - SMALL.line_height();
        for line in SMALL.wrap(&self.axis, right - left, if most > 2 { 2 } else { 1 }) {
            baseline += SMALL.line_height();
            texts.push(text(line, (left, baseline), SMALL, theme::INK));
        }
        (texts, tag, baseline + 12.0)
    }

    /// The words below the legend, and the height of the rule above them.
    fn foot(&self, (left, right): (f64, f64), page_bottom: f64, strip: f64, least_top: f64) -> (Vec<Text>, f64) {
        let width = right - left;
        if self.is_bare() {
            return (Vec::new(), page_bottom);
        }
        let most = if width < NARROW { 6 } else { 2 };
        let mut paragraphs: Vec<Vec<String>> = self.footer.iter().map(|text| SMALL.wrap(text, width, most)).collect();
        let caution = SMALL.wrap(CAUTION, width, most);
        let bottom = page_bottom - theme::MARGIN + 8.0;
        let height = |lines: usize| lines as f64 * SMALL.line_height() + strip + 24.0;
        while !paragraphs.is_empty() && bottom - height(paragraphs.concat().len() + caution.len()) < least_top {
            paragraphs.pop();
        }
        let soft = paragraphs.concat().into_iter().map(|line| (line, theme::SOFT));
        let lines: Vec<(String, RGBColor)> = soft.chain(caution.into_iter().map(|line| (line, theme::INK))).collect();
        let rule = bottom - lines.len() as f64 * SMALL.line_height() - 6.0;
        let at = |row: usize| (left, rule + 2.0 + (row + 1) as f64 * SMALL.line_height());
        let texts = lines.into_iter().enumerate();
        (texts.map(|(row, (words, color))| Text { words, at: at(row), face: SMALL, color }).collect(), rule)
    }
}

impl Placed {
    /// Draws the sheet, the words and the legend.
    ///
    /// # Errors
    ///
    /// Whatever the backend reports.
    pub fn draw<DB: DrawingBackend>(&self, pen: &Pen<'_, DB>) -> Drawn<DB> {
        pen.rect(pen.page, theme::PAPER)?;
        if self.tag.width() > 0.0 {
            pen.rect(self.tag, theme::INK)?;
        }
        for text in &self.texts {
            pen.text(&text.words, text.at, Align::Left, text.face, text.color)?;
        }
        self.strip.draw(pen, (self.room.left, self.room.bottom))?;
        if self.rule >= pen.page.bottom {
            return Ok(());
        }
        pen.path(&[(self.room.left, self.rule), (self.room.right, self.rule)], 1.0, theme::FAINT)
    }
}
