//! A copy to share: what tests found, field by field, without anything that tells which land it is.
//!
//! Only what is listed here goes in; nothing is copied and then struck out. Farms, fields and samples get numbers in an order that
//! has nothing to do with their names or places. Left out: positions and shapes, names, codes, identifiers (they hold the time at
//! which they were made), notes, comments, file names, laboratories, days. Areas are whole hectares, because an area to the square
//! metre finds a field in a public register.

use std::collections::{BTreeMap, BTreeSet};

use crate::exchange::everything::dictionary::column;
use crate::exchange::everything::tables::{RATED, rated};
use crate::exchange::everything::{Table, Value};
use crate::model::{FarmId, Field, FieldId, Measure, Records, SampleId, mode_of_action};
use crate::rating::reduction_of;
use crate::units::M2_PER_HA;

pub(super) fn all(records: &Records) -> Vec<Table> {
    let codes = Codes::of(records);
    vec![
        fields(records, &codes),
        samples(records, &codes),
        results(records, &codes),
        crops(records, &codes),
        sprays(records, &codes),
    ]
}

/// Numbers in place of identifiers.
struct Codes {
    farms: BTreeMap<FarmId, String>,
    fields: BTreeMap<FieldId, String>,
    samples: BTreeMap<SampleId, String>,
}

impl Codes {
    fn of(records: &Records) -> Self {
        Self {
            farms: numbered("farm", records.farms.keys().map(|id| (*id, id.0.as_u128()))),
            fields: numbered("field", records.fields.keys().map(|id| (*id, id.0.as_u128()))),
            samples: numbered("sample", records.samples.keys().map(|id| (*id, id.0.as_u128()))),
        }
    }

    fn field(&self, field: FieldId) -> Value {
        self.fields.get(&field).map_or(Value::None, |code| Value::Text(code.clone()))
    }
}

/// "field 1", "field 2", … in the order of the random part of identifiers, which is that of nothing else.
fn numbered<T: Ord + Copy>(word: &str, ids: impl Iterator<Item = (T, u128)>) -> BTreeMap<T, String> {
    // The last 32 bits of a UUID of version 7 are random; those before may count (RFC 9562, 6.2, method 1).
    let mut order: Vec<(u128, T)> = ids.map(|(id, bits)| (bits & 0xffff_ffff, id)).collect();
    order.sort_unstable();
    order.into_iter().enumerate().map(|(at, (_, id))| (id, format!("{word} {}", at + 1))).collect()
}

fn table(name: &str, description: &str, names: &[&str], rows: Vec<Vec<Value>>) -> Table {
    let mut rows = rows;
    rows.sort_by_key(|row| row.iter().map(sorted).collect::<Vec<_>>());
    Table {
        name: format!("shared_{name}"),
        description: description.to_owned(),
        geometry: None,
        columns: names.iter().map(|column_name| column(&format!("shared_{name}"), column_name)).collect(),
        rows: rows.into_iter().map(|values| (None, values)).collect(),
    }
}

/// Rows stand in the order of what they say, not in that in which they were read in.
fn sorted(value: &Value) -> (u64, String) {
    match value {
        Value::Text(text) => {
            let number = text.rsplit(' ').next().and_then(|last| last.parse().ok()).unwrap_or(0);
            (number, text.clone())
        }
        Value::Whole(number) => (number.unsigned_abs(), String::new()),
        Value::Real(number) => (0, format!("{number:020.6}")),
        Value::None => (0, String::new()),
    }
}

fn year(value: i32) -> Value {
    Value::Whole(value.into())
}

fn whole_ha(field: &Field) -> Value {
    Value::Whole((field.area_m2() / M2_PER_HA).round() as i64)
}

fn fields(records: &Records, codes: &Codes) -> Table {
    let rows = records.fields.values().map(|field| {
        let origins: BTreeSet<&String> = field.came_from.iter().filter_map(|origin| codes.fields.get(origin)).collect();
        vec![
            codes.field(field.id),
            codes.farms.get(&field.farm).map_or(Value::None, |code| Value::Text(code.clone())),
            whole_ha(field),
            field.from_year.map_or(Value::None, year),
            field.until_year.map_or(Value::None, year),
            Value::Text(origins.into_iter().cloned().collect::<Vec<_>>().join(", ")),
        ]
    });
    let names = ["field", "farm", "area_ha", "from_year", "until_year", "came_from"];
    table("fields", "Fields without names and places", &names, rows.collect())
}

fn samples(records: &Records, codes: &Codes) -> Table {
    let rows = records.samples.values().filter_map(|sample| {
        Some(vec![Value::Text(codes.samples.get(&sample.id)?.clone()), codes.field(sample.field), year(sample.year)])
    });
    table("samples", "Seed samples without codes and days", &["sample", "field", "year"], rows.collect())
}

fn results(records: &Records, codes: &Codes) -> Table {
    let rows = records.results.values().filter_map(|result| {
        let sample = records.samples.get(&result.sample)?;
        let assay = records.assays.get(&result.assay);
        let number = |value: Option<f64>| value.map_or(Value::None, Value::Real);
        let mut values = vec![
            Value::Text(codes.samples.get(&sample.id)?.clone()),
            codes.field(sample.field),
            year(sample.year),
            assay.map_or(Value::None, |assay| Value::Text(assay.kind.label().to_owned())),
            // Typed text is passed on only where it is a known active.
            known_active(&result.active),
            Value::Text(result.group.clone()),
            result.measure.map(Measure::label).map_or(Value::None, |label| Value::Text(label.to_owned())),
            number(reduction_of(result).0),
            number(crate::rating::standard_of(records, result)),
            number(result.se),
            result.n.map_or(Value::None, |n| Value::Whole(n.into())),
        ];
        values.extend(rated(records, result));
        Some(values)
    });
    let mut names = vec![
        "sample",
        "field",
        "year",
        "assay",
        "active",
        "hrac_group",
        "measure",
        "reduction_percent",
        "standard_percent",
        "se",
        "n",
    ];
    names.extend(RATED);
    table("results", "Test results with their ratings", &names, rows.collect())
}

fn known_active(active: &str) -> Value {
    let known = |part: &str| mode_of_action(part.trim()).is_some();
    if active.split('+').all(known) { Value::Text(active.to_owned()) } else { Value::Text("other".to_owned()) }
}

/// Words of crops that are passed on; anything else that was typed becomes "other".
const CROPS: [&str; 24] = [
    "wheat",
    "barley",
    "oats",
    "rye",
    "triticale",
    "oilseed rape",
    "rape",
    "beans",
    "peas",
    "potatoes",
    "maize",
    "linseed",
    "sugar beet",
    "beet",
    "grass",
    "ley",
    "fallow",
    "clover",
    "lucerne",
    "millet",
    "sorghum",
    "sunflowers",
    "carrots",
    "onions",
];

fn known_crop(crop: &str) -> Value {
    let plain = crop.trim().to_lowercase();
    let (when, rest) = match plain.split_once(' ') {
        Some((when @ ("winter" | "spring"), rest)) => (Some(when), rest),
        _ => (None, plain.as_str()),
    };
    if !CROPS.contains(&rest) {
        return Value::Text("other".to_owned());
    }
    Value::Text(when.map_or_else(|| rest.to_owned(), |when| format!("{when} {rest}")))
}

fn crops(records: &Records, codes: &Codes) -> Table {
    let rows = records.crops.values().map(|crop| vec![codes.field(crop.field), year(crop.year), known_crop(&crop.crop)]);
    table("crops", "Crops by field and harvest year", &["field", "year", "crop"], rows.collect())
}

fn sprays(records: &Records, codes: &Codes) -> Table {
    let rows = records.sprays.values().map(|spray| {
        let dose = spray.dose_g_per_ha.map_or(Value::None, Value::Real);
        vec![codes.field(spray.field), year(spray.year), known_active(&spray.active), Value::Text(spray.group.clone()), dose]
    });
    let names = ["field", "year", "active", "hrac_group", "dose_g_per_ha"];
    table("sprays", "Herbicide passes by field and harvest year", &names, rows.collect())
}
