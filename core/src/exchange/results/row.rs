//! A row of a laboratory's table as one line for each active in it: cells read and checked, without a look at the records.

use std::collections::BTreeMap;

use jiff::civil::Date;

use crate::exchange::near;
use crate::exchange::results::actives::active_of_cell;
use crate::exchange::results::cells::{self, Number};
use crate::exchange::results::layout::Plan;
use crate::exchange::results::meaning::Meaning;
use crate::exchange::results::standards;
use crate::exchange::row_errors::RowErrors;
use crate::formats::{Cell, Grid, GridRow};
use crate::model::{AssayKind, Measure, Rating, Replicate, StandardRole, group_of, modes_of_action};

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
    /// The day the seed was taken.
    pub taken: Option<Date>,
    pub assay: Option<AssayKind>,
    /// Lower case; empty: untreated pots in a row of their own.
    pub active: String,
    pub group: String,
    pub dose: Option<String>,
    pub measure: Option<Measure>,
    pub reduction: Option<f64>,
    /// Number of the pot or dish, where percentages stand pot by pot; and the percentages.
    pub replicate: Option<u32>,
    pub shares: Vec<f64>,
    pub standard: Option<f64>,
    pub se: Option<f64>,
    pub n: Option<u32>,
    pub lab_rating: Option<Rating>,
    pub laboratory: String,
    pub comment: String,
    pub treated: Pots,
    pub untreated: Pots,
    /// Untreated pots of this active alone: its dose is 0.
    pub at_dose_0: bool,
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
    /// Codes in the file, lower case, that stand for known ones.
    pub same: &'a BTreeMap<String, String>,
    pub errors: &'a mut RowErrors<'b>,
    /// Rows of the cells that say a test was not made.
    pub not_tested: Vec<usize>,
    /// Rows of finished percentages at dose 0: untreated plants, not a result.
    pub at_dose_0: Vec<usize>,
    /// Pots without a count or weight.
    pub missing_pots: usize,
    /// Rows whose sample stands in a row above: merged cells that came apart.
    pub filled_down: Vec<usize>,
    above: Option<(String, String)>,
    pub sound: bool,
    place: String,
}

impl<'a, 'b> Reader<'a, 'b> {
    pub fn new(
        grid: &'a Grid,
        plan: &'a Plan,
        wide: &'a [Wide],
        same: &'a BTreeMap<String, String>,
        errors: &'a mut RowErrors<'b>,
    ) -> Self {
        let (not_tested, at_dose_0, filled_down, place) = (Vec::new(), Vec::new(), Vec::new(), String::new());
        let (missing_pots, above, sound) = (0, None, true);
        Self { grid, plan, wide, same, errors, not_tested, at_dose_0, missing_pots, filled_down, above, sound, place }
    }

    pub fn wrong(&mut self, what: impl Into<String>, hint: impl Into<String>) {
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
            let written = self.cell(row, Meaning::Active).written();
            let (active, beside) = active_of_cell(&written).unwrap_or_else(|| (plain_active(&written), None));
            let dose = self.cell(row, Meaning::Dose).written();
            let line = Line { dose: if dose.is_empty() { beside } else { Some(dose) }, ..whole };
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
        // What no eye sees would keep a code from meeting its sample.
        let mut sample = self.cell(row, Meaning::Sample).written().replace('\0', "");
        let mut field = self.cell(row, Meaning::Field).written();
        if sample.is_empty()
            && field.is_empty()
            && let Some(above) = self.above.clone()
        {
            (sample, field) = above;
            self.filled_down.push(row.number);
        }
        if let Some(known) = self.same.get(&sample.to_lowercase()) {
            sample.clone_from(known);
        }
        if sample.is_empty() {
            self.wrong("it has no sample code.", "Write the code that stands on the envelope.");
        }
        let role = standards::role(&sample, &self.cell(row, Meaning::Role).written())
            .or_else(|| standards::letter(&sample).filter(|_| field.is_empty()));
        self.above = Some((sample.clone(), field.clone()));
        let farm = self.cell(row, Meaning::Farm).written();
        if !farm.is_empty() && !field.is_empty() && !field.contains('/') {
            field = format!("{farm}/{field}");
        }
        let (year, date) = (self.cell(row, Meaning::Year).clone(), self.cell(row, Meaning::Date).clone());
        let taken = self.cell(row, Meaning::Taken).clone();
        let (day, taken_on) = (cells::date(&date), cells::date(&taken));
        if taken_on.is_none() && !taken.is_empty() {
            self.wrong(format!("“{}” is no day.", taken.written()), "Write it as 2026-07-14.");
        }
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
            year: cells::year(&year)
                .or_else(|| taken_on.map(|day| i32::from(day.year())))
                .or_else(|| day.map(cells::harvest_year)),
            date: day,
            taken: taken_on,
            assay,
            active: String::new(),
            group: String::new(),
            dose: None,
            measure,
            reduction: None,
            replicate: cells::whole(self.cell(row, Meaning::Replicate)),
            shares: Vec::new(),
            standard: None,
            se: None,
            n: None,
            lab_rating: None,
            laboratory: self.cell(row, Meaning::Laboratory).written(),
            comment: self.cell(row, Meaning::Comment).written(),
            treated: Vec::new(),
            untreated: Vec::new(),
            at_dose_0: false,
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
        // At dose 0 plants are untreated, the standard's too.
        let at_dose_0 = line.dose.as_deref().and_then(crate::rating::amount) == Some(0.0);
        line.standard = if at_dose_0 { None } else { self.standard(&values) };
        line.se = self.within(&values, Meaning::StandardError, 0.0, 100.0, "standard error in percentage points");
        line.n = self.within(&values, Meaning::Number, 1.0, 1e6, "number of plants or seeds").map(|n| n as u32);
        self.lab_rating(&values, &mut line);
        let pots_there = self.pots(&values, &mut line);
        let empty = line.reduction.is_none() && !line.is_raw();
        if standards::is_untreated(active) && (line.is_raw() || pots_there) {
            line.untreated.append(&mut line.treated);
            return line.is_raw().then_some(line);
        }
        // A rating without a percentage is kept as the laboratory's; a standard is known by its figures alone.
        let rated_only = empty && line.lab_rating.is_some() && line.role.is_none();
        if of.is_some() && empty && !rated_only {
            let cell = values.one(Meaning::Reduction);
            self.not_tested.extend(cell.filter(|cell| cells::number(cell) == Number::NotTested).map(|_| row.number));
            return None;
        }
        active.clone_into(&mut line.active);
        match group_of(active) {
            Some(group) => line.group = group,
            None => self.unknown_active(active),
        }
        if at_dose_0 {
            line.untreated.append(&mut line.treated);
            (line.at_dose_0, line.dose) = (true, None);
            self.at_dose_0.extend(if line.is_raw() { None } else { Some(row.number) });
            return line.is_raw().then_some(line);
        }
        if empty && !rated_only {
            let cell = values.one(Meaning::Reduction).cloned().unwrap_or(Cell::Empty);
            match cells::number(&cell) {
                Number::NotTested => {
                    self.not_tested.push(row.number);
                    return None;
                }
                // A pot that was lost, or a standard with a rating alone.
                Number::Empty if pots_there || line.lab_rating.is_some() => return None,
                Number::Empty => {
                    let hint = "Write the percentage, or the laboratory's rating; or leave the row out.";
                    self.wrong("reduction_percent is empty.", hint);
                }
                _ => {}
            }
        }
        Some(line)
    }

    /// The laboratory's rating; what is not of the scale is kept as a remark.
    fn lab_rating(&mut self, values: &Values<'a>, line: &mut Line) {
        let cell = values.one(Meaning::LabRating).cloned().unwrap_or(Cell::Empty);
        let written = cell.written();
        line.lab_rating = written.parse().ok().or_else(|| cells::stars(&written));
        if cell.is_empty() || line.lab_rating.is_none() && cells::number(&cell) == Number::NotTested {
            return;
        }
        let (said, remark) = match line.lab_rating {
            Some(_) if written.parse::<Rating>().is_ok() => return,
            Some(rating) => {
                (format!("the rating “{written}” of the old scheme is read as {}.", rating.label()), String::new())
            }
            None => (format!("the rating “{written}” is not S, R?, RR or RRR."), " It is kept as a remark.".to_owned()),
        };
        self.errors.problems.warning(&self.place, format!("{said}{remark}"), "Ask the laboratory which scale it used.");
        add_remark(&mut line.comment, &format!("laboratory's rating: {written}"));
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
        let cell = values.one(Meaning::Reduction).filter(|cell| !cell.is_empty());
        let Some(cell) = cell else { return self.surviving(values, comment) };
        let read = cells::number(cell);
        if read == Number::Unreadable {
            let what = format!("“{}” in reduction_percent is no number.", cell.written());
            let hint = match cell.written().parse::<Rating>() {
                Ok(_) => "It is a rating: write ratings into a column of their own, headed “rating”.",
                Err(_) => "Write the percentage without the sign.",
            };
            self.wrong(what, hint);
            return None;
        }
        let number = read.value()?;
        if !(LOWEST..=100.0 + ROUNDING).contains(&number) {
            let what = format!("reduction_percent is {number}; it must lie between {LOWEST} and 100 %.");
            self.wrong(what, "Correct it, or leave the row out.");
            return None;
        }
        if !matches!(read, Number::Exact(_)) {
            add_remark(comment, &format!("printed as {}", cell.written()));
        }
        Some(number.min(100.0))
    }

    /// The reduction of what is printed as left of untreated, %.
    fn surviving(&mut self, values: &Values<'a>, comment: &mut String) -> Option<f64> {
        let cell = values.one(Meaning::Surviving).filter(|cell| !cell.is_empty())?;
        let read = cells::number(cell);
        let number = read.value().filter(|number| (0.0..=100.0 - LOWEST).contains(number));
        if number.is_none() && read != Number::NotTested {
            let what = format!("“{}” in surviving_percent is no percentage of untreated.", cell.written());
            self.wrong(what, "Write what is left of untreated, 0 or more, in %.");
        }
        add_remark(comment, &format!("printed as {} % of untreated", cell.written().trim_end_matches(['%', ' '])));
        number.map(|number| 100.0 - number)
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
                // A standard that was not controlled is kept: it says that the test has to be repeated.
                if !(LOWEST..=100.0 + ROUNDING).contains(&number) {
                    let what = format!("standard_percent is {number}; it must lie between {LOWEST} and 100 %.");
                    self.wrong(what, "Correct it, or leave the cell empty: then there is no rating of ours.");
                    return None;
                }
                Some(number.min(100.0))
            }
        }
    }

    fn within(&mut self, values: &Values<'a>, meaning: Meaning, low: f64, high: f64, what: &str) -> Option<f64> {
        let cell = values.one(meaning).filter(|cell| !cell.is_empty())?;
        let read = cells::number(cell);
        let whole = meaning == Meaning::Number;
        let number = read.value().filter(|_| !matches!(read, Number::Between(..)));
        let number = number.filter(|number| (low..=high).contains(number) && (!whole || number.fract() == 0.0));
        if number.is_none() && read != Number::NotTested {
            let hint = if whole { "Write a whole number, or nothing." } else { "Write 0 to 100, or nothing." };
            self.wrong(format!("“{}” is no {what}.", cell.written()), hint);
        }
        number
    }
}

/// Adds to the remarks of a result.
fn add_remark(comment: &mut String, remark: &str) {
    if !comment.contains(remark) {
        *comment = if comment.is_empty() { remark.to_owned() } else { format!("{comment}; {remark}") };
    }
}

/// The cells of one active in a row.
pub(super) struct Values<'a> {
    plan: &'a Plan,
    pub row: &'a GridRow,
    of: Option<&'a Wide>,
}

impl<'a> Values<'a> {
    /// Cells of a meaning with the number of the pot: the active's own columns, else those of the whole row, else the constant.
    pub fn all(&self, meaning: Meaning) -> impl Iterator<Item = (Option<u32>, &'a Cell)> + use<'a> {
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

    /// How many each pot held, by the heading of a column.
    pub fn of_heading(&self, meaning: Meaning) -> Option<f64> {
        let active = self.of.map(|(active, _)| active);
        let own = self.plan.columns.iter().filter(|column| column.meaning == Some(meaning));
        own.filter(|column| column.active.as_ref() == active || column.active.is_none()).find_map(|column| column.of)
    }

    fn one(&self, meaning: Meaning) -> Option<&'a Cell> {
        self.all(meaning).next().map(|(_, cell)| cell)
    }
}

/// Lower case, parts joined by "+" without blanks.
fn plain_active(text: &str) -> String {
    text.split('+').map(|part| part.trim().to_lowercase()).collect::<Vec<_>>().join("+")
}
