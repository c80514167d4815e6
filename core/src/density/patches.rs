//! Patches: connected ground above a density limit, and groups of patches that lie near each other.
//!
//! The limit is a density, or follows from a share of the population: the densest ground that holds it. Cells are connected by
//! their sides. Outlines are those of the cells with the steps taken off (Chaikin 1974); areas and shares are counted in cells.

use geo::{
    ChaikinSmoothing as _, Coord, Densify as _, Distance as _, Euclidean, MapCoords as _, MultiPolygon, Polygon, Rect,
    Simplify as _, unary_union,
};
use petgraph::unionfind::UnionFind;

use crate::density::{Grid, Surface, SurfaceMethod};
use crate::model::{Patch, PlanSettings};

/// Bends of less than this part of a cell are steps between cells.
const STEPS: f64 = 0.75;
/// Longest side whose corners are cut, in cells.
const SIDE: f64 = 2.0;
/// Rounds of cutting corners.
const SMOOTHINGS: usize = 2;

/// What makes a patch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PatchRule {
    /// Least density, in the surface's unit; none: by share, or a tenth of the greatest density (our choice, no source).
    pub limit: Option<f64>,
    /// The densest ground that holds this share of the population, 0 to 1.
    pub share: Option<f64>,
    /// Smaller patches are left out, m2 (100 m2, four cells of 5 m, unless set: our choice, no source).
    pub min_m2: f64,
    /// Patches nearer than this to each other make one group, m.
    pub group_gap_m: f64,
}

impl Default for PatchRule {
    fn default() -> Self {
        Self::from(&PlanSettings::default())
    }
}

impl From<&PlanSettings> for PatchRule {
    fn from(settings: &PlanSettings) -> Self {
        Self {
            limit: settings.patch_limit,
            share: settings.patch_share,
            min_m2: settings.patch_min_m2,
            group_gap_m: settings.group_gap_m,
        }
    }
}

/// Patches of a surface, and to which each cell belongs.
#[derive(Debug, Clone, Default)]
pub struct Patches {
    /// The most populous first.
    pub list: Vec<Patch>,
    /// Least density of a patch, in the surface's unit.
    pub limit: f64,
    /// For each cell of the grid the index of its patch.
    pub of_cell: Vec<Option<usize>>,
}

/// Least density of a patch by a rule.
fn limit_of(surface: &Surface, rule: &PatchRule) -> f64 {
    let greatest = surface.grid.cells().map(|(_, value)| value).fold(0.0, f64::max);
    match (rule.limit, rule.share) {
        (Some(limit), _) => limit,
        (None, Some(share)) => {
            let mut values: Vec<f64> = surface.grid.cells().map(|(_, value)| value).collect();
            values.sort_by(|a, b| b.total_cmp(a));
            let wanted = share.clamp(0.0, 1.0) * values.iter().sum::<f64>();
            let mut held = 0.0;
            let reached = values.into_iter().find(|value| {
                held += value;
                held >= wanted * (1.0 - 1e-12)
            });
            reached.unwrap_or(0.0)
        }
        (None, None) => 0.1 * greatest,
    }
}

/// The patches of a surface. An even surface has none.
pub fn patches(surface: &Surface, rule: &PatchRule) -> Patches {
    let limit = limit_of(surface, rule);
    let grid = &surface.grid;
    let mut found = Patches { list: Vec::new(), limit, of_cell: vec![None; grid.values.len()] };
    if surface.method == SurfaceMethod::Even || limit.is_nan() || limit <= 0.0 {
        return found;
    }
    let cell_m2 = grid.cell_m * grid.cell_m;
    let population: f64 = grid.cells().map(|(_, value)| value).sum();
    let mut list: Vec<(Patch, MultiPolygon<f64>, Vec<usize>)> = connected(grid, limit)
        .into_iter()
        .filter(|cells| cells.len() as f64 * cell_m2 >= rule.min_m2)
        .map(|cells| {
            let values = || cells.iter().filter_map(|index| grid.values.get(*index));
            let sum: f64 = values().sum();
            let outline = outline(grid, &cells);
            let patch = Patch {
                outline: surface.plane.to_degrees(&outline),
                area_m2: cells.len() as f64 * cell_m2,
                mean_density: sum / cells.len() as f64,
                population_share: sum / population,
                greatest_density: values().copied().fold(0.0, f64::max),
                group: 1,
            };
            (patch, outline, cells)
        })
        .collect();
    list.sort_by(|a, b| b.0.population_share.total_cmp(&a.0.population_share));
    let outlines: Vec<MultiPolygon<f64>> = list.iter().map(|(_, outline, _)| outline.clone()).collect();
    let groups = groups(&outlines, rule.group_gap_m);
    for (number, ((mut patch, _, cells), group)) in list.into_iter().zip(groups).enumerate() {
        for cell in cells {
            found.of_cell[cell] = Some(number);
        }
        patch.group = group;
        found.list.push(patch);
    }
    found
}

/// The group of each shape, numbered from 1 in the order in which they first occur: shapes nearer than `gap_m` are in one.
fn groups(shapes: &[MultiPolygon<f64>], gap_m: f64) -> Vec<usize> {
    let mut together = UnionFind::new(shapes.len());
    let bounds: Vec<_> = shapes.iter().map(geo::BoundingRect::bounding_rect).collect();
    for (a, one) in shapes.iter().enumerate() {
        for (b, other) in shapes.iter().enumerate().skip(a + 1) {
            let (Some(x), Some(y)) = (bounds[a], bounds[b]) else { continue };
            if Euclidean.distance(&x, &y) < gap_m && !together.equiv(a, b) && Euclidean.distance(one, other) < gap_m {
                together.union(a, b);
            }
        }
    }
    let mut seen: Vec<usize> = Vec::new();
    (0..shapes.len())
        .map(|shape| {
            let root = together.find(shape);
            let known = seen.iter().position(|held| *held == root);
            known.unwrap_or_else(|| {
                seen.push(root);
                seen.len() - 1
            }) + 1
        })
        .collect()
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

/// The outline of cells: their runs along each row joined, without the steps. Joined while counted in cells, where corners are
/// whole numbers and sides meet exactly, whichever way the grid is turned.
fn outline(grid: &Grid, cells: &[usize]) -> MultiPolygon<f64> {
    let mut runs: Vec<Polygon<f64>> = Vec::new();
    let mut at = 0;
    while let Some(&first) = cells.get(at) {
        let row = first / grid.columns;
        let mut length = 1;
        while cells.get(at + length).is_some_and(|index| *index == first + length && index / grid.columns == row) {
            length += 1;
        }
        let corner = |column: usize, row: usize| Coord { x: column as f64, y: row as f64 };
        let column = first % grid.columns;
        runs.push(Rect::new(corner(column, row), corner(column + length, row + 1)).to_polygon());
        at += length;
    }
    let steps: MultiPolygon<f64> = unary_union(&runs);
    // Sides are cut short first, so that only corners are rounded and long sides stay where they are.
    let smooth = Euclidean.densify(&steps.simplify(STEPS), SIDE).chaikin_smoothing(SMOOTHINGS);
    // What is no wider than a cell may vanish when its steps are taken off.
    let kept = smooth.iter().all(|part| part.exterior().0.len() > 3) && !smooth.0.is_empty();
    let shape = if kept { smooth } else { steps };
    shape.map_coords(|c| grid.place(c.x, c.y))
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
                along: Coord { x: 0.0, y: 1.0 },
                cell_m: 10.0,
                columns,
                rows: values.len() / columns,
                values: values.to_vec(),
            },
            unit: DensityUnit::HeadsPerM2,
            method: SurfaceMethod::InverseDistance,
            source: String::new(),
            reason: String::new(),
            uncertainty: None,
        }
    }

    fn above(limit: f64) -> PatchRule {
        PatchRule { limit: Some(limit), ..PatchRule::default() }
    }

    #[test]
    fn connected_cells_make_patches_with_their_share() {
        #[rustfmt::skip]
        let held = surface(&[
            9.0, 9.0, 0.0, 5.0,
            9.0, 0.0, 0.0, 5.0,
            0.0, 1.0, f64::NAN, 0.0,
        ], 4);
        let found = patches(&held, &above(1.0)).list;
        let areas: Vec<f64> = found.iter().map(|patch| patch.area_m2).collect();
        assert_eq!(areas, [300.0, 200.0, 100.0]);
        assert!((found[0].population_share - 27.0 / 38.0).abs() < 1e-12);
        assert!((found[1].mean_density - 5.0).abs() < 1e-12 && found[1].greatest_density == 5.0);
        assert!(patches(&held, &above(20.0)).list.is_empty());
        let large = PatchRule { min_m2: 250.0, ..above(1.0) };
        assert_eq!(patches(&held, &large).list.len(), 1);
    }

    #[test]
    fn a_share_of_the_population_is_the_densest_ground_that_holds_it() {
        let held = surface(&[9.0, 9.0, 0.0, 5.0, 9.0, 0.0, 0.0, 5.0], 4);
        // 27 of 37 stand on the three densest cells.
        let by_share = |share| patches(&held, &PatchRule { share: Some(share), ..PatchRule::default() });
        assert_eq!((by_share(0.7).limit, by_share(0.7).list.len()), (9.0, 1));
        assert_eq!((by_share(0.8).limit, by_share(0.8).list.len()), (5.0, 2));
    }

    #[test]
    fn near_patches_are_one_group() {
        let held = surface(&[9.0, 0.0, 9.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 9.0], 10);
        let of = |gap| {
            let rule = PatchRule { group_gap_m: gap, ..above(1.0) };
            let mut groups: Vec<usize> = patches(&held, &rule).list.iter().map(|patch| patch.group).collect();
            groups.sort_unstable();
            groups
        };
        assert_eq!(of(5.0), [1, 2, 3]);
        assert_eq!(of(40.0), [1, 1, 2]);
        assert_eq!(of(100.0), [1, 1, 1]);
    }

    #[test]
    fn smooth_outlines_keep_the_area() {
        // A disc of 30 cells across: the outline encloses its area within 2 %.
        let radius = 15.0_f64;
        let inside = |index: usize| {
            let (x, y) = ((index % 40) as f64 - 19.5, (index / 40) as f64 - 19.5);
            if x.hypot(y) < radius { 4.0 } else { 0.0 }
        };
        let values: Vec<f64> = (0..1600).map(inside).collect();
        let found = patches(&surface(&values, 40), &above(1.0)).list;
        let plane = LocalPlane::at(Coord { x: -0.4, y: 52.6 }).unwrap();
        let area = plane.to_metres(&found[0].outline).unsigned_area();
        assert!((area / found[0].area_m2 - 1.0).abs() < 0.02, "{area} {}", found[0].area_m2);
    }

    #[test]
    fn a_turned_grid_gives_whole_outlines() {
        for degrees in [0.0_f64, 12.3, 77.7, 135.0] {
            let mut held = surface(&[4.0; 400], 20);
            let (sin, cos) = degrees.to_radians().sin_cos();
            held.grid.along = Coord { x: sin, y: cos };
            let found = patches(&held, &above(1.0)).list;
            assert_eq!((found.len(), found[0].outline.0.len(), found[0].outline.0[0].interiors().len()), (1, 1, 0));
            let area = held.plane.to_metres(&found[0].outline).unsigned_area();
            assert!((area / 40_000.0 - 1.0).abs() < 0.02, "turned by {degrees}: {area}");
        }
    }

    #[test]
    fn a_ring_of_cells_has_a_hole() {
        let found = patches(&surface(&[4.0, 4.0, 4.0, 4.0, 0.0, 4.0, 4.0, 4.0, 4.0], 3), &PatchRule::default()).list;
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].outline.0[0].interiors().len(), 1);
    }
}
