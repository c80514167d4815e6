//! What follows: the part on programmes and money, what the pages of fields say of both, and the sentence of the summary.

use serde_json::{Value, json};

use crate::act::{self, FieldCheck, Range, Tested, outlook, percent, with_band};
use crate::model::Rating;
use crate::report::book::parts::named;
use crate::report::content::{Consequences, Content, FieldLine};
use crate::report::request::ReportRequest;
use crate::units::{M2_PER_HA, ha};

/// Fields that the summary names.
const NAMED: usize = 3;

/// Everything of it for the template; null if there is nothing to say.
pub(super) fn part(request: &ReportRequest, content: &Content) -> Value {
    let Some(found) = &content.act else { return Value::Null };
    let words = &request.words;
    let year = found.year.to_string();
    let sum = |value: f64| act::money(&found.currency, value);
    let rows = found.checks.fields.iter().filter_map(|check| Some(row(found, check, line_of(content, check)?)));
    let sums = found.checks.farms_ranked().into_iter().map(|(farm, all)| {
        json!({
            "farm": farm, "fields": all.fields.to_string(), "ha": ha(all.area_m2), "cost": sum(all.cost),
            "risk": with_band(all.at_risk, sum), "untested": sum(all.untested),
        })
    });
    let pages: serde_json::Map<String, Value> =
        content.pages.iter().map(|page| (page.line.to_string(), of_field(found, &content.lines[page.line]))).collect();
    json!({
        "heading": words.say("act", &[("year", &year)]),
        "programme": words.say("act.page", &[("year", &year)]),
        "sentences": sentences(request, content),
        "rows": rows.collect::<Vec<_>>(),
        "sums": sums.collect::<Vec<_>>(),
        "assumed": (1..=act::ASSUMPTIONS.len()).map(|n| words.say(&format!("act.assumed.{n}"), &[])).collect::<Vec<_>>(),
        "farms": content.farms.len() > 1,
        "pages": pages,
    })
}

fn line_of<'a>(content: &'a Content, check: &FieldCheck) -> Option<(usize, &'a FieldLine)> {
    content.lines.iter().enumerate().find(|(_, line)| line.id == check.field)
}

fn row(found: &Consequences, check: &FieldCheck, (at, line): (usize, &FieldLine)) -> Value {
    let sum = |value: f64| act::money(&found.currency, value);
    // Whole sums where there is little room; the field's page has them in full.
    let whole = |value: f64| act::money(&found.currency, value.round());
    // Of what was not tested nothing is known: no figure that looks good.
    let known = |text: String| if check.tested == Tested::None { "–".to_owned() } else { text };
    json!({
        "line": at, "name": line.name, "farm": line.farm, "ha": ha(line.area_m2), "programme": check.name,
        "susceptible": percent(check.if_susceptible.likely),
        "left": known(with_band(check.control, percent)),
        "cost": sum(check.cost_per_ha),
        "risk": known(with_band(check.at_risk_per_ha, whole)),
        "whole": known(whole(check.at_risk().likely)),
        "some": check.tested == Tested::Partly,
    })
}

/// What the page of a field says.
fn of_field(found: &Consequences, line: &FieldLine) -> Value {
    let check = found.checks.of(line.id);
    let uses = found.uses.get(&line.id);
    let text = |list: Vec<act::Sentence>| list.into_iter().map(|sentence| sentence.text).collect::<Vec<_>>();
    let steps = check.map_or_else(Vec::new, |check| {
        let step = |step: &act::StepCheck| {
            json!({
                "timing": step.step.timing, "active": step.step.active,
                "rating": step.worst().map(Rating::label),
                "year": step.known.iter().filter_map(|known| known.year).min().map(|year| year.to_string()),
                "expected": step.step.control.label(), "here": with_band(step.control, percent),
                "cost": act::money(&found.currency, step.step.cost_per_ha),
            })
        };
        check.steps.iter().map(step).collect()
    });
    let ahead = found.ahead.get(&line.id).map_or_else(Vec::new, |one| outlook::sentences(one, &found.currency));
    json!({
        "sentences": text(check.map_or_else(Vec::new, |check| act::sentences(check, uses, &found.currency))),
        "steps": steps,
        "ahead": text(ahead),
    })
}

/// For the summary and the head of the part: money of all programmes, what of it is at risk, and where.
pub(super) fn sentences(request: &ReportRequest, content: &Content) -> Vec<String> {
    let Some(found) = &content.act else { return Vec::new() };
    let (words, all) = (&request.words, &found.checks.all);
    if all.fields == 0 {
        return Vec::new();
    }
    let sum = |value: f64| act::money(&found.currency, value);
    let (year, cost, area) = (found.year.to_string(), sum(all.cost), format!("{:.0}", all.area_m2 / M2_PER_HA));
    let mut said = vec![words.count("act.cost", all.fields, &[("year", &year), ("cost", &cost), ("ha", &area)])];
    let Range { likely, .. } = all.at_risk;
    if likely > 0.0 {
        let worst = found.checks.fields.iter().filter(|check| check.at_risk().likely > 0.0).take(NAMED);
        let names: Vec<String> = worst.filter_map(|check| Some(named(line_of(content, check)?.1, content))).collect();
        let risk = with_band(all.at_risk, sum);
        said.push(words.say("act.risk", &[("risk", &risk), ("names", &names.join(", "))]));
    } else {
        said.push(words.say("act.norisk", &[]));
    }
    if all.untested > 0.0 {
        said.push(words.say("act.untested", &[("cost", &sum(all.untested))]));
    }
    said
}
