//! One reading judged at the machine.

use crate::error::{Failure, shown};
use crate::priors::Priors;
use crate::values::ItemText;
use chrono::NaiveDate;
use groundwall::absorption::one_minute;
use groundwall::assess::{Action, Code, Finding, Judgement, Minimum, SeriesAssessment, Terms, assess, assess_beside};
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
    /// The group of similar windings, where priors were given that know it.
    pub taught: Option<GroupTaught>,
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
    priors: Option<&'a GroupTaught>,
}

/// The group whose windings taught what is believed of this one.
#[derive(Clone, Debug, Serialize)]
pub struct GroupTaught {
    /// Its name.
    pub group: String,
    /// How many series its prior was learnt from.
    pub learnt_from: usize,
    /// The day as of which it was learnt.
    pub as_of: NaiveDate,
}

impl Spot {
    /// Judges the reading as of a day, on which it was taken; with priors by what its group taught too, which never makes an answer less urgent.
    ///
    /// # Errors
    ///
    /// A [`Failure`] for a cell of the record that cannot be read, for priors of another policy or a later day, and for a group that they
    /// do not know.
    pub fn judge(self, policy: Policy, as_of: NaiveDate, priors: Option<&Priors>) -> Result<SpotJudged, Failure> {
        let mut procedure = Procedure::default();
        for ItemText { item, text } in &self.record {
            TestRules::default().read_item(&mut procedure, *item, text).map_err(|fault| {
                Failure::usage(format!("{} is {text}; {}", item.name(), fault.rule)).hint(fault.hint)
            })?;
        }
        let taught = priors.map(|priors| taught(&self.nameplate, priors)).transpose()?.flatten();
        let read = self.r60;
        let judgement = self.judgement(procedure, policy, as_of, priors)?;
        let margin = margin(&judgement.assessment);
        Ok(SpotJudged { read, judgement, margin, taught })
    }

    fn judgement(
        self,
        procedure: Procedure,
        policy: Policy,
        as_of: NaiveDate,
        priors: Option<&Priors>,
    ) -> Result<Judgement, Failure> {
        let ours = || Failure::internal("one reading gave no judgement");
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
            .map_err(|_| ours())?;
        let terms = Terms { policy, as_of, confidence: Confidence::from_fraction(0.9).map_err(|_| ours())? };
        let series = Series::collect([test]).pop().ok_or_else(ours)?;
        let mut judgement = match priors {
            None => assess(&series, &self.nameplate, &terms),
            Some(priors) => {
                assess_beside(&series, &self.nameplate, &priors.learnt, &terms).map_err(|why| priors.refused(&why))?
            }
        };
        // One reading is all there is: that it gives no trend need not be said, and far above the minimum it asks for nothing.
        let result = &mut judgement.assessment;
        result.findings.retain(|finding| finding.code != Code::FewReadings);
        let is_far = margin(result).is_some_and(|margin| margin >= terms.policy.doubt_margin);
        if result.action == Action::Gather && is_far {
            result.action = Action::Keep;
        }
        Ok(judgement)
    }
}

/// What the group of a winding taught; none where the fleet had no such winding, unless the group was named.
fn taught(nameplate: &Nameplate, priors: &Priors) -> Result<Option<GroupTaught>, Failure> {
    let group = nameplate.group_name();
    if let Some((_, learnt_from)) = priors.learnt.groups().find(|(name, _)| *name == group) {
        return Ok(Some(GroupTaught { group, learnt_from, as_of: priors.learnt.as_of() }));
    }
    if nameplate.group.is_none() {
        return Ok(None);
    }
    let groups: Vec<String> = priors.learnt.groups().map(|(name, _)| shown(name)).collect();
    Err(Failure::usage(format!("{}: the group is {}; the fleet had no such group", priors.name, shown(&group)))
        .hint(format!("its groups were {}", groups.join("; "))))
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
            priors: self.taught.as_ref(),
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
