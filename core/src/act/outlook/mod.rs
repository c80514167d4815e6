//! The coming years of fields, and patches: a two-layer seedbank under scenarios, by seeded draws.
//!
//! It says what would follow if the figures held; it is no forecast and recommends nothing: the product label, local rules and a
//! qualified adviser decide.
//!
//! | file | what |
//! |---|---|
//! | [`parameters`] | figures of the seedbank model with range and source |
//! | [`crops`] | crops, when they are sown |
//! | [`seedbank`] | one year of a two-layer seedbank |
//! | [`yield_loss`] | yield lost to plants and heads |
//! | [`scenario`] | scenarios checked and made ready |
//! | [`start`] | the density from which the coming years start |
//! | [`outlook()`] | the coming years of fields under scenarios, by seeded draws |
//! | [`MeanYear`] | what a scenario comes to a year, over all harvests |
//! | [`overall()`] | scenarios over many fields together |
//! | [`sentences`] | the coming years of a field in sentences |
//! | [`patch_costs`] | spraying off or pulling a patch against what it would return |

mod ask;
pub mod crops;
mod draw;
mod mean;
mod money;
mod overall;
pub mod parameters;
mod patch_cost;
mod quantiles;
pub mod scenario;
pub mod seedbank;
pub mod start;
mod words;
mod years;
pub mod yield_loss;

pub use ask::{Ask, GivenStart, for_records, patches_of};
pub use draw::likely_run;
pub use mean::{MeanMoney, MeanYear};
pub use money::{YearMoney, year_money};
pub use overall::{Overall, overall};
pub use parameters::{Key, Parameter, Parameters};
pub use patch_cost::{PatchCost, PatchQuestion, patch_costs};
pub use quantiles::drawn;
pub use scenario::MOST_SCENARIOS;
pub use words::{figure, percent_with_band, sentences, with_band};
pub use years::{
    Band, DRAWS, FieldOutlook, MOST_YEARS, OutlookError, OutlookField, OutlookRequest, ScenarioOutlook, YearOutlook,
    money_is_sound, outlook,
};

/// Shown under every outlook: what it is not.
pub const CAUTION: &str = "An outlook is no forecast: it says what would follow if the figures held, and they are ranges. It is never a \
    recommendation: the product label, local rules and a qualified adviser decide.";
