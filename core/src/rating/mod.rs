//! What results mean: the rating of a reduction, how sure it is, and what is known of every field.
//!
//! | file | what it is for |
//! |---|---|
//! | `scale` | limits of the classes |
//! | `counts`, `weights`, `evidence` | from pots and dishes to a reduction and its interval |
//! | `dunnett`, `difference` | whether a sample differs from the standard |
//! | `assess`, `doubts`, `disagree`, `steps` | one result rated, what speaks against it, the laboratory's rating, the arithmetic |
//! | `fields`, `trend`, `farms` | over space and time |
//! | `mechanism`, `modes` | what the pattern suggests; which modes of action still work |
//! | `dose`, `curve`, `fit` | several doses: the dose-response curve |

mod assess;
mod counts;
mod curve;
mod difference;
mod disagree;
mod distributions;
mod dose;
mod doubts;
mod dunnett;
mod evidence;
mod farms;
mod fields;
mod fit;
mod history;
mod mechanism;
mod modes;
mod printed;
mod scale;
mod steps;
mod trend;
mod weights;

pub use assess::{
    Assessment, ClassShares, Counted, Doubt, RatedBy, Sureness, assess, counted, evidence_of, rating_of, reduction_of,
    standard_of, standards_of,
};
pub use counts::{Share, ratio_bounds, wilson};
pub use curve::{Curve, Estimate, Shape};
pub use difference::SIGNIFICANT;
pub use disagree::reasons as disagreement;
pub use dose::{DoseResponse, Population, amount, dose_response, dose_responses};
pub use dunnett::{Side, dunnett};
pub use evidence::Evidence;
pub use farms::{LandByClass, land_by_class};
pub use fields::{FieldRatings, GroupRating, field_ratings, speaks, tested_actives, with_origins};
pub use fit::fit;
pub use history::{Change, History, RatingOf, Tested};
pub use mechanism::{Reading, Suggestion, suggest, suggest_for};
pub use modes::{Mode, Standing, modes};
pub use scale::{LIMITS, limits, rate};
pub use steps::steps;
pub use trend::{FieldTest, Slope, Trend, slope, trends};
pub use weights::{Mean, Ratio};

/// Shown wherever ratings are shown: what a rating is not.
pub const CAUTIONS: [&str; 4] = [
    "Seed is taken from survivors, so a sample looks more resistant than the field as a whole.",
    "A test is a snapshot of one sample: S today is no guarantee for tomorrow.",
    "A rating is no recommendation: the product label and a qualified adviser decide.",
    "Spray timing, rate, weather and growth stage can look like resistance: check them first.",
];
