//! What the columns of a table of sprays, crops or programmes mean.

use crate::exchange::near;
use crate::exchange::results::meaning::plain;
use crate::exchange::treatments::Treatment;
use crate::formats::{Cell, Grid, GridRow};
use crate::model::{Layout as Remembered, Records};
use crate::problem::Problems;

/// The heading is looked for in so many rows.
const LOOKED_AT: usize = 25;

/// A heading that is read: its own name, other words for it (plain: lower case, no blanks or marks).
type Heading = (&'static str, &'static [&'static str]);

const FIELD: Heading = ("field", &["fieldname", "fieldid", "fieldno", "block"]);
const FARM: Heading = ("farm", &["farmname", "holding", "site"]);
const YEAR: Heading = ("year", &["harvestyear", "harvest", "season", "cropyear", "yearofharvest"]);
const CROP: Heading = ("crop", &["cropname", "cropgrown", "cropping"]);
const ACTIVE: Heading =
    ("active", &["activeingredient", "activesubstance", "activeingredients", "ai", "herbicide", "actives", "chemical"]);
const DOSE: Heading = (
    "dose",
    &[
        "rate",
        "doserate",
        "dosage",
        "doseapplied",
        "dosegperha",
        "doseg",
        "doseperha",
        "gperha",
        "gha",
        "dosegha",
        "rategha",
        "kgha",
        "dosekgha",
        "doselha",
        "lha",
        "ratelha",
        "ratekgha",
        "dosekgperha",
        "doselperha",
        "gaiha",
        "doseaiha",
    ],
);
const UNIT: Heading = ("unit", &["units", "doseunit", "rateunit", "unitofdose"]);
const GROUP: Heading = ("hrac_group", &["hracgroup", "hrac", "group", "modeofaction", "moa", "hraccode"]);
const COST: Heading =
    ("cost_per_ha", &["costperha", "costha", "cost", "costahectare", "price", "priceperha", "costperhectare", "costgbpha"]);

const SPRAYS: [Heading; 11] = [
    FIELD,
    FARM,
    YEAR,
    ("date", &["dateapplied", "applicationdate", "spraydate", "applied", "dateofapplication", "day"]),
    ACTIVE,
    GROUP,
    DOSE,
    UNIT,
    ("growth_stage", &["growthstage", "gs", "stage", "bbch", "timing", "cropstage", "weedstage"]),
    COST,
    ("effect", &["result", "seenresult", "control", "resultseen", "comment", "comments", "remark", "remarks", "observed"]),
];

const CROPS: [Heading; 6] = [
    FIELD,
    FARM,
    YEAR,
    CROP,
    ("drilled", &["drillingdate", "datedrilled", "sown", "sowingdate", "sowndate", "drilling", "datesown", "drilldate"]),
    ("cultivation", &["cultivations", "tillage", "establishment", "cultivationmethod", "primarycultivation"]),
];

const PROGRAMMES: [Heading; 11] = [
    ("programme", &["program", "programmename", "name", "template"]),
    CROP,
    ("timing", &["step", "pass", "growthstage", "gs", "stage", "when"]),
    ACTIVE,
    DOSE,
    UNIT,
    ("control_low", &["low", "lowcontrol", "controllow", "controllowpct", "lowpct", "least"]),
    (
        "control_likely",
        &["likely", "likelycontrol", "controllikely", "control", "controlpct", "likelypct", "expectedcontrol"],
    ),
    ("control_high", &["high", "highcontrol", "controlhigh", "controlhighpct", "highpct", "most"]),
    COST,
    ("note", &["notes", "remark", "comment"]),
];

impl Treatment {
    fn table(self) -> &'static [Heading] {
        match self {
            Self::Sprays => &SPRAYS,
            Self::Crops => &CROPS,
            Self::Programmes => &PROGRAMMES,
        }
    }

    /// The headings that are read, in the order they are offered.
    pub fn headings(self) -> impl Iterator<Item = &'static str> {
        self.table().iter().map(|(own, _)| *own)
    }

    /// Headings without which nothing can be read.
    pub fn needed(self) -> &'static [&'static str] {
        match self {
            Self::Sprays => &["field", "active"],
            Self::Crops => &["field", "crop"],
            Self::Programmes => &["programme", "active", "control_likely", "cost_per_ha"],
        }
    }

    /// The word before the headings of a layout that is remembered.
    fn mark(self) -> String {
        format!("table of {}s", self.noun())
    }

    fn meaning(self, heading: &str) -> Option<&'static str> {
        let wanted = plain(heading);
        let bare = plain(heading.split(['(', '[']).next().unwrap_or_default());
        let find = |text: &str| {
            self.table().iter().find(|(own, others)| plain(own) == text || others.contains(&text)).map(|(own, _)| *own)
        };
        find(&wanted).or_else(|| find(&bare))
    }
}

/// A column of a table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TableColumn {
    /// Its heading in the table.
    pub name: String,
    /// The heading it is read as; none: it is not read.
    pub heading: Option<&'static str>,
}

/// A table understood.
#[derive(Debug, Clone)]
pub(super) struct Layout {
    /// Index of the row of headings.
    pub heading: usize,
    pub columns: Vec<TableColumn>,
    needed: &'static [&'static str],
    /// Values for all rows.
    constants: Vec<(&'static str, Cell)>,
    /// Whether a mapping that was given before is used.
    pub remembered: bool,
}

/// How many headings of the best row are understood.
pub(super) fn known_headings(kind: Treatment, grid: &Grid) -> usize {
    (0..grid.rows.len().min(LOOKED_AT)).map(|row| known(kind, grid, row)).max().unwrap_or(0)
}

fn known(kind: Treatment, grid: &Grid, row: usize) -> usize {
    let cells = grid.rows.get(row).map(|row| row.cells.as_slice()).unwrap_or_default();
    cells.iter().filter(|cell| kind.meaning(&cell.written()).is_some()).count()
}

impl Layout {
    /// The columns below a row of headings as they read by themselves.
    pub fn plain(kind: Treatment, grid: &Grid, heading: usize) -> Self {
        let mut columns: Vec<TableColumn> = Vec::new();
        for index in 0..grid.width() {
            let name = grid.rows.get(heading).map(|row| row.cell(index).written()).unwrap_or_default();
            let meaning = kind.meaning(&name).filter(|found| columns.iter().all(|column| column.heading != Some(found)));
            columns.push(TableColumn { name, heading: meaning });
        }
        Self { heading, columns, needed: kind.needed(), constants: Vec::new(), remembered: false }
    }

    /// Understands a table; `map`: (column, heading), or ("=value", heading).
    pub fn of(records: &Records, kind: Treatment, grid: &Grid, map: &[(String, String)], problems: &mut Problems) -> Self {
        let best = known_headings(kind, grid);
        let rows = 0..grid.rows.len().min(LOOKED_AT);
        let heading = if best < 2 {
            grid.heading()
        } else {
            rows.into_iter().find(|row| known(kind, grid, *row) == best).unwrap_or(0)
        };
        let mut layout = Self::plain(kind, grid, heading);
        let mut map = map.to_vec();
        if map.is_empty() {
            let signature = layout.signature(kind);
            if let Some(held) = records.settings.act.layouts.iter().rev().find(|held| held.headings == signature) {
                map.clone_from(&held.map);
                layout.remembered = true;
            }
        }
        for (column, heading) in &map {
            layout.rename(kind, grid, column, heading, problems);
        }
        for column in layout.columns.iter().filter(|column| column.heading.is_none() && !column.name.is_empty()) {
            problems.note(&grid.name, format!("the column “{}” is not read.", column.name), "");
        }
        layout
    }

    fn rename(&mut self, kind: Treatment, grid: &Grid, column: &str, heading: &str, problems: &mut Problems) {
        let place = format!("--map {column}={heading}");
        let Some(wanted) = kind.headings().find(|own| plain(own) == plain(heading)) else {
            let known: Vec<&str> = kind.headings().collect();
            let hint = format!("Use one of: {}.", known.join(", "));
            problems.error(place, format!("“{heading}” is no heading that is read."), hint);
            return;
        };
        if let Some(value) = column.strip_prefix('=') {
            self.constants.retain(|(held, _)| *held != wanted);
            self.constants.push((wanted, Cell::text(value)));
            return;
        }
        let Some(index) = self.columns.iter().position(|found| plain(&found.name) == plain(column)) else {
            let names: Vec<&str> =
                self.columns.iter().map(|column| column.name.as_str()).filter(|name| !name.is_empty()).collect();
            let like = near::like(column, names.iter().copied());
            let like = like.map_or(String::new(), |like| format!("Did you mean “{like}”? "));
            let hint = format!("{like}Its columns are: {}.", names.join(", "));
            problems.error(place, format!("{} has no column “{column}”.", grid.name), hint);
            return;
        };
        for other in self.columns.iter_mut().filter(|other| other.heading == Some(wanted)) {
            other.heading = None;
        }
        if let Some(found) = self.columns.get_mut(index) {
            found.heading = Some(wanted);
        }
    }

    /// Names the columns without which nothing can be read.
    pub fn missing(&self, grid: &Grid, problems: &mut Problems) {
        for heading in self.needed.iter().copied().filter(|heading| !self.has(heading)) {
            let names = self.columns.iter().map(|column| column.name.as_str()).filter(|name| !name.is_empty());
            let like = near::like(heading, names).unwrap_or("COLUMN");
            let hint = format!("Rename the column that holds it, or give --map \"{like}={heading}\".");
            problems.error(&grid.name, format!("the column {heading} is missing."), hint);
        }
    }

    /// Whether a heading has a column or a value for all rows.
    pub fn has(&self, heading: &str) -> bool {
        self.index(heading).is_some() || self.constants.iter().any(|(held, _)| *held == heading)
    }

    fn index(&self, heading: &str) -> Option<usize> {
        self.columns.iter().position(|column| column.heading == Some(heading))
    }

    /// The name of the column of a heading; empty if it has none.
    pub fn name(&self, heading: &str) -> &str {
        self.index(heading).and_then(|index| self.columns.get(index)).map_or("", |column| column.name.as_str())
    }

    /// The cell of a heading: the column's, or if that is empty the value for all rows.
    pub fn cell<'a>(&'a self, row: &'a GridRow, heading: &str) -> &'a Cell {
        let own = self.index(heading).map_or(&Cell::Empty, |column| row.cell(column));
        let constant = self.constants.iter().find(|(held, _)| *held == heading).map(|(_, cell)| cell);
        if own.is_empty() { constant.unwrap_or(own) } else { own }
    }

    /// The text of a heading.
    pub fn text(&self, row: &GridRow, heading: &str) -> String {
        self.cell(row, heading).written().trim().to_owned()
    }

    fn signature(&self, kind: Treatment) -> Vec<String> {
        let mut headings: Vec<String> = self.columns.iter().map(|column| plain(&column.name)).collect();
        headings.sort();
        headings.insert(0, kind.mark());
        headings
    }

    /// The layout to remember.
    pub fn remembered(&self, kind: Treatment, map: &[(String, String)]) -> Remembered {
        Remembered { headings: self.signature(kind), map: map.to_vec() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_heading_is_read_as_itself_and_others_as_meant() {
        for kind in Treatment::ALL {
            for own in kind.headings() {
                assert_eq!(kind.meaning(own), Some(own), "{kind:?}");
            }
            assert!(kind.needed().iter().all(|needed| kind.headings().any(|own| own == *needed)));
        }
        for (heading, wanted) in [
            ("Field name", Some("field")),
            ("Rate (g/ha)", Some("dose")),
            ("Dose, kg/ha", Some("dose")),
            ("Cost £/ha", Some("cost_per_ha")),
            ("Cost (£/ha)", Some("cost_per_ha")),
            ("Growth stage", Some("growth_stage")),
            ("Date applied", Some("date")),
            ("Weather", None),
        ] {
            assert_eq!(Treatment::Sprays.meaning(heading), wanted, "{heading}");
        }
    }
}
