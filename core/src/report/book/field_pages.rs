//! The page of each field.

use serde_json::{Value, json};

use crate::model::Rating;
use crate::report::book::parts::day;
use crate::report::book::tables::mode;
use crate::report::content::{Content, FieldPage, TestLine};
use crate::report::request::{ReportRequest, Version};
use crate::units;

pub(super) fn pages(request: &ReportRequest, content: &Content) -> Value {
    Value::Array(content.pages.iter().map(|page| of_page(request, content, page)).collect())
}

fn of_page(request: &ReportRequest, content: &Content, page: &FieldPage) -> Value {
    let words = &request.words;
    let line = &content.lines[page.line];
    let history = page.history.iter().map(|row| {
        json!({ "mode": mode(words, &row.group), "ratings": row.ratings.iter().map(|r| r.map(Rating::label)).collect::<Vec<_>>() })
    });
    let modes = page.modes.iter().map(|each| {
        let standing = words.say(&format!("standing.{}", each.standing.label()), &[]);
        json!({ "mode": mode(words, &each.group), "standing": standing, "reason": each.reason })
    });
    let trends =
        page.trends.iter().map(|(active, change, slope)| json!({ "active": active, "change": change, "slope": slope }));
    let ha = units::ha(line.area_m2);
    json!({
        "line": page.line,
        "name": line.name,
        "area": words.say("page.area", &[("ha", &ha), ("farm", &line.farm)]),
        "rating": line.worst.map(Rating::label),
        "found": line.worst_year.map(|year| format!("{year}{}", line.worst_by.mark())),
        "meaning": line.worst.map(|rating| words.say(&format!("rating.{}", rating.label()), &[])),
        "map": caption(request, content, page),
        "tests": page.tests.iter().map(|test| tested(request, test)).collect::<Vec<_>>(),
        "years": page.tested_in.iter().map(ToString::to_string).collect::<Vec<_>>(),
        "history": history.collect::<Vec<_>>(),
        "trends": trends.collect::<Vec<_>>(),
        "modes": modes.collect::<Vec<_>>(),
        "headline": first_upper(&page.suggestion.headline()),
        "reasons": page.suggestion.reasons,
        "settle": page.suggestion.settle,
        "next": next(request, content, page),
        "notes": notes(request, page),
        "seen": seen(request, page),
        "crops": page.crops.iter().map(|(year, crop)| format!("{year} {crop}")).collect::<Vec<_>>(),
        "sprays": sprays(page),
        "note": page.note,
    })
}

fn first_upper(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().collect::<String>() + letters.as_str())
}

/// Herbicides of each harvest on a line: "flufenacet, mesosulfuron+iodosulfuron (survivors in patches)".
fn sprays(page: &FieldPage) -> Value {
    let mut years: Vec<(i32, Vec<String>)> = Vec::new();
    for (year, active, _, effect) in &page.sprays {
        let words = if effect.is_empty() { active.clone() } else { format!("{active} ({effect})") };
        match years.last_mut().filter(|(last, _)| last == year) {
            Some((_, list)) => list.push(words),
            None => years.push((*year, vec![words])),
        }
    }
    Value::Array(years.into_iter().map(|(year, list)| json!([year.to_string(), list.join(", ")])).collect())
}

/// A result with what its chart needs: all of it in %.
fn tested(request: &ReportRequest, test: &TestLine) -> Value {
    let one = |value: f64| format!("{value:.0}");
    json!({
        "active": test.active, "mode": mode(&request.words, &test.group), "group": test.group, "year": test.year.to_string(),
        "sample": test.sample, "assay": request.words.say(if test.assay.is_empty() { "none" } else { test.assay }, &[]),
        "reduction": test.reduction.map_or_else(|| "–".to_owned(), one),
        "interval": test.interval.map_or_else(|| "–".to_owned(), |[low, high]| format!("{} to {}", one(low), one(high))),
        "standard": test.standard.map_or_else(|| "–".to_owned(), one),
        "rating": test.rating.map(Rating::label),
        "lab": test.lab.map(Rating::label),
        "chance": test.sure().map_or_else(|| "–".to_owned(), |sure| one(100.0 * sure)),
        "at": test.reduction,
        "ends": test.interval,
        "limits": test.limits,
    })
}

fn caption(request: &ReportRequest, content: &Content, page: &FieldPage) -> String {
    let words = &request.words;
    let line = &content.lines[page.line];
    let mut said = vec![words.say(if page.seen.is_some() { "page.map.density" } else { "page.map.even" }, &[])];
    if let Some(plan) = &line.plan {
        said.push(words.count("page.map.plan", plan.stops, &[("year", &content.season.year.to_string())]));
    }
    said.join(" ")
}

fn next(request: &ReportRequest, content: &Content, page: &FieldPage) -> Vec<String> {
    let words = &request.words;
    let line = &content.lines[page.line];
    let mut said = Vec::new();
    if page.next.due {
        said.push(words.say("page.next.due", &[("year", &content.season.year.to_string())]));
    } else if let Some(year) = page.next.by_age.filter(|year| *year > content.season.year) {
        said.push(words.say("page.next.again", &[("year", &year.to_string())]));
    }
    said.push(page.next.reasons.join(" "));
    if let Some(plan) = &line.plan {
        let values = [
            ("stops", plan.stops.to_string()),
            ("length", units::length(plan.length_m)),
            ("minutes", format!("{:.0}", plan.minutes)),
            ("samples", words.count("samples", plan.samples, &[])),
        ];
        said.push(words.say("page.next.plan", &values.each_ref().map(|(name, value)| (*name, value.as_str()))));
    }
    said.retain(|sentence| !sentence.is_empty());
    said
}

fn seen(request: &ReportRequest, page: &FieldPage) -> String {
    let words = &request.words;
    match &page.seen {
        None => words.say("page.unscouted", &[]),
        Some(seen) => {
            let key = if seen.greatest > 0.0 { "page.seen" } else { "page.unseen" };
            words.say(key, &[("date", &day(seen.date, request, "date"))])
        }
    }
}

/// Disagreements with the laboratory, and for the consultant what speaks against a rating.
fn notes(request: &ReportRequest, page: &FieldPage) -> Vec<String> {
    let words = &request.words;
    let mut notes = Vec::new();
    for test in &page.tests {
        if let (true, Some(lab), Some(rating)) = (test.disputed(), test.lab, test.rating) {
            let values = [("active", test.active.as_str()), ("lab", lab.label()), ("rating", rating.label())];
            notes.push(words.say("page.disputed", &values));
        }
        if let (None, Some(lab)) = (test.rating, test.lab) {
            notes.push(words.say("page.laboratory", &[("active", test.active.as_str()), ("lab", lab.label())]));
        }
        if request.version == Version::Consultant {
            let about = words.say("page.doubt", &[("active", &test.active)]);
            let doubts = test.doubts.iter().filter(|(what, _)| !test.disputed() || !what.contains("laboratory"));
            notes.extend(doubts.map(|(what, so)| format!("{about}: {what} {so}")));
        }
    }
    notes
}
