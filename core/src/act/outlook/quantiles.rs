//! Draws from a range: two triangles that meet at the likely value.
//!
//! Below the likely value lies half of the draws, above it the other half, in each half the more the nearer to it, and none
//! beyond the least and the greatest value. So the likely value is the median; where the range is lopsided, the mean is not.

use crate::model::LowLikelyHigh;

/// The value that the share `u`, 0 to 1, of all draws lies below.
///
/// ```
/// use awn_core::act::outlook::drawn;
/// use awn_core::model::LowLikelyHigh;
/// let range = LowLikelyHigh::new(1.0, 2.0, 6.0);
/// assert_eq!((drawn(range, 0.0), drawn(range, 0.5), drawn(range, 1.0)), (1.0, 2.0, 6.0));
/// ```
pub fn drawn(range: LowLikelyHigh, u: f64) -> f64 {
    if u < 0.5 {
        range.likely - (range.likely - range.low) * (1.0 - (2.0 * u).sqrt())
    } else {
        range.likely + (range.high - range.likely) * (1.0 - (2.0 * (1.0 - u)).sqrt())
    }
}
