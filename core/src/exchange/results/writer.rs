//! The records of a laboratory's table, each once: samples, assays, standards and results.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use crate::exchange::results::place::{Known, Near};
use crate::exchange::results::pots;
use crate::exchange::results::row::Line;
use crate::exchange::row_errors::RowErrors;
use crate::model::{
    Assay, AssayId, AssayKind, FieldId, Record, Records, ResultId, Sample, SampleId, Stage, StageEvent, Standard,
    StandardId, StandardRole, TestResult, same_name,
};
use crate::project::Edit;
use crate::samples;

/// What tells assays of a file apart: kind, harvest year, day, laboratory.
type AssayKey = (AssayKind, i32, Option<jiff::civil::Date>, String);

fn assay_key(line: &Line, kind: AssayKind, year: i32) -> AssayKey {
    (kind, year, line.date, line.laboratory.to_lowercase())
}

/// Collects the records of the rows.
pub(super) struct Writer<'a> {
    records: &'a Records,
    known: &'a Known<'a>,
    pub edit: Edit<'a>,
    source: String,
    /// Samples met or made, by code.
    pub samples: BTreeMap<String, Sample>,
    /// By sample: the kinds of test in this table, its day and its laboratory.
    reported: BTreeMap<SampleId, (BTreeSet<AssayKind>, Option<jiff::civil::Date>, String)>,
    assays: BTreeMap<AssayKey, AssayId>,
    /// Standards of the file.
    pub standards: Vec<Standard>,
    pub added: usize,
    pub updated: usize,
    /// Actives with results and no susceptible standard.
    pub without_standard: BTreeSet<String>,
    /// Results that are the laboratory's rating alone.
    pub rated_only: usize,
    /// Codes in the file that nearly match known ones, or match nothing.
    pub near: Near,
}

impl<'a> Writer<'a> {
    pub fn new(records: &'a Records, known: &'a Known<'a>, source: &str) -> Self {
        Self {
            records,
            known,
            edit: Edit::new(records, "Add results"),
            source: source.to_owned(),
            samples: BTreeMap::new(),
            reported: BTreeMap::new(),
            assays: BTreeMap::new(),
            standards: Vec::new(),
            added: 0,
            updated: 0,
            without_standard: BTreeSet::new(),
            rated_only: 0,
            near: Near::default(),
        }
    }

    /// Finds the assays of a file before its standards are put there. A corrected file, whatever its name, stays in the test that
    /// at least half of its results are in already; one that only repeats some beside standards of its own is a test of its own.
    pub fn adopt<'l>(&mut self, lines: impl Iterator<Item = (&'l Line, i32, AssayKind, bool)>, with_standards: bool) {
        let mut votes: BTreeMap<AssayKey, (&Line, usize, BTreeMap<AssayId, usize>)> = BTreeMap::new();
        for (line, year, kind, several) in lines {
            let (_, all, held) = votes.entry(assay_key(line, kind, year)).or_insert((line, 0, BTreeMap::new()));
            *all += 1;
            let sample = self.known.sample(&line.sample).map(|sample| sample.id);
            if let Some(there) = sample.and_then(|sample| self.there(sample, line, kind, several)) {
                *held.entry(there.assay).or_default() += 1;
            }
        }
        for ((kind, year, ..), (line, all, held)) in votes {
            let most = held.into_iter().max_by_key(|(_, count)| *count).filter(|(_, count)| 2 * count >= all);
            let whole = |assay: AssayId, count: usize| {
                2 * count > self.records.results.values().filter(|result| result.assay == assay).count()
            };
            if let Some((assay, _)) = most.filter(|(assay, count)| !with_standards || whole(*assay, *count)) {
                self.assay(line, kind, year, Some(assay));
            }
        }
    }

    /// A standard. `year`: the harvest year of the samples beside it.
    pub fn put_standard(&mut self, line: &Line, kind: AssayKind, year: i32) {
        let (Some(role), Some(reduction)) = (line.role, line.reduction) else { return };
        let assay = self.assay(line, kind, year, None);
        let there = self.records.standards.values().find(|standard| {
            standard.assay == assay
                && same_name(&standard.name, &line.sample)
                && standard.active == line.active
                && standard.dose == line.dose
                && standard.measure == line.measure
        });
        let standard = Standard {
            id: there.map_or_else(StandardId::new, |standard| standard.id),
            assay,
            name: line.sample.clone(),
            role,
            active: line.active.clone(),
            dose: line.dose.clone(),
            measure: line.measure,
            reduction,
            se: line.se,
            n: line.n,
            raw: pots::raw(line),
        };
        self.edit.put(Record::Standard(standard.clone()));
        self.standards.push(standard);
    }

    /// A result. `several`: the file has several doses or measures of the active for this sample.
    pub fn put(&mut self, line: &Line, place: (FieldId, i32), kind: AssayKind, several: bool, errors: &mut RowErrors<'_>) {
        let (field, year) = place;
        let Some(sample) = self.sample(line, field, year, errors) else { return };
        if line.reduction.is_none() && line.lab_rating.is_none() {
            return;
        }
        let there = self.there(sample, line, kind, several);
        let assay = self.assay(line, kind, year, None);
        let mut susceptible = self.standards.iter().filter(|standard| {
            standard.role == StandardRole::Susceptible
                && standard.assay == assay
                && standard.active == line.active
                && (standard.dose == line.dose || standard.dose.is_none())
                && (standard.measure == line.measure || standard.measure.is_none() || line.measure.is_none())
        });
        let standard = line.standard.or_else(|| susceptible.next().map(|standard| standard.reduction));
        if line.reduction.is_none() {
            self.rated_only += 1;
        } else if standard.is_none() {
            self.without_standard.insert(line.active.clone());
        }
        let told = self.reported.entry(sample).or_default();
        told.0.insert(kind);
        told.1 = told.1.max(line.date);
        if told.2.is_empty() {
            told.2.clone_from(&line.laboratory);
        }
        match there {
            Some(_) => self.updated += 1,
            None => self.added += 1,
        }
        // A table of finished percentages, such as our own export, does not take away the pots they were worked out from; nor does
        // a rating alone take away the figures.
        let same = |held: &&Arc<TestResult>| match (held.reduction, line.reduction) {
            (Some(held), Some(reduction)) => (held - reduction).abs() < 0.05,
            (_, reduction) => reduction.is_none(),
        };
        let held = there.as_ref().filter(same).filter(|_| !line.is_raw());
        let figures = held.filter(|_| line.reduction.is_none());
        let plain = TestResult::printed(sample, assay, &line.active, &line.group, 0.0, standard);
        self.edit.put(Record::Result(TestResult {
            id: there.as_ref().map_or_else(ResultId::new, |result| result.id),
            reduction: line.reduction.or_else(|| figures.and_then(|held| held.reduction)),
            standard: standard.or_else(|| figures.and_then(|held| held.standard)),
            se: line.se.or_else(|| figures.and_then(|held| held.se)),
            n: line.n.or_else(|| figures.and_then(|held| held.n)),
            dose: line.dose.clone(),
            measure: line.measure.or_else(|| held.and_then(|held| held.measure)),
            raw: pots::raw(line).or_else(|| held.and_then(|held| held.raw.clone())),
            lab_rating: line.lab_rating,
            comment: line.comment.clone(),
            ..plain
        }));
    }

    /// The sample of the row's code, made if need be; none and an error if the code belongs to another field or year.
    fn sample(&mut self, line: &Line, field: FieldId, year: i32, errors: &mut RowErrors<'_>) -> Option<SampleId> {
        let code = line.sample.to_lowercase();
        let known = self.samples.get(&code).cloned().or_else(|| self.known.sample(&line.sample).map(|s| (**s).clone()));
        if known.is_none()
            && let Some(near) = self.known.nearly(&line.sample, field, year)
        {
            let what = format!("the sample {} is new; the field has {near} of the same year.", line.sample);
            let hint =
                format!("If they are the same envelope, undo, and import again with --same \"{}={near}\".", line.sample);
            errors.problems.warning(&line.place, what, hint);
            self.near.like.push((line.sample.clone(), near.to_owned()));
        } else if known.is_none() && samples::judge(&line.sample) == samples::Verdict::Mistyped {
            let what =
                format!("the last letter of {} does not fit the rest: it is mistyped, or not one of ours.", line.sample);
            let hint = match samples::like(self.records, &line.sample) {
                Some(like) => format!("Did you mean {like}? Undo, correct the code in the file, and import again."),
                None => "Compare it with the envelope.".to_owned(),
            };
            errors.problems.warning(&line.place, what, hint);
        }
        let mut sample = known.unwrap_or_else(|| Sample::new(line.sample.clone(), field, year));
        sample.taken = sample.taken.or(line.taken);
        if sample.field != field || sample.year != year {
            let of = self.records.fields.get(&sample.field).map_or("another field", |field| field.name.as_str());
            let what = format!("the code {} stands for a sample of {of} in {} already.", sample.code, sample.year);
            errors.add(line.place.clone(), what, "Give every sample its own code, or correct field and year.");
            return None;
        }
        let id = sample.id;
        self.samples.entry(code).or_insert(sample);
        Some(id)
    }

    /// Writes the samples met: those whose wanted tests are all in are reported, the others have been received.
    pub fn finish(&mut self, errors: &mut RowErrors<'_>) {
        for sample in self.samples.values() {
            let mut sample = sample.clone();
            if let Some((kinds, date, laboratory)) = self.reported.get(&sample.id) {
                let before = samples::stage_of(self.records, &sample);
                let held = self.records.results.values().filter(|result| result.sample == sample.id);
                let held = held.filter_map(|result| self.records.assays.get(&result.assay)).map(|assay| assay.kind);
                let there: BTreeSet<AssayKind> = kinds.iter().copied().chain(held).collect();
                let all = sample.tests.iter().all(|test| there.contains(test));
                let stage = if all { Stage::Reported } else { Stage::Received };
                if matches!(before, Stage::Lost | Stage::Withdrawn) {
                    let what = format!("the sample {} is {}, and has a result.", sample.code, before.label());
                    let hint = "It counts as reported from now on; check that the code is right.";
                    errors.problems.warning(&self.source, what, hint);
                }
                // A sample of before that was never followed stays without stages: its results say where it is.
                let followed = !sample.events.is_empty();
                if followed && (before < stage || before > Stage::Reported) {
                    // A table is never older than what was noted by hand.
                    let last = sample.events.iter().filter_map(|event| event.date).max();
                    let date = date.map(|date| last.map_or(date, |last| date.max(last)));
                    let note = format!("by {}", self.source);
                    sample.events.push(StageEvent { stage, date, person: laboratory.clone(), note });
                }
            }
            self.edit.put(Record::Sample(sample));
        }
    }

    /// One assay for each kind, year, day and laboratory of the file. `held`: the one a result that is replaced stands in.
    fn assay(&mut self, line: &Line, kind: AssayKind, year: i32, held: Option<AssayId>) -> AssayId {
        let key = assay_key(line, kind, year);
        if let Some(assay) = self.assays.get(&key) {
            return *assay;
        }
        let same = |assay: &&Arc<Assay>| {
            assay.kind == kind
                && assay.year == year
                && same_name(&assay.source, &self.source)
                && (assay.date == line.date || assay.date.is_none())
                && (same_name(&assay.laboratory, &line.laboratory) || assay.laboratory.is_empty())
        };
        let held = held.and_then(|held| self.records.assays.get(&held));
        let known = held.or_else(|| self.records.assays.values().find(same)).map(|assay| (**assay).clone());
        let mut assay = known.unwrap_or_else(|| Assay::of(kind, year, &self.source));
        assay.date = line.date.or(assay.date);
        if !line.laboratory.is_empty() {
            assay.laboratory.clone_from(&line.laboratory);
        }
        let id = assay.id;
        self.edit.put(Record::Assay(assay));
        self.assays.insert(key, id);
        id
    }

    /// The stored result that the row replaces: same sample, active and kind of assay; of another day only where one of the
    /// two days is not known.
    fn there(&self, sample: SampleId, line: &Line, kind: AssayKind, several: bool) -> Option<Arc<TestResult>> {
        let fits = |result: &&Arc<TestResult>| {
            let Some(assay) = self.records.assays.get(&result.assay) else { return false };
            let same_day = assay.date.is_none() || line.date.is_none() || assay.date == line.date;
            result.sample == sample && result.active == line.active && assay.kind == kind && same_day
        };
        let same: Vec<&Arc<TestResult>> = self.known.results(sample).iter().copied().filter(fits).collect();
        let exact = same.iter().find(|result| result.dose == line.dose && result.measure == line.measure);
        match &same[..] {
            [only] if !several => Some(Arc::clone(only)),
            _ => exact.map(|result| Arc::clone(result)),
        }
    }
}
