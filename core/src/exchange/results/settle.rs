//! Columns whose heading can mean several things, settled by what stands in their cells.

use crate::exchange::results::cells::{self, Number};
use crate::exchange::results::layout::{Column, Plan, once_each};
use crate::exchange::results::meaning::{Meaning, plain};
use crate::exchange::results::standards;
use crate::formats::Grid;
use crate::model::{AssayKind, Measure, Rating, Records, same_name};

/// So many cells of a column are looked at.
const LOOKED_AT: usize = 400;

/// Settles what can be settled; of columns that mean the same the first stands, or the one whose cells are known.
pub(super) fn settle(plan: &mut Plan, grid: &Grid, records: &Records) {
    let heading = plan.heading;
    let cells = |index: usize| {
        let rows = grid.rows.iter().skip(heading + 1).map(move |row| row.cell(index).written());
        rows.filter(|text| !text.is_empty()).take(LOOKED_AT).collect::<Vec<_>>()
    };
    let fields = |text: &str| records.fields.values().any(|field| same_name(&field.name, text));
    let has_field = plan.columns.iter().any(|column| column.meaning == Some(Meaning::Field));
    for index in 0..plan.columns.len() {
        let Some(column) = plan.columns.get(index).filter(|column| column.active.is_none()) else { continue };
        let own = column.meaning.is_some_and(|meaning| plain(meaning.heading()) == plain(&column.name));
        let meaning = match column.meaning {
            _ if own => continue,
            Some(Meaning::Assay | Meaning::Measure | Meaning::Role) => by_words(&cells(index), column.meaning),
            Some(Meaning::Reduction) if mostly_ratings(&cells(index)) => Some(Meaning::LabRating),
            Some(Meaning::LabRating) if mostly_numbers(&cells(index)) => Some(Meaning::Reduction),
            Some(Meaning::Farm) if !has_field && cells(index).iter().any(|text| fields(text)) => Some(Meaning::Field),
            _ => continue,
        };
        if let Some(column) = plan.columns.get_mut(index) {
            column.meaning = meaning;
        }
    }
    totals(&mut plan.columns);
    let codes = |text: &str| records.sample_coded(text).is_some();
    prefer(&mut plan.columns, Meaning::Sample, |index| cells(index).iter().take(20).filter(|text| codes(text)).count());
    prefer(&mut plan.columns, Meaning::Field, |index| cells(index).iter().take(20).filter(|text| fields(text)).count());
    once_each(&mut plan.columns);
}

/// Beside counts, "number of plants" is of how many in the pot.
fn totals(columns: &mut [Column]) {
    let has = |columns: &[Column], any: &[Meaning]| {
        columns.iter().any(|column| column.meaning.is_some_and(|meaning| any.contains(&meaning)))
    };
    for (counts, total) in [(&[Meaning::Alive, Meaning::Dead][..], Meaning::Plants), (&[Meaning::Shoots][..], Meaning::Sown)]
    {
        let wanted = has(columns, counts) && !has(columns, &[total]);
        if let Some(column) = columns.iter_mut().find(|column| column.meaning == Some(Meaning::Number)).filter(|_| wanted) {
            column.meaning = Some(total);
        }
    }
}

/// Kind of test, what was rated, or standard: whichever most cells read as; none if they read as nothing of that.
fn by_words(cells: &[String], said: Option<Meaning>) -> Option<Meaning> {
    let count = |reads: &dyn Fn(&str) -> bool| cells.iter().filter(|text| reads(text)).count();
    let votes = [
        (Meaning::Assay, count(&|text| text.parse::<AssayKind>().is_ok())),
        (Meaning::Measure, count(&|text| text.parse::<Measure>().is_ok())),
        (Meaning::Role, count(&|text| standards::role("", text).is_some())),
    ];
    if cells.is_empty() {
        return said;
    }
    // Of a column of standards only some rows say so; the others say "sample" or nothing.
    let best = votes.iter().rev().max_by_key(|(_, votes)| *votes).filter(|(_, votes)| *votes > 0);
    best.map(|(meaning, _)| *meaning)
}

fn mostly_ratings(cells: &[String]) -> bool {
    2 * cells.iter().filter(|text| text.parse::<Rating>().is_ok()).count() > cells.len()
}

fn mostly_numbers(cells: &[String]) -> bool {
    let number = |text: &&String| matches!(cells::number(&crate::formats::Cell::text(text)), Number::Exact(_));
    2 * cells.iter().filter(number).count() > cells.len()
}

/// Of several columns of a meaning the one with the most known cells goes first; then one with its own or a plainer heading.
fn prefer(columns: &mut [Column], meaning: Meaning, known: impl Fn(usize) -> usize) {
    let rivals: Vec<usize> = columns
        .iter()
        .enumerate()
        .filter(|(_, column)| column.meaning == Some(meaning) && column.active.is_none())
        .map(|(index, _)| index)
        .collect();
    if rivals.len() < 2 {
        return;
    }
    // A laboratory's own number is not the code on the envelope.
    let of_laboratory = |name: &str| {
        let name = plain(name);
        name.starts_with("lab") || name.starts_with("our")
    };
    let rank = |index: &usize| {
        let name = columns.get(*index).map_or("", |column| column.name.as_str());
        let own = plain(name).contains(&plain(meaning.heading()));
        (known(*index), !of_laboratory(name), own, std::cmp::Reverse(*index))
    };
    let best = rivals.iter().copied().max_by_key(rank);
    for index in rivals.into_iter().filter(|index| Some(*index) != best) {
        if let Some(column) = columns.get_mut(index) {
            column.meaning = None;
        }
    }
}
