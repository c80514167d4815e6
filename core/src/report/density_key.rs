//! Density classes on the map: of cells, not of fields.

use std::collections::BTreeSet;
use std::sync::Arc;

use rayon::prelude::*;

use crate::density::{self, Surface, SurfaceMethod};
use crate::model::{DensityClass, DensityUnit, Field, Records};
use crate::report::classes::{Class, Key, Look, Over};
use crate::report::dress::Expected;
use crate::report::palette;

/// Number of the class of a density, 0 to 4.
pub fn class_of(density: f64, unit: DensityUnit) -> usize {
    unit.class_number(density)
}

/// What of a surface is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shown {
    /// The density itself.
    Density,
    /// Its standard error, in the same classes.
    StandardError,
}

/// Classes and looks by density. The legend counts the fields in which a class occurs and the land it covers.
pub fn key(records: &Records, year: i32, fields: &[Arc<Field>], cell_m: f64, shown: Shown) -> Key {
    let surface = |field: &Arc<Field>| {
        let surface = density::surface(records, field, year, cell_m).filter(scouted)?;
        if shown == Shown::StandardError { surface.of_uncertainty() } else { Some(surface) }
    };
    let surfaces: Vec<Option<Surface>> = fields.par_iter().map(surface).collect();
    let units: BTreeSet<&str> = surfaces.iter().flatten().map(|surface| surface.unit.label()).collect();
    let mut classes: Vec<Class> = DensityClass::ALL
        .iter()
        .rev()
        .map(|class| {
            let number = *class as usize;
            Class::new(number.to_string(), label(*class, &units, shown), palette::DENSITY[number], Over::Nothing)
        })
        .collect();
    let (unknown_mark, unknown, title) = match shown {
        Shown::Density => ("n.s.", "not scouted: nothing known", "Density of the weed"),
        Shown::StandardError => ("n.k.", "not kriged: no standard error", "Standard error of the density"),
    };
    classes.push(Class::new(unknown_mark, unknown, palette::GROUND, Over::WideHatch));
    let mut key = Key::new(title, classes);
    key.count_heading = "in fields";
    let mut sources = BTreeSet::new();
    for (field, surface) in fields.iter().zip(surfaces) {
        let Some(surface) = surface else {
            key.classes[5].fields += 1;
            key.classes[5].area_m2 += field.area_m2();
            let look = Look { class: 5, colour: palette::GROUND, over: Over::WideHatch, mark: unknown_mark.to_owned() };
            key.looks.insert(field.id, look);
            continue;
        };
        let mean = count_cells(&mut key, field, &surface);
        sources.insert(format!("{} ({})", surface.source, surface.unit.label()));
        let class = 4 - class_of(mean, surface.unit);
        let look = Look { class, colour: palette::RAISED, over: Over::Nothing, mark: mean_mark(mean) };
        key.looks.insert(field.id, look);
        key.surfaces.insert(field.id, surface);
    }
    key.sources = vec![
        format!("Numbers in the fields: mean of the field, {}.", units.into_iter().collect::<Vec<_>>().join(" or ")),
        said(&sources),
    ];
    if key.surfaces.is_empty() {
        key.sources = vec![match shown {
            Shown::Density => "No field on this map has been scouted.".to_owned(),
            Shown::StandardError => "No field on this map was kriged; other methods give no standard error.".to_owned(),
        }];
    }
    key
}

fn scouted(surface: &Surface) -> bool {
    surface.method != SurfaceMethod::Even
}

/// Counts the field's cells by class, scaled to the field's area; returns the mean density.
fn count_cells(key: &mut Key, field: &Field, surface: &Surface) -> f64 {
    let mut cells = [0_usize; 5];
    let mut sum = 0.0;
    for (_, density) in surface.grid.cells() {
        cells[class_of(density, surface.unit)] += 1;
        sum += density;
    }
    let all: usize = cells.iter().sum();
    for (class, count) in cells.iter().enumerate().filter(|(_, count)| **count > 0) {
        key.classes[4 - class].fields += 1;
        key.classes[4 - class].area_m2 += field.area_m2() * *count as f64 / all as f64;
    }
    if all == 0 { 0.0 } else { sum / all as f64 }
}

fn mean_mark(mean: f64) -> String {
    if mean >= 10.0 { format!("{mean:.0}") } else { format!("{mean:.1}") }
}

fn label(class: DensityClass, units: &BTreeSet<&str>, shown: Shown) -> String {
    let number = class as usize;
    if number == 0 {
        return if shown == Shown::Density { "none found" } else { "next to none" }.to_owned();
    }
    let limits = |upper: &[f64; 4]| {
        if number == 4 { format!("over {}", upper[3]) } else { format!("to {}", upper[number]) }
    };
    let (plants, heads) = (limits(&DensityClass::UPPER_PER_M2), limits(&DensityUnit::HEADS_UPPER));
    let in_words = match (units.contains("plants/m2"), units.contains("heads/m2")) {
        (true, true) => format!("{plants} plants, {heads} heads/m2"),
        (false, true) => format!("{heads} heads/m2"),
        _ => format!("{plants} plants/m2"),
    };
    // The names of the classes are those of densities, not of errors.
    if shown == Shown::Density { format!("{}: {in_words}", class.label()) } else { in_words }
}

/// Classes and looks by the heads expected in some years. The legend counts fields, each in the class of its median.
pub fn expected(expected: &Expected, fields: &[Arc<Field>]) -> Key {
    let units = BTreeSet::from([DensityUnit::HeadsPerM2.label()]);
    let number = |class: &DensityClass| *class as usize;
    let mut classes: Vec<Class> = DensityClass::ALL
        .iter()
        .rev()
        .map(|class| {
            let words = label(*class, &units, Shown::StandardError);
            Class::new(number(class).to_string(), words, palette::DENSITY[number(class)], Over::Nothing)
        })
        .collect();
    classes.push(Class::new("n.s.", "no density to start from", palette::GROUND, Over::WideHatch));
    let mut key = Key::new(&format!("Heads/m2 expected in {}", expected.harvest), classes);
    for field in fields {
        match expected.heads.get(&field.id) {
            None => key.put(field, 5, Over::WideHatch, "n.s.".to_owned()),
            Some(heads) => {
                let class = 4 - DensityUnit::HeadsPerM2.class_number(*heads);
                key.put(field, class, Over::Nothing, mean_mark(*heads));
            }
        }
    }
    key.sources = vec![
        format!(
            "Numbers in the fields: median of the heads/m2 drawn for harvest {}, scenario “{}”.",
            expected.harvest, expected.scenario
        ),
        "Drawn from ranges of published figures: no forecast.".to_owned(),
    ];
    key
}

/// The surveys, or how many there are when they would not fit on a line.
fn said(sources: &BTreeSet<String>) -> String {
    const ROOM: usize = 4;
    let list: Vec<&str> = sources.iter().map(String::as_str).collect();
    if list.len() <= ROOM {
        return format!("Made from {}.", list.join("; "));
    }
    format!("Made from {} and {} others.", list[..ROOM].join("; "), list.len() - ROOM)
}
