//! Random numbers: SplitMix64 (Steele, Lea and Flood 2014), the same on every machine.

/// Random numbers of one input: another input does not disturb them.
pub(crate) struct Dice(u64);

impl Dice {
    pub(crate) fn new(seed: u64, stream: u64) -> Self {
        let mut dice = Self(seed ^ stream.wrapping_mul(0xA24B_AED4_963E_E407));
        dice.next();
        dice
    }

    pub(crate) fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// A number below `end`; nought where `end` is nought.
    pub(crate) fn below(&mut self, end: usize) -> usize {
        if end == 0 { 0 } else { (self.next() % end as u64) as usize }
    }

    pub(crate) fn one_in(&mut self, count: usize) -> bool {
        self.below(count) == 0
    }

    pub(crate) fn pick<'a, T>(&mut self, things: &'a [T]) -> &'a T {
        &things[self.below(things.len())]
    }
}
