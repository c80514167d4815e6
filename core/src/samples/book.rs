//! What stage samples are at, what is next and by when, and when results are to be expected.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use jiff::ToSpan as _;
use jiff::civil::Date;

use crate::model::{AssayKind, Records, Sample, SampleId, Stage, by_name};
use crate::season::{Calendar, Ripeness, calendar, ripeness};

/// Days within which dry seed is sealed, and a sealed sample posted (our choice: "post at once" is common practice, no source).
const AT_ONCE_DAYS: i32 = 2;
/// Days after which a posted sample should have come (our choice, no source).
const POST_DAYS: i32 = 7;

/// A result that is to be expected.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Expected {
    /// Kind of test.
    pub assay: AssayKind,
    /// About when.
    pub about: Date,
    /// Whether a result of that kind is there.
    pub there: bool,
}

/// How a sample stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Status {
    /// Where it is.
    pub stage: Stage,
    /// Since when, if known.
    pub since: Option<Date>,
    /// What is to be done next; none: nothing.
    pub next: Option<Stage>,
    /// By when.
    pub by: Option<Date>,
    /// Days past that; 0: in time.
    pub late_days: i32,
    /// The results that are to be expected, once it was collected.
    pub expected: Vec<Expected>,
}

impl Status {
    /// Whether something should have been done by now.
    pub fn is_late(&self) -> bool {
        self.late_days > 0
    }
}

/// A sample with how it stands.
#[derive(Debug, Clone)]
pub struct Line {
    /// The sample.
    pub sample: Arc<Sample>,
    /// How it stands.
    pub status: Status,
}

/// Every sample of a harvest year: the latest ones first, then by stage and code. `today` none: nothing is late.
pub fn book(records: &Records, year: i32, today: Option<Date>) -> Vec<Line> {
    let kinds = results_by_sample(records);
    let samples = records.samples_in(year);
    let planned = |sample: &&Arc<Sample>| sample.last_event().is_none_or(|event| event.stage == Stage::Planned);
    let ripe =
        if samples.iter().copied().any(|sample| planned(&sample)) { ripeness(records, year) } else { Ripeness::default() };
    let mut lines: Vec<Line> = samples
        .into_iter()
        .map(|sample| Line {
            sample: Arc::clone(sample),
            status: judged(records, sample, kinds.get(&sample.id), &ripe, today),
        })
        .collect();
    lines.sort_by(|a, b| {
        let rank = |line: &Line| (-line.status.late_days, line.status.stage.is_end(), line.status.stage);
        rank(a).cmp(&rank(b)).then_with(|| by_name(&a.sample.code, &b.sample.code))
    });
    lines
}

/// How one sample stands.
pub fn status(records: &Records, sample: &Sample, today: Option<Date>) -> Status {
    judged(records, sample, results_by_sample(records).get(&sample.id), &ripeness(records, sample.year), today)
}

/// The stage of a sample: as noted last, or as its results and its day say.
pub fn stage_of(records: &Records, sample: &Sample) -> Stage {
    let mut kinds = BTreeSet::new();
    for result in records.results.values().filter(|result| result.sample == sample.id) {
        kinds.extend(records.assays.get(&result.assay).map(|assay| assay.kind));
    }
    stage(sample, &kinds)
}

fn results_by_sample(records: &Records) -> BTreeMap<SampleId, BTreeSet<AssayKind>> {
    let mut kinds: BTreeMap<SampleId, BTreeSet<AssayKind>> = BTreeMap::new();
    for result in records.results.values() {
        if let Some(assay) = records.assays.get(&result.assay) {
            kinds.entry(result.sample).or_default().insert(assay.kind);
        }
    }
    kinds
}

fn stage(sample: &Sample, there: &BTreeSet<AssayKind>) -> Stage {
    let all = !there.is_empty() && sample.tests.iter().all(|test| there.contains(test));
    match sample.last_event() {
        Some(event) if all && event.stage < Stage::Reported => Stage::Reported,
        Some(event) => event.stage,
        None if !there.is_empty() => Stage::Reported,
        None if sample.taken.is_some() => Stage::Collected,
        None => Stage::Planned,
    }
}

fn judged(
    records: &Records,
    sample: &Sample,
    there: Option<&BTreeSet<AssayKind>>,
    ripe: &Ripeness,
    today: Option<Date>,
) -> Status {
    let none = BTreeSet::new();
    let there = there.unwrap_or(&none);
    let stage = stage(sample, there);
    let since = sample.day_of(stage);
    let known = calendar(sample.year);
    let by = match stage {
        // While seed is ripe in its field, as far as is known.
        Stage::Planned => ripe.of_weed(records, sample.field, sample.year, &sample.species).map(|ripe| ripe.days.to),
        _ => known.and_then(|known| due(records, sample, (stage, since), &known, there)),
    };
    let late_days = match (by, today) {
        (Some(by), Some(today)) => (today - by).get_days().max(0),
        _ => 0,
    };
    let expected = known.map(|known| expected(sample, stage, &known, there)).unwrap_or_default();
    Status { stage, since, next: stage.next(), by, late_days, expected }
}

fn after(day: Option<Date>, days: i32) -> Option<Date> {
    day?.checked_add(days.days()).ok()
}

/// By when the next thing is to be done, once there is seed.
fn due(
    records: &Records,
    sample: &Sample,
    (stage, since): (Stage, Option<Date>),
    known: &Calendar,
    there: &BTreeSet<AssayKind>,
) -> Option<Date> {
    // What is late for the post already stays due on the day it was due.
    let before_post = |day: Option<Date>| day.map_or(Some(known.post_by), |day| Some(day.min(known.post_by.max(since?))));
    match stage {
        Stage::Collected => after(since, records.settings.samples.dry_days).or(Some(known.post_by)),
        Stage::Dried | Stage::Sealed => before_post(after(since, AT_ONCE_DAYS)),
        Stage::Posted => after(since, POST_DAYS).or(Some(known.petri_back)),
        Stage::Received => {
            let waiting = expected(sample, stage, known, there).into_iter().filter(|expected| !expected.there);
            waiting.map(|expected| expected.about).min()
        }
        Stage::Planned | Stage::Reported | Stage::Lost | Stage::Withdrawn => None,
    }
}

/// When results come: those of dish tests about the end of September if the samples were in by early August, those of pot tests about
/// the end of October; what was posted later comes as much later (our choice, no source).
fn expected(sample: &Sample, stage: Stage, known: &Calendar, there: &BTreeSet<AssayKind>) -> Vec<Expected> {
    if matches!(stage, Stage::Planned | Stage::Lost | Stage::Withdrawn) {
        return Vec::new();
    }
    let posted = sample.day_of(Stage::Posted).or(sample.day_of(Stage::Received));
    let late = posted.map_or(0, |day| (day - known.post_by).get_days().max(0));
    let mut wanted: BTreeSet<AssayKind> = sample.tests.iter().copied().collect();
    if wanted.is_empty() {
        wanted.extend(there);
    }
    let when = |assay: AssayKind| match assay {
        AssayKind::Petri => known.petri_back,
        AssayKind::Pot => known.pot_back,
    };
    let line = |assay: AssayKind| {
        let about = after(Some(when(assay)), late)?;
        Some(Expected { assay, about, there: there.contains(&assay) })
    };
    wanted.into_iter().filter_map(line).collect()
}
