//! Farm against farm without names: shares only, because areas and numbers of fields would tell which farm is meant.

use std::collections::BTreeMap;

use crate::model::{FarmId, FieldId, Rating, Records};
use crate::rating::FieldRatings;
use crate::report::request::ReportRequest;
use crate::season::Due;

/// A farm without its name. Shares are of area, 0 to 1.
#[derive(Debug, Clone, PartialEq)]
pub struct HiddenFarm {
    /// "A", "B", … by how much of the tested land is resistant, most first.
    pub letter: String,
    /// Whether the report is about this farm alone.
    pub own: bool,
    /// Share of the land that was tested at all.
    pub tested: f64,
    /// Shares of the tested land by the worst rating, worst first; none: nothing was tested.
    pub classes: Option<[f64; 4]>,
    /// Share of the land whose last test is older than the interval, or that has none.
    pub unknown_or_old: f64,
    /// Share of the land that is due a test.
    pub due: f64,
}

#[derive(Default)]
struct Sums {
    all: f64,
    classes: [f64; 4],
    old: f64,
    due: f64,
}

/// Every farm of the project with fields in the year, whichever fields the report is about.
pub(super) fn of(
    records: &Records,
    request: &ReportRequest,
    known: &BTreeMap<FieldId, FieldRatings>,
    due: &BTreeMap<FieldId, (usize, Due)>,
) -> Vec<HiddenFarm> {
    let interval = records.settings.retest_interval_years;
    let mut farms: BTreeMap<FarmId, Sums> = BTreeMap::new();
    for field in records.fields_in(request.year) {
        let sums = farms.entry(field.farm).or_default();
        let (area, known) = (field.area_m2(), known.get(&field.id));
        sums.all += area;
        if let Some(worst) = known.and_then(|known| known.worst) {
            sums.classes[worst as usize] += area;
        }
        if known.and_then(|known| known.years_since_test).is_none_or(|years| years >= interval) {
            sums.old += area;
        }
        if due.get(&field.id).is_some_and(|(_, due)| due.due) {
            sums.due += area;
        }
    }
    farms.retain(|_, sums| sums.all > 0.0);
    let shown: std::collections::BTreeSet<FarmId> =
        request.fields.iter().flatten().filter_map(|id| Some(records.fields.get(id)?.farm)).collect();
    let mut list: Vec<(FarmId, Sums, f64)> = farms
        .into_iter()
        .map(|(farm, sums)| {
            let tested: f64 = sums.classes.iter().sum();
            let lost = sums.classes[Rating::RR as usize] + sums.classes[Rating::RRR as usize];
            let share = if tested > 0.0 { lost / tested } else { -1.0 };
            (farm, sums, share)
        })
        .collect();
    list.sort_by(|a, b| b.2.total_cmp(&a.2).then(b.1.classes[3].total_cmp(&a.1.classes[3])).then(a.0.cmp(&b.0)));
    let farm = |(at, (farm, sums, _)): (usize, (FarmId, Sums, f64))| {
        let tested: f64 = sums.classes.iter().sum();
        let mut classes = sums.classes.map(|area| area / tested);
        classes.reverse();
        HiddenFarm {
            letter: letter(at),
            own: shown.len() == 1 && shown.contains(&farm),
            tested: tested / sums.all,
            classes: (tested > 0.0).then_some(classes),
            unknown_or_old: sums.old / sums.all,
            due: sums.due / sums.all,
        }
    };
    list.into_iter().enumerate().map(farm).collect()
}

/// A, B, … Z, AA, AB, …
fn letter(at: usize) -> String {
    let last = char::from(b'A' + (at % 26) as u8);
    if at < 26 { last.to_string() } else { format!("{}{last}", letter(at / 26 - 1)) }
}

#[cfg(test)]
mod tests {
    use super::letter;

    #[test]
    fn letters_go_on_after_z() {
        assert_eq!([0, 25, 26, 51, 52, 702].map(letter), ["A", "Z", "AA", "AZ", "BA", "AAA"]);
    }
}
