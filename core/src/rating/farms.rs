//! How much of a farm's land is in which class, for each mode of action.

use std::collections::BTreeMap;

use crate::model::{FarmId, Rating, Records};
use crate::rating::fields::field_ratings;

/// The land of a farm by the latest rating of one mode of action, m2.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct LandByClass {
    /// Area of each rating, in the order of [`Rating::ALL`].
    pub tested_m2: [f64; 4],
    /// Area never tested for it.
    pub untested_m2: f64,
    /// Of the tested area, that whose rating is the laboratory's, not worked out by us.
    pub by_laboratory_m2: f64,
}

impl LandByClass {
    /// All tested land, m2.
    pub fn tested(&self) -> f64 {
        self.tested_m2.iter().sum()
    }

    /// Share of the tested land in a class, 0 to 1; none if nothing was tested.
    pub fn share(&self, rating: Rating) -> Option<f64> {
        let tested = self.tested();
        (tested > 0.0).then(|| self.tested_m2[rating as usize] / tested)
    }
}

/// For every farm with fields in harvest `year`: its land by HRAC group. Every group tested anywhere is there for every farm.
pub fn land_by_class(records: &Records, year: i32) -> BTreeMap<FarmId, BTreeMap<String, LandByClass>> {
    let known = field_ratings(records, year);
    let groups: std::collections::BTreeSet<String> = known.values().flat_map(|known| known.groups.keys().cloned()).collect();
    let mut farms: BTreeMap<FarmId, BTreeMap<String, LandByClass>> = BTreeMap::new();
    for field in records.fields_in(year) {
        let area = field.area_m2();
        let farm = farms.entry(field.farm).or_default();
        for group in &groups {
            let land = farm.entry(group.clone()).or_default();
            match known.get(&field.id).and_then(|known| known.groups.get(group)) {
                Some(found) => {
                    land.tested_m2[found.rating as usize] += area;
                    if found.by.is_laboratory() {
                        land.by_laboratory_m2 += area;
                    }
                }
                None => land.untested_m2 += area,
            }
        }
    }
    farms
}
