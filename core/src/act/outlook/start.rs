//! The density from which the coming years of a field start.
//!
//! The cells of the field's density surface are put together into parts that each hold a fifth of the population, the densest
//! ground first, because a patch and the ground round it do not fare alike. What was counted decides the conversion: heads stay
//! heads; plants and density states become heads by the heads that a plant carries ([`crate::act::outlook::seedbank::heads_of`]).

use std::collections::BTreeMap;

use crate::density::{self, SurfaceMethod};
use crate::model::{DensityUnit, Field, FieldId, Records};
use crate::problem::{Problem, Severity};
use crate::season;

/// So many parts a field has at most.
pub const PARTS: usize = 5;

/// Ground of one density.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Part {
    /// Share of the field's area, 0 to 1.
    pub share: f64,
    /// Density in the unit of the start.
    pub density: f64,
}

/// What a field starts from.
#[derive(Debug, Clone, PartialEq)]
pub struct Start {
    /// Heads/m2 or plants/m2.
    pub unit: DensityUnit,
    /// The field by density, densest first.
    pub parts: Vec<Part>,
    /// What it comes from, in words.
    pub source: String,
    /// What should be known about it, one sentence each.
    pub notes: Vec<String>,
}

impl Start {
    /// The same density everywhere, heads/m2.
    pub fn even(heads_m2: f64, source: impl Into<String>) -> Self {
        let parts = vec![Part { share: 1.0, density: heads_m2 }];
        Self { unit: DensityUnit::HeadsPerM2, parts, source: source.into(), notes: Vec::new() }
    }

    /// Mean density of the field in the unit.
    pub fn mean(&self) -> f64 {
        self.parts.iter().map(|part| part.share * part.density).sum()
    }
}

/// The harvest for which each field was scouted last, up to harvest `year`, as far as points and zones say it.
pub fn scouted(records: &Records, year: i32) -> BTreeMap<FieldId, i32> {
    let harvest = |seen: &season::Seen| i32::from(seen.date.year()) + i32::from(seen.date.month() >= 8);
    season::weed_seen(records, year).iter().map(|(field, seen)| (*field, harvest(seen))).collect()
}

/// The start of a field for the harvest after `year`: its density surface from scouting up to that harvest. `scouted` is the harvest
/// for which it was scouted last, if known ([`scouted`]); an older one than `year` is said in the notes.
pub fn start_of(records: &Records, field: &Field, year: i32, scouted: Option<i32>) -> Result<Start, Problem> {
    let place = format!("{}, {}", records.farm_name(field), field.name);
    let missing = |what: String, hint: &str| Problem {
        place: place.clone(),
        what,
        hint: hint.to_owned(),
        severity: Severity::Error,
        spot: None,
    };
    let Some(surface) = density::surface(records, field, year, records.settings.plan.cell_m) else {
        return Err(missing("it has no usable boundary.".into(), "Draw or import it again."));
    };
    match surface.method {
        SurfaceMethod::Even => {
            let what = format!("no scouting up to harvest {year} covers it, so there is no density to start from.");
            return Err(missing(
                what,
                "Import a survey, or say a density: heads a m2 or a class (in the window Start from, else --start).",
            ));
        }
        SurfaceMethod::Kernel => {
            let what = "its scouting holds bare places, which say where but not how many.".to_owned();
            return Err(missing(
                what,
                "Import counts or classes, or say a density: heads a m2 or a class (in the window Start from, else --start).",
            ));
        }
        _ => {}
    }
    let cells: Vec<f64> = surface.grid.cells().map(|(_, density)| density.max(0.0)).collect();
    let mut notes = Vec::new();
    if let Some(seen) = scouted.filter(|seen| *seen < year) {
        notes.push(format!("Scouted last for harvest {seen}; that density is taken as harvest {year}'s."));
    }
    let parts = parts(cells);
    if parts.iter().all(|part| part.density <= 0.0) {
        notes.push("The scouting found none; seed that lies in the soil unseen is not in the outlook.".to_owned());
    }
    Ok(Start { unit: surface.unit, parts, source: format!("{} ({})", surface.source, surface.unit.label()), notes })
}

/// Cells as parts of equal population, densest first.
fn parts(mut cells: Vec<f64>) -> Vec<Part> {
    cells.sort_by(|a, b| b.total_cmp(a));
    let (all, population) = (cells.len() as f64, cells.iter().sum::<f64>());
    if population <= 0.0 {
        return vec![Part { share: 1.0, density: 0.0 }];
    }
    let mut parts: Vec<Part> = Vec::new();
    let (mut count, mut sum, mut held) = (0_usize, 0.0, 0.0);
    for (index, density) in cells.iter().enumerate() {
        count += 1;
        sum += density;
        held += density;
        let reached = held >= population * (parts.len() + 1) as f64 / PARTS as f64;
        let last = index + 1 == cells.len();
        if last || (reached && parts.len() + 1 < PARTS) {
            parts.push(Part { share: count as f64 / all, density: sum / count as f64 });
            (count, sum) = (0, 0.0);
        }
    }
    parts
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parts_keep_the_area_and_the_population() {
        let cells: Vec<f64> = (0..1000).map(|n| if n < 100 { 50.0 + f64::from(n) } else { 0.1 }).collect();
        let mean = cells.iter().sum::<f64>() / 1000.0;
        let parts = parts(cells);
        assert_eq!(parts.len(), PARTS);
        assert!((parts.iter().map(|part| part.share).sum::<f64>() - 1.0).abs() < 1e-12);
        assert!((parts.iter().map(|part| part.share * part.density).sum::<f64>() - mean).abs() < 1e-9);
        assert!(parts.windows(2).all(|pair| pair[0].density >= pair[1].density));
    }

    #[test]
    fn even_ground_and_bare_ground_are_few_parts() {
        assert_eq!(parts(vec![0.0; 50]), [Part { share: 1.0, density: 0.0 }]);
        let even = parts(vec![3.0; 50]);
        assert!(even.iter().all(|part| part.density == 3.0));
    }
}
