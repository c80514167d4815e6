//! Sprays, crops and spray programmes: a table, pasted or from a file, to records.
//!
//! CSV, XLSX or text from a spreadsheet; headings in any order and in other words; what columns are read as can be given and is
//! remembered. [`layout`] says what the columns mean, [`cells`] reads doses and money, [`rows`] makes records of rows.

mod cells;
mod layout;
mod rows;

use std::path::PathBuf;

use crate::exchange::results::meaning::plain;
use crate::exchange::row_errors::RowErrors;
use crate::exchange::{Import, ImportError};
use crate::formats::{self, Cell, Grid, GridRow};
use crate::model::{Programme, ProgrammeId, Record, Records};
use crate::problem::Problems;
use crate::progress::{Progress, Quiet};
use crate::units::count;

use layout::Layout;
pub use layout::TableColumn;
use rows::Writer;

/// What a table holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Treatment {
    /// Herbicide passes.
    Sprays,
    /// Crops with drilling and cultivation.
    Crops,
    /// Steps of spray programmes.
    Programmes,
}

impl Treatment {
    /// Every kind.
    pub const ALL: [Self; 3] = [Self::Sprays, Self::Crops, Self::Programmes];

    /// The word for one row of it.
    pub fn noun(self) -> &'static str {
        match self {
            Self::Sprays => "spray",
            Self::Crops => "crop",
            Self::Programmes => "programme",
        }
    }
}

/// Where a table comes from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum TreatmentSource {
    /// A CSV or XLSX file.
    File(PathBuf),
    /// Text that was pasted, its first line the headings.
    Text(String),
}

/// Reads a table. `map` says what columns mean: (column of the table, heading that Awn knows); ("=value", heading) gives a value
/// for all rows. An empty `map` takes the one that was given for the same headings before.
///
/// A spray of the same field, harvest, day, active and growth stage is replaced, as are a field's crop of a harvest and a
/// programme of the same name.
pub fn treatments(
    records: &Records,
    kind: Treatment,
    source: &TreatmentSource,
    map: &[(String, String)],
    problems: &mut Problems,
    progress: &dyn Progress,
) -> Result<Import, ImportError> {
    let (grid, layout) = understood(records, kind, source, map, problems)?;
    imported(records, kind, map, (&grid, &layout), problems, progress)
}

/// Reads one row that was typed: heading and text.
pub fn typed_treatment(
    records: &Records,
    kind: Treatment,
    entry: &[(&str, String)],
    problems: &mut Problems,
) -> Result<Import, ImportError> {
    let filled: Vec<_> = entry.iter().filter(|(_, text)| !text.trim().is_empty()).collect();
    let row = |number, cells| GridRow { number, cells };
    let headings = row(1, filled.iter().map(|(heading, _)| Cell::text(heading)).collect());
    let cells = row(2, filled.iter().map(|(_, text)| Cell::text(text)).collect());
    let grid = Grid { name: "typed in".to_owned(), sheet: String::new(), rows: vec![headings, cells] };
    let layout = Layout::plain(kind, &grid, 0);
    layout.missing(&grid, problems);
    if problems.has_errors() {
        return Err(ImportError::Problems);
    }
    imported(records, kind, &[], (&grid, &layout), problems, &Quiet)
}

/// A programme from its steps as typed, checked as a table's rows are. `steps`: timing, active, dose with its unit, control (low-
/// likely-high, or one figure), cost a hectare. The result has the identifier given, or that of the programme of this name.
pub fn typed_programme(
    records: &Records,
    id: Option<ProgrammeId>,
    [name, crop, note]: [&str; 3],
    steps: &[[String; 5]],
    problems: &mut Problems,
) -> Option<Programme> {
    let headings = ["programme", "crop", "note", "timing", "active", "dose", "control_likely", "cost_per_ha"];
    let mut rows = vec![GridRow { number: 0, cells: headings.map(Cell::text).to_vec() }];
    for (number, step) in (1..).zip(steps) {
        let cells = [name, crop, note].into_iter().chain(step.iter().map(String::as_str)).map(Cell::text).collect();
        rows.push(GridRow { number, cells });
    }
    let grid = Grid { name: "step".to_owned(), sheet: String::new(), rows };
    let taken = records.programme_named(name).filter(|held| id.is_some_and(|id| id != held.id));
    if let Some(taken) = taken {
        problems.error(name, format!("there is a programme “{}” already.", taken.name), "Give it another name.");
    }
    if name.trim().is_empty() {
        problems.error("programme", "it has no name.", "Write one, such as the crop and what is special about it.");
    }
    if steps.is_empty() {
        problems.error(name, "it has no step.", "Add at least one.");
    }
    if problems.has_errors() {
        return None;
    }
    let layout = Layout::plain(Treatment::Programmes, &grid, 0);
    let import = imported(records, Treatment::Programmes, &[], (&grid, &layout), problems, &Quiet).ok()?;
    import.command.changes.into_iter().find_map(|change| match change.after {
        Some(Record::Programme(programme)) => Some(Programme { id: id.unwrap_or(programme.id), ..programme }),
        _ => None,
    })
}

fn understood(
    records: &Records,
    kind: Treatment,
    source: &TreatmentSource,
    map: &[(String, String)],
    problems: &mut Problems,
) -> Result<(Grid, Layout), ImportError> {
    let grid = grid(kind, source, problems).filter(|_| !problems.has_errors()).ok_or(ImportError::Problems)?;
    let layout = Layout::of(records, kind, &grid, map, problems);
    layout.missing(&grid, problems);
    if grid.rows.len() <= layout.heading + 1 && !problems.has_errors() {
        problems.error(&grid.name, "it has a heading, but no rows.", "Check that all of it came over.");
    }
    if problems.has_errors() { Err(ImportError::Problems) } else { Ok((grid, layout)) }
}

/// The sheet whose headings are best understood.
fn grid(kind: Treatment, source: &TreatmentSource, problems: &mut Problems) -> Option<Grid> {
    let mut sheets = match source {
        TreatmentSource::Text(text) => vec![formats::pasted(text, problems)?],
        TreatmentSource::File(path) => formats::sheets(path, problems)?,
    };
    let score = |grid: &Grid| layout::known_headings(kind, grid);
    let best = sheets.iter().map(score).max()?;
    let at = sheets.iter().position(|grid| score(grid) == best)?;
    if sheets.len() > 1 {
        let others: Vec<&str> =
            sheets.iter().enumerate().filter(|(other, _)| *other != at).map(|(_, grid)| grid.sheet.as_str()).collect();
        let what = format!("the sheet {} is read; not {}.", sheets[at].sheet, others.join(", "));
        problems.note(&sheets[at].name, what, "Save another sheet as a file of its own to read it.");
    }
    Some(sheets.swap_remove(at))
}

fn imported(
    records: &Records,
    kind: Treatment,
    map: &[(String, String)],
    (grid, layout): (&Grid, &Layout),
    problems: &mut Problems,
    progress: &dyn Progress,
) -> Result<Import, ImportError> {
    let mut errors = RowErrors::new(&grid.name, problems);
    let mut writer = Writer::new(records, kind);
    let rows = grid.rows.get(layout.heading + 1..).unwrap_or_default();
    for (index, row) in rows.iter().enumerate() {
        if index % 256 == 0 {
            progress.check(index, rows.len())?;
        }
        writer.read(grid, layout, row, &mut errors);
    }
    writer.finish(&grid.name, &mut errors);
    if writer.added + writer.updated == 0 && errors.is_clean() {
        let what = format!("no {} was found in it.", kind.noun());
        errors.add(grid.name.clone(), what, "Give a table with at least one full row.");
    }
    errors.finish()?;
    for (what, hint) in std::mem::take(&mut writer.notes) {
        problems.note(&grid.name, what, hint);
    }
    let of_product = layout.columns.iter().any(|column| column.heading.is_none() && plain(&column.name).contains("product"));
    if of_product && layout.has("dose") {
        let hint = "If they are doses of product, undo, and write the active in them instead, as the labels say.";
        problems.warning(&grid.name, "there is a column of products; the doses are read as g of active.", hint);
    }
    let Writer { mut edit, added, updated, skipped, .. } = writer;
    if !map.is_empty() {
        let mut settings = records.settings.clone();
        let kept = layout.remembered(kind, map);
        settings.act.layouts.retain(|held| held.headings != kept.headings);
        settings.act.layouts.push(kept);
        edit.put(Record::Settings(settings));
    }
    let mut summary = vec![format!("{}: {}", grid.name, count(added + updated, kind.noun()))];
    if layout.remembered {
        summary.push("Columns read as the last time for a table with these headings".to_owned());
    }
    Ok(Import { added, updated, skipped, summary, ..Import::of(edit.done()) })
}

/// A table before it is read.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct TreatmentPreview {
    /// Line or row of the heading, as the file counts.
    pub heading: usize,
    /// Columns with what they are read as.
    pub columns: Vec<TableColumn>,
    /// The first rows, cell by cell.
    pub rows: Vec<Vec<String>>,
    /// Rows below the heading.
    pub count: usize,
    /// Whether the mapping of an earlier import of such a table is used.
    pub remembered: bool,
    /// Records that would be added and replaced, and rows left out; none: there are errors.
    pub outcome: Option<(usize, usize, usize)>,
    /// Everything found.
    pub problems: Problems,
}

/// So many rows are shown.
const ROWS: usize = 6;

/// Looks at a table with a mapping; see [`treatments`]. Nothing is changed.
pub fn treatment_preview(
    records: &Records,
    kind: Treatment,
    source: &TreatmentSource,
    map: &[(String, String)],
) -> TreatmentPreview {
    let mut problems = Problems::new();
    let mut preview = TreatmentPreview::default();
    if let Some(grid) = grid(kind, source, &mut Problems::new()) {
        let layout = Layout::of(records, kind, &grid, map, &mut Problems::new());
        let rows = grid.rows.get(layout.heading + 1..).unwrap_or_default();
        let width = layout.columns.len();
        let cells = |row: &GridRow| (0..width).map(|column| row.cell(column).written()).collect();
        preview = TreatmentPreview {
            heading: grid.rows.get(layout.heading).map_or(0, |row| row.number),
            rows: rows.iter().take(ROWS).map(cells).collect(),
            count: rows.len(),
            remembered: layout.remembered,
            columns: layout.columns,
            ..preview
        };
    }
    if let Ok(import) = treatments(records, kind, source, map, &mut problems, &Quiet) {
        preview.outcome = Some((import.added, import.updated, import.skipped));
    }
    preview.problems = problems;
    preview
}
