//! Rows of sprays, crops and programmes as records.

use std::collections::BTreeMap;

use jiff::civil::{Date, date};

use crate::exchange::near;
use crate::exchange::results::cells as read;
use crate::exchange::results::place;
use crate::exchange::row_errors::RowErrors;
use crate::exchange::treatments::Treatment;
use crate::exchange::treatments::cells;
use crate::exchange::treatments::layout::Layout;
use crate::formats::{Grid, GridRow};
use crate::model::{
    Control, Crop, CropId, FieldId, Programme, ProgrammeId, ProgrammeStep, Record, Records, Spray, SprayId, mode_of_action,
    mode_of_group, modes_of_action, same_name,
};
use crate::project::Edit;

/// A greater dose is taken for a mistake in the unit, g of active a hectare (our choice, no source).
const GREATEST_DOSE: f64 = 20_000.0;

/// Collects the records of the rows.
pub(super) struct Writer<'a> {
    records: &'a Records,
    kind: Treatment,
    pub edit: Edit<'a>,
    pub added: usize,
    pub updated: usize,
    pub skipped: usize,
    /// What was taken for granted, for people.
    pub notes: Vec<(String, String)>,
    /// Rows by what they hold, to find repeats: the number of the first.
    seen: BTreeMap<String, usize>,
    /// Programmes of the table in its order.
    programmes: Vec<Programme>,
    /// Rows whose harvest year came from the date.
    years_from_dates: usize,
    sound: bool,
}

/// The days that a harvest's crop may be drilled and sprayed on: from July of the year before to the end of September.
fn season(year: i32) -> Option<[Date; 2]> {
    let year = i16::try_from(year).ok().filter(|year| (1000..9000).contains(year))?;
    Some([date(year - 1, 7, 1), date(year, 9, 30)])
}

impl<'a> Writer<'a> {
    pub fn new(records: &'a Records, kind: Treatment) -> Self {
        let name = format!("Add {}s", kind.noun());
        Self {
            records,
            kind,
            edit: Edit::new(records, name),
            added: 0,
            updated: 0,
            skipped: 0,
            notes: Vec::new(),
            seen: BTreeMap::new(),
            programmes: Vec::new(),
            years_from_dates: 0,
            sound: true,
        }
    }

    /// Reads one row.
    pub fn read(&mut self, grid: &Grid, layout: &Layout, row: &GridRow, errors: &mut RowErrors<'_>) {
        // A heading repeated on a later page, or a remark in one cell.
        let heading = grid.rows.get(layout.heading).is_some_and(|heading| heading.cells == row.cells);
        let needed = self.kind.needed().iter().filter(|heading| !layout.cell(row, heading).is_empty()).count();
        if heading || (row.filled() <= 1 && needed == 0) {
            self.skipped += 1;
            return;
        }
        if self.kind != Treatment::Programmes {
            let number = *self.seen.entry(format!("{:?}", row.cells)).or_insert(row.number);
            if number != row.number {
                self.notes.push((format!("row {} repeats row {number} and is read once.", row.number), String::new()));
                self.skipped += 1;
                return;
            }
        }
        self.sound = true;
        let place = grid.place(row);
        match self.kind {
            Treatment::Sprays => self.spray(layout, row, &place, errors),
            Treatment::Crops => self.crop(layout, row, &place, errors),
            Treatment::Programmes => self.step(layout, row, &place, errors),
        }
    }

    fn wrong(&mut self, errors: &mut RowErrors<'_>, place: &str, (what, hint): cells::Wrong) {
        self.sound = false;
        errors.add(place.to_owned(), what, hint);
    }

    /// The field and harvest year of a row, checked against its day.
    fn place(
        &mut self,
        layout: &Layout,
        row: &GridRow,
        place: &str,
        day: &str,
        errors: &mut RowErrors<'_>,
    ) -> Option<(FieldId, i32, Option<Date>)> {
        let cell = layout.cell(row, day);
        let on = read::date(cell);
        if on.is_none() && !cell.is_empty() {
            let what = format!("“{}” in {day} is no day.", cell.written());
            self.wrong(errors, place, (what, "Write it as 2026-10-18.".to_owned()));
        }
        let cell = layout.cell(row, "year");
        let written = read::year(cell);
        if written.is_none() && !cell.is_empty() {
            let what = format!("“{}” is no harvest year.", cell.written());
            self.wrong(errors, place, (what, "Write a year with four digits.".to_owned()));
        }
        // From August on a day belongs to the next harvest.
        let by_day = on.map(|on| i32::from(on.year()) + i32::from(on.month() >= 8));
        let Some(year) = written.or(by_day) else {
            if self.sound {
                let hint = format!("Add a column year or {day}, or give the harvest year for all rows (--set year=2026).");
                self.wrong(errors, place, ("it has no harvest year.".to_owned(), hint));
            }
            return None;
        };
        if let (Some(on), Some([from, to])) = (on, season(year))
            && !(from..=to).contains(&on)
        {
            let what = format!("{day} is {on}, which is not of harvest {year} ({from} to {to}).");
            self.wrong(errors, place, (what, "Correct the day or the harvest year.".to_owned()));
        }
        self.years_from_dates += usize::from(written.is_none());
        let (farm, mut field) = (layout.text(row, "farm"), layout.text(row, "field"));
        if field.is_empty() {
            self.wrong(
                errors,
                place,
                ("it names no field.".to_owned(), "Write the field's name, or farm/field.".to_owned()),
            );
            return None;
        }
        if !farm.is_empty() && !field.contains('/') {
            field = format!("{farm}/{field}");
        }
        let field = place::named(self.records, &field, year, place, errors);
        self.sound &= field.is_some();
        field.map(|field| (field, year, on))
    }

    fn spray(&mut self, layout: &Layout, row: &GridRow, place: &str, errors: &mut RowErrors<'_>) {
        let at = self.place(layout, row, place, "date", errors);
        let actives = self.actives(layout, row, place, errors);
        let doses = self.doses(layout, row, place, errors);
        let cost = cells::money(layout.cell(row, "cost_per_ha")).map_err(|wrong| self.wrong(errors, place, wrong)).ok();
        let split = actives.len() > 1;
        if split && doses.len() == 1 {
            let what = format!("one dose is given for {} modes of action.", actives.len());
            let hint = "Write one for each, joined as the actives are: 240+60 g/ha.";
            self.wrong(errors, place, (what, hint.to_owned()));
        }
        let (true, Some((field, year, date)), Some(cost)) = (self.sound, at, cost) else { return };
        let growth_stage = layout.text(row, "growth_stage");
        let effect = layout.text(row, "effect");
        let mut next = 0;
        for (number, (active, group)) in actives.into_iter().enumerate() {
            // A dose for each active, or one for the whole of a mixture of one mode of action.
            let parts = active.split('+').count();
            let own: Vec<f64> = doses
                .iter()
                .skip(if split { next } else { 0 })
                .take(if split { parts } else { usize::MAX })
                .copied()
                .collect();
            next += parts;
            let same = |spray: &Spray| {
                spray.field == field
                    && spray.year == year
                    && spray.date == date
                    && same_name(&spray.active, &active)
                    && same_name(&spray.growth_stage, &growth_stage)
            };
            let there = self.records.sprays.values().find(|spray| same(spray)).map(|spray| spray.id);
            self.count(there.is_some());
            self.edit.put(Record::Spray(Spray {
                id: there.unwrap_or_else(SprayId::new),
                field,
                year,
                date,
                active,
                group,
                dose_g_per_ha: (!own.is_empty()).then(|| own.iter().sum()),
                effect: effect.clone(),
                growth_stage: growth_stage.clone(),
                // The cost is that of the pass: it stands with the first of its actives.
                cost_per_ha: cost.filter(|_| number == 0),
            }));
        }
    }

    /// The actives of a row by mode of action: those of one group stay joined.
    fn actives(&mut self, layout: &Layout, row: &GridRow, place: &str, errors: &mut RowErrors<'_>) -> Vec<(String, String)> {
        let written = layout.text(row, "active").to_lowercase();
        if written.is_empty() {
            let hint = "Write the active ingredient's common name, not the product's.".to_owned();
            self.wrong(errors, place, ("it names no active.".to_owned(), hint));
            return Vec::new();
        }
        let group = group_of(&layout.text(row, "hrac_group"));
        let parts: Vec<String> = written.split(['+', '&']).map(|part| part.trim().to_owned()).collect();
        let mut found: Vec<(String, String)> = Vec::new();
        for part in parts {
            let Some(own) = mode_of_action(&part).map(|mode| mode.group.to_owned()).or_else(|| group.clone()) else {
                let all = modes_of_action().iter().flat_map(|mode| mode.actives.iter().copied());
                let like = near::like(&part, all).map_or(String::new(), |like| format!("Did you mean {like}? "));
                let hint = format!("{like}Write the active's common name, or give its HRAC group in a column hrac_group.");
                self.wrong(errors, place, (format!("the mode of action of “{part}” is not known."), hint));
                continue;
            };
            match found.iter_mut().find(|(_, held)| *held == own) {
                Some((actives, _)) => *actives = format!("{actives}+{part}"),
                None => found.push((part, own)),
            }
        }
        found
    }

    fn doses(&mut self, layout: &Layout, row: &GridRow, place: &str, errors: &mut RowErrors<'_>) -> Vec<f64> {
        let found = cells::doses(layout.cell(row, "dose"), &layout.text(row, "unit"), layout.name("dose"));
        let doses = found.map_err(|wrong| self.wrong(errors, place, wrong)).unwrap_or_default();
        if let Some(dose) = doses.iter().find(|dose| **dose > GREATEST_DOSE) {
            let what = format!("the dose is {} kg of active a hectare.", dose / 1000.0);
            self.wrong(errors, place, (what, "Check the number and its unit: g or kg.".to_owned()));
        }
        let actives = layout.text(row, "active").split(['+', '&']).count();
        if doses.len() > 1 && doses.len() != actives {
            let what = format!("{} doses are given for {actives} actives.", doses.len());
            self.wrong(errors, place, (what, "Give one for each active, or one for all of them.".to_owned()));
        }
        doses
    }

    fn crop(&mut self, layout: &Layout, row: &GridRow, place: &str, errors: &mut RowErrors<'_>) {
        let at = self.place(layout, row, place, "drilled", errors);
        let crop = layout.text(row, "crop");
        if crop.is_empty() {
            self.wrong(errors, place, ("it names no crop.".to_owned(), "Write it in words: winter wheat.".to_owned()));
        }
        let (true, Some((field, year, drilled))) = (self.sound, at) else { return };
        let there = self.records.crops.values().find(|held| held.field == field && held.year == year);
        if let Some(first) = self.seen.insert(format!("{field} {year}"), row.number) {
            let what = format!("row {first} has a crop for this field and harvest already.");
            self.wrong(errors, place, (what, "Leave one of the two out.".to_owned()));
            return;
        }
        self.count(there.is_some());
        let id = there.map_or_else(CropId::new, |held| held.id);
        // A table without a column leaves what is there.
        let keep = |heading: &str, held: Option<String>| {
            if layout.has(heading) { layout.text(row, heading) } else { held.unwrap_or_default() }
        };
        let cultivation = keep("cultivation", there.map(|held| held.cultivation.clone()));
        let drilled = if layout.has("drilled") { drilled } else { there.and_then(|held| held.drilled) };
        self.edit.put(Record::Crop(Crop { id, field, year, crop, drilled, cultivation }));
    }

    fn step(&mut self, layout: &Layout, row: &GridRow, place: &str, errors: &mut RowErrors<'_>) {
        let name = layout.text(row, "programme");
        if name.is_empty() {
            let hint = "Write the programme's name in every row.".to_owned();
            self.wrong(errors, place, ("it names no programme.".to_owned(), hint));
        }
        let actives = self.actives(layout, row, place, errors);
        let doses = self.doses(layout, row, place, errors);
        let cell = |heading: &str| layout.cell(row, heading);
        let figures = cells::control(cell("control_low"), cell("control_likely"), cell("control_high"))
            .and_then(|[low, likely, high]| {
                Control::new(low, likely, high)
                    .map_err(|what| (format!("{what}."), "Give low, likely and high in this order.".to_owned()))
            })
            .map_err(|wrong| self.wrong(errors, place, wrong));
        let cost = match cells::money(cell("cost_per_ha")) {
            Ok(Some(cost)) => Some(cost),
            Ok(None) => {
                let hint = "Write what the step costs a hectare; 0 if nothing.".to_owned();
                self.wrong(errors, place, ("cost_per_ha is empty.".to_owned(), hint));
                None
            }
            Err(wrong) => {
                self.wrong(errors, place, wrong);
                None
            }
        };
        let (true, Ok(control), Some(cost_per_ha)) = (self.sound, figures, cost) else { return };
        let step = ProgrammeStep {
            timing: layout.text(row, "timing"),
            active: actives.into_iter().map(|(active, _)| active).collect::<Vec<_>>().join("+"),
            dose_g_per_ha: (!doses.is_empty()).then(|| doses.iter().sum()),
            control,
            cost_per_ha,
        };
        let (crop, note) = (layout.text(row, "crop"), layout.text(row, "note"));
        if let Some(held) = self.programmes.iter_mut().find(|held| same_name(&held.name, &name)) {
            held.steps.push(step);
        } else {
            let id = self.records.programme_named(&name).map_or_else(ProgrammeId::new, |held| held.id);
            self.programmes.push(Programme { id, name, crop, steps: vec![step], note });
        }
    }

    fn count(&mut self, there: bool) {
        self.added += usize::from(!there);
        self.updated += usize::from(there);
    }

    /// Writes what only the whole table tells.
    pub fn finish(&mut self, table: &str, errors: &mut RowErrors<'_>) {
        let likely = || self.programmes.iter().flat_map(|programme| programme.steps.iter().map(|step| step.control.likely));
        if likely().count() > 0 && likely().all(|control| control <= 1.0) && likely().any(|control| control > 0.0) {
            let what = "every expected control is 1 % or less: these look like fractions.";
            errors.add(table.to_owned(), what, "Write percentages from 0 to 100.");
        }
        for programme in std::mem::take(&mut self.programmes) {
            self.count(self.records.programmes.contains_key(&programme.id));
            self.edit.put(Record::Programme(programme));
        }
        if self.years_from_dates > 0 {
            let what = format!(
                "{} rows have their harvest year from the day: August on counts for the next.",
                self.years_from_dates
            );
            self.notes.push((what, "Give a column year where that is not meant.".to_owned()));
        }
    }
}

/// The group number of "2", "HRAC 2", "B" or "ALS".
fn group_of(text: &str) -> Option<String> {
    let plain = text.trim().to_lowercase().replace("hrac", "").replace("group", "");
    let plain = plain.trim();
    if plain.is_empty() {
        return None;
    }
    let by_name = modes_of_action().iter().find(|mode| {
        mode.name.eq_ignore_ascii_case(plain) || mode.legacy.split([' ', '/']).any(|one| one.eq_ignore_ascii_case(plain))
    });
    mode_of_group(plain).or(by_name).map(|mode| mode.group.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn groups_by_number_letter_or_name() {
        for text in ["2", "HRAC 2", "B", "ALS", "group 2"] {
            assert_eq!(group_of(text).as_deref(), Some("2"), "{text}");
        }
        assert_eq!(group_of("99"), None);
    }

    #[test]
    fn a_season_runs_from_july_to_september() {
        let [from, to] = season(2026).unwrap();
        assert_eq!((from, to), (date(2025, 7, 1), date(2026, 9, 30)));
        assert!(season(99_999).is_none());
    }
}
