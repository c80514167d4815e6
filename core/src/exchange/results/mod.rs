//! Test results: a laboratory's table to samples, assays, standards and results.
//!
//! CSV or XLSX; one row a result, one row a sample with columns for each active, or one row a pot; headings in any order and in
//! many words, under titles; standards as rows. Steps: [`layout`] says what the columns mean, [`row`] reads cells, [`pots`]
//! joins pots, [`place`] finds field and sample, [`writer`] makes the records.

mod actives;
mod aside;
mod blocks;
pub(in crate::exchange) mod cells;
mod counts;
mod headings;
mod layout;
pub(in crate::exchange) mod meaning;
pub(in crate::exchange) mod place;
mod pots;
mod preview;
mod row;
mod settle;
mod standards;
mod turned;
mod writer;

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use crate::exchange::row_errors::RowErrors;
use crate::exchange::{Import, ImportError};
use crate::formats::{self, Cell, Grid, GridRow};
use crate::model::{AssayKind, FieldId, Measure, Record, Records, same_name};
use crate::problem::Problems;
use crate::progress::{Progress, Quiet};
use crate::units::count;

pub use layout::Column;
pub use meaning::Meaning;
pub use preview::{Preview, preview};

use blocks::Block;
use layout::Plan;
use place::{Known, Near};
use row::{Line, Reader};
use writer::Writer;

/// Reads test results. `map` says what columns mean: (column in the file, heading that Awn knows); ("=value", heading) gives a
/// value for the whole file, ("=name", "sheet") the sheet of a workbook, and (code in the file, "=code") the sample that a code which
/// nearly matches stands for. A `map` without columns takes the one that was given for the same headings before.
///
/// The same sample, active and kind of assay (and dose or measure, if the file has several) that is there already is replaced.
pub fn results(
    records: &Records,
    file: &Path,
    map: &[(String, String)],
    problems: &mut Problems,
    progress: &dyn Progress,
) -> Result<Import, ImportError> {
    let (blocks, _) = understood(records, file, map, problems)?;
    imported(records, file, map, &blocks, &mut Near::default(), problems, progress)
}

/// Reads one result typed in: what it is of, and the text. Pots are written one after the other: "2/6, 3/6" or "4.1, 3.8".
pub fn typed(records: &Records, entry: &[(Meaning, String)], problems: &mut Problems) -> Result<Import, ImportError> {
    let (mut headings, mut cells) = (Vec::new(), Vec::new());
    for (meaning, text) in entry.iter().filter(|(_, text)| !text.trim().is_empty()) {
        let parts: Vec<&str> = match meaning.measure() {
            // Between semicolons a comma is a decimal mark.
            Some(_) => {
                let mark = if text.contains(';') { ';' } else { ',' };
                text.split(mark).map(str::trim).filter(|part| !part.is_empty()).collect()
            }
            None => vec![text.trim()],
        };
        for (number, part) in (1..).zip(&parts) {
            let several = parts.len() > 1;
            headings.push(Cell::text(&if several {
                format!("{} {number}", meaning.heading())
            } else {
                meaning.heading().into()
            }));
            cells.push(Cell::text(part));
        }
    }
    let rows = vec![GridRow { number: 1, cells: headings }, GridRow { number: 2, cells }];
    let grid = Grid { name: TYPED.to_owned(), sheet: String::new(), rows };
    let mut columns = layout::columns(&grid, 0);
    layout::once_each(&mut columns);
    let plan = Plan { heading: 0, columns, constants: Vec::new(), remembered: false };
    missing(&grid, &plan, problems);
    if problems.has_errors() {
        return Err(ImportError::Problems);
    }
    imported(records, Path::new(TYPED), &[], &[Block { grid, plan }], &mut Near::default(), problems, &Quiet)
}

/// Where a typed result comes from.
const TYPED: &str = "typed in";

fn imported(
    records: &Records,
    file: &Path,
    map: &[(String, String)],
    blocks: &[Block],
    near: &mut Near,
    problems: &mut Problems,
    progress: &dyn Progress,
) -> Result<Import, ImportError> {
    let name = blocks.first().map_or_else(String::new, |block| block.grid.name.clone());
    let mut errors = RowErrors::new(&name, problems);
    let known = Known::of(records);
    let mut import = Rows::new(records, &known, blocks, map);
    for block in blocks {
        import.read(block, &mut errors, progress)?;
    }
    let (command, skipped) = import.write(file, map, &mut errors);
    let Writer { edit, added, updated, samples, standards, without_standard, rated_only, near: found, .. } = command;
    *near = found;
    errors.finish()?;
    if rated_only > 0 {
        let what = format!("{} with the laboratory's rating and no percentage.", count(rated_only, "result"));
        let hint =
            "They are kept as the laboratory's ratings, not worked out by us. Ask for the reductions and the standard.";
        problems.warning(&name, what, hint);
    }
    if !without_standard.is_empty() {
        let actives = without_standard.into_iter().collect::<Vec<_>>().join(", ");
        let what = format!("no susceptible standard stands beside the results for {actives}, so these get no rating.");
        problems.warning(&name, what, "Ask the laboratory for its standard, and import the table again with it.");
    }
    let results = count(added + updated, "result");
    let mut summary = vec![format!("{name}: {results} of {}", count(samples.len(), "sample"))];
    if !standards.is_empty() {
        summary.push(format!("Standards: {}", count(standards.len(), "row")));
    }
    if blocks.iter().any(|block| block.plan.remembered) {
        summary.push("Columns read as the last time for a table with these headings".to_owned());
    }
    Ok(Import { added, updated, skipped, summary, ..Import::of(edit.done()) })
}

/// The sheet that is read, and all sheets that are there.
fn sheet(file: &Path, map: &[(String, String)], problems: &mut Problems) -> Result<(Grid, Vec<String>), ImportError> {
    let mut sheets = formats::sheets(file, problems).filter(|_| !problems.has_errors()).ok_or(ImportError::Problems)?;
    let names: Vec<String> = sheets.iter().map(|grid| grid.sheet.clone()).collect();
    let wanted = map.iter().find(|entry| !layout::is_column(entry) && entry.0.starts_with('=') && !entry.1.starts_with('='));
    let best = match wanted.map(|(name, _)| name.trim_start_matches('=').trim()) {
        None => layout::best_sheet(&sheets),
        Some(wanted) => {
            let Some(at) = names.iter().position(|name| same_name(name, wanted)) else {
                let what = format!("there is no visible sheet “{wanted}”.");
                problems.error(file.display().to_string(), what, format!("Its sheets are: {}.", names.join(", ")));
                return Err(ImportError::Problems);
            };
            at
        }
    };
    if sheets.len() > 1 {
        let others: Vec<&str> =
            sheets.iter().enumerate().filter(|(at, _)| *at != best).map(|(_, grid)| grid.sheet.as_str()).collect();
        let what = format!("the sheet {} is read; not {}.", sheets[best].sheet, others.join(", "));
        problems.note(&sheets[best].name, what, "Another sheet is read by choosing it in the form, or by --set sheet=NAME.");
    }
    Ok((sheets.swap_remove(best), names))
}

/// The tables of the sheet with what their columns mean, one or several below each other; and the names of all sheets.
fn understood(
    records: &Records,
    file: &Path,
    map: &[(String, String)],
    problems: &mut Problems,
) -> Result<(Vec<Block>, Vec<String>), ImportError> {
    let (grid, sheets) = sheet(file, map, problems)?;
    let grid = turned::upright(records, grid, map, problems);
    let blocks = blocks::blocks(records, grid, map, problems)?;
    for Block { grid, plan } in &blocks {
        missing(grid, plan, problems);
        if grid.rows.len() <= plan.heading + 1 {
            problems.error(&grid.name, "it has a heading, but no rows.", "Check that the file came over whole.");
        }
    }
    if problems.has_errors() { Err(ImportError::Problems) } else { Ok((blocks, sheets)) }
}

/// Names the columns without which nothing can be read.
fn missing(grid: &Grid, plan: &Plan, problems: &mut Problems) {
    for meaning in plan.lacking() {
        let heading = meaning.heading();
        let names = plan.columns.iter().map(|column| column.name.as_str());
        let like = super::near::like(heading, names).unwrap_or("COLUMN");
        let hint = format!("Rename the column that holds it, or give --map \"{like}={heading}\".");
        problems.error(&grid.name, format!("the column {heading} is missing."), hint);
    }
}

/// The rows of a table on their way to records.
struct Rows<'a> {
    records: &'a Records,
    known: &'a Known<'a>,
    /// Codes in the file that stand for known ones, lower case.
    same: BTreeMap<String, String>,
    blocks: &'a [Block],
    lines: Vec<Line>,
    skipped: usize,
}

impl<'a> Rows<'a> {
    fn new(records: &'a Records, known: &'a Known<'a>, blocks: &'a [Block], map: &[(String, String)]) -> Self {
        let same =
            map.iter().filter_map(|(code, of)| Some((code.trim().to_lowercase(), of.strip_prefix('=')?.trim().to_owned())));
        Self { records, known, same: same.collect(), blocks, lines: Vec::new(), skipped: 0 }
    }

    fn read(
        &mut self,
        Block { grid, plan }: &Block,
        errors: &mut RowErrors<'_>,
        progress: &dyn Progress,
    ) -> Result<(), ImportError> {
        let rows = grid.rows.get(plan.heading + 1..).unwrap_or_default();
        let heading = grid.rows.get(plan.heading);
        let mut seen: BTreeMap<String, usize> = BTreeMap::new();
        let mut notes = Vec::new();
        let wide = plan.wide();
        let mut reader = Reader::new(grid, plan, &wide, &self.same, errors);
        for (index, row) in rows.iter().enumerate() {
            if index % 256 == 0 {
                progress.check(index, rows.len())?;
            }
            let same_heading = heading.is_some_and(|heading| heading.cells == row.cells);
            if same_heading || aside::is_aside(plan, row, index == 0) {
                notes.push(row.number);
                continue;
            }
            let written = format!("{:?}", row.cells);
            let numbered = !plan.cell(row, Meaning::Replicate).is_empty();
            let pot = !numbered && plan.has_counts();
            if let Some(first) = seen.insert(written, row.number).filter(|_| !pot) {
                let what = format!("it repeats row {first} and is read once.");
                reader.errors.problems.note(grid.place(row), what, "");
                self.skipped += 1;
                continue;
            }
            self.lines.extend(reader.lines(row));
        }
        self.skipped += notes.len() + reader.not_tested.len() + reader.at_dose_0.len();
        let missing_pots = reader.missing_pots;
        let [not_tested, at_dose_0, filled] =
            [&mut reader.not_tested, &mut reader.at_dose_0, &mut reader.filled_down].map(std::mem::take);
        let name = &grid.name;
        let numbers = |rows: &[usize]| rows.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ");
        if !notes.is_empty() {
            let what = format!("these rows hold no result and are not read: {}.", numbers(&notes));
            errors.problems.note(name, what, "");
        }
        if !not_tested.is_empty() {
            let what = format!("{} without a test, in rows {}.", count(not_tested.len(), "cell"), numbers(&not_tested));
            errors.problems.note(name, what, "");
        }
        if !at_dose_0.is_empty() {
            let what = format!("rows at dose 0 are of untreated plants and are no results: {}.", numbers(&at_dose_0));
            errors.problems.note(name, what, "");
        }
        if missing_pots > 0 {
            let what = format!("{} without a count or weight.", count(missing_pots, "pot"));
            errors.problems.note(name, what, "The result is worked out from the others.");
        }
        if !filled.is_empty() {
            let what = format!("rows without a sample are read as of the sample above: {}.", numbers(&filled));
            errors.problems.warning(name, what, "Check that this is meant, or write the code in every row.");
        }
        Ok(())
    }

    fn write(mut self, file: &Path, map: &[(String, String)], errors: &mut RowErrors<'_>) -> (Writer<'a>, usize) {
        self.fractions(errors);
        let lines = pots::together(std::mem::take(&mut self.lines), errors);
        let (standards, samples): (Vec<Line>, Vec<Line>) = lines.into_iter().partition(|line| line.role.is_some());
        let mut near = Near::default();
        let mut placed: Vec<(Line, (FieldId, i32), AssayKind)> = Vec::new();
        for line in samples {
            let place = place::place(self.known, &line, &mut near, errors);
            let kind = self.kind(&line, file, errors);
            if let (Some(place), Some(kind)) = (place, kind) {
                placed.push((line, place, kind));
            }
        }
        let source = file.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
        let mut variants: BTreeMap<_, BTreeSet<(Option<String>, Option<Measure>)>> = BTreeMap::new();
        let key = |line: &Line, kind: AssayKind| (line.sample.to_lowercase(), line.active.clone(), kind);
        for (line, _, kind) in &placed {
            variants.entry(key(line, *kind)).or_default().insert((line.dose.clone(), line.measure));
        }
        let several =
            |line: &Line, kind: AssayKind| variants.get(&key(line, kind)).is_some_and(|variants| variants.len() > 1);
        let mut writer = Writer::new(self.records, self.known, &source);
        writer.near = near;
        writer.adopt(
            placed.iter().map(|(line, (_, year), kind)| (line, *year, *kind, several(line, *kind))),
            !standards.is_empty(),
        );
        for line in standards {
            let Some(kind) = self.kind(&line, file, errors) else { continue };
            // A standard speaks for the samples of its kind of assay, in each of their years, days and laboratories that it
            // does not name itself.
            let beside: BTreeSet<_> = placed
                .iter()
                .filter(|(other, (_, year), of_kind)| {
                    *of_kind == kind
                        && line.year.is_none_or(|named| named == *year)
                        && line.date.is_none_or(|named| other.date.is_none_or(|date| date == named))
                })
                .map(|(other, (_, year), _)| (*year, other.date, other.laboratory.clone()))
                .collect();
            for (year, date, laboratory) in beside {
                writer.put_standard(&Line { date, laboratory, ..line.clone() }, kind, year);
            }
        }
        for (line, place, kind) in &placed {
            writer.put(line, *place, *kind, several(line, *kind), errors);
        }
        writer.finish(errors);
        if placed.is_empty() && errors.is_clean() {
            let hint = "Give a table with at least one sample and its reductions or counts.";
            errors.add(self.name(), "no result was found in it.", hint);
        }
        if let Some(Block { plan, .. }) = self.blocks.first().filter(|_| map.iter().any(layout::is_column)) {
            let layout = layout::remembered(plan, map);
            let mut settings = self.records.settings.clone();
            settings.results.layouts.retain(|held| held.headings != layout.headings);
            settings.results.layouts.push(layout);
            writer.edit.put(Record::Settings(settings));
        }
        (writer, self.skipped)
    }

    fn name(&self) -> String {
        self.blocks.first().map_or_else(String::new, |block| block.grid.name.clone())
    }

    /// Fractions in place of percentages would all be rated as the worst resistance.
    fn fractions(&self, errors: &mut RowErrors<'_>) {
        // A standard of 0 or less was not controlled: that is no fraction.
        let share = |values: Vec<f64>| values.iter().any(|value| *value > 0.0) && values.iter().all(|value| *value <= 1.0);
        let standards: Vec<f64> = self.lines.iter().filter_map(|line| line.standard).collect();
        let rows = self.lines.iter().filter(|line| line.role.is_some());
        let rows: Vec<f64> = rows.filter(|line| !line.is_raw()).filter_map(|line| line.reduction).collect();
        let samples = self.lines.iter().filter(|line| line.role.is_none() && !line.is_raw());
        let samples: Vec<f64> = samples.filter_map(|line| line.reduction).collect();
        let no_standard = standards.is_empty() && rows.is_empty();
        // Several values between 0 and 1, and none above.
        let parts = samples.iter().filter(|value| value.fract() != 0.0).count() > 1 && share(samples);
        if share(standards) || share(rows) || no_standard && parts {
            let what = "every percentage of a standard, or of all samples, is 1 or less: these look like fractions.";
            errors.add(self.name(), what, "Write percentages from 0 to 100.");
        }
    }

    /// Petri or pot: as written, or by what was counted, or by the file's name and title.
    fn kind(&self, line: &Line, file: &Path, errors: &mut RowErrors<'_>) -> Option<AssayKind> {
        let by_measure = line.measure.map(|measure| match measure {
            Measure::Shoots => AssayKind::Petri,
            Measure::Survival | Measure::FreshWeight => AssayKind::Pot,
        });
        let found = line.assay.or(by_measure).or_else(|| self.kind_by_title(file));
        if found.is_none() {
            let hint = "Add a column assay, or give it for the whole file: --set assay=pot.";
            errors.add(line.place.clone(), "it does not say whether it is a petri or a pot test.", hint);
        }
        found
    }

    fn kind_by_title(&self, file: &Path) -> Option<AssayKind> {
        let rows = self.blocks.iter().flat_map(|block| block.grid.rows.iter().take(block.plan.heading));
        let titles = rows.flat_map(|row| row.cells.iter());
        let mut words: Vec<String> = titles.map(|cell| cell.written().to_lowercase()).collect();
        words.extend(self.blocks.first().map(|block| block.grid.sheet.to_lowercase()));
        words.extend(file.file_stem().map(|stem| stem.to_string_lossy().to_lowercase()));
        let says = |wanted: &[&str]| {
            words.iter().any(|text| text.split(|c: char| !c.is_alphanumeric()).any(|word| wanted.contains(&word)))
        };
        match (says(&["petri", "dish", "dishes"]), says(&["pot", "pots", "glasshouse"])) {
            (true, false) => Some(AssayKind::Petri),
            (false, true) => Some(AssayKind::Pot),
            _ => None,
        }
    }
}

impl Plan {
    fn has_counts(&self) -> bool {
        self.columns.iter().any(|column| column.meaning.and_then(Meaning::measure).is_some())
    }
}
