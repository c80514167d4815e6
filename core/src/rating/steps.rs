//! The arithmetic of a rating, line by line, for people who want to follow it.

use crate::model::{Measure, Rating, Raw, TestResult};
use crate::rating::assess::{Assessment, evidence_of};
use crate::rating::counts::Share;
use crate::rating::weights::Mean;

/// The lines: what, and what comes of it.
pub fn steps(result: &TestResult, found: &Assessment) -> Vec<String> {
    let mut lines = Vec::new();
    let Some(reduction) = found.reduction else {
        let lab = found.lab.map_or("none", Rating::label);
        lines.push(format!("The laboratory's rating is {lab}, without a percentage: nothing is worked out by us."));
        return lines;
    };
    match (&result.raw, result.measure) {
        (Some(raw), Some(measure)) => lines.extend(raw_lines("Sample", raw, measure, reduction)),
        _ => lines.push(format!("Reduction as printed by the laboratory: {reduction:.1} %.")),
    }
    let Some(standard) = found.standard else {
        lines.push("No susceptible standard in this test: no limits, no rating of ours.".to_owned());
        if let Some(counted) = found.counted {
            lines.push(format!("The laboratory's rating {} counts, as the laboratory's.", counted.rating.label()));
        }
        return lines;
    };
    match &found.standard_record {
        Some(record) => match (&record.raw, record.measure) {
            (Some(raw), Some(measure)) if evidence_of(record).is_some() => {
                lines.extend(raw_lines(&format!("Standard {}", record.name), raw, measure, standard));
            }
            _ => lines.push(format!("Standard {} in the same test: {standard:.1} %.", record.name)),
        },
        None => lines.push(format!("Susceptible standard of the same test: {standard:.1} %.")),
    }
    let (Some([s, r_question, rr]), Some(rating)) = (found.limits, found.by_limits) else { return lines };
    let limits = [s, r_question, rr];
    let places = places(reduction, limits);
    let [s, r_question, rr] = limits.map(|limit| format!("{limit:.places$}"));
    lines.push(format!(
        "Limits: 0.90, 0.80 and 0.40 of {standard:.places$} % = {s}, {r_question} and {rr} %. A value on a limit takes the more susceptible class."
    ));
    lines.push(format!("{reduction:.places$} % {}: {}.", between(rating, &s, &r_question, &rr), rating.label()));
    if let Some(sure) = found.sureness {
        if let Some([low, high]) = sure.interval {
            lines.push(format!("95 % interval: {low:.1} to {high:.1} % ({}).", sure.method));
        }
        if let Some(shares) = sure.class_shares {
            let words: Vec<String> = Rating::ALL
                .iter()
                .zip(shares)
                .map(|(rating, share)| format!("{} {:.0} %", rating.label(), 100.0 * share))
                .collect();
            let with = if sure.standard_unsure { ", with the standard's own error" } else { "" };
            lines.push(format!("Chance of each class given that{with}: {}.", words.join(", ")));
        }
    }
    if let Some(chance) = found.difference {
        lines.push(format!("Difference from the standard, pots against pots (Dunnett, one-sided): P = {chance:.4}."));
    }
    lines
}

/// So many decimals that a value near a limit is not written like it; one, unless it is that near.
fn places(reduction: f64, limits: [f64; 3]) -> usize {
    let alike = |places: usize| {
        let written = format!("{reduction:.places$}");
        limits.iter().any(|limit| (limit - reduction).abs() > 1e-9 && format!("{limit:.places$}") == written)
    };
    (1..6).find(|places| !alike(*places)).unwrap_or(6)
}

fn between(rating: Rating, s: &str, r_question: &str, rr: &str) -> String {
    match rating {
        Rating::S => format!("is at least {s} %"),
        Rating::RQuestion => format!("is at least {r_question} % and below {s} %"),
        Rating::RR => format!("is at least {rr} % and below {r_question} %"),
        Rating::RRR => format!("is below {rr} %"),
    }
}

fn raw_lines(who: &str, raw: &Raw, measure: Measure, reduction: f64) -> Vec<String> {
    let mut lines = Vec::new();
    let list = |pots: &[crate::model::Replicate]| {
        let each: Vec<String> = pots
            .iter()
            .map(|pot| pot.of.map_or_else(|| format!("{}", pot.value), |of| format!("{}/{of}", pot.value)))
            .collect();
        each.join(", ")
    };
    if measure == Measure::FreshWeight {
        let (Some(treated), Some(untreated)) = (Mean::of(&raw.treated), Mean::of(&raw.untreated)) else { return lines };
        lines.push(format!("{who}, treated pots in g: {}; mean {:.2}.", list(&raw.treated), treated.mean));
        lines.push(format!("{who}, untreated pots in g: {}; mean {:.2}.", list(&raw.untreated), untreated.mean));
        lines.push(format!("Reduction = 100 x (1 - {:.2} / {:.2}) = {reduction:.1} %.", treated.mean, untreated.mean));
        return lines;
    }
    let what = if measure == Measure::Shoots { "with a shoot" } else { "alive" };
    let one = |pots: &[crate::model::Replicate]| Share::of(pots);
    let Some(treated) = one(&raw.treated) else { return lines };
    lines.push(share_line(&format!("{who}, treated"), what, &list(&raw.treated), &treated));
    if let Some(untreated) = one(&raw.untreated) {
        lines.push(share_line(&format!("{who}, untreated"), what, &list(&raw.untreated), &untreated));
        lines.push(format!("Reduction = 100 x (1 - {:.3} / {:.3}) = {reduction:.1} %.", treated.share(), untreated.share()));
    } else {
        lines.push(format!("Reduction = 100 x (1 - {:.3}) = {reduction:.1} %; no untreated plants.", treated.share()));
    }
    lines
}

fn share_line(who: &str, what: &str, list: &str, share: &Share) -> String {
    let spread = if share.overdispersion > 1.0 {
        format!(
            "; pots differ {:.1} times more than chance allows, so they count as {:.0}",
            share.overdispersion,
            share.effective()
        )
    } else {
        String::new()
    };
    format!("{who}, {what}: {list}; together {} of {} = {:.3}{spread}.", share.count, share.of, share.share())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_value_near_a_limit_is_not_written_like_it() {
        let limits = [81.0, 72.0, 36.0];
        for (reduction, wanted) in [(60.0, 1), (72.0, 1), (71.96, 2), (71.9996, 4)] {
            assert_eq!(places(reduction, limits), wanted, "{reduction}");
        }
    }
}
