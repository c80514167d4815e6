//! The programme check: what is left of a planned programme in a field, and what it costs.
//!
//! Takes the programme's own figures (expected control of susceptible plants and cost a hectare) and the latest tests; gives for
//! each step the control that is left, and for the field the control of all steps together and the money at risk. Assumptions
//! stand in [`ASSUMPTIONS`] and are shown with the figures.

use std::collections::{BTreeMap, BTreeSet};

use rayon::prelude::*;

use crate::act::control::{Outcome, Part, Step, Untested, work_out};
use crate::act::known::{Known, known};
use crate::act::measures::{Combined, combined};
use crate::act::share::Range;
use crate::model::{Control, Field, FieldId, Programme, ProgrammeId, ProgrammeStep, Rating, Records};
use crate::rating::{FieldRatings, field_ratings};
use crate::units::M2_PER_HA;

/// What the figures rest on.
pub const ASSUMPTIONS: [&str; 5] = [
    "Expected control and cost are the figures of your programme; Awn has none of its own.",
    "Control in the field is taken to fall as the sample's reduction fell beside the susceptible standard's in the same test.",
    "Steps are taken to act independently, so that what each leaves is multiplied (Gowing 1960; Colby 1967).",
    "The first figure comes from the likely figures. In brackets: 8 of 10 draws from the low, likely and high figures (as a triangle) \
     and from the error of the tests; 512 draws, fixed seed.",
    "Steps that were not tested count in full for the likely figure and as nothing for the lower end: nothing is known of them.",
];

/// How much of a step or programme has been tested.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Tested {
    /// Every active, or another of its mode of action.
    All,
    /// Some.
    Partly,
    /// None.
    None,
}

impl Tested {
    fn of(mut tested: impl Iterator<Item = bool>) -> Self {
        let first = tested.next().unwrap_or(false);
        match (first, tested.all(|next| next == first)) {
            (true, true) => Self::All,
            (false, true) => Self::None,
            (_, false) => Self::Partly,
        }
    }

    /// In words.
    pub fn label(self) -> &'static str {
        match self {
            Self::All => "tested",
            Self::Partly => "partly tested",
            Self::None => "not tested",
        }
    }
}

/// A step in a field.
#[derive(Debug, Clone, PartialEq)]
pub struct StepCheck {
    /// The step as planned.
    pub step: ProgrammeStep,
    /// What is known of its actives.
    pub known: Vec<Known>,
    /// How much of it has been tested.
    pub tested: Tested,
    /// Control of the plants in this field by this step alone, %.
    pub control: Range,
}

impl StepCheck {
    /// The worst rating among its actives.
    pub fn worst(&self) -> Option<Rating> {
        self.known.iter().filter_map(|known| known.rating).max()
    }

    /// Whether every active was tested and none was rated worse than S.
    pub fn is_unaffected(&self) -> bool {
        self.tested == Tested::All && self.worst() == Some(Rating::S)
    }

    /// Whether it leans on a mode of action with confirmed resistance.
    pub fn is_resisted(&self) -> bool {
        self.worst().is_some_and(|worst| worst >= Rating::RR)
    }

    /// What is left of the step from the likely figures, 0 to 1; none: nothing of it was tested.
    pub fn left(&self) -> Option<f64> {
        let shares: Vec<f64> =
            self.known.iter().filter_map(|known| known.share.as_ref()).map(|share| share.likely).collect();
        let untested = self.known.len() - shares.len();
        (!shares.is_empty()).then(|| (shares.iter().sum::<f64>() + untested as f64) / self.known.len() as f64)
    }
}

/// A programme in a field.
#[derive(Debug, Clone, PartialEq)]
pub struct FieldCheck {
    /// The field.
    pub field: FieldId,
    /// Its area, m2.
    pub area_m2: f64,
    /// The programme.
    pub programme: ProgrammeId,
    /// Its name.
    pub name: String,
    /// Its steps.
    pub steps: Vec<StepCheck>,
    /// How much of it has been tested.
    pub tested: Tested,
    /// Control left of all steps together, %; what was not tested counts in full, but not for the lower end.
    pub control: Range,
    /// The same if what was not tested did nothing.
    pub without_untested: Range,
    /// What the programme would do on susceptible plants, %.
    pub if_susceptible: Range,
    /// Cost of the programme a hectare.
    pub cost_per_ha: f64,
    /// Part of the cost a hectare that buys nothing: cost of each tested step times the share of its control that is lost.
    pub at_risk_per_ha: Range,
    /// Cost a hectare of steps of which nothing was tested.
    pub untested_per_ha: f64,
    /// Cost a hectare of steps with confirmed resistance (RR, RRR) in their mode of action.
    pub resisted_per_ha: f64,
    /// Non-chemical measures planned besides: what they leave of heads, as shares.
    pub measures: Option<Combined>,
    /// Keys of the measures.
    pub measure_keys: Vec<String>,
}

impl FieldCheck {
    /// Money at risk in the whole field.
    pub fn at_risk(&self) -> Range {
        self.at_risk_per_ha.times(self.area_m2 / M2_PER_HA)
    }

    /// Heads left of 100 by the programme and the measures together, least to most; none without measures. That the two work
    /// independently is an assumption.
    pub fn heads_left(&self) -> Option<[f64; 3]> {
        let measures = self.measures.as_ref()?;
        let left = |control: f64| 100.0 - control;
        Some([
            left(self.control.high) * measures.least,
            left(self.control.likely) * measures.mean,
            left(self.control.low) * measures.most,
        ])
    }
}

/// Checks a programme in a field by what is known up to harvest `year`.
pub fn check_field(
    records: &Records,
    field: &Field,
    programme: &Programme,
    measures: &[String],
    ratings: &FieldRatings,
    year: i32,
) -> FieldCheck {
    let of_step = |step: &ProgrammeStep| -> Vec<Known> {
        step.parts().into_iter().map(|(active, group)| known(records, ratings, &active, &group, year)).collect()
    };
    let known: Vec<Vec<Known>> = programme.steps.iter().map(of_step).collect();
    let costs: Vec<f64> = programme.steps.iter().map(|step| step.cost_per_ha).collect();
    let steps = steps(&programme.steps, &known);
    let works = work_out(&steps, &costs, Untested::Works);
    let fails = work_out(&steps, &costs, Untested::Fails);
    let full: Vec<Step<'_>> = steps.iter().map(|step| Step { parts: vec![Part { share: None }], ..step.clone() }).collect();
    let if_susceptible = work_out(&full, &costs, Untested::Works).all;
    let joined = |works: Range, fails: Range| Range { low: works.low.min(fails.low), ..works };
    let Outcome { steps: alone, all, lost } = works;
    let control = joined(all, fails.all);
    let steps: Vec<StepCheck> = programme
        .steps
        .iter()
        .zip(known)
        .zip(alone.into_iter().zip(fails.steps))
        .map(|((step, known), (works, fails))| StepCheck {
            tested: Tested::of(known.iter().map(|known| known.share.is_some())),
            control: joined(works, fails),
            step: step.clone(),
            known,
        })
        .collect();
    let sum = |wanted: &dyn Fn(&StepCheck) -> bool| {
        steps.iter().filter(|step| wanted(step)).map(|step| step.step.cost_per_ha).sum::<f64>()
    };
    FieldCheck {
        field: field.id,
        area_m2: field.area_m2(),
        programme: programme.id,
        name: programme.name.clone(),
        tested: Tested::of(steps.iter().flat_map(|step| step.known.iter().map(|known| known.share.is_some()))),
        control,
        without_untested: fails.all,
        if_susceptible,
        cost_per_ha: programme.cost_per_ha(),
        at_risk_per_ha: lost,
        untested_per_ha: sum(&|step| step.tested == Tested::None),
        resisted_per_ha: sum(&StepCheck::is_resisted),
        measures: combined(measures.iter().map(String::as_str)),
        measure_keys: measures.to_vec(),
        steps,
    }
}

fn steps<'a>(planned: &[ProgrammeStep], known: &'a [Vec<Known>]) -> Vec<Step<'a>> {
    let step = |(step, known): (&ProgrammeStep, &'a Vec<Known>)| Step {
        key: format!("{} {}", step.timing, step.active),
        control: Control { ..step.control },
        parts: known.iter().map(|known| Part { share: known.share.as_ref() }).collect(),
    };
    planned.iter().zip(known).map(step).collect()
}

/// Money and control over a farm.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct FarmSum {
    /// Fields with a programme.
    pub fields: usize,
    /// Their land, m2.
    pub area_m2: f64,
    /// Cost of all programmes.
    pub cost: f64,
    /// Money at risk. The ends are the sums of the fields' ends: fields of a farm often share a fate.
    pub at_risk: Range,
    /// Cost of steps of which nothing was tested.
    pub untested: f64,
}

/// The check of every field with a programme.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Checks {
    /// Fields by money at risk, most first.
    pub fields: Vec<FieldCheck>,
    /// By farm's name.
    pub farms: BTreeMap<String, FarmSum>,
    /// All farms.
    pub all: FarmSum,
    /// Fields of the year without a programme.
    pub without: Vec<FieldId>,
}

impl Checks {
    /// The farms by money at risk, most first.
    pub fn farms_ranked(&self) -> Vec<(&str, &FarmSum)> {
        let mut farms: Vec<_> = self.farms.iter().map(|(farm, sum)| (farm.as_str(), sum)).collect();
        farms.sort_by(|(_, a), (_, b)| b.at_risk.likely.total_cmp(&a.at_risk.likely));
        farms
    }

    /// The check of a field.
    pub fn of(&self, field: FieldId) -> Option<&FieldCheck> {
        self.fields.iter().find(|check| check.field == field)
    }
}

/// Checks the programmes of all fields for harvest `year`; with `instead`, that programme in every field of `only` (or of all),
/// as if it were planned there.
pub fn check(records: &Records, year: i32, instead: Option<&Programme>, only: Option<&BTreeSet<FieldId>>) -> Checks {
    let ratings = field_ratings(records, year);
    let unknown = FieldRatings::default();
    let fields: Vec<_> =
        records.fields_in(year).into_iter().filter(|field| only.is_none_or(|only| only.contains(&field.id))).collect();
    let found: Vec<Option<FieldCheck>> = fields
        .par_iter()
        .map(|field| {
            let planned = records.field_programme(field.id, year);
            let own = planned.and_then(|planned| records.programmes.get(&planned.programme?)).map(|own| &**own);
            let measures = planned.map(|planned| planned.measures.as_slice()).unwrap_or_default();
            let programme = instead.or(own)?;
            Some(check_field(records, field, programme, measures, ratings.get(&field.id).unwrap_or(&unknown), year))
        })
        .collect();
    let mut checks = Checks::default();
    for (field, found) in fields.iter().zip(found) {
        let Some(found) = found else {
            checks.without.push(field.id);
            continue;
        };
        for sum in [checks.farms.entry(records.farm_name(field).to_owned()).or_default(), &mut checks.all] {
            let (at_risk, ha) = (found.at_risk(), found.area_m2 / M2_PER_HA);
            sum.fields += 1;
            sum.area_m2 += found.area_m2;
            sum.cost += found.cost_per_ha * ha;
            sum.untested += found.untested_per_ha * ha;
            sum.at_risk = Range {
                low: sum.at_risk.low + at_risk.low,
                likely: sum.at_risk.likely + at_risk.likely,
                high: sum.at_risk.high + at_risk.high,
            };
        }
        checks.fields.push(found);
    }
    checks.fields.sort_by(|a, b| b.at_risk().likely.total_cmp(&a.at_risk().likely).then(a.field.cmp(&b.field)));
    checks
}
