//! The data dictionary: what each column means and in which unit, from `assets/tables/data_dictionary.csv`.

use std::collections::BTreeMap;
use std::sync::OnceLock;

use crate::exchange::everything::{Column, Table, Value};

/// Rows of the dictionary by table and column; the table `*` holds for all.
type Entries = BTreeMap<(String, String), (String, String)>;

fn entries() -> &'static Entries {
    static ENTRIES: OnceLock<Entries> = OnceLock::new();
    ENTRIES.get_or_init(|| {
        let text = include_str!("../../../../assets/tables/data_dictionary.csv");
        let mut reader = ::csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
        let rows = reader.records().flatten();
        let entry = |row: ::csv::StringRecord| {
            let cell = |at: usize| row.get(at).unwrap_or_default().trim().to_owned();
            ((cell(0), cell(1)), (cell(2), cell(3)))
        };
        rows.map(entry).collect()
    })
}

/// The unit and the meaning of a column; none: the dictionary does not know it.
pub fn meaning(table: &str, column: &str) -> Option<(&'static str, &'static str)> {
    let entry = |table: &str| entries().get(&(table.to_owned(), column.to_owned()));
    entry(table).or_else(|| entry("*")).map(|(unit, meaning)| (unit.as_str(), meaning.as_str()))
}

/// A column with what the dictionary says of it.
pub(super) fn column(table: &str, name: &str) -> Column {
    let (unit, meaning) = meaning(table, name).unwrap_or_default();
    Column { name: name.to_owned(), unit: unit.to_owned(), meaning: meaning.to_owned() }
}

/// The dictionary of some tables, as a table.
pub(super) fn of(tables: &[Table]) -> Table {
    let names = ["table", "column", "unit", "meaning", "about_the_table"];
    let text = |text: &str| Value::Text(text.to_owned());
    let mut rows = Vec::new();
    for table in tables {
        if table.geometry.is_some() {
            let shape = "Shape, WGS 84 longitude and latitude: in the GeoPackage as geometry, in CSV as well-known text, in the \
                         workbook as the position of its middle (lon, lat)";
            rows.push((
                None,
                vec![text(&table.name), text("shape"), text("degrees"), text(shape), text(&table.description)],
            ));
        }
        rows.extend(table.columns.iter().map(|column| {
            let row = vec![
                text(&table.name),
                text(&column.name),
                text(&column.unit),
                text(&column.meaning),
                text(&table.description),
            ];
            (None, row)
        }));
    }
    Table {
        name: "data_dictionary".to_owned(),
        description: "What each column means, and its unit".to_owned(),
        geometry: None,
        columns: names.iter().map(|name| column("data_dictionary", name)).collect(),
        rows,
    }
}
