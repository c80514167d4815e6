//! One CSV file a table (RFC 4180 with line feeds), shapes as well-known text (OGC 06-103r4).

use geo::{Coord, Geometry, LineString, Polygon};

use crate::exchange::everything::{Table, Value};
use crate::exchange::export::guarded;

pub(super) fn write(tables: &[Table]) -> Result<Vec<(String, Vec<u8>)>, String> {
    tables.iter().map(|table| Ok((format!("{}.csv", table.name), file(table)?))).collect()
}

/// Files as one zip archive, with a fixed day in place of now.
pub fn zipped(files: &[(String, Vec<u8>)]) -> Result<Vec<u8>, String> {
    use std::io::Write as _;
    let failed = |error: &dyn std::fmt::Display| format!("the archive could not be made: {error}");
    let mut archive = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    let options = zip::write::SimpleFileOptions::default().last_modified_time(zip::DateTime::default());
    for (name, bytes) in files {
        archive.start_file(name.as_str(), options).map_err(|error| failed(&error))?;
        archive.write_all(bytes).map_err(|error| failed(&error))?;
    }
    Ok(archive.finish().map_err(|error| failed(&error))?.into_inner())
}

fn file(table: &Table) -> Result<Vec<u8>, String> {
    let failed = |error: &dyn std::fmt::Display| format!("{}.csv could not be made: {error}", table.name);
    let mut writer = ::csv::Writer::from_writer(Vec::new());
    let mut heads: Vec<&str> = table.columns.iter().map(|column| column.name.as_str()).collect();
    if table.geometry.is_some() {
        heads.push("shape");
    }
    writer.write_record(&heads).map_err(|error| failed(&error))?;
    for (shape, values) in &table.rows {
        let mut cells: Vec<String> = values.iter().map(written).collect();
        if table.geometry.is_some() {
            cells.push(shape.as_ref().map(well_known).unwrap_or_default());
        }
        writer.write_record(&cells).map_err(|error| failed(&error))?;
    }
    writer.into_inner().map_err(|error| failed(&error))
}

fn written(value: &Value) -> String {
    match value {
        Value::Text(text) => guarded(text),
        Value::Whole(number) => number.to_string(),
        Value::Real(number) => number.to_string(),
        Value::None => String::new(),
    }
}

/// Positions to nine decimals of a degree, a tenth of a millimetre.
fn well_known(shape: &Geometry<f64>) -> String {
    match shape {
        Geometry::Point(point) => format!("POINT ({})", position(&point.0)),
        Geometry::LineString(line) => format!("LINESTRING {}", positions(line)),
        Geometry::Polygon(area) => format!("POLYGON {}", rings(area)),
        Geometry::MultiPolygon(areas) => {
            format!("MULTIPOLYGON ({})", areas.iter().map(rings).collect::<Vec<_>>().join(", "))
        }
        _ => String::new(),
    }
}

fn position(at: &Coord<f64>) -> String {
    format!("{:.9} {:.9}", at.x, at.y)
}

fn positions(line: &LineString<f64>) -> String {
    format!("({})", line.coords().map(position).collect::<Vec<_>>().join(", "))
}

fn rings(area: &Polygon<f64>) -> String {
    let rings = std::iter::once(area.exterior()).chain(area.interiors()).map(positions);
    format!("({})", rings.collect::<Vec<_>>().join(", "))
}
