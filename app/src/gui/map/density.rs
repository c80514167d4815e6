//! The density surface as one small picture for each field, a cell to a pixel.

use awn_core::density::{Surface, surface};
use awn_core::model::{DensityClass, DensityUnit, FieldId, Records};
use awn_core::progress::Progress;
use egui::{Color32, ColorImage, Mesh, Painter, Rect, Shape, TextureHandle, TextureOptions, pos2};
use geo::Coord;
use std::collections::BTreeMap;

use super::mercator::{Screen, world};
use super::scouting::figure;
use crate::gui::style::{self, DENSITY};

/// Side of a cell, m.
const CELL_M: f64 = 5.0;

/// The surface of one field, ready to draw.
#[derive(Debug)]
pub struct FieldDensity {
    /// The field.
    pub field: FieldId,
    /// Middle of the plane, cells and what they were made from.
    pub surface: Surface,
    /// Mean over the field.
    pub mean: f64,
    /// Greatest value.
    pub greatest: f64,
    corners: [Coord<f64>; 4],
}

/// The surfaces of all fields of a harvest year.
#[derive(Debug, Default)]
pub struct DensityLayer {
    /// By field; fields of which nothing is known are left out.
    pub fields: BTreeMap<FieldId, FieldDensity>,
    /// Upper limits of the first four classes.
    pub limits: [f64; 4],
    /// In how many fields each class occurs, and its land in m2, lowest first.
    pub land: [(usize, f64); 5],
    /// Unit of the surfaces.
    pub unit: Option<DensityUnit>,
    /// To tell pictures of one layer from those of the next.
    pub number: u64,
}

impl DensityLayer {
    /// Works out the surfaces of a harvest year.
    pub fn of(records: &Records, year: i32, number: u64, progress: &dyn Progress) -> Self {
        let list = records.fields_in(year);
        let mut layer = Self { number, ..Self::default() };
        for (done, field) in list.iter().enumerate() {
            progress.step(done, list.len());
            if progress.cancelled() {
                break;
            }
            let Some(surface) = surface(records, field, year, CELL_M) else { continue };
            if surface.method == awn_core::density::SurfaceMethod::Even {
                continue;
            }
            let (mut sum, mut cells, mut greatest) = (0.0, 0.0, 0.0_f64);
            for (_, value) in surface.grid.cells() {
                sum += value;
                cells += 1.0;
                greatest = greatest.max(value);
            }
            if cells == 0.0 {
                continue;
            }
            let grid = &surface.grid;
            let (w, h) = (grid.columns as f64 * grid.cell_m, grid.rows as f64 * grid.cell_m);
            let corner = |x: f64, y: f64| world(surface.plane.degrees(Coord { x: grid.origin.x + x, y: grid.origin.y + y }));
            let corners = [corner(0.0, h), corner(w, h), corner(w, 0.0), corner(0.0, 0.0)];
            layer.unit.get_or_insert(surface.unit);
            layer.fields.insert(field.id, FieldDensity { field: field.id, mean: sum / cells, greatest, corners, surface });
        }
        layer.limits = limits(layer.unit);
        layer.count_land();
        layer
    }

    /// The legend's lines, thickest first: colour, what it means, in how many fields it occurs, and its land in m2.
    pub fn classes(&self) -> Vec<(Color32, String, usize, f64)> {
        let limit = |at: usize| figure(self.limits[at]);
        (0..5)
            .rev()
            .map(|class| {
                let text = match class {
                    0 => "next to none".to_owned(),
                    1 => format!("up to {}", limit(1)),
                    4 => format!("more than {}", limit(3)),
                    class => format!("{} to {}", limit(class - 1), limit(class)),
                };
                let (fields, area_m2) = self.land[class];
                (DENSITY[class], text, fields, area_m2)
            })
            .collect()
    }

    fn class(&self, value: f64) -> usize {
        self.limits.iter().filter(|limit| value > **limit + 1e-9).count()
    }

    /// In how many fields each class occurs, and on how much land.
    fn count_land(&mut self) {
        let mut land = [(0, 0.0); 5];
        for field in self.fields.values() {
            let mut here = [0.0; 5];
            for (_, value) in field.surface.grid.cells() {
                here[self.class(value)] += field.surface.grid.cell_m.powi(2);
            }
            for (sum, area_m2) in land.iter_mut().zip(here).filter(|(_, area_m2)| *area_m2 > 0.0) {
                sum.0 += 1;
                sum.1 += area_m2;
            }
        }
        self.land = land;
    }

    fn colour(&self, value: f64) -> Color32 {
        if value.is_nan() {
            return style::NONE;
        }
        DENSITY[self.class(value)]
    }

    fn picture(&self, field: &FieldDensity) -> ColorImage {
        let grid = &field.surface.grid;
        let rows = (0..grid.rows).rev();
        let pixels = rows.flat_map(|row| {
            (0..grid.columns).map(move |column| grid.value(column, row).map_or(style::NONE, |value| self.colour(value)))
        });
        ColorImage::new([grid.columns, grid.rows], pixels.collect())
    }
}

/// Upper limits of the first four classes in heads/m2, the same as on printed maps. Published limits are in plants/m2; these
/// are ours, no source.
const HEADS_UPPER: [f64; 4] = [0.05, 1.0, 10.0, 50.0];

/// Published limits for plants/m2 ([`DensityClass`]); a surface is nowhere quite nought, so next to nothing counts as none.
fn limits(unit: Option<DensityUnit>) -> [f64; 4] {
    match unit {
        Some(DensityUnit::PlantsPerM2) => {
            let [_, low, medium, high] = DensityClass::UPPER_PER_M2;
            [0.005, low, medium, high]
        }
        _ => HEADS_UPPER,
    }
}

/// Pictures on the graphics card; they are made when first seen.
#[derive(Default)]
pub struct DensityPictures {
    number: u64,
    made: BTreeMap<FieldId, TextureHandle>,
}

impl DensityPictures {
    /// Draws the surfaces in view.
    pub fn draw(&mut self, painter: &Painter, screen: &Screen, layer: &DensityLayer) {
        if self.number != layer.number {
            self.made.clear();
            self.number = layer.number;
        }
        for field in layer.fields.values() {
            let corners = field.corners.map(|corner| screen.pos_from_world(corner));
            if !Rect::from_points(&corners).intersects(screen.rect) {
                continue;
            }
            let texture = self.made.entry(field.field).or_insert_with(|| {
                painter.ctx().load_texture(format!("density {}", field.field), layer.picture(field), TextureOptions::NEAREST)
            });
            let mut mesh = Mesh::with_texture(texture.id());
            let uv = [pos2(0.0, 0.0), pos2(1.0, 0.0), pos2(1.0, 1.0), pos2(0.0, 1.0)];
            for (pos, uv) in corners.into_iter().zip(uv) {
                mesh.vertices.push(egui::epaint::Vertex { pos, uv, color: Color32::WHITE });
            }
            mesh.add_triangle(0, 1, 2);
            mesh.add_triangle(0, 2, 3);
            painter.add(Shape::mesh(mesh));
        }
    }
}
