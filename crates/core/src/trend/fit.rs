//! One stretch from readings to answers: the order of the steps, and what is read off at the end.

use super::approach::Approach;
use super::band::{self, Band, ReadingForecast, band};
use super::crossing::Crossing;
use super::fall::{self, Fall};
use super::kept::Model;
use super::mixture::{Mixture, Moments};
use super::models::{self, Models, Step};
use super::noise::{self, NoiseKind, STEP, TEMPERATURE};
use super::prepared::{self, Prepared};
use super::priors::{LEAST_EXACT, LEAST_READINGS, NoiseWeights, OUTLIER_SD, OUTLIER_SHARE, Priors};
use super::robust::{Robust, robust};
use super::shapes::{self, Shape, Span};
use super::shift::{self, Shift};
use super::stretch::{Reading, Stretch, exact_count};
use crate::stats::student::StudentTable;
use crate::units::{Confidence, Decades, Probability, Resistance, Slope, TemperatureDifference, Years};

/// A stretch whose models are solved but not yet averaged: the weights of the noise kinds may still be learnt.
#[derive(Clone, Debug)]
pub struct Solved {
    models: Models,
    p_outlier: Vec<f64>,
    fall: Option<Fall>,
    shift: Option<Shift>,
    used: Vec<Reading>,
    step_began: f64,
    mean_warmth: f64,
}

/// What one stretch says, ready to be asked.
///
/// # The model in words
/// log10 of corrected resistance is a level that follows one of twelve shapes, plus season, plus what the temperature
/// law got wrong, plus one of three kinds of noise. All combinations are solved and averaged by how well they explain
/// the readings; every answer is read off the average.
///
/// # Units
/// Times are years from the as-of date, past negative; levels are log10 MΩ at the reference temperature.
#[derive(Clone, Debug)]
pub struct StretchFit {
    solved: Solved,
    mixture: Mixture,
}

/// A value and its standard deviation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimate {
    /// Mean.
    pub mean: f64,
    /// Standard deviation.
    pub sd: f64,
}

/// A stretch after its robust pass: outliers are distinguished from ordinary readings, nothing is modelled yet.
#[derive(Clone, Debug)]
pub struct Screened<'a> {
    pub(super) used: &'a [Reading],
    law_errors: (f64, f64),
    priors: &'a Priors,
    ready: Vec<Prepared>,
    pub(super) span: Span,
    pub(super) pass: Robust,
}

/// Passes over a stretch under the given priors: the summary for its group and its models both begin there.
pub fn screen<'a>(stretch: &'a Stretch, priors: &'a Priors) -> Screened<'a> {
    let used = stretch.readings();
    let mut ready = Vec::new();
    prepared::prepare(used, priors, &mut ready);
    let span = prepared::span(&ready);
    let pass = robust(&ready, &span, priors);
    Screened { used, law_errors: stretch.law_errors(), priors, ready, span, pass }
}

impl Screened<'_> {
    /// Looks for a recent fall and for a shift of the level, and solves all models.
    pub fn solve(self) -> Solved {
        let Self { mut used, law_errors, priors, mut ready, span, mut pass } = self;
        let mut shift = None;
        let mut fallen = None;
        if let Some(found) = fall::find(&ready, &pass, priors) {
            pass = found.earlier;
            for r in &ready[ready.len() - found.fall.readings..] {
                pass.append(r);
            }
            fallen = Some(found.fall);
        } else {
            shift = shift::find(&ready, &span, &pass, priors);
            if let Some(found) = shift {
                // A shift resets the level, not the slope: what came before still tells how the winding declines.
                for r in &mut ready[..found.index] {
                    r.y += found.step_log10;
                }
                pass = robust(&ready, &span, priors);
            }
            if let Some(last) = ready.last() {
                pass.trust(ready.len() - 1, last);
            }
        }
        let step = match (fallen, shift) {
            (Some(fall), _) => Step::Fall { readings: fall.readings },
            (None, Some(found)) => Step::Shift { readings: ready.len() - found.index },
            (None, None) => Step::None,
        };
        let models = models::solve(&ready, span, &pass, step, law_errors, priors);
        let step_began = if models.has_step { ready[ready.len() - step.readings()].t } else { f64::INFINITY };
        let dropped = shift.map_or(0, |found| found.index);
        pass.p_outlier.drain(..dropped);
        used = &used[dropped..];
        let mean_warmth = ready.iter().map(|r| r.warmth).sum::<f64>() / ready.len().max(1) as f64;
        Solved { models, p_outlier: pass.p_outlier, fall: fallen, shift, used: used.to_vec(), step_began, mean_warmth }
    }
}

/// Solves all models of a stretch under the given priors.
pub fn solve(stretch: &Stretch, priors: &Priors) -> Solved {
    screen(stretch, priors).solve()
}

impl Solved {
    #[cfg(test)]
    pub(super) fn models(self) -> Models {
        self.models
    }

    /// ln evidence of each kind of noise, if the stretch has enough readings to teach the group.
    pub fn noise_evidence(&self) -> Option<[f64; noise::COUNT]> {
        let enough = self.used.len() >= LEAST_READINGS && exact_count(&self.used) >= LEAST_EXACT;
        enough.then_some(self.models.ln_evidence)
    }

    /// Averages the models.
    pub fn average(mut self, weights: &NoiseWeights) -> StretchFit {
        let mixture = Mixture::new(&mut self.models, weights);
        StretchFit { solved: self, mixture }
    }
}

/// Looks for a recent fall in a stretch, and for nothing else.
pub fn recent_fall(stretch: &Stretch, priors: &Priors) -> Option<Fall> {
    let Screened { ready, pass, .. } = screen(stretch, priors);
    fall::find(&ready, &pass, priors).map(|found| found.fall)
}

/// Fits one stretch on its own, with default priors.
///
/// # Validity
/// Any stretch; with bounds alone, or fewer than three readings, [`StretchFit::crossing`] says why there is no date.
///
/// # Examples
/// ```
/// use groundwall::{resistance::Bound, trend::{fit_lone, CannotSay, Reading, Stretch}};
/// use groundwall::units::{Confidence, Resistance, Years};
/// let read = Resistance::from_megohms(100.0)?;
/// let fit = fit_lone(&Stretch::new(vec![Reading::new(Years::from_years(-0.1)?, Bound::Exact, read)])?);
/// let (minimum, confidence) = (Resistance::from_megohms(5.0)?, Confidence::from_fraction(0.9)?);
/// assert_eq!(fit.crossing(minimum, confidence).cannot_say, Some(CannotSay::FewReadings { readings: 1 }));
/// assert!(fit.level_now(confidence).low < read);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn fit_lone(stretch: &Stretch) -> StretchFit {
    solve(stretch, &Priors::default()).average(&NoiseWeights::default())
}

impl StretchFit {
    /// How the level approaches one minimum: ask this where there is more than one question about it.
    pub fn approach(&self, minimum: Resistance) -> Approach<'_> {
        let log10_minimum = minimum.log10_megohms();
        Approach::new(self.used(), move |x| self.mixture.below(&self.solved.models, x, log10_minimum))
    }

    /// Probability that the level reaches the minimum by a day; what is past counts as the as-of date.
    ///
    /// # Formula
    /// max over x ≤ by of Σ wᵢ·P(levelᵢ(x) ≤ minimum), i over the models.
    pub fn p_below(&self, by: Years, minimum: Resistance) -> Probability {
        self.approach(minimum).p_below(by)
    }

    /// The interval at `confidence` for the date on which the level reaches the minimum.
    ///
    /// # Examples
    /// ```
    /// use groundwall::{resistance::Bound, trend::{fit_lone, Reading, Stretch}};
    /// use groundwall::units::{Confidence, OutOfRange, Resistance, Years};
    /// // A factor of 100 lost in four years, and a factor of 3.2 to go: a year, give or take.
    /// let readings = (0..17).map(|k| {
    ///     let when = Years::from_years(-0.25 * f64::from(16 - k))?;
    ///     Ok::<_, OutOfRange>(Reading::new(when, Bound::Exact, Resistance::from_log10_megohms(3.2 - 0.125 * f64::from(k))))
    /// });
    /// let fit = fit_lone(&Stretch::new(readings.collect::<Result<_, _>>()?)?);
    /// let crossing = fit.crossing(Resistance::from_megohms(5.0)?, Confidence::from_fraction(0.9)?);
    /// assert!(crossing.median.is_some_and(|median| (0.8..1.2).contains(&median.as_years())));
    /// assert!(crossing.earliest < crossing.median && crossing.median < crossing.latest);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn crossing(&self, minimum: Resistance, confidence: Confidence) -> Crossing {
        self.approach(minimum).crossing(confidence)
    }

    /// The level at any time, past or future: annual mean at the reference temperature.
    pub fn level_band(&self, when: Years, confidence: Confidence) -> Band<Resistance> {
        let t = when.as_years();
        let moments = self.mixture.moments(&self.solved.models, t, t >= self.solved.step_began);
        band(&moments, self.table(), confidence).map(Resistance::from_log10_megohms)
    }

    /// The level at the as-of date.
    pub fn level_now(&self, confidence: Confidence) -> Band<Resistance> {
        self.level_band(Years::clamped(0.0), confidence)
    }

    /// The median of the level at the as-of date, without its interval.
    pub fn median_level_now(&self) -> Resistance {
        let moments = self.mixture.moments(&self.solved.models, 0.0, 0.0 >= self.solved.step_began);
        Resistance::from_log10_megohms(band::median(&moments, self.table()))
    }

    /// Mean slope over the record.
    pub fn slope(&self, confidence: Confidence) -> Band<Slope> {
        band(&self.mixture.slopes(), self.table(), confidence).map(Slope::clamped)
    }

    /// Probability that the level falls.
    pub fn p_falling(&self) -> Probability {
        let falling = |m: &Moments| m.weight * self.table().lower_tail_of(-m.mean, m.variance);
        Probability::of_harm(self.mixture.slopes().iter().map(falling).sum::<f64>())
    }

    /// What one more reading would show at a time after the latest one, at a temperature of the winding so far above the
    /// reference temperature (the record's mean temperature if unknown), with a standard deviation of what else is uncertain.
    pub fn predict_reading(
        &self,
        when: Years,
        above_reference: Option<TemperatureDifference>,
        doubt: Decades,
    ) -> ReadingForecast {
        let t = when.as_years();
        let [sin, cos] = prepared::season(t);
        let step = if self.solved.models.has_step { 1.0 } else { 0.0 };
        let warmth = above_reference.map_or(self.solved.mean_warmth, |above| above.as_kelvins() / 10.0);
        let mut moments = self.mixture.reading(&self.solved.models, t, &[1.0, sin, cos, step, warmth]);
        for m in &mut moments {
            m.variance += doubt.as_decades().powi(2);
        }
        let share = |m: &Moments, share: f64, variance: f64| Moments {
            weight: m.weight * share,
            tail_weight: m.tail_weight * share,
            variance: m.variance + variance,
            mean: m.mean,
        };
        let outliers: Vec<Moments> = moments.iter().map(|m| share(m, OUTLIER_SHARE, OUTLIER_SD * OUTLIER_SD)).collect();
        for m in &mut moments {
            *m = share(m, 1.0 - OUTLIER_SHARE, 0.0);
        }
        moments.extend(outliers);
        ReadingForecast::new(moments, self.table().clone())
    }

    /// Scatter of one ordinary reading.
    pub fn scatter(&self) -> Decades {
        Decades::clamped(self.solved.models.sig)
    }

    /// Probability that each used reading is an outlier; 0 for bounds and the latest.
    pub fn outlier_probabilities(&self) -> &[f64] {
        &self.solved.p_outlier
    }

    /// The readings that were used: all of the stretch, or those since an unannounced shift.
    pub fn used(&self) -> &[Reading] {
        &self.solved.used
    }

    /// A fall since the last test.
    pub fn fall(&self) -> Option<Fall> {
        self.solved.fall
    }

    /// What the temperature law got wrong, without its uncertainty; see [`StretchFit::law_error`].
    pub(crate) fn mean_law_error(&self) -> f64 {
        self.kept().iter().map(|m| m.weight * m.beta[TEMPERATURE]).sum()
    }

    /// The size of the fall as fitted together with everything else, decades; negative is down.
    pub fn fall_step(&self) -> Option<Estimate> {
        self.solved.fall?;
        let mut x = [0.0; noise::COLUMNS];
        x[STEP] = 1.0;
        Some(self.coefficient(STEP, |models, m| models.quadratic(m, &x) * m.scale))
    }

    /// An unannounced shift of the level; what is used begins after it, but for the slope.
    pub fn shift(&self) -> Option<Shift> {
        self.solved.shift
    }

    /// What the temperature law got wrong, decades per 10 °C: positive where warm tests read too high.
    pub fn law_error(&self) -> Estimate {
        let mut x = [0.0; noise::COLUMNS];
        x[TEMPERATURE] = 1.0;
        self.coefficient(TEMPERATURE, |models, m| models.quadratic(m, &x) * m.scale)
    }

    /// Seasonal swing: the coefficients of sin 2πt and cos 2πt, t in years from the as-of date; decades.
    pub fn season(&self) -> [f64; 2] {
        [1, 2].map(|i| self.kept().iter().map(|m| m.weight * m.beta[i]).sum())
    }

    fn coefficient(&self, index: usize, variance: impl Fn(&Models, &Model) -> f64) -> Estimate {
        let df = self.table().df();
        let spread = df / (df - 2.0).max(0.1);
        let (mut mean, mut square) = (0.0, 0.0);
        for m in self.kept() {
            mean += m.weight * m.beta[index];
            square += m.weight * (m.beta[index].powi(2) + spread * variance(&self.solved.models, m));
        }
        Estimate { mean, sd: (square - mean * mean).max(0.0).sqrt() }
    }

    /// How much each shape counts; adds up to 1.
    pub fn shape_weights(&self) -> [(Shape, f64); shapes::COUNT] {
        Shape::ALL
            .map(|shape| (shape, self.kept().iter().filter(|m| m.shape == shape).fold(0.0, |sum, m| sum + m.weight)))
    }

    /// How much each kind of noise counts; adds up to 1. A level that does not sink does not wander, so there the
    /// last two are told as independent scatter.
    pub fn noise_weights(&self) -> [(NoiseKind, f64); noise::COUNT] {
        NoiseKind::ALL
            .map(|kind| (kind, self.kept().iter().filter(|m| m.kind == kind).fold(0.0, |sum, m| sum + m.weight)))
    }

    /// Number of models in the average.
    pub fn models(&self) -> usize {
        self.kept().len()
    }

    /// Degrees of freedom of the tails.
    pub fn degrees_of_freedom(&self) -> f64 {
        self.table().df()
    }

    /// Mean slope of the straight models with independent noise, decades per year: what the wandering kind goes by.
    pub fn straight_slope(&self) -> f64 {
        self.solved.models.mean_slope
    }

    /// Variance per year of the wandering level, in units of the scatter squared; 0 where the level does not sink.
    pub fn wandering_rate(&self) -> f64 {
        self.solved.models.rho
    }

    /// The method in one line, with what it was mostly.
    pub fn method(&self) -> String {
        let weights = self.shape_weights();
        let (shape, weight) = weights.iter().fold(weights[0], |a, b| if b.1 > a.1 { *b } else { a });
        format!(
            "outlier-resistant censored regression, average of {} models, mostly {} ({:.0} %)",
            self.models(),
            shape.name(),
            100.0 * weight
        )
    }

    /// The models that count.
    fn kept(&self) -> &[Model] {
        &self.solved.models.models
    }

    fn table(&self) -> &StudentTable {
        &self.solved.models.table
    }
}
