//! How often each mode of action was used in a field, year by year, and what was used over and over.
//!
//! Takes crops and sprays; a field that came from others takes over theirs, because the seedbank stayed in the land. Several
//! actives of one mode of action on one day are one use of it.

use std::collections::{BTreeMap, BTreeSet};

use crate::model::{Crop, FieldId, Records, Spray, mode_of_group};
use crate::rating::with_origins;

/// Crops of one kind that are compared, at least; fewer say nothing of a habit (our choice, no source).
const LEAST_CROPS: usize = 3;

/// Uses in one field.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Uses {
    /// By harvest year: HRAC group number and how often it was used. Years with a crop and no spray are there with no group.
    pub years: BTreeMap<i32, BTreeMap<String, usize>>,
    /// Crop of each harvest year, where known.
    pub crops: BTreeMap<i32, String>,
    /// Modes of action used in most crops of a kind, the most telling first.
    pub runs: Vec<Run>,
}

/// A mode of action that was used over and over.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Run {
    /// HRAC group number.
    pub group: String,
    /// Crop in words; empty: whatever was grown.
    pub crop: String,
    /// Crops in which it was used.
    pub used: usize,
    /// Crops of the kind with a record of sprays.
    pub of: usize,
    /// First and last harvest looked at.
    pub years: [i32; 2],
}

impl Run {
    /// "ALS in 5 of 6 winter wheat crops, 2019 to 2026".
    pub fn said(&self) -> String {
        let name = mode_of_group(&self.group).map_or(self.group.as_str(), |mode| mode.name);
        let of = if self.crop.is_empty() { "harvests".to_owned() } else { format!("{} crops", self.crop) };
        let [from, to] = self.years;
        format!("{name} in {} of {} {of}, {from} to {to}", self.used, self.of)
    }
}

impl Uses {
    /// Groups used in any year, in order of their numbers.
    pub fn groups(&self) -> Vec<String> {
        let all: BTreeSet<&String> = self.years.values().flat_map(BTreeMap::keys).collect();
        let mut groups: Vec<String> = all.into_iter().cloned().collect();
        groups.sort_by_key(|group| (group.parse::<u32>().unwrap_or(u32::MAX), group.clone()));
        groups
    }

    /// Harvests without any record between the first and the last that have one.
    pub fn gaps(&self) -> Vec<i32> {
        let known = self.years.keys().next().zip(self.years.keys().next_back());
        known.map_or_else(Vec::new, |(first, last)| (*first..=*last).filter(|year| !self.years.contains_key(year)).collect())
    }

    /// "nothing is known of 2019 and 2021"; none where no harvest is missing.
    pub fn gaps_said(&self) -> Option<String> {
        let gaps: Vec<String> = self.gaps().iter().map(ToString::to_string).collect();
        let (last, rest) = gaps.split_last()?;
        let list = if rest.is_empty() { last.clone() } else { format!("{} and {last}", rest.join(", ")) };
        Some(format!("nothing is known of {list}; what was used then does not count"))
    }
}

/// Uses in a field in harvests `from` to `to`, both included.
pub fn uses(records: &Records, field: FieldId, from: i32, to: i32) -> Uses {
    Kept::of(records, from, to).uses(records, field)
}

/// Uses in every field of harvest `to`.
pub fn uses_of_all(records: &Records, from: i32, to: i32) -> BTreeMap<FieldId, Uses> {
    let kept = Kept::of(records, from, to);
    records.fields_in(to).iter().map(|field| (field.id, kept.uses(records, field.id))).collect()
}

/// Crops and sprays of some harvests by their fields.
struct Kept<'a> {
    crops: BTreeMap<FieldId, Vec<&'a Crop>>,
    sprays: BTreeMap<FieldId, Vec<&'a Spray>>,
}

impl<'a> Kept<'a> {
    fn of(records: &'a Records, from: i32, to: i32) -> Self {
        let mut kept = Self { crops: BTreeMap::new(), sprays: BTreeMap::new() };
        for crop in records.crops.values().filter(|crop| (from..=to).contains(&crop.year) && !crop.crop.is_empty()) {
            kept.crops.entry(crop.field).or_default().push(crop);
        }
        for spray in records.sprays.values().filter(|spray| (from..=to).contains(&spray.year)) {
            kept.sprays.entry(spray.field).or_default().push(spray);
        }
        kept
    }

    fn uses(&self, records: &Records, field: FieldId) -> Uses {
        let mut found = Uses::default();
        let mut passes: BTreeSet<(i32, &str, String)> = BTreeSet::new();
        for land in with_origins(records, field) {
            for crop in self.crops.get(&land).into_iter().flatten() {
                found.crops.entry(crop.year).or_insert_with(|| crop.crop.clone());
                found.years.entry(crop.year).or_default();
            }
            for spray in self.sprays.get(&land).into_iter().flatten() {
                // A pass of an unknown day is one of its own.
                let day = spray.date.map_or_else(|| spray.id.to_string(), |day| day.to_string());
                if passes.insert((spray.year, spray.group.as_str(), day)) {
                    *found.years.entry(spray.year).or_default().entry(spray.group.clone()).or_default() += 1;
                }
            }
        }
        found.runs = runs(&found);
        found
    }
}

/// Modes of action used in more than half of at least three crops of a kind, or of all harvests.
fn runs(found: &Uses) -> Vec<Run> {
    // Only years with a spray count: of others nobody wrote down what was sprayed.
    let recorded: Vec<i32> = found.years.iter().filter(|(_, groups)| !groups.is_empty()).map(|(year, _)| *year).collect();
    let (Some(first), Some(last)) = (recorded.first(), recorded.last()) else { return Vec::new() };
    let mut kinds: BTreeMap<String, Vec<i32>> = BTreeMap::new();
    for year in &recorded {
        if let Some(crop) = found.crops.get(year) {
            kinds.entry(crop.to_lowercase()).or_default().push(*year);
        }
    }
    let mut list = Vec::new();
    for group in found.groups() {
        let used = |years: &[i32]| years.iter().filter(|year| found.years[year].contains_key(&group)).count();
        let run = |crop: &str, years: &[i32]| Run {
            group: group.clone(),
            crop: crop.to_owned(),
            used: used(years),
            of: years.len(),
            years: [*first, *last],
        };
        let telling = |run: &Run| run.of >= LEAST_CROPS && 2 * run.used > run.of;
        let by_crop: Vec<Run> = kinds.iter().map(|(crop, years)| run(crop, years)).filter(telling).collect();
        let over_all = run("", &recorded);
        if by_crop.is_empty() && telling(&over_all) {
            list.push(over_all);
        }
        list.extend(by_crop);
    }
    list.sort_by(|a, b| (b.used * a.of).cmp(&(a.used * b.of)).then(b.used.cmp(&a.used)).then(a.group.cmp(&b.group)));
    list
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{CropId, Farm, FarmId, Field, Record, SprayId};
    use geo::MultiPolygon;
    use jiff::civil::{Date, date};

    fn spray(field: FieldId, year: i32, group: &str, day: Option<Date>) -> Record {
        Record::Spray(Spray {
            id: SprayId::new(),
            field,
            year,
            date: day,
            active: "made up".into(),
            group: group.into(),
            dose_g_per_ha: None,
            effect: String::new(),
            growth_stage: String::new(),
            cost_per_ha: None,
        })
    }

    #[test]
    fn runs_are_named_and_years_without_records_do_not_count() {
        let mut records = Records::default();
        let farm = Farm { id: FarmId::new(), business: String::new(), name: "Home".into() };
        let whole = Field::new(farm.id, "Long Acre", MultiPolygon(vec![]));
        let mut half = Field::new(farm.id, "Long Acre east", MultiPolygon(vec![]));
        half.came_from = vec![whole.id];
        let (old, new) = (whole.id, half.id);
        for record in [Record::Farm(farm), Record::Field(whole), Record::Field(half)] {
            records.put(record);
        }
        for year in 2018..=2025 {
            let land = if year < 2022 { old } else { new };
            let crop = if year == 2020 { "spring barley" } else { "Winter wheat" };
            let id = CropId::new();
            records.put(Record::Crop(Crop {
                id,
                field: land,
                year,
                crop: crop.into(),
                drilled: None,
                cultivation: String::new(),
            }));
            // 2018 has a crop and no record of sprays.
            if year > 2018 && year != 2020 && year != 2023 {
                records.put(spray(land, year, "2", Some(date(year as i16, 3, 8))));
                records.put(spray(land, year, "2", Some(date(year as i16, 3, 8))));
            }
            if year > 2018 {
                records.put(spray(land, year, "15", None));
            }
        }
        let found = uses(&records, new, 2018, 2025);
        assert_eq!(found.years[&2024]["2"], 1, "two actives of one mode on one day are one use");
        assert_eq!(found.years[&2018].len(), 0);
        let said: Vec<String> = found.runs.iter().map(Run::said).collect();
        assert_eq!(
            said,
            [
                "VLCFA in 6 of 6 winter wheat crops, 2019 to 2025".to_owned(),
                "ALS in 5 of 6 winter wheat crops, 2019 to 2025".to_owned()
            ]
        );
        assert_eq!(uses(&records, new, 2024, 2025).runs, [], "two crops are no habit");
        assert_eq!(found.gaps_said(), None);
        let gone: Vec<CropId> = records.crops.values().filter(|crop| crop.year == 2021).map(|crop| crop.id).collect();
        records.crops.retain(|id, _| !gone.contains(id));
        records.sprays.retain(|_, spray| spray.year != 2021);
        let said = uses(&records, new, 2018, 2025).gaps_said();
        assert_eq!(said.as_deref(), Some("nothing is known of 2021; what was used then does not count"));
    }
}
