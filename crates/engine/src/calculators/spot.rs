//! One reading judged at the machine.

use crate::error::Failure;
use crate::values::ItemText;
use chrono::NaiveDate;
use groundwall::absorption::one_minute;
use groundwall::assess::{
    Action, Code, Finding, InTurn, Judgement, Minimum, Register, SeriesAssessment, Terms, assess_fleet,
};
use groundwall::nameplate::Nameplate;
use groundwall::policy::Policy;
use groundwall::record::validate::TestRules;
use groundwall::record::{Connection, Phase, Procedure, TestRecord, TestedOn};
use groundwall::resistance::{Bound, Measured};
use groundwall::series::Series;
use groundwall::units::{Confidence, RelativeHumidity, Temperature, Voltage};
use serde::Serialize;

/// What the single winding is called inside; nobody sees it.
const NAME: &str = "spot";

/// One reading, with what is known of its test and its machine.
#[derive(Clone, Debug)]
pub struct Spot {
    /// Resistance after one minute.
    pub r60: Measured,
    /// Temperature of the winding.
    pub winding_temp: Option<Temperature>,
    /// Temperature of the air.
    pub air_temp: Option<Temperature>,
    /// Relative humidity of the air.
    pub humidity: Option<RelativeHumidity>,
    /// Direct voltage applied.
    pub test_volts: Option<Voltage>,
    /// Cells of the record of the test.
    pub record: Vec<ItemText>,
    /// What is known of the machine.
    pub nameplate: Nameplate,
}

/// A reading judged.
#[derive(Clone, Debug)]
pub struct SpotJudged {
    /// The reading.
    pub read: Measured,
    /// Its judgement.
    pub judgement: Judgement,
    /// How many times the minimum the reading is at least; "less than" gives no margin.
    pub margin: Option<f64>,
}

/// The answer as a program reads it.
#[derive(Clone, Debug, Serialize)]
pub struct Answer<'a> {
    r60_mohm: Option<f64>,
    bound: Bound,
    kt: Option<f64>,
    r60_ref_mohm: Option<f64>,
    minimum: Option<&'a Minimum>,
    margin: Option<f64>,
    action: Action,
    findings: &'a [Finding],
}

impl Spot {
    /// Judges the reading as of a day, on which it was taken.
    ///
    /// # Errors
    ///
    /// A [`Failure`] for a cell of the record that cannot be read.
    pub fn judge(self, policy: Policy, as_of: NaiveDate) -> Result<SpotJudged, Failure> {
        let mut procedure = Procedure::default();
        for ItemText { item, text } in &self.record {
            TestRules::default().read_item(&mut procedure, *item, text).map_err(|fault| {
                Failure::usage(format!("{} is {text}; {}", item.name(), fault.rule)).hint(fault.hint)
            })?;
        }
        let read = self.r60;
        let judgement = self.judgement(procedure, policy, as_of);
        let judgement = judgement.ok_or_else(|| Failure::ours("one reading gave no judgement"))?;
        let margin = margin(&judgement.assessment);
        Ok(SpotJudged { read, judgement, margin })
    }

    fn judgement(self, procedure: Procedure, policy: Policy, as_of: NaiveDate) -> Option<Judgement> {
        let connection =
            if procedure.other_phases.is_some() { Connection::PhaseEarth(Phase::U) } else { Connection::AllEarth };
        let test = TestRecord::builder(NAME, TestedOn::day(as_of))
            .connection(connection)
            .procedure(procedure)
            .reading(one_minute(), self.r60.with_full_scale(policy.full_scale))
            .test_volts(self.test_volts)
            .winding_temp(self.winding_temp)
            .air_temp(self.air_temp)
            .humidity(self.humidity)
            .build()
            .ok()?;
        let register = Register::from([(NAME.to_owned(), self.nameplate)]);
        let terms = Terms { policy, as_of, confidence: Confidence::from_fraction(0.9).ok()? };
        let mut judged = assess_fleet(Series::collect([test]), &register, &terms, &InTurn, |judgement| judgement);
        let mut judgement = judged.pop()?;
        // One reading is all there is: that it gives no trend need not be said, and far above the minimum it asks for nothing.
        let result = &mut judgement.assessment;
        result.findings.retain(|finding| finding.code != Code::FewReadings);
        let is_far = margin(result).is_some_and(|margin| margin >= terms.policy.doubt_margin);
        if result.action == Action::Gather && is_far {
            result.action = Action::Keep;
        }
        Some(judgement)
    }
}

impl SpotJudged {
    /// The answer as a program reads it.
    #[must_use]
    pub fn answer(&self) -> Answer<'_> {
        let result = &self.judgement.assessment;
        let latest = result.latest.as_ref();
        Answer {
            r60_mohm: self.read.resistance().map(|r| r.as_megohms()),
            bound: latest.map_or(self.read.bound(), |latest| latest.bound),
            kt: latest.and_then(|latest| latest.kt),
            r60_ref_mohm: latest.and_then(|latest| latest.r60_ref_mohm),
            minimum: result.minimum.as_ref(),
            margin: self.margin,
            action: result.action,
            findings: &result.findings,
        }
    }
}

/// How many times the minimum the reading is at least: as it was read where the limit is one for that.
fn margin(result: &SeriesAssessment) -> Option<f64> {
    let latest = result.latest.as_ref().filter(|latest| latest.bound != Bound::Below)?;
    let minimum = result.minimum.as_ref()?;
    let (value, limit) = match minimum.as_read {
        Some(limit) => (latest.r60_mohm?, limit),
        None => (latest.r60_ref_mohm?, minimum.resistance),
    };
    Some(value / limit.as_megohms())
}
