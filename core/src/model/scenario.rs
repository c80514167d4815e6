//! Scenarios of the coming years and what the user sets for them: crops, cultivation, drilling, control, prices and costs.
//!
//! A scenario is a sequence of years that is gone through again and again. Money is in the user's currency; every price, yield,
//! cost and control is the user's own figure: none is built in.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::model::ScenarioId;
use crate::model::settings::words;

/// A figure that is not known exactly: the least, the likely and the greatest value.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct LowLikelyHigh {
    /// Least value thought possible.
    pub low: f64,
    /// As often exceeded as not.
    pub likely: f64,
    /// Greatest value thought possible.
    pub high: f64,
}

impl LowLikelyHigh {
    /// A figure taken as known.
    pub fn fixed(value: f64) -> Self {
        Self { low: value, likely: value, high: value }
    }

    /// From its three values.
    pub fn new(low: f64, likely: f64, high: f64) -> Self {
        Self { low, likely, high }
    }

    /// Whether the values are numbers and rise.
    pub fn is_ordered(&self) -> bool {
        self.low.is_finite() && self.high.is_finite() && self.low <= self.likely && self.likely <= self.high
    }

    /// All three through a function that keeps their order.
    #[must_use]
    pub fn map(self, f: impl Fn(f64) -> f64) -> Self {
        Self { low: f(self.low), likely: f(self.likely), high: f(self.high) }
    }
}

/// How the soil is moved before a crop is drilled.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Cultivation {
    /// Mouldboard plough: inverts the top soil.
    Plough,
    /// Tines or discs to about 20 cm, without inversion.
    #[default]
    Deep,
    /// Tines or discs to about 5 cm.
    Shallow,
    /// None: drilled into the stubble.
    DirectDrill,
}

words!(Cultivation, "cultivation", Self::Plough => "plough", Self::Deep => "deep", Self::Shallow => "shallow",
    Self::DirectDrill => "direct-drill");

impl Cultivation {
    /// What it is called.
    pub fn name(self) -> &'static str {
        match self {
            Self::Plough => "Plough",
            Self::Deep => "Deep non-inversion, 20 cm",
            Self::Shallow => "Shallow non-inversion, 5 cm",
            Self::DirectDrill => "Direct drilling",
        }
    }
}

/// One crop year of a scenario.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct ScenarioYear {
    /// The crop, by a name of the table of crops.
    pub crop: String,
    /// How the soil is moved before it.
    pub cultivation: Cultivation,
    /// Day of drilling as month and day, "10-05"; needed for crops drilled in autumn.
    pub drilled: Option<String>,
    /// Plants that herbicides control, % of those that come up in the crop; with a programme, that of the programme counts.
    pub control: LowLikelyHigh,
    /// Name of a spray programme: control is what its check finds in each field, and its cost is added.
    pub programme: Option<String>,
    /// Wheat plants established a m2, where more are sown to crowd the weed; none: no effect is counted.
    pub crop_plants_m2: Option<f64>,
    /// Whether the cultivar is a competitive one.
    pub competitive: bool,
    /// Heads taken out before they shed, by pulling or by spraying patches off, % of the field's; none: nothing.
    pub heads_removed: Option<LowLikelyHigh>,
    /// Cost of programme and measures, money a hectare; with a programme, what comes on top of it; none: not given.
    pub cost_per_ha: Option<f64>,
}

impl Default for ScenarioYear {
    fn default() -> Self {
        Self {
            crop: String::new(),
            cultivation: Cultivation::default(),
            drilled: None,
            control: LowLikelyHigh::fixed(0.0),
            programme: None,
            crop_plants_m2: None,
            competitive: false,
            heads_removed: None,
            cost_per_ha: None,
        }
    }
}

/// What might be done in a field in the coming years.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Scenario {
    /// Identifier.
    pub id: ScenarioId,
    /// Name, unique in a project.
    pub name: String,
    /// Notes in the user's words.
    pub note: String,
    /// The crop years, gone through again from the first when the last is over.
    pub years: Vec<ScenarioYear>,
}

/// What the user gets for a crop.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CropMoney {
    /// The crop.
    pub crop: String,
    /// Money a tonne.
    pub price_per_t: f64,
    /// Tonnes a hectare without grass weeds.
    pub yield_t_per_ha: f64,
}

/// What the user has set for outlooks and patches; one set a project.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct OutlookSettings {
    /// How many times the coming years are drawn.
    pub draws: usize,
    /// Seed of the draws: the same seed gives the same outlook.
    pub seed: u64,
    /// Prices and yields by crop.
    pub crops: Vec<CropMoney>,
    /// What a cultivation costs, money a hectare.
    pub cultivation_cost: BTreeMap<Cultivation, f64>,
    /// Parameters of the model that the user has set otherwise, by their keys.
    pub parameters: BTreeMap<String, LowLikelyHigh>,
    /// Cost of spraying off a patch, money a hectare, the crop on it not counted.
    pub spray_off_per_ha: Option<f64>,
    /// Plants that one person pulls in an hour.
    pub pulled_per_hour: Option<f64>,
    /// What an hour costs.
    pub hour_cost: Option<f64>,
}

impl Default for OutlookSettings {
    fn default() -> Self {
        Self {
            draws: 1000,
            seed: 1,
            crops: Vec::new(),
            cultivation_cost: BTreeMap::new(),
            parameters: BTreeMap::new(),
            spray_off_per_ha: None,
            pulled_per_hour: None,
            hour_cost: None,
        }
    }
}
