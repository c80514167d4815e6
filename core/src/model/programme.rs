//! Spray programmes: steps that are planned for a crop year, kept as templates and put on fields.

use serde::{Deserialize, Serialize};

use crate::model::{FieldId, FieldProgrammeId, ProgrammeId, mode_of_action};

/// Control that is expected of a step, %: figures of the user's own, none of ours.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Control {
    /// The least to be expected.
    pub low: f64,
    /// What is most likely.
    pub likely: f64,
    /// The most to be expected.
    pub high: f64,
}

impl Control {
    /// Three figures in %, or the sentence that says what is wrong with them.
    pub fn new(low: f64, likely: f64, high: f64) -> Result<Self, String> {
        for (name, value) in [("low", low), ("likely", likely), ("high", high)] {
            if !(0.0..=100.0).contains(&value) {
                return Err(format!("the {name} control is {value} %; control lies between 0 and 100 %"));
            }
        }
        if low > likely || likely > high {
            return Err(format!("control {low}, {likely}, {high} % is not in order: low, likely, high"));
        }
        Ok(Self { low, likely, high })
    }

    /// "60–75–85 %", or one figure where the three are the same.
    pub fn label(&self) -> String {
        if self.low == self.high {
            return format!("{} %", self.likely);
        }
        format!("{}–{}–{} %", self.low, self.likely, self.high)
    }
}

/// One active, or several in one product, in a planned pass.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ProgrammeStep {
    /// When, in words: "pre-emergence". Steps of the same words go on in one pass.
    pub timing: String,
    /// Active, lower case; several joined by "+".
    pub active: String,
    /// Dose in g of active a hectare, of all actives together, if known.
    #[serde(default)]
    pub dose_g_per_ha: Option<f64>,
    /// Control of susceptible plants that is expected.
    pub control: Control,
    /// Cost a hectare, in the project's currency.
    pub cost_per_ha: f64,
}

impl ProgrammeStep {
    /// The actives one by one.
    pub fn actives(&self) -> impl Iterator<Item = &str> {
        self.active.split('+').map(str::trim).filter(|active| !active.is_empty())
    }

    /// Its parts that each lean on one mode of action: actives of one HRAC group together, in the order of the step.
    /// An active whose group is not known has an empty one.
    pub fn parts(&self) -> Vec<(String, String)> {
        let mut parts: Vec<(String, String)> = Vec::new();
        for active in self.actives() {
            let group = mode_of_action(active).map(|mode| mode.group).unwrap_or_default();
            match parts.iter_mut().find(|(_, held)| held == group && !group.is_empty()) {
                Some((actives, _)) => *actives = format!("{actives}+{active}"),
                None => parts.push((active.to_owned(), group.to_owned())),
            }
        }
        parts
    }
}

/// A spray programme as a template: put on fields by [`FieldProgramme`]; a change of it holds for all of them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Programme {
    /// Identifier.
    pub id: ProgrammeId,
    /// Name, unique in a project.
    pub name: String,
    /// The crop it is for, in words; may be empty.
    #[serde(default)]
    pub crop: String,
    /// Steps in the order of the season.
    pub steps: Vec<ProgrammeStep>,
    /// Notes in the user's words.
    #[serde(default)]
    pub note: String,
}

impl Programme {
    /// Cost of all steps a hectare.
    pub fn cost_per_ha(&self) -> f64 {
        self.steps.iter().map(|step| step.cost_per_ha).sum()
    }
}

/// What is planned against grass weeds in one field for one harvest.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FieldProgramme {
    /// Identifier.
    pub id: FieldProgrammeId,
    /// The field.
    pub field: FieldId,
    /// Harvest year.
    pub year: i32,
    /// The programme; none: none is planned.
    pub programme: Option<ProgrammeId>,
    /// Non-chemical measures besides, by their keys in `assets/tables/measures.csv`.
    #[serde(default)]
    pub measures: Vec<String>,
}
