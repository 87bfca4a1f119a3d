//! From the arguments to one checked plan: files that are read once (register, policy) are read here, defaults are filled
//! in, and what cannot go together is refused. The clock is asked here and nowhere else.

use crate::args::HistoryArgs;
use crate::files::input::Expanded;
use crate::files::place::whereabouts;
use crate::files::{Input, input};
use chrono::{Local, NaiveDate};
use groundwall::policy::Policy;
use groundwall::record::validate::TestRules;
use groundwall::units::Confidence;
use groundwall_engine::error::{Failure, Status};
use groundwall_engine::ingest::given::{self, Given};
use groundwall_engine::ingest::mapping::Mapping;
use groundwall_engine::ingest::register::Register;
use groundwall_engine::ingest::{Ingested, ReadingRules};
use groundwall_engine::policy_file;
use groundwall_engine::priors::Priors;
use groundwall_engine::site::Site;
use std::path::{Path, PathBuf};

/// Everything that a run over histories needs.
#[derive(Clone, Debug)]
pub struct Plan {
    /// The histories, in the order given.
    pub inputs: Vec<Input>,
    /// What is said of the inputs before they are read.
    pub remarks: Vec<String>,
    /// What is known of the windings, if a register was given.
    pub register: Option<Register>,
    /// The site's rules.
    pub policy: Policy,
    /// What headers stand for by the policy file.
    pub policy_columns: Mapping,
    /// The day of the judgement.
    pub as_of: NaiveDate,
    /// Confidence of every interval.
    pub confidence: Confidence,
    /// How the histories are read.
    pub rules: ReadingRules,
    /// Whether a rejected row changes the exit status.
    pub strict: bool,
}

impl Plan {
    /// The histories as messages name them.
    #[must_use]
    pub fn names(&self) -> Vec<String> {
        self.inputs.iter().map(ToString::to_string).collect()
    }

    /// Reads the histories.
    ///
    /// # Errors
    ///
    /// A [`Failure`] with the problems of every one that cannot be read as a history.
    pub fn ingest(&self) -> Result<Ingested, Failure> {
        let given: Vec<Given<'_>> = self.inputs.iter().map(|input| input.given(self.rules.encoding)).collect();
        given::ingest(&given, &self.rules)
    }

    /// Makes the plan.
    ///
    /// # Errors
    ///
    /// A [`Failure`] with everything that is wrong with the policy and the register, or when one of the files to be written
    /// is one that is read.
    pub fn check(args: &HistoryArgs, outputs: &[Option<&Path>]) -> Result<Self, Failure> {
        let (plan, unreadable) = Self::without_register(args, outputs)?;
        unreadable.map_or(Ok(plan), Err)
    }

    /// Makes the plan even if the register cannot be read; it then has none, and the failure is given beside it.
    ///
    /// # Errors
    ///
    /// As [`Plan::check`], but for a register alone.
    pub fn without_register(args: &HistoryArgs, outputs: &[Option<&Path>]) -> Result<(Self, Option<Failure>), Failure> {
        let places = args.inputs.iter().chain(&args.register).chain(&args.policy);
        if places.filter(|input| **input == Input::Stdin).count() > 1 {
            return Err(Failure::usage("standard input (-) is named more than once; it can be read only once")
                .hint("save one of the inputs to a file and name that"));
        }
        let Expanded { inputs, locks } = input::expand(&args.inputs)?;
        must_not_overwrite(inputs.iter().chain(&args.register).chain(&args.policy).chain(&args.settings), outputs)?;
        must_be_apart(outputs)?;
        let policy = args.policy.as_ref().map_or_else(|| Ok(Default::default()), read_policy);
        let read = |input: &Input, mapping: &Mapping| {
            Register::parse(&input.to_string(), &input.read()?, args.delimiter, args.decimal_comma, mapping)
        };
        let policy_columns = policy.as_ref().map(|(_, own)| own.clone()).unwrap_or_default();
        let register = args.register.as_ref().map(|input| move |mapping: &Mapping| read(input, mapping));
        let (site, unreadable) = Site::read(policy, &args.columns, register, &args.names)?;
        let Site { policy, register, names, .. } = site;
        let today = Local::now().date_naive();
        let as_of = args.as_of.unwrap_or(today);
        let mut plan = Self {
            inputs,
            remarks: locks.iter().map(|path| input::passed_over(path)).collect(),
            register,
            policy,
            policy_columns,
            as_of,
            confidence: args.confidence.map_or_else(usual_confidence, Ok)?,
            rules: ReadingRules { names, ..ReadingRules::default() },
            strict: args.strict,
        };
        plan.rules = plan.rules_by(args);
        Ok((plan, unreadable))
    }

    /// How histories are read by other arguments.
    #[must_use]
    pub fn rules_by(&self, args: &HistoryArgs) -> ReadingRules {
        let tests = TestRules {
            decimal_comma: args.decimal_comma,
            // A form of months is one of periods, which have no day.
            date_format: match args.date_format.as_slice() {
                [only] if !crate::values::is_month_form(only) => Some(only.clone()),
                _ => None,
            },
            zero_means_below: self.policy.zero_means_below,
            full_scale: args.full_scale.or(self.policy.full_scale),
            workbook: None,
            // Judged as of another day, what was tested later is left out, whenever that was.
            latest_day: args.as_of.is_none().then_some(self.as_of),
        };
        ReadingRules {
            tests,
            delimiter: args.delimiter,
            decimal_point: args.decimal_point,
            sheets: args.sheet.clone(),
            skipped_sheets: args.skip_sheet.clone(),
            date_forms: args.date_format.clone(),
            as_of: Some(self.as_of),
            encoding: args.encoding,
            plain_only: false,
            layouts: args.layouts.clone(),
            mapping: args.columns.clone().under(self.policy_columns.clone()),
            names: self.rules.names.clone(),
        }
    }

    /// How a run ends that did what was asked: rejected rows of a history and cells of the register that cannot be read
    /// change the status where the user is strict.
    #[must_use]
    pub fn status(&self, ingested: &Ingested) -> Status {
        let unread =
            self.register.as_ref().is_some_and(|register| !register.unread.is_empty() || !register.unnamed.is_empty());
        if self.strict && unread { Status::RowsRejected } else { ingested.status(self.strict) }
    }
}

/// Confidence of every interval where none is given.
fn usual_confidence() -> Result<Confidence, Failure> {
    Confidence::from_fraction(0.9).map_err(|error| Failure::internal(error.to_string()))
}

/// Refuses to write a result over a file that it is made from: a history is often the only copy there is.
pub(crate) fn must_not_overwrite<'a>(
    inputs: impl Iterator<Item = &'a Input>,
    outputs: &[Option<&Path>],
) -> Result<(), Failure> {
    // What is not a plain file, such as a terminal, may be both.
    let place = |path: &Path| path.canonicalize().ok().filter(|place| place.is_file());
    let written: Vec<(&Path, PathBuf)> =
        outputs.iter().flatten().filter_map(|path| Some((*path, place(path)?))).collect();
    for input in inputs {
        let Input::File(read) = input else { continue };
        let Some(read) = place(read) else { continue };
        if let Some((path, _)) = written.iter().find(|(_, place)| *place == read) {
            let message = format!("{}: this is an input file; the result would overwrite it", path.display());
            return Err(Failure::usage(message).hint("give the result a name of its own"));
        }
    }
    Ok(())
}

/// Refuses two results of one command under one name: the second would be written over the first.
fn must_be_apart(outputs: &[Option<&Path>]) -> Result<(), Failure> {
    // A device, such as that for what nobody wants, may get both.
    let is_device = |path: &Path| path.metadata().is_ok_and(|found| !found.is_file());
    let places: Vec<(&Path, PathBuf)> =
        outputs.iter().flatten().filter(|path| !is_device(path)).map(|path| (*path, whereabouts(path))).collect();
    let second = (1..places.len()).find(|at| places[..*at].iter().any(|(_, place)| *place == places[*at].1));
    second.map_or(Ok(()), |at| {
        let message = format!("{}: two results would be written into this one file", places[at].0.display());
        Err(Failure::usage(message).hint("give each a name of its own"))
    })
}

fn read_policy(input: &Input) -> Result<(Policy, Mapping), Failure> {
    policy_file::read(&input.to_string(), input.read()?)
}

/// The site's policy, or the default one.
///
/// # Errors
///
/// A [`Failure`] with everything that is wrong with the file.
pub fn policy(input: Option<&Input>) -> Result<Policy, Failure> {
    input.map_or_else(|| Ok(Policy::default()), |input| read_policy(input).map(|(policy, _)| policy))
}

/// What a fleet taught, from the file that `assess --save-priors` wrote.
///
/// # Errors
///
/// A [`Failure`] when it cannot be read or is no such file.
pub fn priors(path: &Path) -> Result<Priors, Failure> {
    let input = Input::File(path.to_owned());
    Priors::read(&input.to_string(), &input.read()?)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::args::{Cli, Command};
    use clap::Parser;

    fn plan(args: &[&str]) -> Result<Plan, String> {
        let cli = Cli::try_parse_from([&["groundwall", "check"], args].concat()).map_err(|error| error.to_string())?;
        match cli.command {
            Command::Check(args) => Plan::check(&args.history, &[]).map_err(|failure| failure.to_string()),
            _ => Err("another command".to_owned()),
        }
    }

    #[test]
    fn options_go_before_the_policy_and_the_policy_before_the_default() {
        let plan = plan(&["a.csv", "--full-scale", "2 GΩ", "--as-of", "2026-11-25", "--confidence", "0.8"]);
        let plan = plan.map(|p| (p.rules.tests.full_scale.map(|r| r.as_megohms()), p.as_of.to_string(), p.confidence));
        assert!(matches!(plan, Ok((Some(2000.0), day, confidence))
            if day == "2026-11-25" && confidence.to_string() == "80 %"));
    }

    #[test]
    fn standard_input_is_read_once() {
        assert_eq!(
            plan(&["-", "--register", "-"]).err().as_deref(),
            Some(
                "standard input (-) is named more than once; it can be read only once\n\
                  hint: save one of the inputs to a file and name that"
            )
        );
    }
}
