//! Programmes, money and the coming years in the report: the words of the PDF are read back by another program and held to what was
//! worked out.

#![allow(clippy::unwrap_used)] // stopping is the answer of a test

use awn_core::act::{self, outlook, percent, with_band};
use awn_core::model::{FieldId, Records};
use awn_core::progress::Quiet;
use awn_core::project::Project;
use awn_core::report::{Part, Report, ReportRequest, Version, Words};
use awn_sample_farm::SEASON;
use awn_tests::reference;
use jiff::civil::date;
use serde_json::json;

fn farm() -> Records {
    let folder = tempfile::tempdir().unwrap();
    let path = awn::demo::write_sample_farm(folder.path(), &Quiet).unwrap();
    let mut records = (**Project::open(&path).unwrap().records()).clone();
    records.settings.outlook.draws = 100;
    records
}

fn request(parts: &[Part], pages: Vec<FieldId>) -> ReportRequest {
    ReportRequest {
        parts: parts.iter().copied().collect(),
        pages: Some(pages.into_iter().collect()),
        ..ReportRequest::new(SEASON, date(2026, 11, 25))
    }
}

/// The text of a report's pages, blanks and breaks as one blank.
fn text(report: &Report) -> String {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("report.pdf");
    std::fs::write(&path, report.pdf().unwrap().0).unwrap();
    let seen = reference::run("pdf", &json!({ "path": path }));
    let pages: Vec<&str> = seen["text"].as_array().unwrap().iter().map(|page| page.as_str().unwrap()).collect();
    plain(&pages.join(" "))
}

fn plain(text: &str) -> String {
    text.replace('\u{200b}', "").split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn the_report_says_of_programmes_and_coming_years_what_the_lens_says() {
    let records = farm();
    let checks = act::check(&records, SEASON, None, None);
    let worst: Vec<FieldId> = checks.fields.iter().take(3).map(|check| check.field).collect();
    let report = Report::make(&records, &request(&[Part::Summary, Part::Act, Part::Pages], worst.clone()), &Quiet).unwrap();
    let found = report.content.act.as_ref().unwrap();
    assert_eq!((found.year, &found.checks), (SEASON, &checks), "as on the screen");
    let said = text(&report);
    let sum = |value: f64| act::money(&found.currency, value);
    assert!(
        said.contains(&format!("cost {}. Of that, {}", sum(checks.all.cost), with_band(checks.all.at_risk, sum))),
        "{said}"
    );
    for check in &checks.fields {
        if check.tested != act::Tested::None {
            let whole = |value: f64| act::money(&found.currency, value.round());
            let row = format!(
                "{} {} {}",
                sum(check.cost_per_ha),
                with_band(check.at_risk_per_ha, whole),
                whole(check.at_risk().likely)
            );
            assert!(said.contains(&plain(&row)), "{row}: {said}");
        }
    }
    // The pages of the three worst: every sentence of the lens, and of the coming years.
    for field in &worst {
        let check = checks.of(*field).unwrap();
        for sentence in act::sentences(check, found.uses.get(field), &found.currency) {
            assert!(said.contains(&plain(&sentence.text)), "{}: {said}", sentence.text);
        }
        for step in &check.steps {
            assert!(said.contains(&plain(&with_band(step.control, percent))), "{step:?}");
        }
        for sentence in found.ahead.get(field).map(|one| outlook::sentences(one, &found.currency)).unwrap_or_default() {
            assert!(said.contains(&plain(&sentence.text)), "{}: {said}", sentence.text);
        }
    }
    assert!(found.ahead.keys().any(|field| worst.contains(field)), "one of the three has a density");
    for line in act::ASSUMPTIONS.into_iter().chain([act::NEVER]) {
        assert!(said.contains(&plain(line)), "{line}: {said}");
    }
    assert!(said.matches("never a recommendation").count() > worst.len(), "on the part and on every page");
}

#[test]
fn without_programmes_and_scenarios_nothing_is_said() {
    let mut records = farm();
    records.field_programmes.clear();
    records.scenarios.clear();
    let one = records.fields_in(SEASON)[0].id;
    let report = Report::make(&records, &request(&[Part::Summary, Part::Act, Part::Pages], vec![one]), &Quiet).unwrap();
    assert!(report.content.act.is_none() && !text(&report).contains("Programme planned"));
    // Left out when it is not asked for; the grower has it as well.
    let report = Report::make(&farm(), &request(&[Part::Summary], vec![]), &Quiet).unwrap();
    assert!(report.content.act.is_none());
    assert!(Version::Grower.parts().contains(&Part::Act) && Version::Consultant.parts().contains(&Part::Act));
}

#[test]
fn its_words_are_in_the_list_and_those_of_the_lens() {
    let template = std::fs::read_to_string(awn_tests::project_path("assets/pages/report-act.typ")).unwrap();
    let words = Words::english();
    let keys: Vec<&str> = template.split("w(\"").skip(1).filter_map(|rest| rest.split('"').next()).collect();
    assert!(keys.len() > 15);
    for key in keys {
        assert!(words.all().contains_key(key), "{key}");
    }
    for (n, assumption) in (1..).zip(act::ASSUMPTIONS) {
        assert_eq!(words.say(&format!("act.assumed.{n}"), &[]), assumption);
    }
    assert_eq!(words.say("act.never", &[]), act::NEVER);
}
