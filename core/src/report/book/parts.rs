//! Summary, season, method and cautions, in words.

use jiff::civil::Date;
use serde_json::{Value, json};

use crate::model::{Rating, by_name};
use crate::report::book::{act, is_empty, tables};
use crate::report::content::{ClassLand, Content, FieldLine};
use crate::report::request::{Part, ReportRequest};
use crate::report::words::Words;
use crate::units;

/// Names in a sentence, and rows of the summary's tables.
const NAMED: usize = 3;
const ROWS: usize = 8;

/// The parts asked for that have something to show, in the order of the report.
pub(super) fn shown(request: &ReportRequest, content: &Content) -> Vec<Part> {
    // Without any test, one map shows as much as three.
    let once = untested(content) && request.has(Part::RatingMap);
    let again = |part: &Part| once && matches!(part, Part::AgeMap | Part::RatingAndAgeMap);
    Part::ALL.into_iter().filter(|part| request.has(*part) && !is_empty(*part, content) && !again(part)).collect()
}

/// Whether there are fields, and none has been tested: then the map stands in the summary, in place of tables of noughts.
pub(super) fn untested(content: &Content) -> bool {
    content.tested() == 0 && !content.lines.is_empty()
}

/// Whole hectares for a sentence; a small area keeps its decimals.
fn rounded_ha(area_m2: f64) -> String {
    let ha = area_m2 / units::M2_PER_HA;
    if ha >= 10.0 { format!("{ha:.0}") } else { format!("{ha:.1}") }
}

/// "A, B and C".
fn listed(names: &[String], words: &Words) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [rest @ .., last] => format!("{} {} {last}", rest.join(", "), words.say("summary.farms.and", &[])),
    }
}

pub(super) fn day(date: Date, request: &ReportRequest, key: &str) -> String {
    date.strftime(&request.words.say(key, &[])).to_string()
}

/// A field with its farm, where there is more than one.
pub(super) fn named(line: &FieldLine, content: &Content) -> String {
    if content.farms.len() > 1 { format!("{} ({})", line.name, line.farm) } else { line.name.clone() }
}

/// A class on a line: mark, words, fields, hectares, share of the land in %.
fn class(class: &ClassLand, all_m2: f64, words: &Words) -> Value {
    let key = class.rating.map_or("rating.none".to_owned(), |rating| format!("rating.{}", rating.label()));
    json!({
        "rating": class.rating.map(Rating::label),
        "meaning": words.say(&key, &[]),
        "fields": class.fields.to_string(),
        "ha": units::ha(class.area_m2),
        "share": tables::percent(class.area_m2, all_m2),
        "whole": tables::whole_percent(class.area_m2, all_m2),
        "part": if all_m2 > 0.0 { class.area_m2 / all_m2 } else { 0.0 },
    })
}

pub(super) fn classes(list: &[ClassLand], words: &Words) -> Value {
    let all: f64 = list.iter().map(|class| class.area_m2).sum();
    Value::Array(list.iter().map(|each| class(each, all, words)).collect())
}

pub(super) fn summary(request: &ReportRequest, content: &Content) -> Value {
    if content.lines.is_empty() {
        let year = content.year.to_string();
        return json!({ "sentences": [request.words.say("empty", &[("year", year.as_str())])], "empty": true });
    }
    let words = &request.words;
    let line = |at: &usize| {
        let line = &content.lines[*at];
        json!({
            "name": line.name, "farm": line.farm, "ha": units::ha(line.area_m2), "rating": line.worst.map(Rating::label),
            "year": line.worst_year.map(|year| format!("{year}{}", line.worst_by.mark())),
            "groups": tables::groups_at_worst(line),
            "line": at,
        })
    };
    let worst = content.worst.iter().filter(|at| content.lines[**at].worst > Some(Rating::S)).take(ROWS);
    let moved = content.changes.iter().filter(|change| change.change.steps() != 0);
    let changes = moved.take(ROWS).map(|each| {
        let (line, change) = (&content.lines[each.line], &each.change);
        let way = match change.steps().signum() {
            1 => "change.worse",
            -1 => "change.better",
            _ => "change.same",
        };
        json!({
            "name": line.name, "farm": line.farm, "mode": tables::mode(words, &change.of),
            "before": change.before.rating.label(), "before_year": format!("{}{}", change.before.year, change.before.by.mark()),
            "after": change.after.rating.label(), "after_year": format!("{}{}", change.after.year, change.after.by.mark()),
            "way": words.say(way, &[]), "line": each.line,
        })
    });
    let groups = content.groups.iter().map(|group| {
        json!({
            "mode": tables::mode(words, &group.group),
            "cells": group.classes.iter().map(|class| tables::ha_or_dash(class.area_m2)).collect::<Vec<_>>(),
        })
    });
    json!({
        "sentences": sentences(request, content),
        "untested": untested(content),
        "classes": classes(&content.classes, words),
        "total": { "fields": content.lines.len().to_string(), "ha": units::ha(content.area_m2) },
        "groups": groups.collect::<Vec<_>>(),
        "worst": worst.map(line).collect::<Vec<_>>(),
        "changes": changes.collect::<Vec<_>>(),
        "farms": content.farms.len() > 1,
    })
}

/// What matters, in plain words.
fn sentences(request: &ReportRequest, content: &Content) -> Vec<String> {
    let words = &request.words;
    let farms = if content.farms.len() > 4 {
        words.say("summary.farms.many", &[("n", &content.farms.len().to_string())])
    } else {
        listed(&content.farms, words)
    };
    let ha = rounded_ha(content.area_m2);
    let mut said = vec![words.count("summary.land", content.lines.len(), &[("ha", &ha), ("farms", &farms)])];
    let tested = content.tested();
    let never = content.lines.len() - tested;
    said.push(match (tested, never) {
        (0, _) => words.say("summary.tested.none", &[]),
        (_, 0) => words.say("summary.tested.all", &[]),
        _ => {
            let unknown = rounded_ha(content.ages.never.1);
            words.count("summary.tested", tested, &[("never", &never.to_string()), ("ha", &unknown)])
        }
    });
    if tested > 0 {
        said.push(worst_of(request, content));
        said.push(changed(words, content));
        let old = content.ages.past.0;
        let interval = words.count("harvests", content.interval.max(0) as usize, &[]);
        said.push(if old == 0 {
            words.say("summary.old.none", &[("interval", &interval)])
        } else {
            words.count("summary.old", old, &[("interval", &interval)])
        });
    }
    let year = content.season.year.to_string();
    let due = &content.season.due;
    let mut next = if due.is_empty() {
        words.say("summary.due.none", &[("year", &year)])
    } else {
        words.count("summary.due", due.len(), &[("year", &year)])
    };
    if due.len() > 1 {
        let names: Vec<String> = due.iter().take(NAMED).map(|at| named(&content.lines[*at], content)).collect();
        next = format!("{next} {}", words.say("summary.next", &[("names", &listed(&names, words))]));
    }
    said.push(next);
    let money = act::sentences(request, content).join(" ");
    said.extend(Some(money).filter(|money| !money.is_empty()));
    said
}

fn worst_of(request: &ReportRequest, content: &Content) -> String {
    let words = &request.words;
    let bad: Vec<&ClassLand> = content.classes.iter().filter(|class| class.rating >= Some(Rating::RR)).collect();
    let (fields, area): (usize, f64) = bad.iter().fold((0, 0.0), |sum, class| (sum.0 + class.fields, sum.1 + class.area_m2));
    if fields == 0 {
        let early = content.fields_rated(Some(Rating::RQuestion));
        let names: Vec<String> =
            content.worst.iter().take(NAMED.min(early)).map(|at| named(&content.lines[*at], content)).collect();
        return if early == 0 {
            words.say("summary.worst.none", &[])
        } else {
            words.count("summary.early", early, &[("names", &listed(&names, words))])
        };
    }
    let names: Vec<String> =
        content.worst.iter().take(NAMED.min(fields)).map(|at| named(&content.lines[*at], content)).collect();
    let key = if names.len() == 1 { "summary.worst.single" } else { "summary.worst.named" };
    let named = words.say(key, &[("names", &listed(&names, words))]);
    format!("{} {named}", words.count("summary.worst", fields, &[("ha", &rounded_ha(area))]))
}

fn changed(words: &Words, content: &Content) -> String {
    if content.changes.is_empty() {
        return words.say("summary.changed.none", &[]);
    }
    let count = |way: i32| content.changes.iter().filter(|change| change.change.steps().signum() == way).count().to_string();
    let once = content.tested_once.to_string();
    words.say("summary.changed", &[("worse", &count(1)), ("same", &count(0)), ("better", &count(-1)), ("once", &once)])
}

pub(super) fn season(request: &ReportRequest, content: &Content) -> Value {
    let words = &request.words;
    let season = &content.season;
    let year = season.year.to_string();
    let planned = season.due.iter().filter(|at| content.lines[**at].plan.is_some()).count();
    let lead = if season.due.is_empty() {
        words.say("season.none", &[("year", &year)])
    } else {
        words.count("season.lead", season.due.len(), &[("year", &year)])
    };
    let plans = if season.stops > 0 {
        let values = [
            ("planned", planned.to_string()),
            ("stops", season.stops.to_string()),
            ("samples", season.samples.to_string()),
            ("km", format!("{:.1}", season.length_m / 1000.0)),
            ("hours", format!("{:.1}", season.minutes / 60.0)),
        ];
        words.say("season.planned", &values.each_ref().map(|(name, value)| (*name, value.as_str())))
    } else {
        words.say("season.unplanned", &[])
    };
    // What is true of all of them is said once.
    let mut reasons = season.due.iter().map(|at| content.lines[*at].reasons.join(" "));
    let first = reasons.next().unwrap_or_default();
    let same = season.due.len() > 2 && !first.is_empty() && reasons.all(|other| other == first);
    let lead = if same { format!("{lead} {}", words.say("season.same", &[("why", &first)])) } else { lead };
    let rows = season.due.iter().map(|at| {
        let line = &content.lines[*at];
        let plan =
            |text: fn(&crate::report::content::PlanLine) -> String| line.plan.as_ref().map_or_else(|| "–".to_owned(), text);
        json!({
            "rank": line.rank.to_string(), "name": line.name, "farm": line.farm, "ha": units::ha(line.area_m2),
            "last": line.last_test.map_or_else(|| "–".to_owned(), |year| year.to_string()),
            "why": if same { String::new() } else { line.reasons.join(" ") },
            "stops": plan(|plan| plan.stops.to_string()),
            "samples": plan(|plan| plan.samples.to_string()),
            "walk": plan(|plan| format!("{:.0}", plan.length_m)),
            "minutes": plan(|plan| format!("{:.0}", plan.minutes)),
            "line": at,
        })
    });
    let mut also: Vec<String> = season.also.iter().map(|at| named(&content.lines[*at], content)).collect();
    also.sort_by(|a, b| by_name(a, b));
    also.dedup();
    json!({
        "heading": words.say("season", &[("year", &year)]),
        "lead": lead,
        "plans": plans,
        "days": days(request, content),
        "rows": rows.collect::<Vec<_>>(),
        "also": if also.is_empty() { Value::Null } else { json!(words.say("season.also", &[("names", &listed(&also, words))])) },
        "planned": season.stops > 0,
        "farms": content.farms.len() > 1,
    })
}

fn days(request: &ReportRequest, content: &Content) -> Value {
    let words = &request.words;
    let Some(calendar) = &content.season.calendar else { return json!([]) };
    let ripe = [("from", day(calendar.ripe.from, request, "day")), ("to", day(calendar.ripe.to, request, "day"))];
    let ripe = words.say("season.span", &ripe.each_ref().map(|(name, value)| (*name, value.as_str())));
    let rows = [
        ("season.ripe", ripe),
        ("season.post", day(calendar.post_by, request, "day")),
        ("season.petri", day(calendar.petri_back, request, "day")),
        ("season.pot", day(calendar.pot_back, request, "day")),
    ];
    Value::Array(rows.into_iter().map(|(key, when)| json!([words.say(key, &[]), when])).collect())
}

pub(super) fn method(request: &ReportRequest, content: &Content) -> Value {
    const TERMS: [&str; 10] =
        ["reduction", "standard", "rating", "worst", "interval", "chance", "due", "density", "group", "split"];
    let words = &request.words;
    let interval = words.count("harvests", content.interval.max(0) as usize, &[]);
    let term = |name: &&str| {
        let (term, text) = (format!("method.{name}.term"), format!("method.{name}"));
        json!([words.say(&term, &[]), words.say(&text, &[("interval", &interval)])])
    };
    let limits = Rating::ALL.iter().map(|rating| {
        let (limit, meaning) = (format!("method.limit.{}", rating.label()), format!("rating.{}", rating.label()));
        json!({ "rating": rating.label(), "limit": words.say(&limit, &[]), "meaning": words.say(&meaning, &[]) })
    });
    json!({ "terms": TERMS.iter().map(term).collect::<Vec<_>>(), "limits": limits.collect::<Vec<_>>() })
}

pub(super) fn cautions(request: &ReportRequest) -> Value {
    Value::Array((1..=8).map(|n| json!(request.words.say(&format!("cautions.{n}"), &[]))).collect())
}
