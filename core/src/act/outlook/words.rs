//! The coming years of a field as plain sentences, each with how its figures were come by, and figures as they are written.

use crate::act::outlook::years::{Band, FieldOutlook, ScenarioOutlook};
use crate::act::share::Range;
use crate::act::words::{self, Sentence, money, percent};

/// A figure with two or three digits that say something; thousands with a comma.
pub fn figure(value: f64) -> String {
    match value.abs() {
        v if v >= 1e6 => format!("{:.1} million", value / 1e6),
        v if v >= 1e4 => money("", (value / 1000.0).round() * 1000.0),
        v if v >= 10.0 => money("", value.round()),
        v if v >= 1.0 => format!("{value:.1}"),
        v if v >= 0.005 => format!("{value:.2}"),
        _ => "0".to_owned(),
    }
}

/// "12 (3.1 to 45)".
pub fn with_band(band: Band) -> String {
    let (low, median, high) = (figure(band.low), figure(band.median), figure(band.high));
    if low == high { median } else { format!("{median} ({low} to {high})") }
}

/// A percentage with its band: one decimal from 95 on, where the plants that are left halve and double with it.
pub fn percent_with_band(band: Band) -> String {
    words::with_band(Range { low: band.low, likely: band.median, high: band.high }, percent)
}

/// The sentences of a field: what it starts from, then one for each scenario.
pub fn sentences(found: &FieldOutlook, currency: &str) -> Vec<Sentence> {
    let mut how = vec![
        "Made into parts of the field that each hold a fifth of the population. Plants and classes become heads by the heads that a \
         plant carries. Seed is taken to stay in its part."
            .to_owned(),
    ];
    how.extend(found.start.notes.iter().cloned());
    let text = format!(
        "It starts from {} heads/m2 on average: {}.",
        with_band(found.heads_at_start),
        found.start.source.trim_end_matches('.')
    );
    let mut list = vec![Sentence { text, how, kind: "start" }];
    list.extend(found.scenarios.iter().filter_map(|scenario| ahead(scenario, currency)));
    list
}

fn ahead(scenario: &ScenarioOutlook, currency: &str) -> Option<Sentence> {
    let last = scenario.years.last()?;
    let whole = |value: f64| money(currency, value.round());
    let sums = |band: Band| {
        let (low, median, high) = (whole(band.low), whole(band.median), whole(band.high));
        if low == high { median } else { format!("{median} ({low} to {high})") }
    };
    let mean = &scenario.mean;
    let mut text = format!(
        "“{}” comes to {} heads/m2 in harvest {}. The seed in the soil would stand still at {} % control in every crop. On average over \
         the harvests the weed takes {} % of yield",
        scenario.name,
        with_band(last.heads),
        last.harvest,
        percent_with_band(scenario.hold),
        with_band(mean.loss)
    );
    match &mean.money {
        Some(year) => {
            text += &format!(", {} a hectare a year, and what is done costs {}.", sums(year.weed), whole(year.cost));
        }
        None => text += ".",
    }
    let mut how: Vec<String> = scenario
        .years
        .iter()
        .map(|year| {
            let heads = with_band(year.heads);
            format!("{} {}: {heads} heads/m2, {} % of yield lost", year.harvest, year.crop, with_band(year.loss))
        })
        .collect();
    how.push(
        "Median, and in brackets 80 % of the draws. Loss by the hyperbola of Cousens (1985) on plants; other published relations differ."
            .to_owned(),
    );
    how.push(
        "Stand still: the control, the same in all crops, at which no more seed lies in the soil at the end than at the start; 1 − \
         1/growth for a steady growth."
            .to_owned(),
    );
    if mean.money.is_none() {
        let mut missing: Vec<&str> =
            scenario.years.iter().flat_map(|year| &year.money.missing).map(String::as_str).collect();
        missing.sort_unstable();
        missing.dedup();
        how.push(format!("Money is not counted; not given: {}.", missing.join(", ")));
    }
    Some(Sentence { text, how, kind: "ahead" })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_have_the_digits_that_say_something() {
        let written = [0.0, 0.004, 0.056, 3.12, 12.6, 1234.4, 45_678.0, 3_456_789.0].map(figure);
        assert_eq!(written, ["0", "0", "0.06", "3.1", "13", "1,234", "46,000", "3.5 million"]);
        assert_eq!(with_band(Band { low: 1.0, median: 1.0, high: 1.0 }), "1.0");
    }
}
