//! Different codes of a column, numbered as they come.

use hashbrown::HashTable;
use hashbrown::hash_table::Entry;

/// Codes by number, from 1, and numbers by code.
#[derive(Clone, Debug, Default)]
pub(super) struct Dictionary {
    codes: Vec<u32>,
    numbers: HashTable<u16>,
}

impl Dictionary {
    /// The number of a code that came before.
    #[inline]
    pub(super) fn known(&self, code: u32) -> Option<u16> {
        self.numbers.find(hash(code), |number| is_code(&self.codes, *number, code)).copied()
    }

    /// The number of a code, new if need be; `None` where the numbers have run out.
    pub(super) fn number(&mut self, code: u32) -> Option<u16> {
        let codes = &self.codes;
        let hash_of = |number: &u16| hash(codes[usize::from(*number) - 1]);
        match self.numbers.entry(hash(code), |number| is_code(codes, *number, code), hash_of) {
            Entry::Occupied(known) => Some(*known.get()),
            Entry::Vacant(free) => {
                let number = u16::try_from(self.codes.len() + 1).ok()?;
                free.insert(number);
                self.codes.push(code);
                Some(number)
            }
        }
    }

    /// The code of a number; none for 0.
    pub(super) fn code(&self, number: u16) -> Option<u32> {
        self.codes.get(usize::from(number).wrapping_sub(1)).copied()
    }

    /// All codes, in the order of their numbers.
    pub(super) fn codes(&self) -> &[u32] {
        &self.codes
    }
}

fn is_code(codes: &[u32], number: u16, code: u32) -> bool {
    codes[usize::from(number) - 1] == code
}

/// Spreads a code over 64 bits: the halves of a product with an odd number, modulo 2^128, folded.
fn hash(code: u32) -> u64 {
    let product = u128::from(code).wrapping_mul(0x9E37_79B9_7F4A_7C15_F39C_C060_5CED_C835);
    (product >> 64) as u64 ^ product as u64
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn equal_codes_have_one_number_and_others_another(
            codes in prop::collection::vec((0u32..3000, 0u32..8), 1..3000),
        ) {
            let mut dictionary = Dictionary::default();
            for (low, high) in &codes {
                // Many codes share their place.
                let code = (low % 300) | (high << 20) | ((low / 300) << 9);
                let number = dictionary.number(code);
                prop_assert_eq!(number.and_then(|number| dictionary.code(number)), Some(code));
                prop_assert_eq!(dictionary.number(code), number);
            }
            let mut all = dictionary.codes().to_vec();
            all.sort_unstable();
            prop_assert!(all.windows(2).all(|pair| pair[0] < pair[1]));
        }
    }

    #[test]
    fn numbers_run_out_after_those_of_two_bytes() {
        let mut dictionary = Dictionary::default();
        let found: Vec<_> = (0..65_536).map(|code| dictionary.number(code << 10)).collect();
        assert!((0..65_535).all(|i| found[i] == u16::try_from(i + 1).ok()));
        assert_eq!(found[65_535], None);
        assert_eq!((dictionary.number(0), dictionary.number(5 << 10)), (Some(1), Some(6)));
    }
}
