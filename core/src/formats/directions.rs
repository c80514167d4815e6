//! Rings that run the other way round than their format has them. No area hangs on it, and so they are read all the same; it is
//! said once, since a program that writes them so may have got more wrong.

use geo::{Area as _, Geometry, LineString, Polygon};

use crate::formats::Table;
use crate::problem::Problems;

/// How a format wants its rings.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Outlines {
    /// Outlines clockwise, holes anticlockwise: shapefile (whitepaper, 1998).
    Clockwise,
    /// Outlines anticlockwise, holes clockwise: GeoJSON (RFC 7946, 3.1.6).
    Anticlockwise,
    /// Outlines anticlockwise, nothing said of holes: KML (OGC 12-007r2, 10.8.3, from memory).
    AnticlockwiseOnly,
}

/// Notes how many rings of a table run the other way round.
pub(super) fn note(table: &Table, wanted: Outlines, problems: &mut Problems) {
    let mut seen = Seen { wanted, rings: 0, turned: 0 };
    for row in table.rows.iter() {
        if let Some(shape) = row.geometry() {
            seen.shape(&shape);
        }
    }
    if seen.turned > 0 {
        let rule = match wanted {
            Outlines::Clockwise => "outlines clockwise, holes the other way",
            Outlines::Anticlockwise => "outlines anticlockwise, holes the other way",
            Outlines::AnticlockwiseOnly => "outlines anticlockwise",
        };
        let what = format!(
            "{} of {} rings run the other way round than the format has them ({rule}); they were turned, which changes no area.",
            seen.turned, seen.rings
        );
        problems.note(&table.name, what, "");
    }
}

struct Seen {
    wanted: Outlines,
    rings: usize,
    turned: usize,
}

impl Seen {
    fn shape(&mut self, shape: &Geometry<f64>) {
        match shape {
            Geometry::Polygon(polygon) => self.polygon(polygon),
            Geometry::MultiPolygon(parts) => parts.iter().for_each(|part| self.polygon(part)),
            Geometry::GeometryCollection(parts) => parts.iter().for_each(|part| self.shape(part)),
            _ => {}
        }
    }

    fn polygon(&mut self, polygon: &Polygon<f64>) {
        self.ring(polygon.exterior(), self.wanted == Outlines::Clockwise);
        if self.wanted != Outlines::AnticlockwiseOnly {
            for hole in polygon.interiors() {
                self.ring(hole, self.wanted != Outlines::Clockwise);
            }
        }
    }

    fn ring(&mut self, ring: &LineString<f64>, clockwise: bool) {
        let area = Polygon::new(ring.clone(), Vec::new()).signed_area();
        self.rings += 1;
        self.turned += usize::from(area != 0.0 && (area < 0.0) != clockwise);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::formats::RowData;

    #[test]
    fn rings_the_other_way_round_are_counted_once_for_the_file() {
        let ring = |from: f64, size: f64, clockwise: bool| {
            let mut corners =
                vec![(from, from), (from + size, from), (from + size, from + size), (from, from + size), (from, from)];
            if clockwise {
                corners.reverse();
            }
            LineString::from(corners)
        };
        let row = |outer, hole| {
            let shape = Polygon::new(ring(0.0, 9.0, outer), vec![ring(1.0, 2.0, hole)]);
            RowData { number: 1, geometry: Some(Geometry::Polygon(shape)), cells: Vec::new() }
        };
        let rows = vec![row(true, false), row(false, true), row(false, false)];
        let table = Table { name: "a".into(), columns: Vec::new(), rows: rows.into(), crs: None };
        for (wanted, said) in [
            (Outlines::Clockwise, "3 of 6 rings"),
            (Outlines::Anticlockwise, "3 of 6 rings"),
            (Outlines::AnticlockwiseOnly, "1 of 3 rings"),
        ] {
            let mut problems = Problems::new();
            note(&table, wanted, &mut problems);
            assert!(problems.list.len() == 1 && problems.list[0].what.starts_with(said), "{problems:?}");
        }
        let mut problems = Problems::new();
        let table = Table { rows: vec![row(true, false)].into(), ..table };
        note(&table, Outlines::Clockwise, &mut problems);
        assert!(problems.list.is_empty());
    }
}
