//! A temperature law learnt from readings: how fast the resistance of these windings really falls with temperature.
//!
//! Tests of one winding made at different temperatures show what the assumed law gets wrong: the trend of its corrected
//! readings keeps a slope against temperature. That slope, with its uncertainty, is pooled over similar windings, and the law
//! is replaced where the evidence beats it.
//!
//! # References
//!
//! IEEE Std 43 cl. 6.3 (from memory): a winding's own factor from tests at two or more temperatures above the dew point.
//! Kass and Raftery 1995, doi:10.1080/01621459.1995.10476572: twice the log Bayes factor above 6 is strong evidence,
//! approximated by z² − ln n. Paule and Mandel 1982 for the pooling.

use super::{FALLS_PER_10_K, LearntRange, TemperatureLaw};
use crate::stats::pooling::{self, Common, Pooled};
use crate::units::{Temperature, TemperatureDifference};
use chrono::NaiveDate;
use std::f64::consts::LOG10_2;

/// Twice the log Bayes factor from which evidence counts as strong.
const STRONG_EVIDENCE: f64 = 6.0;
/// Fewer windings than this make no group.
const LEAST_GROUP: usize = 5;
/// Kelvins that a winding's temperatures must span to say anything.
const LEAST_SPAN_K: f64 = 8.0;
/// Standard errors either side of a reported halving interval: 90 % of a normal distribution.
const INTERVAL_SE: f64 = 1.644_853_626_951_472_7;
/// Days between tests in steady state: readings closer together follow a winding while it dries, warms or cools.
const LEAST_DAYS_APART: i64 = 14;

/// Share of what the temperatures tell, their squared distances from the mean, that may hang on a single test.
const MOST_OF_ONE_TEST: f64 = 0.75;

/// Whether nearly all that temperatures say about a law hangs on one test: a temperature written down wrongly would then make the
/// law. So it is where all tests but one were made at the same temperature, and those are four or more.
pub(crate) fn hangs_on_one_test(temperatures: &[Temperature]) -> bool {
    let mean = temperatures.iter().map(|t| t.as_celsius()).sum::<f64>() / temperatures.len() as f64;
    let squares = temperatures.iter().map(|t| (t.as_celsius() - mean).powi(2));
    squares.clone().fold(0.0, f64::max) > MOST_OF_ONE_TEST * squares.sum::<f64>()
}

/// The tests made in steady state, by their days in order: those without another within a fortnight, or else one reading of a
/// series that dried, warmed or cooled would make the law.
pub(crate) fn separate_tests(days: &[NaiveDate]) -> Vec<bool> {
    let apart = |pair: &[NaiveDate]| pair[1].signed_duration_since(pair[0]).num_days() >= LEAST_DAYS_APART;
    let gaps: Vec<bool> = days.windows(2).map(apart).collect();
    (0..days.len()).map(|k| (k == 0 || gaps[k - 1]) && gaps.get(k).copied().unwrap_or(true)).collect()
}

/// What one winding's readings say of the assumed law's error, before anything is borrowed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LawEvidence {
    /// The corrected readings' slope against temperature, decades per 10 K: positive where the assumed law corrects a
    /// warm reading too far up.
    pub error_per_10_k: f64,
    /// Its variance, decades² per (10 K)².
    pub variance: f64,
    /// Fall of log10 R that the assumed law supposes over the tested temperatures, decades per 10 K.
    pub assumed_per_10_k: f64,
    /// Tests it rests on.
    pub tests: usize,
    /// Coldest test.
    pub coldest: Temperature,
    /// Warmest test.
    pub warmest: Temperature,
}

/// Whose readings taught a law.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LearntFrom {
    /// The winding's own.
    Winding,
    /// Those of so many similar windings.
    Group(usize),
}

/// A halving interval learnt from readings, with its uncertainty.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LearntLaw {
    /// The interval.
    pub halving: TemperatureDifference,
    /// Lower end of its 90 % interval.
    pub halving_low: TemperatureDifference,
    /// Upper end; none where no fall with temperature at all is inside the interval.
    pub halving_high: Option<TemperatureDifference>,
    /// Whose readings.
    pub source: LearntFrom,
    /// Twice the log Bayes factor of this law against the assumed one.
    pub evidence: f64,
    /// Tests of the winding itself.
    pub tests: usize,
    /// Coldest test the law holds for.
    pub from: Temperature,
    /// Warmest test the law holds for.
    pub to: Temperature,
}

impl LearntLaw {
    /// Whether the evidence beats the assumed law.
    #[must_use]
    pub fn beats_the_assumed(&self) -> bool {
        self.evidence >= STRONG_EVIDENCE
    }

    /// The interval, and the temperatures at which it replaces the assumed law: those of the tests and no others.
    #[must_use]
    pub fn range(&self) -> LearntRange {
        LearntRange { interval: self.halving, from: self.from, to: self.to }
    }

    /// "halves every 17 K (15 K to 20 K), from the winding's own 24 tests between 14 °C and 47 °C".
    #[must_use]
    pub fn in_words(&self) -> String {
        let high = self.halving_high.map_or_else(|| "no limit".to_owned(), |high| high.to_string());
        let source = match self.source {
            LearntFrom::Winding => format!("the winding's own {} tests", self.tests),
            LearntFrom::Group(windings) => format!("{windings} similar windings"),
        };
        format!(
            "halves every {} ({} to {high}), from {source} between {} and {}",
            self.halving, self.halving_low, self.from, self.to
        )
    }
}

/// What the windings of a group say together about one and the same assumed law.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CommonLaw {
    error: Option<Common>,
    windings: usize,
}

impl CommonLaw {
    /// What a group that was pooled elsewhere says: the error per 10 K that its windings have in common, and how many they are.
    #[cfg(feature = "serde")]
    pub(crate) const fn new(error: Option<Common>, windings: usize) -> Self {
        Self { error, windings }
    }

    /// The error of the assumed law that they have in common, decades per 10 K.
    #[cfg(feature = "serde")]
    pub(crate) const fn error(&self) -> Option<Common> {
        self.error
    }

    /// How many windings said something.
    #[cfg(feature = "serde")]
    pub(crate) const fn windings(&self) -> usize {
        self.windings
    }

    /// Pools what the windings of a group say. Those whose readings say nothing are skipped.
    ///
    /// # Validity
    ///
    /// `group` holds windings corrected with one and the same law. Fewer than five make no group: each then stands alone.
    #[must_use]
    pub fn of(group: impl IntoIterator<Item = LawEvidence>) -> Self {
        let usable: Vec<LawEvidence> = group.into_iter().filter(LawEvidence::says_something).collect();
        let errors: Vec<f64> = usable.iter().map(|e| e.error_per_10_k).collect();
        let variances: Vec<f64> = usable.iter().map(|e| e.variance).collect();
        let pooled = (usable.len() >= LEAST_GROUP).then(|| pooling::pool(&errors, &variances).ok()).flatten();
        Self { error: pooled.as_ref().map(Pooled::common), windings: usable.len() }
    }

    /// What a winding of the group learns; nothing where its readings say nothing.
    ///
    /// The winding's own evidence goes before the group's. Both are drawn towards the group where there is one.
    #[must_use]
    pub fn for_winding(&self, evidence: &LawEvidence) -> Option<LearntLaw> {
        if !evidence.says_something() {
            return None;
        }
        let own = weigh(evidence.error_per_10_k, evidence.variance, evidence.tests);
        let (mut error, mut variance) = (evidence.error_per_10_k, evidence.variance);
        let (mut weight, mut source) = (own, LearntFrom::Winding);
        if let Some(pooled) = &self.error {
            let shrunken = pooled.draw(error, variance);
            (error, variance) = (shrunken.estimate, shrunken.variance);
            let common =
                weigh(pooled.mean, pooled.mean_variance.sqrt().powi(2) + pooled.between_variance, self.windings);
            if own < STRONG_EVIDENCE && common > own {
                (weight, source) = (common, LearntFrom::Group(self.windings));
            }
        }
        law_of(evidence, error, variance, weight, source)
    }
}

impl LawEvidence {
    fn says_something(&self) -> bool {
        (self.warmest - self.coldest).as_kelvins() >= LEAST_SPAN_K && self.variance > 0.0
    }
}

/// Twice the log Bayes factor of an error against none, by the approximation z² − ln n.
fn weigh(error: f64, variance: f64, n: usize) -> f64 {
    error * error / variance - libm::log(n as f64)
}

fn law_of(evidence: &LawEvidence, error: f64, variance: f64, weight: f64, source: LearntFrom) -> Option<LearntLaw> {
    let fall = evidence.assumed_per_10_k - error;
    let (flattest, steepest) = FALLS_PER_10_K;
    if !(flattest..=steepest).contains(&fall) {
        return None;
    }
    let spread = INTERVAL_SE * variance.sqrt();
    let interval = |fall: f64| TemperatureDifference::from_kelvins(10.0 * LOG10_2 / fall).ok().filter(|_| fall > 0.0);
    Some(LearntLaw {
        halving: interval(fall)?,
        halving_low: interval(fall + spread)?,
        halving_high: interval(fall - spread),
        source,
        evidence: weight,
        tests: evidence.tests,
        from: evidence.coldest,
        to: evidence.warmest,
    })
}

/// Fall of log10 R per 10 K that a law supposes over the temperatures of tests: the slope of the least-squares line through
/// its corrections. `None` where all temperatures are the same.
#[must_use]
pub fn assumed_fall_per_10_k(law: TemperatureLaw, temperatures: &[Temperature], reference: Temperature) -> Option<f64> {
    let n = temperatures.len() as f64;
    let mean = temperatures.iter().map(|t| t.as_celsius()).sum::<f64>() / n;
    let (mut square, mut product) = (0.0, 0.0);
    for t in temperatures {
        let distance = t.as_celsius() - mean;
        square += distance * distance;
        product += distance * law.correction(*t, reference).log10_factor;
    }
    (square > 0.0).then(|| 10.0 * product / square)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]
mod tests {
    use super::*;

    fn learn(group: &[Option<LawEvidence>]) -> Vec<Option<LearntLaw>> {
        let common = CommonLaw::of(group.iter().flatten().copied());
        group.iter().map(|evidence| common.for_winding(evidence.as_ref()?)).collect()
    }

    fn evidence(error: f64, sd: f64) -> Option<LawEvidence> {
        Some(LawEvidence {
            error_per_10_k: error,
            variance: sd * sd,
            assumed_per_10_k: 10.0 * LOG10_2 / 50.0,
            tests: 24,
            coldest: Temperature::from_celsius(14.0).unwrap(),
            warmest: Temperature::from_celsius(47.0).unwrap(),
        })
    }

    /// Squared distances from the mean of three at 25 °C and one at 35 °C: 18.75 and 56.25, three quarters of all.
    #[test]
    fn three_quarters_may_hang_on_one_test_and_no_more() {
        let hangs = |celsius: &[f64]| {
            hangs_on_one_test(&celsius.iter().map(|c| Temperature::from_celsius(*c).unwrap()).collect::<Vec<_>>())
        };
        assert!(!hangs(&[25.0, 25.0, 35.0, 25.0]));
        assert!(hangs(&[25.0, 25.0, 35.0, 25.0, 25.0]));
        assert!(!hangs(&[10.0, 14.0, 22.0, 31.0, 27.0, 18.0]));
        assert!(!hangs(&[25.0; 6]));
        assert!(!hangs(&[]));
    }

    /// Readings of a drying at days 100, 101 and 103 are not separate tests; the last is only because nothing follows it.
    #[test]
    fn readings_of_one_drying_are_no_separate_tests() {
        let day = |n: i64| NaiveDate::from_num_days_from_ce_opt(730_000 + i32::try_from(n).unwrap()).unwrap();
        let days = [0, 91, 100, 101, 103, 117, 200].map(day);
        assert_eq!(separate_tests(&days), [true, false, false, false, false, true, true]);
        assert_eq!(separate_tests(&[]), Vec::<bool>::new());
    }

    #[test]
    fn a_law_that_fits_is_left_alone() {
        let learnt = learn(&[evidence(0.004, 0.01)])[0].unwrap();
        assert!(!learnt.beats_the_assumed());
    }

    #[test]
    fn strong_evidence_of_one_winding_is_used_and_said() {
        let error = 10.0 * LOG10_2 * (1.0 / 50.0 - 1.0 / 17.0);
        let learnt = learn(&[evidence(error, 0.012)])[0].unwrap();
        assert!(learnt.beats_the_assumed());
        assert!((learnt.halving.as_kelvins() - 17.0).abs() < 1e-9);
        assert_eq!(
            learnt.in_words(),
            "halves every 17 K (15.3 K to 19.1 K), from the winding's own 24 tests between 14 °C and 47 °C"
        );
    }

    #[test]
    fn weak_evidence_of_many_becomes_strong_evidence_of_the_group() {
        let group: Vec<_> = (0..8).map(|i| evidence(-0.10 + 0.002 * f64::from(i), 0.04)).collect();
        let alone = learn(&group[..1])[0].unwrap();
        let together = learn(&group)[0].unwrap();
        assert!(!alone.beats_the_assumed());
        assert!(together.beats_the_assumed());
        assert_eq!(together.source, LearntFrom::Group(8));
    }

    #[test]
    fn nothing_is_learnt_from_one_temperature() {
        let mut narrow = evidence(-0.2, 0.01).unwrap();
        narrow.warmest = narrow.coldest;
        assert_eq!(learn(&[Some(narrow), None]), vec![None, None]);
    }

    /// An error that makes the law halve every 17 K where 50 K were assumed.
    fn every_17_k() -> f64 {
        10.0 * LOG10_2 * (1.0 / 50.0 - 1.0 / 17.0)
    }

    #[test]
    fn a_learnt_law_holds_at_the_temperatures_of_its_tests() {
        let LearntRange { interval, from, to } = learn(&[evidence(every_17_k(), 0.012)])[0].unwrap().range();
        assert!((interval.as_kelvins() - 17.0).abs() < 1e-9);
        assert_eq!((from.as_celsius(), to.as_celsius()), (14.0, 47.0));
    }

    /// Kass and Raftery: 6 and more is strong. z = 5 from 24 tests is 25 − ln 24 = 21.8219.
    #[test]
    fn evidence_is_strong_from_six() {
        let learnt = learn(&[evidence(-0.06, 0.012)])[0].unwrap();
        assert!((learnt.evidence - 21.821_946).abs() < 1e-6, "{learnt:?}");
        assert!(LearntLaw { evidence: 6.0, ..learnt }.beats_the_assumed());
        assert!(!LearntLaw { evidence: 5.999, ..learnt }.beats_the_assumed());
    }

    #[test]
    fn eight_kelvins_and_some_scatter_are_needed() {
        let over = |warmest: f64, sd: f64| {
            let evidence = evidence(every_17_k(), sd).unwrap();
            learn(&[Some(LawEvidence { warmest: Temperature::from_celsius(warmest).unwrap(), ..evidence })])[0]
        };
        assert!(over(22.0, 0.012).is_some());
        assert_eq!(over(21.9, 0.012), None);
        assert_eq!(over(22.0, 0.0), None);
    }

    #[test]
    fn an_interval_without_end_is_said_and_a_rise_with_temperature_is_no_law() {
        let learnt = learn(&[evidence(0.0, 0.05)])[0].unwrap();
        assert_eq!(learnt.halving_high, None);
        assert!(learnt.in_words().contains(" to no limit), from the winding's own 24 tests"), "{}", learnt.in_words());
        assert_eq!(learn(&[evidence(0.1, 0.012)]), [None]);
    }

    #[test]
    fn five_windings_make_a_group_and_four_do_not() {
        let group: Vec<_> = (0..5).map(|i| evidence(-0.10 + 0.002 * f64::from(i), 0.04)).collect();
        let five = learn(&group)[0].unwrap();
        assert_eq!(five.source, LearntFrom::Group(5));
        assert!(five.in_words().contains("from 5 similar windings between 14 °C and 47 °C"), "{}", five.in_words());
        assert_eq!(learn(&group[..4])[0].unwrap().source, LearntFrom::Winding);
    }

    /// The evidence of a group, by the Paule-Mandel rule in closed form: six errors of −0.1 ± 0.06 scatter by
    /// 6·0.06² = 0.0216 against 5 degrees of freedom, so that each has the variance 0.00432, of which 0.00272 are between
    /// the windings, and their mean 0.00072.
    #[test]
    fn a_winding_of_a_group_may_differ_from_the_mean_by_what_lies_between_them() {
        let group: Vec<_> = (0..6).map(|i| evidence(if i % 2 == 0 { -0.16 } else { -0.04 }, 0.04)).collect();
        let nearer = learn(&group)[1].unwrap();
        assert_eq!(nearer.source, LearntFrom::Group(6));
        assert!((nearer.evidence - (0.01 / (0.000_72 + 0.002_72) - 6f64.ln())).abs() < 1e-9, "{nearer:?}");
        // Drawn to −0.1 + 0.06·0.00272/0.00432, with the variance of both shares.
        let own: f64 = 0.002_72 / 0.004_32;
        let error = -0.1 + 0.06 * own;
        let spread = 1.644_853_627 * (own * 0.0016 + (1.0 - own).powi(2) * 0.000_72).sqrt();
        let interval = |error: f64| 10.0 * LOG10_2 / (10.0 * LOG10_2 / 50.0 - error);
        assert!((nearer.halving.as_kelvins() - interval(error)).abs() < 1e-6, "{nearer:?}");
        assert!((nearer.halving_low.as_kelvins() - interval(error - spread)).abs() < 1e-6, "{nearer:?}");
        assert!((nearer.halving_high.unwrap().as_kelvins() - interval(error + spread)).abs() < 1e-6, "{nearer:?}");
    }

    /// z² − ln 24 = 21.8 alone; the group of five has z² − ln 5 = 123.4.
    #[test]
    fn strong_evidence_of_its_own_goes_before_the_stronger_one_of_the_group() {
        let learnt = learn(&vec![evidence(-0.10, 0.02); 5])[0].unwrap();
        assert_eq!(learnt.source, LearntFrom::Winding);
        assert!((learnt.evidence - (25.0 - 24f64.ln())).abs() < 1e-9, "{learnt:?}");
    }

    /// One row weighs z² alone: from z² = 6 on, and not below, it goes before the group's.
    #[test]
    fn evidence_of_its_own_goes_before_the_groups_from_six() {
        let source = |z2: f64| {
            let one = LawEvidence { variance: 0.015_625 / z2, tests: 1, ..evidence(-0.125, 1.0).unwrap() };
            learn(&[Some(one); 5])[0].unwrap().source
        };
        assert_eq!(source(6.0), LearntFrom::Winding);
        assert_eq!(source(5.999), LearntFrom::Group(5));
    }

    /// Five windings of five tests each without any error: −ln 5 from the winding as from the group.
    #[test]
    fn a_group_that_says_no_more_than_the_winding_does_not_teach_it() {
        let nothing = LawEvidence { tests: 5, ..evidence(0.0, 0.02).unwrap() };
        assert_eq!(learn(&[Some(nothing); 5])[0].unwrap().source, LearntFrom::Winding);
        // Windings that differ: 0.01/(0.00072 + 0.00392) − ln 6 = 0.36 from the group, 4 − ln 24 = 0.82 from the winding.
        let group: Vec<_> = (0..6).map(|i| evidence(if i % 2 == 0 { -0.16 } else { -0.04 }, 0.02)).collect();
        let nearer = learn(&group)[1].unwrap();
        assert_eq!(nearer.source, LearntFrom::Winding);
        assert!((nearer.evidence - (4.0 - 24f64.ln())).abs() < 1e-9, "{nearer:?}");
    }

    /// Halving every 10 K is a fall of log10 2 = 0.30103 decades per 10 K, at whatever temperatures it is asked.
    #[test]
    fn the_assumed_fall_is_the_slope_of_the_law() {
        let celsius = |value: f64| Temperature::from_celsius(value).unwrap();
        let fall = |at: &[f64]| {
            let at: Vec<Temperature> = at.iter().map(|t| celsius(*t)).collect();
            assumed_fall_per_10_k(TemperatureLaw::thermoplastic(), &at, celsius(40.0))
        };
        for at in [&[20.0, 40.0][..], &[20.0, 25.0, 45.0]] {
            assert!((fall(at).unwrap() - LOG10_2).abs() < 1e-12, "{at:?}");
        }
        assert_eq!(fall(&[25.0, 25.0]), None);
    }
}
