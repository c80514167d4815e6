//! Everything in the project, table by table as in its file, and what is worked out from it: results with their ratings, and
//! what is known of each field.

use rusqlite::types::Value as Stored;

use crate::exchange::everything::dictionary::column;
use crate::exchange::everything::{Table, Value};
use crate::model::{Rating, Records};
use crate::project::data_tables;
use crate::rating::{assess, field_ratings};
use crate::season;

pub(super) fn all(records: &Records) -> Vec<Table> {
    let mut tables: Vec<Table> = data_tables(records)
        .into_iter()
        .map(|table| {
            let names = std::iter::once("id").chain(table.columns.iter().map(|(name, _)| *name));
            let rows = table.rows.into_iter().map(|(id, shape, values)| {
                let values = values.into_iter().zip(table.columns).map(|(value, (name, _))| plain(value, name));
                (shape, std::iter::once(Value::Text(id)).chain(values).collect())
            });
            Table {
                name: table.name.to_owned(),
                description: table.description.to_owned(),
                geometry: table.geometry,
                columns: names.map(|name| column(table.name, name)).collect(),
                rows: rows.collect(),
            }
        })
        .collect();
    tables.push(ratings(records));
    tables.extend(records.latest_year().map(|year| known(records, year)));
    tables
}

fn plain(value: Stored, column: &str) -> Value {
    match value {
        Stored::Null => Value::None,
        Stored::Integer(number) => Value::Whole(number),
        Stored::Real(number) => Value::Real(number),
        Stored::Text(text) => Value::Text(text),
        Stored::Blob(bytes) if column == "pixels" => {
            let pixels = bytes.as_chunks::<4>().0.iter().map(|bytes| f32::from_le_bytes(*bytes).to_string());
            Value::Text(pixels.collect::<Vec<_>>().join(" "))
        }
        Stored::Blob(bytes) => Value::Text(bytes.iter().map(|byte| format!("{byte:02x}")).collect()),
    }
}

/// Columns of a rating, after those that name the result.
pub(super) const RATED: [&str; 12] = [
    "rating",
    "interval_low",
    "interval_high",
    "limit_s",
    "limit_r_question",
    "limit_rr",
    "share_s",
    "share_r_question",
    "share_rr",
    "share_rrr",
    "lab_rating",
    "agrees",
];

/// A result's rating in the order of [`RATED`].
pub(super) fn rated(records: &Records, result: &crate::model::TestResult) -> Vec<Value> {
    let found = assess(records, result);
    let word = |rating: Option<Rating>| rating.map_or(Value::None, |rating| Value::Text(rating.label().to_owned()));
    // Six decimals are more than any of it is known to.
    let number = |value: Option<f64>| value.map_or(Value::None, |value| Value::Real((value * 1e6).round() / 1e6));
    let interval = found.sureness.and_then(|sure| sure.interval);
    let mut values = vec![word(found.rating), number(interval.map(|ends| ends[0])), number(interval.map(|ends| ends[1]))];
    values.extend((0..3).map(|at| number(found.limits.map(|limits| limits[at]))));
    values.extend(Rating::ALL.map(|rating| number(found.sureness.and_then(|sure| sure.share(rating)))));
    values.push(word(found.lab));
    values.push(found.agrees().map_or(Value::None, |agrees| Value::Whole(agrees.into())));
    values
}

fn ratings(records: &Records) -> Table {
    let name = "ratings";
    let columns = std::iter::once("result").chain(RATED).map(|column_name| column(name, column_name));
    let rows = records.results.values().map(|result| {
        let mut values = vec![Value::Text(result.id.to_string())];
        values.extend(rated(records, result));
        (None, values)
    });
    Table {
        name: name.to_owned(),
        description: "Results with the rating that Awn gives them and how sure it is".to_owned(),
        geometry: None,
        columns: columns.collect(),
        rows: rows.collect(),
    }
}

fn known(records: &Records, year: i32) -> Table {
    let name = "fields_known";
    let (known, due) = (field_ratings(records, year), season::due(records, year));
    let names = ["field", "year", "worst_rating", "last_test_year", "years_since_test", "due", "reasons"];
    let rows = records.fields_in(year).into_iter().map(|field| {
        let (known, due) = (known.get(&field.id), due.iter().find(|due| due.field == field.id));
        let number = |value: Option<i32>| value.map_or(Value::None, |value| Value::Whole(value.into()));
        let worst = known.and_then(|known| known.worst);
        let values = vec![
            Value::Text(field.id.to_string()),
            Value::Whole(year.into()),
            worst.map_or(Value::None, |rating| Value::Text(rating.label().to_owned())),
            number(known.and_then(|known| known.last_test_year)),
            number(known.and_then(|known| known.years_since_test)),
            due.map_or(Value::None, |due| Value::Whole(due.due.into())),
            due.map_or(Value::None, |due| Value::Text(due.reasons.join(" "))),
        ];
        (None, values)
    });
    Table {
        name: name.to_owned(),
        description: "What is known of each field of the latest harvest year".to_owned(),
        geometry: None,
        columns: names.iter().map(|column_name| column(name, column_name)).collect(),
        rows: rows.collect(),
    }
}
