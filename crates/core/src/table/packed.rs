//! Numbers as they stand in records, in four bytes: up to eight digits and up to six decimals, with a mark beside them.
//!
//! What people write down is a decimal of a few digits. Such a number comes back bit for bit; any other is kept whole in a
//! list beside the words.

/// No number.
pub(super) const NONE: u32 = u32::MAX;

/// Bits of the digits.
const DIGITS: u32 = 27;
const DIGITS_MASK: u32 = (1 << DIGITS) - 1;
/// The count of decimals that says: the digits are a place in the list.
const LISTED: u32 = 7;
const POWERS: [f64; LISTED as usize] = [1.0, 10.0, 100.0, 1e3, 1e4, 1e5, 1e6];

/// Numbers of more digits than fit into a word.
#[derive(Clone, Debug, Default)]
pub(super) struct Packing {
    long: Vec<f64>,
}

impl Packing {
    /// A number of zero or more, with a mark from 0 to 3; `None` when the list is full.
    ///
    /// The largest word of mark 3 stands for no number at all, and is a place in the list that is never given out.
    pub(super) fn pack(&mut self, value: f64, mark: u32) -> Option<u32> {
        let whole = value as u32;
        if f64::from(whole).to_bits() == value.to_bits() && whole <= DIGITS_MASK {
            return Some(word(mark, 0, whole));
        }
        for (decimals, power) in (0..LISTED).zip(POWERS).skip(1) {
            // Rounded; more than the type can hold is held at its end, beyond the mask.
            let digits = (value * power + 0.5) as u32;
            if digits > DIGITS_MASK {
                break;
            }
            if (f64::from(digits) / power).to_bits() == value.to_bits() {
                return Some(word(mark, decimals, digits));
            }
        }
        let place = u32::try_from(self.long.len()).ok().filter(|place| *place < DIGITS_MASK)?;
        self.long.push(value);
        Some(word(mark, LISTED, place))
    }

    /// The number of a word.
    pub(super) fn value(&self, word: u32) -> f64 {
        let digits = word & DIGITS_MASK;
        let decimals = word >> DIGITS & 7;
        match POWERS.get(decimals as usize) {
            Some(power) => f64::from(digits) / power,
            None => self.long.get(digits as usize).copied().unwrap_or(f64::NAN),
        }
    }

    /// Takes over the list of another; gives by how much its places move. `None` when the list is full.
    pub(super) fn append(&mut self, other: &Self) -> Option<u32> {
        let moved = u32::try_from(self.long.len()).ok()?;
        let length = u32::try_from(self.long.len() + other.long.len()).ok()?;
        if length > DIGITS_MASK {
            return None;
        }
        self.long.extend_from_slice(&other.long);
        Some(moved)
    }
}

/// The mark of a word.
pub(super) const fn mark(word: u32) -> u32 {
    word >> (DIGITS + 3)
}

/// The word after its list was put behind another one.
pub(super) const fn moved(word: u32, by: u32) -> u32 {
    if word != NONE && word >> DIGITS & 7 == LISTED { word + by } else { word }
}

const fn word(mark: u32, decimals: u32, digits: u32) -> u32 {
    mark << (DIGITS + 3) | decimals << DIGITS | digits
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn what_people_write_down_needs_no_list() {
        let mut packing = Packing::default();
        for value in [0.0, 412.0, 24.5, 0.1, 7.071_82, 134_217_727.0, 99.999_9, 0.000_001] {
            for sign in 0..4 {
                let word = packing.pack(value, sign).expect("there is room");
                assert_eq!((packing.value(word).to_bits(), mark(word)), (value.to_bits(), sign), "{value}");
            }
        }
        assert!(packing.long.is_empty());
    }

    proptest! {
        #[test]
        fn every_number_comes_back_bit_for_bit(values in prop::collection::vec((0.0f64..1e9, 0u32..4, 0i32..9), 1..40)) {
            let (mut early, mut late) = (Packing::default(), Packing::default());
            let rounded = |value: f64, decimals: i32| (value * 10f64.powi(decimals)).round() / 10f64.powi(decimals);
            let values: Vec<(f64, u32)> = values.into_iter().map(|(v, m, d)| (rounded(v, d), m)).collect();
            let first: Vec<u32> = values.iter().filter_map(|(v, m)| early.pack(*v, *m)).collect();
            let second: Vec<u32> = values.iter().filter_map(|(v, m)| late.pack(*v, *m)).collect();
            let by = early.append(&late).expect("there is room");
            for (((value, sign), one), other) in values.iter().zip(&first).zip(&second) {
                let other = moved(*other, by);
                prop_assert!(*one != NONE && other != NONE);
                prop_assert_eq!(early.value(*one).to_bits(), value.to_bits());
                prop_assert_eq!(early.value(other).to_bits(), value.to_bits());
                prop_assert_eq!((mark(*one), mark(other)), (*sign, *sign));
            }
        }
    }
}
