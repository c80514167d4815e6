//! One workbook, a sheet for each table. Texts are marked as such, so that no cell is ever a formula.

use geo::BoundingRect as _;
use rust_xlsxwriter::{DocProperties, ExcelDateTime, Format, Workbook, XlsxError};

use crate::exchange::everything::{Table, Value};
use crate::geometry;

/// Most letters of a cell and of the name of a sheet (ECMA-376, part 1, 18.3.1.4 and the limits that spreadsheets keep).
const MOST_LETTERS: usize = 32_000;
const SHEET_NAME: usize = 31;

pub(super) fn write(tables: &[Table]) -> Result<Vec<u8>, String> {
    make(tables).map_err(|error| format!("the workbook could not be made: {error}"))
}

fn make(tables: &[Table]) -> Result<Vec<u8>, XlsxError> {
    let mut workbook = Workbook::new();
    // A fixed day in place of now.
    workbook.set_properties(&DocProperties::new().set_creation_datetime(&ExcelDateTime::from_ymd(2000, 1, 1)?));
    let (bold, text) = (Format::new().set_bold(), Format::new().set_quote_prefix());
    // The dictionary first, because it says what the rest is.
    for table in tables.iter().rev().take(1).chain(tables.iter().take(tables.len().saturating_sub(1))) {
        let name: String = table.name.chars().take(SHEET_NAME).collect();
        let sheet = workbook.add_worksheet().set_name(name)?;
        let mut heads: Vec<&str> = table.columns.iter().map(|column| column.name.as_str()).collect();
        if table.geometry.is_some() {
            heads.extend(["lon", "lat"]);
        }
        for (column, head) in (0..).zip(&heads) {
            sheet.write_string_with_format(0, column, *head, &bold)?;
        }
        for (row, (shape, values)) in (1..).zip(&table.rows) {
            for (column, value) in (0..).zip(values) {
                match value {
                    Value::Text(written) if written.is_empty() => {}
                    Value::Text(written) if written.chars().count() > MOST_LETTERS => {
                        let words = "too long for a cell; it is in the GeoPackage and in CSV";
                        sheet.write_string_with_format(row, column, words, &text)?;
                    }
                    Value::Text(written) => drop(sheet.write_string_with_format(row, column, written, &text)?),
                    Value::Whole(number) => drop(sheet.write_number(row, column, *number as f64)?),
                    Value::Real(number) if number.is_finite() => drop(sheet.write_number(row, column, *number)?),
                    Value::Real(_) | Value::None => {}
                }
            }
            if let Some(middle) = shape.as_ref().and_then(middle) {
                let first = values.len() as u16;
                sheet.write_number(row, first, middle.x)?;
                sheet.write_number(row, first + 1, middle.y)?;
            }
        }
        sheet.set_freeze_panes(1, 0)?;
        sheet.set_autofit_max_width(400).autofit();
    }
    workbook.save_to_buffer()
}

/// A place inside an area, or the middle of anything else, degrees.
fn middle(shape: &geo::Geometry<f64>) -> Option<geo::Coord<f64>> {
    match shape {
        geo::Geometry::MultiPolygon(areas) => geometry::label_point(areas),
        other => other.bounding_rect().map(geo::Rect::center),
    }
}
