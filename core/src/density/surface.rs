//! The density surface of one field, from the surveys that speak of it.

use std::collections::BTreeMap;

use geo::{AffineTransform, BoundingRect as _, Contains as _, Coord, MultiPolygon, Point};
use rstar::primitives::GeomWithData;
use rstar::{AABB, RTree};

use crate::crs::LocalPlane;
use crate::density::{Grid, Interpolator, bandwidth, choose, kernel_density, raster, zones};
use crate::geometry;
use crate::model::{
    Combine, DensityClass, DensitySettings, DensityUnit, Field, Records, ScoutPoint, Survey, SurveyId, SurveyKind,
};
use crate::units::count;

/// Points up to this far outside the field still say something of its edge, m.
const REACH_M: f64 = 50.0;

/// How a surface was made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SurfaceMethod {
    /// Ordinary kriging of points.
    Kriging,
    /// Inverse distance weighting of points.
    InverseDistance,
    /// Kernel density of bare places.
    Kernel,
    /// Zones, weighted by area.
    Zones,
    /// Pixels, weighted by area.
    Raster,
    /// The mean or the maximum of several surveys.
    Combined,
    /// Nothing was scouted: the same density everywhere.
    Even,
}

impl SurfaceMethod {
    /// The word used on the command line.
    pub fn label(self) -> &'static str {
        match self {
            Self::Kriging => "kriging",
            Self::InverseDistance => "inverse-distance",
            Self::Kernel => "kernel",
            Self::Zones => "zones",
            Self::Raster => "raster",
            Self::Combined => "combined",
            Self::Even => "even",
        }
    }
}

/// Density over one field.
#[derive(Debug)]
pub struct Surface {
    /// The plane of the grid.
    pub plane: LocalPlane,
    /// Density at cells; NaN outside the field.
    pub grid: Grid,
    /// Unit of the density; [`DensityUnit::Class`] never.
    pub unit: DensityUnit,
    /// How it was made.
    pub method: SurfaceMethod,
    /// What it was made from, in words: "42 points of 12 June 2026".
    pub source: String,
    /// Why it was made so, one sentence; empty where there was nothing to choose.
    pub reason: String,
    /// Standard error of the density at each cell, in its unit; none where the method gives none.
    pub uncertainty: Option<Vec<f64>>,
}

impl Surface {
    /// The surface of the standard errors; none where the method gives none.
    pub fn of_uncertainty(self) -> Option<Self> {
        let values = self.uncertainty?;
        Some(Self { grid: Grid { values, ..self.grid }, uncertainty: None, ..self })
    }
}

/// What one survey says of a field.
struct Made {
    values: Vec<f64>,
    uncertainty: Option<Vec<f64>>,
    method: SurfaceMethod,
    source: String,
    reason: String,
}

/// The direction that the grid of a field follows, degrees clockwise from north: that of its first tramlines, else of its
/// longest edge.
pub fn field_bearing(records: &Records, field: &Field, boundary_m: &MultiPolygon<f64>) -> f64 {
    let lines = records.tramlines_of(field.id).next().map(|lines| lines.bearing_deg).filter(|bearing| bearing.is_finite());
    lines.or_else(|| geometry::longest_edge(boundary_m).map(|edge| geometry::bearing_of(&edge))).unwrap_or(0.0)
}

/// The points of surveys by place, for the surfaces of many fields.
#[derive(Debug, Default)]
pub struct PointIndex(BTreeMap<SurveyId, RTree<GeomWithData<[f64; 2], usize>>>);

impl PointIndex {
    /// The points of all surveys.
    pub fn of(records: &Records) -> Self {
        let leaf = |(number, point): (usize, &ScoutPoint)| GeomWithData::new([point.position.x, point.position.y], number);
        let tree = |survey: &Survey| RTree::bulk_load(survey.points.iter().enumerate().map(leaf).collect());
        let pointed = records.surveys.values().filter(|survey| !survey.points.is_empty());
        Self(pointed.map(|survey| (survey.id, tree(survey))).collect())
    }
}

/// The density surface of a field from the surveys up to harvest `year` that cover it; where there is none, an even one of 1.
/// None if the field has no usable shape or `cell_m` is no length.
pub fn surface(records: &Records, field: &Field, year: i32, cell_m: f64) -> Option<Surface> {
    surface_among(records, &PointIndex::default(), field, year, cell_m)
}

/// As [`surface`], with the points of the same records by place.
pub fn surface_among(records: &Records, index: &PointIndex, field: &Field, year: i32, cell_m: f64) -> Option<Surface> {
    let settings = &records.settings.density;
    let plane = LocalPlane::over(&field.boundary)?;
    let boundary = plane.to_metres(&field.boundary);
    let grid = Grid::over(&boundary, cell_m, field_bearing(records, field, &boundary))?;
    let mut surveys: Vec<&Survey> =
        records.surveys.values().map(|survey| &**survey).filter(|survey| survey.harvest_year() <= year).collect();
    surveys.sort_by_key(|survey| std::cmp::Reverse((survey.date, survey.id)));
    let scene = Scene { field, plane: &plane, boundary: &boundary, grid: &grid, settings, index };
    let mut saying = surveys.iter().filter_map(|survey| scene.of_survey(survey).map(|made| (made, survey.unit)));
    let Some((latest, unit)) = saying.next() else {
        let values = grid.values.iter().map(|value| if value.is_nan() { f64::NAN } else { 1.0 }).collect();
        return Some(Surface {
            plane,
            grid: Grid { values, ..grid },
            unit: DensityUnit::HeadsPerM2,
            method: SurfaceMethod::Even,
            source: "not scouted; taken as even".to_owned(),
            reason: String::new(),
            uncertainty: None,
        });
    };
    let unit = unit.surface_unit();
    let made = if settings.combine == Combine::Latest {
        latest
    } else {
        let first = year - DensitySettings::YEARS;
        let recent = surveys.iter().filter(|survey| survey.harvest_year() > first && survey.unit.surface_unit() == unit);
        combined(&recent.filter_map(|survey| scene.of_survey(survey)).collect::<Vec<_>>(), settings.combine)
            .unwrap_or(latest)
    };
    Some(Surface {
        plane,
        grid: Grid { values: made.values, ..grid },
        unit,
        method: made.method,
        source: made.source,
        reason: made.reason,
        uncertainty: made.uncertainty,
    })
}

fn plain(values: Vec<f64>, method: SurfaceMethod, source: String) -> Made {
    Made { values, uncertainty: None, method, source, reason: String::new() }
}

/// Several surfaces in one; none if there are fewer than two.
fn combined(parts: &[Made], how: Combine) -> Option<Made> {
    if parts.len() < 2 {
        return None;
    }
    let first = parts.first()?;
    let at = |cell: usize| parts.iter().map(move |part| part.values[cell]);
    let values = (0..first.values.len())
        .map(|cell| match how {
            Combine::Maximum => at(cell).fold(f64::NAN, f64::max),
            _ => at(cell).sum::<f64>() / parts.len() as f64,
        })
        .collect();
    let word = if how == Combine::Maximum { "maximum" } else { "mean" };
    let sources: Vec<&str> = parts.iter().map(|part| part.source.as_str()).collect();
    Some(Made {
        values,
        uncertainty: None,
        method: SurfaceMethod::Combined,
        source: format!("{word} of {}", sources.join(" and ")),
        reason: format!("The {word} of {} of the last {} harvests.", count(parts.len(), "survey"), DensitySettings::YEARS),
    })
}

/// A field with its grid.
struct Scene<'a> {
    field: &'a Field,
    plane: &'a LocalPlane,
    boundary: &'a MultiPolygon<f64>,
    grid: &'a Grid,
    settings: &'a DensitySettings,
    index: &'a PointIndex,
}

impl Scene<'_> {
    /// What a survey says of the field; none if nothing.
    fn of_survey(&self, survey: &Survey) -> Option<Made> {
        let day = survey.date.strftime("%-d %B %Y");
        match survey.kind {
            SurveyKind::Points => {
                let points = self.points_near(survey);
                let inside = self.inside(&points);
                let beside = points.len() - inside;
                let beside = if beside == 0 { String::new() } else { format!(" and {beside} near its edge") };
                (inside > 0).then(|| self.of_points(&points, format!("{}{beside} of {day}", count(inside, "point"))))
            }
            SurveyKind::Places => {
                let points = self.points_near(survey);
                let inside = self.inside(&points);
                (inside > 0).then(|| self.of_places(&points, format!("{} of {day}", count(inside, "place"))))
            }
            SurveyKind::Zones => {
                let (values, zones) =
                    zones::by_area(survey, self.field, self.plane, self.grid, |value| density_of(survey.unit, value))?;
                Some(plain(values, SurfaceMethod::Zones, format!("{} of {day}", count(zones, "zone"))))
            }
            SurveyKind::Raster => self.of_rasters(survey, &day.to_string()),
        }
    }

    fn inside(&self, points: &[(Coord<f64>, f64)]) -> usize {
        points.iter().filter(|(at, _)| self.boundary.contains(&Point(*at))).count()
    }

    fn of_points(&self, points: &[(Coord<f64>, f64)], source: String) -> Made {
        let choice = choose(points, self.settings.between);
        let method = match choice.interpolator {
            Interpolator::Kriging { .. } => SurfaceMethod::Kriging,
            Interpolator::InverseDistance => SurfaceMethod::InverseDistance,
        };
        let (values, uncertainty) = choice.surface(self.grid);
        Made { values, uncertainty, method, source, reason: choice.reason }
    }

    fn of_places(&self, points: &[(Coord<f64>, f64)], source: String) -> Made {
        let places: Vec<Coord<f64>> = points.iter().map(|(at, _)| *at).collect();
        let width = self.settings.bandwidth_m.unwrap_or_else(|| bandwidth(&places));
        let values = kernel_density(self.grid, &places, width);
        let reason = format!("Places without values: kernel density, bandwidth {width:.0} m.");
        Made { reason, ..plain(values, SurfaceMethod::Kernel, source) }
    }

    /// Pixels of the pieces over the field, each cell the mean of what it covers; ground without data holds none.
    fn of_rasters(&self, survey: &Survey, day: &str) -> Option<Made> {
        let mut values: Vec<f64> = self.grid.values.iter().map(|held| if held.is_nan() { f64::NAN } else { 0.0 }).collect();
        let mut covered = 0;
        for piece in &survey.rasters {
            let [origin, right, down] = piece.corners.map(|corner| self.plane.metres(corner));
            let (columns, rows) = (piece.columns as f64, piece.rows() as f64);
            let (across, along) = ((right - origin) / columns, (down - origin) / rows);
            let to_metres = AffineTransform::new(across.x, along.x, origin.x, across.y, along.y, origin.y);
            let Some(to_pixel) = to_metres.inverse() else { continue };
            let density = |value: &f32| {
                if *value < 0.0 { f64::NAN } else { density_of(survey.unit, f64::from(*value)) }
            };
            let pixels: Vec<f64> = piece.values.iter().map(density).collect();
            for (index, value) in values.iter_mut().enumerate().filter(|(_, value)| !value.is_nan()) {
                let cell = self.grid.corners(index % self.grid.columns, index / self.grid.columns);
                if let Some((mean, share)) = raster::mean_over(&pixels, piece.columns, piece.rows(), &to_pixel, cell) {
                    *value += mean * share;
                    covered += 1;
                }
            }
        }
        (covered > 0).then(|| plain(values, SurfaceMethod::Raster, format!("the raster of {day}")))
    }

    /// Points of a survey in or near the field: metres, density; in an order that does not depend on the file's.
    fn points_near(&self, survey: &Survey) -> Vec<(Coord<f64>, f64)> {
        let Some(rect) = self.field.boundary.bounding_rect() else { return Vec::new() };
        // A degree of latitude is about 111 km long, one of longitude shorter by the cosine.
        let reach_y = REACH_M / 111_000.0;
        let reach_x = reach_y / rect.center().y.to_radians().cos().max(0.01);
        let (low, high) =
            ([rect.min().x - reach_x, rect.min().y - reach_y], [rect.max().x + reach_x, rect.max().y + reach_y]);
        let near = |at: Coord<f64>| at.x >= low[0] && at.x <= high[0] && at.y >= low[1] && at.y <= high[1];
        let around: Vec<&ScoutPoint> = match self.index.0.get(&survey.id) {
            Some(tree) => {
                let found = tree.locate_in_envelope(&AABB::from_corners(low, high));
                found.filter_map(|leaf| survey.points.get(leaf.data)).collect()
            }
            None => survey.points.iter().filter(|point| near(point.position)).collect(),
        };
        let mut list: Vec<(Coord<f64>, f64)> = around
            .into_iter()
            .map(|point| (self.plane.metres(point.position), density_of(survey.unit, point.value)))
            .filter(|(at, _)| geo::Distance::distance(&geo::Euclidean, self.boundary, &Point(*at)) <= REACH_M)
            .collect();
        list.sort_by(|a, b| a.0.x.total_cmp(&b.0.x).then(a.0.y.total_cmp(&b.0.y)).then(a.1.total_cmp(&b.1)));
        list
    }
}

/// A scouting value as a density in the surface's unit.
fn density_of(unit: DensityUnit, value: f64) -> f64 {
    match unit {
        DensityUnit::Class => DensityClass::from_number(value).map_or(0.0, DensityClass::plants_per_m2),
        _ => value,
    }
}
