//! Numbers as people write them down, in four bytes: up to eight digits and up to six decimals, with a mark beside them.
//!
//! What people write down is a decimal of a few digits. Such a number comes back bit for bit; any other is kept whole in a
//! list beside the codes.

/// No number.
pub(super) const NONE: u32 = u32::MAX;

/// Bits of the digits.
const DIGITS: u32 = 27;
const DIGITS_MASK: u32 = (1 << DIGITS) - 1;
/// The count of decimals that says: the digits are a place in the list.
const LISTED: u32 = 7;
const POWERS: [f64; LISTED as usize] = [1.0, 10.0, 100.0, 1e3, 1e4, 1e5, 1e6];

/// Numbers of more digits than fit into a code.
#[derive(Clone, Debug, Default)]
pub(super) struct Packing {
    long: Vec<f64>,
}

impl Packing {
    /// A number of zero or more, with a mark from 0 to 3; `None` when the list is full.
    ///
    /// The largest code of mark 3 stands for no number at all, and is a place in the list that is never given out.
    pub(super) fn pack(&mut self, value: f64, mark: u32) -> Option<u32> {
        let whole = value as u32;
        if f64::from(whole).to_bits() == value.to_bits() && whole <= DIGITS_MASK {
            return Some(code(mark, 0, whole));
        }
        for (decimals, power) in (0..LISTED).zip(POWERS).skip(1) {
            // Rounded; what the type cannot hold becomes its greatest value, beyond the mask.
            let digits = (value * power + 0.5) as u32;
            if digits > DIGITS_MASK {
                break;
            }
            if (f64::from(digits) / power).to_bits() == value.to_bits() {
                return Some(code(mark, decimals, digits));
            }
        }
        let place = u32::try_from(self.long.len()).ok().filter(|place| *place < DIGITS_MASK)?;
        self.long.push(value);
        Some(code(mark, LISTED, place))
    }

    /// Whether so many more numbers fit, whatever they are.
    pub(super) fn has_room_for(&self, more: usize) -> bool {
        self.long.len().saturating_add(more) < DIGITS_MASK as usize
    }

    /// The number of a code.
    pub(super) fn value(&self, code: u32) -> f64 {
        let digits = code & DIGITS_MASK;
        let decimals = code >> DIGITS & 7;
        match POWERS.get(decimals as usize) {
            Some(power) => f64::from(digits) / power,
            None => self.long.get(digits as usize).copied().unwrap_or(f64::NAN),
        }
    }

    /// Appends the list of another; returns by how much its places move. `None` when the list is full.
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

/// The mark of a code.
pub(super) const fn mark(code: u32) -> u32 {
    code >> (DIGITS + 3)
}

/// The code after its list was appended to another one.
pub(super) const fn moved(code: u32, by: u32) -> u32 {
    if code != NONE && code >> DIGITS & 7 == LISTED { code + by } else { code }
}

const fn code(mark: u32, decimals: u32, digits: u32) -> u32 {
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
                let code = packing.pack(value, sign).expect("it fits");
                assert_eq!((packing.value(code).to_bits(), mark(code)), (value.to_bits(), sign), "{value}");
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
            let by = early.append(&late).expect("it fits");
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
