//! Converting coordinates of a system to WGS 84 longitude and latitude, and back.
//!
//! The British National Grid goes through OSTN15 (crate `lonlat_bng`); everything else through PROJ with the database
//! built into the program, or through an NTv2 grid where the user's folder has one for the datum. PROJ without the OSTN15 grid would silently be up to 5 m off in Great Britain.

use std::cell::RefCell;
use std::path::Path;

use geo::{Coord, CoordsIter as _, Geometry, MapCoords as _};
use proj::Proj;
use rayon::prelude::*;

use crate::crs::Crs;
use crate::crs::grids::{self, Grid, grid_folder};
use crate::crs::stray::with_proj;
use crate::crs::system::BRITISH_GRID;

/// How coordinates were converted.
#[derive(Debug, Clone, PartialEq)]
pub struct Conversion {
    /// The method by its published name.
    pub method: String,
    /// How far a position may be off, m; none: not known.
    pub accuracy_m: Option<f64>,
}

impl std::fmt::Display for Conversion {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self.accuracy_m {
            Some(0.0) => write!(f, "{}, exact", self.method),
            Some(metres) => write!(f, "{}, {metres} m", self.method),
            None => write!(f, "{}, accuracy not known", self.method),
        }
    }
}

/// Why coordinates cannot be converted.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum CrsError {
    /// The system is not known.
    #[error("the coordinate system {0} is not known ({1})")]
    Unknown(String, String),
    /// A database of another version that PROJ would take for its own.
    #[error("another program's list of coordinate systems stands in the way: {0}; unset PROJ_DATA and PROJ_LIB")]
    Stray(String),
    /// A grid file that cannot be used.
    #[error("the grid {0} cannot be used ({1})")]
    Grid(String, String),
    /// A position outside the area for which the system is defined.
    #[error("the position {}, {} lies outside the area of {system}", shown(*x), shown(*y))]
    Outside {
        /// Easting or longitude.
        x: f64,
        /// Northing or latitude.
        y: f64,
        /// The system.
        system: String,
    },
}

/// A number of a position for people; what no map has is written short.
fn shown(number: f64) -> String {
    if number.abs() < 1e12 { number.to_string() } else { format!("{number:e}") }
}

enum Way {
    None,
    Ostn15,
    Proj(Box<Proj>),
    /// To the geographic system first, then through a grid.
    Grid(Box<Proj>, Box<Proj>, Grid),
}

/// Converts between one system and WGS 84 degrees. Costly to make, cheap to use: make one an import.
pub struct Converter {
    system: Crs,
    way: Way,
    /// Positions stand the other way round: northing or latitude first.
    turned: bool,
}

impl std::fmt::Debug for Converter {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "Converter({})", self.system.label())
    }
}

impl Converter {
    /// A converter for a system, with the grids of the folder that was named ([`set_grid_folder`](crate::crs::set_grid_folder)).
    pub fn new(system: &Crs) -> Result<Self, CrsError> {
        Self::with_grids(system, grid_folder().as_deref())
    }

    /// A converter for a system that takes a grid from a folder where that has one for its datum.
    pub fn with_grids(system: &Crs, folder: Option<&Path>) -> Result<Self, CrsError> {
        let way = match system {
            Crs::Wgs84 => Way::None,
            Crs::Epsg(BRITISH_GRID) => Way::Ostn15,
            other => {
                let unknown = |why: String| CrsError::Unknown(other.label(), why);
                if let Some(folder) = folder
                    && let Some(geographic) = grids::geographic_of(other)
                    && let Some(grid) = grids::grid_for(folder, geographic)
                {
                    let base = format!("EPSG:{geographic}");
                    let down = with_proj(|builder| builder.proj_known_crs(&other.definition(), &base, None))?;
                    let down = down.map_err(|error| unknown(error.to_string()))?;
                    let damaged = |error: proj::ProjCreateError| CrsError::Grid(grid.name(), error.to_string());
                    let shift = with_proj(|builder| builder.proj(&grid.pipeline()))?.map_err(damaged)?;
                    let way = Way::Grid(Box::new(down), Box::new(shift), grid);
                    return Ok(Self { system: system.clone(), way, turned: false });
                }
                let made = with_proj(|builder| builder.proj_known_crs(&other.definition(), "EPSG:4326", None))?;
                Way::Proj(Box::new(made.map_err(|error| unknown(error.to_string()))?))
            }
        };
        Ok(Self { system: system.clone(), way, turned: false })
    }

    /// The same for positions that have northing or latitude first.
    #[must_use]
    pub fn turned(self) -> Self {
        Self { turned: !self.turned, ..self }
    }

    /// The system that is converted from.
    pub fn system(&self) -> &Crs {
        &self.system
    }

    /// Longitude and latitude of positions in the system; x is always the easting or longitude.
    pub fn to_lonlat(&self, positions: &mut [Coord<f64>]) -> Result<(), CrsError> {
        if let Some(bad) = positions.iter().find(|position| !(position.x.is_finite() && position.y.is_finite())) {
            return Err(self.outside(*bad));
        }
        let before = positions.to_vec();
        if self.turned {
            for at in &mut *positions {
                *at = Coord { x: at.y, y: at.x };
            }
        }
        match &self.way {
            Way::None => {}
            Way::Ostn15 => {
                each(positions, lonlat_bng::convert_osgb36_to_ll).map_err(|at| self.outside(at))?;
            }
            Way::Proj(proj) => self.proj_array(proj, positions, false)?,
            Way::Grid(down, shift, _) => {
                self.proj_array(down, positions, false)?;
                self.proj_array(shift, positions, false).map_err(|error| self.of_first(error, &before))?;
            }
        }
        // Files that reach the date line overshoot it by rounding.
        let edge = 1.0 + 1e-12;
        match positions.iter().position(|at| !(at.x.abs() <= 180.0 * edge && at.y.abs() <= 90.0 * edge)) {
            Some(index) => Err(self.outside(before.get(index).copied().unwrap_or_default())),
            None => Ok(()),
        }
    }

    /// Positions in the system of longitudes and latitudes.
    pub fn from_lonlat(&self, positions: &mut [Coord<f64>]) -> Result<(), CrsError> {
        match &self.way {
            Way::None => Ok(()),
            Way::Ostn15 => each(positions, lonlat_bng::convert_osgb36).map_err(|at| self.outside(at)),
            Way::Proj(proj) => self.proj_array(proj, positions, true),
            Way::Grid(down, shift, _) => {
                self.proj_array(shift, positions, true)?;
                self.proj_array(down, positions, true)
            }
        }
    }

    /// An error about a half converted position, told with the first as it was given: which one it is is not known any more.
    fn of_first(&self, error: CrsError, before: &[Coord<f64>]) -> CrsError {
        match error {
            CrsError::Outside { .. } => self.outside(before.first().copied().unwrap_or_default()),
            other => other,
        }
    }

    /// A geometry in degrees.
    pub fn geometry(&self, geometry: &Geometry<f64>) -> Result<Geometry<f64>, CrsError> {
        let mut positions: Vec<Coord<f64>> = geometry.coords_iter().collect();
        self.to_lonlat(&mut positions)?;
        let next = RefCell::new(positions.into_iter());
        // `map_coords` visits positions in the same order as `coords_iter`; a test holds that.
        Ok(geometry.map_coords(|old| next.borrow_mut().next().unwrap_or(old)))
    }

    /// The method. PROJ chooses it by the place, so ask after converting.
    pub fn conversion(&self) -> Conversion {
        match &self.way {
            Way::None => Conversion { method: "already WGS 84".to_owned(), accuracy_m: Some(0.0) },
            Way::Grid(_, _, grid) => Conversion {
                method: format!("{} by {}", grid.transformation, grid.name()),
                accuracy_m: Some(grid.accuracy_m),
            },
            Way::Ostn15 => Conversion { method: "OSTN15".to_owned(), accuracy_m: Some(0.01) },
            Way::Proj(proj) => {
                let info = proj.proj_info();
                // Turning the axes round is no method that anybody needs to know of.
                let steps = info.description.unwrap_or_default();
                let steps: Vec<&str> = steps.split(" + ").filter(|step| !step.starts_with("axis order change")).collect();
                Conversion {
                    method: if steps.is_empty() {
                        "longitude and latitude as they are".to_owned()
                    } else {
                        steps.join(" + ")
                    },
                    accuracy_m: (info.accuracy >= 0.0).then_some(info.accuracy),
                }
            }
        }
    }

    fn proj_array(&self, proj: &Proj, positions: &mut [Coord<f64>], back: bool) -> Result<(), CrsError> {
        let mut pairs: Vec<(f64, f64)> = positions.iter().map(|position| (position.x, position.y)).collect();
        let done = if back { proj.project_array(&mut pairs, true) } else { proj.convert_array(&mut pairs) };
        let failed = done.is_err() || pairs.iter().any(|(x, y)| !(x.is_finite() && y.is_finite()));
        if failed {
            let first = positions.iter().find(|position| {
                let mut one = [(position.x, position.y)];
                let done = if back { proj.project_array(&mut one, true) } else { proj.convert_array(&mut one) };
                done.is_err() || !(one[0].0.is_finite() && one[0].1.is_finite())
            });
            return Err(self.outside(first.or(positions.first()).copied().unwrap_or_default()));
        }
        for (position, (x, y)) in positions.iter_mut().zip(pairs) {
            *position = Coord { x, y };
        }
        Ok(())
    }

    fn outside(&self, position: Coord<f64>) -> CrsError {
        let system = match &self.way {
            Way::Ostn15 => "the British National Grid that OSTN15 covers".to_owned(),
            Way::Grid(_, _, grid) => format!("{} that {} covers", self.system.label(), grid.name()),
            _ => self.system.label(),
        };
        CrsError::Outside { x: position.x, y: position.y, system }
    }
}

/// Moves every position, many of them on all threads; the first found that cannot be moved, as it was given.
fn each<E>(
    positions: &mut [Coord<f64>],
    moved: impl Fn(f64, f64) -> Result<(f64, f64), E> + Sync,
) -> Result<(), Coord<f64>> {
    let one = |position: &mut Coord<f64>| match moved(position.x, position.y) {
        Ok((x, y)) => {
            *position = Coord { x, y };
            Ok(())
        }
        Err(_outside) => Err(*position),
    };
    // For few the threads would cost more than the work.
    if positions.len() < 4096 { positions.iter_mut().try_for_each(one) } else { positions.par_iter_mut().try_for_each(one) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::polygon;

    #[test]
    fn outside_ostn15_is_an_error_and_no_silent_shift() {
        let grid = Converter::new(&Crs::Epsg(27700)).unwrap();
        for (x, y) in [(-5000.0, 100_000.0), (600_000.0, 1_250_000.0), (f64::NAN, 0.0), (0.0, 650_000.0)] {
            assert!(grid.to_lonlat(&mut [Coord { x, y }]).is_err(), "{x}, {y} was converted");
        }
        assert!(grid.from_lonlat(&mut [Coord { x: 9.0, y: 50.0 }]).is_err());
    }

    #[test]
    fn degrees_out_of_the_world_are_an_error() {
        let plain = Converter::new(&Crs::Wgs84).unwrap();
        assert!(plain.to_lonlat(&mut [Coord { x: 412_345.0, y: 298_765.0 }]).is_err());
        assert!(plain.to_lonlat(&mut [Coord { x: -0.4, y: 52.0 }]).is_ok());
    }

    #[test]
    fn an_unknown_code_is_named() {
        let error = Converter::new(&Crs::Epsg(999_999)).unwrap_err();
        assert!(error.to_string().contains("EPSG:999999"), "{error}");
    }

    #[test]
    fn a_geometry_keeps_the_order_of_its_positions() {
        let shape = polygon!(
            exterior: [(x: 500_000.0, y: 5_500_000.0), (x: 500_400.0, y: 5_500_000.0), (x: 500_400.0, y: 5_500_300.0)],
            interiors: [[(x: 500_200.0, y: 5_500_050.0), (x: 500_220.0, y: 5_500_050.0), (x: 500_220.0, y: 5_500_070.0)]],
        );
        let utm = Converter::new(&Crs::Epsg(25832)).unwrap();
        let degrees = utm.geometry(&Geometry::Polygon(shape.clone())).unwrap();
        for (metres, lonlat) in shape.coords_iter().zip(degrees.coords_iter()) {
            let mut one = [metres];
            utm.to_lonlat(&mut one).unwrap();
            assert_eq!(one[0], lonlat);
        }
    }
}
