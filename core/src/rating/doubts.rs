//! What speaks against a rating, and what follows from it, in words.

use crate::model::{Records, StandardRole, TestResult};
use crate::rating::assess::{Assessment, Doubt, evidence_of, is_count, standards_of};
use crate::rating::difference::SIGNIFICANT;
use crate::rating::evidence::Evidence;
use crate::rating::printed;
use crate::rating::scale::rate;

/// Printed and worked-out reductions that differ by more than this are told apart, percentage points (rounding to whole
/// numbers moves a figure by half a point).
const APART: f64 = 0.6;
/// Fewer plants or seeds than this leave an interval that often spans two classes: of 131 published populations tested with 18
/// plants, 40 to 91 did.
const FEW: f64 = 20.0;
/// A resistant standard controlled better than this share of the susceptible one does not show resistance (0.80: the limit
/// of RR).
const RESISTANT_BELOW: f64 = 0.80;

/// Everything that speaks against a rating.
pub(super) fn doubts(records: &Records, result: &TestResult, found: &Assessment) -> Vec<Doubt> {
    let mut doubts = Vec::new();
    let mut add = |what: String, so: &str| doubts.push(Doubt { what, so: so.to_owned() });
    let Some(reduction) = found.reduction else {
        add(
            "The laboratory gave its rating without a percentage.".to_owned(),
            "It cannot be checked and is not worked out by us: it counts as the laboratory's. Ask for the reductions and the standard.",
        );
        return doubts;
    };
    standard(records, result, reduction, found, &mut add);
    if reduction < 0.0 {
        add(
            format!("The treated plants did better than the untreated ones ({reduction:.1} %)."),
            "It counts as no control at all, RRR. Ask the laboratory whether the untreated pots were sound.",
        );
    }
    if let Some(printed) = result.reduction.filter(|printed| result.raw.is_some() && (printed - reduction).abs() > APART) {
        add(
            format!("Printed is {printed:.1} %, the counts or weights give {reduction:.1} %."),
            "The rating goes by the counts or weights; ask the laboratory how its figure was worked out.",
        );
    }
    if let Some((printed, [low, high])) = printed::bounds(&result.comment)
        && let Some(standard) = found.standard
        && rate(low, standard) != rate(high, standard)
    {
        let word = |at| rate(at, standard).map_or("no class", crate::model::Rating::label);
        add(
            format!("Printed is {printed} and no exact figure: it may be anything from {} to {}.", word(high), word(low)),
            "The rating goes by the figure itself, or by the middle of two. Ask the laboratory for the exact one.",
        );
    }
    match found.evidence {
        Some(Evidence::Number { reduction, .. }) if reduction < 0.0 => add(
            "Of the untreated plants nothing is known.".to_owned(),
            "How sure a reduction below 0 is cannot be said from the number of plants alone.",
        ),
        None => add(
            "Neither a standard error nor a number of plants is known.".to_owned(),
            "How sure the class is cannot be said.",
        ),
        Some(Evidence::Counts { treated, .. }) if treated.pots < 2 => add(
            "There is only one treated pot or dish.".to_owned(),
            "How much pots differ cannot be seen; the interval may be too narrow.",
        ),
        Some(evidence @ Evidence::Weights(_)) if !evidence.has_spread() => {
            add("Only one pot was weighed.".to_owned(), "Without a second pot there is no interval.");
        }
        Some(_) => {}
    }
    if let Some(evidence) = found.evidence
        && found.sureness.is_some_and(|sure| sure.interval.is_none())
        && evidence.has_spread()
    {
        add("The untreated pots differ too much.".to_owned(), "The interval has no end on one side: repeat the test.");
    }
    let plants = match found.evidence {
        Some(Evidence::Number { n, .. }) => Some(n),
        Some(Evidence::Counts { treated, .. }) => Some(treated.of),
        _ => None,
    };
    if let Some(plants) = plants.filter(|plants| *plants < FEW) {
        let noun = if is_count(result.measure) { "plants or seeds" } else { "plants" };
        add(
            format!("Only {plants:.0} {noun} were tested."),
            "The interval is wide; the next class may well be the true one.",
        );
    }
    if let (Some(sure), Some(rating)) = (found.sureness, found.rating)
        && let Some(share) = sure.share(rating).filter(|share| *share < 0.5)
    {
        add(
            format!("Another class is likelier than {}: its share is {:.0} %.", rating.label(), 100.0 * share),
            "Read the classes beside it as just as possible.",
        );
    }
    if records.settings.results.must_differ && found.by_limits != found.rating {
        add(
            "By the limits it would be worse, but it does not differ from the standard (Dunnett, P above 0.05).".to_owned(),
            "It is shown as R?: retest with more plants.",
        );
    } else if let (Some(chance), Some(rating)) = (found.difference, found.by_limits)
        && chance > SIGNIFICANT
        && rating >= crate::model::Rating::RR
    {
        add(
            format!("It does not differ significantly from the standard (Dunnett, P = {chance:.2})."),
            "A laboratory that asks for a difference would print R? at most.",
        );
    }
    doubts
}

fn standard(records: &Records, result: &TestResult, reduction: f64, found: &Assessment, add: &mut impl FnMut(String, &str)) {
    let Some(standard) = found.standard else {
        let so = if found.is_laboratory_only() {
            "There is no rating of ours; the laboratory's counts as the laboratory's. Ask the laboratory for its standard."
        } else {
            "There is no rating: a poor kill may be the herbicide's or the spraying's fault. Ask the laboratory for its standard."
        };
        return add("The test has no susceptible standard.".to_owned(), so);
    };
    if rate(reduction, standard).is_none() {
        return add(
            format!("The susceptible standard was reduced by {standard:.1} %."),
            "A standard that was not controlled gives no rating: the test has to be repeated.",
        );
    }
    let [low, high] = records.settings.results.expected_standard;
    if standard < low {
        add(
            format!("The susceptible standard was reduced by {standard:.1} % only; {low:.0} to {high:.0} % is expected."),
            "The limits lie closer together and the dose or the spraying may have been weak: resistance may be hidden. Ask for a retest before relying on an S.",
        );
    } else if standard > high {
        add(
            format!("The susceptible standard was reduced by {standard:.1} %; {low:.0} to {high:.0} % is expected."),
            "The dose may have been so high that weak resistance does not show.",
        );
    }
    if let Some(record) = &found.standard_record
        && let Some(printed) = result.standard
        && (printed - standard).abs() > APART
    {
        add(
            format!(
                "Beside the sample the standard is printed as {printed:.1} %; {} itself gives {standard:.1} %.",
                record.name
            ),
            "The rating goes by the standard's own row.",
        );
    }
    let others: Vec<f64> = standards_of(records, result)
        .filter(|other| other.role == StandardRole::Susceptible)
        .filter(|other| found.standard_record.as_ref().is_none_or(|used| used.id != other.id))
        .filter(|other| found.standard_record.as_ref().is_none_or(|used| used.measure == other.measure))
        .map(|other| evidence_of(other).map_or(other.reduction, |evidence| evidence.reduction()))
        .filter(|other| rate(reduction, *other) != rate(reduction, standard))
        .collect();
    if let Some(other) = others.first() {
        let word = rate(reduction, *other).map_or("none", crate::model::Rating::label);
        add(
            format!("Another susceptible standard of the test was reduced by {other:.1} %, which would make it {word}."),
            "The rating goes by the standard that stands first; ask the laboratory which of them it rates by.",
        );
    }
    for resistant in standards_of(records, result).filter(|standard| standard.role == StandardRole::Resistant) {
        let reduction = evidence_of(resistant).map_or(resistant.reduction, |evidence| evidence.reduction());
        if reduction >= RESISTANT_BELOW * standard {
            add(
                format!("The resistant standard {} was controlled too ({reduction:.1} %).", resistant.name),
                "The test does not tell resistant from susceptible plants here; an S says little.",
            );
        }
    }
}
