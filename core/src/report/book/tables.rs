//! Tables: all fields, two harvests, farms without names, sources; and how figures are written in them.

use serde_json::{Value, json};

use crate::model::{Rating, mode_of_group};
use crate::rating::RatedBy;
use crate::report::book::parts::{classes, day};
use crate::report::content::{Content, FieldLine};
use crate::report::request::ReportRequest;
use crate::report::words::Words;
use crate::units;

/// Ratings at or past the interval are set light in the table of fields.
fn is_old(year: i32, content: &Content) -> bool {
    content.year - year >= content.interval
}

/// Per cent with one decimal, so that parts add up to the whole; "–" of nothing.
pub(super) fn percent(part: f64, whole: f64) -> String {
    if whole > 0.0 { format!("{:.1}", 100.0 * part / whole) } else { "–".to_owned() }
}

/// Whole per cent, for the little room in a bar.
pub(super) fn whole_percent(part: f64, whole: f64) -> String {
    if whole > 0.0 { format!("{:.0}", 100.0 * part / whole) } else { "–".to_owned() }
}

/// Hectares with two decimals; "–" for none, so that a table shows where there is something.
pub(super) fn ha_or_dash(area_m2: f64) -> String {
    if area_m2 > 0.0 { units::ha(area_m2) } else { "–".to_owned() }
}

/// "HRAC 1, ACCase".
pub(super) fn mode(words: &Words, group: &str) -> String {
    let number = words.say("group", &[("group", group)]);
    mode_of_group(group).map_or(number.clone(), |mode| format!("{number}, {}", mode.name))
}

/// The modes of action that have the field's worst rating: "ACCase, ALS".
pub(super) fn groups_at_worst(line: &FieldLine) -> String {
    let worst = line.groups.iter().filter(|(_, (rating, _))| Some(*rating) == line.worst);
    worst.map(|(group, _)| mode_of_group(group).map_or(group.as_str(), |mode| mode.name)).collect::<Vec<_>>().join(", ")
}

pub(super) fn fields(request: &ReportRequest, content: &Content) -> Value {
    let words = &request.words;
    let heads = content.groups.iter().map(|group| json!([words.say("group", &[("group", &group.group)]), group.name]));
    let row = |(at, line): (usize, &FieldLine)| {
        let cell = |group: &str| {
            line.groups.get(group).map(|(rating, year)| {
                let lab = if line.by_laboratory.contains(group) { RatedBy::Laboratory.mark() } else { "" };
                json!({ "rating": rating.label(), "year": format!("{:02}{lab}", year.rem_euclid(100)), "old": is_old(*year, content) })
            })
        };
        json!({
            "name": line.name, "farm": line.farm, "ha": units::ha(line.area_m2),
            "rating": line.worst.map(Rating::label),
            "cells": content.groups.iter().map(|group| cell(&group.group)).collect::<Vec<_>>(),
            "last": line.last_test.map_or_else(|| "–".to_owned(), |year| year.to_string()),
            "age": line.years.map_or_else(|| "–".to_owned(), |years| years.to_string()),
            "due": line.due,
            "line": at,
            "paged": content.pages.iter().any(|page| page.line == at),
        })
    };
    json!({
        "heads": heads.collect::<Vec<_>>(),
        "rows": content.lines.iter().enumerate().map(row).collect::<Vec<_>>(),
        "farms": content.farms.len() > 1,
        "ha": units::ha(content.area_m2),
        "paged": !content.pages.is_empty(),
    })
}

pub(super) fn years(request: &ReportRequest, content: &Content) -> Value {
    let words = &request.words;
    let Some(years) = &content.years else { return Value::Null };
    let (then, now) = (years.beside.to_string(), content.year.to_string());
    let lead = if years.changed.is_empty() {
        words.say("years.lead.none", &[])
    } else {
        words.count("years.lead", years.changed.len(), &[])
    };
    let tested = |tested: &Option<crate::rating::Tested>| {
        tested
            .map(|tested| json!({ "rating": tested.rating.label(), "year": format!("{}{}", tested.year, tested.by.mark()) }))
    };
    let changed = years.changed.iter().map(|change| {
        let line = &content.lines[change.line];
        json!({
            "name": line.name, "farm": line.farm, "ha": units::ha(line.area_m2), "then": tested(&change.then),
            "now": tested(&change.now), "line": change.line,
        })
    });
    json!({
        "heading": words.say("years", &[("then", &then), ("now", &now)]),
        "lead": lead,
        "captions": [words.say("years.map", &[("year", &then)]), words.say("years.map", &[("year", &now)])],
        "heads": [
            words.say("years.fields", &[("year", &then)]), words.say("years.ha", &[("year", &then)]),
            words.say("years.fields", &[("year", &now)]), words.say("years.ha", &[("year", &now)]),
        ],
        "then": classes(&years.then, words),
        "now": classes(&years.now, words),
        "changed": changed.collect::<Vec<_>>(),
        "farms": content.farms.len() > 1,
    })
}

pub(super) fn farms(request: &ReportRequest, content: &Content) -> Value {
    let words = &request.words;
    let row = |farm: &crate::report::content::HiddenFarm| {
        let key = if farm.own { "farms.own" } else { "farms.farm" };
        json!({
            "name": words.say(key, &[("letter", &farm.letter)]),
            "own": farm.own,
            "tested": percent(farm.tested, 1.0),
            "classes": farm.classes.map(|classes| classes.map(|share| percent(share, 1.0))),
            "whole": farm.classes.map(|classes| classes.map(|share| whole_percent(share, 1.0))),
            "parts": farm.classes,
            "old": percent(farm.unknown_or_old, 1.0),
            "due": percent(farm.due, 1.0),
        })
    };
    Value::Array(content.hidden.iter().map(row).collect())
}

pub(super) fn sources(request: &ReportRequest, content: &Content) -> Value {
    let words = &request.words;
    let dash = |text: &str| if text.is_empty() { "–".to_owned() } else { text.to_owned() };
    let assays = content.assays.iter().map(|assay| {
        json!({
            "year": assay.year.to_string(), "kind": words.say(assay.kind, &[]), "laboratory": dash(&assay.laboratory),
            "date": assay.date.map_or_else(|| "–".to_owned(), |date| day(date, request, "date")),
            "source": dash(&assay.source), "results": assay.results.to_string(),
            "standards": assay.standards.map_or_else(|| "–".to_owned(), |[low, high]| {
                let (low, high) = (format!("{low:.0}"), format!("{high:.0}"));
                if low == high { low } else { format!("{low} to {high}") }
            }),
        })
    });
    let surveys = content.surveys.iter().map(|survey| {
        json!({
            "date": day(survey.date, request, "date"), "kind": words.say(survey.kind, &[]), "unit": survey.unit,
            "parts": survey.parts.to_string(), "source": dash(&survey.source),
        })
    });
    let values = [("date", day(request.date, request, "date")), ("year", content.year.to_string())];
    json!({
        "assays": assays.collect::<Vec<_>>(),
        "surveys": surveys.collect::<Vec<_>>(),
        "made": words.say("sources.made", &values.each_ref().map(|(name, value)| (*name, value.as_str()))),
    })
}
