//! `awn rate`: every result with our rating beside the laboratory's, and why they may differ; dose-response curves.

use awn_core::model::{Rating, Records, Sample, TestResult};
use awn_core::project::Project;
use awn_core::rating::{self, Assessment, Curve, Estimate};
use serde_json::{Map, Value, json};

use super::answer::{Answer, table};
use super::args_results::{RateWanted, Show};
use super::{rate_fields, tables};

/// Answers what was asked for.
pub fn run(wanted: &RateWanted) -> anyhow::Result<Answer> {
    let project = super::open(&wanted.project)?;
    let field = wanted
        .field
        .as_deref()
        .map(|name| super::fields::named(project.records(), name, wanted.year))
        .transpose()?
        .map(|field| field.id);
    let only = Only { wanted, field };
    Ok(match wanted.show {
        Show::Results => results(&project, &only),
        Show::Doses => doses(&project, &only),
        Show::Trend => rate_fields::trend(&project, &only, tables::year_or_latest(&project, wanted.year)),
        Show::Modes => rate_fields::modes(&project, &only, tables::year_or_latest(&project, wanted.year)),
        Show::Farms => rate_fields::farms(&project, &only, tables::year_or_latest(&project, wanted.year)),
    })
}

/// Every result of a project.
pub fn all(project: &Project) -> Answer {
    let wanted = RateWanted {
        project: std::path::PathBuf::new(),
        show: Show::Results,
        field: None,
        year: None,
        active: None,
        group: None,
        disputed: false,
        steps: false,
    };
    results(project, &Only { wanted: &wanted, field: None })
}

/// What is left out.
pub struct Only<'a> {
    wanted: &'a RateWanted,
    /// The one field that is shown.
    pub field: Option<awn_core::model::FieldId>,
}

impl Only<'_> {
    /// Whether an active is shown.
    pub fn active(&self, active: &str) -> bool {
        self.wanted.active.as_ref().is_none_or(|wanted| wanted.trim().eq_ignore_ascii_case(active))
    }

    /// Whether an HRAC group is shown.
    pub fn group(&self, group: &str) -> bool {
        self.wanted.group.as_ref().is_none_or(|wanted| wanted.trim() == group)
    }

    fn sample(&self, sample: &Sample) -> bool {
        self.field.is_none_or(|field| field == sample.field) && self.wanted.year.is_none_or(|year| year == sample.year)
    }
}

fn shares(found: &Assessment) -> Option<Map<String, Value>> {
    let shares = found.sureness?.class_shares?;
    Some(Rating::ALL.iter().zip(shares).map(|(rating, share)| (rating.label().to_owned(), json!(share))).collect())
}

fn results(project: &Project, only: &Only<'_>) -> Answer {
    let records = project.records();
    let mut rows = Vec::new();
    let mut list = Vec::new();
    let mut below = String::new();
    for result in records.results.values().filter(|result| only.active(&result.active) && only.group(&result.group)) {
        let Some(sample) = records.samples.get(&result.sample).filter(|sample| only.sample(sample)) else { continue };
        let found = rating::assess(records, result);
        if only.wanted.disputed && found.agrees() != Some(false) {
            continue;
        }
        let field = records.fields.get(&sample.field).map(|field| field.name.as_str()).unwrap_or_default();
        let interval = found.sureness.and_then(|sure| sure.interval);
        let reasons = rating::disagreement(records, result, &found);
        rows.push(row(sample, field, result, &found));
        if only.wanted.steps || only.wanted.disputed {
            below.push_str(&explained(sample, field, result, &found, &reasons));
        }
        let laboratory = records.assays.get(&result.assay).map(|assay| assay.laboratory.as_str()).unwrap_or_default();
        let mut entry = json!({
            "sample": sample.code, "field": field, "year": sample.year, "active": result.active, "group": result.group,
            "reduction": found.reduction, "standard": found.standard, "rating": found.rating,
            "interval": interval, "class_shares": shares(&found), "lab_rating": found.lab, "agrees": found.agrees(),
            "assay": records.assays.get(&result.assay).map(|assay| assay.kind), "dose": result.dose,
            "measure": result.measure, "method": found.sureness.map(|sure| sure.method), "limits": found.limits,
            "p_difference": found.difference, "disagreement": reasons,
            "rated_by": found.counted.map(|counted| counted.by.label()), "laboratory": laboratory,
            "comment": result.comment, "doubts": found.doubts.iter().map(|doubt| json!({ "what": doubt.what, "so": doubt.so })).collect::<Vec<_>>(),
        });
        if only.wanted.steps {
            entry["steps"] = json!(rating::steps(result, &found));
        }
        list.push(entry);
    }
    let headings = ["Sample", "Field", "Year", "Active", "Group", "Red. %", "95 %", "Std %", "Rating", "Sure %", "Lab", ""];
    let right = [false, false, true, false, true, true, true, true, false, true, false, false];
    let text = table(&headings, &right, &rows) + &below + &cautions();
    Answer::new(json!({ "results": list, "cautions": rating::CAUTIONS }), text)
}

/// Printed under every table of ratings.
pub fn cautions() -> String {
    format!("{}{}\n", tables::CAUTION, rating::CAUTIONS[0])
}

fn row(sample: &Sample, field: &str, result: &TestResult, found: &Assessment) -> Vec<String> {
    let sure = found.rating.and_then(|rating| found.sureness?.share(rating));
    vec![
        sample.code.clone(),
        field.to_owned(),
        sample.year.to_string(),
        result.active.clone(),
        result.group.clone(),
        found.reduction.map_or("-".into(), |reduction| format!("{reduction:.1}")),
        found.sureness.and_then(|sure| sure.interval).map_or("-".into(), |[low, high]| format!("{low:.0} to {high:.0}")),
        found.standard.map_or("none".into(), |standard| format!("{standard:.1}")),
        found.rating.map_or("-", Rating::label).to_owned(),
        sure.map_or("-".into(), |share| format!("{:.0}", 100.0 * share)),
        found.lab.map_or("-", Rating::label).to_owned(),
        // That neither error nor number is known shows in the empty columns.
        match (found.agrees(), found.doubts.len() > usize::from(found.evidence.is_none())) {
            _ if found.is_laboratory_only() => "laboratory's, not worked out by us".into(),
            (Some(false), _) => "differs".into(),
            (_, true) => "doubtful".into(),
            _ => String::new(),
        },
    ]
}

fn explained(sample: &Sample, field: &str, result: &TestResult, found: &Assessment, reasons: &[String]) -> String {
    let mut text = format!("\n{} ({field}), {}:\n", sample.code, result.active);
    for step in rating::steps(result, found) {
        text.push_str(&format!("  {step}\n"));
    }
    for doubt in &found.doubts {
        text.push_str(&format!("  But: {} {}\n", doubt.what, doubt.so));
    }
    if !reasons.is_empty() {
        let lab = found.lab.map_or("", Rating::label);
        text.push_str(&format!("  The laboratory printed {lab}. Both are kept. What would explain it:\n"));
        for reason in reasons {
            text.push_str(&format!("  - {reason}\n"));
        }
    }
    text
}

fn doses(project: &Project, only: &Only<'_>) -> Answer {
    let records: &Records = project.records();
    let mut rows = Vec::new();
    let mut list = Vec::new();
    for found in rating::dose_responses(records).into_iter().filter(|found| only.active(&found.active)) {
        let Some(sample) = records.samples.get(&found.sample).filter(|sample| only.sample(sample)) else { continue };
        let standard = found.standard.as_ref().and_then(|standard| standard.curve.as_ref());
        rows.push(vec![
            sample.code.clone(),
            found.active.clone(),
            found.unit.clone(),
            dose(found.own.curve.as_ref(), 50.0),
            dose(found.own.curve.as_ref(), 90.0),
            dose(standard, 50.0),
            found.factor.map_or("-".into(), estimate),
        ]);
        list.push(json!({
            "sample": sample.code, "active": found.active, "unit": found.unit, "points": found.own.points,
            "curve": found.own.curve.as_ref().map(curve), "standard_curve": standard.map(curve),
            "resistance_factor": found.factor.map(figure),
        }));
    }
    let headings = ["Sample", "Active", "Unit", "ED50", "ED90", "ED50 std", "Resistance factor"];
    let mut text = table(&headings, &[false, false, false, true, true, true, true], &rows);
    if rows.is_empty() {
        "No sample was tested at three or more doses of an active.\n".clone_into(&mut text);
    }
    Answer::new(json!({ "doses": list }), text + &cautions())
}

fn dose(curve: Option<&Curve>, percent: f64) -> String {
    curve.map_or("-".into(), |curve| estimate(curve.effective_dose(percent)))
}

fn estimate(figure: Estimate) -> String {
    format!("{:.3} ({:.3} to {:.3})", figure.value, figure.interval[0], figure.interval[1])
}

fn figure(figure: Estimate) -> Value {
    json!({ "value": figure.value, "se": figure.se, "interval": figure.interval })
}

fn curve(curve: &Curve) -> Value {
    json!({
        "parameters": curve.shape.parameters(), "b": curve.b, "c": curve.c, "d": curve.d, "e": curve.e,
        "residual_standard_error": curve.residual, "df": curve.df,
        "ed50": figure(curve.effective_dose(50.0)), "ed90": figure(curve.effective_dose(90.0)),
    })
}
