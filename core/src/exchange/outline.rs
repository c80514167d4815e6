//! Outlines of fields: converted to degrees, then repaired and measured on all threads; and what was wrong with each.

use geo::{Geometry, MultiPolygon, Polygon};
use rayon::prelude::*;

use crate::crs::Converter;
use crate::exchange::place;
use crate::exchange::row_errors::RowErrors;
use crate::formats::Row;
use crate::geometry::{self, Repaired};
use crate::units;

/// What became of the shape of a row.
pub(super) enum Outline {
    Sound(Sound),
    /// The row has no outline; why.
    None(&'static str),
    /// Its outline cannot be converted; why.
    Wrong(String),
}

/// A sound outline in degrees.
pub(super) struct Sound {
    pub shape: MultiPolygon<f64>,
    /// What it encloses on the ellipsoid.
    pub area_m2: f64,
    /// What it was before, if it had to be repaired.
    pub before: Option<MultiPolygon<f64>>,
    /// Whether corners were given twice in a row.
    pub doubled: bool,
    faults: Vec<&'static str>,
    /// How many parts were too small to be kept.
    slivers: usize,
    /// Whether it was given as a line.
    as_line: bool,
}

/// The outlines of some rows. They are read one after the other, as a converter is for one thread.
pub(super) fn read(rows: &[Row<'_>], converter: &Converter) -> Vec<Outline> {
    let read: Vec<_> = rows.iter().map(|row| degrees(*row, converter)).collect();
    let mend = |read| match read {
        Ok((degrees, as_line)) => Outline::Sound(sound(degrees, as_line)),
        Err(outline) => outline,
    };
    read.into_par_iter().map(mend).collect()
}

/// The areas of a row in degrees, and whether they were given as lines.
fn degrees(row: Row<'_>, converter: &Converter) -> Result<(MultiPolygon<f64>, bool), Outline> {
    let shape = row.geometry().ok_or(Outline::None("it has no shape; it was left out."))?;
    let areas = place::areas(&shape);
    let (areas, as_line) = match place::outlines(&shape).filter(|_| areas.0.is_empty()) {
        Some(outlines) => (outlines, true),
        None => (areas, false),
    };
    if areas.0.is_empty() {
        return Err(Outline::None("it is a point or a line and has no area; it was left out."));
    }
    let degrees = converter.geometry(&Geometry::MultiPolygon(areas)).map_err(|error| Outline::Wrong(format!("{error}.")))?;
    Ok((place::areas(&degrees), as_line))
}

fn sound(degrees: MultiPolygon<f64>, as_line: bool) -> Sound {
    let Repaired { mut shape, faults } = geometry::repair(&degrees);
    let slivers = drop_slivers(&mut shape);
    let broken = shape.0.is_empty() || faults.iter().any(|fault| *fault != geometry::DOUBLED);
    Sound {
        area_m2: geometry::geodesic_area_m2(&shape),
        before: (broken || slivers > 0).then_some(degrees),
        doubled: !broken && !faults.is_empty(),
        faults: if broken { faults } else { Vec::new() },
        shape,
        slivers,
        as_line,
    }
}

impl Outline {
    /// The outline, after everything about it was said at `place`; an empty one is none.
    pub fn said(self, place: String, errors: &mut RowErrors<'_>) -> Self {
        let mut sound = match self {
            Self::Sound(sound) => sound,
            Self::None(why) => {
                errors.problems.warning(place, why, "Give an outline that is closed.");
                return Self::None(why);
            }
            Self::Wrong(why) => {
                errors.add(place, why.clone(), place::OUTSIDE_HINT);
                return Self::Wrong(why);
            }
        };
        let before = sound.before.as_ref().and_then(geometry::bounds);
        if sound.as_line {
            let what = "its outline is a line that comes back to where it began; it was taken for an area.";
            errors.problems.warning(&place, what, "Look at it on the map.");
        }
        if sound.slivers > 0 {
            let what = format!("{} of less than {SLIVER_M2} m2 left out.", units::count(sound.slivers, "part"));
            errors.problems.warning(&place, what, "");
            errors.problems.lies_at(before);
        }
        if sound.shape.0.is_empty() {
            let why = "its outline encloses no area; it was left out.";
            errors.problems.warning(place, why, "Draw it again.");
            errors.problems.lies_at(before);
            return Self::None(why);
        }
        if sound.faults.is_empty() {
            sound.before = None;
        } else {
            let was = sound.before.as_ref().map_or(0.0, geometry::geodesic_area_m2);
            let change = format!("area {} ha before, {} ha after", units::ha(was), units::ha(sound.area_m2));
            let what = format!("the outline was broken ({}) and was repaired: {change}.", sound.faults.join(", "));
            errors.problems.warning(place, what, "Look at it on the map.");
            errors.problems.lies_at(geometry::bounds(&sound.shape));
        }
        Self::Sound(sound)
    }
}

/// A part below this is left over from drawing, m2; a field that is no larger stays.
const SLIVER_M2: f64 = 10.0;

/// Takes such parts out; how many there were.
fn drop_slivers(shape: &mut MultiPolygon<f64>) -> usize {
    let parts = shape.0.len();
    let large = |part: &Polygon<f64>| geometry::geodesic_area_m2(&MultiPolygon(vec![part.clone()])) >= SLIVER_M2;
    if parts > 1 && shape.iter().any(large) {
        shape.0.retain(large);
    }
    parts - shape.0.len()
}
