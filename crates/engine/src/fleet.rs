//! A whole plant: histories that were read, and their judgements.

use crate::error::{Failure, shown};
use crate::ingest::Ingested;
use crate::ingest::register::Register;
use crate::ingest::repeats::leave_out_rows_of_no_weight;
use crate::priors::Priors;
use groundwall::assess::{self, Judgement, Learnt, SeriesAssessment, Spread, Survey, Terms, assess_fleet, assess_part};
use groundwall::record::{Connection, Scope};
use groundwall::series::{Series, SeriesKey};
use groundwall::table::SeriesTable;
use std::borrow::Cow;
use std::collections::BTreeSet;

/// Histories sorted into series, with what is needed to judge them.
pub struct Fleet<'p> {
    /// The series, in order of winding, connection and scope.
    pub series: SeriesTable,
    /// The nameplates; empty without a register.
    pub register: Cow<'p, assess::Register>,
    /// The terms of judgement.
    pub terms: Terms,
    /// The ledger of the rows; its tests have gone into the series.
    pub ingested: Ingested,
}

/// One winding, and which of its series.
#[derive(Clone, Debug, PartialEq)]
pub struct Wanted {
    /// The winding, as the history names it.
    pub winding: String,
    /// One connection only.
    pub connection: Option<Connection>,
    /// One scope only.
    pub scope: Option<Scope>,
}

impl Wanted {
    /// Whether a judged series is meant.
    #[must_use]
    pub fn is(&self, series: &SeriesAssessment) -> bool {
        self.names(&series.winding, || series.connection.clone(), || series.scope.clone())
    }

    fn fits(&self, key: &SeriesKey) -> bool {
        self.names(&key.winding, || key.connection.to_string(), || key.scope.to_string())
    }

    fn names(&self, winding: &str, connection: impl Fn() -> String, scope: impl Fn() -> String) -> bool {
        winding == self.winding
            && self.connection.as_ref().is_none_or(|wanted| wanted.to_string() == connection())
            && self.scope.is_none_or(|wanted| wanted.to_string() == scope())
    }
}

/// What is kept of a judgement when the series of one winding are looked for.
enum Kept {
    Wanted(Box<Judgement>),
    Other(String),
}

/// A judged series with the rows that it was made from.
pub struct Judged {
    /// The judgement.
    pub judgement: Judgement,
    /// Its rows, in time order.
    pub series: Series,
}

impl<'p> Fleet<'p> {
    /// The histories that were read, to be judged on these terms.
    #[must_use]
    pub fn new(mut ingested: Ingested, register: Option<&'p Register>, terms: Terms) -> Self {
        let mut series = std::mem::take(&mut ingested.series);
        let register = register.map_or_else(Cow::default, |register| register.for_windings(series.windings()));
        leave_out_rows_of_no_weight(&mut series);
        Self { series, register, terms, ingested }
    }

    /// The same, with nameplates of its own.
    #[must_use]
    pub fn into_owned(self) -> Fleet<'static> {
        let Self { series, register, terms, ingested } = self;
        Fleet { series, register: Cow::Owned(register.into_owned()), terms, ingested }
    }

    /// Judges every series. `finish` says what is kept of each judgement; the results are in the order of the series.
    pub fn judge<R: Send>(&self, cores: &impl Spread, finish: impl Fn(Judgement) -> R + Sync + Send) -> Vec<R> {
        assess_fleet(&self.series, &self.register, &self.terms, cores, finish)
    }

    /// What has to be known of every series before one is judged.
    pub fn survey(&self, cores: &impl Spread) -> Survey {
        Survey::of(&self.series, &self.register, self.terms.as_of, cores)
    }

    /// Learns from all series.
    ///
    /// # Errors
    ///
    /// A [`Failure`] of ours: what was just surveyed is there.
    pub fn learn(&self, cores: &impl Spread) -> Result<Learnt, Failure> {
        let learnt = self.survey(cores).choose().learn(&self.series, &self.register, &self.terms, cores);
        learnt.map_err(|error| Failure::internal(error.to_string()))
    }

    /// As [`Fleet::judge`], as a part of the fleet that was learnt from.
    ///
    /// # Errors
    ///
    /// A [`Failure`] where the answers could differ from those among the whole fleet.
    pub fn judge_under<R: Send>(
        &self,
        priors: &Priors,
        cores: &impl Spread,
        finish: impl Fn(Judgement) -> R + Sync + Send,
    ) -> Result<Vec<R>, Failure> {
        assess_part(&self.series, &self.register, &priors.learnt, &self.terms, cores, finish)
            .map_err(|why| priors.refused(&why))
    }

    /// Judges all series, because similar windings lend each other strength, and gives those of one winding that fit, in the
    /// order of connection and scope.
    ///
    /// # Errors
    ///
    /// A [`Failure`] when no series fits; it names the nearest ones.
    pub fn of_winding(&self, cores: &impl Spread, wanted: &Wanted) -> Result<Vec<Judged>, Failure> {
        let table = &self.series;
        let wanted = &self.whole_name(wanted);
        let places = (0..table.len()).filter(|i| wanted.fits(&table.key(*i)));
        let rows: Vec<Series> = places.map(|i| table.series(i)).collect();
        let judged = self.judge(cores, |judgement| {
            let series = &judgement.assessment;
            if wanted.is(series) { Kept::Wanted(Box::new(judgement)) } else { Kept::Other(series.name()) }
        });
        let (mut found, mut others) = (Vec::new(), Vec::new());
        for kept in judged {
            match kept {
                Kept::Wanted(judgement) => found.push(*judgement),
                Kept::Other(name) => others.push(name),
            }
        }
        if found.is_empty() {
            return Err(self.not_found(wanted, &others));
        }
        // Both are in the order of their keys.
        Ok(found.into_iter().zip(rows).map(|(judgement, series)| Judged { judgement, series }).collect())
    }

    /// The winding that is meant: the one of that name, or the only one whose name begins so.
    #[must_use]
    pub fn whole_name(&self, wanted: &Wanted) -> Wanted {
        if let Some(winding) = self.ingested.names.winding(&wanted.winding) {
            return Wanted { winding: winding.to_owned(), ..wanted.clone() };
        }
        let mut begun =
            self.series.windings().filter(|name| name.starts_with(&wanted.winding)).collect::<BTreeSet<_>>();
        let is_there = begun.contains(wanted.winding.as_str());
        let only = begun.pop_first().filter(|_| begun.is_empty() && !is_there);
        only.map_or_else(|| wanted.clone(), |winding| Wanted { winding: winding.to_owned(), ..wanted.clone() })
    }

    /// What is said where no series fits; `others` are the names of all that were judged.
    #[must_use]
    pub fn not_found(&self, wanted: &Wanted, others: &[String]) -> Failure {
        let files: Vec<&str> = self.ingested.inputs.iter().map(|ledger| ledger.file.as_str()).collect();
        let mut nearest: Vec<&String> = others.iter().collect();
        // Names that begin so, whatever their marks and blanks, go first.
        let plain = |name: &str| name.to_lowercase().chars().filter(|c| c.is_alphanumeric()).collect::<String>();
        let begins =
            |name: &str| !plain(&wanted.winding).is_empty() && plain(name).starts_with(&plain(&wanted.winding));
        nearest.sort_by_cached_key(|name| {
            let distance = strsim::damerau_levenshtein(&name.to_lowercase(), &wanted.winding.to_lowercase());
            (!begins(name), distance)
        });
        let nearest: Vec<String> = nearest.into_iter().take(NAMES_SHOWN).map(|name| shown(name)).collect();
        let failure =
            Failure::usage(format!("{}: no series of winding {} fits", files.join(", "), shown(&wanted.winding)));
        if nearest.is_empty() {
            failure.hint("the histories hold no test at all")
        } else {
            failure.hint(format!("the nearest are {}", nearest.join(", ")))
        }
    }
}

/// Names listed when a winding is not found.
const NAMES_SHOWN: usize = 3;
