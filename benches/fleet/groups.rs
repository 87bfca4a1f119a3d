//! Twenty groups of similar windings in five plants, all invented.

/// Insulation, as far as the readings show it.
#[derive(Clone, Copy)]
pub(crate) enum Insulation {
    Thermosetting,
    Thermoplastic,
}

impl Insulation {
    pub(crate) const fn word(self) -> &'static str {
        match self {
            Self::Thermosetting => "thermosetting",
            Self::Thermoplastic => "thermoplastic",
        }
    }

    /// log10 of the factor from the resistance at `celsius` to that at 40 °C: the two laws of IEEE Std 43-2013 cl. 6.3 (from
    /// memory).
    pub(crate) fn log10_to_40(self, celsius: f64) -> f64 {
        match self {
            Self::Thermosetting => {
                let activation = if celsius < 40.0 { 1245.0 } else { 4230.0 };
                -activation * (1.0 / (celsius + 273.0) - 1.0 / 313.0) * std::f64::consts::LOG10_E
            }
            Self::Thermoplastic => (celsius - 40.0) / 10.0 * std::f64::consts::LOG10_2,
        }
    }
}

/// What similar windings share.
pub(crate) struct Group {
    pub(crate) name: &'static str,
    pub(crate) site: &'static str,
    pub(crate) area: &'static str,
    pub(crate) construction: &'static str,
    pub(crate) insulation: Insulation,
    pub(crate) rated_volts: u32,
    pub(crate) rated_kw: u32,
    pub(crate) test_volts: u32,
    /// Usual level of a sound winding at 40 °C, MΩ.
    pub(crate) sound_mohm: f64,
    /// Where failing ones are heading, MΩ: the least value of IEEE Std 43-2013 table 3 (from memory).
    pub(crate) least_mohm: f64,
    /// End of the scale of the testers used, MΩ.
    pub(crate) scale_mohm: u32,
}

impl Group {
    /// The group of a winding: windings are dealt out in turn.
    pub(crate) const fn of(number: u64) -> &'static Self {
        &GROUPS[(number % GROUPS.len() as u64) as usize]
    }

    const fn low_voltage(site: &'static str, area: &'static str, name: &'static str, kw: u32) -> Self {
        Self {
            name,
            site,
            area,
            construction: "random-wound",
            insulation: Insulation::Thermosetting,
            rated_volts: 400,
            rated_kw: kw,
            test_volts: 500,
            sound_mohm: 450.0,
            least_mohm: 5.0,
            scale_mohm: 2000,
        }
    }

    const fn high_voltage(site: &'static str, area: &'static str, name: &'static str, volts: u32, kw: u32) -> Self {
        Self {
            name,
            site,
            area,
            construction: "form-wound",
            insulation: Insulation::Thermosetting,
            rated_volts: volts,
            rated_kw: kw,
            test_volts: if volts > 5000 { 2500 } else { 1000 },
            sound_mohm: 1900.0,
            least_mohm: 100.0,
            scale_mohm: 5000,
        }
    }

    const fn soft(mut self) -> Self {
        self.insulation = Insulation::Thermoplastic;
        self
    }

    const fn direct_current(mut self) -> Self {
        self.construction = "dc-armature";
        self.sound_mohm = 900.0;
        self.least_mohm = 100.0;
        self
    }

    const fn field(mut self) -> Self {
        self.construction = "field";
        self.rated_volts = 250;
        self.sound_mohm = 120.0;
        self.least_mohm = 1.25;
        self
    }
}

const GROUPS: [Group; 20] = [
    Group::low_voltage("Brackmoor", "intake", "intake pumps 400 V", 75),
    Group::low_voltage("Brackmoor", "filters", "filter pumps 400 V", 30),
    Group::high_voltage("Brackmoor", "high lift", "high-lift pumps 3.3 kV", 3300, 900),
    Group::high_voltage("Brackmoor", "high lift", "booster pumps 6.6 kV", 6600, 1600),
    Group::low_voltage("Tarnhill", "crushing", "conveyors 400 V", 45),
    Group::low_voltage("Tarnhill", "screening", "screens 400 V", 22),
    Group::high_voltage("Tarnhill", "milling", "mills 6.6 kV", 6600, 2800),
    Group::low_voltage("Tarnhill", "hoist", "hoist armatures 500 V", 400).direct_current(),
    Group::low_voltage("Tarnhill", "hoist", "hoist fields 250 V", 400).field(),
    Group::high_voltage("Orrin Sound", "generation", "generators 11 kV", 11_000, 24_000),
    Group::low_voltage("Orrin Sound", "generation", "generator fields 250 V", 24_000).field(),
    Group::high_voltage("Orrin Sound", "boilers", "draught fans 3.3 kV", 3300, 1100).soft(),
    Group::low_voltage("Orrin Sound", "boilers", "ash pumps 400 V", 37).soft(),
    Group::high_voltage("Westmarch", "refining", "refiners 11 kV", 11_000, 8000),
    Group::low_voltage("Westmarch", "stock", "stock pumps 400 V", 110),
    Group::low_voltage("Westmarch", "machine", "section drives 500 V", 250).direct_current().soft(),
    Group::high_voltage("Westmarch", "vacuum", "vacuum pumps 3.3 kV", 3300, 710),
    Group::low_voltage("Calder Ness", "cooling", "cooling fans 400 V", 55),
    Group::high_voltage("Calder Ness", "compression", "compressors 6.6 kV", 6600, 3500),
    Group::low_voltage("Calder Ness", "utilities", "air dryers 400 V", 15),
];
