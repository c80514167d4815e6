//! A field's programme check as plain sentences, each with how its figures were worked out.

use crate::act::check::{FieldCheck, StepCheck, Tested};
use crate::act::measures::{Measure, measure};
use crate::act::share::Range;
use crate::act::uses::Uses;
use crate::model::Rating;
use crate::units::{M2_PER_HA, ha};

/// A sentence, and how its figures were come by, line by line.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Sentence {
    /// The sentence.
    pub text: String,
    /// How its figures were worked out; empty where there is none.
    pub how: Vec<String>,
    /// What it is: `cost`, `risk`, `control`, `resisted`, `unaffected`, `untested`, `measures`, `runs`; of the coming years `start`, `ahead`.
    pub kind: &'static str,
}

/// A sum of money: "£1,730", "£31.50" below 100.
pub fn money(currency: &str, value: f64) -> String {
    let value = if value.abs() < 0.005 { 0.0 } else { value };
    let text = if value.abs() < 99.995 { format!("{value:.2}") } else { format!("{value:.0}") };
    let digits = text.strip_suffix(".00").unwrap_or(&text);
    let (sign, digits) = digits.strip_prefix('-').map_or(("", digits), |rest| ("−", rest));
    let whole = digits.split('.').next().unwrap_or_default().len();
    let mut grouped = String::new();
    for (at, c) in digits.chars().enumerate() {
        if at > 0 && at < whole && (whole - at).is_multiple_of(3) {
            grouped.push(',');
        }
        grouped.push(c);
    }
    // Codes of letters stand apart from the figure, signs do not.
    let space = if currency.ends_with(char::is_alphabetic) { " " } else { "" };
    format!("{sign}{currency}{space}{grouped}")
}

/// "78 (61–88)", or "78" where the ends are the same.
pub fn with_band(range: Range, write: impl Fn(f64) -> String) -> String {
    let (low, likely, high) = (write(range.low), write(range.likely), write(range.high));
    if low == high { likely } else { format!("{likely} ({low} to {high})") }
}

/// A percentage: one decimal from 95 on, where the plants that are left halve and double with it.
pub fn percent(value: f64) -> String {
    if (95.0..99.95).contains(&value) { format!("{value:.1}") } else { format!("{value:.0}") }
}

/// Runs of one mode of action that a sentence names; the others stand on hover.
const NAMED: usize = 3;

/// The sentences of a field, the most telling first.
pub fn sentences(check: &FieldCheck, uses: Option<&Uses>, currency: &str) -> Vec<Sentence> {
    let sum = |value: f64| money(currency, value);
    let mut list = Vec::new();
    let mut say = |kind, text: String, how: Vec<String>| list.push(Sentence { text, how, kind });
    let land = check.area_m2 / M2_PER_HA;
    let share = |step: &StepCheck| {
        let left = step.left()?;
        let lost = step.step.cost_per_ha * (1.0 - left);
        Some(format!(
            "{}: {} a hectare x (1 − {:.2} left) = {}",
            step.step.active,
            sum(step.step.cost_per_ha),
            left,
            sum(lost)
        ))
    };
    let text = format!(
        "“{}” costs {} a hectare, {} in the field ({} ha).",
        check.name,
        sum(check.cost_per_ha),
        sum(check.cost_per_ha * land),
        ha(check.area_m2)
    );
    let costs = check.steps.iter().map(|step| format!("{}: {}", step.step.active, sum(step.step.cost_per_ha)));
    say("cost", text, costs.collect());
    if check.tested == Tested::None {
        let text = "None of its steps has been tested on this field's plants: nothing is known of what it does here.";
        say("untested", text.to_owned(), Vec::new());
    } else {
        let text = format!(
            "Of that, {} a hectare pays for control that tests say is lost here: {} in the field.",
            with_band(check.at_risk_per_ha, sum),
            with_band(check.at_risk(), sum)
        );
        say("risk", text, check.steps.iter().filter_map(share).collect());
    }
    control(check, &mut say);
    steps(check, currency, &mut say);
    measures(check, &mut say);
    if let Some(uses) = uses.filter(|uses| !uses.runs.is_empty()) {
        // What resistance is confirmed against tells most.
        let resisted = |group: &str| {
            let mut known = check.steps.iter().flat_map(|step| &step.known).filter(|known| known.group == group);
            known.any(|known| known.rating.is_some_and(|rating| rating >= Rating::RR))
        };
        let mut runs: Vec<&super::Run> = uses.runs.iter().collect();
        runs.sort_by_key(|run| !resisted(&run.group));
        let mut how: Vec<String> = runs.iter().map(|run| run.said()).collect();
        let first = how.iter().take(NAMED).cloned().collect::<Vec<_>>().join("; ");
        let more = if how.len() > NAMED { format!("; and {} more", how.len() - NAMED) } else { String::new() };
        how.push(
            "Several actives of one mode of action on one day are one use; years without a record of sprays do not count."
                .into(),
        );
        say("runs", format!("Used again and again: {first}{more}."), how);
    }
    list
}

fn control(check: &FieldCheck, say: &mut impl FnMut(&'static str, String, Vec<String>)) {
    let alone = |step: &StepCheck| {
        let expected = step.step.control.label();
        let left = match step.left() {
            Some(left) => format!("x {left:.2} left = {} %", percent(step.control.likely)),
            None => "not tested".to_owned(),
        };
        format!("{}: {expected} expected, {left}", step.step.active)
    };
    let survivors: Vec<String> =
        check.steps.iter().map(|step| format!("{:.3}", 1.0 - step.control.likely / 100.0)).collect();
    let mut how: Vec<String> = check.steps.iter().map(alone).collect();
    how.push(format!("Left by all: {} = {:.4}", survivors.join(" x "), 1.0 - check.control.likely / 100.0));
    let plants = |control: f64| {
        let left = 100.0 - control;
        if left < 10.0 { format!("{left:.1}") } else { format!("{left:.0}") }
    };
    let text = format!(
        "On susceptible plants it would control {} %; here {} %. Of 100 plants {} would come through in place of {}.",
        with_band(check.if_susceptible, percent),
        with_band(check.control, percent),
        plants(check.control.likely),
        plants(check.if_susceptible.likely)
    );
    say("control", text, how);
}

fn steps(check: &FieldCheck, currency: &str, say: &mut impl FnMut(&'static str, String, Vec<String>)) {
    let said = |wanted: &dyn Fn(&StepCheck) -> bool| {
        let steps: Vec<&StepCheck> = check.steps.iter().filter(|step| wanted(step)).collect();
        let names: Vec<String> = steps.iter().map(|step| named(step)).collect();
        let how: Vec<String> = steps.iter().flat_map(|step| step.known.iter().map(super::Known::said)).collect();
        (names.join(", "), how)
    };
    let (names, how) = said(&StepCheck::is_resisted);
    if !names.is_empty() {
        let cost = money(currency, check.resisted_per_ha);
        say("resisted", format!("Resistance is confirmed against {names}: {cost} of the cost a hectare."), how);
    }
    let (names, how) = said(&StepCheck::is_unaffected);
    if !names.is_empty() {
        say("unaffected", format!("Not affected, as far as tests say: {names}."), how);
    }
    let (names, how) = said(&|step: &StepCheck| step.tested == Tested::None);
    if !names.is_empty() && check.tested != Tested::None {
        let cost = money(currency, check.untested_per_ha);
        let text = format!("Not tested here: {names}. Nothing is known of what its {cost} a hectare buys.");
        say("untested", text, how);
    }
}

/// "mesosulfuron+iodosulfuron (ALS, RR)".
fn named(step: &StepCheck) -> String {
    let mut modes: Vec<&str> = step.known.iter().map(super::Known::mode).collect();
    modes.dedup();
    let rating = step.worst().map_or(String::new(), |worst| format!(", {}", worst.label()));
    format!("{} ({}{rating})", step.step.active, modes.join(" and "))
}

fn measures(check: &FieldCheck, say: &mut impl FnMut(&'static str, String, Vec<String>)) {
    let planned: Vec<&Measure> = check.measure_keys.iter().filter_map(|key| measure(key)).collect();
    if planned.is_empty() {
        return;
    }
    let names: Vec<String> = planned.iter().map(|measure| first_lower(&measure.name)).collect();
    let mut how: Vec<String> =
        planned.iter().map(|measure| format!("{}: {}. {}", measure.name, measure.label(), measure.source)).collect();
    let text = match (check.heads_left(), &check.measures) {
        (Some([least, mean, most]), Some(measures)) => {
            how.push(
                "Together with the programme, and with each other, they are multiplied as if independent: an assumption."
                    .to_owned(),
            );
            for left in &measures.left_out {
                how.push(format!("{} is left out of the figure: it has no range, or works over years.", left.name));
            }
            format!(
                "With {} as well, {least:.1} to {most:.0} of 100 heads might be left ({mean:.1} by published means); outcomes varied \
                 widely between experiments.",
                names.join(" and ")
            )
        }
        _ => format!("Planned besides: {}. What that leaves cannot be put into one range.", names.join(" and ")),
    };
    say("measures", text, how);
}

fn first_lower(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map(|first| first.to_lowercase().chain(letters).collect()).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn money_as_people_write_it() {
        for (currency, value, written) in [
            ("£", 1730.4, "£1,730"),
            ("£", 31.5, "£31.50"),
            ("£", 31.0, "£31"),
            ("€", 1_234_567.0, "€1,234,567"),
            ("DKK", 250.0, "DKK 250"),
            ("£", -0.001, "£0"),
            ("£", -12.5, "−£12.50"),
            ("£", 99.996, "£100"),
            ("£", 999.7, "£1,000"),
        ] {
            assert_eq!(money(currency, value), written);
        }
    }

    #[test]
    fn bands_and_percentages() {
        let range = Range { low: 61.2, likely: 78.0, high: 96.04 };
        assert_eq!(with_band(range, percent), "78 (61 to 96.0)");
        assert_eq!(with_band(Range::exact(97.35), percent), "97.3");
        assert_eq!(percent(99.97), "100");
    }
}
