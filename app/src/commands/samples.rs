//! Samples by their codes, and the pages that go with them; for the command line and the window alike.

use std::path::Path;
use std::sync::Arc;

use anyhow::{anyhow, bail};
use awn_core::exchange::submission_csv;
use awn_core::model::{FieldId, Records, Sample, Stage};
use awn_core::report::{CardSize, LabelSheet, envelope_labels, field_cards, submission_forms};
use awn_core::samples::{Submission, Verdict, judge, like, stage_of, submission};
use awn_core::typeset::{Archival, Manuscript, typeset};
use jiff::civil::Date;

/// Who plans samples: as said, or else the account at this machine. Who did the later steps is asked.
pub fn who_plans(said: &str) -> String {
    let said = said.trim();
    if !said.is_empty() {
        return said.to_owned();
    }
    let account = ["USER", "USERNAME", "LOGNAME"].into_iter().find_map(|name| std::env::var(name).ok());
    account.filter(|name| !name.trim().is_empty()).unwrap_or_default()
}

/// The samples of codes; a code that is not there is said, with the one that is probably meant.
pub fn samples_coded(records: &Records, codes: &[String]) -> anyhow::Result<Vec<Arc<Sample>>> {
    let mut list: Vec<Arc<Sample>> = Vec::new();
    for code in codes {
        let Some(sample) = records.sample_coded(code) else {
            let mistyped = if judge(code) == Verdict::Mistyped { ": its last letter does not fit the rest" } else { "" };
            match like(records, code) {
                Some(like) => bail!("there is no sample {code}{mistyped}; did you mean {like}?"),
                None => bail!("there is no sample {code}{mistyped}; awn samples lists them"),
            }
        };
        if !list.iter().any(|held| held.id == sample.id) {
            list.push(Arc::clone(sample));
        }
    }
    Ok(list)
}

/// Samples of a harvest year that are neither lost nor withdrawn.
pub fn samples_alive(records: &Records, year: i32) -> Vec<Arc<Sample>> {
    let alive = |sample: &&Arc<Sample>| !matches!(stage_of(records, sample), Stage::Lost | Stage::Withdrawn);
    records.samples_in(year).into_iter().filter(alive).cloned().collect()
}

/// Fields of a harvest year with planned stops, by farm and name.
pub fn fields_planned(records: &Records, year: i32) -> Vec<FieldId> {
    let planned = |id: &FieldId| records.plan_of(*id, year).is_some();
    records.fields_in(year).iter().map(|field| field.id).filter(planned).collect()
}

fn pdf(manuscript: &Manuscript) -> anyhow::Result<Vec<u8>> {
    Ok(typeset(manuscript)?.pdf(Archival::No)?)
}

/// Field cards as PDF.
pub fn card_pdf(records: &Records, fields: &[FieldId], year: i32, size: CardSize, today: Date) -> anyhow::Result<Vec<u8>> {
    pdf(&field_cards(records, fields, year, size, today)?)
}

/// Labels for envelopes as PDF.
pub fn labels_pdf(
    records: &Records,
    samples: &[Arc<Sample>],
    sheet: &LabelSheet,
    from: usize,
    today: Date,
) -> anyhow::Result<Vec<u8>> {
    pdf(&envelope_labels(records, samples, sheet, from, today).map_err(|error| anyhow!(error))?)
}

/// What is told of samples.
pub fn submissions(records: &Records, samples: &[Arc<Sample>], years: Option<i32>) -> Vec<Submission> {
    let years = years.unwrap_or(records.settings.samples.history_years);
    samples.iter().map(|sample| submission(records, sample, years)).collect()
}

/// The forms of samples as PDF or CSV, by the file's name.
pub fn form_bytes(told: &[Submission], file: &Path, today: Date) -> anyhow::Result<Vec<u8>> {
    match file.extension().map(|ending| ending.to_string_lossy().to_lowercase()).as_deref() {
        Some("csv") => submission_csv(told).map_err(|error| anyhow!(error)),
        Some("pdf") => pdf(&submission_forms(told, today).ok_or_else(|| anyhow!("there is no sample; plan samples first"))?),
        _ => bail!("the name must end in .pdf or .csv, so that the format is clear: {}", file.display()),
    }
}
