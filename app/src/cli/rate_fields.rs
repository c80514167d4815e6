//! `awn rate --show trend|modes|farms`: fields over the years, modes of action, land by class.

use awn_core::model::{Rating, mode_of_group};
use awn_core::project::Project;
use awn_core::rating::{self, FieldRatings};
use awn_core::units::ha;
use serde_json::{Map, Value, json};

use super::answer::{Answer, table};
use super::rate::{Only, cautions};

/// Every field and active tested, over the years.
pub fn trend(project: &Project, only: &Only<'_>, year: i32) -> Answer {
    let records = project.records();
    let mut rows = Vec::new();
    let mut list = Vec::new();
    for field in records.fields_in(year).into_iter().filter(|field| only.field.is_none_or(|wanted| wanted == field.id)) {
        for (active, trend) in rating::trends(records, field.id, year) {
            if !only.active(&active) || !only.group(&trend.group) {
                continue;
            }
            let years: Vec<String> =
                trend.years().into_iter().map(|(year, rating)| format!("{year} {}", rating.words())).collect();
            rows.push(vec![
                field.name.clone(),
                active.clone(),
                trend.group.clone(),
                years.join(", "),
                trend.change().unwrap_or_default(),
                trend.slope_words().unwrap_or_default(),
            ]);
            let tests: Vec<Value> = trend
                .tests
                .iter()
                .map(|test| {
                    let sample = records.samples.get(&test.sample).map(|sample| sample.code.as_str());
                    json!({
                        "year": test.year, "sample": sample, "of_standard": test.of_standard, "rating": test.rating,
                        "rated_by": test.by.label(),
                        "assay": test.assay, "measure": test.measure, "taken_in_this_field": test.sampled_field == field.id,
                    })
                })
                .collect();
            list.push(json!({
                "field": field.name, "active": active, "group": trend.group, "tests": tests, "change": trend.change(),
                "slope": trend.slope.map(|slope| json!({ "a_year": slope.a_year, "interval": slope.interval })),
                "mixed_tests": trend.mixed(),
            }));
        }
    }
    let headings = ["Field", "Active", "Group", "Worst of each year", "Change", "Reduction as % of the standard's"];
    let text = table(&headings, &[false, false, true, false, false, false], &rows) + &cautions();
    Answer::new(json!({ "year": year, "trends": list }), text)
}

/// Which modes of action still work in each tested field, and what the pattern suggests.
pub fn modes(project: &Project, only: &Only<'_>, year: i32) -> Answer {
    let records = project.records();
    let known = rating::field_ratings(records, year);
    let unknown = FieldRatings::default();
    let mut text = String::new();
    let mut list = Vec::new();
    for field in records.fields_in(year).into_iter().filter(|field| only.field.is_none_or(|wanted| wanted == field.id)) {
        let known = known.get(&field.id).unwrap_or(&unknown);
        let suggestion = rating::suggest_for(known);
        let modes: Vec<_> =
            rating::modes(known, &suggestion, year).into_iter().filter(|mode| only.group(&mode.group)).collect();
        text.push_str(&format!("{}\n", field.name));
        if modes.is_empty() {
            text.push_str("  not tested: nothing is known\n");
        }
        for mode in &modes {
            text.push_str(&format!("  {} ({}) {}: {}\n", mode.group, mode.name, mode.standing.label(), mode.reason));
        }
        if !suggestion.readings.is_empty() {
            text.push_str(&format!("  Suggests: {}\n", suggestion.headline()));
            for reason in &suggestion.reasons {
                text.push_str(&format!("    {reason}\n"));
            }
            for settle in &suggestion.settle {
                text.push_str(&format!("    To settle it: {settle}\n"));
            }
        }
        let modes: Vec<Value> = modes
            .iter()
            .map(|mode| {
                json!({ "group": mode.group, "name": mode.name, "standing": mode.standing.label(), "reason": mode.reason })
            })
            .collect();
        list.push(json!({
            "field": field.name, "modes": modes, "suggestion": suggestion.headline(), "reasons": suggestion.reasons,
            "settle": suggestion.settle,
        }));
    }
    text.push_str("A mechanism read from ratings is a suggestion, no finding.\n");
    Answer::new(json!({ "year": year, "fields": list }), text + &cautions())
}

/// Tested land of each farm by class, for each mode of action.
pub fn farms(project: &Project, only: &Only<'_>, year: i32) -> Answer {
    let records = project.records();
    let mut rows = Vec::new();
    let mut list = Vec::new();
    for (farm, groups) in rating::land_by_class(records, year) {
        let name = records.farms.get(&farm).map(|farm| farm.name.as_str()).unwrap_or_default();
        for (group, land) in groups.into_iter().filter(|(group, _)| only.group(group)) {
            let mut row =
                vec![name.to_owned(), group.clone(), mode_of_group(&group).map_or("", |mode| mode.name).to_owned()];
            let share = |rating| land.share(rating).map_or("-".to_owned(), |share| format!("{:.0}", 100.0 * share));
            row.extend(Rating::ALL.map(share));
            row.extend([ha(land.tested()), ha(land.by_laboratory_m2), ha(land.untested_m2)]);
            rows.push(row);
            let shares: Map<String, Value> =
                Rating::ALL.iter().map(|rating| (rating.label().to_owned(), json!(land.share(*rating)))).collect();
            list.push(json!({
                "farm": name, "group": group, "share_of_tested": shares,
                "tested_ha": land.tested() / 1e4, "untested_ha": land.untested_m2 / 1e4,
                "rated_by_laboratory_ha": land.by_laboratory_m2 / 1e4,
            }));
        }
    }
    let headings =
        ["Farm", "Group", "Mode of action", "S %", "R? %", "RR %", "RRR %", "Tested, ha", "Lab's, ha", "Untested, ha"];
    let right = [false, true, false, true, true, true, true, true, true, true];
    Answer::new(json!({ "year": year, "farms": list }), table(&headings, &right, &rows) + &cautions())
}
