//! A row of a laboratory's table as one line for each active in it: cells read and checked, without a look at the records.

use jiff::civil::Date;

use crate::exchange::near;
use crate::exchange::results::cells::{self, Number};
use crate::exchange::results::layout::Plan;
use crate::exchange::results::meaning::Meaning;
use crate::exchange::results::standards;
use crate::exchange::row_errors::RowErrors;
use crate::formats::{Cell, Grid, GridRow};
use crate::model::{AssayKind, Measure, Rating, Replicate, StandardRole, mode_of_action, modes_of_action};

/// The lowest reduction that is taken for a measurement, %: treated plants five times as heavy as untreated ones
/// (five times: our choice; 159 % of untreated occurs in published survey data).
const LOWEST: f64 = -400.0;
/// A reduction this far above 100 % is rounding and taken as 100 %.
const ROUNDING: f64 = 0.5;

/// An active of a wide table, and the dose in its headings.
pub(super) type Wide = (String, Option<String>);

/// Pots or dishes with the number they have in the table, if any.
pub(super) type Pots = Vec<(Option<u32>, Replicate)>;

/// One result, or one pot of one, as the file gives it.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Line {
    pub place: String,
    /// Code of the sample, or name of the standard.
    pub sample: String,
    /// The standard's role; none: a sample.
    pub role: Option<StandardRole>,
    /// Field, with its farm before it if that is given; empty: not given.
    pub field: String,
    pub year: Option<i32>,
    pub date: Option<Date>,
    pub assay: Option<AssayKind>,
    /// Lower case; empty: untreated pots in a row of their own.
    pub active: String,
    pub group: String,
    pub dose: Option<String>,
    pub measure: Option<Measure>,
    pub reduction: Option<f64>,
    pub standard: Option<f64>,
    pub se: Option<f64>,
    pub n: Option<u32>,
    pub lab_rating: Option<Rating>,
    pub laboratory: String,
    pub comment: String,
    pub treated: Pots,
    pub untreated: Pots,
}

impl Line {
    /// Whether it holds counts or weights.
    pub fn is_raw(&self) -> bool {
        !self.treated.is_empty() || !self.untreated.is_empty()
    }
}

/// Reads one row; nothing and errors if something in it cannot be read.
pub(super) struct Reader<'a, 'b> {
    pub grid: &'a Grid,
    pub plan: &'a Plan,
    /// Actives of a wide table with their doses.
    pub wide: &'a [Wide],
    pub errors: &'a mut RowErrors<'b>,
    /// Cells that say a test was not made.
    pub not_tested: usize,
    /// Rows whose sample stands in a row above: merged cells that came apart.
    pub filled_down: Vec<usize>,
    above: Option<(String, String)>,
    sound: bool,
    place: String,
}

impl<'a, 'b> Reader<'a, 'b> {
    pub fn new(grid: &'a Grid, plan: &'a Plan, wide: &'a [Wide], errors: &'a mut RowErrors<'b>) -> Self {
        let (not_tested, filled_down, above) = (0, Vec::new(), None);
        Self { grid, plan, wide, errors, not_tested, filled_down, above, sound: true, place: String::new() }
    }

    fn wrong(&mut self, what: impl Into<String>, hint: impl Into<String>) {
        self.errors.add(self.place.clone(), what, hint);
        self.sound = false;
    }

    fn cell(&self, row: &'a GridRow, meaning: Meaning) -> &'a Cell {
        self.plan.cell(row, meaning)
    }

    /// The lines of a row: one for each active; none for one that is not a result or has errors.
    pub fn lines(&mut self, row: &'a GridRow) -> Vec<Line> {
        self.place = self.grid.place(row);
        self.sound = true;
        let whole = self.whole(row);
        let wide = self.wide;
        let mut lines = Vec::new();
        if wide.is_empty() {
            let active = plain_active(&self.cell(row, Meaning::Active).written());
            let dose = self.cell(row, Meaning::Dose).written();
            let line = Line { dose: (!dose.is_empty()).then_some(dose), ..whole };
            lines.extend(self.line(row, line, &active, None));
        } else {
            for of in wide {
                let own = Line { dose: of.1.clone(), ..whole.clone() };
                lines.extend(self.line(row, own, &of.0, Some(of)));
            }
        }
        if self.sound { lines } else { Vec::new() }
    }

    /// What the row says of all its actives.
    fn whole(&mut self, row: &'a GridRow) -> Line {
        let mut sample = self.cell(row, Meaning::Sample).written();
        let mut field = self.cell(row, Meaning::Field).written();
        if sample.is_empty()
            && field.is_empty()
            && let Some(above) = self.above.clone()
        {
            (sample, field) = above;
            self.filled_down.push(row.number);
        }
        if sample.is_empty() {
            self.wrong("it has no sample code.", "Write the code that stands on the envelope.");
        }
        let role = standards::role(&sample, &self.cell(row, Meaning::Role).written());
        self.above = Some((sample.clone(), field.clone()));
        let farm = self.cell(row, Meaning::Farm).written();
        if !farm.is_empty() && !field.is_empty() && !field.contains('/') {
            field = format!("{farm}/{field}");
        }
        let (year, date) = (self.cell(row, Meaning::Year).clone(), self.cell(row, Meaning::Date).clone());
        let day = cells::date(&date);
        if day.is_none() && !date.is_empty() {
            self.wrong(format!("“{}” is no day.", date.written()), "Write it as 2026-10-30.");
        }
        if cells::year(&year).is_none() && !year.is_empty() {
            self.wrong(format!("“{}” is no harvest year.", year.written()), "Write a year with four digits.");
        }
        let assay = self.word::<AssayKind>(row, Meaning::Assay);
        let measure = self.word::<Measure>(row, Meaning::Measure);
        Line {
            place: self.place.clone(),
            sample,
            role,
            field,
            year: cells::year(&year).or_else(|| day.map(cells::harvest_year)),
            date: day,
            assay,
            active: String::new(),
            group: String::new(),
            dose: None,
            measure,
            reduction: None,
            standard: None,
            se: None,
            n: None,
            lab_rating: None,
            laboratory: self.cell(row, Meaning::Laboratory).written(),
            comment: self.cell(row, Meaning::Comment).written(),
            treated: Vec::new(),
            untreated: Vec::new(),
        }
    }

    fn word<T: std::str::FromStr<Err = String>>(&mut self, row: &'a GridRow, meaning: Meaning) -> Option<T> {
        let text = self.cell(row, meaning).written();
        if text.is_empty() {
            return None;
        }
        text.parse().map_err(|why: String| self.wrong(format!("{}.", why.trim_end_matches('.')), "")).ok()
    }

    /// One active of a row. `of`: the columns it takes in a wide table.
    fn line(&mut self, row: &'a GridRow, line: Line, active: &str, of: Option<&'a Wide>) -> Option<Line> {
        let mut line = line;
        let values = Values { plan: self.plan, row, of };
        line.reduction = self.reduction(&values, &mut line.comment);
        line.standard = self.standard(&values);
        line.se = self.within(&values, Meaning::StandardError, 0.0, 100.0, "standard error in percentage points");
        line.n = self.within(&values, Meaning::Number, 1.0, 1e6, "number of plants or seeds").map(|n| n as u32);
        let rating = values.one(Meaning::LabRating).cloned().unwrap_or(Cell::Empty);
        if !rating.is_empty() && cells::number(&rating) != Number::NotTested {
            line.lab_rating = rating.written().parse().map_err(|why: String| self.wrong(format!("{why}."), "")).ok();
        }
        self.pots(&values, &mut line);
        let empty = line.reduction.is_none() && !line.is_raw();
        if of.is_some() && empty {
            let cell = values.one(Meaning::Reduction);
            self.not_tested += usize::from(cell.is_some_and(|cell| cells::number(cell) == Number::NotTested));
            if line.lab_rating.is_some() {
                let what = format!("it has a rating for {active}, but no percentage.");
                self.wrong(what, "Ask the laboratory for the reductions: a rating alone cannot be checked.");
            }
            return None;
        }
        if standards::is_untreated(active) && line.is_raw() {
            line.untreated.append(&mut line.treated);
            return Some(line);
        }
        active.clone_into(&mut line.active);
        match mode_of_action(active) {
            Some(mode) => mode.group.clone_into(&mut line.group),
            None => self.unknown_active(active),
        }
        if empty {
            let cell = values.one(Meaning::Reduction).cloned().unwrap_or(Cell::Empty);
            match cells::number(&cell) {
                Number::NotTested => {
                    self.not_tested += 1;
                    return None;
                }
                Number::Empty => self.wrong("reduction_percent is empty.", "Write the percentage, or leave the row out."),
                _ => {}
            }
        }
        Some(line)
    }

    fn unknown_active(&mut self, active: &str) {
        let all = modes_of_action().iter().flat_map(|mode| mode.actives.iter().copied());
        let hint = match near::like(active, all) {
            Some(like) => format!("Did you mean {like}?"),
            None => "Write the active ingredient's common name; join mixtures of one mode of action by +.".to_owned(),
        };
        self.wrong(format!("the mode of action of “{active}” is not known."), hint);
    }

    fn reduction(&mut self, values: &Values<'a>, comment: &mut String) -> Option<f64> {
        let cell = values.one(Meaning::Reduction)?;
        let read = cells::number(cell);
        if read == Number::Unreadable {
            let what = format!("“{}” in reduction_percent is no number.", cell.written());
            self.wrong(what, "Write the percentage without the sign.");
            return None;
        }
        let number = read.value()?;
        if !(LOWEST..=100.0 + ROUNDING).contains(&number) {
            let what = format!("reduction_percent is {number}; it must be at most 100 %.");
            self.wrong(what, "Correct it, or leave the row out.");
            return None;
        }
        if matches!(read, Number::Below(_) | Number::Above(_)) {
            let printed = format!("printed as {}", cell.written());
            *comment = if comment.is_empty() { printed } else { format!("{comment}; {printed}") };
        }
        Some(number.min(100.0))
    }

    fn standard(&mut self, values: &Values<'a>) -> Option<f64> {
        let cell = values.one(Meaning::StandardReduction).filter(|cell| !cell.is_empty())?;
        match cells::number(cell) {
            Number::Unreadable => {
                let what = format!("“{}” in standard_percent is no number.", cell.written());
                self.wrong(what, "Write the percentage without the sign.");
                None
            }
            read => {
                let number = read.value()?;
                if !(number > 0.0 && number <= 100.0) {
                    let what = format!("standard_percent is {number}; it must be above 0 and at most 100 %.");
                    self.wrong(what, "Correct it, or leave the row out.");
                    return None;
                }
                Some(number)
            }
        }
    }

    fn within(&mut self, values: &Values<'a>, meaning: Meaning, low: f64, high: f64, what: &str) -> Option<f64> {
        let cell = values.one(meaning).filter(|cell| !cell.is_empty())?;
        let read = cells::number(cell);
        let whole = meaning == Meaning::Number;
        let number = read.value().filter(|number| (low..=high).contains(number) && (!whole || number.fract() == 0.0));
        if number.is_none() && read != Number::NotTested {
            let hint = if whole { "Write a whole number, or nothing." } else { "Write 0 to 100, or nothing." };
            self.wrong(format!("“{}” is no {what}.", cell.written()), hint);
        }
        number
    }

    /// Counts and weights of the row.
    fn pots(&mut self, values: &Values<'a>, line: &mut Line) {
        let own = self.cell(values.row, Meaning::Replicate).written();
        let number = own.parse().ok();
        for (value, total, untreated) in [
            (Meaning::Alive, Meaning::Plants, false),
            (Meaning::Shoots, Meaning::Sown, false),
            (Meaning::Weight, Meaning::Plants, false),
            (Meaning::UntreatedAlive, Meaning::UntreatedPlants, true),
            (Meaning::UntreatedShoots, Meaning::UntreatedSown, true),
            (Meaning::UntreatedWeight, Meaning::UntreatedPlants, true),
        ] {
            for (replicate, cell) in values.all(value) {
                let Some(pot) = self.pot(values, value, total, replicate, cell) else { continue };
                let measure = value.measure();
                if line.measure.is_some() && line.measure != measure && line.is_raw() {
                    let hint = "Give counts and weights in files of their own, so that each gets its rating.";
                    self.wrong("it holds counts and weights.", hint);
                    return;
                }
                line.measure = measure.or(line.measure);
                let pots = if untreated { &mut line.untreated } else { &mut line.treated };
                pots.push((replicate.or(number), pot));
            }
        }
    }

    fn pot(
        &mut self,
        values: &Values<'a>,
        meaning: Meaning,
        total: Meaning,
        replicate: Option<u32>,
        cell: &Cell,
    ) -> Option<Replicate> {
        if let Some((value, of)) = cells::of(cell) {
            return self.checked(meaning, value, Some(of));
        }
        let value = match cells::number(cell) {
            Number::Empty | Number::NotTested => return None,
            Number::Exact(value) => value,
            _ => {
                self.wrong(
                    format!("“{}” in {} is no number.", cell.written(), meaning.heading()),
                    "Write the number alone.",
                );
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
        let dead = if meaning == Meaning::Alive { same_pot(Meaning::Dead) } else { None };
        if let Some(of) = of.or_else(|| dead.map(|dead| value + dead)) {
            return self.checked(meaning, value, Some(of));
        }
        let what = format!("{} is given, but not of how many.", meaning.heading());
        self.wrong(what, format!("Add a column {}, or --set {}=NUMBER.", total.heading(), total.heading()));
        None
    }

    fn checked(&mut self, meaning: Meaning, value: f64, of: Option<f64>) -> Option<Replicate> {
        if value < 0.0 || of.is_some_and(|of| value > of || of <= 0.0) {
            let written = of.map_or(format!("{value}"), |of| format!("{value} of {of}"));
            self.wrong(format!("{} is {written}.", meaning.heading()), "Correct the count or weight.");
            return None;
        }
        Some(Replicate { value, of })
    }
}

/// The cells of one active in a row.
struct Values<'a> {
    plan: &'a Plan,
    row: &'a GridRow,
    of: Option<&'a Wide>,
}

impl<'a> Values<'a> {
    /// Cells of a meaning with the number of the pot: the active's own columns, else those of the whole row, else the constant.
    fn all(&self, meaning: Meaning) -> impl Iterator<Item = (Option<u32>, &'a Cell)> + use<'a> {
        let (plan, row) = (self.plan, self.row);
        let of_meaning = move |own: Option<&'a Wide>| {
            let columns = plan.columns.iter().enumerate();
            columns
                .filter(move |(_, column)| {
                    let active = own.map(|(active, _)| active);
                    let dose = own.and_then(|(_, dose)| dose.as_ref());
                    column.meaning == Some(meaning) && column.active.as_ref() == active && column.dose.as_ref() == dose
                })
                .map(move |(index, column)| (column.replicate, row.cell(index)))
                .collect::<Vec<_>>()
        };
        let mut found = self.of.map(|of| of_meaning(Some(of))).unwrap_or_default();
        if found.is_empty() {
            found = of_meaning(None);
        }
        if found.is_empty() {
            found.extend(plan.constants.iter().filter(|(constant, _)| *constant == meaning).map(|(_, cell)| (None, cell)));
        }
        found.into_iter()
    }

    fn one(&self, meaning: Meaning) -> Option<&'a Cell> {
        self.all(meaning).next().map(|(_, cell)| cell)
    }
}

/// Lower case, parts joined by "+" without blanks.
fn plain_active(text: &str) -> String {
    text.split('+').map(|part| part.trim().to_lowercase()).collect::<Vec<_>>().join("+")
}
