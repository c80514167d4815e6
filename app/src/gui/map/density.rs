//! The density surface as one small picture for each field, a cell to a pixel.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

use awn_core::crs::LocalPlane;
use awn_core::density::{Grid, PointIndex, Surface, SurfaceMethod, surface_among};
use awn_core::model::{DensityClass, DensityUnit, Field, FieldId, Records};
use awn_core::progress::Progress;
use egui::{Color32, ColorImage, Mesh, Painter, Rect, Shape, TextureHandle, TextureOptions, pos2};
use geo::Coord;
use rayon::prelude::*;

use super::mercator::{Screen, world};
use super::scouting::figure;
use crate::gui::style::{self, DENSITY};

/// Side of a cell, m.
const CELL_M: f64 = 5.0;

/// Fields smaller than this get one colour, points.
const SPECK: f32 = 20.0;

/// A value as the map keeps it: the upper half of a number in single precision, good to 0.4 %, because ten thousand fields have
/// forty million cells.
fn packed(value: f64) -> u16 {
    let bits = (value as f32).to_bits();
    if value.is_nan() { (f32::NAN.to_bits() >> 16) as u16 } else { (bits.saturating_add(0x8000) >> 16) as u16 }
}

fn unpacked(value: u16) -> f64 {
    f64::from(f32::from_bits(u32::from(value) << 16))
}

/// The surface of one field, ready to draw.
#[derive(Debug)]
pub struct FieldDensity {
    /// The field.
    pub field: FieldId,
    plane: LocalPlane,
    /// How the cells lie; it holds no values.
    grid: Grid,
    /// Values of the cells, packed.
    values: Vec<u16>,
    /// Unit of the density.
    pub unit: DensityUnit,
    /// How it was made.
    pub method: SurfaceMethod,
    /// What it was made from, in words.
    pub source: String,
    /// Why it was made so.
    pub reason: String,
    /// Mean of the standard errors; none where the method gives none.
    pub mean_error: Option<f64>,
    /// Mean over the field.
    pub mean: f64,
    /// Greatest value.
    pub greatest: f64,
    corners: [Coord<f64>; 4],
}

impl FieldDensity {
    /// The value of a cell; none outside the field.
    fn value(&self, column: usize, row: usize) -> Option<f64> {
        let value = self.values.get(row * self.grid.columns + column).copied().map(unpacked);
        value.filter(|value| !value.is_nan())
    }

    /// The value at a position in degrees; none outside the field.
    pub fn value_at(&self, at: Coord<f64>) -> Option<f64> {
        let (column, row) = self.grid.cell_at(self.plane.metres(at))?;
        self.value(column, row)
    }
}

/// The surfaces of all fields of a harvest year.
#[derive(Debug, Default)]
pub struct DensityLayer {
    /// By field; fields of which nothing is known are left out.
    pub fields: BTreeMap<FieldId, FieldDensity>,
    /// In how many fields each class occurs, and its land in m2, lowest first.
    pub land: [(usize, f64); 5],
    /// Units of the surfaces: one, or two when the fields were scouted in different ways.
    pub units: Vec<DensityUnit>,
    /// These are standard errors, not densities.
    pub error: bool,
    /// To tell pictures of one layer from those of the next.
    pub number: u64,
}

impl DensityLayer {
    /// Works out the surfaces of a harvest year.
    /// With `error`, their standard errors in the same unit.
    pub fn of(records: &Records, year: i32, number: u64, error: bool, progress: &dyn Progress) -> Self {
        let list = records.fields_in(year);
        let index = PointIndex::of(records);
        let done = AtomicUsize::new(0);
        let one = |field: &Arc<Field>| {
            if progress.cancelled() {
                return None;
            }
            let known = field_density(records, &index, field, year, error);
            progress.step(done.fetch_add(1, Ordering::Relaxed) + 1, list.len());
            known
        };
        let found: Vec<Option<FieldDensity>> = list.par_iter().map(one).collect();
        let mut layer = Self { error, number, ..Self::default() };
        for known in found.into_iter().flatten() {
            if !layer.units.contains(&known.unit) {
                layer.units.push(known.unit);
            }
            layer.fields.insert(known.field, known);
        }
        layer.count_land();
        layer
    }

    /// The legend's title: the units.
    pub fn title(&self) -> String {
        let units: Vec<_> = self.units.iter().map(|unit| unit.label()).collect();
        let what = if self.error { "Standard error of the density" } else { "Density" };
        format!("{what}, {}", units.join(" or "))
    }

    /// The legend's lines, thickest first: colour, what it means in each unit, in how many fields it occurs, its land in m2.
    pub fn classes(&self) -> Vec<(Color32, String, usize, f64)> {
        let line = |class: usize| {
            let words: Vec<_> = self.units.iter().map(|unit| class_words(class, limits(*unit))).collect();
            let (fields, area_m2) = self.land[class];
            let text = if class == 0 { "next to none".to_owned() } else { words.join(" or ") };
            (DENSITY[class], text, fields, area_m2)
        };
        (0..5).rev().map(line).collect()
    }

    /// The class of a field's mean, as it stands on the field; none if it was not scouted.
    pub fn class_of_mean(&self, field: FieldId) -> Option<usize> {
        self.fields.get(&field).map(|known| class_of(known.mean, known.unit))
    }

    /// In how many fields each class occurs, and on how much land.
    fn count_land(&mut self) {
        let mut land = [(0, 0.0); 5];
        for field in self.fields.values() {
            let mut here = [0.0; 5];
            for value in field.values.iter().copied().map(unpacked).filter(|value| !value.is_nan()) {
                here[class_of(value, field.unit)] += field.grid.cell_m.powi(2);
            }
            for (sum, area_m2) in land.iter_mut().zip(here).filter(|(_, area_m2)| *area_m2 > 0.0) {
                sum.0 += 1;
                sum.1 += area_m2;
            }
        }
        self.land = land;
    }

    fn picture(field: &FieldDensity) -> ColorImage {
        let grid = &field.grid;
        let rows = (0..grid.rows).rev();
        let pixels = rows.flat_map(|row| {
            (0..grid.columns).map(move |column| {
                field.value(column, row).map_or(style::NONE, |value| DENSITY[class_of(value, field.unit)])
            })
        });
        ColorImage::new([grid.columns, grid.rows], pixels.collect())
    }
}

/// The surface of a field; none if nothing was scouted there.
fn field_density(records: &Records, index: &PointIndex, field: &Field, year: i32, error: bool) -> Option<FieldDensity> {
    let surface = surface_among(records, index, field, year, CELL_M);
    let surface = surface.filter(|surface| surface.method != SurfaceMethod::Even)?;
    let mean_of = |values: &[f64]| {
        let known = || values.iter().copied().filter(|value| !value.is_nan());
        let cells = known().count();
        (cells > 0).then(|| known().sum::<f64>() / cells as f64)
    };
    let mean_error = surface.uncertainty.as_deref().and_then(mean_of);
    let surface = if error { surface.of_uncertainty()? } else { surface };
    let Surface { plane, mut grid, unit, method, source, reason, .. } = surface;
    let held = std::mem::take(&mut grid.values);
    let mean = mean_of(&held)?;
    let greatest = held.iter().copied().filter(|value| !value.is_nan()).fold(0.0, f64::max);
    let (w, h) = (grid.columns as f64, grid.rows as f64);
    let corner = |column: f64, row: f64| world(plane.degrees(grid.place(column, row)));
    let corners = [corner(0.0, h), corner(w, h), corner(w, 0.0), corner(0.0, 0.0)];
    let values = held.into_iter().map(packed).collect();
    let mean_error = mean_error.filter(|_| !error);
    Some(FieldDensity {
        field: field.id,
        plane,
        grid,
        values,
        unit,
        method,
        source,
        reason,
        mean_error,
        mean,
        greatest,
        corners,
    })
}

/// Upper limits of the first four classes in heads/m2, the same as on printed maps. Published limits are in plants/m2; these
/// are ours, no source.
const HEADS_UPPER: [f64; 4] = [0.05, 1.0, 10.0, 50.0];

/// Upper limits of the first four classes. Published for plants/m2 ([`DensityClass`]); a surface is nowhere quite nought, so
/// next to nothing counts as none.
fn limits(unit: DensityUnit) -> [f64; 4] {
    if unit == DensityUnit::HeadsPerM2 {
        return HEADS_UPPER;
    }
    let [_, low, medium, high] = DensityClass::UPPER_PER_M2;
    [0.005, low, medium, high]
}

/// The class of a density, 0 to 4.
fn class_of(value: f64, unit: DensityUnit) -> usize {
    limits(unit).iter().filter(|limit| value > **limit + 1e-9).count()
}

/// A class between its limits in words.
fn class_words(class: usize, limits: [f64; 4]) -> String {
    let limit = |at: usize| figure(limits[at]);
    match class {
        0 | 1 => format!("up to {}", limit(class)),
        4 => format!("over {}", limit(3)),
        class => format!("{} to {}", limit(class - 1), limit(class)),
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
        let mut specks = Mesh::default();
        for field in layer.fields.values() {
            let corners = field.corners.map(|corner| screen.pos_from_world(corner));
            let bounds = Rect::from_points(&corners);
            if !bounds.intersects(screen.rect) {
                continue;
            }
            if bounds.size().max_elem() < SPECK {
                // From so far away a field is one colour: that of its mean, without a picture of its own.
                let colour = DENSITY[class_of(field.mean, field.unit)];
                let first = specks.vertices.len() as u32;
                for pos in corners {
                    specks.colored_vertex(pos, colour);
                }
                specks.add_triangle(first, first + 1, first + 2);
                specks.add_triangle(first, first + 2, first + 3);
                continue;
            }
            let texture = self.made.entry(field.field).or_insert_with(|| {
                painter.ctx().load_texture(
                    format!("density {}", field.field),
                    DensityLayer::picture(field),
                    TextureOptions::NEAREST,
                )
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
        painter.add(Shape::mesh(specks));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn packed_values_are_good_to_four_in_a_thousand_and_nothing_stays_nothing() {
        for value in [0.0, 0.05, 1.0, 10.0, 50.0] {
            let again = unpacked(packed(value));
            assert!((again - value).abs() <= 0.004 * value, "{value} {again}");
        }
        for step in 0..4000 {
            let value = 0.003 * 1.004_f64.powi(step);
            assert!((unpacked(packed(value)) / value - 1.0).abs() < 0.004, "{value}");
        }
        assert!(unpacked(packed(f64::NAN)).is_nan());
    }
}
