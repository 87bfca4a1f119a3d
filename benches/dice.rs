//! Random numbers of the benches and the demo plant: ChaCha with 8 rounds, the same on every machine.
#![allow(dead_code, reason = "each program draws what it needs")]

use chacha20::ChaCha8Rng;
use chacha20::rand_core::{Rng, SeedableRng};

/// Blocks of 64 bytes set aside for one test: 16 numbers, more than a winding or a row takes.
const BLOCKS: u64 = 2;

/// Random numbers of one stream, such as a winding, a history or an input: those of another stream do not disturb them.
pub(crate) struct Dice(ChaCha8Rng);

impl Dice {
    pub(crate) fn new(seed: u64, stream: u64) -> Self {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        rng.set_stream(stream);
        Self(rng)
    }

    /// Turns to the numbers that make a winding what it is, in whatever order windings come.
    pub(crate) fn of_winding(&mut self, winding: u64) {
        self.0.set_stream(winding);
        self.0.set_block_pos(0);
    }

    /// Turns to the numbers of one test of a winding.
    pub(crate) fn of_test(&mut self, winding: u64, test: u64) {
        self.0.set_stream(winding);
        self.0.set_block_pos((1 + test) * BLOCKS);
    }

    pub(crate) fn next(&mut self) -> u64 {
        self.0.next_u64()
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

    /// Between nought and one, one left out.
    pub(crate) fn uniform(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.uniform()
    }

    /// A whole number from `low` to `high`, both included.
    pub(crate) fn count(&mut self, low: usize, high: usize) -> usize {
        low + (self.uniform() * (high - low + 1) as f64) as usize
    }

    pub(crate) fn chance(&mut self, p: f64) -> bool {
        self.uniform() < p
    }

    /// Standard normal, Box and Muller (1958).
    pub(crate) fn normal(&mut self) -> f64 {
        let (u, v) = (1.0 - self.uniform(), self.uniform());
        (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos()
    }

    /// A pair of independent standard normals, as [`Self::normal`].
    pub(crate) fn normals(&mut self) -> (f64, f64) {
        let (u, v) = (1.0 - self.uniform(), self.uniform());
        let (sine, cosine) = (std::f64::consts::TAU * v).sin_cos();
        let radius = (-2.0 * u.ln()).sqrt();
        (radius * cosine, radius * sine)
    }

    /// exp of a normal: `median` and the standard deviation of its natural logarithm.
    pub(crate) fn log_normal(&mut self, median: f64, sd: f64) -> f64 {
        median * (sd * self.normal()).exp()
    }

    /// Gamma with mean `shape`, Marsaglia and Tsang (2000).
    pub(crate) fn gamma(&mut self, shape: f64) -> f64 {
        if shape < 1.0 {
            return self.gamma(shape + 1.0) * (1.0 - self.uniform()).powf(1.0 / shape);
        }
        let d = shape - 1.0 / 3.0;
        let c = 1.0 / (9.0 * d).sqrt();
        loop {
            let x = self.normal();
            let v = (1.0 + c * x).powi(3);
            if v > 0.0 && (1.0 - self.uniform()).ln() < 0.5 * x * x + d - d * v + d * v.ln() {
                return d * v;
            }
        }
    }
}
