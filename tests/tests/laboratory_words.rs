//! Tables that laboratories could send: other words, other marks, other shapes, and what is wrong in them.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // helpers outside test functions may fail loudly too

mod support;

use std::path::Path;
use std::sync::Arc;

use awn_core::exchange::{self, Format, Import, ImportError, What};
use awn_core::model::{AssayKind, Measure, Rating, Records, StandardRole, TestResult};
use awn_core::problem::Problems;
use awn_core::progress::Quiet;
use awn_core::project::Project;
use awn_core::rating::{self, RatedBy, RatingOf};
use awn_tests::reference;
use serde_json::json;
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
    let mut found = records.results.values().filter(|result| result.sample == sample && result.active == active);
    found.next().unwrap_or_else(|| panic!("no {active} of {code}")).clone()
}

fn said(problems: &Problems, words: &str) -> bool {
    problems.list.iter().any(|problem| problem.what.contains(words))
}

/// A text of 8-bit letters of Windows code page 1252.
fn windows_1252(text: &str) -> Vec<u8> {
    text.chars().map(|c| u8::try_from(u32::from(c)).unwrap_or(b'?')).collect()
}

#[test]
fn one_row_a_result_in_other_words() {
    let text = "Glasshouse pot test, autumn 2026\n\
        Client;Location;Your sample ref.;Lab no.;Crop year;Herbicide (a.i.);Mean % reduction in foliage fresh weight;\
        Susceptible std. (% red.);S.E.;No. of plants;Resistance category;Date of assessment;Remarks\n\
        Smäll & Söhne;Pit Close;K-7;551;2026;Fenoxaprop-P-ethyl;71,5;92,0;3,1;30;R?;30.10.2026;späte Töpfe\n\
        Smäll & Söhne;Pit Close;K-7;551;2026;mesosulfuron-methyl + iodosulfuron-methyl-sodium 15 g/ha;-8,25;95;2;30;RRR;30.10.2026;\n\
        Smäll & Söhne;Pit Close;K-7;551;2026;Cycloxydim (200 g a.i./ha);> 99;97;;30;S;30.10.2026;\n";
    let mut utf_16 = vec![0xfe, 0xff];
    utf_16.extend(text.encode_utf16().flat_map(u16::to_be_bytes));
    for (name, bytes) in [
        ("utf-8.csv", text.as_bytes().to_vec()),
        ("windows.csv", windows_1252(text)),
        ("utf-16.csv", utf_16),
        ("lines.csv", text.replace('\n', "\r\n").into_bytes()),
        ("tabs.txt", text.replace(';', "\t").into_bytes()),
    ] {
        let mut project = project();
        let folder = Folder::new();
        let (added, _, problems) = put(&mut project, &folder.write(name, bytes), &[]);
        assert_eq!(added, 3, "{name}: {problems:#?}");
        let records = project.records();
        let fop = result(records, "K-7", "fenoxaprop-p");
        assert_eq!((fop.reduction, fop.standard, fop.se, fop.n), (Some(71.5), Some(92.0), Some(3.1), Some(30)), "{name}");
        assert_eq!((fop.lab_rating, fop.comment.as_str()), (Some(Rating::RQuestion), "späte Töpfe"), "{name}");
        let mixture = result(records, "K-7", "mesosulfuron+iodosulfuron");
        assert_eq!(
            (mixture.reduction, mixture.dose.as_deref(), mixture.group.as_str()),
            (Some(-8.25), Some("15 g/ha"), "2")
        );
        assert_eq!(rating::assess(records, &mixture).rating, Some(Rating::RRR), "below 0 is no control at all");
        let dim = result(records, "K-7", "cycloxydim");
        assert_eq!(
            (dim.reduction, dim.dose.as_deref(), dim.comment.as_str()),
            (Some(99.0), Some("200 g/ha"), "printed as > 99")
        );
        let assay = &records.assays[&dim.assay];
        assert_eq!((assay.kind, assay.date), (AssayKind::Pot, Some(jiff::civil::date(2026, 10, 30))), "{name}");
    }
}

#[test]
fn survival_and_weight_left_are_turned_into_reductions() {
    let mut project = project();
    let folder = Folder::new();
    let table = "Sample,Field,Harvest,Cycloxydim % survival,Glyphosate: fresh weight (% of untreated)\n\
        A1,Pit Close,2026,28,122\nStandard (S),,,10,4\n";
    put(&mut project, &folder.write("pot.csv", table), &[]);
    let records = project.records();
    let dim = result(records, "A1", "cycloxydim");
    assert_eq!((dim.reduction, dim.standard), (Some(72.0), Some(90.0)));
    // 28 % survival beside 10 % in the standard is R?, on its lower limit (the figure of Moss et al. 1999).
    assert_eq!(rating::assess(records, &dim).rating, Some(Rating::RQuestion));
    assert_eq!(dim.comment, "printed as 28 % of untreated");
    let heavier = result(records, "A1", "glyphosate");
    assert_eq!((heavier.reduction, rating::assess(records, &heavier).rating), (Some(-22.0), Some(Rating::RRR)));
}

#[test]
fn standards_by_many_names_and_a_standard_under_each_active() {
    for (susceptible, resistant) in [
        ("S-std", "R-std"),
        ("Known susceptible (S1)", "known resistant"),
        ("S biotype", "R biotype"),
        ("STD_S", "STD_R"),
        ("S", "R"),
    ] {
        let mut project = project();
        let folder = Folder::new();
        let table = format!(
            "sample;field;year;pendimethalin 5 ppm;cycloxydim 5 ppm\nB2;Pit Close;2026;60;80\n{susceptible};;;90;93\n{resistant};;;12;90\n"
        );
        put(&mut project, &folder.write("dishes.csv", table), &[]);
        let records = project.records();
        let found = rating::assess(records, &result(records, "B2", "pendimethalin"));
        assert_eq!((found.standard, found.rating), (Some(90.0), Some(Rating::RR)), "{susceptible}");
        let roles: Vec<StandardRole> = records.standards.values().map(|standard| standard.role).collect();
        assert_eq!(roles.iter().filter(|role| **role == StandardRole::Resistant).count(), 2, "{resistant}: {roles:?}");
        // The resistant standard was controlled by cycloxydim too.
        let doubts = rating::assess(records, &result(records, "B2", "cycloxydim")).doubts;
        assert!(doubts.iter().any(|doubt| doubt.what.contains("resistant standard")), "{doubts:?}");
    }
    // Headings of the sample stand beside the actives, one row above the headings of the figures.
    let mut project = project();
    let folder = Folder::new();
    let table = "Sample no.,Field,Tested on,Fenoxaprop-P-ethyl 70 g/ha,,Glyphosate,\n,,,% control,Class,% control,Class\n\
        M1,Pit Close,4/11/2026,42,RR,99,S\nSus. standard,,,96,,99,\n";
    put(&mut project, &folder.write("pots.csv", table), &[]);
    let fop = result(project.records(), "M1", "fenoxaprop-p");
    assert_eq!((fop.reduction, fop.standard, fop.dose.as_deref()), (Some(42.0), Some(96.0), Some("70 g/ha")));
    assert_eq!(project.records().assays[&fop.assay].date, Some(jiff::civil::date(2026, 11, 4)));
    let mut project = self::project();
    let folder = Folder::new();
    let table = ",,,Cycloxydim,,,Clodinafop-propargyl,,\n,,,200 g/ha,,,60 g/ha,,\n\
        Sample,Field,Harvest,% red.,Std %,Rating,% red.,Std %,Rating\nC3,Pit Close,2026,70,95,RR,50,88,RR\n";
    put(&mut project, &folder.write("pots.csv", table), &[]);
    let records = project.records();
    let (dim, fop) = (result(records, "C3", "cycloxydim"), result(records, "C3", "clodinafop"));
    assert_eq!((dim.standard, dim.dose.as_deref(), dim.lab_rating), (Some(95.0), Some("200 g/ha"), Some(Rating::RR)));
    assert_eq!((fop.standard, fop.dose.as_deref()), (Some(88.0), Some("60 g/ha")));
}

#[test]
fn lost_pots_dead_plants_and_counts_that_do_not_add_up() {
    let mut project = project();
    let folder = Folder::new();
    let table = "Population;Field;Harvest;Herbicide;Pot no;Total plants;No. dead\n\
        D4;Pit Close;2026;untreated;1;6;0\nD4;Pit Close;2026;untreated;2;6;1\n\
        D4;Pit Close;2026;cycloxydim;1;6;5\nD4;Pit Close;2026;cycloxydim;2;0;0\nD4;Pit Close;2026;cycloxydim;3;6;lost\n\
        D4;Pit Close;2026;cycloxydim;4;6;3\n\
        S standard;;2026;untreated;1;6;0\nS standard;;2026;cycloxydim;1;6;6\nS standard;;2026;cycloxydim;2;6;5\n";
    let (added, _, problems) = put(&mut project, &folder.write("dead.csv", table), &[]);
    assert!(added == 1 && said(&problems, "2 pots without a count"), "{problems:#?}");
    let found = result(project.records(), "D4", "cycloxydim");
    // 1 and 3 of 6 live in the two pots there are; 11 of 12 untreated.
    assert_eq!(found.raw.as_ref().unwrap().treated.len(), 2);
    assert!((found.reduction.unwrap() - 100.0 * (1.0 - (4.0 / 12.0) / (11.0 / 12.0))).abs() < 1e-9, "{found:?}");
    assert_eq!(found.measure, Some(Measure::Survival));

    let heading = "sample,field,year,active,rep,alive,dead,plants,untreated alive\n";
    for (row, what) in [
        ("e,Pit Close,2026,cycloxydim,1,,7,6,6", "dead is 7 of 6"),
        ("e,Pit Close,2026,cycloxydim,1,3,2,6,6", "3 alive and 2 dead are not the 6"),
        ("e,Pit Close,2026,cycloxydim,1,9,,6,6", "alive is 9 of 6"),
        ("e,Pit Close,2026,cycloxydim,1,-1,,6,6", "alive is -1 of 6"),
    ] {
        let problems = read(project.records(), &folder.write("bad.csv", format!("{heading}{row}\n")), &[]).1;
        assert!(error_at(&problems, "row 2").what.contains(what), "{row}: {problems:#?}");
    }
    // A weight for each pot in columns, one of them lost.
    let weights = "sample,field,year,active,fresh weight 1,fresh weight 2,fresh weight 3,untreated weight 1,untreated weight 2\n\
        E5,Pit Close,2026,glyphosate,1,,3,10,10\n";
    let (_, _, problems) = put(&mut project, &folder.write("weights.csv", weights), &[]);
    assert!(said(&problems, "1 pot without"), "{problems:#?}");
    assert!((result(project.records(), "E5", "glyphosate").reduction.unwrap() - 80.0).abs() < 1e-9);
}

#[test]
fn percentages_pot_by_pot_become_a_mean_with_its_error() {
    let mut project = project();
    let folder = Folder::new();
    let table = "sample,field,year,assay,active,rep,reduction_percent,standard_percent\n\
        F6,Pit Close,2026,pot,cycloxydim,1,60,95\nF6,Pit Close,2026,pot,cycloxydim,2,70,95\nF6,Pit Close,2026,pot,cycloxydim,3,80,95\n";
    let (added, ..) = put(&mut project, &folder.write("reps.csv", table), &[]);
    let found = result(project.records(), "F6", "cycloxydim");
    // Standard deviation 10 of three: 10 / sqrt(3).
    assert_eq!((added, found.reduction), (1, Some(70.0)));
    assert!((found.se.unwrap() - 10.0 / 3f64.sqrt()).abs() < 1e-9, "{found:?}");
}

#[test]
fn a_rating_without_a_percentage_is_the_laboratorys() {
    let mut project = project();
    let folder = Folder::new();
    let table = "Sample;Field;Harvest;Type of test;Cycloxydim % red;Cycloxydim rating;Glyphosate rating;Clodinafop\n\
        G7;Pit Close;2026;pot;40;RR;RRR;R?\nG8;Hill Farm/Long Acre;2026;pot;n/a;;S;S\nS standard;;;pot;90;;;\n";
    let (added, _, problems) = put(&mut project, &folder.write("ratings.csv", table), &[]);
    assert_eq!(added, 5, "{problems:#?}");
    assert!(said(&problems, "4 results with the laboratory's rating"), "{problems:#?}");
    let records = project.records();
    let alone = result(records, "G7", "glyphosate");
    let found = rating::assess(records, &alone);
    assert_eq!((found.rating, found.reduction, found.lab, found.agrees()), (None, None, Some(Rating::RRR), None));
    assert!(
        found.is_laboratory_only() && found.sureness.is_none() && found.limits.is_none(),
        "never rated by us: {found:?}"
    );
    assert!(rating::steps(&alone, &found)[0].contains("nothing is worked out by us"));
    // It counts in the last rating as the laboratory's, beside ours.
    let field = records.fields_named("Pit Close", Some(2026))[0].id;
    let known = &rating::field_ratings(records, 2026)[&field];
    assert_eq!((known.worst, known.worst_by(), known.last_test_year), (Some(Rating::RRR), RatedBy::Laboratory, Some(2026)));
    assert_eq!(
        (known.groups["1"].rating, known.groups["1"].by),
        (Rating::RR, RatedBy::Us),
        "ours, worse than the R? of a fop"
    );
    let history = rating::History::of(records, 2026);
    assert_eq!(history.latest(field, &RatingOf::Group("9".into())).unwrap().words(), "RRR lab");
    assert_eq!(history.latest(field, &RatingOf::Group("1".into())).unwrap().words(), "RR");
    let land = rating::land_by_class(records, 2026);
    let farm = records.fields[&field].farm;
    let nine = land[&farm]["9"];
    assert!(
        nine.by_laboratory_m2 > 70_000.0 && (nine.tested() - nine.by_laboratory_m2).abs() < 1e-6,
        "two fields of 4 ha: {nine:?}"
    );
    let trends = rating::trends(records, field, 2026);
    assert!(
        trends["glyphosate"].change().unwrap().contains("RRR lab in 2026")
            && trends["glyphosate"].tests[0].of_standard.is_none()
    );

    // When the percentage comes it is rated; the rating alone does not take it away again.
    let later = "sample;assay;active;reduction_percent;standard_percent\nG7;pot;glyphosate;99;99\n";
    put(&mut project, &folder.write("later.csv", later), &[]);
    assert_eq!(rating::assess(project.records(), &result(project.records(), "G7", "glyphosate")).rating, Some(Rating::S));
    put(&mut project, &folder.write("ratings.csv", table), &[]);
    let kept = result(project.records(), "G7", "glyphosate");
    assert_eq!((kept.reduction, kept.lab_rating), (Some(99.0), Some(Rating::RRR)));
    // An old file without figures reads back from our own export.
    let csv = exchange::export(project.records(), 2026, What::Results, Format::Csv).unwrap();
    let before = project.records().results.clone();
    let (added, ..) = put(&mut project, &folder.write("ratings.csv", csv), &[]);
    assert_eq!((added, project.records().results.len()), (0, before.len()));
    // A rating in no known scale is kept as a remark; stars of the old scheme are read.
    let old = "sample,field,year,assay,active,reduction_percent,standard_percent,status\n\
        H8,Pit Close,2026,pot,cycloxydim,50,90,3*\nH9,Pit Close,2026,pot,cycloxydim,50,90,moderate\n";
    let (_, _, problems) = put(&mut project, &folder.write("old.csv", old), &[]);
    assert!(said(&problems, "“moderate” is not S, R?, RR or RRR"), "{problems:#?}");
    assert_eq!(result(project.records(), "H8", "cycloxydim").lab_rating, Some(Rating::RR));
    assert_eq!(result(project.records(), "H9", "cycloxydim").comment, "laboratory's rating: moderate");
}

#[test]
fn a_near_miss_is_taken_for_the_same_only_when_told_so() {
    let mut project = project();
    let folder = Folder::new();
    let heading = "sample,field,year,assay,active,reduction_percent,standard_percent\n";
    put(&mut project, &folder.write("a.csv", format!("{heading}SB-10,Pit Close,2026,pot,cycloxydim,50,90\n")), &[]);
    let file = folder.write("b.csv", format!("{heading}SB-1O,Pit Close,2026,pot,clodinafop,50,90\n"));
    let preview = exchange::preview(project.records(), &file, &[], &Quiet);
    assert_eq!(preview.near, [("SB-1O".to_owned(), "SB-10".to_owned())]);
    put(&mut project, &file, &[("SB-1O", "=SB-10")]);
    assert_eq!(project.records().samples.len(), 1);
    assert!(project.records().settings.results.layouts.is_empty(), "a code is no layout");
    let bare = folder.write("c.csv", "sample,assay,active,reduction_percent,standard_percent\nSB-11,pot,glyphosate,99,99\n");
    let preview = exchange::preview(project.records(), &bare, &[], &Quiet);
    assert_eq!((preview.near.len(), preview.outcome), (1, None), "offered although it is refused");
    put(&mut project, &bare, &[("sb-11", "=SB-10")]);
    assert_eq!((project.records().samples.len(), project.records().results.len()), (1, 3));
}

#[test]
fn a_corrected_file_stays_in_its_test_and_another_test_stands_beside_it() {
    let mut project = project();
    let folder = Folder::new();
    let table = |reduction: &str, standard: &str| {
        format!(
            "sample,field,year,assay,active,reduction_percent\nI1,Pit Close,2026,pot,cycloxydim,{reduction}\n\
            I2,Pit Close,2026,pot,cycloxydim,20\nS standard,,2026,pot,cycloxydim,{standard}\n"
        )
    };
    put(&mut project, &folder.write("first.csv", table("50", "90")), &[]);
    let (added, updated, _) = put(&mut project, &folder.write("first, corrected.csv", table("75", "95")), &[]);
    assert_eq!((added, updated), (0, 2));
    let records = project.records();
    assert_eq!((records.assays.len(), records.standards.len()), (1, 1), "nothing is left behind");
    let found = rating::assess(records, &result(records, "I1", "cycloxydim"));
    assert_eq!((found.reduction, found.standard), (Some(75.0), Some(95.0)));
    // A test of another day stands beside it: two results in one year, the worst colours the field.
    let spring = "sample,assay,active,date,reduction_percent\nI1,pot,cycloxydim,2027-03-02,10\nS standard,pot,cycloxydim,2027-03-02,92\n";
    let autumn = "sample,assay,active,date,reduction_percent\nI1,pot,cycloxydim,2026-10-02,80\nS standard,pot,cycloxydim,2026-10-02,92\n";
    put(&mut project, &folder.write("autumn.csv", autumn), &[]);
    let (added, ..) = put(&mut project, &folder.write("spring.csv", spring), &[]);
    assert_eq!(added, 1);
    let field = project.records().fields_named("Pit Close", Some(2026))[0].id;
    assert_eq!(rating::field_ratings(project.records(), 2026)[&field].worst, Some(Rating::RRR));
    // Patches of one field differ: both are kept.
    let group = rating::field_ratings(project.records(), 2026)[&field].groups["1"].clone();
    assert!(group.samples_differ() || group.samples.len() == 2, "{group:?}");
}

#[test]
fn a_workbook_with_titles_formulas_serial_days_hidden_and_several_sheets() {
    let mut project = project();
    let folder = Folder::new();
    let path = folder.path("season.xlsx");
    let pots = json!([
        ["Resistance test with cycloxydim and others", null, null, null, null, null],
        [null, null, null, "Cycloxydim", null, "Fenoxaprop-P-ethyl"],
        ["Sample ID", "Field name", "Date tested", "% reduction", "Std %", "% reduction"],
        ["J1", "Pit Close", 46_328, 0.5, 0.95, 0.2],
        ["J2", "Pit Close", 46_328, 1.0, 0.95, 0.3],
        ["Std S", null, null, null, null, 0.9],
    ]);
    let dishes = json!([
        ["sample", "field", "year", "active", "shoots", "seeds sown", "untreated shoots"],
        ["J1", "Pit Close", 2026, "pendimethalin", 20, 50, 44],
    ]);
    let asked = json!({ "write": path, "sheets": { "Notes": [["Ask us"]], "Glasshouse pots": pots, "Dishes": dishes },
        "merged": { "Glasshouse pots": ["A1:F1", "D2:E2"] },
        "formats": { "Glasshouse pots": { "D4": "0%", "E4": "0%", "F4": "0%", "D5": "0%", "E5": "0%", "F5": "0%", "F6": "0.0%" } } });
    reference::run("spreadsheet", &asked);
    let (added, _, problems) = put(&mut project, &path, &[("=glasshouse POTS", "sheet")]);
    assert_eq!(added, 4, "{problems:#?}");
    assert!(said(&problems, "not Notes, Dishes"), "{problems:#?}");
    let found = result(project.records(), "J1", "cycloxydim");
    assert_eq!((found.reduction, found.standard), (Some(50.0), Some(95.0)));
    assert_eq!(
        project.records().assays[&found.assay].date,
        Some(jiff::civil::date(2026, 11, 2)),
        "day 46328 of a spreadsheet"
    );
    assert_eq!(result(project.records(), "J2", "fenoxaprop-p").standard, Some(90.0));
    // The other sheet, by name.
    let preview = exchange::preview(project.records(), &path, &[("=dishes".into(), "sheet".into())], &Quiet);
    assert_eq!((preview.sheet.as_str(), preview.sheets.len(), preview.outcome), ("Dishes", 3, Some((1, 0, 0))));
    put(&mut project, &path, &[("=Dishes", "sheet")]);
    assert_eq!(project.records().assays[&result(project.records(), "J1", "pendimethalin").assay].kind, AssayKind::Petri);
    assert!(read(project.records(), &path, &[("=Prices", "sheet")]).1.errors().next().unwrap().hint.contains("Dishes"));
}

#[test]
fn columns_are_settled_by_what_stands_in_them() {
    let mut project = project();
    let folder = Folder::new();
    // "Method" says what was rated, "Type" which rows are standards, "Result" holds ratings, "Site" the field.
    let table = "Lab no,Code,Site,Season,Type,Method,Treatment,% control,Result\n\
        9,K1,Pit Close,2026,sample,fresh weight,cycloxydim,40,RR\n9,Old line 3,,2026,susceptible standard,fresh weight,cycloxydim,90,S\n";
    put(&mut project, &folder.write("columns.csv", table), &[]);
    let found = result(project.records(), "K1", "cycloxydim");
    assert_eq!(
        (found.measure, found.lab_rating, found.standard),
        (Some(Measure::FreshWeight), Some(Rating::RR), Some(90.0))
    );
    // A mixture over two modes of action is kept as one, of both groups.
    let mixture = "sample,field,year,assay,active,reduction_percent,standard_percent\n\
        K1,Pit Close,2026,pot,flufenacet + pendimethalin,60,90\n";
    put(&mut project, &folder.write("mixture.csv", mixture), &[]);
    let found = result(project.records(), "K1", "pendimethalin+flufenacet");
    assert_eq!(found.group, "3+15");
    let field = project.records().fields_named("Pit Close", Some(2026))[0].id;
    let known = &rating::field_ratings(project.records(), 2026)[&field];
    assert!(known.groups.contains_key("3+15") && !known.groups.contains_key("15"), "it tells of neither alone: {known:?}");
}

#[test]
fn nothing_in_a_text_becomes_a_formula() {
    let mut project = project();
    let folder = Folder::new();
    let table = "sample,field,year,assay,active,reduction_percent,standard_percent,comment,laboratory\n\
        -1+2,Pit Close,2026,pot,cycloxydim,50,90,=1+1,@SUM(A1)\n+L9,Pit Close,2026,pot,glyphosate,99,99,\t=2,\"\r=3\"\n";
    put(&mut project, &folder.write("formulas.csv", table), &[]);
    let csv = String::from_utf8(exchange::export(project.records(), 2026, What::Results, Format::Csv).unwrap()).unwrap();
    for cell in csv.lines().flat_map(|line| line.split(',')).map(|cell| cell.trim_matches('"')) {
        assert!(cell.parse::<f64>().is_ok() || !cell.starts_with(['=', '+', '-', '@', '\t', '\r']), "{cell:?}");
    }
    let (added, updated, _) = put(&mut project, &folder.write("formulas.csv", csv), &[]);
    assert_eq!((added, updated), (0, 2), "it reads back");
}
