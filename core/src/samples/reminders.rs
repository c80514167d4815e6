//! What should have been done with samples by now, in one line each.

use jiff::civil::Date;

use crate::model::{AssayKind, Records, SampleId, Stage};
use crate::samples::{Line, book, day};
use crate::season::ripeness;
use crate::units::count;

/// Something to be reminded of.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reminder {
    /// The line: "3 samples of harvest 2027 are collected but not posted".
    pub text: String,
    /// What to do about it.
    pub hint: String,
    /// The samples meant.
    pub samples: Vec<SampleId>,
    /// Their harvest year.
    pub year: i32,
}

/// Reminders for samples of a harvest year and the one before, the more urgent first. `today` none: there are none.
pub fn reminders(records: &Records, year: i32, today: Option<Date>) -> Vec<Reminder> {
    let mut list: Vec<Reminder> =
        [year, year - 1].into_iter().flat_map(|year| of_year(&book(records, year, today), year, today)).collect();
    list.extend(today.into_iter().flat_map(|today| now(records, year, today)));
    list
}

/// What is to be done today, before it is late: seed that is ripe, and the round.
fn now(records: &Records, year: i32, today: Date) -> Vec<Reminder> {
    let lines = book(records, year, Some(today));
    let planned: Vec<&Line> =
        lines.iter().filter(|line| line.status.stage == Stage::Planned && !line.status.is_late()).collect();
    if planned.is_empty() {
        return Vec::new();
    }
    let known = ripeness(records, year);
    let ripe = |line: &&&Line| {
        let sample = &line.sample;
        known.of_weed(records, sample.field, year, &sample.species).is_some_and(|ripe| ripe.days.contains(today))
    };
    let ids = |lines: &[&Line]| lines.iter().map(|line| line.sample.id).collect::<Vec<_>>();
    let mut list = Vec::new();
    let visits =
        || records.rounds_of(year).into_iter().flat_map(|rounds| &rounds.visits).filter(|visit| visit.date == today);
    let round: Vec<&Line> =
        planned.iter().copied().filter(|line| visits().any(|visit| visit.field == line.sample.field)).collect();
    if !round.is_empty() {
        let text = format!("Today's round goes to the fields of {}", count(round.len(), "planned sample"));
        let hint = "Take cards, labels, tub and clean boots along.".into();
        list.push(Reminder { text, hint, samples: ids(&round), year });
    }
    let here: Vec<&Line> = planned.iter().filter(ripe).copied().collect();
    if let Some(first) = here.iter().filter_map(|line| line.status.by).min() {
        let what = count(here.len(), "planned sample");
        let text = format!("Seed of {what} of harvest {year} is ripe now, of the first until about {}", day(first));
        list.push(Reminder { text, hint: "Look at how much has shed, and collect.".into(), samples: ids(&here), year });
    }
    list
}

fn of_year(lines: &[Line], year: i32, today: Option<Date>) -> Vec<Reminder> {
    let mut list = Vec::new();
    let late = |stages: &[Stage]| -> Vec<&Line> {
        lines.iter().filter(|line| line.status.is_late() && stages.contains(&line.status.stage)).collect()
    };
    let ids = |lines: &[&Line]| lines.iter().map(|line| line.sample.id).collect::<Vec<_>>();
    let here = late(&[Stage::Collected, Stage::Dried, Stage::Sealed]);
    if !here.is_empty() {
        let oldest = here.iter().filter_map(|line| line.sample.day_of(Stage::Collected)).min();
        let since = oldest.map_or_else(String::new, |oldest| format!(", the oldest since {}", day(oldest)));
        let text = format!("{} of harvest {year} collected but not posted{since}", count(here.len(), "sample"));
        list.push(Reminder { text, hint: "Dry, seal and post them.".into(), samples: ids(&here), year });
    }
    let planned = late(&[Stage::Planned]);
    if !planned.is_empty() {
        let text =
            format!("{} of harvest {year} planned but not collected; seed is past its best", count(planned.len(), "sample"));
        let hint = "Collect what is left, or withdraw them with a reason.".into();
        list.push(Reminder { text, hint, samples: ids(&planned), year });
    }
    let posted = late(&[Stage::Posted]);
    if !posted.is_empty() {
        let text = format!("{} of harvest {year} posted, and nobody says they came", count(posted.len(), "sample"));
        list.push(Reminder { text, hint: "Ask the laboratory.".into(), samples: ids(&posted), year });
    }
    for (assay, test) in [(AssayKind::Petri, "dish"), (AssayKind::Pot, "pot")] {
        let overdue = |line: &&Line| {
            matches!(line.status.stage, Stage::Posted | Stage::Received)
                && line
                    .status
                    .expected
                    .iter()
                    .any(|e| e.assay == assay && !e.there && today.is_some_and(|today| e.about < today))
        };
        let waiting: Vec<&Line> = lines.iter().filter(overdue).collect();
        if !waiting.is_empty() {
            let text =
                format!("Results of the {test} test of {} of harvest {year} are not in", count(waiting.len(), "sample"));
            list.push(Reminder {
                text,
                hint: "Ask the laboratory, or import its table.".into(),
                samples: ids(&waiting),
                year,
            });
        }
    }
    list
}
