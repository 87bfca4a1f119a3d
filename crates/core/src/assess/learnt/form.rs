//! What was learnt, as it is written and read. Numbers are texts of the shortest digits that give the same bits again, because not
//! every reader of JSON keeps the last bit of a number.

use super::{Copied, GroupPrior, Learnt};
use crate::record::{Connection, Scope};
use crate::series::SeriesKey;
use crate::stats::pooling::Common;
use crate::temperature::learnt::CommonLaw;
use crate::trend::{NoiseWeights, Priors};
use crate::units::Confidence;
use chrono::NaiveDate;
use serde::de::Error as _;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::collections::BTreeMap;

/// A finite number.
#[derive(Clone, Copy)]
struct Digits(f64);

impl Serialize for Digits {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(&self.0)
    }
}

impl<'de> Deserialize<'de> for Digits {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = String::deserialize(deserializer)?;
        let number = text.parse().ok().filter(|number: &f64| number.is_finite());
        number.map(Self).ok_or_else(|| D::Error::custom(format!("{text} is not a finite number")))
    }
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Form {
    as_of: NaiveDate,
    confidence: Digits,
    policy: BTreeMap<String, String>,
    groups: BTreeMap<String, GroupForm>,
    copied: Vec<CopiedForm>,
    windings: BTreeMap<String, usize>,
}

/// Decades, years and 10 °C, as [`Priors`].
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct GroupForm {
    learnt_from: usize,
    scatter: Digits,
    scatter_df: Digits,
    season_sd: Digits,
    law_wrong_weight: Digits,
    slope_mean: Digits,
    slope_sds: [Digits; 2],
    slope_weights: [Digits; 2],
    noise_weights: [Digits; 3],
    laws: BTreeMap<String, LawForm>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct LawForm {
    windings: usize,
    /// Mean, its variance, and the variance between the windings.
    error_per_10_k: Option<[Digits; 3]>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct CopiedForm {
    winding: String,
    connection: String,
    scope: String,
    values_of: String,
    days: usize,
    since: NaiveDate,
}

impl Serialize for Learnt {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let copied = self.copied.iter().map(|(key, copied)| CopiedForm {
            winding: key.winding.clone(),
            connection: key.connection.to_string(),
            scope: key.scope.to_string(),
            values_of: copied.winding.clone(),
            days: copied.days,
            since: copied.since,
        });
        let form = Form {
            as_of: self.as_of,
            confidence: Digits(self.confidence.as_fraction()),
            policy: self.rules.clone(),
            groups: self.groups.iter().map(|(name, prior)| (name.clone(), GroupForm::of(prior))).collect(),
            copied: copied.collect(),
            windings: self.windings.clone(),
        };
        form.serialize(serializer)
    }
}

impl<'de> Deserialize<'de> for Learnt {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let form = Form::deserialize(deserializer)?;
        let groups = form.groups.into_iter().map(|(name, form)| match form.prior() {
            Some(prior) => Ok((name, prior)),
            None => Err(D::Error::custom(format!("the prior for group {name} is invalid"))),
        });
        let copied = form.copied.into_iter().map(|form| {
            let scope =
                Scope::read(&form.scope).ok_or_else(|| D::Error::custom(format!("{} is not a scope", form.scope)))?;
            let key = SeriesKey { winding: form.winding, connection: Connection::read(&form.connection), scope };
            Ok((key, Copied { winding: form.values_of, days: form.days, since: form.since }))
        });
        Ok(Self {
            as_of: form.as_of,
            confidence: Confidence::from_fraction(form.confidence.0).map_err(D::Error::custom)?,
            rules: form.policy,
            groups: groups.collect::<Result<_, D::Error>>()?,
            copied: copied.collect::<Result<_, D::Error>>()?,
            windings: form.windings,
        })
    }
}

impl GroupForm {
    fn of(prior: &GroupPrior) -> Self {
        let GroupPrior { priors, weights, laws } = prior;
        let law = |(name, law): (&String, &CommonLaw)| {
            let error = law.error().map(|error| [error.mean, error.mean_variance, error.between_variance].map(Digits));
            (name.clone(), LawForm { windings: law.windings(), error_per_10_k: error })
        };
        Self {
            learnt_from: priors.learnt_from,
            scatter: Digits(priors.scatter),
            scatter_df: Digits(priors.scatter_df),
            season_sd: Digits(priors.season_sd),
            law_wrong_weight: Digits(priors.law_wrong_weight),
            slope_mean: Digits(priors.slope_mean),
            slope_sds: priors.slope_sds.map(Digits),
            slope_weights: priors.slope_weights.map(Digits),
            noise_weights: weights.0.map(Digits),
            laws: laws.iter().map(law).collect(),
        }
    }

    /// The prior; none where a number is not one that can be learnt.
    fn prior(self) -> Option<GroupPrior> {
        let is_share = |share: f64| (0.0..=1.0).contains(&share);
        let are_shares = |shares: &[f64]| {
            shares.iter().all(|share| is_share(*share)) && (shares.iter().sum::<f64>() - 1.0).abs() < 1e-9
        };
        let priors = Priors {
            scatter: self.scatter.0,
            scatter_df: self.scatter_df.0,
            season_sd: self.season_sd.0,
            law_wrong_weight: self.law_wrong_weight.0,
            slope_mean: self.slope_mean.0,
            slope_sds: self.slope_sds.map(|sd| sd.0),
            slope_weights: self.slope_weights.map(|weight| weight.0),
            learnt_from: self.learnt_from,
        };
        let weights = NoiseWeights(self.noise_weights.map(|weight| weight.0));
        let widths = [priors.scatter, priors.scatter_df, priors.season_sd, priors.slope_sds[0], priors.slope_sds[1]];
        let is_sound = widths.iter().all(|width| *width > 0.0)
            && is_share(priors.law_wrong_weight)
            && are_shares(&priors.slope_weights)
            && are_shares(&weights.0);
        let law = |(name, form): (String, LawForm)| {
            let error = form.error_per_10_k.map(|error| error.map(|number| number.0));
            let error =
                error.map(|[mean, mean_variance, between_variance]| Common { mean, mean_variance, between_variance });
            let is_sound = error.is_none_or(|error| error.mean_variance > 0.0 && error.between_variance >= 0.0);
            is_sound.then(|| (name, CommonLaw::new(error, form.windings)))
        };
        let laws = self.laws.into_iter().map(law).collect::<Option<_>>()?;
        is_sound.then_some(GroupPrior { priors, weights, laws })
    }
}
