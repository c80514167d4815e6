//! Yield lost to the weed: three published relations, which do not agree, so that they stand beside each other.
//!
//! Plants: the hyperbola of Cousens (1985, Ann. Appl. Biol. 107:239-252), Y = I D / (1 + I D / A), with I % of yield for a plant/m2
//! at low density and at most A %. Heads: in proportion, from an open model of arable rotations. Density states of winter wheat:
//! mean and limits from the data workbook of the national survey of black-grass in England.

use crate::model::{DensityClass, LowLikelyHigh};

/// Yield lost, %, to `plants` a m2; `i` % a plant at low density, `a` % at most.
///
/// ```
/// use awn_core::act::outlook::yield_loss::hyperbola;
/// // Blair, Cussans and Lutman 1999: about 5 % at 12 plants/m2.
/// assert!((hyperbola(12.0, 0.44, 80.0) - 5.0).abs() < 0.1);
/// ```
pub fn hyperbola(plants: f64, i: f64, a: f64) -> f64 {
    i * plants / (1.0 + i * plants / a)
}

/// Yield lost, %, to `heads` a m2, `each` % a head, at most `most` %.
pub fn by_heads(heads: f64, each: f64, most: f64) -> f64 {
    (each * heads).min(most)
}

/// Yield of winter wheat lost at a density state, %: mean and limits as published; nothing was found at low density.
pub fn by_state(state: DensityClass) -> LowLikelyHigh {
    match state {
        DensityClass::Absent | DensityClass::Low => LowLikelyHigh::fixed(0.0),
        DensityClass::Medium => LowLikelyHigh::new(0.0, 0.0, 5.14),
        DensityClass::High => LowLikelyHigh::new(0.0, 7.45, 28.1),
        DensityClass::VeryHigh => LowLikelyHigh::new(13.02, 25.6, 68.9),
    }
}
