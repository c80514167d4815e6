//! FlatGeobuf, version 3: features in file order, x first; the spatial index is skipped.
//!
//! Crate `flatgeobuf` checks and opens each table; the walk from feature to feature is done here, because sizes must be
//! held against the bytes that are there before anything is reserved.

use flatgeobuf::{Column, ColumnType, GeometryType, size_prefixed_root_as_feature, size_prefixed_root_as_header};
use geo::{Coord, Geometry, GeometryCollection, LineString, MultiLineString, MultiPoint, MultiPolygon, Point, Polygon};

use crate::crs::Crs;
use crate::formats::{Cell, RowData, Table};
use crate::problem::Problems;

/// Collections in collections beyond this are damage.
const DEEPEST: usize = 8;

/// Reads a file's bytes.
pub(super) fn read(place: &str, bytes: &[u8], problems: &mut Problems) -> Option<Table> {
    match table(place, bytes, problems) {
        Ok(table) => Some(table),
        Err(why) => {
            let hint = "The file is cut off or damaged: copy it again from where it came from.";
            problems.error(place, format!("it cannot be read as FlatGeobuf ({why})."), hint);
            None
        }
    }
}

fn table(place: &str, bytes: &[u8], problems: &mut Problems) -> Result<Table, String> {
    if !(bytes.starts_with(b"fgb\x03") || bytes.starts_with(b"fgb\x02")) {
        return Err("it does not begin with fgb and a version that is known".to_owned());
    }
    let early = || "it ends early".to_owned();
    let mut at = 8;
    let header = sized(bytes, &mut at).ok_or_else(early)?;
    let header =
        size_prefixed_root_as_header(header).map_err(|error| format!("its header is damaged: {}", first_line(&error)))?;
    let index = index_bytes(header.features_count(), header.index_node_size()).ok_or_else(early)?;
    at = at.checked_add(index).filter(|at| *at <= bytes.len()).ok_or_else(early)?;
    let columns: Vec<Column<'_>> = header.columns().map(|columns| columns.iter().collect()).unwrap_or_default();
    let crs = header.crs().and_then(|crs| match u32::try_from(crs.code()) {
        Ok(code) if code > 0 && crs.org().is_none_or(|org| org.eq_ignore_ascii_case("EPSG")) => Some(Crs::from_epsg(code)),
        _ => Crs::from_wkt(crs.wkt()?).ok(),
    });
    let mut rows = Vec::new();
    while at < bytes.len() {
        let number = rows.len() + 1;
        let feature = sized(bytes, &mut at).ok_or_else(early)?;
        let feature = size_prefixed_root_as_feature(feature)
            .map_err(|error| format!("feature {number} is damaged: {}", first_line(&error)))?;
        let geometry = feature.geometry().and_then(|geometry| {
            let kind = if geometry.type_() == GeometryType::Unknown { header.geometry_type() } else { geometry.type_() };
            match shape(geometry, kind, 0) {
                Ok(shape) => Some(shape),
                Err(why) => {
                    problems.warning(format!("{place}, row {number}"), format!("{why}."), "The row has no shape.");
                    None
                }
            }
        });
        let mut cells = vec![Cell::Empty; columns.len()];
        let own: Option<Vec<Column<'_>>> = feature.columns().map(|columns| columns.iter().collect());
        if let Some(raw) = feature.properties() {
            let columns = own.as_ref().unwrap_or(&columns);
            properties(raw.bytes(), columns, &mut cells)
                .ok_or_else(|| format!("the attributes of feature {number} are damaged"))?;
        }
        rows.push(RowData { number, geometry, cells });
    }
    if header.features_count() > 0 && header.features_count() != rows.len() as u64 {
        return Err(format!("it says that it has {} features, but has {}", header.features_count(), rows.len()));
    }
    let columns = columns.iter().map(|column| column.name().to_owned()).collect();
    Ok(Table { name: place.to_owned(), columns, rows: rows.into(), crs })
}

/// The table at a position with the size that it begins with; the position moves behind it.
fn sized<'a>(bytes: &'a [u8], at: &mut usize) -> Option<&'a [u8]> {
    let from = *at;
    let body = from.checked_add(4)?;
    let size = u32::from_le_bytes(bytes.get(from..body)?.try_into().ok()?);
    let to = body.checked_add(usize::try_from(size).ok()?)?;
    *at = to;
    bytes.get(from..to)
}

/// Size of the packed R-tree: 40 bytes a node, level upon level until one node is left.
fn index_bytes(features: u64, node_size: u16) -> Option<usize> {
    if node_size < 2 || features == 0 {
        return Some(0);
    }
    let (mut level, mut nodes) = (features, features);
    while level > 1 {
        level = level.div_ceil(u64::from(node_size));
        nodes = nodes.checked_add(level)?;
    }
    usize::try_from(nodes.checked_mul(40)?).ok()
}

fn shape(geometry: flatgeobuf::Geometry<'_>, kind: GeometryType, depth: usize) -> Result<Geometry<f64>, String> {
    let xy = || -> Vec<Coord<f64>> {
        let numbers: Vec<f64> = geometry.xy().map(|xy| xy.iter().collect()).unwrap_or_default();
        numbers.chunks_exact(2).map(|at| Coord { x: at[0], y: at[1] }).collect()
    };
    let lines = || -> Vec<LineString<f64>> {
        let all = xy();
        let ends: Vec<usize> = geometry.ends().map(|ends| ends.iter().map(|end| end as usize).collect()).unwrap_or_default();
        if ends.is_empty() {
            return vec![LineString(all)];
        }
        let starts = std::iter::once(0).chain(ends.iter().copied());
        starts.zip(&ends).map(|(from, to)| LineString(all.get(from..*to).unwrap_or_default().to_vec())).collect()
    };
    let parts = |kind: Option<GeometryType>| -> Result<Vec<Geometry<f64>>, String> {
        if depth > DEEPEST {
            return Err("its shape is nested too deep".to_owned());
        }
        let parts = geometry.parts().into_iter().flat_map(|parts| parts.iter());
        parts.map(|part| shape(part, kind.unwrap_or(part.type_()), depth + 1)).collect()
    };
    let polygon = || {
        let mut rings = lines().into_iter();
        Polygon::new(rings.next().unwrap_or_else(|| LineString(Vec::new())), rings.collect())
    };
    Ok(match kind {
        GeometryType::Point => Geometry::Point(Point(*xy().first().ok_or("its point has no position")?)),
        GeometryType::MultiPoint => Geometry::MultiPoint(MultiPoint(xy().into_iter().map(Point).collect())),
        GeometryType::LineString => Geometry::LineString(LineString(xy())),
        GeometryType::MultiLineString => Geometry::MultiLineString(MultiLineString(lines())),
        GeometryType::Polygon | GeometryType::Triangle => Geometry::Polygon(polygon()),
        GeometryType::MultiPolygon => {
            let areas = parts(Some(GeometryType::Polygon))?.into_iter().filter_map(|part| match part {
                Geometry::Polygon(polygon) => Some(polygon),
                _ => None,
            });
            Geometry::MultiPolygon(MultiPolygon(areas.collect()))
        }
        GeometryType::GeometryCollection => Geometry::GeometryCollection(GeometryCollection(parts(None)?)),
        other => {
            let name = other.variant_name().unwrap_or("an unknown kind");
            return Err(format!("a shape of the kind {name} is not read; convert curves to straight lines first"));
        }
    })
}

/// Fills cells from the attributes: number of the column, then its value.
fn properties(raw: &[u8], columns: &[Column<'_>], cells: &mut [Cell]) -> Option<()> {
    fn take<'a, const N: usize>(raw: &mut &'a [u8]) -> Option<&'a [u8; N]> {
        let (head, rest) = raw.split_first_chunk::<N>()?;
        *raw = rest;
        Some(head)
    }
    let mut raw = raw;
    while !raw.is_empty() {
        let index = usize::from(u16::from_le_bytes(*take(&mut raw)?));
        let value = match columns.get(index)?.type_() {
            ColumnType::Byte => Cell::Number(f64::from(i8::from_le_bytes(*take(&mut raw)?))),
            ColumnType::UByte => Cell::Number(f64::from(u8::from_le_bytes(*take(&mut raw)?))),
            ColumnType::Bool => Cell::text(if take::<1>(&mut raw)? == &[0] { "false" } else { "true" }),
            ColumnType::Short => Cell::Number(f64::from(i16::from_le_bytes(*take(&mut raw)?))),
            ColumnType::UShort => Cell::Number(f64::from(u16::from_le_bytes(*take(&mut raw)?))),
            ColumnType::Int => Cell::Number(f64::from(i32::from_le_bytes(*take(&mut raw)?))),
            ColumnType::UInt => Cell::Number(f64::from(u32::from_le_bytes(*take(&mut raw)?))),
            ColumnType::Long => Cell::Number(i64::from_le_bytes(*take(&mut raw)?) as f64),
            ColumnType::ULong => Cell::Number(u64::from_le_bytes(*take(&mut raw)?) as f64),
            ColumnType::Float => Cell::Number(f64::from(f32::from_le_bytes(*take(&mut raw)?))),
            ColumnType::Double => Cell::Number(f64::from_le_bytes(*take(&mut raw)?)),
            kind => {
                let length = usize::try_from(u32::from_le_bytes(*take(&mut raw)?)).ok()?;
                let (text, rest) = raw.split_at_checked(length)?;
                raw = rest;
                if kind == ColumnType::Binary { Cell::Empty } else { Cell::text(&String::from_utf8_lossy(text)) }
            }
        };
        if let Some(cell) = cells.get_mut(index) {
            *cell = value;
        }
    }
    Some(())
}

/// What an error says, without where in its tree of tables it was met.
fn first_line(error: &impl std::fmt::Display) -> String {
    error.to_string().lines().next().unwrap_or_default().trim_end_matches('.').to_owned()
}
