//! Fields as triangles and outlines for drawing, worked out once in the background for each state of the boundaries.

use std::collections::BTreeMap;

use awn_core::model::{FieldId, Records};
use egui::{Pos2, pos2};
use geo::{Coord, MultiPolygon, TriangulateEarcut as _};

use super::mercator::{Screen, world};

/// One field. Positions are in the unit square relative to the anchor, in f32: less than a millimetre of error over 10 km.
#[derive(Debug, Clone)]
pub struct FieldShape {
    /// The field.
    pub id: FieldId,
    /// Corner of the bounds that positions are relative to.
    pub anchor: Coord<f64>,
    /// The corner opposite.
    pub far: Coord<f64>,
    /// Vertices of the triangles.
    pub vertices: Vec<Pos2>,
    /// Three indices a triangle.
    pub triangles: Vec<u32>,
    /// Closed rings, outer and holes alike.
    pub rings: Vec<Vec<Pos2>>,
    /// Area as drawn, for putting large labels first.
    pub size: f64,
}

/// All fields of a harvest year.
#[derive(Debug, Default)]
pub struct Shapes {
    /// The shapes by farm and name.
    pub fields: Vec<FieldShape>,
    index: BTreeMap<FieldId, usize>,
}

impl Shapes {
    /// Works out the shapes of a harvest year.
    pub fn of(records: &Records, year: i32) -> Self {
        let fields: Vec<FieldShape> =
            records.fields_in(year).iter().filter_map(|field| shape(field.id, &field.boundary)).collect();
        let index = fields.iter().enumerate().map(|(at, shape)| (shape.id, at)).collect();
        Self { fields, index }
    }

    /// The shape of a field.
    pub fn get(&self, field: FieldId) -> Option<&FieldShape> {
        self.index.get(&field).and_then(|at| self.fields.get(*at))
    }
}

impl FieldShape {
    /// The bounds on the screen.
    pub fn rect(&self, screen: &Screen) -> egui::Rect {
        screen.rect_of(self.anchor, self.far)
    }

    /// The rings on the screen. Points closer together than half a point are left out.
    pub fn rings_on(&self, screen: &Screen) -> Vec<Vec<Pos2>> {
        let (zero, scale) = (screen.pos_from_world(self.anchor), screen.scale as f32);
        let mut rings = Vec::with_capacity(self.rings.len());
        for ring in &self.rings {
            let mut on: Vec<Pos2> = Vec::with_capacity(ring.len());
            for point in ring {
                let pos = pos2(zero.x + point.x * scale, zero.y + point.y * scale);
                if on.last().is_none_or(|last| (pos - *last).length_sq() > 0.25) {
                    on.push(pos);
                }
            }
            if on.len() > 2 {
                rings.push(on);
            }
        }
        rings
    }
}

/// The shape of an area; none if it is empty.
pub fn shape(id: FieldId, area: &MultiPolygon<f64>) -> Option<FieldShape> {
    let bounds = awn_core::geometry::bounds(area)?;
    let (west_north, east_south) =
        (world(Coord { x: bounds.min().x, y: bounds.max().y }), world(Coord { x: bounds.max().x, y: bounds.min().y }));
    let relative = |lonlat: Coord<f64>| {
        let at = world(lonlat);
        Coord { x: at.x - west_north.x, y: at.y - west_north.y }
    };
    let near = geo::MapCoords::map_coords(area, relative);
    let mut shape = FieldShape {
        id,
        anchor: west_north,
        far: east_south,
        vertices: Vec::new(),
        triangles: Vec::new(),
        rings: Vec::new(),
        size: geo::Area::unsigned_area(&near),
    };
    for polygon in &near {
        let raw = polygon.earcut_triangles_raw();
        let first = shape.vertices.len() as u32;
        shape.vertices.extend(raw.vertices.iter().map(|[x, y]| pos2(*x as f32, *y as f32)));
        shape.triangles.extend(raw.triangle_indices.iter().map(|index| first + *index as u32));
        for ring in std::iter::once(polygon.exterior()).chain(polygon.interiors()) {
            shape.rings.push(ring.coords().map(|c| pos2(c.x as f32, c.y as f32)).collect());
        }
    }
    Some(shape)
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::polygon;

    #[test]
    fn triangles_cover_a_concave_field_with_a_hole_and_no_more() {
        let area = MultiPolygon(vec![polygon![
            exterior: [(x: 0.0, y: 0.0), (x: 0.03, y: 0.0), (x: 0.03, y: 0.01), (x: 0.01, y: 0.01), (x: 0.01, y: 0.03), (x: 0.0, y: 0.03)],
            interiors: [[(x: 0.002, y: 0.002), (x: 0.006, y: 0.002), (x: 0.006, y: 0.006), (x: 0.002, y: 0.006)]],
        ]]);
        let shape = shape(FieldId::new(), &area).unwrap();
        let covered: f64 = shape
            .triangles
            .chunks(3)
            .map(|t| {
                let [a, b, c] = [0, 1, 2].map(|k| shape.vertices[t[k] as usize].to_vec2());
                f64::from(((b - a).x * (c - a).y - (b - a).y * (c - a).x).abs()) / 2.0
            })
            .sum();
        // The area is known by the shoelace sum of the same rings.
        assert!((covered / shape.size - 1.0).abs() < 1e-3, "{covered} {}", shape.size);
        assert_eq!(shape.rings.len(), 2);
    }
}
