//! The class of every field in the colouring on show, and the legend's counts: worked out when either changes, not each frame.

use awn_core::rating::RatedBy;
use awn_core::report::Age;

use super::Layers;
use super::classes::{Class, How, Over, class_of, expected};
use crate::gui::ctx::Ctx;
use crate::gui::facts::{Facts, Row};
use crate::gui::view::Colouring;

/// How many fields, and how much land.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Count {
    /// Fields.
    pub fields: usize,
    /// Land, m2.
    pub area_m2: f64,
}

impl Count {
    fn add(&mut self, area_m2: f64) {
        self.fields += 1;
        self.area_m2 += area_m2;
    }
}

/// A line of the legend.
#[derive(Debug, Clone)]
pub struct Line {
    /// How the class looks, without what the columns say.
    pub class: Class,
    /// All fields of the line.
    pub all: Count,
    /// The same by column, if the legend has columns.
    pub columns: Vec<Count>,
}

/// The classes of the fields.
#[derive(Debug, Default)]
pub struct Painted {
    key: Option<(u64, How, i32, bool)>,
    /// Counts the states of the classes.
    pub number: u64,
    /// A class for each row of the facts.
    pub classes: Vec<Class>,
    /// Row of the facts for each shape.
    pub row_of_shape: Vec<Option<usize>>,
    /// Lines of the legend, worst first.
    pub lines: Vec<Line>,
    /// What the columns are of.
    pub columns_of: &'static str,
    /// What the columns of the legend mean: a sample and its words; empty: no columns.
    pub columns: Vec<(Class, String)>,
}

/// The class of a field; what is expected is worked out apart from the facts.
fn of_row(ctx: &Ctx<'_>, row: &Row, how: &How) -> Class {
    if how.colouring == Colouring::Expected { expected(ctx.expected, row.id) } else { class_of(ctx.facts, row, how) }
}

impl Painted {
    /// Brings the classes up to what is on show.
    pub fn refresh(&mut self, layers: &Layers<'_>, ctx: &Ctx<'_>) {
        let how = How { colouring: ctx.view.shown_colouring(), of: ctx.view.rating_of.clone(), year: ctx.view.year };
        let key = (layers.facts_number, how, ctx.facts.interval, ctx.view.layers.patterns);
        if self.key.as_ref() == Some(&key) {
            return;
        }
        let how = &key.1;
        self.classes = ctx.facts.rows.iter().map(|row| of_row(ctx, row, how)).collect();
        self.row_of_shape = layers.shapes.fields.iter().map(|shape| ctx.facts.number(shape.id)).collect();
        self.columns_of = match how.colouring {
            Colouring::RatingAndAge => "harvests old",
            Colouring::ControlLeft | Colouring::AtRisk => "steps tested",
            _ => "",
        };
        self.columns = columns(how.colouring, ctx.facts.interval);
        self.lines = lines(ctx.facts, &self.classes, self.columns.len(), how.colouring);
        if ctx.view.layers.patterns && self.columns.is_empty() {
            self.add_rows();
        }
        self.key = Some(key);
        self.number += 1;
    }

    /// Gives every class with a colour level lines besides: none but the lowest the widest.
    fn add_rows(&mut self) {
        let coloured = self.lines.iter().rev().filter(|line| line.class.fill.is_some() && line.class.over == Over::Nothing);
        let ranks: Vec<i32> = coloured.map(|line| line.class.rank).collect();
        let rows = |class: &mut Class| {
            if let Some(number) = ranks.iter().position(|rank| *rank == class.rank) {
                class.over = Over::Rows(number.min(4) as u8);
            }
        };
        self.classes.iter_mut().for_each(rows);
        self.lines.iter_mut().map(|line| &mut line.class).for_each(rows);
    }

    /// The class of a shape's field.
    pub fn class(&self, shape: usize) -> Option<(usize, &Class)> {
        let row = (*self.row_of_shape.get(shape)?)?;
        Some((row, self.classes.get(row)?))
    }
}

/// What the columns mean in colourings that are read two ways.
fn columns(colouring: Colouring, interval: i32) -> Vec<(Class, String)> {
    let sample = |over, way, dotted| Class { over, way, dotted, ..Class::plain(None) };
    match colouring {
        Colouring::RatingAndAge => Age::ALL
            .iter()
            .zip([Over::Nothing, Over::Stipple, Over::Hatch])
            .map(|(age, over)| (sample(over, None, false), short_age(*age, interval)))
            .collect(),
        Colouring::Change => vec![
            (sample(Over::Hatch, Some(super::Way::Worse), false), "worse".into()),
            (sample(Over::Nothing, Some(super::Way::Same), false), "same".into()),
            (sample(Over::Stipple, Some(super::Way::Better), false), "better".into()),
            (sample(Over::Nothing, None, true), "first".into()),
        ],
        Colouring::ControlLeft | Colouring::AtRisk => {
            vec![(sample(Over::Nothing, None, false), "all".into()), (sample(Over::Stipple, None, false), "in part".into())]
        }
        _ => Vec::new(),
    }
}

fn lines(facts: &Facts, classes: &[Class], columns: usize, colouring: Colouring) -> Vec<Line> {
    let mut lines: Vec<Line> = Vec::new();
    for (row, class) in facts.rows.iter().zip(classes) {
        let at = lines.iter().position(|line| line.class.rank == class.rank).unwrap_or_else(|| {
            let class = sample(class, columns > 0, colouring, facts.interval);
            lines.push(Line { class, all: Count::default(), columns: vec![Count::default(); columns] });
            lines.len() - 1
        });
        let line = &mut lines[at];
        line.all.add(row.area_m2);
        if class.over != Over::Unknown
            && let Some(count) = line.columns.get_mut(class.column)
        {
            count.add(row.area_m2);
        }
    }
    lines.sort_by_key(|line| std::cmp::Reverse(line.class.rank));
    lines
}

/// The class as the legend shows it: with the letter that all of its fields share.
fn sample(class: &Class, columns: bool, colouring: Colouring, interval: i32) -> Class {
    let mut class = class.clone();
    // The name of the line says whose rating it is.
    for letter in [&mut class.letter, &mut class.short] {
        if let Some(bare) = letter.strip_suffix(RatedBy::Laboratory.mark()) {
            *letter = bare.to_owned();
        }
    }
    if columns && class.over != Over::Unknown {
        if !class.short.is_empty() {
            class.letter = std::mem::take(&mut class.short);
        }
        (class.over, class.way, class.dotted) = (Over::Nothing, None, false);
    } else if colouring == Colouring::Stage {
        class.letter = std::mem::take(&mut class.short);
    } else if class.dotted {
        class.letter = format!("{interval}+");
    } else if colouring == Colouring::Due && class.rank >= 800 {
        class.letter = "1…".into();
    } else if colouring == Colouring::Due && class.rank == 0 {
        // On the fields stands the harvest in which they are due again.
        class.letter = "year".into();
    } else if colouring == Colouring::Age && class.rank == 4 && interval > 5 {
        class.letter = format!("4–{}", interval - 1);
    }
    class
}

/// A band of age in as few signs as can be: "0–1", "2–4", "5+".
fn short_age(age: Age, interval: i32) -> String {
    let words = age.words(interval).unwrap_or_else(|| "none".into());
    words.replace(" to ", "–").replace(" or more", "+")
}
