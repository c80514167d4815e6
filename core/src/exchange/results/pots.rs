//! Rows that are pots of one result, put together.

use std::collections::BTreeMap;

use crate::exchange::results::row::{Line, Pots};
use crate::exchange::row_errors::RowErrors;
use crate::model::{AssayKind, Measure, Raw};
use crate::rating::Evidence;
use jiff::civil::Date;

/// What tells the results of a file apart: population, field, active, dose, kind of assay, measure, harvest year.
type Key = (String, String, String, Option<String>, Option<AssayKind>, Option<Measure>, (Option<i32>, Option<Date>, String));

fn key(line: &Line) -> Key {
    let test = (line.year, line.date, line.laboratory.to_lowercase());
    let population = (line.sample.to_lowercase(), line.field.to_lowercase());
    (population.0, population.1, line.active.clone(), line.dose.clone(), line.assay, line.measure, test)
}

/// Joins pots of one result, gives untreated pots in rows of their own to every active of their population, and names
/// what stands twice.
pub(super) fn together(lines: Vec<Line>, errors: &mut RowErrors<'_>) -> Vec<Line> {
    let mut untreated: BTreeMap<Key, Pots> = BTreeMap::new();
    let mut joined: Vec<Line> = Vec::new();
    let mut index: BTreeMap<Key, usize> = BTreeMap::new();
    for line in lines {
        if line.active.is_empty() || line.at_dose_0 {
            untreated.entry(of_population(&line, &line.active)).or_default().extend(line.untreated);
            continue;
        }
        match index.get(&key(&line)).and_then(|at| joined.get_mut(*at)) {
            None => {
                index.insert(key(&line), joined.len());
                joined.push(line);
            }
            Some(held) if held.is_raw() && line.is_raw() => join(held, line, errors),
            // Finished percentages of numbered pots.
            Some(held) if line.replicate.is_some() && !held.is_raw() && line.reduction.is_some() => {
                if held.shares.is_empty() {
                    held.shares.extend(held.reduction);
                }
                held.shares.extend(line.reduction);
                held.standard = held.standard.or(line.standard);
                held.lab_rating = held.lab_rating.or(line.lab_rating);
            }
            Some(held) => {
                let dose = if held.dose.is_some() { " at this dose" } else { "" };
                let what =
                    format!("sample {} has a result for {}{dose} in this kind of assay already.", line.sample, line.active);
                errors.add(line.place.clone(), what, "Keep one of the two rows, or give each its dose.");
            }
        }
    }
    for line in &mut joined {
        if line.untreated.is_empty() && line.is_raw() {
            // Those at dose 0 of the same active go before those that stand for every active.
            let own = untreated.get(&of_population(line, &line.active));
            line.untreated = own.or_else(|| untreated.get(&of_population(line, ""))).cloned().unwrap_or_default();
        }
        mean(line);
        work_out(line, errors);
    }
    joined
}

/// The mean of percentages pot by pot, with the standard error that their spread gives.
fn mean(line: &mut Line) {
    let n = line.shares.len() as f64;
    if line.shares.len() < 2 {
        return;
    }
    let mean = line.shares.iter().sum::<f64>() / n;
    let squares: f64 = line.shares.iter().map(|share| (share - mean).powi(2)).sum();
    line.reduction = Some(mean);
    line.se = line.se.or(Some((squares / (n - 1.0) / n).sqrt())).filter(|se| *se > 0.0);
    let remark = format!("mean of {} pots", line.shares.len());
    line.comment = if line.comment.is_empty() { remark } else { format!("{}; {remark}", line.comment) };
}

/// The population in its test, whatever the dose. `active`: empty for every active.
fn of_population(line: &Line, active: &str) -> Key {
    let (sample, field, _, _, assay, measure, test) = key(line);
    (sample, field, active.to_owned(), None, assay, measure, test)
}

fn join(held: &mut Line, line: Line, errors: &mut RowErrors<'_>) {
    for (numbered, pot) in &line.treated {
        if numbered.is_some() && held.treated.iter().any(|(other, _)| other == numbered) {
            let what = format!("pot {} of sample {} stands there already.", numbered.unwrap_or_default(), line.sample);
            errors.add(line.place.clone(), what, "Keep one of the two rows, or number the pots anew.");
            return;
        }
        held.treated.push((*numbered, *pot));
    }
    for (numbered, pot) in line.untreated {
        // The same untreated pot may be written beside several treated ones.
        if numbered.is_none() || !held.untreated.iter().any(|(other, _)| *other == numbered) {
            held.untreated.push((numbered, pot));
        }
    }
    held.reduction = held.reduction.or(line.reduction);
    held.standard = held.standard.or(line.standard);
    held.lab_rating = held.lab_rating.or(line.lab_rating);
}

/// The counts or weights of a line, if it has any.
pub(super) fn raw(line: &Line) -> Option<Raw> {
    let pots = |pots: &Pots| pots.iter().map(|(_, pot)| *pot).collect();
    line.is_raw().then(|| Raw { treated: pots(&line.treated), untreated: pots(&line.untreated) })
}

/// The reduction of counts or weights, where the file prints none.
fn work_out(line: &mut Line, errors: &mut RowErrors<'_>) {
    let (Some(raw), Some(measure)) = (raw(line), line.measure) else { return };
    match Evidence::from_raw(&raw, measure) {
        Ok(evidence) => line.reduction = line.reduction.or_else(|| Some(evidence.reduction())),
        Err(why) => errors.add(
            line.place.clone(),
            format!("sample {}, {}: {why}.", line.sample, line.active),
            "Add the counts or weights of the untreated pots or dishes, in columns or in rows with active “untreated”.",
        ),
    }
}
