//! Patches: connected ground above a density limit.

use geo::{Coord, MultiPolygon, Polygon, Rect, unary_union};

use crate::density::{Grid, Surface, SurfaceMethod};
use crate::model::Patch;

/// Smaller patches are left out, m2 (four cells of 5 m; our choice, no source).
pub const SMALLEST_PATCH_M2: f64 = 100.0;

/// The limit used when the user sets none: a tenth of the greatest density (our choice, no source).
pub fn default_limit(surface: &Surface) -> f64 {
    0.1 * surface.grid.cells().map(|(_, value)| value).fold(0.0, f64::max)
}

/// Patches at or above a limit, the most populous first. Cells are connected by their sides. An even surface has none.
pub fn patches(surface: &Surface, limit: Option<f64>) -> Vec<Patch> {
    let limit = limit.unwrap_or_else(|| default_limit(surface));
    if surface.method == SurfaceMethod::Even || limit <= 0.0 {
        return Vec::new();
    }
    let grid = &surface.grid;
    let cell_m2 = grid.cell_m * grid.cell_m;
    let population: f64 = grid.cells().map(|(_, value)| value).sum();
    let mut list: Vec<Patch> = connected(grid, limit)
        .into_iter()
        .filter(|cells| cells.len() as f64 * cell_m2 >= SMALLEST_PATCH_M2)
        .map(|cells| {
            let sum: f64 = cells.iter().filter_map(|index| grid.values.get(*index)).sum();
            Patch {
                outline: surface.plane.to_degrees(&outline(grid, &cells)),
                area_m2: cells.len() as f64 * cell_m2,
                mean_density: sum / cells.len() as f64,
                population_share: sum / population,
            }
        })
        .collect();
    list.sort_by(|a, b| b.population_share.total_cmp(&a.population_share));
    list
}

/// Groups of connected cells at or above the limit, as indices in order.
fn connected(grid: &Grid, limit: f64) -> Vec<Vec<usize>> {
    let above = |index: usize| grid.values.get(index).is_some_and(|value| *value >= limit);
    let mut seen = vec![false; grid.values.len()];
    let mut groups = Vec::new();
    for start in 0..grid.values.len() {
        if seen[start] || !above(start) {
            continue;
        }
        seen[start] = true;
        let mut group = vec![start];
        let mut next = 0;
        while let Some(&index) = group.get(next) {
            next += 1;
            let (column, row) = (index % grid.columns, index / grid.columns);
            let neighbours = [
                (column > 0).then(|| index - 1),
                (column + 1 < grid.columns).then(|| index + 1),
                (row > 0).then(|| index - grid.columns),
                (row + 1 < grid.rows).then(|| index + grid.columns),
            ];
            for neighbour in neighbours.into_iter().flatten() {
                if !seen[neighbour] && above(neighbour) {
                    seen[neighbour] = true;
                    group.push(neighbour);
                }
            }
        }
        group.sort_unstable();
        groups.push(group);
    }
    groups
}

/// The outline of cells: their runs along each row, joined.
fn outline(grid: &Grid, cells: &[usize]) -> MultiPolygon<f64> {
    let mut runs: Vec<Polygon<f64>> = Vec::new();
    let mut at = 0;
    while let Some(&first) = cells.get(at) {
        let row = first / grid.columns;
        let mut length = 1;
        while cells.get(at + length).is_some_and(|index| *index == first + length && index / grid.columns == row) {
            length += 1;
        }
        let corner = |column: usize, row: usize| Coord {
            x: grid.origin.x + column as f64 * grid.cell_m,
            y: grid.origin.y + row as f64 * grid.cell_m,
        };
        let column = first % grid.columns;
        runs.push(Rect::new(corner(column, row), corner(column + length, row + 1)).to_polygon());
        at += length;
    }
    unary_union(&runs)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::crs::LocalPlane;
    use crate::model::DensityUnit;
    use geo::Area as _;

    fn surface(values: &[f64], columns: usize) -> Surface {
        Surface {
            plane: LocalPlane::at(Coord { x: -0.4, y: 52.6 }).unwrap(),
            grid: Grid {
                origin: Coord { x: 0.0, y: 0.0 },
                cell_m: 10.0,
                columns,
                rows: values.len() / columns,
                values: values.to_vec(),
            },
            unit: DensityUnit::HeadsPerM2,
            method: SurfaceMethod::InverseDistance,
            source: String::new(),
        }
    }

    #[test]
    fn connected_cells_make_patches_with_their_share() {
        #[rustfmt::skip]
        let held = surface(&[
            9.0, 9.0, 0.0, 5.0,
            9.0, 0.0, 0.0, 5.0,
            0.0, 1.0, f64::NAN, 0.0,
        ], 4);
        let found = patches(&held, Some(1.0));
        let areas: Vec<f64> = found.iter().map(|patch| patch.area_m2).collect();
        assert_eq!(areas, [300.0, 200.0, 100.0]);
        assert!((found[0].population_share - 27.0 / 38.0).abs() < 1e-12);
        assert!((found[1].mean_density - 5.0).abs() < 1e-12);
        let outline = held.plane.to_metres(&found[0].outline).unsigned_area();
        assert!((outline - 300.0).abs() < 1e-3, "{outline}");
        assert!(patches(&held, Some(20.0)).is_empty());
    }

    #[test]
    fn a_ring_of_cells_has_a_hole() {
        let found = patches(&surface(&[4.0, 4.0, 4.0, 4.0, 0.0, 4.0, 4.0, 4.0, 4.0], 3), None);
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].outline.0[0].interiors().len(), 1);
    }
}
