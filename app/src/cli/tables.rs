//! `awn fields`: what is known of each field, as a table.

use awn_core::project::Project;
use awn_core::rating::{self, FieldRatings};
use awn_core::units::{M2_PER_HA, ha};
use serde_json::{Map, Value, json};

use super::answer::{Answer, table};

/// Shown under every table of ratings.
pub const CAUTION: &str =
    "A rating is a snapshot of one sample and no recommendation: the product label and a qualified adviser decide.\n";

/// What the mark behind a rating means.
pub const LAB: &str = "lab: the laboratory's own rating, not worked out by us: its figures or its standard are not known.\n";

/// The harvest year asked for, or the latest that the project speaks of.
pub fn year_or_latest(project: &Project, year: Option<i32>) -> i32 {
    year.or_else(|| project.records().latest_year()).unwrap_or_else(|| i32::from(jiff::ZonedDateTime::now().year()))
}

/// Every field of a harvest year.
pub fn fields(project: &Project, year: Option<i32>) -> anyhow::Result<Answer> {
    let records = project.records();
    let year = year_or_latest(project, year);
    let known = rating::field_ratings(records, year);
    let unknown = FieldRatings::default();
    let mut rows = Vec::new();
    let mut list = Vec::new();
    for field in records.fields_in(year) {
        let ratings = known.get(&field.id).unwrap_or(&unknown);
        let area_m2 = field.area_m2();
        let groups: Map<String, Value> = ratings
            .groups
            .iter()
            .map(|(group, latest)| {
                let value = json!({
                    "rating": latest.rating, "year": latest.year, "active": latest.active, "rated_by": latest.by.label(),
                });
                (group.clone(), value)
            })
            .collect();
        let by_group: Vec<_> =
            ratings.groups.iter().map(|(group, latest)| format!("{group} {}", latest.counted().words())).collect();
        rows.push(vec![
            records.farm_name(&field).to_owned(),
            field.name.clone(),
            ha(area_m2),
            ratings.worst.map_or("untested".to_owned(), |worst| format!("{}{}", worst.label(), ratings.worst_by().mark())),
            ratings.years_since_test.map_or("-".into(), |years| years.to_string()),
            by_group.join(", "),
            records.lineage(&field).unwrap_or_default(),
        ]);
        list.push(json!({
            "id": field.id, "name": field.name, "farm": records.farm_name(&field), "area_ha": area_m2 / M2_PER_HA,
            "worst": ratings.worst, "worst_rated_by": ratings.worst.map(|_| ratings.worst_by().label()), "ratings": groups,
            "last_test_year": ratings.last_test_year, "years_since_test": ratings.years_since_test,
            "lineage": records.lineage(&field),
        }));
    }
    let headings = ["Farm", "Field", "ha", "Worst", "Years", "By HRAC group", "History"];
    let mut text = table(&headings, &[false, false, true, false, true, false, false], &rows);
    if known.values().any(|known| known.groups.values().any(|group| group.by.is_laboratory())) {
        text.push_str(LAB);
    }
    text.push_str(CAUTION);
    Ok(Answer::new(json!({ "year": year, "fields": list }), text))
}
