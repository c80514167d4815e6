//! A year's boundaries into a project that has boundaries already, so that no land loses its history.
//!
//! A field whose edge moved or that has a new name stays the same record. Land that was split, merged or drawn anew gets
//! new fields from the year on, which say where they came from; the old ones hold until the year before and keep their
//! samples, results, plans and treatments. Gates, no-go areas and tramlines go over to the new fields with their anchors.

use std::collections::{BTreeMap, BTreeSet};

use geo::{Area as _, BooleanOps as _, Distance as _, Euclidean, MultiPolygon, Point};

use crate::crs::LocalPlane;
use crate::exchange::boundaries::Area;
use crate::exchange::changes::{Change, ChangeKind, Land, changes};
use crate::exchange::{Import, ImportError};
use crate::geometry;
use crate::model::{
    Farm, FarmId, Field, FieldId, Gate, GateId, NoGo, NoGoId, Record, Records, Tramlines, TramlinesId, same_name,
};
use crate::problem::Problems;
use crate::project::Edit;
use crate::units;
use crate::walk::{FirstLine, suggest_tramlines};

/// A gate up to this far outside belongs to a field, m.
const GATE_M: f64 = 50.0;
/// An area smaller than this is left over from cutting, m2.
const LEFT_OVER_M2: f64 = 25.0;

/// What holds for the whole import.
#[derive(Debug, Clone, Copy)]
pub(super) struct NewYear {
    /// Harvest year from which the boundaries hold.
    pub year: i32,
    /// Whether fields of the same farms that are not in the file end with the year before.
    pub close_missing: bool,
    /// Whether the file or the user names the farms, or only the file's name does.
    pub farms_named: bool,
    /// Spacing in m and bearing, if given, of tramlines for fields that have none.
    pub tramlines: Option<(f64, Option<f64>)>,
}

/// The command that brings the areas in, and what it means for every field.
pub(super) fn import(
    records: &Records,
    areas: &[Area],
    what: NewYear,
    file: &str,
    problems: &mut Problems,
) -> Result<(Import, Vec<Option<FieldId>>), ImportError> {
    let present: Vec<&Field> =
        records.fields.values().map(|field| &**field).filter(|field| field.until_year.is_none()).collect();
    let old: Vec<Land<'_>> = present.iter().map(|field| Land { name: &field.name, boundary: &field.boundary }).collect();
    let new: Vec<Land<'_>> = areas.iter().map(|area| Land { name: &area.name, boundary: &area.boundary }).collect();
    let changes = changes(&old, &new);
    refuse_later(&changes, &present, what, file, problems)?;
    let mut making = Making::new(records, what, &changes, &present, areas);
    let mut summary = Vec::new();
    for kind in ChangeKind::ALL {
        let of_kind: Vec<&Change> = changes.iter().filter(|change| change.kind == kind).collect();
        let told: Vec<String> = of_kind.iter().filter_map(|change| making.apply(change, &present, areas)).collect();
        if !told.is_empty() {
            summary.push(format!("{}: {}", first_large(kind.label()), told.join("; ")));
        }
    }
    let (added, updated) = (making.added, making.updated);
    let placed = (0..areas.len()).map(|index| making.placed.get(&index).copied()).collect();
    Ok((Import { added, updated, summary, ..Import::of(making.edit.done()) }, placed))
}

/// Fields of the year or later cannot be split or merged in the year: they would never have held.
fn refuse_later(
    changes: &[Change],
    present: &[&Field],
    what: NewYear,
    file: &str,
    problems: &mut Problems,
) -> Result<(), ImportError> {
    let closing = |change: &&Change| {
        matches!(change.kind, ChangeKind::Split | ChangeKind::Merged | ChangeKind::Redrawn)
            || change.kind == ChangeKind::Gone && what.close_missing
    };
    let late = changes.iter().filter(closing).flat_map(|change| &change.old).filter_map(|index| present.get(*index));
    let names: Vec<&str> = late
        .filter(|field| field.from_year.is_some_and(|from| from >= what.year))
        .map(|field| field.name.as_str())
        .collect();
    if names.is_empty() {
        return Ok(());
    }
    problems.error(
        file,
        format!("{} has a boundary of {} or later already, which the file would divide.", names.join(", "), what.year),
        "Give the year from which the new boundaries hold, or undo the earlier import.",
    );
    Err(ImportError::Problems)
}

struct Making<'a> {
    records: &'a Records,
    what: NewYear,
    edit: Edit<'a>,
    farms: BTreeMap<String, FarmId>,
    /// The farm of the matched fields, if all are of one.
    only_farm: Option<FarmId>,
    /// The fields that areas became, by their places in the file.
    placed: BTreeMap<usize, FieldId>,
    /// Farms that the file speaks of.
    spoken_of: BTreeSet<FarmId>,
    added: usize,
    updated: usize,
}

impl<'a> Making<'a> {
    fn new(records: &'a Records, what: NewYear, changes: &[Change], present: &[&Field], areas: &[Area]) -> Self {
        let matched = changes.iter().filter(|change| !change.new.is_empty()).flat_map(|change| &change.old);
        let mut spoken_of: BTreeSet<FarmId> =
            matched.filter_map(|index| present.get(*index)).map(|field| field.farm).collect();
        let only_farm = if spoken_of.len() == 1 { spoken_of.first().copied() } else { None };
        if what.farms_named {
            let named = |farm: &&std::sync::Arc<Farm>| areas.iter().any(|area| same_name(&farm.name, &area.farm));
            spoken_of.extend(records.farms.values().filter(named).map(|farm| farm.id));
        }
        let edit = Edit::new(records, format!("Add boundaries of {}", what.year));
        Self {
            records,
            what,
            edit,
            farms: BTreeMap::new(),
            only_farm,
            placed: BTreeMap::new(),
            spoken_of,
            added: 0,
            updated: 0,
        }
    }

    /// Makes one change; what to tell of it, if anything.
    fn apply(&mut self, change: &Change, present: &[&Field], areas: &[Area]) -> Option<String> {
        let old: Vec<&Field> = change.old.iter().filter_map(|index| present.get(*index).copied()).collect();
        let new: Vec<&Area> = change.new.iter().filter_map(|index| areas.get(*index)).collect();
        match (change.kind, old.as_slice(), new.as_slice()) {
            (ChangeKind::Same | ChangeKind::MovedEdge | ChangeKind::Renamed, [old], [new]) => {
                self.placed.extend(change.new.iter().map(|index| (*index, old.id)));
                Some(self.keep(change, old, new))
            }
            (ChangeKind::New, _, [new]) => {
                let farm = self.farm(&new.farm);
                let field = Field { from_year: self.since(), ..Field::new(farm, new.name.trim(), new.boundary.clone()) };
                let told = format!("{} ({} ha)", field.name, units::ha(field.area_m2()));
                let lines = self.what.tramlines.and_then(|(spacing, bearing)| {
                    suggest_tramlines(field.id, &field.boundary, bearing, spacing, FirstLine::Half)
                });
                if let Some(lines) = lines {
                    self.edit.put(Record::Tramlines(lines));
                }
                self.placed.extend(change.new.iter().map(|index| (*index, field.id)));
                self.edit.put(Record::Field(field));
                self.added += 1;
                Some(told)
            }
            (ChangeKind::Gone, [old], _) => self.missing(old),
            _ => {
                let (names, made) = self.replace(&old, &new);
                self.placed.extend(change.new.iter().copied().zip(made));
                let before: Vec<&str> = old.iter().map(|field| field.name.as_str()).collect();
                Some(format!("{} into {}", and(&before), and(&names)))
            }
        }
    }

    /// The first year of new fields; none in a project without any, where the land was always so.
    fn since(&self) -> Option<i32> {
        (!self.records.fields.is_empty()).then_some(self.what.year)
    }

    fn keep(&mut self, change: &Change, old: &Field, new: &Area) -> String {
        let renamed = change.kind == ChangeKind::Renamed;
        let name = if renamed { new.name.trim() } else { old.name.as_str() };
        let mut field = old.changed_from(self.what.year, name, new.boundary.clone());
        let mut told = old.name.clone();
        if renamed {
            let line = format!("Called {} until {}.", old.name, self.what.year - 1);
            field.note = if old.note.is_empty() { line } else { format!("{}\n{line}", old.note) };
            told = format!("{} to {}", old.name, field.name);
        }
        if change.edge {
            told += &format!(" ({} to {} ha)", units::ha(old.area_m2()), units::ha(field.area_m2()));
        }
        self.edit.put(Record::Field(field));
        self.updated += 1;
        told
    }

    fn missing(&mut self, old: &Field) -> Option<String> {
        if !self.spoken_of.contains(&old.farm) {
            return None;
        }
        if !self.what.close_missing {
            return Some(format!("{} (stays)", old.name));
        }
        self.edit.put(Record::Field(Field { until_year: Some(self.what.year - 1), ..old.clone() }));
        self.updated += 1;
        Some(format!("{} (until {})", old.name, self.what.year - 1))
    }

    /// Ends old fields and begins new ones on their land; the names of the new ones with their areas, and who they are.
    fn replace(&mut self, old: &[&Field], new: &[&Area]) -> (Vec<String>, Vec<FieldId>) {
        for field in old {
            self.edit.put(Record::Field(Field { until_year: Some(self.what.year - 1), ..(*field).clone() }));
            self.updated += 1;
        }
        let mut made = Vec::new();
        for area in new {
            let sources: Vec<&&Field> =
                old.iter().filter(|field| common_m2(&field.boundary, &area.boundary).1 > LEFT_OVER_M2).collect();
            let farm = sources.first().or(old.first().as_ref()).map(|field| field.farm);
            let farm = farm.unwrap_or_else(|| self.farm(&area.farm));
            let mut field = Field::new(farm, area.name.trim(), area.boundary.clone());
            field.from_year = Some(self.what.year);
            field.came_from = sources.iter().map(|field| field.id).collect();
            made.push(field);
        }
        for source in old {
            self.carry(source, &made, old.len() > 1);
        }
        self.added += made.len();
        let names = made.iter().map(|field| format!("{} ({} ha)", field.name, units::ha(field.area_m2()))).collect();
        let ids = made.iter().map(|field| field.id).collect();
        for field in made {
            self.edit.put(Record::Field(field));
        }
        (names, ids)
    }

    /// What lies in an old field, to the new ones it became.
    fn carry(&mut self, source: &Field, made: &[Field], merged: bool) {
        let heirs = || made.iter().filter(|field| field.came_from.contains(&source.id));
        for gate in self.records.gates_of(source.id) {
            let nearest = heirs().map(|field| (distance_m(field, gate), field)).min_by(|a, b| a.0.total_cmp(&b.0));
            if let Some((distance, field)) = nearest
                && distance <= GATE_M
            {
                self.edit.put(Record::Gate(Gate { id: GateId::new(), field: field.id, ..(**gate).clone() }));
            }
        }
        for field in heirs() {
            for no_go in self.records.no_go_of(source.id) {
                let (area, size) = common_m2(&no_go.area, &field.boundary);
                if size > LEFT_OVER_M2 {
                    self.edit.put(Record::NoGo(NoGo { id: NoGoId::new(), field: field.id, area, ..(**no_go).clone() }));
                }
            }
            for set in self.records.tramlines_of(source.id) {
                // Where lands with sets of their own become one, each set keeps to the land it lay on.
                let within = set.area.as_ref().or(merged.then_some(&source.boundary));
                let area = within.map(|within| common_m2(within, &field.boundary));
                if area.as_ref().is_some_and(|(_, size)| *size <= LEFT_OVER_M2) {
                    continue;
                }
                let area = area.map(|(area, _)| area);
                self.edit.put(Record::Tramlines(Tramlines {
                    id: TramlinesId::new(),
                    field: field.id,
                    area,
                    ..(**set).clone()
                }));
            }
        }
    }

    fn farm(&mut self, name: &str) -> FarmId {
        if !self.what.farms_named
            && let Some(farm) = self.only_farm
        {
            return farm;
        }
        let (records, edit) = (self.records, &mut self.edit);
        *self.farms.entry(name.trim().to_lowercase()).or_insert_with(|| {
            if let Some(farm) = records.farm_named(name.trim()) {
                farm.id
            } else {
                let farm = Farm { id: FarmId::new(), business: String::new(), name: name.trim().to_owned() };
                let id = farm.id;
                edit.put(Record::Farm(farm));
                id
            }
        })
    }
}

/// The common part of two shapes in degrees, and its size in m2.
fn common_m2(a: &MultiPolygon<f64>, b: &MultiPolygon<f64>) -> (MultiPolygon<f64>, f64) {
    let nothing = || (MultiPolygon(Vec::new()), 0.0);
    let Some(plane) = geometry::bounds(b).and_then(|rect| LocalPlane::around(rect).ok()) else { return nothing() };
    let common = plane.to_metres(a).intersection(&plane.to_metres(b));
    let size = common.unsigned_area();
    (plane.to_degrees(&common), size)
}

fn distance_m(field: &Field, gate: &Gate) -> f64 {
    let Ok(plane) = LocalPlane::at(gate.position) else { return f64::INFINITY };
    Euclidean.distance(&Point::new(0.0, 0.0), &plane.to_metres(&field.boundary))
}

/// Whether an area lies on the land of a field under another name, which a second field there would part from its history.
pub(super) fn on_land_of<'a>(records: &'a Records, areas: &[Area]) -> Vec<(usize, &'a Field)> {
    let present: Vec<&Field> =
        records.fields.values().map(|field| &**field).filter(|field| field.until_year.is_none()).collect();
    let old: Vec<Land<'_>> = present.iter().map(|field| Land { name: &field.name, boundary: &field.boundary }).collect();
    let new: Vec<Land<'_>> = areas.iter().map(|area| Land { name: &area.name, boundary: &area.boundary }).collect();
    let mut found = Vec::new();
    for change in changes(&old, &new).iter().filter(|change| !change.old.is_empty()) {
        for index in &change.new {
            let Some(area) = areas.get(*index) else { continue };
            let own = |field: &&&Field| {
                let farm = records.farm_name(field);
                same_name(&field.name, &area.name) && same_name(farm, &area.farm)
            };
            let olds = || change.old.iter().filter_map(|index| present.get(*index));
            if let (None, Some(first)) = (olds().find(own), olds().next()) {
                found.push((*index, *first));
            }
        }
    }
    found
}

fn and<T: AsRef<str>>(names: &[T]) -> String {
    match names {
        [] => String::new(),
        [one] => one.as_ref().to_owned(),
        [first @ .., last] => {
            format!("{} and {}", first.iter().map(AsRef::as_ref).collect::<Vec<_>>().join(", "), last.as_ref())
        }
    }
}

fn first_large(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
