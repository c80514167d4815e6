//! What results mean: the rating of a reduction, how sure it is, and what is known of every field.

mod fields;
mod history;
mod scale;
mod sureness;

pub use fields::{FieldRatings, GroupRating, field_ratings};
pub use history::{Change, History, RatingOf, Tested};
pub use scale::{LIMITS, limits, rate};
pub use sureness::{ClassShares, Sureness, sureness};
