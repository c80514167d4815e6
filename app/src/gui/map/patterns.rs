//! Hatching and stipple as small pictures that repeat: one mesh for all fields with a pattern, however many lines that is.

use std::f32::consts::SQRT_2;

use egui::{Color32, ColorImage, Mesh, Pos2, TextureHandle, TextureOptions, TextureWrapMode, pos2};

use super::classes::Over;

/// A pattern: its picture and the distance after which it repeats, points.
struct Pattern {
    texture: TextureHandle,
    period: f32,
}

/// The pictures of the patterns, made for a number of pixels to the point.
#[derive(Default)]
pub struct Patterns {
    pixels: f32,
    made: Vec<(Over, Pattern)>,
}

/// Times finer than the screen that a picture is worked out before it is averaged.
const FINER: usize = 4;

impl Patterns {
    /// Brings the pictures up to the screen's resolution.
    pub fn refresh(&mut self, ctx: &egui::Context) {
        let pixels = ctx.pixels_per_point();
        if self.pixels == pixels {
            return;
        }
        self.pixels = pixels;
        self.made.clear();
        // Distance between lines and their width; distance between dots and their side, points.
        let rows = (0..5).map(|number| (Over::Rows(number), Over::row_spacing(number), 0.9));
        let others = [(Over::Stipple, 6.0, 1.6), (Over::Hatch, 8.0, 0.9), (Over::Unknown, 14.0, 1.1)];
        for (over, spacing, width) in others.into_iter().chain(rows) {
            let (lines, level) = (over != Over::Stipple, matches!(over, Over::Rows(_)));
            // Diagonal lines repeat sideways after their distance times the square root of 2, dots in every second row.
            let period = match (lines, level) {
                (_, true) => spacing,
                (true, _) => spacing * SQRT_2,
                _ => 2.0 * spacing,
            };
            let side = (period * pixels).round().max(4.0) as usize;
            let inside = |x: f32, y: f32| {
                if level {
                    (y - width / 2.0).abs() <= width / 2.0
                } else if lines {
                    let along = (x + y).rem_euclid(period) / SQRT_2;
                    along.min(spacing - along) <= width / 2.0
                } else {
                    let off = |at: f32, middle: f32| {
                        let away = (at - middle).rem_euclid(period);
                        away.min(period - away)
                    };
                    let dot = |at_x: f32, at_y: f32| off(x, at_x).max(off(y, at_y)) <= width / 2.0;
                    let (near, far) = (spacing / 2.0, 1.5 * spacing);
                    dot(near, near) || dot(far, near) || dot(near + spacing / 2.0, far) || dot(far + spacing / 2.0, far)
                }
            };
            let texture = ctx.load_texture(
                format!("pattern {over:?}"),
                picture(side, period, inside),
                TextureOptions { wrap_mode: TextureWrapMode::Repeat, ..TextureOptions::LINEAR },
            );
            self.made.push((over, Pattern { texture, period }));
        }
    }

    /// Meshes to fill with what carries each pattern.
    pub fn meshes(&self) -> Vec<PatternMesh> {
        let one = |(over, pattern): &(Over, Pattern)| PatternMesh {
            over: *over,
            period: pattern.period,
            mesh: Mesh::with_texture(pattern.texture.id()),
        };
        self.made.iter().map(one).collect()
    }
}

/// What carries one pattern.
pub struct PatternMesh {
    /// Which.
    pub over: Over,
    period: f32,
    /// Triangles.
    pub mesh: Mesh,
}

impl PatternMesh {
    /// Adds a corner; the pattern lies still relative to `phase`.
    pub fn vertex(&mut self, pos: Pos2, phase: Pos2, colour: Color32) {
        let uv = pos2((pos.x - phase.x) / self.period, (pos.y - phase.y) / self.period);
        self.mesh.vertices.push(egui::epaint::Vertex { pos, uv, color: colour });
    }
}

/// White where it is inside, by the share of each pixel that is.
fn picture(side: usize, period: f32, inside: impl Fn(f32, f32) -> bool) -> ColorImage {
    let step = period / (side * FINER) as f32;
    let mut pixels = Vec::with_capacity(side * side);
    for row in 0..side {
        for column in 0..side {
            let mut hits = 0_usize;
            for y in 0..FINER {
                for x in 0..FINER {
                    let at = |cell: usize, part: usize| ((cell * FINER + part) as f32 + 0.5) * step;
                    hits += usize::from(inside(at(column, x), at(row, y)));
                }
            }
            let alpha = (hits * 255 / (FINER * FINER)) as u8;
            pixels.push(Color32::from_white_alpha(alpha));
        }
    }
    ColorImage::new([side, side], pixels)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pattern_covers_its_share_of_the_ground_whatever_the_resolution() {
        // Lines of width w at distance d cover w/d of the ground.
        let (spacing, width) = (8.0_f32, 0.9_f32);
        let period = spacing * SQRT_2;
        for side in [11, 17, 23] {
            let image = picture(side, period, |x, y| {
                let along = (x + y).rem_euclid(period) / SQRT_2;
                along.min(spacing - along) <= width / 2.0
            });
            let covered: f32 = image.pixels.iter().map(|pixel| f32::from(pixel.a()) / 255.0).sum();
            let share = covered / (side * side) as f32;
            assert!((share - width / spacing).abs() < 0.02, "{side}: {share}");
        }
    }
}
