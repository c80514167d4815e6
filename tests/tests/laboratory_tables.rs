//! Laboratories' tables as they come: messy text files, spreadsheets of another program, pots, wide tables, standards as rows.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // helpers outside test functions may fail loudly too

mod support;

use awn_core::exchange::{self, Format, Import, ImportError, What};
use awn_core::model::{AssayKind, Measure, Rating, Records, StandardRole, TestResult};
use awn_core::problem::Problems;
use awn_core::progress::Quiet;
use awn_core::project::Project;
use awn_core::rating;
use awn_tests::reference;
use serde_json::json;
use std::path::Path;
use std::sync::Arc;
use support::{Folder, error_at, project};

fn read(records: &Records, file: &Path, map: &[(&str, &str)]) -> (Result<Import, ImportError>, Problems) {
    let map: Vec<_> = map.iter().map(|(a, b)| ((*a).to_owned(), (*b).to_owned())).collect();
    let mut problems = Problems::new();
    let import = exchange::results(records, file, &map, &mut problems, &Quiet);
    (import, problems)
}

fn put(project: &mut Project, file: &Path, map: &[(&str, &str)]) -> (usize, usize, Problems) {
    let (import, problems) = read(project.records(), file, map);
    let import = import.unwrap_or_else(|_| panic!("{problems:#?}"));
    let counts = (import.added, import.updated);
    project.apply(import.command).unwrap();
    (counts.0, counts.1, problems)
}

fn result(records: &Records, code: &str, active: &str) -> Arc<TestResult> {
    let sample = records.sample_coded(code).unwrap_or_else(|| panic!("no sample {code}")).id;
    records.results.values().find(|result| result.sample == sample && result.active == active).unwrap().clone()
}

fn utf16(text: &str) -> Vec<u8> {
    [0xfeff].into_iter().chain(text.encode_utf16()).flat_map(u16::to_le_bytes).collect()
}

const WIDE: &str = "Test report 2026;;;;;\nPot test, autumn;;;;;\n\n\
Sample ref;Field name;Harvest;Cycloxydim % reduction;Cycloxydim rating;Mesosulfuron + iodosulfuron (300 g/ha) % reduction\n\
LA-1;Hill Farm/Long Acre;2026;88,5%;s;<5\n\
\n\
PC-1;pit close;2026; 34,0 ;rrr;n/a\n\
PC-1;pit close;2026; 34,0 ;rrr;n/a\n\
S standard;;;93,0;;91\n\
R standard;;;20;;4\n\
Ratings by the published limits.;;;;;\n";

#[test]
fn a_wide_table_with_titles_notes_and_standards_as_rows() {
    for (name, bytes) in [
        ("pots.csv", WIDE.as_bytes().to_vec()),
        ("with mark pots.csv", ["\u{feff}", WIDE].concat().into_bytes()),
        ("16 pots.csv", utf16(WIDE)),
        ("tabs pots.txt", WIDE.replace(';', "\t").into_bytes()),
    ] {
        let mut project = project();
        let folder = Folder::new();
        let file = folder.write(name, bytes);
        let (added, updated, problems) = put(&mut project, &file, &[]);
        assert_eq!((added, updated), (3, 0), "{name}: {problems:#?}");
        let records = project.records();
        let first = result(records, "LA-1", "cycloxydim");
        assert_eq!((first.reduction, first.standard, first.lab_rating), (Some(88.5), Some(93.0), Some(Rating::S)), "{name}");
        assert_eq!(records.assays[&first.assay].kind, AssayKind::Pot, "by the file's title");
        let mixture = result(records, "LA-1", "mesosulfuron+iodosulfuron");
        assert_eq!(
            (mixture.reduction, mixture.standard, mixture.dose.as_deref()),
            (Some(5.0), Some(91.0), Some("300 g/ha"))
        );
        assert_eq!(mixture.comment, "printed as <5");
        assert_eq!(records.standards.len(), 4);
        let roles: Vec<_> = records.standards.values().map(|standard| standard.role).collect();
        assert_eq!(roles.iter().filter(|role| **role == StandardRole::Resistant).count(), 2);
        let notes: Vec<&str> = problems.list.iter().map(|problem| problem.what.as_str()).collect();
        assert!(notes.iter().any(|note| note.contains("repeats row 7")), "{notes:?}");
        assert!(notes.iter().any(|note| note.contains("hold no result") && note.contains("11")), "{notes:?}");
        assert!(notes.iter().any(|note| note.contains("1 cell without a test")), "{notes:?}");
        // Again: nothing doubles.
        let before = project.records().clone();
        assert_eq!((put(&mut project, &file, &[]).0, project.records() == &before), (0, true), "{name}");
    }
}

#[test]
fn pots_and_dishes_one_row_each() {
    let mut project = project();
    let folder = Folder::new();
    let file = folder.write(
        "survival.csv",
        "sample,field,year,active,rep,alive,plants\n\
         A1,Pit Close,2026,untreated,1,6,6\nA1,Pit Close,2026,untreated,2,5,6\n\
         A1,Pit Close,2026,cycloxydim,1,2,6\nA1,Pit Close,2026,cycloxydim,2,3,6\n\
         A1,Pit Close,2026,clodinafop,1,6,6\nA1,Pit Close,2026,clodinafop,2,5,6\n\
         Susceptible std,,2026,untreated,1,6,6\nSusceptible std,,2026,untreated,2,6,6\n\
         Susceptible std,,2026,cycloxydim,1,0,6\nSusceptible std,,2026,cycloxydim,2,1,6\n\
         Susceptible std,,2026,clodinafop,1,1,6\nSusceptible std,,2026,clodinafop,2,0,6\n",
    );
    let (added, ..) = put(&mut project, &file, &[]);
    assert_eq!(added, 2);
    let found = result(project.records(), "A1", "cycloxydim");
    let raw = found.raw.as_ref().unwrap();
    assert_eq!((raw.treated.len(), raw.untreated.len(), found.measure), (2, 2, Some(Measure::Survival)));
    // Abbott by hand: 5 of 12 treated, 11 of 12 untreated live; the standard 1 of 12, all untreated.
    assert!((found.reduction.unwrap() - 100.0 * (1.0 - 5.0 / 11.0)).abs() < 1e-9);
    assert!((found.standard.unwrap() - 100.0 * (1.0 - 1.0 / 12.0)).abs() < 1e-9);
    let assessment = rating::assess(project.records(), &found);
    assert_eq!(assessment.rating, Some(Rating::RR));
    assert!(assessment.difference.is_some() && assessment.sureness.unwrap().standard_unsure, "{assessment:?}");
    let steps = rating::steps(&found, &assessment).join("\n");
    assert!(steps.contains("2/6, 3/6") && steps.contains("1 - 0.417 / 0.917") && steps.contains("54.5 %"), "{steps}");

    // The export holds the figures; reading it again leaves the pots.
    let csv = exchange::export(project.records(), 2026, What::Results, Format::Csv).unwrap();
    let before = project.records().clone();
    put(&mut project, &folder.write("survival.csv", csv), &[]);
    assert_eq!(project.records().results, before.results);

    // Dishes: shoots of seeds sown, treated and untreated beside each other, numbered columns.
    let dishes = folder.write(
        "dishes.csv",
        "sample,field,year,active,shoots 1,shoots 2,sown,untreated shoots 1,untreated shoots 2\n\
         D1,Pit Close,2026,pendimethalin,20,24,50,44,46\n",
    );
    let (_, _, problems) = put(&mut project, &dishes, &[]);
    let found = result(project.records(), "D1", "pendimethalin");
    assert!((found.reduction.unwrap() - 100.0 * (1.0 - 44.0 / 90.0)).abs() < 1e-9, "{found:?}");
    assert_eq!(project.records().assays[&found.assay].kind, AssayKind::Petri);
    assert!(problems.list.iter().any(|problem| problem.what.contains("no susceptible standard")), "{problems:?}");
    assert_eq!(rating::assess(project.records(), &found).rating, None);

    // Weights.
    let weights = folder.write(
        "weights.csv",
        "sample,field,year,active,weight_g 1,weight_g 2,weight_g 3,untreated weight 1,untreated weight 2,untreated weight 3\n\
         W1,Pit Close,2026,glyphosate,0.4,0.6,0.5,9,11,10\nStandard S,,2026,glyphosate,0.3,0.2,0.4,9,10,10\n",
    );
    put(&mut project, &weights, &[]);
    let found = result(project.records(), "W1", "glyphosate");
    assert!((found.reduction.unwrap() - 95.0).abs() < 1e-9 && found.measure == Some(Measure::FreshWeight));
    assert_eq!(rating::assess(project.records(), &found).rating, Some(Rating::S));
}

#[test]
fn bad_counts_are_named_by_row() {
    let project = project();
    let folder = Folder::new();
    let heading = "sample,field,year,assay,active,alive,plants,untreated alive\n";
    let rows = [
        ("a,Pit Close,2026,pot,cycloxydim,7,6,6", "alive is 7 of 6"),
        ("b,Pit Close,2026,pot,cycloxydim,2,,6", "not of how many"),
        ("c,Pit Close,2026,pot,cycloxydim,two,6,6", "“two” in alive"),
        ("d,Pit Close,2026,pot,cycloxydim,2,6,0", "nothing lived in the untreated"),
        ("e,,2026,pot,cycloxydim,2,6,6", "there is no sample “e”"),
    ];
    let text: Vec<&str> = rows.iter().map(|(row, _)| *row).collect();
    let file = folder.write("bad.csv", format!("{heading}{}\n", text.join("\n")));
    let (import, problems) = read(project.records(), &file, &[]);
    assert!(import.is_err());
    for (index, (row, what)) in rows.iter().enumerate() {
        // Errors that need a row to be sound show once the others are mended.
        let alone = folder.write("one.csv", format!("{heading}{row}\n"));
        let (_, own) = read(project.records(), &alone, &[]);
        let found = error_at(&own, "row 2");
        assert!(found.what.contains(what) && !found.hint.is_empty(), "{row}: {found:?}");
        let place = format!("bad.csv, row {}", index + 2);
        assert!(problems.errors().any(|problem| problem.place == place), "{place}: {problems:#?}");
    }
    for (text, what) in [
        ("sample,field,year,active,reduction_percent\ns,Pit Close,2026,cycloxydim,50\n", "petri or a pot"),
        ("sample,field,active,reduction_percent\ns,Pit Close,cycloxydim,50\n", "no harvest year"),
    ] {
        let file = folder.write("table.csv", text);
        assert!(error_at(&read(project.records(), &file, &[]).1, "row 2").what.contains(what), "{text}");
        let given = [("=pot", "assay"), ("=2026", "year")];
        assert!(read(project.records(), &file, &given).0.is_ok(), "{text}");
    }
}

#[test]
fn codes_that_nearly_match_are_offered_and_never_joined() {
    let mut project = project();
    let folder = Folder::new();
    let heading = "sample,field,year,assay,active,reduction_percent,standard_percent\n";
    put(&mut project, &folder.write("a.csv", format!("{heading}SB-10,Pit Close,2026,pot,cycloxydim,50,90\n")), &[]);
    let (added, _, problems) =
        put(&mut project, &folder.write("b.csv", format!("{heading}SB-1O,Pit Close,2026,pot,clodinafop,50,90\n")), &[]);
    assert_eq!((added, project.records().samples.len()), (1, 2), "two samples, not one");
    assert!(problems.list.iter().any(|problem| problem.what.contains("has SB-10")), "{problems:?}");
    // Without a field the code must be known; a near one is offered.
    let bare =
        folder.write("c.csv", "sample,assay,active,reduction_percent,standard_percent\nSB-100,pot,glyphosate,99,99\n");
    assert!(error_at(&read(project.records(), &bare, &[]).1, "row 2").hint.contains("SB-10"));
    let bare = folder.write("d.csv", "sample,assay,active,reduction_percent,standard_percent\nsb-10,pot,glyphosate,99,99\n");
    put(&mut project, &bare, &[]);
    assert_eq!(project.records().samples.len(), 2);
}

#[test]
fn a_mapping_is_remembered_for_the_same_headings() {
    let mut project = project();
    let folder = Folder::new();
    let text = |code: &str| format!("Nr,Where,Crop year,Stuff,Killed %,Ref %\n{code},Pit Close,2026,cycloxydim,50,90\n");
    let map = [
        ("Nr", "sample"),
        ("Where", "field"),
        ("Crop year", "year"),
        ("Stuff", "active"),
        ("Killed %", "reduction_percent"),
        ("Ref %", "standard_percent"),
        ("=pot", "assay"),
    ];
    assert!(read(project.records(), &folder.write("one.csv", text("M1")), &[]).0.is_err());
    put(&mut project, &folder.write("one.csv", text("M1")), &map);
    let (import, problems) = read(project.records(), &folder.write("two.csv", text("M2")), &[]);
    let import = import.unwrap_or_else(|_| panic!("{problems:#?}"));
    assert!(import.added == 1 && import.summary.iter().any(|line| line.contains("as the last time")), "{import:?}");
}

#[test]
fn a_spreadsheet_of_another_program() {
    let mut project = project();
    let folder = Folder::new();
    let path = folder.path("results.xlsx");
    let sheets = json!({
        "Read me": [["Results of the season"], ["Ask us"]],
        "Pot test": [
            ["Client: none", null, null, null, null, null, null],
            [null, null, null, "Cycloxydim", null, "Clodinafop", null],
            ["Sample", "Field", "Date", "% reduction", "Rating", "% reduction", "Rating"],
            ["X-1", "Pit Close", "2026-11-02", 0.885, "S", 0.12, "RRR"],
            ["X-2", "=1+1", "2026-11-02", 0.5, "RR", "n/a", ""],
            ["Standard (S)", null, null, 0.93, null, 0.9, null],
        ],
    });
    let percent: serde_json::Map<String, serde_json::Value> =
        ["D4", "F4", "D5", "D6", "F6"].iter().map(|cell| ((*cell).to_owned(), json!("0.0%"))).collect();
    let asked = json!({ "write": path, "sheets": sheets, "merged": { "Pot test": ["D2:E2", "F2:G2"] },
        "formats": { "Pot test": percent } });
    reference::run("spreadsheet", &asked);
    // The formula has no kept value: the row without a field is named, nothing is worked out.
    let (import, problems) = read(project.records(), &path, &[]);
    assert!(import.is_err() && problems.list.iter().any(|problem| problem.what.contains("formula")), "{problems:#?}");
    let mended = serde_json::from_str(&asked.to_string().replace("=1+1", "Hill Farm/Long Acre")).unwrap();
    reference::run("spreadsheet", &mended);
    let (added, ..) = put(&mut project, &path, &[]);
    assert_eq!(added, 3);
    let found = result(project.records(), "X-1", "cycloxydim");
    assert_eq!((found.reduction, found.standard, found.lab_rating), (Some(88.5), Some(93.0), Some(Rating::S)));
    let assay = &project.records().assays[&found.assay];
    assert_eq!((assay.date, assay.kind, assay.year), (Some(jiff::civil::date(2026, 11, 2)), AssayKind::Pot, 2026));
    assert_eq!(result(project.records(), "X-1", "clodinafop").lab_rating, Some(Rating::RRR));
}

#[test]
fn an_export_as_workbook_holds_no_formula() {
    let mut project = project();
    let folder = Folder::new();
    let file = folder.write(
        "r.csv",
        "sample,field,year,assay,active,reduction_percent,standard_percent,dose,n,comment\n\
         '=HYPERLINK(1),\"Dale Farm/=Mill, lower\",2026,pot,cycloxydim,50,90,'+1 g/ha,30,'@x\n",
    );
    put(&mut project, &file, &[]);
    let bytes = exchange::export(project.records(), 2026, What::Results, Format::Xlsx).unwrap();
    assert_eq!(
        bytes,
        exchange::export(project.records(), 2026, What::Results, Format::Xlsx).unwrap(),
        "same records, same bytes"
    );
    let path = folder.write("out.xlsx", bytes);
    let seen = reference::run("spreadsheet", &json!({ "read": path }));
    let row = &seen["cells"]["Results"][1];
    assert_eq!((&row[0], &row[12], &row[14]), (&json!("=HYPERLINK(1)"), &json!("+1 g/ha"), &json!("@x")));
    let kinds = seen["kinds"]["Results"].as_array().unwrap();
    assert!(kinds.iter().flat_map(|row| row.as_array().unwrap()).all(|kind| kind != "f"), "{kinds:?}");
    // And it reads back into the same results.
    let before = project.records().clone();
    let (added, updated, _) = put(&mut project, &path, &[]);
    assert_eq!((added, updated, &project.records().results), (0, 1, &before.results));
}
