//! Field cards, labels and forms, read as a stranger reads them: by PDFium and ZXing.

#![allow(clippy::unwrap_used, clippy::panic)] // helpers of tests stop where something is wrong

mod support;

use std::sync::Arc;

use awn::commands::{card_pdf, form_bytes, labels_pdf, submissions};
use awn_core::model::{Crop, CropId, Field, PlanSettings, Record, Records, Sample, Spray, SprayId};
use awn_core::progress::Quiet;
use awn_core::project::{Edit, Project};
use awn_core::report::{CardSize, label_sheet, label_sheets};
use awn_core::samples::plan_samples;
use awn_core::stops::propose;
use jiff::civil::{Date, date};
use serde_json::{Value, json};
use support::{Folder, project};

const YEAR: i32 = 2027;
const TODAY: Date = date(2027, 7, 1);

fn read(folder: &Folder, name: &str, pdf: &[u8], dpi: u32) -> Vec<Value> {
    let path = folder.write(name, pdf);
    awn_tests::reference::run("read_labels", &json!({ "path": path, "dpi": dpi })).as_array().unwrap().clone()
}

fn codes(page: &Value) -> Vec<String> {
    page["codes"].as_array().unwrap().iter().map(|code| code["text"].as_str().unwrap().to_owned()).collect()
}

/// Text with its line breaks and hyphens as blanks.
fn text(pages: &[Value]) -> String {
    let all: String = pages.iter().map(|page| page["text"].as_str().unwrap_or_default()).collect();
    all.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The project with plans of some stops in every field, and a sample for each.
fn season(stops: usize) -> (Project, Vec<Arc<Sample>>) {
    let mut project = project();
    let records = project.records().clone();
    let mut edit = Edit::new(&records, "Plan");
    let settings = PlanSettings { stops, min_spacing_m: 8.0, ..PlanSettings::default() };
    for field in records.fields.values() {
        edit.put(Record::Plan(propose(&records, field.id, YEAR, &settings, &Quiet).unwrap()));
    }
    project.apply(edit.done()).unwrap();
    let fields: Vec<_> = records.fields.keys().copied().collect();
    let made = plan_samples(project.records(), &fields, YEAR, Some(TODAY), "", &mut awn_core::problem::Problems::new());
    project.apply(made.command).unwrap();
    let samples = project.records().samples_in(YEAR).into_iter().cloned().collect();
    (project, samples)
}

fn rename(records: &Records, name: &str) -> awn_core::project::Command {
    let mut edit = Edit::new(records, "Rename");
    let field = records.fields.values().next().unwrap();
    edit.put(Record::Field(Field { name: name.to_owned(), ..(**field).clone() }));
    edit.done()
}

#[test]
fn codes_on_every_sheet_of_labels_can_be_read_and_lie_where_the_sheet_says() {
    let (mut project, samples) = season(3);
    let long = "Ålder #1 *Upper* $Über_Große$ Wiese behind the Old Märkisch Barn & <Pond>, north-eastern part";
    let command = rename(project.records(), long);
    project.apply(command).unwrap();
    let folder = Folder::new();
    let wanted: Vec<&str> = samples.iter().map(|sample| sample.code.as_str()).collect();
    for sheet in label_sheets() {
        let from = if sheet.places() > 4 { sheet.places() - 2 } else { 1 };
        let pdf = labels_pdf(project.records(), &samples, sheet, from, TODAY).unwrap();
        let pages = read(&folder, "labels.pdf", &pdf, 200);
        let found: Vec<String> = pages.iter().flat_map(codes).collect();
        assert_eq!(found, wanted, "{}", sheet.name);
        assert_eq!(pages.len(), if sheet.places() > 4 { 2 } else { samples.len() }, "{}", sheet.name);
        for (at, page) in pages.iter().enumerate() {
            let size = [0, 1].map(|side| page["size_mm"][side].as_f64().unwrap());
            assert!((size[0] - sheet.paper.0).abs() < 0.2 && (size[1] - sheet.paper.1).abs() < 0.2, "{size:?}");
            let first = if at == 0 { from - 1 } else { 0 };
            for (number, code) in page["codes"].as_array().unwrap().iter().enumerate() {
                let (column, row) = ((first + number) % sheet.count.0, (first + number) / sheet.count.0);
                let left = sheet.margin.0 + column as f64 * (sheet.label.0 + sheet.gap.0);
                let top = sheet.margin.1 + row as f64 * (sheet.label.1 + sheet.gap.1);
                let (x, y) = (code["x"].as_f64().unwrap(), code["y"].as_f64().unwrap());
                // The code lies in the left half of its label, in the middle of its height.
                assert!((left..left + sheet.label.0 / 2.0).contains(&x), "{}: {x} from {left}", sheet.name);
                assert!((y - top - sheet.label.1 / 2.0).abs() < 2.0, "{}: {y} from {top}", sheet.name);
            }
        }
        let said = text(&pages);
        for words in
            ["Pit Close", "Hill Farm, harvest 2027", "black-grass (Alopecurus myosuroides)", "Collected by", "#1 *Upper*"]
        {
            assert!(said.contains(words), "{}: {words} in {said}", sheet.name);
        }
    }
    assert!(
        labels_pdf(project.records(), &samples, &label_sheets()[0], 22, TODAY).unwrap_err().to_string().contains("1 to 21")
    );
    assert!(label_sheet("100,60,1,1,100,60,5,0,0,0").unwrap_err().contains("beyond the paper"));
}

#[test]
fn field_cards_hold_what_is_needed_in_the_field() {
    let (mut project, samples) = season(5);
    let field = project.records().fields.values().next().unwrap().clone();
    let mut edit = Edit::new(project.records(), "Spray");
    edit.put(Record::Spray(Spray {
        id: SprayId::new(),
        field: field.id,
        year: YEAR,
        date: Some(date(2027, 3, 8)),
        active: "pinoxaden".into(),
        group: "1".into(),
        dose_g_per_ha: Some(45.0),
        growth_stage: String::new(),
        cost_per_ha: None,
        effect: String::new(),
    }));
    let command = edit.done();
    project.apply(command).unwrap();
    let records = project.records();
    let fields: Vec<_> = records.fields.keys().copied().collect();
    let folder = Folder::new();
    for (size, paper) in [(CardSize::A4, [210.0, 297.0]), (CardSize::A5, [148.0, 210.0])] {
        let pdf = card_pdf(records, &fields, YEAR, size, TODAY).unwrap();
        assert_eq!(pdf, card_pdf(records, &fields, YEAR, size, TODAY).unwrap(), "same input, same bytes");
        let pages = read(&folder, "cards.pdf", &pdf, 150);
        let size_mm = [0, 1].map(|side| pages[0]["size_mm"][side].as_f64().unwrap());
        assert!((size_mm[0] - paper[0]).abs() < 0.5 && (size_mm[1] - paper[1]).abs() < 0.5, "{size_mm:?}");
        let found: Vec<String> = pages.iter().flat_map(codes).collect();
        let mut wanted: Vec<String> = samples.iter().map(|sample| sample.code.clone()).collect();
        let mut found_sorted = found.clone();
        wanted.sort();
        found_sorted.sort();
        assert_eq!(found_sorted, wanted);
        let said = text(&pages);
        for words in [
            "8 March 2027: pinoxaden",
            "label says how long people must stay out",
            "10 to 20 % has shed",
            "Never strip heads",
            "Tell someone where you are",
            "ergot",
            "Clean boots",
            "Cleanest field first",
            "nothing is recorded here; ask",
            "1/5 mug",
            "Collected by",
            "about 8 to 21 July by the season window alone",
        ] {
            assert!(said.contains(words), "{words} in {said}");
        }
    }
    // Another weed, in a late year: its own days and amount of seed (about three mugs of wild-oats: advice page of 2020).
    let mut settings = records.settings.clone();
    settings.season.species.insert(0, "AVEFA".into());
    settings.season.shift_days.insert(YEAR, 3);
    let mut edit = Edit::new(records, "Another weed");
    edit.put(Record::Settings(settings));
    for sample in &samples {
        edit.put(Record::Sample(Sample { species: "AVEFA".into(), ..(**sample).clone() }));
    }
    let command = edit.done();
    project.apply(command).unwrap();
    let pdf = card_pdf(project.records(), &fields, YEAR, CardSize::A4, TODAY).unwrap();
    let said = text(&read(&folder, "cards.pdf", &pdf, 150));
    for words in ["common wild-oat (Avena fatua)", "about 19 July to 10 August by the season window alone", "3 mugfuls"] {
        assert!(said.contains(words), "{words} in {said}");
    }
    let records = project.records();
    // A field without stops has no card, and it says why.
    let mut edit = Edit::new(records, "Discard");
    edit.remove(&Record::Plan((**records.plan_of(field.id, YEAR).unwrap()).clone()));
    let command = edit.done();
    project.apply(command).unwrap();
    let error = card_pdf(project.records(), &[field.id], YEAR, CardSize::A4, TODAY).unwrap_err().to_string();
    assert!(error.contains("propose stops first"), "{error}");
}

#[test]
fn forms_tell_the_history_and_what_is_not_known() {
    let (mut project, samples) = season(2);
    let sample = samples[0].clone();
    let mut edit = Edit::new(project.records(), "Grow");
    edit.put(Record::Crop(Crop {
        id: CropId::new(),
        field: sample.field,
        year: 2026,
        crop: "=winter wheat".into(),
        drilled: Some(date(2025, 10, 4)),
        cultivation: String::new(),
    }));
    for (active, group) in [("flufenacet", "15"), ("mesosulfuron+iodosulfuron", "2")] {
        edit.put(Record::Spray(Spray {
            id: SprayId::new(),
            field: sample.field,
            year: 2026,
            date: None,
            active: active.into(),
            group: group.into(),
            dose_g_per_ha: Some(240.0),
            growth_stage: String::new(),
            cost_per_ha: None,
            effect: "survivors in patches".into(),
        }));
    }
    let command = edit.done();
    project.apply(command).unwrap();
    let told = submissions(project.records(), std::slice::from_ref(&sample), Some(3));
    let gaps = told[0].gaps.join(" ");
    for words in [
        "The day it was taken.",
        "Who took it.",
        "How much seed",
        "What grew for harvest 2027, 2025.",
        "The day, for 2 of 2 sprays.",
    ] {
        assert!(gaps.contains(words), "{words} in {gaps}");
    }
    let folder = Folder::new();
    let pdf = form_bytes(&told, std::path::Path::new("form.pdf"), TODAY).unwrap();
    let pages = read(&folder, "form.pdf", &pdf, 150);
    assert_eq!(pages.iter().flat_map(codes).collect::<Vec<_>>(), std::slice::from_ref(&sample.code));
    let said = text(&pages);
    for words in [
        "=winter wheat",
        "mesosulfuron+iodosulfuron",
        "ALS",
        "survivors in patches",
        "Not known",
        "petri dish and pot",
        "TL ",
    ] {
        assert!(said.contains(words), "{words} in {said}");
    }
    let csv = String::from_utf8(form_bytes(&told, std::path::Path::new("form.csv"), TODAY).unwrap()).unwrap();
    let lines: Vec<&str> = csv.lines().collect();
    // A heading, a row for each of two sprays, and one for each of two harvests without any.
    assert_eq!(lines.len(), 5, "{csv}");
    assert!(lines[0].starts_with("sample,farm,field,harvest,species,grid_reference,"));
    assert!(csv.contains(",'=winter wheat,2025-10-04,") && csv.contains(",15,VLCFA,240,"), "{csv}");
    // The grid reference is that of the field's middle, by our own converter, which is held to the reference files elsewhere.
    let grid = told[0].grid_reference.clone().unwrap();
    assert!(lines.iter().skip(1).all(|line| line.contains(&grid)), "{grid}");
}
