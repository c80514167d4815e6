//! What still earns its money in each field, and what else could be done. Consequences are worked out and shown with how sure
//! they are; nothing is recommended.
//!
//! | file | what it is for |
//! |---|---|
//! | `share`, `known` | what is left of an active by the latest test, and how old that is |
//! | `control` | steps together: independent action, and how sure it is |
//! | `check` | a programme in a field and over farms: control left, money at risk |
//! | `classes` | classes of both, for maps |
//! | `measures` | non-chemical measures with published means and ranges |
//! | `uses` | how often each mode of action was used |
//! | `words` | a field's check in sentences |
//! | `order` | from the cleanest field to the worst |
//! | [`outlook`] | the coming years under scenarios, and patches |

mod check;
mod classes;
mod control;
mod known;
mod measures;
mod order;
pub mod outlook;
mod share;
mod uses;
mod words;

pub use check::{ASSUMPTIONS, Checks, FarmSum, FieldCheck, StepCheck, Tested, check, check_field};
pub use classes::{CONTROL_LIMITS, LETTERS, control_class, control_words, money_class, money_limits, money_words};
pub use control::{DRAWS, together};
pub use known::{Basis, Known, known};
pub use measures::{ActsOn, Combined, Measure, combined, measure, measures};
pub use order::{Block, Place, order};
pub use share::{BAND, Range, Share, quantile};
pub use uses::{Run, Uses, uses, uses_of_all};
pub use words::{Sentence, money, percent, sentences, with_band};

/// Said on every screen, page and answer that speaks of consequences: what they are not.
pub const NEVER: &str = "Consequences of your figures and of tests, never a recommendation: the product label, local rules and a qualified \
    adviser decide.";

/// Shown wherever consequences are shown in full.
pub const CAUTIONS: [&str; 2] = [
    NEVER,
    "A test is a snapshot of one sample. Weather, timing and growth stage change control as much as resistance does.",
];
