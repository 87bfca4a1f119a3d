//! What a site says beside its histories: its policy, what its headers stand for, its register, and other names of its windings.

use crate::error::Failure;
use crate::ingest::joined::{JoinedNames, OtherName};
use crate::ingest::mapping::Mapping;
use crate::ingest::register::Register;
use groundwall::policy::Policy;

/// What a site says beside its histories.
#[derive(Clone, Debug, Default)]
pub struct Site {
    /// Its rules.
    pub policy: Policy,
    /// What its headers stand for.
    pub mapping: Mapping,
    /// What is known of the windings, under the names for which others stand.
    pub register: Option<Register>,
    /// Other names of its windings.
    pub names: JoinedNames,
}

impl Site {
    /// Puts together what was read: `policy` with its `[columns]`, which go before `columns`; `register` reads the register by them;
    /// `names` are other names of windings beside those in the register. Where only the register cannot be read, there is none,
    /// and its failure is returned with the rest.
    ///
    /// # Errors
    ///
    /// A [`Failure`] with everything that is wrong with the policy, and then with the register.
    pub fn read(
        policy: Result<(Policy, Mapping), Failure>,
        columns: &Mapping,
        register: Option<impl FnOnce(&Mapping) -> Result<Register, Failure>>,
        names: &[OtherName],
    ) -> Result<(Self, Option<Failure>), Failure> {
        // Where the policy cannot be read, the register is still read by its own headers: its problems are reported in the same run.
        let policy = policy.map(|(policy, mapping)| (policy, columns.clone().under(mapping)));
        let mapping = policy.as_ref().map(|(_, mapping)| mapping.clone()).unwrap_or_default();
        let joined = |mut register: Register| {
            let names = JoinedNames::of(names.iter().chain(&register.other_names).cloned())?;
            register.join(&names).map(|()| (register, names))
        };
        let register = register.map(|read| read(&mapping).and_then(joined)).transpose();
        let ((policy, mapping), register, unreadable) = match (policy, register) {
            (Ok(policy), Ok(register)) => (policy, register, None),
            (Ok(policy), Err(failure)) => (policy, None, Some(failure)),
            (Err(one), Err(other)) => return Err(one.and(other)),
            (Err(failure), _) => return Err(failure),
        };
        let (register, names) = match register {
            Some((register, names)) => (Some(register), names),
            None => (None, JoinedNames::of(names.iter().cloned())?),
        };
        Ok((Self { policy, mapping, register, names }, unreadable))
    }
}
