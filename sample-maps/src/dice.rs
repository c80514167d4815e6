//! Seeded chance that is the same on every platform.

use rand::{Rng as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;

/// A stream of chance.
#[derive(Clone)]
pub struct Dice(ChaCha8Rng);

impl Dice {
    /// The stream of a seed.
    pub fn new(seed: u64) -> Self {
        Self(ChaCha8Rng::seed_from_u64(seed))
    }

    /// Evenly from 0 to 1.
    pub fn unit(&mut self) -> f64 {
        (self.0.next_u64() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Evenly between two values.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// Whether something of this probability happens.
    pub fn chance(&mut self, probability: f64) -> bool {
        self.unit() < probability
    }

    /// -1 or 1.
    pub fn sign(&mut self) -> f64 {
        if self.chance(0.5) { -1.0 } else { 1.0 }
    }

    /// Normally distributed with mean 0 and standard deviation 1 (Box and Muller 1958, Ann. Math. Stat. 29:610-611).
    pub fn normal(&mut self) -> f64 {
        let radius = libm::sqrt(-2.0 * libm::log(1.0 - self.unit()));
        radius * libm::cos(std::f64::consts::TAU * self.unit())
    }
}
