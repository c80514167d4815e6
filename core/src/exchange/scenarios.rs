//! Scenarios from CSV or XLSX: one row a crop year, rows of a scenario one after the other.
//!
//! | column | what |
//! |---|---|
//! | scenario | its name; rows of one name make one scenario, empty: as in the row above |
//! | year | optional: harvests one after the other, without a gap; only their order counts |
//! | crop | by the table of crops |
//! | cultivation | plough, deep, shallow, direct-drill |
//! | drilled | month-day, or a whole date |
//! | control, or control_low, control_likely, control_high | % of the plants that come up in the crop |
//! | programme | name of a spray programme, in the place of control |
//! | heads_removed, or with _low, _likely, _high | % of heads taken out before they shed |
//! | crop_plants_m2, competitive, cost_per_ha | as they say; competitive is yes or no |

use std::path::Path;

use crate::act::outlook::scenario::ready;
use crate::exchange::row_errors::RowErrors;
use crate::exchange::{Import, ImportError};
use crate::formats::{self, Cell, Row, Table, plain_name};
use crate::model::{Cultivation, LowLikelyHigh, Record, Records, Scenario, ScenarioId, ScenarioYear, same_name};
use crate::problem::Problems;
use crate::project::Edit;
use crate::units::count;

const NO_NUMBER: &str = "Write a number, such as 92.5.";

/// Reads scenarios; one of a name that is there already is replaced.
pub fn scenarios(records: &Records, file: &Path, problems: &mut Problems) -> Result<Import, ImportError> {
    let sheets = formats::sheets(file, problems).ok_or(ImportError::Problems)?;
    let Some(grid) = sheets.into_iter().next().filter(|grid| !grid.rows.is_empty()) else {
        let name = file.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
        problems.error(name, "it holds no rows.", "Write one row for each crop year, below a row of headings.");
        return Err(ImportError::Problems);
    };
    let heading = grid.heading();
    let table = grid.table(heading);
    let columns = Columns::of(&table, problems)?;
    let mut errors = RowErrors::new(&table.name, problems);
    let mut list: Vec<Scenario> = Vec::new();
    let (mut harvest, mut uncultivated) = (None, 0);
    for row in table.rows.iter() {
        let place = table.place(row);
        let name = table.cell(row, columns.scenario).written();
        let year = columns.year(&table, row, &place, &mut errors);
        uncultivated += usize::from(columns.cultivation.is_none_or(|column| table.cell(row, column).is_empty()));
        let is_new = !name.is_empty() && list.last().is_none_or(|last| !same_name(&last.name, &name));
        if is_new {
            if list.iter().any(|held| same_name(&held.name, &name)) {
                errors.add(place, format!("scenario “{name}” is interrupted by another."), "Keep its rows together.");
                continue;
            }
            let held = records.scenarios.values().find(|held| same_name(&held.name, &name));
            let id = held.map_or_else(ScenarioId::new, |held| held.id);
            let note = held.map(|held| held.note.clone()).unwrap_or_default();
            list.push(Scenario { id, name, note, years: Vec::new() });
            harvest = None;
        }
        harvest = columns.harvest(&table, row, &place, harvest, &mut errors).or(harvest);
        match list.last_mut() {
            Some(scenario) => scenario.years.extend(year),
            None => errors.add(place, "the first row names no scenario.", "Write its name in the column scenario."),
        }
    }
    errors.finish()?;
    let mut found = Problems::new();
    columns.assumed(&table, uncultivated, &mut found);
    for scenario in &list {
        ready(scenario, &mut found);
        for name in scenario.years.iter().filter_map(|year| year.programme.as_ref()) {
            if records.programme_named(name).is_none() {
                let what = format!("it names the programme “{name}”, which is not there yet.");
                found.warning(format!("scenario “{}”", scenario.name), what, "Import the programme before looking ahead.");
            }
        }
    }
    let is_sound = !found.has_errors();
    problems.extend(found);
    if !is_sound {
        return Err(ImportError::Problems);
    }
    let mut edit = Edit::new(records, format!("Add {}", count(list.len(), "scenario")));
    let updated = list.iter().filter(|scenario| records.scenarios.contains_key(&scenario.id)).count();
    let added = list.len() - updated;
    let summary = list.iter().map(|scenario| format!("{}: {}", scenario.name, count(scenario.years.len(), "crop year")));
    let summary = summary.collect();
    for scenario in list {
        edit.put(Record::Scenario(scenario));
    }
    Ok(Import { added, updated, summary, ..Import::of(edit.done()) })
}

/// Which column holds what.
struct Columns {
    scenario: usize,
    harvest: Option<usize>,
    crop: usize,
    cultivation: Option<usize>,
    drilled: Option<usize>,
    control: Triple,
    programme: Option<usize>,
    removed: Triple,
    plants: Option<usize>,
    competitive: Option<usize>,
    cost: Option<usize>,
}

/// Columns of one figure: by itself, or least, likely and greatest.
struct Triple {
    single: Option<usize>,
    all: Option<[usize; 3]>,
}

impl Triple {
    fn of(table: &Table, name: &str) -> Self {
        let column = |end: &str| table.column(&[&format!("{name}{end}"), &format!("{name}_percent{end}")]);
        let all =
            column("_low").zip(column("_likely")).zip(column("_high")).map(|((low, likely), high)| [low, likely, high]);
        Self { single: column(""), all }
    }
}

impl Columns {
    fn of(table: &Table, problems: &mut Problems) -> Result<Self, ImportError> {
        let mut needed = |name: &str| {
            let found = table.column(&[name]);
            if found.is_none() {
                let what = format!("there is no column {name}.");
                problems.error(&table.name, what, "Columns are scenario, crop, cultivation, drilled, control, cost_per_ha.");
            }
            found
        };
        let (scenario, crop) = (needed("scenario"), needed("crop"));
        let control = Triple::of(table, "control");
        let programme = table.column(&["programme"]);
        if control.single.is_none() && control.all.is_none() && programme.is_none() {
            let hint = "Add a column control, or control_low, control_likely and control_high, in %.";
            problems.error(&table.name, "there is no column control.", hint);
            return Err(ImportError::Problems);
        }
        let (Some(scenario), Some(crop)) = (scenario, crop) else { return Err(ImportError::Problems) };
        Ok(Self {
            scenario,
            harvest: table.column(&["year", "harvest", "harvest_year", "crop_year"]),
            crop,
            cultivation: table.column(&["cultivation", "tillage"]),
            drilled: table.column(&["drilled", "drilling date", "sown"]),
            control,
            programme,
            removed: Triple::of(table, "heads_removed"),
            plants: table.column(&["crop_plants_m2", "crop plants"]),
            competitive: table.column(&["competitive", "competitive cultivar"]),
            cost: table.column(&["cost_per_ha", "cost"]),
        })
    }

    /// The harvest of a row, which follows on the one before in its scenario.
    fn harvest(
        &self,
        table: &Table,
        row: Row<'_>,
        place: &str,
        before: Option<i64>,
        errors: &mut RowErrors<'_>,
    ) -> Option<i64> {
        let cell = table.cell(row, self.harvest?);
        let number = cell.number().filter(|number| number.fract() == 0.0 && number.abs() < 1e5).map(|number| number as i64);
        let Some(number) = number else {
            let what = format!("“{}” is no harvest year.", cell.written());
            errors.add(place.to_owned(), what, "Number every row, such as 2027 or 1, or leave the column out.");
            return None;
        };
        if let Some(before) = before.filter(|before| number != before + 1) {
            let (what, hint) = if number > before + 1 {
                let gap = if number == before + 2 {
                    format!("{} is", before + 1)
                } else {
                    format!("{} to {} are", before + 1, number - 1)
                };
                let hint = "Write a row for every harvest in between; one without a crop is a fallow.";
                (format!("harvest {number} follows {before}: {gap} missing."), hint)
            } else {
                (format!("harvest {number} follows {before}."), "Write harvests in order, each once.")
            };
            errors.add(place.to_owned(), what, hint);
        }
        Some(number)
    }

    /// Says what is not read, and what is taken where nothing was written.
    fn assumed(&self, table: &Table, uncultivated: usize, problems: &mut Problems) {
        let triples = [&self.control, &self.removed];
        let of_triple = |triple: &&Triple| [triple.single].into_iter().chain(triple.all.into_iter().flatten().map(Some));
        let others =
            [self.harvest, self.cultivation, self.drilled, self.programme, self.plants, self.competitive, self.cost];
        let read: Vec<usize> =
            triples.iter().flat_map(of_triple).chain(others).flatten().chain([self.scenario, self.crop]).collect();
        for (at, name) in table.columns.iter().enumerate().filter(|(at, name)| !read.contains(at) && !name.trim().is_empty())
        {
            problems.note(&table.name, format!("the column “{name}” is not read."), format!("It is column {}.", at + 1));
        }
        if self.harvest.is_some() {
            let what = "years give the order of the crops only: a scenario begins with the first harvest that is asked for.";
            problems.note(&table.name, what, "");
        }
        if uncultivated > 0 {
            let what = format!(
                "{} no cultivation: deep non-inversion (20 cm) is taken before a crop, none before fallow and ley.",
                if uncultivated == 1 { "1 crop year has".to_owned() } else { format!("{uncultivated} crop years have") }
            );
            problems.warning(&table.name, what, "Write plough, deep, shallow or direct-drill in the column cultivation.");
        }
    }

    fn year(&self, table: &Table, row: Row<'_>, place: &str, errors: &mut RowErrors<'_>) -> Option<ScenarioYear> {
        let cell = |column: Option<usize>| column.map_or(Cell::Empty, |column| table.cell(row, column).into_owned());
        let before = errors.count();
        let cultivation = match cell(self.cultivation) {
            Cell::Empty => unsaid(&table.cell(row, self.crop).written()),
            cell => cell.written().parse().unwrap_or_else(|error: String| {
                errors.add(place.to_owned(), format!("{error}."), "");
                Cultivation::default()
            }),
        };
        let number = |column: Option<usize>, what: &str, errors: &mut RowErrors<'_>| match cell(column) {
            Cell::Empty => None,
            cell => {
                let number = cell.number().filter(|number| number.is_finite());
                if number.is_none() {
                    errors.add(place.to_owned(), format!("“{}” in {what} is no number.", cell.written()), NO_NUMBER);
                }
                number
            }
        };
        let triple = |triple: &Triple, what: &str, errors: &mut RowErrors<'_>| {
            let Some(columns) = triple.all else { return number(triple.single, what, errors).map(LowLikelyHigh::fixed) };
            let [low, likely, high] = columns.map(|column| number(Some(column), what, errors));
            match (low, likely, high) {
                (Some(low), Some(likely), Some(high)) => Some(LowLikelyHigh::new(low, likely, high)),
                _ => number(triple.single, what, errors).map(LowLikelyHigh::fixed),
            }
        };
        let control = triple(&self.control, "control", errors);
        let crop = table.cell(row, self.crop).written();
        let is_sown = crate::act::outlook::crops::crop(&crop).is_none_or(|crop| crop.days.is_some());
        let programme = Some(cell(self.programme).written()).filter(|name| !name.is_empty());
        if control.is_none() && programme.is_none() && is_sown && errors.count() == before {
            errors.add(place.to_owned(), "it has no control.", "Give the share of plants controlled in %; 0 for none.");
        }
        let competitive = match plain_name(&cell(self.competitive).written()).as_str() {
            "" | "no" | "n" | "0" | "false" => false,
            "yes" | "y" | "1" | "true" => true,
            other => {
                errors.add(place.to_owned(), format!("“{other}” in competitive is neither yes nor no."), "Write yes or no.");
                false
            }
        };
        let year = ScenarioYear {
            crop,
            cultivation,
            drilled: Some(month_and_day(&cell(self.drilled).written())).filter(|day| !day.is_empty()),
            control: control.unwrap_or(LowLikelyHigh::fixed(0.0)),
            programme: programme.clone(),
            crop_plants_m2: number(self.plants, "crop_plants_m2", errors),
            competitive,
            heads_removed: triple(&self.removed, "heads_removed", errors),
            cost_per_ha: number(self.cost, "cost_per_ha", errors),
        };
        (errors.count() == before).then_some(year)
    }
}

/// What is taken where no cultivation is written.
fn unsaid(crop: &str) -> Cultivation {
    let is_unsown = crate::act::outlook::crops::crop(crop).is_some_and(|crop| crop.days.is_none());
    if is_unsown { Cultivation::DirectDrill } else { Cultivation::default() }
}

/// "10-05" of a whole date; anything else as it is.
fn month_and_day(text: &str) -> String {
    text.trim().parse::<jiff::civil::Date>().map_or_else(|_| text.trim().to_owned(), |day| day.strftime("%m-%d").to_string())
}
