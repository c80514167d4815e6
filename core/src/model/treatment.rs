//! Crops, sprays and modes of action.

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::model::{CropId, FieldId, SprayId};

/// What grew in a field for one harvest.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Crop {
    /// Identifier.
    pub id: CropId,
    /// The field.
    pub field: FieldId,
    /// Harvest year.
    pub year: i32,
    /// Crop in words: "winter wheat".
    pub crop: String,
    /// The day it was drilled, if known.
    pub drilled: Option<Date>,
    /// Cultivation before it in words: "ploughed"; may be empty.
    #[serde(default)]
    pub cultivation: String,
}

/// One herbicide pass with one active (or a mixture that is tested as one).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Spray {
    /// Identifier.
    pub id: SprayId,
    /// The field.
    pub field: FieldId,
    /// Harvest year of the crop sprayed.
    pub year: i32,
    /// The day, if known.
    pub date: Option<Date>,
    /// Active ingredient, lower case.
    pub active: String,
    /// HRAC group number.
    pub group: String,
    /// Dose in g of active a hectare.
    pub dose_g_per_ha: Option<f64>,
    /// What was seen of its effect.
    pub effect: String,
    /// Growth stage of the weed or crop in words, such as "GS 12" or "pre-emergence"; may be empty.
    #[serde(default)]
    pub growth_stage: String,
    /// What the pass cost a hectare, in the project's currency.
    #[serde(default)]
    pub cost_per_ha: Option<f64>,
}

/// An HRAC group.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ModeOfAction {
    /// Group number: "1".
    pub group: &'static str,
    /// Legacy letter: "A".
    pub legacy: &'static str,
    /// What is hit: "ACCase".
    pub name: &'static str,
    /// Actives used on grass weeds, lower case.
    pub actives: Vec<&'static str>,
}

/// The table of HRAC groups, in order of group number. Source: `assets/tables/modes_of_action.csv`.
pub fn modes_of_action() -> &'static [ModeOfAction] {
    static TABLE: std::sync::OnceLock<Vec<ModeOfAction>> = std::sync::OnceLock::new();
    TABLE.get_or_init(|| {
        include_str!("../../../assets/tables/modes_of_action.csv")
            .lines()
            .filter(|line| !line.starts_with('#') && !line.trim().is_empty())
            .skip(1)
            .filter_map(|line| {
                let mut cells = line.split(',').map(str::trim);
                Some(ModeOfAction {
                    group: cells.next()?,
                    legacy: cells.next()?,
                    name: cells.next()?,
                    actives: cells.next()?.split(' ').collect(),
                })
            })
            .collect()
    })
}

/// The mode of action of an active, or of a mixture joined by "+" whose parts all share it.
///
/// ```
/// use awn_core::model::mode_of_action;
/// assert_eq!(mode_of_action("Mesosulfuron + iodosulfuron").map(|m| m.group), Some("2"));
/// assert_eq!(mode_of_action("sugar"), None);
/// ```
pub fn mode_of_action(active: &str) -> Option<&'static ModeOfAction> {
    let mut found: Option<&ModeOfAction> = None;
    for part in active.split('+') {
        let part = part.trim().to_lowercase();
        let mode = modes_of_action().iter().find(|mode| mode.actives.contains(&part.as_str()))?;
        if found.is_some_and(|other| other.group != mode.group) {
            return None;
        }
        found = Some(mode);
    }
    found
}

/// The HRAC group of an active, or of a mixture joined by "+"; of a mixture over several modes of action their groups, joined
/// by "+": such a test tells of none of them alone.
///
/// ```
/// use awn_core::model::group_of;
/// assert_eq!(group_of("mesosulfuron+iodosulfuron").as_deref(), Some("2"));
/// assert_eq!(group_of("pendimethalin+flufenacet").as_deref(), Some("3+15"));
/// assert_eq!(group_of("sugar+flufenacet"), None);
/// ```
pub fn group_of(active: &str) -> Option<String> {
    let parts = active.split('+').map(|part| mode_of_action(part).map(|mode| mode.group));
    let parts: std::collections::BTreeSet<&str> = parts.collect::<Option<_>>()?;
    let groups = modes_of_action().iter().map(|mode| mode.group).filter(|group| parts.contains(group));
    Some(groups.collect::<Vec<_>>().join("+"))
}

/// The mode of action of a group number.
pub fn mode_of_group(group: &str) -> Option<&'static ModeOfAction> {
    modes_of_action().iter().find(|mode| mode.group == group)
}
