//! Shapes written as well-known text (OGC 06-103r4) in a column of a text file or workbook: "POLYGON ((…))", with or without
//! "SRID=4326;" in front.

use geo::{Geometry, MapCoords as _};
use wkt::TryFromWkt as _;

use crate::crs::Crs;
use crate::formats::{Cell, Table, plain_name};
use crate::problem::Problems;

/// Names that such columns have.
const NAMES: [&str; 9] = ["wkt", "geometry", "geom", "the geom", "wkt geom", "geometry wkt", "geom wkt", "shape", "polygon"];
/// What such a text begins with.
const KINDS: [&str; 8] =
    ["POINT", "LINESTRING", "POLYGON", "MULTIPOINT", "MULTILINESTRING", "MULTIPOLYGON", "GEOMETRYCOLLECTION", "SRID="];
/// Collections within collections are read by a parser that calls itself; more of them than this are no map.
const MOST_COLLECTIONS: usize = 16;

/// The table with shapes from such a column, if it has one; a text that cannot be read is a warning, and its row has no shape.
pub(super) fn shaped(mut table: Table, problems: &mut Problems) -> Table {
    let like = |cell: &Cell| match cell {
        Cell::Text(text) => {
            KINDS.iter().any(|kind| text.get(..kind.len()).is_some_and(|head| head.eq_ignore_ascii_case(kind)))
        }
        _ => false,
    };
    let first = |column: usize| table.rows.iter().map(|row| row.cell(column)).find(|cell| !cell.is_empty());
    let named = |column: &usize| {
        let name = table.columns.get(*column).map(|name| plain_name(name)).unwrap_or_default();
        NAMES.iter().any(|other| plain_name(other) == name)
    };
    let columns: Vec<usize> =
        (0..table.columns.len()).filter(|column| first(*column).is_some_and(|cell| like(&cell))).collect();
    let Some(column) = columns.iter().copied().find(|column| named(column)).or_else(|| columns.first().copied()) else {
        return table;
    };
    let mut systems: Vec<u32> = Vec::new();
    let mut shapes = Vec::with_capacity(table.rows.len());
    for row in table.rows.iter() {
        let cell = row.cell(column);
        let read = if cell.is_empty() { Ok(None) } else { shape(&cell.written(), &mut systems).map(Some) };
        shapes.push(read.unwrap_or_else(|why| {
            let what = format!("the shape in column {} cannot be read ({why}).", table.columns[column]);
            problems.warning(
                table.place(row),
                what,
                "Write it as POLYGON ((x y, x y, …)); the row has no shape and is left out.",
            );
            None
        }));
    }
    table.rows.set_shapes_of(column, shapes);
    systems.dedup();
    match systems.as_slice() {
        [] => {}
        [one] => table.crs = Some(Crs::from_epsg(*one)),
        _ => {
            let what = "its shapes name more than one coordinate system (SRID), and a file is read in one.";
            problems.error(&table.name, what, "Write all shapes in one system, or make a file of each.");
        }
    }
    table
}

fn shape(text: &str, systems: &mut Vec<u32>) -> Result<Geometry<f64>, String> {
    let upper = text.to_ascii_uppercase();
    let text = match upper.strip_prefix("SRID=").and_then(|rest| rest.split_once(';')) {
        Some((code, rest)) => {
            systems.push(code.trim().parse().map_err(|_no_number| format!("“{code}” is no number of a system"))?);
            rest.trim()
        }
        None => upper.as_str(),
    };
    if text.matches("GEOMETRYCOLLECTION").count() > MOST_COLLECTIONS {
        return Err("collections within collections".to_owned());
    }
    let shape = Geometry::try_from_wkt_str(text).map_err(|error| error.to_string())?;
    // Copied, because the lists of the parser keep the room of its own positions, three times what is needed.
    Ok(shape.map_coords(|at| at))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::formats::RowData;
    use geo::Area as _;

    fn table(texts: &[&str]) -> (Table, Problems) {
        let rows = texts.iter().enumerate().map(|(index, text)| RowData {
            number: index + 2,
            geometry: None,
            cells: vec![Cell::text("Long Acre"), Cell::text(text)],
        });
        let table = Table {
            name: "a.csv".into(),
            columns: vec!["name".into(), "WKT".into()],
            rows: rows.collect::<Vec<_>>().into(),
            crs: None,
        };
        let mut problems = Problems::new();
        let table = shaped(table, &mut problems);
        (table, problems)
    }

    #[test]
    fn shapes_of_every_kind() {
        let (table, problems) = table(&[
            "POLYGON ((0 0, 4 0, 4 4, 0 4, 0 0), (1 1, 2 1, 2 2, 1 2, 1 1))",
            "MultiPolygon Z (((0 0 7, 2 0 7, 2 2 7, 0 0 7)))",
            "",
            "SRID=25832;POINT(1 2)",
            "POLYGON EMPTY",
        ]);
        assert!(problems.list.is_empty(), "{problems:?}");
        let areas: Vec<_> = table.rows.iter().map(|row| row.geometry().map(|shape| shape.unsigned_area())).collect();
        assert_eq!(areas, [Some(15.0), Some(2.0), None, Some(0.0), Some(0.0)]);
        assert_eq!(table.crs, Some(Crs::Epsg(25832)));
        assert!(table.rows.iter().all(|row| row.cell(1).is_empty()));
    }

    #[test]
    fn what_is_no_shape_is_named() {
        let deep = format!("{}POINT(1 2){}", "GEOMETRYCOLLECTION(".repeat(100_000), ")".repeat(100_000));
        let (table, problems) = table(&["POINT(1 2)", "POLYGON((0 0, 4", &deep, "nowhere"]);
        assert_eq!(table.rows.iter().filter(|row| row.geometry().is_some()).count(), 1);
        assert_eq!(problems.list.len(), 3, "{problems:?}");
        assert_eq!(problems.list[0].place, "a.csv, row 3");
        let (_, problems) = super::tests::table(&["SRID=25832;POINT(1 2)", "SRID=4326;POINT(1 2)"]);
        assert!(problems.has_errors());
    }
}
