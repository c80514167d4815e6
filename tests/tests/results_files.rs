//! Results from files.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // helpers outside test functions may fail loudly too

mod support;

use awn_core::exchange::{self, Format, Import, ImportError, What};
use awn_core::model::{AssayKind, Field, Rating, Record, Records};
use awn_core::problem::Problems;
use awn_core::progress::Quiet;
use awn_core::project::{Edit, Project};
use std::path::Path;
use support::{Folder, error_at, project};

const HEADING: &str = "sample,field,year,assay,active,reduction_percent,standard_percent";

fn results(records: &Records, file: &Path, map: &[(&str, &str)]) -> (Result<Import, ImportError>, Problems) {
    let map: Vec<_> = map.iter().map(|(a, b)| ((*a).to_owned(), (*b).to_owned())).collect();
    let mut problems = Problems::new();
    let import = exchange::results(records, file, &map, &mut problems, &Quiet);
    (import, problems)
}

#[test]
fn a_table_becomes_samples_assays_and_results() {
    let mut project = project();
    let folder = Folder::new();
    let file = folder.write(
        "lab 2025.csv",
        "Standard %;Reduction Percent;ACTIVE;Assay;Year;Field;Sample;SE;n;dose;lab rating;weather\n\
         93;71,5;Mesosulfuron + iodosulfuron;pot;2025;pit close;BG-1;2,1;30;400 g/ha;RR;moist\n\
         90;-12;cycloxydim;Petri dish;2025;Hill Farm/Long Acre;BG-2;;;;RRR;\n\
         90;88;pendimethalin;petri;2025;Hill Farm/Long Acre;BG-2;;;;S;\n",
    );
    let (import, problems) = results(project.records(), &file, &[("Standard %", "standard_percent")]);
    let import = import.unwrap_or_else(|_| panic!("{problems:#?}"));
    assert_eq!((import.added, import.updated), (3, 0));
    assert!(problems.list.len() == 1 && problems.list[0].what.contains("weather"), "{problems:?}");
    project.apply(import.command).unwrap();
    let records = project.records();
    assert_eq!((records.samples.len(), records.assays.len(), records.results.len()), (2, 2, 3));
    let first = records.results.values().next().unwrap();
    assert_eq!(
        (first.active.as_str(), first.group.as_str(), first.reduction.unwrap(), first.standard, first.se, first.n),
        ("mesosulfuron+iodosulfuron", "2", 71.5, Some(93.0), Some(2.1), Some(30))
    );
    assert_eq!((first.dose.as_deref(), first.lab_rating), (Some("400 g/ha"), Some(Rating::RR)));
    assert_eq!(records.assays[&first.assay].kind, AssayKind::Pot);

    // Again, corrected: nothing doubles.
    let text = std::fs::read_to_string(&file).unwrap().replace("71,5", "68");
    let (import, _) = results(project.records(), &folder.write("lab 2025.csv", text), &[("Standard %", "standard_percent")]);
    let import = import.unwrap();
    assert_eq!((import.added, import.updated, import.command.changes.len()), (0, 3, 1));
    project.apply(import.command).unwrap();
    assert_eq!(project.records().results.values().next().unwrap().reduction, Some(68.0));

    // What is exported reads back into the same records.
    let csv = exchange::export(project.records(), 2025, What::Results, Format::Csv).unwrap();
    let (import, problems) = results(project.records(), &folder.write("lab 2025.csv", csv), &[]);
    let import = import.unwrap_or_else(|_| panic!("{problems:#?}"));
    assert_eq!((import.added, import.updated, import.command.changes.len()), (0, 3, 0));
}

#[test]
fn doses_tell_results_of_one_active_apart() {
    let mut project = project();
    let folder = Folder::new();
    let rows = "a,Pit Close,2025,petri,cycloxydim,50,90,1 ppm\na,Pit Close,2025,petri,cycloxydim,70,90,5 ppm\n";
    let file = folder.write("d.csv", format!("{HEADING},dose\n{rows}"));
    for (added, updated) in [(2, 0), (0, 2)] {
        let import = results(project.records(), &file, &[]).0.unwrap();
        assert_eq!((import.added, import.updated), (added, updated));
        project.apply(import.command).unwrap();
    }
    assert_eq!(project.records().results.len(), 2);
    let twice = folder.write(
        "t.csv",
        format!("{HEADING}\na,Pit Close,2025,pot,cycloxydim,50,90\na,Pit Close,2025,pot,cycloxydim,70,90\n"),
    );
    let (import, problems) = results(project.records(), &twice, &[]);
    assert!(import.is_err() && error_at(&problems, "row 3").what.contains("already"), "{problems:?}");
}

#[test]
fn every_bad_row_is_named_with_its_remedy_and_nothing_is_imported() {
    let project = project();
    let folder = Folder::new();
    let rows = [
        ("s1,Pit Close,2025,pot,cycloxydim,50,90", None),
        ("s2,Pitt Clos,2025,pot,cycloxydim,50,90", Some(("there is no field “Pitt Clos”", "Pit Close"))),
        ("s3,Mars,2025,pot,cycloxydim,50,90", Some(("there is no field “Mars”", "add the field's boundary"))),
        ("s4,Long Acre,2025,pot,cycloxydim,50,90", Some(("2 fields are called", "farm/field"))),
        ("s5,Pit Close,2025,pot,cycloxydim,101,90", Some(("reduction_percent is 101", "Correct"))),
        ("s6,Pit Close,2025,pot,cycloxydim,50,-1200", Some(("standard_percent is -1200", "Correct"))),
        ("s7,Pit Close,2025,pot,cycloxydim,50,120", Some(("standard_percent is 120", "Correct"))),
        ("s8,Pit Close,2025,tray,cycloxydim,50,90", Some(("no kind of assay", ""))),
        ("s9,Pit Close,2025,pot,cycloxidym,50,90", Some(("mode of action of “cycloxidym”", "cycloxydim"))),
        ("s10,Pit Close,2025,pot,cycloxydim+sugar,50,90", Some(("mode of action", "mixtures"))),
        ("s11,Pit Close,25,pot,cycloxydim,50,90", Some(("no harvest year", "four digits"))),
        ("s12,Pit Close,2025,pot,cycloxydim,,90", Some(("reduction_percent is empty", "leave the row out"))),
        ("s13,Pit Close,2025,pot,cycloxydim,5O,90", Some(("“5O” in reduction_percent", "percentage"))),
        (",Pit Close,2025,pot,cycloxydim,50,90", Some(("no sample code", "envelope"))),
        ("s1,Dale Farm/Long Acre,2025,pot,cycloxydim,50,90", Some(("code s1 stands for a sample of Pit Close", "own code"))),
    ];
    let lines: Vec<&str> = rows.iter().map(|(row, _)| *row).collect();
    let file = folder.write("bad.csv", format!("{HEADING},lab_rating\n{}\n", lines.join("\n")));
    let (import, problems) = results(project.records(), &file, &[]);
    assert!(matches!(import, Err(ImportError::Problems)));
    for (index, (row, wanted)) in rows.iter().enumerate() {
        let place = format!("bad.csv, row {}", index + 2);
        let found = problems.errors().find(|problem| problem.place == place);
        match (wanted, found) {
            (Some((what, hint)), Some(found)) => {
                assert!(found.what.contains(what) && found.hint.contains(hint), "{row}: {found:?}");
            }
            (None, None) => {}
            _ => panic!("{row}: {found:?}"),
        }
    }

    let file = folder.write("short.csv", "Sample No,field,year,assay,remark\n");
    let (import, problems) = results(project.records(), &file, &[("Sampel", "sample"), ("field", "plot")]);
    assert!(import.is_err());
    let whats: Vec<_> = problems.errors().map(|problem| problem.what.as_str()).collect();
    assert_eq!(whats, ["short.csv has no column “Sampel”.", "“plot” is no heading that is read."]);
    let (_, problems) = results(project.records(), &file, &[]);
    let whats: Vec<_> = problems.errors().map(|problem| problem.what.as_str()).collect();
    assert_eq!(
        whats,
        ["the column active is missing.", "the column reduction_percent is missing.", "it has a heading, but no rows."]
    );
    let fractions = folder.write("f.csv", format!("{HEADING}\ns,Pit Close,2025,pot,cycloxydim,0.5,0.9\n"));
    assert!(error_at(&results(project.records(), &fractions, &[]).1, "f.csv").what.contains("fractions"));
}

#[test]
fn a_split_field_is_found_by_the_year() {
    let mut project: Project = project();
    let old = project.records().fields_named("Pit Close", None)[0].clone();
    let mut edit = Edit::new(project.records(), "split");
    edit.put(Record::Field(Field { until_year: Some(2023), ..(*old).clone() }));
    let part =
        Field { from_year: Some(2024), came_from: vec![old.id], ..Field::new(old.farm, "Pit Close", old.boundary.clone()) };
    let part_id = part.id;
    edit.put(Record::Field(part));
    let command = edit.done();
    project.apply(command).unwrap();
    let folder = Folder::new();
    let rows = "a,Pit Close,2022,pot,cycloxydim,50,90\nb,Pit Close,2025,pot,cycloxydim,50,90\n";
    let import = results(project.records(), &folder.write("r.csv", format!("{HEADING}\n{rows}")), &[]).0.unwrap();
    project.apply(import.command).unwrap();
    let field = |code: &str| project.records().sample_coded(code).unwrap().field;
    assert_eq!((field("a"), field("b")), (old.id, part_id));
}
