//! Random numbers: ChaCha with 8 rounds, the same on every machine.

use chacha20::ChaCha8Rng;
use chacha20::rand_core::{Rng, SeedableRng};

/// Blocks of 64 bytes set aside for one throw: 16 numbers, more than a winding or a row takes.
const BLOCKS: u64 = 2;

/// Random numbers that depend on the seed, the winding and the test alone, in whatever order these come.
pub(crate) struct Dice(ChaCha8Rng);

impl Dice {
    pub(crate) fn new(seed: u64) -> Self {
        Self(ChaCha8Rng::seed_from_u64(seed))
    }

    /// Turns to the numbers that make a winding what it is.
    pub(crate) fn of_winding(&mut self, winding: u64) {
        self.0.set_stream(winding);
        self.0.set_block_pos(0);
    }

    /// Turns to the numbers of one test of a winding.
    pub(crate) fn of_test(&mut self, winding: u64, test: u64) {
        self.0.set_stream(winding);
        self.0.set_block_pos((1 + test) * BLOCKS);
    }

    /// Between nought and one, one left out.
    pub(crate) fn uniform(&mut self) -> f64 {
        (self.0.next_u64() >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.uniform()
    }

    pub(crate) fn chance(&mut self, p: f64) -> bool {
        self.uniform() < p
    }

    /// A pair of independent standard normals, Box and Muller (1958).
    pub(crate) fn normals(&mut self) -> (f64, f64) {
        let (u, v) = (1.0 - self.uniform(), self.uniform());
        let (sine, cosine) = (std::f64::consts::TAU * v).sin_cos();
        let radius = (-2.0 * u.ln()).sqrt();
        (radius * cosine, radius * sine)
    }
}
