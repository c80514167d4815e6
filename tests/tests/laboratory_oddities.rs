//! Tables as odd as laboratories make them: each is read rightly, or refused with the place and what to do.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // helpers outside test functions may fail loudly too

mod support;

use std::path::Path;
use std::sync::Arc;

use awn_core::exchange::{self, Import, ImportError, Preview};
use awn_core::model::{AssayKind, Measure, Rating, Records, StandardRole, TestResult};
use awn_core::problem::Problems;
use awn_core::progress::Quiet;
use awn_core::project::Project;
use awn_core::rating;
use awn_tests::reference;
use serde_json::{Value, json};
use support::{Folder, error_at, project};

fn mapping(map: &[(&str, &str)]) -> Vec<(String, String)> {
    map.iter().map(|(a, b)| ((*a).to_owned(), (*b).to_owned())).collect()
}

fn read(records: &Records, file: &Path, map: &[(&str, &str)]) -> (Result<Import, ImportError>, Problems) {
    let mut problems = Problems::new();
    let import = exchange::results(records, file, &mapping(map), &mut problems, &Quiet);
    (import, problems)
}

fn look(project: &Project, file: &Path) -> Preview {
    exchange::preview(project.records(), file, &[], &Quiet)
}

/// Imports a file that must be readable; results added, and what was said.
fn put(project: &mut Project, file: &Path, map: &[(&str, &str)]) -> (usize, Problems) {
    let (import, problems) = read(project.records(), file, map);
    let import = import.unwrap_or_else(|_| panic!("{problems:#?}"));
    let added = import.added;
    project.apply(import.command).unwrap();
    (added, problems)
}

fn result(records: &Records, code: &str, active: &str) -> Arc<TestResult> {
    let sample = records.sample_coded(code).unwrap_or_else(|| panic!("no sample {code}")).id;
    let mut found = records.results.values().filter(|result| result.sample == sample && result.active == active);
    found.next().unwrap_or_else(|| panic!("no {active} of {code}")).clone()
}

fn said(problems: &Problems, words: &str) -> bool {
    problems.list.iter().any(|problem| problem.what.contains(words))
}

const HEADING: &str = "sample,field,year,assay,active,reduction_percent,standard_percent\n";

#[test]
fn a_letter_above_units_below_the_heading_and_figures_over_the_rows() {
    let letter: String = (1..40).map(|line| format!("Line {line} of a letter: thank you for your seed\n")).collect();
    let table = "Sample;Field;Harvest;Herbicide;% red.;Std %;n\n;;;;%;%;plants\n\
        A1;Pit Close;2026;cycloxydim;88,5;93;30\n\nA2;Hill Farm/Long Acre;2026;cycloxydim;12,0;93;30\n\
        Mean;;;;50,25;93;\nLSD (5 %);;;;8,1;;\nc.v. %;;;;11;;\nTotal;;;;;;60\n\n* poor stand\n";
    let (mut project, folder) = (project(), Folder::new());
    let file = folder.write("pots.csv", format!("{letter}{table}"));
    let (added, problems) = put(&mut project, &file, &[]);
    assert_eq!((added, project.records().samples.len(), project.records().standards.len()), (2, 2, 0), "{problems:#?}");
    assert!(said(&problems, "hold no result"), "{problems:#?}");
    assert_eq!(result(project.records(), "A1", "cycloxydim").reduction, Some(88.5));
    // "Standard deviation" is no standard, and a sample of a field may be called anything.
    let odd = "sample,field,year,assay,active,reduction_percent,standard_percent\n\
        Mean,Pit Close,2026,pot,cycloxydim,50,90\nStandard deviation,,,,,4,\nS.E.D.,,,,cycloxydim,4,\n";
    assert_eq!(put(&mut project, &folder.write("odd.csv", odd), &[]).0, 1);
    assert!(project.records().standards.is_empty() && project.records().sample_coded("Mean").is_some());
}

#[test]
fn one_table_below_the_other_each_of_its_own_herbicide() {
    let table = "Pot test harvest 2026\n\nHerbicide: Cycloxydim 200 g/ha\nSample,Field,Year,% reduction,Rating\n\
        B1,Pit Close,2026,40,RR\nS standard,,,92,\n\nHerbicide: Clodinafop 60 g/ha\nSample,Field,Year,% reduction,Rating\n\
        B2,Pit Close,2026,85,S\nS standard,,,91,\n";
    let (mut project, folder) = (project(), Folder::new());
    let (added, problems) = put(&mut project, &folder.write("blocks.csv", table), &[]);
    assert_eq!(added, 2, "{problems:#?}");
    let records = project.records();
    let (dim, fop) = (result(records, "B1", "cycloxydim"), result(records, "B2", "clodinafop"));
    assert_eq!((dim.reduction, dim.standard, dim.dose.as_deref()), (Some(40.0), Some(92.0), Some("200 g/ha")));
    assert_eq!((fop.reduction, fop.standard, fop.lab_rating), (Some(85.0), Some(91.0), Some(Rating::S)));
    // A second table with other columns; and a heading that is only printed again on a new page.
    let other = "Pots with glyphosate\nSample,Field,Year,% reduction,Std %\nB3,Pit Close,2026,99,98\nPage 2\n\
        Sample,Field,Year,% reduction,Std %\nB4,Pit Close,2026,97,98\n\
        Pots with propyzamide\nSample,Field,Std %,Year,% reduction\nB3,Pit Close,95,2026,60\n";
    let (added, problems) = put(&mut project, &folder.write("more.csv", other), &[]);
    assert_eq!(added, 3, "{problems:#?}");
    assert!(said(&problems, "read as glyphosate throughout"), "{problems:#?}");
    assert_eq!(result(project.records(), "B4", "glyphosate").reduction, Some(97.0));
    let last = result(project.records(), "B3", "propyzamide");
    assert_eq!((last.reduction, last.standard), (Some(60.0), Some(95.0)));
}

#[test]
fn doses_below_actives_beside_the_headings_of_the_sample() {
    let table = ",,Cycloxydim,,Clodinafop-propargyl,,Remarks\nSample code,Field name,100 g/ha,200 g/ha,30 g/ha,60 g/ha,\n\
        M1,Pit Close,\"88,5 %\",\"95,0 %\",12,\"30,5\",late pots\nSusceptible Standard 2019,,93,97,90,95,\nAverage,,50,51,40,52,\n";
    let (mut project, folder) = (project(), Folder::new());
    let (added, problems) = put(&mut project, &folder.write("pots 2026.csv", table), &[("=2026", "year")]);
    assert_eq!((added, project.records().standards.len()), (4, 4), "{problems:#?}");
    let records = project.records();
    let found: Vec<_> =
        records.results.values().map(|result| (result.dose.clone().unwrap(), result.reduction, result.standard)).collect();
    for wanted in [("100 g/ha", 88.5, 93.0), ("200 g/ha", 95.0, 97.0), ("30 g/ha", 12.0, 90.0), ("60 g/ha", 30.5, 95.0)] {
        assert!(found.contains(&(wanted.0.to_owned(), Some(wanted.1), Some(wanted.2))), "{wanted:?}: {found:?}");
    }
    assert_eq!(result(records, "M1", "clodinafop").comment, "late pots");
}

#[test]
fn a_sheet_for_each_herbicide_named_by_its_tab() {
    let (mut project, folder) = (project(), Folder::new());
    let path = folder.path("season.xlsx");
    let sheet = |code: &str, red: f64| {
        json!([["Sample", "Field", "Year", "Test", "% control", "Std %"], [code, "Pit Close", 2026, "pot", red, 95]])
    };
    let sheets = json!({ "Cycloxydim": sheet("C1", 66.0), "Glyphosate": sheet("C1", 99.0) });
    reference::run("spreadsheet", &json!({ "write": path, "sheets": sheets }));
    let (_, problems) = put(&mut project, &path, &[]);
    assert!(said(&problems, "read as cycloxydim throughout, from “Cycloxydim”"), "{problems:#?}");
    put(&mut project, &path, &[("=Glyphosate", "sheet")]);
    let of = |active: &str| result(project.records(), "C1", active).reduction;
    assert_eq!((of("cycloxydim"), of("glyphosate")), (Some(66.0), Some(99.0)));
    // A sentence with two actives names none.
    let two =
        "Pots sprayed with cycloxydim and with clodinafop\nSample,Field,Year,% reduction,Std %\nC2,Pit Close,2026,50,90\n";
    let (_, problems) = read(project.records(), &folder.write("two.csv", two), &[]);
    assert!(said(&problems, "column active is missing"), "{problems:#?}");
}

#[test]
fn figures_with_marks_letters_errors_and_ranges() {
    let table = format!(
        "{HEADING}D1,Pit Close,2026,pot,cycloxydim,\"54,1 bc\",92\nD2,Pit Close,2026,pot,cycloxydim,90–95,97\n\
        D3,Pit Close,2026,pot,cycloxydim,>95,97\nD4,Pit Close,2026,pot,cycloxydim,71.5 ± 3.2,97\n\
        D5,Pit Close,2026,pot,cycloxydim,insufficient seed,97\nD6,Pit Close,2026,pot,cycloxydim,n.d.,97\n\
        D7,Pit Close,2026,pot,cycloxydim,70-80,90\n"
    );
    let (mut project, folder) = (project(), Folder::new());
    let (added, problems) = put(&mut project, &folder.write("marks.csv", table), &[]);
    assert_eq!(added, 5, "{problems:#?}");
    assert!(said(&problems, "2 cells without a test, in rows 6, 7"), "{problems:#?}");
    let records = project.records();
    for (code, reduction, printed) in [
        ("D1", 54.1, "54,1 bc"),
        ("D2", 92.5, "90–95"),
        ("D3", 95.0, ">95"),
        ("D4", 71.5, "71.5 ± 3.2"),
        ("D7", 75.0, "70-80"),
    ] {
        let found = result(records, code, "cycloxydim");
        assert_eq!((found.reduction, found.comment.clone()), (Some(reduction), format!("printed as {printed}")), "{code}");
    }
    // 70 to 80 beside 90 reaches from R? into RR (limits 81, 72 and 36 of Moss et al. 1999); 90 to 95 beside 97 is S throughout.
    let doubts = |code: &str| rating::assess(records, &result(records, code, "cycloxydim")).doubts;
    assert!(doubts("D7").iter().any(|doubt| doubt.what.contains("from R? to RR")), "{:?}", doubts("D7"));
    assert!(!doubts("D2").iter().any(|doubt| doubt.what.contains("Printed is")), "{:?}", doubts("D2"));
    // What cannot be told is refused where it stands.
    let table = format!("{HEADING}e1,Pit Close,2026,pot,cycloxydim,72 (18),92\ne2,Pit Close,2026,pot,cycloxydim,5O,92\n");
    let (_, problems) = read(project.records(), &folder.write("bad.csv", table), &[]);
    assert!(error_at(&problems, "row 2").what.contains("“72 (18)”") && error_at(&problems, "row 3").what.contains("“5O”"));
}

#[test]
fn plants_out_of_how_many_the_heading_says() {
    let table = "Population,Field,Year,Treatment,Survivors (out of 18),Comments\nF1,Pit Close,2026,Untreated,18,\n\
        F1,Pit Close,2026,Cycloxydim,9,\nStd S,,2026,Untreated,18,\nStd S,,2026,Cycloxydim,1,\n";
    let (mut project, folder) = (project(), Folder::new());
    put(&mut project, &folder.write("counts.csv", table), &[]);
    let found = result(project.records(), "F1", "cycloxydim");
    // Abbott by hand: 9 of 18 beside 18 of 18; the standard 1 of 18.
    assert_eq!((found.reduction, found.measure), (Some(50.0), Some(Measure::Survival)));
    assert!((found.standard.unwrap() - 100.0 * 17.0 / 18.0).abs() < 1e-9, "{found:?}");
    let bad = table.replace(",9,", ",19,");
    let (_, problems) = read(project.records(), &folder.write("bad.csv", bad), &[]);
    assert!(error_at(&problems, "row 3").what.contains("19 of 18"), "{problems:#?}");
    // "3/6" that a spreadsheet took for the third of June.
    let day = "sample,field,year,active,alive,untreated alive\nF2,Pit Close,2026,cycloxydim,2026-06-03,6/6\n";
    let (_, problems) = read(project.records(), &folder.write("day.csv", day), &[]);
    assert!(error_at(&problems, "row 2").hint.contains("3 of 6"), "{problems:#?}");
}

#[test]
fn pots_at_dose_0_are_the_untreated_ones() {
    let mut table = "sample,field,year,active,dose,rep,fresh weight (g)\n".to_owned();
    for (sample, field, weights) in [("G1", "Pit Close", [10.0, 9.0, 5.0, 2.0]), ("S standard", "", [11.0, 6.0, 2.0, 0.5])] {
        for (dose, weight) in [0, 10, 30, 90].into_iter().zip(weights) {
            for (rep, factor) in [(1, 0.95), (2, 1.05)] {
                table.push_str(&format!("{sample},{field},2026,flufenacet,{dose} g/ha,{rep},{:.3}\n", weight * factor));
            }
        }
    }
    let (mut project, folder) = (project(), Folder::new());
    let (added, problems) = put(&mut project, &folder.write("doses.csv", &table), &[]);
    assert_eq!(added, 3, "three doses, not four: {problems:#?}");
    let records = project.records();
    let doses: Vec<_> =
        records.results.values().map(|result| (result.dose.clone().unwrap(), result.reduction.unwrap())).collect();
    assert!(doses.contains(&("30 g/ha".to_owned(), 50.0)), "5 g beside 10 g: {doses:?}");
    let found = rating::dose_responses(records).remove(0);
    assert_eq!(found.own.points.iter().filter(|point| point.0 == 0.0).count(), 2, "{found:?}");
    assert!(found.factor.unwrap().value > 1.5, "{found:?}");
    // A finished percentage at dose 0 is no result.
    let table = "sample,field,year,assay,active,dose,reduction_percent,standard_percent\n\
        G2,Pit Close,2026,pot,cycloxydim,0,0,0\nG2,Pit Close,2026,pot,cycloxydim,5 ppm,70,90\n";
    let (added, problems) = put(&mut project, &folder.write("finished.csv", table), &[]);
    assert!(added == 1 && said(&problems, "at dose 0"), "{problems:#?}");
}

#[test]
fn the_published_dose_response_comes_out_of_a_table() {
    // Root length by concentration: Inderjit, Streibig and Olofsdotter 2002, Physiol. Plant. 114:422-428 (data `ryegrass` of R package
    // drc), as a laboratory would send it: a row a dish, dose 0 untreated. A herbicide's name stands in for the acid.
    let roots: [(&str, &[f64]); 7] = [
        ("0", &[7.58, 8.0, 8.328_571_429, 7.25, 7.375, 7.9625]),
        ("0.94 ppm", &[8.355_555_556, 6.914_285_714, 7.75]),
        ("1.88 ppm", &[6.871_428_571, 6.45, 5.922_222_222]),
        ("3.75 ppm", &[1.925, 2.885_714_286, 4.233_333_333]),
        ("7.5 ppm", &[1.1875, 0.857_142_857, 1.057_142_857]),
        ("15 ppm", &[0.6875, 0.525, 0.825]),
        ("30 ppm", &[0.25, 0.22, 0.44]),
    ];
    let mut table = "sample,field,year,active,dose,weight\n".to_owned();
    for (dose, lengths) in roots {
        for length in lengths {
            table.push_str(&format!("RG,Pit Close,2026,flufenacet,{dose},{length}\n"));
        }
    }
    let (mut project, folder) = (project(), Folder::new());
    put(&mut project, &folder.write("ryegrass.csv", table), &[]);
    let found = rating::dose_responses(project.records()).remove(0);
    let curve = found.own.curve.unwrap();
    // Per cent of the mean untreated length in place of the length: c, d and the residual error are so many times as large.
    let scale = 100.0 / (roots[0].1.iter().sum::<f64>() / 6.0);
    let half = curve.effective_dose(50.0);
    for (ours, printed) in [
        (curve.b, 2.98222),
        (curve.c / scale, 0.48141),
        (curve.d / scale, 7.79296),
        (half.value, 3.05796),
        (curve.residual / scale, 0.519_625_6),
    ] {
        assert!((ours - printed).abs() < 1e-4, "{ours} {printed}");
    }
    assert_eq!((found.own.points.len(), found.unit.as_str()), (24, "ppm"));
}

#[test]
fn codes_stay_as_they_are_written() {
    let table = "sample;field;year;assay;active;reduction_percent;standard_percent\n12.10;Pit Close;2026;pot;cycloxydim;50,50;90\n\
        12.1;Pit Close;2026;pot;cycloxydim;60;90,0\n1E5;Pit Close;2026;pot;cycloxydim;70;90\n007;Pit Close;2026;pot;cycloxydim;80;90\n";
    let (mut project, folder) = (project(), Folder::new());
    put(&mut project, &folder.write("codes.csv", table), &[]);
    for (code, reduction) in [("12.10", 50.5), ("12.1", 60.0), ("1E5", 70.0), ("007", 80.0)] {
        assert_eq!(result(project.records(), code, "cycloxydim").reduction, Some(reduction), "{code}");
    }
}

#[test]
fn a_standard_of_a_name_of_its_own_is_asked_for_and_can_be_told() {
    let table = "Population;Field;Year;Cycloxydim (% red.);Clodinafop (% red.)\nH1;Pit Close;2026;50;30\nWindmill;;;92;90\n";
    let (mut project, folder) = (project(), Folder::new());
    let file = folder.write("standards pot.csv", table);
    let preview = look(&project, &file);
    assert_eq!((preview.unknown, preview.outcome), (vec!["Windmill".to_owned()], None));
    let (_, problems) = read(project.records(), &file, &[]);
    assert!(error_at(&problems, "row 3").hint.contains("--same \"Windmill=S standard\""), "{problems:#?}");
    put(&mut project, &file, &[("Windmill", "=S standard")]);
    let records = project.records();
    assert!(records.standards.values().all(|standard| standard.role == StandardRole::Susceptible));
    assert_eq!(rating::assess(records, &result(records, "H1", "cycloxydim")).standard, Some(92.0));
}

#[test]
fn a_mapping_by_hand_finds_the_heading() {
    // No heading is known; the rows below hold more known words than the heading does.
    let table = "Proben-Nr.;Schlag;Erntejahr;Wirkstoff;Wirkung;Sensitiv\nJ1;Pit Close;2026;Cycloxydim;55,5;92\n";
    let (mut project, folder) = (project(), Folder::new());
    let map = [
        ("Proben-Nr.", "sample"),
        ("Schlag", "field"),
        ("Erntejahr", "year"),
        ("Wirkstoff", "active"),
        ("Wirkung", "reduction_percent"),
        ("Sensitiv", "standard_percent"),
        ("=pot", "assay"),
    ];
    put(&mut project, &folder.write("deutsch.csv", table), &map);
    let found = result(project.records(), "J1", "cycloxydim");
    assert_eq!((found.reduction, found.standard), (Some(55.5), Some(92.0)));
}

/// A workbook of three kinds with titles, days, percentages, a merged code and a hidden sheet.
fn workbook(path: &Path, formula: bool) {
    let day = 46_325; // 2026-10-30, counted from 1899-12-30
    let second: Value = if formula { json!("=1+1") } else { json!(0.2) };
    let pots = json!([
        ["Pot test of 2026", null, null, null, null, null, null],
        ["sample", "field", "year", "date", "active", "% red", "std"],
        ["K1", "Pit Close", 2026, day, "cycloxydim", 0.573, 0.9],
        [null, null, null, day, "clodinafop", second, 0.91],
        ["K2  Ä", "Hill Farm/Long Acre", 2026, day, "cycloxydim", 0.61, 0.9],
    ]);
    let formats = json!({ "D3": "dd/mm/yyyy", "D4": "dd/mm/yyyy", "D5": "yyyy-mm-dd", "F3": "0.0%", "F4": "0%", "F5": "0%",
        "G3": "0%", "G4": "0%", "G5": "0%" });
    reference::run(
        "spreadsheet",
        &json!({ "write": path, "sheets": { "Notes": [["Ask us"]], "Pots": pots, "Prices": [["secret"]] }, "hidden": ["Prices"],
            "merged": { "Pots": ["A1:F1", "A3:A4", "B3:B4", "C3:C4"] }, "formats": { "Pots": formats } }),
    );
}

#[test]
fn workbooks_of_three_kinds_hold_the_same() {
    let folder = Folder::new();
    let mut first = None;
    for ending in ["xlsx", "ods", "xls"] {
        let mut project = project();
        let path = folder.path(&format!("season.{ending}"));
        workbook(&path, false);
        let preview = look(&project, &path);
        assert_eq!((preview.sheet.as_str(), preview.heading, preview.outcome), ("Pots", 2, Some((3, 0, 0))), "{preview:#?}");
        let (_, problems) = put(&mut project, &path, &[]);
        assert!(said(&problems, "hidden sheets are not read: Prices"), "{ending}: {problems:#?}");
        let records = project.records();
        let found = result(records, "K1", "cycloxydim");
        assert_eq!((found.reduction, found.standard), (Some(57.3), Some(90.0)), "{ending}");
        assert_eq!(result(records, "K1", "clodinafop").reduction, Some(20.0), "{ending}: a code merged over two rows");
        assert_eq!(result(records, "K2  Ä", "cycloxydim").reduction, Some(61.0), "{ending}");
        let assay = &records.assays[&found.assay];
        assert_eq!((assay.kind, assay.date), (AssayKind::Pot, Some(jiff::civil::date(2026, 10, 30))), "{ending}");
        // The same file by a name that lies about its kind.
        let rows = preview.rows;
        assert_eq!(first.get_or_insert_with(|| rows.clone()), &rows, "{ending}");
        let misnamed = folder.write("misnamed pots.csv", std::fs::read(&path).unwrap());
        assert_eq!(look(&project, &misnamed).rows, rows, "{ending}");
    }
}

#[test]
fn workbooks_of_other_kinds_work_nothing_out_and_survive_damage() {
    let folder = Folder::new();
    let project = project();
    for ending in ["ods", "xls"] {
        let path = folder.path(&format!("formula.{ending}"));
        workbook(&path, true);
        // odfpy keeps no value with a formula, xlwt keeps 0: neither is worked out as 2.
        let preview = look(&project, &path);
        let four = preview.rows.get(1).map(|row| row[5].clone());
        assert!(matches!(four.as_deref(), Some("" | "0")), "{ending}: {preview:#?}");
        let whole = std::fs::read(&path).unwrap();
        for at in (0..whole.len()).step_by(whole.len() / 150) {
            let cut = folder.write(&format!("cut.{ending}"), &whole[..at]);
            drop(look(&project, &cut));
            let mut flipped = whole.clone();
            flipped[at] ^= 0x55;
            drop(look(&project, &folder.write(&format!("flipped.{ending}"), flipped)));
        }
    }
    // Repeated for ever: a small document of the OpenDocument kind.
    for row in [
        r#"<table:table-row table:number-rows-repeated="4000000000"><table:table-cell office:value-type="float" office:value="1"/></table:table-row>"#,
        r#"<table:table-row><table:table-cell table:number-columns-repeated="4000000000" office:value-type="float" office:value="1"/></table:table-row>"#,
        r#"<table:table-row table:number-rows-repeated="4000000000"/><table:table-row table:number-rows-repeated="4000000000"><table:table-cell office:value-type="float" office:value="1"/></table:table-row>"#,
    ] {
        let file = folder.write("endless.ods", open_document(row));
        let (_, problems) = read(project.records(), &file, &[]);
        assert!(said(&problems, "has more than"), "{row}: {problems:#?}");
    }
}

/// The bytes of a spreadsheet of the OpenDocument kind with these rows.
fn open_document(rows: &str) -> Vec<u8> {
    use std::io::Write as _;
    let content = format!(
        r#"<office:document-content xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0" xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0"><office:body><office:spreadsheet><table:table table:name="T">{rows}</table:table></office:spreadsheet></office:body></office:document-content>"#
    );
    let mut archive = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    let plain = zip::write::SimpleFileOptions::default().compression_method(zip::CompressionMethod::Stored);
    archive.start_file("mimetype", plain).unwrap();
    archive.write_all(b"application/vnd.oasis.opendocument.spreadsheet").unwrap();
    archive.start_file("content.xml", plain).unwrap();
    archive.write_all(content.as_bytes()).unwrap();
    archive.finish().unwrap().into_inner()
}

#[test]
fn what_is_no_table_is_named_for_what_it_is() {
    let folder = Folder::new();
    let project = project();
    for (name, bytes, what) in [
        ("page.xls", &b"<html><body><table><tr><td>sample</td></tr></table></body></html>"[..], "a web page"),
        ("report.csv", b"%PDF-1.7\n", "a PDF"),
        ("book.xml.xls", b"<?xml version=\"1.0\"?><Workbook/>", "an XML file"),
        ("empty.csv", b"", "it is empty"),
        ("mark.csv", b"\xef\xbb\xbf", "it is empty"),
        ("cut.xls", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "damaged"),
    ] {
        let (import, problems) = read(project.records(), &folder.write(name, bytes), &[]);
        assert!(import.is_err() && said(&problems, what), "{name}: {problems:#?}");
        assert!(problems.errors().all(|problem| !problem.hint.is_empty()), "{name}: {problems:#?}");
    }
    // A text by the name of a workbook is read.
    let text = folder.write("text.xls", format!("{HEADING}L1,Pit Close,2026,pot,cycloxydim,50,90\n"));
    assert_eq!(look(&project, &text).outcome, Some((1, 0, 0)));
}

#[test]
fn samples_in_columns_are_turned_round() {
    let (mut project, folder) = (project(), Folder::new());
    let table = "Laboratory report 7 of 2026,,,,\n\n\
        Herbicide,A1,A2,S standard\n\
        Field,Pit Close,Hill Farm/Long Acre,\n\
        Harvest,2026,2026,\n\
        mesosulfuron + iodosulfuron,91,45,96\n\
        cycloxydim,12,40,97\n";
    let (added, problems) = put(&mut project, &folder.write("columns.csv", table), &[("=pot", "assay")]);
    assert_eq!(added, 4, "{problems:#?}");
    assert!(said(&problems, "turned round"), "{problems:#?}");
    let records = project.records();
    assert_eq!(result(records, "A2", "mesosulfuron+iodosulfuron").reduction, Some(45.0));
    assert_eq!(result(records, "A1", "cycloxydim").reduction, Some(12.0));
    assert_eq!(result(records, "A2", "cycloxydim").reduction, Some(40.0));
    let standard = records.standards.values().find(|standard| standard.active == "cycloxydim").unwrap();
    assert_eq!((standard.reduction, standard.role), (97.0, StandardRole::Susceptible));

    // Doses below the herbicides, samples headed by a word of their own, nothing in the corner.
    let table = ",Dose,B1,B2,Standard\ncycloxydim,1x,50,60,95\ncycloxydim,2x,70,80,98\npropyzamide,1x,90,95,96\n";
    let map = [("=Pit Close", "field"), ("=2026", "year"), ("=pot", "assay")];
    let (added, problems) = put(&mut project, &folder.write("doses.csv", table), &map);
    assert_eq!(added, 6, "{problems:#?}");
    // An error names the column of the file.
    let wrong = "Sample,C1,C2,S standard\nField,Pit Close,Nowhere,\nHarvest,2026,2026,\ncycloxydim,50,60,95\n";
    let (import, problems) = read(project.records(), &folder.write("wrong.csv", wrong), &[("=pot", "assay")]);
    assert!(import.is_err());
    error_at(&problems, "wrong.csv, turned round, row 3");
    // A table that makes sense in neither way is not turned.
    let neither = "Herbicide,A1,A2\nsomething,fine,poor\n";
    let (import, problems) = read(project.records(), &folder.write("neither.csv", neither), &[]);
    assert!(import.is_err() && !said(&problems, "turned round"), "{problems:#?}");
}

#[test]
fn a_standard_that_was_not_controlled_is_kept_and_flagged() {
    let (mut project, folder) = (project(), Folder::new());
    let rows = "D1,Pit Close,2026,pot,cycloxydim,50,0\nD2,Pit Close,2026,pot,cycloxydim,50,-4\n";
    let (added, _) = put(&mut project, &folder.write("failed.csv", format!("{HEADING}{rows}")), &[]);
    assert_eq!(added, 2);
    let records = project.records();
    for code in ["D1", "D2"] {
        let assessed = rating::assess(records, &result(records, code, "cycloxydim"));
        assert_eq!(assessed.rating, None, "{code}");
        let repeat = |doubt: &rating::Doubt| doubt.so.contains("has to be repeated");
        assert!(assessed.doubts.iter().any(repeat), "{code}: {:?}", assessed.doubts);
    }
}
