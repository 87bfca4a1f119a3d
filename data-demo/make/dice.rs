//! Random numbers: ChaCha with 8 rounds, the same on every machine.

use chacha20::ChaCha8Rng;
use chacha20::rand_core::{Rng, SeedableRng};

use crate::SEED;

/// Random numbers of one winding or one area: adding another does not disturb them.
pub(crate) struct Dice(ChaCha8Rng);

impl Dice {
    pub(crate) fn new(stream: u64) -> Dice {
        let mut rng = ChaCha8Rng::seed_from_u64(SEED);
        rng.set_stream(stream);
        Dice(rng)
    }

    /// Between nought and one, one left out.
    pub(crate) fn uniform(&mut self) -> f64 {
        (self.0.next_u64() >> 11) as f64 / (1u64 << 53) as f64
    }

    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.uniform()
    }

    /// Standard normal, Box and Muller (1958).
    pub(crate) fn normal(&mut self) -> f64 {
        let (u, v) = (1.0 - self.uniform(), self.uniform());
        (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos()
    }
}
