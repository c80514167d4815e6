//! Why the laboratory's rating may differ from ours: which usual practice would give its class from the same figures.

use crate::model::{Rating, Records, TestResult};
use crate::rating::assess::{Assessment, reduction_of, standard_of};
use crate::rating::scale::{LIMITS, limits, rate};

/// The published figure is drawn for a standard of this reduction, %.
const FIGURE: f64 = 90.0;

/// The reasons that would explain the laboratory's rating; empty when it agrees or there is nothing to compare.
pub fn reasons(records: &Records, result: &TestResult, found: &Assessment) -> Vec<String> {
    let (Some(lab), Some(ours), Some(standard)) = (found.lab, found.rating, found.standard) else { return Vec::new() };
    if lab == ours {
        return Vec::new();
    }
    let Some(reduction) = found.reduction else { return Vec::new() };
    let mut reasons = Vec::new();
    let gives = |rating: Option<Rating>| rating == Some(lab);
    if gives(rate(reduction, FIGURE)) {
        reasons.push(format!(
            "Limits that stand still at 81, 72 and 36 %, as drawn for a standard of 90 %, give {}; ours follow this test's standard of {standard:.1} %.",
            lab.label()
        ));
    }
    if gives(rate(reduction, 100.0)) {
        reasons.push(format!("Limits at 90, 80 and 40 % that leave the standard out give {}.", lab.label()));
    }
    if gives(rate(reduction.round(), standard.round())) {
        reasons.push(format!(
            "From figures rounded to whole per cent, {:.0} beside {:.0}, it is {}.",
            reduction,
            standard,
            lab.label()
        ));
    }
    if let Some(printed) = result.reduction.filter(|printed| (printed - reduction).abs() > 0.05)
        && gives(rate(printed, standard))
    {
        reasons.push(format!("The printed {printed:.1} %, not the {reduction:.1} % of the pots, gives {}.", lab.label()));
    }
    if let Some(printed) = result.standard.filter(|printed| (printed - standard).abs() > 0.05)
        && gives(rate(reduction, printed))
    {
        reasons.push(format!("The standard printed beside the sample, {printed:.1} %, gives {}.", lab.label()));
    }
    for other in records.results.values() {
        let same_pots = other.sample == result.sample
            && other.assay == result.assay
            && other.active == result.active
            && other.dose == result.dose
            && other.measure != result.measure;
        if let (true, Some(measure), Some(standard)) = (same_pots, other.measure, standard_of(records, other))
            && gives(reduction_of(other).0.and_then(|reduction| rate(reduction, standard)))
        {
            reasons.push(format!("By {} of the same pots it is {}.", measure.label(), lab.label()));
        }
    }
    if lab <= Rating::RQuestion && ours >= Rating::RR && found.difference.is_some_and(|chance| chance > 0.05) {
        reasons.push("It does not differ significantly from the standard, and the laboratory may ask for that.".to_owned());
    }
    if let Some(distance) = distance(reduction, standard, ours, lab) {
        let inside = found.sureness.and_then(|sure| sure.share(lab));
        let share = inside.map_or(String::new(), |share| format!(" {} has a share of {:.0} %.", lab.label(), 100.0 * share));
        reasons.push(format!(
            "The value lies {distance:.1} points from the limit of {}, so either class is close.{share}",
            lab.label()
        ));
    }
    if reasons.is_empty() {
        reasons.push(
            "No usual practice gives the laboratory's class from these figures: ask which figures and limits it used."
                .to_owned(),
        );
    }
    reasons
}

/// How far the reduction is from the nearest limit of the laboratory's class, if the classes are neighbours and it is near.
fn distance(reduction: f64, standard: f64, ours: Rating, lab: Rating) -> Option<f64> {
    let (better, worse) = if lab < ours { (lab, ours) } else { (ours, lab) };
    if worse as usize - better as usize != 1 {
        return None;
    }
    let limit = limits(standard).get(better as usize).copied()?;
    let distance = (reduction - limit).abs();
    // Half as wide as the narrowest class, R?.
    let near = 0.5 * (LIMITS[0] - LIMITS[1]) * standard;
    (distance <= near).then_some(distance)
}
