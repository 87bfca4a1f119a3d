//! Commands without a history: calculators of single readings, and what the program writes of its own.

use super::TextFormat;
use crate::files::Input;
use crate::files::Target;
use crate::values;
use crate::values::ItemText;
use clap::{ArgGroup, Args, ValueHint};
use clap_complete::Shell;
use groundwall::nameplate::{Construction, Insulation, LimitBasis};
use groundwall::record::Item;
use groundwall::resistance::Measured;
use groundwall::units::{
    ActivationTemperature, RelativeHumidity, Resistance, Temperature, TemperatureDifference, Voltage,
};
use std::path::PathBuf;

/// `correct`
#[derive(Args, Debug)]
#[command(override_usage = "groundwall correct [OPTIONS] --at <TEMPERATURE> <LAW> <RESISTANCE>\n       \
    LAW is --insulation <FAMILY>, --halving <KELVINS> or --activation-kelvin <KELVINS>")]
#[command(group = ArgGroup::new("law").required(true).args(["insulation", "halving", "activation_kelvin"]))]
pub struct CorrectArgs {
    /// The resistance: MΩ or with a unit; >1000 and OL are bounds and stay so
    #[arg(value_name = "RESISTANCE", value_parser = values::resistance, allow_negative_numbers = true)]
    pub resistance: Measured,
    /// Temperature of the winding at the test: °C, or °F with an F after it; −60 to 250 °C
    #[arg(long, value_name = "TEMPERATURE", value_parser = values::temperature, allow_negative_numbers = true)]
    pub at: Temperature,
    /// Temperature to correct to: °C, or °F with an F after it; −60 to 250 °C
    #[arg(long, value_name = "TEMPERATURE", default_value = "40", value_parser = values::temperature, allow_negative_numbers = true)]
    pub to: Temperature,
    /// The standard's law for this insulation: thermosetting, thermoplastic or unknown (between the two)
    #[arg(long, value_name = "FAMILY", value_parser = values::insulation)]
    pub insulation: Option<Insulation>,
    /// A law that halves the resistance with every rise by so many kelvins, 4 to 100
    #[arg(long, value_name = "KELVINS", value_parser = values::halving, allow_negative_numbers = true)]
    pub halving: Option<TemperatureDifference>,
    /// A law with this activation temperature in kelvins, 500 to 20000
    #[arg(long, value_name = "KELVINS", value_parser = values::activation, allow_negative_numbers = true)]
    pub activation_kelvin: Option<ActivationTemperature>,
    /// Form of the result
    #[arg(long, short, value_enum, default_value = "text")]
    pub format: TextFormat,
}

/// `ratios`
#[derive(Args, Debug)]
pub struct RatiosArgs {
    /// Timed readings of one test, such as 60s=420: time in s or min, resistance in MΩ or with a unit; or the steps of one test at
    /// several voltages, such as 500V=900
    #[arg(required_unless_present = "discharge_na", num_args = 1.., value_name = "TIME=RESISTANCE", value_parser = values::reading)]
    pub readings: Vec<values::Reading>,
    /// Current one minute after a long test was discharged, nA, for the dielectric discharge
    #[arg(long, value_name = "NANOAMPERES", requires_all = ["test_volts", "capacitance_uf"], value_parser = values::positive)]
    pub discharge_na: Option<f64>,
    /// Voltage of that test, V
    #[arg(long, value_name = "VOLTS", requires = "discharge_na", value_parser = values::voltage)]
    pub test_volts: Option<Voltage>,
    /// Capacitance of the winding to earth, µF
    #[arg(long, value_name = "MICROFARADS", requires = "discharge_na", value_parser = values::positive)]
    pub capacitance_uf: Option<f64>,
    /// Form of the result
    #[arg(long, short, value_enum, default_value = "text")]
    pub format: TextFormat,
}

/// `spot`
#[derive(Args, Debug)]
pub struct SpotArgs {
    /// Resistance after one minute: MΩ or with a unit; >1000, OL and 0 are bounds
    #[arg(long, value_name = "RESISTANCE", value_parser = values::resistance, allow_negative_numbers = true)]
    pub r60: Measured,
    /// Temperature of the winding: °C, or °F with an F after it; −60 to 250 °C
    #[arg(long, value_name = "TEMPERATURE", value_parser = values::temperature, allow_negative_numbers = true)]
    pub at: Option<Temperature>,
    /// Rated voltage of the winding, 1 to 100000 V
    #[arg(long, value_name = "VOLTS", value_parser = values::voltage, allow_negative_numbers = true)]
    pub rated_volts: Option<Voltage>,
    /// How the winding is made: form-wound, random-wound, dc-armature, field, bare-field, wound-rotor, water-cooled,
    /// water-cooled-drained, cable or circuit
    #[arg(long, value_name = "WORD", value_parser = values::construction)]
    pub construction: Option<Construction>,
    /// Family of the insulation: thermosetting, thermoplastic or unknown
    #[arg(long, value_name = "FAMILY", default_value = "unknown", value_parser = values::insulation)]
    pub insulation: Insulation,
    /// The site's own minimum, in MΩ or with a unit; overrides the rule
    #[arg(long, value_name = "RESISTANCE", value_parser = values::plain_resistance, allow_negative_numbers = true)]
    pub minimum: Option<Resistance>,
    /// What that minimum is compared with: as-read, or reference for the reading at the reference temperature
    #[arg(long, value_name = "BASIS", requires = "minimum", value_parser = values::basis)]
    pub minimum_basis: Option<LimitBasis>,
    /// Year of make of the winding, 1880 to 2199
    #[arg(long, value_name = "YEAR", value_parser = values::year, allow_negative_numbers = true)]
    pub year: Option<i32>,
    /// Direct voltage applied, 1 to 100000 V
    #[arg(long, value_name = "VOLTS", value_parser = values::voltage, allow_negative_numbers = true)]
    pub test_volts: Option<Voltage>,
    /// What the phases not under test were connected to: earthed, guarded, open or joined; the reading is then one phase's to earth
    #[arg(long, value_name = "WORD", value_parser = |text: &str| values::item(Item::OtherPhases, text))]
    pub other_phases: Option<ItemText>,
    /// Serial number of the tester
    #[arg(long, value_name = "TEXT", value_parser = |text: &str| values::item(Item::Serial, text))]
    pub serial: Option<ItemText>,
    /// Last day on which the tester's calibration holds, such as 2027-03-31
    #[arg(long, value_name = "DAY", value_parser = |text: &str| values::item(Item::CalibrationDue, text))]
    pub calibration_due: Option<ItemText>,
    /// The tester's battery: ok or low
    #[arg(long, value_name = "WORD", value_parser = |text: &str| values::item(Item::Battery, text))]
    pub battery: Option<ItemText>,
    /// Leads shorted, it read zero: ok or failed
    #[arg(long, value_name = "WORD", value_parser = |text: &str| values::item(Item::ZeroCheck, text))]
    pub zero_check: Option<ItemText>,
    /// Leads open, it read over range: ok or failed
    #[arg(long, value_name = "WORD", value_parser = |text: &str| values::item(Item::OpenCheck, text))]
    pub open_check: Option<ItemText>,
    /// The tester's output on a second meter: ok, failed or volts
    #[arg(long, value_name = "WORD OR VOLTS", value_parser = |text: &str| values::item(Item::SourceCheck, text))]
    pub source_check: Option<ItemText>,
    /// Whether the circuit was proved dead first: yes or no
    #[arg(long, value_name = "WORD", value_parser = |text: &str| values::item(Item::ProvedDead, text))]
    pub proved_dead: Option<ItemText>,
    /// Minutes for which the winding was discharged afterwards
    #[arg(long, value_name = "MINUTES", value_parser = |text: &str| values::item(Item::Discharged, text))]
    pub discharged_min: Option<ItemText>,
    /// Dielectric discharge as the tester gives it
    #[arg(long, value_name = "NUMBER", value_parser = |text: &str| values::item(Item::DielectricDischarge, text))]
    pub dielectric_discharge: Option<ItemText>,
    /// Who made the test
    #[arg(long, value_name = "TEXT", value_parser = |text: &str| values::item(Item::TestedBy, text))]
    pub tested_by: Option<ItemText>,
    /// The work order
    #[arg(long, value_name = "TEXT", value_parser = |text: &str| values::item(Item::WorkOrder, text))]
    pub work_order: Option<ItemText>,
    /// Where the machine was: in service, standby or store
    #[arg(long, value_name = "WORD", value_parser = |text: &str| values::item(Item::EquipmentState, text))]
    pub equipment_state: Option<ItemText>,
    /// Hours for which the machine had stood still
    #[arg(long, value_name = "HOURS", value_parser = |text: &str| values::item(Item::Standing, text))]
    pub standing_h: Option<ItemText>,
    /// Temperature of the air, for the dew point: °C, or °F with an F after it; −60 to 250 °C
    #[arg(long, value_name = "TEMPERATURE", value_parser = values::temperature, allow_negative_numbers = true)]
    pub air: Option<Temperature>,
    /// Relative humidity of the air, 0 to 100 %, for the dew point
    #[arg(long, value_name = "PERCENT", value_parser = values::humidity, allow_negative_numbers = true)]
    pub rh: Option<RelativeHumidity>,
    /// The site's limits and intervals; `groundwall policy` writes a template
    #[arg(long, short, value_name = "FILE", env = "GROUNDWALL_POLICY", hide_env_values = true, value_hint = ValueHint::FilePath)]
    pub policy: Option<Input>,
    /// Priors learnt from the fleet, from assess --save-priors with the same policy: flags a reading that is unusual among similar windings; never
    /// makes the answer less urgent
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub priors: Option<PathBuf>,
    /// The group of similar windings, as the register names it [default: construction and rated voltage]
    #[arg(long, value_name = "NAME", requires = "priors")]
    pub group: Option<String>,
    /// Form of the result
    #[arg(long, short, value_enum, default_value = "text")]
    pub format: TextFormat,
}

/// `policy`
#[derive(Args, Debug)]
pub struct PolicyArgs {
    /// Write the template to this new file, whole or not at all; - for standard output
    #[arg(long, short, value_name = "FILE", default_value = "-", value_hint = ValueHint::FilePath)]
    pub out: Target,
    /// Replace the file if it is there, and keep the old one beside it as FILE.bak
    #[arg(long)]
    pub force: bool,
}

/// `demo`
#[derive(Args, Debug)]
pub struct DemoArgs {
    /// The folder to write into; it is made if there is none
    #[arg(value_name = "DIR", value_hint = ValueHint::DirPath)]
    pub folder: PathBuf,
}

/// `completions`
#[derive(Args, Debug)]
pub struct CompletionsArgs {
    /// The shell
    #[arg(value_enum, value_name = "SHELL")]
    pub shell: Shell,
    /// Write the script to this new file, whole or not at all; - for standard output
    #[arg(long, short, value_name = "FILE", default_value = "-", value_hint = ValueHint::FilePath)]
    pub out: Target,
    /// Replace the file if it is there, and keep the old one beside it as FILE.bak
    #[arg(long)]
    pub force: bool,
}

/// `manual`
#[derive(Args, Debug)]
pub struct ManualArgs {
    /// The folder of the pages; it is made if it is not there, and other files in it stay
    #[arg(long, short, value_name = "DIR", value_hint = ValueHint::DirPath)]
    pub out: PathBuf,
    /// Replace files that are there and are no such pages, and keep the old ones beside them as FILE.bak
    #[arg(long)]
    pub force: bool,
}
