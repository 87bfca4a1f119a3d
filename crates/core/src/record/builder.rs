//! A test put together from quantities.

use super::fault::Fault;
use super::words::identifier;
use super::{Connection, Event, LeadCheck, Origin, Procedure, Scope, TestRecord};
use crate::resistance::{Measured, TimedReading, TwoReadings};
use crate::units::{Elapsed, RelativeHumidity, Resistance, Temperature, Voltage};
use std::fmt;

/// A test on its way, from [`TestRecord::builder`].
#[derive(Clone, Debug)]
#[must_use]
pub struct TestBuilder {
    pub(super) test: TestRecord,
    /// The first contradiction between readings.
    pub(super) fault: Option<TwoReadings>,
}

impl TestBuilder {
    /// A reading at an elapsed time.
    pub fn reading(mut self, elapsed: Elapsed, value: Measured) -> Self {
        if let Err(two) = self.test.readings.insert(TimedReading { elapsed, value }) {
            self.fault.get_or_insert(two);
        }
        self
    }

    /// What the voltage was applied between; the whole winding to earth unless given.
    pub fn connection(mut self, connection: Connection) -> Self {
        self.test.connection = connection;
        self
    }

    /// What was in the circuit; the winding alone unless given.
    pub fn scope(mut self, scope: Scope) -> Self {
        self.test.scope = scope;
        self
    }

    /// The tester used.
    pub fn instrument(mut self, instrument: impl Into<String>) -> Self {
        self.test.instrument = Some(instrument.into());
        self
    }

    /// How the test was made.
    pub fn procedure(mut self, procedure: Procedure) -> Self {
        self.test.procedure = (procedure != Procedure::UNKNOWN).then(|| Box::new(procedure));
        self
    }

    /// Free text.
    pub fn note(mut self, note: impl Into<String>) -> Self {
        self.test.note = Some(note.into());
        self
    }

    /// Where the row was read.
    pub fn origin(mut self, origin: Origin) -> Self {
        self.test.origin = origin;
        self
    }

    /// The test.
    ///
    /// # Errors
    ///
    /// [`TestError`]: the winding has no name or one that no history may hold, two readings contradict each other, or there
    /// is neither a reading nor work done.
    pub fn build(mut self) -> Result<TestRecord, TestError> {
        if self.test.winding.trim().is_empty() {
            return Err(TestError::NoWinding);
        }
        identifier(&self.test.winding).map_err(TestError::Winding)?;
        if let Some(two) = self.fault {
            return Err(TestError::TwoReadings(two));
        }
        if self.test.readings.is_empty() && self.test.event.is_none() {
            return Err(TestError::Nothing);
        }
        let full_scale = self.test.full_scale;
        self.test.readings.set_full_scale(full_scale);
        Ok(self.test)
    }
}

macro_rules! optional {
    ($($(#[$doc:meta])* $name:ident: $type:ty;)*) => {
        impl TestBuilder {$(
            $(#[$doc])*
            pub fn $name(mut self, $name: impl Into<Option<$type>>) -> Self {
                self.test.$name = $name.into();
                self
            }
        )*}
    };
}

optional! {
    /// Direct voltage applied.
    test_volts: Voltage;
    /// The tester's own output as measured.
    output_volts: Voltage;
    /// Temperature of the winding.
    winding_temp: Temperature;
    /// Temperature of the air.
    air_temp: Temperature;
    /// Relative humidity of the air.
    humidity: RelativeHumidity;
    /// Largest value the tester can show: the limit of readings over range.
    full_scale: Resistance;
    /// Whether the leads were proved.
    lead_check: LeadCheck;
    /// Work done since the previous test.
    event: Event;
}

/// Why quantities do not make a test.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum TestError {
    /// The winding has no name.
    NoWinding,
    /// The name of the winding breaks a rule.
    Winding(Fault),
    /// Two readings contradict each other.
    TwoReadings(TwoReadings),
    /// There is neither a reading nor work done.
    Nothing,
}

impl fmt::Display for TestError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoWinding => f.write_str("every test names its winding"),
            Self::Winding(fault) => write!(f, "{}", fault.rule),
            Self::TwoReadings(two) => write!(f, "{two}"),
            Self::Nothing => f.write_str("a test has at least one reading, or work done on the winding"),
        }
    }
}

impl std::error::Error for TestError {}
