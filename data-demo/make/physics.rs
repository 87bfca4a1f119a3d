//! Temperature, damp and absorption as the invented windings obey them.
//!
//! The two temperature laws are those of IEEE Std 43-2013 cl. 6.3 (from memory): corrected = K_T · as read.

/// How the true resistance of a winding changes with temperature.
#[derive(Clone, Copy)]
pub(crate) enum Law {
    /// Two activation branches that meet at 40 °C.
    Thermosetting,
    /// Halves every so many °C: 10 for asphaltic mica and the like.
    Halving(f64),
}

impl Law {
    /// K_T: the factor from the resistance at `celsius` to that at 40 °C.
    pub(crate) fn to_40(self, celsius: f64) -> f64 {
        match self {
            Law::Thermosetting => {
                let activation = if celsius < 40.0 { 1245.0 } else { 4230.0 };
                (-activation * (1.0 / (celsius + 273.0) - 1.0 / 313.0)).exp()
            }
            Law::Halving(step) => ((celsius - 40.0) / step).exp2(),
        }
    }
}

/// Share of the one-minute conductance and the decay of the rest: R(t) = R60 · (1 + x) / (x + (t/60 s)^−n).
#[derive(Clone, Copy)]
pub(crate) struct Absorption {
    /// n of the absorption current, t^−n.
    pub(crate) exponent: f64,
    /// x: leakage conductance over absorption conductance at one minute.
    pub(crate) leakage: f64,
}

impl Absorption {
    /// Resistance after `seconds`, given the one-minute value.
    pub(crate) fn at(self, seconds: f64, r60: f64) -> f64 {
        r60 * (1.0 + self.leakage) / (self.leakage + (seconds / 60.0).powf(-self.exponent))
    }
}

/// Dew point in °C over water, WMO-No. 8 Annex 4.B.
pub(crate) fn dew_point(air_c: f64, rh_percent: f64) -> f64 {
    let l = (rh_percent / 100.0).ln() + 17.62 * air_c / (243.12 + air_c);
    243.12 * l / (17.62 - l)
}

/// `value` to so many significant digits, as plain decimals.
pub(crate) fn significant(value: f64, digits: i32) -> String {
    if value <= 0.0 {
        return "0".to_owned();
    }
    let place = value.log10().floor() as i32 - (digits - 1);
    let step = 10f64.powi(place.abs());
    let rounded = if place >= 0 { (value / step).round() * step } else { (value * step).round() / step };
    let decimals = usize::try_from(-place).unwrap_or(0);
    format!("{rounded:.decimals$}")
}
