//! Shapefile (ESRI whitepaper, July 1998): .shp, .shx, .dbf, .prj and .cpg, letters as UTF-8.

use std::io::Cursor;

use dbase::{FieldName, FieldValue, Record, TableWriterBuilder};
use geo::{Geometry, LineString};
use shapefile::{Point, Polygon, PolygonRing, Polyline, ShapeWriter};

use crate::exchange::export::layer::{Layer, Value};

/// WGS 84 as .prj files write it; EPSG:4326.
const PRJ: &str = concat!(
    r#"GEOGCS["GCS_WGS_1984",DATUM["D_WGS_1984",SPHEROID["WGS_1984",6378137.0,298.257223563]],"#,
    r#"PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]]"#
);
/// A text cell holds so many bytes at most.
const LONGEST: usize = 254;

/// The files by their ends.
pub(super) fn write(layer: &Layer) -> Result<Vec<(&'static str, Vec<u8>)>, String> {
    let (mut shp, mut shx) = (Cursor::new(Vec::new()), Cursor::new(Vec::new()));
    let failed = |error: &dyn std::fmt::Display| format!("the shapefile could not be made: {error}");
    shapes(layer, &mut shp, &mut shx).map_err(|error| failed(&error))?;
    let dbf = attributes(layer).map_err(|error| failed(&error))?;
    Ok(vec![
        ("shp", shp.into_inner()),
        ("shx", shx.into_inner()),
        ("dbf", dbf),
        ("prj", PRJ.as_bytes().to_vec()),
        ("cpg", b"UTF-8".to_vec()),
    ])
}

fn shapes(layer: &Layer, shp: &mut Cursor<Vec<u8>>, shx: &mut Cursor<Vec<u8>>) -> Result<(), shapefile::Error> {
    let points = |line: &LineString<f64>| line.0.iter().map(|at| Point::new(at.x, at.y)).collect::<Vec<_>>();
    let mut writer = ShapeWriter::with_shx(shp, shx);
    for (geometry, _) in &layer.rows {
        match geometry {
            Geometry::Point(point) => writer.write_shape(&Point::new(point.x(), point.y()))?,
            Geometry::LineString(line) => writer.write_shape(&Polyline::new(points(line)))?,
            Geometry::MultiPolygon(areas) => {
                let rings = areas.iter().flat_map(|area| {
                    let holes = area.interiors().iter().map(|ring| PolygonRing::Inner(points(ring)));
                    std::iter::once(PolygonRing::Outer(points(area.exterior()))).chain(holes)
                });
                writer.write_shape(&Polygon::with_rings(rings.collect()))?;
            }
            _ => {}
        }
    }
    writer.finalize()
}

fn attributes(layer: &Layer) -> Result<Vec<u8>, dbase::Error> {
    let cells = |column: usize| layer.rows.iter().filter_map(move |(_, values)| values.get(column));
    let mut builder = TableWriterBuilder::new();
    for (index, name) in layer.columns.iter().enumerate() {
        let Ok(field) = FieldName::try_from(*name) else { continue };
        let texts = cells(index).filter_map(|value| if let Value::Text(text) = value { Some(text.len()) } else { None });
        let longest = texts.max();
        builder = match longest {
            Some(longest) => builder.add_character_field(field, longest.clamp(1, LONGEST) as u8),
            None if cells(index).any(|value| matches!(value, Value::Real(_))) => builder.add_numeric_field(field, 18, 6),
            None => builder.add_numeric_field(field, 10, 0),
        };
    }
    let mut file = Cursor::new(Vec::new());
    let mut writer = builder.build_with_dest(&mut file);
    for (_, values) in &layer.rows {
        let mut record = Record::default();
        for (index, (name, value)) in layer.columns.iter().zip(values).enumerate() {
            let text = cells(index).any(|value| matches!(value, Value::Text(_)));
            let value = match value {
                Value::Text(text) => FieldValue::Character(Some(shortened(text).to_owned())),
                Value::Whole(number) => FieldValue::Numeric(Some(*number as f64)),
                Value::Real(number) => FieldValue::Numeric(Some(*number)),
                Value::None if text => FieldValue::Character(None),
                Value::None => FieldValue::Numeric(None),
            };
            record.insert((*name).to_owned(), value);
        }
        writer.write_record(&record)?;
    }
    writer.finalize()?;
    drop(writer);
    Ok(file.into_inner())
}

/// As much of a text as a cell holds, whole letters only.
fn shortened(text: &str) -> &str {
    let mut end = text.len().min(LONGEST);
    while !text.is_char_boundary(end) {
        end -= 1;
    }
    text.get(..end).unwrap_or_default()
}
