//! Problems in the samples of a project: codes that are used twice or mistyped, days that cannot be, stages out of order.

use std::collections::BTreeMap;

use crate::model::{Records, Stage};
use crate::problem::Problems;
use crate::samples::{Verdict, code, day, moving};

/// Looks through all samples.
pub fn check(records: &Records, problems: &mut Problems) {
    let mut by_code: BTreeMap<String, usize> = BTreeMap::new();
    for sample in records.samples.values() {
        let place = format!("sample {}", sample.code);
        let times = by_code.entry(sample.code.trim().to_lowercase()).or_default();
        *times += 1;
        if *times == 2 {
            problems.error(&place, "two samples have this code.", "Give one of them another: results go to the first.");
        }
        if code::judge(&sample.code) == Verdict::Mistyped {
            problems.warning(&place, "the last letter of its code does not fit the rest.", "Compare it with the envelope.");
        }
        // That the field lay otherwise is told with the references of all records.
        let exists = records.fields.get(&sample.field).is_some_and(|field| field.exists_in(sample.year));
        if let Some(taken) = sample.taken.filter(|_| exists) {
            moving::check_taken(records, sample, taken, problems);
        }
        let dated: Vec<_> = sample.events.iter().filter_map(|event| Some((event.date?, event.stage))).collect();
        for pair in dated.windows(2) {
            if let [(before, first), (after, then)] = pair
                && after < before
            {
                let what = format!(
                    "it was {} on {}, before it was {} on {}.",
                    then.label(),
                    day(*after),
                    first.label(),
                    day(*before)
                );
                problems.warning(&place, what, "Correct one of the days.");
            }
        }
        let last = sample.last_event().map(|event| event.stage);
        if last == Some(Stage::Reported) && !records.results.values().any(|result| result.sample == sample.id) {
            problems.note(&place, "it is marked reported, and has no result.", "Import the laboratory's table.");
        }
    }
}
