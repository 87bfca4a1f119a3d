//! The options of a run.

use std::error::Error;
use std::path::PathBuf;

pub(crate) const USAGE: &str = "make-fleet --windings N --tests N --out FILE [--register FILE] [--order winding|round] \
[--every quarter|hour] [--failing SHARE] [--seed N]";

/// Order of the rows.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Order {
    /// All tests of a winding together.
    Winding,
    /// All windings of a round together.
    Round,
}

/// Time between two tests.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Every {
    Quarter,
    Hour,
}

impl Every {
    pub(crate) const fn days(self) -> f64 {
        match self {
            Self::Quarter => 365.25 / 4.0,
            Self::Hour => 1.0 / 24.0,
        }
    }
}

/// What to make.
pub(crate) struct Options {
    pub(crate) windings: u64,
    pub(crate) tests: u64,
    pub(crate) order: Order,
    pub(crate) every: Every,
    /// Share of the windings that fail.
    pub(crate) failing: f64,
    pub(crate) seed: u64,
    pub(crate) out: PathBuf,
    pub(crate) register: Option<PathBuf>,
}

impl Options {
    /// Reads the arguments behind the program's name.
    pub(crate) fn read(mut arguments: impl Iterator<Item = String>) -> Result<Self, Box<dyn Error>> {
        let mut options = Self {
            windings: 2500,
            tests: 40,
            order: Order::Winding,
            every: Every::Quarter,
            failing: 0.06,
            seed: 20_261_125,
            out: PathBuf::new(),
            register: None,
        };
        while let Some(argument) = arguments.next() {
            let mut value = || arguments.next().ok_or(format!("{argument} needs a value; {USAGE}"));
            match argument.as_str() {
                "--windings" => options.windings = value()?.parse()?,
                "--tests" => options.tests = value()?.parse()?,
                "--failing" => options.failing = value()?.parse()?,
                "--seed" => options.seed = value()?.parse()?,
                "--out" => options.out = value()?.into(),
                "--register" => options.register = Some(value()?.into()),
                "--order" => {
                    options.order = match value()?.as_str() {
                        "winding" => Order::Winding,
                        "round" => Order::Round,
                        other => return Err(format!("--order is {other}; winding or round").into()),
                    }
                }
                "--every" => {
                    options.every = match value()?.as_str() {
                        "quarter" => Every::Quarter,
                        "hour" => Every::Hour,
                        other => return Err(format!("--every is {other}; quarter or hour").into()),
                    }
                }
                other => return Err(format!("unknown argument {other}; {USAGE}").into()),
            }
        }
        if options.out.as_os_str().is_empty() {
            return Err(format!("--out is missing; {USAGE}").into());
        }
        if options.windings == 0 || options.tests == 0 || !(0.0..=1.0).contains(&options.failing) {
            return Err("windings and tests must be at least 1, the failing share from 0 to 1".into());
        }
        if options.years() > 120.0 {
            return Err(
                format!("{:.0} years of tests are more than a winding has; at most 120", options.years()).into()
            );
        }
        Ok(options)
    }

    /// Length of the histories.
    pub(crate) fn years(&self) -> f64 {
        self.tests as f64 * self.every.days() / 365.25
    }
}
