//! Counts and weights in the cells of a row: pots and dishes, treated and untreated, living or dead, and those that were lost.

use crate::exchange::results::cells::{self, Number};
use crate::exchange::results::meaning::Meaning;
use crate::exchange::results::row::{Line, Reader, Values};
use crate::formats::Cell;
use crate::model::{Measure, Replicate};

/// What a column of pots holds: the column, that of how many there were, and whether it counts the dead.
struct Counted {
    value: Meaning,
    total: Meaning,
    is_dead: bool,
}

impl<'a> Reader<'a, '_> {
    /// Counts and weights of the row; whether it has columns for any.
    pub(super) fn pots(&mut self, values: &Values<'a>, line: &mut Line) -> bool {
        let number = line.replicate;
        let mut there = false;
        for (value, total, untreated) in [
            (Meaning::Alive, Meaning::Plants, false),
            (Meaning::Shoots, Meaning::Sown, false),
            (Meaning::Weight, Meaning::Plants, false),
            (Meaning::UntreatedAlive, Meaning::UntreatedPlants, true),
            (Meaning::UntreatedShoots, Meaning::UntreatedSown, true),
            (Meaning::UntreatedWeight, Meaning::UntreatedPlants, true),
        ] {
            let mut cells: Vec<(Option<u32>, &Cell)> = values.all(value).collect();
            // Without a column of the living ones they follow from the dead.
            let dead = match value {
                Meaning::Alive => Some(Meaning::Dead),
                Meaning::UntreatedAlive => Some(Meaning::UntreatedDead),
                _ => None,
            };
            let from_dead = dead.filter(|_| cells.iter().all(|(_, cell)| cell.is_empty()));
            if let Some(dead) = from_dead {
                cells = values.all(dead).collect();
            }
            let (mut gaps, mut filled) = (0, 0);
            for (replicate, cell) in cells {
                there = true;
                let of = Counted { value: from_dead.unwrap_or(value), total, is_dead: from_dead.is_some() };
                let pot = self.pot(values, &of, replicate, cell);
                let Some(pot) = pot else {
                    gaps += usize::from(!untreated);
                    continue;
                };
                filled += 1;
                let measure = value.measure();
                if line.measure.is_some() && line.measure != measure && line.is_raw() {
                    let hint = "Give counts and weights in files of their own, so that each gets its rating.";
                    self.wrong("it holds counts and weights.", hint);
                    return true;
                }
                line.measure = measure.or(line.measure);
                let pots = if untreated { &mut line.untreated } else { &mut line.treated };
                pots.push((replicate.or(number), pot));
            }
            self.missing_pots += if filled > 0 { gaps } else { 0 };
        }
        self.missing_pots += usize::from(there && !line.is_raw() && line.reduction.is_none() && line.lab_rating.is_none());
        there
    }

    fn pot(&mut self, values: &Values<'a>, of: &Counted, replicate: Option<u32>, cell: &Cell) -> Option<Replicate> {
        let Counted { value: meaning, total, is_dead } = *of;
        let alive = |value: f64, of: f64| if is_dead { of - value } else { value };
        if let Some((value, of)) = cells::of(cell) {
            return self.checked(meaning, alive(value, of), Some(of));
        }
        let value = match cells::number(cell) {
            Number::Empty | Number::NotTested => return None,
            Number::Exact(value) => value,
            _ => {
                let hint = match cells::date(cell) {
                    Some(_) => "The spreadsheet took it for a day: write it as “3 of 6”, or in two columns.",
                    None => "Write the number alone.",
                };
                self.wrong(format!("“{}” in {} is no number.", cell.written(), meaning.heading()), hint);
                return None;
            }
        };
        if meaning.measure() == Some(Measure::FreshWeight) {
            return self.checked(meaning, value, None);
        }
        let same_pot = |meaning: Meaning| {
            let mut found = values.all(meaning).filter(|(other, _)| other.is_none() || *other == replicate);
            found.find_map(|(_, cell)| cells::number(cell).value())
        };
        // Untreated pots hold as many as treated ones where nothing else is said.
        let of = same_pot(total)
            .or_else(|| same_pot(if total == Meaning::UntreatedSown { Meaning::Sown } else { Meaning::Plants }));
        let dead = match meaning {
            Meaning::Alive => same_pot(Meaning::Dead),
            Meaning::UntreatedAlive => same_pot(Meaning::UntreatedDead),
            _ => None,
        };
        if let (Some(of), Some(dead)) = (of, dead)
            && (value + dead - of).abs() > 0.5
        {
            let what = format!("{value} alive and {dead} dead are not the {of} plants of the pot.");
            self.wrong(what, "Correct the counts, or leave one of the three columns out.");
            return None;
        }
        if let Some(of) = of.or_else(|| dead.map(|dead| value + dead)).or_else(|| values.of_heading(meaning)) {
            return self.checked(meaning, alive(value, of), Some(of));
        }
        let what = format!("{} is given, but not of how many.", meaning.heading());
        self.wrong(what, format!("Add a column {}, or --set {}=NUMBER.", total.heading(), total.heading()));
        None
    }

    fn checked(&mut self, meaning: Meaning, value: f64, of: Option<f64>) -> Option<Replicate> {
        // A pot in which nothing stood is a lost pot.
        if value == 0.0 && of == Some(0.0) {
            return None;
        }
        if value < 0.0 || of.is_some_and(|of| value > of || of <= 0.0) {
            let dead = matches!(meaning, Meaning::Dead | Meaning::UntreatedDead);
            let value = of.filter(|_| dead).map_or(value, |of| of - value);
            let written = of.map_or(format!("{value}"), |of| format!("{value} of {of}"));
            self.wrong(format!("{} is {written}.", meaning.heading()), "Correct the count or weight.");
            return None;
        }
        Some(Replicate { value, of })
    }
}
